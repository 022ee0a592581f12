//! Ditches and grips.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::{ID, OTHER, Stored};
use crate::model::Ditch;

impl Stored for Ditch {
    const TABLE: &'static Table = &Table {
        name: "ditches",
        title: "Ditches",
        meaning: "Ditches and grips, drawn downstream where the fall is known.",
        columns: &[
            ID,
            Column::geometry(Shape::Lines, "line of the ditch"),
            Column::amount("width_cm", "centimetres", "width at the top"),
            Column::amount("depth_cm", "centimetres", "depth"),
            Column::boolean("blocked", "blocked already; missing means 0"),
            Column::boolean("keep", "must keep running (track, house, neighbour); missing means 0"),
            OTHER,
        ],
    };

    fn key(&self) -> String {
        self.id.clone()
    }

    fn read(row: &Row) -> Option<Self> {
        Some(Self {
            id: row.id(),
            shape: row.lines(),
            width_cm: row.f32("width_cm"),
            depth_cm: row.f32("depth_cm"),
            blocked: row.boolean("blocked").unwrap_or_default(),
            keep: row.boolean("keep").unwrap_or_default(),
            extra: row.json("other"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.lines(&self.shape);
        row.f32("width_cm", self.width_cm);
        row.f32("depth_cm", self.depth_cm);
        row.boolean("blocked", Some(self.blocked));
        row.boolean("keep", Some(self.keep));
        row.json("other", &self.extra);
    }
}
