//! Woods and plantations; their trees are rows of `wood_stems`.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::super::fault::PlanError;
use super::super::step::Step;
use super::{ID, NAME, OTHER, StemRow, Stored};
use crate::model::Wood;

impl Stored for Wood {
    const TABLE: &'static Table = &Table {
        name: "woods",
        title: "Woods",
        meaning: "Woods and plantations. Their trees are in `wood_stems`.",
        columns: &[
            ID,
            Column::geometry(Shape::Areas, "outline"),
            NAME,
            Column::integer("planted_year", i32::MIN as i64, i32::MAX as i64, "year planted or established"),
            Column::percent("canopy_pct", "canopy cover as judged; missing means it is computed from the trees"),
            Column::percent("open_pct", "share of the outline that is glades and rides"),
            Column::text("ground_phase1", "Phase 1 habitat class of the ground beneath"),
            Column::percent("ground_heather_pct", "ground cover of heather and heaths"),
            Column::percent("ground_blaeberry_pct", "ground cover of blaeberry"),
            Column::percent("ground_other_berries_pct", "ground cover of cowberry, crowberry, cranberry"),
            Column::percent("ground_cotton_grass_pct", "ground cover of cotton-grasses"),
            Column::percent("ground_rush_pct", "ground cover of rushes"),
            Column::percent("ground_sedge_grass_pct", "ground cover of sedges and seeding grasses"),
            Column::percent("ground_herbs_pct", "ground cover of herbs"),
            Column::percent("ground_bracken_pct", "ground cover of bracken"),
            Column::percent("ground_moss_pct", "ground cover of bog-moss and other mosses"),
            Column::percent("ground_bare_pct", "ground cover of bare ground, rock, water"),
            Column::percent("ground_crop_pct", "ground cover of crop, stubble or roots"),
            Column::boolean("feathered_edge", "edge shaped in steps and gaps, not a wall of trees"),
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
            shape: row.areas(),
            planted: row.whole("planted_year"),
            stems: Vec::new(),
            canopy_pct: row.f32("canopy_pct"),
            open_pct: row.f32("open_pct"),
            ground_phase1: row.text_maybe("ground_phase1"),
            ground_covers: row.covers("ground_"),
            feathered_edge: row.boolean("feathered_edge"),
            extra: row.json("other"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.areas(&self.shape);
        row.text("name", &self.name);
        row.whole("planted_year", self.planted);
        row.f32("canopy_pct", self.canopy_pct);
        row.f32("open_pct", self.open_pct);
        row.text_maybe("ground_phase1", self.ground_phase1.as_deref());
        row.covers("ground_", &self.ground_covers);
        row.boolean("feathered_edge", self.feathered_edge);
        row.json("other", &self.extra);
    }

    fn replace_parts(all: &[Self], step: &mut Step) -> Result<(), PlanError> {
        step.write_difference(&StemRow::of(all))
    }

    fn put_parts(&self, step: &mut Step) -> Result<(), PlanError> {
        step.replace_stems(&self.id, &self.stems)
    }

    fn remove_parts(id: &str, step: &mut Step) -> Result<(), PlanError> {
        step.replace_stems(id, &[])
    }
}
