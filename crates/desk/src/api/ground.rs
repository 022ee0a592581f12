//! The ground as it is drawn: what lies where, by what it is to the eye, and the pictures of a season.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A feature drawn on the ground.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct Drawn {
    /// Its id in its layer.
    pub id: String,
    /// Name, or what it is where it has none.
    pub name: String,
    /// What it is to the eye: for patches `heather`, `blaeberry`, `bog`, `rush`, `flush`, `grass`, `bracken`, `crop`,
    /// `scrub`, `conifer`, `bare`, `other`; for woods `conifer`,
    /// `broadleaf`, `mixed`, `young`; for lines and points their kind.
    pub look: String,
    /// One line of facts, such as `heather 55 %, 32 cm`.
    pub words: String,
    /// Where it lies to the march.
    pub march: March,
    /// GeoJSON geometry in the plan's coordinates, metres.
    pub geometry: serde_json::Value,
}

/// Where a piece of ground lies to the march of the holding. What is less than a tenth of it on one side is not counted: edges are surveyed, not
/// exact.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum March {
    /// On the land of the plan, or no march is known.
    Inside,
    /// On both sides.
    Partly,
    /// A neighbour's.
    Outside,
}

/// One layer of the ground.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct Layer {
    /// Layer of the plan file: `boundary`, `parcels`, `patches`, `woods`, `leks`, `fences`, `ditches`, `watercourses`, `tracks`, `services`,
    /// `buildings`, `areas`, `sticks`, `probes`.
    pub layer: String,
    /// What lies in it.
    pub features: Vec<Drawn>,
}

/// The whole ground.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct Ground {
    /// The version of the plan.
    pub version: u64,
    /// Layers, lowest first.
    pub layers: Vec<Layer>,
}

/// The ground of a year under an option: woods grown, what is planted, taken down and built.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct GroundAhead {
    /// The version of the plan.
    pub version: u64,
    /// The option; null: nothing done.
    pub option: Option<u32>,
    /// Years ahead.
    pub year: u32,
    /// Woods as they stand then: height of the tallest trees and crown cover.
    pub woods: Vec<Stood>,
    /// Open ground as it stands then.
    pub patches: Vec<Stood>,
}

/// A stand in a year.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct Stood {
    /// Id of the wood, patch or measure.
    pub id: String,
    /// What it is to the eye then.
    pub look: String,
    /// Height of its trees, or of its open ground, metres.
    pub height_m: Option<f64>,
    /// Share under crowns, 0 to 1.
    pub crowns: Option<f64>,
    /// One line of facts.
    pub words: String,
}

/// A picture in the plan's coordinates: a PNG at `/api/relief.png` or `/api/season.png`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Picture {
    /// West, south, east, north, metres.
    pub extent: [f64; 4],
    /// Cells across and down.
    pub size: [usize; 2],
}

/// What a season finds on the ground for a lek.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct SeasonGround {
    /// The picture's place. The PNG: transparent where nothing is found, darker where the season finds more.
    pub picture: Picture,
    /// How far the birds of the lek go in this season, metres, by the middle figure.
    pub reach_m: f64,
    /// Why it is short, or that it is not, in one sentence.
    pub words: String,
    /// What keeps ground from giving more, most first.
    pub losses: Vec<Loss>,
    /// Ground that could mend it: near, reachable, held back by something that work can change; most first, a neighbour's after the holding's own.
    pub could_mend: Vec<CouldMend>,
    /// Guidance keys it stands on.
    pub keys: Vec<String>,
}

/// What is lost to one cause.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Loss {
    /// The cause in words.
    pub what: String,
    /// Usable hectares lost to it, by the middle figure.
    pub ha: f64,
}

/// Ground that could mend a season.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CouldMend {
    /// Layer it is in.
    pub layer: String,
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Where it lies to the march.
    pub march: March,
    /// Usable hectares that stand to be won, by the middle figure.
    pub ha: f64,
    /// What holds it back, in words.
    pub why: String,
    /// Kinds of measure that work on it.
    pub kinds: Vec<String>,
}
