//! How a table of the plan is described: its columns, their units and the values they take.
//!
//! The description serves five ends: the table is created from it, values are checked against it when read and
//! when written, the file explains itself by it (`gpkg_data_columns`), and `docs/plan-file.md` is written from it.

use super::geometry::blob::{self, BlobFault};
use crate::words::Word;
use chrono::{NaiveDate, NaiveTime};
use geo_types::Geometry;
use rusqlite::types::Value;

/// The greatest number of single precision, by the shortest decimal it is stored as (a little above the number).
const SINGLE_MAX: f64 = 3.402_823_5e38;

/// What kind of value a column takes.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    Text,
    Integer,
    Real,
    Boolean,
    /// A day, `YYYY-MM-DD`.
    Date,
    /// A clock time, `HH:MM:SS`.
    Time,
    /// A JSON object.
    Json,
    /// One word of a closed list.
    Word(fn() -> Vec<&'static str>, fn(&str) -> bool),
    Geometry(Shape),
}

/// What kind of geometry a table holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    Point,
    Lines,
    Areas,
    /// Areas, lines or a collection of both; may be missing.
    Either,
}

impl Shape {
    /// The GeoPackage name of the geometry type.
    pub(crate) fn type_name(self) -> &'static str {
        match self {
            Shape::Point => "POINT",
            Shape::Lines => "MULTILINESTRING",
            Shape::Areas => "MULTIPOLYGON",
            Shape::Either => "GEOMETRY",
        }
    }

    fn fits(self, geometry: &Geometry<f64>) -> bool {
        use Geometry::*;
        match self {
            Shape::Point => matches!(geometry, Point(_)) || matches!(geometry, MultiPoint(m) if m.0.len() == 1),
            Shape::Lines => matches!(geometry, LineString(_) | MultiLineString(_)),
            Shape::Areas => matches!(geometry, Polygon(_) | MultiPolygon(_)),
            Shape::Either => match geometry {
                GeometryCollection(parts) => parts.0.iter().all(|part| self.fits(part)),
                other => Shape::Lines.fits(other) || Shape::Areas.fits(other),
            },
        }
    }

    pub(crate) fn in_words(self) -> &'static str {
        match self {
            Shape::Point => "a point",
            Shape::Lines => "a line or lines",
            Shape::Areas => "an area or areas",
            Shape::Either => "areas, lines, or both",
        }
    }
}

/// One column.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    pub name: &'static str,
    pub kind: Kind,
    /// A value must be there.
    pub required: bool,
    /// Least and greatest value.
    pub range: Option<(f64, f64)>,
    /// Unit, or empty.
    pub unit: &'static str,
    /// What the column says.
    pub meaning: &'static str,
}

impl Column {
    const fn new(name: &'static str, kind: Kind, meaning: &'static str) -> Self {
        Self { name, kind, required: false, range: None, unit: "", meaning }
    }
    pub(crate) const fn text(name: &'static str, meaning: &'static str) -> Self {
        Self::new(name, Kind::Text, meaning)
    }
    pub(crate) const fn integer(name: &'static str, low: i64, high: i64, meaning: &'static str) -> Self {
        Self { range: Some((low as f64, high as f64)), ..Self::new(name, Kind::Integer, meaning) }
    }
    pub(crate) const fn real(name: &'static str, unit: &'static str, low: f64, high: f64, meaning: &'static str) -> Self {
        Self { range: Some((low, high)), unit, ..Self::new(name, Kind::Real, meaning) }
    }
    /// A share of the whole, 0 to 100.
    pub(crate) const fn percent(name: &'static str, meaning: &'static str) -> Self {
        Self::real(name, "percent", 0.0, 100.0, meaning)
    }
    /// A quantity that is never negative.
    pub(crate) const fn amount(name: &'static str, unit: &'static str, meaning: &'static str) -> Self {
        Self::real(name, unit, 0.0, SINGLE_MAX, meaning)
    }
    pub(crate) const fn boolean(name: &'static str, meaning: &'static str) -> Self {
        Self::new(name, Kind::Boolean, meaning)
    }
    pub(crate) const fn date(name: &'static str, meaning: &'static str) -> Self {
        Self { unit: "day", ..Self::new(name, Kind::Date, meaning) }
    }
    pub(crate) const fn time(name: &'static str, meaning: &'static str) -> Self {
        Self { unit: "clock time", ..Self::new(name, Kind::Time, meaning) }
    }
    pub(crate) const fn json(name: &'static str, meaning: &'static str) -> Self {
        Self::new(name, Kind::Json, meaning)
    }
    pub(crate) const fn word<W: Word>(name: &'static str, meaning: &'static str) -> Self {
        Self::new(name, Kind::Word(words_of::<W>, is_word::<W>), meaning)
    }
    pub(crate) const fn geometry(shape: Shape, meaning: &'static str) -> Self {
        let column = Self { unit: "metres of the plan's system", ..Self::new("geom", Kind::Geometry(shape), meaning) };
        Self { required: !matches!(shape, Shape::Either), ..column }
    }
    pub(crate) const fn optional(self) -> Self {
        Self { required: false, ..self }
    }
    pub(crate) const fn required(self) -> Self {
        Self { required: true, ..self }
    }

    /// The declared type.
    pub(crate) fn sql_type(&self) -> &'static str {
        match self.kind {
            Kind::Text | Kind::Time | Kind::Json | Kind::Word(..) => "TEXT",
            Kind::Integer => "INTEGER",
            Kind::Real => "REAL",
            Kind::Boolean => "BOOLEAN",
            Kind::Date => "DATE",
            Kind::Geometry(shape) => shape.type_name(),
        }
    }

    /// The constraint the engine itself enforces, or empty.
    pub(crate) fn sql_check(&self) -> String {
        let name = self.name;
        match (self.kind, self.range) {
            (Kind::Boolean, _) => format!(" CHECK (\"{name}\" IN (0, 1))"),
            (Kind::Date, _) => format!(" CHECK (\"{name}\" IS date(\"{name}\"))"),
            (Kind::Word(words, _), _) => {
                let list: Vec<String> = words().iter().map(|w| format!("'{w}'")).collect();
                format!(" CHECK (\"{name}\" IN ({}))", list.join(", "))
            }
            (Kind::Real | Kind::Integer, Some((low, high))) if high < f64::from(u32::MAX) => {
                format!(" CHECK (\"{name}\" BETWEEN {low} AND {high})")
            }
            (Kind::Real | Kind::Integer, Some((low, _))) => format!(" CHECK (\"{name}\" >= {low})"),
            _ => String::new(),
        }
    }

    /// What a value of this column must be, in words.
    pub(crate) fn needed(&self) -> String {
        match self.kind {
            Kind::Text => "text".into(),
            Kind::Integer | Kind::Real => {
                let what = if matches!(self.kind, Kind::Integer) { "a whole number" } else { "a number" };
                let unit = if self.unit.is_empty() { String::new() } else { format!(" ({})", self.unit) };
                match self.range {
                    Some((low, high)) if high < f64::from(u32::MAX) => format!("{what} from {low} to {high}{unit}"),
                    Some((low, _)) => format!("{what} of {low} or more{unit}"),
                    None => format!("{what}{unit}"),
                }
            }
            Kind::Boolean => "0 or 1".into(),
            Kind::Date => "a day as YYYY-MM-DD".into(),
            Kind::Time => "a clock time as HH:MM:SS".into(),
            Kind::Json => "a JSON object".into(),
            Kind::Word(words, _) => format!("one of {}", words().join(", ")),
            Kind::Geometry(shape) => shape.in_words().into(),
        }
    }

    /// Check a value: `None` when it fits, else what was found instead.
    pub(crate) fn refuses(&self, value: &Value) -> Option<String> {
        let fits = match (self.kind, value) {
            (_, Value::Null) => return self.required.then(|| "nothing".into()),
            (Kind::Text, Value::Text(text)) => !self.required || !text.is_empty(),
            (Kind::Integer, _) => whole(value).is_some_and(|v| self.in_range(v as f64)),
            (Kind::Real, _) => real(value).is_some_and(|v| self.in_range(v)),
            (Kind::Boolean, Value::Integer(v)) => matches!(v, 0 | 1),
            (Kind::Date, Value::Text(text)) => date(text).is_some(),
            (Kind::Time, Value::Text(text)) => time(text).is_some(),
            (Kind::Json, Value::Text(text)) => text.is_empty() || json(text).is_some(),
            (Kind::Word(_, is_word), Value::Text(text)) => is_word(text),
            (Kind::Geometry(shape), Value::Blob(bytes)) => match blob::read(bytes) {
                Ok(geometry) => return (!shape.fits(&geometry)).then(|| kind_of(&geometry).into()),
                Err(fault) => return Some(fault.to_string()),
            },
            _ => false,
        };
        (!fits).then(|| shown(value))
    }

    /// What to do about a value that does not fit.
    pub(crate) fn hint(&self, value: &Value) -> &'static str {
        match (self.kind, value) {
            (Kind::Geometry(_), Value::Blob(bytes)) => match blob::read(bytes) {
                Ok(_) => "move the feature to the table of its kind",
                Err(BlobFault::Wkb(super::geometry::wkb::WkbFault::Kind(8..=12))) => "turn curves into straight lines in a GIS",
                Err(_) => super::fault::RESTORE,
            },
            (Kind::Geometry(_), _) => "draw the feature in a GIS, or delete the row",
            _ => "put the value right in a GIS or with `sqlite3`",
        }
    }

    fn in_range(&self, value: f64) -> bool {
        value.is_finite() && self.range.is_none_or(|(low, high)| value >= low && value <= high)
    }
}

/// A table of the plan.
#[derive(Debug)]
pub struct Table {
    pub name: &'static str,
    /// What a row is, for people.
    pub title: &'static str,
    pub meaning: &'static str,
    /// Columns after `fid`; the geometry, where there is one, is among them and named `geom`.
    pub columns: &'static [Column],
}

impl Table {
    /// The kind of geometry, where rows are features.
    pub(crate) fn shape(&self) -> Option<Shape> {
        self.columns.iter().find_map(|column| match column.kind {
            Kind::Geometry(shape) => Some(shape),
            _ => None,
        })
    }

    pub(crate) fn index(&self, column: &str) -> Option<usize> {
        self.columns.iter().position(|c| c.name == column)
    }

    /// True where rows carry an `id` of their own.
    pub(crate) fn has_id(&self) -> bool {
        self.index("id").is_some()
    }

    /// The statement that makes the table.
    pub(crate) fn create_sql(&self) -> String {
        let mut sql = format!("CREATE TABLE \"{}\" (\n  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL", self.name);
        for column in self.columns {
            let unique = if column.name == "id" { " UNIQUE" } else { "" };
            sql += &format!(",\n  \"{}\" {}{unique}{}", column.name, column.sql_type(), column.sql_check());
        }
        sql + "\n)"
    }
}

fn words_of<W: Word>() -> Vec<&'static str> {
    W::WORDS.iter().map(|(_, word, _)| *word).collect()
}

fn is_word<W: Word>(text: &str) -> bool {
    W::from_word(text).is_some()
}

/// A whole number, also where it was stored as a real one.
pub(crate) fn whole(value: &Value) -> Option<i64> {
    match value {
        Value::Integer(v) => Some(*v),
        Value::Real(v) if v.fract() == 0.0 && v.abs() < 9e15 => Some(*v as i64),
        _ => None,
    }
}

/// A number.
pub(crate) fn real(value: &Value) -> Option<f64> {
    match value {
        Value::Integer(v) => Some(*v as f64),
        Value::Real(v) => Some(*v),
        _ => None,
    }
}

pub(crate) fn date(text: &str) -> Option<NaiveDate> {
    NaiveDate::parse_from_str(text, "%Y-%m-%d").ok()
}

pub(crate) fn time(text: &str) -> Option<NaiveTime> {
    NaiveTime::parse_from_str(text, "%H:%M:%S%.f").or_else(|_| NaiveTime::parse_from_str(text, "%H:%M")).ok()
}

pub(crate) fn json(text: &str) -> Option<crate::model::Extra> {
    serde_json::from_str(text).ok()
}

fn shown(value: &Value) -> String {
    match value {
        Value::Null => "nothing".into(),
        Value::Integer(v) => v.to_string(),
        Value::Real(v) => v.to_string(),
        Value::Text(text) if text.is_empty() => "empty text".into(),
        Value::Text(text) => format!("`{}`", text.chars().take(60).collect::<String>()),
        Value::Blob(bytes) => format!("{} bytes", bytes.len()),
    }
}

fn kind_of(geometry: &Geometry<f64>) -> &'static str {
    match geometry {
        Geometry::Point(_) => "a point",
        Geometry::MultiPoint(m) if m.0.is_empty() => "an empty point",
        Geometry::MultiPoint(_) => "points",
        Geometry::LineString(_) | Geometry::MultiLineString(_) | Geometry::Line(_) => "a line or lines",
        Geometry::GeometryCollection(_) => "a collection of geometries",
        _ => "an area or areas",
    }
}
