//! Peat depths taken with a probe.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::{ID, Stored};
use crate::model::Probe;

impl Stored for Probe {
    const TABLE: &'static Table = &Table {
        name: "peat_probes",
        title: "Peat probes",
        meaning: "Peat depths taken with a probe, one row a reading.",
        columns: &[
            ID,
            Column::geometry(Shape::Point, "place of the reading"),
            Column::amount("depth_cm", "centimetres", "depth of peat").required(),
            Column::date("measured_on", "day of the reading"),
        ],
    };

    fn key(&self) -> String {
        self.id.clone()
    }

    fn read(row: &Row) -> Option<Self> {
        Some(Self { id: row.id(), at: row.point()?, depth_cm: row.f32("depth_cm")?, date: row.date("measured_on") })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.point(self.at);
        row.f32("depth_cm", Some(self.depth_cm));
        row.date("measured_on", self.date);
    }
}
