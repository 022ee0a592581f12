//! Buildings.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::{ID, NAME, OTHER, Stored};
use crate::model::Building;

impl Stored for Building {
    const TABLE: &'static Table = &Table {
        name: "buildings",
        title: "Buildings",
        meaning: "Buildings.",
        columns: &[
            ID,
            Column::geometry(Shape::Areas, "outline"),
            NAME,
            Column::boolean("dwelling", "lived in; missing means 0"),
            OTHER,
        ],
    };

    fn key(&self) -> String {
        self.id.clone()
    }

    fn read(row: &Row) -> Option<Self> {
        Some(Self {
            id: row.id(),
            name: row.text("name"),
            shape: row.areas(),
            dwelling: row.boolean("dwelling").unwrap_or_default(),
            extra: row.json("other"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.areas(&self.shape);
        row.text("name", &self.name);
        row.boolean("dwelling", Some(self.dwelling));
        row.json("other", &self.extra);
    }
}
