//! The workbook of a contractor: jobs with places, quantities and days, what they add up to, what to mind. There is no money in it.

use super::{Cell, Sheet, book, heads, n, some, t};
use crate::content::Content;
use crate::content::works::{TaskText, Telling, WorksText};
use crate::pack::Pack;
use crate::shown::{self, Shown};
use crate::works::Works;
use ::works::tasks::{Done, Job, Stage};
use measures::secrecy::to_one_figure;

/// Kinds of work that are machines.
const MACHINES: [&str; 3] = ["excavator", "tractor", "tracked"];

/// The bytes of the workbook.
///
/// # Errors
/// What the writer says.
pub fn of(pack: &Pack, content: &Content) -> Result<Vec<u8>, String> {
    let (Some(works), Some(text)) = (pack.works, &content.works) else { return Err("no works".into()) };
    let secrecy = pack.secrecy();
    let telling = Telling::of(works, &secrecy);
    let shown = shown::of(pack, content);
    let sheets = [
        jobs(works, text, &telling, &shown),
        job_quantities(text),
        quantities(works, text, &shown),
        places(&shown),
        cautions(works, text),
        after(text),
        super::about_option(content, "Jobs, places and quantities for whoever does the work. It holds no money."),
    ];
    book(&format!("{}: jobs", content.name), pack.today, &sheets).map_err(|e| e.to_string())
}

/// Numbers in a text.
fn numbers(all: &[usize]) -> String {
    all.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

/// What is done at a stage, in words.
fn stage(stage: Stage) -> &'static str {
    match stage {
        Stage::Survey => "looked at before",
        Stage::Agree => "agreed",
        Stage::Consent => "asked for",
        Stage::Order => "ordered",
        Stage::Fence => "fences",
        Stage::Ground => "ground made ready",
        Stage::Work => "the work",
        Stage::BeatUp => "beaten up",
        Stage::Keep => "done again, kept up",
        Stage::Check => "looked at afterwards",
    }
}

fn jobs(works: &Works, text: &WorksText, telling: &Telling, shown: &[Shown]) -> Sheet {
    let rows = text.tasks.iter().zip(works.made.on_days()).map(|(task, done)| job(task, &done, telling, shown)).collect();
    let heads = heads(&[
        ("Task", 7.0),
        ("What", 44.0),
        ("Stage", 14.0),
        ("Measures", 11.0),
        ("Place", 30.0),
        ("Grid reference", 14.0),
        ("Of", 16.0),
        ("How much", 11.0),
        ("Unit", 11.0),
        ("and", 26.0),
        ("First day", 13.0),
        ("Last day", 13.0),
        ("Working days: low", 9.0),
        ("usual", 8.0),
        ("high", 8.0),
        ("Who", 18.0),
        ("Kind of hands", 12.0),
        ("People or machines", 10.0),
        ("Waits for", 34.0),
        ("Season and why", 36.0),
        ("Notes", 50.0),
        ("Identity", 24.0),
    ]);
    Sheet { name: "Jobs", heads, rows }
}

fn job(task: &TaskText, done: &Done, telling: &Telling, shown: &[Shown]) -> Vec<Cell> {
    let job = done.job;
    let mut references: Vec<&str> = shown.iter().filter(|s| task.measures.contains(&s.said.number)).map(|s| s.place.reference.as_str()).collect();
    references.dedup();
    let (first, rest) = task.amounts.split_first().map_or((None, &[][..]), |(first, rest)| (Some(first), rest));
    let days = |of: fn(&::works::tasks::Days) -> u32| some(job.days.as_ref().map(|d| f64::from(of(d))), Cell::Number);
    let waits = job.after.iter().map(|w| telling.wait(w)).collect::<Vec<_>>();
    vec![
        n(task.number),
        t(&task.what),
        t(stage(job.stage)),
        t(numbers(&task.measures)),
        t(&task.place),
        t(references.join("; ")),
        t(first.map_or("", |a| &a.what)),
        some(first.map(|a| counted(a.amount, &a.unit)), Cell::Amount),
        t(first.map_or("", |a| &a.unit)),
        t(rest.iter().map(|a| format!("{}: {} {}", a.what, a.words, a.unit)).collect::<Vec<_>>().join("; ")),
        Cell::Day(task.first),
        Cell::Day(task.last),
        days(|d| d.low),
        days(|d| d.usual),
        days(|d| d.high),
        t(task.crews.join(", ")),
        t(job.hands),
        Cell::Number(f64::from(job.people)),
        t(waits.join("; ")),
        t(telling.why(&job.season).join("; ")),
        t(telling.notes(done).join("\n")),
        t(&task.id),
    ]
}

fn job_quantities(text: &WorksText) -> Sheet {
    let row = |task: &TaskText| task.amounts.iter().map(|a| vec![n(task.number), t(&task.what), t(&a.what), Cell::Amount(counted(a.amount, &a.unit)), t(&a.unit), t(numbers(&task.measures)), Cell::Day(task.first)]).collect::<Vec<_>>();
    let heads = heads(&[("Task", 7.0), ("What", 60.0), ("Of", 30.0), ("How much", 12.0), ("Unit", 18.0), ("Measures", 14.0), ("First day", 13.0)]);
    Sheet { name: "Job quantities", heads, rows: text.tasks.iter().flat_map(row).collect() }
}

/// An amount as it is counted out: hectares to the square metre, all else to two decimals.
fn counted(amount: f64, unit: &str) -> f64 {
    let parts = if unit == "ha" { 1e4 } else { 1e2 };
    (amount * parts).round() / parts
}

/// A sum of the sheet of quantities.
struct Sum {
    part: String,
    /// Whether tasks on the ground carry it.
    on_ground: bool,
    item: String,
    unit: String,
    amount: [f64; 3],
    tasks: Vec<usize>,
    measures: Vec<usize>,
}

/// The sum of a part, item and unit; begun where there is none.
fn sum_of<'s>(sums: &'s mut Vec<Sum>, part: &str, item: &str, unit: &str) -> &'s mut Sum {
    let at = sums.iter().position(|s| (s.part.as_str(), s.item.as_str(), s.unit.as_str()) == (part, item, unit)).unwrap_or(sums.len());
    if at == sums.len() {
        sums.push(Sum { part: part.into(), on_ground: false, item: item.into(), unit: unit.into(), amount: [0.0; 3], tasks: vec![], measures: vec![] });
    }
    &mut sums[at]
}

/// Adds to a sum what a task or a measure has of it.
fn add(sum: &mut Sum, amount: [f64; 3], task: Option<usize>, measures: &[usize]) {
    sum.amount = std::array::from_fn(|i| sum.amount[i] + amount[i]);
    sum.tasks.extend(task);
    sum.measures.extend(measures.iter().filter(|m| !sum.measures.contains(m)).collect::<Vec<_>>());
    sum.measures.sort_unstable();
}

/// Working days of a task's people or machines: low, usual and high.
fn hand_days(job: &Job) -> Option<[f64; 3]> {
    job.days.as_ref().map(|d| [d.low, d.usual, d.high].map(|days| f64::from(days * job.people)))
}

fn quantities(works: &Works, text: &WorksText, shown: &[Shown]) -> Sheet {
    let mut sums = vec![];
    let tasks = || text.tasks.iter().zip(works.made.on_days());
    let mut stages: Vec<Stage> = tasks().map(|(_, done)| done.job.stage).collect();
    stages.sort_unstable();
    stages.dedup();
    for at in stages {
        for (task, _) in tasks().filter(|(_, done)| done.job.stage == at) {
            for a in task.amounts.iter().filter(|a| a.amount != 0.0) {
                // Stock comes and goes: what is added up is moves.
                let item = if a.unit == "head" { "stock, every move counted" } else { &a.what };
                let sum = sum_of(&mut sums, stage(at), item, &a.unit);
                sum.on_ground = at >= Stage::Fence;
                add(sum, [a.amount; 3], Some(task.number), &task.measures);
            }
        }
    }
    for (task, done) in tasks() {
        let Some(days) = hand_days(done.job) else { continue };
        let (part, unit) = if MACHINES.contains(&done.job.hands) { ("machines", "machine days") } else { ("people", "person days") };
        add(sum_of(&mut sums, part, done.job.hands, unit), days, Some(task.number), &task.measures);
    }
    // What no task on the ground carries is told by kind of measure.
    let carried: Vec<(String, String)> = sums.iter().filter(|s| s.on_ground).map(|s| (s.item.clone(), s.unit.clone())).collect();
    for measure in shown {
        let told = |q: &&measures::kind::Quantity| {
            q.amount != 0.0 && !["a year", "years", "times", "patches"].contains(&q.unit) && !carried.iter().any(|(item, unit)| *item == q.what && unit == q.unit)
        };
        for q in measure.job.quantities.iter().filter(told) {
            let amount = if measure.place.tied { to_one_figure(q.amount) } else { q.amount };
            add(sum_of(&mut sums, measure.said.title, &q.what, q.unit), [amount; 3], None, &[measure.said.number]);
        }
    }
    let row = |s: &Sum| {
        let spread = s.amount[0] < s.amount[2];
        let amount = |i: usize| counted(s.amount[i], &s.unit);
        let end = |i: usize| some(spread.then(|| amount(i)), Cell::Amount);
        vec![t(&s.part), t(&s.item), Cell::Amount(amount(1)), t(&s.unit), end(0), end(2), t(numbers(&s.tasks)), t(numbers(&s.measures))]
    };
    let heads = heads(&[("Part of the works, or kind of measure", 30.0), ("Item", 30.0), ("Usual", 12.0), ("Unit", 18.0), ("Low", 10.0), ("High", 10.0), ("From tasks", 30.0), ("From measures", 24.0)]);
    Sheet { name: "Quantities", heads, rows: sums.iter().map(row).collect() }
}

fn places(shown: &[Shown]) -> Sheet {
    let row = |s: &Shown| {
        let spot = s.spot();
        vec![
            n(s.said.number),
            t(&s.said.id),
            t(s.said.title),
            t(&s.said.place),
            t(&s.place.reference),
            some(spot.map(|p| p.x().round()), Cell::Number),
            some(spot.map(|p| p.y().round()), Cell::Number),
            some(s.area_m2().map(f64::round), Cell::Amount),
            some(s.length_m().map(f64::round), Cell::Amount),
            t(s.shape_words()),
            t(&s.said.year),
            t(&s.said.what),
            t(s.said.quantities.join("; ")),
        ]
    };
    let heads = heads(&[
        ("Measure", 9.0),
        ("Identity", 18.0),
        ("Kind", 24.0),
        ("Place", 34.0),
        ("Grid reference", 14.0),
        ("Easting of a spot, m", 11.0),
        ("Northing of a spot, m", 11.0),
        ("Area shown, m²", 12.0),
        ("Length shown, m", 12.0),
        ("Shape", 26.0),
        ("Year", 12.0),
        ("What", 40.0),
        ("How much", 40.0),
    ]);
    Sheet { name: "Places", heads, rows: shown.iter().map(row).collect() }
}

fn cautions(works: &Works, text: &WorksText) -> Sheet {
    let title = |key: &str| measures::kind::find(key).map_or_else(|| key.to_owned(), |entry| entry.title.to_owned());
    let mut rows: Vec<Vec<Cell>> = works.cautions.iter().flat_map(|(kind, said)| said.iter().map(|c| vec![t(title(kind)), t(crate::words::capital(c))])).collect();
    rows.extend(text.tasks.is_empty().then(|| vec![t(""), t("No task is on a day.")]));
    rows.push(vec![t("every work"), t("This advises; it does not license. Windows, distances and consents change: check the code in force. Work that needs a ticket is done by those who hold it.")]);
    Sheet { name: "Cautions", heads: heads(&[("Kind of work", 30.0), ("What to mind", 110.0)]), rows }
}

fn after(text: &WorksText) -> Sheet {
    let parts = [
        ("cannot be done", &text.cannot),
        ("after the last day of the programme", &text.beyond),
        ("falls due later", &text.later),
        ("finished", &text.finished),
        ("no task is known", &text.nothing),
        ("if a task is late", &text.slips),
    ];
    let rows = parts.iter().flat_map(|(what, lines)| lines.iter().map(|line| vec![t(*what), t(line)])).collect();
    Sheet { name: "Not on days", heads: heads(&[("What", 32.0), ("", 110.0)]), rows }
}
