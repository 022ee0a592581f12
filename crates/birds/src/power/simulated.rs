//! Power and cover by simulation: many invented histories of the same design, each put through the same trend.

use super::Design;
use crate::trend::limits::{Limits, Slope};
use crate::trend::table::{Count, Table};
use crate::trend::line;
use rand::SeedableRng;
use rand_distr::{Distribution, Gamma, Normal, Poisson};
use rand_pcg::Pcg64;
use serde::Serialize;

/// What simulation found.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Found {
    /// Histories that gave limits.
    pub histories: u32,
    /// Share of them whose limits, never narrower than Poisson's as a verdict has them, exclude no change.
    pub seen: f64,
    /// Share of them in which those limits hold the true change.
    pub covered: f64,
    /// Share of them in which the kind's own limits hold the true change, be they narrower or not.
    pub covered_bare: f64,
}

/// Invented counts of a design whose numbers change by `slope` a year: one history a seed.
pub fn history(design: &Design, slope: f64, seed: u64) -> Table {
    let mut rng = Pcg64::seed_from_u64(seed);
    let swing = Normal::new(0.0, design.swing).ok();
    let mut counts = Vec::new();
    for t in 0..design.years {
        let shared = swing.map_or(0.0, |s| s.sample(&mut rng));
        // The swing's mean is taken out, so that the mean count stays what the design says.
        let mean = design.cocks * (slope * f64::from(t) + shared - design.swing * design.swing / 2.0).exp();
        for lek in 0..design.leks as usize {
            counts.push(Count { lek, year: t as i32, cocks: draw(mean, design.dispersion, &mut rng) });
        }
    }
    Table::new((0..design.leks).map(|l| l.to_string()).collect(), counts)
}

/// A count with a mean and a variance of `dispersion` times the mean: gamma-mixed Poisson, plain Poisson at 1.
fn draw(mean: f64, dispersion: f64, rng: &mut Pcg64) -> u32 {
    let mean = if dispersion > 1.0 { Gamma::new(mean / (dispersion - 1.0), dispersion - 1.0).map_or(mean, |g| g.sample(rng)) } else { mean };
    Poisson::new(mean).map_or(0, |p| p.sample(rng) as u32)
}

/// Put `histories` histories through the trend and count how often limits of each kind exclude no change, and how often
/// they hold the true one.
pub fn simulate(design: &Design, change: f64, level: f64, kinds: &[Limits], histories: u32, seed: u64) -> Vec<Found> {
    let slope = change.ln_1p();
    let mut found = vec![(0_u32, 0_u32, 0_u32, 0_u32); kinds.len()];
    let held = |s: &Slope| u32::from((s.lo..=s.hi).contains(&slope));
    for k in 0..u64::from(histories) {
        let table = history(design, slope, seed.wrapping_add(k.wrapping_mul(0x9e37_79b9_7f4a_7c15)));
        let Ok(line) = line(&table.sort_out().used, |_| 0.0) else { continue };
        for (kind, (n, seen, covered, covered_bare)) in kinds.iter().zip(&mut found) {
            let bare = line.slope(*kind, level).ok().filter(|s| s.se.is_finite());
            if let Some((bare, s)) = bare.zip(line.standing(*kind, level).map(|s| s.slope)) {
                *n += 1;
                *seen += u32::from(s.lo > 0.0 || s.hi < 0.0);
                *covered += held(&s);
                *covered_bare += held(&bare);
            }
        }
    }
    found.into_iter().map(|(n, seen, covered, bare)| Found { histories: n, seen: share(seen, n), covered: share(covered, n), covered_bare: share(bare, n) }).collect()
}

fn share(part: u32, of: u32) -> f64 {
    if of == 0 { f64::NAN } else { f64::from(part) / f64::from(of) }
}
