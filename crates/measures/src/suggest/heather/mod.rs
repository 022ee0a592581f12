//! A rotation for old heather: which small patches to cut or burn in which year, neighbours years apart, nest cover kept in every block.
//!
//! Patches are laid over the heather that may be worked and tried in the first, the middle and the last year of the plan against the
//! years ahead ([`habitat::ahead::trial`]); years between lie on the lines between. An integer program ([`solve::rotation`]) then chooses patch and
//! year, with a bound on what any other choice of the same patches could reach. A patch is worth what it adds to the needs met by
//! itself and, beside that, `design.heather.worth` for every hectare of old heather brought into the rotation: an assumption, told apart
//! from the needs in every answer.

pub mod ground;
pub mod patches;

use super::design::{Horizon, changes, gain};
use super::wood::grow::Grown;
use super::wood::DesignError;
use super::Suggested;
use crate::kind::{self, Quantity};
use crate::rules::Context;
use crate::rules::brood_ground::share_above;
use solve::pack::{Options, PackError, Status};
use solve::rotation::{Block, Patch, Rotation, RunCap};
use chrono::Datelike;
use geo_types::MultiPolygon;
use guidance::Unknown;
use habitat::ahead::Programme;
use habitat::ahead::trial::{BySeason, Place, Trials};
use habitat::ahead::variant::cells;
use habitat::state::Stand;
use holding::{Extra, Measure};
use patches::Square;
use serde::Serialize;
use serde_json::json;
use std::collections::HashMap;

/// How the heather is worked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Work {
    /// Cut with a tractor.
    Cut,
    /// Cut with a tracked machine.
    CutTracked,
    /// Burnt.
    Burn,
}

impl Work {
    /// The figure of the steepest ground it goes on; burning has two, by wetness.
    fn slope_key(self) -> &'static str {
        match self {
            Work::Cut => "heather.cutting.slope.tractor",
            Work::CutTracked => "heather.cutting.slope.tracked",
            Work::Burn => "heather.burning.slope_dry",
        }
    }

    fn facts(self) -> Extra {
        let (work, machine) = match self {
            Work::Cut => ("cut", Some("tractor")),
            Work::CutTracked => ("cut", Some("tracked")),
            Work::Burn => ("burn", None),
        };
        let mut facts: Extra = [("work".to_string(), json!(work))].into_iter().collect();
        facts.extend(machine.map(|m| ("machine".to_string(), json!(m))));
        facts
    }
}

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Ask {
    /// Cut or burn.
    pub work: Work,
    /// Years planned, from the plan's next year on; at least 1.
    pub years: u32,
    /// Least and greatest patch, hectares.
    pub size_ha: (f64, f64),
    /// Years in which all of the heather that may be worked would be worked once; sets the most of a year.
    pub rotation_yr: f64,
    /// What a hectare brought into the rotation is worth beside the needs it meets, lek-season-years.
    pub worth_per_ha: f64,
    /// About the most patches tried.
    pub tried: usize,
    /// Ground to be planted, kept clear of like woods that stand.
    pub woods: Vec<MultiPolygon<f64>>,
    /// Seed of the patches.
    pub seed: u64,
    /// Search settings.
    pub search: Options,
}

impl Ask {
    /// What is usually asked for.
    ///
    /// # Errors
    /// A figure the tables lack.
    pub fn usual(c: &Context, work: Work) -> Result<Ask, Unknown> {
        let size = c.guidance.row("heather.patch.size", c.holding.about.country)?;
        let middle = c.number("heather.patch.size")?;
        Ok(Ask {
            work,
            years: c.number("design.heather.years")?.round().max(1.0) as u32,
            size_ha: (size.low.unwrap_or(middle), size.high.unwrap_or(middle)),
            rotation_yr: c.number("heather.rotation.traditional")?,
            worth_per_ha: c.number("design.heather.worth")?,
            tried: 250,
            woods: Vec::new(),
            seed: 1,
            search: Options::default(),
        })
    }
}

/// Heights over a block: its mean, and the parts above and below what the guidance calls long and short.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Heights {
    /// Mean, centimetres.
    pub mean_cm: f64,
    /// Part of the heather that is long, 0 to 1.
    pub long: f64,
    /// Part that is short, 0 to 1.
    pub short: f64,
}

/// A block and what is done in it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BlockTold {
    /// Its name, such as `block 3`.
    pub name: String,
    /// Heather in it, hectares.
    pub heather_ha: f64,
    /// Worked within the plan, hectares.
    pub worked_ha: f64,
    /// Heights now.
    pub now: Heights,
    /// Heights in the year after the plan that is told.
    pub then: Heights,
    /// Why nothing may be worked in it, in words; empty where something may.
    pub left: String,
}

/// A rotation.
pub struct Design {
    /// Patches in the order of their years.
    pub suggested: Vec<Suggested>,
    /// What each changes by itself, by year of the horizon, lek and season, usable hectares.
    pub effects: Vec<BySeason>,
    /// Worth of the choice: needs met and hectares.
    pub objective: f64,
    /// No other choice of the same patches is worth more.
    pub upper_bound: f64,
    /// How far it is from the bound, as a share of it.
    pub gap: f64,
    /// How the search ended.
    pub status: Status,
    /// Of the worth, what the patches add to the needs met, one by one, lek-season-years.
    pub needs: f64,
    /// Patches tried.
    pub tried: usize,
    /// Hectares worked, by year of the plan.
    pub area_ha: Vec<f64>,
    /// The most hectares a year.
    pub cap_ha: f64,
    /// Blocks.
    pub blocks: Vec<BlockTold>,
    /// The year in which the blocks' heights are told, counted from now.
    pub then_year: u32,
    /// What barred heather, in words, with hectares.
    pub barred: Vec<(String, f64)>,
    /// Heather in all, hectares.
    pub heather_ha: f64,
    /// Heather that may be worked, hectares.
    pub free_ha: f64,
}

/// The most of a year over the mean of the years.
const UNEVEN: f64 = 1.2;

/// Plan a rotation. `stop` ends the search early, with the bound it has by then.
///
/// # Errors
/// [`DesignError`].
pub fn suggest(c: &Context, ask: &Ask, stop: &dyn Fn() -> bool) -> Result<Design, DesignError> {
    let heather = ground::heather(c)?;
    let ground = ground::eligible(c, ask.work, &ask.woods)?;
    let ha = |cells: usize| cells as f64 * ground.frame.cell_ha();
    let free_ha = ha(ground.free.iter().filter(|f| **f).count());
    let squares = patches::squares(c, &heather)?;
    let heather_ha = ha(squares.iter().map(|s| s.cells.len()).sum());
    let grown = patches::patches(&ground, ask.size_ha, ask.tried, ask.seed);
    if grown.is_empty() {
        let why: Vec<String> = ground.barred.iter().map(|(why, ha)| format!("{why} {ha:.0} ha")).collect();
        return Err(DesignError::NoRoom {
            found: format!("{heather_ha:.0} ha of surveyed heather, {free_ha:.1} ha of it free to work ({})", if why.is_empty() { "no heather is mapped".into() } else { why.join("; ") }),
            what: format!("heather for patches of {} to {} ha", ask.size_ha.0, ask.size_ha.1),
            hint: "survey the heather with cover and height, ask for smaller patches, or cut where burning is barred".to_string(),
        });
    }
    let horizon = Horizon::read(c)?;
    let mut trials = Trials::new(c.assessed, c.holding, c.guidance, Vec::new(), &horizon.years)?;
    let terms = horizon.terms(&trials.now, &trials.need);
    let years = ask.years.max(1);
    let recipes: Vec<usize> = (1..=years).map(|year| recipe(c, ask, year).map(|r| trials.add(vec![r]))).collect::<Result<_, Unknown>>()?;
    let on: Vec<Vec<u32>> = grown.iter().map(|g| cells(&ground.frame, &g.outline)).collect();
    let gains = gains(&mut trials, &on, &recipes, |effect| gain(&terms, effect))?;
    let blocks = blocks(c, ask, &squares)?;
    let square_of: HashMap<u32, usize> = squares.iter().enumerate().flat_map(|(n, s)| s.cells.iter().map(move |cell| (*cell, n))).collect();
    let patches: Vec<Patch> = grown
        .iter()
        .zip(&on)
        .zip(&gains)
        .map(|((g, cells), by_year)| {
            // A patch counts to the block it lies most in, and is left where it would take from one that is left.
            let mut in_squares: HashMap<usize, usize> = HashMap::new();
            cells.iter().filter_map(|cell| square_of.get(cell)).for_each(|n| *in_squares.entry(*n).or_default() += 1);
            let block = in_squares.iter().max_by_key(|(n, cells)| (**cells, std::cmp::Reverse(**n))).map(|(n, _)| *n);
            let bare = block.is_none() || in_squares.keys().any(|n| !blocks[*n].left.is_empty());
            let gain = by_year.iter().map(|v| if bare { f64::NEG_INFINITY } else { v + ask.worth_per_ha * g.ha }).collect();
            Patch { area_ha: g.ha, gain, block }
        })
        .collect();
    let cap_ha = (free_ha / ask.rotation_yr.max(1.0)).max(ask.size_ha.1);
    let apart_yr = c.number("rule.heather.neighbour_years")?.round().max(1.0) as usize;
    let mut rotation = Rotation {
        patches,
        cap_ha: vec![cap_ha; years as usize],
        touching: patches::neighbours(&grown, c.number("rule.heather.neighbour")?),
        gap_years: apart_yr - 1,
        blocks: blocks.iter().map(|b| b.limits.clone()).collect(),
    };
    let mut plan = rotation.solve(&ask.search, stop).map_err(|e: PackError| DesignError::from(e))?;
    // Harm counts less the later it comes, and would heap the work up at the end: a keeper's years are to be alike.
    let even_ha = (UNEVEN * plan.area_ha.iter().sum::<f64>() / f64::from(years)).max(ask.size_ha.1);
    let cap_ha = if even_ha < cap_ha {
        rotation.cap_ha = vec![even_ha; years as usize];
        plan = rotation.solve(&ask.search, stop).map_err(|e: PackError| DesignError::from(e))?;
        even_ha
    } else {
        cap_ha
    };
    // What is chosen is tried once more in its own year.
    let mut chosen: Vec<(u32, usize)> = plan.year.iter().enumerate().filter_map(|(i, y)| y.map(|y| (y as u32 + 1, i))).collect();
    chosen.sort_unstable();
    let places: Vec<Place> = chosen.iter().map(|(year, i)| Place { cells: on[*i].clone(), recipe: recipes[*year as usize - 1] }).collect();
    let effects = trials.effects(&places)?;
    let needs = effects.iter().map(|e| gain(&terms, e)).sum();
    let mut suggested = Vec::new();
    for (n, ((year, i), effect)) in chosen.iter().zip(&effects).enumerate() {
        let block = rotation.patches[*i].block.map_or(String::new(), |b| format!("{}, ", blocks[b].name));
        let cm = mean(on[*i].iter().filter_map(|cell| stand(c, *cell)).map(|s| f64::from(s.height_cm)));
        let mut measure = measure(c, ask, &grown[*i], n + 1, *year);
        if ask.work != Work::Burn {
            // The season of a fire is the country's and its licence's to tell.
            measure.facts.insert("month".to_string(), json!(super::months_from(c, "heather.cutting.first")?));
        }
        let entry = kind::find("heather").unwrap_or(kind::all()[0]);
        suggested.push(Suggested {
            why: format!("{block}year {year}: heather of {cm:.0} cm; {}", changes(c, effect)),
            gbp: kind::cost::total(&(entry.costs)(c, &measure)?),
            figures: vec![
                Quantity { what: "area".to_string(), amount: grown[*i].ha, unit: "ha" },
                Quantity { what: "needs met more, by itself".to_string(), amount: gain(&terms, effect), unit: "lek-season-years" },
            ],
            measure,
        });
    }
    let then = horizon.years.iter().position(|y| *y >= years).unwrap_or(horizon.years.len() - 1);
    let worked: HashMap<u32, usize> = places.iter().flat_map(|p| p.cells.iter().map(|cell| (*cell, p.recipe))).collect();
    let told = told(c, &squares, &blocks, &trials, &worked, then)?;
    Ok(Design {
        suggested,
        objective: plan.answer.value,
        upper_bound: plan.answer.upper_bound,
        gap: plan.answer.gap,
        status: plan.answer.status,
        needs,
        effects,
        tried: grown.len(),
        area_ha: plan.area_ha,
        cap_ha,
        blocks: told,
        then_year: horizon.years[then],
        barred: ground.barred,
        heather_ha,
        free_ha,
    })
}

fn stand<'a>(c: &Context<'a>, cell: u32) -> Option<&'a Stand> {
    c.stands().get(c.assessed.layout.stand_of.cells[cell as usize] as usize)
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (n, sum) = values.fold((0usize, 0.0), |(n, sum), v| (n + 1, sum + v));
    if n > 0 { sum / n as f64 } else { 0.0 }
}

/// The work of a year of the plan.
fn recipe(c: &Context, ask: &Ask, year: u32) -> Result<habitat::ahead::Work, Unknown> {
    let measure = Measure { id: format!("year {year}"), kind: "heather".to_string(), facts: ask.work.facts(), ..Measure::default() };
    let mut programme = Programme::default();
    (kind::find("heather").unwrap_or(kind::all()[0]).works)(c, &measure, &mut programme)?;
    Ok(habitat::ahead::Work { year, ..programme.works.swap_remove(0) })
}

/// What each patch adds in each year: tried in the first, the middle and the last, the years between on the lines between.
fn gains(trials: &mut Trials, on: &[Vec<u32>], recipes: &[usize], gain: impl Fn(&BySeason) -> f64) -> Result<Vec<Vec<f64>>, Unknown> {
    let mut anchors = vec![0, (recipes.len() - 1) / 2, recipes.len() - 1];
    anchors.dedup();
    let places: Vec<Place> = on.iter().flat_map(|cells| anchors.iter().map(|a| Place { cells: cells.clone(), recipe: recipes[*a] })).collect();
    let tried: Vec<f64> = trials.effects(&places)?.iter().map(gain).collect();
    let between = |at: &[f64], year: usize| {
        let next = anchors.iter().position(|a| *a >= year).unwrap_or(anchors.len() - 1);
        let (Some(before), after) = (next.checked_sub(1), anchors[next]) else { return at[0] };
        let share = (year - anchors[before]) as f64 / (after - anchors[before]) as f64;
        at[before] + share * (at[next] - at[before])
    };
    Ok(tried.chunks(anchors.len()).map(|at| (0..recipes.len()).map(|year| between(at, year)).collect()).collect())
}

/// A block with its limits.
struct Limits {
    name: String,
    now: Heights,
    left: String,
    limits: Block,
}

/// Limits of every square of heather: nest cover kept, and no more than a share worked within five years.
fn blocks(c: &Context, ask: &Ask, squares: &[Square]) -> Result<Vec<Limits>, Unknown> {
    let mean_min = c.number("structure.heather.block_mean_min")?;
    let part = c.number("rule.heather.part_share")?;
    let keep = c.number("design.heather.keep_back")? / 100.0;
    let share_5 = c.number("heather.patch.share_5_years")? / 100.0;
    let stubble_cm = if ask.work == Work::Burn { 0.0 } else { c.number("heather.cutting.height")? };
    let levels = levels(c)?;
    let mut out = Vec::new();
    for (n, square) in squares.iter().enumerate() {
        let area_ha = square.cells.len() as f64 * c.assessed.layout.frame.cell_ha();
        let now = heights(square.cells.iter().filter_map(|cell| stand(c, *cell)), levels);
        let name = format!("block {}", n + 1);
        // So much may be worked that the block would keep its mean even if all of it had just been worked, and its part that is long.
        let by_mean = if now.mean_cm > mean_min { (now.mean_cm - mean_min) / (now.mean_cm - stubble_cm).max(1e-9) } else { 0.0 };
        let by_long = if now.long > part { 1.0 - part / now.long } else { 0.0 };
        let may = by_mean.min(by_long).min(1.0 - keep).max(0.0);
        let left = if now.mean_cm <= mean_min {
            format!("it stands at {:.0} cm on average, and {mean_min:.0} cm is the least: let it grow", now.mean_cm)
        } else if now.long <= part {
            format!("no more than {:.0} % of it is long enough for nests: let it grow", 100.0 * now.long)
        } else {
            String::new()
        };
        let limits = Block { name: name.clone(), area_ha, keep_back_share: 1.0 - may, run_cap: Some(RunCap { years: FIVE, area_ha: share_5 * area_ha }) };
        out.push(Limits { name, now, left, limits });
    }
    Ok(out)
}

/// Years over which `heather.patch.share_5_years` speaks.
const FIVE: usize = 5;

/// Heights above which heather is long and below which it is short, centimetres.
fn levels(c: &Context) -> Result<[f64; 2], Unknown> {
    Ok([c.number("structure.heather.tall")?, c.number("structure.heather.short")?])
}

fn heights<'s>(stands: impl Iterator<Item = &'s Stand>, [tall_cm, short_cm]: [f64; 2]) -> Heights {
    let mut n = 0usize;
    let mut sum = Heights::default();
    for s in stands {
        n += 1;
        sum.mean_cm += f64::from(s.height_cm);
        sum.long += share_above(s, tall_cm);
        sum.short += 1.0 - share_above(s, short_cm);
    }
    let n = n.max(1) as f64;
    Heights { mean_cm: sum.mean_cm / n, long: sum.long / n, short: sum.short / n }
}

/// Every block as it stands now and after the plan.
fn told(c: &Context, squares: &[Square], blocks: &[Limits], trials: &Trials, worked: &HashMap<u32, usize>, then: usize) -> Result<Vec<BlockTold>, Unknown> {
    let levels = levels(c)?;
    let ha = c.assessed.layout.frame.cell_ha();
    let by_itself = trials.stands(then);
    let under = &c.assessed.layout.stand_of.cells;
    Ok(squares
        .iter()
        .zip(blocks)
        .map(|(square, block)| {
            let after = square.cells.iter().filter_map(|cell| {
                let stand = under[*cell as usize];
                match worked.get(cell).and_then(|recipe| trials.grown(*recipe, stand)) {
                    Some(states) => states.get(then),
                    None => by_itself.get(stand as usize),
                }
            });
            BlockTold {
                name: block.name.clone(),
                heather_ha: square.cells.len() as f64 * ha,
                worked_ha: square.cells.iter().filter(|cell| worked.contains_key(cell)).count() as f64 * ha,
                now: block.now,
                then: heights(after, levels),
                left: block.left.clone(),
            }
        })
        .collect())
}

fn measure(c: &Context, ask: &Ask, grown: &Grown, patch_no: usize, year: u32) -> Measure {
    let mut facts = ask.work.facts();
    facts.insert("patch_no".to_string(), json!(patch_no.to_string()));
    Measure {
        id: format!("heather {patch_no}"),
        option: 0,
        kind: "heather".to_string(),
        year: c.today.map(|d| d.year() + year as i32),
        shape: grown.outline.clone(),
        facts,
        ..Measure::default()
    }
}
