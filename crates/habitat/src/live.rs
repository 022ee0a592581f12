//! The ledger while the ground is being drawn: an edit is followed, not computed anew.
//!
//! A moved corner changes a few cells and the neighbourhood of a few thousand; their weight goes from facet to facet, and the
//! sums of the leks they belong to follow. The answer is that of laying everything out anew with the same bands.

use crate::assess::Assessed;
use crate::drawn::Errors;
use crate::figures::Figures;
use crate::layout::{Layout, NO_FACET};
use crate::ledger::{self, Supply, Tally, Values};
use crate::reach::{KERNELS, Kernels, NODES, REACHES, Reach, Shift};
use crate::state::{Feature, State, Survey};
use geo::BoundingRect;
use geo_types::Rect;
use guidance::{Curve, Guidance, Unknown};
use holding::Holding;
use rayon::prelude::*;

/// A ledger that follows edits.
pub struct Live {
    /// Stands.
    pub state: State,
    /// The ground laid out.
    pub layout: Layout,
    /// Ground of every lek.
    pub reaches: Vec<Reach>,
    kernels: Kernels,
    values: Values,
    tallies: Vec<Tally>,
    figures: Vec<Figures>,
    errors: Vec<Vec<Errors>>,
    age: Curve,
    reach_m: [[f64; NODES]; REACHES],
    seed: u64,
}

impl Live {
    /// Begin from an assessment.
    pub fn of(assessed: &Assessed) -> Live {
        let (state, layout) = (assessed.state.clone(), assessed.layout.clone());
        let errors = ledger::errors(&state, assessed.settings.seed, assessed.settings.draws);
        let values = Values::of(&state, &layout, &assessed.figures, &errors, &assessed.age);
        let reaches = assessed.reaches.clone();
        let tallies = reaches.par_iter().map(|r| Tally::of(&layout, &values, r, None)).collect();
        Live {
            state,
            layout,
            reaches,
            kernels: assessed.kernels.clone(),
            values,
            tallies,
            figures: assessed.figures.clone(),
            errors,
            age: assessed.age.clone(),
            reach_m: assessed.reach_m,
            seed: assessed.settings.seed,
        }
    }

    /// Follow an edit: patches or woods whose shape touches `window` were altered, or new ones stand at the end of their list. Give
    /// a window that holds the shapes before and after. A feature that is gone is given an empty shape, not taken from the list.
    /// Tells the indices of the leks whose ledger changed.
    ///
    /// # Errors
    /// A guidance figure that is missing.
    pub fn follow(&mut self, holding: &Holding, guidance: &Guidance, window: Rect<f64>) -> Result<Vec<usize>, Unknown> {
        let mut survey = Survey::of(holding, guidance)?;
        // Patches come before woods; a new patch stands after both, and is known by its feature.
        let mut index_of: Vec<Option<usize>> = vec![None; holding.patches.len()];
        let mut wood_of: Vec<Option<usize>> = vec![None; holding.woods.len()];
        for (i, stand) in self.state.stands.iter().enumerate() {
            match stand.feature {
                Feature::Patch(p) if p < index_of.len() => index_of[p] = Some(i),
                Feature::Wood(w) if w < wood_of.len() => wood_of[w] = Some(i),
                _ => {}
            }
        }
        let touches = |shape: &geo_types::MultiPolygon<f64>| shape.bounding_rect().is_some_and(|b| geo::Intersects::intersects(&b, &window));
        let mut changed = Vec::new();
        let mut took = |state: &mut State, errors: &mut Vec<Vec<Errors>>, at: Option<usize>, stand: crate::Stand, seed: u64, draws: usize| match at {
            Some(i) if state.stands[i] == stand => {}
            Some(i) => {
                // An area alone changes nothing the ledger sees.
                let same = crate::Stand { area_ha: stand.area_ha, ..state.stands[i].clone() } == stand;
                state.stands[i] = stand;
                if !same {
                    changed.push(i);
                }
            }
            None => {
                errors.push(ledger::errors_of(&stand.id, seed, draws));
                state.stands.push(stand);
            }
        };
        let draws = self.figures.len();
        for (i, at) in index_of.iter().enumerate() {
            if at.is_none() || touches(&holding.patches[i].shape) {
                took(&mut self.state, &mut self.errors, *at, survey.patch(i)?, self.seed, draws);
            }
        }
        for (i, at) in wood_of.iter().enumerate() {
            if at.is_none() || touches(&holding.woods[i].shape) {
                took(&mut self.state, &mut self.errors, *at, survey.wood(i)?, self.seed, draws);
            }
        }
        // What changed stands gave so far is taken away, and given back as they are now.
        let whole: Vec<Shift> = self.reaches.iter().map(|r| self.all_of(r, &changed)).collect();
        if !changed.is_empty() {
            self.tallies.par_iter_mut().zip(&whole).for_each(|(t, s)| t.shift(&self.layout, &self.values, &turned(s)));
        }
        let painted = self.layout.repainted(holding, &self.state, window);
        let moved = self.layout.alter(&self.state.stands, &painted);
        self.values.restate(&self.state.stands, |i| changed.contains(&i), &self.figures, &self.errors, &self.age);
        let shifts = self.kernels.shifts(&moved);
        self.tallies.par_iter_mut().zip(&mut self.reaches).zip(&whole).zip(&shifts).for_each(|(((tally, reach), whole), shift)| {
            tally.shift(&self.layout, &self.values, whole);
            tally.shift(&self.layout, &self.values, shift);
            reach.shift(shift);
        });
        Ok((0..self.reaches.len()).filter(|l| !whole[*l].is_empty() || !shifts[*l].is_empty()).collect())
    }

    /// Every hectare the stands have in a reach.
    fn all_of(&self, reach: &Reach, stands: &[usize]) -> Shift {
        if stands.is_empty() {
            return Shift::new();
        }
        let one = |f: &u32| *f != NO_FACET && stands.contains(&(self.layout.facets[*f as usize].stand as usize));
        reach.facets.iter().zip(&reach.weights).filter(|(f, _)| one(f)).map(|(f, w)| (*f, w.map(f64::from))).collect()
    }

    /// Supply of a lek as the ground is now, usable hectares by season and draw.
    pub fn supply(&self, lek: usize) -> Supply {
        self.tallies[lek].supply(&self.figures, &self.reach_m)
    }
}

/// The same hectares taken away.
fn turned(shift: &Shift) -> Shift {
    shift.iter().map(|(f, ha)| (*f, std::array::from_fn::<f64, KERNELS, _>(|k| -ha[k]))).collect()
}
