//! The seven seasons of the bird's year, one file each.

use serde::Serialize;

/// A season of the bird's year.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Season {
    /// March to May, at and round the lek.
    Display,
    /// February or March to April, hens feeding up.
    PreLaying,
    /// Late April to June.
    Nest,
    /// June to August.
    Brood,
    /// September to November.
    Autumn,
    /// December to February, ground open.
    Winter,
    /// Any winter day with lying snow.
    Snowbound,
}

impl Season {
    /// The seven, in calendar order.
    pub const ALL: [Season; 7] = [
        Season::Display,
        Season::PreLaying,
        Season::Nest,
        Season::Brood,
        Season::Autumn,
        Season::Winter,
        Season::Snowbound,
    ];

    /// The key used in guidance and JSON.
    pub fn key(self) -> &'static str {
        match self {
            Season::Display => "display",
            Season::PreLaying => "pre_laying",
            Season::Nest => "nest",
            Season::Brood => "brood",
            Season::Autumn => "autumn",
            Season::Winter => "winter",
            Season::Snowbound => "snowbound",
        }
    }

    /// The name shown to people.
    pub fn name(self) -> &'static str {
        match self {
            Season::Display => "display",
            Season::PreLaying => "pre-laying",
            Season::Nest => "nest",
            Season::Brood => "brood",
            Season::Autumn => "autumn",
            Season::Winter => "winter",
            Season::Snowbound => "snowbound",
        }
    }

    /// The months it spans, in words.
    pub fn months(self) -> &'static str {
        match self {
            Season::Display => "Mar-May",
            Season::PreLaying => "Mar-Apr",
            Season::Nest => "Apr-Jun",
            Season::Brood => "Jun-Aug",
            Season::Autumn => "Sep-Nov",
            Season::Winter => "Dec-Feb",
            Season::Snowbound => "lying snow",
        }
    }

    /// What birds seek then, in one sentence; each season's own file says on whose word.
    pub fn wants(self) -> &'static str {
        match self {
            Season::Display => "Cocks feed and loaf round the lek, in a sward a bird can walk and see in.",
            Season::PreLaying => "Hens feed up, on the flowers of cotton-grass above all.",
            Season::Nest => "A hen sits hidden under tall heather or rush.",
            Season::Brood => "Chicks live on insects at first, in a wet, mixed sward they can walk through.",
            Season::Autumn => "Berries, seed heads, stubble and heather feed young and old.",
            Season::Winter => "Heather feeds the birds before all else while the ground is open.",
            Season::Snowbound => "Birds feed in trees, on buds, catkins and berries that stand above the snow, within reach of cover.",
        }
    }
}

mod autumn;
mod brood;
mod display;
mod nest;
mod offer;
mod pre_laying;
mod snowbound;
mod winter;

pub use brood::mixed;
pub use offer::Offer;

use crate::drawn::Drawn;
use crate::figures::Figures;

/// What a stand offers a season in one draw.
pub fn offer(season: Season, stand: &Drawn, figures: &Figures) -> Offer {
    match season {
        Season::Display => display::offer(stand, figures),
        Season::PreLaying => pre_laying::offer(stand, figures),
        Season::Nest => nest::offer(stand, figures),
        Season::Brood => brood::offer(stand, figures),
        Season::Autumn => autumn::offer(stand, figures),
        Season::Winter => winter::offer(stand, figures),
        Season::Snowbound => snowbound::offer(stand, figures),
    }
}
