//! `greyhen ahead`: the ledger in the years ahead, the rules by year, and what grows.

use super::course::{Start, Under, Years};
use crate::fail::Fail;
use crate::{Draws, Ended, PlanFile, talk};
use desk::Progress;
use habitat::ahead::{LekYear, Moving};
use holding::Plant;
use measures::Finding;
use serde::Serialize;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "Example:
  greyhen ahead hill.gpkg                what the ground comes to if nothing is done
  greyhen ahead hill.gpkg --option 1     and under option 1, on the same draws
  greyhen ahead hill.gpkg --option 1 --lek \"Cold Rig\" --at 0,5,10

Years are counted from the plan's day. A forecast compares; it promises nothing. Most figures of growth are assumptions, graded so
in `greyhen guidance list`. Curves are drawn in block characters where the locale says UTF-8, else in plain signs.")]
pub struct Ahead {
    #[command(flatten)]
    plan: PlanFile,
    #[command(flatten)]
    draws: Draws,
    #[command(flatten)]
    question: Question,
    /// Tell in the JSON what findings say of distances and ground at a lek; otherwise in bands and without names
    #[arg(long)]
    show_leks: bool,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// Which years ahead are asked for.
#[derive(clap::Args)]
pub struct Question {
    #[command(flatten)]
    pub years: Years,
    /// The option to look ahead under; left out, nothing is done
    #[arg(long, value_name = "N")]
    pub option: Option<u32>,
    /// Tell this lek only, by name or id
    #[arg(long, value_name = "NAME")]
    pub lek: Option<String>,
}

impl Ahead {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let working = talk::Working::on("reading the plan");
        let start = Start::read(&self.plan.path, &self.draws, &working)?;
        let seen = self.question.answer(&start, &working)?;
        drop(working);
        if self.json {
            talk::print_json(&seen.json(&start, self.show_leks)?);
        } else {
            talk::print(&seen.text(&start)?);
        }
        Ok(Ended::Well)
    }
}

impl Question {
    /// The years asked for.
    pub fn answer(&self, start: &Start, progress: &dyn Progress) -> Result<Seen, Fail> {
        let option = self.option.filter(|n| *n != 0);
        start.has(option.as_slice())?;
        let leks = start.leks(self.lek.as_deref())?;
        let told = self.years.told();
        talk::step(progress, "looking ahead")?;
        let under = start.under(option, &told)?;
        talk::step(progress, "checking the rules of every year")?;
        let findings = Turns::of(start, &under, &leks)?;
        Ok(Seen { grown: grown(start, &under, &leks)?, views: views(start, &under, &leks)?, findings, leks, under })
    }
}

/// The years ahead, with what is told beside the ledger.
pub struct Seen {
    under: Under,
    /// Leks told, by their place in the ledger.
    leks: Vec<usize>,
    /// By lek and year.
    grown: Vec<Vec<Grown>>,
    /// By lek.
    views: Vec<View>,
    findings: Turns,
}

/// What stands within the brood reach of a lek in one year.
#[derive(Serialize)]
struct Grown {
    /// Mean height of open ground with heather, centimetres.
    heather_cm: Option<f64>,
    /// Mean age of heather whose age is known, years.
    heather_age_yr: Option<f64>,
    /// Share of the mapped ground under tree crowns, 0 to 1.
    under_crowns: Option<f64>,
    /// Mean height of open ground, heather included, centimetres.
    sward_cm: Option<f64>,
}

/// What stands within the brood reach of every lek told, by year.
fn grown(start: &Start, under: &Under, leks: &[usize]) -> Result<Vec<Vec<Grown>>, Fail> {
    let context = start.context();
    let (reach_m, heather) = (context.number("reach.brood_m")?, context.number("lek.heather_cover")? / 100.0);
    let painted: BTreeMap<usize, u32> = under.forecast.variant.painted.iter().map(|(cell, stand)| (*cell as usize, *stand)).collect();
    let layout = &start.base.layout;
    Ok(leks
        .iter()
        .map(|lek| {
            let mut ha: BTreeMap<usize, f64> = BTreeMap::new();
            context.each_cell_within(context.lek_at(*lek), reach_m, |cell| {
                let stand = painted.get(&cell).copied().unwrap_or(layout.stand_of.cells[cell]);
                if stand != habitat::layout::NO_STAND {
                    *ha.entry(stand as usize).or_default() += layout.frame.cell_ha();
                }
            });
            under.forecast.stands.iter().map(|stands| grown_of(stands, &ha, heather)).collect()
        })
        .collect())
}

/// Means over hectares of stands. `heather` is the cover from which ground counts as ground with heather.
fn grown_of(stands: &[Moving], ha: &BTreeMap<usize, f64>, heather: f64) -> Grown {
    let mean = |of: &dyn Fn(&Moving) -> Option<(f64, f64)>| {
        let parts: Vec<(f64, f64)> = ha.iter().filter_map(|(i, ha)| of(&stands[*i]).map(|(value, weight)| (value, weight * ha))).collect();
        let weight: f64 = parts.iter().map(|(_, w)| w).sum();
        (weight > 0.0).then(|| parts.iter().map(|(v, w)| v * w).sum::<f64>() / weight)
    };
    let cover = |m: &Moving| f64::from(m.stand.covers[Plant::Heather as usize]);
    let with_heather = |m: &Moving| !m.stand.wooded && cover(m) >= heather;
    Grown {
        heather_cm: mean(&|m| with_heather(m).then(|| (f64::from(m.stand.height_cm), 1.0))),
        heather_age_yr: mean(&|m| (with_heather(m) && m.heath.known).then(|| (f64::from(m.heath.age_yr), cover(m)))),
        under_crowns: mean(&|m| Some((if m.stand.wooded { f64::from(m.stand.canopy * (1.0 - m.stand.open)) } else { 0.0 }, 1.0))),
        sward_cm: mean(&|m| (!m.stand.wooded).then(|| (f64::from(m.stand.height_cm), 1.0))),
    }
}

/// The view of one lek by year.
#[derive(Serialize)]
struct View {
    lek: String,
    /// Share of the display disc in sight as surveyed, 0 to 1; `None` without heights.
    now: Option<f64>,
    /// Part of it whose loss is told, 0 to 1.
    lost_share: f64,
    /// First year told in which more than that part is lost.
    lost_by_year: Option<u32>,
}

fn views(start: &Start, under: &Under, leks: &[usize]) -> Result<Vec<View>, Fail> {
    let lost_share = start.context().number("rule.view.lost_share")?;
    let of = |lek: &usize| {
        let ledger = &start.base.assessment.leks[*lek];
        let now = ledger.ground.view_disc;
        let lost = |y: &LekYear| y.view_disc.zip(now).is_some_and(|(then, now)| then < now * (1.0 - lost_share));
        let lost_by_year = under.forecast.years.iter().find(|y| y.year > 0 && lost(&y.leks[*lek])).map(|y| y.year);
        View { lek: ledger.id.clone(), now, lost_share, lost_by_year }
    };
    Ok(leks.iter().map(of).collect())
}

/// A finding that appears or goes.
struct Turn {
    year: u32,
    comes: bool,
    finding: Finding,
}

/// Findings of the rules on what is there, as they appear and go by year; those on the survey itself are left out.
struct Turns {
    /// Findings as surveyed.
    now: usize,
    /// Findings in the last year told.
    last: usize,
    turns: Vec<Turn>,
}

impl Turns {
    fn of(start: &Start, under: &Under, leks: &[usize]) -> Result<Turns, Fail> {
        let told: BTreeSet<&str> = leks.iter().map(|l| start.base.assessment.leks[*l].id.as_str()).collect();
        let mine = |all: Vec<Finding>| -> Vec<Finding> {
            all.into_iter().filter(|f| !ON_SURVEY.contains(&f.rule) && f.lek.as_deref().is_none_or(|l| told.contains(l))).collect()
        };
        let mut before = mine(start.findings()?);
        let now = before.len();
        let mut turns = Vec::new();
        for (index, year) in under.forecast.years.iter().enumerate().filter(|(_, y)| y.year > 0) {
            let then = mine(under.findings(start, index)?);
            for (comes, from, to) in [(false, &then, &before), (true, &before, &then)] {
                let there: BTreeSet<_> = from.iter().map(same).collect();
                turns.extend(to.iter().filter(|f| !there.contains(&same(f))).map(|f| Turn { year: year.year, comes, finding: f.clone() }));
            }
            before = then;
        }
        Ok(Turns { now, last: before.len(), turns })
    }
}

/// Rules on the survey: years ahead nobody has surveyed yet, so what they say does not turn with the ground.
const ON_SURVEY: [&str; 2] = ["counts_old", "measurements_missing"];

/// What makes two findings of different years the same: the rule and what it says is wrong, not how far it goes or on which patches.
fn same(f: &Finding) -> (&'static str, Option<&str>, &str) {
    (f.rule, f.lek.as_deref(), &f.what)
}

impl Seen {
    /// For programs. Findings speak as they do where leks are withheld, unless leks are shown.
    pub fn json(&self, start: &Start, show_leks: bool) -> Result<Value, Fail> {
        let under = &self.under;
        let mut years = serde_json::to_value(&under.forecast.years).map_err(Fail::one)?;
        for (i, year) in years.as_array_mut().into_iter().flatten().enumerate() {
            let mut all = year["leks"].take();
            let leks: Result<Vec<Value>, Fail> = self
                .leks
                .iter()
                .zip(&self.grown)
                .map(|(lek, grown)| {
                    let mut one = all[*lek].take();
                    one["grown"] = serde_json::to_value(&grown[i]).map_err(Fail::one)?;
                    Ok(one)
                })
                .collect();
            year["leks"] = leks?.into();
        }
        let turns: Vec<Value> = self
            .findings
            .turns
            .iter()
            .map(|t| {
                let f = if show_leks { t.finding.clone() } else { t.finding.withheld() };
                json!({
                    "year": t.year, "change": if t.comes { "comes" } else { "goes" }, "rule": f.rule, "severity": f.severity,
                    "lek": f.lek, "what": f.what, "where": f.place, "value": f.value, "needed": f.needed,
                })
            })
            .collect();
        let base = &start.base;
        let mut evidence: Vec<&String> = base.assessment.evidence.iter().chain(&under.forecast.evidence).collect();
        evidence.sort();
        evidence.dedup();
        Ok(json!({
            "schema": "greyhen.ahead/1",
            "plan": start.holding.about.name,
            "option": under.option,
            "title": start.called(under.option),
            "cell_m": base.assessment.cell_m,
            "draws": base.settings.draws,
            "seed": base.settings.seed,
            "guidance_edition": base.assessment.guidance_edition,
            "leks_shown": show_leks,
            "years": years,
            "views": self.views,
            "findings": { "now": self.findings.now, "last": self.findings.last, "changes": turns },
            "faults": start.faults(under.option),
            "evidence": evidence,
            "notes": under.forecast.variant.notes,
        }))
    }

    /// For a terminal.
    fn text(&self, start: &Start) -> Result<String, Fail> {
        let under = &self.under;
        let years = &under.forecast.years;
        let a = &start.base.assessment;
        let mut out = vec![format!("Years ahead: {}", start.called(under.option))];
        out.push(format!("{}: {}, {} m cells, guidance {}", talk::name(&a.plan), talk::number(a.draws, "draw"), a.cell_m, a.guidance_edition));
        out.push("Supply over need by years from now, median; ! short in more than half the draws.".to_string());
        let head: Vec<String> = [String::new()].into_iter().chain(years.iter().map(|y| y.year.to_string())).collect();
        let head: Vec<&str> = head.iter().map(String::as_str).collect();
        let right: Vec<usize> = (1..head.len()).collect();
        for (n, lek) in self.leks.iter().enumerate() {
            let told: Vec<&LekYear> = years.iter().map(|y| &y.leks[*lek]).collect();
            out.push(format!("\n{}", talk::name(&told[0].name)));
            let mut rows: Vec<Vec<String>> = (0..told[0].seasons.len())
                .map(|s| {
                    let cell = |y: &&LekYear| format!("{:.2}{}", y.seasons[s].margin.p50, if y.seasons[s].short_fraction > 0.5 { "!" } else { " " });
                    [told[0].seasons[s].season.name().to_string()].into_iter().chain(told.iter().map(cell)).collect()
                })
                .collect();
            let shown = |what: &str, of: &dyn Fn(&Grown) -> Option<f64>, digits: usize| -> Vec<String> {
                let cell = |g: &Grown| of(g).map_or("-".to_string(), |v| format!("{v:.digits$} "));
                [what.to_string()].into_iter().chain(self.grown[n].iter().map(cell)).collect()
            };
            let in_sight = told.iter().map(|y| y.view_disc.map_or("-".to_string(), |v| format!("{:.0} ", 100.0 * v)));
            rows.push(["in sight %".to_string()].into_iter().chain(in_sight).collect());
            rows.push(shown("heather cm", &|g| g.heather_cm, 0));
            rows.push(shown("heather age yr", &|g| g.heather_age_yr, 0));
            rows.push(shown("under crowns %", &|g| g.under_crowns.map(|c| 100.0 * c), 1));
            rows.push(shown("sward cm", &|g| g.sward_cm, 0));
            out.push(talk::table(&head, &rows, &right));
            out.push(talk::wrapped(&format!("pinch: {}", runs(years.iter().zip(&told).map(|(y, l)| (y.year, l.pinch.name())))), 96, ""));
            out.push(talk::wrapped(&format!("view: {}", self.views[n].words(start)), 96, ""));
            if years.len() > 1 {
                out.push(format!("rise and fade, year {} to {}:", years[0].year, years[years.len() - 1].year));
                out.extend(curves(&years.iter().map(|y| y.year).collect::<Vec<_>>(), &told, blocks()));
            }
        }
        let reach = start.context().words("reach.brood_m")?;
        out.push(String::new());
        out.push(talk::wrapped(&format!("Heather, crowns and sward are means within {reach} of the lek: heights of open ground, heather of known age, mapped ground under tree crowns."), 96, ""));
        if years.len() > 1 {
            out.push(talk::wrapped("A curve is full at its season's highest margin, or at the need where that is more; one mark a year, straight between the years told.", 96, ""));
        }
        out.push(String::new());
        out.extend(self.findings.text(start));
        for fault in start.faults(under.option) {
            out.push(talk::wrapped(&format!("wrong in the option: {fault}"), 96, ""));
        }
        out.extend(under.forecast.variant.notes.iter().map(|n| talk::wrapped(&format!("note: {n}"), 96, "")));
        out.push("A forecast compares options on the same draws; it is never a promise.".to_string());
        Ok(out.join("\n"))
    }
}

impl View {
    fn words(&self, start: &Start) -> String {
        let part = format!("{:.0} %", 100.0 * self.lost_share);
        match (self.now, self.lost_by_year) {
            (None, _) => "not worked out, as the plan has no heights here".to_string(),
            (Some(now), _) if now <= 0.0 => "nothing of the ground round it in sight now".to_string(),
            (Some(now), Some(year)) => format!("{:.0} % of the ground round it in sight now; more than {part} of that is lost by {}", 100.0 * now, start.year_words(year)),
            (Some(now), None) => format!("{:.0} % of the ground round it in sight now; never more than {part} of that lost in the years told", 100.0 * now),
        }
    }
}

impl Turns {
    fn text(&self, start: &Start) -> Vec<String> {
        let mut out = vec![format!("Rules on the ground: {} as surveyed, {} in the last year told.", talk::number(self.now, "finding"), self.last)];
        if self.turns.is_empty() {
            out.push("None appears or goes in the years told.".to_string());
        }
        let mut last = None;
        for turn in &self.turns {
            if last != Some(turn.year) {
                out.push(format!("  {}", start.year_words(turn.year)));
                last = Some(turn.year);
            }
            let f = &turn.finding;
            let word = if turn.comes { "+ comes" } else { "- goes " };
            let told = talk::wrapped(&format!("{}: {} ({}) [{}]", f.severity.word().to_uppercase(), f.what, f.place, f.rule), 82, "            ");
            out.push(format!("    {word} {}", told.trim_start()));
        }
        out
    }
}

/// Words by year, runs of the same told once: `display to year 8, brood from year 10`.
fn runs<'a>(words: impl Iterator<Item = (u32, &'a str)>) -> String {
    let mut found: Vec<(&str, u32, u32)> = Vec::new();
    for (year, word) in words {
        match found.last_mut() {
            Some((same, _, to)) if *same == word => *to = year,
            _ => found.push((word, year, year)),
        }
    }
    match found.as_slice() {
        [(word, ..)] => format!("{word} in every year told"),
        _ => {
            let last = found.len() - 1;
            let part = |(i, (word, from, to)): (usize, &(&str, u32, u32))| match i {
                0 => format!("{word} to year {to}"),
                _ if i == last => format!("{word} from year {from}"),
                _ if from == to => format!("{word} in year {from}"),
                _ => format!("{word} year {from} to {to}"),
            };
            found.iter().enumerate().map(part).collect::<Vec<_>>().join(", ")
        }
    }
}

/// Marks of a curve, lowest first: blocks, or plain signs where the locale does not say UTF-8.
fn blocks() -> [char; 8] {
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"].iter().find_map(|v| std::env::var(v).ok().filter(|v| !v.is_empty())).unwrap_or_default().to_lowercase();
    if locale.contains("utf-8") || locale.contains("utf8") { ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'] } else { ['_', '.', '-', ':', '=', '+', '*', '#'] }
}

/// One line a season.
fn curves(years: &[u32], told: &[&LekYear], marks: [char; 8]) -> Vec<String> {
    (0..told[0].seasons.len())
        .map(|s| {
            let margin: Vec<f64> = told.iter().map(|y| y.seasons[s].margin.p50).collect();
            let top = margin.iter().copied().fold(1.0, f64::max);
            let line: String = (years[0]..=years[years.len() - 1]).map(|y| marks[((at(years, &margin, y) / top * 8.0).ceil() as usize).clamp(1, 8) - 1]).collect();
            let best = (0..margin.len()).fold(0, |best, i| if margin[i] > margin[best] { i } else { best });
            let (first, last) = (margin[0], margin[margin.len() - 1]);
            let peak = if best == 0 || best == margin.len() - 1 { String::new() } else { format!("{:.2} in year {}, ", margin[best], years[best]) };
            format!("  {:<10} {line}  {first:.2}, {peak}{last:.2} in year {}", told[0].seasons[s].season.name(), years[years.len() - 1])
        })
        .collect()
}

/// A value between the years told, by straight line.
fn at(years: &[u32], values: &[f64], year: u32) -> f64 {
    let i = years.partition_point(|y| *y <= year).clamp(1, years.len() - 1);
    let t = f64::from(year - years[i - 1]) / f64::from(years[i] - years[i - 1]);
    values[i - 1] + t * (values[i] - values[i - 1])
}
