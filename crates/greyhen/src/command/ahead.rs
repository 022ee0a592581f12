//! `greyhen ahead`: the ledger in the years ahead.

use crate::fail::Fail;
use crate::{Draws, Ended, PlanFile, talk};
use habitat::ahead::{Course, Forecast, Programme, YEARS, forecast};
use measures::option;
use measures::rules::Context;
use serde_json::{Value, json};

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "Example:
  greyhen ahead hill.gpkg                what the ground comes to if nothing is done
  greyhen ahead hill.gpkg --option 1     and under option 1, on the same draws

A forecast compares; it promises nothing. Most figures of growth are assumptions, graded so in `greyhen guidance list`.")]
pub struct Ahead {
    #[command(flatten)]
    plan: PlanFile,
    #[command(flatten)]
    draws: Draws,
    /// The option to look ahead under; left out, nothing is done
    #[arg(long, value_name = "N")]
    option: Option<u32>,
    /// Print one JSON document; it tells no places
    #[arg(long)]
    json: bool,
}

impl Ahead {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let working = talk::Working::on("reading the plan");
        let holding = super::read(&self.plan.path)?;
        let guidance = super::tables()?;
        if let Some(n) = self.option
            && !holding.options.iter().any(|o| o.number == n)
        {
            return Err(Fail::one(format!("the plan has no option {n}; needed: one of its options. Hint: greyhen option FILE list shows them")));
        }
        working.now("working out the year");
        let base = habitat::assess(&holding, &guidance, self.draws.settings())?;
        let context = Context::new(&holding, &guidance, &base);
        let (with, programme) = match self.option {
            Some(n) => (option::holding_with(&context, n)?, option::programme(&context, n)?),
            None => (holding.clone(), Programme::default()),
        };
        working.now("looking thirty years ahead");
        let ahead = forecast(&base, &holding, &guidance, Course { holding: &with, programme: &programme }, &YEARS)?;
        drop(working);
        if self.json {
            let years = serde_json::to_value(&ahead.years).map_err(Fail::one)?;
            talk::print_json(&json!({
                "schema": "greyhen.ahead/1",
                "plan": holding.about.name,
                "option": self.option,
                "cell_m": base.assessment.cell_m,
                "draws": base.settings.draws,
                "seed": base.settings.seed,
                "guidance_edition": base.assessment.guidance_edition,
                "years": years,
                "evidence": ahead.evidence,
                "notes": ahead.variant.notes,
            }) as &Value);
        } else {
            let title = match self.option {
                Some(n) => holding.options.iter().find(|o| o.number == n).map_or(String::new(), |o| format!("option {n}, {}", o.name)),
                None => "nothing done".to_string(),
            };
            talk::print(&text(&ahead, &title));
        }
        Ok(Ended::Well)
    }
}

/// Margins by season and year, a table a lek.
fn text(ahead: &Forecast, title: &str) -> String {
    let mut out = vec![format!("Years ahead: {}", talk::name(title)), String::new()];
    let leks = ahead.years.first().map_or(0, |y| y.leks.len());
    let mut head = vec!["season".to_string()];
    head.extend(ahead.years.iter().map(|y| format!("{}", y.year)));
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let right: Vec<usize> = (1..head.len()).collect();
    for lek in 0..leks {
        let of = |y: usize| &ahead.years[y].leks[lek];
        out.push(format!("{}: supply over need by years from now, median; ! short in more than half the draws", talk::name(&of(0).name)));
        let mut rows: Vec<Vec<String>> = (0..of(0).seasons.len())
            .map(|s| {
                let mut row = vec![of(0).seasons[s].season.name().to_string()];
                row.extend((0..ahead.years.len()).map(|y| {
                    let season = &of(y).seasons[s];
                    format!("{:.2}{}", season.margin.p50, if season.short_fraction > 0.5 { "!" } else { " " })
                }));
                row
            })
            .collect();
        let mut view = vec!["disc in sight".to_string()];
        view.extend((0..ahead.years.len()).map(|y| of(y).view_disc.map_or("-".to_string(), |v| format!("{:.0} %", 100.0 * v))));
        rows.push(view);
        out.push(talk::table(&head, &rows, &right));
        out.push(String::new());
    }
    out.extend(ahead.variant.notes.iter().map(|n| talk::wrapped(n, 96, "")));
    out.push("A forecast compares options on the same draws; it is never a promise.".to_string());
    out.join("\n")
}
