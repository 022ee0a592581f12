//! Fields and hill units.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::{ID, NAME, OTHER, Stored};
use crate::model::{Parcel, ParcelKind, Stubble};

impl Stored for Parcel {
    const TABLE: &'static Table = &Table {
        name: "parcels",
        title: "Parcels",
        meaning: "Fields and hill units that are stocked and let as one.",
        columns: &[
            ID,
            Column::geometry(Shape::Areas, "outline"),
            NAME,
            Column::word::<ParcelKind>("kind", "kind of land; missing means `hill`"),
            Column::word::<Stubble>("stubble", "what happens to a stubble or root crop over winter"),
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
            kind: row.word("kind").unwrap_or_default(),
            shape: row.areas(),
            stubble: row.word("stubble"),
            extra: row.json("other"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.areas(&self.shape);
        row.text("name", &self.name);
        row.word("kind", Some(self.kind));
        row.word("stubble", self.stubble);
        row.json("other", &self.extra);
    }
}
