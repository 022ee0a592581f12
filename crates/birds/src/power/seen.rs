//! What visits see of the cocks there are: the mean and the scatter of a year's highest count, and back.
//!
//! The cocks of a lek in a year have a mean and a dispersion; the highest count of some visits is that of [`Attendance`]. The counts of
//! another number of visits follow from those at hand by going back to the cocks and forth again.

use super::Design;
use crate::detection::attendance::Attendance;
use statrs::distribution::{Discrete, NegativeBinomial, Poisson};

/// Share of lek-years that may lie beyond the numbers summed.
const BEYOND: f64 = 1e-10;
/// Most cocks summed over.
const MOST: usize = 400;
/// Rounds of going back.
const ROUNDS: usize = 200;

/// The mean and mean square of the highest of a number of visits, for every number of cocks.
#[derive(Clone, Debug)]
pub struct Highest(Vec<(f64, f64)>);

impl Highest {
    /// Of so many visits, for leks of up to as many cocks as a mean and a dispersion make likely.
    pub fn of(attendance: &Attendance, visits: u32, cocks: f64, dispersion: f64) -> Self {
        let most = numbers(cocks, dispersion).len() as u32;
        Self((0..most).map(|n| moments(attendance, n, visits)).collect())
    }

    /// Mean and dispersion (variance over mean) of the figures of lek-years, whose cocks have a mean and a dispersion (1 for Poisson;
    /// above 1 negative binomial).
    pub fn figures(&self, cocks: f64, dispersion: f64) -> (f64, f64) {
        let (mut mean, mut square) = (0.0, 0.0);
        for (chance, (first, second)) in numbers(cocks, dispersion).into_iter().zip(&self.0) {
            mean += chance * first;
            square += chance * second;
        }
        (mean, if mean > 0.0 { (square - mean * mean) / mean } else { 1.0 })
    }
}

/// Mean and mean square of the highest of some visits to a lek of `cocks`.
fn moments(attendance: &Attendance, cocks: u32, visits: u32) -> (f64, f64) {
    let (mut at_most, mut before, mut mean, mut square) = (0.0, 0.0, 0.0, 0.0);
    for seen in 0..=cocks {
        at_most += attendance.count(cocks, seen);
        let upto = if seen == cocks { 1.0 } else { f64::min(at_most, 1.0).powi(visits as i32) };
        mean += (upto - before) * f64::from(seen);
        square += (upto - before) * f64::from(seen).powi(2);
        before = upto;
    }
    (mean, square)
}

/// What another number of visits would make of a design of counting.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Visited {
    /// The design with it.
    pub design: Design,
    /// Share of the cocks that the figure shows.
    pub share_seen: f64,
}

/// A design counted with `now` visits a year, and with each of `wanted` instead. Where its counts scatter less than cocks coming
/// together would make Poisson cocks scatter, the cocks are taken as Poisson, and only the difference that visits make is added.
pub fn visited(design: &Design, attendance: &Attendance, now: u32, wanted: &[u32]) -> Vec<Visited> {
    // Room enough for the cocks behind the figures: more of them, and more scattered.
    let (most, widest) = (design.cocks / attendance.chance.max(0.05), 2.0 * design.dispersion.max(1.0));
    let at_hand = Highest::of(attendance, now.max(1), most, widest);
    let (cocks, dispersion) = cocks_behind(&at_hand, design);
    let told = at_hand.figures(cocks, dispersion).1;
    wanted
        .iter()
        .map(|visits| {
            let (figure, scatter) = Highest::of(attendance, *visits, most, widest).figures(cocks, dispersion);
            let scatter = (design.dispersion + scatter - told).max(1.0);
            Visited { design: Design { cocks: figure, dispersion: scatter, ..*design }, share_seen: figure / cocks }
        })
        .collect()
}

/// Mean and dispersion of the cocks whose figures have those of a design.
fn cocks_behind(at_hand: &Highest, design: &Design) -> (f64, f64) {
    let (mut cocks, mut dispersion) = (design.cocks, design.dispersion.max(1.0));
    for _ in 0..ROUNDS {
        let (figure, scatter) = at_hand.figures(cocks, dispersion);
        let next = (cocks * design.cocks / figure.max(1e-9), (dispersion + design.dispersion - scatter).max(1.0));
        let still = (next.0 - cocks).abs() < 1e-9 * cocks && (next.1 - dispersion).abs() < 1e-9;
        (cocks, dispersion) = next;
        if still {
            break;
        }
    }
    (cocks, dispersion)
}

/// Chances of 0, 1, 2 ... cocks, until next to nothing is left.
fn numbers(mean: f64, dispersion: f64) -> Vec<f64> {
    let mut all = Vec::new();
    let mut sum = 0.0;
    let poisson = Poisson::new(mean).ok();
    let negative = (dispersion > 1.0 + 1e-9).then(|| NegativeBinomial::new(mean / (dispersion - 1.0), 1.0 / dispersion).ok()).flatten();
    while sum < 1.0 - BEYOND && all.len() < MOST {
        let k = all.len() as u64;
        let chance = match (&negative, &poisson) {
            (Some(law), _) => law.pmf(k),
            (None, Some(law)) => law.pmf(k),
            (None, None) => f64::from(u8::from(k == 0)),
        };
        sum += chance;
        all.push(chance);
    }
    all
}
