//! The sheets of works: pages are counted, every job with its quantity is told, nothing gives a withheld lek away, hostile names are inert.

#![cfg(feature = "pdf")]
#![allow(clippy::panic, reason = "a test may stop")]

mod common;

use common::*;
use geo_types::{LineString, MultiLineString, MultiPolygon};
use guidance::Guidance;
use habitat::ahead::{Course, Forecast, Programme, forecast};
use habitat::{Assessed, Settings};
use handover::secrecy::Secrecy;
use handover::{Fault, Pack, Planned, Works, contractor, kitchen};
use holding::model::{Measure, PlanOption};
use measures::option;
use measures::rules::Context;
use serde_json::{Value, json};

/// Everything a pack with works borrows.
struct Whole {
    parts: Parts,
    base: Assessed,
    now: Forecast,
    own: Forecast,
}

fn measure(id: &str, kind: &str, facts: &[(&str, Value)]) -> Measure {
    Measure { id: id.into(), option: 1, kind: kind.into(), year: Some(2027), facts: facts.iter().map(|(n, v)| ((*n).into(), v.clone())).collect(), ..Measure::default() }
}

fn area(w: f64, s: f64, e: f64, n: f64) -> MultiPolygon<f64> {
    MultiPolygon(vec![block(w, s, e, n)])
}

/// Work of several kinds, near leks and far from them.
fn all_kinds() -> Vec<Measure> {
    let [a, _] = lek_places();
    let near = MultiLineString(vec![LineString::from(vec![(a.x() - 211.0, SOUTH + 600.0), (a.x() + 211.0, SOUTH + 600.0)])]);
    vec![
        Measure { shape: area(1010.0, 620.0, 1190.0, 760.0), ..measure("wood-far", "wood", &[("stems_per_ha", json!(1100))]) },
        Measure { shape: area(100.0, 1500.0, 300.0, 1600.0), ..measure("heather-1", "heather", &[("work", json!("burn"))]) },
        measure("water-1", "water", &[("ditch", json!("d1")), ("work", json!("block"))]),
        Measure { line: near, ..measure("fence-cut", "fence", &[("work", json!("mark")), ("fence", json!("f2"))]) },
        measure("mow-the-old-green", "lek_care", &[("lek", json!("L1")), ("work", json!("short"))]),
    ]
}

fn whole(measures: Vec<Measure>, change: impl Fn(&mut holding::Holding)) -> Whole {
    let mut parts = parts();
    parts.guidance = Guidance::load().expect("the tables");
    parts.holding.options = vec![PlanOption { number: 1, name: "All kinds".into(), note: String::new() }];
    parts.holding.measures = measures;
    change(&mut parts.holding);
    let base = habitat::assess(&parts.holding, &parts.guidance, Settings { draws: 2, seed: 1, cell_m: Some(50.0) }).expect("a year");
    parts.assessment = base.assessment.clone();
    let context = Context::new(&parts.holding, &parts.guidance, &base);
    let with = option::holding_with(&context, 1).expect("a holding");
    let ahead = |holding: &holding::Holding, programme: &Programme| forecast(&base, &parts.holding, &parts.guidance, Course { holding, programme }, &[0, 1]).expect("years");
    let (now, own) = (ahead(&parts.holding, &Programme::default()), ahead(&with, &option::programme(&context, 1).expect("a programme")));
    Whole { parts, base, now, own }
}

impl Whole {
    fn planned(&self) -> Planned<'_> {
        Planned::new((&self.parts.holding, &Secrecy::new(&self.parts.holding, false)), &self.parts.guidance, &self.base, 1, &[(None, &self.now), (Some(1), &self.own)]).expect("an option")
    }

    fn with<T>(&self, show_leks: bool, then: impl Fn(&Pack, &Works) -> T) -> T {
        let planned = self.planned();
        assert!(planned.faults.is_empty(), "{:?}", planned.faults);
        let works = works(&self.parts, &self.base, 1, 3, show_leks);
        then(&Pack { option: Some(&planned), works: Some(&works), ..self.parts.pack(show_leks) }, &works)
    }
}

/// Words and pictures of both sheets, but for photographs in them.
fn told(pack: &Pack) -> [String; 2] {
    let words = |content: String, pictures: Vec<(String, String)>| {
        let bare = |svg: &str| svg.split("base64,").enumerate().map(|(i, part)| if i == 0 { part } else { part.split_once('"').map_or("", |(_, rest)| rest) }).collect::<String>();
        pictures.iter().map(|(_, svg)| bare(svg)).chain([content]).collect::<String>()
    };
    let (kitchen, of_kitchen) = kitchen::told(pack).expect("a sheet");
    let (contractor, of_contractor) = contractor::told(pack).expect("a sheet");
    [words(serde_json::to_string(&kitchen).expect("words"), of_kitchen), words(serde_json::to_string(&contractor).expect("words"), of_contractor)]
}

/// How many pages the page tree tells of.
fn pages(pdf: &[u8]) -> usize {
    let text = String::from_utf8_lossy(pdf);
    let trees: Vec<_> = text.match_indices("/Type/Pages/Count ").collect();
    let [(at, mark)] = trees.as_slice() else { panic!("one page tree, not {}", trees.len()) };
    text[at + mark.len()..].split(|c: char| !c.is_ascii_digit()).next().and_then(|n| n.parse().ok()).expect("a count")
}

/// The text of a PDF page by page, where pdftotext can be had.
fn page_texts(pdf: &[u8]) -> Option<Vec<String>> {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("a.pdf"), pdf).expect("a file");
    let Ok(run) = std::process::Command::new("pdftotext").args(["-layout", "a.pdf", "-"]).current_dir(folder.path()).output() else {
        println!("pdftotext is not here: pages are not read back");
        return None;
    };
    Some(String::from_utf8_lossy(&run.stdout).split('\u{c}').map(str::to_owned).filter(|p| !p.trim().is_empty()).collect())
}

#[test]
fn every_job_is_told_with_its_quantity_and_every_page_says_what_must_be_said() {
    let whole = whole(all_kinds(), |_| {});
    whole.with(true, |pack, works| {
        let (content, _) = contractor::told(pack).expect("a sheet");
        let said: Value = serde_json::to_value(&content).expect("words");
        let groups = said["groups"].as_array().expect("groups");
        let mut found: Vec<(u64, String)> = vec![];
        for group in groups {
            for job in ["jobs", "papers"].iter().flat_map(|of| group[of].as_array().expect("jobs")) {
                found.extend(job["days"].as_array().expect("days").iter().map(|d| (d[0].as_u64().expect("a number"), job["job"].to_string())));
            }
        }
        found.sort_by_key(|(number, _)| *number);
        assert_eq!(found.len(), works.made.on_days().count());
        for ((number, text), (place, done)) in found.iter().zip(works.made.on_days().enumerate()) {
            assert_eq!(*number as usize, place + 1);
            for amount in &done.job.amounts {
                assert!(text.contains(&amount.what) && text.contains(&amount.unit), "{amount:?} of job {number} in {text}");
            }
        }
        let burning = groups.iter().find(|g| g["title"].as_str().is_some_and(|t| t.contains("burnt"))).expect("heather");
        assert!(burning["mind"].to_string().contains("fire service") && !burning["mind"].to_string().contains("Chainsaw"), "{}", burning["mind"]);
        for (pdf, least) in [(kitchen::set(pack).expect("pages"), 2), (contractor::set(pack).expect("pages"), 4)] {
            let Some(texts) = page_texts(&pdf) else { return };
            assert!(texts.len() >= least && texts.len() == pages(&pdf), "{} pages", texts.len());
            for (i, text) in texts.iter().enumerate() {
                for said in ["2 November 2026", "shows lek places: keep close", "check the code in force", "figures of ", &format!("page {} of {}", i + 1, texts.len())] {
                    assert!(text.contains(said), "page {} does not say {said}: {text}", i + 1);
                }
            }
        }
    });
    assert!(matches!(kitchen::set(&whole.parts.pack(false)), Err(Fault::NoWorks)));
}

#[test]
fn the_kitchen_table_hears_of_the_dearest_year_wherever_it_lies() {
    let money = |whole: &Whole| {
        whole.with(true, |pack, works| {
            let said = serde_json::to_value(&kitchen::told(pack).expect("a sheet").0).expect("words")["money"].as_str().expect("words").to_owned();
            let years = &works.account.as_ref().expect("an account").years;
            let dearest = years.iter().max_by_key(|y| (y.cost[1], std::cmp::Reverse(y.year))).expect("a year");
            assert!(said.contains(&format!("{}: out £", dearest.year)) && !said.contains("out £0, in £0"), "{said}");
            (said, dearest.year)
        })
    };
    // Trees ordered in 2027 are planted and paid for in a year that the twelve months do not touch.
    let (said, year) = money(&whole(vec![Measure { year: Some(2029), ..all_kinds().remove(0) }], |_| {}));
    assert!(said.contains(&format!("The dearest year comes after these months, {year}: out £")), "{said}");
    let (said, _) = money(&whole(vec![all_kinds().remove(1)], |_| {}));
    assert!(!said.contains("The dearest year"), "{said}");
}

#[test]
fn the_kitchen_table_has_two_pages_whatever_there_is_to_tell() {
    let one = whole(vec![all_kinds().remove(1)], |_| {});
    one.with(false, |pack, _| assert_eq!(pages(&kitchen::set(pack).expect("pages")), 2));
    // Two hundred tasks and more, under long names; three patches a row of heather, ditches and woods.
    let patch = |i: usize| area(20.0 + 40.0 * (i % 40) as f64, 700.0 + 60.0 * (i / 40) as f64, 50.0 + 40.0 * (i % 40) as f64, 740.0 + 60.0 * (i / 40) as f64);
    let mut many: Vec<Measure> = all_kinds();
    many.extend((0..40).map(|i| Measure { shape: patch(i), ..measure(&format!("a-wood-with-a-name-as-long-as-forty-letters-{i}"), "wood", &[("stems_per_ha", json!(1100 + i))]) }));
    many.extend((40..50).map(|i| Measure { shape: patch(i), ..measure(&format!("heather-{i}"), "heather", &[("work", json!("burn"))]) }));
    many.extend((50..60).map(|i| Measure { shape: patch(i), ..measure(&format!("heather-{i}"), "heather", &[("work", json!("cut"))]) }));
    many.push(measure("fence-down", "fence", &[("work", json!("remove")), ("fence", json!("f1"))]));
    many.push(measure("care-of-fallow-top", "lek_care", &[("lek", json!("L2")), ("work", json!("short"))]));
    let long = whole(many, |h| {
        h.about.name = "A holding whose name goes on for very much longer than any page is wide, as names of joined holdings do".into();
        h.parcels[0].name = "The long allotment beyond the far march".into();
    });
    long.with(false, |pack, works| {
        assert!(works.made.on_days().count() >= 200, "{}", works.made.on_days().count());
        let pdf = kitchen::set(pack).expect("pages");
        assert_eq!(pages(&pdf), 2);
        let Some(texts) = page_texts(&pdf) else { return };
        assert!(texts[0].contains("more jobs of these months in the contractor's sheet") || texts[0].contains("more jobs of these months in the contractor’s sheet"), "{}", texts[0]);
        assert!(texts[0].contains("page 1 of 2") && texts[1].contains("Who to ring"), "{texts:?}");
    });
}

#[test]
fn sheets_give_no_withheld_lek_away() {
    let whole = whole(all_kinds(), |h| h.tracks[0].name = "Cold Rig lek path".into());
    let shown = whole.with(true, |pack, _| told(pack));
    let hidden = whole.with(false, |pack, _| told(pack));
    for (shown, hidden) in shown.iter().zip(&hidden) {
        for secret in ["fence-cut", "mow-the-old-green"] {
            assert!(shown.contains(secret), "{secret} is not even told where leks are shown");
            assert!(!hidden.contains(secret), "{secret} is told");
        }
        for secret in ["384512", "529377", "84512", "29377", "NY 845 293", "385433", "530289", "422 m"] {
            assert!(!hidden.contains(secret), "{secret} is told");
        }
        assert!(hidden.contains("lek places withheld") && hidden.contains("place withheld"));
    }
    assert!(shown[1].contains("Cold Rig lek path") && !hidden[1].contains("lek path"), "a way to a lek is named");
    // What ties to no lek keeps its reference.
    assert!(hidden[1].contains("NY 851 296") && hidden[1].contains("NY 84 29"), "{}", hidden[1]);
}

#[test]
fn hostile_names_are_words() {
    let evil = "#panic(\"x\") $a$ *b* \u{202e}</svg><script>alert(1)</script> @ref";
    let whole = whole(vec![Measure { shape: area(1010.0, 620.0, 1190.0, 760.0), ..measure("#set page(width: 1mm)", "wood", &[("stems_per_ha", json!(1100))]) }], |h| {
        h.about.name = evil.into();
        h.options[0].name = evil.into();
        h.parcels.iter_mut().for_each(|p| p.name = evil.into());
        h.tracks.iter_mut().for_each(|t| t.name = evil.into());
    });
    whole.with(false, |pack, _| {
        assert_eq!(pages(&kitchen::set(pack).expect("pages")), 2);
        let pdf = contractor::set(pack).expect("pages");
        let Some(texts) = page_texts(&pdf) else { return };
        let text = texts.concat();
        assert!(text.contains("#panic(\"x\") $a$ *b*") && text.contains("<script>alert(1)</script> @ref") && !text.contains('\u{202e}'), "{text}");
        for (_, svg) in kitchen::told(pack).expect("a sheet").1 {
            assert!(!svg.contains("<script") && !svg.contains('\u{202e}'), "a name is markup in a map");
        }
    });
}
