//! Where small ragged native woods would do most: outlines grown on the ground that is free, tried against the years ahead, and the
//! best set of them chosen with a bound on what any other set of the same outlines could do.
//!
//! A wood is tried by itself ([`habitat::ahead::trial`]); effects of several are added up, which holds as far as they lie apart: outlines
//! nearer than the spacing asked for exclude each other. What the chosen set does together, on every draw, is for the forecast to
//! say afterwards; the bound is one on the sum.

pub mod grow;
pub mod ground;
pub mod species;

use super::design::{Horizon, changes, deltas};
use super::Suggested;
use crate::kind::{self, Quantity};
use crate::rules::Context;
use solve::choose::{Candidate, Choice, Chosen};
use solve::pack::{Options, PackError};
use chrono::Datelike;
use grow::{Form, Grown};
use guidance::Unknown;
use habitat::ahead::trial::{BySeason, Place, Trials};
use habitat::ahead::variant::cells;
use habitat::ahead::{Programme, Work};
use holding::{Extra, Measure, Tree};
use serde_json::json;
use std::collections::HashMap;

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Ask {
    /// Size and shape of a wood.
    pub form: Form,
    /// The most ground in all, hectares.
    pub area_ha: f64,
    /// The most money, pounds at the usual rates; `None`: no limit.
    pub budget_gbp: Option<f64>,
    /// Least distance between two woods, metres.
    pub spacing_m: f64,
    /// The most outlines tried.
    pub tried: usize,
    /// Whether in-bye fields may be planted.
    pub fields: bool,
    /// Years from the plan's day in which the woods are planted, at least 1.
    pub year: u32,
    /// Seed of the outlines.
    pub seed: u64,
    /// Search settings.
    pub search: Options,
}

impl Ask {
    /// What is usually asked for: block sizes and shapes of the guidance, a share of the holding.
    ///
    /// # Errors
    /// A figure the tables lack.
    pub fn usual(c: &Context) -> Result<Ask, Unknown> {
        use geo::Area;
        let land_ha = c.holding.boundary.as_ref().map_or(0.0, |b| b.unsigned_area() / 1e4);
        Ok(Ask {
            form: Form {
                size_ha: (c.number("practice.wood.block_low")?, c.number("practice.wood.block_high")?),
                shape: (c.number("rule.planting.shape_min")?, c.number("design.wood.shape_max")?),
            },
            area_ha: (land_ha * c.number("design.wood.share")? / 100.0).max(c.number("practice.wood.block_high")?),
            budget_gbp: None,
            spacing_m: c.number("design.wood.spacing")?,
            tried: 300,
            fields: false,
            year: 1,
            seed: 1,
            search: Options::default(),
        })
    }
}

/// Why no wood can be designed.
#[derive(Debug, thiserror::Error)]
pub enum DesignError {
    /// No ground is free, or no outline fits on it.
    #[error("{found}; needed: {what}. Hint: {hint}")]
    NoRoom {
        /// What was found.
        found: String,
        /// What is needed, in words.
        what: String,
        /// What to do.
        hint: String,
    },
    /// A figure is missing.
    #[error(transparent)]
    Guidance(#[from] Unknown),
    /// The choice cannot be posed.
    #[error(transparent)]
    Choice(#[from] PackError),
}

/// An outline tried.
#[derive(Clone, Debug)]
pub struct Tried {
    /// The measure it would be.
    pub measure: Measure,
    /// Its outline and form.
    pub grown: Grown,
    /// Cost low, usual and high, pounds.
    pub gbp: [f64; 3],
    /// What it changes by itself, by year of the horizon, lek and season, usable hectares.
    pub effect: BySeason,
}

/// Every outline tried and how the choice among them is posed; what [`suggest`] chooses from and a wider choice takes over.
pub struct Tries {
    /// The outlines.
    pub tried: Vec<Tried>,
    /// Pairs nearer than the spacing.
    pub exclusive: Vec<Vec<usize>>,
    /// What barred ground, in words, with hectares.
    pub barred: Vec<(String, f64)>,
    /// Ground free, hectares.
    pub free_ha: f64,
}

/// A design.
pub struct Design {
    /// The woods chosen, those that gain most by themselves first.
    pub suggested: Vec<Suggested>,
    /// The choice: value, bound, gap.
    pub chosen: Chosen,
    /// Outlines tried.
    pub tried: usize,
    /// What barred ground, in words, with hectares.
    pub barred: Vec<(String, f64)>,
    /// Ground free, hectares.
    pub free_ha: f64,
    /// Value of meeting every need in every year.
    pub best_value: f64,
}

/// Design woods. `stop` ends the search early, with the bound it has by then.
///
/// # Errors
/// [`DesignError`].
pub fn suggest(c: &Context, ask: &Ask, stop: &dyn Fn() -> bool) -> Result<Design, DesignError> {
    let horizon = Horizon::read(c)?;
    let mut trials = Trials::new(c.assessed, c.holding, c.guidance, Vec::new(), &horizon.years)?;
    let tries = tries(c, ask, &mut trials)?;
    let terms = horizon.terms(&trials.now, &trials.need);
    let best_value = terms.iter().map(|t| t.weight).sum();
    let choice = Choice {
        candidates: tries
            .tried
            .iter()
            .map(|t| Candidate { area_ha: t.grown.ha, cost_gbp: t.gbp[1], harm: 0.0, deltas: deltas(&t.effect) })
            .collect(),
        terms,
        budget_gbp: ask.budget_gbp,
        area_ha: Some(ask.area_ha),
        exclusive: tries.exclusive.clone(),
        ..Choice::default()
    };
    let chosen = choice.solve(&ask.search, stop)?;
    let alone = |i: usize| choice.value(&[i]) - chosen.before;
    let mut order = chosen.chosen.clone();
    order.sort_by(|a, b| alone(*b).total_cmp(&alone(*a)).then(a.cmp(b)));
    let suggested = order.iter().map(|i| told(c, &tries.tried[*i], Some(alone(*i)))).collect();
    Ok(Design { suggested, chosen, tried: tries.tried.len(), barred: tries.barred, free_ha: tries.free_ha, best_value })
}

/// Grow outlines on the free ground and try each by itself.
///
/// # Errors
/// [`DesignError`].
pub fn tries(c: &Context, ask: &Ask, trials: &mut Trials) -> Result<Tries, DesignError> {
    let ground = ground::eligible(c, ask.fields)?;
    let free_ha = ground.free.iter().filter(|f| **f).count() as f64 * ground.frame.cell_ha();
    let layout = &c.assessed.layout;
    let lie = grow::lie(layout.heights.as_deref(), AROUND_M).unwrap_or_else(|| vec![0.0; ground.frame.len()]);
    let outlines = outlines(c, ask, &ground, &lie)?;
    if outlines.is_empty() {
        let most = ground.barred.iter().max_by(|a, b| a.1.total_cmp(&b.1)).map_or(String::new(), |(why, ha)| format!(", most of it barred as {why} ({ha:.0} ha)"));
        return Err(DesignError::NoRoom {
            found: format!("{free_ha:.1} ha of ground are free{most}, and no outline of the form asked for fits"),
            what: format!("free ground within reach of a lek for a wood of {} to {} ha", ask.form.size_ha.0, ask.form.size_ha.1),
            hint: "ask for smaller woods, allow in-bye fields, or probe the peat where bog bars ground".to_string(),
        });
    }
    let months = super::months_from(c, "window.planting.first")?;
    // One recipe a mix: places with the same mix share how their trees grow.
    let mut recipe_of: HashMap<String, usize> = HashMap::new();
    let mut tried = Vec::new();
    let mut places = Vec::new();
    for (n, grown) in outlines.into_iter().enumerate() {
        let on = cells(&layout.frame, &grown.outline);
        let mix = species::mix(c, altitude_m(c, &on), wetness(c, &on))?;
        let measure = measure(c, ask, n, &grown, &mix, &months);
        let entry = kind::find("wood").unwrap_or(kind::all()[0]);
        let gbp = kind::cost::total(&(entry.costs)(c, &measure)?);
        let recipe = match recipe_of.get(&format!("{mix:?}")) {
            Some(r) => *r,
            None => {
                let mut programme = Programme::default();
                (entry.works)(c, &measure, &mut programme)?;
                let works: Vec<Work> = programme.works;
                let r = trials.add(works);
                recipe_of.insert(format!("{mix:?}"), r);
                r
            }
        };
        places.push(Place { cells: on, recipe });
        tried.push((measure, grown, gbp));
    }
    let effects = trials.effects(&places)?;
    let tried: Vec<Tried> =
        tried.into_iter().zip(effects).map(|((measure, grown, gbp), effect)| Tried { measure, grown, gbp, effect }).collect();
    let exclusive = too_near(&tried, ask.spacing_m);
    Ok(Tries { tried, exclusive, barred: ground.barred, free_ha })
}

/// Reach of the surroundings a cell is high or low against, metres.
const AROUND_M: f64 = 120.0;

/// Times the outlines tried may cover the free ground, and the fewest tried where there are enough.
const COVERED: f64 = 3.0;
const LEAST: f64 = 60.0;

/// Outlines on a jittered net over the free ground, wide enough to give no more than asked for.
fn outlines(c: &Context, ask: &Ask, ground: &ground::Ground, lie: &[f32]) -> Result<Vec<Grown>, Unknown> {
    let f = &ground.frame;
    let reach_m = c.number("reach.winter_m")?;
    let leks: Vec<_> = (0..c.leks().len()).map(|l| c.lek_at(l)).collect();
    let near: Vec<usize> = (0..f.len())
        .filter(|i| ground.free[*i])
        .filter(|i| {
            let (x, y) = f.centre(i % f.cols, i / f.cols);
            leks.iter().any(|l| (l.x() - x).hypot(l.y() - y) <= reach_m)
        })
        .collect();
    let mut out: Vec<Grown> = Vec::new();
    if near.is_empty() || ask.tried == 0 {
        return Ok(out);
    }
    // Large woods soon cover the ground many times over: no more of them are tried than cover it a few times.
    let mean_ha = 0.5 * (ask.form.size_ha.0 + ask.form.size_ha.1);
    let enough = (COVERED * near.len() as f64 * f.cell_ha() / mean_ha).ceil().max(LEAST) as usize;
    let most = ask.tried.min(enough);
    let step = ((near.len() as f64 / most as f64).sqrt().max(1.0)).ceil() as usize;
    let mut rows: HashMap<(usize, usize), Vec<usize>> = HashMap::new();
    for cell in near {
        rows.entry((cell % f.cols / step, cell / f.cols / step)).or_default().push(cell);
    }
    let mut blocks: Vec<((usize, usize), Vec<usize>)> = rows.into_iter().collect();
    blocks.sort_unstable();
    for ((bc, br), cells) in blocks {
        let luck = |k: u64| grow::chance(bc as u64, br as u64, ask.seed ^ k);
        let seed_cell = cells[(luck(1) * cells.len() as f64) as usize % cells.len()];
        let (low, high) = ask.form.size_ha;
        // Aimed a little inside the range, as corners cut off take some.
        let target = low * 1.1 + (high * 0.95 - low * 1.1).max(0.0) * luck(2);
        out.extend(grow::grow(ground, lie, seed_cell, target, &ask.form, &grow::RAGGED, ask.seed ^ (seed_cell as u64) << 8));
    }
    out.truncate(most);
    Ok(out)
}

/// Mean altitude of cells, metres; `None` without heights.
fn altitude_m(c: &Context, cells: &[u32]) -> Option<f64> {
    let h = c.assessed.layout.heights.as_deref()?;
    let known: Vec<f64> = cells.iter().map(|i| f64::from(h.cells[*i as usize])).filter(|v| v.is_finite()).collect();
    (!known.is_empty()).then(|| known.iter().sum::<f64>() / known.len() as f64)
}

/// Mean wetness of cells.
fn wetness(c: &Context, cells: &[u32]) -> f64 {
    let layout = &c.assessed.layout;
    let known: Vec<f64> = cells
        .iter()
        .filter_map(|i| c.stands().get(layout.stand_of.cells[*i as usize] as usize))
        .map(|s| f64::from(s.wetness))
        .collect();
    if known.is_empty() { 0.0 } else { known.iter().sum::<f64>() / known.len() as f64 }
}

fn measure(c: &Context, ask: &Ask, n: usize, grown: &Grown, mix: &[(Tree, f64)], months: &str) -> Measure {
    let mut facts = Extra::new();
    facts.insert("mix".to_string(), species::table(mix));
    facts.insert("month".to_string(), json!(months));
    Measure {
        id: format!("wood {}", n + 1),
        option: 0,
        kind: "wood".to_string(),
        year: c.today.map(|d| d.year() + ask.year as i32),
        shape: grown.outline.clone(),
        facts,
        ..Measure::default()
    }
}

/// Pairs of outlines nearer to each other than a distance.
fn too_near(tried: &[Tried], spacing_m: f64) -> Vec<Vec<usize>> {
    use geo::{BoundingRect, Intersects};
    use geo_types::{Coord, Rect};
    let boxes: Vec<Option<Rect<f64>>> = tried.iter().map(|t| t.grown.outline.bounding_rect()).collect();
    let mut out = Vec::new();
    for i in 0..tried.len() {
        for j in i + 1..tried.len() {
            let (Some(a), Some(b)) = (boxes[i], boxes[j]) else { continue };
            let grow = Coord { x: spacing_m, y: spacing_m };
            if Rect::new(a.min() - grow, a.max() + grow).intersects(&b)
                && ::ground::polygon::apart_m(&tried[i].grown.outline, &tried[j].grown.outline) < spacing_m
            {
                out.push(vec![i, j]);
            }
        }
    }
    out
}

/// A wood as it is put forward, with what it gains by itself where that is known.
pub fn told(c: &Context, tried: &Tried, gain: Option<f64>) -> Suggested {
    let mut figures = vec![
        Quantity { what: "area".to_string(), amount: tried.grown.ha, unit: "ha" },
        Quantity { what: "shape index".to_string(), amount: tried.grown.shape, unit: "" },
    ];
    figures.extend(gain.map(|amount| Quantity { what: "needs met more, by itself".to_string(), amount, unit: "lek-season-years" }));
    Suggested {
        measure: tried.measure.clone(),
        why: changes(c, &tried.effect),
        gbp: tried.gbp,
        figures,
    }
}
