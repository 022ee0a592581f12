//! Dawn visits to leks.

use super::super::column::{Column, Table};
use super::super::row::{Draft, Row};
use super::{ID, NOTE, OTHER, Stored};
use crate::model::{KnownTo, Rain, Visit};

impl Stored for Visit {
    const TABLE: &'static Table = &Table {
        name: "visits",
        title: "Lek visits",
        meaning: "One row a dawn visit to a lek.",
        columns: &[
            ID,
            Column::text("lek_id", "`id` of the lek").required(),
            Column::date("visited_on", "day of the visit").required(),
            Column::time("start_local", "start, by the local clock"),
            Column::integer("cocks", 0, u32::MAX as i64, "cocks seen; missing means visited but not counted"),
            Column::integer("hens", 0, u32::MAX as i64, "hens seen"),
            Column::text("weather", "weather in a few words"),
            NOTE,
            Column::word::<KnownTo>("known_to", "how far the day is known; missing means to the day, else `visited_on` is the first day of the month or year"),
            Column::text("observer", "who counted"),
            Column::integer("wind_beaufort", 0, 12, "wind, Beaufort force"),
            Column::word::<Rain>("rain", "rain during the visit"),
            OTHER,
        ],
    };

    fn key(&self) -> String {
        self.id.clone()
    }

    fn read(row: &Row) -> Option<Self> {
        Some(Self {
            id: row.id(),
            lek: row.text("lek_id"),
            date: row.date("visited_on")?,
            start: row.time("start_local"),
            cocks: row.whole("cocks"),
            hens: row.whole("hens"),
            weather: row.text("weather"),
            note: row.text("note"),
            known_to: row.word("known_to").unwrap_or_default(),
            observer: row.text("observer"),
            wind_beaufort: row.whole("wind_beaufort"),
            rain: row.word("rain"),
            extra: row.json("other"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.text("lek_id", &self.lek);
        row.date("visited_on", Some(self.date));
        row.time("start_local", self.start);
        row.whole("cocks", self.cocks);
        row.whole("hens", self.hens);
        row.text("weather", &self.weather);
        row.text("note", &self.note);
        row.word("known_to", Some(self.known_to).filter(|k| *k != KnownTo::Day));
        row.text("observer", &self.observer);
        row.whole("wind_beaufort", self.wind_beaufort);
        row.word("rain", self.rain);
        row.json("other", &self.extra);
    }
}
