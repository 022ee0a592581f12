//! The works of an option in words: every task with its days, who does it, what it waits for, why its season is as it is.

mod money;
mod task;

pub use money::{ClaimText, MeasureText, MoneyText, MovedText, RateText, Stands, TermsText, UnitText, YearText, three};
pub use task::{AmountText, TaskText};

use crate::content::evidence;
use crate::pack::Pack;
use crate::placed;
use crate::secrecy::Secrecy;
use crate::words;
use crate::works::{DISCOUNT, Works};
use guidance::Row;
use guidance::explain::value_in_words;
use serde::Serialize;
use ::works::programme::{Crew, Moved};
use ::works::tasks::{Done, Job, Later, Slipped, Stage, Wait, in_nesting};
use chrono::{NaiveDate, NaiveDateTime};
use measures::rules::on_measures::season::Season;
use std::collections::BTreeSet;

/// Tasks told of one slip.
const MOVES: usize = 3;

/// The works of an option as printed.
#[derive(Clone, Debug, Serialize)]
pub struct WorksText {
    /// First day.
    pub first: String,
    /// Last day.
    pub last: String,
    /// Tasks by first day.
    pub tasks: Vec<TaskText>,
    /// What cannot be done, and why.
    pub cannot: Vec<String>,
    /// Calendar days a task is late in `slips`.
    pub late_days: u32,
    /// What comes of a task being late, heaviest first.
    pub slips: Vec<String>,
    /// What falls due later.
    pub later: Vec<String>,
    /// What follows works of the programme after its end.
    pub beyond: Vec<String>,
    /// Measures told as finished.
    pub finished: Vec<String>,
    /// Measures no task is known of.
    pub nothing: Vec<String>,
    /// Crews.
    pub crews: Vec<String>,
    /// Whether the crews are the usual ones, assumed.
    pub crews_assumed: bool,
    /// How good the programme is.
    pub standing: String,
    /// Cautions of the works.
    pub mind: Vec<String>,
    /// Figures the works rest on, numbered.
    pub figures: Vec<FigureText>,
    /// What the works cost and bring in; `None` where there is no account.
    pub money: Option<MoneyText>,
    /// Why there is no account; empty where there is one.
    pub no_money: String,
    /// Numbers of the figures money is discounted by.
    pub discount: Vec<usize>,
    /// Sheets of the board of months.
    pub boards: usize,
}

/// A figure with what it is worth.
#[derive(Clone, Debug, Serialize)]
pub struct FigureText {
    /// Number, from 1.
    pub number: usize,
    /// Key.
    pub key: String,
    /// Value in words.
    pub value: String,
    /// Source key.
    pub source: String,
    /// Where it comes from, in words.
    pub stands: Stands,
}

/// Puts the works of a pack into words; `None` where none are handed over.
pub fn of(pack: &Pack, secrecy: &Secrecy) -> Option<WorksText> {
    let (works, planned) = (pack.works?, pack.option?);
    let telling = Telling::of(works, secrecy);
    let placed = placed::of(pack, planned, secrecy);
    let rows = works.figures(pack.guidance, pack.holding.about.country);
    let notes = |keys: &[String]| -> Vec<usize> { (1..).zip(&rows).filter(|(_, row)| keys.contains(&row.key)).map(|(number, _)| number).collect() };
    let figure = |(number, row): (usize, &&Row)| FigureText {
        number,
        key: row.key.clone(),
        value: value_in_words(row),
        source: row.source.clone(),
        stands: Stands::new(evidence::places(&[*row]), &row.edition, row.country, row.grade),
    };
    let noted = |(line, keys): (String, &[String])| {
        let notes = notes(keys);
        if notes.is_empty() { line } else { format!("{line} Figures {}.", words::runs(notes.iter().copied())) }
    };
    let money = telling.money(&|id| planned.jobs.iter().position(|j| j.measure.id == id).map_or(0, |i| i + 1));
    Some(WorksText {
        first: words::day(works.asked.settings.first),
        last: words::day(works.asked.settings.last),
        tasks: task::of(&telling, planned, &placed, &notes),
        cannot: telling.cannot(),
        late_days: works.asked.late_days,
        slips: works.slips.iter().map(|s| telling.slip(s)).collect(),
        later: telling.later_of().into_iter().map(noted).collect(),
        beyond: telling.beyond(),
        finished: telling.finished(),
        nothing: telling.nothing(),
        crews: telling.crews(),
        crews_assumed: works.asked.hands.assumed,
        standing: telling.standing(),
        mind: telling.mind(),
        discount: if works.account.is_ok() { notes(&DISCOUNT.map(str::to_owned)) } else { vec![] },
        figures: (1..).zip(&rows).map(figure).collect(),
        boards: crate::chart::board::sheets(works),
        no_money: money.as_ref().err().cloned().unwrap_or_default(),
        money: money.ok(),
    })
}

/// Keys of the figures and rates the works of a pack rest on.
pub fn keys(pack: &Pack) -> Vec<String> {
    let Some(works) = pack.works else { return vec![] };
    let figures = works.figures(pack.guidance, pack.holding.about.country).into_iter().map(|row| row.key.clone());
    let account = || works.account.iter();
    let rates = account().flat_map(|a| &a.lines).filter_map(|line| line.rate.as_ref()).filter(|rate| rate.grade.is_some()).map(|rate| rate.key.clone());
    let terms = account().flat_map(|a| a.terms.keys()).flat_map(|id| ["condition", "evidence", "years"].map(|what| format!("earns.{id}.{what}")));
    figures.chain(rates).chain(terms).collect()
}

/// How the works of an option are told: in words that give no withheld lek away.
pub struct Telling<'a> {
    works: &'a Works,
    secrecy: &'a Secrecy,
}

impl<'a> Telling<'a> {
    /// How some works are told.
    pub fn of(works: &'a Works, secrecy: &'a Secrecy) -> Self {
        Self { works, secrecy }
    }

    /// Words as they may be told: a measure that would give a lek away goes by its number.
    pub fn words(&self, text: &str) -> String {
        let text = self.works.renamed.iter().fold(text.to_owned(), |text, (id, called)| replaced(&text, id, called));
        self.secrecy.words(&text)
    }

    /// What a measure is called.
    pub fn measure(&self, id: &str) -> String {
        self.works.renamed.iter().find(|(other, _)| other == id).map_or_else(|| id.to_owned(), |(_, called)| called.clone())
    }

    /// The identity of a task as it may be told.
    pub fn task(&self, id: &str) -> String {
        let measure = self.works.renamed.iter().find(|(measure, _)| id.strip_prefix(measure.as_str()).is_some_and(|rest| rest.starts_with('/')));
        measure.map_or_else(|| id.to_owned(), |(measure, called)| format!("{}{}", called.replace(' ', "-"), &id[measure.len()..]))
    }

    /// Who does a task, how many people, how long.
    pub fn who(&self, done: &Done) -> String {
        let job = done.job;
        let mut who = vec![done.planned.crews.join(", ")];
        if job.people > 1 {
            who.push(format!("{} people", job.people));
        }
        who.push(days(job));
        who.retain(|w| !w.is_empty());
        who.join(", ")
    }

    /// What is told of a task besides its days, its name and who does it, a line each.
    pub fn lines(&self, done: &Done) -> Vec<String> {
        let job = done.job;
        let mut out = vec![];
        if job.amounts.len() > 1 {
            let amounts: Vec<String> = job.amounts.iter().map(|a| format!("{} {} {}", a.what, task::amount(a.amount), a.unit)).collect();
            out.push(self.words(&format!("how much: {}", amounts.join(", "))));
        }
        if !job.after.is_empty() {
            out.push(format!("after: {}", job.after.iter().map(|w| self.wait(w)).collect::<Vec<_>>().join("; ")));
        }
        let why = self.why(&job.season);
        if !why.is_empty() {
            out.push(format!("when: {}", why.join("; ")));
        }
        out.extend(self.notes(done));
        out
    }

    /// By when a task should be done, what its days mean for it, and its notes.
    pub fn notes(&self, done: &Done) -> Vec<String> {
        let (job, planned) = (done.job, done.planned);
        let mut out = vec![];
        if let Some(by) = job.by.filter(|_| !job.hard) {
            let late = if planned.late_days > 0 { format!(": {} late", things(planned.late_days as usize, "day")) } else { String::new() };
            out.push(format!("to be done by {}{late}", words::day(by)));
        }
        out.extend(task::meant_for(done));
        if let Some(from) = self.nests(done) {
            out.push(format!("in the nesting season from {}: have the ground searched for nests first; check the code in force", words::day(from)));
        }
        out.extend(job.notes.iter().map(|n| self.words(n)));
        out
    }

    /// A task's number on the board, with its identity.
    pub fn identity(&self, done: &Done) -> String {
        let number = self.works.made.on_days().position(|other| other.job.id == done.job.id).map_or(0, |i| i + 1);
        format!("[no. {number}, {}]", self.task(&done.job.id))
    }

    /// Who does a task and what else is told of it, a line each.
    pub fn told(&self, done: &Done) -> Vec<String> {
        let who = format!("{} {}", self.who(done), self.identity(done));
        std::iter::once(who).chain(self.lines(done)).collect()
    }

    /// The tasks as a calendar file, made at a time (universal).
    pub fn calendar(&self, plan: &str, made: NaiveDateTime) -> String {
        let told = |done: &Done| self.told(done).join("\n");
        ::works::tasks::calendar(&self.works.made, plan, self.works.asked.option, made, &told, &self.cannot(), &|words| self.words(words))
    }

    /// Why days are open or shut, in words; the lek that shuts them named where leks are shown.
    pub fn why(&self, season: &Season) -> Vec<String> {
        let words = |b: &measures::rules::on_measures::season::Bound| match (&b.lek, self.secrecy.withheld()) {
            (Some((name, far_m)), false) => format!("{} ({name}, {far_m:.0} m)", b.words),
            _ => self.words(&b.words),
        };
        season.bounds.iter().map(words).collect()
    }

    /// The first day on which the ground of a task is to be searched for nests first.
    pub fn nests(&self, done: &Done) -> Option<NaiveDate> {
        let walked = ["adviser", "farm", "stock"].contains(&done.job.hands);
        let on_ground = done.job.heavy || (done.job.stage >= Stage::Fence && (done.job.days.is_some() || !walked));
        in_nesting(done.planned, self.works.nesting).filter(|_| on_ground)
    }

    /// What a task waits for.
    pub fn wait(&self, wait: &Wait) -> String {
        let of = self.works.made.job(&wait.job).map_or_else(|| self.task(&wait.job), |j| self.short(j));
        if wait.words.is_empty() { of } else { format!("{of}, then {}", wait.words) }
    }

    /// Whether a task is one that comes again and was told before, so that it need not be told in full; `seen` keeps those told.
    pub fn again(&self, job: &Job, seen: &mut BTreeSet<String>) -> bool {
        job.stage >= Stage::Keep && !seen.insert(format!("{:?} {:?} {}", job.stage, job.measures, job.hands))
    }

    /// A task in a few words.
    pub fn short(&self, job: &Job) -> String {
        let of = job.measures.iter().map(|m| self.measure(m)).collect::<Vec<_>>().join(", ");
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
            Stage::Work | Stage::Keep => format!("work of {of} [{}]", self.task(&job.id)),
            Stage::BeatUp => format!("beating up of {of}"),
            Stage::Check => format!("check of {of}"),
        }
    }

    /// What cannot be done, and why.
    pub fn cannot(&self) -> Vec<String> {
        let what = |id: &str| self.works.made.job(id).map_or(id.to_string(), |j| self.words(&j.what));
        self.works.made.refused.iter().map(|r| format!("{} [{}]: {}.", what(&r.job), self.task(&r.job), self.words(&r.why))).collect()
    }

    /// What comes of a task being late.
    pub fn slip(&self, slip: &Slipped) -> String {
        let made = &self.works.made;
        let late = made.job(&slip.job).map_or(slip.job.clone(), |j| self.words(&j.what));
        let mut others: Vec<&Moved> = slip.moved.iter().filter(|m| m.task != slip.job).collect();
        others.sort_by_key(|m| (std::cmp::Reverse(m.ends_later_days), m.now.0));
        let moved = |m: &&Moved| {
            let name = made.job(&m.task).map_or(m.task.clone(), |j| self.short(j));
            let season = if m.other_season { ", another season" } else { "" };
            format!("{name} moves from {} to {}{season}", words::day(m.planned.0), words::day(m.now.0))
        };
        let mut told: Vec<String> = others.iter().take(MOVES).map(moved).collect();
        if others.len() > MOVES {
            told.push(format!("and {} more", things(others.len() - MOVES, "task")));
        }
        told.extend(slip.lost.iter().map(|(job, why)| format!("{} is lost: {}", made.job(job).map_or(job.clone(), |j| self.short(j)), self.words(why))));
        format!("{late} [{}]: {}.", self.task(&slip.job), told.join("; "))
    }

    /// What falls due after the programme, with years; measures of which the same falls due are told together.
    pub fn later(&self) -> Vec<String> {
        self.later_of().into_iter().map(|(line, _)| line).collect()
    }

    /// The same with the keys of its figures.
    fn later_of(&self) -> Vec<(String, &[String])> {
        let mut out: Vec<(&Later, Vec<String>)> = Vec::new();
        for later in &self.works.made.jobs.later {
            let called = self.measure(&later.measure);
            match out.iter_mut().find(|(l, _)| (l.years, &l.what, &l.keys) == (later.years, &later.what, &later.keys)) {
                Some((_, of)) => of.push(called),
                None => out.push((later, vec![called])),
            }
        }
        let told = |(l, of): (&Later, Vec<String>)| format!("{} to {}: {} ({}).", l.years.0, l.years.1, self.words(&l.what), of.join(", "));
        out.into_iter().map(|(later, of)| (told((later, of)), later.keys.as_slice())).collect()
    }

    /// What follows works of the programme after its end, a line a measure.
    pub fn beyond(&self) -> Vec<String> {
        let mut out: Vec<(String, Vec<&str>)> = Vec::new();
        for job in self.works.made.beyond.iter().filter_map(|id| self.works.made.job(id)) {
            let of = job.measures.iter().map(|m| self.measure(m)).collect::<Vec<_>>().join(", ");
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

    /// Measures told as finished, with the year.
    pub fn finished(&self) -> Vec<String> {
        self.works.made.jobs.done.iter().map(|(m, year)| format!("{}, in {year}.", self.measure(m))).collect()
    }

    /// Measures no task is known of.
    pub fn nothing(&self) -> Vec<String> {
        self.works.made.jobs.nothing.iter().map(|m| format!("{}.", self.words(m))).collect()
    }

    /// What to mind, each thing once, with the works it goes with where it does not go with all.
    pub fn mind(&self) -> Vec<String> {
        let cautions = &self.works.cautions;
        let mut out: Vec<(&str, Vec<&str>)> = Vec::new();
        for (kind, words) in cautions {
            for said in words {
                match out.iter_mut().find(|(other, _)| other == said) {
                    Some((_, kinds)) => kinds.push(kind),
                    None => out.push((said, vec![kind])),
                }
            }
        }
        let with = |kinds: &[&str]| if kinds.len() == cautions.len() { String::new() } else { format!(" ({})", kinds.join(", ").replace('_', " ")) };
        out.iter().map(|(said, kinds)| format!("{said}{}.", with(kinds))).collect()
    }

    /// How good the programme is, in words.
    pub fn standing(&self) -> String {
        let s = &self.works.made.schedule;
        match (s.proven, s.gap_days()) {
            (true, _) => "No programme of these tasks and crews is better.".into(),
            (false, Some(0)) => "No programme of these tasks and crews ends earlier; one with earlier days inside may be there.".into(),
            (false, Some(gap)) => format!("The whole might end {} earlier at the most.", things(gap as usize, "day")),
            (false, None) => "Not proven the best there is.".into(),
        }
    }

    /// What is to be said under the board of months.
    pub fn of_board(&self) -> String {
        let leks = match (self.secrecy.leks.is_empty(), self.secrecy.withheld()) {
            (true, _) => "",
            (false, true) => " Lek places are withheld.",
            (false, false) => " Made with lek places shown: keep it close.",
        };
        format!("Numbers are those of the tasks. Monday to Friday at the usual work rate; weather is not counted. Seasons and law change: check the code in force.{leks}")
    }

    /// The crews, in words.
    pub fn crews(&self) -> Vec<String> {
        self.works.asked.hands.crews.iter().map(crew).collect()
    }
}

/// A number of things: `1 day`, `12 days`.
pub(crate) fn things(count: usize, one: &str) -> String {
    format!("{count} {one}{}", if count == 1 { "" } else { "s" })
}

/// Text with an identity replaced where it stands alone; a bare number is left, as it would be found in every figure.
fn replaced(text: &str, id: &str, called: &str) -> String {
    if !id.chars().any(char::is_alphabetic) {
        return text.to_owned();
    }
    let joins = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
    let mut out = String::new();
    let mut from = 0;
    for (at, _) in text.match_indices(id) {
        let alone = !text[..at].chars().next_back().is_some_and(joins) && !text[at + id.len()..].chars().next().is_some_and(joins);
        if at >= from && alone {
            out.push_str(&text[from..at]);
            out.push_str(called);
            from = at + id.len();
        }
    }
    out + &text[from..]
}

/// Working days of a task in words: `4 days (3 to 6)`.
pub(crate) fn days(job: &Job) -> String {
    match &job.days {
        Some(d) if d.low < d.high => format!("{} ({} to {})", things(d.usual as usize, "day"), d.low, d.high),
        Some(d) => things(d.usual as usize, "day"),
        None => "days not known".into(),
    }
}

/// A crew in words.
fn crew(crew: &Crew) -> String {
    let kinds: Vec<&str> = crew.kinds.iter().map(String::as_str).collect();
    let there: Vec<String> = crew.there.iter().map(|w| format!(", {w}")).collect();
    format!("{} ({}, {}{})", crew.id, crew.capacity, kinds.join(" "), there.concat())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_identity_is_replaced_only_where_it_stands_alone() {
        assert_eq!(replaced("Mark fence-1, not fence-12: fence-1", "fence-1", "fence 4"), "Mark fence 4, not fence-12: fence 4");
        assert_eq!(replaced("12 m of 1", "1", "fence 4"), "12 m of 1");
        assert_eq!(replaced("", "a", "b"), "");
    }
}
