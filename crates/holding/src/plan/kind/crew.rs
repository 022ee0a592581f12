//! Crews that can be had for works.

use super::super::column::{Column, Table};
use super::super::row::{Draft, Row};
use super::{ID, NAME, Stored};
use crate::model::HiredCrew;

impl Stored for HiredCrew {
    const TABLE: &'static Table = &Table {
        name: "crews",
        title: "Crews",
        meaning: "Who can be had for the works; where the table is empty a usual team, a machine, an adviser and the farm are assumed.",
        columns: &[
            ID,
            NAME.required(),
            Column::text("kinds", "kinds of work, with spaces between, such as `planting fencing`").required(),
            Column::integer("people", 1, 1000, "people; of a machine, how many there are").required(),
            Column::text("season_from", "first day of the year it can be had, `MM-DD`; missing means all year"),
            Column::text("season_to", "last day of the year it can be had, `MM-DD`; the season may run over the new year"),
            Column::text("off", "days away, `YYYY-MM-DD` or `FROM..TO`, several with semicolons"),
            Column::text("phone", "telephone number"),
        ],
    };

    fn key(&self) -> String {
        self.id.clone()
    }

    fn read(row: &Row) -> Option<Self> {
        Some(Self {
            id: row.id(),
            name: row.text("name"),
            kinds: row.text("kinds"),
            people: row.whole("people")?,
            season_from: row.text("season_from"),
            season_to: row.text("season_to"),
            off: row.text("off"),
            phone: row.text("phone"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.text("name", &self.name);
        row.text("kinds", &self.kinds);
        row.whole("people", Some(self.people));
        row.text("season_from", &self.season_from);
        row.text("season_to", &self.season_to);
        row.text("off", &self.off);
        row.text("phone", &self.phone);
    }
}
