//! Which heather patches to work in which year: each at most once, touching patches apart in time, an area limit each
//! year and over runs of years, and a share of each block kept back.

use super::pack::{self, Answer, Limit, Options, Pack, PackError, Ready};
use serde::Serialize;

/// A patch.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    /// Area.
    pub area_ha: f64,
    /// Gain of working it in each year; minus infinity where it cannot be worked that year.
    pub gain: Vec<f64>,
    /// Its block, where it has one.
    pub block: Option<usize>,
}

/// A block of ground with limits of its own.
#[derive(Clone, Debug, PartialEq)]
pub struct Block {
    /// Name, for messages.
    pub name: String,
    /// Area of the block, patches and ground between.
    pub area_ha: f64,
    /// Share of the block that is not worked within the plan.
    pub keep_back_share: f64,
    /// At most so many hectares in any run of so many years.
    pub run_cap: Option<RunCap>,
}

/// An area limit over a run of years.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunCap {
    /// Length of the run.
    pub years: usize,
    /// The most in any such run.
    pub area_ha: f64,
}

/// The question.
#[derive(Clone, Debug, Default)]
pub struct Rotation {
    /// Patches.
    pub patches: Vec<Patch>,
    /// The most to work in each year; its length is the number of years. Infinity for no limit.
    pub cap_ha: Vec<f64>,
    /// Pairs of patches that touch.
    pub touching: Vec<(usize, usize)>,
    /// Touching patches are worked more than this many years apart; nought: not in the same year.
    pub gap_years: usize,
    /// Blocks.
    pub blocks: Vec<Block>,
}

/// A plan of work.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RotationPlan {
    /// By patch: the year in which it is worked.
    pub year: Vec<Option<usize>>,
    /// Hectares worked each year.
    pub area_ha: Vec<f64>,
    /// The search's answer; candidates are patch times years plus year.
    pub answer: Answer,
}

impl Rotation {
    /// Plan with the greatest gain, or the best found with a bound on what any could gain.
    ///
    /// # Errors
    /// [`PackError::Faulty`] with every fault of the lists.
    pub fn solve(&self, options: &Options, stop: &dyn Fn() -> bool) -> Result<RotationPlan, PackError> {
        let pack = self.pose()?;
        let ready = Ready::new(&pack)?;
        let answer = pack::search(&ready, options, &[], stop);
        let years = self.cap_ha.len();
        let mut year = vec![None; self.patches.len()];
        let mut area_ha = vec![0.0; years];
        for c in &answer.chosen {
            year[c / years] = Some(c % years);
            area_ha[c % years] += self.patches[c / years].area_ha;
        }
        Ok(RotationPlan { year, area_ha, answer })
    }

    fn check(&self) -> Result<(), PackError> {
        let mut faults = Vec::new();
        let years = self.cap_ha.len();
        for (i, p) in self.patches.iter().enumerate() {
            if p.gain.len() != years {
                faults.push(format!("patch {i} has gains for {} years: needed {years}", p.gain.len()));
            }
            if !(p.area_ha.is_finite() && p.area_ha >= 0.0) || p.gain.iter().any(|g| g.is_nan() || *g == f64::INFINITY) {
                faults.push(format!("patch {i} has area {} ha or a gain that is no number", p.area_ha));
            }
            if let Some(b) = p.block.filter(|b| *b >= self.blocks.len()) {
                faults.push(format!("patch {i} lies in block {b}; there are {}", self.blocks.len()));
            }
        }
        for b in &self.blocks {
            if !((0.0..=1.0).contains(&b.keep_back_share) && b.area_ha.is_finite() && b.area_ha >= 0.0) {
                faults.push(format!("block '{}' has {} ha and keeps back {}: needed an area and a share of 0 to 1", b.name, b.area_ha, b.keep_back_share));
            }
            if b.run_cap.is_some_and(|r| r.years == 0) {
                faults.push(format!("block '{}' has a limit over a run of no years: needed one or more", b.name));
            }
        }
        for (a, b) in &self.touching {
            if *a >= self.patches.len() || *b >= self.patches.len() || a == b {
                faults.push(format!("patches {a} and {b} are said to touch: needed two of {}", self.patches.len()));
            }
        }
        if faults.is_empty() { Ok(()) } else { Err(PackError::Faulty(faults)) }
    }

    /// One candidate for each patch and year.
    fn pose(&self) -> Result<Pack, PackError> {
        self.check()?;
        let years = self.cap_ha.len();
        let at = |patch: usize, year: usize| patch * years + year;
        let mut pack = Pack { deltas: vec![Vec::new(); self.patches.len() * years], ..Pack::default() };
        for (i, p) in self.patches.iter().enumerate() {
            for (y, g) in p.gain.iter().enumerate() {
                pack.worth.push(if g.is_finite() { *g } else { 0.0 });
                if !g.is_finite() {
                    pack.forced_out.push(at(i, y));
                }
            }
            pack.cliques.push((0..years).map(|y| at(i, y)).collect());
        }
        // Patches that all touch each other exclude each other over any run of gap + 1 years.
        let run = (self.gap_years + 1).min(years.max(1));
        for together in touching_sets(self.patches.len(), &self.touching) {
            for first in 0..(years + 1).saturating_sub(run) {
                pack.cliques.push(together.iter().flat_map(|p| (first..first + run).map(move |y| at(*p, y))).collect());
            }
        }
        for (y, cap) in self.cap_ha.iter().enumerate() {
            let uses = self.patches.iter().enumerate().map(|(i, p)| (at(i, y), p.area_ha)).collect();
            pack.limits.push(Limit { name: format!("hectares worked in year {}", y + 1), most: *cap, uses });
        }
        for (b, block) in self.blocks.iter().enumerate() {
            let inside: Vec<(usize, f64)> = self.patches.iter().enumerate().filter(|(_, p)| p.block == Some(b)).map(|(i, p)| (i, p.area_ha)).collect();
            let over = |from: usize, to: usize| inside.iter().flat_map(|(i, a)| (from..to).map(|y| (at(*i, y), *a))).collect::<Vec<_>>();
            if block.keep_back_share > 0.0 {
                let most = (1.0 - block.keep_back_share) * block.area_ha;
                pack.limits.push(Limit { name: format!("hectares of {} worked in all years", block.name), most, uses: over(0, years) });
            }
            if let Some(cap) = block.run_cap {
                let run = cap.years.min(years.max(1));
                for first in 0..(years + 1).saturating_sub(run) {
                    let name = format!("hectares of {} worked in years {} to {}", block.name, first + 1, first + run);
                    pack.limits.push(Limit { name, most: cap.area_ha, uses: over(first, first + run) });
                }
            }
        }
        Ok(pack)
    }
}

/// Sets of patches that all touch each other, grown to the largest from each pair not yet covered.
fn touching_sets(n: usize, pairs: &[(usize, usize)]) -> Vec<Vec<usize>> {
    let mut near: Vec<std::collections::BTreeSet<usize>> = vec![Default::default(); n];
    for (a, b) in pairs {
        near[*a].insert(*b);
        near[*b].insert(*a);
    }
    let mut covered = std::collections::BTreeSet::new();
    let mut out = Vec::new();
    for (a, b) in pairs {
        if covered.contains(&(*a.min(b), *a.max(b))) {
            continue;
        }
        let mut set = vec![*a, *b];
        let mut more: Vec<usize> = near[*a].intersection(&near[*b]).copied().collect();
        while let Some(next) = more.iter().copied().max_by_key(|x| (more.iter().filter(|y| near[*x].contains(y)).count(), std::cmp::Reverse(*x))) {
            set.push(next);
            more.retain(|y| near[next].contains(y));
        }
        set.sort_unstable();
        for (i, x) in set.iter().enumerate() {
            set[i + 1..].iter().for_each(|y| {
                covered.insert((*x, *y));
            });
        }
        out.push(set);
    }
    out
}
