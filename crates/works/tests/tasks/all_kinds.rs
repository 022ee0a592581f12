//! Every kind of measure and every work of a kind on the demonstration holding: tasks, with the measures' own quantities.

use super::moor::{line, measure};
use super::{put_on_days, with};
use geo_types::MultiPolygon;
use holding::{Holding, Measure};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use works::tasks::{HANDS, Stage};

/// Quantities that say what a measure comes to and are no work: what the jobs of its kind leave to the measure itself.
const NO_WORK: [&str; 14] = [
    "open ground within",
    "scrub skirt",
    "outline",
    "in",
    "done within the years counted",
    "of it mapped wood",
    "years",
    "parcel",
    "ditch left open",
    "ground wetted",
    "black grouse deaths avoided",
    "rush ground",
    "fence marking, netting",
    "ditch blocked",
];

/// The demonstration holding with every work of every kind that can be laid on it.
fn all() -> Holding {
    let mut h = demo::holding(1);
    h.options = vec![holding::PlanOption { number: 1, name: "All".into(), note: String::new() }];
    let patch = h.patches[5].shape.clone();
    let wood = h.woods[0].shape.clone();
    let none = || MultiPolygon(vec![]);
    let mut out: Vec<Measure> = Vec::new();
    let mut add = |kind: &str, shape: MultiPolygon<f64>, facts: &[(&str, Value)]| {
        let id = format!("{kind}-{}", out.len() + 1);
        out.push(measure(&id, kind, 2027, shape, facts));
    };
    for protection in ["tubes", "fence", "none"] {
        add("wood", patch.clone(), &[("protection", json!(protection))]);
    }
    for work in ["feather", "thin", "fell", "restock", "ride"] {
        add("conifer_edge", wood.clone(), &[("work", json!(work))]);
    }
    let (parcel, class) =
        h.stock.iter().find(|s| s.head.iter().all(|n| *n >= 10.0)).map(|s| (s.parcel.clone(), holding::Word::word(s.class).to_string())).unwrap();
    add("grazing", none(), &[("parcel", json!(parcel)), ("class", json!(class)), ("off_winter_head", json!(10))]);
    add("grazing", none(), &[("parcel", json!(parcel)), ("class", json!(class)), ("head", json!({"May-Jul": 5}))]);
    add("heather", patch.clone(), &[("work", json!("cut")), ("every", json!(3))]);
    add("heather", patch.clone(), &[("work", json!("cut")), ("machine", json!("tracked"))]);
    add("heather", patch.clone(), &[("work", json!("burn"))]);
    for ditch in h.ditches.iter().filter(|d| !d.blocked) {
        add("water", none(), &[("work", json!("block")), ("ditch", json!(ditch.id))]);
    }
    add("water", patch.clone(), &[("work", json!("scrape"))]);
    let deer = h.fences.iter().find(|f| f.kind == holding::FenceKind::Deer).unwrap().id.clone();
    add("fence", none(), &[("work", json!("mark")), ("fence", json!(deer))]);
    add("fence", none(), &[("work", json!("remove")), ("fence", json!(deer))]);
    for work in ["roots", "stubble", "meadow", "rush", "weedy"] {
        add("inbye", none(), &[("work", json!(work)), ("parcel", json!("P12"))]);
    }
    for (lek, work) in [("L1", "short"), ("L2", "clear"), ("L3", "quiet")] {
        add("lek_care", none(), &[("work", json!(work)), ("lek", json!(lek))]);
    }
    let at = h.leks[0].at;
    for (i, facts) in [
        vec![("work", json!("new")), ("marking", json!("bamboo"))],
        vec![("work", json!("move")), ("fence", json!(deer)), ("marking", json!("pales"))],
    ]
    .into_iter()
    .enumerate()
    {
        let mut fence = measure(&format!("fence-new-{i}"), "fence", 2028, none(), &facts);
        fence.line = line(&[(at.x() + 900.0, at.y()), (at.x() + 1200.0, at.y())]);
        out.push(fence);
    }
    h.measures = out;
    h
}

#[test]
fn every_kind_of_measure_gives_tasks_with_its_own_quantities() {
    let h = all();
    with(&h, |o| {
        let p = put_on_days(o, "2027-01-04", 6, None);
        assert!(p.jobs.nothing.is_empty(), "{:?}", p.jobs.nothing);
        for job in &p.jobs.jobs {
            assert!(HANDS.contains(&job.hands) && !job.what.contains("NaN") && !job.what.contains("  ") && job.what.len() < 220, "{job:?}");
            assert!(job.days.is_some() || !job.notes.iter().any(|n| n.contains("NaN")), "{job:?}");
            for key in &job.keys {
                assert!(o.context.guidance.rows_of(key).next().is_some(), "{}: {key}", job.id);
            }
            for wait in &job.after {
                assert!(p.job(&wait.job).is_some(), "{} waits for {}", job.id, wait.job);
            }
            if let Some(days) = &job.days {
                assert!(1 <= days.low && days.low <= days.usual && days.usual <= days.high && !days.rates.is_empty(), "{}: {days:?}", job.id);
            }
        }
        let mut ids: Vec<&String> = p.jobs.jobs.iter().map(|j| &j.id).collect();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), p.jobs.jobs.len());

        // What each kind works at comes to what the measures themselves come to, whichever of their tasks carries it.
        let mut own: BTreeMap<(&str, String), f64> = BTreeMap::new();
        for measure in &o.measures {
            let entry = measures::kind::find(&measure.kind).unwrap();
            for q in (entry.quantities)(&o.context, measure).unwrap().into_iter().filter(|q| q.amount > 0.0) {
                let away = measure.kind == "grazing" && q.what != "away-keep";
                if !NO_WORK.contains(&q.what.as_str()) && !away {
                    *own.entry((entry.key, q.what)).or_default() += q.amount;
                }
            }
        }
        for ((kind, what), amount) in own {
            let of_kind = p.jobs.jobs.iter().filter(|j| j.kind == kind && j.year <= 2028);
            // Yearly work tells its ground each year; the first year's stands for it. Orders repeat what the work itself tells.
            let carried: Vec<(Stage, f64)> =
                of_kind.flat_map(|j| j.amounts.iter().filter(|a| a.what == what).map(move |a| (j.stage, a.amount))).collect();
            let all: f64 = [Stage::Work, Stage::Fence, Stage::Survey, Stage::Order, Stage::Keep, Stage::BeatUp]
                .into_iter()
                .map(|stage| carried.iter().filter(|(s, _)| *s == stage).map(|(_, n)| n).sum::<f64>())
                .find(|sum| *sum > 0.0)
                .unwrap_or(0.0);
            let yearly = matches!(kind, "inbye" | "lek_care" | "heather");
            let same = if yearly { all >= amount - 1e-6 } else { (all - amount).abs() < 1e-6 };
            assert!(same, "{kind} {what}: the measures come to {amount}, their tasks to {all}: {carried:?}");
        }
    });
}

#[test]
fn works_told_as_finished_are_left_alone() {
    let mut h = all();
    h.measures.retain(|m| m.kind == "fence" || m.kind == "inbye");
    h.measures.iter_mut().for_each(|m| drop(m.facts.insert("done".into(), json!(2026))));
    with(&h, |o| {
        let p = put_on_days(o, "2027-01-04", 6, None);
        assert!(p.jobs.jobs.is_empty() && p.jobs.done.len() == h.measures.len());
    });
}

#[test]
fn the_same_option_gives_the_same_programme() {
    let h = all();
    let told = || {
        with(&h, |o| {
            let p = put_on_days(o, "2027-01-04", 6, None);
            format!("{:?}{:?}", p.jobs, p.schedule)
        })
    };
    assert_eq!(told(), told());
}
