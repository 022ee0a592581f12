//! The view from a display ground against closed forms: a wall of closed trees on a level plain, and a rising plain.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may stop")]

use habitat::{Settings, assess};
use holding::{Holding, Wood};
use crate::scene::*;

/// A level plain of bare, very short ground with a lek in the middle.
fn plain() -> Holding {
    let mut h = strips(800.0, &[(1.0, (covers(&[(holding::Plant::SedgeGrass, 60.0)]), 0.5, 0.2))]);
    for p in &mut h.patches {
        p.shape = rect(299_200.0, 499_200.0, 300_800.0, 500_800.0);
    }
    h.patches.truncate(1);
    h
}

fn wall(distance_m: f64, canopy_pct: f32) -> Wood {
    let mut w = spruce("wall", rect(300_000.0 + distance_m, 499_200.0, 300_800.0, 500_800.0), 1980);
    (w.canopy_pct, w.open_pct) = (Some(canopy_pct), Some(0.0));
    w
}

fn view(h: &Holding) -> habitat::LekGround {
    let done = assess(h, &guidance(), Settings { draws: 2, cell_m: Some(5.0), ..Settings::default() }).unwrap();
    done.assessment.leks[0].ground.clone()
}

/// Share of a disc of radius `r` that lies beyond a straight line at distance `a` from its middle.
fn cap(a: f64, r: f64) -> f64 {
    let t = (a / r).acos();
    (t - t.sin() * t.cos()) / std::f64::consts::PI
}

#[test]
fn on_a_bare_plain_all_is_in_sight() {
    let g = view(&plain());
    assert!(g.view_disc.unwrap() > 0.995 && g.view_horizon.unwrap() > 0.995, "{g:?}");
}

#[test]
fn a_closed_wood_hides_the_part_of_the_disc_and_of_the_horizon_behind_its_edge() {
    for distance_m in [60.0, 120.0, 200.0] {
        let mut h = plain();
        h.woods.push(wall(distance_m, 100.0));
        let g = view(&h);
        let r = g.view_m;
        // Half a cell of edge either way.
        let slack = cap(distance_m - 5.0, r) - cap(distance_m + 5.0, r);
        assert!((1.0 - g.view_disc.unwrap() - cap(distance_m, r)).abs() < slack, "{distance_m}: {} {}", g.view_disc.unwrap(), 1.0 - cap(distance_m, r));
        let horizon = (distance_m / r).acos() / std::f64::consts::PI;
        assert!((1.0 - g.view_horizon.unwrap() - horizon).abs() < 0.02, "{distance_m}: {} {}", g.view_horizon.unwrap(), 1.0 - horizon);
        // The bare ground hides nothing.
        assert!(g.bare_disc.unwrap() > 0.995);
    }
}

#[test]
fn an_open_wood_hides_less_than_a_closed_one() {
    let at = |canopy: f32| {
        let mut h = plain();
        h.woods.push(wall(120.0, canopy));
        view(&h).view_disc.unwrap()
    };
    assert!(at(5.0) > at(20.0) && at(20.0) >= at(90.0));
}

#[test]
fn a_brow_hides_what_lies_behind_it() {
    // Ground falls away at 100 m to the east, steeper than the line from the eye over the brow: all beyond is hidden.
    let mut h = plain();
    if let Some(g) = &mut h.heights {
        for row in 0..g.frame.rows {
            for col in 0..g.frame.cols {
                let (x, _) = g.frame.centre(col, row);
                let beyond = (x - 300_100.0).max(0.0);
                let at = g.frame.at(col, row);
                g.cells[at] = (350.0 - 0.2 * beyond) as f32;
            }
        }
    }
    let g = view(&h);
    let (r, slack) = (g.view_m, cap(90.0, g.view_m) - cap(110.0, g.view_m));
    assert!((1.0 - g.bare_disc.unwrap() - cap(100.0, r)).abs() < slack, "{} {}", g.bare_disc.unwrap(), 1.0 - cap(100.0, r));
}
