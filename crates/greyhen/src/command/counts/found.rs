//! `greyhen counts FILE found`: what the visits and brood counts found, and what they probably missed.

use super::{certainty, level};
use crate::command::course::Start;
use crate::command::place_of;
use crate::fail::Fail;
use crate::talk;
use birds::detection::Interval;
use birds::found::{Found, LekYear, Repeated, Summer, found, hens_needed};
use birds::productivity::standard_error;
use birds::trend::words::share;
use guidance::Guidance;
use holding::{Holding, Lek};
use serde_json::{Value, json};
use std::path::Path;

/// Settings.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen counts hill.gpkg found
  greyhen counts hill.gpkg found --lek L1 --year 2026")]
pub struct Finds {
    /// Only this lek, by id or name
    #[arg(long, value_name = "LEK")]
    lek: Option<String>,
    /// Only this year
    #[arg(long, value_name = "YEAR")]
    year: Option<i32>,
    /// Certainty of limits, per cent; as in guidance (trend.certainty) when left out
    #[arg(long, value_name = "PERCENT", value_parser = certainty)]
    certainty: Option<f64>,
    /// Seed of the draws of the break-even
    #[arg(long, default_value_t = 1, value_parser = crate::seed)]
    seed: u64,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// Draws of the break-even.
const DRAWS: usize = 400;

/// What the visits of a plan found, as usual, for programs.
pub fn document(start: &Start) -> Result<Value, Fail> {
    let usual = Finds { lek: None, year: None, certainty: None, seed: start.base.settings.seed, json: true };
    let (all, asked) = usual.find(&start.holding, &start.guidance)?;
    Ok(json_of(&all, &asked, &start.holding, &start.guidance))
}

impl Finds {
    /// Run it.
    pub fn run(&self, path: &Path) -> Result<(), Fail> {
        let guidance = super::super::tables()?;
        let working = talk::Working::on("reading the plan");
        let holding = super::plan(path, "found")?;
        working.now("weighing the visits");
        let (all, asked) = self.find(&holding, &guidance)?;
        drop(working);
        if self.json {
            talk::print_json(&json_of(&all, &asked, &holding, &guidance));
        } else {
            talk::print(&text(&all, &asked, &holding, &guidance)?);
        }
        Ok(())
    }

    /// What the visits and brood counts found.
    fn find<'a>(&self, holding: &'a Holding, guidance: &Guidance) -> Result<(Found, Asked<'a>), Fail> {
        let lek = self.lek.as_deref().map(|said| super::lek(holding, said)).transpose()?;
        let level = level(self.certainty, guidance, holding.about.country)?;
        let draws = guidance.draws(self.seed, DRAWS, holding.about.country);
        let asked = Asked { lek, year: self.year, level };
        let mut all = match lek {
            Some(lek) => found(&only(holding, lek), guidance, &draws, place_of(holding), level)?,
            None => found(holding, guidance, &draws, place_of(holding), level)?,
        };
        all.leks.retain(|l| self.year.is_none_or(|year| year == l.figure.year));
        all.repeated.retain(|r| self.year.is_none_or(|year| r.year.is_none_or(|y| y == year)));
        all.summers.retain(|s| self.year.is_none_or(|year| s.year == Some(year)));
        Ok((all, asked))
    }
}

/// What was asked about.
struct Asked<'a> {
    lek: Option<&'a Lek>,
    year: Option<i32>,
    level: f64,
}

impl Asked<'_> {
    /// Of what: ` of Quarlow Top in 2026`, or nothing where all was asked.
    fn of(&self) -> String {
        let lek = self.lek.map_or(String::new(), |lek| format!(" of {}", talk::name(lek.called())));
        lek + &self.year.map_or(String::new(), |year| format!(" in {year}"))
    }
}

/// A plan with one lek alone, its visits, and the brood counts held to belong to it.
fn only(holding: &Holding, lek: &Lek) -> Holding {
    let mut one = holding.clone();
    one.leks.retain(|l| l.id == lek.id);
    one.visits.retain(|v| v.lek == lek.id);
    one.broods.retain(|b| b.lek == lek.id);
    one
}

fn json_of(all: &Found, asked: &Asked, holding: &Holding, guidance: &Guidance) -> Value {
    let level = asked.level;
    let leks: Vec<Value> = all
        .leks
        .iter()
        .map(|l| {
            let f = &l.figure;
            json!({
                "lek": l.lek, "year": f.year, "visits": f.visits, "valid": f.valid, "cocks": f.cocks,
                "refused": f.refused.iter().map(|(id, why)| json!({"visit": id, "why": why.to_string()})).collect::<Vec<_>>(),
                "probably": l.cocks.as_ref().and_then(|c| c.as_ref().ok()), "missed": l.missed(),
                "not_told": l.cocks.as_ref().and_then(|c| c.as_ref().err()).map(ToString::to_string),
            })
        })
        .collect();
    let repeated: Vec<Value> = all
        .repeated
        .iter()
        .map(|r| {
            let fit = r.fit.as_ref().ok();
            json!({
                "year": r.year, "places": r.places, "cocks_a_lek": fit.map(|f| f.mean(level)), "chance_a_visit": fit.map(|f| f.chance(level)),
                "refused": r.fit.as_ref().err().map(ToString::to_string),
            })
        })
        .collect();
    let summers: Vec<Value> = all
        .summers
        .iter()
        .map(|s| {
            let found = s.found.as_ref().ok();
            json!({
                "year": s.year, "counts": s.counts, "unfit": s.unfit, "out_of_season": s.out_of_season.len(), "days_out_of_season": s.out_of_season, "found": found,
                "with_broods_alone": s.with_broods_alone,
                "wrong": s.found.as_ref().err().map(|f| f.iter().map(ToString::to_string).collect::<Vec<_>>()),
                "standing": s.verdict.map(|v| v.standing), "above": s.verdict.filter(|v| !v.too_few_hens()).map(|v| v.above), "verdict": s.verdict.map(|v| v.to_string()),
            })
        })
        .collect();
    json!({
        "schema": "greyhen.counts.found/1", "plan": holding.about.name, "guidance_edition": guidance.edition(), "level": level, "of_lek": asked.lek.map(|l| &l.id), "of_year": asked.year,
        "attendance": all.attendance, "leks": leks, "repeated": repeated, "broods": summers, "break_even": all.break_even,
    })
}

fn text(all: &Found, asked: &Asked, holding: &Holding, guidance: &Guidance) -> Result<String, Fail> {
    let level = asked.level;
    let mut parts = Vec::new();
    if all.leks.is_empty() && !holding.visits.is_empty() {
        parts.push(format!("No dawn visit{}; the plan has {} in all.", asked.of(), talk::number(holding.visits.len(), "visit")));
    } else if all.leks.is_empty() {
        parts.push("No dawn visit. Bring some in: greyhen counts FILE import SOURCE, or greyhen counts FILE add visit".to_string());
    } else {
        let rows: Vec<Vec<String>> = all.leks.iter().map(|l| row(l, holding)).collect();
        let a = all.attendance;
        parts.push(format!(
            "{}{}\n{}",
            talk::table(&["lek", "year", "visits", "valid", "cocks", "probably", "missed"], &rows, &[1, 2, 3, 4]),
            if all.leks.iter().any(|l| !l.figure.refused.is_empty()) { "\nWhy visits are not valid: greyhen counts FILE list" } else { "" },
            talk::wrapped(
                &format!(
                    "Probably: the cocks the lek had, {} limits, by how cocks come to a lek in April: each there with a chance of {}, and not each on its own (correlation {:.1}, an assumption). Cocks that never came are in no count.",
                    share(level),
                    share(a.chance),
                    a.correlation
                ),
                100,
                ""
            )
        ));
    }
    if !all.leks.is_empty() {
        parts.extend(repeated(&all.repeated, asked));
    }
    parts.extend(all.summers.iter().map(|s| summer(s, asked)));
    if all.summers.is_empty() && !holding.broods.is_empty() {
        parts.push(format!("No brood count{}; the plan has {} in all.", asked.of(), talk::number(holding.broods.len(), "brood count")));
    }
    if !all.summers.is_empty() {
        let each = all.summers.iter().filter_map(|s| Some((s.year?, s.found.as_ref().ok()?.hens)));
        let here = each.map(|(year, hens)| format!("{} of {year} {:.0}", talk::number(hens as usize, "hen"), 100.0 * standard_error(0.5, hens)));
        let wanted = hens_needed(guidance, holding.about.country)?.into_iter().map(|(hens, error)| format!("{hens:.0} hens {error:.0}"));
        let hens: Vec<String> = here.chain(wanted).collect();
        parts.push(talk::wrapped(&format!("How well a share of a half is known, one standard error in points: {}.", hens.join(", ")), 100, ""));
    }
    Ok(parts.join("\n\n"))
}

fn row(l: &LekYear, holding: &Holding) -> Vec<String> {
    let name = holding.leks.iter().find(|lek| lek.id == l.lek).map_or(l.lek.as_str(), Lek::called);
    let f = &l.figure;
    let probably = match &l.cocks {
        Some(Ok(c)) => format!("{:.0} ({} to {})", c.mean, c.low, c.high),
        Some(Err(why)) => why.to_string(),
        None => "-".to_string(),
    };
    let missed = l.missed().map_or("-".to_string(), |m| format!("{:.0} % ({:.0} to {:.0})", 100.0 * m.value, 100.0 * m.low, 100.0 * m.high));
    let cocks = f.cocks.map_or("-".to_string(), |c| c.to_string());
    vec![talk::name(name), f.year.to_string(), f.visits.to_string(), f.valid.to_string(), cocks, probably, missed]
}

/// What repeated visits tell: all years together, and the years that told something.
fn repeated(all: &[Repeated], asked: &Asked) -> Option<String> {
    let level = asked.level;
    let together = all.iter().find(|r| r.year.is_none())?;
    let told = |r: &Repeated| {
        r.fit.as_ref().ok().map(|f| (between(&f.mean(level), 1), f.chance(level))).map(|(cocks, chance)| {
            format!("{cocks} cocks a lek; a visit shows a cock with a chance of {:.0} % ({:.0} to {:.0})", 100.0 * chance.value, 100.0 * chance.low, 100.0 * chance.high)
        })
    };
    let mut said = format!(
        "Repeated visits {} alone, of all years, without any figure taken for granted ({}): ",
        asked.lek.map_or("of all leks".to_string(), |lek| format!("of {}", talk::name(lek.called()))),
        if asked.lek.is_some() { talk::number(together.places, "year") } else { talk::number(together.places, "lek and year").replace("lek and years", "leks and years") }
    );
    said.push_str(&match (&together.fit, told(together)) {
        (_, Some(told)) => format!("{told}, {} limits. Leks and years are taken as places of their own, and the chance as the same at all. The table above does not use it but the chance of guidance: few visits tell it badly, and it knows nothing of cocks that never come.", share(level)),
        (Err(why), _) => format!("refused: {why}."),
        (Ok(_), None) => String::new(),
    });
    let years: Vec<&Repeated> = all.iter().filter(|r| r.year.is_some()).collect();
    let fitted: Vec<String> = years.iter().filter_map(|r| Some(format!("{}: {}", r.year?, told(r)?))).collect();
    if fitted.is_empty() {
        said.push_str(" No year alone tells it.");
    } else {
        said.push_str(&format!(" {}.", fitted.join(". ")));
    }
    Some(talk::wrapped(&said, 100, ""))
}

fn between(i: &Interval, digits: usize) -> String {
    format!("{:.digits$} ({:.digits$} to {:.digits$})", i.value, i.low, i.high)
}

fn summer(s: &Summer, asked: &Asked) -> String {
    let level = asked.level;
    let of = asked.lek.map_or(String::new(), |lek| format!(", those of {} alone", talk::name(lek.called())));
    let when = s.year.map_or(format!("All summers together{of}"), |y| format!("Broods of {y}{of}"));
    let mut said = match &s.found {
        Ok(p) => {
            let mut said = format!("{when}: {} of {}, {} young per hen", talk::number(p.young as usize, "young").replace("youngs", "young"), talk::number(p.hens as usize, "hen"), between(&p.widened, 1));
            if let Some(with) = &p.with_broods {
                said.push_str(&format!("; hens with broods {:.0} % ({:.0} to {:.0})", 100.0 * with.value, 100.0 * with.low, 100.0 * with.high));
            }
            said.push_str(&format!(" ({} limits, exact", share(level)));
            said.push_str(&p.dispersion.map_or(")".to_string(), |d| format!("; {d})")));
            said.push('.');
            if let Some(verdict) = &s.verdict {
                said.push_str(&format!(" Verdict: {verdict}."));
            }
            said
        }
        Err(wrong) => {
            let wrong: Vec<String> = wrong.iter().map(ToString::to_string).collect();
            let mut said = format!("{when}: no young per hen: {}.", wrong.join("; "));
            if let Some(with) = &s.with_broods_alone {
                said.push_str(&format!(" Hens with broods: {:.0} % ({:.0} to {:.0}).", 100.0 * with.value, 100.0 * with.low, 100.0 * with.high));
            }
            said
        }
    };
    if s.unfit > 0 {
        said.push_str(&format!(" {} without a number of hens or of young left out.", talk::number(s.unfit, "count")));
    }
    if !s.out_of_season.is_empty() {
        said.push_str(&format!(
            " {} made outside the season of brood counts left out ({}): young may be too small to be found, or gone their own way.",
            talk::number(s.out_of_season.len(), "count"),
            birds::dawns::words::days(&s.out_of_season)
        ));
    }
    talk::wrapped(&said, 100, "")
}
