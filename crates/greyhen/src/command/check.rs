//! `greyhen check`: the rules on what is there.

use super::course::{self, Start};
use crate::fail::Fail;
use crate::{Draws, Ended, PlanFile, talk};
use desk::Progress;
use habitat::ahead::YEARS;
use measures::rules::{Context, check_all, check_option};
use measures::{Finding, Severity};
use serde_json::Value;

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "Ends with code 1 while a finding of weight `must` stands, or a measure of the option checked is told wrongly. With --option the
rules on the ground are held against the ground as the option leaves it, new woods and fences included; with --year, against that year ahead.
The rules on measures look at the plan of work itself, and thirty years ahead. On screen places are told exactly: it is the adviser's
own desk. The JSON, which travels, gives lek places to the kilometre unless --show-leks says otherwise.")]
pub struct Check {
    #[command(flatten)]
    plan: PlanFile,
    #[command(flatten)]
    draws: Draws,
    #[command(flatten)]
    question: Question,
    /// Give lek places exactly in the JSON; otherwise what lies at a lek is told by its kilometre square
    #[arg(long)]
    show_leks: bool,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// Which ground is asked about.
#[derive(clap::Args)]
pub struct Question {
    /// Check the ground as this option leaves it, and its measures
    #[arg(long, value_name = "N")]
    pub option: Option<u32>,
    /// Check the ground this many years ahead, under the option or with nothing done
    #[arg(long, value_name = "YEAR", allow_negative_numbers = true, value_parser = course::year)]
    pub year: Option<u32>,
}

impl Check {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let working = talk::Working::on("reading the plan");
        let start = Start::read(&self.plan.path, &self.draws, &working)?;
        let checked = self.question.answer(&start, &working)?;
        drop(working);
        if self.json {
            talk::print_json(&checked.json(&start, self.show_leks));
        } else {
            talk::print(&checked.text());
        }
        let must = checked.findings.iter().any(|f| f.severity == Severity::Must);
        Ok(if must || !checked.faults.is_empty() { Ended::WithMust } else { Ended::Well })
    }
}

impl Question {
    /// What the rules find.
    pub fn answer(&self, start: &Start, progress: &dyn Progress) -> Result<Checked, Fail> {
        let option = self.option.filter(|n| *n != 0);
        start.has(option.as_slice())?;
        talk::step(progress, "checking the rules")?;
        let findings = self.on_ground(start, option, progress)?;
        let mut checked = Checked { option, year: self.year, findings, faults: start.faults(option), ..Checked::default() };
        if let Some(n) = option {
            talk::step(progress, "looking thirty years ahead")?;
            let under = start.under(Some(n), &YEARS)?;
            talk::step(progress, "checking the measures")?;
            checked.findings.extend(check_option(&start.context(), n, Some(&under.forecast))?);
            checked.notes = under.forecast.variant.notes;
        }
        checked.heading = match (option, self.year) {
            (None, None) => String::new(),
            (_, None) => format!("{}: the ground as it leaves it, and its measures", start.called(option)),
            (None, Some(year)) => format!("{}: the ground in {}", start.called(option), start.year_words(year)),
            (Some(_), Some(year)) => format!("{}: the ground in {}, and its measures", start.called(option), start.year_words(year)),
        };
        Ok(checked)
    }

    /// Findings on the ground: as surveyed, as an option leaves it, or in a year ahead.
    fn on_ground(&self, start: &Start, option: Option<u32>, progress: &dyn Progress) -> Result<Vec<Finding>, Fail> {
        match (option, self.year) {
            (None, None) => start.findings(),
            (_, Some(year)) => {
                talk::step(progress, "looking ahead")?;
                start.under(option, &[year])?.findings(start, 0)
            }
            (Some(n), None) => {
                let with = measures::option::holding_with(&start.context(), n)?;
                let left = habitat::assess(&with, &start.guidance, start.base.settings)?;
                Ok(check_all(&Context::new(&with, &start.guidance, &left))?)
            }
        }
    }
}

/// What a check found.
#[derive(Default)]
pub struct Checked {
    option: Option<u32>,
    year: Option<u32>,
    /// Which ground, in words; empty for the survey.
    heading: String,
    /// On the ground, then on measures.
    findings: Vec<Finding>,
    /// What is wrong with the facts of measures, in words.
    faults: Vec<String>,
    /// What could not be laid on the ground.
    notes: Vec<String>,
}

impl Checked {
    /// For programs.
    pub fn json(&self, start: &Start, show_leks: bool) -> Value {
        let mut value = measures::json::to_json(&self.findings, &start.guidance, &start.holding, show_leks);
        value["option"] = self.option.into();
        value["year"] = self.year.into();
        value["faults"] = Value::from(self.faults.clone());
        value
    }

    /// For a terminal.
    fn text(&self) -> String {
        if self.heading.is_empty() {
            return text(&self.findings);
        }
        let mut out = vec![self.heading.clone(), String::new()];
        out.extend(self.faults.iter().map(|f| talk::wrapped(&format!("WRONG: {f}"), 96, "")));
        let (ground, measures): (Vec<&Finding>, Vec<&Finding>) = self.findings.iter().partition(|f| f.measure.is_none());
        let mut by: Vec<&str> = measures.iter().filter_map(|f| f.measure.as_deref()).collect();
        by.sort_unstable();
        by.dedup();
        for id in by {
            out.push(format!("-- on the measure {} --", talk::name(id)));
            out.extend(measures.iter().filter(|f| f.measure.as_deref() == Some(id)).flat_map(|f| one(f)));
        }
        if !ground.is_empty() {
            out.push("-- on the ground --".to_string());
            out.extend(ground.iter().flat_map(|f| one(f)));
        }
        out.extend(self.notes.iter().map(|n| talk::wrapped(&format!("note: {n}"), 96, "")));
        out.push(if self.findings.is_empty() { "No rule finds anything wrong.".to_string() } else { sums(&self.findings) });
        out.join("\n")
    }
}

/// Findings one under the other.
fn text(findings: &[Finding]) -> String {
    if findings.is_empty() {
        return "No rule finds anything wrong.".to_string();
    }
    let mut out: Vec<String> = findings.iter().flat_map(one).collect();
    out.push(sums(findings));
    out.join("\n")
}

fn one(f: &Finding) -> Vec<String> {
    vec![
        talk::wrapped(&format!("{}: {} [{}]", f.severity.word().to_uppercase(), f.what, f.rule), 96, ""),
        talk::wrapped(&format!("where: {}", f.place), 92, "    "),
        talk::wrapped(&format!("here {}; needed {}", f.value, f.needed), 92, "    "),
        talk::wrapped(&format!("why: {}", f.why), 92, "    "),
        talk::wrapped(&format!("do: {}", f.hint), 92, "    "),
        String::new(),
    ]
}

fn sums(findings: &[Finding]) -> String {
    let count = |s: Severity| findings.iter().filter(|f| f.severity == s).count();
    format!("{} must, {} should, {} consider. Each rule: greyhen explain RULE.", count(Severity::Must), count(Severity::Should), count(Severity::Consider))
}
