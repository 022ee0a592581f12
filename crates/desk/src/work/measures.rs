//! Kinds of measure, measures with what they come to, and what the rules find.

use super::courses::failed;
use super::shapes::{self, area_ha, geojson, length_m};
use crate::answers::Start;
use crate::api::ask::LOOKS_S;
use crate::api::edit::Problem;
use crate::api::plan::{FactState, FindingSource, FindingState, KindState, MeasureState};
use crate::session::of_measure;
use geo::CoordsIter;
use geo_types::Geometry;
use guidance::explain::value_in_words;
use guidance::{Grade, Guidance, Row, Unknown};
use holding::{Holding, Measure};
use measures::kind::{self, COMMON, Entry, Fact, Form, Usual};
use measures::rules::Context;
use measures::{Finding, kind::cost};
use serde_json::Value;

/// Every kind, in the order of the book.
///
/// # Errors
/// A guidance figure that is missing.
pub fn kinds(holding: &Holding, guidance: &Guidance) -> Result<Vec<KindState>, Problem> {
    kind::all().iter().map(|entry| kind_state(entry, holding, guidance)).collect::<Result<_, Unknown>>().map_err(failed)
}

fn kind_state(entry: &'static Entry, holding: &Holding, guidance: &Guidance) -> Result<KindState, Unknown> {
    let country = holding.about.country;
    let state = |fact: &Fact| -> Result<FactState, Unknown> {
        let (from, to) = if let Form::Number { from, to } = fact.form { (Some(from), Some(to)) } else { (None, None) };
        Ok(FactState {
            name: fact.name.into(),
            what: fact.what.into(),
            form: form(fact).into(),
            from,
            to,
            choices: if let Form::OneOf(words) = fact.form { words.iter().map(ToString::to_string).collect() } else { Vec::new() },
            usual: match fact.usual {
                Usual::Key(key) => value_in_words(guidance.row(key, country)?),
                Usual::Word(word) => word.to_string(),
                Usual::MustBeGiven | Usual::MayBeLeftOut => String::new(),
            },
            usual_key: if let Usual::Key(key) = fact.usual { key.into() } else { String::new() },
            may_be_left_out: !matches!(fact.usual, Usual::MustBeGiven),
        })
    };
    Ok(KindState {
        key: entry.key.into(),
        title: entry.title.into(),
        explain: entry.explained(guidance, country)?,
        draws: draws(entry.key).into(),
        suggests: SUGGESTED.contains(&entry.key),
        looks_s: TIMED.contains(&entry.key).then_some(LOOKS_S),
        facts: entry.facts.iter().chain(COMMON).map(state).collect::<Result<_, _>>()?,
        cautions: entry.cautioned(guidance, country)?,
    })
}

/// Kinds a designer puts forward: the folders of [`measures::suggest`].
const SUGGESTED: [&str; 5] = ["wood", "heather", "grazing", "water", "fence"];
/// Of them those whose choice stops when its time is over.
const TIMED: [&str; 2] = ["wood", "heather"];

/// Facts that name a feature of the plan, by the layer's one word.
const FEATURES: [&str; 6] = ["parcel", "patch", "wood", "lek", "fence", "ditch"];

fn form(fact: &Fact) -> &'static str {
    match fact.form {
        _ if FEATURES.contains(&fact.name) => "feature",
        Form::OneOf(_) => "choice",
        Form::Number { .. } => "number",
        Form::Text | Form::Months => "text",
        Form::Table => "table",
    }
}

/// What is drawn for a kind. Fields and leks may be named instead; a ditch or fence is named, and a stretch of it may be drawn.
fn draws(kind: &str) -> &'static str {
    match kind {
        "wood" | "heather" | "inbye" | "lek_care" => "area",
        "fence" => "line",
        "conifer_edge" | "water" => "either",
        _ => "nothing",
    }
}

/// The measures of an option with what they come to, in the order of the plan; of every option where none is asked for.
///
/// # Errors
/// A guidance figure that is missing.
pub fn measures(start: &Start, option: Option<u32>) -> Result<Vec<MeasureState>, Problem> {
    let context = super::courses::context(start);
    let of = start.holding.measures.iter().filter(|m| option.is_none_or(|n| m.option == n));
    of.map(|m| measure(&context, m)).collect::<Result<_, Unknown>>().map_err(failed)
}

fn measure(context: &Context, m: &Measure) -> Result<MeasureState, Unknown> {
    let mut state = MeasureState {
        id: m.id.clone(),
        option: m.option,
        kind: m.kind.clone(),
        title: m.kind.clone(),
        year: m.year,
        geometry: shapes::of(m),
        facts: Value::Object(m.facts.clone().into_iter().collect()),
        area_ha: area_ha(m),
        length_m: length_m(m),
        gbp: [0.0; 3],
        window: String::new(),
        harm: Vec::new(),
        cautions: Vec::new(),
        faults: Vec::new(),
    };
    let Some(entry) = kind::find(&m.kind) else {
        state.faults.push(said(measures::option::unknown_kind(&m.kind)));
        return Ok(state);
    };
    let work = m.facts.get("work").and_then(Value::as_str).map(|w| format!(": {}", w.replace('_', " "))).unwrap_or_default();
    state.kind = entry.key.into();
    state.title = format!("{}{work}", entry.title);
    state.faults = (entry.faults)(context, m).into_iter().map(said).collect();
    state.gbp = cost::total(&(entry.costs)(context, m)?);
    state.window = (entry.window)(context, m)?;
    state.harm = (entry.harm)(context, m)?;
    state.cautions = entry.cautioned(context.guidance, context.holding.about.country)?;
    Ok(state)
}

/// A fault in one line.
fn said(fault: kind::Fault) -> String {
    let f = of_measure(fault);
    let hint = if f.hint.is_empty() { String::new() } else { format!(". {}", f.hint) };
    format!("{}: {}; needed: {}{hint}", f.at, f.found, f.needed)
}

/// Findings as the page shows them, leks and all: it is the adviser's own. Those on measures come first, then those on the ground; the
/// heaviest first in each.
pub fn findings(found: &[Finding], guidance: &Guidance) -> Vec<FindingState> {
    let mut sorted: Vec<&Finding> = found.iter().collect();
    sorted.sort_by_key(|f| (f.measure.is_none(), f.severity));
    sorted.into_iter().map(|f| finding(f, guidance)).collect()
}

fn finding(f: &Finding, guidance: &Guidance) -> FindingState {
    let mut sources: Vec<FindingSource> = Vec::new();
    for key in &f.source {
        let Some(words) = guidance.rows_of(key).next().and_then(|row| source(row, guidance)) else { continue };
        match sources.iter_mut().find(|s| s.words == words) {
            Some(known) => known.figures.push(key.to_string()),
            None => sources.push(FindingSource { figures: vec![key.to_string()], words }),
        }
    }
    FindingState {
        rule: f.rule.into(),
        severity: f.severity.word().into(),
        what: f.what.clone(),
        here: f.value.clone(),
        needed: f.needed.clone(),
        why: f.why.clone(),
        hint: f.hint.clone(),
        sources,
        on: f.measure.clone().unwrap_or_default(),
        geometry: Some(&f.geometry).filter(|g| g.coords_count() > 0).map(|g: &Geometry<f64>| geojson(g.clone())),
    }
}

/// Where a figure comes from and how good it is. What has no source says so once.
fn source(row: &Row, guidance: &Guidance) -> Option<String> {
    let grade = row.grade.in_words();
    Some(match row.grade {
        Grade::Practice | Grade::Assumption => capital(grade),
        Grade::Published | Grade::Guidance => format!("{}, {}: {grade}", guidance.source(&row.source)?.reference(), row.locator),
        Grade::Memory if row.source == "memory" => capital(grade),
        Grade::Memory => format!("{}: {grade}", guidance.source(&row.source)?.reference()),
    })
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|c| c.to_uppercase().collect::<String>()).unwrap_or_default() + letters.as_str()
}
