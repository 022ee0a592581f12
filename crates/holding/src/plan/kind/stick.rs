//! Sward heights taken with a stick.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::{ID, NOTE, Stored};
use crate::model::Stick;

impl Stored for Stick {
    const TABLE: &'static Table = &Table {
        name: "stick_heights",
        title: "Stick heights",
        meaning: "Sward heights taken with a stick, one row a reading.",
        columns: &[
            ID,
            Column::geometry(Shape::Point, "place of the reading"),
            Column::amount("height_cm", "centimetres", "height of the sward").required(),
            Column::date("measured_on", "day of the reading"),
            NOTE,
        ],
    };

    fn key(&self) -> String {
        self.id.clone()
    }

    fn read(row: &Row) -> Option<Self> {
        Some(Self {
            id: row.id(),
            at: row.point()?,
            height_cm: row.f32("height_cm")?,
            date: row.date("measured_on"),
            note: row.text("note"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.point(self.at);
        row.f32("height_cm", Some(self.height_cm));
        row.date("measured_on", self.date);
        row.text("note", &self.note);
    }
}
