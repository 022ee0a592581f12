//! A plan as a calendar file, iCalendar (RFC 5545): one event an outing, from leaving base to being back; where ways are withheld, from
//! being in place at the first lek to the close of hours.
//!
//! Times are universal (form 2 of section 3.3.5), so that no time zone need be described. Names of leks are told or withheld; their
//! positions never stand in the file. What could not be planned is told in a journal entry, which also keeps a calendar
//! without events valid (section 3.6 asks for one component at least).

use super::record::{DawnPlan, DawnVisit, Outing};
use crate::clock;
use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
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
            let [start, end] = span(outing, morning.date);
            out.plain("DTSTART", &universal(start));
            out.plain("DTEND", &universal(end));
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

/// From when to when somebody is out, as far as it is told.
fn span(outing: &Outing, date: NaiveDate) -> [NaiveDateTime; 2] {
    let end = outing.back_at_base.or_else(|| outing.visits.iter().map(|visit| visit.hours_close).max());
    let midnight = date.and_time(NaiveTime::MIN);
    [outing.begins().unwrap_or(midnight), end.unwrap_or(midnight)]
}

fn description(plan: &DawnPlan, all: &[(&str, &str)], outing: &Outing, date: NaiveDate, names: Names) -> String {
    // A time of the evening before says so.
    let at = |time: NaiveDateTime| time.format(if time.date() == date { "%H:%M" } else { "%H:%M on %-d %B" }).to_string();
    let told = names == Names::Told;
    let mut lines: Vec<String> = outing.leave_base.map(|leave| format!("Leave {} at {}.", if told { &outing.base } else { "base" }, at(leave))).into_iter().collect();
    for visit in &outing.visits {
        let mut way = format!("{}, visit {}: ", named(all, visit, names), visit.visit);
        if let Some(back_min) = visit.walk_back_min.filter(|min| *min > 0) {
            let _ = write!(way, "walk back {back_min} min, ");
        }
        if let (Some(park_at), Some(drive_min)) = (visit.park_at, visit.drive_min) {
            let stop = if told { format!(" at {}", visit.stop) } else { String::new() };
            let _ = write!(way, "drive {drive_min} min, park{stop} by {}, ", at(park_at));
        }
        if let Some(walk_min) = visit.walk_min {
            let _ = write!(way, "walk {walk_min} min, ");
        }
        match (visit.arrive_by, visit.watch_from, visit.watch_until) {
            (Some(arrive), Some(from), Some(until)) => {
                let _ = write!(way, "in place by {}, watch {} to {} ", at(arrive), at(from), at(until));
            }
            _ => way.push_str("watch after the lek before "),
        }
        let _ = write!(way, "(sunrise {}, hours close {}).", at(visit.sunrise), at(visit.hours_close));
        lines.push(way);
    }
    lines.push(match outing.back_at_base {
        Some(back) => format!("Back at {}. Times are clock times.", at(back)),
        None => "Times are clock times, to five minutes. Whoever goes has a plan of their own with the ways.".to_owned(),
    });
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
