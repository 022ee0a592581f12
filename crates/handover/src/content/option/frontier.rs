//! What money can buy in words: the best set for every sum, and what the next pound buys first.

use super::jobs::{joined, pounds, quantity};
use crate::pack::Pack;
use crate::placed;
use crate::planned::{Frontier, Next};
use crate::secrecy::Secrecy;
use measures::secrecy::one_figure;
use serde::Serialize;

/// Offers of the next pound told.
const TOLD: usize = 16;

/// The frontier as printed.
#[derive(Clone, Debug, Serialize)]
pub struct FrontierText {
    /// How many offers were weighed.
    pub offers: usize,
    /// A row a sum: spent, measures, gain with interval, birds saved a year, worth one by one, at most.
    pub rows: Vec<[String; 6]>,
    /// What the next pound buys, in order.
    pub next: Vec<NextText>,
    /// How many more there are.
    pub more: usize,
    /// Notes.
    pub notes: Vec<String>,
}

/// An offer as printed.
#[derive(Clone, Debug, Serialize)]
pub struct NextText {
    /// Its kind.
    pub title: &'static str,
    /// Where.
    pub place: String,
    /// How much.
    pub what: String,
    /// Cost in words.
    pub cost: String,
    /// Worth for the money.
    pub worth: String,
}

/// The frontier of a pack in words; `None` where none was worked out.
pub(super) fn of(pack: &Pack, frontier: Option<&Frontier>, secrecy: &Secrecy) -> Option<FrontierText> {
    let frontier = frontier?;
    let rows = frontier.points.iter().skip(1).map(|p| {
        let interval = format!("{:.1} ({:.1} to {:.1})", p.gain.p50, p.gain.p10, p.gain.p90);
        [pounds([p.gbp; 3], if secrecy.withheld() { 2 } else { 0 }), p.measures.to_string(), interval, saved(p.saved_a_year, secrecy), format!("{:.1}", p.worth), format!("{:.1}", p.bound)]
    });
    Some(FrontierText {
        offers: frontier.offers,
        rows: rows.collect(),
        next: frontier.next.iter().take(TOLD).map(|n| next(pack, n, secrecy)).collect(),
        more: frontier.next.len().saturating_sub(TOLD),
        notes: frontier.notes.iter().map(|n| secrecy.words(n)).collect(),
    })
}

/// Birds saved a year; coarse where places are withheld, as they hang on how near a lek is.
fn saved(value: f64, secrecy: &Secrecy) -> String {
    match (value == 0.0, secrecy.withheld()) {
        (true, _) => "0".to_owned(),
        (_, true) => format!("about {}", one_figure(value)),
        _ => format!("{value:.2}"),
    }
}

fn next(pack: &Pack, next: &Next, secrecy: &Secrecy) -> NextText {
    let place = placed::place(pack, &next.job, secrecy);
    let on = if place.tied && next.job.entry.key != "lek_care" { String::new() } else { secrecy.words(&next.job.on) };
    let coarse = place.tied || (secrecy.withheld() && next.job.entry.key == "fence");
    let per = 1000.0 * next.worth / next.gbp.max(1e-9);
    NextText {
        title: next.job.entry.title,
        place: joined(&[&on, &place.reference, place.kept_back], ", "),
        what: next.job.quantities.iter().find(|q| q.amount != 0.0).map_or_else(String::new, |q| quantity(q, place.tied, secrecy)),
        cost: pounds([next.gbp; 3], if place.tied { 1 } else { 0 }),
        worth: match (next.gbp > 0.0, coarse) {
            (false, _) => "free".to_owned(),
            (true, true) => format!("about {}", one_figure(per)),
            (true, false) => format!("{per:.2}"),
        },
    }
}
