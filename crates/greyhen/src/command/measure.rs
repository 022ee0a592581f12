//! `greyhen measure`: measures of an option.

use crate::fail::Fail;
use crate::{Ended, PlanFile, talk};
use chrono::Datelike;
use clap::Subcommand;
use geo::{Area, Euclidean, Length, MultiLineString, MultiPolygon};
use guidance::{Country, Guidance};
use holding::import::{self, Features, Imported, Kind, Source};
use holding::{Extra, Holding, Measure};
use measures::kind::{self, Cost, Entry, Fault, Usual, facts};
use measures::rules::Context;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// What must be said of every sum of money.
pub const MONEY: &str = "Costs are low, usual and high in pounds of each rate's year, yearly costs times their years, undiscounted, grants not taken off.";

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen measure hill.gpkg kinds
  greyhen measure hill.gpkg kinds wood
  greyhen measure hill.gpkg add wood --option 1 --year 2028 --area gill.geojson --fact open_pct=50 \\
      --fact mix=\"birch 40, rowan 20, willow 25, hawthorn 15\"
  greyhen measure hill.gpkg add grazing --option 1 --on \"High Moor\" --fact head=\"Apr-Oct 80, Nov-Mar 20\"
  greyhen measure hill.gpkg add lek_care --option 1 --on L1 --fact work=short
  greyhen measure hill.gpkg list --option 1
  greyhen measure hill.gpkg drop wood-1
  greyhen measure hill.gpkg done wood-1 --year 2029

Many at once: greyhen import hill.gpkg measures drawn.geojson --option 1")]
pub struct Measures {
    #[command(flatten)]
    plan: PlanFile,
    #[command(subcommand)]
    doing: Doing,
}

#[derive(Subcommand)]
enum Doing {
    /// Add a measure to an option
    Add(Box<Add>),
    /// Take a measure out
    Drop {
        /// Its id
        id: String,
    },
    /// Note that a measure is done, so that counts after it can be set beside those before
    Done {
        /// Its id
        id: String,
        /// Year it was finished
        #[arg(long, required_unless_present = "not_yet")]
        year: Option<i32>,
        /// Take the note back
        #[arg(long, conflicts_with = "year")]
        not_yet: bool,
    },
    /// List measures with quantities, costs and what is wrong
    List {
        /// Of this option only
        #[arg(long, value_name = "NUMBER")]
        option: Option<u32>,
        /// Print one JSON document
        #[arg(long)]
        json: bool,
    },
    /// The kinds of measure, or one kind with its facts and cautions
    Kinds {
        /// A kind
        kind: Option<String>,
        /// Print one JSON document
        #[arg(long)]
        json: bool,
    },
}

#[derive(clap::Args)]
struct Add {
    /// Kind of measure; `kinds` tells which there are
    kind: String,
    /// The option it belongs to
    #[arg(long, value_name = "NUMBER")]
    option: u32,
    /// First year of work, such as 2028; the year after the plan's day when left out
    #[arg(long)]
    year: Option<i32>,
    /// Id or name of a parcel, patch, wood, lek, fence or ditch it is done on
    #[arg(long, value_name = "FEATURE")]
    on: Option<String>,
    /// File with the area: GeoJSON or any other format that `import` reads
    #[arg(long, value_name = "SOURCE", conflicts_with = "on")]
    area: Option<PathBuf>,
    /// File with the line, for kinds done along a line
    #[arg(long, value_name = "SOURCE", conflicts_with_all = ["on", "area"])]
    line: Option<PathBuf>,
    /// EPSG number of the coordinates in the file of the area or line, where it does not say
    #[arg(long)]
    epsg: Option<u32>,
    /// A fact of the kind; may be given several times
    #[arg(long = "fact", value_name = "NAME=VALUE", value_parser = fact)]
    facts: Vec<(String, String)>,
}

fn fact(text: &str) -> Result<(String, String), String> {
    let (name, value) = text.split_once('=').ok_or_else(|| format!("needed name=value, found `{text}`"))?;
    if name.trim().is_empty() || value.trim().is_empty() {
        return Err(format!("needed name=value, found `{text}`"));
    }
    Ok((name.trim().to_string(), value.trim().to_string()))
}

impl Measures {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let path = &self.plan.path;
        match self.doing {
            Doing::Add(add) => add.run(path)?,
            Doing::Drop { id } => drop_one(path, &id)?,
            Doing::Done { id, year, .. } => note_done(path, &id, year)?,
            Doing::List { option, json } => list(path, option, json)?,
            Doing::Kinds { kind, json } => kinds(path, kind.as_deref(), json)?,
        }
        Ok(Ended::Well)
    }
}

/// An id that is not taken, after the kind of the measure.
pub fn new_id(kind: &str, taken: &[String]) -> String {
    let stem = if kind.is_empty() { "measure" } else { kind };
    (1..).map(|n| format!("{stem}-{n}")).find(|id| !taken.contains(id)).unwrap_or_default()
}

impl Add {
    fn run(self, path: &Path) -> Result<(), Fail> {
        let working = talk::Working::on("reading the plan");
        let seen = super::read(path)?;
        let guidance = super::tables()?;
        let mut faults: Vec<String> = Vec::new();
        faults.extend(super::option::find(&seen, self.option).err());
        let Some(entry) = kind::find(&self.kind) else {
            faults.push(measures::option::unknown_kind(&self.kind).to_string());
            return Err(Fail::all(faults));
        };
        faults.extend(self.year.and_then(|year| too_early(&seen, year)));
        let taken: Vec<String> = seen.measures.iter().map(|m| m.id.clone()).collect();
        let id = new_id(entry.key, &taken);
        let mut measure = Measure { id, option: self.option, kind: entry.key.to_string(), year: self.year, ..Measure::default() };
        let mut told: Vec<String> = Vec::new();
        for fault in self.read_facts(entry, &mut measure) {
            told.push(fault.at.clone());
            faults.push(fault.to_string());
        }
        if let Err(wrong) = self.put_place(entry, &seen, &guidance, &mut measure) {
            told.extend(["area", "line", "parcel", "lek", "fence", "ditch"].map(str::to_string));
            faults.extend(wrong);
        }
        working.now("looking at the ground");
        let assessed = super::ground_of(&seen, &guidance)?;
        let context = Context::new(&seen, &guidance, &assessed);
        let more = (entry.faults)(&context, &measure);
        faults.extend(more.into_iter().filter(|f| !told.contains(&f.at)).map(|f| f.to_string()));
        if !faults.is_empty() {
            return Err(Fail::all(faults).ending("Nothing was added; the plan is as it was."));
        }
        let added = told_of(&context, &measure, entry)?;
        working.now("saving");
        super::take(path, &seen)?.step("adding a measure", |step| step.put(&measure))?;
        drop(working);
        talk::print(&format!("Added {} to option {}", measure.id, self.option));
        talk::print(&text(&added));
        talk::print(&talk::wrapped(MONEY, 96, ""));
        for caution in entry.cautioned(&guidance, seen.about.country)? {
            talk::print(&talk::wrapped(&format!("Mind: {caution}"), 96, ""));
        }
        Ok(())
    }

    /// Read the facts as typed; gives what is wrong.
    fn read_facts(&self, entry: &Entry, measure: &mut Measure) -> Vec<Fault> {
        let mut faults = Vec::new();
        for (name, value) in &self.facts {
            let Some(fact) = entry.fact(name) else {
                let known = entry.facts.iter().chain(kind::COMMON).map(|f| f.name).collect::<Vec<_>>().join(", ");
                faults.push(Fault {
                    at: name.clone(),
                    found: "not a fact of this kind".to_string(),
                    needed: format!("one of {known}"),
                    hint: format!("greyhen measure FILE kinds {} tells what each is", entry.key),
                });
                continue;
            };
            match facts::read(fact, value) {
                _ if measure.facts.contains_key(fact.name) => faults.push(Fault {
                    at: fact.name.to_string(),
                    found: "given twice".to_string(),
                    needed: "each fact once".to_string(),
                    hint: "take one of them out".to_string(),
                }),
                Ok(value) => {
                    measure.facts.insert(fact.name.to_string(), value);
                }
                Err(fault) => faults.push(fault),
            }
        }
        faults
    }

    /// Give the measure its place: a feature of the plan, or a file.
    fn put_place(&self, entry: &Entry, holding: &Holding, guidance: &Guidance, measure: &mut Measure) -> Result<(), Vec<String>> {
        if let Some(said) = &self.on {
            return put_on(said, entry, holding, measure).map_err(|fault| vec![fault]);
        }
        let options = import::Options { epsg: self.epsg, ..import::Options::default() };
        let read = |kind: Kind, path: &PathBuf| {
            let faults = |f: import::Faults| f.listed.iter().map(ToString::to_string).collect::<Vec<_>>();
            import::read(kind, &Source::path(path), &options, holding, guidance).map(|read| read.features).map_err(faults)
        };
        if let Some(path) = &self.area
            && let Features::Boundary(shape, _) = read(Kind::Boundary, path)?
        {
            measure.shape = shape;
        }
        if let Some(path) = &self.line {
            // An id in the file is nobody's here.
            let services = Holding { services: vec![], ..holding.clone() };
            let faults = |f: import::Faults| f.listed.iter().map(ToString::to_string).collect::<Vec<_>>();
            let lines = import::read(Kind::Services, &Source::path(path), &options, &services, guidance).map_err(faults)?;
            if let Features::Services(lines) = lines.features {
                measure.line = MultiLineString(lines.into_iter().flat_map(|l| l.shape.0).collect());
            }
        }
        Ok(())
    }
}

/// A year before the plan's own.
fn too_early(holding: &Holding, year: i32) -> Option<String> {
    let first = holding.about.as_at.map(|d| d.year())?;
    let hint = "work already done belongs in the survey, not in an option";
    (year < first).then(|| format!("--year: {year}; needed: {first} or later, the plan's own year. Hint: {hint}"))
}

/// Put a measure on a feature of the plan, by id or name. Where the kind knows a fact of the feature's sort (`parcel`, `lek`), the
/// fact says it and nothing is drawn.
fn put_on(said: &str, entry: &Entry, holding: &Holding, measure: &mut Measure) -> Result<(), String> {
    enum Found<'a> {
        Area(&'a MultiPolygon<f64>),
        Line(&'a MultiLineString<f64>),
        Spot,
    }
    let (sort, wanted) = match said.split_once(':') {
        Some((sort, rest)) if ["parcel", "patch", "wood", "lek", "fence", "ditch"].contains(&sort) => (Some(sort), rest),
        _ => (None, said),
    };
    let mut all: Vec<(&'static str, &str, &str, Found)> = Vec::new();
    all.extend(holding.parcels.iter().map(|f| ("parcel", f.id.as_str(), f.name.as_str(), Found::Area(&f.shape))));
    all.extend(holding.patches.iter().map(|f| ("patch", f.id.as_str(), f.name.as_str(), Found::Area(&f.shape))));
    all.extend(holding.woods.iter().map(|f| ("wood", f.id.as_str(), f.name.as_str(), Found::Area(&f.shape))));
    all.extend(holding.leks.iter().map(|f| ("lek", f.id.as_str(), f.name.as_str(), Found::Spot)));
    all.extend(holding.fences.iter().map(|f| ("fence", f.id.as_str(), f.name.as_str(), Found::Line(&f.shape))));
    all.extend(holding.ditches.iter().map(|f| ("ditch", f.id.as_str(), "", Found::Line(&f.shape))));
    all.retain(|(s, ..)| sort.is_none_or(|sort| sort == *s));
    let by_id = all.iter().any(|(_, id, ..)| *id == wanted);
    all.retain(|(_, id, name, _)| if by_id { *id == wanted } else { !name.is_empty() && name.eq_ignore_ascii_case(wanted) });
    // A sort that the kind has a fact for is meant before the others.
    if all.iter().any(|(s, ..)| entry.fact(s).is_some()) {
        all.retain(|(s, ..)| entry.fact(s).is_some());
    }
    match all.as_slice() {
        [] => Err(format!("--on: `{said}` is not in the plan; needed: the id or name of a parcel, patch, wood, lek, fence or ditch. Hint: greyhen show FILE tells what there is")),
        [(sort, id, _, found)] => {
            match found {
                _ if entry.fact(sort).is_some() => {
                    if measure.facts.contains_key(*sort) {
                        return Err(format!("--on: `{said}`, and the fact {sort} is given too; needed: one of them. Hint: leave --on out"));
                    }
                    measure.facts.insert((*sort).to_string(), json!(id));
                }
                Found::Area(shape) => measure.shape = (*shape).clone(),
                Found::Line(line) => measure.line = (*line).clone(),
                Found::Spot => return Err(format!("--on: `{said}` is a lek, a place without an area; needed: an area for {}. Hint: --area FILE", entry.key)),
            }
            Ok(())
        }
        several => {
            const SHOWN: usize = 6;
            let words: Vec<String> = several.iter().take(SHOWN).map(|(sort, id, ..)| format!("{sort}:{id}")).collect();
            let more = if several.len() > SHOWN { format!(" or {} more", several.len() - SHOWN) } else { String::new() };
            Err(format!("--on: `{said}` may be {}{more}; needed: one of them. Hint: --on {}", words.join(" or "), words[0]))
        }
    }
}

/// The measure of an id, or what is wrong.
fn find<'a>(holding: &'a Holding, id: &str) -> Result<&'a Measure, Fail> {
    holding.measures.iter().find(|m| m.id == id).ok_or_else(|| {
        let ids: Vec<&str> = holding.measures.iter().map(|m| m.id.as_str()).take(12).collect();
        let hint = if ids.is_empty() { "the plan has no measures".to_string() } else { format!("the plan has {}", ids.join(", ")) };
        Fail::one(format!("measure `{id}`: not in the plan; needed: the id of a measure. Hint: {hint}"))
    })
}

fn drop_one(path: &Path, id: &str) -> Result<(), Fail> {
    let seen = super::read(path)?;
    let measure = find(&seen, id)?;
    super::take(path, &seen)?.step("dropping a measure", |step| step.remove::<Measure>(id))?;
    talk::print(&format!("Dropped {} ({}) of option {}", talk::name(&measure.id), talk::name(&measure.kind), measure.option));
    Ok(())
}

/// Note the year a measure was finished, or take the note back.
/// Work done before this year is a slip of the keys.
const EARLIEST_YEAR: i32 = 1900;

fn note_done(path: &Path, id: &str, year: Option<i32>) -> Result<(), Fail> {
    let seen = super::read(path)?;
    let mut measure = find(&seen, id)?.clone();
    if let Some(year) = year {
        let this_year = chrono::Local::now().year();
        if year > this_year {
            return Err(Fail::one(format!("--year: {year}; needed: {this_year} or earlier. Hint: work that lies ahead is not done")));
        }
        if year < EARLIEST_YEAR {
            return Err(Fail::one(format!("--year: {year}; needed: {EARLIEST_YEAR} or later. Hint: such as {this_year}")));
        }
        if let Some(first) = measure.year.filter(|first| *first > year) {
            return Err(Fail::one(format!("--year: {year}; needed: {first} or later, the first year of work. Hint: greyhen measure FILE list tells it")));
        }
        measure.facts.insert("done".to_string(), json!(year));
    } else {
        measure.facts.remove("done");
    }
    super::take(path, &seen)?.step("noting a measure done", |step| step.put(&measure))?;
    let how = year.map_or("not done yet".to_string(), |year| format!("done in {year}"));
    talk::print(&format!("Noted: {} ({}) of option {} is {how}", talk::name(&measure.id), talk::name(&measure.kind), measure.option));
    Ok(())
}

/// Everything told of a measure.
struct Told<'a> {
    measure: &'a Measure,
    entry: Option<&'static Entry>,
    quantities: Vec<kind::Quantity>,
    costs: Vec<Cost>,
    harm: Vec<String>,
    window: String,
    faults: Vec<Fault>,
}

fn told_of<'a>(context: &Context, measure: &'a Measure, entry: &'static Entry) -> Result<Told<'a>, Fail> {
    Ok(Told {
        measure,
        entry: Some(entry),
        quantities: (entry.quantities)(context, measure)?,
        costs: (entry.costs)(context, measure)?,
        harm: (entry.harm)(context, measure)?,
        window: (entry.window)(context, measure)?,
        faults: (entry.faults)(context, measure),
    })
}

fn list(path: &Path, option: Option<u32>, as_json: bool) -> Result<(), Fail> {
    let seen = super::read(path)?;
    let guidance = super::tables()?;
    if let Some(number) = option {
        super::option::find(&seen, number).map_err(Fail::one)?;
    }
    let wanted: Vec<&Measure> = seen.measures.iter().filter(|m| option.is_none_or(|n| m.option == n)).collect();
    let mut all = Vec::new();
    if !wanted.is_empty() {
        let assessed = super::ground_of(&seen, &guidance)?;
        let context = Context::new(&seen, &guidance, &assessed);
        for measure in wanted {
            all.push(match kind::find(&measure.kind) {
                Some(entry) => told_of(&context, measure, entry)?,
                None => Told {
                    measure,
                    entry: None,
                    quantities: vec![],
                    costs: vec![],
                    harm: vec![],
                    window: String::new(),
                    faults: vec![measures::option::unknown_kind(&measure.kind)],
                },
            });
        }
    }
    if as_json {
        talk::print_json(&json!({
            "schema": "greyhen.measures/1", "plan": seen.about.name, "guidance_edition": guidance.edition(),
            "money": MONEY, "measures": all.iter().map(json_of).collect::<Vec<_>>(),
        }));
        return Ok(());
    }
    if all.is_empty() {
        talk::print("No measure yet. Add one: greyhen measure FILE add KIND --option NUMBER; the kinds: greyhen measure FILE kinds");
        return Ok(());
    }
    for told in &all {
        talk::print(&format!("{} (option {})", talk::name(&told.measure.id), told.measure.option));
        talk::print(&text(told));
    }
    talk::print(&talk::wrapped(MONEY, 96, ""));
    Ok(())
}

/// Low, usual and high for programs.
pub fn gbp_json(gbp: [f64; 3]) -> Value {
    let round = |v: f64| (v * 100.0).round() / 100.0;
    json!({ "low": round(gbp[0]), "usual": round(gbp[1]), "high": round(gbp[2]) })
}

/// Low, usual and high in words.
pub fn gbp_words(gbp: [f64; 3]) -> String {
    let pounds = |v: f64| {
        // No minus before a nought.
        let digits = format!("{:.0}", v.round() + 0.0);
        let mut out = String::new();
        for (i, c) in digits.chars().enumerate() {
            if i > 0 && (digits.len() - i) % 3 == 0 {
                out.push(',');
            }
            out.push(c);
        }
        format!("£{out}")
    };
    if pounds(gbp[0]) == pounds(gbp[2]) { pounds(gbp[1]) } else { format!("{} ({} to {})", pounds(gbp[1]), pounds(gbp[0]), pounds(gbp[2])) }
}

fn number(v: f64) -> String {
    if v >= 100.0 || v.fract() == 0.0 { format!("{v:.0}") } else { format!("{v:.2}") }
}

fn json_of(told: &Told) -> Value {
    let m = told.measure;
    json!({
        "id": m.id, "option": m.option, "kind": m.kind, "title": told.entry.map(|e| e.title), "year": m.year,
        "area_ha": m.shape.unsigned_area() / 1e4, "line_m": Euclidean.length(&m.line), "facts": m.facts,
        "quantities": told.quantities.iter().map(|q| json!({"what": q.what, "amount": q.amount, "unit": q.unit})).collect::<Vec<_>>(),
        "costs": told.costs.iter().map(|c| json!({"what": c.what, "amount": c.amount, "unit": c.unit, "rate": c.rate, "gbp": gbp_json(c.gbp)})).collect::<Vec<_>>(),
        "gbp": gbp_json(kind::cost::total(&told.costs)),
        "harm": told.harm, "window": told.window,
        "faults": told.faults.iter().map(|f| json!({"at": f.at, "found": f.found, "needed": f.needed, "hint": f.hint})).collect::<Vec<_>>(),
    })
}

fn text(told: &Told) -> String {
    let m = told.measure;
    let year = m.year.map_or("no year: begins the year after the plan's day".to_string(), |y| format!("from {y}"));
    let mut out = vec![format!("  {}, {year}", told.entry.map_or_else(|| talk::name(&m.kind), |e| e.title.to_string()))];
    if !m.facts.is_empty() {
        let facts: Vec<String> = m.facts.iter().map(|(name, value)| format!("{} {}", talk::name(name), value_words(value))).collect();
        out.push(talk::wrapped(&format!("as told: {}", facts.join("; ")), 92, "    "));
    }
    let quantities: Vec<String> = told.quantities.iter().map(|q| format!("{} {} {}", q.what, number(q.amount), q.unit)).collect();
    if !quantities.is_empty() {
        out.push(talk::wrapped(&quantities.join("; "), 92, "    "));
    }
    for cost in &told.costs {
        out.push(format!("    {}: {} {}, {} [{}]", cost.what, number(cost.amount), cost.unit, gbp_words(cost.gbp), cost.rate));
    }
    out.push(format!("    cost: {}", if told.costs.is_empty() { "none counted".to_string() } else { gbp_words(kind::cost::total(&told.costs)) }));
    if !told.window.is_empty() {
        out.push(talk::wrapped(&format!("when: {}", told.window), 92, "    "));
    }
    out.extend(told.harm.iter().map(|h| talk::wrapped(&format!("harm: {h}"), 92, "    ")));
    out.extend(told.faults.iter().map(|f| talk::wrapped(&format!("WRONG: {f}"), 92, "    ")));
    out.join("\n")
}

fn value_words(value: &Value) -> String {
    match value {
        Value::String(text) => talk::name(text),
        Value::Object(rows) => rows.iter().map(|(name, v)| format!("{} {v}", talk::name(name))).collect::<Vec<_>>().join(", "),
        other => talk::name(&other.to_string()),
    }
}

fn usual_words(usual: Usual, guidance: &Guidance, country: Country) -> Result<String, Fail> {
    Ok(match usual {
        Usual::Key(key) => format!("{} [{key}]", guidance::explain::value_in_words(guidance.row(key, country)?)),
        Usual::Word(word) => word.to_string(),
        Usual::MustBeGiven => "must be given".to_string(),
        Usual::MayBeLeftOut => "may be left out".to_string(),
    })
}

/// Kinds of measure with their facts, for programs.
pub fn kinds_json(entries: &[&'static Entry], guidance: &Guidance, country: Country) -> Result<Value, Fail> {
    let mut items = Vec::new();
    for entry in entries {
        let mut facts = Vec::new();
        for fact in entry.facts.iter().chain(kind::COMMON) {
            facts.push(json!({"name": fact.name, "what": fact.what, "needed": facts::needed(fact), "usual": usual_words(fact.usual, guidance, country)?}));
        }
        items.push(json!({"key": entry.key, "title": entry.title, "text": entry.explained(guidance, country)?, "facts": facts, "cautions": entry.cautions}));
    }
    Ok(json!({"schema": "greyhen.kinds/1", "country": country.to_string(), "kinds": items}))
}

fn kinds(path: &Path, wanted: Option<&str>, as_json: bool) -> Result<(), Fail> {
    let guidance = super::tables()?;
    let country = super::read(path)?.about.country;
    let entries: Vec<&'static Entry> = match wanted {
        None => kind::all().to_vec(),
        Some(word) => vec![kind::find(word).ok_or_else(|| Fail::one(measures::option::unknown_kind(word)))?],
    };
    if as_json {
        talk::print_json(&kinds_json(&entries, &guidance, country)?);
        return Ok(());
    }
    if wanted.is_none() {
        let rows: Vec<Vec<String>> = entries.iter().map(|e| vec![e.key.to_string(), e.title.to_string()]).collect();
        talk::print(&talk::table(&["kind", "what"], &rows, &[]));
        talk::print("\nOne with its facts: greyhen measure FILE kinds KIND");
        return Ok(());
    }
    for entry in entries {
        talk::print(&format!("{}: {}", entry.key, entry.title));
        talk::print(&talk::wrapped(&entry.explained(&guidance, country)?, 92, "  "));
        talk::print("\n  facts, as --fact NAME=VALUE:");
        for fact in entry.facts.iter().chain(kind::COMMON) {
            talk::print(&talk::wrapped(&format!("{} ({})", fact.name, usual_words(fact.usual, &guidance, country)?), 92, "    "));
            talk::print(&talk::wrapped(&facts::needed(fact), 88, "      "));
        }
        talk::print("");
        for caution in entry.cautioned(&guidance, country)? {
            talk::print(&talk::wrapped(&format!("Mind: {caution}"), 92, "  "));
        }
    }
    Ok(())
}

/// Bring imported measures into the form their kinds read: their option, their facts. Other kinds of import pass.
///
/// Gives notes; all faults at once.
pub fn settle(read: &mut Imported, option: Option<u32>, holding: &Holding, guidance: &Guidance) -> Result<Vec<String>, Fail> {
    let Features::Measures(all) = &mut read.features else { return Ok(vec![]) };
    let (mut faults, mut strange) = (Vec::new(), Vec::new());
    let mut told = vec![Vec::new(); all.len()];
    let mut entries = Vec::new();
    for (at, m) in all.iter_mut().enumerate() {
        let said = |what: String| format!("measure {} ({}, row {}): {what}", talk::name(&m.id), talk::name(&m.kind), at + 1);
        match option {
            Some(number) => m.option = number,
            None if m.option == 0 => faults.push(said("option: none; needed: the option it belongs to. Hint: --option NUMBER, or a column `option`".to_string())),
            None => {}
        }
        if m.option != 0 {
            faults.extend(super::option::find(holding, m.option).err().map(said));
        }
        faults.extend(m.year.and_then(|year| too_early(holding, year)).map(said));
        let entry = kind::find(&m.kind);
        entries.push(entry);
        let Some(entry) = entry else {
            faults.push(said(measures::option::unknown_kind(&m.kind).to_string()));
            continue;
        };
        let mut settled: Extra = std::mem::take(&mut m.facts);
        let (wrong, unknown) = facts::settle(entry, &mut settled);
        for fault in wrong {
            told[at].push(fault.at.clone());
            faults.push(said(fault.to_string()));
        }
        strange.extend(unknown);
        m.kind = entry.key.to_string();
        m.facts = settled;
    }
    let assessed = super::ground_of(holding, guidance)?;
    let mut with = holding.clone();
    with.measures.extend(all.iter().cloned());
    let context = Context::new(&with, guidance, &assessed);
    for (at, (m, entry)) in all.iter().zip(&entries).enumerate() {
        let Some(entry) = entry else { continue };
        let more = (entry.faults)(&context, m).into_iter().filter(|f| !told[at].contains(&f.at));
        faults.extend(more.map(|f| format!("measure {} ({}, row {}): {f}", talk::name(&m.id), entry.key, at + 1)));
    }
    if !faults.is_empty() {
        talk::print(&read.mapping.to_string());
        return Err(Fail::all(faults).ending("Nothing was imported; the plan is as it was."));
    }
    strange.sort();
    strange.dedup();
    Ok(if strange.is_empty() { vec![] } else { vec![format!("kept but not read, as the kinds know no such facts: {}", strange.join(", "))] })
}
