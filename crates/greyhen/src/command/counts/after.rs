//! `greyhen counts FILE after`: what became of the leks whose ground was worked, and what cannot be concluded.

use super::{certainty, level};
use crate::command::course::Start;
use crate::command::place_of;
use crate::fail::Fail;
use crate::talk;
use birds::after::{Ask, Expected, Lek, Period, ReadOut, Scatter, Work, read_out};
use birds::counts::YearTable;
use birds::detection::Interval;
use birds::trend::table::Table;
use birds::trend::{self, trend};
use birds::visits::of_every_lek;
use geo::{Distance, Euclidean};
use guidance::Guidance;
use habitat::Assessed;
use handover::planned;
use holding::{Holding, Measure};
use measures::kind;
use measures::rules::Context;
use measures::secrecy::{BAND_ENDS_M, distance_band};
use serde_json::{Value, json};
use std::path::Path;

/// Settings of a read-out.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen measure hill.gpkg done wood-1 --year 2024
  greyhen counts hill.gpkg after
  greyhen counts hill.gpkg after --expected 1.3:1-1.8")]
pub struct After {
    /// Only this lek, by id or name; all leks without work are still the comparison
    #[arg(long, value_name = "LEK")]
    lek: Option<String>,
    /// Work of this option only
    #[arg(long, value_name = "NUMBER")]
    option: Option<u32>,
    /// How near a lek work is held to be done for it, metres; the reach of broods when left out
    #[arg(long, value_name = "METRES", value_parser = metres)]
    within: Option<f64>,
    /// Cocks after as a multiple of those before that the plan led to expect, with its limits: 1.5 or 1.5:1.1-2
    #[arg(long, value_name = "TIMES[:FROM-TO]", value_parser = expected)]
    expected: Option<Interval>,
    /// Certainty of limits, per cent; as in guidance (trend.certainty) when left out
    #[arg(long, value_name = "PERCENT", value_parser = certainty)]
    certainty: Option<f64>,
    /// Power at which a change counts as one that would be seen, per cent; as in guidance (trend.power) when left out
    #[arg(long, value_name = "PERCENT", value_parser = certainty)]
    power: Option<f64>,
    /// Tell how far work lies from leks exactly; otherwise in bands
    #[arg(long)]
    show_leks: bool,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

fn metres(text: &str) -> Result<f64, String> {
    text.parse().ok().filter(|m: &f64| *m > 0.0 && m.is_finite()).ok_or_else(|| "needed metres above 0, such as 1500".to_string())
}

/// A larger multiple is a slip of the keys.
const TIMES_MOST: f64 = 100.0;

fn expected(text: &str) -> Result<Interval, String> {
    let number = |t: &str| t.trim().parse::<f64>().ok().filter(|v| *v > 0.0 && *v <= TIMES_MOST);
    let whole = match text.split_once(':') {
        None => number(text).map(|value| Interval { value, low: value, high: value }),
        Some((value, limits)) => limits
            .split_once('-')
            .and_then(|(low, high)| Some(Interval { value: number(value)?, low: number(low)?, high: number(high)? }))
            .filter(|i| i.low <= i.value && i.value <= i.high),
    };
    whole.ok_or_else(|| format!("needed a multiple above 0 and up to {TIMES_MOST:.0}, such as 1.5, or with its limits about it, such as 1.5:1.1-2"))
}

/// Everything the read-out stands on.
struct Asked {
    leks: Vec<Lek>,
    ask: Ask,
    within_m: f64,
    /// Measures of the plan not noted as done.
    not_done: usize,
    /// Those done but near no lek.
    far: Vec<String>,
}

/// The read-outs of a plan as they are told when nothing is asked, and how to read them; `None` where no measure is noted as done.
///
/// # Errors
/// A figure that is missing, a measure of no known kind.
pub fn of_plan(holding: &Holding, guidance: &Guidance, assessed: &Assessed) -> Result<Option<(Vec<ReadOut>, Ask)>, Fail> {
    if !holding.measures.iter().any(|m| kind::done(m).is_some()) {
        return Ok(None);
    }
    let asked = After::usual().gather(holding, guidance, Some(assessed))?;
    Ok(Some((read_out(&asked.leks, &asked.ask), asked.ask)))
}

/// The read-outs of a plan as usual, for programs, leks shown.
pub fn document(start: &Start) -> Result<Value, Fail> {
    let asked = After::usual().gather(&start.holding, &start.guidance, Some(&start.base))?;
    Ok(asked.json(&read_out(&asked.leks, &asked.ask), &start.holding, &start.guidance, true))
}

impl After {
    /// As when nothing is said.
    fn usual() -> After {
        After { lek: None, option: None, within: None, expected: None, certainty: None, power: None, show_leks: false, json: false }
    }

    /// Run it.
    pub fn run(&self, path: &Path) -> Result<(), Fail> {
        if let Some(within_m) = self.within.filter(|m| !self.show_leks && !BAND_ENDS_M.contains(m)) {
            return Err(Fail::one(format!(
                "--within {within_m}: needed without --show-leks: one of {}, as any other can be moved until it tells how far work lies from a lek. Hint: --show-leks, for who may know",
                BAND_ENDS_M.map(|m| m.to_string()).join(", ")
            )));
        }
        let guidance = super::super::tables()?;
        let working = talk::Working::on("reading the plan");
        let holding = super::plan(path, "after")?;
        if let Some(number) = self.option {
            super::super::option::find(&holding, number).map_err(Fail::one)?;
        }
        let wanted = self.lek.as_deref().map(|said| super::lek(&holding, said)).transpose()?.map(holding::Lek::called);
        working.now("looking at the ground");
        let asked = self.gather(&holding, &guidance, None)?;
        let outs: Vec<ReadOut> = read_out(&asked.leks, &asked.ask).into_iter().filter(|o| wanted.is_none_or(|w| *w == o.lek)).collect();
        drop(working);
        if self.json {
            talk::print_json(&asked.json(&outs, &holding, &guidance, self.show_leks));
            return Ok(());
        }
        talk::print(&text(&outs, &asked, &holding, wanted, self.show_leks));
        Ok(())
    }

    /// The leks with what was done at each. `assessed`: the ground, where it is worked out already.
    fn gather(&self, holding: &Holding, guidance: &Guidance, assessed: Option<&Assessed>) -> Result<Asked, Fail> {
        let country = holding.about.country;
        let number = |key: &str| guidance.number(key, country);
        let within_m = self.within.map_or_else(|| number("reach.brood_m"), Ok)?;
        let figures = of_every_lek(holding, guidance, place_of(holding))?;
        let table = Table::of_years(&YearTable::of_figures(holding, &figures));
        let of_option: Vec<&Measure> = holding.measures.iter().filter(|m| self.option.is_none_or(|n| n == m.option)).collect();
        let mut done: Vec<(&Measure, i32)> = of_option.iter().filter_map(|m| Some((*m, kind::done(m)?))).collect();
        // An option copied from another tells the same work again.
        let mut met: Vec<&Measure> = Vec::new();
        done.retain(|(m, _)| {
            let same = |other: &&Measure| (&other.kind, other.year, &other.shape, &other.line, &other.facts) == (&m.kind, m.year, &m.shape, &m.line, &m.facts);
            let new = !met.iter().any(same);
            met.push(m);
            new
        });
        let expected = self.expected.map(|ratio| Expected { ratio, from: "as told".to_string() });
        let mut leks: Vec<Lek> = holding.leks.iter().zip(figures).map(|(l, figures)| Lek { name: l.called().to_string(), figures, works: vec![], expected: expected.clone() }).collect();
        let mut far = Vec::new();
        if !done.is_empty() {
            let own;
            let ground = match assessed {
                Some(known) => known,
                None => {
                    own = super::super::ground_of(holding, guidance)?;
                    &own
                }
            };
            let context = Context::new(holding, guidance, ground);
            for (measure, year) in done {
                let Some(entry) = kind::find(&measure.kind) else {
                    return Err(Fail::one(format!("measure `{}`: {}", measure.id, measures::option::unknown_kind(&measure.kind))));
                };
                let job = planned::job(&context, measure, entry)?;
                let shows_after_years = number(&format!("counts.after.shows.{}", entry.key))?;
                let mut near = false;
                for (lek, at) in leks.iter_mut().zip(&holding.leks) {
                    let away_m = Euclidean.distance(&geo::Geometry::Point(at.at), &job.shape);
                    if away_m <= within_m {
                        near = true;
                        let what = if job.on.is_empty() { entry.title.to_string() } else { format!("{} ({})", entry.title, job.on) };
                        lek.works.push(Work { id: measure.id.clone(), what, first: measure.year.unwrap_or(year).min(year), done: year, shows_after_years, away_m });
                    }
                }
                if !near {
                    far.push(measure.id.clone());
                }
            }
        }
        let scatter = trend(&table, &trend::Ask::usual(guidance, holding.about.country)?).ok().and_then(|t| Some(Scatter { times: t.dispersion?, df: t.counts.checked_sub(t.leks + 1).filter(|df| *df > 0)? as f64 }));
        let whole = |key: &str| number(key).map(|v| v.ceil() as usize);
        let ask = Ask {
            level: level(self.certainty, guidance, country)?,
            power: self.power.map_or_else(|| number("trend.power"), Ok)? / 100.0,
            years_min: whole("counts.after.years_min")?,
            visits_min: whole("counts.after.visits_min")?,
            leks_min: whole("counts.after.leks_min")?,
            scatter,
        };
        let not_done = of_option.iter().filter(|m| kind::done(m).is_none()).count();
        Ok(Asked { leks, ask, within_m, not_done, far })
    }
}

impl Asked {
    /// For programs.
    fn json(&self, outs: &[ReadOut], holding: &Holding, guidance: &Guidance, show_leks: bool) -> Value {
        json!({
            "schema": "greyhen.counts.after/1", "plan": holding.about.name, "guidance_edition": guidance.edition(),
            "level": self.ask.level, "power": self.ask.power, "within_m": self.within_m, "scatter": self.ask.scatter,
            "not_done": self.not_done, "near_no_lek": self.far, "leks_shown": show_leks, "leks": outs.iter().map(|o| json_of(o, &self.ask, show_leks)).collect::<Vec<_>>(),
        })
    }
}

fn json_of(out: &ReadOut, ask: &Ask, show_leks: bool) -> Value {
    let work = |w: &Work| json!({"id": w.id, "what": w.what, "first": w.first, "done": w.done, "shows_after_years": w.shows_after_years, "shows_from": w.shows_from(), "away_m": show_leks.then_some(w.away_m), "band": distance_band(w.away_m)});
    json!({
        "lek": out.lek, "works": out.works.iter().map(work).collect::<Vec<_>>(), "before": out.before, "after": out.after, "shows_from": out.shows_from, "shows_first": out.shows_first, "could_show": out.could_show,
        "change": out.change, "others": out.others, "beside": out.beside.as_ref().ok(), "no_comparison": out.beside.as_ref().err().map(ToString::to_string),
        "running_before": out.running, "standing": out.standing, "expected": out.expected, "met": out.met, "needed": out.needed,
        "verdict": out.verdict(ask), "needed_in_words": out.needed_in_words(ask), "cannot_be_concluded": out.cautions(ask),
    })
}

fn text(outs: &[ReadOut], asked: &Asked, holding: &Holding, wanted: Option<&str>, show_leks: bool) -> String {
    let mut all = Vec::new();
    if outs.is_empty() {
        let worked: Vec<String> = asked.leks.iter().filter(|l| !l.works.is_empty()).map(|l| talk::name(&l.name)).collect();
        let hint = match (worked.is_empty(), holding.measures.is_empty()) {
            (false, _) => format!("work is done near {}", worked.join(", ")),
            (true, true) => "the plan has no measures".to_string(),
            (true, false) => "note what is done with greyhen measure FILE done ID --year YEAR".to_string(),
        };
        let who = wanted.map_or("No lek has".to_string(), |lek| format!("{} has no", talk::name(lek)));
        all.push(talk::wrapped(&format!("{who} work done within {:.0} m: {hint}.", asked.within_m), 100, ""));
    }
    for out in outs {
        let works: Vec<String> = out
            .works
            .iter()
            .map(|w| {
                let years = w.years();
                let away = if show_leks { format!("{:.0} m", w.away_m) } else { distance_band(w.away_m).to_string() };
                talk::wrapped(&format!("{}: {}, {years}, {away} away; can be expected to show after {}", talk::name(&w.id), w.what, talk::number(w.shows_after_years.ceil() as usize, "year")), 96, "  ")
            })
            .collect();
        let row = |period: &Period, when: &str| -> Vec<Vec<String>> {
            let thin = |year: &i32| if period.thin_years.contains(year) { "few visits" } else { "" };
            period.years.iter().zip(&period.cocks).map(|(y, c)| vec![y.to_string(), when.to_string(), c.to_string(), thin(y).to_string()]).collect()
        };
        let rows: Vec<Vec<String>> = row(&out.before, "before").into_iter().chain(row(&out.after, "after")).collect();
        let mut part = vec![talk::name(&out.lek), works.join("\n")];
        if !rows.is_empty() {
            part.push(talk::table(&["year", "", "cocks", ""], &rows, &[2]).lines().map(|l| format!("  {l}")).collect::<Vec<_>>().join("\n"));
        }
        part.push(talk::wrapped(&out.verdict(&asked.ask), 96, "  "));
        part.extend(out.needed_in_words(&asked.ask).map(|w| talk::wrapped(&w, 96, "  ")));
        part.push("  What cannot be concluded:".to_string());
        part.extend(out.cautions(&asked.ask).iter().map(|c| talk::wrapped(&c.words, 94, "    ").replacen("    ", "  - ", 1)));
        all.push(part.join("\n"));
    }
    let mut notes = Vec::new();
    if asked.not_done > 0 {
        notes.push(format!("{} not noted as done: no part of this.", talk::number(asked.not_done, "measure")));
    }
    if !asked.far.is_empty() {
        let ids: Vec<String> = asked.far.iter().map(|id| talk::name(id)).collect();
        notes.push(format!("Done, but farther than {:.0} m from every lek: {}.", asked.within_m, ids.join(", ")));
    }
    all.extend((!notes.is_empty()).then(|| notes.iter().map(|n| talk::wrapped(n, 100, "")).collect::<Vec<_>>().join("\n")));
    all.join("\n\n")
}
