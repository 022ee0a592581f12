//! The leks of a holding ahead, option against option.
//!
//! From one spring count to the next, at each lek and in each draw:
//!
//! 1. **Young.** Every hen rears `mean x year effect x response` young to August. The year effect is log-normal, the most of it one for all leks and a
//!    little of it the lek's own. The response is `(met now / met as surveyed) ^ power`, where *met* is the part of the brood need that the
//!    option's ledger meets, one at most; it is held within the largest difference a study of ground found, up or down. A lek
//!    without cocks rears none.
//! 2. **Winter.** Grown birds and young live to spring at the year's survival, one deviate for all leks, times a like response to the winter part of the
//!    ledger. In a snow winter, which all leks share, it is instead the multiplier read for snow winters: that with woodland food where the
//!    snow ledger is met, that without where nothing of it is met, straight between.
//! 3. **Fences.** Deaths a year over the birds of the first year are each bird's chance of dying so, for young birds too.
//! 4. **Young hens leave**, nearly all; as many come ("immigration balance"), see [`Neighbours`]. Young cocks stay.
//! 5. **Ceiling.** No more cocks stay than suitable ground holds: the drawn density, or that of the first year where it is higher. Hens are held to the
//!    same ceiling times the stable number of hens per cock.
//!
//! Numbers of birds are whole and each bird's fate is drawn. Every option meets the same luck ([`super::chance`]), so options alike differ
//! by nothing. A lek that has lost its cocks stays empty: cocks that cross over from another lek are left to [`crate::network`].

use guidance::distribution::triangular;
use super::chance::Stream;
use super::growth::Growth;
use super::matrix::MatrixFault;
use super::rates::{KEYS, Rates};
use habitat::assess::quantiles;
use habitat::ledger::Supply;
use habitat::{Quantiles, Season};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::fmt;

/// What stands beside every projection.
pub const WORDS: &str = "a comparison, not a promise";
/// Met parts of a need below this count as this, so that a ratio of two stays a number.
const LEAST_MET: f64 = 0.01;
/// Share of draws below which a difference is not said to lean one way.
const LIKELY: f64 = 0.05;
/// Most years looked ahead.
const MOST_YEARS: u32 = 100;

/// A lek as the birds start from it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lek {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Cocks now.
    pub cocks: u32,
}

/// Birds a year: least, usual, most.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Deaths {
    /// Least.
    pub low: f64,
    /// Usual.
    pub usual: f64,
    /// Most.
    pub high: f64,
}

/// What an option makes of one lek's ground, by year of the ledger.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LekGround {
    /// Supply over need in the brood season, by year and draw.
    pub brood: Vec<Vec<f64>>,
    /// The same in winter.
    pub winter: Vec<Vec<f64>>,
    /// The same with lying snow.
    pub snowbound: Vec<Vec<f64>>,
    /// Suitable ground, hectares, by year.
    pub suitable_ha: Vec<f64>,
    /// Birds that die on fences in a year while there are as many as now, by year.
    pub fence_deaths: Vec<Deaths>,
}

/// An option.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Course {
    /// Its number; `None` as now.
    pub option: Option<u32>,
    /// Its title.
    pub title: String,
    /// One entry a lek.
    pub leks: Vec<LekGround>,
}

/// How many young hens come to a lek from elsewhere. As the holding is, immigration balances emigration under either.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Neighbours {
    /// As many as leave the lek under the first option, in the same draw and year: the country round stays as it is, and what an option
    /// gains in young hens goes to the neighbours but for those that stay.
    #[default]
    AsNow,
    /// As many as leave the lek under the same option: the country round does likewise.
    DoLikewise,
}

impl Neighbours {
    /// What that means to what an option gains.
    pub fn words(self) -> &'static str {
        match self {
            Neighbours::AsNow => "The country round stays as it is: of the young hens an option gains nearly all leave, and are the neighbours' gain; to a lek that dies out as now none come.",
            Neighbours::DoLikewise => "The country round is taken to do likewise, so that as many more young hens come as leave.",
        }
    }
}

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Ask<'a> {
    /// The leks.
    pub leks: &'a [Lek],
    /// Years of the ledger, rising from 0; between two it runs straight, past the last it stays.
    pub years: &'a [u32],
    /// The options, that as now first.
    pub courses: &'a [Course],
    /// Years to look ahead.
    pub horizon: u32,
    /// Seed of the chance of years and birds.
    pub seed: u64,
    /// Where young hens come from.
    pub neighbours: Neighbours,
}

/// One thing wrong with what is asked.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub struct AskFault {
    /// Where.
    pub place: String,
    /// What is needed.
    pub needed: String,
    /// What is there.
    pub found: String,
}

impl fmt::Display for AskFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the projection cannot be made: {}: needed {}, found {}", self.place, self.needed, self.found)
    }
}

/// Birds of one year over the draws.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct YearBirds {
    /// Years from now.
    pub year: u32,
    /// Cocks in spring.
    pub cocks: Quantiles,
    /// Hens in spring.
    pub hens: Quantiles,
    /// Share of draws with too few cocks in this year.
    pub few_fraction: f64,
    /// Share of draws with too few cocks in this year or any before.
    pub few_by_fraction: f64,
}

/// One lek ahead.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LekAhead {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// By year, now first.
    pub years: Vec<YearBirds>,
}

/// One option ahead.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CourseAhead {
    /// Its number; `None` as now.
    pub option: Option<u32>,
    /// Its title.
    pub title: String,
    /// All leks together, by year, now first.
    pub total: Vec<YearBirds>,
    /// Each lek.
    pub leks: Vec<LekAhead>,
}

/// What the second of two options changes against the first in one year, draw by draw.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BirdDifference {
    /// The first option; `None` as now.
    pub first: Option<u32>,
    /// The second.
    pub second: Option<u32>,
    /// The lek; `None` for all together.
    pub lek: Option<String>,
    /// Years from now.
    pub year: u32,
    /// Cocks more.
    pub cocks: Quantiles,
    /// Mean of cocks more, since whole birds leave the median at nothing where little changes.
    pub cocks_mean: f64,
    /// Hens more.
    pub hens: Quantiles,
    /// Share of draws in which the second has more cocks.
    pub more_fraction: f64,
    /// Share of draws in which it has fewer.
    pub fewer_fraction: f64,
}

impl BirdDifference {
    /// In words, with its certainty.
    pub fn in_words(&self) -> String {
        let (more, fewer) = (self.more_fraction, self.fewer_fraction);
        let leans = more.max(fewer) >= LIKELY && (more > 2.0 * fewer || fewer > 2.0 * more);
        let sure = if self.cocks.p10 > 0.0 {
            "told apart, more in nine draws of ten or better"
        } else if self.cocks.p90 < 0.0 {
            "told apart, fewer in nine draws of ten or worse"
        } else if more + fewer < 0.5 {
            "the same in most draws"
        } else if leans && more > fewer {
            "more is likelier than fewer"
        } else if leans {
            "fewer is likelier than more"
        } else {
            "cannot be told apart"
        };
        let range = if self.cocks.p10.abs().max(self.cocks.p90.abs()) < 0.5 { "none".to_string() } else { format!("{:+.0} to {:+.0}", self.cocks.p10, self.cocks.p90) };
        let of_hundred = |share: f64| format!("{:.0} of 100", 100.0 * share);
        format!("{} cocks on average, {range} in eight draws of ten; more in {}, fewer in {}: {sure}", self.mean_in_words(), of_hundred(more), of_hundred(fewer))
    }

    /// The mean of cocks more to a tenth; 0 where it does not show.
    pub fn mean_in_words(&self) -> String {
        if self.cocks_mean.abs() < 0.05 { "0".to_string() } else { format!("{:+.1}", self.cocks_mean) }
    }
}

/// The birds ahead under each option.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Projection {
    /// What it is.
    pub words: &'static str,
    /// Draws.
    pub draws: usize,
    /// Seed.
    pub seed: u64,
    /// Fewer cocks than this are too few.
    pub few_cocks: f64,
    /// Where young hens come from.
    pub neighbours: Neighbours,
    /// Each option.
    pub courses: Vec<CourseAhead>,
    /// Each option against each before it.
    pub differences: Vec<BirdDifference>,
    /// What growth hangs on.
    pub growth: Growth,
    /// What was taken for granted, in words.
    pub assumptions: Vec<String>,
    /// Guidance keys it rests on.
    pub evidence: Vec<&'static str>,
}

/// Supply over need of one lek and season, by year and draw, from a forecast's supply and the need of the assessment.
pub fn margins(supply: &[Vec<Supply>], need: &Supply, lek: usize, season: Season) -> Vec<Vec<f64>> {
    let s = season as usize;
    supply.iter().map(|year| year[lek][s].iter().zip(&need[s]).map(|(s, n)| s / n.max(1e-9)).collect()).collect()
}

/// Birds of one lek.
#[derive(Clone, Copy, Default)]
struct Birds {
    cocks: u32,
    hens: u32,
}

/// The birds ahead. `middle` holds the middle of every rate, `drawn` one set a draw, both of [`Rates`].
///
/// # Errors
/// Everything that is wrong with what is asked.
pub fn project(ask: &Ask, middle: &Rates, drawn: &[Rates]) -> Result<Projection, Vec<AskFault>> {
    let mut faults = faults(ask, drawn.len());
    let growth = Growth::of(middle, drawn, ask.seed).map_err(|e: MatrixFault| faults.push(fault("the rates", "rates that birds can have", e))).ok();
    let Some(growth) = growth.filter(|_| faults.is_empty()) else { return Err(faults) };
    let futures: Vec<Vec<Birds>> = drawn.par_iter().enumerate().map(|(draw, rates)| Future::of(ask, middle, rates, draw).run()).collect();
    let told = Told { ask, few: middle.few_cocks, futures: &futures };
    let courses = ask.courses.iter().enumerate().map(|(c, course)| told.course(c, course)).collect();
    Ok(Projection {
        words: WORDS,
        draws: drawn.len(),
        seed: ask.seed,
        few_cocks: middle.few_cocks,
        neighbours: ask.neighbours,
        courses,
        differences: told.differences(),
        growth,
        assumptions: assumptions(ask, middle),
        evidence: KEYS.to_vec(),
    })
}

/// One draw: the rates of one future and what they make of each option.
struct Future<'a> {
    ask: &'a Ask<'a>,
    rates: &'a Rates,
    draw: usize,
    stream: Stream,
    /// Standard deviation of the logarithm of young per hen: what leks share, what they do not.
    sigma: (f64, f64),
    hens_per_cock: f64,
    /// By lek: cocks per hectare at most, where ground is known to be suitable now.
    most_per_ha: Vec<Option<f64>>,
    /// By lek: where between least and most its fence deaths lie.
    fence: Vec<f64>,
}

/// What a year brings to all leks.
struct Year {
    year: u32,
    stream: Stream,
    /// Deviate of survival.
    survival: f64,
    /// Deviate of young per hen.
    young: f64,
    snow: bool,
    /// Place among the years of the ledger at its start and end.
    at: [(usize, f64); 2],
}

impl<'a> Future<'a> {
    fn of(ask: &'a Ask<'a>, middle: &Rates, rates: &'a Rates, draw: usize) -> Future<'a> {
        let stream = Stream::of(ask.seed).at(draw as u64);
        let all = (rates.young_cv * rates.young_cv).ln_1p();
        let own = (rates.lek_cv * rates.lek_cv).ln_1p().min(all);
        let most_per_ha = ask.leks.iter().zip(&ask.courses[0].leks).map(|(lek, ground)| {
            let ha = ground.suitable_ha[0];
            (ha > 0.0).then(|| (rates.ceiling_per_km2 / 100.0).max(f64::from(lek.cocks) / ha))
        });
        Future {
            ask,
            rates,
            draw,
            stream,
            sigma: ((all - own).sqrt(), own.sqrt()),
            hens_per_cock: middle.hens_per_cock(),
            most_per_ha: most_per_ha.collect(),
            fence: ask.leks.iter().map(|lek| stream.named(&lek.id).named("fence").uniform()).collect(),
        }
    }

    /// Birds by option, lek and year.
    fn run(&self) -> Vec<Birds> {
        let ask = self.ask;
        let (leks, years) = (ask.leks.len(), ask.horizon as usize + 1);
        let mut out = vec![Birds::default(); ask.courses.len() * leks * years];
        for (slot, birds) in out.chunks_mut(years).enumerate() {
            let cocks = ask.leks[slot % leks].cocks;
            birds[0] = Birds { cocks, hens: self.hens(f64::from(cocks)) };
        }
        for year in 1..=ask.horizon {
            let stream = self.stream.at(u64::from(year));
            let snow = stream.named("snow").uniform() < 1.0 / self.rates.snow_interval_years;
            let at = [between(ask.years, year - 1), between(ask.years, year)];
            let year = Year { year, stream, survival: stream.named("survival").normal(), young: stream.named("young").normal(), snow, at };
            for lek in 0..leks {
                let luck = year.stream.named(&ask.leks[lek].id);
                let own = luck.named("young").normal();
                let mut as_now = None;
                for course in 0..ask.courses.len() {
                    let slot = (course * leks + lek) * years + year.year as usize;
                    let (next, leaving) = self.step(&year, luck, own, course, lek, out[slot - 1], as_now);
                    out[slot] = next;
                    if ask.neighbours == Neighbours::AsNow {
                        as_now = as_now.or(Some(leaving));
                    }
                }
            }
        }
        out
    }

    /// Hens that go with so many cocks.
    fn hens(&self, cocks: f64) -> u32 {
        (cocks * self.hens_per_cock).round() as u32
    }

    /// One lek from spring to spring under one option: the birds there are then, and the expected number of young hens that leave. `arriving` is
    /// the expected number that come, where it is not that of the lek itself.
    #[allow(clippy::too_many_arguments, reason = "one step of one lek hangs on all of them")]
    fn step(&self, year: &Year, luck: Stream, own: f64, course: usize, lek: usize, birds: Birds, arriving: Option<f64>) -> (Birds, f64) {
        let r = self.rates;
        let ground = &self.ask.courses[course].leks[lek];
        let surveyed = &self.ask.courses[0].leks[lek];
        let part = |rows: &[Vec<f64>]| met(&|i| rows[i][self.draw], year.at[0]);
        let response = |rows: &[Vec<f64>], first: &[Vec<f64>], power: f64, bound: f64| {
            let first = first[0][self.draw].clamp(LEAST_MET, 1.0);
            (part(rows).max(LEAST_MET) / first).powf(power).clamp(1.0 / bound, bound)
        };
        let winter = if year.snow {
            r.snow_factor(r.snow_without_food + (r.snow_with_food - r.snow_without_food) * part(&ground.snowbound))
        } else {
            response(&ground.winter, &surveyed.winter, r.winter_response, r.winter_bound)
        };
        let survival = |mean: f64| ((mean + r.survival_sd * year.survival).clamp(0.0, 1.0) * winter).min(1.0);
        let effect = self.sigma.0 * year.young + self.sigma.1 * own - (self.sigma.0.powi(2) + self.sigma.1.powi(2)) / 2.0;
        let reared = r.young_per_hen * effect.exp() * response(&ground.brood, &surveyed.brood, r.brood_response, r.brood_bound);
        let young = if birds.cocks > 0 { f64::from(birds.hens) * reared * (r.juvenile_survival * winter).min(1.0) } else { 0.0 };
        let (past_cocks, past_hens) = self.past_fences(ground, year.at[1], lek);

        let leaving = young * r.hen_share * r.hens_leaving;
        let coming = if birds.cocks > 0 { arriving.unwrap_or(leaving) } else { 0.0 };
        let cocks = luck.named("cocks").of_birds(birds.cocks, survival(r.cock_survival) * past_cocks)
            + luck.named("young cocks").count(young * (1.0 - r.hen_share) * past_cocks);
        let hens = luck.named("hens").of_birds(birds.hens, survival(r.hen_survival) * past_hens)
            + luck.named("staying hens").count(young * r.hen_share * (1.0 - r.hens_leaving) * past_hens)
            + luck.named("coming hens").count(coming * past_hens);
        let most = self.ceiling(ground, year.at[1], lek);
        (Birds { cocks: cocks.min(most.floor() as u32), hens: hens.min(self.hens(most)) }, leaving)
    }

    /// Each cock's and each hen's chance of not dying on a fence in the year.
    fn past_fences(&self, ground: &LekGround, at: (usize, f64), lek: usize) -> (f64, f64) {
        let of = |which: &dyn Fn(&Deaths) -> f64| along(&|i| which(&ground.fence_deaths[i]), at);
        let deaths = triangular(of(&|d| d.low), of(&|d| d.usual), of(&|d| d.high), self.fence[lek]);
        let cocks = self.ask.leks[lek].cocks;
        let past = |share: f64, birds: u32| if birds == 0 { 1.0 } else { (-deaths * share / f64::from(birds)).exp() };
        let share = self.rates.fence_cock_share;
        (past(share, cocks), past(1.0 - share, self.hens(f64::from(cocks))))
    }

    /// Most cocks that the ground holds.
    fn ceiling(&self, ground: &LekGround, at: (usize, f64), lek: usize) -> f64 {
        let ha = along(&|i| ground.suitable_ha[i], at);
        let most = match self.most_per_ha[lek] {
            Some(most) => most * ha,
            // Birds where the survey knows of no suitable ground: they are there none the less.
            None => (self.rates.ceiling_per_km2 / 100.0 * ha).max(f64::from(self.ask.leks[lek].cocks)),
        };
        // As many as now must not be lost to rounding.
        most + 1e-9
    }
}

/// The place of a year among the years of the ledger: that before it and how far towards the next.
pub fn between(years: &[u32], year: u32) -> (usize, f64) {
    let i = years.partition_point(|y| *y <= year).max(1) - 1;
    match years.get(i + 1) {
        Some(next) => (i, f64::from(year - years[i]) / f64::from(next - years[i])),
        None => (i, 0.0),
    }
}

/// A figure at such a place.
pub fn along(of: &dyn Fn(usize) -> f64, (i, t): (usize, f64)) -> f64 {
    let first = of(i);
    if t > 0.0 { first + t * (of(i + 1) - first) } else { first }
}

/// The part of a need that is met, one at most.
fn met(margin: &dyn Fn(usize) -> f64, at: (usize, f64)) -> f64 {
    along(margin, at).clamp(0.0, 1.0)
}

/// The futures put into words and quantiles.
struct Told<'a> {
    ask: &'a Ask<'a>,
    few: f64,
    /// By draw: birds by option, lek and year.
    futures: &'a [Vec<Birds>],
}

impl Told<'_> {
    /// Birds of each draw in one year: of one lek, or of all.
    fn birds(&self, course: usize, lek: Option<usize>, year: u32) -> Vec<[f64; 2]> {
        let (leks, years) = (self.ask.leks.len(), self.ask.horizon as usize + 1);
        let from = lek.unwrap_or(0);
        let to = lek.map_or(leks, |l| l + 1);
        let of = |future: &Vec<Birds>| {
            let mut sum = [0.0; 2];
            for l in from..to {
                let b = future[(course * leks + l) * years + year as usize];
                sum[0] += f64::from(b.cocks);
                sum[1] += f64::from(b.hens);
            }
            sum
        };
        self.futures.iter().map(of).collect()
    }

    fn course(&self, c: usize, course: &Course) -> CourseAhead {
        let leks = self.ask.leks.par_iter().enumerate().map(|(l, lek)| LekAhead { id: lek.id.clone(), name: lek.name.clone(), years: self.years(c, Some(l)) });
        CourseAhead { option: course.option, title: course.title.clone(), total: self.years(c, None), leks: leks.collect() }
    }

    fn years(&self, course: usize, lek: Option<usize>) -> Vec<YearBirds> {
        let draws = self.futures.len() as f64;
        let mut ever = vec![false; self.futures.len()];
        (0..=self.ask.horizon)
            .map(|year| {
                let birds = self.birds(course, lek, year);
                let few = birds.iter().filter(|b| b[0] < self.few).count() as f64;
                ever.iter_mut().zip(&birds).for_each(|(e, b)| *e |= b[0] < self.few);
                let by = ever.iter().filter(|e| **e).count() as f64;
                YearBirds { year, cocks: over(&birds, 0), hens: over(&birds, 1), few_fraction: few / draws, few_by_fraction: by / draws }
            })
            .collect()
    }

    fn differences(&self) -> Vec<BirdDifference> {
        let courses = self.ask.courses;
        let pairs: Vec<(usize, usize)> = (0..courses.len()).flat_map(|a| (a + 1..courses.len()).map(move |b| (a, b))).collect();
        let leks: Vec<Option<usize>> = [None].into_iter().chain((0..self.ask.leks.len()).map(Some)).collect();
        let places: Vec<((usize, usize), Option<usize>)> = pairs.iter().flat_map(|p| leks.iter().map(move |l| (*p, *l))).collect();
        let of_place = |((a, b), lek): &((usize, usize), Option<usize>)| -> Vec<BirdDifference> {
            (0..=self.ask.horizon)
                .map(|year| {
                    let more: Vec<[f64; 2]> =
                        self.birds(*a, *lek, year).iter().zip(self.birds(*b, *lek, year)).map(|(x, y)| [y[0] - x[0], y[1] - x[1]]).collect();
                    let share = |of: &dyn Fn(f64) -> bool| more.iter().filter(|d| of(d[0])).count() as f64 / more.len() as f64;
                    BirdDifference {
                        first: courses[*a].option,
                        second: courses[*b].option,
                        lek: lek.map(|l| self.ask.leks[l].id.clone()),
                        year,
                        cocks: over(&more, 0),
                        cocks_mean: more.iter().map(|d| d[0]).sum::<f64>() / more.len() as f64,
                        hens: over(&more, 1),
                        more_fraction: share(&|d| d > 0.0),
                        fewer_fraction: share(&|d| d < 0.0),
                    }
                })
                .collect()
        };
        places.par_iter().flat_map_iter(of_place).collect()
    }
}

fn over(birds: &[[f64; 2]], which: usize) -> Quantiles {
    quantiles(&birds.iter().map(|b| b[which]).collect::<Vec<_>>())
}

/// What was taken for granted, in words.
fn assumptions(ask: &Ask, middle: &Rates) -> Vec<String> {
    let hens = match ask.neighbours {
        Neighbours::AsNow => "as many come as leave it as now, whatever an option does, so that most of the young hens an option gains are the neighbours' gain",
        Neighbours::DoLikewise => "as many come as leave it under the same option, as if the country round did likewise",
    };
    vec![
        format!("Hens are not counted; they start at {:.2} a cock, where the survival figures settle.", middle.hens_per_cock()),
        format!("Nearly all young hens leave the lek they were reared at; {hens}."),
        "Young cocks stay, and a lek that has lost its cocks stays empty.".to_string(),
        "How far breeding and winter survival follow the ledger is not known; the response is an assumption, drawn wide and held within what studies found.".to_string(),
        "The survival figures hold some fence deaths already, so that levels are low by them; what options change is hardly touched by it while there are birds.".to_string(),
        "Hens are taken to lose as many as cocks in a snow winter; only cocks were counted.".to_string(),
    ]
}

fn fault(place: impl Into<String>, needed: impl Into<String>, found: impl fmt::Display) -> AskFault {
    AskFault { place: place.into(), needed: needed.into(), found: found.to_string() }
}

fn faults(ask: &Ask, draws: usize) -> Vec<AskFault> {
    let mut out = Vec::new();
    if draws == 0 {
        out.push(fault("the draws", "at least one", 0));
    }
    if ask.leks.is_empty() {
        out.push(fault("the leks", "at least one", 0));
    }
    let mut seen = BTreeSet::new();
    out.extend(ask.leks.iter().filter(|l| !seen.insert(&l.id)).map(|l| fault("the leks", "each once", format!("`{}` again", l.id))));
    if ask.courses.is_empty() {
        out.push(fault("the options", "at least that as now", 0));
    }
    if !(1..=MOST_YEARS).contains(&ask.horizon) {
        out.push(fault("the years ahead", format!("1 to {MOST_YEARS}"), ask.horizon));
    }
    if ask.years.first() != Some(&0) || ask.years.windows(2).any(|w| w[0] >= w[1]) {
        out.push(fault("the years of the ledger", "rising from 0", format!("{:?}", ask.years)));
    }
    for course in ask.courses {
        let title = &course.title;
        if course.leks.len() != ask.leks.len() {
            out.push(fault(format!("option {title}"), format!("the ground of {} leks", ask.leks.len()), course.leks.len()));
        }
        for (lek, ground) in ask.leks.iter().zip(&course.leks) {
            let place = |what: &str| format!("option {title}, lek {}, {what}", lek.name);
            for (what, rows) in [("brood margins", &ground.brood), ("winter margins", &ground.winter), ("snow margins", &ground.snowbound)] {
                if rows.len() != ask.years.len() || rows.iter().any(|r| r.len() != draws) {
                    let found = format!("{} years with {:?} draws", rows.len(), rows.iter().map(Vec::len).collect::<BTreeSet<_>>());
                    out.push(fault(place(what), format!("{} years with {draws} draws each", ask.years.len()), found));
                }
                out.extend(rows.iter().flatten().find(|m| !(m.is_finite() && **m >= 0.0)).map(|m| fault(place(what), "numbers from nothing up", m)));
            }
            if ground.suitable_ha.len() != ask.years.len() || ground.suitable_ha.iter().any(|h| !(h.is_finite() && *h >= 0.0)) {
                out.push(fault(place("suitable ground"), format!("{} hectares from nothing up", ask.years.len()), format!("{:?}", ground.suitable_ha)));
            }
            let ordered = |d: &Deaths| d.low >= 0.0 && d.low <= d.usual && d.usual <= d.high && d.high.is_finite();
            if ground.fence_deaths.len() != ask.years.len() || !ground.fence_deaths.iter().all(ordered) {
                let needed = format!("{} years, each from nothing up, least to most", ask.years.len());
                out.push(fault(place("fence deaths"), needed, format!("{:?}", ground.fence_deaths)));
            }
        }
    }
    out
}
