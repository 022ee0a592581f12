//! `greyhen handover`: the plan on paper, the workbook, the map file; with an option, what it does and what it comes to, and its works for
//! whoever does them and whoever pays.

use super::course::{Start, Under};
use super::spend::{SECONDS, Search};
use super::spring;
use super::suggest::above_nought;
use super::works::{self, When};
use super::{none_there, place_of, write_all};
use crate::fail::Fail;
use crate::{Draws, Ended, PlanFile, talk};
use birds::visits::YearFigure;
use desk::Progress;
use guidance::Guidance;
use habitat::ahead::YEARS;
use handover::content::option::gains;
use handover::secrecy::Secrecy;
use handover::pack::Output;
use handover::{Frontier, LekCounts, Pack, Planned, Works, YearCount};
use holding::{Holding, Lek};
use std::path::PathBuf;

/// Points of the frontier up to the budget.
const POINTS: usize = 6;

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen handover hill.gpkg --to pack
  greyhen handover hill.gpkg --to pack --option 2                  and its measures, years ahead
  greyhen handover hill.gpkg --to pack --option 2 --compare 1      beside option 1 alone
  greyhen handover hill.gpkg --to pack --option 2 --budget 20000   and what money can buy
  greyhen handover hill.gpkg --to pack --option 2 --crews crews.csv --rates quotes.csv --from 2027-01-04

All files are written, whole, or none: manifest.json lists them with what each is for. Lek places are withheld to the kilometre unless asked for, and with them whatever would
give one away: a measure at a lek is told coarsely. docs/handover.md tells what is on every page.")]
pub struct Handover {
    #[command(flatten)]
    plan: PlanFile,
    /// Folder to write into; made when it is not there
    #[arg(long, value_name = "DIR")]
    to: PathBuf,
    #[command(flatten)]
    question: Question,
    #[command(flatten)]
    draws: Draws,
    /// Replace what an earlier run wrote
    #[arg(long)]
    force: bool,
}

/// What is handed over.
#[derive(clap::Args)]
pub struct Question {
    /// Hand an option over with the plan: its measures, and the years ahead
    #[arg(long, value_name = "N")]
    pub option: Option<u32>,
    /// The options to compare it with; every other one of the plan when left out
    #[arg(long, value_name = "M", requires = "option", value_delimiter = ',')]
    pub compare: Vec<u32>,
    /// Add what money can buy, up to so many pounds
    #[arg(long, value_name = "GBP", requires = "option", allow_negative_numbers = true, value_parser = above_nought)]
    pub budget: Option<f64>,
    /// Seconds the choices of the budget may take
    #[arg(long, value_name = "S", default_value_t = SECONDS, allow_negative_numbers = true, value_parser = above_nought, requires = "budget")]
    pub seconds: f64,
    /// Give lek places exactly; otherwise only their kilometre squares
    #[arg(long)]
    pub show_leks: bool,
    /// Leave out what is on paper: workbooks, map files and the like only
    #[arg(long)]
    pub no_pages: bool,
    /// The day printed on it, YYYY-MM-DD; today when left out
    #[arg(long, value_name = "DATE")]
    pub date: Option<chrono::NaiveDate>,
    #[command(flatten, next_help_heading = "The works of the option")]
    pub when: When,
}

/// A hand-over, made whole and not yet written.
pub struct Made {
    /// Its files.
    pub outputs: Vec<Output>,
    /// What it leaves out, and why.
    left_out: Vec<String>,
}

impl Handover {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        self.free()?;
        let working = talk::Working::on("reading the plan");
        let start = Start::read(&self.plan.path, &self.draws, &working)?;
        let Made { outputs, left_out } = self.question.answer(&start, &working)?;
        self.free()?;
        let files: Vec<(PathBuf, &[u8])> = outputs.iter().map(|o| (self.to.join(&o.name), o.bytes.as_slice())).collect();
        write_all(&files, self.force)?;
        drop(working);
        for output in &outputs {
            talk::print(&format!("Written: {}", self.to.join(&output.name).display()));
        }
        for why in left_out {
            talk::print(&talk::wrapped(&why, 96, "  "));
        }
        for name in handover::pack::names(true, true).into_iter().filter(|name| outputs.iter().all(|o| o.name != *name) && self.to.join(name).exists()) {
            talk::print(&format!("Left there from an earlier run, and not of this hand-over: {}", self.to.join(name).display()));
        }
        for fault in start.faults(self.question.option) {
            talk::print(&talk::wrapped(&format!("Wrong in the option: {fault}"), 96, ""));
        }
        if !self.question.show_leks {
            talk::print("Lek places are withheld to the kilometre; --show-leks gives them exactly.");
        }
        Ok(Ended::Well)
    }

    /// Refuse to write over an earlier hand-over, before any of the work.
    fn free(&self) -> Result<(), Fail> {
        none_there(&self.to, &self.names(), self.force)
    }

    /// Names of the files it may write.
    fn names(&self) -> Vec<&'static str> {
        handover::pack::names(!self.question.no_pages, self.question.option.is_some())
    }
}

impl Question {
    /// As usual: beside every other option, without a budget, dated today.
    pub fn usual(option: Option<u32>, show_leks: bool, from: Option<chrono::NaiveDate>) -> Question {
        Question { option, compare: vec![], budget: None, seconds: SECONDS, show_leks, no_pages: false, date: None, when: When::usual(from) }
    }

    /// The files of the hand-over.
    pub fn answer(&self, start: &Start, progress: &dyn Progress) -> Result<Made, Fail> {
        let asked: Vec<u32> = self.option.iter().chain(&self.compare).copied().collect();
        start.has(&asked)?;
        let mut faults = vec![];
        let given = self.when.given(&start.holding, &start.guidance, &mut faults);
        if !faults.is_empty() {
            return Err(Fail::all(faults));
        }
        let counts = counts(&start.holding, &start.guidance)?;
        let secrecy = Secrecy::new(&start.holding, self.show_leks);
        let today = self.date.unwrap_or_else(|| chrono::Local::now().date_naive());
        talk::step(progress, "checking the rules, looking ahead")?;
        let (courses, (findings, pictures)) = rayon::join(|| self.courses(start), || rayon::join(|| start.findings(), || start.base.pictures()));
        let (courses, findings) = (courses?, findings?);
        talk::step(progress, "checking the rules on the measures, putting the works on days, following the birds")?;
        let planned = || -> Result<_, Fail> {
            let Some(number) = self.option else { return Ok((None, None)) };
            let planned = self.planned(start, number, &courses, &secrecy, progress)?;
            let works = self.works(start, &planned, given, today, &secrecy)?;
            Ok((Some(planned), works))
        };
        let (planned, spring) = rayon::join(planned, || spring::of(start, &courses));
        let ((mut planned, works), spring) = (planned?, spring?);
        if let (Some(planned), Some(Ok(account))) = (&mut planned, works.as_ref().map(|w| &w.account)) {
            planned.price(account);
        }
        talk::step(progress, "drawing the pages")?;
        let pack = Pack {
            holding: &start.holding,
            assessment: &start.base.assessment,
            pictures: &pictures,
            findings: &findings,
            guidance: &start.guidance,
            counts: &counts,
            option: planned.as_ref(),
            works: works.as_ref(),
            spring: Some(&spring),
            show_leks: self.show_leks,
            pages: !self.no_pages,
            today,
        };
        Ok(Made { outputs: pack.write()?, left_out: pack.left_out() })
    }

    /// The works of the option; `None` where facts of its measures are wrong, which is told.
    fn works(&self, start: &Start, planned: &Planned, given: works::Given, today: chrono::NaiveDate, secrecy: &Secrecy) -> Result<Option<Works>, Fail> {
        if !planned.faults.is_empty() {
            return Ok(None);
        }
        let context = start.context();
        let mut asked = self.when.asked(&context, planned.number, given, today)?;
        if let Some((needs, usable_ha)) = planned.own().and_then(|own| gains(planned, own)) {
            (asked.gain, asked.usable_ha) = (Some(needs), Some(usable_ha));
        }
        Ok(Some(Works::new(context, asked, secrecy)?))
    }

    /// As now, and every option compared by number where one is handed over.
    fn courses(&self, start: &Start) -> Result<Vec<Under>, Fail> {
        let compared = |n: &u32| self.option.is_some_and(|own| *n == own || self.compare.is_empty() || self.compare.contains(n));
        let mut numbers: Vec<u32> = start.holding.options.iter().map(|o| o.number).filter(compared).collect();
        numbers.sort_unstable();
        let courses: Vec<Option<u32>> = std::iter::once(None).chain(numbers.into_iter().map(Some)).collect();
        start.under_each(&courses, &YEARS)
    }

    /// The option with its measures, beside the others, and what money can buy where that is asked.
    fn planned<'a>(&self, start: &'a Start, number: u32, courses: &'a [Under], secrecy: &Secrecy, progress: &dyn Progress) -> Result<Planned<'a>, Fail> {
        let forecasts: Vec<_> = courses.iter().map(|u| (u.option, &u.forecast)).collect();
        let mut planned = Planned::new((&start.holding, secrecy), &start.guidance, &start.base, number, &forecasts)?;
        if let Some(budget_gbp) = self.budget {
            let context = start.context();
            let search = Search { budget_gbp, points: POINTS, seed: start.base.settings.seed, seconds: self.seconds };
            planned.frontier = Some(Frontier::new(&context, &search.run(start, progress)?)?);
        }
        Ok(planned)
    }
}

/// Year figures of every lek.
fn counts(holding: &Holding, guidance: &Guidance) -> Result<Vec<LekCounts>, Fail> {
    let figures = birds::visits::of_every_lek(holding, guidance, place_of(holding))?;
    let of = |(lek, years): (&Lek, Vec<YearFigure>)| LekCounts { lek: lek.id.clone(), years: years.iter().map(|y| year(holding, y)).collect() };
    Ok(holding.leks.iter().zip(figures).map(of).collect())
}

/// The figure of a year, with the most that was seen on a visit that is not valid, and why it is not.
fn year(holding: &Holding, figure: &YearFigure) -> YearCount {
    let cocks = |id: &str| holding.visits.iter().find(|v| v.id == id).and_then(|v| v.cocks);
    let most = figure.refused.iter().map(|(id, why)| (cocks(id), why)).max_by_key(|(cocks, _)| *cocks);
    YearCount {
        year: figure.year,
        cocks: figure.cocks,
        seen: most.and_then(|(cocks, _)| cocks),
        why: most.map(|(_, why)| why.to_string()).unwrap_or_default(),
    }
}
