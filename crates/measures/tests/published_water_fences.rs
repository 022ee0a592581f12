//! Published and reference figures on dams, fences and livestock units.
//!
//! `published/units_dams.json`: coefficient tables as published (Countryside Stewardship Annex 8C 2023; Entry Level Stewardship
//! 2013 Table 13; SSI 2004/70 schedule 1), totals by exact fractions, dam spacing in closed form, and dams on a stepped profile
//! walked in steps of a millimetre; no figure in it comes from this program.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may stop")]

use geo_types::{LineString, MultiLineString, MultiPolygon, Point, Rect};
use guidance::{Country, Guidance};
use habitat::ahead::{Doing, Programme};
use habitat::{Assessed, Settings};
use holding::{Ditch, Fence, FenceKind, Holding, Lek, Marking, Measure, Patch};
use measures::kind::dams::profile::Profile;
use measures::kind::dams::spacing::{Spacing, ground_spacing_m, map_spacing_m, on_graded_channel, place};
use measures::kind::dams::{self, DamType, Limits};
use measures::kind::{fence, strikes, water};
use measures::rules::Context;
use measures::units::{Animal, Breed, Lu, NoUnits, UnitSet, by_month, year_mean};
use serde_json::Value;

fn reference() -> Value {
    serde_json::from_str(include_str!("published/units_dams.json")).unwrap()
}

fn list(v: &Value) -> Vec<f64> {
    v.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
}

fn line(points: &[(f64, f64)]) -> MultiLineString<f64> {
    MultiLineString(vec![LineString::from(points.to_vec())])
}

fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> MultiPolygon<f64> {
    MultiPolygon(vec![Rect::new((x0, y0), (x1, y1)).to_polygon()])
}

/// A moor with one lek at (1000, 1000), its ground falling to the east and a little to the south.
fn moor(fall_east: f64, country: Country) -> Holding {
    let mut h = Holding::default();
    h.about.country = country;
    h.leks = vec![Lek::new("L1", "Testrigg", Point::new(1000.0, 1000.0))];
    let mut patch = Patch::new("P", rect(-4000.0, -4000.0, 6000.0, 6000.0));
    patch.phase1 = Some("E1.6.1".into());
    h.patches = vec![patch];
    let frame = ground::Frame::covering(-500.0, -500.0, 2500.0, 2500.0, 10.0);
    let mut grid = ground::Grid::filled(frame, 0.0f32);
    for i in 0..frame.len() {
        let (x, y) = frame.centre(i % frame.cols, i / frame.cols);
        grid.cells[i] = (400.0 - fall_east * x + 0.01 * y) as f32;
    }
    h.heights = Some(grid);
    h
}

fn assess(h: &Holding, g: &Guidance) -> Assessed {
    habitat::assess(h, g, Settings { draws: 4, seed: 1, cell_m: Some(50.0) }).unwrap()
}

/// Look at a holding with its figures.
fn with<T>(h: &Holding, look: impl FnOnce(&Context) -> T) -> T {
    let g = Guidance::load().unwrap();
    let a = assess(h, &g);
    look(&Context::new(h, &g, &a))
}

/// One dam per 20 cm of fall, at most 50 m apart (Scottish Rural Priorities, peat dam).
fn scottish_rule(c: &Context) -> Spacing {
    let limits = Limits::read(c).unwrap();
    Spacing { fall_m: limits.fall_m, least_m: 0.0, greatest_m: limits.clamp_m[2], peg_m: 0.001 }
}

#[test]
fn spacing_on_even_slopes_is_the_closed_form() {
    let all = reference();
    for row in all["dam_spacing"]["rows"].as_array().unwrap() {
        let of = |k: &str| row[k].as_f64().unwrap();
        let (slope, fall) = (of("slope_pct") / 100.0, of("fall_per_dam_m"));
        assert!((map_spacing_m(fall, slope) - of("map_spacing_m")).abs() < 1e-9, "{row}");
        assert!((ground_spacing_m(fall, slope) - of("ground_spacing_m")).abs() < 1e-9, "{row}");
        assert_eq!((400.0 / map_spacing_m(fall, slope) - 1e-9).ceil(), of("dams_for_400m_ditch"), "{row}");
    }
    with(&moor(0.02, Country::Scotland), |c| {
        for row in all["dam_spacing"]["capped_20cm"].as_array().unwrap() {
            let spacing = scottish_rule(c).on_slope(row["slope_pct"].as_f64().unwrap() / 100.0);
            assert!((spacing - row["spacing_m"].as_f64().unwrap()).abs() < 1e-9, "{row}: {spacing}");
        }
    });
    for row in all["graded_channel"].as_array().unwrap() {
        let of = |k: &str| row[k].as_f64().unwrap();
        assert!((on_graded_channel(of("L_m"), of("Si"), of("Se"), of("h_m")) - of("n")).abs() < 1e-9, "{row}");
    }
}

#[test]
fn spacing_by_slope_is_the_table_of_the_guidance() {
    // Rows derived from the 20 cm rule and rounded to a tenth of a metre, the first to a metre.
    with(&moor(0.02, Country::GB), |c| {
        let fall_m = Limits::read(c).unwrap().fall_m;
        let curve = c.guidance.curve("water.dam.spacing_by_slope", Country::GB).unwrap();
        assert_eq!(curve.points().len(), 6);
        for (deg, spacing) in curve.points() {
            let ours = map_spacing_m(fall_m, deg.to_radians().tan());
            let rounded = if *spacing > 20.0 { 0.5 } else { 0.05 };
            assert!((ours - spacing).abs() <= rounded + 1e-9, "{deg} degrees: {ours} for {spacing}");
        }
    });
}

#[test]
fn dams_on_the_stepped_profile_stand_where_the_reference_puts_them() {
    let all = reference();
    let (x, z) = (list(&all["dam_profile"]["x_m"]), list(&all["dam_profile"]["z_m"]));
    let wanted = list(&all["dam_profile"]["dam_positions_m"]);
    let profile = Profile::fitted(&x, &z).unwrap();
    let places = with(&moor(0.02, Country::Scotland), |c| place(&profile, &scottish_rule(c)));
    assert_eq!(places.len(), wanted.len(), "{places:?}");
    for (ours, theirs) in places.iter().zip(&wanted) {
        assert!((ours - theirs).abs() <= 0.002, "{ours} for {theirs}");
    }
}

fn animal(name: &str) -> Animal {
    match name {
        "suckler_cow" | "beef_cow" | "dairy_cow" => Animal::Cow,
        "cattle_over_2y" => Animal::CattleOver2Years,
        "cattle_6m_2y" | "heifer_8m_plus" => Animal::CattleToTwoYears,
        "lowland_ewe_lamb_or_ram" | "lowland_ewe_lamb" => Animal::HeavyEwe,
        "store_lamb_hill_ewe_lamb_hogg" | "hill_ewe_lamb" | "breeding_ewe" => Animal::HillEwe,
        "store_lamb" => Animal::Hogg,
        "ram_teg_over_6m" => Animal::Ram,
        "horse" => Animal::Horse,
        "pony_donkey" | "pony" => Animal::Pony,
        "goat" | "breeding_goat" => Animal::Goat,
        "hind_over_27m" => Animal::Hind,
        "deer_6_27m" => Animal::YoungDeer,
        "alpaca" => Animal::Alpaca,
        "llama" => Animal::Llama,
        other => panic!("{other}"),
    }
}

fn set(name: &str) -> UnitSet {
    match name {
        "england_cs_annex8c_2023" => UnitSet::England2023,
        "england_els_2013_table13" => UnitSet::Els2013,
        "scotland_ssi_2004_70" => UnitSet::Scotland2004,
        other => panic!("{other}"),
    }
}

#[test]
fn livestock_units_are_exact_in_every_set() {
    let (all, g) = (reference(), Guidance::load().unwrap());
    let mut met = 0;
    for (table, rows) in all["tables"].as_object().unwrap() {
        for (name, value) in rows.as_object().unwrap().iter().filter(|(n, _)| *n != "other_ruminant_60kg") {
            assert_eq!(set(table).coefficient(&g, animal(name), Breed::Usual).unwrap(), value.as_f64().unwrap(), "{table} {name}");
            met += 1;
        }
    }
    assert_eq!(met, 25);
    for case in all["totals"].as_array().unwrap() {
        let stock: Vec<(Animal, f64)> =
            case["stock"].as_object().unwrap().iter().map(|(n, head)| (animal(n), head.as_f64().unwrap())).collect();
        let lu = set(case["table"].as_str().unwrap()).total(&g, &stock).unwrap();
        assert_eq!(lu.units, case["LU"].as_f64().unwrap());
        assert_eq!(lu.per_ha_stated(case["ha"].as_f64().unwrap()), case["LU_per_ha_2dp"].as_f64().unwrap());
    }
    let months = &all["months"];
    let head: [f64; 12] = list(&months["hill_ewes_by_month"]).try_into().unwrap();
    let lu = by_month(UnitSet::England2023, &g, Animal::HillEwe, &head).unwrap();
    assert_eq!(lu.to_vec(), list(&months["LU_by_month"]));
    assert!((lu.iter().sum::<f64>() - months["LU_months"].as_f64().unwrap()).abs() < 1e-9);
    let days = &all["day_weighted"];
    for (many, mean) in [("nights", "LU_year_nights"), ("days_inclusive", "LU_year_inclusive")] {
        let ours = year_mean(days["LU_of_380_ewes"].as_f64().unwrap(), days[many].as_f64().unwrap(), 365.0);
        assert!((ours - days[mean].as_f64().unwrap()).abs() < 1e-9);
    }
    // Table 13 of 2013, other ruminants: 0.1 LU for 60 kg liveweight. The row holds five figures.
    assert!((UnitSet::Els2013.ruminants(&g, 1.0, 60.0).unwrap().units - 0.1).abs() < 1e-5);
}

#[test]
fn sets_are_never_mixed_and_never_borrow() {
    let g = Guidance::load().unwrap();
    let lu = |set: UnitSet| set.total(&g, &[(Animal::HillEwe, 100.0)]).unwrap();
    assert_eq!(lu(UnitSet::England2023).plus(lu(UnitSet::Scotland2004)), Err(NoUnits::Mixed(UnitSet::England2023, UnitSet::Scotland2004)));
    assert_eq!(lu(UnitSet::England2023).plus(lu(UnitSet::England2023)).unwrap(), Lu { set: UnitSet::England2023, units: 16.0 });
    assert!(matches!(UnitSet::England2023.total(&g, &[(Animal::Hind, 1.0)]), Err(NoUnits::NotInSet { .. })));
    // Footnote of Table 13, 2013: a fifth more for large breeds, a fifth less for small.
    assert_eq!(UnitSet::Els2013.coefficient(&g, Animal::Cow, Breed::Large).unwrap(), 1.2);
    assert_eq!(UnitSet::Els2013.coefficient(&g, Animal::CattleOver2Years, Breed::Small).unwrap(), 0.56);
    assert_eq!(UnitSet::England2023.coefficient(&g, Animal::Cow, Breed::Large), Err(NoUnits::NoBreeds(UnitSet::England2023)));
}

fn fence_of(kind: FenceKind, marking: Marking, points: &[(f64, f64)]) -> Fence {
    Fence { kind, marking, ..Fence::new("F1", line(points)) }
}

#[test]
fn a_kilometre_of_deer_fence_gives_the_published_strikes_and_deaths() {
    // Baines & Andrew 2003 (abstract): 1.3 black grouse strikes per km a year on unmarked deer fences, orange netting cut them
    // by 91 %, 29 % of strikes fatal: 0.38 and 0.03 deaths. Summary of Conservation Evidence: all birds 1.13 to 0.35 per km a month.
    with(&moor(0.02, Country::Scotland), |c| {
        let km = [(500.0, 1000.0), (1500.0, 1000.0)];
        let bare = fence_of(FenceKind::Deer, Marking::None, &km);
        let netted = fence_of(FenceKind::Deer, Marking::Netting, &km);
        let strikes_of = |f: &Fence| strikes::strikes(c, f).unwrap().usual;
        assert!((strikes_of(&bare) - 1.3).abs() < 1e-9, "{}", strikes_of(&bare));
        assert!((1.0 - strikes_of(&netted) / strikes_of(&bare) - 0.91).abs() < 1e-9);
        let deaths_of = |f: &Fence| strikes::deaths(c, f).unwrap();
        for (fence, key) in [(&bare, "fence.deaths.unmarked"), (&netted, "fence.deaths.marked")] {
            let usual = deaths_of(fence).usual;
            assert_eq!((100.0 * usual).round() / 100.0, c.number(key).unwrap(), "{usual}");
        }
        assert_eq!(strikes::all_birds_a_month(c, 1.0, false).unwrap(), 1.13);
        assert_eq!(strikes::all_birds_a_month(c, 1.0, true).unwrap(), 0.35);
        let drawn = strikes::deaths_drawn(c, &bare, 7, 400).unwrap();
        let d = deaths_of(&bare);
        assert!(drawn.iter().all(|x| (d.low - 1e-9..=d.high + 1e-9).contains(x)));
        assert_eq!(drawn, strikes::deaths_drawn(c, &bare, 7, 400).unwrap());
        assert!(drawn.iter().any(|x| *x < d.usual) && drawn.iter().any(|x| *x > d.usual));
    });
}

#[test]
fn more_fence_never_kills_fewer_marking_never_more_and_distance_never_more() {
    with(&moor(0.02, Country::GB), |c| {
        let deaths = |kind, marking, points: &[(f64, f64)]| strikes::deaths(c, &fence_of(kind, marking, points)).unwrap();
        for kind in [FenceKind::Deer, FenceKind::Stock, FenceKind::Wire, FenceKind::Other] {
            let mut last = strikes::Spread::default();
            for long in 1..40 {
                let now = deaths(kind, Marking::None, &[(1000.0, 900.0), (1000.0 + 97.0 * f64::from(long), 900.0 + f64::from(long))]);
                assert!(now.low >= last.low - 1e-12 && now.usual >= last.usual - 1e-12 && now.high >= last.high - 1e-12);
                assert!(now.low <= now.usual && now.usual <= now.high);
                last = now;
            }
            let mut last = f64::INFINITY;
            for off in 0..40 {
                let y = 1000.0 + 100.0 * f64::from(off);
                let points = [(800.0, y), (1200.0, y)];
                let bare = deaths(kind, Marking::None, &points);
                for marking in [Marking::Netting, Marking::Bamboo, Marking::Pales, Marking::Unknown] {
                    let marked = deaths(kind, marking, &points);
                    assert!(marked.low <= bare.low && marked.usual <= bare.usual && marked.high <= bare.high, "{marking:?}");
                }
                assert!(bare.usual <= last + 1e-12, "at {y}");
                last = bare.usual;
            }
            assert_eq!(last, 0.0, "none is expected beyond the last band");
        }
        assert_eq!(deaths(FenceKind::Wall, Marking::None, &[(900.0, 1000.0), (1100.0, 1000.0)]), strikes::Spread::default());
    });
}

#[test]
fn sections_keep_the_length_and_are_cut_at_the_bands() {
    with(&moor(0.02, Country::GB), |c| {
        let long = line(&[(-3000.0, 1000.0), (900.0, 1000.0), (1000.0, 3900.0)]);
        let sections = strikes::sections(c, &long).unwrap();
        let sum: f64 = sections.iter().map(|s| s.length_m).sum();
        let whole = 3900.0 + 100f64.hypot(2900.0);
        assert!((sum - whole).abs() < 1e-6);
        assert!(sections.len() == 5 && sections.windows(2).all(|w| w[0].from_m < w[1].from_m));
        // The first band, out to 500 m, on a line straight to the lek: from x = 500, to within a piece of 5 m.
        let first = &sections[0];
        assert!((first.line.0[0].0[0].x - 500.0).abs() <= 5.0, "{:?}", first.line.0[0]);
        assert_eq!(first.share, 1.0);
    });
}

#[test]
fn dams_keep_to_their_clamp_and_fall_downstream_on_any_ground() {
    for country in [Country::GB, Country::England, Country::Scotland, Country::Wales] {
        for fall in [0.0, 0.002, 0.01, 0.02, 0.04, 0.08, 0.15, 0.25] {
            let mut h = moor(fall, country);
            // Noise of a height model, to and fro by 20 cm, the same every time.
            let grid = h.heights.as_mut().unwrap();
            for (i, z) in grid.cells.iter_mut().enumerate() {
                *z += 0.2 * ((i as u64).wrapping_mul(2_654_435_761) % 1000) as f32 / 1000.0;
            }
            for (width, depth) in [(60.0, 50.0), (120.0, 80.0), (300.0, 100.0)] {
                let mut ditch = Ditch::new("D1", line(&[(300.0, 800.0), (700.0, 820.0), (1200.0, 780.0)]));
                (ditch.width_cm, ditch.depth_cm) = (Some(width), Some(depth));
                h.ditches = vec![ditch];
                with(&h, |c| {
                    let limits = Limits::read(c).unwrap();
                    let plan = dams::plan(c, &h.ditches[0], None, None).unwrap();
                    assert!(plan.dams().count() > 10, "{country} {fall} {width}");
                    for run in &plan.runs {
                        for pair in run.dams.windows(2) {
                            let apart = pair[1].along_m - pair[0].along_m;
                            let [above, below] = [pair[0], pair[1]].map(|d| limits.spacing(d.kind, f64::from(depth)));
                            assert!(apart <= above.greatest_m + 1e-9, "{country} {fall}: {apart} m apart");
                            assert!(apart >= above.least_m.min(below.least_m) - 1e-9, "{country} {fall}: {apart} m apart");
                            assert!(pair[1].level_m <= pair[0].level_m + 1e-9, "{country} {fall}: a dam above the last");
                        }
                    }
                });
            }
        }
    }
}

#[test]
fn kinds_of_dam_follow_ditch_and_slope() {
    // Fen Management Handbook: by hand to 70 x 60 cm, by excavator to 150 x 120 cm; piling to 5 m (Brooks & Stoneman 1997).
    with(&moor(0.02, Country::Scotland), |c| {
        let l = Limits::read(c).unwrap();
        assert_eq!(l.dam_type(70.0, 60.0, 1.0, None), DamType::HandPeat);
        assert_eq!(l.dam_type(71.0, 60.0, 1.0, None), DamType::MachinePeat);
        assert_eq!(l.dam_type(150.0, 120.0, 1.0, None), DamType::MachinePeat);
        assert_eq!(l.dam_type(150.0, 121.0, 1.0, None), DamType::Piling);
        assert_eq!(l.dam_type(501.0, 100.0, 1.0, None), DamType::Leave);
        assert_eq!(l.dam_type(60.0, 50.0, 3.6, None), DamType::TimberStone);
        assert_eq!(l.dam_type(60.0, 50.0, 16.0, None), DamType::Leave);
        assert_eq!(l.dam_type(60.0, 50.0, 1.0, Some(30.0)), DamType::Bale);
        assert_eq!(l.dam_type(120.0, 80.0, 1.0, Some(60.0)), DamType::TimberStone);
        // Scottish Rural Priorities: full section, 10 cm above the top, two widths along: 1.0 x (0.6 + 0.1) x 2.0 m.
        assert!((dams::peat_m3(c, 100.0, 60.0).unwrap() - 1.4).abs() < 1e-12);
    });
}

fn measure(kind: &str, facts: &[(&str, Value)]) -> Measure {
    Measure { id: "M1".into(), option: 1, kind: kind.into(), facts: facts.iter().map(|(k, v)| (k.to_string(), v.clone())).collect(), ..Measure::default() }
}

#[test]
fn a_blocked_ditch_is_wet_costed_and_split_and_what_must_stay_dry_stays_open() {
    let mut h = moor(0.02, Country::Scotland);
    h.ditches = vec![Ditch::new("D1", line(&[(300.0, 800.0), (800.0, 800.0)]))];
    (h.ditches[0].width_cm, h.ditches[0].depth_cm) = (Some(100.0), Some(60.0));
    h.tracks = vec![holding::Track::new("T1", line(&[(505.0, 0.0), (505.0, 2000.0)]))];
    let block = measure("water", &[("work", "block".into()), ("ditch", "D1".into())]);
    with(&h, |c| {
        let plan = water::plan(c, &block).unwrap().unwrap();
        // 2 % of fall: 10 m apart; 195 m above the track, 285 m below it, the first dam at the top of each.
        assert_eq!(plan.dams().count(), 20 + 29, "{:?}", plan.runs);
        assert!((plan.length_m() - 480.0).abs() < 0.5);
        assert!(plan.open.iter().any(|o| o.why.contains("track T1") && (o.length_m - 20.0).abs() < 0.5), "{:?}", plan.open);
        // The ditch runs straight down the slope east but for 1 % to the south: 2 m up and 6.5 m down of 480 m.
        assert!((plan.wetted_ha() - 480.0 * 8.5 / 1e4).abs() < 0.01, "{}", plan.wetted_ha());
        // Water of the last dams above the track runs onto it.
        assert!(plan.spills.iter().any(|s| s.onto == dams::flow::Onto::Track), "{:?}", plan.spills);
        let faults = (water::ENTRY.faults)(c, &block);
        assert!(faults.is_empty(), "{faults:?}");
        let mut p = Programme::default();
        (water::ENTRY.works)(c, &block, &mut p).unwrap();
        assert!(matches!(p.works[0].doing, Doing::Wet) && p.works[0].year == 1);
        let costs = (water::ENTRY.costs)(c, &block).unwrap();
        assert_eq!(costs[0].gbp, [49.0 * 15.0, 49.0 * 22.5, 49.0 * 30.0]);
        let mut after = h.clone();
        (water::ENTRY.features)(c, &block, &mut after).unwrap();
        assert_eq!(after.ditches.len(), 2);
        assert!(after.ditches[0].blocked && !after.ditches[1].blocked);
        let open = measures::rules::places::metres(&after.ditches[1].shape);
        assert!((open - 20.0).abs() < 1.0, "{open}");
        let quantities = (water::ENTRY.quantities)(c, &block).unwrap();
        assert!(quantities.iter().any(|q| q.what == "peat in dams" && (q.amount - 49.0 * 1.4).abs() < 1e-9), "{quantities:?}");
    });
}

#[test]
fn ditches_that_must_run_and_water_onto_neighbours_and_buildings_are_refused() {
    let mut h = moor(0.02, Country::England);
    h.ditches = vec![Ditch::new("D1", line(&[(300.0, 800.0), (800.0, 800.0)]))];
    let block = measure("water", &[("work", "block".into()), ("ditch", "D1".into())]);
    let faults = |h: &Holding, m: &Measure| with(h, |c| (water::ENTRY.faults)(c, m));
    assert!(faults(&h, &block).is_empty());
    h.ditches[0].keep = true;
    assert!(faults(&h, &block)[0].found.contains("must keep running"));
    h.ditches[0].keep = false;
    // Beyond the stand-off, but in the way of the water: 60 m below the end of the ditch.
    h.buildings = vec![holding::Building::new("B1", rect(860.0, 740.0, 880.0, 800.0))];
    assert!(faults(&h, &block).iter().any(|f| f.found.contains("building B1")), "{:?}", faults(&h, &block));
    h.buildings.clear();
    h.boundary = Some(rect(0.0, 0.0, 840.0, 2000.0));
    assert!(faults(&h, &block).iter().any(|f| f.found.contains("beyond the boundary")));
    h.boundary = None;
    let wide = measure("water", &[("work", "block".into()), ("ditch", "D1".into()), ("spacing_m", 12.into())]);
    assert!(faults(&h, &wide).iter().any(|f| f.at == "spacing_m"), "England: at most 10 m (WN1)");
    assert!(faults(&h, &measure("water", &[("work", "dam".into()), ("ditch", "D1".into())])).iter().any(|f| f.at == "line"));
    assert!(faults(&h, &measure("water", &[("work", "block".into()), ("ditch", "D9".into())])).iter().any(|f| f.at == "ditch"));
}

#[test]
fn scrapes_are_counted_by_the_hectare_and_kept_off_historic_ground() {
    let mut h = moor(0.02, Country::Scotland);
    let mut m = measure("water", &[("work", "scrape".into()), ("scrape_m2", 50.into()), ("per_ha", 4.into())]);
    m.shape = rect(900.0, 900.0, 1000.0, 1000.0);
    with(&h, |c| {
        let q = (water::ENTRY.quantities)(c, &m).unwrap();
        assert_eq!((q[0].amount, q[1].amount), (4.0, 200.0));
        let mut p = Programme::default();
        (water::ENTRY.works)(c, &m, &mut p).unwrap();
        assert!(matches!(p.works[0].doing, Doing::Scrape));
        assert!((water::ENTRY.faults)(c, &m).is_empty());
    });
    let mut old = holding::Area::new("A1", rect(950.0, 950.0, 960.0, 960.0));
    old.kind = holding::AreaKind::Historic;
    h.areas = vec![old];
    assert_eq!(with(&h, |c| (water::ENTRY.faults)(c, &m)).len(), 1);
}

#[test]
fn fences_are_taken_down_marked_moved_and_put_up() {
    let mut h = moor(0.02, Country::GB);
    h.fences = vec![fence_of(FenceKind::Deer, Marking::None, &[(500.0, 1200.0), (1500.0, 1200.0)])];
    let after = |m: &Measure| {
        with(&h, |c| {
            let mut after = h.clone();
            assert!((fence::ENTRY.faults)(c, m).is_empty(), "{:?}", (fence::ENTRY.faults)(c, m));
            (fence::ENTRY.features)(c, m, &mut after).unwrap();
            (after, fence::deaths(c, m).unwrap(), (fence::ENTRY.costs)(c, m).unwrap(), (fence::ENTRY.quantities)(c, m).unwrap())
        })
    };
    let metres = |f: &Fence| measures::rules::places::metres(&f.shape);
    let all = measure("fence", &[("work", "remove".into()), ("fence", "F1".into())]);
    let (gone, [before, left], costs, _) = after(&all);
    assert!(gone.fences.is_empty() && left.usual == 0.0 && (before.usual - 1.3 * 0.29).abs() < 1e-9);
    assert_eq!(costs[0].gbp, [2500.0, 3750.0, 5000.0]);
    let mut part = measure("fence", &[("work", "mark".into()), ("fence", "F1".into())]);
    part.line = line(&[(800.0, 1201.0), (1100.0, 1201.0)]);
    let (marked, [before, left], costs, quantities) = after(&part);
    assert_eq!(marked.fences.len(), 2);
    assert!((metres(&marked.fences[0]) - 700.0).abs() < 1e-6 && (metres(&marked.fences[1]) - 300.0).abs() < 1e-6);
    assert_eq!((marked.fences[0].marking, marked.fences[1].marking), (Marking::None, Marking::Netting));
    assert!((left.usual / before.usual - 0.09).abs() < 1e-9);
    assert!((costs[0].gbp[1] - 900.0).abs() < 1e-6);
    assert!(quantities.iter().any(|q| q.what == "orange netting" && (q.amount - 360.0).abs() < 1e-6), "{quantities:?}");
    // Sections marked one after another: each stays marked, and the two halves leave nothing.
    with(&h, |c| {
        let mut after = h.clone();
        for (id, from, to) in [("A", 490.0, 1000.0), ("B", 1000.0, 1510.0)] {
            let mut half = Measure { id: id.into(), ..part.clone() };
            half.line = line(&[(from, 1200.5), (to, 1200.5)]);
            (fence::ENTRY.features)(c, &half, &mut after).unwrap();
        }
        let of = |marking: Marking| after.fences.iter().filter(|f| f.marking == marking).map(metres).sum::<f64>();
        assert!(of(Marking::None) < 1.0 && (of(Marking::Netting) - 1000.0).abs() < 1.0, "{:?}", after.fences);
    });
    let mut moved = measure("fence", &[("work", "move".into()), ("fence", "F1".into())]);
    moved.line = line(&[(700.0, 1202.0), (700.0, 1600.0), (1300.0, 1600.0), (1300.0, 1202.0)]);
    let (there, _, costs, _) = after(&moved);
    assert_eq!(there.fences.len(), 2);
    assert!((metres(&there.fences[0]) - 400.0).abs() < 1e-6 && (metres(&there.fences[1]) - 1396.0).abs() < 1e-6);
    assert!((costs[0].amount - 600.0).abs() < 1e-6 && (costs[1].amount - 1396.0).abs() < 1e-6);
    let mut new = measure("fence", &[("work", "new".into()), ("kind", "deer".into()), ("marking", "pales".into())]);
    new.line = line(&[(0.0, 0.0), (300.0, 0.0)]);
    let (put, _, _, quantities) = after(&new);
    assert_eq!((put.fences[1].kind, put.fences[1].marking, put.fences[1].id.as_str()), (FenceKind::Deer, Marking::Pales, "M1"));
    assert!(quantities.iter().any(|q| q.what == "pales" && q.amount == 2000.0), "{quantities:?}");
    with(&h, |c| {
        assert!(!(fence::ENTRY.faults)(c, &measure("fence", &[("work", "mark".into()), ("fence", "F9".into())])).is_empty());
        assert!((fence::ENTRY.window)(c, &part).unwrap().contains("Testrigg"));
    });
}

#[test]
fn suggestions_are_ranked_and_reasons_given_for_the_rest() {
    let g = Guidance::load().unwrap();
    let h = demo::holding(1);
    let a = habitat::assess(&h, &g, Settings { draws: 4, seed: 1, cell_m: Some(20.0) }).unwrap();
    let c = Context::new(&h, &g, &a);
    let (ditches, left) = measures::suggest::water::sorted(&c).unwrap();
    for s in &ditches {
        println!("{:?} {}", s.gbp.map(|g| g.round()), s.why);
    }
    for l in &left {
        println!("left {}: {}", l.id, l.why);
    }
    assert_eq!(ditches.len() + left.len(), h.ditches.len());
    assert!(ditches.len() > 2 && left.iter().any(|l| l.why.contains("keep running")) && left.iter().any(|l| l.why.contains("blocked already")));
    let per = |s: &measures::suggest::Suggested| s.figures.iter().find(|q| q.what.contains("£1,000")).unwrap().amount;
    assert!(ditches.windows(2).all(|w| per(&w[0]) >= per(&w[1])));
    for s in &ditches {
        assert!((water::ENTRY.faults)(&c, &s.measure).is_empty());
        assert!(s.gbp[0] <= s.gbp[1] && s.gbp[1] <= s.gbp[2]);
        let costs = (water::ENTRY.costs)(&c, &s.measure).unwrap();
        assert!((measures::kind::cost::total(&costs)[1] - s.gbp[1]).abs() < 1e-9, "the measure costs what was said");
    }
    let fences = measures::suggest::fence::suggest(&c).unwrap();
    for s in &fences {
        println!("{:?} {}", s.gbp.map(|g| g.round()), s.why);
    }
    for l in measures::suggest::fence::left_out(&c).unwrap() {
        println!("left {}: {}", l.id, l.why);
    }
    assert!(!fences.is_empty());
    let usual = |s: &measures::suggest::Suggested, i: usize| s.figures[i].amount;
    assert!(fences.windows(2).all(|w| usual(&w[0], 1) >= usual(&w[1], 1)));
    for s in &fences {
        assert!(usual(s, 0) <= usual(s, 1) && usual(s, 1) <= usual(s, 2));
        let [before, after] = fence::deaths(&c, &s.measure).unwrap();
        if s.measure.facts["work"] != "move" {
            // What the measure itself works out for its line is what the suggestion said of the section.
            assert!((before.less(after).usual - usual(s, 4)).abs() < 0.02 * usual(s, 4).max(0.01), "{}", s.why);
        }
    }
}

#[test]
fn a_fence_past_a_lek_is_tried_three_ways_and_moved_no_nearer() {
    let mut h = moor(0.02, Country::GB);
    h.fences = vec![fence_of(FenceKind::Deer, Marking::None, &[(-3000.0, 1050.0), (5000.0, 1050.0)])];
    with(&h, |c| {
        let tried = measures::suggest::fence::tried(c).unwrap();
        assert_eq!(tried.len(), 3, "bands within 2 km");
        let works: Vec<&str> = tried[0].choices.iter().map(|c| c.work).collect();
        assert_eq!(works, ["remove", "mark", "move"]);
        let moved = &tried[0].choices[2];
        let lek = c.lek_at(0);
        let nearest = geo::Distance::distance(&geo::Euclidean, &lek, &moved.measure.line);
        assert!(nearest > 1900.0, "{nearest}");
        let [before, after] = fence::deaths(c, &moved.measure).unwrap();
        assert!((before.less(after).usual - moved.saved.usual).abs() < 0.01, "{before:?} {after:?} {:?}", moved.saved);
    });
    // On the boundary it is not taken down.
    h.boundary = Some(rect(-3000.0, 1050.0, 5000.0, 5000.0));
    with(&h, |c| {
        let tried = measures::suggest::fence::tried(c).unwrap();
        assert!(tried.iter().all(|t| t.needed.is_some() && t.choices.iter().all(|c| c.work != "remove")));
    });
}

#[test]
fn ditches_without_heights_lines_or_sizes_are_told_not_broken() {
    let mut h = moor(0.02, Country::Scotland);
    h.heights = None;
    h.ditches = vec![Ditch::new("D1", line(&[(300.0, 800.0), (800.0, 800.0)])), Ditch::new("D2", MultiLineString(vec![]))];
    with(&h, |c| {
        let block = measure("water", &[("work", "block".into()), ("ditch", "D1".into())]);
        let plan = water::plan(c, &block).unwrap().unwrap();
        // Scottish Rural Priorities: 25 m apart on average.
        assert_eq!(plan.dams().count(), 21);
        assert!(!plan.by_heights && plan.size_assumed);
        let harm = (water::ENTRY.harm)(c, &block).unwrap().join(" ");
        assert!(harm.contains("No heights") && harm.contains("not measured") && harm.contains("No peat probe"), "{harm}");
        assert!((water::ENTRY.faults)(c, &block).is_empty());
        let empty = measure("water", &[("work", "block".into()), ("ditch", "D2".into())]);
        assert!((water::ENTRY.faults)(c, &empty)[0].found.contains("no stretch"), "{:?}", (water::ENTRY.faults)(c, &empty));
        let left = measures::suggest::water::left_out(c).unwrap();
        assert!(left.iter().any(|l| l.id == "D2"));
    });
}

#[test]
fn deaths_fall_to_the_nearest_lek_with_birds_and_none_is_lost() {
    let mut h = moor(0.02, Country::Scotland);
    h.leks.push(Lek::new("L2", "Emptyrigg", Point::new(3000.0, 1000.0)));
    h.fences = vec![
        fence_of(FenceKind::Deer, Marking::None, &[(500.0, 900.0), (3500.0, 900.0)]),
        Fence { id: "F2".into(), ..fence_of(FenceKind::Stock, Marking::Netting, &[(900.0, 1100.0), (900.0, 1600.0)]) },
    ];
    with(&h, |c| {
        let both = strikes::deaths_by_lek(c, &[0, 1]).unwrap();
        let whole = c.holding.fences.iter().fold(strikes::Spread::default(), |sum, f| sum.plus(strikes::deaths(c, f).unwrap()));
        let sum = both[0].plus(both[1]);
        for (a, b) in [(sum.low, whole.low), (sum.usual, whole.usual), (sum.high, whole.high)] {
            assert!((a - b).abs() < 1e-9, "{a} {b}");
        }
        let first = strikes::deaths_by_lek(c, &[0]).unwrap();
        // What is farther from the birds strikes fewer of them, but what was the empty lek's is not lost.
        assert!(first[0].usual > both[0].usual && first[0].usual < whole.usual && first[1] == strikes::Spread::default());
    });
}

#[test]
fn marking_that_is_put_up_wears_off() {
    let mut h = moor(0.02, Country::Scotland);
    h.fences = vec![fence_of(FenceKind::Deer, Marking::None, &[(500.0, 900.0), (1500.0, 900.0)])];
    let id = h.fences[0].id.clone();
    with(&h, |c| {
        // Orange netting 6 years, bamboo 6.5, pales 12.5: common practice.
        let mark = |with: &str| measure("fence", &[("work", "mark".into()), ("fence", id.clone().into()), ("marking", with.into())]);
        for (with, lasts) in [("netting", 6.0), ("bamboo", 6.5), ("pales", 12.5)] {
            assert_eq!(fence::worn(c, &mark(with), lasts - 0.1).unwrap(), Some(mark(with)));
            assert_eq!(fence::worn(c, &mark(with), lasts).unwrap(), None);
        }
        let new = Measure { line: line(&[(0.0, 0.0), (500.0, 0.0)]), ..measure("fence", &[("work", "new".into()), ("marking", "netting".into())]) };
        assert_eq!(fence::worn(c, &new, 6.0).unwrap().unwrap().facts["marking"], "none", "the fence stands, bare");
        let wood = measure("wood", &[("protection", "fence".into())]);
        assert_eq!(fence::worn(c, &wood, 5.0).unwrap(), Some(wood.clone()));
        assert_eq!(fence::worn(c, &wood, 20.0).unwrap().unwrap().facts["fence_marking"], "none");
        let down = measure("fence", &[("work", "remove".into()), ("fence", id.clone().into())]);
        assert_eq!(fence::worn(c, &down, 80.0).unwrap(), Some(down.clone()), "what is gone stays gone");
        assert_eq!(fence::worn(c, &measure("grazing", &[]), 1.0).unwrap(), None);
    });
}
