//! Productivity: young per hen, hens with broods, and the young that would hold numbers steady.
//!
//! - Share of hens with broods: exact limits (Clopper & Pearson 1934).
//! - Young per hen: exact Poisson limits of the young, the hens taken as given (Garwood 1936). Young come in broods, so that they vary
//!   more between hens than single birds would: the variance over the mean between hens widens the limits, as if so many
//!   times fewer young, each worth so many, had been counted. It is taken from the counts that tell hens with broods; where brood
//!   sizes were not written down, the broods of a count are taken as all alike, which gives the least that ratio can be. Three counts
//!   or more show it too, by the scatter of young on hens (Pearson's chi-square over its degrees of freedom): the larger is used. Where
//!   no count tells hens with broods it is no less than the usual figure of guidance, `counts.brood.clumping`.
//! - Break-even: a year loses 1 - Sa of the hens, and each young makes share x Sj hens, so (1 - Sa) / (share x Sj) young per hen hold
//!   numbers steady; the share of hens among the young is that of `rates.sex_ratio_young`. Both survivals are drawn by their spreads.
//! - Verdict: the chance that young per hen are above the break-even, young per hen as a gamma distribution of (young + 1/2), widened
//!   as above (Jeffreys' prior), averaged over the draws. Between the limits of `counts.brood.certain` nothing is claimed, nor of fewer
//!   hens than `counts.brood.hens_least`.

use crate::detection::Interval;
use guidance::{Country, Draws, Guidance, Unknown};
use holding::BroodCount;
use serde::{Deserialize, Serialize};
use statrs::distribution::{Beta, ContinuousCDF, Gamma};
use std::fmt;

/// A brood count.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Broods {
    /// Hens found, with broods and without.
    pub hens: u32,
    /// Hens with a brood; `None`: not written down.
    pub with_broods: Option<u32>,
    /// Young found.
    pub young: u32,
    /// Young in each brood; empty: not written down.
    pub sizes: Vec<u32>,
}

/// What is wrong with a brood count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "what")]
pub enum Fault {
    /// No hen was found.
    NoHens,
    /// More hens with broods than hens.
    MoreBroodsThanHens {
        /// Hens with broods.
        with_broods: u32,
        /// Hens.
        hens: u32,
    },
    /// Fewer young than broods.
    FewerYoungThanBroods {
        /// Young.
        young: u32,
        /// Hens with broods.
        with_broods: u32,
    },
    /// Young, but no hen with a brood.
    YoungWithoutBroods {
        /// Young.
        young: u32,
    },
    /// Not as many brood sizes as broods.
    SizesOfOtherBroods {
        /// Sizes given.
        sizes: usize,
        /// Hens with broods.
        with_broods: u32,
    },
    /// The brood sizes do not add up to the young.
    SizesDoNotAddUp {
        /// Sum of the sizes.
        sum: u64,
        /// Young.
        young: u32,
    },
    /// A brood of none.
    EmptyBrood,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Fault::NoHens => write!(f, "no hen was found, so there are no young per hen"),
            Fault::MoreBroodsThanHens { with_broods, hens } => write!(f, "{with_broods} hens with broods, but {hens} hens in all"),
            Fault::FewerYoungThanBroods { young, with_broods } => write!(f, "{young} young for {with_broods} broods: a brood has one young at least"),
            Fault::YoungWithoutBroods { young } => write!(f, "{young} young, but no hen with a brood"),
            Fault::SizesOfOtherBroods { sizes, with_broods } => write!(f, "{sizes} brood sizes for {with_broods} hens with broods"),
            Fault::SizesDoNotAddUp { sum, young } => write!(f, "the brood sizes add up to {sum}, but {young} young are given"),
            Fault::EmptyBrood => write!(f, "a brood of no young: count its hen as one without"),
        }
    }
}

impl Broods {
    /// As counted; `None` where hens or young were not.
    pub fn of(count: &BroodCount) -> Option<Broods> {
        Some(Broods { hens: count.hens?, with_broods: count.hens_with_brood, young: count.young?, sizes: vec![] })
    }

    /// Several counts as one: what one of them lacks, the whole lacks, but how young clump is seen from those that tell it.
    pub fn pooled(counts: &[Broods]) -> Pooled {
        let mut sizes: Vec<u32> = counts.iter().flat_map(|count| &count.sizes).copied().collect();
        if counts.iter().any(|count| count.sizes.is_empty() && count.young > 0) {
            sizes.clear();
        }
        let whole = Broods {
            hens: counts.iter().map(|count| count.hens).sum(),
            with_broods: counts.iter().map(Broods::broods).sum(),
            young: counts.iter().map(|count| count.young).sum(),
            sizes,
        };
        Pooled { whole, dispersion: dispersion(counts) }
    }

    /// Hens with broods, from the sizes where only those were written down.
    fn broods(&self) -> Option<u32> {
        let none = (self.young == 0).then_some(0);
        self.with_broods.or_else(|| (!self.sizes.is_empty()).then_some(self.sizes.len() as u32)).or(none)
    }

    /// What is wrong with it, all at once.
    pub fn faults(&self) -> Vec<Fault> {
        let mut faults = vec![];
        let mut when = |wrong: bool, fault: Fault| {
            if wrong {
                faults.push(fault);
            }
        };
        let (hens, young, sizes) = (self.hens, self.young, self.sizes.len());
        when(hens == 0, Fault::NoHens);
        if let Some(with_broods) = self.broods() {
            when(with_broods > hens, Fault::MoreBroodsThanHens { with_broods, hens });
            when(young < with_broods, Fault::FewerYoungThanBroods { young, with_broods });
            when(young > 0 && with_broods == 0, Fault::YoungWithoutBroods { young });
            when(sizes > 0 && sizes != with_broods as usize, Fault::SizesOfOtherBroods { sizes, with_broods });
        }
        let sum: u64 = self.sizes.iter().map(|size| u64::from(*size)).sum();
        when(sizes > 0 && sum != u64::from(young), Fault::SizesDoNotAddUp { sum, young });
        when(self.sizes.contains(&0), Fault::EmptyBrood);
        faults
    }

    /// What the count says by itself, as [`Pooled::measure`].
    ///
    /// Errors: all faults of the count.
    pub fn measure(&self, level: f64) -> Result<Productivity, Vec<Fault>> {
        Broods::pooled(std::slice::from_ref(self)).measure(level)
    }

    /// Sum of squares of the young of hens; without the sizes of broods the least it can be. `None` where broods were not told.
    fn squares(&self) -> Option<f64> {
        let broods = f64::from(self.broods()?);
        let alike = || if self.young == 0 { 0.0 } else { f64::from(self.young).powi(2) / broods };
        Some(if self.sizes.is_empty() { alike() } else { self.sizes.iter().map(|size| f64::from(*size).powi(2)).sum() })
    }
}

/// Several brood counts as one.
#[derive(Clone, Debug, PartialEq)]
pub struct Pooled {
    /// Their sums.
    pub whole: Broods,
    dispersion: Option<Dispersion>,
}

impl Pooled {
    /// What the counts say, with limits that hold with chance `level`. Where no count tells how young clump, the limits are those of single
    /// birds: [`Productivity::or_usual`] widens them.
    ///
    /// Errors: all faults of the counts together.
    pub fn measure(&self, level: f64) -> Result<Productivity, Vec<Fault>> {
        let whole = &self.whole;
        let faults = whole.faults();
        if !faults.is_empty() {
            return Err(faults);
        }
        let (hens, young, broods) = (f64::from(whole.hens), f64::from(whole.young), whole.broods());
        let single = rate(young, hens, level);
        let found = Productivity {
            hens: whole.hens,
            young: whole.young,
            young_per_hen: single,
            dispersion: None,
            widened: single,
            with_broods: broods.map(|broods| share(broods, whole.hens, level)),
            young_per_brood: broods.filter(|broods| *broods > 0).map(|broods| young / f64::from(broods)),
        };
        Ok(match self.dispersion {
            Some(dispersion) => found.widen(dispersion, level),
            None => found,
        })
    }
}

/// Counts from which their scatter shows how young clump.
const COUNTS_LEAST: usize = 3;

/// How much more young vary between hens than single birds would; `None` where counts do not tell it.
fn dispersion(counts: &[Broods]) -> Option<Dispersion> {
    let between = between(counts);
    let Some(within) = within(counts) else { return between.map(|ratio| Dispersion { ratio, by: Basis::CountsAlone }) };
    Some(between.filter(|ratio| *ratio > within.ratio).map_or(within, |ratio| Dispersion { ratio, by: Basis::Counts }))
}

/// Variance over mean of young between the hens of the counts that tell hens with broods.
fn within(counts: &[Broods]) -> Option<Dispersion> {
    let told: Vec<(&Broods, f64)> = counts.iter().filter_map(|count| Some((count, count.squares()?))).collect();
    let hens: u32 = told.iter().map(|(count, _)| count.hens).sum();
    let young: u32 = told.iter().map(|(count, _)| count.young).sum();
    if hens < 2 || young == 0 {
        return None;
    }
    let squares: f64 = told.iter().map(|(_, squares)| squares).sum();
    let (hens, mean) = (f64::from(hens), f64::from(young) / f64::from(hens));
    let variance = (squares - hens * mean * mean) / (hens - 1.0);
    let sized = told.iter().all(|(count, _)| count.young == 0 || !count.sizes.is_empty());
    Some(Dispersion { ratio: variance / mean, by: if sized { Basis::Sizes } else { Basis::Broods } })
}

/// Pearson's chi-square of young on hens over its degrees of freedom; `None` of fewer counts than [`COUNTS_LEAST`] or without young.
fn between(counts: &[Broods]) -> Option<f64> {
    let each: Vec<(f64, f64)> = counts.iter().filter(|count| count.hens > 0).map(|count| (f64::from(count.young), f64::from(count.hens))).collect();
    let (young, hens) = each.iter().fold((0.0, 0.0), |(y, h), (young, hens)| (y + young, h + hens));
    if each.len() < COUNTS_LEAST || young == 0.0 {
        return None;
    }
    let off = |(seen, of): &(f64, f64)| (seen - of * young / hens).powi(2) / (of * young / hens);
    Some(each.iter().map(off).sum::<f64>() / (each.len() - 1) as f64)
}

/// What a dispersion was seen from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// The sizes of broods.
    Sizes,
    /// Hens with broods and without, broods taken as all alike: the least it can be.
    Broods,
    /// The scatter between counts, larger than what hens with broods show.
    Counts,
    /// The scatter between counts, none of which tells hens with broods.
    CountsAlone,
    /// Broods of usual size: the figure of guidance.
    Usual,
}

/// How much more young vary between hens than single birds would.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Dispersion {
    /// Variance of young between hens over their mean; 1: as single birds.
    pub ratio: f64,
    /// What it was seen from.
    pub by: Basis,
}

impl Dispersion {
    /// What limits are widened by: never less than chance.
    fn clumping(self) -> f64 {
        self.ratio.max(1.0)
    }
}

impl fmt::Display for Dispersion {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let from = match self.by {
            Basis::Sizes => "by the sizes of broods, young vary between hens",
            Basis::Broods => "by the hens with broods and without, young vary between hens at least",
            Basis::Counts | Basis::CountsAlone => "by how the counts differ from one another, young vary between hens",
            Basis::Usual => "the counts do not tell hens with broods; with broods of usual size young vary between hens",
        };
        if self.ratio > 1.0 {
            write!(f, "{from} {:.1} times as much as single birds would, as they come in broods: the limits are widened", self.ratio)
        } else {
            write!(f, "{} no more than single birds would: the limits are not widened", from.trim_end_matches(" at least"))
        }
    }
}

/// What a brood count says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Productivity {
    /// Hens.
    pub hens: u32,
    /// Young.
    pub young: u32,
    /// Young per hen, limits of single birds (Garwood).
    pub young_per_hen: Interval,
    /// How much more young vary between hens than that.
    pub dispersion: Option<Dispersion>,
    /// Young per hen, limits widened by it.
    pub widened: Interval,
    /// Share of hens with broods, exact limits (Clopper-Pearson).
    pub with_broods: Option<Interval>,
    /// Young per brood.
    pub young_per_brood: Option<f64>,
}

impl Productivity {
    /// Limits widened by how young clump.
    fn widen(self, dispersion: Dispersion, level: f64) -> Self {
        let clumping = dispersion.clumping();
        Self { dispersion: Some(dispersion), widened: rate(f64::from(self.young) / clumping, f64::from(self.hens) / clumping, level), ..self }
    }

    /// Widened by no less than the usual figure, where no count told hens with broods.
    ///
    /// Errors: a key that guidance does not hold.
    pub fn or_usual(self, guidance: &Guidance, country: Country, level: f64) -> Result<Self, Unknown> {
        let usual = Dispersion { ratio: guidance.number("counts.brood.clumping", country)?, by: Basis::Usual };
        let told = self.dispersion.is_some_and(|d| d.by != Basis::CountsAlone || d.ratio >= usual.ratio);
        Ok(if told { self } else { self.widen(usual, level) })
    }
}

/// Share `of` of `all`, with exact limits (Clopper & Pearson 1934): each limit leaves half of what `level` lacks beyond it.
pub fn share(of: u32, all: u32, level: f64) -> Interval {
    let (k, n, tail) = (f64::from(of), f64::from(all), (1.0 - level) / 2.0);
    let beta = |a: f64, b: f64, share: f64| Beta::new(a, b).map_or(f64::NAN, |beta| beta.inverse_cdf(share));
    Interval {
        value: k / n,
        low: if of == 0 { 0.0 } else { beta(k, n - k + 1.0, tail) },
        high: if of >= all { 1.0 } else { beta(k + 1.0, n - k, 1.0 - tail) },
    }
}

/// Events a unit of `exposure`, with exact Poisson limits (Garwood 1936); events need not be whole where clumps are counted.
pub fn rate(events: f64, exposure: f64, level: f64) -> Interval {
    let tail = (1.0 - level) / 2.0;
    let limit = |shape: f64, share: f64| Gamma::new(shape, 1.0).map_or(f64::NAN, |gamma| gamma.inverse_cdf(share)) / exposure;
    Interval { value: events / exposure, low: if events > 0.0 { limit(events, tail) } else { 0.0 }, high: limit(events + 1.0, 1.0 - tail) }
}

/// Standard error of a share `p` of `n`.
pub fn standard_error(p: f64, n: u32) -> f64 {
    (p * (1.0 - p) / f64::from(n)).sqrt()
}

/// Whose survival a break-even is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Survival {
    /// What the projection takes: August to April for the young.
    Modelled,
    /// What radio-tagged birds of the country gave (Baines et al. 2007); no spread was read, and the young may be of
    /// September to February only.
    Tagged,
    /// Hens of the French Alps (Caizergues & Ellison 1997).
    FrenchAlps,
}

impl Survival {
    /// All of them.
    pub const ALL: [Survival; 3] = [Survival::Modelled, Survival::Tagged, Survival::FrenchAlps];

    /// The keys of guidance: of a hen for a year, of a young to its first spring.
    pub fn keys(self) -> (&'static str, &'static str) {
        match self {
            Survival::Modelled => ("projection.adult_hen_survival", "projection.juvenile_survival"),
            Survival::Tagged => ("rates.adult_survival", "rates.juvenile_survival"),
            Survival::FrenchAlps => ("rates.french_alps.hens_site_1", "rates.french_alps.juveniles"),
        }
    }
}

/// Young per hen that hold numbers steady.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BreakEven {
    /// Whose survival.
    pub survival: Survival,
    /// From the middle figures.
    pub young_per_hen: f64,
    /// In each draw, rising.
    pub draws: Vec<f64>,
}

impl BreakEven {
    /// The break-even of a survival, in the country of the draws.
    ///
    /// Errors: a key that guidance does not hold there.
    pub fn of(survival: Survival, guidance: &Guidance, draws: &Draws) -> Result<Self, Unknown> {
        let country = draws.country();
        let (adult, juvenile) = survival.keys();
        let hens = |cocks_per_hen: f64| 1.0 / (1.0 + cocks_per_hen);
        let middle = hens(guidance.number("rates.sex_ratio_young", country)?);
        let young_per_hen = break_even(guidance.number(adult, country)?, guidance.number(juvenile, country)?, middle);
        let ratio = draws.of("rates.sex_ratio_young")?;
        let mut each: Vec<f64> = draws.of(adult)?.iter().zip(draws.of(juvenile)?).zip(ratio).map(|((a, j), r)| break_even(*a, *j, hens(*r))).collect();
        each.sort_by(f64::total_cmp);
        Ok(Self { survival, young_per_hen, draws: each })
    }

    /// The figure with the limits that hold a share `level` of the draws.
    pub fn limits(&self, level: f64) -> Interval {
        let at = |share: f64| {
            let place = ((self.draws.len() as f64 * share).floor() as usize).min(self.draws.len().saturating_sub(1));
            self.draws.get(place).copied().unwrap_or(self.young_per_hen)
        };
        let tail = (1.0 - level) / 2.0;
        Interval { value: self.young_per_hen, low: at(tail), high: at(1.0 - tail) }
    }
}

/// Young per hen that hold numbers steady: `adult` survival of a hen for a year, `juvenile` of a young to its first spring, and the
/// share of hens among the young.
pub fn break_even(adult: f64, juvenile: f64, hens: f64) -> f64 {
    (1.0 - adult) / (hens * juvenile)
}

/// On which side of the break-even.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// Above.
    Above,
    /// Below.
    Below,
    /// Cannot be told.
    CannotTell,
}

/// Young per hen beside the break-even.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Verdict {
    /// Which side.
    pub standing: Standing,
    /// Chance that young per hen are above the break-even.
    pub above: f64,
    /// Young per hen, limits widened.
    pub young_per_hen: Interval,
    /// Break-even.
    pub break_even: Interval,
    /// Hens counted.
    pub hens: u32,
    /// Fewest hens that a verdict stands on.
    pub hens_least: u32,
}

impl Verdict {
    /// Whether too few hens were counted for a verdict; nothing is then claimed.
    pub fn too_few_hens(&self) -> bool {
        self.hens < self.hens_least
    }

    /// Of a brood count beside a break-even; limits that hold with chance `level`.
    ///
    /// Errors: a key that guidance does not hold.
    pub fn of(found: &Productivity, against: &BreakEven, guidance: &Guidance, country: Country, level: f64) -> Result<Self, Unknown> {
        let certain = guidance.number("counts.brood.certain", country)? / 100.0;
        let hens_least = guidance.number("counts.brood.hens_least", country)?.ceil() as u32;
        let found = found.clone().or_usual(guidance, country, level)?;
        let clumping = found.dispersion.map_or(1.0, Dispersion::clumping);
        let (clumps, hens) = (f64::from(found.young) / clumping + 0.5, f64::from(found.hens) / clumping);
        let over = |steady: f64| Gamma::new(clumps, hens).map_or(f64::NAN, |gamma| gamma.sf(steady));
        let above = if against.draws.is_empty() { over(against.young_per_hen) } else { against.draws.iter().map(|steady| over(*steady)).sum::<f64>() / against.draws.len() as f64 };
        let standing = if found.hens < hens_least {
            Standing::CannotTell
        } else if above >= certain {
            Standing::Above
        } else if above <= 1.0 - certain {
            Standing::Below
        } else {
            Standing::CannotTell
        };
        Ok(Self { standing, above, young_per_hen: found.widened, break_even: against.limits(level), hens: found.hens, hens_least })
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (young, steady) = (self.young_per_hen, self.break_even);
        let in_words = |i: Interval| if i.high - i.low < 5e-3 { format!("{:.1}", i.value) } else { format!("{:.1} ({:.1} to {:.1})", i.value, i.low, i.high) };
        if self.too_few_hens() {
            let hens = if self.hens == 1 { "1 hen".to_string() } else { format!("{} hens", self.hens) };
            return write!(
                f,
                "it cannot be told whether there are enough young to hold numbers steady: {hens} counted, and fewer than {} are too few to judge by; {} young per hen, where about {} are needed",
                self.hens_least,
                in_words(young),
                in_words(steady)
            );
        }
        let what = match self.standing {
            Standing::Above => "enough young to hold numbers steady",
            Standing::Below => "too few young to hold numbers steady",
            Standing::CannotTell => "it cannot be told whether there are enough young to hold numbers steady",
        };
        write!(
            f,
            "{what}: {} young per hen, where about {} are needed; {:.0} chances in 100 that there are enough. It holds for the summers counted: what counts is the mean of many",
            in_words(young),
            in_words(steady),
            100.0 * self.above
        )
    }
}
