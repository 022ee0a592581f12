//! The critical path of steps that depend on each other, in whole units of time, without seasons or crews.

use super::order::{self, Order};
use serde::{Deserialize, Serialize};

/// One step of a network.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Step {
    /// Identity.
    pub id: String,
    /// How long it takes, days or weeks; nought for a mark in time.
    pub duration: u32,
    /// Steps that must be finished before.
    pub after: Vec<String>,
}

/// When a step can and must be done, in units from the beginning of the whole; it runs from start up to finish.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StepTimes {
    /// Identity.
    pub id: String,
    /// Earliest start.
    pub earliest_start: u32,
    /// Earliest finish.
    pub earliest_finish: u32,
    /// Latest start that does not put off the end of the whole.
    pub latest_start: u32,
    /// Latest finish that does not put off the end of the whole.
    pub latest_finish: u32,
    /// What it can be late without putting off the end of the whole.
    pub total_float: u32,
    /// What it can be late without putting off any other step.
    pub free_float: u32,
}

/// The times of all steps.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CriticalPath {
    /// How long the whole takes.
    pub duration: u32,
    /// Times, in the order of the steps given.
    pub steps: Vec<StepTimes>,
    /// Steps without float, each after those before it.
    pub critical: Vec<String>,
}

/// What may be wrong with a network.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PathFault {
    /// Two steps of one identity.
    #[error("step `{id}`: needed an identity of its own, found one that another step has\n  hint: give each step once")]
    Twice {
        /// The identity.
        id: String,
    },
    /// A step after one that is not there.
    #[error("step `{id}`: needed a step that is given, found after `{after}`\n  hint: give that step too, or take it out")]
    Unknown {
        /// The step.
        id: String,
        /// What it is to come after.
        after: String,
    },
    /// Steps that wait for each other.
    #[error("steps {}: needed an order, found that each waits for the next, and the last for the first\n  hint: take one of them out of `after`", ids.join(", "))]
    Circle {
        /// The steps.
        ids: Vec<String>,
    },
}

/// Earliest and latest times, floats and critical steps of a network (forward and backward pass; every step as early as it can be).
///
/// # Errors
/// All faults of the network.
pub fn critical_path(steps: &[Step]) -> Result<CriticalPath, Vec<PathFault>> {
    let mut faults = Vec::new();
    let mut index = std::collections::BTreeMap::new();
    for (i, step) in steps.iter().enumerate() {
        if index.insert(step.id.as_str(), i).is_some() {
            faults.push(PathFault::Twice { id: step.id.clone() });
        }
    }
    let mut before = vec![Vec::new(); steps.len()];
    for (i, step) in steps.iter().enumerate() {
        for after in &step.after {
            match index.get(after.as_str()) {
                Some(&p) => before[i].push(p),
                None => faults.push(PathFault::Unknown { id: step.id.clone(), after: after.clone() }),
            }
        }
    }
    let Order { order, circles } = order::order(&before);
    faults.extend(circles.iter().map(|circle| PathFault::Circle { ids: circle.iter().map(|&i| steps[i].id.clone()).collect() }));
    if !faults.is_empty() {
        return Err(faults);
    }
    let after = order::turned(&before);
    let n = steps.len();
    let (mut start, mut finish, mut latest, mut latest_finish) = (vec![0; n], vec![0; n], vec![0; n], vec![0; n]);
    for &i in &order {
        start[i] = before[i].iter().map(|&p| finish[p]).max().unwrap_or(0);
        finish[i] = start[i] + steps[i].duration;
    }
    let duration = finish.iter().copied().max().unwrap_or(0);
    for &i in order.iter().rev() {
        latest_finish[i] = after[i].iter().map(|&s: &usize| latest[s]).min().unwrap_or(duration);
        latest[i] = latest_finish[i] - steps[i].duration;
    }
    let times = |i: usize| StepTimes {
        id: steps[i].id.clone(),
        earliest_start: start[i],
        earliest_finish: finish[i],
        latest_start: latest[i],
        latest_finish: latest_finish[i],
        total_float: latest[i] - start[i],
        free_float: after[i].iter().map(|&s| start[s]).min().unwrap_or(duration) - finish[i],
    };
    let critical = order.iter().filter(|&&i| latest[i] == start[i]).map(|&i| steps[i].id.clone()).collect();
    Ok(CriticalPath { duration, steps: (0..n).map(times).collect(), critical })
}
