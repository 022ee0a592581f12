//! The network of leks in words.

use super::{About, Trust, course, lek};
use crate::chart::network::{shown, told};
use crate::pack::Pack;
use crate::secrecy::Secrecy;
use crate::spring::Linked;
use crate::words;
use birds::network::LekPart;
use habitat::Quantiles;
use serde::Serialize;

/// The network, as printed.
#[derive(Clone, Debug, Serialize)]
pub struct NetworkText {
    /// Which lek matters most.
    pub verdict: String,
    /// Lek, weight, share by hens, lost without it, share by cocks, nearest.
    pub rows: Vec<[String; 6]>,
    /// What the nearest lek means to birds, lek by lek.
    pub isolation: Vec<String>,
    /// What ground without birds would add.
    pub proposed: Vec<String>,
    /// What options make of the whole.
    pub later: Vec<String>,
    /// Whether there is a map.
    pub drawn: bool,
    /// The capacity in words.
    pub words: String,
    /// What cannot be said.
    pub cannot: Vec<String>,
    /// Figures behind it.
    pub trust: Vec<Trust>,
}

pub(super) fn of(pack: &Pack, linked: &Linked, secrecy: &Secrecy, about: &About) -> NetworkText {
    let n = &linked.network;
    let share = |q: &Quantiles| {
        let [low, middle, high] = [q.p10, q.p50, q.p90].map(|s| told(s, secrecy));
        if low == high { middle } else { format!("{middle} ({} to {high})", low.trim_end_matches(" %")) }
    };
    let lost = |part: &LekPart| if secrecy.withheld() { format!("about {}", told(part.loss, secrecy)).replace("about under", "under") } else { told(part.loss, secrecy) };
    let most = n.leks.iter().filter(|l| l.hens.share.p50 > 0.0).max_by(|a, b| a.hens.loss.total_cmp(&b.hens.loss));
    let verdict = match most {
        _ if n.hens_capacity <= 0.0 => "By the figures used, no young hens come and go between the leks that hold birds: there is no network to tell of.".to_owned(),
        Some(l) if n.leks.len() > 1 => format!("{} matters most to the others: without it {} of what holds the leks together by young hens would go.", l.name, lost(&l.hens)),
        _ => "Only one lek holds birds: the others are ground it could settle.".to_owned(),
    };
    let capacity = if secrecy.withheld() {
        "Shares and losses are given to the nearest 5 %, and the capacity itself not at all: together they would tell how far leks lie apart.".to_owned()
    } else {
        format!("Metapopulation capacity {:.0} by hens, {:.0} by cocks, in cocks squared; by itself the number says little.", n.hens_capacity, n.cocks_capacity)
    };
    NetworkText {
        verdict,
        rows: n
            .leks
            .iter()
            .map(|l| {
                let nearest = l.nearest.as_ref().map_or_else(|| "none".to_owned(), |(id, km)| format!("{}, {}", lek(pack, id), secrecy.distance(1000.0 * km)));
                [l.name.clone(), format!("{:.1}", l.weight), share(&l.hens.share), lost(&l.hens), share(&l.cocks.share), nearest]
            })
            .collect(),
        isolation: n.leks.iter().map(|l| format!("{}: {}.", l.name, l.isolation.words())).collect(),
        proposed: n.proposed.iter().map(|g| proposed(&g.name, g.weight, g.hens_gain, g.isolation.words(), secrecy)).collect(),
        later: linked
            .later
            .iter()
            .map(|(option, year, times)| (option, year, if secrecy.withheld() { format!("about {times:.1}") } else { format!("{times:.2}") }))
            .map(|(option, year, times)| format!("{}: the ground of year {year} gives {times} times the capacity by hens, were the same leks held.", words::capital(&course(pack, secrecy, *option))))
            .collect(),
        drawn: n.leks.len() + n.proposed.len() > 1,
        words: format!("{capacity} Weight: the cocks the ground of a lek could keep, mean of the seven seasons. Form: {}.", n.variant),
        cannot: vec![
            "Leks beyond the plan hold these up too, and are not in it unless they were brought in.".into(),
            "How far birds move was measured elsewhere; woods, towns and high ground between leks are not weighed.".into(),
            "A share says what a lek is to the others, not whether it lasts by itself.".into(),
        ],
        trust: about(&n.evidence),
    }
}

fn proposed(name: &str, weight: f64, gain: Option<Quantiles>, isolation: &str, secrecy: &Secrecy) -> String {
    let said = match gain {
        Some(q) => {
            let [low, middle, high] = [q.p10, q.p50, q.p90].map(|v| 100.0 * shown(v, secrecy));
            format!("its ground would change the whole by {}{middle:+.0} % ({low:+.0} to {high:+.0}) by hens", if secrecy.withheld() { "about " } else { "" })
        }
        None => "the leks that hold birds make no network of their own for it to add to".to_owned(),
    };
    format!("{name}, without birds: {said} (weight {weight:.1}); {isolation}.")
}
