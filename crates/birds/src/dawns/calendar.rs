//! A plan as a calendar file, iCalendar (RFC 5545): one event an outing, from leaving base to being back.
//!
//! Times are universal (form 2 of section 3.3.5), so that no time zone need be described. Names of leks are told or withheld; their
//! positions never stand in the file. What could not be planned is told in a journal entry, which also keeps a calendar
//! without events valid (section 3.6 asks for one component at least).

use super::record::{DawnPlan, DawnVisit, Outing};
use crate::clock;
use chrono::{NaiveDate, NaiveDateTime};
use holding::icalendar::{Calendar, identity};
use std::fmt::Write as _;

/// Whether a calendar tells names of places.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Names {
    /// Leks, stops and bases by name.
    Told,
    /// Leks by letter ([`letter`]), stops and bases not at all.
    Withheld,
}

/// The calendar of a plan. `made`: when it was made, universal time. An outing keeps its identity as long as plan, date and observer
/// do, so that a later file brings a calendar up to date.
pub fn calendar(plan: &DawnPlan, made: NaiveDateTime, names: Names) -> String {
    let mut out = Calendar::new("dawn counts", made);
    let all = visited(plan);
    for morning in &plan.mornings {
        for outing in &morning.outings {
            out.begin("VEVENT", &identity(&[&plan.of, &morning.date.to_string(), &outing.observer]));
            out.plain("DTSTART", &universal(outing.leave_base));
            out.plain("DTEND", &universal(outing.back_at_base));
            out.text("SUMMARY", &summary(&all, outing, names));
            out.text("DESCRIPTION", &description(plan, &all, outing, morning.date, names));
            out.end("VEVENT");
        }
    }
    if plan.mornings.is_empty() || !plan.missed.is_empty() {
        out.begin("VJOURNAL", &identity(&[&plan.of, &plan.year.to_string(), "not planned"]));
        out.text("SUMMARY", &format!("Dawn counts {}: {} visits not planned", plan.year, plan.missed.len()));
        out.text("DESCRIPTION", &not_planned(plan, names));
        out.end("VJOURNAL");
    }
    out.whole()
}

/// Leks that are visited, by id and name, in the order of their first visit; the place in it is what [`letter`] tells.
pub fn visited(plan: &DawnPlan) -> Vec<(&str, &str)> {
    let mut all: Vec<(&str, &str)> = Vec::new();
    for visit in plan.mornings.iter().flat_map(|m| &m.outings).flat_map(|o| &o.visits) {
        if !all.iter().any(|(id, _)| *id == visit.lek_id) {
            all.push((&visit.lek_id, &visit.lek));
        }
    }
    all
}

/// What a lek is called where its name is withheld: `lek A` to `lek Z`, then `lek AA`.
pub fn letter(place: usize) -> String {
    let last = char::from(b'A' + (place % 26) as u8);
    match place / 26 {
        0 => format!("lek {last}"),
        more => format!("{}{last}", letter(more - 1)),
    }
}

/// What a visit's lek is called; `all` are the leks that are visited.
fn named(all: &[(&str, &str)], visit: &DawnVisit, names: Names) -> String {
    let place = || all.iter().position(|(id, _)| *id == visit.lek_id).unwrap_or_default();
    match names {
        Names::Told => visit.lek.clone(),
        Names::Withheld => letter(place()),
    }
}

fn summary(all: &[(&str, &str)], outing: &Outing, names: Names) -> String {
    let leks: Vec<String> = outing.visits.iter().map(|visit| named(all, visit, names)).collect();
    format!("Dawn count, {}: {}", outing.observer, leks.join(", "))
}

fn description(plan: &DawnPlan, all: &[(&str, &str)], outing: &Outing, date: NaiveDate, names: Names) -> String {
    // A time of the evening before says so.
    let at = |time: NaiveDateTime| time.format(if time.date() == date { "%H:%M" } else { "%H:%M on %-d %B" }).to_string();
    let told = names == Names::Told;
    let mut lines = vec![format!("Leave {} at {}.", if told { &outing.base } else { "base" }, at(outing.leave_base))];
    for visit in &outing.visits {
        let mut way = format!("{}, visit {}: ", named(all, visit, names), visit.visit);
        if visit.walk_back_min > 0 {
            let _ = write!(way, "walk back {} min, ", visit.walk_back_min);
        }
        if let Some(park_at) = visit.park_at {
            let stop = if told { format!(" at {}", visit.stop) } else { String::new() };
            let _ = write!(way, "drive {} min, park{stop} by {}, ", visit.drive_min, at(park_at));
        }
        let (arrive, from, until, close) = (at(visit.arrive_by), at(visit.watch_from), at(visit.watch_until), at(visit.hours_close));
        let _ = write!(way, "walk {} min, in place by {arrive}, watch {from} to {until} (sunrise {}, hours close {close}).", visit.walk_min, at(visit.sunrise));
        lines.push(way);
    }
    lines.push(format!("Back at {}. Times are clock times.", at(outing.back_at_base)));
    lines.extend(plan.quiet.iter().cloned());
    lines.extend(plan.cautions.iter().map(|caution| format!("Caution: {caution}.")));
    lines.join("\n")
}

fn not_planned(plan: &DawnPlan, names: Names) -> String {
    let line = |missed: &super::Missed| {
        let lek = if names == Names::Told { missed.lek.as_str() } else { "a lek" };
        format!("{lek}, visit {}: {}.", missed.visit, missed.reason)
    };
    plan.missed.iter().map(line).collect::<Vec<_>>().join("\n")
}

/// Form 2 of section 3.3.5: date with UTC time.
fn universal(shown: NaiveDateTime) -> String {
    clock::moment(shown).map_or(shown, |moment| moment.naive_utc()).format("%Y%m%dT%H%M%SZ").to_string()
}
