//! The ledger as a whole: facets against cells, determinism, and what the ground must do to it.

#![allow(clippy::panic, reason = "a test may stop")]

use habitat::{Settings, assess, exact};
use crate::scene::*;

#[test]
fn facets_agree_with_every_cell_on_its_own() {
    let g = guidance();
    let mut h = strips(1500.0, &[(0.5, heath()), (0.5, grass())]);
    h.patches[7].flush = true;
    h.leks.push(holding::Lek::new("2", "Second lek", geo_types::Point::new(300_800.0, 500_300.0)));
    h.about.cell_m = 20.0;
    let done = assess(&h, &g, Settings { draws: 8, ..Settings::default() }).unwrap();
    for draw in 0..8 {
        let cells = exact::supply(&h, &g, &done, draw).unwrap();
        for (lek, want) in cells.iter().enumerate() {
            for (s, want) in want.iter().enumerate() {
                let got = done.supply[lek][s][draw];
                // Bands stand for their mean and widths are met between nodes: two hundredths.
                assert!((got - want).abs() <= 0.02 * want.abs() + 0.02, "lek {lek} season {s} draw {draw}: {got} {want}");
            }
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_answer_and_another_seed_another() {
    let g = guidance();
    let h = strips(800.0, &[(0.5, heath()), (0.5, grass())]);
    let run = |seed| format!("{:?}", assess(&h, &g, Settings { draws: 20, seed, cell_m: Some(20.0) }).unwrap().assessment);
    assert_eq!(run(1), run(1));
    assert_ne!(run(1), run(2));
}

#[test]
fn a_boundary_alone_has_no_year() {
    let g = guidance();
    let mut h = strips(800.0, &[(1.0, heath())]);
    h.boundary = Some(h.patches[0].shape.clone());
    assert!(assess(&h, &g, Settings::default()).is_ok());
    h.patches.clear();
    assert!(matches!(assess(&h, &g, Settings::default()), Err(habitat::AssessError::NothingMapped)));
}
