//! Brood counts.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::{ID, NOTE, OTHER, Stored};
use crate::model::BroodCount;

impl Stored for BroodCount {
    const TABLE: &'static Table = &Table {
        name: "broods",
        title: "Brood counts",
        meaning: "One row a brood count: hens and young found on some ground in late summer.",
        columns: &[
            ID,
            Column::geometry(Shape::Point, "place of the count, where it was noted").optional(),
            Column::date("counted_on", "day of the count").required(),
            Column::text("lek_id", "`id` of the lek the count belongs to"),
            Column::integer("hens", 0, u32::MAX as i64, "hens seen, with and without broods"),
            Column::integer("hens_with_brood", 0, u32::MAX as i64, "hens seen with a brood"),
            Column::integer("young", 0, u32::MAX as i64, "young seen"),
            Column::boolean("dogs", "whether dogs found the birds"),
            Column::text("observer", "who counted"),
            NOTE,
            OTHER,
        ],
    };

    fn key(&self) -> String {
        self.id.clone()
    }

    fn read(row: &Row) -> Option<Self> {
        Some(Self {
            id: row.id(),
            date: row.date("counted_on")?,
            at: row.point(),
            lek: row.text("lek_id"),
            hens: row.whole("hens"),
            hens_with_brood: row.whole("hens_with_brood"),
            young: row.whole("young"),
            dogs: row.boolean("dogs"),
            observer: row.text("observer"),
            note: row.text("note"),
            extra: row.json("other"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        if let Some(at) = self.at {
            row.point(at);
        }
        row.date("counted_on", Some(self.date));
        row.text("lek_id", &self.lek);
        row.whole("hens", self.hens);
        row.whole("hens_with_brood", self.hens_with_brood);
        row.whole("young", self.young);
        row.boolean("dogs", self.dogs);
        row.text("observer", &self.observer);
        row.text("note", &self.note);
        row.json("other", &self.extra);
    }
}
