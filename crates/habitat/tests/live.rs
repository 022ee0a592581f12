//! Edits followed in place against everything laid out anew.

#![allow(clippy::panic, reason = "a test may stop")]

use geo::BoundingRect;
use geo_types::{LineString, MultiPolygon, Polygon, Rect};
use habitat::layout::Layout;
use habitat::ledger::{self, Supply, Values};
use habitat::live::Live;
use habitat::reach::{self, Kernels, Site};
use habitat::{Assessed, Settings, State, assess};
use holding::{Holding, Patch, Stems, Tree, Wood};
use crate::scene::*;

fn ring(x: f64, y: f64, r: f64) -> MultiPolygon<f64> {
    let at = |k: usize| (k as f64 * std::f64::consts::TAU / 12.0).sin_cos();
    MultiPolygon(vec![Polygon::new(LineString::from((0..=12).map(|k| at(k % 12)).map(|(a, b)| (x + r * a, y + r * b)).collect::<Vec<_>>()), vec![])])
}

fn birch(id: &str, shape: MultiPolygon<f64>) -> Wood {
    let mut w = Wood::new(id, shape);
    w.stems = vec![Stems { tree: Tree::Birch, stems_per_ha: 1600.0, height_m: Some(6.0), age_yr: Some(15.0) }];
    w
}

fn ground() -> Holding {
    let mut h = strips(1500.0, &[(0.4, heath()), (0.3, grass()), (0.3, heath())]);
    h.patches[4].flush = true;
    h.leks.push(holding::Lek::new("2", "Second lek", geo_types::Point::new(300_700.0, 500_300.0)));
    h.about.cell_m = 10.0;
    h.woods = vec![birch("w1", ring(300_250.0, 500_200.0, 90.0)), birch("w2", ring(299_800.0, 499_600.0, 70.0))];
    h
}

/// The ledger of a holding, everything laid out anew, with the bands of another layout.
fn anew(h: &Holding, like: &Assessed) -> Vec<Supply> {
    let g = guidance();
    let state = State::surveyed(h, &g).unwrap();
    let widest = like.reach_m.iter().flatten().map(|r| reach::sigma_m(*r) * reach::CUT).fold(0.0, f64::max);
    let mut layout = Layout::lay(h, &state, like.assessment.cell_m, widest, &like.layout.limits(), false).unwrap();
    assert_eq!(layout.frame, like.layout.frame);
    layout.band_mean = like.layout.band_mean.clone();
    let sites: Vec<Site> = h.leks.iter().map(|l| Site { east_m: l.at.x(), north_m: l.at.y(), cocks: 1.0 }).collect();
    let reaches = Kernels::of(&layout, &sites, &like.reach_m).lay(&layout);
    let errors = ledger::errors(&state, like.settings.seed, like.settings.draws);
    let values = Values::of(&state, &layout, &like.figures, &errors, &like.age);
    ledger::supply(&layout, &values, &reaches, &like.figures, &like.reach_m)
}

fn compare(live: &Live, want: &[Supply], what: &str) {
    for (lek, want) in want.iter().enumerate() {
        let got = live.supply(lek);
        for s in 0..7 {
            for (g, w) in got[s].iter().zip(&want[s]) {
                assert!((g - w).abs() <= 1e-5 * w.abs().max(0.1), "{what}, lek {lek}, season {s}: {g} {w}");
            }
        }
    }
}

fn joined(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> Rect<f64> {
    let (a, b) = (a.bounding_rect().unwrap(), b.bounding_rect().unwrap());
    Rect::new((a.min().x.min(b.min().x), a.min().y.min(b.min().y)), (a.max().x.max(b.max().x), a.max().y.max(b.max().y)))
}

#[test]
fn an_edit_followed_is_the_ground_laid_out_anew() {
    let g = guidance();
    let mut h = ground();
    let first = assess(&h, &g, Settings { draws: 6, ..Settings::default() }).unwrap();
    let mut live = Live::of(&first);
    compare(&live, &first.supply, "at first");
    let before = live.supply(0);

    // One corner of a wood.
    let old = h.woods[0].shape.clone();
    h.woods[0].shape.0[0].exterior_mut(|ring| ring.0[3] = geo_types::coord! { x: 300_420.0, y: 500_260.0 });
    let leks = live.follow(&h, &g, joined(&old, &h.woods[0].shape)).unwrap();
    assert_eq!(leks, [0, 1]);
    compare(&live, &anew(&h, &first), "a corner moved");
    assert_ne!(live.supply(0), before);

    // A new wood, a new patch, a wood gone.
    h.woods.push(birch("w3", ring(300_050.0, 500_420.0, 60.0)));
    live.follow(&h, &g, h.woods[2].shape.bounding_rect().unwrap()).unwrap();
    compare(&live, &anew(&h, &first), "a wood drawn");
    let old = std::mem::replace(&mut h.woods[1].shape, MultiPolygon(vec![]));
    live.follow(&h, &g, old.bounding_rect().unwrap()).unwrap();
    compare(&live, &anew(&h, &first), "a wood gone");
    let mut patch = Patch::new("new", ring(300_100.0, 499_900.0, 80.0));
    patch.phase1 = Some("E2.1".into());
    patch.flush = true;
    h.patches.push(patch);
    live.follow(&h, &g, h.patches.last().unwrap().shape.bounding_rect().unwrap()).unwrap();
    compare(&live, &anew(&h, &first), "a flush drawn");

    // A stand's own state: a stick moves its height.
    let at = geo::InteriorPoint::interior_point(&h.patches[0].shape).unwrap();
    for i in 0..12 {
        h.sticks.push(holding::Stick { id: format!("s{i}"), at, height_cm: 70.0 + i as f32, date: None, note: String::new() });
    }
    live.follow(&h, &g, h.patches[0].shape.bounding_rect().unwrap()).unwrap();
    compare(&live, &anew(&h, &first), "a sward measured");

    // And all the way back.
    let mut back = Live::of(&first);
    let whole = h.clone();
    back.follow(&whole, &g, Rect::new((290_000.0, 490_000.0), (310_000.0, 510_000.0))).unwrap();
    compare(&back, &anew(&whole, &first), "everything at once");
}
