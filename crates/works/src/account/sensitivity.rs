//! What the worth hangs on: the largest rates, each moved to its low and high.

use super::line::{Flow, Line};
use super::rate::Rate;
use super::result::YearSum;
use crate::money::{FirstFlow, Pence, Rates, present_value};
use serde::Serialize;

/// How many rates are looked at, and how many of them at least have a spread, where there are so many.
const LARGEST: usize = 5;

/// One rate moved, all else at its usual.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Moved {
    /// Which way its money goes.
    pub flow: Flow,
    /// Key of the rate.
    pub key: String,
    /// What it is paid for: the items of its lines.
    pub items: Vec<String>,
    /// Usual money that hangs on it, undiscounted.
    pub size: Pence,
    /// The rate, pounds a unit: low, usual, high.
    pub gbp: [f64; 3],
    /// Unit as it stands after a number.
    pub unit_words: String,
    /// Net present value with the rate at its low and at its high.
    pub net: [Pence; 2],
    /// Whether no spread is known, so that moving it changes nothing.
    pub fixed: bool,
}

/// The five largest rates by the money that hangs on them, of equal ones the first by key; where some of them are fixed, the next largest
/// that have a spread as well, until there are five of those. `None` where an amount is beyond pence.
pub fn largest(lines: &[Line], years: &[YearSum], rates: &Rates, first: FirstFlow) -> Option<Vec<Moved>> {
    let mut groups: Vec<(Flow, &str, Vec<&Line>)> = Vec::new();
    for line in lines {
        let Some(rate) = &line.rate else { continue };
        match groups.iter_mut().find(|(flow, key, _)| *flow == line.flow && *key == rate.key) {
            Some((_, _, of)) => of.push(line),
            None => groups.push((line.flow, &rate.key, vec![line])),
        }
    }
    let size = |of: &[&Line]| of.iter().filter_map(|line| line.pence).map(|pence| pence[1]).sum::<Pence>();
    groups.sort_by(|a, b| size(&b.2).cmp(&size(&a.2)).then(a.0.cmp(&b.0)).then(a.1.cmp(b.1)));
    let spread = |of: &[&Line]| of.first().and_then(|line| line.rate.as_ref()).is_some_and(Rate::has_spread);
    let mut with_spread = 0;
    let mut rank = 0;
    groups.retain(|(_, _, of)| {
        rank += 1;
        let kept = rank <= LARGEST || (spread(of) && with_spread < LARGEST);
        with_spread += usize::from(kept && spread(of));
        kept
    });
    groups.into_iter().map(|(flow, key, of)| moved(flow, key, &of, size(&of), years, rates, first)).collect()
}

fn moved(flow: Flow, key: &str, of: &[&Line], size: Pence, years: &[YearSum], rates: &Rates, first: FirstFlow) -> Option<Moved> {
    let rate = of.first()?.rate.as_ref()?;
    let start = years.first().map_or(0, |year| year.year);
    let mut net = [Pence(0); 2];
    for (end, at) in [0, 2].into_iter().enumerate() {
        let mut flows: Vec<Pence> = years.iter().map(|year| year.net[1]).collect();
        for line in of {
            let gbp = line.rate.as_ref()?.gbp[at];
            for (part, (year, then)) in line.parts.iter().zip(line.at_gbp(gbp)?) {
                let more = then - part.pence.map_or(Pence(0), |pence| pence[1]);
                let slot = flows.get_mut(usize::try_from(year - start).ok()?)?;
                *slot += if flow == Flow::Cost { -more } else { more };
            }
        }
        net[end] = Pence::nearest(present_value(&flows, rates, first))?;
    }
    let mut items: Vec<String> = Vec::new();
    for line in of {
        if !items.contains(&line.item) {
            items.push(line.item.clone());
        }
    }
    Some(Moved { flow, key: key.to_string(), items, size, gbp: rate.gbp, unit_words: rate.unit_words.clone(), net, fixed: !rate.has_spread() })
}
