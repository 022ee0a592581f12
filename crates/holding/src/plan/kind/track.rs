//! Tracks, paths and roads.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::{ID, NAME, OTHER, Stored};
use crate::model::{Track, TrackKind};

impl Stored for Track {
    const TABLE: &'static Table = &Table {
        name: "tracks",
        title: "Tracks",
        meaning: "Tracks, paths and roads.",
        columns: &[
            ID,
            Column::geometry(Shape::Lines, "line of the way"),
            NAME,
            Column::word::<TrackKind>("kind", "kind of way; missing means `track`"),
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
            shape: row.lines(),
            extra: row.json("other"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.lines(&self.shape);
        row.text("name", &self.name);
        row.word("kind", Some(self.kind));
        row.json("other", &self.extra);
    }
}
