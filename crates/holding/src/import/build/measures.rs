//! Measures: a kind, a year, a place where the work has one, and whatever else the row says as facts.

use super::super::geometry::settle;
use super::super::kind::Form;
use super::super::table::Shape;
use super::{Ids, Reading, Row, shape_of};
use crate::model::Measure;
use geo_types::{Geometry, MultiLineString, MultiPolygon};

/// Measures; option 0 where no column says it. What each kind needs to know is judged by the room that knows the work.
pub(super) fn measures(rows: &[Row], reading: &mut Reading<'_>, ids: &mut Ids) -> Vec<Measure> {
    let mut all = Vec::new();
    for row in rows {
        let nothing = || Some((MultiPolygon(vec![]), MultiLineString(vec![])));
        let drawn = match &row.shape {
            Shape::None | Shape::Missing => nothing(),
            Shape::Is(drawn) if is_line(&drawn.geometry) => {
                shape_of(row, reading, Form::Either, settle::line).map(|line| (MultiPolygon(vec![]), line))
            }
            _ => shape_of(row, reading, Form::Either, settle::area).map(|area| (area, MultiLineString(vec![]))),
        };
        let mut v = reading.row(row, None);
        let id = ids.next(&mut v);
        let kind = v.text("kind");
        if kind.is_empty() {
            v.fault("kind", "a kind of measure in every row", "take rows without one out of the file");
        }
        let year = v.number("year", 1900.0, 2300.0).map(|year| year as i32);
        let option = v.count("option").unwrap_or(0);
        let facts = v.extra();
        if let (Some((shape, line)), Some(id)) = (drawn, id) {
            all.push(Measure { id, option, kind, year, shape, line, facts });
        }
    }
    all
}

fn is_line(geometry: &Geometry<f64>) -> bool {
    match geometry {
        Geometry::Line(_) | Geometry::LineString(_) | Geometry::MultiLineString(_) => true,
        Geometry::GeometryCollection(parts) => !parts.0.is_empty() && parts.0.iter().all(is_line),
        _ => false,
    }
}
