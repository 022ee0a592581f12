//! Where a measure lies: its area, and the parcel or lek it speaks of.

use super::Fault;
use crate::rules::Context;
use crate::rules::places::hectares;
use geo_types::MultiPolygon;
use holding::{Lek, Measure, Parcel};

/// The parcel of an id or a name; ids come first.
pub fn parcel<'a>(context: &Context<'a>, said: &str) -> Option<&'a Parcel> {
    let all = &context.holding.parcels;
    all.iter().find(|p| p.id == said).or_else(|| all.iter().find(|p| !p.name.is_empty() && p.name.eq_ignore_ascii_case(said)))
}

/// The parcel a measure speaks of: the one named, else the one that holds most of its area.
pub fn parcel_of<'a>(context: &Context<'a>, said: &str, measure: &Measure) -> Option<&'a Parcel> {
    if !said.is_empty() {
        return parcel(context, said);
    }
    let shared = |p: &Parcel| hectares(&ground::quick::intersection(&p.shape, &measure.shape));
    let held = context.holding.parcels.iter().map(|p| (p, shared(p)));
    held.filter(|(_, ha)| *ha > 0.0).max_by(|a, b| a.1.total_cmp(&b.1)).map(|(p, _)| p)
}

/// The lek of an id or a name; ids come first.
pub fn lek<'a>(context: &Context<'a>, said: &str) -> Option<&'a Lek> {
    let all = &context.holding.leks;
    all.iter().find(|l| l.id == said).or_else(|| all.iter().find(|l| !l.name.is_empty() && l.name.eq_ignore_ascii_case(said)))
}

/// The fault of a parcel or lek that is not in the plan.
pub fn not_there<'s>(at: &str, said: &str, names: impl Iterator<Item = (&'s str, &'s str)>) -> Fault {
    const SHOWN: usize = 8;
    let all: Vec<&str> = names.map(|(id, name)| if name.is_empty() { id } else { name }).collect();
    let more = if all.len() > SHOWN { format!(" and {} more", all.len() - SHOWN) } else { String::new() };
    Fault {
        at: at.to_string(),
        found: if said.is_empty() { "nothing".to_string() } else { format!("`{said}`") },
        needed: format!("a {at} of the plan, by id or name"),
        hint: if all.is_empty() { format!("import the {at}s first") } else { format!("the plan has {}{more}", all[..all.len().min(SHOWN)].join(", ")) },
    }
}

/// The fault of a measure that needs an area and has none.
pub fn no_area(measure: &Measure, needed: &str) -> Option<Fault> {
    (hectares(&measure.shape) <= 0.0).then(|| Fault {
        at: "area".to_string(),
        found: if measure.line.0.is_empty() { "nothing".to_string() } else { "a line".to_string() },
        needed: needed.to_string(),
        hint: "give it with --area FILE.geojson, or --on and the id of a parcel, patch, wood or lek, or import it drawn".to_string(),
    })
}

/// Areas together as one.
pub fn union(areas: impl IntoIterator<Item = MultiPolygon<f64>>) -> MultiPolygon<f64> {
    let all: Vec<_> = areas.into_iter().flat_map(|a| a.0).collect();
    ground::quick::union(&all)
}
