//! `greyhen handover`: the plan on paper, the workbook, the map file; with an option, what it does and what it comes to.

use super::course::{Start, Under};
use super::spend::Search;
use super::write_new;
use crate::fail::Fail;
use crate::{Draws, Ended, PlanFile, talk};
use guidance::Guidance;
use habitat::ahead::YEARS;
use handover::{Frontier, FrontierPoint, LekCounts, NextPound, Pack, Planned, YearCount};
use holding::Holding;
use measures::kind;
use measures::suggest::spend::Spending;
use std::path::PathBuf;

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  greyhen handover hill.gpkg --to pack                              the ground as it is
  greyhen handover hill.gpkg --to pack --option 1                   with option 1, beside as now and the plan's other options
  greyhen handover hill.gpkg --to pack --option 1 --budget 20000    and what money could buy, up to £20,000

Lek places are withheld to the kilometre unless --show-leks is given.")]
pub struct Handover {
    #[command(flatten)]
    plan: PlanFile,
    /// Folder to write into; made when it is not there
    #[arg(long, value_name = "DIR")]
    to: PathBuf,
    /// The option to hand over: its measures, the years ahead, what the rules say of it
    #[arg(long, value_name = "N")]
    option: Option<u32>,
    /// The options it is put beside; all of the plan when left out
    #[arg(long, value_name = "N,N", value_delimiter = ',', requires = "option")]
    beside: Vec<u32>,
    /// Work out what money could buy, up to so many pounds
    #[arg(long, value_name = "GBP", requires = "option", value_parser = super::suggest::above_nought)]
    budget: Option<f64>,
    #[command(flatten)]
    draws: Draws,
    /// Give lek places exactly; otherwise only their kilometre squares
    #[arg(long)]
    show_leks: bool,
    /// The day printed on it, YYYY-MM-DD; today when left out
    #[arg(long, value_name = "DATE")]
    date: Option<chrono::NaiveDate>,
    /// Replace what an earlier run wrote
    #[arg(long)]
    force: bool,
}

impl Handover {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let working = talk::Working::on("reading the plan");
        let start = Start::read(&self.plan.path, &self.draws, &working)?;
        let beside = self.beside(&start)?;
        working.now("checking the ground");
        let findings = start.findings()?;
        let counts = counts(&start.holding, &start.guidance)?;
        let pictures = start.base.pictures();
        let under = self.ahead(&start, &beside, &working)?;
        let planned = self.option.map(|n| self.planned(&start, n, &under, &working)).transpose()?;
        working.now("drawing the pages");
        let pack = Pack {
            holding: &start.holding,
            assessment: &start.base.assessment,
            pictures: &pictures,
            findings: &findings,
            guidance: &start.guidance,
            counts: &counts,
            option: planned.as_ref(),
            show_leks: self.show_leks,
            today: self.date.unwrap_or_else(|| chrono::Local::now().date_naive()),
        };
        let outputs = pack.write()?;
        let taken: Vec<String> = outputs.iter().map(|o| self.to.join(&o.name)).filter(|p| p.exists() && !self.force).map(|p| format!("{} is there already; needed: a new folder. Hint: --force replaces it", p.display())).collect();
        if !taken.is_empty() {
            return Err(Fail::all(taken));
        }
        for output in &outputs {
            write_new(&self.to.join(&output.name), &output.bytes, self.force)?;
        }
        drop(working);
        for output in &outputs {
            talk::print(&format!("Written: {}", self.to.join(&output.name).display()));
        }
        if !self.show_leks {
            talk::print("Lek places are withheld to the kilometre; --show-leks gives them exactly.");
        }
        Ok(Ended::Well)
    }

    /// The options put beside as now, rising, the one handed over among them. Options the plan lacks are refused, all at once.
    fn beside(&self, start: &Start) -> Result<Vec<u32>, Fail> {
        let Some(own) = self.option else { return Ok(vec![]) };
        let others: Vec<u32> = if self.beside.is_empty() { start.holding.options.iter().map(|o| o.number).collect() } else { self.beside.clone() };
        let mut all: Vec<u32> = others.into_iter().chain([own]).collect();
        all.sort_unstable();
        all.dedup();
        if all.contains(&0) {
            return Err(Fail::one("--option and --beside: 0 is as now, which is always there; needed: the number of an option"));
        }
        start.has(&all)?;
        Ok(all)
    }

    /// As now and every option, on the same draws and years; nothing where no option is handed over.
    fn ahead(&self, start: &Start, beside: &[u32], working: &talk::Working) -> Result<Vec<Under>, Fail> {
        if beside.is_empty() {
            return Ok(vec![]);
        }
        let courses = std::iter::once(None).chain(beside.iter().copied().map(Some));
        courses
            .map(|option| {
                working.now(&format!("looking ahead: {}", start.called(option)));
                start.under(option, &YEARS)
            })
            .collect()
    }

    fn planned<'a>(&self, start: &'a Start, number: u32, under: &'a [Under], working: &talk::Working) -> Result<Planned<'a>, Fail> {
        let forecasts: Vec<_> = under.iter().map(|u| (u.option, &u.forecast)).collect();
        let mut planned = Planned::new(&start.holding, &start.guidance, &start.base, number, &forecasts)?;
        if let Some(budget_gbp) = self.budget {
            let search = Search { budget_gbp, points: 6, seed: self.draws.seed, seconds: 20.0 };
            planned.frontier = Some(frontier(&search.run(start, working)?));
        }
        Ok(planned)
    }
}

/// What money can buy, as it is handed over.
fn frontier(s: &Spending) -> Frontier {
    let point = |p: &measures::suggest::spend::Point| FrontierPoint {
        gbp: p.chosen.cost_gbp,
        gain: p.gain,
        sum: p.chosen.objective - p.chosen.before,
        bound: p.chosen.upper_bound - p.chosen.before,
    };
    let next = s.next.iter().filter_map(|step| {
        let offer = &s.offers[step.candidate].suggested;
        Some(NextPound {
            title: kind::find(&offer.measure.kind)?.title,
            work: offer.measure.facts.get("work").and_then(|w| w.as_str()).unwrap_or_default().to_string(),
            gbp: offer.gbp,
            per_1000_gbp: step.gain_per_1000_gbp(),
        })
    });
    Frontier { gain_of: "needs met".into(), points: s.points.iter().map(point).collect(), next: next.collect(), offers: s.offers.len() }
}

/// Year figures of every lek.
fn counts(holding: &Holding, guidance: &Guidance) -> Result<Vec<LekCounts>, Fail> {
    holding
        .leks
        .iter()
        .map(|lek| {
            // The sun is known where longitude and latitude are: on the British grid.
            let place = (holding.about.epsg == 27700).then(|| holding::grid_ref::lonlat_from_grid(lek.at.x(), lek.at.y()).ok()).flatten();
            let years = birds::visits::by_year(holding, &lek.id, guidance, place)?;
            Ok(LekCounts {
                lek: lek.id.clone(),
                years: years.iter().map(|y| year(holding, y)).collect(),
            })
        })
        .collect()
}

/// The figure of a year, with the most that was seen on a visit that is not valid, and why it is not.
fn year(holding: &Holding, figure: &birds::visits::YearFigure) -> YearCount {
    let cocks = |id: &str| holding.visits.iter().find(|v| v.id == id).and_then(|v| v.cocks);
    let most = figure.refused.iter().map(|(id, why)| (cocks(id), why)).max_by_key(|(cocks, _)| *cocks);
    YearCount {
        year: figure.year,
        cocks: figure.cocks,
        seen: most.and_then(|(cocks, _)| cocks),
        why: most.map(|(_, why)| why.to_string()).unwrap_or_default(),
    }
}
