//! Measures: pieces of work, each belonging to one option.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::{ID, Stored};
use crate::model::Measure;

impl Stored for Measure {
    const TABLE: &'static Table = &Table {
        name: "measures",
        title: "Measures",
        meaning: "Pieces of work, each belonging to one option. The geometry is areas, lines or a collection of both; missing where the work has no place.",
        columns: &[
            ID,
            Column::geometry(Shape::Either, "ground or line worked"),
            Column::integer("option_number", 0, u32::MAX as i64, "`number` of the option").required(),
            Column::text("kind", "kind of work"),
            Column::integer("first_year", i32::MIN as i64, i32::MAX as i64, "first year of work"),
            Column::json("facts", "what the kind of work needs to know, units in the names"),
        ],
    };

    fn key(&self) -> String {
        self.id.clone()
    }

    fn read(row: &Row) -> Option<Self> {
        let (shape, line) = row.parts();
        Some(Self {
            id: row.id(),
            option: row.whole("option_number")?,
            kind: row.text("kind"),
            year: row.whole("first_year"),
            shape,
            line,
            facts: row.json("facts"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.either(&self.shape, &self.line);
        row.whole("option_number", Some(self.option));
        row.text("kind", &self.kind);
        row.whole("first_year", self.year);
        row.json("facts", &self.facts);
    }
}
