//! Consents, as the rules on measures find them needed: who is asked, how long the answer takes, what waits for it.
//!
//! Whether a consent is in hand the plan does not hold, so each is asked for anew. One request is written for all measures of a
//! rule that begin in the same year.

use super::job::{Job, Stage, Wait};
use super::of::Of;
use crate::programme::Lag;
use geo::Intersects;
use geo_types::Geometry;
use guidance::{Unknown, Value};
use holding::AreaKind;
use measures::Finding;
use measures::kind::cost;
use measures::rules::Check;
use measures::rules::on_measures::{self, OnMeasures};
use measures::rules::words;

/// The rules that ask for a consent, in the order they are asked, with what is written and who is asked.
const ASKED: [(&str, &str, &str); 7] = [
    ("consent_protected", "Ask the conservation authority for consent to work on a protected site", "conservation authority"),
    ("consent_monument", "Ask the historic environment authority about work on a historic feature", "historic environment authority"),
    ("consent_eia", "Ask the forestry authority whether the impact rules cover the planting or clearing", "forestry authority"),
    ("consent_felling", "Ask the forestry authority for leave to fell", "forestry authority"),
    ("consent_watercourse", "Ask for the watercourse consent for dams", "flood authority"),
    ("consent_common", "Ask all who share the grazing, then the authority, for a fence on common land", "graziers and authority"),
    ("consent_burning", "See to notice, licence or plan of burning", "burning authority"),
];

/// Who is asked for the consent a job asks for; `None` of any other job.
pub fn asked_of(job: &Job) -> Option<&'static str> {
    let rule = job.id.split('/').next().filter(|_| job.stage == Stage::Consent)?;
    ASKED.iter().find(|(key, ..)| *key == rule).map(|(_, _, who)| *who)
}

/// A consent needed for a measure.
pub struct Needed {
    /// The rule.
    rule: &'static str,
    /// The measures.
    pub measures: Vec<String>,
    /// What the rule says is needed.
    needed: Vec<String>,
    /// Whether a European site is touched.
    european: bool,
}

/// Every consent the rules find needed, by rule in the order of [`ASKED`].
///
/// # Errors
/// A figure the tables lack.
pub fn needed(o: &OnMeasures) -> Result<Vec<Needed>, Unknown> {
    let mut out = Vec::new();
    for (key, ..) in ASKED {
        let Some(entry) = on_measures::all().iter().find(|e| e.rule.key == key) else { continue };
        let Check::OnMeasures(check) = entry.check else { continue };
        for finding in check(o)? {
            let mut measures: Vec<String> = finding.measure.iter().cloned().collect();
            // The rule sums all new woods and tells of the largest.
            if key == "consent_eia" && o.measures.iter().any(|m| m.kind == "wood" && measures.contains(&m.id)) {
                measures = o.measures.iter().filter(|m| m.kind == "wood").map(|m| m.id.clone()).collect();
            }
            out.push(Needed { rule: key, measures, needed: vec![finding.withheld().needed], european: european(o, &finding) });
        }
    }
    Ok(out)
}

fn european(o: &OnMeasures, finding: &Finding) -> bool {
    let sites = o.holding().areas.iter().filter(|a| a.kind == AreaKind::European);
    finding.rule == "consent_protected" && sites.map(|a| Geometry::from(a.shape.clone())).any(|site| site.intersects(&finding.geometry))
}

/// The job of asking for the consents of a rule for measures of one year, written from the first of them, and the wait for the answer.
pub fn job(of: &Of, rule: &'static str, all: &[&Needed], names: &[String], year: i32) -> Result<(Job, Wait), Unknown> {
    let asked = ASKED.iter().find(|(key, ..)| *key == rule).map_or("", |(_, what, _)| *what);
    let mut job = of.paper(Stage::Consent, format!("{asked}: {}", words::list(names)))?;
    job.id = format!("{rule}/{year}");
    job.year = year;
    job.kind = "consent";
    let mut measures: Vec<String> = Vec::new();
    for needed in all {
        measures.extend(needed.measures.iter().filter(|m| !measures.contains(m)).cloned().collect::<Vec<_>>());
        for words in &needed.needed {
            if !job.notes.contains(words) {
                job.notes.push(words.clone());
            }
        }
    }
    job.measures = measures;
    let (lag, words, keys) = answer(of.o, rule, all.iter().any(|n| n.european))?;
    match lag {
        Some(_) => job.notes.push(format!("The answer takes about {words}: nothing on the ground before it.")),
        None => job.notes.push("How long the answer takes is not known: ask early; the programme counts no days for it.".into()),
    }
    job.keys = keys;
    let wait = Wait {
        job: job.id.clone(),
        lag: lag.unwrap_or(Lag::Days(0)),
        words: if lag.is_some() { format!("{words} for the answer") } else { "the answer; how long it takes is not known".into() },
    };
    Ok((job, wait))
}

/// How long an answer takes in the plan's country, in the longest of all three where it names none; `None` where no figure is held.
fn answer(o: &OnMeasures, rule: &str, european: bool) -> Result<(Option<Lag>, String, Vec<String>), Unknown> {
    let mut keys = Vec::new();
    // The country's own figure, else the one for all.
    let mut longest = |own: &'static str, all: &'static str| -> Result<f64, Unknown> {
        let mut most: f64 = 0.0;
        for country in o.countries() {
            let key = if o.limit(own, country).is_some() { own } else { all };
            if let Value::Number(value) = o.context.guidance.row(key, country)?.value {
                most = most.max(value);
            }
            if !keys.contains(&key.to_string()) {
                keys.push(key.to_string());
            }
        }
        Ok(most)
    };
    let (lag, words) = match rule {
        "consent_protected" => {
            let mut months = longest("law.sssi.months", "schedule.sssi")?;
            if european {
                months += longest("law.european_site.months", "law.european_site.months")?;
            }
            months_lag(months)
        }
        "consent_watercourse" => months_lag(longest("water.consent.months", "schedule.watercourse")?),
        "consent_eia" => {
            let [low, usual, high] = cost::spread(&o.context, "schedule.eia_screening")?;
            keys.push("schedule.eia_screening".into());
            (Some(Lag::Months(usual.ceil() as u32)), format!("{low:.0} to {high:.0} months"))
        }
        "consent_monument" => {
            // Held by country in weeks, for all in months.
            if o.countries().iter().all(|c| o.limit("law.monument.weeks", *c).is_some()) {
                weeks_lag(longest("law.monument.weeks", "law.monument.weeks")?)
            } else {
                months_lag(longest("schedule.monument", "schedule.monument")?)
            }
        }
        "consent_felling" => weeks_lag(longest("law.felling.weeks", "schedule.felling_weeks")?),
        "consent_burning" => match o.countries().into_iter().filter_map(|c| o.limit("law.muirburn.notice_days", c)).next() {
            Some(limit) => {
                keys.push("law.muirburn.notice_days".into());
                (Some(Lag::Days(limit.value.ceil() as u32)), limit.words)
            }
            None => (None, String::new()),
        },
        _ => (None, String::new()),
    };
    Ok((lag, words, keys))
}

fn months_lag(months: f64) -> (Option<Lag>, String) {
    (Some(Lag::Months(months.ceil() as u32)), format!("{months} months"))
}

fn weeks_lag(weeks: f64) -> (Option<Lag>, String) {
    (Some(Lag::Days((7.0 * weeks).ceil() as u32)), format!("{weeks:.0} weeks"))
}

/// The consents a rule asks for of measures, by year of the measures, in order.
pub fn by_year<'n>(all: &'n [Needed], year_of: &dyn Fn(&str) -> Option<i32>) -> Vec<(&'static str, i32, Vec<&'n Needed>)> {
    let mut out: Vec<(&'static str, i32, Vec<&'n Needed>)> = Vec::new();
    for needed in all {
        let Some(year) = needed.measures.iter().filter_map(|m| year_of(m)).min() else { continue };
        match out.iter_mut().find(|(rule, y, _)| *rule == needed.rule && *y == year) {
            Some((_, _, group)) => group.push(needed),
            None => out.push((needed.rule, year, vec![needed])),
        }
    }
    out
}
