//! Surveyed vegetation patches.

use super::super::column::{Column, Shape, Table};
use super::super::row::{Draft, Row};
use super::{ID, NAME, NOTE, OTHER, Stored};
use crate::model::{Patch, Phase};

impl Stored for Patch {
    const TABLE: &'static Table = &Table {
        name: "patches",
        title: "Vegetation patches",
        meaning: "Surveyed vegetation. A missing cover was not surveyed; 0 was surveyed and is not there.",
        columns: &[
            ID,
            Column::geometry(Shape::Areas, "outline"),
            NAME,
            Column::text("phase1", "Phase 1 habitat class (JNCC), such as D1.1"),
            Column::percent("heather_pct", "cover of heather and heaths"),
            Column::percent("blaeberry_pct", "cover of blaeberry"),
            Column::percent("other_berries_pct", "cover of cowberry, crowberry, cranberry"),
            Column::percent("cotton_grass_pct", "cover of cotton-grasses"),
            Column::percent("rush_pct", "cover of rushes"),
            Column::percent("sedge_grass_pct", "cover of sedges and seeding grasses"),
            Column::percent("herbs_pct", "cover of herbs"),
            Column::percent("bracken_pct", "cover of bracken"),
            Column::percent("moss_pct", "cover of bog-moss and other mosses"),
            Column::percent("bare_pct", "cover of bare ground, rock, water"),
            Column::percent("crop_pct", "cover of crop, stubble or roots"),
            Column::amount("height_cm", "centimetres", "mean height of the vegetation"),
            Column::amount("height_sd_cm", "centimetres", "spread (standard deviation) of the height"),
            Column::word::<Phase>("phase", "heather phase"),
            Column::amount("heather_age_yr", "years", "time since the heather was burnt or cut"),
            Column::boolean("flush", "a wet flush; missing means 0"),
            Column::real("wetness", "0 free-draining, 1 standing water", 0.0, 1.0, "wetness as judged"),
            Column::date("surveyed_on", "day of survey"),
            Column::boolean("coarse", "from coarse land cover, not walked; missing means 0"),
            NOTE,
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
            phase1: row.text_maybe("phase1"),
            covers: row.covers(""),
            height_cm: row.f32("height_cm"),
            height_sd_cm: row.f32("height_sd_cm"),
            phase: row.word("phase"),
            heather_age_yr: row.f32("heather_age_yr"),
            flush: row.boolean("flush").unwrap_or_default(),
            wetness: row.f32("wetness"),
            surveyed: row.date("surveyed_on"),
            coarse: row.boolean("coarse").unwrap_or_default(),
            note: row.text("note"),
            extra: row.json("other"),
        })
    }

    fn write(&self, row: &mut Draft) {
        row.text("id", &self.id);
        row.areas(&self.shape);
        row.text("name", &self.name);
        row.text_maybe("phase1", self.phase1.as_deref());
        row.covers("", &self.covers);
        row.f32("height_cm", self.height_cm);
        row.f32("height_sd_cm", self.height_sd_cm);
        row.word("phase", self.phase);
        row.f32("heather_age_yr", self.heather_age_yr);
        row.boolean("flush", Some(self.flush));
        row.f32("wetness", self.wetness);
        row.date("surveyed_on", self.surveyed);
        row.boolean("coarse", Some(self.coarse));
        row.text("note", &self.note);
        row.json("other", &self.extra);
    }
}
