//! `greyhen handover`: the plan on paper, the workbook, the map file.

use super::write_new;
use crate::fail::Fail;
use crate::{Draws, Ended, PlanFile, talk};
use guidance::Guidance;
use handover::{LekCounts, Pack, YearCount};
use holding::Holding;
use std::path::PathBuf;

/// Arguments.
#[derive(clap::Args)]
pub struct Handover {
    #[command(flatten)]
    plan: PlanFile,
    /// Folder to write into; made when it is not there
    #[arg(long, value_name = "DIR")]
    to: PathBuf,
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
        let super::Examined { holding, guidance, assessed, findings } = super::examine(&self.plan.path, &self.draws, &working)?;
        let counts = counts(&holding, &guidance)?;
        let pictures = assessed.pictures();
        working.now("drawing the pages");
        let pack = Pack {
            holding: &holding,
            assessment: &assessed.assessment,
            pictures: &pictures,
            findings: &findings,
            guidance: &guidance,
            counts: &counts,
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
