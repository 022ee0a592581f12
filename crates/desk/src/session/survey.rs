//! Features of the survey, by the columns of the plan file.

use super::apply::{Work, all_well, fault, texts_in};
use super::meet::table_of;
use super::told;
use crate::api::edit::{Problem, ProblemFault};
use geo_types::Geometry;
use holding::Holding;
use holding::import::drawn;
use holding::plan::Step;
use std::collections::BTreeMap;

/// Set columns and shape of one; an unknown id adds it.
pub(super) fn set(
    work: &mut Work,
    step: &mut Step,
    layer: &str,
    id: &str,
    set: &BTreeMap<String, serde_json::Value>,
    geometry: Option<&serde_json::Value>,
) -> Result<(), Problem> {
    let mut faults: Vec<ProblemFault> = set.iter().flat_map(|(name, value)| texts_in(name, value)).collect();
    faults.extend(unknown_names(&work.holding, layer, set));
    let mut shape: Option<Geometry<f64>> = None;
    if let Some(geometry) = geometry.filter(|g| !g.is_null()) {
        match drawn(geometry).and_then(|d| d.geometry().map(|g| (g, d.notes)).ok_or_else(|| "a mixture of forms".to_string())) {
            Ok((geometry, notes)) => {
                shape = Some(geometry);
                work.notes.extend(notes);
            }
            Err(found) => faults.push(fault("geometry", "a shape", found, "draw it again")),
        }
    }
    match step.set(table_of(layer), id, set, shape.as_ref()).map_err(told) {
        Ok(_) => all_well(faults)?,
        Err(problem) if problem.kind == "refused" => {
            faults.extend(problem.faults);
            all_well(faults)?;
        }
        Err(problem) => return Err(problem),
    }
    work.ids.push(id.to_string());
    Ok(())
}

/// Columns that name a feature of another layer must name one that is there.
fn unknown_names(holding: &Holding, layer: &str, set: &BTreeMap<String, serde_json::Value>) -> Vec<ProblemFault> {
    let of = |column: &str| set.get(column).and_then(|value| value.as_str()).filter(|id| !id.is_empty());
    let mut faults = Vec::new();
    if let Some(id) = of("lek_id").filter(|id| ["visits", "broods"].contains(&layer) && !holding.leks.iter().any(|l| l.id == *id)) {
        faults.push(fault("lek_id", "the id of a lek", format!("`{id}`"), "add the lek first"));
    }
    if let Some(id) = of("parcel_id").filter(|id| layer == "stock" && !holding.parcels.iter().any(|p| p.id == *id)) {
        faults.push(fault("parcel_id", "the id of a parcel", format!("`{id}`"), "add the parcel first"));
    }
    faults
}

/// Take one out. What others stand on stays.
pub(super) fn drop_one(work: &mut Work, step: &mut Step, layer: &str, id: &str) -> Result<(), Problem> {
    let held = holders(&work.holding, layer, id);
    if !held.is_empty() {
        return all_well(vec![fault("id", "a feature that nothing else names", format!("named by {}", held.join(", ")), "take those out first")]);
    }
    if !step.take_out(table_of(layer), id).map_err(told)? {
        let shown: String = id.chars().take(60).collect();
        return all_well(vec![fault("id", format!("the id of a row of `{layer}`"), format!("`{shown}`"), "look at the plan anew")]);
    }
    work.ids.push(id.to_string());
    Ok(())
}

/// What of the plan names a feature, in words.
fn holders(holding: &Holding, layer: &str, id: &str) -> Vec<String> {
    let some = |count: usize, one: &str, many: &str| match count {
        0 => None,
        1 => Some(format!("1 {one}")),
        n => Some(format!("{n} {many}")),
    };
    let measures = |fact: &str| holding.measures.iter().filter(|m| m.facts.get(fact).and_then(|v| v.as_str()) == Some(id)).count();
    let named = match layer {
        "leks" => vec![
            some(holding.visits.iter().filter(|v| v.lek == id).count(), "visit", "visits"),
            some(holding.broods.iter().filter(|b| b.lek == id).count(), "brood count", "brood counts"),
            some(measures("lek"), "measure", "measures"),
        ],
        "parcels" => vec![
            some(holding.stock.iter().filter(|s| s.parcel == id).count(), "row of stock", "rows of stock"),
            some(measures("parcel"), "measure", "measures"),
        ],
        "fences" => vec![some(measures("fence"), "measure", "measures")],
        "ditches" => vec![some(measures("ditch"), "measure", "measures")],
        _ => vec![],
    };
    named.into_iter().flatten().collect()
}
