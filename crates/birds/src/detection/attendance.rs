//! How many of its cocks a lek shows.
//!
//! A cock is at its lek on a morning with chance p, `counts.attendance.april`. Where each comes and goes on its own, the count
//! of one visit is binomial; where they come and go together (weather, a fox, a hawk), it is beta-binomial with a correlation
//! between any two cocks of a morning, `counts.attendance.correlation`. Mornings are independent. The highest of v visits is at
//! most m with chance F(m)^v, F being the distribution of one visit: everything here is that sum, nothing is drawn. Coming together
//! does not lower the expected highest count of several visits (mornings differ more, so the best is better), but it tells less: the
//! interval of the cocks is wider, and a lek more often shows nobody.
//!
//! Back from a highest count to the number of cocks: by Bayes with a flat prior over every number, so that the likeliest
//! number is also that of greatest likelihood; the interval is the shortest run of numbers that holds the share asked for.
//! Under strong correlation and few visits the chance of a number falls off so slowly that no upper limit stands: that is said.

use guidance::{Country, Guidance, Unknown};
use serde::{Deserialize, Serialize};
use statrs::function::beta::ln_beta;
use statrs::function::factorial::ln_binomial;
use std::fmt;

/// Numbers of cocks beyond this are not looked at.
const FURTHEST: u32 = 4000;
/// Share that may lie beyond.
const BEYOND: f64 = 1e-3;

/// How cocks come to a lek of a morning.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Attendance {
    /// Chance that a cock is there.
    pub chance: f64,
    /// Correlation between any two cocks of a morning; none: each on its own.
    pub correlation: f64,
}

/// The cocks a lek probably has.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cocks {
    /// Highest count.
    pub highest: u32,
    /// Visits it is the highest of.
    pub visits: u32,
    /// Likeliest number.
    pub likeliest: u32,
    /// Mean of the numbers, each by its chance.
    pub mean: f64,
    /// Least of the interval.
    pub low: u32,
    /// Greatest of the interval.
    pub high: u32,
    /// Share of the cocks that the highest count probably missed; `None` where none was seen.
    pub share_missed: Option<f64>,
}

/// Why a highest count does not tell the number of cocks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "why")]
pub enum Refusal {
    /// No visit was made.
    NoVisits,
    /// The chance of being there is nothing.
    NeverThere,
    /// Numbers without end remain possible.
    NoUpperLimit {
        /// Visits made.
        visits: u32,
    },
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Refusal::NoVisits => write!(f, "no visit was made"),
            Refusal::NeverThere => write!(f, "cocks that are never at the lek cannot be counted there"),
            Refusal::NoUpperLimit { visits } => {
                write!(f, "cocks that come and go together so much leave no upper limit after {visits} visits: more visits are needed")
            }
        }
    }
}

impl Attendance {
    /// Cocks that come and go each on its own.
    ///
    /// Errors: a key that guidance does not hold.
    pub fn alone(guidance: &Guidance, country: Country) -> Result<Self, Unknown> {
        Ok(Self { chance: guidance.number("counts.attendance.april", country)?, correlation: 0.0 })
    }

    /// Cocks that come and go together, by the correlation assumed in guidance.
    ///
    /// Errors: a key that guidance does not hold.
    pub fn together(guidance: &Guidance, country: Country) -> Result<Self, Unknown> {
        Ok(Self { correlation: guidance.number("counts.attendance.correlation", country)?, ..Self::alone(guidance, country)? })
    }

    /// Chance of a count of `seen` of `cocks` on one visit.
    pub fn count(&self, cocks: u32, seen: u32) -> f64 {
        if seen > cocks {
            return 0.0;
        }
        let (p, q) = (self.chance.clamp(0.0, 1.0), 1.0 - self.chance.clamp(0.0, 1.0));
        let (there, away) = (f64::from(seen), f64::from(cocks - seen));
        if p == 0.0 || q == 0.0 {
            return f64::from(u8::from(if p == 0.0 { seen == 0 } else { seen == cocks }));
        }
        if self.correlation >= 1.0 && cocks > 0 {
            return if seen == cocks { p } else if seen == 0 { q } else { 0.0 };
        }
        let ways = ln_binomial(u64::from(cocks), u64::from(seen));
        if self.correlation <= 0.0 || cocks == 0 {
            return (ways + there * p.ln() + away * q.ln()).exp();
        }
        let (a, b) = self.beta();
        (ways + ln_beta(there + a, away + b) - ln_beta(a, b)).exp()
    }

    /// Chance that the highest count of `visits` is `highest`, where the lek has `cocks`.
    pub fn highest(&self, cocks: u32, visits: u32, highest: u32) -> f64 {
        if highest > cocks {
            return 0.0;
        }
        let below: f64 = (0..highest).map(|seen| self.count(cocks, seen)).sum();
        let all = if highest == cocks { 1.0 } else { (below + self.count(cocks, highest)).min(1.0) };
        (all.powi(visits as i32) - below.min(1.0).powi(visits as i32)).max(0.0)
    }

    /// Expected highest count of `visits` as a share of `cocks`; `None` without cocks or visits.
    pub fn highest_share(&self, cocks: u32, visits: u32) -> Option<f64> {
        if cocks == 0 || visits == 0 {
            return None;
        }
        let mut at_most = 0.0;
        let mut expected = 0.0;
        for seen in 0..cocks {
            at_most += self.count(cocks, seen);
            expected += 1.0 - f64::min(at_most, 1.0).powi(visits as i32);
        }
        Some(expected / f64::from(cocks))
    }

    /// Chance that a lek of `cocks` shows at least one of them in `visits`.
    pub fn found(&self, cocks: u32, visits: u32) -> f64 {
        1.0 - self.count(cocks, 0).powi(visits as i32)
    }

    /// Fewest visits after which a lek of `cocks` has shown one with chance `wanted`; `None` where no number of visits does.
    pub fn visits_needed(&self, cocks: u32, wanted: f64) -> Option<u32> {
        visits_needed(1.0 - self.count(cocks, 0), wanted)
    }

    /// The cocks of a lek whose highest count of `visits` is `highest`, with the interval that holds a share `level`.
    ///
    /// Errors: why the count does not tell.
    pub fn cocks(&self, highest: u32, visits: u32, level: f64) -> Result<Cocks, Refusal> {
        if visits == 0 {
            return Err(Refusal::NoVisits);
        }
        if self.chance <= 0.0 {
            return Err(Refusal::NeverThere);
        }
        let chances = self.chances(highest, visits)?;
        let sum: f64 = chances.iter().sum();
        let numbered = || (highest..).zip(&chances);
        let mean_of = |figure: &dyn Fn(f64) -> f64| numbered().map(|(cocks, chance)| figure(f64::from(cocks)) * chance).sum::<f64>() / sum;
        let mut order: Vec<(u32, f64)> = numbered().map(|(cocks, chance)| (cocks, *chance)).collect();
        order.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let likeliest = order.first().map_or(highest, |(cocks, _)| *cocks);
        let (mut low, mut high, mut held) = (likeliest, likeliest, 0.0);
        for (cocks, chance) in order {
            if held >= level * sum {
                break;
            }
            held += chance;
            (low, high) = (low.min(cocks), high.max(cocks));
        }
        let share_missed = (highest > 0).then(|| mean_of(&|cocks| 1.0 - f64::from(highest) / cocks));
        Ok(Cocks { highest, visits, likeliest, mean: mean_of(&|cocks| cocks), low, high, share_missed })
    }

    /// Chance of the highest count for each number of cocks from it upward, as far as it matters.
    fn chances(&self, highest: u32, visits: u32) -> Result<Vec<f64>, Refusal> {
        // The chances fall off like a power of the number of cocks where they come together, and faster where they do not.
        let power = if self.correlation > 0.0 { f64::from(visits) * self.beta().1 } else { f64::INFINITY };
        if power <= 1.0 {
            return Err(Refusal::NoUpperLimit { visits });
        }
        let (mut chances, mut sum, mut greatest) = (vec![], 0.0, 0.0);
        for cocks in highest..=FURTHEST.max(4 * highest) {
            let chance = self.highest(cocks, visits, highest);
            chances.push(chance);
            sum += chance;
            greatest = f64::max(greatest, chance);
            let rest = if power.is_finite() { chance * f64::from(cocks) / (power - 1.0) } else { chance };
            if chance < greatest && rest < 1e-12 * sum {
                return Ok(chances);
            }
        }
        let rest = chances.last().map_or(0.0, |chance| chance * f64::from(FURTHEST.max(4 * highest)) / (power - 1.0));
        if rest > BEYOND * sum { Err(Refusal::NoUpperLimit { visits }) } else { Ok(chances) }
    }

    /// The two figures of the beta distribution of a morning.
    fn beta(&self) -> (f64, f64) {
        let both = 1.0 / self.correlation - 1.0;
        (self.chance * both, (1.0 - self.chance) * both)
    }
}

/// Chance of at least one success in `visits`, each with chance `chance`.
pub fn at_least_once(chance: f64, visits: u32) -> f64 {
    1.0 - (1.0 - chance).powi(visits as i32)
}

/// Fewest visits with at least one success with chance `wanted`; `None` where no number of visits does.
pub fn visits_needed(chance: f64, wanted: f64) -> Option<u32> {
    if chance >= 1.0 || wanted <= 0.0 {
        return Some(u32::from(wanted > 0.0));
    }
    if chance <= 0.0 || wanted >= 1.0 {
        return None;
    }
    // A whole number of visits that reaches the chance exactly must not be pushed one up by rounding.
    Some(((-wanted).ln_1p() / (-chance).ln_1p() - 1e-9).ceil().max(1.0) as u32)
}
