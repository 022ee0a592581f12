//! A plan as a calendar file, iCalendar (RFC 5545): one event an outing, from leaving base to being back; where ways are withheld, from
//! being in place at the first lek to the close of hours.
//!
//! Times are universal (form 2 of section 3.3.5), so that no time zone need be described. Names of leks are told or withheld; their
//! positions never stand in the file. What could not be planned is told in a journal entry, which also keeps a calendar
//! without events valid (section 3.6 asks for one component at least).

use super::record::{DawnPlan, DawnVisit, Outing};
use crate::clock;
use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
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
    let mut text = String::new();
    let mut line = |line: &str| fold(&mut text, line);
    let all = visited(plan);
    let stamp = made.format("%Y%m%dT%H%M%SZ").to_string();
    for begin in ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//greyhen//dawn counts//EN", "CALSCALE:GREGORIAN"] {
        line(begin);
    }
    for morning in &plan.mornings {
        for outing in &morning.outings {
            line("BEGIN:VEVENT");
            line(&format!("UID:{}", identity(&[&plan.of, &morning.date.to_string(), &outing.observer])));
            line(&format!("DTSTAMP:{stamp}"));
            let [start, end] = span(outing, morning.date);
            line(&format!("DTSTART:{}", universal(start)));
            line(&format!("DTEND:{}", universal(end)));
            line(&format!("SUMMARY:{}", escape(&summary(&all, outing, names))));
            line(&format!("DESCRIPTION:{}", escape(&description(plan, &all, outing, morning.date, names))));
            line("CLASS:PRIVATE");
            line("END:VEVENT");
        }
    }
    if plan.mornings.is_empty() || !plan.missed.is_empty() {
        line("BEGIN:VJOURNAL");
        line(&format!("UID:{}", identity(&[&plan.of, &plan.year.to_string(), "not planned"])));
        line(&format!("DTSTAMP:{stamp}"));
        line(&format!("SUMMARY:{}", escape(&format!("Dawn counts {}: {} visits not planned", plan.year, plan.missed.len()))));
        line(&format!("DESCRIPTION:{}", escape(&not_planned(plan, names))));
        line("CLASS:PRIVATE");
        line("END:VJOURNAL");
    }
    line("END:VCALENDAR");
    text
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
    let start = outing.leave_base.or_else(|| outing.visits.first().and_then(|visit| visit.arrive_by));
    let end = outing.back_at_base.or_else(|| outing.visits.iter().map(|visit| visit.hours_close).max());
    let midnight = date.and_time(NaiveTime::MIN);
    [start.unwrap_or(midnight), end.unwrap_or(midnight)]
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

/// Section 3.3.11: text. Control characters, which it does not allow, are left out.
fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\\' | ';' | ',' => out.extend(['\\', letter]),
            '\n' => out.push_str("\\n"),
            _ if letter.is_control() && letter != '\t' => {}
            _ => out.push(letter),
        }
    }
    out
}

/// Section 3.1: lines of at most 75 octets, ended by CRLF; a longer one goes on after a space. No letter is cut.
fn fold(text: &mut String, line: &str) {
    let mut octets = 0;
    for letter in line.chars() {
        if octets + letter.len_utf8() > 75 {
            text.push_str("\r\n ");
            octets = 1;
        }
        text.push(letter);
        octets += letter.len_utf8();
    }
    text.push_str("\r\n");
}

/// A name in the form of a UUID (RFC 9562, version 8; section 3.8.4.7 wants it unique the world over, RFC 7986 advises this form),
/// from a Fowler-Noll-Vo 1a hash of 128 bits of the parts (constants from memory, checked against the published vector).
fn identity(parts: &[&str]) -> String {
    let hash = fnv1a(parts.join("\u{1f}").as_bytes());
    let hash = hash & !(0xf << 76) & !(0x3 << 62) | (0x8 << 76) | (0x2 << 62);
    let hex = format!("{hash:032x}");
    [&hex[..8], &hex[8..12], &hex[12..16], &hex[16..20], &hex[20..]].join("-")
}

fn fnv1a(bytes: &[u8]) -> u128 {
    bytes.iter().fold(0x6c62_272e_07bb_0142_62b8_2175_6295_c58d, |hash: u128, byte| (hash ^ u128::from(*byte)).wrapping_mul((1 << 88) + 0x13b))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Offset basis for the empty text and the hash of "a" (Noll's test vectors, draft-eastlake-fnv; from memory).
    #[test]
    fn the_hash_gives_the_published_vectors() {
        assert_eq!(format!("{:032x}", fnv1a(b"")), "6c62272e07bb014262b821756295c58d");
        assert_eq!(format!("{:032x}", fnv1a(b"a")), "d228cb696f1a8caf78912b704e4a8964");
    }

    /// RFC 5545 section 3.3.11.
    #[test]
    fn text_is_escaped() {
        assert_eq!(escape("a\\b;c,d\ne\r\u{7}:\""), "a\\\\b\\;c\\,d\\ne:\"");
    }

    /// RFC 5545 section 3.1.
    #[test]
    fn lines_are_folded_between_letters_at_75_octets() {
        let folded = |line: &str| {
            let mut text = String::new();
            fold(&mut text, line);
            text
        };
        assert_eq!(folded(&"x".repeat(75)), "x".repeat(75) + "\r\n");
        assert_eq!(folded(&"x".repeat(76)), "x".repeat(75) + "\r\n x\r\n");
        // Two octets a letter: 37 fit, and after the space 37 again.
        let wide = folded(&"é".repeat(80));
        let lines: Vec<&str> = wide.split("\r\n").collect();
        assert_eq!(lines.iter().map(|line| line.len()).collect::<Vec<_>>(), [74, 75, 13, 0]);
        assert_eq!(wide.replace("\r\n ", "").trim_end(), "é".repeat(80));
    }

    /// RFC 9562 section 5.8: version 8 and the variant stand in their places.
    #[test]
    fn an_identity_is_a_uuid() {
        let id = identity(&["holding", "2027-04-03", "Ann"]);
        assert_eq!(id.split('-').map(str::len).collect::<Vec<_>>(), [8, 4, 4, 4, 12]);
        assert!(id.as_bytes()[14] == b'8' && b"89ab".contains(&id.as_bytes()[19]), "{id}");
        assert_ne!(id, identity(&["holding2027-04-03", "", "Ann"]));
    }
}
