//! The dawns of a spring on the screen.

use super::Planned;
use crate::talk;
use birds::dawns::{DawnVisit, Morning, Outing, words};
use chrono::{Datelike, NaiveDate, NaiveDateTime};

const WIDTH: usize = 100;

impl Planned {
    pub(super) fn text(&self, written: &[String]) -> String {
        let p = &self.plan;
        let ask = &self.made.ask;
        let head = format!("Dawns of {} at {}: {}, {}", p.year, talk::name(&p.of), talk::number(ask.leks.len(), "lek"), talk::number(ask.observers.len(), "observer"));
        let wrap = |text: &str| talk::wrapped(text, WIDTH, "");
        let mut all = vec![format!("{head}\n{}\n{}", wrap(&words::takes(p)), wrap(&words::proof(p)))];
        if !p.mornings.is_empty() {
            let rows: Vec<Vec<String>> = p.mornings.iter().flat_map(|m| self.rows(m)).collect();
            if self.secrecy.withheld() {
                all.push(talk::table(&["morning", "who", "stop", "there", "watch", "hours close", "sunrise", "lek (visit)"], &rows, &[]));
            } else {
                let head = ["morning", "who", "leave", "drive", "park", "stop", "walk", "there", "watch", "sunrise", "lek (visit)"];
                all.push(talk::table(&head, &rows, &[3]));
                all.push(wrap("Leave, park and be there and still by these times, clock times. Drive and walk in minutes; with a plus sign, first back from the lek before."));
            }
            all.extend(self.coarse().map(|said| wrap(&said)));
            all.extend(words::running(p).iter().map(|said| wrap(said)));
            let stops = self.stops().into_iter().map(|(_, stop, leks)| talk::wrapped(&format!("{stop}: for {}", leks.iter().map(|l| talk::name(l)).collect::<Vec<_>>().join(", ")), WIDTH - 2, "  "));
            all.push(format!("Stops\n{}", stops.collect::<Vec<_>>().join("\n")));
        }
        if !p.missed.is_empty() {
            let lines: Vec<String> = p.missed.iter().map(|m| format!("{}, visit {}: {}.", talk::name(&m.lek), m.visit, m.reason)).collect();
            all.push(format!("{}\n  hint: a nearer stop (--stop), a base near by, more people or more days may reach them{}", listed("Not visited", &lines), if p.mornings.is_empty() { "; see that the base is where it was meant to be" } else { "" }));
        }
        let spare = [0, 1].map(|w| self.spare(w));
        let (weather, cover) = (words::weather(&self.rules), words::cover(ask, p));
        all.push(format!("{}\n{}", listed("Spare mornings", &spare), wrap(&format!("{weather} {cover}"))));
        let near: Vec<String> = p.stops_too_near.iter().map(|near| self.near(near)).collect();
        if !near.is_empty() {
            all.push(listed("Too near", &near));
        }
        all.push(listed("Coming up to a lek", &p.quiet));
        all.push(listed("Alone at dawn", &p.cautions));
        if !self.rests_on.is_empty() {
            all.push(listed("What this rests on", &self.rests_on));
        }
        let mut end: Vec<String> = written.iter().map(|file| format!("Written: {file}")).collect();
        if self.secrecy.withheld() {
            end.push(wrap("Stops and bases are told to the kilometre, ways not at all, and the calendar names no lek; --show-leks gives them exactly."));
        }
        all.extend((!end.is_empty()).then(|| end.join("\n")));
        all.join("\n\n")
    }

    /// The usable mornings of a window that are left over.
    fn spare(&self, window: usize) -> String {
        let days = self.rules.window(self.plan.year, window);
        format!("visit {}, {} to {}: {}", window + 1, words::days(&days[..1]), words::days(&days[1..]), words::spare(&self.plan, days))
    }

    /// A row a visit; who and when only on the first of an outing.
    fn rows(&self, morning: &Morning) -> Vec<Vec<String>> {
        let mut day = Some(morning.date);
        let mut rows = Vec::new();
        for outing in &morning.outings {
            for (i, visit) in outing.visits.iter().enumerate() {
                rows.push(self.row(day.take(), (i == 0).then_some(outing), visit, morning.date));
            }
        }
        rows
    }

    fn row(&self, day: Option<NaiveDate>, outing: Option<&Outing>, visit: &DawnVisit, date: NaiveDate) -> Vec<String> {
        // A time of the evening before says so.
        let clock = |time: NaiveDateTime| time.format(if time.date() == date { "%H:%M" } else { "%H:%M on %-d %b" }).to_string();
        let at = |time: Option<NaiveDateTime>| time.map_or(String::new(), clock);
        let min = |minutes: Option<u32>| minutes.map_or(String::new(), |m| m.to_string());
        let watch = match (visit.watch_from, visit.watch_until) {
            (Some(from), Some(until)) => format!("{}-{}", clock(from), clock(until)),
            _ => "after that".to_owned(),
        };
        let day = day.map_or(String::new(), |d| format!("{} {} {}", d.format("%a"), d.day(), d.format("%b")));
        let who = outing.map_or(String::new(), |o| talk::name(&o.observer));
        let lek = format!("{} ({})", talk::name(&visit.lek), visit.visit);
        if self.secrecy.withheld() {
            return vec![day, who, self.letter(visit), at(visit.arrive_by), watch, clock(visit.hours_close), clock(visit.sunrise), lek];
        }
        let back = visit.walk_back_min.filter(|m| *m > 0).map_or(String::new(), |m| format!("{m}+"));
        let (drive, park) = if visit.park_at.is_some() { (min(visit.drive_min), at(visit.park_at)) } else { (String::new(), "on foot".to_owned()) };
        let walk = format!("{back}{}", min(visit.walk_min));
        let leave = at(outing.and_then(|o| o.leave_base));
        vec![day, who, leave, drive, park, self.letter(visit), walk, at(visit.arrive_by), watch, clock(visit.sunrise), lek]
    }

    /// The letter of a visit's stop.
    fn letter(&self, visit: &DawnVisit) -> String {
        let ask = &self.made.ask;
        ask.leks.iter().find(|lek| lek.id == visit.lek_id).map_or(String::new(), |lek| ask.stops[lek.stop].id.clone())
    }
}

fn listed(head: &str, lines: &[String]) -> String {
    let item = |line: &String| format!("- {}", talk::wrapped(line, WIDTH - 2, "  ").trim_start());
    format!("{head}\n{}", lines.iter().map(item).collect::<Vec<_>>().join("\n"))
}
