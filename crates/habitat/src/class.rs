//! Kinds of ground the composition table and the rules speak of.

use crate::state::Trees;
use holding::Plant;
use serde::Serialize;

/// A kind of ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Class {
    /// Heath, bog and mire: dwarf shrub or bog plants lead.
    Moor,
    /// Acid and rough grassland, rush pasture.
    RoughGrass,
    /// Improved or semi-improved grass, meadow.
    InByeGrass,
    /// Arable, stubble, roots.
    Arable,
    /// Bracken.
    Bracken,
    /// Planted conifer before the thicket stage.
    YoungConifer,
    /// Closed plantation conifer.
    ClosedConifer,
    /// Native wood and scrub.
    NativeWood,
    /// Rock, water, buildings, anything else.
    Other,
}

impl Class {
    /// The class of a patch from its Phase 1 code, or from its covers (fractions) where no code is recorded: then crop and
    /// bracken lead from the covers given.
    pub fn of_patch(code: Option<&str>, covers: &[f32; 11], crop_from: f32, bracken_from: f32) -> Class {
        let c = |p: Plant| covers[p as usize];
        let shrubs = c(Plant::Heather) + c(Plant::Blaeberry) + c(Plant::OtherBerries);
        let grassy = c(Plant::SedgeGrass) + c(Plant::Rush) + c(Plant::Herbs);
        let by_code = code.and_then(|code| {
            Some(match code {
                _ if code.starts_with('D') || code.starts_with("E1") || code.starts_with("E2") || code.starts_with("E3") => Class::Moor,
                _ if code.starts_with("B1") || code.starts_with("B2.1") || code.starts_with("B5") || code.starts_with("B3.1") => Class::RoughGrass,
                _ if code.starts_with('B') => Class::InByeGrass,
                _ if code.starts_with("C1") => Class::Bracken,
                _ if code.starts_with("J1.1") || code.starts_with("J1.3") => Class::Arable,
                _ if code.starts_with("A1.2") => Class::ClosedConifer,
                _ if code.starts_with('A') => Class::NativeWood,
                _ if code.is_empty() => return None,
                _ => Class::Other,
            })
        });
        by_code.unwrap_or(if c(Plant::Crop) >= crop_from {
            Class::Arable
        } else if c(Plant::Bracken) >= bracken_from {
            Class::Bracken
        } else if shrubs + c(Plant::CottonGrass) + c(Plant::Moss) >= grassy && shrubs + c(Plant::CottonGrass) > 0.0 {
            Class::Moor
        } else if grassy > 0.0 {
            Class::RoughGrass
        } else {
            Class::Other
        })
    }

    /// The class of a wood from its trees, canopy (fraction) and age (years).
    pub fn of_wood(trees: &[Trees], canopy: f32, age_yr: f32, closes_yr: f32, closed_canopy: f32) -> Class {
        let stems: f32 = trees.iter().map(|t| t.stems_per_ha).sum();
        let planted: f32 = trees.iter().filter(|t| t.tree.is_plantation_conifer()).map(|t| t.stems_per_ha).sum();
        if stems > 0.0 && planted >= 0.5 * stems {
            if age_yr < closes_yr && canopy < closed_canopy { Class::YoungConifer } else { Class::ClosedConifer }
        } else {
            Class::NativeWood
        }
    }
}
