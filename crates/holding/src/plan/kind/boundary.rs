//! The land the plan is for.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::Stored;
use geo_types::MultiPolygon;

/// The boundary as a row. A boundary drawn as several rows in a GIS is taken together.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Outline(pub MultiPolygon<f64>);

impl Stored for Outline {
    const TABLE: &'static Table = &Table {
        name: "boundary",
        title: "Boundary",
        meaning: "The land the plan is for: one row. Several rows are taken together as one.",
        columns: &[Column::geometry(Shape::Areas, "outline of the land")],
    };

    fn key(&self) -> String {
        "boundary".into()
    }

    fn read(row: &Row) -> Option<Self> {
        Some(Self(row.areas()))
    }

    fn write(&self, row: &mut Draft) {
        row.areas(&self.0);
    }
}
