//! What was recorded on each patch: covers, heights, heather phase and age, wetness, day of survey.

use crate::cover::{Cover, EATEN_M};
use crate::noise::chance;
use crate::pieces::Piece;
use crate::tiling::Tiling;
use crate::relief::Relief;
use chrono::NaiveDate;
use holding::{Covers, Patch, Phase, Plant};

/// What a kind of ground usually carries in the demo.
struct Usual {
    phase1: &'static str,
    name: &'static str,
    covers: &'static [(Plant, f32)],
    height_cm: f32,
    spread_cm: f32,
    wetness: f32,
}

fn usual(cover: Cover) -> Usual {
    use Plant::*;
    let (phase1, name, covers, height_cm, spread_cm, wetness): (_, _, &'static [(Plant, f32)], _, _, _) = match cover {
        Cover::Bog => ("E1.6.1", "bog", &[(Heather, 31.0), (CottonGrass, 33.0), (Moss, 20.0), (SedgeGrass, 7.0), (Blaeberry, 3.0), (OtherBerries, 4.0), (Bare, 2.0)], 23.0, 8.0, 0.85),
        Cover::DryHeath => ("D1.1", "heather", &[(Heather, 66.0), (Blaeberry, 9.0), (SedgeGrass, 11.0), (Moss, 8.0), (OtherBerries, 2.0), (CottonGrass, 1.0), (Bare, 3.0)], 43.0, 5.0, 0.2),
        Cover::WetHeath => ("D2", "wet heath", &[(Heather, 36.0), (SedgeGrass, 32.0), (CottonGrass, 11.0), (Moss, 13.0), (Rush, 3.0), (OtherBerries, 2.0), (Bare, 3.0)], 27.0, 7.0, 0.6),
        Cover::HeathGrass => ("D5", "heath and white hill", &[(Heather, 24.0), (SedgeGrass, 54.0), (Blaeberry, 6.0), (Moss, 8.0), (Herbs, 3.0), (Rush, 3.0), (Bare, 2.0)], 18.0, 6.0, 0.3),
        Cover::AcidGrass => ("B1.1", "white hill", &[(SedgeGrass, 74.0), (Moss, 10.0), (Herbs, 5.0), (Rush, 4.0), (Heather, 3.0), (Blaeberry, 2.0), (Bare, 2.0)], 9.0, 2.4, 0.3),
        Cover::MatGrass => ("B1.1", "mat-grass", &[(SedgeGrass, 78.0), (Rush, 9.0), (Moss, 8.0), (Heather, 3.0), (Herbs, 2.0)], 12.0, 4.0, 0.4),
        Cover::BentFescue => ("B1.1", "green bank", &[(SedgeGrass, 79.0), (Herbs, 12.0), (Moss, 7.0), (Bare, 2.0)], 6.0, 1.3, 0.2),
        Cover::Flush => ("E2.1", "flush", &[(Rush, 33.0), (SedgeGrass, 28.0), (Moss, 26.0), (Herbs, 9.0), (CottonGrass, 3.0), (Bare, 1.0)], 31.0, 11.0, 0.92),
        Cover::DrainedFlush => ("E2.1", "gripped flush", &[(Rush, 46.0), (SedgeGrass, 34.0), (Moss, 9.0), (Herbs, 6.0), (Bare, 5.0)], 34.0, 9.0, 0.4),
        Cover::Rush => ("B5", "rushes", &[(Rush, 50.0), (SedgeGrass, 33.0), (Moss, 9.0), (Herbs, 7.0), (Bare, 1.0)], 42.0, 13.0, 0.65),
        Cover::RankRush => ("B5", "rank rushes", &[(Rush, 68.0), (SedgeGrass, 25.0), (Moss, 5.0), (Herbs, 2.0)], 62.0, 4.5, 0.7),
        Cover::Bracken => ("C1.1", "bracken bank", &[(Bracken, 78.0), (SedgeGrass, 17.0), (Herbs, 3.0), (Moss, 2.0)], 96.0, 15.0, 0.15),
        Cover::Field => ("B4", "in-bye grass", &[(SedgeGrass, 89.0), (Herbs, 8.0), (Rush, 2.0), (Bare, 1.0)], 5.0, 1.2, 0.3),
        Cover::Meadow => ("B2.2", "hay meadow", &[(SedgeGrass, 61.0), (Herbs, 36.0), (Moss, 2.0), (Bare, 1.0)], 31.0, 7.0, 0.35),
        Cover::Arable => ("J1.1", "spring barley", &[(Crop, 88.0), (Herbs, 2.0), (Bare, 10.0)], 28.0, 4.0, 0.25),
        Cover::Conifer => ("A1.2.2", "spruce floor", &[(Moss, 26.0), (SedgeGrass, 3.0), (Bare, 71.0)], 6.0, 4.0, 0.4),
        Cover::YoungWood => ("A1.1.2", "planted ground", &[(SedgeGrass, 68.0), (Herbs, 10.0), (Rush, 9.0), (Heather, 6.0), (Blaeberry, 3.0), (Moss, 4.0)], 38.0, 13.0, 0.4),
        Cover::GillWood => ("A1.1.1", "gill floor", &[(SedgeGrass, 42.0), (Herbs, 16.0), (Blaeberry, 9.0), (Moss, 20.0), (Bracken, 8.0), (Bare, 5.0)], 22.0, 9.0, 0.4),
        Cover::Thorns => ("A2.2", "thorn bank", &[(SedgeGrass, 70.0), (Herbs, 14.0), (Moss, 8.0), (Bare, 8.0)], 11.0, 4.0, 0.3),
        Cover::ShortGreen => ("B1.1", "lek green", &[(SedgeGrass, 80.0), (Herbs, 8.0), (Moss, 10.0), (Heather, 2.0)], 7.0, 2.5, 0.3),
        Cover::RankGreen => ("B1.1", "old lek green", &[(SedgeGrass, 84.0), (Rush, 9.0), (Moss, 4.0), (Heather, 3.0)], 36.0, 6.0, 0.45),
        Cover::Off => ("", "", &[], 0.0, 0.0, 0.0),
    };
    Usual { phase1, name, covers, height_cm, spread_cm, wetness }
}

/// Kinds of ground whose patches are sometimes recorded by class alone.
fn often_unmeasured(cover: Cover) -> bool {
    matches!(cover, Cover::Bog | Cover::WetHeath | Cover::AcidGrass | Cover::MatGrass | Cover::HeathGrass | Cover::Bracken | Cover::Field)
}

/// The patches as they were recorded, one for each piece, in the same order.
pub fn record(pieces: &[Piece], tiling: &mut Tiling, relief: &Relief, low_lek: usize, seed: u64) -> Vec<Patch> {
    let mut number = 0;
    let mut off = 0;
    pieces
        .iter()
        .enumerate()
        .map(|(i, piece)| {
            let id = if piece.parcel > 0 {
                number += 1;
                format!("V{number:03}")
            } else {
                off += 1;
                format!("C{off:03}")
            };
            let shape = tiling.outline(&[i as u32 + 1]);
            let mut patch = Patch::new(id, shape);
            describe(&mut patch, piece, eaten(piece, relief, low_lek), i as i64, seed);
            patch
        })
        .collect()
}

/// True where any part of the piece lies within the ground the winter flock eats down round the low lek.
fn eaten(piece: &Piece, relief: &Relief, low_lek: usize) -> bool {
    let (lx, ly) = relief.place(low_lek);
    piece.cells.iter().any(|&cell| {
        let (x, y) = relief.place(cell);
        (x - lx).hypot(y - ly) < EATEN_M - 90.0
    })
}

fn describe(patch: &mut Patch, piece: &Piece, eaten: bool, key: i64, seed: u64) {
    let usual = usual(piece.cover);
    patch.phase1 = Some(usual.phase1.to_string());
    patch.name = usual.name.to_string();
    if piece.parcel == 0 {
        patch.coarse = true;
        patch.note = "not walked; from the air photograph".to_string();
        if eaten {
            patch.height_cm = Some(6.0);
            patch.note = "not walked; seen grazed short from the march".to_string();
        }
        return;
    }
    let vary = |salt: u64, by: f64| (1.0 + by * (2.0 * chance(key, 1, seed ^ salt) - 1.0)) as f32;
    patch.flush = matches!(piece.cover, Cover::Flush | Cover::DrainedFlush);
    if often_unmeasured(piece.cover) && !eaten && chance(key, 0, seed ^ 0x51) < 0.3 {
        patch.note = "class only; to be walked".to_string();
        return;
    }
    let mut covers = Covers::default();
    for &plant in &Plant::ALL {
        covers.set(plant, 0.0);
    }
    let total: f32 = usual.covers.iter().enumerate().map(|(k, &(_, c))| c * vary(k as u64, 0.22)).sum();
    for (k, &(plant, cover)) in usual.covers.iter().enumerate() {
        covers.set(plant, (100.0 * cover * vary(k as u64, 0.22) / total).round());
    }
    patch.covers = covers;
    let mut height = usual.height_cm * vary(0x61, 0.1);
    let mut spread = usual.spread_cm * vary(0x62, 0.1);
    if eaten && height > 6.0 {
        height = (height * 0.5).clamp(5.0, 15.0);
        spread = (height * 0.2).max(1.0);
    }
    patch.height_cm = Some(height.round());
    patch.height_sd_cm = Some((spread * 10.0).round() / 10.0);
    if matches!(piece.cover, Cover::Bog | Cover::DryHeath | Cover::WetHeath | Cover::HeathGrass) {
        // The whole fell was burnt in one dry spring and has not been touched since.
        patch.phase = Some(Phase::Mature);
        patch.heather_age_yr = Some((23.0 + 2.0 * chance(key, 2, seed ^ 0x63)).round() as f32);
    }
    patch.wetness = Some((usual.wetness * vary(0x64, 0.05)).min(1.0));
    patch.surveyed = NaiveDate::from_ymd_opt(2025, 6 + (key % 3) as u32, 3 + (key * 7 % 24) as u32);
    patch.note = match piece.cover {
        Cover::DrainedFlush => "three open grips run through; surface dry in June",
        Cover::RankRush => "ungrazed since 2017, tall from wall to wall",
        Cover::RankGreen => "purple moor-grass over last year's litter",
        _ if eaten && height < 10.0 => "grazed tight all winter",
        _ => "",
    }
    .to_string();
}
