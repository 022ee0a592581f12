//! A programme of works on the screen.

use super::Told;
use crate::talk;
use ::works::programme::{Crew, Moved};
use ::works::tasks::{Done, Job, Slipped, Stage};
use chrono::{Datelike, NaiveDate};
use guidance::Grade;
use std::collections::BTreeSet;

const WIDTH: usize = 100;
/// Slips told on the screen; all of them are in the JSON.
const SLIPS: usize = 8;
/// Tasks told of one slip.
const MOVES: usize = 3;

impl Told<'_> {
    pub(super) fn text(&self, written: &[String]) -> String {
        let mut all = vec![self.head()];
        let (mut month, mut seen) = (None, BTreeSet::new());
        for done in self.made.on_days() {
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
        let what = |id: &str| self.made.job(id).map_or(id.to_string(), |j| self.words(&j.what));
        let cannot: Vec<String> = self.made.refused.iter().map(|r| format!("{} [{}]: {}.", what(&r.job), r.job, self.words(&r.why))).collect();
        section("Cannot be done", &cannot, &mut all);
        section(&format!("If something is {} late", talk::number(self.late as usize, "day")), &self.slips(), &mut all);
        let later: Vec<String> = self
            .made
            .jobs
            .later
            .iter()
            .map(|l| format!("{} to {}: {} ({}).", l.years.0, l.years.1, self.words(&l.what), talk::name(&l.measure)))
            .collect();
        section("Later", &later, &mut all);
        section("After the last day of this programme", &self.beyond(), &mut all);
        let done: Vec<String> = self.made.jobs.done.iter().map(|(m, year)| format!("{}, in {year}.", talk::name(m))).collect();
        section("Done already, by the plan", &done, &mut all);
        section("No task known", &self.made.jobs.nothing.iter().map(|m| format!("{}.", talk::name(m))).collect::<Vec<_>>(), &mut all);
        all.push(format!("\n{}", self.money()));
        section("Mind", &self.mind(), &mut all);
        section("What this rests on", &self.rests_on(), &mut all);
        all.extend(written.iter().map(|file| format!("\nWritten: {file}")));
        all.join("\n")
    }

    fn head(&self) -> String {
        let s = &self.made.schedule;
        let jobs = &self.made.jobs.jobs;
        let measures: BTreeSet<&String> = jobs.iter().flat_map(|j| &j.measures).collect();
        let mut out = vec![
            format!(
                "Works of option {}, {}, at {}: {} to {}",
                self.option.number,
                talk::name(&self.option.name),
                talk::name(&self.plan),
                day(self.settings.first),
                day(self.settings.last)
            ),
            format!(
                "{} of {}: {} on days, {} that cannot be done.",
                talk::number(jobs.len(), "task"),
                talk::number(measures.len(), "measure"),
                s.planned.len(),
                self.made.refused.len()
            ),
        ];
        let crews: Vec<String> = self.hands.crews.iter().map(crew).collect();
        let assumed = if self.hands.assumed { " These crews are assumed; give your own with --crews." } else { "" };
        out.push(format!("Crews: {}.{assumed}", crews.join("; ")));
        out.push(match (s.proven, s.gap_days()) {
            (true, _) => "No programme of these tasks and crews is better.".into(),
            (false, Some(0)) => "No programme of these tasks and crews ends earlier; one with earlier days inside may be there.".into(),
            (false, Some(gap)) => format!("The whole might end {} earlier at the most.", talk::number(gap as usize, "day")),
            (false, None) => "Not proven the best there is.".into(),
        });
        out.push("Days are working days, Monday to Friday, at the usual work rate, whole days rounded up; in brackets at a quick and a slow rate. Weather is not counted.".into());
        out.iter().map(|line| talk::wrapped(line, WIDTH, "")).collect::<Vec<_>>().join("\n")
    }

    /// A task on its days; what comes again each year is told in full the first time only.
    fn item(&self, done: &Done, seen: &mut BTreeSet<String>) -> String {
        let head = format!("{}: {}", span(done.planned.first, done.planned.last), self.words(&done.job.what));
        let again = done.job.stage >= Stage::Keep && !seen.insert(format!("{:?} {:?} {}", done.job.stage, done.job.measures, done.job.hands));
        if again {
            let head = format!("{head} [{}]", done.job.id);
            return format!("  {}", talk::wrapped(&head, WIDTH - 4, "    ").trim_start());
        }
        let head = talk::wrapped(&head, WIDTH - 4, "    ");
        let lines = self.lines(done).iter().map(|l| talk::wrapped(l, WIDTH - 8, "        ")).collect::<Vec<_>>().join("\n");
        format!("  {}\n{lines}", head.trim_start())
    }

    /// What is told of a task besides its days and name, a line each.
    pub(super) fn lines(&self, done: &Done) -> Vec<String> {
        let (job, planned) = (done.job, done.planned);
        let mut who = vec![planned.crews.iter().map(|c| talk::name(c)).collect::<Vec<_>>().join(", ")];
        if job.people > 1 {
            who.push(format!("{} people", job.people));
        }
        match &job.days {
            Some(d) if d.low < d.high => who.push(format!("{} ({} to {})", talk::number(d.usual as usize, "day"), d.low, d.high)),
            Some(d) => who.push(talk::number(d.usual as usize, "day")),
            None => who.push("days not known".into()),
        }
        who.retain(|w| !w.is_empty());
        let mut out = vec![format!("{} [{}]", who.join(", "), job.id)];
        if job.amounts.len() > 1 {
            let amounts: Vec<String> = job.amounts.iter().map(|a| format!("{} {} {}", a.what, amount(a.amount), a.unit)).collect();
            out.push(format!("how much: {}", amounts.join(", ")));
        }
        if !job.after.is_empty() {
            out.push(format!("after: {}", job.after.iter().map(|w| self.wait(w)).collect::<Vec<_>>().join("; ")));
        }
        let why = self.why(&job.season);
        if !why.is_empty() {
            out.push(format!("when: {}", why.join("; ")));
        }
        if let Some(by) = job.by.filter(|_| !job.hard) {
            out.push(format!(
                "to be done by {}{}",
                day(by),
                if planned.late_days > 0 { format!(": {} late", talk::number(planned.late_days as usize, "day")) } else { String::new() }
            ));
        }
        if planned.first.year() > job.year && (Stage::Fence..=Stage::Work).contains(&job.stage) {
            out.push(format!("meant for {}, comes to lie in {}", job.year, planned.first.year()));
        }
        if let Some(from) = self.nests(done) {
            out.push(format!("in the nesting season from {}: have the ground searched for nests first; check the code in force", day(from)));
        }
        out.extend(job.notes.iter().map(|n| self.words(n)));
        out
    }

    fn wait(&self, wait: &::works::tasks::Wait) -> String {
        let of = self.made.job(&wait.job).map_or(wait.job.clone(), |j| self.short(j));
        if wait.words.is_empty() { of } else { format!("{of}, then {}", wait.words) }
    }

    /// A task in a few words.
    fn short(&self, job: &Job) -> String {
        let of = talk::name(&job.measures.join(", "));
        match job.stage {
            Stage::Survey => format!("survey of {of}"),
            Stage::Agree => format!("agreement on {of}"),
            Stage::Consent => {
                let asked = self.words(job.what.split(':').next().unwrap_or_default());
                let mut letters = asked.chars();
                letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
            }
            Stage::Order => format!("order for {of}"),
            Stage::Fence => format!("fence of {of}"),
            Stage::Ground => format!("ground of {of} made ready"),
            Stage::Work | Stage::Keep => format!("work of {of} [{}]", job.id),
            Stage::BeatUp => format!("beating up of {of}"),
            Stage::Check => format!("check of {of}"),
        }
    }

    fn slips(&self) -> Vec<String> {
        let mut out: Vec<String> = self.slips.iter().take(SLIPS).map(|s| self.slip(s)).collect();
        if self.slips.len() > SLIPS {
            out.push(format!("{} more move others; --json tells all.", self.slips.len() - SLIPS));
        }
        if self.slips.is_empty() && !self.made.schedule.planned.is_empty() {
            out.push("Nothing else moves.".into());
        }
        out
    }

    fn slip(&self, slip: &Slipped) -> String {
        let late = self.made.job(&slip.job).map_or(slip.job.clone(), |j| self.words(&j.what));
        let mut others: Vec<&Moved> = slip.moved.iter().filter(|m| m.task != slip.job).collect();
        others.sort_by_key(|m| (std::cmp::Reverse(m.ends_later_days), m.now.0));
        let moved = |m: &&Moved| {
            let name = self.made.job(&m.task).map_or(m.task.clone(), |j| self.short(j));
            let season = if m.other_season { ", another season" } else { "" };
            format!("{name} moves from {} to {}{season}", day(m.planned.0), day(m.now.0))
        };
        let mut told: Vec<String> = others.iter().take(MOVES).map(moved).collect();
        if others.len() > MOVES {
            told.push(format!("and {} more", talk::number(others.len() - MOVES, "task")));
        }
        told.extend(slip.lost.iter().map(|(job, why)| format!("{} is lost: {why}", self.made.job(job).map_or(job.clone(), |j| self.short(j)))));
        format!("{late} [{}]: {}.", slip.job, told.join("; "))
    }

    /// What follows works of the programme after its end, a line a measure.
    fn beyond(&self) -> Vec<String> {
        let jobs: Vec<&Job> = self.made.beyond.iter().filter_map(|id| self.made.job(id)).collect();
        let mut out: Vec<(String, Vec<&str>)> = Vec::new();
        for job in jobs {
            let of = talk::name(&job.measures.join(", "));
            let what = match job.stage {
                Stage::BeatUp => "beating up",
                Stage::Check => "looking over",
                _ => "upkeep",
            };
            match out.iter_mut().find(|(name, _)| *name == of) {
                Some((_, all)) if all.contains(&what) => {}
                Some((_, all)) => all.push(what),
                None => out.push((of, vec![what])),
            }
        }
        out.into_iter().map(|(of, what)| format!("{of}: {}.", what.join(", "))).collect()
    }

    /// What to mind, each thing once, with the works it goes with where it does not go with all.
    fn mind(&self) -> Vec<String> {
        let mut out: Vec<(&str, Vec<&str>)> = Vec::new();
        for (kind, words) in &self.cautions {
            for said in words {
                match out.iter_mut().find(|(other, _)| other == said) {
                    Some((_, kinds)) => kinds.push(kind),
                    None => out.push((said, vec![kind])),
                }
            }
        }
        let with =
            |kinds: &[&str]| if kinds.len() == self.cautions.len() { String::new() } else { format!(" ({})", kinds.join(", ").replace('_', " ")) };
        out.iter().map(|(said, kinds)| format!("{said}{}.", with(kinds))).collect()
    }

    /// How good the figures are.
    fn rests_on(&self) -> Vec<String> {
        let rows = self.figures();
        let mut out = Vec::new();
        for grade in Grade::ALL {
            let of: Vec<&str> = rows.iter().filter(|r| r.grade == grade).map(|r| r.key.as_str()).collect();
            if !of.is_empty() {
                out.push(format!("{}: {}", grade.in_words(), of.join(", ")));
            }
        }
        let unknown = self.made.jobs.jobs.iter().filter(|j| j.days.is_none()).count();
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

/// A crew in words.
fn crew(crew: &Crew) -> String {
    let kinds: Vec<&str> = crew.kinds.iter().map(String::as_str).collect();
    let there: Vec<String> = crew.there.iter().map(|w| format!(", {w}")).collect();
    format!("{} ({}, {}{})", talk::name(&crew.id), crew.capacity, kinds.join(" "), there.concat())
}

/// An amount: whole where it is large.
fn amount(amount: f64) -> String {
    if (amount - amount.round()).abs() < 1e-9 || amount >= 100.0 { format!("{amount:.0}") } else { measures::rules::words::number(amount) }
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
