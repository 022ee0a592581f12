//! The holding: everything surveyed on the ground, and the options weighed for it.
//!
//! Geometry is planar, in metres of the plan's one projected coordinate system. Percentages run 0 to 100.
//! Heights of vegetation are centimetres, of trees and fences metres, of ditches centimetres.
//! Every feature has an `id` that is unique within its kind and survives editing.

use chrono::{NaiveDate, NaiveTime};
use geo_types::{LineString, MultiLineString, MultiPolygon, Point};
use ground::Grid;
pub use guidance::Country;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One plan: what was surveyed, the options weighed, and the height model.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Holding {
    /// Name, country, coordinate system and other facts about the plan itself.
    pub about: About,
    /// The land the plan is for.
    pub boundary: Option<MultiPolygon<f64>>,
    /// Fields and hill units that are stocked and let as one.
    pub parcels: Vec<Parcel>,
    /// Surveyed vegetation patches.
    pub patches: Vec<Patch>,
    /// Woods and plantations, with their trees.
    pub woods: Vec<Wood>,
    /// Display grounds.
    pub leks: Vec<Lek>,
    /// Dawn visits to leks.
    pub visits: Vec<Visit>,
    /// Brood counts.
    pub broods: Vec<BroodCount>,
    /// Fences.
    pub fences: Vec<Fence>,
    /// Ditches and grips.
    pub ditches: Vec<Ditch>,
    /// Burns, becks, rivers and lochs' outlines as lines.
    pub watercourses: Vec<Watercourse>,
    /// Tracks, paths and roads.
    pub tracks: Vec<Track>,
    /// Overhead and buried services.
    pub services: Vec<Service>,
    /// Buildings.
    pub buildings: Vec<Building>,
    /// Protected and no-go areas.
    pub areas: Vec<Area>,
    /// Sward heights taken with a stick.
    pub sticks: Vec<Stick>,
    /// Peat depths taken with a probe.
    pub probes: Vec<Probe>,
    /// Stock by parcel, class and month.
    pub stock: Vec<Stock>,
    /// Options weighed: named sets of measures.
    pub options: Vec<PlanOption>,
    /// Measures, each belonging to one option.
    pub measures: Vec<Measure>,
    /// Crews that can be had for works; none: the usual ones are assumed.
    pub crews: Vec<HiredCrew>,
    /// The user's own prices and payments, which win over the tables.
    pub rates: Vec<OwnPrice>,
    /// The height model, metres above sea level, on the plan's cell.
    pub heights: Option<Grid<f32>>,
}

/// Facts about the plan itself.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct About {
    /// Name of the holding.
    pub name: String,
    /// Country whose codes and figures apply.
    pub country: Country,
    /// EPSG number of the projected, metric coordinate system.
    pub epsg: u32,
    /// Cell of the plan's grids, metres.
    pub cell_m: f64,
    /// Whether the local birds take blaeberry (northern England: no; Scotland: yes). `None`: by country.
    pub blaeberry_taken: Option<bool>,
    /// The day the plan stands for ("as now"); seasons and ages are counted from it.
    pub as_at: Option<NaiveDate>,
    /// Where the heights come from and what must be said of them.
    pub heights_source: String,
    /// Anything else.
    pub note: String,
}

impl Holding {
    /// Kinds of things with how many there are of each, in the order of the survey.
    pub fn counts(&self) -> Vec<(&'static str, usize)> {
        vec![
            ("parcels", self.parcels.len()),
            ("patches", self.patches.len()),
            ("woods", self.woods.len()),
            ("leks", self.leks.len()),
            ("visits", self.visits.len()),
            ("broods", self.broods.len()),
            ("fences", self.fences.len()),
            ("ditches", self.ditches.len()),
            ("watercourses", self.watercourses.len()),
            ("tracks", self.tracks.len()),
            ("services", self.services.len()),
            ("buildings", self.buildings.len()),
            ("areas", self.areas.len()),
            ("sticks", self.sticks.len()),
            ("probes", self.probes.len()),
            ("stock", self.stock.len()),
            ("options", self.options.len()),
            ("measures", self.measures.len()),
        ]
    }
}

impl Default for About {
    fn default() -> Self {
        Self {
            name: String::new(),
            country: Country::GB,
            epsg: 27700,
            cell_m: 10.0,
            blaeberry_taken: None,
            as_at: None,
            heights_source: String::new(),
            note: String::new(),
        }
    }
}

/// Attributes the tool does not know, kept as they came.
pub type Extra = BTreeMap<String, serde_json::Value>;

/// A field or hill unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Parcel {
    /// Identity.
    pub id: String,
    /// Name in use on the farm.
    pub name: String,
    /// What kind of land.
    pub kind: ParcelKind,
    /// Outline.
    pub shape: MultiPolygon<f64>,
    /// Whether it is ploughed or left in stubble; `None` where not recorded.
    pub stubble: Option<Stubble>,
    /// Attributes kept as they came.
    pub extra: Extra,
}

/// Kinds of parcel.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ParcelKind {
    /// Open hill or moor within the holding.
    #[default]
    Hill,
    /// Common grazing, shared.
    Common,
    /// Enclosed rough grazing, allotment or intake.
    Rough,
    /// In-bye pasture.
    InByePasture,
    /// In-bye meadow, mown.
    InByeMeadow,
    /// In-bye arable: cereal, roots.
    InByeArable,
    /// Wood or plantation.
    Wood,
    /// Anything else.
    Other,
}

/// What happens to a cereal stubble or root crop over winter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stubble {
    /// Left standing over winter.
    Left,
    /// Ploughed in autumn.
    Ploughed,
    /// Roots or weedy crop left.
    Roots,
}

/// Plant groups whose cover is recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Plant {
    /// Heather, *Calluna* and heaths.
    Heather,
    /// Blaeberry, *Vaccinium myrtillus*.
    Blaeberry,
    /// Cowberry, crowberry, cranberry.
    OtherBerries,
    /// Cotton-grasses.
    CottonGrass,
    /// Rushes.
    Rush,
    /// Sedges and seeding grasses.
    SedgeGrass,
    /// Herbs.
    Herbs,
    /// Bracken.
    Bracken,
    /// Bog-moss and other mosses.
    Moss,
    /// Bare ground, rock, water.
    Bare,
    /// Crop, stubble or roots.
    Crop,
}

impl Plant {
    /// All groups, in the order covers are stored.
    pub const ALL: [Plant; 11] = [
        Plant::Heather,
        Plant::Blaeberry,
        Plant::OtherBerries,
        Plant::CottonGrass,
        Plant::Rush,
        Plant::SedgeGrass,
        Plant::Herbs,
        Plant::Bracken,
        Plant::Moss,
        Plant::Bare,
        Plant::Crop,
    ];

    /// The key used in guidance, files and JSON.
    pub fn key(self) -> &'static str {
        match self {
            Plant::Heather => "heather",
            Plant::Blaeberry => "blaeberry",
            Plant::OtherBerries => "other_berries",
            Plant::CottonGrass => "cotton_grass",
            Plant::Rush => "rush",
            Plant::SedgeGrass => "sedge_grass",
            Plant::Herbs => "herbs",
            Plant::Bracken => "bracken",
            Plant::Moss => "moss",
            Plant::Bare => "bare",
            Plant::Crop => "crop",
        }
    }
}

/// Percent cover by plant group; a group not surveyed is `None` (a class default may fill it).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Covers(pub [Option<f32>; 11]);

impl Covers {
    /// Cover of a group, percent.
    pub fn of(&self, plant: Plant) -> Option<f32> {
        self.0[plant as usize]
    }

    /// Set the cover of a group, percent.
    pub fn set(&mut self, plant: Plant, percent: f32) {
        self.0[plant as usize] = Some(percent);
    }
}

/// Heather phases, by age of the stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Phase {
    /// Establishing after fire or cut.
    Pioneer,
    /// Closing canopy.
    Building,
    /// Full canopy, growth slowing.
    Mature,
    /// Opening in the middle.
    Degenerate,
}

/// A surveyed vegetation patch.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    /// Identity.
    pub id: String,
    /// Name or number on the field map.
    pub name: String,
    /// Outline.
    pub shape: MultiPolygon<f64>,
    /// Phase 1 habitat class (JNCC), such as `D1.1`, where recorded.
    pub phase1: Option<String>,
    /// Covers, percent.
    pub covers: Covers,
    /// Mean vegetation height, centimetres.
    pub height_cm: Option<f32>,
    /// Spread (standard deviation) of vegetation height, centimetres.
    pub height_sd_cm: Option<f32>,
    /// Heather phase.
    pub phase: Option<Phase>,
    /// Heather age, years since fire or cut.
    pub heather_age_yr: Option<f32>,
    /// A wet flush: water moving over or near the surface.
    pub flush: bool,
    /// Wetness 0 (free-draining) to 1 (standing water), where judged.
    pub wetness: Option<f32>,
    /// Day of survey.
    pub surveyed: Option<NaiveDate>,
    /// Who or what it came from when not walked: `coarse` land cover fills in off the holding.
    pub coarse: bool,
    /// Free text.
    pub note: String,
    /// Attributes kept as they came.
    pub extra: Extra,
}

/// Tree and shrub species recorded in woods.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tree {
    /// Downy or silver birch.
    Birch,
    /// Rowan.
    Rowan,
    /// Willows.
    Willow,
    /// Hawthorn.
    Hawthorn,
    /// Alder.
    Alder,
    /// Juniper.
    Juniper,
    /// Scots pine.
    ScotsPine,
    /// Larches.
    Larch,
    /// Oaks.
    Oak,
    /// Sitka and Norway spruce and other dark conifers.
    Spruce,
    /// Lodgepole pine and other planted pines.
    PlantedPine,
    /// Anything else.
    OtherTree,
}

impl Tree {
    /// All species, in file order.
    pub const ALL: [Tree; 12] = [
        Tree::Birch,
        Tree::Rowan,
        Tree::Willow,
        Tree::Hawthorn,
        Tree::Alder,
        Tree::Juniper,
        Tree::ScotsPine,
        Tree::Larch,
        Tree::Oak,
        Tree::Spruce,
        Tree::PlantedPine,
        Tree::OtherTree,
    ];

    /// The key used in guidance, files and JSON.
    pub fn key(self) -> &'static str {
        match self {
            Tree::Birch => "birch",
            Tree::Rowan => "rowan",
            Tree::Willow => "willow",
            Tree::Hawthorn => "hawthorn",
            Tree::Alder => "alder",
            Tree::Juniper => "juniper",
            Tree::ScotsPine => "scots_pine",
            Tree::Larch => "larch",
            Tree::Oak => "oak",
            Tree::Spruce => "spruce",
            Tree::PlantedPine => "planted_pine",
            Tree::OtherTree => "other_tree",
        }
    }

    /// True for the dark plantation conifers whose closed stands birds leave.
    pub fn is_plantation_conifer(self) -> bool {
        matches!(self, Tree::Spruce | Tree::PlantedPine)
    }
}

/// One species of a wood.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stems {
    /// Species.
    pub tree: Tree,
    /// Stems per hectare.
    pub stems_per_ha: f32,
    /// Mean height, metres; `None`: from age.
    pub height_m: Option<f32>,
    /// Years since planting or establishment; `None`: the wood's age.
    pub age_yr: Option<f32>,
}

/// A wood or plantation.
#[derive(Clone, Debug, PartialEq)]
pub struct Wood {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Outline.
    pub shape: MultiPolygon<f64>,
    /// Year planted or established.
    pub planted: Option<i32>,
    /// Species present.
    pub stems: Vec<Stems>,
    /// Canopy cover, percent, where judged; `None`: computed from stems and crowns.
    pub canopy_pct: Option<f32>,
    /// Share of the outline that is open ground (glades, rides), percent.
    pub open_pct: Option<f32>,
    /// Ground vegetation class beneath and in the gaps (Phase 1), where recorded.
    pub ground_phase1: Option<String>,
    /// Ground covers, percent.
    pub ground_covers: Covers,
    /// Edge shaped in steps and gaps rather than a wall of trees.
    pub feathered_edge: Option<bool>,
    /// Attributes kept as they came.
    pub extra: Extra,
}

/// A display ground.
#[derive(Clone, Debug, PartialEq)]
pub struct Lek {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Centre of display.
    pub at: Point<f64>,
    /// Radius of the display ground, metres; `None`: guidance default.
    pub radius_m: Option<f64>,
    /// Cocks the plan aims for; `None`: the larger of the present count and the guidance default.
    pub target_cocks: Option<u32>,
    /// Attributes kept as they came.
    pub extra: Extra,
}

/// How far a day is known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum KnownTo {
    /// The day.
    #[default]
    Day,
    /// The month; the day kept is its first.
    Month,
    /// The year; the day kept is its first.
    Year,
}

/// Rain during a count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Rain {
    /// Dry.
    None,
    /// Drizzle or mist.
    Drizzle,
    /// Showers.
    Showers,
    /// Rain.
    Rain,
    /// Heavy rain.
    Heavy,
    /// Snow, sleet or hail.
    Snow,
}

/// One dawn visit to a lek.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Visit {
    /// Identity.
    pub id: String,
    /// The lek's id.
    pub lek: String,
    /// Day.
    pub date: NaiveDate,
    /// Start, local clock time.
    pub start: Option<NaiveTime>,
    /// Cocks seen, displaying or not; `None`: visited, not counted.
    pub cocks: Option<u32>,
    /// Hens seen.
    pub hens: Option<u32>,
    /// Weather in a few words.
    pub weather: String,
    /// Free text.
    pub note: String,
    /// How far the day is known.
    pub known_to: KnownTo,
    /// Who counted.
    pub observer: String,
    /// Wind, Beaufort force.
    pub wind_beaufort: Option<u8>,
    /// Rain.
    pub rain: Option<Rain>,
    /// Attributes kept as they came.
    pub extra: Extra,
}

/// One brood count: a search of some ground for hens and their young.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BroodCount {
    /// Identity.
    pub id: String,
    /// Day.
    pub date: NaiveDate,
    /// Where, where it was noted.
    pub at: Option<Point<f64>>,
    /// The lek's id, where the count is held to belong to one; empty: none.
    pub lek: String,
    /// Hens seen, with and without broods; `None`: not recorded.
    pub hens: Option<u32>,
    /// Hens seen with a brood.
    pub hens_with_brood: Option<u32>,
    /// Young seen.
    pub young: Option<u32>,
    /// Whether dogs found the birds.
    pub dogs: Option<bool>,
    /// Who counted.
    pub observer: String,
    /// Free text.
    pub note: String,
    /// Attributes kept as they came.
    pub extra: Extra,
}

/// Kinds of fence.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FenceKind {
    /// Deer fence, about 1.8 to 2 m.
    Deer,
    /// Stock netting and wire.
    #[default]
    Stock,
    /// Post and wire without netting.
    Wire,
    /// Dry-stone wall.
    Wall,
    /// Other.
    Other,
}

/// Fence markings.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Marking {
    /// Not marked.
    #[default]
    None,
    /// Orange netting.
    Netting,
    /// Bamboo canes.
    Bamboo,
    /// Wooden pales or droppers.
    Pales,
    /// Not recorded.
    Unknown,
}

/// A fence.
#[derive(Clone, Debug, PartialEq)]
pub struct Fence {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Line.
    pub shape: MultiLineString<f64>,
    /// Kind.
    pub kind: FenceKind,
    /// Height, metres.
    pub height_m: Option<f32>,
    /// Marking.
    pub marking: Marking,
    /// Attributes kept as they came.
    pub extra: Extra,
}

/// A ditch or grip.
#[derive(Clone, Debug, PartialEq)]
pub struct Ditch {
    /// Identity.
    pub id: String,
    /// Line, drawn downstream where known.
    pub shape: MultiLineString<f64>,
    /// Top width, centimetres.
    pub width_cm: Option<f32>,
    /// Depth, centimetres.
    pub depth_cm: Option<f32>,
    /// Already blocked.
    pub blocked: bool,
    /// A drain that must keep running (track, house, neighbour).
    pub keep: bool,
    /// Attributes kept as they came.
    pub extra: Extra,
}

/// A watercourse.
#[derive(Clone, Debug, PartialEq)]
pub struct Watercourse {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Line.
    pub shape: MultiLineString<f64>,
    /// Channel width, metres.
    pub width_m: Option<f32>,
    /// Attributes kept as they came.
    pub extra: Extra,
}

/// Kinds of way.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TrackKind {
    /// Public road.
    Road,
    /// Farm, forest or hill track.
    #[default]
    Track,
    /// Path open to walkers.
    Path,
}

/// A track, path or road.
#[derive(Clone, Debug, PartialEq)]
pub struct Track {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Kind.
    pub kind: TrackKind,
    /// Line.
    pub shape: MultiLineString<f64>,
    /// Attributes kept as they came.
    pub extra: Extra,
}

/// An overhead or buried service.
#[derive(Clone, Debug, PartialEq)]
pub struct Service {
    /// Identity.
    pub id: String,
    /// Kind in words: overhead line, water main, gas.
    pub kind: String,
    /// Line.
    pub shape: MultiLineString<f64>,
    /// Attributes kept as they came.
    pub extra: Extra,
}

/// A building.
#[derive(Clone, Debug, PartialEq)]
pub struct Building {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Outline.
    pub shape: MultiPolygon<f64>,
    /// Lived in.
    pub dwelling: bool,
    /// Attributes kept as they came.
    pub extra: Extra,
}

/// A protected or no-go area.
#[derive(Clone, Debug, PartialEq)]
pub struct Area {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Kind.
    pub kind: AreaKind,
    /// Outline.
    pub shape: MultiPolygon<f64>,
    /// Attributes kept as they came.
    pub extra: Extra,
}

/// Kinds of protected or no-go area.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AreaKind {
    /// Site of special scientific interest.
    Sssi,
    /// Special area of conservation or special protection area.
    European,
    /// Scheduled monument or other historic feature.
    Historic,
    /// Water supply catchment or abstraction.
    WaterSupply,
    /// Species-rich ground to be left alone.
    SpeciesRich,
    /// The owner says no.
    #[default]
    NoGo,
}

/// A stick reading of sward height.
#[derive(Clone, Debug, PartialEq)]
pub struct Stick {
    /// Identity.
    pub id: String,
    /// Where.
    pub at: Point<f64>,
    /// Height, centimetres.
    pub height_cm: f32,
    /// Day.
    pub date: Option<NaiveDate>,
    /// Free text.
    pub note: String,
}

/// A peat probe.
#[derive(Clone, Debug, PartialEq)]
pub struct Probe {
    /// Identity.
    pub id: String,
    /// Where.
    pub at: Point<f64>,
    /// Peat depth, centimetres.
    pub depth_cm: f32,
    /// Day.
    pub date: Option<NaiveDate>,
}

/// Classes of stock.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StockClass {
    /// Hill ewes with lambs at foot in season.
    HillEwe,
    /// Lowland or heavy ewes.
    HeavyEwe,
    /// Hoggs and store lambs.
    Hogg,
    /// Suckler cows with calves.
    Cow,
    /// Young and store cattle.
    Store,
    /// Ponies.
    Pony,
    /// Red deer.
    RedDeer,
}

/// Head of one class in one parcel, month by month (January first).
#[derive(Clone, Debug, PartialEq)]
pub struct Stock {
    /// Identity.
    pub id: String,
    /// The parcel's id.
    pub parcel: String,
    /// Class.
    pub class: StockClass,
    /// Head, by month, January to December.
    pub head: [f32; 12],
}

/// An option: a named set of measures.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct PlanOption {
    /// Number, from 1.
    pub number: u32,
    /// Name.
    pub name: String,
    /// Free text.
    pub note: String,
}

/// A crew that can be had, as it was given; the room that plans works reads kinds, season and days off.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct HiredCrew {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Kinds of work, with spaces between.
    pub kinds: String,
    /// People; of a machine, how many there are.
    pub people: u32,
    /// First day of the year it can be had, `MM-DD`; empty: all year.
    pub season_from: String,
    /// Last day of the year it can be had, `MM-DD`.
    pub season_to: String,
    /// Days away, `YYYY-MM-DD` or `FROM..TO`, several with semicolons.
    pub off: String,
    /// Telephone number.
    pub phone: String,
}

/// A price or payment of the user's own, as it was given.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OwnPrice {
    /// Identity.
    pub id: String,
    /// What it is for: a key of the tables, or the words of a cost.
    pub item: String,
    /// Pounds for one unit.
    pub gbp: f64,
    /// Unit of money in words.
    pub unit: String,
    /// Free text, such as who quoted it and when.
    pub note: String,
}

/// A measure of an option. What each kind of work needs is in `facts`, read by the room that knows the work.
#[derive(Clone, Debug, PartialEq)]
pub struct Measure {
    /// Identity.
    pub id: String,
    /// The option's number.
    pub option: u32,
    /// Kind of work.
    pub kind: String,
    /// First year of work.
    pub year: Option<i32>,
    /// Area worked, where it is an area.
    pub shape: MultiPolygon<f64>,
    /// Line worked, where it is a line.
    pub line: MultiLineString<f64>,
    /// Facts of the work.
    pub facts: Extra,
}

impl Default for Measure {
    fn default() -> Self {
        Self {
            id: String::new(),
            option: 0,
            kind: String::new(),
            year: None,
            shape: MultiPolygon(vec![]),
            line: MultiLineString(vec![]),
            facts: Extra::new(),
        }
    }
}

/// Gives a feature a `new(id, shape)` that leaves every other field unrecorded.
macro_rules! starts {
    ($kind:ident, $shape:ty, $($field:ident),*) => {
        impl $kind {
            /// A feature with an id and a shape and nothing else recorded.
            pub fn new(id: impl Into<String>, shape: $shape) -> Self {
                Self { id: id.into(), shape, $($field: Default::default()),* }
            }
        }
    };
}

starts!(Parcel, MultiPolygon<f64>, name, kind, stubble, extra);
starts!(Patch, MultiPolygon<f64>, name, phase1, covers, height_cm, height_sd_cm, phase, heather_age_yr, flush, wetness, surveyed, coarse, note, extra);
starts!(Wood, MultiPolygon<f64>, name, planted, stems, canopy_pct, open_pct, ground_phase1, ground_covers, feathered_edge, extra);
starts!(Fence, MultiLineString<f64>, name, kind, height_m, marking, extra);
starts!(Ditch, MultiLineString<f64>, width_cm, depth_cm, blocked, keep, extra);
starts!(Watercourse, MultiLineString<f64>, name, width_m, extra);
starts!(Track, MultiLineString<f64>, name, kind, extra);
starts!(Service, MultiLineString<f64>, kind, extra);
starts!(Building, MultiPolygon<f64>, name, dwelling, extra);
starts!(Area, MultiPolygon<f64>, name, kind, extra);

impl Lek {
    /// A lek with an id, a name and a place.
    pub fn new(id: impl Into<String>, name: impl Into<String>, at: Point<f64>) -> Self {
        Self { id: id.into(), name: name.into(), at, radius_m: None, target_cocks: None, extra: Extra::new() }
    }

    /// What it is called: its name, else its id.
    pub fn called(&self) -> &str {
        if self.name.is_empty() { &self.id } else { &self.name }
    }
}

/// Turn a single line into the stored form.
pub fn one_line(line: LineString<f64>) -> MultiLineString<f64> {
    MultiLineString(vec![line])
}
