//! Display grounds.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::{ID, NAME, OTHER, Stored};
use crate::model::Lek;

impl Stored for Lek {
    const TABLE: &'static Table = &Table {
        name: "leks",
        title: "Leks",
        meaning: "Display grounds. Their places are sensitive: blur them before the file leaves the holding.",
        columns: &[
            ID,
            Column::geometry(Shape::Point, "centre of display"),
            NAME,
            Column::amount("radius_m", "metres", "radius of the display ground; missing means the guidance default"),
            Column::integer("target_cocks", 0, u32::MAX as i64, "cocks the plan aims for; missing means the guidance default or the present count"),
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
            at: row.point()?,
            radius_m: row.f64("radius_m"),
            target_cocks: row.whole("target_cocks"),
            extra: row.json("other"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.point(self.at);
        row.text("name", &self.name);
        row.f64("radius_m", self.radius_m);
        row.whole("target_cocks", self.target_cocks);
        row.json("other", &self.extra);
    }
}
