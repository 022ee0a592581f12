//! Payments by the piece: trees, tubes, metres of fence, dams.

use super::{Earned, Found, Look, Refused};
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

/// Whether two measures work on the same thing: the same fence, ditch or field by name, or the same outline or line.
fn same_thing(look: &Look, a: usize, b: usize) -> bool {
    let thing = |at: usize| {
        let (measure, entry) = look.measures[at];
        let facts = look.facts(at);
        let on = ["fence", "ditch", "parcel"].map(|fact| if entry.fact(fact).is_some() { facts.word(fact) } else { String::new() });
        (entry.key, on, &measure.shape, &measure.line)
    };
    thing(a) == thing(b)
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
        if let Some(first) = found.earned.iter().find(|earned| same_thing(look, earned.at, at)) {
            let why = format!("the same thing is claimed already, for measure {}", look.measures[first.at].0.id);
            found.refused.push(Refused { at, quantity, unit, why });
            continue;
        }
        found.earned.push(Earned { at, ground: None, quantity, unit, from: year_of(look.c, measure), years: 1 });
    }
    found
}
