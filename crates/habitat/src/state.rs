//! Stand state: what grows on each surveyed patch and in each wood, with where every figure came from.
//!
//! What was measured always wins over a class default; a default carries a wider spread.

use crate::ahead::trees::{canopy, height_m};
use crate::class::Class;
use geo::{Area, Contains, InteriorPoint};
use geo_types::{MultiPolygon, Point};
use guidance::{Country, Guidance, Unknown, Value};
use holding::{Holding, Patch, Phase, Plant, StockClass, Stubble, Tree, Wood};
use rstar::{AABB, RTree, RTreeObject};
use serde::Serialize;

/// Where a stand's figures come from, best first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// Enough stick readings.
    Sticks,
    /// Recorded by the surveyor.
    Measured,
    /// From the habitat class.
    Class,
    /// From coarse land cover.
    Coarse,
    /// Nothing known.
    Missing,
}

impl Origin {
    fn key(self) -> &'static str {
        match self {
            Origin::Sticks => "sticks",
            Origin::Measured => "measured",
            Origin::Class => "class",
            Origin::Coarse | Origin::Missing => "coarse",
        }
    }
}

/// Which kind of feature a stand is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Feature {
    /// A vegetation patch: index into `holding.patches`.
    Patch(usize),
    /// A wood: index into `holding.woods`.
    Wood(usize),
}

impl Feature {
    /// Its outline in the holding it was surveyed on.
    pub fn shape(self, holding: &Holding) -> &MultiPolygon<f64> {
        match self {
            Feature::Patch(i) => &holding.patches[i].shape,
            Feature::Wood(i) => &holding.woods[i].shape,
        }
    }
}

/// One species of a stand's trees, now.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trees {
    /// Species.
    pub tree: Tree,
    /// Stems per hectare.
    pub stems_per_ha: f32,
    /// Mean height, metres.
    pub height_m: f32,
    /// Age, years.
    pub age_yr: f32,
    /// Canopy cover of this species alone, fraction of the stand.
    pub canopy: f32,
    /// Old enough for useful catkins, berries or cones.
    pub bears: bool,
}

/// The state of one stand at one time.
#[derive(Clone, Debug, PartialEq)]
pub struct Stand {
    /// Identity of the patch or wood.
    pub id: String,
    /// Name shown to people.
    pub name: String,
    /// What it is in the holding.
    pub feature: Feature,
    /// Stands as a wood: surveyed as one and not felled, or planted. A wood planned on open ground is none yet.
    pub wooded: bool,
    /// Kind of ground, for the composition table and the rules.
    pub class: Class,
    /// Cover fraction by plant group, 0 to 1.
    pub covers: [f32; 11],
    /// Mean vegetation height, centimetres (ground layer in woods).
    pub height_cm: f32,
    /// Standard deviation of vegetation height, centimetres.
    pub height_sd_cm: f32,
    /// Wetness, 0 dry to 1 standing water.
    pub wetness: f32,
    /// A wet flush.
    pub flush: bool,
    /// Heather phase, where recorded or from age.
    pub phase: Option<Phase>,
    /// Heather age, years, where recorded.
    pub heather_age_yr: Option<f32>,
    /// Species present as trees.
    pub trees: Vec<Trees>,
    /// Canopy cover of all trees, fraction.
    pub canopy: f32,
    /// Share of open ground within the stand, fraction; 1 outside woods.
    pub open: f32,
    /// Age of the wood, years; 0 outside woods.
    pub wood_age_yr: f32,
    /// Mean tree height, metres; 0 without trees.
    pub tree_height_m: f32,
    /// Ewes or their equal a hectare in summer (May to September) and winter (November to March).
    pub ewes_per_ha: [f32; 2],
    /// What happens to a crop over winter.
    pub stubble: Option<Stubble>,
    /// Area, hectares.
    pub area_ha: f64,
    /// Where the covers come from.
    pub covers_from: Origin,
    /// Where the height comes from.
    pub height_from: Origin,
    /// Where the spread of height comes from.
    pub spread_from: Origin,
    /// Number of stick readings in it.
    pub sticks: usize,
    /// Coefficients of variation of covers, height and spread of height.
    pub cv: [f32; 3],
}

/// The stands of a holding at one time, and what had to be assumed.
#[derive(Clone, Debug)]
pub struct State {
    /// One stand a patch, then one a wood, in the holding's order.
    pub stands: Vec<Stand>,
    /// Notes in words, each once.
    pub notes: Vec<String>,
    /// Guidance keys used, unsorted.
    pub keys: Vec<String>,
}

struct Reader<'a> {
    guidance: &'a Guidance,
    country: Country,
    keys: Vec<String>,
}

impl Reader<'_> {
    fn number(&mut self, key: &str) -> Result<f32, Unknown> {
        let v = self.guidance.number(key, self.country)? as f32;
        self.keys.push(key.to_string());
        Ok(v)
    }

    fn class_number(&mut self, code: &str, what: &str) -> Option<f32> {
        let key = format!("phase1.{code}.{what}");
        let Value::Number(v) = self.guidance.find(&key, self.country)?.value else { return None };
        self.keys.push(key);
        Some(v as f32)
    }
}

impl State {
    /// The state the survey found, as at the plan's day.
    pub fn surveyed(holding: &Holding, guidance: &Guidance) -> Result<State, Unknown> {
        let mut survey = Survey::of(holding, guidance)?;
        let mut stands = Vec::with_capacity(holding.patches.len() + holding.woods.len());
        for i in 0..holding.patches.len() {
            stands.push(survey.patch(i)?);
        }
        for i in 0..holding.woods.len() {
            stands.push(survey.wood(i)?);
        }
        let mut notes = Vec::new();
        if survey.year.is_none() && holding.woods.iter().any(|w| w.planted.is_some()) {
            notes.push("The plan has no date: woods are taken as ten years old where only a planting year is known.".to_string());
        }
        notes.extend(assumed(&stands, holding));
        Ok(State { stands, notes, keys: survey.reader.keys })
    }
}

/// The survey of a holding, read stand by stand.
pub(crate) struct Survey<'a> {
    holding: &'a Holding,
    reader: Reader<'a>,
    grazing: Grazing,
    patches: Shapes<'a>,
    parcels: Shapes<'a>,
    year: Option<i32>,
}

impl<'a> Survey<'a> {
    /// Begin to read.
    pub(crate) fn of(holding: &'a Holding, guidance: &'a Guidance) -> Result<Self, Unknown> {
        let mut reader = Reader { guidance, country: holding.about.country, keys: Vec::new() };
        Ok(Self {
            holding,
            grazing: Grazing::of(holding, &mut reader)?,
            reader,
            patches: Shapes::new(holding.patches.iter().map(|p| &p.shape)),
            parcels: Shapes::new(holding.parcels.iter().map(|p| &p.shape)),
            year: holding.about.as_at.map(|d| chrono::Datelike::year(&d)),
        })
    }

    /// The parcel a shape lies in, by a point inside it.
    pub(crate) fn parcel_of(&self, shape: &MultiPolygon<f64>) -> Option<usize> {
        shape.interior_point().and_then(|p| self.parcels.holding_point(p))
    }

    /// Height of the ground at a point inside a shape, metres.
    pub(crate) fn altitude_m(&self, shape: &MultiPolygon<f64>) -> Option<f32> {
        let at = shape.interior_point()?;
        self.holding.heights.as_ref()?.at_point(at.x(), at.y()).filter(|h| h.is_finite())
    }

    /// The stand of a patch.
    pub(crate) fn patch(&mut self, i: usize) -> Result<Stand, Unknown> {
        let patch = &self.holding.patches[i];
        let sticks = self.sticks(i);
        let mut stand = patch_stand(i, patch, &sticks, &mut self.reader)?;
        if let Some(p) = self.parcel_of(&patch.shape) {
            stand.ewes_per_ha = self.grazing.ewes_per_ha[p];
            stand.stubble = self.holding.parcels[p].stubble;
        }
        Ok(stand)
    }

    /// The stand of a wood.
    pub(crate) fn wood(&mut self, i: usize) -> Result<Stand, Unknown> {
        let wood = &self.holding.woods[i];
        let mut stand = wood_stand(i, wood, self.year, self.altitude_m(&wood.shape), &mut self.reader)?;
        if let Some(p) = self.parcel_of(&wood.shape) {
            stand.ewes_per_ha = self.grazing.ewes_per_ha[p];
        }
        Ok(stand)
    }

    /// Heights of the sticks in a patch; a stick where patches overlap counts for the last of them.
    fn sticks(&self, i: usize) -> Vec<f32> {
        use geo::BoundingRect;
        let Some(b) = self.holding.patches[i].shape.bounding_rect() else { return Vec::new() };
        let near = |s: &&holding::Stick| s.at.x() >= b.min().x && s.at.x() <= b.max().x && s.at.y() >= b.min().y && s.at.y() <= b.max().y;
        self.holding.sticks.iter().filter(near).filter(|s| self.patches.holding_point(s.at) == Some(i)).map(|s| s.height_cm).collect()
    }
}

/// What had to be assumed, in words.
fn assumed(stands: &[Stand], holding: &Holding) -> Vec<String> {
    let patches = || stands.iter().filter_map(|s| match s.feature {
        Feature::Patch(p) => Some((s, &holding.patches[p])),
        Feature::Wood(_) => None,
    });
    let none = |p: &Patch| p.covers.0.iter().all(Option::is_none);
    let class = |f: &dyn Fn(&Patch) -> bool| patches().filter(|(s, p)| s.covers_from == Origin::Class && f(p)).count();
    [
        ("no recorded covers: the habitat class fills in", class(&none)),
        ("few recorded covers: the habitat class fills in the rest", class(&|p| !none(p))),
        ("no recorded height: phase or habitat class fills in", patches().filter(|(s, _)| s.height_from == Origin::Class).count()),
        ("only coarse land cover", patches().filter(|(s, _)| s.covers_from == Origin::Coarse).count()),
        ("neither covers nor a habitat class, and count as unmapped", patches().filter(|(s, _)| s.covers_from == Origin::Missing).count()),
    ]
    .into_iter()
    .filter(|(_, count)| *count > 0)
    .map(|(what, count)| if count == 1 { format!("1 patch has {what}.") } else { format!("{count} patches have {what}.") })
    .collect()
}

fn patch_stand(i: usize, patch: &Patch, sticks: &[f32], r: &mut Reader) -> Result<Stand, Unknown> {
    let code = patch.phase1.as_deref();
    let (covers, covers_from) = covers(&patch.covers, code, patch.coarse, r);
    let enough = r.number("survey.sticks_enough")? as usize;
    let (mean, sd) = mean_sd(sticks);
    let phase = match (patch.phase, patch.heather_age_yr) {
        (Some(p), _) => Some(p),
        (None, Some(age)) => Some(phase_of_age(age, r)?),
        _ => None,
    };
    let (height_cm, height_from) = if sticks.len() >= enough {
        (mean, Origin::Sticks)
    } else if let Some(h) = patch.height_cm {
        (h, if patch.coarse { Origin::Coarse } else { Origin::Measured })
    } else if !sticks.is_empty() {
        (mean, Origin::Measured)
    } else if let (Some(p), true) = (phase, covers[Plant::Heather as usize] >= r.number("survey.phase_height_from")?) {
        (phase_height_cm(p, r)?, Origin::Class)
    } else if let Some(h) = code.and_then(|c| r.class_number(c, "height_cm")) {
        (h, if patch.coarse { Origin::Coarse } else { Origin::Class })
    } else {
        (r.class_number("B1.1", "height_cm").unwrap_or(0.0), Origin::Missing)
    };
    let (height_sd_cm, spread_from) = if sticks.len() >= enough {
        (sd, Origin::Sticks)
    } else if let Some(s) = patch.height_sd_cm {
        (s, if patch.coarse { Origin::Coarse } else { Origin::Measured })
    } else {
        // The class tells the spread as a share of the height.
        let share = code
            .and_then(|c| Some(r.class_number(c, "height_sd_cm")? / r.class_number(c, "height_cm")?.max(1.0)))
            .unwrap_or(r.number("survey.height_spread_share")?);
        (height_cm * share, if patch.coarse { Origin::Coarse } else { Origin::Class })
    };
    let wetness = match patch.wetness {
        Some(w) => w,
        None => code.and_then(|c| r.class_number(c, "wetness")).unwrap_or(0.0),
    };
    let plants_of_flush = covers[Plant::Rush as usize] + covers[Plant::SedgeGrass as usize] + covers[Plant::Moss as usize];
    let flush = patch.flush
        || code.is_some_and(|c| c.starts_with("E2"))
        || (patch.wetness.is_some() && wetness >= r.number("site.flush.wetness")? && plants_of_flush >= r.number("site.flush.plants")?);
    Ok(Stand {
        id: patch.id.clone(),
        name: if patch.name.is_empty() { patch.id.clone() } else { patch.name.clone() },
        feature: Feature::Patch(i),
        wooded: false,
        class: Class::of_patch(code, &covers, r.number("class.crop_from")?, r.number("class.bracken_from")?),
        covers,
        height_cm,
        height_sd_cm,
        wetness,
        flush,
        phase,
        heather_age_yr: patch.heather_age_yr,
        trees: Vec::new(),
        canopy: 0.0,
        open: 1.0,
        wood_age_yr: 0.0,
        tree_height_m: 0.0,
        ewes_per_ha: [0.0; 2],
        stubble: None,
        area_ha: patch.shape.unsigned_area() / 1e4,
        covers_from,
        height_from,
        spread_from,
        sticks: sticks.len(),
        cv: spreads(covers_from, height_from, spread_from, r)?,
    })
}

fn spreads(covers: Origin, height: Origin, spread: Origin, r: &mut Reader) -> Result<[f32; 3], Unknown> {
    let covers = if covers == Origin::Sticks { Origin::Measured } else { covers };
    Ok([
        r.number(&format!("survey.cv.cover.{}", covers.key()))?,
        r.number(&format!("survey.cv.height.{}", height.key()))?,
        r.number(&format!("survey.cv.height_spread.{}", spread.key()))?,
    ])
}

/// Covers as fractions: what was measured, then the class's default for groups not recorded, fitted into the
/// ground that is left.
fn covers(measured: &holding::Covers, code: Option<&str>, coarse: bool, r: &mut Reader) -> ([f32; 11], Origin) {
    let mut out = [0.0f32; 11];
    let mut sum = 0.0;
    let mut recorded = 0;
    for plant in Plant::ALL {
        if let Some(pct) = measured.of(plant) {
            out[plant as usize] = pct / 100.0;
            sum += pct / 100.0;
            recorded += 1;
        }
    }
    let Some(code) = code else {
        let origin = match (recorded, coarse) {
            (0, _) => Origin::Missing,
            (_, true) => Origin::Coarse,
            _ => Origin::Measured,
        };
        return (out, origin);
    };
    let mut defaults = [0.0f32; 11];
    let mut known = false;
    for plant in Plant::ALL {
        if measured.of(plant).is_none()
            && let Some(pct) = r.class_number(code, &format!("cover.{}", plant.key()))
        {
            defaults[plant as usize] = pct / 100.0;
            known = true;
        }
    }
    let total: f32 = defaults.iter().sum();
    let room = (1.0 - sum).max(0.0);
    let fit = if total > room && total > 0.0 { room / total } else { 1.0 };
    for (o, d) in out.iter_mut().zip(defaults) {
        *o += d * fit;
    }
    let origin = match (recorded >= 3, known || recorded > 0, coarse) {
        (_, false, _) => Origin::Missing,
        (_, _, true) => Origin::Coarse,
        (true, _, _) => Origin::Measured,
        _ => Origin::Class,
    };
    (out, origin)
}

fn phase_of_age(age_yr: f32, r: &mut Reader) -> Result<Phase, Unknown> {
    Ok(if age_yr < r.number("heather.phase.building.from")? {
        Phase::Pioneer
    } else if age_yr < r.number("heather.phase.mature.from")? {
        Phase::Building
    } else if age_yr < r.number("heather.phase.degenerate.from")? {
        Phase::Mature
    } else {
        Phase::Degenerate
    })
}

/// Height usual for a heather phase, centimetres; for pioneer heather half of its greatest.
fn phase_height_cm(phase: Phase, r: &mut Reader) -> Result<f32, Unknown> {
    match phase {
        Phase::Pioneer => Ok(r.number("heather.height.pioneer_max")? / 2.0),
        Phase::Building => r.number("heather.height.building"),
        Phase::Mature => r.number("heather.height.mature"),
        Phase::Degenerate => r.number("heather.height.degenerate"),
    }
}

fn wood_stand(i: usize, wood: &Wood, year: Option<i32>, altitude_m: Option<f32>, r: &mut Reader) -> Result<Stand, Unknown> {
    let age = match (wood.planted, year) {
        (Some(p), Some(y)) => y.saturating_sub(p).max(0) as f32,
        (Some(_), None) => 10.0,
        (None, _) => wood.stems.iter().filter_map(|s| s.age_yr).fold(0.0, f32::max),
    };
    let exposed = exposure(altitude_m, r)?;
    let mut trees = Vec::new();
    for s in &wood.stems {
        let key = s.tree.key();
        let age = s.age_yr.unwrap_or(age);
        let height_m = match s.height_m {
            Some(h) => h,
            None => tree_height_m(s.tree, age, exposed, r)?,
        };
        let crown_m = height_m * r.number(&format!("tree.crown.{key}"))?;
        trees.push(Trees {
            tree: s.tree,
            stems_per_ha: s.stems_per_ha,
            height_m,
            age_yr: age,
            // Crowns of randomly placed trees overlap: 1 - exp(-sum of crown area per ground).
            canopy: canopy(s.stems_per_ha, crown_m),
            bears: age >= r.number(&format!("tree.first_fruit.{key}"))?,
        });
    }
    let closed_part = 1.0 - wood.open_pct.unwrap_or(0.0) / 100.0;
    let computed = 1.0 - trees.iter().map(|t| 1.0 - t.canopy).product::<f32>();
    let canopy = wood.canopy_pct.map_or(computed, |c| c / 100.0);
    if computed > 0.0 {
        // A judged canopy rules; the species keep their shares of it.
        for t in &mut trees {
            t.canopy *= (canopy / computed).min(1.0 / t.canopy.max(1e-6));
        }
    }
    let code = wood.ground_phase1.as_deref();
    let recorded = wood.ground_covers.0.iter().any(Option::is_some);
    let under = code.unwrap_or(if trees.iter().any(|t| t.tree.is_plantation_conifer()) { "A1.2.2" } else { "A1.1.2" });
    let (covers, mut covers_from) = covers(&wood.ground_covers, Some(under), false, r);
    if !recorded {
        covers_from = Origin::Class;
    }
    let height_cm = r.class_number(under, "height_cm").unwrap_or(20.0);
    let height_sd_cm = r.class_number(under, "height_sd_cm").unwrap_or(10.0);
    let stems: f32 = trees.iter().map(|t| t.stems_per_ha).sum();
    let tree_height_m =
        if stems > 0.0 { trees.iter().map(|t| t.stems_per_ha * t.height_m).sum::<f32>() / stems } else { 0.0 };
    Ok(Stand {
        id: wood.id.clone(),
        name: if wood.name.is_empty() { wood.id.clone() } else { wood.name.clone() },
        feature: Feature::Wood(i),
        wooded: true,
        class: Class::of_wood(&trees, canopy, age, r.number("composition.young_forest_age_max")?, r.number("wood.canopy.closed_from")?),
        covers,
        height_cm,
        height_sd_cm,
        wetness: r.class_number(under, "wetness").unwrap_or(0.0),
        flush: false,
        phase: None,
        heather_age_yr: None,
        trees,
        canopy,
        open: 1.0 - closed_part,
        wood_age_yr: age,
        tree_height_m,
        ewes_per_ha: [0.0; 2],
        stubble: None,
        area_ha: wood.shape.unsigned_area() / 1e4,
        covers_from,
        height_from: Origin::Class,
        spread_from: Origin::Class,
        sticks: 0,
        cv: spreads(covers_from, Origin::Class, Origin::Class, r)?,
    })
}

/// Exposure 0 (sheltered) to 1 (exposed) by altitude; without a height model, half way.
fn exposure(altitude_m: Option<f32>, r: &mut Reader) -> Result<f32, Unknown> {
    let (low, high) = (r.number("tree.exposure.sheltered_below_m")?, r.number("tree.exposure.exposed_above_m")?);
    Ok(altitude_m.map_or(0.5, |a| ((a - low) / (high - low)).clamp(0.0, 1.0)))
}

/// Height of a tree at an age: `A (1 - exp(-k t))^p`, A between its sheltered and exposed figures, metres.
fn tree_height_m(tree: Tree, age_yr: f32, exposed: f32, r: &mut Reader) -> Result<f32, Unknown> {
    let key = tree.key();
    let sheltered_m = r.number(&format!("tree.height.{key}.sheltered"))?;
    let exposed_m = r.number(&format!("tree.height.{key}.exposed"))?;
    let k = r.number(&format!("tree.height.{key}.rate"))?;
    let p = r.number("tree.height.power")?;
    Ok(height_m(sheltered_m + (exposed_m - sheltered_m) * exposed, k, p, age_yr))
}

fn mean_sd(values: &[f32]) -> (f32, f32) {
    if values.is_empty() {
        return (0.0, 0.0);
    }
    let n = values.len() as f32;
    let mean = values.iter().sum::<f32>() / n;
    let var = if values.len() > 1 { values.iter().map(|v| (v - mean).powi(2)).sum::<f32>() / (n - 1.0) } else { 0.0 };
    (mean, var.sqrt())
}

/// Shapes found by point.
pub(crate) struct Shapes<'a> {
    tree: RTree<Boxed<'a>>,
}

struct Boxed<'a> {
    index: usize,
    envelope: AABB<[f64; 2]>,
    shape: &'a MultiPolygon<f64>,
}

impl RTreeObject for Boxed<'_> {
    type Envelope = AABB<[f64; 2]>;

    fn envelope(&self) -> Self::Envelope {
        self.envelope
    }
}

impl<'a> Shapes<'a> {
    /// Index shapes in order.
    pub(crate) fn new(shapes: impl Iterator<Item = &'a MultiPolygon<f64>>) -> Self {
        use geo::BoundingRect;
        let boxes = shapes
            .enumerate()
            .filter_map(|(index, shape)| {
                let b = shape.bounding_rect()?;
                let envelope = AABB::from_corners([b.min().x, b.min().y], [b.max().x, b.max().y]);
                Some(Boxed { index, envelope, shape })
            })
            .collect();
        Self { tree: RTree::bulk_load(boxes) }
    }

    /// The last shape, in order, that holds a point.
    pub(crate) fn holding_point(&self, p: Point<f64>) -> Option<usize> {
        self.tree
            .locate_in_envelope_intersecting(AABB::from_point([p.x(), p.y()]))
            .filter(|b| b.shape.contains(&p))
            .map(|b| b.index)
            .max()
    }
}

/// Grazing by parcel.
struct Grazing {
    ewes_per_ha: Vec<[f32; 2]>,
}

impl Grazing {
    /// Ewe equivalents a hectare, summer and winter, by parcel: head times daily intake over a hill ewe's.
    fn of(holding: &Holding, r: &mut Reader) -> Result<Self, Unknown> {
        let mut ewes_per_ha = vec![[0.0; 2]; holding.parcels.len()];
        for s in &holding.stock {
            let Some(p) = holding.parcels.iter().position(|p| p.id == s.parcel) else { continue };
            let ha = (holding.parcels[p].shape.unsigned_area() / 1e4) as f32;
            if ha <= 0.0 {
                continue;
            }
            let ewes = r.number(intake_key(s.class))? / r.number(intake_key(StockClass::HillEwe))?;
            let mean = |months: &[usize]| months.iter().map(|m| s.head[*m]).sum::<f32>() / months.len() as f32;
            ewes_per_ha[p][0] += ewes * mean(&[4, 5, 6, 7, 8]) / ha;
            ewes_per_ha[p][1] += ewes * mean(&[10, 11, 0, 1, 2]) / ha;
        }
        Ok(Self { ewes_per_ha })
    }
}

/// The guidance key of a class's daily intake, young at foot included.
fn intake_key(class: StockClass) -> &'static str {
    match class {
        StockClass::HillEwe => "intake.hill_ewe.year_mean",
        StockClass::HeavyEwe => "intake.heavy_ewe",
        StockClass::Hogg => "intake.hogg",
        StockClass::Cow => "intake.suckler_cow_and_calf",
        StockClass::Store => "intake.store_cattle",
        StockClass::Pony => "intake.pony",
        StockClass::RedDeer => "intake.red_hind",
    }
}
