//! The contractor's sheet: all jobs by date, then every kind of work with its map, and for every job how much, where, how long, when and why
//! then, what comes first, what to mind, and a box to sign it off.

use crate::content::works::TaskText;
use crate::map::{Scene, sites};
use crate::pack::{Fault, Pack};
use crate::pictures::KIND_MM;
use crate::sheet::{Head, Note, Sheet, TEXT_MM};
use crate::telling::by_name;
use crate::words;
use ::works::tasks::{Done, Stage};
use holding::TrackKind;
use measures::kind;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// What is minded on a quad bike wherever it goes.
const QUAD: [&str; 5] = ["caution.atv.record", "caution.atv.rider", "caution.atv.kit", "caution.atv.slope_across", "caution.atv.slope_up"];
/// Ways and services told by name.
const TOLD: usize = 8;

/// What the pages say.
#[derive(Debug, Serialize)]
pub struct Content {
    head: Head,
    span: String,
    crews: Vec<String>,
    crews_assumed: bool,
    access: Vec<String>,
    unknown: Vec<String>,
    quad: Vec<Said>,
    rows: Vec<Row>,
    sites: Vec<Site>,
    /// What to mind about lines and pipes wherever one works.
    lines: Vec<String>,
    /// Measures on no site map, with why.
    no_site: Vec<String>,
    groups: Vec<Group>,
    cannot: Vec<String>,
    later: Vec<String>,
    figures: Vec<Note>,
}

/// Words with the number of their note.
#[derive(Debug, Serialize)]
struct Said {
    words: String,
    note: usize,
}

/// A job in the list by date.
#[derive(Debug, Serialize)]
struct Row {
    number: usize,
    when: String,
    what: String,
    place: String,
    much: String,
    who: String,
}

/// A site of work. Its map tells where its middle is and how to get there.
#[derive(Debug, Serialize)]
struct Site {
    name: String,
    map: String,
    /// Its measures by number, with the jobs that are done on them.
    work: String,
}

/// The jobs of a kind of work.
#[derive(Debug, Serialize)]
struct Group {
    title: String,
    maps: Vec<String>,
    mind: Vec<Said>,
    /// Jobs on the ground, in full.
    jobs: Vec<Repeated>,
    /// Surveys, letters, orders and checks.
    papers: Vec<Repeated>,
}

/// A job with every day it comes again alike, told once.
#[derive(Debug, Serialize)]
struct Repeated {
    /// Job and when.
    days: Vec<(usize, String)>,
    job: Block,
}

/// A job in full.
#[derive(Debug, Serialize)]
struct Block {
    what: String,
    who: String,
    /// Days at a quick, usual and slow rate.
    days: String,
    /// Each measure: number on the map, field, grid reference, quantity.
    places: Vec<String>,
    on_map: String,
    much: Vec<String>,
    lines: Vec<String>,
    figures: String,
}

/// Sets the sheet of a pack's works.
///
/// # Errors
/// [`Fault::NoWorks`] where it has none; what the page engine says.
pub fn set(pack: &Pack) -> Result<Vec<u8>, Fault> {
    let (content, pictures) = told(pack)?;
    crate::pdf::set_contractor(&content, pictures, pack.today).map_err(Fault::Pages)
}

/// What the pages say, and their pictures by file name.
///
/// # Errors
/// [`Fault::NoWorks`] where the pack has none.
pub fn told(pack: &Pack) -> Result<(Content, Vec<(String, String)>), Fault> {
    let secrecy = pack.secrecy();
    Ok(content(&Sheet::new(pack, &secrecy)?))
}

/// The maps of a kind of work.
fn maps(scene: &Scene, sheet: &Sheet, kind: &str) -> Vec<String> {
    vec![scene.measures(sheet.planned, &sheet.placed, Some(kind), TEXT_MM, KIND_MM).svg]
}

/// Figures told, each with its number from 1 in the order of their keys.
struct Notes(Vec<String>);

impl Notes {
    fn of(sheet: &Sheet) -> Self {
        let tasks = sheet.text.tasks.iter().flat_map(|t| t.keys.iter().map(String::as_str));
        let minded = sheet.text.tasks.iter().filter_map(|t| kind::find(t.kind)).flat_map(|e| e.cautions.iter().copied());
        let keys: BTreeSet<&str> = tasks.chain(minded).chain(QUAD).collect();
        Notes(keys.into_iter().filter(|key| sheet.row(key).is_some()).map(str::to_owned).collect())
    }

    fn number(&self, key: &str) -> usize {
        self.0.iter().position(|k| k == key).map_or(0, |i| i + 1)
    }

    fn said(&self, key: &str, words: String) -> Said {
        Said { words, note: self.number(key) }
    }
}

fn content(sheet: &Sheet) -> (Content, Vec<(String, String)>) {
    let (telling, notes) = (sheet.telling(), Notes::of(sheet));
    let (groups, mut pictures) = groups(sheet, &notes);
    let places = sites::of(sheet.planned, &sheet.placed, sheet.pack);
    let (sites, maps) = sites_of(sheet, &places);
    pictures.extend(maps);
    let content = Content {
        head: sheet.head(),
        span: format!("{} to {}", sheet.text.first, sheet.text.last),
        crews: sheet.text.crews.iter().zip(&sheet.works.asked.hands.crews).map(|(said, crew)| with_phone(&telling.words(said), sheet, &crew.id)).collect(),
        crews_assumed: sheet.text.crews_assumed,
        access: access(sheet),
        unknown: unknown(sheet),
        quad: QUAD.iter().filter_map(|key| Some(notes.said(key, quad(sheet, key)?))).collect(),
        rows: sheet.text.tasks.iter().map(|t| row(sheet, t)).collect(),
        sites,
        lines: places.first().map(|site| site.mind.iter().map(|said| words::capital(said)).collect()).unwrap_or_default(),
        no_site: sites::left_out(sheet.planned, &sheet.placed).into_iter().map(|l| format!("{}: {}", l.job + 1, l.why)).collect(),
        groups,
        cannot: sheet.text.cannot.clone(),
        later: sheet.text.later.iter().chain(&sheet.text.beyond).chain(&sheet.text.finished).chain(&sheet.text.nothing).cloned().collect(),
        figures: notes.0.iter().map(|key| sheet.note(key)).collect(),
    };
    (content, pictures)
}

/// The sites of the works with their maps, by file name.
fn sites_of(sheet: &Sheet, all: &[sites::Site]) -> (Vec<Site>, Vec<(String, String)>) {
    let Some(scene) = Scene::new(&sheet.public, sheet.secrecy) else { return (vec![], vec![]) };
    let told = |site: &sites::Site, i: usize| {
        let mut kinds: Vec<(&str, Vec<usize>)> = vec![];
        for member in &site.members {
            let title = sheet.planned.jobs[*member].entry.title;
            match kinds.iter_mut().find(|(other, _)| *other == title) {
                Some((_, all)) => all.push(member + 1),
                None => kinds.push((title, vec![member + 1])),
            }
        }
        let of = |(title, numbers): &(&str, Vec<usize>)| {
            let jobs: BTreeSet<usize> = sheet.text.tasks.iter().filter(|t| t.measures.iter().any(|n| numbers.contains(n))).map(|t| t.number).collect();
            let jobs = if jobs.is_empty() { "no job on a day".to_owned() } else { format!("jobs {}", words::runs(jobs)) };
            format!("{title}: no. {} ({jobs})", words::runs(numbers.iter().copied()))
        };
        Site {
            name: site.name.clone(),
            map: format!("site-{i}.svg"),
            work: kinds.iter().map(of).collect::<Vec<_>>().join("; "),
        }
    };
    let map = |site: &sites::Site| scene.site(sheet.planned, &sheet.placed, site, sites::WIDE_MM, sites::HIGH_MM).svg;
    let pictures = all.iter().enumerate().map(|(i, site)| (format!("site-{i}.svg"), map(site))).collect();
    (all.iter().enumerate().map(|(i, site)| told(site, i)).collect(), pictures)
}

/// A caution of quad bikes: its words, or what its figure limits.
fn quad(sheet: &Sheet, key: &str) -> Option<String> {
    let row = sheet.row(key)?;
    let value = guidance::explain::value_in_words(row);
    Some(words::capital(&match row.value {
        guidance::Value::Number(_) => format!("{}: {value}", row.note.split(';').next().unwrap_or_default()),
        _ => value,
    }))
}

/// A crew with the telephone number the plan keeps with it.
fn with_phone(said: &str, sheet: &Sheet, crew: &str) -> String {
    let phone = sheet.phone(crew);
    if phone.is_empty() { said.to_owned() } else { format!("{said}: {phone}") }
}

/// How to get there, as far as the plan tells.
fn access(sheet: &Sheet) -> Vec<String> {
    let telling = sheet.telling();
    let way = |t: &holding::Track| match t.kind {
        TrackKind::Road => "road",
        TrackKind::Track => "track",
        TrackKind::Path => "path",
    };
    // A way that is called after a lek leads to it.
    let tells = |name: &str| sheet.secrecy.withheld() && by_name(name, &sheet.pack.holding.leks);
    let ways: BTreeSet<String> = sheet.public.tracks.iter().filter(|t| !t.name.trim().is_empty() && !tells(&t.name)).map(|t| format!("{} ({})", telling.words(&t.name), way(t))).collect();
    let services: BTreeSet<String> = sheet.public.services.iter().filter(|s| !s.kind.trim().is_empty()).map(|s| telling.words(&s.kind)).collect();
    let told = |all: BTreeSet<String>| {
        let more = all.len().saturating_sub(TOLD);
        let mut all: Vec<String> = all.into_iter().take(TOLD).collect();
        all.extend((more > 0).then(|| format!("{more} more")));
        words::list(&all)
    };
    let ways = if ways.is_empty() { "No way is named on the plan: ask how to get in.".to_owned() } else { format!("Ways on the plan: {}. Ask which may be driven, and in what weather.", told(ways)) };
    let services = if services.is_empty() { "No service is on the plan".to_owned() } else { format!("Services on the plan: {}", told(services)) };
    vec![ways, format!("{services}. There may be others: ask for plans of lines and pipes before digging, and the network before working near a line.")]
}

/// What nobody knows yet.
fn unknown(sheet: &Sheet) -> Vec<String> {
    let of = |like: &dyn Fn(&TaskText, &Done) -> bool| words::runs(sheet.tasks().filter(|(t, d)| like(t, d)).map(|(t, _)| t.number));
    let days = of(&|_, d| d.job.days.is_none());
    let nobody = of(&|t, _| t.crews.is_empty());
    let much = of(&|t, d| t.amounts.is_empty() && d.job.stage >= Stage::Fence && d.job.stage < Stage::Check);
    let mut out: Vec<String> = vec!["Keys and codes of gates, where stock and bulls are, telephone numbers not told here: the plan does not hold them.".into(), "Weather is not counted in the days.".into()];
    for (numbers, said) in [(days, "How many days they take"), (nobody, "Who does them"), (much, "How much there is to do")] {
        if !numbers.is_empty() {
            out.push(format!("{said}: jobs {numbers}."));
        }
    }
    out
}

fn row(sheet: &Sheet, task: &TaskText) -> Row {
    let field = if let [one] = task.measures.as_slice() { sheet.field(one - 1) } else { String::new() };
    Row {
        number: task.number,
        when: task.when.clone(),
        what: task.what.clone(),
        place: [field, task.place.clone()].into_iter().filter(|p| !p.is_empty()).collect::<Vec<_>>().join(", "),
        much: match task.amounts.as_slice() {
            [] => String::new(),
            [one] => format!("{} {}", one.words, one.unit),
            [one, other] => format!("{} {}, {} {}", one.words, one.unit, other.words, other.unit),
            _ => "see the job".to_owned(),
        },
        who: who(sheet, task),
    }
}

fn who(sheet: &Sheet, task: &TaskText) -> String {
    let telling = sheet.telling();
    let crews = task.crews.iter().map(|c| telling.words(c)).collect::<Vec<_>>().join(", ");
    if crews.is_empty() { "nobody yet".to_owned() } else { crews }
}

/// Every kind of work with its jobs, consents first, then in the order of the book; the maps by file name.
fn groups(sheet: &Sheet, notes: &Notes) -> (Vec<Group>, Vec<(String, String)>) {
    let mut by_kind: BTreeMap<usize, Vec<(&TaskText, Done)>> = BTreeMap::new();
    for (task, done) in sheet.tasks() {
        let place = kind::all().iter().position(|e| e.key == task.kind).map_or(0, |i| i + 1);
        by_kind.entry(place).or_default().push((task, done));
    }
    let scene = Scene::new(&sheet.public, sheet.secrecy);
    let mut pictures = vec![];
    let mut out = vec![];
    for (place, tasks) in by_kind {
        let entry = place.checked_sub(1).map(|i| &kind::all()[i]);
        let mut names = vec![];
        if let Some((entry, scene)) = entry.zip(scene.as_ref()) {
            for (i, svg) in maps(scene, sheet, entry.key).into_iter().enumerate() {
                names.push(format!("map-{}-{i}.svg", entry.key));
                pictures.push((format!("map-{}-{i}.svg", entry.key), svg));
            }
        }
        let hands: BTreeSet<&str> = tasks.iter().map(|(t, _)| t.hands).collect();
        let minded = sheet.mind(&entry.map(|e| e.key).into_iter().collect(), &hands);
        let (jobs, papers): (Vec<_>, Vec<_>) = tasks.iter().partition(|(_, d)| (Stage::Fence..=Stage::Keep).contains(&d.job.stage));
        let blocks = |of: Vec<&(&TaskText, Done)>| together(of.into_iter().map(|(t, d)| ((t.number, t.when.clone()), block(sheet, notes, t, d))));
        out.push(Group {
            title: entry.map_or("Leave to be asked for", |e| e.title).to_owned(),
            maps: names,
            mind: minded.into_iter().map(|(key, words)| notes.said(key, words)).collect(),
            jobs: blocks(jobs),
            papers: blocks(papers),
        });
    }
    (out, pictures)
}

/// Jobs alike in all but their days, told once.
fn together(jobs: impl Iterator<Item = ((usize, String), Block)>) -> Vec<Repeated> {
    let mut out: Vec<Repeated> = vec![];
    for (days, job) in jobs {
        let alike = |p: &&mut Repeated| (&p.job.what, &p.job.who, &p.job.days, &p.job.places, &p.job.much, &p.job.lines) == (&job.what, &job.who, &job.days, &job.places, &job.much, &job.lines);
        match out.iter_mut().find(alike) {
            Some(repeated) => repeated.days.push(days),
            None => out.push(Repeated { days: vec![days], job }),
        }
    }
    out
}

/// What a job waits for, by number.
fn after(sheet: &Sheet, done: &Done) -> Option<String> {
    let telling = sheet.telling();
    let told = done.job.after.iter().map(|wait| {
        let said = telling.wait(wait).replace(&format!(" [{}]", telling.task(&wait.job)), "");
        let number = sheet.tasks().find(|(_, d)| d.job.id == wait.job).map(|(t, _)| format!("job {}, ", t.number));
        format!("{}{said}", number.unwrap_or_default())
    });
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| format!("First: {}", told.join("; ")))
}

fn block(sheet: &Sheet, notes: &Notes, task: &TaskText, done: &Done) -> Block {
    let numbers: BTreeSet<usize> = task.measures.iter().copied().collect();
    let people = if task.people > 1 { format!(", {} people", task.people) } else { String::new() };
    let figures: BTreeSet<usize> = task.keys.iter().map(|key| notes.number(key)).filter(|n| *n > 0).collect();
    Block {
        what: task.what.clone(),
        who: format!("{}{people}", who(sheet, task)),
        days: done.job.days.as_ref().map_or_else(|| "not known".to_owned(), |d| format!("{} / {} / {}", d.low, d.usual, d.high)),
        places: numbers.iter().map(|n| sheet.spot(n - 1)).collect(),
        on_map: words::runs(numbers.iter().copied()),
        much: task.amounts.iter().map(|a| format!("{} {} {}", a.what, a.words, a.unit)).collect(),
        lines: after(sheet, done).into_iter().chain(task.lines.iter().filter(|l| !l.starts_with("how much: ") && !l.starts_with("after: ")).map(|l| words::capital(l))).collect(),
        figures: words::runs(figures.iter().copied()),
    }
}
