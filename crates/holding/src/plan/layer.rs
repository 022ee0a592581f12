//! The tables of a plan for readers other than the file: what columns there are, and a holding's rows by column,
//! name for name and value for value as the file holds them.

use super::column::{Column, Kind, Shape, Table};
use super::geometry::blob;
use super::kind::{Outline, StemRow, Stored};
use super::row::Draft;
use crate::model::*;
use geo_types::Geometry;
use rusqlite::types::Value;

/// A table of the plan file.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// Name of the table.
    pub name: &'static str,
    /// What a row is, for people.
    pub title: &'static str,
    /// What it holds.
    pub meaning: &'static str,
    /// Its geometry; `None`: rows without a place.
    pub places: Option<Places>,
    /// Columns other than the geometry, in file order.
    pub columns: Vec<LayerColumn>,
}

/// What kind of geometry a layer holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Places {
    /// Points.
    Points,
    /// Lines, each of one or more parts.
    Lines,
    /// Areas, each of one or more parts.
    Areas,
    /// Areas, lines or collections of both.
    Either,
}

/// A column of a layer.
#[derive(Clone, Debug, PartialEq)]
pub struct LayerColumn {
    /// Name in the file, with its unit.
    pub name: &'static str,
    /// What it takes.
    pub takes: Takes,
    /// Least and greatest value.
    pub range: Option<(f64, f64)>,
    /// Unit; empty: none.
    pub unit: &'static str,
    /// What it says.
    pub meaning: &'static str,
    /// A value must be there.
    pub required: bool,
}

/// What a column takes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Takes {
    /// Free text.
    Text,
    /// Whole numbers.
    Whole,
    /// Numbers.
    Number,
    /// Yes or no.
    YesNo,
    /// A day, `YYYY-MM-DD`.
    Day,
    /// A clock time, `HH:MM:SS`.
    Time,
    /// A JSON object.
    Json,
    /// One of these words.
    Words(Vec<&'static str>),
}

/// A row of a layer.
#[derive(Clone, Debug, PartialEq)]
pub struct LayerRow {
    /// What it is known by: its id, or what stands for it where the table has none.
    pub id: String,
    /// Where it lies, metres of the plan's system.
    pub place: Option<Geometry<f64>>,
    /// One value a column of the layer.
    pub values: Vec<serde_json::Value>,
}

macro_rules! kinds {
    ($($field:ident: $kind:ty),* $(,)?) => {
        /// Every table of the plan.
        const TABLES: &[&Table] = &[Outline::TABLE, $(<$kind>::TABLE,)* StemRow::TABLE];

        /// The rows a holding has in a layer, in its own order; `None` where there is no such layer.
        pub fn rows(holding: &Holding, layer: &str) -> Option<Vec<LayerRow>> {
            let epsg = holding.about.epsg;
            if layer == Outline::TABLE.name {
                return Some(holding.boundary.iter().map(|shape| row(&Outline(shape.clone()), epsg)).collect());
            }
            if layer == StemRow::TABLE.name {
                return Some(StemRow::of(&holding.woods).iter().map(|stems| row(stems, epsg)).collect());
            }
            $( if layer == <$kind>::TABLE.name {
                return Some(holding.$field.iter().map(|thing| row(thing, epsg)).collect());
            } )*
            None
        }
    };
}

kinds! {
    parcels: Parcel, patches: Patch, woods: Wood, leks: Lek, visits: Visit, broods: BroodCount, fences: Fence, ditches: Ditch,
    watercourses: Watercourse, tracks: Track, services: Service, buildings: Building, areas: Area, sticks: Stick, probes: Probe,
    stock: Stock, options: PlanOption, measures: Measure, crews: HiredCrew, rates: OwnPrice,
}

/// Every layer of a plan.
pub fn layers() -> Vec<Layer> {
    TABLES.iter().map(|table| layer(table)).collect()
}

fn layer(table: &Table) -> Layer {
    let places = table.shape().map(|shape| match shape {
        Shape::Point => Places::Points,
        Shape::Lines => Places::Lines,
        Shape::Areas => Places::Areas,
        Shape::Either => Places::Either,
    });
    let columns = table.columns.iter().filter_map(column).collect();
    Layer { name: table.name, title: table.title, meaning: table.meaning, places, columns }
}

fn column(column: &Column) -> Option<LayerColumn> {
    let takes = match column.kind {
        Kind::Text => Takes::Text,
        Kind::Integer => Takes::Whole,
        Kind::Real => Takes::Number,
        Kind::Boolean => Takes::YesNo,
        Kind::Date => Takes::Day,
        Kind::Time => Takes::Time,
        Kind::Json => Takes::Json,
        Kind::Word(words, _) => Takes::Words(words()),
        Kind::Geometry(_) => return None,
    };
    let Column { name, range, unit, meaning, required, .. } = *column;
    Some(LayerColumn { name, takes, range, unit, meaning, required })
}

fn row<T: Stored>(thing: &T, epsg: u32) -> LayerRow {
    let mut draft = Draft::new(T::TABLE, epsg);
    thing.write(&mut draft);
    let mut place = None;
    let mut values = Vec::with_capacity(draft.values.len());
    for (column, value) in T::TABLE.columns.iter().zip(&draft.values) {
        match (column.kind, value) {
            (Kind::Geometry(_), Value::Blob(bytes)) => place = blob::read(bytes).ok(),
            (Kind::Geometry(_), _) => {}
            (kind, value) => values.push(told(kind, value)),
        }
    }
    LayerRow { id: thing.key(), place, values }
}

fn told(kind: Kind, value: &Value) -> serde_json::Value {
    use serde_json::{Value as Json, json};
    match (kind, value) {
        (Kind::Boolean, Value::Integer(v)) => json!(*v != 0),
        (Kind::Json, Value::Text(text)) => serde_json::from_str(text).unwrap_or(Json::Null),
        (_, Value::Integer(v)) => json!(v),
        (_, Value::Real(v)) => json!(v),
        (_, Value::Text(text)) => json!(text),
        (_, Value::Null | Value::Blob(_)) => Json::Null,
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_table_of_the_plan_is_a_layer() {
        let mut layers: Vec<&str> = super::layers().iter().map(|layer| layer.name).collect();
        // What came in from the field is not yet of the plan.
        let mut tables: Vec<&str> = super::super::kind::TABLES.iter().map(|table| table.name).filter(|name| *name != "field_entries").collect();
        layers.sort_unstable();
        tables.sort_unstable();
        assert_eq!(layers, tables);
        let holding = crate::Holding::default();
        assert!(layers.iter().all(|layer| super::rows(&holding, layer).is_some_and(|rows| rows.is_empty())));
        assert!(super::rows(&holding, "clouds").is_none());
    }
}
