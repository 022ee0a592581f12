//! `greyhen assess`: the bird's-year ledger.

use super::course::{self, Start};
use crate::fail::Fail;
use crate::{Draws, Ended, PlanFile, talk};
use desk::Progress;
use habitat::{Assessment, LekGround, LekLedger, SeasonLedger};
use serde_json::{Value, json};

/// Year told under an option unless another is asked for.
const USUAL_YEAR: u32 = 10;

/// Arguments.
#[derive(clap::Args)]
pub struct Assess {
    #[command(flatten)]
    plan: PlanFile,
    #[command(flatten)]
    draws: Draws,
    #[command(flatten)]
    question: Question,
    /// Give lek places exactly in the JSON; otherwise the middle of their kilometre square, without the altitude and
    /// the distances that would lead there
    #[arg(long)]
    show_leks: bool,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// Which year is asked for.
#[derive(clap::Args)]
pub struct Question {
    /// The ledger under this option, in the year of --year
    #[arg(long, value_name = "N")]
    pub option: Option<u32>,
    /// The ledger this many years ahead; 10 when left out with --option, else as surveyed
    #[arg(long, value_name = "YEAR", allow_negative_numbers = true, value_parser = course::year)]
    pub year: Option<u32>,
}

/// The ledger of a year, with what it is a forecast of.
pub struct Told {
    ledger: Assessment,
    ahead: Option<Value>,
    said: Option<String>,
}

impl Assess {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let working = talk::Working::on("reading the plan");
        let start = Start::read(&self.plan.path, &self.draws, &working)?;
        let told = self.question.answer(&start, &working)?;
        drop(working);
        if self.json {
            talk::print_json(&told.json(self.show_leks)?);
        } else {
            talk::print(&told.text());
        }
        Ok(Ended::Well)
    }
}

impl Question {
    /// The ledger asked for.
    pub fn answer(&self, start: &Start, progress: &dyn Progress) -> Result<Told, Fail> {
        let option = self.option.filter(|n| *n != 0);
        start.has(option.as_slice())?;
        let Some(year) = self.year.or(option.map(|_| USUAL_YEAR)) else {
            return Ok(Told { ledger: start.base.assessment.clone(), ahead: None, said: None });
        };
        talk::step(progress, "looking ahead")?;
        let under = start.under(option, &[year])?;
        let mut then = under.assessed(start, 0)?.assessment;
        then.evidence.extend(under.forecast.evidence.iter().cloned());
        then.evidence.sort();
        then.evidence.dedup();
        then.notes.extend(under.forecast.variant.notes.iter().cloned());
        then.notes.extend(start.faults(option).iter().map(|f| format!("Wrong in the option: {f}")));
        let ahead = json!({"option": option, "title": start.called(option), "year": year, "calendar": start.calendar(year)});
        let usual = if self.year.is_none() { " Another year: --year." } else { "" };
        let said = format!("{}, in {}. A forecast, for comparing on the same draws.{usual}", start.called(option), start.year_words(year));
        Ok(Told { ledger: then, ahead: Some(ahead), said: Some(said) })
    }
}

impl Told {
    /// For programs.
    pub fn json(self, show_leks: bool) -> Result<Value, Fail> {
        let mut value = json(self.ledger, show_leks)?;
        value["ahead"] = self.ahead.into();
        Ok(value)
    }

    /// For a terminal.
    fn text(&self) -> String {
        let said = self.said.as_ref().map_or(String::new(), |said| format!("{}\n", talk::wrapped(said, 96, "")));
        format!("{said}{}", text(&self.ledger))
    }
}

/// Side of the square that stands for a withheld place, metres.
const SQUARE_M: f64 = 1000.0;

/// The ledger for programs.
fn json(mut a: Assessment, show_leks: bool) -> Result<Value, Fail> {
    if !show_leks {
        for ground in a.leks.iter_mut().map(|lek| &mut lek.ground) {
            *ground = LekGround {
                at: ground.at.map(|v| ((v / SQUARE_M).floor() + 0.5) * SQUARE_M),
                altitude_m: None,
                wood_m: None,
                fence_m: None,
                way_m: None,
                heather_m: None,
                ..ground.clone()
            };
        }
    }
    let mut value = serde_json::to_value(&a).map_err(Fail::one)?;
    value["leks_shown"] = show_leks.into();
    Ok(value)
}

/// Share of unmapped ground from which a reader is warned that the answer leans on the rest.
const UNMAPPED_TOLD: f64 = 0.1;

/// The ledger for a terminal.
pub fn text(a: &Assessment) -> String {
    let mut out = vec![format!("{}: {}, {} m cells, guidance {}", talk::name(&a.plan), talk::number(a.draws, "draw"), a.cell_m, a.guidance_edition)];
    for lek in &a.leks {
        out.push(String::new());
        out.push(heading(lek));
        let rows: Vec<Vec<String>> = lek.seasons.iter().map(|s| row(s, a.draws, s.season == lek.pinch)).collect();
        out.push(talk::table(&["season", "supply ha", "(80 % of draws)", "need ha", "supply/need", "short in", ""], &rows, &[1, 2, 3, 4, 5]));
        out.push(talk::wrapped(&lek.words, 96, ""));
        if lek.unmapped_share >= UNMAPPED_TOLD {
            let share = 100.0 * lek.unmapped_share;
            out.push(talk::wrapped(&format!("{share:.0} % of the ground within reach is not mapped: the answer leans on the rest."), 96, ""));
        }
    }
    out.push(String::new());
    if !a.leks.is_empty() {
        out.push(talk::wrapped("supply/need is the median over the draws of each draw's own ratio; in the bar, | marks the need, and the bar ends at twice the need.", 96, ""));
    }
    for note in &a.notes {
        out.push(talk::wrapped(&format!("note: {note}"), 96, ""));
    }
    out.push("It advises; it does not license. Any figure: greyhen explain KEY.".to_string());
    out.join("\n")
}

fn heading(lek: &LekLedger) -> String {
    let counted = match (lek.cocks, lek.counted) {
        (Some(c), Some(y)) => format!("{} in {y}", talk::number(c as usize, "cock")),
        _ => "never counted".to_string(),
    };
    format!("{} ({counted}; needs for {})", talk::name(&lek.name), talk::number(lek.target_cocks as usize, "cock"))
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
