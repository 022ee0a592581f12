//! Options: named sets of measures.

use super::super::column::{Column, Table};
use super::super::row::{Draft, Row};
use super::{NAME, NOTE, Stored};
use crate::model::PlanOption;

impl Stored for PlanOption {
    const TABLE: &'static Table = &Table {
        name: "options",
        title: "Options",
        meaning: "Options weighed: named sets of measures.",
        columns: &[
            Column::integer("number", 0, u32::MAX as i64, "number of the option, from 1").required(),
            NAME,
            NOTE,
        ],
    };

    fn key(&self) -> String {
        self.number.to_string()
    }

    fn read(row: &Row) -> Option<Self> {
        Some(Self { number: row.whole("number")?, name: row.text("name"), note: row.text("note") })
    }

    fn write(&self, row: &mut Draft) {
        row.whole("number", Some(self.number));
        row.text("name", &self.name);
        row.text("note", &self.note);
    }
}
