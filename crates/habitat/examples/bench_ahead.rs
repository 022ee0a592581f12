//! Times of the ledger that follows an edit and of the years ahead, on a plan file: `bench_ahead FILE`. Medians, milliseconds.

use geo::{BoundingRect, Centroid};
use geo_types::{LineString, MultiPolygon, Polygon, Rect};
use guidance::Guidance;
use habitat::ahead::{Course, Doing, Programme, Work, YEARS, forecast};
use habitat::live::Live;
use habitat::{Settings, assess};
use holding::plan::Plan;
use holding::{Holding, Tree, Wood};
use std::time::Instant;

fn ring(x: f64, y: f64, r: f64) -> MultiPolygon<f64> {
    let at = |k: usize| (k as f64 * std::f64::consts::TAU / 20.0).sin_cos();
    MultiPolygon(vec![Polygon::new(LineString::from((0..=20).map(|k| at(k % 20)).map(|(a, b)| (x + r * a, y + r * b)).collect::<Vec<_>>()), vec![])])
}

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

fn joined(a: Rect<f64>, b: Rect<f64>) -> Rect<f64> {
    Rect::new((a.min().x.min(b.min().x), a.min().y.min(b.min().y)), (a.max().x.max(b.max().x), a.max().y.max(b.max().y)))
}

fn woods(h: &Holding, n: usize) -> (Holding, Programme) {
    let mut with = h.clone();
    let mut works = vec![];
    for i in 0..n {
        let lek = &h.leks[i % h.leks.len()];
        let (a, r) = (i as f64 * 2.4, 350.0 + 60.0 * (i / h.leks.len()) as f64);
        let area = ring(lek.at.x() + r * a.cos(), lek.at.y() + r * a.sin(), 90.0);
        with.woods.push(Wood::new(format!("new {i}"), area.clone()));
        let doing = Doing::Plant { stems: vec![(Tree::Birch, 1000.0), (Tree::Rowan, 400.0)], open: 0.2, stock_out_yr: 12 };
        works.push(Work { id: format!("new {i}"), year: 1 + i as u32 % 5, every: None, area, doing });
    }
    (with, Programme { works, stock: vec![] })
}

fn cuts(h: &Holding, n: usize) -> Programme {
    let works = (0..n)
        .map(|i| {
            let lek = &h.leks[i % h.leks.len()];
            let (a, r) = (i as f64 * 1.7, 200.0 + 15.0 * i as f64);
            let area = ring(lek.at.x() + r * a.cos(), lek.at.y() + r * a.sin(), 40.0);
            Work { id: format!("cut {i}"), year: 1 + i as u32 % 10, every: Some(12), area, doing: Doing::CutHeather { height_cm: 8.0 } }
        })
        .collect();
    Programme { works, stock: vec![] }
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let file = std::env::args().nth(1).ok_or("bench_ahead FILE")?;
    let mut h = Plan::open_read_only(file.as_ref())?.holding().map_err(|f| format!("{f:?}"))?;
    let g = Guidance::load().map_err(|f| format!("{f:?}"))?;
    let start = Instant::now();
    let base = assess(&h, &g, Settings::default())?;
    let ms = |t: Instant| t.elapsed().as_secs_f64() * 1e3;
    println!("assess {:.0} ms, {} stands, {} leks, {} facets, {} cells", ms(start), base.state.stands.len(), h.leks.len(), base.layout.facets.len(), base.layout.frame.len());
    let start = Instant::now();
    let mut live = Live::of(&base);
    println!("begin to follow {:.0} ms", ms(start));
    for what in ["wood", "patch"] {
        let mut times = vec![];
        for i in 0..21 {
            // A feature by a lek, moved a corner at a time.
            let lek = &h.leks[i % h.leks.len()].at.clone();
            let near = |s: &MultiPolygon<f64>| s.centroid().map_or(f64::INFINITY, |c| (c.x() - lek.x()).hypot(c.y() - lek.y()));
            let shape = if what == "wood" {
                h.woods.iter_mut().map(|w| &mut w.shape).min_by(|a, b| near(a).total_cmp(&near(b)))
            } else {
                h.patches.iter_mut().filter(|p| !p.coarse).map(|p| &mut p.shape).min_by(|a, b| near(a).total_cmp(&near(b)))
            }
            .ok_or("no feature")?;
            let before = shape.bounding_rect().ok_or("empty")?;
            shape.0[0].exterior_mut(|r| r.0[2].x += if i % 2 == 0 { 35.0 } else { -35.0 });
            let window = joined(before, shape.bounding_rect().ok_or("empty")?);
            let start = Instant::now();
            let leks = live.follow(&h, &g, window)?;
            let all: f64 = leks.iter().map(|l| live.supply(*l)[3][0]).sum();
            times.push(ms(start));
            std::hint::black_box(all);
        }
        let most = times.iter().copied().fold(0.0, f64::max);
        println!("corner of a {what} followed: median {:.1} ms, most {most:.1} ms", median(times));
    }
    let base = assess(&h, &g, Settings::default())?;
    let (with, wood) = woods(&h, 15);
    let (cut, none) = (cuts(&h, 40), Programme::default());
    let courses = [Course { holding: &h, programme: &none }, Course { holding: &with, programme: &wood }, Course { holding: &h, programme: &cut }];
    let rounds = if base.layout.frame.len() > 2_000_000 { 1 } else { 5 };
    let mut times = vec![];
    for _ in 0..rounds {
        let start = Instant::now();
        for c in courses {
            std::hint::black_box(forecast(&base, &h, &g, c, &YEARS)?.years.len());
        }
        times.push(ms(start));
    }
    println!("30 years, 11 ledgers, three options, 200 draws: median {:.0} ms", median(times));
    Ok(())
}
