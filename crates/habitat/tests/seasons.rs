//! What the seasons must do wherever their sources say which way a thing goes: for any stand, not for chosen ones.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use guidance::{Country, Curve, Guidance};
use habitat::drawn::Drawn;
use habitat::figures::Figures;
use habitat::season::{Season, mixed, offer};
use holding::Plant;
use proptest::prelude::*;
use std::sync::OnceLock;

struct World {
    figures: Figures,
    age: Curve,
}

fn world() -> &'static World {
    static WORLD: OnceLock<World> = OnceLock::new();
    WORLD.get_or_init(|| {
        let g = Guidance::load().unwrap();
        World { figures: Figures::middle(&g, Country::Scotland).unwrap(), age: g.curve("wood.age_score", Country::GB).unwrap() }
    })
}

/// Any open ground.
fn ground() -> impl Strategy<Value = Drawn> {
    (prop::array::uniform11(0.0f32..0.6), 1.0f32..90.0, 0.1f32..0.9, 0.0f32..1.0, 0.3f32..1.0).prop_map(|(covers, height_cm, spread, wetness, insects_left)| {
        let sum: f32 = covers.iter().sum();
        Drawn {
            covers: covers.map(|c| if sum > 1.0 { c / sum } else { c }),
            height_cm,
            sd_cm: height_cm * spread,
            tree_food: 0.0,
            canopy: 0.0,
            wood: 1.0,
            wetness,
            insects_left,
            crop_winter: 1.0,
        }
    })
}

fn value(season: Season, d: &Drawn) -> f32 {
    let f = &world().figures;
    let w = &f.season[season as usize];
    offer(season, d, f).value(w.weight_food, w.weight_cover)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn values_lie_between_nothing_and_one(d in ground(), canopy in 0.0f32..1.0) {
        for season in Season::ALL {
            let v = value(season, &Drawn { canopy, tree_food: canopy * 0.8, ..d });
            prop_assert!((0.0..=1.0).contains(&v), "{season:?} {v}");
        }
    }

    /// More of a season's food plants, all else the same, never makes it worse: heather in winter (Beeston et al. 2005),
    /// cotton-grass before laying (Baines 1990, 1994), herbs for broods (Starling 1992).
    #[test]
    fn more_food_is_never_worse(d in ground(), more in 0.01f32..0.4) {
        for (season, plant) in [(Season::Winter, Plant::Heather), (Season::PreLaying, Plant::CottonGrass), (Season::Brood, Plant::Herbs), (Season::Autumn, Plant::OtherBerries)] {
            let mut better = d;
            better.covers[plant as usize] = (better.covers[plant as usize] + more).min(1.0);
            prop_assert!(value(season, &better) >= value(season, &d) - 1e-6);
        }
    }

    /// Heavier grazing leaves fewer invertebrates (Baines 1996: -41 %), wetter ground bears more (Roos et al. 2016).
    #[test]
    fn broods_lose_by_grazing_and_gain_by_wet(d in ground(), less in 0.1f32..0.9) {
        let grazed = Drawn { insects_left: d.insects_left * less, ..d };
        prop_assert!(value(Season::Brood, &grazed) <= value(Season::Brood, &d) + 1e-6);
        let drier = Drawn { wetness: d.wetness * less, ..d };
        prop_assert!(value(Season::Brood, &drier) <= value(Season::Brood, &d) + 1e-6);
    }

    /// Taller is better for a nest up to about 40 cm (advice on moorland; Parr & Watson 1988; Warren et al. 2012).
    #[test]
    fn nests_gain_by_height_up_to_forty(d in ground(), a in 5.0f32..38.0, b in 5.0f32..38.0) {
        let at = |h: f32| value(Season::Nest, &Drawn { height_cm: h, sd_cm: 2.0, ..d });
        prop_assert!(at(a.min(b)) <= at(a.max(b)) + 1e-6);
    }

    /// Variation of height: best in the middle (Roos et al. 2016), falling both ways.
    #[test]
    fn the_hump_of_variation_falls_both_ways(best in 0.3f32..0.7, width in 0.2f32..0.5, a in 0.0f32..1.0, b in 0.0f32..1.0) {
        let at = |cv: f32| mixed(100.0, 100.0 * cv, [best, width]);
        let (near, far) = if (a - best).abs() < (b - best).abs() { (a, b) } else { (b, a) };
        prop_assert!(at(far) <= at(near) + 1e-6);
        prop_assert!(at(best) > 0.999);
    }

    /// Under snow birds feed in trees (Parr & Watson 1988): more bearing canopy is never worse, deeper-buried heather never better.
    #[test]
    fn in_snow_trees_help_and_short_heather_does_not(d in ground(), canopy in 0.0f32..0.9, more in 0.01f32..0.1) {
        let trees = |c: f32| Drawn { canopy: c, tree_food: c, ..d };
        prop_assert!(value(Season::Snowbound, &trees(canopy + more)) >= value(Season::Snowbound, &trees(canopy)) - 1e-6);
        let shorter = Drawn { height_cm: d.height_cm * 0.7, sd_cm: d.sd_cm * 0.7, ..d };
        prop_assert!(value(Season::Snowbound, &shorter) <= value(Season::Snowbound, &d) + 1e-6);
    }
}

/// Closed woods lose their worth past about twenty years (Scridel et al. 2017) and serve best in their first decade;
/// open wood (canopy under a fifth) keeps part of it (advice on woodland).
#[test]
fn a_closing_wood_fades_and_an_open_one_keeps_part() {
    let age = &world().age;
    let mut last = f64::INFINITY;
    for year in 8..40 {
        let v = age.at(year as f64);
        assert!(v <= last);
        last = v;
    }
    assert!(age.at(5.0) > age.at(0.0) && age.at(5.0) >= 0.99 && age.at(25.0) < 0.05);
}

/// A uniform lawn and a uniform tall stand both score far below a mosaic of the same plants (Roos et al. 2016; common practice).
#[test]
fn a_mosaic_beats_a_lawn_and_a_thicket() {
    let mut d = Drawn { covers: [0.0; 11], height_cm: 30.0, sd_cm: 14.0, tree_food: 0.0, canopy: 0.0, wood: 1.0, wetness: 0.6, insects_left: 1.0, crop_winter: 1.0 };
    d.covers[Plant::Heather as usize] = 0.3;
    d.covers[Plant::SedgeGrass as usize] = 0.35;
    d.covers[Plant::Herbs as usize] = 0.15;
    d.covers[Plant::Moss as usize] = 0.2;
    let mosaic = value(Season::Brood, &d);
    let lawn = value(Season::Brood, &Drawn { height_cm: 6.0, sd_cm: 1.0, ..d });
    let thicket = value(Season::Brood, &Drawn { height_cm: 75.0, sd_cm: 6.0, ..d });
    assert!(lawn < 0.4 * mosaic && thicket < 0.4 * mosaic, "{lawn} {thicket} {mosaic}");
}
