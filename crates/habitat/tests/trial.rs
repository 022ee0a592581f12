//! A trial of one place against the whole option looked ahead.

#![allow(clippy::panic, reason = "a test may stop")]

use habitat::ahead::trial::{Place, Trials};
use habitat::ahead::variant::cells;
use habitat::ahead::{Doing, Programme, Work};
use habitat::{Settings, assess};
use holding::{Tree, Wood};
use crate::scene::*;

#[test]
fn a_place_tried_changes_what_the_whole_option_changes() {
    let g = guidance();
    let mut h = strips(1500.0, &[(0.4, heath()), (0.3, grass()), (0.3, heath())]);
    h.leks.push(holding::Lek::new("2", "Second lek", geo_types::Point::new(300_700.0, 500_300.0)));
    h.about.cell_m = 10.0;
    h.woods = vec![birch("old", rect(299_200.0, 499_300.0, 299_500.0, 499_500.0), 2012)];
    let base = assess(&h, &g, Settings { draws: 3, ..Settings::default() }).unwrap();
    let area = rect(300_300.0, 500_200.0, 300_480.0, 500_420.0);
    let doing = Doing::Plant { stems: vec![(Tree::Birch, 1000.0), (Tree::Willow, 400.0)], open: 0.3, stock_out_yr: 12 };
    let work = Work { id: "new".into(), year: 1, every: None, area: area.clone(), doing };
    let cut = Work { id: "cut".into(), year: 2, every: Some(12), area: area.clone(), doing: Doing::CutHeather { height_cm: 8.0 } };
    let mut trials = Trials::new(&base, &h, &g, vec![vec![work.clone()], vec![cut.clone()]], &[0, 1, 5, 10, 20, 30]).unwrap();
    let cells = cells(&base.layout.frame, &area);
    let places = [Place { cells: cells.clone(), recipe: 0 }, Place { cells: cells.clone(), recipe: 1 }, Place { cells, recipe: 0 }];
    let effects = trials.effects(&places).unwrap();
    // A trial leaves the ground as it found it.
    assert_eq!(effects[0], effects[2]);
    assert_ne!(effects[0], effects[1]);
    let mut with = h.clone();
    with.woods.push(Wood::new("new", area));
    for (effect, (holding, work)) in effects.iter().zip([(&with, work), (&h, cut)]) {
        let whole = trials.whole(holding, &Programme { works: vec![work], stock: vec![] }).unwrap();
        let most = whole.iter().flatten().flatten().fold(0.0f64, |m, v| m.max(v.abs()));
        assert!(most > 0.1, "{most}");
        for (y, (e, w)) in effect.iter().zip(&whole).enumerate() {
            for (e, w) in e.iter().flatten().zip(w.iter().flatten()) {
                assert!((e - w).abs() <= 0.001 * most + 1e-4, "year {y}: {e} {w}");
            }
        }
        assert!(whole[0].iter().flatten().all(|v| v.abs() < 1e-4));
    }
}
