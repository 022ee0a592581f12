//! `greyhen option`: options weighed, as named sets of measures.

use crate::fail::Fail;
use crate::{Ended, PlanFile, talk};
use clap::Subcommand;
use holding::{Holding, Measure, PlanOption};
use measures::rules::Context;
use serde_json::{Value, json};

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen option hill.gpkg add \"More trees\" --note \"birch along the gills\"
  greyhen option hill.gpkg copy 1 \"More trees, fewer sheep\"
  greyhen option hill.gpkg list
  greyhen option hill.gpkg drop 2

An option is a set of measures. Costs are low, usual and high, undiscounted, grants not taken off.")]
pub struct Options {
    #[command(flatten)]
    plan: PlanFile,
    #[command(subcommand)]
    doing: Doing,
}

#[derive(Subcommand)]
enum Doing {
    /// Add an option without measures
    Add {
        /// Its name
        name: String,
        /// Anything to say about it
        #[arg(long, default_value = "")]
        note: String,
    },
    /// Add an option with the measures of another
    Copy {
        /// Number of the option to copy
        number: u32,
        /// Name of the new one
        name: String,
        /// Anything to say about it; the other's note when left out
        #[arg(long)]
        note: Option<String>,
    },
    /// Drop an option and its measures
    Drop {
        /// Its number
        number: u32,
    },
    /// List the options
    List {
        /// Print one JSON document
        #[arg(long)]
        json: bool,
    },
}

impl Options {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let path = &self.plan.path;
        let seen = super::read(path)?;
        match self.doing {
            Doing::Add { name, note } => {
                let option = new_option(&seen, &name, note)?;
                super::take(path, &seen)?.step("adding an option", |step| step.put(&option))?;
                talk::print(&format!("Added option {}: {}", option.number, talk::name(&option.name)));
            }
            Doing::Copy { number, name, note } => {
                let mut faults = Vec::new();
                let from = find(&seen, number).map_err(|f| faults.push(f)).ok();
                let option = new_named(&seen, &name, note.or_else(|| from.map(|o| o.note.clone())).unwrap_or_default())
                    .map_err(|f| faults.push(f))
                    .ok();
                let (Some(_), Some(option)) = (from, option) else { return Err(Fail::all(faults)) };
                let copies = copies(&seen, number, option.number);
                super::take(path, &seen)?.step("copying an option", |step| {
                    step.put(&option)?;
                    copies.iter().try_for_each(|m| step.put(m))
                })?;
                let with = talk::number(copies.len(), "measure");
                talk::print(&format!("Added option {}: {}, with {with} of option {number}", option.number, talk::name(&option.name)));
            }
            Doing::Drop { number } => {
                let option = find(&seen, number).map_err(Fail::one)?;
                let gone: Vec<&Measure> = seen.measures.iter().filter(|m| m.option == number).collect();
                super::take(path, &seen)?.step("dropping an option", |step| {
                    gone.iter().try_for_each(|m| step.remove::<Measure>(&m.id).map(|_| ()))?;
                    step.remove::<PlanOption>(&number.to_string()).map(|_| ())
                })?;
                let ids: Vec<String> = gone.iter().map(|m| talk::name(&m.id)).collect();
                let with = if ids.is_empty() { "it had no measures".to_string() } else { format!("and its {}: {}", talk::number(ids.len(), "measure"), ids.join(", ")) };
                talk::print(&talk::wrapped(&format!("Dropped option {number}: {}; {with}", talk::name(&option.name)), 96, ""));
            }
            Doing::List { json } => list(&seen, json)?,
        }
        Ok(Ended::Well)
    }
}

/// The option of a number, or what is wrong.
pub fn find(holding: &Holding, number: u32) -> Result<&PlanOption, String> {
    holding.options.iter().find(|o| o.number == number).ok_or_else(|| {
        let there: Vec<String> = holding.options.iter().map(|o| format!("{} ({})", o.number, talk::name(&o.name))).collect();
        let hint = if there.is_empty() { "add one first: greyhen option FILE add NAME".to_string() } else { format!("the plan has {}", there.join(", ")) };
        format!("option {number}: not in the plan; needed: the number of an option. Hint: {hint}")
    })
}

fn new_option(holding: &Holding, name: &str, note: String) -> Result<PlanOption, Fail> {
    new_named(holding, name, note).map_err(Fail::one)
}

fn new_named(holding: &Holding, name: &str, note: String) -> Result<PlanOption, String> {
    let name = name.trim();
    if name.is_empty() {
        return Err("name: empty; needed: a name for the option. Hint: a few words in quotes".to_string());
    }
    if let Some(other) = holding.options.iter().find(|o| o.name.eq_ignore_ascii_case(name)) {
        return Err(format!("name: `{name}` is option {} already; needed: a name of its own. Hint: add a word", other.number));
    }
    let number = holding.options.iter().map(|o| o.number).chain(holding.measures.iter().map(|m| m.option)).max().unwrap_or(0) + 1;
    Ok(PlanOption { number, name: name.to_string(), note })
}

/// The measures of an option for another, with ids of their own.
fn copies(holding: &Holding, from: u32, to: u32) -> Vec<Measure> {
    let mut ids: Vec<String> = holding.measures.iter().map(|m| m.id.clone()).collect();
    let of = holding.measures.iter().filter(|m| m.option == from);
    of.map(|m| {
        let id = super::measure::new_id(&m.kind, &ids);
        ids.push(id.clone());
        Measure { id, option: to, ..m.clone() }
    })
    .collect()
}

fn list(holding: &Holding, as_json: bool) -> Result<(), Fail> {
    let guidance = super::tables()?;
    // Without ground there are no costs; the options are told all the same.
    let assessed = if holding.measures.is_empty() { None } else { Some(super::ground_of(holding, &guidance)) };
    let context = assessed.as_ref().and_then(|a| a.as_ref().ok()).map(|a| Context::new(holding, &guidance, a));
    let mut options = Vec::new();
    for option in &holding.options {
        let measures: Vec<&Measure> = holding.measures.iter().filter(|m| m.option == option.number).collect();
        let gbp = match &context {
            None if measures.is_empty() => Some([0.0; 3]),
            None => None,
            Some(c) => Some(measures::option::costs(c, option.number)?.iter().fold([0.0; 3], |sum, m| std::array::from_fn(|i| sum[i] + m.gbp[i]))),
        };
        let faults = context.as_ref().map(|c| measures::option::faults(c, option.number).len());
        options.push((option, measures, gbp, faults));
    }
    if as_json {
        let items: Vec<Value> = options
            .iter()
            .map(|(o, m, gbp, faults)| {
                json!({
                    "number": o.number, "name": o.name, "note": o.note,
                    "measures": m.iter().map(|m| m.id.as_str()).collect::<Vec<_>>(),
                    "gbp": gbp.map(super::measure::gbp_json), "faults": faults,
                })
            })
            .collect();
        talk::print_json(&json!({
            "schema": "greyhen.options/1", "plan": holding.about.name, "guidance_edition": guidance.edition(),
            "money": super::measure::MONEY, "options": items,
        }));
        return Ok(());
    }
    if options.is_empty() {
        talk::print("No option yet. Add one: greyhen option FILE add NAME");
        return Ok(());
    }
    let rows: Vec<Vec<String>> = options
        .iter()
        .map(|(o, m, gbp, faults)| {
            let cost = gbp.map_or("not known".to_string(), super::measure::gbp_words);
            let wrong = faults.filter(|n| *n > 0).map_or(String::new(), |n| format!("{n} wrong"));
            vec![o.number.to_string(), talk::name(&o.name), m.len().to_string(), cost, wrong, talk::name(&o.note)]
        })
        .collect();
    talk::print(&talk::table(&["no", "option", "measures", "cost", "", "note"], &rows, &[0, 2, 3]));
    talk::print(&format!("\n{}", talk::wrapped(super::measure::MONEY, 96, "")));
    Ok(())
}
