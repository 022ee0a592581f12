//! Options: added, named, taken out.

use super::apply::{Work, all_well, fault, name_fault};
use super::{drafts, told};
use crate::api::edit::{Problem, ProblemFault};
use holding::plan::Step;
use holding::{Holding, Measure, PlanOption};

/// What is wrong where there is no such option.
pub(super) fn missing(holding: &Holding, at: &str, number: u32) -> Option<ProblemFault> {
    if holding.options.iter().any(|o| o.number == number) {
        return None;
    }
    let there: Vec<String> = holding.options.iter().map(|o| o.number.to_string()).collect();
    let hint = if there.is_empty() { "add an option first".to_string() } else { format!("the plan has {}", there.join(", ")) };
    Some(fault(at, "the number of an option", number.to_string(), hint))
}

/// A name that can be taken.
fn named(holding: &Holding, name: &str, own: Option<u32>, faults: &mut Vec<ProblemFault>) -> String {
    let name = name.trim();
    if name.is_empty() {
        faults.push(fault("name", "a name for the option", "nothing", "a few words"));
    }
    faults.extend(name_fault("name", name));
    if let Some(other) = holding.options.iter().find(|o| Some(o.number) != own && o.name.eq_ignore_ascii_case(name)) {
        faults.push(fault("name", "a name of its own", format!("the name of option {}", other.number), "add a word"));
    }
    name.to_string()
}

/// Add one, perhaps with the measures of another.
pub(super) fn add(work: &mut Work, step: &mut Step, name: &str, copy_of: Option<u32>) -> Result<(), Problem> {
    let mut faults = Vec::new();
    let name = named(&work.holding, name, None, &mut faults);
    faults.extend(copy_of.and_then(|number| missing(&work.holding, "copy_of", number)));
    all_well(faults)?;
    let holding = &mut work.holding;
    let number = holding.options.iter().map(|o| o.number).chain(holding.measures.iter().map(|m| m.option)).max().unwrap_or(0) + 1;
    let note = copy_of.and_then(|number| holding.options.iter().find(|o| o.number == number)).map(|o| o.note.clone()).unwrap_or_default();
    step.put(&PlanOption { number, name, note }).map_err(told)?;
    work.ids.push(number.to_string());
    let taken: Vec<Measure> = holding.measures.iter().filter(|m| copy_of == Some(m.option)).cloned().collect();
    for measure in taken {
        let copy = Measure { id: drafts::new_id(&measure.kind, holding), option: number, ..measure };
        step.put(&copy).map_err(told)?;
        work.ids.push(copy.id.clone());
        holding.measures.push(copy);
    }
    Ok(())
}

/// Name one anew.
pub(super) fn name(work: &mut Work, step: &mut Step, number: u32, name: &str) -> Result<(), Problem> {
    let mut faults: Vec<ProblemFault> = missing(&work.holding, "number", number).into_iter().collect();
    let name = named(&work.holding, name, Some(number), &mut faults);
    all_well(faults)?;
    if let Some(option) = work.holding.options.iter().find(|o| o.number == number) {
        step.put(&PlanOption { name, ..option.clone() }).map_err(told)?;
        work.ids.push(number.to_string());
    }
    Ok(())
}

/// Take one out with its measures.
pub(super) fn drop_one(work: &mut Work, step: &mut Step, number: u32) -> Result<(), Problem> {
    all_well(missing(&work.holding, "number", number).into_iter().collect())?;
    for measure in work.holding.measures.iter().filter(|m| m.option == number) {
        step.remove::<Measure>(&measure.id).map_err(told)?;
        work.ids.push(measure.id.clone());
    }
    step.remove::<PlanOption>(&number.to_string()).map_err(told)?;
    work.ids.push(number.to_string());
    Ok(())
}
