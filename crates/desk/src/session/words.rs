//! What an edit does, in the words by which it is taken back.

use crate::api::ask::Ask;
use crate::api::edit::Edit;
use chrono::NaiveDate;
use holding::{Holding, Measure};
use measures::kind;
use std::collections::HashMap;

/// Letters of a name that are told in a label.
const NAME_SHOWN: usize = 60;

/// All edits of a request.
pub(super) fn of_all(edits: &[Edit], holding: &Holding, offers: &HashMap<u64, (Ask, Vec<Measure>)>) -> String {
    let first = edits.first().map(|edit| of(edit, holding, offers)).unwrap_or_default();
    match edits.len() {
        0 | 1 => first,
        2 => format!("{first}, and one thing more"),
        n => format!("{first}, and {} things more", n - 1),
    }
}

/// Where a fault is, in a request of several edits.
pub(super) fn place(at: usize, edits: usize, fault: &str) -> String {
    if edits == 1 { fault.to_string() } else { format!("edits[{at}].{fault}") }
}

fn of(edit: &Edit, holding: &Holding, offers: &HashMap<u64, (Ask, Vec<Measure>)>) -> String {
    match edit {
        Edit::PutMeasure(draft) => match &draft.id {
            Some(id) => format!("measure {} changed", short(id)),
            None => format!("{} laid in option {}", title(&draft.kind), draft.option),
        },
        Edit::DropMeasures { ids } => match ids.as_slice() {
            [one] => format!("measure {} taken out", short(one)),
            all => format!("{} measures taken out", all.len()),
        },
        Edit::Lay { job } => {
            let measures = offers.get(job).map(|(_, measures)| measures.as_slice()).unwrap_or_default();
            match measures {
                [one] => format!("{} laid in option {}, as put forward", title(&one.kind), one.option),
                [first, ..] => format!("{} measures laid in option {}, as put forward", measures.len(), first.option),
                [] => "measures laid".to_string(),
            }
        }
        Edit::AddOption { name, copy_of: None } => format!("option {} added", short(name.trim())),
        Edit::AddOption { name, copy_of: Some(number) } => format!("option {} added, after option {number}", short(name.trim())),
        Edit::NameOption { number, name } => format!("option {number} named {}", short(name.trim())),
        Edit::DropOption { number } => {
            let name = holding.options.iter().find(|o| o.number == *number).map(|o| format!(" ({})", short(&o.name)));
            format!("option {number}{} taken out", name.unwrap_or_default())
        }
        Edit::PutVisit(draft) => {
            let how = if draft.id.is_some() { "changed" } else { "noted" };
            format!("{} {how}", visit(holding, &draft.lek, draft.date))
        }
        Edit::DropVisit { id } => match holding.visits.iter().find(|v| v.id == *id) {
            Some(v) => format!("{} taken out", visit(holding, &v.lek, v.date)),
            None => format!("visit {} taken out", short(id)),
        },
        Edit::SetFeature { layer, id, geometry, .. } => {
            let what = if geometry.is_some() { "drawn" } else { "changed" };
            format!("{} {} {what}", one_of(layer), short(id))
        }
        Edit::DropFeature { layer, id } => format!("{} {} taken out", one_of(layer), short(id)),
    }
}

/// A visit, by the lek's name and the day in words.
fn visit(holding: &Holding, lek: &str, day: NaiveDate) -> String {
    let name = holding.leks.iter().find(|l| l.id == lek).map_or(lek, |l| l.called());
    format!("visit to {} on {}", short(name), day.format("%-d %B %Y"))
}

/// What one thing of a layer is called.
fn one_of(layer: &str) -> String {
    let plural = if layer.ends_with("ches") { "es" } else { "s" };
    short(layer.strip_suffix(plural).unwrap_or(layer))
}

fn title(kind: &str) -> String {
    kind::find(kind).map_or_else(|| short(kind), |entry| entry.title.to_string())
}

/// A name on one line, cut where it is long.
fn short(name: &str) -> String {
    let line = name.split_whitespace().collect::<Vec<_>>().join(" ");
    if line.chars().count() <= NAME_SHOWN { line } else { format!("{}…", line.chars().take(NAME_SHOWN - 1).collect::<String>()) }
}
