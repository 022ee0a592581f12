//! The square that stands for a fence says in which square a lek is, and must say no more: it stays as it is wherever in its square the lek lies.

#![allow(clippy::panic, reason = "a test may stop")]

mod common;

use common::{parts, whole};
use geo::{Centroid, Euclidean, InterpolateLine, Length};
use geo_types::{LineString, MultiLineString, Point};
use guidance::Guidance;
use habitat::ahead::{Course, Forecast, Programme, forecast};
use habitat::{Assessed, Settings, assess};
use handover::placed::{self, Placed};
use handover::secrecy::Secrecy;
use handover::{Pack, Planned};
use holding::{Holding, Measure, PlanOption};

/// Side of the squares leks are shown as, metres.
const SQUARE_M: f64 = 1000.0;
/// Pieces of the demonstration's fences, this long, each to be marked, metres.
const PIECE_M: f64 = 240.0;
/// Where in their squares the leks are put, as parts of a side from the south-west: near the corners, the middle, elsewhere.
const PUT: [(f64, f64); 7] = [(0.02, 0.03), (0.97, 0.02), (0.03, 0.98), (0.98, 0.97), (0.5, 0.5), (0.31, 0.74), (0.66, 0.18)];

/// The demonstration with every fence marked piece by piece, and a new fence drawn across each lek's square and beside it.
fn fenced() -> Holding {
    let mut h = demo::holding(1);
    h.options = vec![PlanOption { number: 1, name: "Fences".into(), note: String::new() }];
    let drawn = |line: LineString<f64>, number: usize, facts: &[(&str, serde_json::Value)]| Measure {
        line: MultiLineString(vec![line]),
        ..whole::measure(&format!("fence-{number}"), "fence", facts)
    };
    let mut measures = Vec::new();
    for fence in &h.fences {
        for line in &fence.shape.0 {
            let pieces = (Euclidean.length(line) / PIECE_M).ceil();
            let at = |part: f64| Euclidean.point_at_ratio_from_start(line, part.min(1.0));
            for (from, to) in (0..pieces as usize).filter_map(|i| at(i as f64 / pieces).zip(at((i + 1) as f64 / pieces))) {
                measures.push(drawn(LineString::from(vec![from, to]), measures.len() + 1, &[("work", "mark".into()), ("fence", fence.id.as_str().into())]));
            }
        }
    }
    for lek in &h.leks {
        for off in [-2600.0, -900.0, -350.0, 0.0, 350.0, 900.0, 2600.0] {
            let (x, y) = (lek.at.x() + off, lek.at.y() + off / 2.0);
            measures.push(drawn(LineString::from(vec![(x - 100.0, y), (x + 120.0, y + 60.0)]), measures.len() + 1, &[("work", "new".into())]));
        }
    }
    h.measures = measures;
    h
}

/// How the fences are shown with the leks of a holding put somewhere in their squares.
fn shown(holding: &Holding, guidance: &Guidance, put: impl Fn(usize) -> (f64, f64)) -> Vec<Placed> {
    let mut parts = parts();
    parts.holding = holding.clone();
    for (i, lek) in parts.holding.leks.iter_mut().enumerate() {
        let corner = |v: f64| (v / SQUARE_M).floor() * SQUARE_M;
        let (east, north) = put(i);
        lek.at = Point::new(corner(lek.at.x()) + east * SQUARE_M, corner(lek.at.y()) + north * SQUARE_M);
    }
    let base = assess(&parts.holding, guidance, Settings { draws: 1, seed: 1, cell_m: Some(50.0) }).expect("a year");
    let secrecy = Secrecy::new(&parts.holding, false);
    let now = nothing(&base, &parts.holding, guidance);
    let planned = Planned::new((&parts.holding, &secrecy), guidance, &base, 1, &[(None, &now)]).expect("an option");
    assert_eq!(planned.jobs.len(), holding.measures.len());
    let pack = Pack { guidance, option: Some(&planned), ..parts.pack(false) };
    placed::of(&pack, &planned, &secrecy)
}

/// The ground as surveyed, nothing done.
fn nothing(base: &Assessed, holding: &Holding, guidance: &Guidance) -> Forecast {
    let programme = Programme::default();
    forecast(base, holding, guidance, Course { holding, programme: &programme }, &[0]).expect("a year")
}

#[test]
fn the_square_that_stands_for_a_fence_does_not_follow_its_lek() {
    let (holding, guidance) = (fenced(), Guidance::load().expect("the tables"));
    // All leks put alike, then each elsewhere than its neighbours.
    let alike = (0..PUT.len()).map(|k| (k, 0));
    let apart = (0..PUT.len()).map(|k| (k, 2));
    let all: Vec<Vec<Placed>> = alike.chain(apart).map(|(k, step)| shown(&holding, &guidance, |lek| PUT[(k + step * lek) % PUT.len()])).collect();
    let first = &all[0];
    let squares = first.iter().filter(|p| p.tied).count();
    assert!(squares >= 3 * holding.leks.len(), "{squares} squares stand for fences");
    for (k, placed) in all.iter().enumerate() {
        for ((was, now), measure) in first.iter().zip(placed).zip(&holding.measures) {
            let at = measure.line.centroid();
            assert_eq!((was.tied, was.drawn, &was.reference, &was.shape), (now.tied, now.drawn, &now.reference, &now.shape), "{} at {at:?}, leks put the {k}th way", measure.id);
        }
    }
}
