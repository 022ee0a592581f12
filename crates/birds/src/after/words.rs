//! What may be said of a read-out, and what may not. The refusals are never left out.

use super::ratio::{Side, clumping, ratio};
use super::{Ask, Met, ReadOut, Standing, Work};
use crate::detection::Interval;
use crate::trend::words::{chance, list_of_years, percent, share};
use serde::Serialize;
use std::collections::BTreeMap;

/// Springs before the work that are looked at for a lek chosen because it did badly.
const LAST: usize = 2;

/// Why something cannot be concluded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Reason {
    /// One lek is one case.
    OneLek,
    /// No lek without work to set it beside.
    NoComparison,
    /// Few leks without work to set it beside.
    FewLeks,
    /// The others changed too.
    OthersChanged,
    /// Numbers were on the move before.
    OnTheMove,
    /// Too few springs.
    FewYears,
    /// Too few visits.
    FewVisits,
    /// The work cannot show yet.
    TooSoon,
    /// The last springs before were low.
    ChosenLow,
    /// Weather and the like.
    Weather,
    /// Several works at once.
    SeveralWorks,
}

/// A word on what cannot be concluded.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Caution {
    /// Why.
    pub reason: Reason,
    /// In words.
    pub words: String,
}

impl ReadOut {
    /// What the counts come to: one paragraph, without a word on causes.
    pub fn verdict(&self, ask: &Ask) -> String {
        let (before, after) = (&self.before, &self.after);
        if self.standing == Standing::NotCounted {
            let side = if before.years.is_empty() { "before the work" } else { "after it" };
            return format!("No spring was counted {side}: nothing can be said of a change.");
        }
        let mean = |m: Option<f64>| m.map_or("-".to_string(), |m| format!("{m:.1}"));
        let mut said = format!(
            "Cocks a spring: {} before ({}), {} after ({})",
            mean(before.mean),
            springs(&before.years),
            mean(after.mean),
            springs(&after.years)
        );
        match &self.change {
            Some(change) => said.push_str(&format!(
                ": {} times as many ({} limits {}; were the counts to scatter as chance alone would have it, {}).",
                times(change.widened.value),
                share(ask.level),
                limits(&change.widened),
                limits(&change.poisson)
            )),
            None => said.push_str(": none in either."),
        }
        if let (Ok(beside), Some(others)) = (&self.beside, &self.others) {
            said.push_str(&format!(
                " At {} without work counted on both sides: {} times. Beside {}, good and bad springs taken out: {} times ({}).",
                leks(beside.leks),
                times(others.widened.value),
                if beside.leks == 1 { "it" } else { "them" },
                times(beside.limits.value),
                limits(&beside.limits)
            ));
        }
        let than = if self.beside.is_ok() { "than at the other leks" } else { "than before" };
        said.push_str(&match (self.standing, self.beside.is_ok()) {
            (Standing::More, true) => format!(" Numbers did better {than}, beyond what chance makes likely."),
            (Standing::Fewer, true) => format!(" Numbers did worse {than}, beyond what chance makes likely."),
            (Standing::More, false) => format!(" More cocks were counted {than}, beyond what chance makes likely."),
            (Standing::Fewer, false) => format!(" Fewer cocks were counted {than}, beyond what chance makes likely."),
            _ => " Whether numbers truly changed cannot be told from these counts.".to_string(),
        });
        if let (Some(expected), Some(met)) = (&self.expected, self.met) {
            said.push_str(&format!(
                " Expected: {} times as many ({}; {}); {}.",
                times(expected.ratio.value),
                limits(&expected.ratio),
                expected.from,
                match met {
                    Met::Fits => "what was counted does not speak against it, nor does it prove it",
                    Met::More => "more was counted than that",
                    Met::Less => "less was counted than that",
                }
            ));
        }
        said
    }

    /// What cannot be concluded, weightiest first.
    pub fn cautions(&self, ask: &Ask) -> Vec<Caution> {
        let mut all = Vec::new();
        let mut say = |reason, words: String| all.push(Caution { reason, words });
        say(Reason::OneLek, "One lek is one case, not an experiment: whatever changed here, the counts do not say that the work did it. Only many worked leks beside many others, chosen by lot, would.".to_string());
        self.too_soon(ask).into_iter().for_each(|words| say(Reason::TooSoon, words));
        let few: Vec<String> = [("before", &self.before), ("after", &self.after)]
            .into_iter()
            .filter(|(_, p)| p.years.len() < ask.years_min)
            .map(|(when, p)| format!("{} {when}", p.years.len()))
            .collect();
        if !few.is_empty() {
            say(Reason::FewYears, format!("Too few springs were counted: {}; {} on either side are the least.", few.join(", "), ask.years_min));
        }
        match &self.beside {
            Err(why) => say(Reason::NoComparison, format!("There is nothing to set the lek beside: {why}. A change of the whole district would look the same.")),
            Ok(beside) => {
                if beside.leks < ask.leks_min {
                    say(
                        Reason::FewLeks,
                        match beside.leks {
                            1 => format!("Only one lek without work to set it beside: how far leks drift apart by themselves cannot be seen, so that no difference is claimed; {} are the least to judge that by.", ask.leks_min),
                            n => format!("Only {n} leks without work to set it beside: how far leks drift apart by themselves is hardly seen from so few, and the limits are wide for it; {} are the least to judge that by.", ask.leks_min),
                        },
                    );
                }
                if let Some(others) = self.others.filter(|o| o.widened.low > 1.0 || o.widened.high < 1.0) {
                    let way = if others.widened.value > 1.0 { "more" } else { "fewer" };
                    say(Reason::OthersChanged, format!("The leks without work changed too ({way} cocks than before, {} times): that part is no work's doing.", times(others.widened.value)));
                }
            }
        }
        if let Some(running) = self.running.filter(|r| r.lo > 0.0 || r.hi < 0.0) {
            say(Reason::OnTheMove, format!("Numbers here were {} already before the work ({} a year, {} to {}): a mean before and a mean after would differ without it.", if running.value > 0.0 { "rising" } else { "falling" }, percent(running.value), percent(running.lo), percent(running.hi)));
        }
        let thin: Vec<i32> = self.before.thin_years.iter().chain(&self.after.thin_years).copied().collect();
        if !thin.is_empty() {
            say(Reason::FewVisits, format!("Fewer than {} visits that count were made in {}: the highest count of fewer visits is lower by itself.", ask.visits_min, list_of_years(&thin)));
        }
        if let Some((last, earlier)) = self.chosen_low(ask) {
            say(Reason::ChosenLow, format!("The last springs before the work were low ({last:.1} cocks against {earlier:.1} in those before them, beyond what chance makes likely): a lek taken in hand when it does badly tends to come back by itself."));
        }
        if self.works.len() > 1 {
            say(Reason::SeveralWorks, format!("{} works were done here: which of them did what cannot be told apart.", self.works.len()));
        }
        say(Reason::Weather, "Weather at hatching, snow, foxes and crows, disturbance and birds that moved from leks nearby are not in these counts.".to_string());
        all
    }

    /// What it would take to tell, in words; `None` where that cannot be worked out.
    pub fn needed_in_words(&self, ask: &Ask) -> Option<String> {
        let n = self.needed?;
        let change = |r: Option<f64>| r.map_or("none however large".to_string(), |r| percent(r - 1.0));
        let mut said = format!(
            "At this lek alone, with {} after the work, a rise would be seen with a chance of {} from {}, a fall from {}",
            match self.after.years.len() {
                1 => "1 spring".to_string(),
                n => format!("{n} springs"),
            },
            share(ask.power),
            change(n.rise),
            change(n.fall)
        );
        let mean = |m: Option<f64>, way: &str| m.map(|m| format!("a mean of {m:.1} cocks or {way}"));
        match (mean(n.mean_for_more, "more"), mean(n.mean_for_fewer, "fewer")) {
            (Some(more), Some(fewer)) => said.push_str(&format!("; it would take {more}, or {fewer}.")),
            (Some(more), None) => said.push_str(&format!("; it would take {more}; no fall would do.")),
            _ => said.push('.'),
        }
        if let Some(power) = n.power_of_expected {
            let springs = n.springs_for_expected.map_or("no number of springs at one lek would do".to_string(), |s| format!("{s} springs after the work would be needed"));
            said.push_str(&format!(" What was expected would be seen in them with a chance of {}; for {}, {springs}.", chance(power), share(ask.power)));
        }
        Some(said)
    }

    /// Mean of the last springs before the work and of those before them, where the last ones lie below beyond chance.
    fn chosen_low(&self, ask: &Ask) -> Option<(f64, f64)> {
        let cocks = &self.before.cocks;
        let (earlier, last) = cocks.split_at(cocks.len().checked_sub(LAST)?);
        let side = |of: &[u32]| Side { years: of.len() as u32, cocks: of.iter().sum() };
        let mean = |of: &[u32]| f64::from(of.iter().sum::<u32>()) / of.len() as f64;
        let found = ratio(side(earlier), side(last), clumping(ask.scatter, ask.level), ask.level)?;
        (found.high < 1.0).then(|| (mean(last), mean(earlier)))
    }

    /// What of the work cannot show yet; `None` where enough springs lie in the time from which all of it can.
    fn too_soon(&self, ask: &Ask) -> Option<String> {
        if self.could_show >= ask.years_min {
            return None;
        }
        // Works that can be expected to show from one spring on, together; first things first.
        let mut from: BTreeMap<i32, Vec<&Work>> = BTreeMap::new();
        self.works.iter().for_each(|w| from.entry(w.shows_from()).or_default().push(w));
        let seen = |year: i32| self.after.years.iter().filter(|y| **y >= year).count();
        if let [(&year, works)] = from.iter().collect::<Vec<_>>()[..] {
            let (done, its) = (works.iter().map(|w| w.done).max().unwrap_or_default(), if works.len() == 1 { "its" } else { "their" });
            return Some(match seen(year) {
                0 => format!("Too soon: the work was done in {done}, and can be expected to show from {year} on; no spring from then on has been counted. A change before it is not {its} doing."),
                n => format!("Only {n} of the springs counted {} in the time from which the work can be expected to show, {year} on.", if n == 1 { "lies" } else { "lie" }),
            });
        }
        let told: Vec<String> = from
            .iter()
            .map(|(year, works)| {
                let ids: Vec<&str> = works.iter().map(|w| w.id.as_str()).collect();
                let counted = match seen(*year) {
                    0 => "no spring from then on has been counted".to_string(),
                    1 => "1 spring counted from then on".to_string(),
                    n => format!("{n} springs counted from then on"),
                };
                format!("{} from {year} ({counted})", ids.join(" and "))
            })
            .collect();
        let head = if self.could_show == 0 { "Too soon for all of the work" } else { "Few springs in which all of the work can be expected to show" };
        Some(format!("{head}. Each can be expected to show from its own year on: {}. A change before {} is no work's doing; one before its own year is not that work's.", told.join("; "), self.shows_first))
    }
}

fn springs(years: &[i32]) -> String {
    match years {
        [] => "no spring".to_string(),
        [one] => format!("1 spring, {one}"),
        [first, .., last] => format!("{} springs, {first} to {last}", years.len()),
    }
}

fn leks(number: usize) -> String {
    if number == 1 { "the one lek".to_string() } else { format!("the {number} leks") }
}

fn times(ratio: f64) -> String {
    if ratio.is_finite() { format!("{ratio:.2}") } else { "endlessly many".to_string() }
}

fn limits(of: &Interval) -> String {
    let high = if of.high.is_finite() { format!("{:.2}", of.high) } else { "no upper limit".to_string() };
    format!("{:.2} to {high}", of.low)
}
