//! What single measures would change, tried one after another against the ground as it goes on by itself.
//!
//! For designers, who weigh hundreds of places: at the middle of every figure, without spread. A trial takes cells, lets their
//! stands go their way under a recipe of works, measures the neighbourhoods that change and takes the sums of supply that
//! move; then it is taken back. Trials of different places add up only as
//! far as they lie apart: what a choice of several does together is for [`super::forecast()`] to say.

use super::course::{Moving, Processes};
use super::stock::Head;
use super::variant::{Variant, places};
use super::work::{Doing, Programme, StockFrom, Work};
use crate::assess::Assessed;
use crate::drawn::Errors;
use crate::figures::Figures;
use crate::layout::{Layout, NO_STAND};
use crate::ledger::{SEASONS, Tally, Values};
use crate::season::Season;
use crate::state::{Stand, Survey};
use guidance::{Guidance, Unknown};
use holding::Holding;
use rayon::prelude::*;
use std::collections::HashMap;

/// What is done on a piece of ground: works whose areas are not looked at.
pub type Recipe = Vec<Work>;

/// A place to try: cells of the layout, and which recipe is carried out on them.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Cells, without repeats.
    pub cells: Vec<u32>,
    /// Index of the recipe.
    pub recipe: usize,
}

/// Supply by year, lek and season, usable hectares at the middle of every figure.
pub type BySeason = Vec<Vec<[f64; SEASONS]>>;

/// The ground in one year as it goes on by itself.
#[derive(Clone)]
struct Ground {
    layout: Layout,
    stands: Vec<Stand>,
    values: Values,
    /// What every lek's ground adds up to.
    tallies: Vec<Tally>,
}

/// Trials of recipes on the ground of an assessment.
pub struct Trials<'a> {
    /// Years told, counted from the plan's day.
    pub years: Vec<u32>,
    /// Supply as the ground goes on by itself.
    pub now: BySeason,
    /// Needs by lek and season, usable hectares.
    pub need: Vec<[f64; SEASONS]>,
    surveyed: &'a Holding,
    guidance: &'a Guidance,
    base: &'a Assessed,
    processes: Processes,
    recipes: Vec<Recipe>,
    grounds: Vec<Ground>,
    /// Stands under a recipe: by recipe and surveyed stand, their states in the years told.
    grown: HashMap<(usize, u32), Vec<Stand>>,
    figures: [Figures; 1],
}

impl<'a> Trials<'a> {
    /// Let the ground go on by itself and keep it in the years told (rising).
    ///
    /// # Errors
    /// A guidance figure that is missing.
    pub fn new(base: &'a Assessed, surveyed: &'a Holding, guidance: &'a Guidance, recipes: Vec<Recipe>, years: &[u32]) -> Result<Self, Unknown> {
        let (processes, _) = Processes::read(guidance, surveyed.about.country)?;
        let figures = [base.middle.clone()];
        let need = base
            .assessment
            .leks
            .iter()
            .map(|l| std::array::from_fn(|s| crate::ledger::need_ha(Season::ALL[s], l.target_cocks as f64, &base.middle)))
            .collect();
        let mut out = Trials {
            years: years.to_vec(),
            now: Vec::new(),
            need,
            surveyed,
            guidance,
            base,
            processes,
            recipes,
            grounds: Vec::new(),
            grown: HashMap::new(),
            figures,
        };
        let states = out.go(base.state.stands.clone(), &[], &Programme::default())?;
        let mut layout = base.layout.clone();
        for state in states {
            let stands: Vec<Stand> = state.into_iter().map(|m| m.stand).collect();
            layout.alter(&stands, &[]);
            let values = Values::of_stands(&stands, &layout, &out.figures, &plain(&stands), &base.age);
            let tallies = tallies(&layout, &values, base);
            out.now.push(supply(&tallies, base, &out.figures));
            out.grounds.push(Ground { layout: layout.clone(), stands, values, tallies });
        }
        Ok(out)
    }

    /// Take up another recipe; gives its index.
    pub fn add(&mut self, recipe: Recipe) -> usize {
        self.recipes.push(recipe);
        self.recipes.len() - 1
    }

    /// Step stands through the years told. `recipe_of` gives the extra stands at the end their recipe.
    fn go(&self, stands: Vec<Stand>, extra: &[(usize, u32)], programme: &Programme) -> Result<Vec<Vec<Moving>>, Unknown> {
        let survey = Survey::of(self.surveyed, self.guidance)?;
        let known = self.base.state.stands.len();
        let mut at = places(&survey, self.surveyed, &stands[..known]);
        for (_, stand) in extra {
            at.push(super::course::Place { area_ha: 1e-4, ..at[*stand as usize] });
        }
        let first = Head::of(self.surveyed);
        let mut all = self.processes.start(stands, &at, &first);
        let mut out = Vec::new();
        for year in 0..=self.years.last().copied().unwrap_or(0) {
            if year > 0 {
                let falls: Vec<Vec<&Doing>> = (0..all.len())
                    .map(|i| match i.checked_sub(known).map(|e| extra[e].0) {
                        Some(recipe) => self.recipes[recipe].iter().filter(|w| w.falls_in(year)).map(|w| &w.doing).collect(),
                        None => Vec::new(),
                    })
                    .collect();
                let changes: Vec<&StockFrom> = programme.stock.iter().filter(|s| s.year <= year).collect();
                let stock = if changes.is_empty() { first.clone() } else { first.with(&changes, self.surveyed) };
                self.processes.year(&mut all, &falls, &stock, year);
            }
            if self.years.contains(&year) {
                out.push(all.clone());
            }
        }
        Ok(out)
    }

    /// Make ready for places: every surveyed stand they touch goes its way under their recipes.
    ///
    /// # Errors
    /// A guidance figure that is missing.
    pub fn ready(&mut self, places: &[Place]) -> Result<(), Unknown> {
        let mut extra: Vec<(usize, u32)> = Vec::new();
        let under = &self.base.layout.stand_of.cells;
        for place in places {
            for cell in &place.cells {
                let key = (place.recipe, under[*cell as usize]);
                if key.1 != NO_STAND && extra.last() != Some(&key) && !self.grown.contains_key(&key) {
                    extra.push(key);
                }
            }
        }
        extra.sort_unstable();
        extra.dedup();
        self.grow(extra)
    }

    /// Make ready for a recipe wherever it may be tried: every surveyed stand goes its way under it, which takes little longer than one.
    ///
    /// # Errors
    /// A guidance figure that is missing.
    pub fn ready_everywhere(&mut self, recipe: usize) -> Result<(), Unknown> {
        let all = (0..self.base.state.stands.len() as u32).map(|stand| (recipe, stand));
        let extra = all.filter(|key| !self.grown.contains_key(key)).collect();
        self.grow(extra)
    }

    /// Let surveyed stands go their way under recipes, each pair once.
    fn grow(&mut self, extra: Vec<(usize, u32)>) -> Result<(), Unknown> {
        if extra.is_empty() {
            return Ok(());
        }
        let mut stands = self.base.state.stands.clone();
        stands.extend(extra.iter().map(|(_, s)| self.base.state.stands[*s as usize].clone()));
        let known = self.base.state.stands.len();
        let states = self.go(stands, &extra, &Programme::default())?;
        for (e, key) in extra.into_iter().enumerate() {
            self.grown.insert(key, states.iter().map(|all| all[known + e].stand.clone()).collect());
        }
        Ok(())
    }

    /// What each place changes: supply by year, lek and season, less what the ground gives by itself.
    ///
    /// # Errors
    /// A guidance figure that is missing.
    pub fn effects(&mut self, places: &[Place]) -> Result<Vec<BySeason>, Unknown> {
        self.ready(places)?;
        let (base, figures, grown, now) = (self.base, &self.figures, &self.grown, &self.now);
        let by_year: Vec<Vec<Vec<[f64; SEASONS]>>> = self
            .grounds
            .par_iter_mut()
            .enumerate()
            .map(|(y, ground)| places.iter().map(|p| ground.effect(p, y, grown, base, figures, &now[y])).collect())
            .collect();
        Ok((0..places.len()).map(|p| by_year.iter().map(|year| year[p].clone()).collect()).collect())
    }

    /// What a whole programme changes: works anywhere and stock. Slower; for changes that reach further than a place. `holding` is
    /// the one with its features.
    ///
    /// # Errors
    /// A guidance figure that is missing.
    pub fn whole(&self, holding: &Holding, programme: &Programme) -> Result<BySeason, Unknown> {
        let variant = Variant::of(self.base, holding, self.guidance, programme)?;
        let first = Head::of(self.surveyed);
        let mut all = self.processes.start(variant.stands.clone(), &variant.places, &first);
        let mut layout = self.base.layout.clone();
        let mut painted: &[(u32, u32)] = &variant.painted;
        let mut out = BySeason::new();
        for year in 0..=self.years.last().copied().unwrap_or(0) {
            if year > 0 {
                let falls: Vec<Vec<&Doing>> = variant
                    .works_on
                    .iter()
                    .map(|works| works.iter().map(|w| &programme.works[*w]).filter(|w| w.falls_in(year)).map(|w| &w.doing).collect())
                    .collect();
                let changes: Vec<&StockFrom> = programme.stock.iter().filter(|s| s.year <= year).collect();
                let stock = if changes.is_empty() { first.clone() } else { first.with(&changes, self.surveyed) };
                self.processes.year(&mut all, &falls, &stock, year);
            }
            if self.years.contains(&year) {
                let stands: Vec<Stand> = all.iter().map(|m| m.stand.clone()).collect();
                layout.alter(&stands, painted);
                painted = &[];
                let values = Values::of_stands(&stands, &layout, &self.figures, &plain(&stands), &self.base.age);
                let mut changed = supply(&tallies(&layout, &values, self.base), self.base, &self.figures);
                for (lek, now) in changed.iter_mut().zip(&self.now[out.len()]) {
                    lek.iter_mut().zip(now).for_each(|(c, n)| *c -= n);
                }
                out.push(changed);
            }
        }
        Ok(out)
    }

    /// The surveyed stands as they go on by themselves, in a told year by its place.
    pub fn stands(&self, told: usize) -> &[Stand] {
        self.grounds.get(told).map_or(&[], |g| g.stands.as_slice())
    }

    /// The stand a recipe makes of a surveyed one, in the years told; `None` before it was made ready.
    pub fn grown(&self, recipe: usize, stand: u32) -> Option<&[Stand]> {
        self.grown.get(&(recipe, stand)).map(Vec::as_slice)
    }
}

impl Ground {
    fn effect(
        &mut self,
        place: &Place,
        year: usize,
        grown: &HashMap<(usize, u32), Vec<Stand>>,
        base: &Assessed,
        figures: &[Figures],
        now: &[[f64; SEASONS]],
    ) -> Vec<[f64; SEASONS]> {
        let known = self.stands.len();
        let mut index: HashMap<u32, u32> = HashMap::new();
        let mut painted = Vec::with_capacity(place.cells.len());
        for cell in &place.cells {
            let under = base.layout.stand_of.cells[*cell as usize];
            let Some(states) = grown.get(&(place.recipe, under)) else { continue };
            let stand = *index.entry(under).or_insert_with(|| {
                self.stands.push(states[year].clone());
                self.stands.len() as u32 - 1
            });
            painted.push((*cell, stand));
        }
        let tried = self.layout.try_out(&self.stands, &painted);
        self.values.restate(&self.stands, |_| false, figures, &plain(&self.stands), &base.age);
        let shifts = base.kernels.shifts(&tried.moved);
        let out = (0..now.len())
            .map(|lek| {
                if shifts[lek].is_empty() {
                    return [0.0; SEASONS];
                }
                let mut tally = self.tallies[lek].clone();
                tally.shift(&self.layout, &self.values, &shifts[lek]);
                let then = tally.supply(figures, &base.reach_m);
                std::array::from_fn(|s| then[s][0] - now[lek][s])
            })
            .collect();
        self.layout.revert(&tried);
        self.stands.truncate(known);
        self.values.truncate(known);
        out
    }
}

/// Errors that change nothing: the log-normal factors have mean one, and these make each exactly one.
fn plain(stands: &[Stand]) -> Vec<Vec<Errors>> {
    stands.iter().map(|s| vec![s.cv.map(|cv| 0.5 * (1.0 + cv * cv).ln().sqrt())]).collect()
}

fn tallies(layout: &Layout, values: &Values, base: &Assessed) -> Vec<Tally> {
    base.kernels.lay(layout).par_iter().map(|r| Tally::of(layout, values, r, None)).collect()
}

fn supply(tallies: &[Tally], base: &Assessed, figures: &[Figures]) -> Vec<[f64; SEASONS]> {
    let one = |t: &Tally| {
        let s = t.supply(figures, &base.reach_m);
        std::array::from_fn(|i| s[i][0])
    };
    tallies.iter().map(one).collect()
}
