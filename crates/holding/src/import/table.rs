//! What every source becomes: columns, and rows of values with a geometry and a place in the file.

use super::note::Notes;
use chrono::{NaiveDate, NaiveTime};
use geo_types::Geometry;

/// A value of a source.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Cell {
    /// Nothing there.
    Empty,
    /// Text.
    Text(String),
    /// A number.
    Number(f64),
    /// Yes or no.
    Flag(bool),
    /// A day.
    Date(NaiveDate),
    /// A time of day.
    Time(NaiveTime),
    /// A day and a time.
    Moment(NaiveDate, NaiveTime),
    /// Something nested, kept whole.
    Nested(serde_json::Value),
    /// What a sheet shows when a formula fails, or a formula that was never worked out: told as found.
    Unusable(String),
}

impl Cell {
    /// Text from a file; text of nothing but spaces is empty.
    pub fn text(text: &str) -> Self {
        if text.trim().is_empty() { Cell::Empty } else { Cell::Text(text.to_owned()) }
    }

    /// The text, where it is text.
    pub fn as_text(&self) -> Option<&str> {
        match self {
            Cell::Text(text) => Some(text),
            _ => None,
        }
    }

    /// True for a value that is not there.
    pub fn is_empty(&self) -> bool {
        *self == Cell::Empty
    }

    /// The value as a person would write it, for messages and free text.
    pub fn shown(&self) -> String {
        match self {
            Cell::Empty => String::new(),
            Cell::Text(text) => text.clone(),
            Cell::Number(number) => number.to_string(),
            Cell::Flag(flag) => if *flag { "yes" } else { "no" }.to_owned(),
            Cell::Date(date) => date.to_string(),
            Cell::Time(time) => time.format("%H:%M").to_string(),
            Cell::Moment(date, time) => format!("{date} {}", time.format("%H:%M")),
            Cell::Nested(value) => value.to_string(),
            Cell::Unusable(text) => text.clone(),
        }
    }

    /// The value as JSON, for attributes kept as they came.
    pub fn json(&self) -> serde_json::Value {
        match self {
            Cell::Empty => serde_json::Value::Null,
            Cell::Number(number) => {
                serde_json::Number::from_f64(*number).map_or(serde_json::Value::Null, |n| {
                    // Whole numbers stay whole: a field number 12 must not come back as 12.0.
                    if number.fract() == 0.0 && number.abs() < 9e15 { (*number as i64).into() } else { n.into() }
                })
            }
            Cell::Flag(flag) => (*flag).into(),
            Cell::Nested(value) => value.clone(),
            other => other.shown().into(),
        }
    }
}

/// The geometry of a row.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Shape {
    /// The source has no geometry at all.
    None,
    /// The source has geometry, but not for this row.
    Missing,
    /// The geometry cannot be read, and why.
    Broken(String),
    /// The geometry, in the source's coordinate system.
    Is(Drawn),
}

/// A geometry as read.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Drawn {
    /// The geometry; its rings are closed.
    pub geometry: Geometry<f64>,
    /// Whether a ring had to be closed.
    pub unclosed: bool,
}

/// A row of a source.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Row {
    /// Where it stands in the file: `line 7`, `feature 3`.
    pub place: String,
    /// One value a column.
    pub cells: Vec<Cell>,
    /// Its geometry.
    pub shape: Shape,
}

/// The coordinate system of a source.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Crs {
    /// The file says nothing.
    Unsaid,
    /// Longitude and latitude in degrees, in that order; the words say which.
    LonLat(&'static str),
    /// A projected system by EPSG number.
    Epsg(u32),
    /// Something else, as the file calls it.
    Other(String),
}

/// A whole source.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Table {
    /// Layer or sheet, where the file has a name for it.
    pub layer: Option<String>,
    /// Column names as they stand in the file.
    pub columns: Vec<String>,
    /// The rows.
    pub rows: Vec<Row>,
    /// The coordinate system of the geometries.
    pub crs: Crs,
    /// What the reader took for granted.
    pub notes: Notes,
}

impl Table {
    /// True when at least one row has, or should have, a geometry.
    pub fn has_shapes(&self) -> bool {
        self.rows.iter().any(|row| row.shape != Shape::None)
    }
}
