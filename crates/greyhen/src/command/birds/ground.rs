//! What an option makes of the ground of leks, as the projection of birds takes it.
//!
//! - **Margins** of brood, winter and lying snow are the forecast's supply over the assessment's need, draw by draw.
//! - **Suitable ground** is moor, rough grass, native wood and conifers not yet closed within the reach of broods, each cell counted for its nearest lek only;
//!   ground nobody mapped is taken to be like the rest.
//! - **Fence deaths** are the fatal strikes of every fence of the plan as it stands in a year, each piece at its nearest lek with birds. Marking that an option
//!   puts up is gone once it has lasted its time, since its cost is counted once; marking that stands as surveyed is taken to be kept up. Rates of strikes were measured
//!   where grouse were, and say nothing of how many: they are taken for a lek of usual size (`need.target_cocks`), so that each bird of a smaller lek runs the same
//!   danger, not a greater one.

use crate::command::course::{Start, Under};
use crate::fail::Fail;
use birds::project::birds::{Deaths, LekGround, along, between, margins};
use geo::{Distance, Euclidean, Point};
use guidance::Unknown;
use habitat::layout::NO_STAND;
use habitat::{Class, Season};
use holding::{Holding, Measure};
use measures::kind::strikes::Spread;
use measures::kind::{self, fence, strikes};
use measures::option;
use measures::rules::Context;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Kinds of ground that birds use.
const SUITABLE: [Class; 4] = [Class::Moor, Class::RoughGrass, Class::NativeWood, Class::YoungConifer];
/// Keys read, for the evidence of an answer.
pub const KEYS: [&str; 13] = [
    "need.target_cocks",
    "reach.brood_m",
    "fence.strikes.deer.black_grouse",
    "fence.strikes.native_pinewood.black_grouse_year",
    "fence.strikes.deer.black_grouse_high",
    "fence.strikes.stock.black_grouse",
    "fence.strikes.distance_factor",
    "fence.fatal_share.black_grouse",
    "fence.marking_cut.black_grouse",
    "fence.marking_cut.unmeasured",
    "fence.life.marking_netting",
    "fence.life.marking_bamboo",
    "fence.life.marking_pales",
];

/// The ground of leks under a course, every year from 0 to the horizon; each lek with the cocks it has now. `own` is the own ground of every lek.
pub fn of_leks(start: &Start, under: &Under, own: &[OwnGround], leks: &[(usize, u32)], horizon: u32) -> Result<Vec<LekGround>, Fail> {
    let forecast = &under.forecast;
    let told: Vec<u32> = forecast.years.iter().map(|y| y.year).collect();
    let every = |of: &dyn Fn(usize) -> f64| -> Vec<f64> { (0..=horizon).map(|year| along(of, between(&told, year))).collect() };
    let deaths = fence_deaths(start, under, &leks.iter().map(|l| l.0).collect::<Vec<_>>(), horizon)?;
    let usual = start.context().number("need.target_cocks")?;
    let mut out = Vec::new();
    for (lek, cocks) in leks {
        let part = f64::from(*cocks) / usual.max(f64::from(*cocks));
        let season = |season: Season| -> Vec<Vec<f64>> {
            let rows = margins(&forecast.supply, &start.base.need[*lek], *lek, season);
            let by_draw: Vec<Vec<f64>> = (0..start.base.settings.draws).map(|d| every(&|i| rows[i][d])).collect();
            (0..=horizon as usize).map(|year| by_draw.iter().map(|of| of[year]).collect()).collect()
        };
        let suitable: Vec<f64> = (0..told.len()).map(|index| own[*lek].suitable_ha(under, index)).collect();
        out.push(LekGround {
            brood: season(Season::Brood),
            winter: season(Season::Winter),
            snowbound: season(Season::Snowbound),
            suitable_ha: every(&|i| suitable[i]),
            fence_deaths: deaths.iter().map(|of_year| of_year[*lek].times(part)).map(|Spread { low, usual, high }| Deaths { low, usual, high }).collect(),
        });
    }
    Ok(out)
}

/// Ground that stays as surveyed, with its fences or with none.
pub fn as_surveyed(ground: &LekGround, fences: bool) -> LekGround {
    let first = |rows: &[Vec<f64>]| rows[..1].to_vec();
    LekGround {
        brood: first(&ground.brood),
        winter: first(&ground.winter),
        snowbound: first(&ground.snowbound),
        suitable_ha: ground.suitable_ha[..1].to_vec(),
        fence_deaths: vec![if fences { ground.fence_deaths[0] } else { Deaths::default() }],
    }
}

/// The cells within the reach of broods that lie nearer to a lek than to any other, by lek: the same under every course.
pub struct OwnCells(Vec<Vec<usize>>);

impl OwnCells {
    /// Of every lek.
    pub fn of(start: &Start) -> Result<OwnCells, Unknown> {
        let context = start.context();
        let frame = &start.base.layout.frame;
        let reach_m = context.number("reach.brood_m")?;
        let leks: Vec<Point<f64>> = (0..context.leks().len()).map(|l| context.lek_at(l)).collect();
        let of_lek = |lek: usize| {
            // A lek that lies farther off, a metre allowed for rounding, is nearer to no cell within reach.
            let others: Vec<usize> = (0..leks.len()).filter(|l| *l != lek && Euclidean.distance(leks[*l], leks[lek]) <= 2.0 * reach_m + 1.0).collect();
            let mut cells = Vec::new();
            context.each_cell_within(leks[lek], reach_m, |cell| {
                let (x, y) = frame.centre(cell % frame.cols, cell / frame.cols);
                let far = |l: usize| Euclidean.distance(leks[l], Point::new(x, y));
                let own = (far(lek), lek);
                if others.iter().all(|l| (far(*l), *l) >= own) {
                    cells.push(cell);
                }
            });
            cells
        };
        Ok(OwnCells((0..leks.len()).into_par_iter().map(of_lek).collect()))
    }
}

/// The ground on a lek's own cells.
pub struct OwnGround {
    /// Hectares of every stand of the course's ground.
    ha: BTreeMap<usize, f64>,
    /// Hectares that nobody mapped.
    unmapped_ha: f64,
}

impl OwnGround {
    /// Of every lek, as a course cuts the ground up.
    pub fn of_every_lek(start: &Start, under: &Under, cells: &OwnCells) -> Vec<OwnGround> {
        let layout = &start.base.layout;
        let cell_ha = layout.frame.cell_ha();
        let mut stand_of = layout.stand_of.cells.clone();
        for (cell, stand) in &under.forecast.variant.painted {
            stand_of[*cell as usize] = *stand;
        }
        let of_lek = |cells: &Vec<usize>| {
            let mut own = OwnGround { ha: BTreeMap::new(), unmapped_ha: 0.0 };
            for cell in cells {
                match stand_of[*cell] {
                    NO_STAND => own.unmapped_ha += cell_ha,
                    stand => *own.ha.entry(stand as usize).or_default() += cell_ha,
                }
            }
            own
        };
        cells.0.par_iter().map(of_lek).collect()
    }

    /// Hectares of it that suit birds in a year of the forecast.
    pub fn suitable_ha(&self, under: &Under, index: usize) -> f64 {
        let stands = &under.forecast.stands[index];
        let mapped: f64 = self.ha.values().sum();
        let suits: f64 = self.ha.iter().filter(|(stand, _)| SUITABLE.contains(&stands[**stand].stand.class)).map(|(_, ha)| ha).sum();
        if mapped > 0.0 { suits * (1.0 + self.unmapped_ha / mapped) } else { 0.0 }
    }
}

/// Deaths on fences were every lek of usual size, by year from 0 to the horizon and by lek of the plan.
fn fence_deaths(start: &Start, under: &Under, leks: &[usize], horizon: u32) -> Result<Vec<Vec<Spread>>, Fail> {
    let context = start.context();
    let mut out: Vec<Vec<Spread>> = Vec::new();
    let mut before: Option<Vec<Measure>> = None;
    for year in 0..=horizon {
        let standing = standing(&context, under.option, year)?;
        let same = before.as_ref() == Some(&standing);
        match out.last().filter(|_| same) {
            Some(last) => out.push(last.clone()),
            None => {
                let bare = Holding { measures: standing.clone(), ..Holding::clone(&start.holding) };
                let built = match under.option {
                    Some(n) => option::holding_with(&Context { holding: &bare, ..context }, n)?,
                    None => bare,
                };
                out.push(strikes::deaths_by_lek(&Context { holding: &built, ..context }, leks)?);
                before = Some(standing);
            }
        }
    }
    Ok(out)
}

/// The measures of an option done by a year, as they stand on the fences then.
fn standing(context: &Context, option: Option<u32>, year: u32) -> Result<Vec<Measure>, Unknown> {
    let done = context.holding.measures.iter().filter(|m| Some(m.option) == option);
    let mut out = Vec::new();
    for measure in done {
        let since = kind::year_of(context, measure);
        if since <= year {
            out.extend(fence::worn(context, measure, f64::from(year - since))?);
        }
    }
    Ok(out)
}
