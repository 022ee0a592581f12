//! The measures in plain words: what, how much, when, what it costs and can harm, what the rules say.

use crate::content::found;
use crate::content::FindingText;
use crate::pack::Pack;
use crate::content::works::three;
use crate::placed::{self, Placed};
use crate::planned::{CostOf, Job, Planned};
use crate::secrecy::Secrecy;
use crate::words;
use measures::kind::{Fact, Form, Quantity};
use measures::secrecy::{area_band, distance_band, one_figure, to_figures};
use serde::Serialize;
use serde_json::Value;
use ::works::money::Pence;

/// Measures of a kind above which they are told in one table, not one by one.
const FEW: usize = 5;

/// A kind of measure in an option.
#[derive(Clone, Debug, Serialize)]
pub struct KindText {
    /// Key of the kind.
    pub key: &'static str,
    /// Title.
    pub title: &'static str,
    /// Cost of all of them, in words.
    pub cost: String,
    /// Its measures.
    pub jobs: Vec<JobText>,
    /// Whether they are told in one table.
    pub many: bool,
    /// When, harm: told once where they are many.
    pub windows: Vec<String>,
    /// Harm told once where they are many, with the measure whose figures it gives where they differ.
    pub harm: Vec<(String, Option<usize>)>,
    /// Cautions people need.
    pub cautions: Vec<String>,
    /// Whether there is a map.
    pub map: bool,
}

/// A measure as printed.
#[derive(Clone, Debug, Serialize)]
pub struct JobText {
    /// Number on the maps, from 1.
    pub number: usize,
    /// Its id, or what stands for it.
    pub id: String,
    /// Its kind.
    pub title: &'static str,
    /// Where: feature and grid reference.
    pub place: String,
    /// First year in words.
    pub year: String,
    /// What is done, as told.
    pub what: String,
    /// Quantities in words.
    pub quantities: Vec<String>,
    /// When it may be done.
    pub window: String,
    /// Cost in words.
    pub cost: String,
    /// Cost line by line.
    pub costs: Vec<CostLine>,
    /// What it can harm.
    pub harm: Vec<String>,
    /// Findings on it: weight and words.
    pub findings: Vec<(&'static str, String)>,
}

/// A line of a cost.
#[derive(Clone, Debug, Serialize)]
pub struct CostLine {
    /// What for.
    pub what: String,
    /// How much of it.
    pub amount: String,
    /// Pounds.
    pub gbp: String,
}

/// A finding on a measure.
#[derive(Clone, Debug, Serialize)]
pub struct MeasureFinding {
    /// The measure: number and id.
    pub measure: String,
    /// Its number, 0 where it speaks of none.
    pub job: usize,
    /// The same found on other measures: what, and on which.
    pub also: Vec<(String, usize)>,
    /// The finding.
    #[serde(flatten)]
    pub finding: FindingText,
}

/// Parts that are not empty, joined.
pub fn joined(parts: &[&str], by: &str) -> String {
    parts.iter().filter(|p| !p.trim().is_empty()).copied().collect::<Vec<_>>().join(by)
}

/// Low, usual and high pounds in words. `figures`: to so many figures, all where 0.
pub fn pounds(gbp: [f64; 3], figures: i32) -> String {
    let cut = |v: f64| if figures <= 0 { v } else { to_figures(v, figures) };
    let [low, usual, high] = gbp.map(|v| format!("£{}", words::grouped(cut(v))));
    let about = if figures > 0 && gbp[1] > 0.0 { "about " } else { "" };
    if low == high { format!("{about}{usual}") } else { format!("{about}{usual} ({low} to {high})") }
}

/// An amount at a precision that fits its size.
fn amount(value: f64) -> String {
    match value.abs() {
        v if v >= 100.0 || value.fract() == 0.0 => words::grouped(value),
        v if v >= 10.0 => format!("{value:.1}"),
        _ => format!("{value:.2}"),
    }
}

/// A quantity in words: `birch: 1,200 trees`. In bands where it would give a lek away; deaths avoided always coarse where places are
/// withheld, as they hang on how near a lek is.
pub fn quantity(q: &Quantity, tied: bool, secrecy: &Secrecy) -> String {
    let said = match q.unit {
        "m" if tied => distance_band(q.amount).to_owned(),
        "ha" if tied => area_band(q.amount).to_owned(),
        "years" => format!("{} {}", amount(q.amount), q.unit),
        unit if tied || (secrecy.withheld() && q.what.contains("deaths")) => format!("about {} {unit}", one_figure(q.amount)),
        unit => format!("{} {unit}", amount(q.amount)),
    };
    secrecy.words(&format!("{}: {said}", q.what))
}

/// What a measure is called: its id, or its number where its own name may tell.
pub fn called(planned: &Planned, placed: &[Placed], index: usize) -> String {
    let job = &planned.jobs[index];
    if placed[index].tied { placed::called(&job.measure.id, job.entry.key, index + 1) } else { job.measure.id.clone() }
}

/// Words with what a measure is called in place of its id, where the id may tell. A bare number would be found in every figure.
fn own_name(text: &str, planned: &Planned, placed: &[Placed], index: usize) -> String {
    let id = &planned.jobs[index].measure.id;
    if !placed[index].tied || !id.chars().any(char::is_alphabetic) { text.to_owned() } else { text.replace(id.as_str(), &called(planned, placed, index)) }
}

/// Where a measure is, in words: feature, grid reference, and what was done to the place.
pub fn place_words(planned: &Planned, placed: &[Placed], index: usize, secrecy: &Secrecy) -> String {
    let (job, place) = (&planned.jobs[index], &placed[index]);
    let on = if place.tied && job.entry.key != "lek_care" { String::new() } else { own_name(&secrecy.words(&job.on), planned, placed, index) };
    joined(&[&on, &place.reference, place.kept_back], ", ")
}

/// What the measure of an id is called, with its number.
pub fn label(planned: &Planned, placed: &[Placed], id: &str) -> String {
    planned.jobs.iter().position(|j| j.measure.id == id).map_or_else(String::new, |i| format!("{} {}", i + 1, called(planned, placed, i)))
}

/// Facts of a measure in words.
pub fn facts(job: &Job) -> String {
    let mut parts = vec![];
    for (name, value) in &job.measure.facts {
        let said = plain(value);
        if said.is_empty() || ["fence", "ditch", "parcel", "lek"].contains(&name.as_str()) {
            continue;
        }
        parts.push(match job.entry.fact(name) {
            _ if name == "work" => said.replace('_', " "),
            Some(fact) => format!("{} {said}{}", heading(fact), unit(name)),
            None => format!("{} {said}", name.replace('_', " ")),
        });
    }
    parts.join("; ")
}

/// The first words of what a fact is.
fn heading(fact: &Fact) -> String {
    let head = fact.what.split([',', ';']).next().unwrap_or(fact.what).split(" such as").next().unwrap_or(fact.what);
    match fact.form {
        Form::OneOf(_) | Form::Text | Form::Months => format!("{}:", fact.name.replace('_', " ")),
        _ => format!("{head}:"),
    }
}

/// The unit a fact's name ends in.
fn unit(name: &str) -> &'static str {
    let units = [("_pct", " %"), ("_m2", " m²"), ("_cm", " cm"), ("_m", " m"), ("_yr", " years"), ("_ha", " to the ha")];
    units.iter().find(|(end, _)| name.ends_with(end)).map_or("", |(_, unit)| unit)
}

/// A value as people write it.
fn plain(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::Number(number) => number.as_f64().map_or_else(|| number.to_string(), |v| v.to_string()),
        Value::String(text) => text.trim().to_owned(),
        Value::Object(rows) => rows.iter().map(|(name, v)| format!("{} {}", name.replace('_', " "), plain(v))).collect::<Vec<_>>().join(", "),
        Value::Array(all) => all.iter().map(plain).collect::<Vec<_>>().join(", "),
        other => other.to_string(),
    }
}

/// The findings on the measures, must first.
pub(super) fn findings(pack: &Pack, planned: &Planned, placed: &[Placed], secrecy: &Secrecy) -> Vec<MeasureFinding> {
    planned
        .findings
        .iter()
        .enumerate()
        .map(|(i, f)| {
            let job = f.measure.as_ref().and_then(|id| planned.jobs.iter().position(|j| j.measure.id == *id));
            let mut text = found::text(pack, secrecy, i + 1, f);
            let tied = job.is_some_and(|j| placed[j].tied);
            // Where the measure is shown coarsely, so is the place of what is found on it.
            if let Some(j) = job.filter(|j| !placed[*j].kept_back.is_empty()) {
                text.place = joined(&[&placed[j].reference, "place withheld"], ", ");
            }
            if let Some(j) = job.filter(|_| tied) {
                if f.secret.is_empty() && text.value.chars().any(|c| c.is_ascii_digit()) {
                    text.value = "withheld, as it would tell where the lek is".to_owned();
                }
                for part in [&mut text.what, &mut text.hint, &mut text.value, &mut text.needed] {
                    *part = own_name(part, planned, placed, j);
                }
            }
            MeasureFinding { measure: job.map_or_else(String::new, |j| format!("{} {}", j + 1, called(planned, placed, j))), job: job.map_or(0, |j| j + 1), also: vec![], finding: text }
        })
        .collect()
}

/// Every kind with its measures.
pub(super) fn kinds(pack: &Pack, planned: &Planned, placed: &[Placed], findings: &[MeasureFinding], secrecy: &Secrecy) -> Vec<KindText> {
    let mut out: Vec<KindText> = vec![];
    for (i, job) in planned.jobs.iter().enumerate() {
        let text = text(planned, placed, i, findings, secrecy);
        match out.last_mut() {
            Some(kind) if kind.key == job.entry.key => kind.jobs.push(text),
            _ => out.push(KindText {
                key: job.entry.key,
                title: job.entry.title,
                cost: String::new(),
                jobs: vec![text],
                many: false,
                windows: vec![],
                harm: vec![],
                cautions: cautions(pack, job),
                map: false,
            }),
        }
    }
    for kind in &mut out {
        let of: Vec<usize> = (0..planned.jobs.len()).filter(|i| planned.jobs[*i].entry.key == kind.key).collect();
        let gbp = of.iter().map(|i| Planned::gbp(&planned.jobs[*i])).fold([0.0; 3], |sum, gbp| std::array::from_fn(|k| sum[k] + gbp[k]));
        kind.cost = summed(planned, &of.iter().flat_map(|i| &planned.jobs[*i].costs).collect::<Vec<_>>(), gbp, of.iter().any(|i| placed[*i].tied));
        kind.many = kind.jobs.len() > FEW;
        kind.map = crate::map::view::extent(pack.holding).is_some() && crate::placed::bounds(of.iter().map(|i| &placed[*i].shape)).is_some();
        let mut harms: Vec<(String, usize, bool)> = vec![];
        for job in &kind.jobs {
            if !kind.windows.contains(&job.window) {
                kind.windows.push(job.window.clone());
            }
            for harm in &job.harm {
                match harms.iter_mut().find(|(told, ..)| bare(told) == bare(harm)) {
                    Some((told, _, differs)) => *differs |= told != harm,
                    None => harms.push((harm.clone(), job.number, false)),
                }
            }
        }
        kind.harm = harms.into_iter().map(|(harm, number, differs)| (harm, differs.then_some(number))).collect();
    }
    out
}

/// Money of measures in words. An account is to the penny, and coarse already where a measure would give a lek away (`tied`).
fn money(planned: &Planned, gbp: [f64; 3], tied: bool) -> String {
    if planned.priced { three(gbp.map(|v| Pence::nearest(v).unwrap_or_default())) } else { pounds(gbp, if tied { 1 } else { 0 }) }
}

/// What cost lines come to, in words, and what that is without.
fn summed(planned: &Planned, costs: &[&CostOf], gbp: [f64; 3], tied: bool) -> String {
    let unknown = costs.iter().filter(|c| !c.gbp[1].is_finite()).count();
    match (costs.len(), unknown) {
        (0, _) => "none counted".to_owned(),
        (_, 0) => money(planned, gbp, tied),
        (all, _) if all == unknown => "no rate known".to_owned(),
        _ => format!("{}, without what no rate is known for", money(planned, gbp, tied)),
    }
}

fn text(planned: &Planned, placed: &[Placed], i: usize, findings: &[MeasureFinding], secrecy: &Secrecy) -> JobText {
    let (job, place) = (&planned.jobs[i], &placed[i]);
    let careful = |text: &str| own_name(&secrecy.words(text), planned, placed, i);
    // A harm that measures how near a lek is, or how deadly a fence is for being near one, would tell where it lies.
    let harm = |text: &String| if place.tied && text.chars().any(|c| c.is_ascii_digit()) { coarse(&careful(text)) } else { careful(text) };
    let costs = job.costs.iter().map(|c| CostLine {
        what: careful(&c.what),
        amount: if place.tied { String::new() } else { format!("{} {}", amount(c.amount), c.unit) },
        gbp: if c.gbp[1].is_finite() { money(planned, c.gbp, place.tied) } else { "no rate known".to_owned() },
    });
    JobText {
        number: i + 1,
        id: called(planned, placed, i),
        title: job.entry.title,
        place: place_words(planned, placed, i, secrecy),
        year: job.year.map_or_else(|| "year not told: the year after the plan's day".to_owned(), |y| format!("from {y}")),
        what: words::capital(&careful(&facts(job))),
        quantities: job.quantities.iter().filter(|q| q.amount != 0.0).map(|q| quantity(q, place.tied, secrecy)).collect(),
        window: words::capital(&careful(&job.window)),
        cost: summed(planned, &job.costs.iter().collect::<Vec<_>>(), Planned::gbp(job), place.tied),
        costs: costs.collect(),
        harm: job.harm.iter().map(harm).map(|h| words::capital(&h)).collect(),
        findings: findings.iter().filter(|f| f.job == i + 1).map(|f| (f.finding.severity, f.finding.what.clone())).collect(),
    }
}

/// Words with measured distances in bands and other decimals to one figure.
fn coarse(text: &str) -> String {
    let parts: Vec<&str> = text.split(' ').collect();
    let mut out: Vec<String> = vec![];
    let mut skip = false;
    for (i, part) in parts.iter().enumerate() {
        if std::mem::take(&mut skip) {
            continue;
        }
        let next = parts.get(i + 1).copied().unwrap_or_default();
        let bare = part.trim_matches(|c: char| !c.is_ascii_digit());
        let tail = next.trim_start_matches('m');
        match bare.parse::<f64>() {
            Ok(metres) if next.starts_with('m') && tail.chars().all(|c| !c.is_alphanumeric()) => {
                out.push(format!("{}{tail}", distance_band(metres)));
                skip = true;
            }
            Ok(number) if bare.contains('.') => out.push(part.replace(bare, &one_figure(number))),
            _ => out.push((*part).to_owned()),
        }
    }
    out.join(" ")
}

/// Words without their figures: harms alike but for how much are told once.
fn bare(text: &str) -> String {
    text.chars().filter(|c| !c.is_ascii_digit() && *c != '.' && *c != ',').collect()
}

/// Findings alike in all but the measure they are on, told once.
pub(super) fn grouped(findings: &[MeasureFinding]) -> Vec<MeasureFinding> {
    let alike = |a: &FindingText, b: &FindingText| a.severity == b.severity && [(&a.value, &b.value), (&a.needed, &b.needed), (&a.why, &b.why), (&a.hint, &b.hint), (&a.source, &b.source)].iter().all(|(a, b)| a == b);
    let mut out: Vec<MeasureFinding> = vec![];
    for f in findings {
        match out.iter_mut().find(|g| alike(&g.finding, &f.finding)) {
            Some(group) => group.also.push((f.finding.what.clone(), f.job)),
            None => out.push(f.clone()),
        }
    }
    out
}

/// Cautions of a kind, as sentences.
fn cautions(pack: &Pack, job: &Job) -> Vec<String> {
    let all = job.entry.cautioned(pack.guidance, pack.holding.about.country).unwrap_or_default();
    all.iter().map(|c| words::capital(c)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn money_is_coarse_where_asked() {
        assert_eq!(pounds([1234.0, 2345.0, 3456.0], 0), "£2,345 (£1,234 to £3,456)");
        assert_eq!(pounds([1234.0, 2345.0, 3456.0], 1), "about £2,000 (£1,000 to £3,000)");
        assert_eq!(pounds([0.0; 3], 1), "£0");
    }

    #[test]
    fn measured_words_are_told_in_bands() {
        assert_eq!(coarse("It comes within 71 m of Cold Rig; 0.034 a year in 2026."), "It comes within under 1 km of Cold Rig; 0.03 a year in 2026.");
    }
}
