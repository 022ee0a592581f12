//! What is answered while the pen moves is what the years ahead then say.

use crate::support::{drawn, near_lek, start, with_measures};
use desk::Start;
use desk::api::edit::MeasureDraft;
use desk::api::live::ToPage;
use desk::work::courses::Courses;
use desk::work::stroke::{Stroke, Strokes};
use habitat::ahead::trial::Trials;
use habitat::ahead::{Course, forecast};
use holding::Measure;
use measures::option;
use serde_json::json;

struct Told {
    with: Vec<[f64; 7]>,
    without: Vec<[f64; 7]>,
    note: Option<String>,
    faults: usize,
    gbp: f64,
    area_ha: Option<f64>,
}

fn told(strokes: &Strokes, start: &Start, measure: MeasureDraft, year: u32) -> Told {
    match strokes.answer_blocking(start.clone(), Stroke { page: 1, stroke: 5, year, measure }) {
        Some(ToPage::Stroked { stroke: 5, supply_ha, without_ha, note, faults, gbp, area_ha, .. }) => {
            Told { with: supply_ha, without: without_ha, note, faults: faults.len(), gbp, area_ha }
        }
        other => panic!("{other:?}"),
    }
}

/// Middle supply of an option worked out whole.
fn whole(start: &Start, option: u32, year: u32) -> Vec<[f64; 7]> {
    let trials = Trials::new(&start.base, &start.holding, &start.guidance, vec![], &[year]).unwrap();
    let c = desk::work::courses::context(start);
    let changed = trials.whole(&option::holding_with(&c, option).unwrap(), &option::programme(&c, option).unwrap()).unwrap().remove(0);
    trials.now[0].iter().zip(&changed).map(|(a, b)| std::array::from_fn(|s| a[s] + b[s])).collect()
}

/// Greatest difference, as a share of the second.
fn apart(a: &[[f64; 7]], b: &[[f64; 7]]) -> f64 {
    a.iter().flatten().zip(b.iter().flatten()).map(|(a, b)| (a - b).abs() / b.abs().max(0.1)).fold(0.0, f64::max)
}

#[test]
fn a_stroke_alone_is_its_measure_worked_out_whole() {
    let (start, strokes) = (start(), Strokes::default());
    let shape = near_lek(&start.holding, 1, -600.0, 300.0, 110.0);
    let stroke = told(&strokes, &start, drawn(&shape, 2, None), 20);
    assert!(stroke.gbp > 0.0 && stroke.area_ha.is_some_and(|ha| (3.0..4.0).contains(&ha)), "{:?} {}", stroke.area_ha, stroke.gbp);
    let laid = with_measures(&start, |all| all.push(Measure { id: "n".into(), option: 2, kind: "wood".into(), year: Some(2027), shape: shape.clone(), ..Measure::default() }));
    let off = apart(&stroke.with, &whole(&laid, 2, 20));
    // 0.8 % apart at most on this ground when measured. A trial takes no hectares from the stand it is tried on, a whole course does; whether
    // that is all of it was not traced.
    assert!(off < STROKE_OFF, "{off}");
    assert!(apart(&stroke.with, &stroke.without) > 0.01, "a wood of four hectares by a lek changes nothing");
}

#[test]
fn a_stroke_in_an_option_with_other_measures_is_near_what_they_do_together() {
    let (start, strokes) = (start(), Strokes::default());
    let shape = near_lek(&start.holding, 0, -500.0, 300.0, 110.0);
    let stroke = told(&strokes, &start, drawn(&shape, 1, None), 20);
    let with = |all: &mut Vec<Measure>| all.push(Measure { id: "n".into(), option: 1, kind: "wood".into(), year: Some(2027), shape: shape.clone(), ..Measure::default() });
    let laid = with_measures(&start, with);
    let off = apart(&stroke.with, &whole(&laid, 1, 20));
    assert!(apart(&stroke.without, &whole(&start, 1, 20)) < 1e-6);
    assert!(off < STROKE_OFF, "{off}");
}

/// How far the middle of a stroke may lie from the option worked out whole, as a share of the supply.
const STROKE_OFF: f64 = 0.02;

#[test]
fn what_a_stroke_promises_the_draws_keep() {
    let (start, strokes) = (start(), Strokes::default());
    let shape = near_lek(&start.holding, 0, -500.0, 300.0, 110.0);
    let stroke = told(&strokes, &start, drawn(&shape, 2, None), 20);
    let laid = with_measures(&start, |all| all.push(Measure { id: "n".into(), option: 2, kind: "wood".into(), year: Some(2027), shape: shape.clone(), ..Measure::default() }));
    let look = |s: &Start| {
        let c = desk::work::courses::context(s);
        let (with, programme) = (option::holding_with(&c, 2).unwrap(), option::programme(&c, 2).unwrap());
        forecast(&s.base, &s.holding, &s.guidance, Course { holding: &with, programme: &programme }, &[20]).unwrap()
    };
    let (before, after) = (look(&start), look(&laid));
    for lek in 0..stroke.with.len() {
        for s in 0..7 {
            let promised = stroke.with[lek][s] - stroke.without[lek][s];
            let mut kept: Vec<f64> = after.supply[0][lek][s].iter().zip(&before.supply[0][lek][s]).map(|(a, b)| a - b).collect();
            kept.sort_by(f64::total_cmp);
            let (low, high) = (kept[0], kept[kept.len() - 1]);
            let room = 0.1 * promised.abs().max(0.02);
            assert!(promised >= low - room && promised <= high + room, "lek {lek}, season {s}: {promised} promised, {low} to {high} drawn");
            let median = kept[kept.len() / 2];
            assert!((promised - median).abs() <= 0.5 * promised.abs().max(median.abs()) + 0.05, "lek {lek}, season {s}: {promised} promised, {median} at the median");
        }
    }
}

#[test]
fn a_measure_taken_up_again_moves_from_where_it_lies() {
    let (start, strokes) = (start(), Strokes::default());
    let as_it_is = start.holding.measures[0].shape.clone();
    let still = told(&strokes, &start, drawn(&as_it_is, 1, Some("wood-1")), 15);
    assert!(apart(&still.with, &still.without) < 1e-6, "nothing moved");
    let moved = told(&strokes, &start, drawn(&near_lek(&start.holding, 0, 700.0, 400.0, 90.0), 1, Some("wood-1")), 15);
    assert!(apart(&moved.without, &still.without) < 1e-9 && apart(&moved.with, &moved.without) > 1e-4);
}

#[test]
fn stock_is_worked_out_whole_and_a_fence_is_said_not_to_show() {
    let (start, strokes) = (start(), Strokes::default());
    let parcel = start.holding.stock[0].parcel.clone();
    let grazing = MeasureDraft {
        kind: "grazing".into(),
        geometry: None,
        facts: [("parcel".to_string(), json!(parcel)), ("head".to_string(), json!({"Jan-Dec": 0}))].into(),
        ..drawn(&geo_types::MultiPolygon(vec![]), 2, None)
    };
    let stroke = told(&strokes, &start, grazing.clone(), 5);
    assert!(stroke.note.is_none() && apart(&stroke.with, &stroke.without) > 0.01);
    let laid = with_measures(&start, |all| all.push(Measure { id: "g".into(), option: 2, kind: "grazing".into(), year: Some(2027), facts: grazing.facts.clone(), ..Measure::default() }));
    assert!(apart(&stroke.with, &whole(&laid, 2, 5)) < 1e-6);
    let fence = MeasureDraft { kind: "fence".into(), facts: [("work".to_string(), json!("remove")), ("fence".to_string(), json!(start.holding.fences[0].id))].into(), ..grazing };
    let stroke = told(&strokes, &start, fence, 5);
    assert!(stroke.note.is_some() && stroke.with == stroke.without);
}

#[test]
fn what_cannot_be_answered_says_why() {
    let (start, strokes) = (start(), Strokes::default());
    let shape = near_lek(&start.holding, 0, 300.0, 0.0, 60.0);
    let ask = |measure| strokes.answer_blocking(start.clone(), Stroke { page: 1, stroke: 9, year: 5, measure });
    for bad in [drawn(&shape, 77, None), MeasureDraft { kind: "moat".into(), ..drawn(&shape, 2, None) }] {
        match ask(bad) {
            Some(ToPage::Trouble { stroke: 9, faults }) => assert!(!faults.is_empty() && !faults[0].found.is_empty()),
            other => panic!("{other:?}"),
        }
    }
    // What is no shape is answered as a measure without one, with its fault.
    let no_shape = told(&strokes, &start, MeasureDraft { geometry: Some(json!([1])), ..drawn(&shape, 2, None) }, 5);
    assert!(no_shape.faults > 0 && no_shape.note.is_none() && no_shape.with == no_shape.without);
    // Far away: laid out, but nothing of it counts.
    let off = told(&strokes, &start, drawn(&near_lek(&start.holding, 0, 90_000.0, 0.0, 100.0), 2, None), 5);
    assert!(off.note.is_some_and(|n| n.contains("outside")) && off.with == off.without);
    // A wood without an outline is answered, with its fault.
    let nothing = told(&strokes, &start, MeasureDraft { geometry: None, ..drawn(&shape, 2, None) }, 5);
    assert!(nothing.faults > 0);
}

#[test]
fn the_newest_stroke_of_a_page_alone_is_answered() {
    let (start, strokes) = (start(), std::sync::Arc::new(Strokes::default()));
    let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
    let answered: Vec<Option<u64>> = runtime.block_on(async {
        let asking: Vec<_> = (0..30u64)
            .map(|stroke| {
                let (strokes, start) = (strokes.clone(), start.clone());
                let shape = near_lek(&start.holding, 0, 400.0 + 10.0 * stroke as f64, 0.0, 80.0);
                let page = stroke % 2;
                tokio::spawn(async move { strokes.answer(start, Stroke { page, stroke, year: 10, measure: drawn(&shape, 2, None) }).await })
            })
            .collect();
        let mut all = Vec::new();
        for asked in asking {
            all.push(asked.await.unwrap().map(|answer| match answer {
                ToPage::Stroked { stroke, .. } => stroke,
                other => panic!("{other:?}"),
            }));
        }
        all
    });
    // The last of either page is answered, and what waited behind a newer one is not.
    assert!(answered[28] == Some(28) && answered[29] == Some(29), "{answered:?}");
    assert!(answered.iter().flatten().count() < 10, "{answered:?}");
    assert!(answered.iter().enumerate().all(|(i, a)| a.is_none_or(|a| a == i as u64)));
}

#[test]
fn strokes_leave_courses_alone() {
    let (start, strokes, courses) = (start(), Strokes::default(), Courses::default());
    let (_, _, before) = courses.under(|| Ok((1, start.clone())), Some(2), 20).unwrap();
    told(&strokes, &start, drawn(&near_lek(&start.holding, 0, 500.0, 0.0, 90.0), 2, None), 20);
    let (_, _, after) = courses.under(|| Ok((1, start.clone())), Some(2), 20).unwrap();
    assert!(std::sync::Arc::ptr_eq(&before, &after));
}
