//! `greyhen assess`: the bird's-year ledger.

use crate::fail::Fail;
use crate::{Draws, Ended, PlanFile, talk};
use habitat::{Assessment, LekLedger, SeasonLedger};

/// Arguments.
#[derive(clap::Args)]
pub struct Assess {
    #[command(flatten)]
    plan: PlanFile,
    #[command(flatten)]
    draws: Draws,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

impl Assess {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let working = talk::Working::on("reading the plan");
        let holding = super::read(&self.plan.path)?;
        let guidance = super::tables()?;
        working.now("working out the year");
        let done = habitat::assess(&holding, &guidance, self.draws.settings())?;
        drop(working);
        if self.json {
            talk::print_json(&serde_json::to_value(&done.assessment).map_err(Fail::one)?);
        } else {
            talk::print(&text(&done.assessment));
        }
        Ok(Ended::Well)
    }
}

/// The ledger for a terminal.
pub fn text(a: &Assessment) -> String {
    let mut out = vec![format!("{}: {} draws, {} m cells, guidance {}", a.plan, a.draws, a.cell_m, a.guidance_edition)];
    for lek in &a.leks {
        out.push(String::new());
        out.push(heading(lek));
        let rows: Vec<Vec<String>> = lek.seasons.iter().map(|s| row(s, a.draws, s.season == lek.pinch)).collect();
        out.push(talk::table(&["season", "supply ha", "(80 % of draws)", "need ha", "supply/need", "short in", ""], &rows, &[1, 2, 3, 4, 5]));
        out.push(talk::wrapped(&lek.words, 96, ""));
    }
    out.push(String::new());
    for note in &a.notes {
        out.push(format!("note: {note}"));
    }
    out.push("It advises; it does not licence. Any figure: greyhen explain KEY.".to_string());
    out.join("\n")
}

fn heading(lek: &LekLedger) -> String {
    let counted = match (lek.cocks, lek.counted) {
        (Some(c), Some(y)) => format!("{c} cocks in {y}"),
        _ => "never counted".to_string(),
    };
    format!("{} ({counted}; needs for {} cocks)", lek.name, lek.target_cocks)
}

fn row(s: &SeasonLedger, draws: usize, pinch: bool) -> Vec<String> {
    let ha = |v: f64| if v >= 9.95 { format!("{v:.0}") } else { format!("{v:.1}") };
    vec![
        s.season.name().to_string(),
        ha(s.supply_ha.p50),
        format!("{}-{}", ha(s.supply_ha.p10), ha(s.supply_ha.p90)),
        ha(s.need_ha.p50),
        format!("{:.2}", s.margin.p50),
        format!("{} of {draws}", s.short_draws),
        format!("{}{}", bar(s.margin.p50), if pinch { "  <- the pinch" } else { "" }),
    ]
}

/// Supply against need as a bar: need is ten marks long, what is missing of it is dotted.
fn bar(margin: f64) -> String {
    let marks = (margin * 10.0).round().clamp(0.0, 20.0) as usize;
    let mut bar = "#".repeat(marks.min(10));
    bar.push_str(&".".repeat(10usize.saturating_sub(marks)));
    bar.push('|');
    bar.push_str(&"#".repeat(marks.saturating_sub(10)));
    bar
}
