//! What the desk asks, answered by the commands: the documents they print with `--json`, leks shown, as the page is the adviser's own.

use crate::command::{ahead, assess, birds, check, compare, counts, course, explain, handover, measure, spend, suggest, works};
use crate::fail::Fail;
use desk::api::ask::{Ask, Suggest};
use desk::{Answer, Answers, Progress, Start, Trouble};
use measures::kind;
use serde_json::Value;

/// Answers by the commands.
pub struct ByCommand;

impl Answers for ByCommand {
    fn answer(&self, ask: &Ask, start: &Start, progress: &dyn Progress) -> Result<Answer, Trouble> {
        answer(ask, &course::Start::from(start), progress).map_err(|fail| Trouble(fail.lines()))
    }
}

/// The answer to a question.
fn answer(ask: &Ask, start: &course::Start, progress: &dyn Progress) -> Result<Answer, Fail> {
    Ok(match ask {
        Ask::Assess { option, year } => document(assess::Question { option: *option, year: *year }.answer(start, progress)?.json(true)?),
        Ask::Ahead { option, years } => {
            let question = ahead::Question { years: course::Years::at(years)?, option: *option, lek: None };
            document(question.answer(start, progress)?.json(start, true)?)
        }
        Ask::Compare { options } => {
            let question = compare::Question { options: options.clone(), years: course::Years::at(&[])? };
            document(question.answer(start, progress)?.json(start))
        }
        Ask::Check { option } => document(check::Question { option: *option, year: None }.answer(start, progress)?.json(start, true)),
        Ask::Suggest(asked) => suggested(asked, start, progress)?,
        Ask::Spend { budget_gbp } => {
            let seed = start.base.settings.seed;
            let search = spend::Search { budget_gbp: above_nought("budget_gbp", *budget_gbp)?, points: spend::POINTS.into(), seed, seconds: spend::SECONDS };
            document(spend::json(start, &search.run(start, progress)?, None, true))
        }
        Ask::Works { option, from } => document(works::document(start, *option, *from, progress)?),
        Ask::Birds { options } => {
            let question = birds::Question { options: options.clone(), years: birds::YEARS_AHEAD, neighbours: birds::Round::AsNow };
            document(question.answer(start, progress)?.json(start, true))
        }
        Ask::Trend {} => document(counts::trend::document(start, progress)?),
        Ask::Dawns { base, season } => document(counts::dawns::document(start, base.clone(), *season, progress)?),
        Ask::Found {} => document(counts::found::document(start)?),
        Ask::After {} => document(counts::after::document(start)?),
        Ask::Explain { of } => document(match kind::find(of) {
            Some(entry) => measure::kinds_json(&[entry], &start.guidance, start.holding.about.country)?,
            None => explain::document(&start.guidance, of)?,
        }),
        Ask::Handover { option, show_leks, from } => handed_over(&handover::Question::usual(*option, *show_leks, *from), start, progress)?,
    })
}

fn document(document: Value) -> Answer {
    Answer { document, ..Answer::default() }
}

/// Measures put forward, told and ready to be laid.
fn suggested(asked: &Suggest, start: &course::Start, progress: &dyn Progress) -> Result<Answer, Fail> {
    let question = suggest::Question::asked(asked)?;
    let put = question.answer(start, progress)?;
    let document = question.json(start, &put, true);
    Ok(Answer { document, measures: put.suggested.into_iter().map(|s| s.measure).collect(), files: vec![] })
}

/// The files of a hand-over, told by their list.
fn handed_over(question: &handover::Question, start: &course::Start, progress: &dyn Progress) -> Result<Answer, Fail> {
    let files: Vec<(String, Vec<u8>)> = question.answer(start, progress)?.outputs.into_iter().map(|o| (o.name, o.bytes)).collect();
    let list = files.iter().find(|(name, _)| name == ::handover::pack::MANIFEST).map_or(&[][..], |(_, bytes)| bytes);
    Ok(Answer { document: serde_json::from_slice(list).map_err(Fail::one)?, measures: vec![], files })
}

/// A number that must be above nought.
pub fn above_nought(what: &str, value: f64) -> Result<f64, Fail> {
    if value.is_finite() && value > 0.0 { Ok(value) } else { Err(Fail::one(format!("{what}: {value}; needed: a number above 0"))) }
}
