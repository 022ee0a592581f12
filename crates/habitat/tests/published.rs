//! What field studies found, set against the ledger. Nothing in the model was fitted to these.

#![allow(clippy::panic, reason = "a test may stop")]

use habitat::{Season, Settings, Standing, assess};
use holding::Holding;
use crate::scene::*;

fn settings() -> Settings {
    Settings { cell_m: Some(20.0), ..Settings::default() }
}

/// Ground of three kinds round a lek: rough grass, closed spruce, and heath for the rest, as shares.
fn composed(rough: f64, conifer: f64) -> Holding {
    let mut h = strips(2500.0, &[(rough, grass()), (1.0 - rough, heath())]);
    // The conifer lies as the last part of every band.
    let band = 5000.0 / 10.0;
    for b in 0..10 {
        let east = 297_500.0 + (b + 1) as f64 * band;
        if conifer > 0.0 {
            h.woods.push(spruce(&format!("w{b}"), rect(east - conifer * band, 497_500.0, east, 502_500.0), 1985));
        }
    }
    h
}

/// Warren et al. 2020, Bird Study 66:494-502 (121 leks, south Scotland): within 1 km of retained leks lay 6 % conifer and
/// 53 % acid and rough grass, of extinct leks 29 % and 32 %.
#[test]
fn surroundings_of_retained_leks_rank_far_above_those_of_lost_ones() {
    let g = guidance();
    let fine = Settings { cell_m: Some(10.0), ..Settings::default() };
    let kept = assess(&composed(0.53, 0.06), &g, fine).unwrap();
    let lost = assess(&composed(0.32, 0.29), &g, fine).unwrap();
    // The scene is what it says: the table of shares reads it back.
    let share = |a: &habitat::Assessed, key: &str| a.assessment.leks[0].composition.iter().find(|r| r.key == key).unwrap().value.unwrap();
    assert!((share(&kept, "closed_conifer") - 6.0).abs() < 1.5 && (share(&lost, "closed_conifer") - 29.0).abs() < 1.5);
    assert!((share(&kept, "rough_grass") - 53.0).abs() < 1.5 && (share(&lost, "rough_grass") - 32.0).abs() < 1.5);
    // The published table sets them apart by itself.
    let standing = |a: &habitat::Assessed, key: &str| a.assessment.leks[0].composition.iter().find(|r| r.key == key).unwrap().standing;
    for key in ["closed_conifer", "rough_grass"] {
        assert_eq!((standing(&kept, key), standing(&lost, key)), (Standing::LikeOccupied, Standing::LikeLost), "{key}");
    }
    // And so does the ledger, which knows nothing of the table.
    for s in [Season::Display, Season::PreLaying, Season::Nest, Season::Brood, Season::Autumn, Season::Winter] {
        let i = s as usize;
        // Same draws, so compare draw by draw.
        let better = (0..200).filter(|d| kept.supply[0][i][*d] > lost.supply[0][i][*d]).count();
        assert!(better >= 190, "{}: better in {better} of 200 draws", s.key());
    }
}

/// Winter 2009/10 in northern England: leks with woodland within reach lost about 15 % of males, leks without about 50 %
/// (Game & Wildlife Conservation Trust, news); in deep snow all birds fed in trees (Parr & Watson 1988, Ardea 76:175-180).
#[test]
fn in_snow_ground_with_woods_within_reach_gives_far_more_than_ground_without() {
    let g = guidance();
    let bare = strips(2500.0, &[(0.6, heath()), (0.4, grass())]);
    let mut wooded = bare.clone();
    for (i, (e, n)) in [(300_400.0, 500_200.0), (299_300.0, 500_600.0), (300_200.0, 499_000.0)].iter().enumerate() {
        wooded.woods.push(birch(&format!("n{i}"), rect(*e, *n, e + 200.0, n + 200.0), 2006));
    }
    let without = assess(&bare, &g, settings()).unwrap();
    let with = assess(&wooded, &g, settings()).unwrap();
    let snow = |a: &habitat::Assessed| a.assessment.leks[0].seasons[Season::Snowbound as usize].clone();
    // Loss follows shortness: the short share of draws stands for it, and must fall by at least the ratio 15 to 50.
    assert!(snow(&without).short_fraction >= 0.5, "{}", snow(&without).short_fraction);
    assert!(snow(&with).short_fraction <= 0.3 * snow(&without).short_fraction, "{}", snow(&with).short_fraction);
    // A snow-free winter sees little of the difference.
    let winter = |a: &habitat::Assessed| a.assessment.leks[0].seasons[Season::Winter as usize].margin.p50;
    assert!((winter(&with) / winter(&without) - 1.0).abs() < 0.25, "{} {}", winter(&with), winter(&without));
}

/// Baines 1996, J. Appl. Ecol. 33:54-62: heavily grazed moors had vegetation 32 % shorter and 41 % fewer invertebrates,
/// and lower breeding success.
#[test]
fn heavier_grazing_lowers_the_brood_season() {
    let g = guidance();
    let mut light = strips(1500.0, &[(0.5, heath()), (0.5, grass())]);
    let mut parcel = holding::Parcel::new("hill", rect(298_000.0, 498_000.0, 302_000.0, 502_000.0));
    parcel.name = "Hill".into();
    light.parcels.push(parcel);
    let mut heavy = light.clone();
    heavy.stock.push(holding::Stock { id: "1".into(), parcel: "hill".into(), class: holding::StockClass::HillEwe, head: [1600.0 * 2.5; 12] });
    for p in &mut heavy.patches {
        p.height_cm = p.height_cm.map(|h| h * 0.68);
    }
    let brood = |h: &Holding| assess(h, &g, settings()).unwrap().assessment.leks[0].seasons[Season::Brood as usize].supply_ha.p50;
    assert!(brood(&heavy) < 0.8 * brood(&light), "{} {}", brood(&heavy), brood(&light));
}
