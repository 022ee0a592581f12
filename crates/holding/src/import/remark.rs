//! What is odd about good features: said, never refused.

use super::features::{Features, Mode};
use super::note::Notes;
use super::proposed::within_hundreds;
use crate::model::{Holding, Lek, Patch, Stick, Visit};
use chrono::NaiveTime;
use geo::{Area, BooleanOps, BoundingRect, Distance, Euclidean};
use std::collections::{HashMap, HashSet};

/// A lek farther off the boundary than this is remarked on, metres; the program's own.
const OFF_M: f64 = 2_000.0;
/// Two patches share ground from this on, hectares; less is drawn that way.
const SHARED_HA: f64 = 0.1;
/// Pairs named; the rest are only counted.
const NAMED: usize = 5;

/// Look at what was read. `same_lek_m`: birds seen apart by no more than this belong to one lek, metres; `many`: how
/// many cocks at a lek are odd.
pub(super) fn remark(features: &Features, holding: &Holding, mode: Mode, same_lek_m: f64, many: Option<Many>, notes: &mut Notes) {
    let kept = mode == Mode::Add;
    match features {
        Features::Leks(new) => {
            let old = if kept { &holding.leks[..] } else { &[] };
            far_leks(new, holding, notes);
            near_leks(old, new, same_lek_m, notes);
        }
        Features::Visits(new) => {
            visits(new, holding, notes);
            many.iter().for_each(|many| many_cocks(new, holding, many, notes));
        }
        Features::Sticks(new) => sticks(if kept { &holding.sticks } else { &[] }, new, notes),
        Features::Patches(new) => overlaps(if kept { &holding.patches } else { &[] }, new, notes),
        _ => {}
    }
}

fn called<'a>(id: &'a str, name: &'a str) -> &'a str {
    if name.is_empty() { id } else { name }
}

/// The first few, and how many more.
fn listed(all: &[String]) -> String {
    let more = all.len().saturating_sub(NAMED);
    let tail = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("{}{tail}", all[..all.len() - more].join("; "))
}

fn far_leks(new: &[Lek], holding: &Holding, notes: &mut Notes) {
    let Some(boundary) = &holding.boundary else { return };
    for lek in new {
        let off_m = Euclidean.distance(&lek.at, boundary);
        if off_m > OFF_M {
            notes.file(format!("lek {} lies more than {:.0} km outside the boundary", called(&lek.id, &lek.name), OFF_M / 1000.0));
        }
    }
}

fn near_leks(old: &[Lek], new: &[Lek], within_m: f64, notes: &mut Notes) {
    let all: Vec<&Lek> = old.iter().chain(new).collect();
    for (at, b) in all.iter().enumerate().skip(old.len()) {
        for a in &all[..at] {
            let apart_m = Euclidean.distance(&a.at, &b.at);
            if apart_m <= within_m {
                notes.file(format!(
                    "leks {} and {} lie {} of one another; birds within {within_m:.0} m of a known lek are counted to it: are they one lek?",
                    called(&a.id, &a.name),
                    called(&b.id, &b.name),
                    within_hundreds(apart_m)
                ));
            }
        }
    }
}

fn visits(new: &[Visit], holding: &Holding, notes: &mut Notes) {
    let said = |v: &Visit| format!("lek {} on {}{}", v.lek, v.date, v.start.map_or(String::new(), |t| t.format(" at %H:%M").to_string()));
    let noon = NaiveTime::from_hms_opt(12, 0, 0);
    let late: Vec<String> = new.iter().filter(|v| v.start >= noon && v.start.is_some()).map(said).collect();
    if !late.is_empty() {
        notes.file(format!("visits begun after noon: {}", listed(&late)));
    }
    let Some(as_at) = holding.about.as_at else { return };
    let late: Vec<String> = new.iter().filter(|v| v.date > as_at).map(|v| v.date.to_string()).collect();
    if !late.is_empty() {
        notes.file(format!("visits after the day the plan stands for ({as_at}): {}", listed(&late)));
    }
}

/// From how many cocks on a visit is told as odd.
pub(super) struct Many {
    /// More cocks than this.
    pub cocks: f64,
    /// And more than so many times the most of any other visit to the lek.
    pub times: f64,
}

fn many_cocks(new: &[Visit], holding: &Holding, many: &Many, notes: &mut Notes) {
    let mut counted: HashMap<&str, Vec<u32>> = HashMap::new();
    for v in holding.visits.iter().chain(new) {
        counted.entry(&v.lek).or_default().extend(v.cocks);
    }
    counted.values_mut().for_each(|cocks| cocks.sort_unstable_by(|a, b| b.cmp(a)));
    let odd = |v: &Visit| {
        let (cocks, all) = (v.cocks?, counted.get(v.lek.as_str())?);
        let most = if all.first() == Some(&cocks) { all.get(1) } else { all.first() }.copied();
        let other = most.map_or("none on any other visit".to_string(), |m| format!("at most {m} on any other visit"));
        let far = f64::from(cocks) > many.cocks && f64::from(cocks) > many.times * f64::from(most.unwrap_or(0));
        far.then(|| format!("lek {} on {}: {cocks}, {other}", v.lek, v.date))
    };
    let odd: Vec<String> = new.iter().filter_map(odd).collect();
    if !odd.is_empty() {
        notes.file(format!("many more cocks than the lek was known to hold, which may be a slip: {}", listed(&odd)));
    }
}

fn sticks(old: &[Stick], new: &[Stick], notes: &mut Notes) {
    let key = |s: &Stick| (s.at.x().to_bits(), s.at.y().to_bits(), s.height_cm.to_bits(), s.date);
    let mut seen: HashSet<_> = old.iter().map(key).collect();
    let twice = new.iter().filter(|s| !seen.insert(key(s))).count();
    if twice > 0 {
        notes.file(format!("stick heights of the same place, figure and day as another (the same file twice?): {twice}"));
    }
}

/// Patches that share ground; every new one against those before it, over boxes sorted from the west.
fn overlaps(old: &[Patch], new: &[Patch], notes: &mut Notes) {
    let mut boxed: Vec<_> = old
        .iter()
        .chain(new)
        .enumerate()
        .filter_map(|(at, patch)| Some((patch.shape.bounding_rect()?, at, patch)))
        .collect();
    boxed.sort_by(|a, b| a.0.min().x.total_cmp(&b.0.min().x).then(a.1.cmp(&b.1)));
    let mut found: Vec<(usize, String)> = Vec::new();
    for (i, (west, at_a, a)) in boxed.iter().enumerate() {
        for (east, at_b, b) in boxed[i + 1..].iter().take_while(|(r, _, _)| r.min().x < west.max().x) {
            if at_a.max(at_b) < &old.len() || east.min().y >= west.max().y || east.max().y <= west.min().y {
                continue;
            }
            let shared_ha = a.shape.intersection(&b.shape).unsigned_area() / 1e4;
            if shared_ha > SHARED_HA {
                let (first, last) = if at_a < at_b { (a, b) } else { (b, a) };
                found.push((*at_a.max(at_b), format!("{} and {} by {shared_ha:.1} ha", called(&first.id, &first.name), called(&last.id, &last.name))));
            }
        }
    }
    found.sort();
    let found: Vec<String> = found.into_iter().map(|(_, text)| text).collect();
    if !found.is_empty() {
        notes.file(format!("patches overlap: {}; the later of each pair is used there", listed(&found)));
    }
}
