//! From a plan worked out and its years ahead to the birds ahead and the network of leks. What the ground of a lek is to its birds is in
//! [`super::ground`].
//!
//! - **Weight of a lek in the network** is the cocks its ground could keep: the mean over the seven seasons of target x margin, none counted beyond what suitable
//!   ground holds at the highest densities read of.

use super::ground::{self, OwnCells, OwnGround};
use crate::command::course::{Start, Under};
use crate::command::place_of;
use crate::fail::Fail;
use birds::network::{Dispersal, Network, Patch, network};
use birds::project::birds::{Ask, Course, Deaths, Lek, LekGround, Neighbours, Projection, YearBirds, margins, project};
use birds::project::rates::Rates;
use birds::visits;
use chrono::Datelike;
use guidance::Country;
use habitat::Season;
use habitat::assess::quantiles;
use habitat::ledger::Supply;
use rayon::prelude::*;
use serde::Serialize;

/// What is asked of the birds ahead; draws and seed are those of the assessment.
#[derive(Clone, Copy, Debug)]
pub struct Settings {
    /// Years to look ahead.
    pub horizon: u32,
    /// Where young hens come from.
    pub neighbours: Neighbours,
}

/// What a lek is to the birds ahead.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Part {
    /// Its birds are looked ahead for.
    Counted,
    /// Its latest count found no cock: it stays empty, and is ground that birds could settle.
    Empty,
    /// No count of it is known.
    NotCounted,
}

/// A lek as the birds start from it.
#[derive(Clone, Debug, Serialize)]
pub struct LekNow {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// What it is to the birds ahead.
    pub part: Part,
    /// Cocks of the latest year counted.
    pub cocks: Option<u32>,
    /// That year.
    pub counted: Option<i32>,
    /// Whether a visit of that year counts by season and hour.
    pub valid: bool,
}

/// Deaths on fences near one lek under an option.
#[derive(Clone, Debug, Serialize)]
pub struct FenceDeaths {
    /// The option; `None` as now.
    pub option: Option<u32>,
    /// The lek.
    pub lek: String,
    /// Birds a year while there are as many as now, by year from now.
    pub years: Vec<Deaths>,
}

/// The birds were the ground to stay as surveyed: how much of what is coming lies in the birds' own figures.
#[derive(Clone, Debug, Serialize)]
pub struct Held {
    /// All leks together by year, no bird dying on a fence beyond what survival holds.
    pub without_fences: Vec<YearBirds>,
    /// With the fences as they stand.
    pub with_fences: Vec<YearBirds>,
}

/// What an option makes of the network in the last year looked at, its leks held as now.
#[derive(Clone, Debug, Serialize)]
pub struct NetworkLater {
    /// The option; `None` as now.
    pub option: Option<u32>,
    /// Years from now.
    pub year: u32,
    /// Capacity by hens over that of the ground as surveyed; `None` where that is nothing.
    pub hens_ratio: Option<f64>,
}

/// The birds ahead, the network of leks, and what both stand on.
#[derive(Clone, Debug)]
pub struct Ahead {
    /// Numbers ahead under every course.
    pub projection: Projection,
    /// The leks as a network; `None` where only one lek is known, which has none.
    pub network: Option<Network>,
    /// The network's ground later, by course.
    pub later: Vec<NetworkLater>,
    /// Every lek of the plan.
    pub leks: Vec<LekNow>,
    /// Fence deaths by course and lek.
    pub fences: Vec<FenceDeaths>,
    /// The birds on ground that stays as it is.
    pub held: Held,
    /// What limits the answer here, in words.
    pub limits: Vec<String>,
    /// Guidance keys it rests on.
    pub evidence: Vec<&'static str>,
}

/// The birds ahead under courses looked ahead to, that as now first, on common draws.
///
/// # Errors
/// No lek with birds, years that do not begin with 0, a figure that is missing.
pub fn ahead(start: &Start, courses: &[Under], settings: Settings) -> Result<Ahead, Fail> {
    let (country, draws, seed) = (start.holding.about.country, start.base.settings.draws, start.base.settings.seed);
    let leks = leks_now(start)?;
    let counted: Vec<(usize, u32)> = leks.iter().enumerate().filter(|(_, l)| l.part == Part::Counted).map(|(i, l)| (i, l.cocks.unwrap_or(0))).collect();
    let mut faults = without_birds(&leks);
    if courses.is_empty() || courses.iter().any(|c| c.forecast.years.first().is_none_or(|y| y.year != 0)) {
        faults.push("the birds start from the ground as surveyed; needed: years ahead that begin with 0".to_string());
    }
    if !faults.is_empty() {
        return Err(Fail::all(faults));
    }
    let cells = OwnCells::of(start)?;
    let own: Vec<Vec<OwnGround>> = courses.iter().map(|c| OwnGround::of_every_lek(start, c, &cells)).collect();
    let ground = |(course, own): (&Under, &Vec<OwnGround>)| ground::of_leks(start, course, own, &counted, settings.horizon);
    let grounds: Vec<Vec<LekGround>> = courses.par_iter().zip(&own).map(ground).collect::<Result<_, Fail>>()?;
    let birds: Vec<Lek> = counted.iter().map(|(l, cocks)| Lek { id: leks[*l].id.clone(), name: leks[*l].name.clone(), cocks: *cocks }).collect();
    let middle = Rates::of(&start.guidance, country)?;
    let drawn = Rates::drawn(&start.guidance, country, seed, draws)?;
    let run = |years: &[u32], courses: &[Course]| -> Result<Projection, Fail> {
        let ask = Ask { leks: &birds, years, courses, horizon: settings.horizon, seed, neighbours: settings.neighbours };
        project(&ask, &middle, &drawn).map_err(Fail::all)
    };
    let every: Vec<u32> = (0..=settings.horizon).collect();
    let named = |(under, leks): (&Under, &Vec<LekGround>)| Course { option: under.option, title: start.called(under.option), leks: leks.clone() };
    let projection = run(&every, &courses.iter().zip(&grounds).map(named).collect::<Vec<_>>())?;
    let stays = |fences: bool| Course { option: None, title: String::new(), leks: grounds[0].iter().map(|g| ground::as_surveyed(g, fences)).collect() };
    let total = |fences: bool| -> Result<Vec<YearBirds>, Fail> { Ok(run(&[0], &[stays(fences)])?.courses.remove(0).total) };
    let held = Held { without_fences: total(false)?, with_fences: total(true)? };

    let (network, later) = if leks.len() > 1 { linked(start, courses, &own, &leks, middle.ceiling_per_km2 / 100.0)? } else { (None, Vec::new()) };
    let deaths = |(under, grounds): (&Under, &Vec<LekGround>)| -> Vec<FenceDeaths> {
        let of = |((l, _), g): (&(usize, u32), &LekGround)| FenceDeaths { option: under.option, lek: leks[*l].id.clone(), years: g.fence_deaths.clone() };
        counted.iter().zip(grounds).map(of).collect()
    };
    let mut evidence: Vec<&str> = ground::KEYS.iter().chain(&projection.evidence).copied().chain(network.iter().flat_map(|n| n.evidence.iter().copied())).collect();
    evidence.sort_unstable();
    evidence.dedup();
    Ok(Ahead {
        limits: limits(start, &leks, &middle, &projection)?,
        fences: courses.iter().zip(&grounds).flat_map(deaths).collect(),
        projection,
        network,
        later,
        leks,
        held,
        evidence,
    })
}

/// What a plan lacks for its birds to be looked ahead for, in words.
///
/// # Errors
/// A figure that is missing.
pub fn lacking(start: &Start) -> Result<Vec<String>, Fail> {
    Ok(without_birds(&leks_now(start)?))
}

fn without_birds(leks: &[LekNow]) -> Vec<String> {
    let counted = leks.iter().any(|l| l.part == Part::Counted);
    let fault = "no lek of the plan has a count with a cock in it; needed: dawn counts of at least one lek that holds birds. Hint: greyhen import FILE visits counts.csv";
    (!counted).then(|| fault.to_string()).into_iter().collect()
}

/// Every lek with its latest count: the most of the visits that count, else the most that was seen.
fn leks_now(start: &Start) -> Result<Vec<LekNow>, Fail> {
    let holding = &start.holding;
    let figures = visits::of_every_lek(holding, &start.guidance, place_of(holding))?;
    let of = |(ledger, years): (&habitat::LekLedger, Vec<visits::YearFigure>)| {
        let valid = years.iter().rev().find_map(|y| y.cocks.map(|cocks| (y.year, cocks)));
        let seen = valid.or(ledger.counted.zip(ledger.cocks));
        LekNow {
            id: ledger.id.clone(),
            name: ledger.name.clone(),
            part: match seen {
                None => Part::NotCounted,
                Some((_, 0)) => Part::Empty,
                Some(_) => Part::Counted,
            },
            cocks: seen.map(|s| s.1),
            counted: seen.map(|s| s.0),
            valid: valid.is_some(),
        }
    };
    Ok(start.base.assessment.leks.iter().zip(figures).map(of).collect())
}

/// The leks as a network on the ground as surveyed, and what every course makes of it.
fn linked(start: &Start, courses: &[Under], own: &[Vec<OwnGround>], leks: &[LekNow], densest_per_ha: f64) -> Result<(Option<Network>, Vec<NetworkLater>), Fail> {
    let country = start.holding.about.country;
    let patches = |under: &Under, own: &[OwnGround], index: usize| -> Vec<Patch> {
        let patch = |(l, lek): (usize, &LekNow)| {
            let at = start.holding.leks[l].at;
            let weight = worth(start, &under.forecast.supply[index..=index], l, densest_per_ha * own[l].suitable_ha(under, index));
            Patch { id: lek.id.clone(), name: lek.name.clone(), east_m: at.x(), north_m: at.y(), weight, proposed: lek.part != Part::Counted }
        };
        leks.iter().enumerate().map(patch).collect()
    };
    let middle = Dispersal::of(&start.guidance, country)?;
    let drawn = Dispersal::drawn(&start.guidance, country, start.base.settings.seed, start.base.settings.draws)?;
    let now = network(&patches(&courses[0], &own[0], 0), &middle, &drawn).map_err(Fail::all)?;
    let mut later = Vec::new();
    for (under, own) in courses.iter().zip(own) {
        let last = under.forecast.years.len() - 1;
        let then = network(&patches(under, own, last), &middle, &[]).map_err(Fail::all)?;
        let hens_ratio = (now.hens_capacity > 0.0).then(|| then.hens_capacity / now.hens_capacity);
        later.push(NetworkLater { option: under.option, year: under.forecast.years[last].year, hens_ratio });
    }
    Ok((Some(now), later))
}

/// The cocks that the ground of a lek could keep: the mean over the seasons of what supply would keep, none above `most`.
fn worth(start: &Start, year: &[Vec<Supply>], lek: usize, most: f64) -> f64 {
    let target = f64::from(start.base.assessment.leks[lek].target_cocks);
    let kept = |season: Season| (target * quantiles(&margins(year, &start.base.need[lek], lek, season)[0]).p50).min(most);
    Season::ALL.into_iter().map(kept).sum::<f64>() / Season::ALL.len() as f64
}

impl Held {
    /// In words.
    pub fn words(&self) -> String {
        let told = |years: &[YearBirds]| years.last().map_or(String::new(), |y| format!("{:.0} ({:.0} to {:.0})", y.cocks.p50, y.cocks.p10, y.cocks.p90));
        let (now, year) = (self.without_fences.first().map_or(0.0, |y| y.cocks.p50), self.without_fences.last().map_or(0, |y| y.year));
        format!(
            "Were the ground to stay as surveyed, {now:.0} cocks would be {} in year {year} by the birds' own figures and the luck of small leks with no fence anywhere, and {} with the fences as they stand. \
            What is told beyond that is the ground's doing.",
            told(&self.without_fences),
            told(&self.with_fences)
        )
    }
}

/// What limits the answer on this plan, in words.
fn limits(start: &Start, leks: &[LekNow], middle: &Rates, projection: &Projection) -> Result<Vec<String>, Fail> {
    let context = start.context();
    let oldest = context.number("rule.counts.oldest_years")?;
    let mut out = Vec::new();
    for lek in leks {
        let name = &lek.name;
        match (lek.part, lek.counted) {
            (Part::NotCounted, _) => out.push(format!("{name} has no count: its birds, if any, are in no number here; the network weighs its ground as if it held none.")),
            (Part::Empty, year) => {
                let year = year.map_or(String::new(), |y| format!(" in {y}"));
                out.push(format!("{name} held no cock{year}: it stays empty here. That an empty lek is never settled again is how numbers are worked out, not what birds do; the network says what its ground would add."));
            }
            (Part::Counted, Some(year)) => {
                let age = start.holding.about.as_at.map_or(0, |day| day.year() - year);
                if f64::from(age) > oldest {
                    out.push(format!("{name} was last counted in {year}, {age} years before the plan's day: its birds start from that count all the same."));
                }
                if !lek.valid {
                    out.push(format!("No visit to {name} was made in season and hour: the most that was seen, in {year}, is taken."));
                }
            }
            (Part::Counted, None) => {}
        }
    }
    let drift = middle.drift();
    if drift < 0.0 {
        let whose = if start.holding.about.country == Country::England { "England's own figures of survival and young" } else { "the figures of survival and young taken here" };
        out.push(format!(
            "By {whose} numbers fall by about {:.1} % a year in the long run even on ground that stays as it is: a mean year gives {:+.1} %, but young vary so much between summers that bad years \
            take more than good ones give back, and snow winters come on top. Real numbers have risen in good runs of years: look at what options change, not at the level.",
            -100.0 * drift.exp_m1(),
            100.0 * (middle.growth() - 1.0)
        ));
    }
    let few = projection.courses[0].total.last().map_or(0.0, |y| y.few_by_fraction);
    if few > 0.5 {
        out.push(format!(
            "In {:.0} of 100 draws too few cocks are left as now before the end, and then no measure can show in the last years told: look at the first ten years, and at the ledger.",
            100.0 * few
        ));
    }
    out.push(
        "A lek that loses its last cock is never settled again in these numbers. Real leks are: so the longer the look and the smaller the leks, the more the level is too low. What a lek's loss or \
        gain is to the others stands under the network."
            .to_string(),
    );
    if !start.holding.fences.is_empty() {
        let usual = context.number("need.target_cocks")?;
        out.push(format!(
            "Only fences in the plan kill here. How many birds strike a kilometre was measured where grouse were, not how that goes with their number: it is taken for leks of {usual:.0} cocks and fewer \
            birds strike at smaller ones. On stock fences nobody measured it."
        ));
    }
    out.push("Numbers start from the most cocks counted at each lek; birds that a count misses are not added.".to_string());
    Ok(out)
}
