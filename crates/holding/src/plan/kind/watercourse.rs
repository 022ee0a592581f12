//! Watercourses.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::{ID, NAME, OTHER, Stored};
use crate::model::Watercourse;

impl Stored for Watercourse {
    const TABLE: &'static Table = &Table {
        name: "watercourses",
        title: "Watercourses",
        meaning: "Burns, becks and rivers, and the shores of lochs, as lines.",
        columns: &[
            ID,
            Column::geometry(Shape::Lines, "line of the water"),
            NAME,
            Column::amount("width_m", "metres", "width of the channel"),
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
            shape: row.lines(),
            width_m: row.f32("width_m"),
            extra: row.json("other"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.lines(&self.shape);
        row.text("name", &self.name);
        row.f32("width_m", self.width_m);
        row.json("other", &self.extra);
    }
}
