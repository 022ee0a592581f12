//! Discount rates, and when the first flow falls.

use serde::{Deserialize, Serialize};

/// When the first flow of a list falls; the others follow a year apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FirstFlow {
    /// Now, undiscounted: the list begins in year 0.
    Now,
    /// At the end of the first year: discounted once.
    EndOfYear,
    /// In the middle of the first year: discounted for half a year.
    MidYear,
}

impl FirstFlow {
    /// Years from now to flow `index` of a list.
    pub fn years(self, index: usize) -> f64 {
        index as f64
            + match self {
                FirstFlow::Now => 0.0,
                FirstFlow::EndOfYear => 1.0,
                FirstFlow::MidYear => 0.5,
            }
    }
}

/// Discount rates by year, as fractions: one throughout, or steps that each hold from a year on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Vec<(u32, f64)>", into = "Vec<(u32, f64)>")]
pub struct Rates {
    /// The first year that is discounted at a rate, and the rate; year 1 runs from now to a year from now.
    steps: Vec<(u32, f64)>,
}

/// What may be wrong with discount rates.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RatesFault {
    /// No rate for the first year.
    #[error("discount rates: needed a rate from year 1, found {found}\n  hint: begin the list with the rate of the first years")]
    NoFirst {
        /// What stands first.
        found: String,
    },
    /// Years that do not rise.
    #[error("discount rates: needed years that rise, found {year} after {before}\n  hint: list each rate once, by the first year it holds")]
    NotRising {
        /// The year that comes before.
        before: u32,
        /// The year that is not later.
        year: u32,
    },
    /// A rate that is no number, or takes everything or more.
    #[error("discount rate from year {year}: needed a fraction above -1, found {rate}\n  hint: 3.5 % is 0.035")]
    NoRate {
        /// First year of the rate.
        year: u32,
        /// The rate.
        rate: f64,
    },
}

impl Rates {
    /// One rate for all years, a fraction.
    ///
    /// # Errors
    /// A rate that is no number or not above -1.
    pub fn constant(rate: f64) -> Result<Rates, RatesFault> {
        Rates::falling(vec![(1, rate)])
    }

    /// Rates that hold from a year on: `[(1, 0.035), (31, 0.03)]` discounts years 1 to 30 at the first and all later ones at the second.
    ///
    /// # Errors
    /// A list that does not begin with year 1 (0 is taken for it), years that do not rise, or a rate not above -1.
    pub fn falling(steps: Vec<(u32, f64)>) -> Result<Rates, RatesFault> {
        match steps.first() {
            Some((0 | 1, _)) => {}
            first => return Err(RatesFault::NoFirst { found: first.map_or("none".into(), |(year, _)| format!("year {year}")) }),
        }
        for pair in steps.windows(2) {
            if pair[0].0 >= pair[1].0 {
                return Err(RatesFault::NotRising { before: pair[0].0, year: pair[1].0 });
            }
        }
        match steps.iter().find(|(_, rate)| !(rate.is_finite() && *rate > -1.0)) {
            Some(&(year, rate)) => Err(RatesFault::NoRate { year, rate }),
            None => Ok(Rates { steps }),
        }
    }

    /// What a pound `years` from now is worth now (P/F): each year at its own rate, a part of a year at the rate of that year.
    pub fn factor(&self, years: f64) -> f64 {
        self.steps.iter().enumerate().fold(1.0, |factor, (i, &(from, rate))| {
            let begin = f64::from(from.saturating_sub(1));
            let end = self.steps.get(i + 1).map_or(f64::INFINITY, |next| f64::from(next.0 - 1));
            factor * (1.0 + rate).powf(-(years.min(end) - begin).max(0.0))
        })
    }

    /// Years after which the rate no longer changes, and the rate from then on.
    pub(super) fn last(&self) -> (f64, f64) {
        self.steps.last().map_or((0.0, 0.0), |&(from, rate)| (f64::from(from.saturating_sub(1)), rate))
    }
}

impl TryFrom<Vec<(u32, f64)>> for Rates {
    type Error = RatesFault;
    fn try_from(steps: Vec<(u32, f64)>) -> Result<Rates, RatesFault> {
        Rates::falling(steps)
    }
}

impl From<Rates> for Vec<(u32, f64)> {
    fn from(rates: Rates) -> Self {
        rates.steps
    }
}

/// The rate that is left of a nominal one when prices rise by `inflation`, all fractions a year: (1 + nominal) / (1 + inflation) - 1.
pub fn real_rate(nominal: f64, inflation: f64) -> f64 {
    (1.0 + nominal) / (1.0 + inflation) - 1.0
}
