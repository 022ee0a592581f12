//! Why a season is short: what each cause costs, and which stands carry it.
//!
//! At the middle of every figure, the supply is computed again as if one thing were right everywhere within reach
//! (food full, no sward too short, ...); the gain is what that cause costs. Causes multiply, so the gains of several
//! causes do not add up.

use crate::drawn::Drawn;
use crate::figures::{Figures, reach_of};
use crate::layout::{ALTITUDE, COVER, DEPTH, DIMS, FLUSH, Layout, SLOPE, TREES, WAYS};
use crate::outcome::{Cause, Loss, StandPart};
use crate::place;
use crate::reach::{NODES, Reach};
use crate::season::{self, Offer, Season};
use crate::state::State;
use guidance::Curve;

/// Everything a loss is computed from.
pub struct Middle<'a> {
    /// Stands.
    pub state: &'a State,
    /// Facets.
    pub layout: &'a Layout,
    /// Figures at the middle of their spreads.
    pub figures: &'a Figures,
    /// Worth of a closing wood by age.
    pub age: &'a Curve,
}

/// A cause, the neighbourhood dimensions it hangs on, and what an offer is without it.
type Cure = (Cause, &'static [usize], fn(&mut Offer));

impl Middle<'_> {
    /// What every stand offers a season, without survey error.
    pub fn offers(&self, season: Season) -> Vec<Offer> {
        self.state
            .stands
            .iter()
            .map(|s| {
                // The error factors have mean one: this z makes each exactly one.
                let z = |cv: f32| 0.5 * (1.0 + cv * cv).ln().sqrt();
                let d = Drawn::of(s, [z(s.cv[0]), z(s.cv[1]), z(s.cv[2])], self.figures, self.age);
                season::offer(season, &d, self.figures)
            })
            .collect()
    }

    /// Place terms of every band, `[dim][band]`.
    pub fn terms(&self, season: Season) -> Vec<Vec<f32>> {
        (0..DIMS)
            .map(|dim| self.layout.band_mean[dim].iter().map(|v| place::term(dim, *v, season, self.figures)).collect())
            .collect()
    }

    /// Value of every facet in a season, 0 to 1.
    pub fn values(&self, season: Season) -> Vec<f32> {
        let w = &self.figures.season[season as usize];
        let stand: Vec<f32> = self.offers(season).iter().map(|o| o.value(w.weight_food, w.weight_cover)).collect();
        let terms = self.terms(season);
        self.layout
            .facets
            .iter()
            .map(|f| stand[f.stand as usize] * (0..DIMS).map(|d| terms[d][f.band[d] as usize]).product::<f32>())
            .collect()
    }

    /// What costs a lek's season most, largest first; causes under a hundredth of the need are left out.
    pub fn losses(&self, reach: &Reach, season: Season, need_ha: f64) -> Vec<Loss> {
        let mut losses: Vec<Loss> = self.by_stand(reach, season).into_iter().map(|(cause, by_stand)| self.loss(cause, by_stand)).collect();
        losses.push(self.unmapped(reach, season));
        losses.retain(|l| l.ha >= 0.01 * need_ha);
        losses.sort_by(|a, b| b.ha.total_cmp(&a.ha));
        losses
    }

    /// What each cause costs a lek's season on every stand, usable hectares; unmapped ground left out.
    pub fn by_stand(&self, reach: &Reach, season: Season) -> Vec<(Cause, Vec<f64>)> {
        let w = &self.figures.season[season as usize];
        let offers = self.offers(season);
        let terms = self.terms(season);
        let kernel = reach_of(season) * NODES + 1;
        let plain: Vec<f32> = offers.iter().map(|o| o.value(w.weight_food, w.weight_cover)).collect();
        let causes: [Cure; 8] = [
            (Cause::Food, &[], |o| o.food = 1.0),
            (Cause::TooShort, &[], |o| o.tall_enough = 1.0),
            (Cause::TooTall, &[], |o| o.too_tall = 0.0),
            (Cause::Uniform, &[], |o| o.mixed = 1.0),
            (Cause::ClosedWood, &[DEPTH], |o| o.wood = 1.0),
            (Cause::Far, &[FLUSH, COVER, TREES], |_| ()),
            (Cause::Disturbed, &[WAYS], |_| ()),
            (Cause::Site, &[ALTITUDE, SLOPE], |_| ()),
        ];
        let cost = |(cause, dims, mend): Cure| {
            let mended: Vec<f32> = offers
                .iter()
                .map(|o| {
                    let mut o = *o;
                    mend(&mut o);
                    o.value(w.weight_food, w.weight_cover)
                })
                .collect();
            let mut by_stand = vec![0.0f64; offers.len()];
            for (facet, weights) in reach.facets.iter().zip(&reach.weights) {
                let f = &self.layout.facets[*facet as usize];
                let mut rest = 1.0f32;
                let mut lost_in_place = 1.0f32;
                for d in 0..DIMS {
                    let t = terms[d][f.band[d] as usize];
                    if dims.contains(&d) {
                        lost_in_place *= t;
                    } else {
                        rest *= t;
                    }
                }
                let s = f.stand as usize;
                by_stand[s] += (weights[kernel] * rest * (mended[s] - plain[s] * lost_in_place)) as f64;
            }
            (cause, by_stand)
        };
        causes.into_iter().map(cost).collect()
    }

    fn loss(&self, cause: Cause, by_stand: Vec<f64>) -> Loss {
        let ha = by_stand.iter().sum();
        let mut parts: Vec<(usize, f64)> = by_stand.into_iter().enumerate().filter(|(_, ha)| *ha > 0.0).collect();
        parts.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let stands = parts
            .into_iter()
            .take(3)
            .map(|(i, ha)| StandPart { id: self.state.stands[i].id.clone(), name: self.state.stands[i].name.clone(), ha })
            .collect();
        Loss { cause, ha, stands }
    }

    /// What the unmapped ground might give beyond the part credited, were it like the mapped open ground.
    fn unmapped(&self, reach: &Reach, season: Season) -> Loss {
        let w = &self.figures.season[season as usize];
        let plain: Vec<f32> = self.offers(season).iter().map(|o| o.value(w.weight_food, w.weight_cover)).collect();
        let terms = self.terms(season);
        let kernel = reach_of(season) * NODES + 1;
        let (mut sum, mut weight) = (0.0f64, 0.0f64);
        for (facet, weights) in reach.facets.iter().zip(&reach.weights) {
            let f = &self.layout.facets[*facet as usize];
            if self.layout.is_wood[f.stand as usize] {
                continue;
            }
            let v = plain[f.stand as usize] * (0..DIMS).map(|d| terms[d][f.band[d] as usize]).product::<f32>();
            sum += (weights[kernel] * v) as f64;
            weight += weights[kernel] as f64;
        }
        let mean = if weight > 0.0 { sum / weight } else { 0.0 };
        let ha = mean * (1.0 - self.figures.unmapped as f64) * reach.unmapped[kernel];
        Loss { cause: Cause::Unmapped, ha, stands: Vec::new() }
    }
}
