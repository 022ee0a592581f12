//! Stick heights, peat probes and the stock book.

use crate::cover::Cover;
use crate::site::{Site, at};
use chrono::NaiveDate;
use geo_types::Point;
use holding::{Patch, Probe, Stick, Stock, StockClass};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;

/// A draw near a mean, roughly normal: the sum of twelve even draws.
fn near(rng: &mut Pcg64, mean: f64, spread: f64) -> f64 {
    let sum: f64 = (0..12).map(|_| rng.random::<f64>()).sum();
    mean + (sum - 6.0) * spread
}

/// A place inside a piece, away from its border.
fn inside(site: &Site, label: u32, rng: &mut Pcg64) -> Option<Point<f64>> {
    let cells = &site.pieces[label as usize - 1].cells;
    let cols = site.relief.frame.cols;
    let deep = |cell: usize| {
        [1, cols, 2, 2 * cols].iter().all(|&d| site.labels.get(cell + d) == Some(&label) && cell >= d && site.labels[cell - d] == label)
    };
    let cell = (0..200).map(|_| cells[rng.random_range(0..cells.len())]).find(|&cell| deep(cell))?;
    let (x, y) = site.relief.place(cell);
    Some(Point(at((x + rng.random_range(-4.5..4.5), y + rng.random_range(-4.5..4.5)))))
}

/// How many stick readings a measured patch got.
fn sticks_taken(cover: Cover) -> usize {
    match cover {
        Cover::RankGreen | Cover::ShortGreen | Cover::RankRush | Cover::DrainedFlush => 14,
        Cover::Flush | Cover::Rush => 5,
        Cover::DryHeath | Cover::WetHeath | Cover::HeathGrass => 3,
        Cover::AcidGrass | Cover::BentFescue | Cover::MatGrass => 2,
        _ => 0,
    }
}

/// Stick heights, drawn about each patch's own mean and spread; some walks took in every patch, some only a few.
pub fn sticks(site: &Site, patches: &[Patch], seed: u64) -> Vec<Stick> {
    let mut rng = Pcg64::seed_from_u64(seed ^ 0x571C);
    let mut out = Vec::new();
    for (i, (piece, patch)) in site.pieces.iter().zip(patches).enumerate() {
        let (Some(mean), Some(spread), false) = (patch.height_cm, patch.height_sd_cm, patch.coarse) else { continue };
        for _ in 0..sticks_taken(piece.cover) {
            if let Some(place) = inside(site, i as u32 + 1, &mut rng) {
                out.push(Stick {
                    id: format!("H{:03}", out.len() + 1),
                    at: place,
                    height_cm: near(&mut rng, f64::from(mean), f64::from(spread)).clamp(2.0, 160.0).round() as f32,
                    date: patch.surveyed,
                    note: String::new(),
                });
            }
        }
    }
    let low = site.sites.leks.low;
    let (x, y) = site.relief.place(low);
    for k in 0..12 {
        let angle = f64::from(k) * 0.9;
        let reach = 8.0 + 3.2 * f64::from(k);
        out.push(Stick {
            id: format!("H{:03}", out.len() + 1),
            at: Point(at((x + reach * angle.cos(), y + reach * angle.sin()))),
            height_cm: near(&mut rng, 6.0, 0.9).clamp(3.0, 9.0).round() as f32,
            date: NaiveDate::from_ymd_opt(2025, 4, 29),
            note: "display ground".to_string(),
        });
    }
    out
}

/// Forty peat probes: deep on the bog, shallow elsewhere on the open hill.
pub fn probes(site: &Site, seed: u64) -> Vec<Probe> {
    let mut rng = Pcg64::seed_from_u64(seed ^ 0x9EA7);
    let on = |covers: &[Cover]| site.labels_of(|p| p.parcel > 0 && covers.contains(&p.cover));
    let deep = on(&[Cover::Bog]);
    let middling = on(&[Cover::WetHeath, Cover::Flush, Cover::DrainedFlush]);
    let thin = on(&[Cover::DryHeath, Cover::HeathGrass, Cover::AcidGrass]);
    let mut out = Vec::new();
    for (labels, n, mean, spread) in [(&deep, 20, 155.0, 45.0), (&middling, 10, 42.0, 14.0), (&thin, 10, 16.0, 6.0)] {
        for k in 0..n {
            if labels.is_empty() {
                continue;
            }
            if let Some(place) = inside(site, labels[k % labels.len()], &mut rng) {
                out.push(Probe {
                    id: format!("Q{:02}", out.len() + 1),
                    at: place,
                    depth_cm: near(&mut rng, mean, spread).clamp(4.0, 340.0).round() as f32,
                    date: NaiveDate::from_ymd_opt(2025, 9, 11),
                });
            }
        }
    }
    out
}

/// The stock book: the hill carries nearly as many sheep in winter as in summer.
pub fn stock() -> Vec<Stock> {
    use StockClass::*;
    let book: [(&str, StockClass, [f32; 12]); 9] = [
        ("P01", HillEwe, [640.0, 640.0, 620.0, 240.0, 560.0, 660.0, 660.0, 660.0, 660.0, 640.0, 300.0, 600.0]),
        ("P02", HillEwe, [780.0, 780.0, 760.0, 300.0, 700.0, 840.0, 840.0, 840.0, 840.0, 800.0, 420.0, 760.0]),
        ("P02", Pony, [9.0; 12]),
        ("P03", HillEwe, [0.0; 12]),
        ("P04", HillEwe, [60.0, 60.0, 80.0, 220.0, 60.0, 0.0, 0.0, 0.0, 40.0, 60.0, 240.0, 80.0]),
        ("P04", Cow, [0.0, 0.0, 0.0, 0.0, 0.0, 18.0, 24.0, 24.0, 24.0, 12.0, 0.0, 0.0]),
        ("P05", Hogg, [120.0, 120.0, 120.0, 60.0, 0.0, 0.0, 0.0, 0.0, 60.0, 120.0, 120.0, 120.0]),
        ("P10", Cow, [0.0, 0.0, 0.0, 0.0, 24.0, 6.0, 0.0, 0.0, 0.0, 12.0, 0.0, 0.0]),
        ("P16", Store, [0.0, 0.0, 0.0, 8.0, 14.0, 14.0, 14.0, 14.0, 14.0, 10.0, 0.0, 0.0]),
    ];
    book.into_iter()
        .enumerate()
        .map(|(i, (parcel, class, head))| Stock { id: format!("G{:02}", i + 1), parcel: parcel.to_string(), class, head })
        .collect()
}
