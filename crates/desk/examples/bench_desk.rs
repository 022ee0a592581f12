//! Times of what the page waits for, on the demonstration holding at the page's own draws: `bench_desk [SEED]`. Milliseconds, median and the
//! slowest but one in twenty.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "a bench prints and may stop")]

use desk::Start;
use desk::api::edit::MeasureDraft;
use desk::api::live::ToPage;
use desk::snapshot::{DRAWS, SEED};
use desk::work::courses::Courses;
use desk::work::season::Question;
use desk::work::stroke::{Stroke, Strokes};
use desk::work::{ground, measures, relief, shapes, sheet};
use geo_types::{LineString, MultiPolygon, Polygon};
use guidance::Guidance;
use habitat::{Season, Settings};
use holding::{Holding, Measure, PlanOption};
use std::sync::Arc;
use std::time::Instant;

fn ms(since: Instant) -> f64 {
    since.elapsed().as_secs_f64() * 1e3
}

fn told(what: &str, mut times: Vec<f64>) {
    times.sort_by(f64::total_cmp);
    let p95 = times[((times.len() as f64 * 0.95).ceil() as usize).clamp(1, times.len()) - 1];
    println!("{what:<58} median {:>8.1}   p95 {p95:>8.1}   of {}", times[times.len() / 2], times.len());
}

fn timed(what: &str, times: usize, mut work: impl FnMut(usize)) {
    let each = (0..times).map(|i| {
        let since = Instant::now();
        work(i);
        ms(since)
    });
    told(what, each.collect());
}

/// An outline as a hand draws it: corners in and out round a middle.
fn outline(x: f64, y: f64, ha: f64, corners: usize) -> MultiPolygon<f64> {
    let r = (ha * 1e4 / std::f64::consts::PI).sqrt();
    let at = |k: usize| {
        let (a, b) = (k as f64 * std::f64::consts::TAU / corners as f64).sin_cos();
        let r = r * (1.0 + 0.12 * (k as f64 * 2.3).sin());
        (x + r * a, y + r * b)
    };
    MultiPolygon(vec![Polygon::new(LineString::from((0..=corners).map(|k| at(k % corners)).collect::<Vec<_>>()), vec![])])
}

fn wood(h: &Holding, lek: usize, i: usize) -> MultiPolygon<f64> {
    let at = h.leks[lek].at;
    let along = i as f64 * 7.0;
    outline(at.x() + 350.0 + along, at.y() - 300.0 + 0.6 * along, 2.0 + 3.0 * (i % 30) as f64 / 29.0, 40)
}

fn draft(shape: &MultiPolygon<f64>, option: u32, id: Option<&str>) -> MeasureDraft {
    MeasureDraft { id: id.map(str::to_string), option, kind: "wood".into(), year: Some(2027), geometry: Some(shapes::geojson(shape.clone())), facts: Default::default() }
}

fn strokes(what: &str, start: &Start, option: u32, id: Option<&str>, year: u32) {
    let strokes = Strokes::default();
    let ask = |i: usize| {
        let measure = draft(&wood(&start.holding, 0, i), option, id);
        let answer = strokes.answer_blocking(start.clone(), Stroke { page: 1, stroke: i as u64, year, measure });
        assert!(matches!(answer, Some(ToPage::Stroked { .. })), "{answer:?}");
    };
    timed(&format!("{what}: first stroke"), 1, ask);
    timed(&format!("{what}: strokes after it"), 120, |i| ask(i + 1));
}

fn main() {
    let seed = std::env::args().nth(1).and_then(|s| s.parse().ok()).unwrap_or(1);
    let mut h = demo::holding(seed);
    h.options = (1..=2).map(|number| PlanOption { number, name: format!("option {number}"), note: String::new() }).collect();
    h.measures = (0..12)
        .map(|i| Measure {
            id: format!("wood-{i}"),
            option: 1,
            kind: "wood".into(),
            year: Some(2027 + i as i32 % 5),
            shape: outline(h.leks[i % h.leks.len()].at.x() - 500.0 - 90.0 * i as f64, h.leks[i % h.leks.len()].at.y() + 200.0, 3.0, 40),
            ..Measure::default()
        })
        .collect();
    let guidance = Arc::new(Guidance::load().unwrap());
    let since = Instant::now();
    let base = habitat::assess(&h, &guidance, Settings { draws: DRAWS, seed: SEED, cell_m: None }).unwrap();
    println!(
        "{}: {} leks, {} stands, {} facets, {} cells, {DRAWS} draws; the year as surveyed {:.0} ms",
        h.about.name, h.leks.len(), base.state.stands.len(), base.layout.facets.len(), base.layout.frame.len(), ms(since)
    );
    let start = Start { holding: Arc::new(h), guidance, base: Arc::new(base) };

    let courses = Courses::default();
    let under = |option, year| courses.under(|| Ok((1, start.clone())), option, year).unwrap().2;
    timed("a year ahead of an option of 12 woods, not kept", 5, |i| {
        drop(Courses::default().under(|| Ok((1, start.clone())), Some(1), [1, 5, 10, 20, 30][i]).unwrap());
    });
    let since = Instant::now();
    let course = under(Some(1), 20);
    while !(0..=30).all(|year| course.knows(year)) {
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    println!("the whole ruler of an option of 12 woods: {:.0} ms", ms(since));
    timed("year sheet, kept", 200, |i| {
        let year = i as u32 % 31;
        drop(serde_json::to_string(&sheet::ahead(&start, 1, Some(1), &under(Some(1), year).year(year).unwrap().ledger)).unwrap());
    });
    timed("year sheet as surveyed", 50, |_| drop(serde_json::to_string(&sheet::surveyed(&start, 1)).unwrap()));
    timed("ground", 5, |_| drop(serde_json::to_string(&ground::layers(&start.holding, &start.guidance, 1).unwrap()).unwrap()));
    let bytes = serde_json::to_string(&ground::layers(&start.holding, &start.guidance, 1).unwrap()).unwrap().len();
    println!("    the ground is {:.1} MB of JSON", bytes as f64 / 1e6);
    timed("relief", 3, |_| drop(relief::veil(start.holding.heights.as_ref().unwrap())));
    let question = |lek, season| Question { start: &start, year: &start.base, lek, season };
    timed("picture of a season", 35, |i| drop(question(i % start.holding.leks.len(), Season::ALL[i % 7]).png()));
    timed("why a season is short", 35, |i| drop(question(i % start.holding.leks.len(), Season::ALL[i % 7]).told()));
    timed("a year ahead looked at closely, not kept", 3, |i| drop(under(Some(1), 20).close(5 + 10 * i as u32).unwrap()));
    timed("measures of an option", 5, |_| drop(measures::measures(&start, Some(1)).unwrap()));
    timed("findings of an option, not kept", 1, |_| assert!(!under(Some(1), 20).findings().unwrap().is_empty()));

    strokes("a new wood of 2 to 5 ha, year 20, empty option", &start, 2, None, 20);
    strokes("a new wood, year 20, option of 12 woods", &start, 1, None, 20);
    strokes("a wood of the option moved, year 10", &start, 1, Some("wood-0"), 10);
}
