//! The sheet of stick heights: which stands, how many sticks, and where each stands.
//!
//! Stands are taken in the order of the hectares their height costs the leks in the ledger, times how unsure that height is; stands that
//! cost nothing come after, by area times the same. Where leks are withheld only ground outside their kilometre squares is measured.

use super::points::{self, spread};
use super::sources::Sources;
use super::{day_of_year, named};
use crate::map::{Scene, look};
use crate::pack::{Fault, Pack};
use crate::secrecy::Secrecy;
use crate::words;
use chrono::Datelike;
use geo::{Area as _, Contains};
use geo_types::{MultiPolygon, Point};
use ground::overlay::distance_to_area_m;
use habitat::state::Origin;
use habitat::{Cause, Class, Feature, Season, Stand, State};
use holding::model::{AreaKind, Patch};
use holding::Holding;
use serde::Serialize;

/// The columns of the file beside those of the place.
const COLUMNS: [&str; 3] = ["height_cm", "date", "note"];

/// Figures of a grid reference that tells ten metres.
const FIGURES: usize = 8;

/// What the sheet says.
#[derive(Debug, Serialize)]
pub struct Sticks {
    /// The columns of the file.
    pub header: String,
    how: Vec<String>,
    stands: Vec<Sheet>,
    left_out: Vec<String>,
    sources: Vec<String>,
}

impl Sticks {
    /// Stands put forward.
    pub fn stands(&self) -> usize {
        self.stands.len()
    }
}

/// One stand.
#[derive(Debug, Serialize)]
struct Sheet {
    title: String,
    what: String,
    height: String,
    why: String,
    sticks: String,
    places: Vec<String>,
    map: Option<String>,
}

/// A stand to measure and where.
#[derive(Clone, Debug)]
pub struct Chosen<'a> {
    /// The patch, as it may be shown.
    pub patch: &'a Patch,
    /// Its state.
    pub stand: &'a Stand,
    /// Scatter of heights, standard deviation as a share of the mean.
    pub cv: f64,
    /// Sticks wanted.
    pub wanted: usize,
    /// Places, in walking order; fewer than wanted where there is no room.
    pub places: Vec<Point<f64>>,
}

/// What sticks are reckoned by.
struct Rules {
    precision: f64,
    level: f64,
    least: usize,
    most: usize,
    enough: usize,
    edge_m: f64,
    stands: usize,
}

impl Rules {
    fn of(pack: &Pack) -> Result<Self, Fault> {
        let number = |key: &str| pack.guidance.number(key, pack.holding.about.country);
        Ok(Self {
            precision: number("monitoring.height.precision")? / 100.0,
            level: number("trend.certainty")? / 100.0,
            least: number("monitoring.height.least")? as usize,
            most: number("monitoring.height.most")? as usize,
            enough: number("survey.sticks_enough")? as usize,
            edge_m: number("monitoring.height.edge")?,
            stands: number("monitoring.height.stands")? as usize,
        })
    }
}

/// Stands worth measuring, the most first, and how many worth it have no room for sticks or lie where leks are withheld.
///
/// # Errors
/// A figure that guidance does not hold.
pub fn chosen<'a>(pack: &Pack, public: &'a Holding, state: &'a State) -> Result<(Vec<Chosen<'a>>, usize), Fault> {
    let rules = Rules::of(pack)?;
    let default_cv = pack.guidance.number("survey.height_spread_share", pack.holding.about.country)?;
    let mut ranked: Vec<(f64, f64, &Stand)> = state.stands.iter().filter(|s| open(pack.holding, s)).map(|s| (lost_ha(pack, &s.id) * f64::from(s.cv[1]), s.area_ha * f64::from(s.cv[1]), s)).collect();
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1)).then_with(|| a.2.id.cmp(&b.2.id)));
    let (mut out, mut no_room) = (vec![], 0);
    for (_, _, stand) in ranked {
        if out.len() == rules.stands {
            break;
        }
        let own = f64::from(stand.height_sd_cm) / f64::from(stand.height_cm);
        let cv = if own.is_finite() && own > 0.0 { own } else { default_cv };
        let wanted = points::needed(cv, rules.precision, rules.level, rules.most).max(rules.least);
        let placed = public.patches.iter().enumerate().find(|(_, p)| p.id == stand.id).map(|(i, patch)| (patch, places(public, i, wanted, rules.edge_m)));
        match placed {
            Some((patch, places)) if places.len() >= rules.enough => out.push(Chosen { patch, stand, cv, wanted, places }),
            _ => no_room += 1,
        }
    }
    Ok((out, no_room))
}

/// Whether a stand is open ground of the holding that was walked and is no crop.
fn open(holding: &Holding, stand: &Stand) -> bool {
    let Feature::Patch(i) = stand.feature else { return false };
    !holding.patches[i].coarse && !matches!(stand.class, Class::Arable | Class::Other)
}

/// Causes of loss that a height decides.
fn of_height(cause: Cause) -> bool {
    matches!(cause, Cause::TooShort | Cause::TooTall | Cause::Uniform)
}

/// What the height of a stand costs all leks in all seasons, hectares.
fn lost_ha(pack: &Pack, id: &str) -> f64 {
    let losses = pack.assessment.leks.iter().flat_map(|l| &l.seasons).flat_map(|s| &s.losses).filter(|l| of_height(l.cause));
    losses.flat_map(|l| &l.stands).filter(|s| s.id == id).map(|s| s.ha).sum()
}

/// The seasons in which it costs any. That of display, whose ground lies close round a lek, is not told where leks are withheld.
fn seasons(pack: &Pack, secrecy: &Secrecy, id: &str) -> Vec<Season> {
    let costs = |season: &Season| {
        let losses = pack.assessment.leks.iter().flat_map(|l| &l.seasons).filter(|s| s.season == *season).flat_map(|s| &s.losses);
        losses.filter(|l| of_height(l.cause)).flat_map(|l| &l.stands).any(|s| s.id == id)
    };
    Season::ALL.into_iter().filter(|s| *s != Season::Display || !secrecy.withheld()).filter(costs).collect()
}

/// Places for sticks in a patch: on the holding, clear of its edges, of ground to be left alone and of patches mapped over it.
fn places(holding: &Holding, i: usize, wanted: usize, edge_m: f64) -> Vec<Point<f64>> {
    let patch = &holding.patches[i];
    let clear = |p: Point<f64>, shape: &MultiPolygon<f64>| distance_to_area_m(p.0, shape) >= edge_m;
    let on_holding = |p: Point<f64>| holding.boundary.as_ref().is_none_or(|b| b.contains(&p) && points::outlines_m(b, p) >= edge_m);
    let alone = |p: Point<f64>| holding.areas.iter().filter(|a| a.kind == AreaKind::NoGo).all(|a| clear(p, &a.shape));
    let woods = |p: Point<f64>| !holding.woods.iter().any(|w| w.shape.contains(&p));
    let over = |p: Point<f64>| holding.patches[i + 1..].iter().any(|other| other.shape.contains(&p));
    spread(&patch.shape, wanted, edge_m, &patch.id, |p| on_holding(p) && alone(p) && woods(p) && !over(p))
}

/// The sheet, with its maps by file name.
///
/// # Errors
/// A figure that guidance does not hold.
pub fn of(pack: &Pack, secrecy: &Secrecy, public: &Holding, scene: Option<&Scene>) -> Result<(Sticks, Vec<(String, String)>), Fault> {
    let rules = Rules::of(pack)?;
    let mut sources = Sources::new(pack.guidance, pack.holding.about.country);
    let how = how(pack, &rules, &mut sources)?;
    let state = State::surveyed(pack.holding, pack.guidance)?;
    let (chosen, no_room) = chosen(pack, public, &state)?;
    let (mut stands, mut pictures) = (vec![], vec![]);
    for (i, one) in chosen.iter().enumerate() {
        let map = scene.map(|scene| (format!("stand-{i}.svg"), scene.field(&[(String::new(), one.patch.shape.clone())], &one.places, 84.0, 61.0).svg));
        stands.push(sheet(pack, secrecy, &rules, &mut sources, i, one, map.as_ref().map(|(name, _)| name.clone()))?);
        pictures.extend(map);
    }
    let mut left_out = vec![];
    if no_room > 0 {
        let many = words::things(no_room, "stand that would have come before has", "stands that would have come before have");
        let veiled = if secrecy.withheld() && !pack.holding.leks.is_empty() { ", or lies in a kilometre square of a lek, where no stick is placed while leks are withheld: the keeper of the plan can print those" } else { "" };
        left_out.push(format!("{} no room for {} sticks clear of edges{veiled}.", words::capital(&many), rules.enough));
    }
    if stands.is_empty() {
        left_out.push("No stand of the plan has room for sticks: survey vegetation first, and import it as patches.".to_owned());
    }
    let national = pack.holding.about.epsg == 27700;
    let place = if national { "grid_ref" } else { "easting,northing" };
    let header = [place].into_iter().chain(COLUMNS).collect::<Vec<_>>().join(",");
    Ok((Sticks { header, how, stands, left_out, sources: sources.into_list() }, pictures))
}

fn how(pack: &Pack, rules: &Rules, sources: &mut Sources) -> Result<Vec<String>, Fault> {
    let day = |key| pack.guidance.month_day(key, pack.holding.about.country).map(day_of_year);
    let season = format!("From {} to {}, the same weeks every year {}.", day("monitoring.height.first")?, day("monitoring.height.last")?, sources.mark(&["monitoring.height.first", "monitoring.height.last"])?);
    let (precision, certainty) = (sources.mark(&["monitoring.height.precision"])?, sources.mark(&["trend.certainty"])?);
    let bounds = sources.mark(&["monitoring.height.least", "monitoring.height.most"])?;
    Ok(vec![
        season,
        "At each place: stand the stick where your boot is, look along the top of what touches it, write whole centimetres. Nothing there, write 0. Do not choose a better spot.".to_owned(),
        sources.sentence("monitoring.height.stick")?,
        format!(
            "How many: (t x spread / precision) squared, t by Student; the mean to {:.0} % of itself {precision} at {:.0} % certainty {certainty}; from {} to {} a stand {bounds}.",
            rules.precision * 100.0,
            rules.level * 100.0,
            rules.least,
            rules.most
        ),
        format!(
            "Where: an even grid from a drawn start, each place the middle of the ten-metre square of its reference, {:.0} m or more from edges {}. Under {} sticks in a stand are kept but its mean is not taken from them {}.",
            rules.edge_m,
            sources.mark(&["monitoring.height.edge"])?,
            rules.enough,
            sources.mark(&["survey.sticks_enough"])?
        ),
        format!("Up to {} stands, those first whose height costs the birds most and is least sure {}.", rules.stands, sources.mark(&["monitoring.height.stands"])?),
    ])
}

fn sheet(pack: &Pack, secrecy: &Secrecy, rules: &Rules, sources: &mut Sources, i: usize, one: &Chosen, map: Option<String>) -> Result<Sheet, Fault> {
    let stand = one.stand;
    // A name that would tell of a lek is not put beside references.
    let told = |text: &str| if secrecy.words(text) == text { named(text) } else { String::new() };
    let (name, id) = (told(&one.patch.name), told(&one.patch.id));
    let title = match (name.is_empty(), id.is_empty()) {
        (false, false) if name != id => format!("{}. {name} ({id})", i + 1),
        (true, true) => format!("Stand {}", i + 1),
        (true, false) => format!("{}. {id}", i + 1),
        _ => format!("{}. {name}", i + 1),
    };
    let what = format!("{}, {} ha", look::of_patch(one.patch).words(), words::hectares(one.patch.shape.unsigned_area() / 10_000.0));
    let costs: Vec<String> = seasons(pack, secrecy, &stand.id).into_iter().map(|s| s.name().to_owned()).collect();
    let why = if costs.is_empty() { String::new() } else { format!("Its height costs the birds ground in these seasons: {}.", words::list(&costs)) };
    let spread_from = spread_from(pack, stand, sources)?;
    let reached = points::told(one.cv, one.places.len(), rules.level) * 100.0;
    let sticks = format!("{} sticks, at a spread of {:.0} % of the mean {spread_from}: the mean to {reached:.0} %.", one.places.len(), one.cv * 100.0);
    let short = if one.places.len() < one.wanted { format!(" {} are wanted; there is no room for more.", one.wanted) } else { String::new() };
    let places = one.places.iter().map(|p| secrecy.grid_reference(*p, FIGURES)).collect();
    Ok(Sheet { title, what, height: height(pack, rules, stand), why, sticks: sticks + &short, places, map })
}

/// The height taken now, and where it is from.
fn height(pack: &Pack, rules: &Rules, stand: &Stand) -> String {
    let patch = match stand.feature {
        Feature::Patch(i) => pack.holding.patches.get(i),
        Feature::Wood(_) => None,
    };
    let inside = |p: &&holding::Stick| patch.is_some_and(|patch| patch.shape.contains(&p.at));
    let newest = if stand.sticks > 0 { pack.holding.sticks.iter().filter(inside).filter_map(|s| s.date).max() } else { None };
    let of = newest.map_or_else(String::new, |day| format!(", newest of {}", day.year()));
    let from = match (stand.height_from, stand.sticks) {
        (Origin::Sticks, n) => format!("by {n} sticks{of}"),
        (Origin::Measured, 0) => "as recorded, without sticks".to_owned(),
        (Origin::Measured, n) => format!("as recorded; {n} sticks{of}, fewer than {}", rules.enough),
        (Origin::Class, _) => "from its habitat class or heather phase: never measured".to_owned(),
        (Origin::Coarse | Origin::Missing, _) => "not known: a guess stands for it".to_owned(),
    };
    format!("Taken as {:.0} cm, {from}.", stand.height_cm)
}

/// Where the scatter of a stand's heights comes from: the stand itself, or the mark of a source.
fn spread_from(pack: &Pack, stand: &Stand, sources: &mut Sources) -> Result<String, Fault> {
    let by_class = || {
        let Feature::Patch(i) = stand.feature else { return None };
        let key = format!("phase1.{}.height_sd_cm", pack.holding.patches.get(i)?.phase1.as_deref()?);
        pack.guidance.find(&key, pack.holding.about.country).map(|_| key)
    };
    Ok(match stand.spread_from {
        Origin::Sticks => "(its own sticks)".to_owned(),
        Origin::Measured => "(as recorded)".to_owned(),
        _ => match by_class() {
            Some(key) => sources.mark(&[&key])?,
            None => sources.mark(&["survey.height_spread_share"])?,
        },
    })
}
