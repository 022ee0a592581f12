//! `greyhen counts FILE list`: the dawn visits and brood counts of a plan, and whether each counts.

use crate::command::place_of;
use crate::fail::Fail;
use crate::talk;
use birds::found::{brood_season, in_season};
use birds::visits::{Window, refused};
use chrono::{Datelike, NaiveDate};
use guidance::Guidance;
use handover::secrecy::Secrecy;
use holding::{BroodCount, Extra, Holding, KnownTo, Lek, Visit, Word};
use serde_json::{Value, json};
use std::path::Path;

/// Settings.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen counts hill.gpkg list --year 2026
  greyhen counts hill.gpkg list --lek L1 --show-leks --json")]
pub struct List {
    /// Only this lek, by id or name
    #[arg(long, value_name = "LEK")]
    lek: Option<String>,
    /// Only this year
    #[arg(long, value_name = "YEAR")]
    year: Option<i32>,
    /// Give notes and kept columns too, which may tell where a lek is
    #[arg(long)]
    show_leks: bool,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

impl List {
    /// Run it.
    pub fn run(&self, path: &Path) -> Result<(), Fail> {
        let holding = super::plan(path, "list")?;
        let guidance = super::super::tables()?;
        let country = holding.about.country;
        let window = Window::of(&guidance, country)?;
        let season = brood_season(&guidance, country)?;
        let refused = refused(&holding, &window, place_of(&holding));
        let secrecy = Secrecy::new(&holding, self.show_leks);
        let lek = self.lek.as_deref().map(|said| super::lek(&holding, said)).transpose()?;
        let wanted = |of: &str, year: i32| lek.is_none_or(|l| l.id == of) && self.year.is_none_or(|y| y == year);
        let mut visits: Vec<&Visit> = holding.visits.iter().filter(|v| wanted(&v.lek, v.date.year())).collect();
        visits.sort_by(|a, b| (a.date, a.start, &a.id).cmp(&(b.date, b.start, &b.id)));
        let mut broods: Vec<&BroodCount> = holding.broods.iter().filter(|b| wanted(&b.lek, b.date.year())).collect();
        broods.sort_by(|a, b| (a.date, &a.id).cmp(&(b.date, &b.id)));
        // Notes and columns kept as they came are free text: positions and directions stand in them.
        let note = |said: &str| if self.show_leks || said.is_empty() { json!(said) } else { Value::Null };
        let kept = |extra: &Extra| if self.show_leks || extra.is_empty() { json!(extra) } else { Value::Null };
        if self.json {
            let mut items = Vec::new();
            for v in visits {
                items.push(json!({
                    "id": v.id, "lek": v.lek, "date": v.date, "known_to": v.known_to, "start": v.start, "cocks": v.cocks, "hens": v.hens, "observer": secrecy.words(&v.observer),
                    "weather": note(&v.weather), "wind_beaufort": v.wind_beaufort, "rain": v.rain, "note": note(&v.note), "kept": kept(&v.extra), "why_not": refused.get(v.id.as_str()),
                }));
            }
            let counts: Vec<Value> = broods
                .iter()
                .map(|b| {
                    json!({
                        "id": b.id, "date": b.date, "lek": b.lek, "hens": b.hens, "with_broods": b.hens_with_brood, "young": b.young, "dogs": b.dogs,
                        "observer": secrecy.words(&b.observer), "note": note(&b.note), "kept": kept(&b.extra), "why_not": left_out(b, season),
                    })
                })
                .collect();
            talk::print_json(&json!({
                "schema": "greyhen.counts.list/1", "plan": holding.about.name, "guidance_edition": guidance.edition(), "withheld": !self.show_leks, "visits": items, "broods": counts,
            }));
            return Ok(());
        }
        if visits.is_empty() && broods.is_empty() && !(holding.visits.is_empty() && holding.broods.is_empty()) {
            let of = lek.map_or(String::new(), |lek| format!(" of {}", talk::name(lek.called()))) + &self.year.map_or(String::new(), |year| format!(" in {year}"));
            let there = [talk::number(holding.visits.len(), "visit"), talk::number(holding.broods.len(), "brood count")].join(" and ");
            talk::print(&format!("No visit and no brood count{of}; the plan has {there} in all."));
            return Ok(());
        }
        if visits.is_empty() && broods.is_empty() {
            talk::print("No visit and no brood count. Bring some in: greyhen counts FILE import SOURCE, or greyhen counts FILE add visit");
            return Ok(());
        }
        let number = |n: Option<u32>| n.map_or("-".to_string(), |n| n.to_string());
        let who = |said: &str| talk::name(&secrecy.words(said));
        let mut reasons = Reasons::default();
        if !visits.is_empty() {
            let mut rows = Vec::new();
            for v in &visits {
                let start = v.start.map_or("-".to_string(), |t| t.format("%H:%M").to_string());
                let counts = match refused.get(v.id.as_str()) {
                    Some(why) => format!("no ({})", reasons.number(why)),
                    None if v.start.is_none() => format!("yes ({})", reasons.number(NO_START)),
                    None => "yes".to_string(),
                };
                rows.push(vec![talk::name(&v.id), lek_name(&holding, &v.lek), day(v), start, number(v.cocks), number(v.hens), who(&v.observer), counts]);
            }
            talk::print(&talk::table(&["visit", "lek", "day", "start", "cocks", "hens", "observer", "counts"], &rows, &[4, 5]));
        }
        if !broods.is_empty() {
            let mut rows = Vec::new();
            for b in &broods {
                let of = if b.lek.is_empty() { "-".to_string() } else { lek_name(&holding, &b.lek) };
                let counts = left_out(b, season).map_or("yes".to_string(), |why| format!("no ({})", reasons.number(&why)));
                rows.push(vec![talk::name(&b.id), of, b.date.to_string(), number(b.hens), number(b.hens_with_brood), number(b.young), who(&b.observer), counts]);
            }
            talk::print(&talk::table(&["broods", "lek", "day", "hens", "with broods", "young", "observer", "counts"], &rows, &[3, 4, 5]));
        }
        let numbered = |(place, why): (usize, &String)| talk::wrapped(&format!("({}) {why}", place + 1), 100, "");
        reasons.0.iter().enumerate().map(numbered).for_each(|line| talk::print(&line));
        let remarks: Vec<Remark> = visits.iter().map(|v| Remark::of_visit(v)).chain(broods.iter().map(|b| Remark::of_broods(b))).collect();
        if self.show_leks {
            remarks.iter().filter_map(Remark::words).for_each(|line| talk::print(&line));
        } else if let Some(withheld) = withheld(&remarks) {
            talk::print(&talk::wrapped(&withheld, 100, ""));
        }
        Ok(())
    }
}

/// What is said of a visit without a start.
const NO_START: &str = "no start was written down: taken as in the hours of counting";

/// What was written beside a count, and what was kept of its row.
struct Remark<'a> {
    id: &'a str,
    weather: &'a str,
    note: &'a str,
    kept: &'a Extra,
}

impl<'a> Remark<'a> {
    fn of_visit(v: &'a Visit) -> Self {
        Self { id: &v.id, weather: &v.weather, note: &v.note, kept: &v.extra }
    }

    fn of_broods(b: &'a BroodCount) -> Self {
        Self { id: &b.id, weather: "", note: &b.note, kept: &b.extra }
    }

    /// In words; `None` where nothing was written.
    fn words(&self) -> Option<String> {
        let kept = self.kept.iter().map(|(column, value)| format!("{column}: {}", value.as_str().map_or_else(|| value.to_string(), str::to_owned)));
        let all: Vec<String> = [self.weather, self.note].into_iter().filter(|s| !s.is_empty()).map(str::to_owned).chain(kept).collect();
        (!all.is_empty()).then(|| talk::wrapped(&format!("{}: {}", talk::name(self.id), all.join("; ")), 100, ""))
    }
}

/// What is withheld, each kind with beside how many counts it stands; `None` where nothing was written.
fn withheld(remarks: &[Remark]) -> Option<String> {
    let beside = |what: &str, is: &dyn Fn(&Remark) -> bool| {
        let counts = remarks.iter().filter(|r| is(r)).count();
        (counts > 0).then(|| format!("{what} beside {}", talk::number(counts, "count")))
    };
    let all = [
        beside("notes", &|r| !r.note.is_empty()),
        beside("columns kept from files", &|r| !r.kept.is_empty()),
        beside("weather", &|r| !r.weather.is_empty()),
    ];
    let all: Vec<String> = all.into_iter().flatten().collect();
    (!all.is_empty()).then(|| format!("Withheld, as they may tell where a lek is (--show-leks gives them): {}.", all.join(", ")))
}

/// Reasons told below a table, each once, by number.
#[derive(Default)]
struct Reasons(Vec<String>);

impl Reasons {
    /// The number of a reason.
    fn number(&mut self, why: &str) -> usize {
        let known = self.0.iter().position(|w| w == why);
        let place = known.unwrap_or_else(|| {
            self.0.push(why.to_string());
            self.0.len() - 1
        });
        place + 1
    }
}

/// Why a brood count is left out of the young per hen; `None` where it is not.
fn left_out(count: &BroodCount, [first, last]: [(u32, u32); 2]) -> Option<String> {
    let day = |(month, day)| NaiveDate::from_ymd_opt(count.date.year(), month, day).map_or(String::new(), |d| d.format("%-d %B").to_string());
    match (count.hens, count.young) {
        _ if !in_season(count, [first, last]) => Some(format!("outside the season of brood counts, {} to {}", day(first), day(last))),
        (None, None) => Some("no number of hens and none of young was written down".to_string()),
        (None, _) => Some("no number of hens was written down".to_string()),
        (_, None) => Some("no number of young was written down".to_string()),
        _ => None,
    }
}

fn lek_name(holding: &Holding, id: &str) -> String {
    talk::name(holding.leks.iter().find(|l| l.id == id).map_or(id, Lek::called))
}

fn day(visit: &Visit) -> String {
    match visit.known_to {
        KnownTo::Day => visit.date.to_string(),
        KnownTo::Month => visit.date.format("%Y-%m").to_string(),
        KnownTo::Year => visit.date.year().to_string(),
    }
}

/// A visit in words, and whether it counts.
pub fn visit_words(visit: &Visit, holding: &Holding, guidance: &Guidance) -> Result<String, Fail> {
    let start = visit.start.map_or(String::new(), |t| format!(" from {}", t.format("%H:%M")));
    let cocks = visit.cocks.map_or("no number of cocks".to_string(), |n| talk::number(n as usize, "cock"));
    let hens = visit.hens.map_or(String::new(), |n| format!(", {}", talk::number(n as usize, "hen")));
    let rain = visit.rain.map_or(String::new(), |r| format!(", rain: {}", r.word()));
    // As it stands among the others, which may be of the same dawn.
    let mut among = holding.clone();
    among.visits.retain(|v| v.id != visit.id);
    among.visits.push(visit.clone());
    let refused = refused(&among, &Window::of(guidance, holding.about.country)?, place_of(&among));
    let valid = refused.get(visit.id.as_str()).map_or("it counts".to_string(), |why| format!("it does not count: {why}"));
    Ok(format!("{}: {}, {}{start}, {cocks}{hens}{rain}; {valid}", talk::name(&visit.id), lek_name(holding, &visit.lek), day(visit)))
}

/// A brood count in words.
pub fn brood_words(count: &BroodCount, holding: &Holding, guidance: &Guidance) -> Result<String, Fail> {
    let number = |n: Option<u32>, one: &str| n.map_or(format!("no number of {one}s"), |n| talk::number(n as usize, one));
    let of = if count.lek.is_empty() { String::new() } else { format!(", {}", lek_name(holding, &count.lek)) };
    let young = count.young.map_or("no number of young".to_string(), |n| format!("{n} young"));
    let with = count.hens_with_brood.map_or(String::new(), |n| format!(", {n} of them with a brood"));
    let season = brood_season(guidance, holding.about.country)?;
    let left = left_out(count, season).map_or(String::new(), |why| format!("; left out of the young per hen: {why}"));
    Ok(format!("{}: {}{of}, {}{with}, {young}{left}", talk::name(&count.id), count.date, number(count.hens, "hen")))
}
