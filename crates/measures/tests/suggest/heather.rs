//! Heather rotations put forward on the invented demonstration: limits kept, cover kept, the same answer each time.

use geo::{Area, Distance, Euclidean};
use guidance::Guidance;
use habitat::{Assessed, Settings, assess};
use holding::Holding;
use measures::finding::Severity;
use measures::rules::{Context, check_option};
use measures::suggest::heather::{Ask, Design, Work, suggest};
use measures::suggest::wood::DesignError;
use std::sync::OnceLock;

/// The demonstration with everything on its hill grown to a height, centimetres, so that there is heather to cut, or none.
fn ground(tall_cm: f32) -> (Holding, Guidance, Assessed) {
    let mut h = crate::demonstration();
    for p in &mut h.patches {
        (p.height_cm, p.height_sd_cm) = (Some(tall_cm), Some(8.0));
    }
    let g = Guidance::load().unwrap_or_else(|f| panic!("{f:?}"));
    let a = assess(&h, &g, Settings { draws: 4, ..Settings::default() }).unwrap();
    (h, g, a)
}

fn tall() -> &'static (Holding, Guidance, Assessed) {
    static GROUND: OnceLock<(Holding, Guidance, Assessed)> = OnceLock::new();
    GROUND.get_or_init(|| ground(46.0))
}

fn ask(work: Work, seed: u64) -> Ask {
    let (h, g, a) = tall();
    Ask { tried: 30, seed, ..Ask::usual(&Context::new(h, g, a), work).unwrap() }
}

fn design(work: Work, seed: u64) -> Design {
    let (h, g, a) = tall();
    suggest(&Context::new(h, g, a), &ask(work, seed), &|| false).unwrap()
}

/// The designs most tests look at, made once.
fn made(work: Work) -> &'static Design {
    static CUT: OnceLock<Design> = OnceLock::new();
    static BURNT: OnceLock<Design> = OnceLock::new();
    if work == Work::Burn { BURNT.get_or_init(|| design(work, 1)) } else { CUT.get_or_init(|| design(Work::Cut, 1)) }
}

#[test]
fn every_limit_is_kept() {
    let (h, g, a) = tall();
    let c = Context::new(h, g, a);
    let (near_m, apart) = (c.number("rule.heather.neighbour").unwrap(), c.number("rule.heather.neighbour_years").unwrap());
    let (keep, five) = (c.number("design.heather.keep_back").unwrap() / 100.0, c.number("heather.patch.share_5_years").unwrap() / 100.0);
    let ask = ask(Work::Cut, 1);
    for d in [made(Work::Cut), made(Work::Burn)] {
        assert!(d.suggested.len() >= 10, "{}", d.suggested.len());
        assert!(d.objective <= d.upper_bound + 1e-9 && d.gap <= 0.03, "{} of {}, {}", d.objective, d.upper_bound, d.gap);
        let ha = |i: usize| d.suggested[i].measure.shape.unsigned_area() / 1e4;
        for (i, s) in d.suggested.iter().enumerate() {
            assert!((ask.size_ha.0 - 1e-9..=ask.size_ha.1 + 1e-9).contains(&ha(i)), "{}", ha(i));
            for t in &d.suggested[i + 1..] {
                let between = f64::from(s.measure.year.unwrap().abs_diff(t.measure.year.unwrap()));
                assert!(between >= apart || Euclidean.distance(&s.measure.shape, &t.measure.shape) >= near_m, "{} and {}", s.measure.id, t.measure.id);
            }
        }
        assert!(d.area_ha.iter().all(|v| *v <= d.cap_ha + 1e-9), "{:?} over {}", d.area_ha, d.cap_ha);
        for b in &d.blocks {
            // Cells and outlines differ by a little.
            assert!(b.worked_ha <= (1.0 - keep) * b.heather_ha + 0.15, "{b:?}");
            let years: Vec<i32> = d.suggested.iter().filter_map(|s| s.measure.year).collect();
            for first in years.iter().copied().min().unwrap()..=years.iter().copied().max().unwrap() {
                let in_run = |s: &&measures::suggest::Suggested| s.why.starts_with(&format!("{},", b.name)) && (first..first + 5).contains(&s.measure.year.unwrap());
                let run: f64 = d.suggested.iter().filter(in_run).map(|s| s.measure.shape.unsigned_area() / 1e4).sum();
                assert!(run <= five * b.heather_ha + 1e-6, "{}: {run} of {} ha in five years from {first}", b.name, b.heather_ha);
            }
            if b.worked_ha > 0.0 {
                assert!(b.left.is_empty() && b.then.mean_cm >= c.number("structure.heather.block_mean_min").unwrap(), "{b:?}");
            }
        }
    }
}

#[test]
fn laid_in_an_option_it_breaks_no_rule_a_design_can_answer_for() {
    let (h, g, a) = tall();
    for work in [Work::Cut, Work::Burn] {
        let d = made(work);
        let mut with = h.clone();
        with.options.push(holding::PlanOption { number: 1, name: "rotation".into(), note: String::new() });
        with.measures.extend(d.suggested.iter().map(|s| holding::Measure { option: 1, ..s.measure.clone() }));
        let found = check_option(&Context::new(&with, g, a), 1, None).unwrap();
        // Consents are for the authorities; what nobody probed is told as something to find out.
        let broken: Vec<_> = found.iter().filter(|f| !f.rule.starts_with("consent_") && f.severity != Severity::Consider).map(|f| (f.rule, &f.what, &f.value)).collect();
        assert!(broken.is_empty(), "{work:?}: {broken:?}");
    }
}

#[test]
fn burning_is_barred_where_cutting_is_not() {
    let (cut, burnt) = (made(Work::Cut), made(Work::Burn));
    let by_wood = |d: &Design| d.barred.iter().find(|b| b.0 == "beside a wood").map_or(0.0, |b| b.1);
    assert!(by_wood(burnt) > by_wood(cut), "{:?} {:?}", burnt.barred, cut.barred);
}

#[test]
fn the_same_question_has_the_same_answer() {
    assert_eq!(design(Work::Burn, 1).suggested, made(Work::Burn).suggested);
}

#[test]
fn short_heather_is_left_to_grow_and_the_reason_told() {
    let (h, g, a) = ground(18.0);
    let c = Context::new(&h, &g, &a);
    let ask = Ask { tried: 30, ..Ask::usual(&c, Work::Cut).unwrap() };
    match suggest(&c, &ask, &|| false) {
        Err(e @ DesignError::NoRoom { .. }) => assert!(e.to_string().contains("too short to work yet"), "{e}"),
        Err(e) => panic!("{e}"),
        Ok(d) => panic!("{} patches in heather of 18 cm", d.suggested.len()),
    }
    // Tall enough to burn, but no nest cover to spare: patches are possible, none is put forward.
    let (h, g, a) = ground(29.0);
    let c = Context::new(&h, &g, &a);
    let d = suggest(&c, &Ask { tried: 30, ..Ask::usual(&c, Work::Cut).unwrap() }, &|| false).unwrap();
    assert!(d.suggested.is_empty() && d.blocks.iter().all(|b| b.left.contains("let it grow")), "{:?}", d.blocks);
}
