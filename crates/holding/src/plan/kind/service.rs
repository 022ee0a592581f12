//! Overhead and buried services.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::{ID, OTHER, Stored};
use crate::model::Service;

impl Stored for Service {
    const TABLE: &'static Table = &Table {
        name: "services",
        title: "Services",
        meaning: "Overhead and buried services. Not proof that nothing else is there: ask the owners before digging.",
        columns: &[
            ID,
            Column::geometry(Shape::Lines, "line of the service"),
            Column::text("kind", "kind in words: overhead line, water main, gas"),
            OTHER,
        ],
    };

    fn key(&self) -> String {
        self.id.clone()
    }

    fn read(row: &Row) -> Option<Self> {
        Some(Self { id: row.id(), kind: row.text("kind"), shape: row.lines(), extra: row.json("other") })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.lines(&self.shape);
        row.text("kind", &self.kind);
        row.json("other", &self.extra);
    }
}
