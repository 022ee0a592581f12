//! Fences.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::{ID, NAME, OTHER, Stored};
use crate::model::{Fence, FenceKind, Marking};

impl Stored for Fence {
    const TABLE: &'static Table = &Table {
        name: "fences",
        title: "Fences",
        meaning: "Fences and walls.",
        columns: &[
            ID,
            Column::geometry(Shape::Lines, "line of the fence"),
            NAME,
            Column::word::<FenceKind>("kind", "kind of fence; missing means `stock`"),
            Column::amount("height_m", "metres", "height"),
            Column::word::<Marking>("marking", "what makes it visible to birds; missing means `unknown`"),
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
            kind: row.word("kind").unwrap_or_default(),
            height_m: row.f32("height_m"),
            marking: row.word("marking").unwrap_or(Marking::Unknown),
            extra: row.json("other"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.lines(&self.shape);
        row.text("name", &self.name);
        row.word("kind", Some(self.kind));
        row.f32("height_m", self.height_m);
        row.word("marking", Some(self.marking));
        row.json("other", &self.extra);
    }
}
