//! A thing of the model as its row would stand in the plan file, for people to look at before it is there.

use super::column::{Kind, Shape};
use super::kind::Stored;
use super::row::{Draft, Row};
use geo_types::Geometry;
use rusqlite::types::Value;
use std::collections::BTreeMap;

/// A row to look at.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// What is said, by column; what is not known is left out.
    pub values: BTreeMap<String, String>,
    /// Where it is, in the plan's coordinates.
    pub geometry: Option<Geometry<f64>>,
}

/// A thing as its row would stand.
pub fn shown<T: Stored>(thing: &T) -> Shown {
    let mut draft = Draft::new(T::TABLE, 0);
    thing.write(&mut draft);
    let row = Row { table: T::TABLE, fid: 0, values: &draft.values };
    let (areas, lines) = row.parts();
    let geometry = match T::TABLE.shape() {
        Some(Shape::Point) => row.point().map(Geometry::Point),
        Some(_) if !areas.0.is_empty() => Some(Geometry::MultiPolygon(areas)),
        Some(_) if !lines.0.is_empty() => Some(Geometry::MultiLineString(lines)),
        _ => None,
    };
    let told = T::TABLE.columns.iter().zip(&draft.values).filter_map(|(column, value)| Some((column.name.to_string(), words(column.kind, value)?)));
    Shown { values: told.collect(), geometry }
}

/// A value in words; `None`: there is nothing to tell.
fn words(kind: Kind, value: &Value) -> Option<String> {
    match (kind, value) {
        (_, Value::Null | Value::Blob(_)) | (Kind::Json, _) => None,
        (Kind::Boolean, Value::Integer(flag)) => Some(if *flag == 0 { "no" } else { "yes" }.to_string()),
        (_, Value::Integer(number)) => Some(number.to_string()),
        (_, Value::Real(number)) => Some(number.to_string()),
        (_, Value::Text(text)) => Some(text.clone()),
    }
}

/// What a column of a table says, with its unit; `None` where there is no such column.
pub fn meaning<T: Stored>(column: &str) -> Option<String> {
    let column = T::TABLE.columns.iter().find(|c| c.name == column)?;
    let unit = if column.unit.is_empty() { String::new() } else { format!(" ({})", column.unit) };
    Some(format!("{}{unit}", column.meaning))
}
