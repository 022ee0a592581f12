//! One task as it is printed, put in a table or on a map.

use super::{Telling, days};
use crate::content::option::place_words;
use crate::placed::Placed;
use crate::planned::Planned;
use crate::words;
use ::works::tasks::{Done, Stage};
use chrono::{Datelike, NaiveDate};
use measures::rules::on_measures::work_in_season::NESTING;
use serde::Serialize;
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};

/// A task as printed.
#[derive(Clone, Debug, Serialize)]
pub struct TaskText {
    /// Number, from 1, by first day.
    pub number: usize,
    /// Identity as it may be told.
    pub id: String,
    /// Numbers of its measures on the maps, from 1.
    pub measures: Vec<usize>,
    /// What they are called.
    pub called: String,
    /// Kind of its measures, a key.
    pub kind: &'static str,
    /// Where it stands in the run of works, a key such as `consent`.
    pub stage: &'static str,
    /// What is done, with its quantity.
    pub what: String,
    /// First day.
    pub first: NaiveDate,
    /// Last day.
    pub last: NaiveDate,
    /// Both in words, with the year.
    pub when: String,
    /// Working days it is worked on.
    pub worked: usize,
    /// Working days in words.
    pub days: String,
    /// Who does it: names of crews.
    pub crews: Vec<String>,
    /// Kind of work: what crews are asked for.
    pub hands: &'static str,
    /// People, or machines, it takes up.
    pub people: u32,
    /// Quantities.
    pub amounts: Vec<AmountText>,
    /// Where, in words: feature and grid reference.
    pub place: String,
    /// Grid reference alone; empty where it has no place or several.
    pub reference: String,
    /// What is told besides, a line each: what it waits for, why its season is as it is, notes.
    pub lines: Vec<String>,
    /// Guidance keys its figures come from.
    pub keys: Vec<String>,
    /// The same as numbers of the figures of the works, in runs: `1 to 4, 7`.
    pub notes: String,
    /// Whether it is one that comes again and was told in full before.
    pub again: bool,
    /// `lines` on paper: what was told of a task of the same kind and stage before is told by its number.
    pub shown: Vec<String>,
}

/// A quantity as printed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AmountText {
    /// What.
    pub what: String,
    /// How much, as a number.
    pub amount: f64,
    /// How much, in words.
    pub words: String,
    /// Unit in words.
    pub unit: String,
}

/// The tasks of the works of a pack by their first day; none where no works are handed over.
/// `notes` numbers figures by their keys.
pub fn of(telling: &Telling, planned: &Planned, placed: &[Placed], notes: &dyn Fn(&[String]) -> Vec<usize>) -> Vec<TaskText> {
    let mut seen = BTreeSet::new();
    let mut before = BTreeMap::new();
    let mut one = |(number, done): (usize, Done)| {
        let told = text(telling, planned, placed, number, &done);
        let again = telling.again(done.job, &mut seen);
        let shown = if again { vec![] } else { shown(&told, &mut before) };
        TaskText { notes: words::runs(notes(&told.keys)), again, shown, ..told }
    };
    (1..).zip(telling.works.made.on_days()).map(&mut one).collect()
}

/// Lines told by kind of measure, stage and words, with the task they were told of.
type Before = BTreeMap<(&'static str, &'static str, String), usize>;

/// The lines of a task that were not told before, and the numbers of the tasks that have the others.
fn shown(task: &TaskText, before: &mut Before) -> Vec<String> {
    let (mut out, mut others) = (vec![], BTreeSet::new());
    for line in &task.lines {
        match before.entry((task.kind, task.stage, line.clone())) {
            Entry::Occupied(told) => {
                others.insert(*told.get());
            }
            Entry::Vacant(new) => {
                new.insert(task.number);
                out.push(line.clone());
            }
        }
    }
    if !others.is_empty() {
        out.push(format!("else as no. {}", words::runs(others)));
    }
    out
}

fn text(telling: &Telling, planned: &Planned, placed: &[Placed], number: usize, done: &Done) -> TaskText {
    let secrecy = telling.secrecy;
    let (job, days_of) = (done.job, done.planned);
    let at: Vec<usize> = job.measures.iter().filter_map(|id| planned.jobs.iter().position(|j| j.measure.id == *id)).collect();
    let places: Vec<String> = at.iter().map(|i| place_words(planned, placed, *i, secrecy)).filter(|p| !p.is_empty()).collect();
    let reference = if let [one] = at.as_slice() { placed[*one].reference.clone() } else { String::new() };
    let amounts = job.amounts.iter().map(|a| AmountText { what: telling.words(&a.what), amount: a.amount, words: amount(a.amount), unit: a.unit.clone() });
    TaskText {
        number,
        id: telling.task(&job.id),
        measures: at.iter().map(|i| i + 1).collect(),
        called: job.measures.iter().map(|m| telling.measure(m)).collect::<Vec<_>>().join(", "),
        kind: job.kind,
        stage: job.stage.word(),
        what: telling.words(&job.what),
        first: days_of.first,
        last: days_of.last,
        when: span(days_of.first, days_of.last),
        worked: days_of.worked.len(),
        days: days(job),
        crews: days_of.crews.clone(),
        hands: job.hands,
        people: job.people,
        amounts: amounts.collect(),
        place: if places.len() > 1 { format!("{} places", places.len()) } else { places.concat() },
        reference,
        lines: telling.lines(done),
        keys: job.keys.iter().cloned().chain(telling.nests(done).iter().flat_map(|_| NESTING.map(str::to_owned))).collect(),
        notes: String::new(),
        again: false,
        shown: vec![],
    }
}

/// An amount in words: whole where it is large.
pub(super) fn amount(amount: f64) -> String {
    if (amount - amount.round()).abs() < 1e-9 || amount >= 100.0 { format!("{amount:.0}") } else { measures::rules::words::number(amount) }
}

/// What is said of a work that comes to lie in a later year than it is meant for.
pub(super) fn meant_for(done: &Done) -> Option<String> {
    let late = done.planned.first.year() > done.job.year && (Stage::Fence..=Stage::Work).contains(&done.job.stage);
    late.then(|| format!("meant for {}, comes to lie in {}", done.job.year, done.planned.first.year()))
}

/// A first and a last day with the year, month and year once where they are the same.
fn span(first: NaiveDate, last: NaiveDate) -> String {
    match (first == last, (first.year(), first.month()) == (last.year(), last.month())) {
        (true, _) => words::day(first),
        (_, true) => format!("{} to {}", first.day(), words::day(last)),
        _ if first.year() == last.year() => format!("{} to {}", first.format("%-d %B"), words::day(last)),
        _ => format!("{} to {}", words::day(first), words::day(last)),
    }
}
