//! What every work and every year must do to a stand, for any stand.

#![allow(clippy::panic, clippy::unwrap_used, clippy::print_stdout, reason = "a test may stop and tell")]

use guidance::{Country, Guidance};
use habitat::ahead::{Doing, Head, Moving, Place, Processes};
use habitat::{Class, Feature, Stand, State};
use holding::{Holding, Parcel, Patch, Phase, Plant, Stock, StockClass, Stubble, Tree, Wood};
use proptest::prelude::*;
use crate::scene::{birch, grass, guidance, heath, patch, rect, spruce};
use std::sync::OnceLock;

fn world() -> &'static (Guidance, Processes) {
    static WORLD: OnceLock<(Guidance, Processes)> = OnceLock::new();
    WORLD.get_or_init(|| {
        let g = guidance();
        let p = Processes::read(&g, Country::Scotland).unwrap().0;
        (g, p)
    })
}

/// One parcel of ten hectares with the patches side by side and the woods beside them.
fn hill(patches: Vec<Patch>, woods: Vec<Wood>, ewes_per_ha: f32) -> Holding {
    let mut h = Holding::default();
    h.about.as_at = chrono::NaiveDate::from_ymd_opt(2026, 6, 15);
    let n = (patches.len() + woods.len()) as f64;
    h.parcels.push(Parcel { id: "p".into(), name: String::new(), kind: Default::default(), shape: rect(0.0, 0.0, 1000.0, 100.0), stubble: None, extra: Default::default() });
    let mut at = 0.0;
    let mut next = || {
        at += 1000.0 / n;
        rect(at - 1000.0 / n, 0.0, at, 100.0)
    };
    for mut p in patches {
        p.shape = next();
        h.patches.push(p);
    }
    for mut w in woods {
        w.shape = next();
        h.woods.push(w);
    }
    h.stock.push(Stock { id: "s".into(), parcel: "p".into(), class: StockClass::HillEwe, head: [10.0 * ewes_per_ha; 12] });
    h
}

fn start(h: &Holding, altitude_m: f32) -> (Vec<Moving>, Head) {
    let (g, p) = world();
    let stands = State::surveyed(h, g).unwrap().stands;
    let places: Vec<Place> = stands.iter().map(|s| Place { altitude_m: Some(altitude_m), parcel: Some(0), area_ha: s.area_ha as f32 }).collect();
    let head = Head::of(h);
    (p.start(stands, &places, &head), head)
}

/// Run years with works on the first stand; `falls` tells which fall in a year.
fn run(all: &mut [Moving], head: &Head, years: u32, falls: impl Fn(u32) -> Vec<Doing>) {
    for year in 1..=years {
        let doings = falls(year);
        let mut works: Vec<Vec<&Doing>> = vec![Vec::new(); all.len()];
        works[0] = doings.iter().collect();
        world().1.year(all, &works, head, year);
        all.iter().for_each(|m| sound(&m.stand));
    }
}

/// Bounds every stand keeps at all times.
fn sound(s: &Stand) {
    assert!(s.covers.iter().all(|c| (0.0..=1.0).contains(c)), "{:?}", s.covers);
    assert!(s.covers.iter().sum::<f32>() <= 1.0 + 1e-4, "{:?}", s.covers);
    for v in [s.height_cm, s.height_sd_cm, s.wetness, s.canopy, s.open, s.tree_height_m, s.wood_age_yr, s.ewes_per_ha[0], s.ewes_per_ha[1]] {
        assert!(v.is_finite() && v >= 0.0, "{s:?}");
    }
    assert!(s.canopy <= 1.0 && s.open <= 1.0 && s.wetness <= 1.0 && s.height_cm < 200.0);
}

fn of(code: &str) -> Patch {
    let mut p = Patch::new("k", rect(0.0, 0.0, 1.0, 1.0));
    p.phase1 = Some(code.into());
    p
}

fn kind(k: (holding::Covers, f32, f32)) -> Patch {
    patch("k", rect(0.0, 0.0, 1.0, 1.0), k)
}

fn cover(m: &Moving, p: Plant) -> f32 {
    m.stand.covers[p as usize]
}

#[test]
fn cut_heather_comes_back_through_its_phases_and_worse_from_old_stands() {
    let after = |age: f32| {
        let mut p = of("D1.1");
        p.heather_age_yr = Some(age);
        // One patch in ten of a heath, as a cut is.
        let mut patches = vec![of("D1.1"); 10];
        patches[0] = p;
        let (mut all, head) = start(&hill(patches, vec![], 0.4), 300.0);
        let mut line = Vec::new();
        for year in 1..=15 {
            let cut = Doing::CutHeather { height_cm: 8.0 };
            let mut works = vec![vec![]; 10];
            works[0] = if year == 1 { vec![&cut] } else { vec![] };
            world().1.year(&mut all, &works, &head, year);
            sound(&all[0].stand);
            line.push((cover(&all[0], Plant::Heather), all[0].stand.height_cm, all[0].stand.phase.unwrap(), all[0].stand.heather_age_yr.unwrap()));
        }
        line
    };
    let (young, old) = (after(10.0), after(28.0));
    for y in [0, 2, 4, 6, 9, 14] {
        println!("{} years after: cut at 10 {:.2} {:.0} cm, at 28 {:.2} {:.0} cm", y, young[y].0, young[y].1, old[y].0, old[y].1);
    }
    // From the phase table: pioneer to 6, building to 15.
    assert_eq!((young[0].2, young[5].2, young[6].2, young[0].3, young[14].3), (Phase::Pioneer, Phase::Pioneer, Phase::Building, 0.0, 14.0));
    assert!(young[0].0 < 0.05 && young[0].1 < 15.0 && young[10].0 > 0.5);
    assert!(old[6].0 < young[6].0, "Miller & Miles 1970: regeneration falls with the age of the stand");
    assert!(young[14].1 > young[4].1 && young[4].1 > young[0].1);
    // A cut higher than the heather stands changes nothing.
    let (mut all, head) = start(&hill(vec![of("D1.1")], vec![], 0.4), 300.0);
    run(&mut all, &head, 1, |_| vec![Doing::CutHeather { height_cm: 60.0 }]);
    assert!(all[0].heath.since_work_yr.is_none() && cover(&all[0], Plant::Heather) > 0.6);
}

#[test]
fn grazing_slows_cover_after_a_burn() {
    // Palmer 1997: any use slows the gain of cover after burning.
    let after = |ewes: f32| {
        let (mut all, head) = start(&hill(vec![of("D1.1"); 10], vec![], ewes), 300.0);
        run(&mut all, &head, 6, |y| if y == 1 { vec![Doing::BurnHeather] } else { vec![] });
        cover(&all[0], Plant::Heather)
    };
    let (none, some, many) = (after(0.0), after(1.0), after(3.0));
    println!("cover five years after a burn: {none:.2} without stock, {some:.2} with 1, {many:.2} with 3 ewes/ha");
    assert!(none > some && some > many);
}

#[test]
fn a_blocked_ditch_wets_the_ground_and_bog_plants_follow_late() {
    let mut dry = of("E1.7");
    dry.wetness = Some(0.5);
    let (mut all, head) = start(&hill(vec![dry], vec![], 0.3), 400.0);
    let first = all[0].stand.clone();
    let mut line = Vec::new();
    for year in 1..=25 {
        let works = vec![if year == 1 { vec![&Doing::Wet] } else { vec![] }];
        world().1.year(&mut all, &works, &head, year);
        line.push((all[0].stand.wetness, cover(&all[0], Plant::CottonGrass), cover(&all[0], Plant::Moss)));
    }
    for y in [0, 2, 5, 7, 11, 19, 24] {
        println!("{} years: wetness {:.2}, cotton-grass {:.3}, moss {:.3}", y + 1, line[y].0, line[y].1, line[y].2);
    }
    // Holden 2011: about half way back, measured after six years.
    let g = &world().0;
    let t = |k: &str| g.number(&format!("water.table.{k}"), Country::GB).unwrap() as f32;
    let back = (t("blocked") - t("drained")) / (t("intact") - t("drained"));
    assert!((line[5].0 - (0.5 + back * (0.85 - 0.5))).abs() < 0.01 && line[2].0 < line[5].0 && line[24].0 == line[5].0);
    assert!(line[19].2 >= line[7].2 && line[24].2 >= first.covers[Plant::Moss as usize]);
    assert!(line[7].1 >= line[2].1);
}

#[test]
fn scrapes_make_a_flush_at_once() {
    let (mut all, head) = start(&hill(vec![kind(grass())], vec![], 0.5), 350.0);
    run(&mut all, &head, 1, |_| vec![Doing::Scrape]);
    assert!(all[0].stand.flush && all[0].stand.wetness >= 0.9 && cover(&all[0], Plant::Bare) > 0.01);
}

#[test]
fn planted_trees_start_at_nothing_and_a_fence_lets_the_sward_up() {
    let (mut all, head) = start(&hill(vec![kind(grass()), kind(grass())], vec![], 1.5), 350.0);
    all[0].stand.feature = Feature::Wood(0);
    let plant = || Doing::Plant { stems: vec![(Tree::Birch, 800.0), (Tree::Willow, 300.0)], open: 0.3, stock_out_yr: 10 };
    run(&mut all, &head, 1, |_| vec![plant()]);
    let s = &all[0].stand;
    assert_eq!((s.wood_age_yr, s.trees.len(), s.trees[0].age_yr, s.open, s.class), (0.0, 2, 0.0, 0.3, Class::NativeWood));
    assert_eq!(s.ewes_per_ha, [0.0; 2]);
    assert!(all[1].stand.ewes_per_ha[0] > 2.9, "the flock stands on the half that is left: {:?}", all[1].stand.ewes_per_ha);
    assert!(all[0].grazed.forage == 0.0 && all[1].grazed.forage > 0.0);
    run(&mut all, &head, 9, |_| vec![]);
    assert!(all[0].stand.height_cm > all[1].stand.height_cm * 1.3 && all[0].stock_out_yr == 1);
    run(&mut all, &head, 1, |_| vec![]);
    assert!(all[0].stand.ewes_per_ha[0] > 0.0, "after ten years the fence is gone");
    let s = &all[0].stand;
    assert!(s.trees[1].bears && s.trees[0].bears && s.canopy > 0.1 && (s.wood_age_yr - 10.0).abs() < 1e-6);
    assert!(s.trees[0].stems_per_ha > 700.0 && s.trees[0].stems_per_ha < 800.0);
}

#[test]
fn stock_among_young_trees_hold_them_down() {
    let trees = |stock_out_yr: u32| {
        let (mut all, head) = start(&hill(vec![kind(grass())], vec![], 1.0), 350.0);
        all[0].stand.feature = Feature::Wood(0);
        run(&mut all, &head, 8, |y| if y == 1 { vec![Doing::Plant { stems: vec![(Tree::Rowan, 1000.0)], open: 0.0, stock_out_yr }] } else { vec![] });
        (all[0].stand.trees[0].stems_per_ha, all[0].stand.trees[0].height_m)
    };
    let (shut, open) = (trees(15), trees(0));
    assert!(open.0 < 0.4 * shut.0 && open.1 < shut.1, "{shut:?} {open:?}");
}

#[test]
fn thinning_opens_and_felling_brings_ground_plants_back() {
    let (mut all, head) = start(&hill(vec![], vec![spruce("s", rect(0.0, 0.0, 1.0, 1.0), 1990)], 0.0), 300.0);
    let canopy = all[0].stand.canopy;
    assert_eq!(all[0].stand.class, Class::ClosedConifer);
    let mut thinned = all.clone();
    run(&mut thinned, &head, 1, |_| vec![Doing::Thin { keep: 0.4 }]);
    assert!(thinned[0].stand.canopy < canopy);
    run(&mut thinned, &head, 9, |_| vec![]);
    assert!(cover(&thinned[0], Plant::SedgeGrass) > cover(&all[0], Plant::SedgeGrass));
    let mut restocked = all.clone();
    run(&mut all, &head, 8, |y| if y == 1 { vec![Doing::Fell] } else { vec![] });
    let s = &all[0].stand;
    assert!(s.trees.is_empty() && s.canopy == 0.0 && s.open == 1.0 && s.wood_age_yr == 0.0 && s.class != Class::ClosedConifer);
    assert!(cover(&all[0], Plant::Bare) < 0.5 && cover(&all[0], Plant::SedgeGrass) > 0.2 && s.height_cm > 8.0, "{s:?}");
    run(&mut restocked, &head, 6, |y| if y == 1 { vec![Doing::Restock { stems: vec![(Tree::Spruce, 2000.0)], open: 0.2 }] } else { vec![] });
    let s = &restocked[0].stand;
    assert!(s.wood_age_yr == 5.0 && s.class == Class::YoungConifer && s.open == 0.2 && s.tree_height_m < 4.0, "{s:?}");
}

#[test]
fn a_closing_birch_wood_loses_heather_and_gains_blaeberry() {
    // Hester, Miles & Gimingham 1991: heather gives way to blaeberry as birch closes.
    let mut w = birch("b", rect(0.0, 0.0, 1.0, 1.0), 2023);
    w.open_pct = Some(0.0);
    w.ground_phase1 = Some("D1.1".into());
    let (mut all, head) = start(&hill(vec![], vec![w], 0.0), 300.0);
    let (heather, berries) = (cover(&all[0], Plant::Heather), cover(&all[0], Plant::Blaeberry));
    run(&mut all, &head, 30, |_| vec![]);
    println!("canopy {:.2}: heather {heather:.2} -> {:.2}, blaeberry {berries:.2} -> {:.2}", all[0].stand.canopy, cover(&all[0], Plant::Heather), cover(&all[0], Plant::Blaeberry));
    assert!(cover(&all[0], Plant::Heather) < heather && cover(&all[0], Plant::Blaeberry) > berries);
}

#[test]
fn fields_do_what_is_done_to_them() {
    let (all, head) = start(&hill(vec![of("B2.2"), of("B2.2")], vec![], 0.5), 200.0);
    // A crop stands in its years and the grass comes back after.
    let mut crop = all.clone();
    run(&mut crop, &head, 2, |_| vec![Doing::Crop { left: Stubble::Left }]);
    assert!(cover(&crop[0], Plant::Crop) > 0.5 && crop[0].stand.class == Class::Arable && crop[0].stand.stubble == Some(Stubble::Left));
    run(&mut crop, &head, 2, |_| vec![]);
    assert!(cover(&crop[0], Plant::Crop) < 0.01 && crop[0].stand.class == Class::InByeGrass && crop[0].stand.stubble.is_none());
    // Mown every year, no litter builds.
    let (mut mown, mut left) = (all.clone(), all.clone());
    let none = head.scaled(0.0);
    run(&mut mown, &none, 8, |_| vec![Doing::Mow { height_cm: 7.0 }]);
    run(&mut left, &none, 8, |_| vec![]);
    assert!(mown[0].sward.rank < 0.35 && mown[0].stand.height_cm < left[0].stand.height_cm);
    // Kept short.
    let mut kept = all.clone();
    run(&mut kept, &none, 8, |_| vec![Doing::KeepShort { height_cm: 8.0 }]);
    assert!(kept[0].stand.height_cm <= 8.0);
    // Rush cut once is back in three years.
    let (mut rush, head) = start(&hill(vec![of("B5")], vec![], 0.5), 200.0);
    let full = cover(&rush[0], Plant::Rush);
    run(&mut rush, &head, 1, |_| vec![Doing::CutRush { share: 0.9 }]);
    assert!(cover(&rush[0], Plant::Rush) < 0.5 * full);
    run(&mut rush, &head, 3, |_| vec![]);
    assert!((cover(&rush[0], Plant::Rush) - full).abs() < 0.02);
    // Trees cleared from a wood leave open ground.
    let (mut wood, head) = start(&hill(vec![], vec![birch("b", rect(0.0, 0.0, 1.0, 1.0), 2010)], 0.5), 300.0);
    run(&mut wood, &head, 1, |_| vec![Doing::ClearTrees]);
    assert!(wood[0].stand.trees.is_empty() && wood[0].stand.open == 1.0 && wood[0].stand.class != Class::NativeWood);
}

/// Any surveyed patch.
fn ground() -> impl Strategy<Value = Patch> {
    (prop::array::uniform11(0.0f32..1.0), 2.0f32..70.0, 0.1f32..0.9, 0.0f32..1.0, prop::option::of(0.0f32..45.0)).prop_map(|(c, height, spread, wetness, age)| {
        let sum: f32 = c.iter().sum::<f32>().max(1.0);
        let mut p = Patch::new("g", rect(0.0, 0.0, 1.0, 1.0));
        for plant in Plant::ALL {
            p.covers.set(plant, 99.0 * c[plant as usize] / sum);
        }
        (p.height_cm, p.height_sd_cm, p.wetness, p.heather_age_yr) = (Some(height), Some(height * spread), Some(wetness), age);
        p
    })
}

fn any_work() -> impl Strategy<Value = Doing> {
    let stems = || prop::collection::vec((0usize..12, 0.0f32..3000.0).prop_map(|(t, n)| (Tree::ALL[t], n)), 0..4);
    prop_oneof![
        (stems(), 0.0f32..1.0, 0u32..20).prop_map(|(stems, open, stock_out_yr)| Doing::Plant { stems, open, stock_out_yr }),
        (0.0f32..40.0).prop_map(|height_cm| Doing::CutHeather { height_cm }),
        Just(Doing::BurnHeather),
        (0.0f32..1.0).prop_map(|keep| Doing::Thin { keep }),
        Just(Doing::Fell),
        (stems(), 0.0f32..1.0).prop_map(|(stems, open)| Doing::Restock { stems, open }),
        Just(Doing::Wet),
        Just(Doing::Scrape),
        (2.0f32..20.0).prop_map(|height_cm| Doing::Mow { height_cm }),
        (0.0f32..1.0).prop_map(|share| Doing::CutRush { share }),
        Just(Doing::Crop { left: Stubble::Left }),
        (2.0f32..20.0).prop_map(|height_cm| Doing::KeepShort { height_cm }),
        Just(Doing::ClearTrees),
        Just(Doing::Quiet),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    /// Whatever is done in whatever year, covers, heights and trees stay what they can be.
    #[test]
    fn any_works_on_any_ground_keep_every_bound(a in ground(), b in ground(), works in prop::collection::vec((1u32..25, any_work()), 0..8), ewes in 0.0f32..8.0, altitude in 50.0f32..800.0) {
        let (mut all, head) = start(&hill(vec![a, b], vec![], ewes), altitude);
        run(&mut all, &head, 25, |y| works.iter().filter(|(w, _)| *w == y).map(|(_, d)| d.clone()).collect());
    }

    /// Left alone, trees never shrink, and the same start gives the same end.
    #[test]
    fn trees_left_alone_never_shrink_and_runs_repeat(planted in 1960i32..2026, altitude in 100.0f32..600.0, canopy in prop::option::of(1.0f32..99.0)) {
        let mut w = birch("b", rect(0.0, 0.0, 1.0, 1.0), planted);
        w.canopy_pct = canopy;
        let h = hill(vec![kind(heath())], vec![w], 0.0);
        let (mut all, head) = start(&h, altitude);
        let mut before = all[1].stand.clone();
        for _ in 0..20 {
            run(&mut all, &head, 1, |_| vec![]);
            let now = &all[1].stand;
            for (t, b) in now.trees.iter().zip(&before.trees) {
                prop_assert!(t.height_m >= b.height_m && t.age_yr == b.age_yr + 1.0 && t.stems_per_ha == b.stems_per_ha);
            }
            prop_assert!(now.canopy >= before.canopy - 1e-4, "{} {}", now.canopy, before.canopy);
            before = now.clone();
        }
        let (mut again, _) = start(&h, altitude);
        run(&mut again, &head, 20, |_| vec![]);
        prop_assert_eq!(format!("{all:?}"), format!("{again:?}"));
    }

    /// More sheep never lower the use of any plant in a year.
    #[test]
    fn more_sheep_never_lower_the_use_of_a_plant(a in ground(), b in ground(), ewes in 0.1f32..3.0, more in 1.0f32..3.0, altitude in 100.0f32..700.0) {
        let h = hill(vec![a, b], vec![], ewes);
        let (all, head) = start(&h, altitude);
        let (mut few, mut many) = (all.clone(), all);
        run(&mut few, &head, 1, |_| vec![]);
        run(&mut many, &head.scaled(more), 1, |_| vec![]);
        for (f, m) in few.iter().zip(&many) {
            prop_assert!(m.grazed.heather >= f.grazed.heather - 2e-3, "{} {}", f.grazed.heather, m.grazed.heather);
            prop_assert!(m.grazed.blaeberry >= f.grazed.blaeberry - 2e-3 && m.grazed.grass >= f.grazed.grass - 2e-3);
            prop_assert!((0.0..=1.0).contains(&m.grazed.unmet) && m.grazed.eaten_t_per_ha >= f.grazed.eaten_t_per_ha - 2e-3);
        }
    }

    /// The first year under unchanged stock gives back the survey: heights but for heather growing on, and what stock there is.
    #[test]
    fn the_survey_is_the_anchor(a in ground(), ewes in 0.0f32..3.0) {
        let mut a = a;
        (a.heather_age_yr, a.phase) = (None, None);
        a.covers.set(Plant::Crop, 0.0);
        a.covers.set(Plant::Heather, 0.0);
        a.covers.set(Plant::SedgeGrass, a.covers.of(Plant::SedgeGrass).unwrap_or(0.0).max(1.0));
        let h = hill(vec![a], vec![], ewes);
        let (mut all, head) = start(&h, 300.0);
        let before = all[0].stand.clone();
        run(&mut all, &head, 5, |_| vec![]);
        let now = &all[0].stand;
        prop_assert!((now.height_cm / before.height_cm - 1.0).abs() < 0.02, "{} {}", before.height_cm, now.height_cm);
        prop_assert!((now.height_sd_cm / before.height_sd_cm - 1.0).abs() < 0.02);
        for (b, n) in before.covers.iter().zip(&now.covers) {
            prop_assert!((b - n).abs() < 0.01, "{:?} {:?}", before.covers, now.covers);
        }
        prop_assert!((now.ewes_per_ha[0] - before.ewes_per_ha[0]).abs() < 1e-3 && now.class == before.class);
    }
}
