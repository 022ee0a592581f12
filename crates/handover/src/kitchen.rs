//! The sheet for the kitchen table: two pages for whoever has the works done. The jobs of twelve months in plain words, what must not be done
//! when, money, who to ring, what to mind, and a map.
//!
//! The twelve months begin with the month of the first job. The page has a fixed size: jobs are ranked, what has to be done by a day and the
//! largest first, and what finds no room is counted and left to the contractor's sheet.

use crate::content::option::pounds;
use crate::content::works::TaskText;
use crate::map::Scene;
use crate::pack::{Fault, Pack};
use crate::sheet::{Head, Sheet, TEXT_MM};
use crate::words;
use ::works::account::YearSum;
use ::works::money::Pence;
use ::works::tasks::{Done, Stage, asked_of};
use chrono::{Datelike, Months, NaiveDate};
use measures::rules::on_measures::work_in_season::NESTING;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Lines of jobs sent to the page: more than can find room on it.
const JOBS: usize = 60;
/// Most lines of what must not be done, and of whom to ring.
const NOT: usize = 7;
const RING: usize = 10;
/// Heights the map is drawn in: the page takes the tallest that it has room for, millimetres.
const MAPS_MM: [f64; 6] = [232.0, 190.0, 160.0, 140.0, 120.0, 95.0];

/// What the pages say.
#[derive(Debug, Serialize)]
pub struct Content {
    head: Head,
    span: String,
    jobs: Vec<Line>,
    /// Tasks of the twelve months, and tasks after them.
    tasks: usize,
    after: usize,
    not: Vec<String>,
    money: String,
    ring: Vec<[String; 3]>,
    ring_more: usize,
    mind: Vec<String>,
    notes: Vec<String>,
    maps: Vec<(String, f64)>,
}

/// A job as told: like tasks of one month are one.
#[derive(Debug, Serialize)]
struct Line {
    month: String,
    /// Place among all lines, the most pressing first.
    rank: usize,
    what: String,
    rest: String,
    /// Tasks it stands for.
    tasks: usize,
}

/// Sets the sheet of a pack's works.
///
/// # Errors
/// [`Fault::NoWorks`] where it has none; what the page engine says.
pub fn set(pack: &Pack) -> Result<Vec<u8>, Fault> {
    let (content, pictures) = told(pack)?;
    crate::pdf::set_kitchen(&content, pictures, pack.today).map_err(Fault::Pages)
}

/// What the pages say, and their pictures by file name.
///
/// # Errors
/// [`Fault::NoWorks`] where the pack has none.
pub fn told(pack: &Pack) -> Result<(Content, Vec<(String, String)>), Fault> {
    let secrecy = pack.secrecy();
    let sheet = Sheet::new(pack, &secrecy)?;
    let year = Year::of(&sheet);
    let maps = maps(&sheet, &year);
    let content = content(&sheet, &year, maps.iter().map(|(name, _, mm)| (name.clone(), *mm)).collect());
    Ok((content, maps.into_iter().map(|(name, svg, _)| (name, svg)).collect()))
}

/// The twelve months told.
struct Year<'s> {
    first: NaiveDate,
    end: NaiveDate,
    tasks: Vec<(&'s TaskText, Done<'s>)>,
}

impl<'s> Year<'s> {
    /// From the month of the first task; where there is none, of the first day of the works.
    fn of(sheet: &'s Sheet) -> Self {
        let begins = sheet.text.tasks.first().map_or(sheet.works.asked.settings.first, |t| t.first);
        let first = begins.with_day(1).unwrap_or(begins);
        let end = first.checked_add_months(Months::new(12)).unwrap_or(NaiveDate::MAX);
        Self { first, end, tasks: sheet.tasks().filter(|(t, _)| t.first < end).collect() }
    }

    fn kinds(&self) -> BTreeSet<&'static str> {
        self.tasks.iter().map(|(t, _)| t.kind).collect()
    }

    fn hands(&self) -> BTreeSet<&'static str> {
        self.tasks.iter().map(|(t, _)| t.hands).collect()
    }

    /// Places in the option of the measures worked on.
    fn measures(&self) -> Vec<usize> {
        self.tasks.iter().flat_map(|(t, _)| &t.measures).map(|n| n - 1).collect::<BTreeSet<_>>().into_iter().collect()
    }
}

/// The map of this year's measures, in several heights.
fn maps(sheet: &Sheet, year: &Year) -> Vec<(String, String, f64)> {
    let of = year.measures();
    let Some(scene) = Scene::new(&sheet.public, sheet.secrecy).filter(|_| !of.is_empty()) else { return vec![] };
    MAPS_MM.iter().map(|mm| (format!("map-{mm:.0}.svg"), scene.year_map(sheet.planned, &sheet.placed, &of, TEXT_MM, *mm).svg, *mm)).collect()
}

fn content(sheet: &Sheet, year: &Year, maps: Vec<(String, f64)>) -> Content {
    let last = year.end.pred_opt().unwrap_or(year.end);
    let (not, notes) = must_not(sheet, year);
    let (ring, ring_more) = ring(sheet, year);
    Content {
        head: sheet.head(),
        span: format!("{} to {}", year.first.format("%B %Y"), last.format("%B %Y")),
        jobs: jobs(sheet, year),
        tasks: year.tasks.len(),
        after: sheet.text.tasks.len() - year.tasks.len(),
        not,
        money: money(sheet, year),
        ring,
        ring_more,
        mind: mind(sheet, year),
        notes,
        maps,
    }
}

/// What kills comes first.
const WORST: [&str; 7] = ["caution.chainsaw", "caution.burning", "caution.excavator", "caution.overhead_line", "caution.buried", "caution.atv", "caution.lone_work"];

/// What to mind, the worst first.
fn mind(sheet: &Sheet, year: &Year) -> Vec<String> {
    let mut all = sheet.mind(&year.kinds(), &year.hands());
    all.sort_by_key(|(key, _)| WORST.iter().position(|w| key.starts_with(w)).unwrap_or(WORST.len()));
    all.into_iter().map(|(_, said)| said).collect()
}

/// The lines of jobs, by day; the most pressing [`JOBS`] of them.
fn jobs(sheet: &Sheet, year: &Year) -> Vec<Line> {
    let mut alike: BTreeMap<(i32, u32, String), Vec<usize>> = BTreeMap::new();
    for (i, (task, done)) in year.tasks.iter().enumerate() {
        let like = Slots::of(sheet, task, done).map_or_else(|| task.id.clone(), |s| format!("{} {:?} {} {:?}", task.kind, done.job.stage, task.hands, s.0));
        alike.entry((task.first.year(), task.first.month(), like)).or_default().push(i);
    }
    let mut groups: Vec<Vec<usize>> = alike.into_values().collect();
    groups.sort_by_key(|of| std::cmp::Reverse(weight(year, of)));
    let mut ranked: Vec<(usize, Vec<usize>)> = groups.into_iter().take(JOBS).enumerate().collect();
    ranked.sort_by_key(|(_, of)| of[0]);
    ranked.into_iter().map(|(rank, of)| line(sheet, year, rank, &of)).collect()
}

/// How pressing or large some tasks are: work on the ground by its size, what is asked of others and what has a last day, stock, orders,
/// surveys, checks.
fn weight(year: &Year, of: &[usize]) -> (u8, usize) {
    let size = of.iter().map(|i| year.tasks[*i].0.worked.max(1) * year.tasks[*i].0.people as usize).sum();
    let class = |i: &usize| {
        let job = year.tasks[*i].1.job;
        match job.stage {
            Stage::Fence | Stage::Ground | Stage::Work | Stage::BeatUp if job.hands != "stock" => 5,
            Stage::Agree | Stage::Consent => 4,
            _ if job.by.is_some() && !job.hard => 4,
            Stage::Fence | Stage::Ground | Stage::Work | Stage::BeatUp | Stage::Keep => 3,
            Stage::Order => 2,
            Stage::Survey => 1,
            Stage::Check => 0,
        }
    };
    (of.iter().map(class).max().unwrap_or(0), size)
}

/// A line of tasks alike.
fn line(sheet: &Sheet, year: &Year, rank: usize, of: &[usize]) -> Line {
    let tasks: Vec<_> = of.iter().map(|i| &year.tasks[*i]).collect();
    let (task, done) = tasks[0];
    let numbers: BTreeSet<usize> = tasks.iter().flat_map(|(t, _)| t.measures.iter().copied()).collect();
    let what = match Slots::of(sheet, task, done).filter(|_| tasks.len() > 1) {
        Some(slots) => slots.together(&tasks),
        None if done.job.measures.len() > 1 || done.job.stage == Stage::Consent => task.what.split(':').next().unwrap_or_default().to_owned(),
        None => task.what.clone(),
    };
    let fields: BTreeSet<String> = numbers.iter().map(|n| sheet.field(n - 1)).filter(|f| !f.is_empty()).collect();
    let telling = sheet.telling();
    let crews: BTreeSet<String> = tasks.iter().flat_map(|(t, _)| &t.crews).map(|c| telling.words(c)).collect();
    let (first, last) = (tasks.iter().map(|(t, _)| t.first).min().unwrap_or(task.first), tasks.iter().map(|(t, _)| t.last).max().unwrap_or(task.last));
    let withheld = numbers.iter().all(|n| !sheet.placed[n - 1].drawn);
    let place = match (numbers.len(), fields.len()) {
        (0, _) => String::new(),
        (1, _) if withheld => format!("{}, place withheld", task.reference),
        (_, 0) if withheld => "place withheld".to_owned(),
        (1, 0) => task.place.clone(),
        (_, 0) => format!("{} places", numbers.len()),
        (_, 1..=3) => words::list(&fields.into_iter().collect::<Vec<_>>()),
        (_, n) => format!("{n} fields"),
    };
    let on_map = if numbers.is_empty() { String::new() } else { format!("No. {}", words::runs(numbers.iter().copied())) };
    let who = if crews.is_empty() { "nobody yet".to_owned() } else { crews.into_iter().collect::<Vec<_>>().join(", ") };
    let rest: Vec<String> = [on_map, span(first, last), who, days(&tasks), place].into_iter().filter(|p| !p.is_empty()).collect();
    Line { month: task.first.format("%B %Y").to_string(), rank, what, rest: rest.join(" · "), tasks: tasks.len() }
}

/// Working days of some tasks at the usual rate.
fn days(tasks: &[&(&TaskText, Done)]) -> String {
    let known: Option<u32> = tasks.iter().map(|(_, d)| d.job.days.as_ref().map(|days| days.usual)).sum();
    known.map_or_else(|| "days not known".to_owned(), |n| format!("about {n} day{}", if n == 1 { "" } else { "s" }))
}

/// Days without the year, which stands over them.
fn span(first: NaiveDate, last: NaiveDate) -> String {
    match (first == last, first.month() == last.month()) {
        (true, _) => first.format("%-d %b").to_string(),
        (_, true) => format!("{} to {}", first.day(), last.format("%-d %b")),
        _ => format!("{} to {}", first.format("%-d %b"), last.format("%-d %b")),
    }
}

/// What is said of a task with its amounts and the name of its measure taken out, so that like tasks can be told as one.
struct Slots(Vec<Part>);

/// A part of what is said.
#[derive(Debug)]
enum Part {
    /// Words.
    Words(String),
    /// The name of the measure.
    Name,
    /// An amount, by what it is of, told to so many places.
    Amount { what: String, places: usize },
}

impl Slots {
    /// `None` where the task has a measured figure that is none of its amounts: it is told by itself.
    fn of(sheet: &Sheet, task: &TaskText, done: &Done) -> Option<Slots> {
        let [id] = done.job.measures.as_slice() else { return None };
        let name = sheet.telling().measure(id);
        let (before, after) = task.what.split_once(&name)?;
        let mut said = numbers(before, task)?;
        said.push(Part::Name);
        said.extend(numbers(after, task)?);
        Some(Slots(said))
    }

    /// Several tasks in one sentence, amounts added up.
    fn together(&self, tasks: &[&(&TaskText, Done)]) -> String {
        let sum = |what: &str| tasks.iter().flat_map(|(t, _)| &t.amounts).filter(|a| a.what == what).map(|a| a.amount).sum::<f64>();
        let told = |part: &Part| match part {
            Part::Words(said) => said.clone(),
            Part::Name => format!("{} places", tasks.len()),
            Part::Amount { what, places: 0 } => words::grouped(sum(what)),
            Part::Amount { what, places } => format!("{:.places$}", sum(what)),
        };
        self.0.iter().map(told).collect()
    }
}

/// Words with their amounts as slots; `None` where a measured figure is none of the task's amounts.
fn numbers(text: &str, task: &TaskText) -> Option<Vec<Part>> {
    let digit = |c: char| c.is_ascii_digit();
    let (mut out, mut rest) = (vec![], text);
    while let Some(at) = rest.find(digit) {
        let end = rest[at..].find(|c: char| !digit(c) && c != ',' && c != '.').map_or(rest.len(), |n| at + n);
        let found = rest[at..end].trim_end_matches([',', '.']);
        let end = at + found.len();
        let places = found.split_once('.').map_or(0, |(_, after)| after.len());
        let value: f64 = found.replace(',', "").parse().ok()?;
        let near = 0.51 * 10f64.powi(-(places as i32));
        out.push(Part::Words(rest[..at].to_owned()));
        match task.amounts.iter().find(|a| (a.amount - value).abs() <= near) {
            Some(amount) => out.push(Part::Amount { what: amount.what.clone(), places }),
            None if measured(&rest[end..]) => return None,
            None => out.push(Part::Words(found.to_owned())),
        }
        rest = &rest[end..];
    }
    out.push(Part::Words(rest.to_owned()));
    Some(out)
}

/// Whether words go on with a unit.
fn measured(after: &str) -> bool {
    let unit = after.trim_start().split(|c: char| !c.is_alphanumeric()).next().unwrap_or_default();
    ["m", "m²", "m³", "ha", "km", "trees", "points", "dams", "head", "scrapes", "stems"].contains(&unit)
}

/// What must not be done when, a line each, and where each comes from.
fn must_not(sheet: &Sheet, year: &Year) -> (Vec<String>, Vec<String>) {
    let telling = sheet.telling();
    // By what is said: the lines in order of weight, the measures it is said of, the key its edition hangs on.
    let mut lines: BTreeMap<(u8, String), (BTreeSet<usize>, &str)> = BTreeMap::new();
    for (task, done) in &year.tasks {
        for bound in &done.job.season.bounds {
            let Some(key) = bound.keys.first() else { continue };
            let (weight, said) = match bound.opens {
                false => (0, words::capital(&telling.words(&bound.words))),
                true if bound.words.starts_with("burning") => (2, format!("Burning only {}", bound.window.words())),
                true if bound.words.starts_with("done") => (3, format!("{}: only {}", work(task.kind, done.job.stage), bound.window.words())),
                true if bound.words.starts_with("not") => (3, format!("{}: {}", work(task.kind, done.job.stage), bound.words)),
                // Days on which something is to be done, not on which it must not.
                true => continue,
            };
            lines.entry((weight, said)).or_insert((BTreeSet::new(), key)).0.extend(&task.measures);
        }
    }
    if year.tasks.iter().any(|(_, d)| d.job.heavy || d.job.stage >= Stage::Fence) {
        let said = format!("Nesting, {}: no heavy work until the ground has been searched for nests", sheet.works.nesting.words());
        lines.insert((1, said), (BTreeSet::new(), NESTING[0]));
    }
    let all = lines.into_iter().take(NOT).enumerate();
    all.map(|(i, ((weight, said), (of, key)))| {
        let at = if (weight == 0 || said.starts_with(FIELDS)) && !of.is_empty() { format!(": no. {}", words::runs(of.iter().copied())) } else { String::new() };
        let note = format!("{}: {}", i + 1, sheet.from(key));
        (format!("{said}{at} ({}; check the code in force)", sheet.edition(key)), note)
    })
    .unzip()
}

/// Works of fields, each of which has its own days.
const FIELDS: &str = "In-bye fields";

/// A work in a word or two.
fn work(kind: &str, stage: Stage) -> &'static str {
    match (kind, stage) {
        (_, Stage::Check) => "Looking over",
        ("wood", Stage::Ground) => "Making ground ready to plant",
        ("wood", Stage::Fence) | ("fence", _) => "Fence work",
        ("wood", _) => "Planting",
        ("conifer_edge", _) => "Forest edges",
        ("grazing", _) => "Stock",
        ("heather", _) => "Heather work",
        ("water", _) => "Ditches and dams",
        ("inbye", _) => FIELDS,
        _ => "Care of lek ground",
    }
}

/// Money of the calendar years the twelve months touch, and of the dearest year where it comes after them.
fn money(sheet: &Sheet, year: &Year) -> String {
    let account = match &sheet.works.account {
        Ok(account) => account,
        Err(why) => return format!("Money could not be reckoned: {}", sheet.telling().words(why)),
    };
    let figures = if sheet.secrecy.withheld() { 2 } else { 0 };
    let said = |usual: f64| pounds([usual; 3], figures);
    let last = year.end.pred_opt().unwrap_or(year.end).year();
    let of = |y: &YearSum| match (y.cost[1], y.income[1]) {
        (Pence(0), Pence(0)) => format!("{}: nothing out, nothing in", y.year),
        (out, back) => format!("{}: out {}, in {}", y.year, said(out.gbp()), said(back.gbp())),
    };
    let mut years: Vec<String> = account.years.iter().filter(|y| (year.first.year()..=last).contains(&y.year)).map(of).collect();
    if years.is_empty() {
        years.push("The account has no money in these months".to_owned());
    }
    let dearest = account.years.iter().max_by_key(|y| (y.cost[1], std::cmp::Reverse(y.year)));
    if let Some(y) = dearest.filter(|y| y.year > last && y.cost[1] > Pence(0)) {
        years.push(format!("The dearest year comes after these months, {}", of(y)));
    }
    let without = account.totals.without.len();
    let rest = if without == 0 { String::new() } else { format!(", without {} no rate is known for", words::things(without, "thing", "things")) };
    format!("{}. Usual rates{rest}.", years.join(". "))
}

/// Whom to ring: the adviser, every crew at work, and who is asked for consents; how many more there are.
fn ring(sheet: &Sheet, year: &Year) -> (Vec<[String; 3]>, usize) {
    let telling = sheet.telling();
    let (advisers, crews): (Vec<_>, Vec<_>) = sheet.works.asked.hands.crews.iter().partition(|c| c.kinds.contains("adviser"));
    let names: Vec<String> = advisers.iter().filter(|c| !c.id.eq_ignore_ascii_case("adviser")).map(|c| telling.words(&c.id)).collect();
    let adviser = advisers.iter().map(|c| sheet.phone(&c.id)).find(|p| !p.is_empty()).unwrap_or_default();
    let mut out: Vec<[String; 3]> = vec![["Adviser".to_owned(), if names.is_empty() { "questions, changes".to_owned() } else { names.join(", ") }, adviser]];
    for crew in crews {
        let does: BTreeSet<&str> = year.tasks.iter().filter(|(t, _)| t.crews.contains(&crew.id)).map(|(t, _)| t.hands).collect();
        if !does.is_empty() {
            out.push([words::capital(&telling.words(&crew.id)), does.into_iter().collect::<Vec<_>>().join(", "), sheet.phone(&crew.id)]);
        }
    }
    let asked: BTreeSet<&str> = year.tasks.iter().filter_map(|(_, d)| asked_of(d.job)).collect();
    out.extend(asked.into_iter().map(|who| [words::capital(who), "consent".to_owned(), String::new()]));
    let more = out.len().saturating_sub(RING);
    out.truncate(RING);
    (out, more)
}
