//! `greyhen birds`: numbers ahead under as now and options, on common draws, and the network of leks.
//!
//! - [`ground`]: what an option makes of the ground of leks, as birds take it
//! - [`gather`]: the birds ahead and the network, from courses looked ahead to
//! - [`broods`]: brood counts of the plan beside the young that would hold numbers steady
//! - [`telling`]: all of it in words

mod broods;
pub mod gather;
pub mod ground;
mod telling;

use super::course::{Start, Under};
use crate::fail::Fail;
use crate::{Draws, Ended, PlanFile, talk};
use birds::network::Network;
use birds::project::birds::{Deaths, Neighbours};
use broods::Counted;
use desk::Progress;
use gather::{Ahead, Settings, ahead};
use habitat::Quantiles;
use habitat::ahead::YEARS;
use measures::secrecy::{distance_band, one_figure, to_a_twentieth};
use serde_json::{Value, json};
use std::borrow::Cow;
use std::collections::BTreeSet;
use telling::Telling;

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen birds hill.gpkg                       as now and every option of the plan
  greyhen birds hill.gpkg --option 1,3          as now and options 1 and 3
  greyhen birds hill.gpkg --option 0            as now only
  greyhen birds hill.gpkg --neighbours do-likewise

A comparison, not a promise: every option meets the same summers, winters and luck, so that a difference is surer than a level. What
an option does for birds is read from the ledger of its ground by an assumption drawn wide; docs/birds.md tells how.")]
pub struct Birds {
    #[command(flatten)]
    plan: PlanFile,
    #[command(flatten)]
    question: Question,
    #[command(flatten)]
    draws: Draws,
    /// Tell distances between leks, their shares of the network and deaths on fences exactly; otherwise coarsely
    #[arg(long)]
    show_leks: bool,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// What is asked of the birds ahead.
#[derive(clap::Args)]
pub struct Question {
    /// Options to look ahead under beside as now; every one of the plan when left out, 0 for none
    #[arg(long = "option", value_name = "N", value_delimiter = ',')]
    pub options: Vec<u32>,
    /// Years to look ahead
    #[arg(long, value_name = "N", default_value_t = YEARS_AHEAD, allow_negative_numbers = true, value_parser = horizon)]
    pub years: u32,
    /// Whether the country round stays as it is, or does as the option does: where the young hens come from
    #[arg(long, value_enum, default_value_t = Round::AsNow)]
    pub neighbours: Round,
}

/// The birds ahead, with what is said beside them.
pub struct Flock {
    found: Ahead,
    broods: Counted,
    remarks: Remarks,
    years: u32,
}

/// What must be said of the measures of the options, in words.
struct Remarks {
    /// What is wrong with them.
    faults: Vec<String>,
    /// What of them could not be laid on the ground.
    notes: Vec<String>,
}

/// What the country round does.
#[derive(Clone, Copy, clap::ValueEnum)]
pub enum Round {
    /// It stays as it is: as many young hens come as leave the lek as now
    AsNow,
    /// It does likewise: as many come as leave under the option
    DoLikewise,
}

/// Years looked ahead unless others are asked for.
pub const YEARS_AHEAD: u32 = 30;

/// Years to look ahead as they are typed.
fn horizon(text: &str) -> Result<u32, String> {
    text.trim().parse().ok().filter(|y| (1..=100).contains(y)).ok_or_else(|| "needed a whole number of years from 1 to 100".to_string())
}

impl Birds {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let working = talk::Working::on("reading the plan");
        let start = Start::read(&self.plan.path, &self.draws, &working)?;
        let flock = self.question.answer(&start, &working)?;
        drop(working);
        if self.json {
            talk::print_json(&flock.json(&start, self.show_leks));
        } else {
            let Flock { found, broods, remarks, .. } = &flock;
            talk::print(&Telling { start: &start, found, broods, remarks, show_leks: self.show_leks }.text());
        }
        Ok(Ended::Well)
    }
}

impl Question {
    /// The birds ahead.
    pub fn answer(&self, start: &Start, progress: &dyn Progress) -> Result<Flock, Fail> {
        let unknown = self.options.iter().filter(|n| **n != 0).filter_map(|n| super::option::find(&start.holding, *n).err());
        let faults: Vec<String> = unknown.chain(gather::lacking(start)?).collect();
        if !faults.is_empty() {
            return Err(Fail::all(faults));
        }
        let options: BTreeSet<u32> = match self.options.as_slice() {
            [] => start.holding.options.iter().map(|o| o.number).collect(),
            asked => asked.iter().copied().filter(|n| *n != 0).collect(),
        };
        let told: Vec<u32> = YEARS.iter().copied().filter(|y| *y < self.years).chain([self.years]).collect();
        let mut courses = Vec::new();
        for option in [None].into_iter().chain(options.into_iter().map(Some)) {
            talk::step(progress, &format!("looking ahead: {}", start.called(option)))?;
            courses.push(start.under(option, &told)?);
        }
        talk::step(progress, "following the birds")?;
        let neighbours = match self.neighbours {
            Round::AsNow => Neighbours::AsNow,
            Round::DoLikewise => Neighbours::DoLikewise,
        };
        let found = ahead(start, &courses, Settings { horizon: self.years, neighbours })?;
        let broods = Counted::of(start)?;
        let said = |of: &dyn Fn(&Under) -> Vec<String>| -> Vec<String> {
            courses.iter().flat_map(|c| of(c).into_iter().map(move |f| c.option.map_or(f.clone(), |n| format!("option {n}: {f}")))).collect()
        };
        let remarks = Remarks { faults: said(&|c| start.faults(c.option)), notes: said(&|c| c.forecast.variant.notes.clone()) };
        Ok(Flock { found, broods, remarks, years: self.years })
    }
}

impl Flock {
    /// For programs.
    pub fn json(&self, start: &Start, show_leks: bool) -> Value {
        let Flock { found, broods, remarks, .. } = self;
        let a = &start.base.assessment;
        let p = &found.projection;
        let fences: Vec<Value> = found
            .fences
            .iter()
            .map(|f| {
                let years: Vec<Deaths> = f.years.iter().map(|d| told(*d, show_leks)).collect();
                json!({"option": f.option, "lek": f.lek, "years": years})
            })
            .collect();
        json!({
            "schema": "greyhen.birds/1", "plan": a.plan, "cell_m": a.cell_m, "draws": p.draws, "seed": p.seed, "guidance_edition": a.guidance_edition,
            "words": p.words, "years": self.years, "neighbours": p.neighbours, "leks_shown": show_leks, "few_cocks": p.few_cocks,
            "leks": found.leks, "courses": p.courses, "differences": p.differences, "held": found.held, "growth": p.growth, "broods": broods.json(),
            "fences": fences, "network": found.network.as_ref().map(|n| network_json(n, show_leks)), "network_later": later_json(&found.later, show_leks),
            "assumptions": p.assumptions, "limits": found.limits, "faults": remarks.faults, "notes": remarks.notes, "evidence": found.evidence,
        })
    }
}

/// Deaths on fences as they may be told: their number goes with the length of fence near a lek, and so with where it lies.
fn told(deaths: Deaths, show_leks: bool) -> Deaths {
    let one = |v: f64| if show_leks { v } else { one_figure(v).parse().unwrap_or(v) };
    Deaths { low: one(deaths.low), usual: one(deaths.usual), high: one(deaths.high) }
}

/// The network as it may be told: weights, shares and the capacity, told finely, fix how far leks lie apart.
fn network_told(network: &Network, show_leks: bool) -> Cow<'_, Network> {
    if show_leks {
        return Cow::Borrowed(network);
    }
    let mut out = network.clone();
    let coarse = |q: &mut Quantiles| [&mut q.p10, &mut q.p50, &mut q.p90].into_iter().for_each(|v| *v = to_a_twentieth(*v));
    let weights = out.leks.iter_mut().map(|l| &mut l.weight).chain(out.proposed.iter_mut().map(|g| &mut g.weight));
    weights.for_each(|weight| *weight = (*weight * 2.0).round() / 2.0);
    for part in out.leks.iter_mut().flat_map(|l| [&mut l.hens, &mut l.cocks]) {
        coarse(&mut part.share);
        part.loss = to_a_twentieth(part.loss);
    }
    out.proposed.iter_mut().flat_map(|g| [&mut g.hens_gain, &mut g.cocks_gain]).flatten().for_each(coarse);
    Cow::Owned(out)
}

/// The network for programs; how far leks lie from each other only in bands where they are not shown, and no capacity.
fn network_json(network: &Network, show_leks: bool) -> Value {
    let network = network_told(network, show_leks);
    let nearest = |n: &Option<(String, f64)>| n.as_ref().map(|(id, km)| json!({"lek": id, "km": show_leks.then_some(km), "band": distance_band(1000.0 * km)}));
    let leks: Vec<Value> = network
        .leks
        .iter()
        .map(|l| json!({"id": l.id, "name": l.name, "weight": l.weight, "hens": l.hens, "cocks": l.cocks, "nearest": nearest(&l.nearest), "isolation": l.isolation}))
        .collect();
    let proposed: Vec<Value> = network
        .proposed
        .iter()
        .map(|g| json!({"id": g.id, "name": g.name, "weight": g.weight, "hens_gain": g.hens_gain, "cocks_gain": g.cocks_gain, "nearest": nearest(&g.nearest), "isolation": g.isolation}))
        .collect();
    json!({"variant": network.variant, "hens_capacity": show_leks.then_some(network.hens_capacity), "cocks_capacity": show_leks.then_some(network.cocks_capacity), "leks": leks, "proposed": proposed})
}

/// What options make of the capacity; to a tenth where leks are not shown.
fn later_json(later: &[gather::NetworkLater], show_leks: bool) -> Vec<Value> {
    later.iter().map(|l| json!({"option": l.option, "year": l.year, "hens_ratio": l.hens_ratio.map(|r| ratio_told(r, show_leks))})).collect()
}

fn ratio_told(ratio: f64, show_leks: bool) -> f64 {
    if show_leks { ratio } else { (ratio * 10.0).round() / 10.0 }
}
