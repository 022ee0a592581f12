//! What any programme must keep to, looked at day by day without its code.

use super::enumeration::{free_after, morning_after, worked};
use chrono::NaiveDate;
use std::collections::BTreeMap;
use works::programme::*;

/// Every task is planned or told impossible; days, windows, crews, what waits and deadlines are kept. `overrun` is let off its own days.
pub fn keeps_to_everything(ask: &Ask, plan: &Schedule, overrun: Option<&str>) {
    let mut used: BTreeMap<(&str, NaiveDate), u32> = BTreeMap::new();
    assert_eq!(plan.planned.len() + plan.impossible.len(), ask.tasks.len());
    for task in &ask.tasks {
        let Some(planned) = plan.planned(&task.id) else {
            assert!(plan.impossible.iter().any(|told| told.task == task.id), "{} is neither planned nor told", task.id);
            continue;
        };
        let crews: Vec<&Crew> = planned.crews.iter().map(|id| ask.crews.iter().find(|crew| crew.id == *id).unwrap()).collect();
        assert_eq!(crews.len(), task.needs.len());
        assert!(crews.iter().zip(&task.needs).all(|(crew, need)| crew.kinds.contains(&need.kind)), "{}", task.id);
        let days = worked(ask, task, &crews, planned.first).unwrap_or_else(|| panic!("{} may not begin on {}", task.id, planned.first));
        if overrun != Some(&task.id) {
            assert_eq!(days, planned.worked, "{}", task.id);
        }
        assert_eq!(
            planned.last,
            planned.worked.last().copied().unwrap_or(planned.first).max(if overrun == Some(&task.id) { planned.last } else { planned.first })
        );
        for after in &task.after {
            let before = plan.planned(&after.task).unwrap_or_else(|| panic!("{} is planned, {} is not", task.id, after.task));
            let end = if before.worked.is_empty() { before.first } else { before.last.succ_opt().unwrap() };
            assert!(overrun == Some(&after.task) || end == morning_after(&before.worked, before.first));
            assert!(free_after(end, after.lag) <= planned.first, "{} begins before {} is done", task.id, after.task);
        }
        assert!(task.earliest.is_none_or(|earliest| planned.first >= earliest));
        assert!(planned.first >= ask.first && planned.last <= ask.last);
        let late = task.latest.map_or(0, |latest| (planned.last - latest.date).num_days().max(0) as u64);
        assert_eq!(planned.late_days, late);
        assert!(late == 0 || !task.latest.unwrap().hard || overrun == Some(&task.id));
        for (crew, need) in crews.iter().zip(&task.needs) {
            for day in &planned.worked {
                *used.entry((&crew.id, *day)).or_default() += need.units;
            }
        }
        assert!(planned.latest_first >= planned.first);
    }
    for ((id, day), units) in used {
        let crew = ask.crews.iter().find(|crew| crew.id == id).unwrap();
        assert!(units <= crew.capacity, "{id} has {units} of {} on {day}", crew.capacity);
    }
    assert_eq!(plan.finish, plan.planned.iter().map(|planned| planned.last).max());
    assert!(plan.bound <= plan.objective);
    assert!(plan.planned.is_sorted_by_key(|planned| planned.first));
}
