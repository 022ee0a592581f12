//! `greyhen counts FILE list`: the dawn visits and brood counts of a plan, and whether each counts.

use crate::command::place_of;
use crate::fail::Fail;
use crate::talk;
use birds::visits::Window;
use chrono::Datelike;
use guidance::Guidance;
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
        let window = Window::of(&guidance, holding.about.country)?;
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
                    "id": v.id, "lek": v.lek, "date": v.date, "known_to": v.known_to, "start": v.start, "cocks": v.cocks, "hens": v.hens, "observer": v.observer,
                    "weather": note(&v.weather), "wind_beaufort": v.wind_beaufort, "rain": v.rain, "note": note(&v.note), "kept": kept(&v.extra), "why_not": why_not(v, &holding, &window),
                }));
            }
            let counts: Vec<Value> = broods
                .iter()
                .map(|b| {
                    json!({
                        "id": b.id, "date": b.date, "lek": b.lek, "hens": b.hens, "with_broods": b.hens_with_brood, "young": b.young, "dogs": b.dogs,
                        "observer": b.observer, "note": note(&b.note), "kept": kept(&b.extra),
                    })
                })
                .collect();
            talk::print_json(&json!({
                "schema": "greyhen.counts.list/1", "plan": holding.about.name, "guidance_edition": guidance.edition(), "withheld": !self.show_leks, "visits": items, "broods": counts,
            }));
            return Ok(());
        }
        if visits.is_empty() && broods.is_empty() {
            talk::print("No visit and no brood count. Bring some in: greyhen counts FILE import SOURCE, or greyhen counts FILE add visit");
            return Ok(());
        }
        let number = |n: Option<u32>| n.map_or("-".to_string(), |n| n.to_string());
        if !visits.is_empty() {
            let mut rows = Vec::new();
            for v in visits {
                let start = v.start.map_or("-".to_string(), |t| t.format("%H:%M").to_string());
                let why = why_not(v, &holding, &window).map_or(if v.start.is_none() { "yes, taken as in hours" } else { "yes" }.to_string(), |why| format!("no: {why}"));
                rows.push(vec![talk::name(&v.id), lek_name(&holding, &v.lek), day(v), start, number(v.cocks), number(v.hens), talk::name(&v.observer), why]);
            }
            talk::print(&talk::table(&["visit", "lek", "day", "start", "cocks", "hens", "observer", "counts"], &rows, &[4, 5]));
        }
        if !broods.is_empty() {
            let row = |b: &&BroodCount| {
                let of = if b.lek.is_empty() { "-".to_string() } else { lek_name(&holding, &b.lek) };
                vec![talk::name(&b.id), b.date.to_string(), of, number(b.hens), number(b.hens_with_brood), number(b.young), talk::name(&b.observer)]
            };
            talk::print(&talk::table(&["broods", "day", "lek", "hens", "with broods", "young", "observer"], &broods.iter().map(row).collect::<Vec<_>>(), &[3, 4, 5]));
        }
        Ok(())
    }
}

/// Why a visit does not count; `None` where it does.
fn why_not(visit: &Visit, holding: &Holding, window: &Window) -> Option<String> {
    let Some(lek) = holding.leks.iter().find(|l| l.id == visit.lek) else { return Some("its lek is not in the plan".to_string()) };
    window.check(visit, place_of(holding)(lek)).err().map(|why| why.to_string())
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
    let valid = why_not(visit, holding, &Window::of(guidance, holding.about.country)?).map_or("it counts".to_string(), |why| format!("it does not count: {why}"));
    Ok(format!("{}: {}, {}{start}, {cocks}{hens}{rain}; {valid}", talk::name(&visit.id), lek_name(holding, &visit.lek), day(visit)))
}

/// A brood count in words.
pub fn brood_words(count: &BroodCount, holding: &Holding) -> String {
    let number = |n: Option<u32>, one: &str| n.map_or(format!("no number of {one}s"), |n| talk::number(n as usize, one));
    let of = if count.lek.is_empty() { String::new() } else { format!(", {}", lek_name(holding, &count.lek)) };
    let young = count.young.map_or("no number of young".to_string(), |n| format!("{n} young"));
    let with = count.hens_with_brood.map_or(String::new(), |n| format!(", {n} of them with a brood"));
    format!("{}: {}{of}, {}{with}, {young}", talk::name(&count.id), count.date, number(count.hens, "hen"))
}
