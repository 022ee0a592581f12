//! Protected and no-go areas.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::{ID, NAME, OTHER, Stored};
use crate::model::{Area, AreaKind};

impl Stored for Area {
    const TABLE: &'static Table = &Table {
        name: "areas",
        title: "Protected and no-go areas",
        meaning: "Areas where work needs consent, or is not wanted. Not proof that no other consent is needed.",
        columns: &[
            ID,
            Column::geometry(Shape::Areas, "outline"),
            NAME,
            Column::word::<AreaKind>("kind", "kind of area; missing means `no_go`"),
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
            extra: row.json("other"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.areas(&self.shape);
        row.text("name", &self.name);
        row.word("kind", Some(self.kind));
        row.json("other", &self.extra);
    }
}
