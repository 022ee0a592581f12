//! The trees of the woods: one row a species of a wood.

use super::super::column::{Column, Table};
use super::super::row::{Draft, Row};
use super::Stored;
use crate::model::{Stems, Tree, Wood};
use std::collections::HashMap;

/// One species of one wood, known by its place in the wood's list.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct StemRow {
    pub wood: String,
    /// Place in the wood's list, from 1.
    pub place: usize,
    pub stems: Stems,
}

impl StemRow {
    /// The rows of all woods, wood by wood.
    pub(crate) fn of(woods: &[Wood]) -> Vec<Self> {
        let rows = |wood: &Wood| -> Vec<Self> {
            let numbered = wood.stems.iter().enumerate();
            numbered.map(|(at, stems)| Self { wood: wood.id.clone(), place: at + 1, stems: *stems }).collect()
        };
        woods.iter().flat_map(rows).collect()
    }
}

impl Stored for StemRow {
    const TABLE: &'static Table = &Table {
        name: "wood_stems",
        title: "Trees of the woods",
        meaning: "One row a species of a wood, in the wood's own order.",
        columns: &[
            Column::text("wood_id", "`id` of the wood").required(),
            Column::word::<Tree>("tree", "species").required(),
            Column::amount("stems_per_ha", "stems per hectare", "density").required(),
            Column::amount("height_m", "metres", "mean height; missing means it is taken from the age"),
            Column::amount("age_yr", "years", "time since planting or establishment; missing means the wood's"),
        ],
    };

    fn key(&self) -> String {
        format!("{}/{}", self.wood, self.place)
    }

    fn read(row: &Row) -> Option<Self> {
        let stems = Stems {
            tree: row.word("tree")?,
            stems_per_ha: row.f32("stems_per_ha")?,
            height_m: row.f32("height_m"),
            age_yr: row.f32("age_yr"),
        };
        Some(Self { wood: row.text("wood_id"), place: 0, stems })
    }

    fn write(&self, row: &mut Draft) {
        row.text("wood_id", &self.wood);
        row.word("tree", Some(self.stems.tree));
        row.f32("stems_per_ha", Some(self.stems.stems_per_ha));
        row.f32("height_m", self.stems.height_m);
        row.f32("age_yr", self.stems.age_yr);
    }

    fn number(rows: &mut [Self]) {
        let mut seen: HashMap<String, usize> = HashMap::new();
        for row in rows {
            let place = seen.entry(row.wood.clone()).or_default();
            *place += 1;
            row.place = *place;
        }
    }
}
