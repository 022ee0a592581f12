//! What each kind of feature can be told: its fields, with units and the column names accepted for them.

use super::kind::Kind;
use super::unit::Unit;
use crate::model::{Plant, Tree};
use crate::words::Word;

/// What a field holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holds {
    /// Text, as it comes.
    Text,
    /// A word of a closed list.
    Word,
    /// A length in the unit given; asked for where the column does not say.
    Length(Unit),
    /// Percent.
    Percent,
    /// Percent cover, or letters or figures of a cover scale.
    Cover,
    /// A number.
    Number,
    /// A whole number from 0.
    Count,
    /// A year such as 1987.
    Year,
    /// A day.
    Date,
    /// A time of day.
    Time,
    /// Yes or no.
    Flag,
}

/// One field of a kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Name, as `--map` takes it; the unit stands last where there is one.
    pub name: String,
    /// What it holds.
    pub holds: Holds,
    /// Whether an import without it is refused.
    pub required: bool,
    /// Other column names taken for it: lower case, words apart, without unit.
    pub accepts: Vec<String>,
}

impl Field {
    fn new(name: &str, holds: Holds, accepts: &[&str]) -> Self {
        Self {
            name: name.to_owned(),
            holds,
            required: false,
            accepts: accepts.iter().map(|a| (*a).to_owned()).collect(),
        }
    }

    fn required(mut self) -> Self {
        self.required = true;
        self
    }

    /// The unit the model keeps the field in.
    pub fn unit(&self) -> Option<Unit> {
        match self.holds {
            Holds::Length(unit) => Some(unit),
            Holds::Percent | Holds::Cover => Some(Unit::Percent),
            _ => None,
        }
    }
}

use Holds::*;
use Unit::{Centimetre, Metre};

/// The fields of a kind, in the order they are shown.
pub fn fields(kind: Kind) -> Vec<Field> {
    let f = Field::new;
    let id = || f("id", Text, &["ref", "reference", "code", "number", "no", "patch id", "parcel id", "uid", "plot id"]);
    let name = |more: &[&str]| {
        let mut field = f("name", Text, &["label", "title", "known as"]);
        field.accepts.extend(more.iter().map(|m| (*m).to_owned()));
        field
    };
    let sort = |what: &[&str]| f("kind", Word, &[&["type", "sort", "class"], what].concat());
    let note = || f("note", Text, &["notes", "comment", "comments", "remark", "remarks", "description"]);
    let date = || f("date", Date, &["day", "surveyed", "survey date", "visit date", "date of visit", "count date", "date of count", "recorded", "measured"]);
    let lek = || f("lek", Text, &["lek id", "lek name", "site", "site id", "site name", "lek code"]);
    let observer = || {
        f("observer", Text, &["observers", "observer name", "name of observer", "counter", "counted by", "recorder", "surveyor", "initials", "who"])
    };
    let height = || f("height_cm", Length(Centimetre), &["ht", "hgt", "vegetation height", "veg height", "sward height", "mean height", "sward"]);
    match kind {
        Kind::Boundary => vec![name(&["holding", "farm"])],
        Kind::Parcels => vec![
            id(),
            name(&["parcel", "field", "field name", "parcel name"]),
            sort(&["land use", "use", "landuse"]),
            f("stubble", Word, &["winter stubble", "over winter"]),
        ],
        Kind::Patches => {
            let mut all = vec![
                id(),
                name(&["patch", "patch name"]),
                f("phase1", Word, &["phase 1", "phase one", "phase1 code", "p1 code", "habitat", "habitat code", "habitat class", "phase 1 class", "phase 1 code"]),
                height(),
                f("height_sd_cm", Length(Centimetre), &["height spread", "ht sd", "height s d", "sd height", "height stdev"]),
                f("phase", Word, &["heather phase", "growth phase"]),
                f("heather_age_yr", Number, &["heather age", "age of heather", "age", "years since burn", "years since fire"]),
                f("flush", Flag, &["wet flush", "flushed"]),
                f("wetness", Number, &["wet", "wetness index"]),
                f("surveyed", Date, &["date", "survey date", "day", "recorded"]),
                f("coarse", Flag, &["coarse cover"]),
                note(),
            ];
            all.extend(Plant::ALL.map(|plant| cover("", plant)));
            all
        }
        Kind::Woods => {
            let mut all = vec![
                id(),
                name(&["wood", "wood name", "plantation", "compartment"]),
                f("planted", Year, &["planting year", "year planted", "year", "established", "plant year", "pyear"]),
                f("species", Text, &["trees", "species list", "species mix", "mix"]),
                f("canopy_pct", Percent, &["canopy", "canopy cover", "crown cover"]),
                f("open_pct", Percent, &["open", "open ground", "open space"]),
                f("ground_phase1", Word, &["ground phase 1", "ground class", "ground code"]),
                f("feathered_edge", Flag, &["feathered", "graded edge", "soft edge"]),
                f("tree_height_m", Length(Metre), &["height", "tree height", "mean height", "top height"]),
                f("age_yr", Number, &["age", "tree age", "stand age"]),
                f("stems_per_ha", Number, &["stems", "density", "stocking", "trees per ha", "stem density"]),
            ];
            all.extend(Tree::ALL.map(trees));
            all.extend(Plant::ALL.map(|plant| cover("ground_", plant)));
            all
        }
        Kind::Leks => vec![
            id(),
            name(&["lek", "lek name", "site", "site name"]),
            f("radius_m", Length(Metre), &["radius", "display radius"]),
            f("target_cocks", Count, &["target", "goal", "cocks target", "aim"]),
        ],
        Kind::Visits => vec![
            id(),
            lek(),
            date(),
            f("year", Year, &[]),
            f("month", Text, &[]),
            f("day", Text, &["day of month"]),
            f("known_to", Word, &[]),
            f("start", Time, &["start time", "time", "time start", "began", "time of visit", "time of count", "start local", "arrived"]),
            f("cocks", Count, &["males", "cock", "male", "cocks counted", "blackcock", "cocks seen", "displaying cocks", "males counted", "no of cocks", "number of cocks"]),
            f("hens", Count, &["females", "hen", "female", "fem", "greyhens", "hens seen", "grey hens", "hens counted"]),
            f("weather", Text, &["conditions", "weather conditions", "weather notes"]),
            observer(),
            f("wind_beaufort", Text, &["wind", "wind force", "beaufort", "wind strength", "wind speed", "force"]),
            f("rain", Text, &["precipitation", "rainfall", "precip"]),
            note(),
        ],
        Kind::Broods => vec![
            id(),
            date(),
            f("year", Year, &[]),
            f("month", Text, &[]),
            f("day", Text, &["day of month"]),
            lek(),
            f("hens", Count, &["hen", "females", "hens seen", "greyhens", "total hens", "hens counted", "adult hens"]),
            f("hens_with_brood", Count, &["hens with broods", "with broods", "with brood", "with young", "with chicks", "hens with young", "hens with chicks", "broods", "broods seen", "no of broods", "number of broods", "brood"]),
            f("young", Count, &["chicks", "poults", "young seen", "total young", "total chicks", "juveniles", "juvs", "number of young"]),
            f("dogs", Text, &["dog", "pointers", "pointing dogs", "with dogs", "pointer"]),
            observer(),
            note(),
        ],
        Kind::Fences => vec![
            id(),
            name(&["fence"]),
            sort(&["fence type", "fence kind"]),
            f("height_m", Length(Metre), &["ht", "fence height"]),
            f("marking", Word, &["marked", "markers", "marker", "mark type", "marking type"]),
        ],
        Kind::Ditches => vec![
            id(),
            f("width_cm", Length(Centimetre), &["top width"]),
            f("depth_cm", Length(Centimetre), &[]),
            f("blocked", Flag, &["dammed", "is blocked"]),
            f("keep", Flag, &["must run", "keep open", "keep running"]),
        ],
        Kind::Watercourses => vec![id(), name(&["burn", "watercourse", "river"]), f("width_m", Length(Metre), &["channel width"])],
        Kind::Tracks => vec![id(), name(&["track", "path", "road"]), sort(&["track type"])],
        Kind::Services => vec![id(), sort(&["service", "service type"])],
        Kind::Buildings => vec![
            id(),
            name(&["building"]),
            f("dwelling", Flag, &["lived in", "house", "inhabited", "occupied", "is dwelling"]),
        ],
        Kind::Areas => vec![id(), name(&["area", "site name"]), sort(&["designation", "area type", "status"])],
        Kind::Sticks => vec![id(), height().required(), date(), note()],
        Kind::Probes => vec![
            id(),
            f("depth_cm", Length(Centimetre), &["peat depth", "peat", "probe depth"]).required(),
            date(),
        ],
        Kind::Stock => {
            let mut all = vec![
                id(),
                f("parcel", Text, &["parcel id", "field", "field name", "parcel name", "unit"]).required(),
                f("class", Word, &["stock class", "stock", "stock type", "type", "kind", "animal", "livestock"]).required(),
                f("month", Text, &["months"]),
                f("head", Number, &["number", "count", "head count", "animals", "no of head"]),
            ];
            all.extend(MONTHS.map(|(short, long)| f(short, Number, &[long])));
            all
        }
        // Every other column is a fact of the work and kept under its own name.
        Kind::Measures => vec![
            f("id", Text, &["ref", "measure id"]),
            f("kind", Text, &["measure", "kind of measure", "kind of work"]).required(),
            f("year", Year, &["first year", "start year", "from year"]),
            f("option", Count, &["option number", "plan option"]),
        ],
    }
}

/// The months as columns: short and long.
pub(super) const MONTHS: [(&str, &str); 12] = [
    ("jan", "january"),
    ("feb", "february"),
    ("mar", "march"),
    ("apr", "april"),
    ("may", "may"),
    ("jun", "june"),
    ("jul", "july"),
    ("aug", "august"),
    ("sep", "september"),
    ("oct", "october"),
    ("nov", "november"),
    ("dec", "december"),
];

fn cover(before: &str, plant: Plant) -> Field {
    let prefix = before.replace('_', " ");
    let words = Plant::WORDS.iter().find(|(p, _, _)| *p == plant);
    let mut accepts = vec![format!("{prefix}{}", plant.key().replace('_', " "))];
    // `stubble` as a column of its own is not a cover, and `rock` and `bare` are both bare ground.
    for other in words.map_or(&[][..], |(_, _, others)| others).iter().filter(|o| **o != "stubble") {
        accepts.push(format!("{prefix}{other}"));
    }
    Field { name: format!("{before}{}", plant.key()), holds: Cover, required: false, accepts }
}

fn trees(tree: Tree) -> Field {
    let words = Tree::WORDS.iter().find(|(t, _, _)| *t == tree);
    let mut accepts = Vec::new();
    // `other` and `mixed` stand alone for too much to be taken for a count of stems.
    for other in words.map_or(&[][..], |(_, _, others)| others).iter().filter(|o| !matches!(**o, "other" | "mixed")) {
        accepts.push((*other).to_owned());
    }
    Field { name: tree.key().to_owned(), holds: Number, required: false, accepts }
}
