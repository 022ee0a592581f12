//! What an assessment says: the shapes others read, print and draw.

use crate::season::Season;
use ground::Grid;
use serde::Serialize;

/// The bird's-year ledger of one plan.
#[derive(Clone, Debug, Serialize)]
pub struct Assessment {
    /// Name and version of this shape.
    pub schema: &'static str,
    /// Name of the plan.
    pub plan: String,
    /// Cell of the grids, metres.
    pub cell_m: f64,
    /// Number of draws.
    pub draws: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// Edition of the guidance tables.
    pub guidance_edition: String,
    /// One ledger a lek.
    pub leks: Vec<LekLedger>,
    /// Guidance keys the answer rests on, sorted.
    pub evidence: Vec<String>,
    /// What had to be assumed about the survey, in words.
    pub notes: Vec<String>,
}

/// The ledger of one lek.
#[derive(Clone, Debug, Serialize)]
pub struct LekLedger {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Cocks counted in the latest counted year; `None` where never counted.
    pub cocks: Option<u32>,
    /// The year of that count.
    pub counted: Option<i32>,
    /// Cocks the needs are computed for.
    pub target_cocks: u32,
    /// The seven seasons in calendar order.
    pub seasons: Vec<SeasonLedger>,
    /// The season with the least median margin.
    pub pinch: Season,
    /// Draws in which that season was the least of the seven.
    pub pinch_draws: usize,
    /// One sentence on the pinch.
    pub words: String,
    /// Shares round the lek beside published values.
    pub composition: Vec<CompositionRow>,
    /// The display ground itself.
    pub ground: LekGround,
    /// Share of the ground within the widest reach that nobody has mapped, kernel-weighted, 0 to 1.
    pub unmapped_share: f64,
}

/// One season of a lek's ledger.
#[derive(Clone, Debug, Serialize)]
pub struct SeasonLedger {
    /// Which.
    pub season: Season,
    /// What the ground within reach gives, usable hectares.
    pub supply_ha: Quantiles,
    /// What the birds need, usable hectares.
    pub need_ha: Quantiles,
    /// Supply over need.
    pub margin: Quantiles,
    /// Need less supply, draw by draw, hectares; nought in a draw that finds enough.
    pub missing_ha: Quantiles,
    /// Share of draws with margin below one.
    pub short_fraction: f64,
    /// Number of draws with margin below one.
    pub short_draws: usize,
    /// Median of need less supply over the draws that are short, hectares; zero when none is.
    pub shortfall_ha: f64,
    /// What costs the season most, largest first.
    pub losses: Vec<Loss>,
    /// The season in one sentence.
    pub words: String,
}

/// Spread of a drawn figure.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Quantiles {
    /// Tenth percentile.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// Ninetieth percentile.
    pub p90: f64,
}

/// What a season would gain were one thing right everywhere within reach.
#[derive(Clone, Debug, Serialize)]
pub struct Loss {
    /// What is wrong.
    pub cause: Cause,
    /// Usable hectares it costs, at the middle of every figure.
    pub ha: f64,
    /// The stands that carry most of it: id, name, hectares.
    pub stands: Vec<StandPart>,
}

/// A stand's part in a figure.
#[derive(Clone, Debug, Serialize)]
pub struct StandPart {
    /// Identity of the patch or wood; empty for unmapped ground.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Usable hectares.
    pub ha: f64,
}

/// Causes of lost value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// Too little of the season's food plants.
    Food,
    /// Vegetation too short.
    TooShort,
    /// Vegetation too tall.
    TooTall,
    /// Vegetation of one height, without short and tall side by side.
    Uniform,
    /// Canopy closed or stand too old.
    ClosedWood,
    /// Far from the other thing the season needs.
    Far,
    /// People or vehicles near.
    Disturbed,
    /// Too high, low or steep.
    Site,
    /// Nobody has mapped it.
    Unmapped,
}

/// One line of the composition table.
#[derive(Clone, Debug, Serialize)]
pub struct CompositionRow {
    /// What is measured.
    pub what: String,
    /// Stable key of the line.
    pub key: &'static str,
    /// Radius of the disc, metres; zero for distances and patch sizes.
    pub radius_m: f64,
    /// Value here, in `unit`.
    pub value: Option<f64>,
    /// Unit: percent, years, ha, m, km.
    pub unit: &'static str,
    /// Published value at occupied, retained or growing leks, in words of the source (`45-60`).
    pub occupied: Option<String>,
    /// Published value at lost or declining leks.
    pub lost: Option<String>,
    /// Where the value here stands against the two.
    pub standing: Standing,
    /// Guidance keys behind the published values.
    pub source: Vec<String>,
}

/// Where a value stands against published ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// Like occupied or growing leks.
    LikeOccupied,
    /// Between the two groups.
    Between,
    /// Below the range of occupied leks, where lost ones have no figure.
    Below,
    /// Above that range.
    Above,
    /// Like lost or declining leks.
    LikeLost,
    /// Cannot be said.
    Unknown,
}

/// The display ground.
#[derive(Clone, Debug, Serialize)]
pub struct LekGround {
    /// Easting and northing, metres.
    pub at: [f64; 2],
    /// Altitude, metres.
    pub altitude_m: Option<f64>,
    /// Mean slope of the display ground, degrees.
    pub slope_deg: Option<f64>,
    /// Mean vegetation height of the display ground, centimetres.
    pub sward_cm: Option<f64>,
    /// Radius of display ground used, metres.
    pub radius_m: f64,
    /// Share of the disc out to the view distance that is in sight, 0 to 1.
    pub view_disc: Option<f64>,
    /// Share of the horizon that is open, 0 to 1.
    pub view_horizon: Option<f64>,
    /// The same two over bare ground without vegetation and trees.
    pub bare_disc: Option<f64>,
    /// Horizon open over bare ground, 0 to 1.
    pub bare_horizon: Option<f64>,
    /// Distance of the view, metres.
    pub view_m: f64,
    /// Distance to the nearest wood, metres.
    pub wood_m: Option<f64>,
    /// Distance to the nearest fence, metres.
    pub fence_m: Option<f64>,
    /// Distance to the nearest track, path or road, metres.
    pub way_m: Option<f64>,
    /// Distance to the nearest ground with heather, metres.
    pub heather_m: Option<f64>,
}

/// Pictures of an assessment: what maps are drawn from.
#[derive(Clone, Debug)]
pub struct Pictures {
    /// For every season, the median value of each cell, 0 to 1; `NaN` where unmapped.
    pub value: Vec<(Season, Grid<f32>)>,
    /// For every lek (in ledger order), share of visibility 0 to 1 round it, where heights exist.
    pub view: Vec<Option<Grid<f32>>>,
}
