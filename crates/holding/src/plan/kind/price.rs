//! The user's own prices and payments.

use super::super::column::{Column, Table};
use super::super::row::{Draft, Row};
use super::{ID, NOTE, Stored};
use crate::model::OwnPrice;

impl Stored for OwnPrice {
    const TABLE: &'static Table = &Table {
        name: "rates",
        title: "Own rates",
        meaning: "Prices and payments of the user's own, which win over the program's tables.",
        columns: &[
            ID,
            Column::text("item", "what it is for: a key of the tables, or the words of a cost").required(),
            Column::amount("gbp", "pounds", "for one unit").required(),
            Column::text("unit", "unit, such as `gbp_per_m` or `£/m`").required(),
            NOTE,
        ],
    };

    fn key(&self) -> String {
        self.id.clone()
    }

    fn read(row: &Row) -> Option<Self> {
        Some(Self { id: row.id(), item: row.text("item"), gbp: row.f64("gbp")?, unit: row.text("unit"), note: row.text("note") })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.text("item", &self.item);
        row.f64("gbp", Some(self.gbp));
        row.text("unit", &self.unit);
        row.text("note", &self.note);
    }
}
