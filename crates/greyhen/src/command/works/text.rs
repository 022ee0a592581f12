//! A programme of works on the screen.

use super::Told;
use crate::talk;
use ::works::tasks::Done;
use chrono::{Datelike, NaiveDate};
use guidance::Grade;
use std::collections::BTreeSet;

const WIDTH: usize = 100;
/// Slips told on the screen; all of them are in the JSON.
const SLIPS: usize = 8;

impl Told<'_> {
    pub(super) fn text(&self, written: &[String]) -> String {
        let mut all = vec![self.head()];
        let (mut month, mut seen) = (None, BTreeSet::new());
        for done in self.works.made.on_days() {
            let first = done.planned.first;
            if month != Some((first.year(), first.month())) {
                month = Some((first.year(), first.month()));
                all.push(format!("\n{}", first.format("%B %Y")));
            }
            all.push(self.item(&done, &mut seen));
        }
        let section = |head: &str, lines: &[String], all: &mut Vec<String>| {
            if !lines.is_empty() {
                all.push(format!("\n{head}\n{}", lines.iter().map(|l| listed(l)).collect::<Vec<_>>().join("\n")));
            }
        };
        section("Cannot be done", &self.telling.cannot(), &mut all);
        section(&format!("If something is {} late", talk::number(self.works.asked.late_days as usize, "day")), &self.slips(), &mut all);
        section("Later", &self.telling.later(), &mut all);
        section("After the last day of this programme", &self.telling.beyond(), &mut all);
        section("Done already, by the plan", &self.telling.finished(), &mut all);
        section("No task known", &self.telling.nothing(), &mut all);
        all.push(format!("\n{}", self.money()));
        section("Mind", &self.telling.mind(), &mut all);
        section("What this rests on", &self.rests_on(), &mut all);
        all.extend(written.iter().map(|file| format!("\nWritten: {file}")));
        all.join("\n")
    }

    fn head(&self) -> String {
        let s = &self.works.made.schedule;
        let jobs = &self.works.made.jobs.jobs;
        let measures: BTreeSet<&String> = jobs.iter().flat_map(|j| &j.measures).collect();
        let mut out = vec![
            format!(
                "Works of option {}, {}, at {}: {} to {}",
                self.option.number,
                talk::name(&self.option.name),
                talk::name(&self.plan),
                day(self.works.asked.settings.first),
                day(self.works.asked.settings.last)
            ),
            format!(
                "{} of {}: {} on days, {} that cannot be done.",
                talk::number(jobs.len(), "task"),
                talk::number(measures.len(), "measure"),
                s.planned.len(),
                self.works.made.refused.len()
            ),
        ];
        let assumed = if self.works.asked.hands.assumed { " These crews are assumed; give your own with --crews." } else { "" };
        out.push(format!("Crews: {}.{assumed}", self.telling.crews().join("; ")));
        out.push(self.telling.standing());
        out.push("Days are working days, Monday to Friday, at the usual work rate, whole days rounded up; in brackets at a quick and a slow rate. Weather is not counted.".into());
        out.iter().map(|line| talk::wrapped(line, WIDTH, "")).collect::<Vec<_>>().join("\n")
    }

    /// A task on its days; what comes again each year is told in full the first time only.
    fn item(&self, done: &Done, seen: &mut BTreeSet<String>) -> String {
        let head = format!("{}: {}", span(done.planned.first, done.planned.last), self.words(&done.job.what));
        if self.telling.again(done.job, seen) {
            let head = format!("{head} {}", self.telling.identity(done));
            return format!("  {}", talk::wrapped(&head, WIDTH - 4, "    ").trim_start());
        }
        let head = talk::wrapped(&head, WIDTH - 4, "    ");
        let lines = self.telling.told(done).iter().map(|l| talk::wrapped(l, WIDTH - 8, "        ")).collect::<Vec<_>>().join("\n");
        format!("  {}\n{lines}", head.trim_start())
    }

    fn slips(&self) -> Vec<String> {
        let mut out: Vec<String> = self.works.slips.iter().take(SLIPS).map(|s| self.telling.slip(s)).collect();
        if self.works.slips.len() > SLIPS {
            out.push(format!("{} more move others; --json tells all.", self.works.slips.len() - SLIPS));
        }
        if self.works.slips.is_empty() && !self.works.made.schedule.planned.is_empty() {
            out.push("Nothing else moves.".into());
        }
        out
    }

    /// How good the figures are.
    fn rests_on(&self) -> Vec<String> {
        let rows = self.works.figures(self.guidance, self.country);
        let mut out = Vec::new();
        for grade in Grade::ALL {
            let of: Vec<&str> = rows.iter().filter(|r| r.grade == grade).map(|r| r.key.as_str()).collect();
            if !of.is_empty() {
                out.push(format!("{}: {}", grade.in_words(), of.join(", ")));
            }
        }
        let unknown = self.works.made.jobs.jobs.iter().filter(|j| j.days.is_none()).count();
        if unknown > 0 {
            out.push(format!(
                "{} have no work rate: they stand on the first day they may be done, and take up nobody.",
                talk::number(unknown, "task")
            ));
        }
        out.push("Each figure: greyhen explain KEY. Consents in hand, bank holidays, frost, wet ground and the way to the place are not known to it; check the code in force.".into());
        out
    }
}

fn day(date: NaiveDate) -> String {
    date.format("%-d %B %Y").to_string()
}

/// A first and a last day, the month once where it is the same.
fn span(first: NaiveDate, last: NaiveDate) -> String {
    match (first == last, (first.year(), first.month()) == (last.year(), last.month())) {
        (true, _) => first.format("%-d %B").to_string(),
        (_, true) => format!("{} to {}", first.day(), last.format("%-d %B")),
        _ if first.year() == last.year() => format!("{} to {}", first.format("%-d %B"), last.format("%-d %B")),
        _ => format!("{} to {}", first.format("%-d %B"), day(last)),
    }
}

fn listed(line: &str) -> String {
    format!("- {}", talk::wrapped(line, WIDTH - 2, "  ").trim_start())
}
