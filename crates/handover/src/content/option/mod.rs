//! An option in words: what it is weighed against, what is done where and when, what the rules say of it, the years ahead.

mod ahead;
mod compared;
mod frontier;
mod jobs;

pub use ahead::AheadText;
pub use compared::{PathText, gains, met_change};
pub use frontier::{FrontierText, NextText};
pub(crate) use jobs::{place_words, quantity};
#[cfg(feature = "pdf")]
pub(crate) use jobs::{joined, pounds};
pub use jobs::{CostLine, JobText, KindText, MeasureFinding};

use crate::pack::Pack;
use crate::placed;
use crate::planned::Planned;
use crate::secrecy::Secrecy;
use serde::Serialize;

/// An option as printed.
#[derive(Clone, Debug, Serialize)]
pub struct OptionText {
    /// What it is called.
    pub name: String,
    /// Its note.
    pub note: String,
    /// Heads of the years compared.
    pub years: Vec<String>,
    /// Number of needs that can be met: seasons times leks.
    pub needs: usize,
    /// As now and every option.
    pub paths: Vec<PathText>,
    /// Kinds of measure in it, in the order of the book.
    pub kinds: Vec<KindText>,
    /// Findings on its measures, must first.
    pub findings: Vec<MeasureFinding>,
    /// What is wrong with facts of measures.
    pub faults: Vec<String>,
    /// The years ahead, one entry a lek.
    pub ahead: Vec<AheadText>,
    /// Notes of the forecast.
    pub notes: Vec<String>,
    /// What must be said of every sum of money.
    pub money: &'static str,
    /// What is to be said beside sums at the tables' rates, where the measures are told from an account; else empty.
    pub tables: &'static str,
    /// Whether there is a map of the measures.
    pub map: bool,
    /// What money can buy, where it was worked out.
    pub frontier: Option<FrontierText>,
    /// Whether there is a chart of it.
    pub frontier_drawn: bool,
}

/// What must be said of every sum of money.
pub const MONEY: &str = "Costs are low, usual and high in pounds of each rate's year, yearly costs times their years, undiscounted, grants not taken off.";

/// What is said beside sums at the tables' rates where the measures are told from an account.
const TABLES: [&str; 2] = [
    "Options are compared, and offers weighed, at the rates of the tables in whole pounds; the measures themselves are told from the account of their works, line by line to the penny, so that sums differ a little.",
    "Options are compared, and offers weighed, at the rates of the tables; the measures themselves are told from the account of their works with your own rates, so that sums differ.",
];

/// Puts the option of a pack into words; `None` where there is none.
pub fn of(pack: &Pack, secrecy: &Secrecy) -> Option<OptionText> {
    let planned = pack.option?;
    let about = pack.holding.options.iter().find(|o| o.number == planned.number);
    let placed = placed::of(pack, planned, secrecy);
    let findings = jobs::findings(pack, planned, &placed, secrecy);
    let own = planned.own();
    Some(OptionText {
        name: own.map_or_else(|| format!("Option {}", planned.number), |p| p.name.clone()),
        note: about.map(|o| secrecy.words(&o.note)).unwrap_or_default(),
        years: compared::heads(planned),
        needs: planned.base.need.len() * habitat::Season::ALL.len(),
        paths: compared::of(planned, secrecy),
        kinds: jobs::kinds(pack, planned, &placed, &findings, secrecy),
        findings: jobs::grouped(&findings),
        faults: planned.faults.iter().map(|(m, fault)| secrecy.words(&jobs::joined(&[&jobs::label(planned, &placed, m), fault], ": "))).collect(),
        ahead: ahead::of(planned, secrecy),
        notes: own.map(|p| p.forecast.variant.notes.iter().map(|n| secrecy.words(n)).collect()).unwrap_or_default(),
        money: MONEY,
        tables: pack.works.filter(|_| planned.priced).map_or("", |works| TABLES[usize::from(!works.asked.own_rates.is_empty())]),
        map: crate::map::view::extent(pack.holding).is_some() && !planned.jobs.is_empty(),
        frontier: frontier::of(pack, planned.frontier.as_ref(), secrecy),
        frontier_drawn: planned.frontier.as_ref().is_some_and(|f| f.points.last().is_some_and(|p| p.gbp > 0.0)),
    })
}

/// Keys of the figures an option rests on beyond those of the assessment.
pub fn keys(planned: &Planned) -> Vec<String> {
    let own = planned.paths.iter().flat_map(|p| &p.forecast.evidence).cloned();
    let jobs = planned.jobs.iter().flat_map(|j| j.costs.iter().map(|c| c.rate.clone()).chain(j.entry.cautions.iter().map(|c| (*c).to_owned())));
    own.chain(jobs).chain(planned.findings.iter().flat_map(|f| f.source.clone())).collect()
}

/// What stands for every measure in tables of numbers and maps: how it may be shown and told.
pub fn placed(pack: &Pack, secrecy: &Secrecy) -> Vec<placed::Placed> {
    pack.option.map(|planned| placed::of(pack, planned, secrecy)).unwrap_or_default()
}
