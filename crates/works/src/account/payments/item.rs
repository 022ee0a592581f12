//! Payments by the piece: trees, tubes, metres of fence, dams.

use super::{Earned, Found, Look};
use guidance::Unknown;
use measures::kind::year_of;

/// What a measure builds in its first year, by its kind and the key of its cost line. A fence that is only moved earns nothing, nor one of
/// post and wire where it is paid as another.
///
/// # Errors
/// None; as the others of the list.
pub fn built(look: &Look, of: &[(&str, &str)]) -> Result<Found, Unknown> {
    Ok(of_lines(look, &|at, kind, rate| of.contains(&(kind, rate)) && new_fence(look, at, kind, false)))
}

/// New fences of post and wire.
///
/// # Errors
/// None; as the others of the list.
pub fn post_and_wire(look: &Look) -> Result<Found, Unknown> {
    Ok(of_lines(look, &|at, kind, rate| kind == "fence" && rate == "cost.market.stock_fence" && new_fence(look, at, kind, true)))
}

fn new_fence(look: &Look, at: usize, kind: &str, wire: bool) -> bool {
    kind != "fence" || (look.facts(at).word("work") == "new" && (look.facts(at).word("kind") == "wire") == wire)
}

/// Dams of every type.
///
/// # Errors
/// None; as the others of the list.
pub fn dams(look: &Look) -> Result<Found, Unknown> {
    Ok(of_lines(look, &|at, kind, _| kind == "water" && look.facts(at).word("work") != "scrape"))
}

/// Metres of fence marked.
///
/// # Errors
/// None; as the others of the list.
pub fn marked(look: &Look) -> Result<Found, Unknown> {
    Ok(of_lines(look, &|_, _, rate| rate.starts_with("cost.market.mark_")))
}

/// The first year's amounts of the cost lines that are wanted, measure by measure.
fn of_lines(look: &Look, wanted: &dyn Fn(usize, &str, &str) -> bool) -> Found {
    let mut found = Found::default();
    for (at, costs) in look.costs.iter().enumerate() {
        let (measure, entry) = look.measures[at];
        let of: Vec<_> = costs.iter().filter(|cost| wanted(at, entry.key, &cost.rate)).collect();
        let Some(unit) = of.first().map(|cost| cost.unit) else { continue };
        let first_year = |cost: &&measures::kind::Cost| cost.due.iter().filter(|due| due.after_yr == 0).map(|due| due.amount[1]).sum::<f64>();
        let quantity = of.iter().map(first_year).sum();
        found.earned.push(Earned { at, ground: None, quantity, unit, from: year_of(look.c, measure), years: 1 });
    }
    found
}
