//! Entries from the field.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::Stored;
use crate::field::{FieldEntry, FieldKind, FieldState};

impl Stored for FieldEntry {
    const TABLE: &'static Table = &Table {
        name: "field_entries",
        title: "Entries from the field",
        meaning: "What was sent in from the field page, as it came, each once. Photographs are in `field_photos`.",
        columns: &[
            Column::text("id", "identity, made on the device that sent it (a UUID)").required(),
            Column::geometry(Shape::Point, "where, where it was known").optional(),
            Column::word::<FieldKind>("kind", "what it is").required(),
            Column::text("device", "the device that sent it, by the name it was given when it was paired"),
            Column::text("made_at", "when it was made by the device's clock, universal time"),
            Column::text("received_at", "when it came in, universal time"),
            Column::word::<FieldState>("state", "how it stands: waits for a person, became part of the plan, is kept as it came, was put aside").required(),
            Column::text("why", "why a person has to look at it"),
            Column::text("became", "`id` of the visit, stick height or peat probe it became"),
            Column::json("said", "what it says, as it came, units in the names"),
        ],
    };

    fn key(&self) -> String {
        self.id.clone()
    }

    fn read(row: &Row) -> Option<Self> {
        Some(Self {
            id: row.id(),
            kind: row.word("kind")?,
            at: row.point(),
            device: row.text("device"),
            made_at: row.text("made_at"),
            received_at: row.text("received_at"),
            state: row.word("state")?,
            why: row.text("why"),
            became: row.text("became"),
            said: row.json("said"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        if let Some(at) = self.at {
            row.point(at);
        }
        row.word("kind", Some(self.kind));
        row.text("device", &self.device);
        row.text("made_at", &self.made_at);
        row.text("received_at", &self.received_at);
        row.word("state", Some(self.state));
        row.text("why", &self.why);
        row.text("became", &self.became);
        row.json("said", &self.said);
    }
}
