//! What a client asks of a collection: box, days, columns, system, page.

use super::crs::System;
use crate::api::edit::{Problem, ProblemFault};
use chrono::NaiveDate;
use geo::Intersects;
use geo_types::{Coord, Rect};
use holding::plan::layer::{Layer, LayerRow, Takes};
use serde_json::Value;

/// Features of a page unless asked otherwise.
pub(super) const PAGE: usize = 1_000;
/// The most features of a page; more are asked for in vain, not refused (17-069r4, permission /per/core/fc-limit-response-2).
pub(super) const PAGE_MOST: usize = 10_000;

/// A request for features, understood.
#[derive(Debug, PartialEq)]
pub(super) struct Filter {
    /// Boxes, one or, over the date line, two; and the system they are in.
    pub boxes: Option<(Vec<Rect<f64>>, System)>,
    /// First and last day; open where `None`.
    pub days: Option<(Option<NaiveDate>, Option<NaiveDate>)>,
    /// Columns by place, and the text they must read as.
    pub columns: Vec<(usize, String)>,
    /// The system of the answer.
    pub system: System,
    pub limit: usize,
    pub offset: usize,
}

/// Read the query of a collection's features; every fault at once.
pub(super) fn read(query: &[(String, String)], layer: &Layer, systems: &[System]) -> Result<Filter, Problem> {
    let own = ["bbox", "bbox-crs", "crs", "datetime", "limit", "offset"];
    let filters: Vec<&str> = layer.columns.iter().filter(|c| c.takes != Takes::Json).map(|c| c.name).collect();
    let mut faults = unknown(query, &[own.as_slice(), &filters].concat());
    let value = |name: &str| query.iter().find(|(n, _)| n == name).map(|(_, v)| v.as_str());
    let system = named(value("crs"), "crs", systems, &mut faults);
    let box_system = named(value("bbox-crs"), "bbox-crs", systems, &mut faults);
    let boxes = value("bbox").and_then(|text| boxes(text, box_system, &mut faults)).map(|boxes| (boxes, box_system));
    let days = value("datetime").and_then(|text| days(text, &mut faults));
    let columns = layer.columns.iter().enumerate().filter(|(_, c)| c.takes != Takes::Json);
    let columns = columns.filter_map(|(at, column)| value(column.name).map(|text| (at, text.to_owned()))).collect();
    let limit = whole(value("limit"), "limit", 1, PAGE, &mut faults).min(PAGE_MOST);
    let offset = whole(value("offset"), "offset", 0, 0, &mut faults);
    if faults.is_empty() { Ok(Filter { boxes, days, columns, system, limit, offset }) } else { Err(refused(faults)) }
}

impl Filter {
    /// Whether a row is asked for.
    pub(super) fn takes(&self, row: &LayerRow, layer: &Layer) -> bool {
        self.columns.iter().all(|(at, text)| reads_as(&row.values[*at], text)) && self.in_days(row, layer) && self.in_boxes(row)
    }

    fn in_boxes(&self, row: &LayerRow) -> bool {
        let Some((boxes, system)) = &self.boxes else { return true };
        let place = row.place.as_ref().and_then(|place| system.shown(place).ok());
        place.is_some_and(|place| boxes.iter().any(|one| place.intersects(one)))
    }

    /// A layer that tells no day has nothing to choose by; a row of another that lacks its day is not chosen.
    fn in_days(&self, row: &LayerRow, layer: &Layer) -> bool {
        let (Some((from, to)), Some(at)) = (self.days, day_column(layer)) else { return true };
        let day = row.values[at].as_str().and_then(|text| text.parse::<NaiveDate>().ok());
        day.is_some_and(|day| from.is_none_or(|from| day >= from) && to.is_none_or(|to| day <= to))
    }
}

/// Where a layer tells the day of its rows.
pub(super) fn day_column(layer: &Layer) -> Option<usize> {
    layer.columns.iter().position(|column| column.takes == Takes::Day)
}

/// What of a query is not known, or said twice.
pub(super) fn unknown(query: &[(String, String)], known: &[&str]) -> Vec<ProblemFault> {
    let mut faults = Vec::new();
    for (at, (name, _)) in query.iter().enumerate() {
        let twice = query[..at].iter().any(|(before, _)| before == name);
        if !known.contains(&name.as_str()) {
            let needed = if known.is_empty() { "no parameter".into() } else { format!("one of {}", known.join(", ")) };
            faults.push(fault(name, needed, "a parameter that is not known here", "leave it out, or see the list at /features/api"));
        } else if twice {
            faults.push(fault(name, "the parameter once", "it is said twice", "leave one of them out"));
        }
    }
    faults
}

/// The problem that a query is not understood.
pub(super) fn refused(faults: Vec<ProblemFault>) -> Problem {
    Problem::bad_request("The query is not understood", faults)
}

fn fault(at: &str, needed: impl Into<String>, found: impl Into<String>, hint: &str) -> ProblemFault {
    ProblemFault { at: shown(at), needed: needed.into(), found: found.into(), hint: hint.into() }
}

/// What a stranger wrote, cut to a length that can be read.
fn shown(text: &str) -> String {
    text.chars().take(60).collect()
}

fn named(text: Option<&str>, at: &str, systems: &[System], faults: &mut Vec<ProblemFault>) -> System {
    let Some(text) = text else { return systems[0] };
    if let Some(system) = systems.iter().find(|system| system.uri() == text) {
        return *system;
    }
    let names: Vec<String> = systems.iter().map(|system| system.uri()).collect();
    let hint = "other systems are made by the client from the plan's own";
    faults.push(fault(at, format!("one of {}", names.join(", ")), shown(text), hint));
    systems[0]
}

fn boxes(text: &str, system: System, faults: &mut Vec<ProblemFault>) -> Option<Vec<Rect<f64>>> {
    let numbers: Option<Vec<f64>> = text.split(',').map(|n| n.trim().parse().ok().filter(|n: &f64| n.is_finite())).collect();
    let [west, south, east, north] = match numbers.as_deref() {
        Some([w, s, e, n]) => [*w, *s, *e, *n],
        Some([w, s, _, e, n, _]) => [*w, *s, *e, *n],
        _ => {
            let needed = "four numbers, west,south,east,north, or six with heights, which are not looked at";
            faults.push(fault("bbox", needed, shown(text), "write it such as bbox=-2.4,54.6,-2.3,54.7"));
            return None;
        }
    };
    let rect = |west: f64, east: f64| Rect::new(Coord { x: west, y: south }, Coord { x: east, y: north });
    if south > north || (west > east && system != System::LonLat) {
        faults.push(fault("bbox", "the lower left corner before the upper right one", shown(text), "turn the corners round"));
        return None;
    }
    Some(if west > east { vec![rect(west, 180.0), rect(-180.0, east)] } else { vec![rect(west, east)] })
}

/// An instant or a span (RFC 3339, section 5.6); the plan knows days, so clock times do not count.
fn days(text: &str, faults: &mut Vec<ProblemFault>) -> Option<(Option<NaiveDate>, Option<NaiveDate>)> {
    let day = |text: &str| -> Option<NaiveDate> {
        let date = text.get(..10)?.parse().ok()?;
        (text.len() == 10 || chrono::DateTime::parse_from_rfc3339(text).is_ok()).then_some(date)
    };
    let end = |text: &str| if matches!(text, "" | "..") { Some(None) } else { day(text).map(Some) };
    let span = match text.split_once('/') {
        None => day(text).map(|day| (Some(day), Some(day))),
        Some((from, to)) => end(from).zip(end(to)),
    };
    let span = span.filter(|(from, to)| from.zip(*to).is_none_or(|(from, to)| from <= to) && (from.is_some() || to.is_some()));
    if span.is_none() {
        let needed = "a day or a span of days, the earlier first";
        faults.push(fault("datetime", needed, shown(text), "write it such as 2026-04-01, 2026-04-01/2026-05-31 or 2026-04-01/.."));
    }
    span
}

fn whole(text: Option<&str>, at: &str, least: usize, usual: usize, faults: &mut Vec<ProblemFault>) -> usize {
    let Some(text) = text else { return usual };
    match text.parse::<usize>() {
        Ok(number) if number >= least => number,
        _ => {
            faults.push(fault(at, format!("a whole number of {least} or more"), shown(text), "leave it out for the usual"));
            usual
        }
    }
}

/// Whether a value reads as a text; numbers as numbers, so that 10 and 10.0 are the same.
fn reads_as(value: &Value, text: &str) -> bool {
    match value {
        Value::String(own) => own == text,
        Value::Bool(own) => matches!((own, text), (true, "true" | "1") | (false, "false" | "0")),
        Value::Number(own) => text.parse::<f64>().is_ok_and(|asked| own.as_f64() == Some(asked)),
        _ => false,
    }
}
