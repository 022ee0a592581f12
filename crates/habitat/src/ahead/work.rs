//! What is done to ground, as the stand state sees it. Measures are turned into these; this room knows no measures.

use geo_types::MultiPolygon;
use holding::{Stock, Stubble, Tree};

/// A piece of work on a piece of ground.
#[derive(Clone, Debug, PartialEq)]
pub struct Work {
    /// Identity, unique within a programme: the measure's id, with a suffix where a measure has several.
    pub id: String,
    /// First year of effect, counted from the plan's day: 1 is the first spring after it. 0 is done already.
    pub year: u32,
    /// Repeated every so many years; `None`: once.
    pub every: Option<u32>,
    /// Ground worked.
    pub area: MultiPolygon<f64>,
    /// What is done.
    pub doing: Doing,
}

/// What is done to the ground of a work.
#[derive(Clone, Debug, PartialEq)]
pub enum Doing {
    /// Trees are planted: a new wood begins.
    Plant {
        /// Stems a hectare of the whole outline, by species.
        stems: Vec<(Tree, f32)>,
        /// Share of the outline left open, 0 to 1.
        open: f32,
        /// Years stock is kept out by fence or tubes.
        stock_out_yr: u32,
    },
    /// Heather is cut down to a height, centimetres; the roots stay.
    CutHeather {
        /// Height left, centimetres.
        height_cm: f32,
    },
    /// Heather is burnt.
    BurnHeather,
    /// Trees of an existing wood are thinned.
    Thin {
        /// Share of stems kept, 0 to 1.
        keep: f32,
    },
    /// Trees are felled and the ground is left open.
    Fell,
    /// Trees are felled and the ground restocked.
    Restock {
        /// Stems a hectare, by species.
        stems: Vec<(Tree, f32)>,
        /// Share left open, 0 to 1.
        open: f32,
    },
    /// The water table rises after a ditch near by is blocked.
    Wet,
    /// Shallow pools are dug: open water edge and wet ground.
    Scrape,
    /// Grass or meadow is cut to a height late in summer.
    Mow {
        /// Height left, centimetres.
        height_cm: f32,
    },
    /// Rush is cut; the cut share of the ground regrows.
    CutRush {
        /// Share of the rush cut at each visit, 0 to 1.
        share: f32,
    },
    /// A crop is grown and left over winter.
    Crop {
        /// What is left.
        left: Stubble,
    },
    /// Vegetation is kept down all through.
    KeepShort {
        /// Height kept, centimetres.
        height_cm: f32,
    },
    /// Trees and scrub are cleared from open ground.
    ClearTrees,
    /// People and vehicles are kept away in the display season.
    Quiet,
}

/// Head in one parcel and class from a year on, in place of what was there of that class.
#[derive(Clone, Debug, PartialEq)]
pub struct StockFrom {
    /// First year, counted from the plan's day.
    pub year: u32,
    /// Parcel, class and head by month.
    pub stock: Stock,
}

/// Everything an option does to the ground.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Programme {
    /// Works, in the order of the option's measures.
    pub works: Vec<Work>,
    /// Changes of stock. Once a parcel has any from a year, its stock of every class is what stands here for that year.
    pub stock: Vec<StockFrom>,
}

impl Work {
    /// Whether it is done in this year.
    pub fn falls_in(&self, year: u32) -> bool {
        year >= self.year && (year == self.year || self.every.is_some_and(|e| e > 0 && (year - self.year).is_multiple_of(e)))
    }
}
