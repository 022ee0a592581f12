//! Lines added up.

use super::Ask;
use super::claims::{NotClaimed, Terms, claims};
use super::line::{Flow, Line};
use super::own::OwnUnused;
use super::result::{Account, Low, PerUnit, Totals, YearSum};
use super::sensitivity::largest;
use super::worth::Worth;
use crate::money::{Pence, Rates, low_point, payback_year};
use std::collections::BTreeMap;

/// What an account is made of.
#[derive(Clone, Debug)]
pub struct Given {
    /// Every line.
    pub lines: Vec<Line>,
    /// The first year of the account; the earliest line's where that is earlier.
    pub first_year: i32,
    /// The Treasury's rates ([`super::falling`]).
    pub falling: Rates,
    /// What is not claimed.
    pub not_claimed: Vec<NotClaimed>,
    /// Terms of payments, by id.
    pub terms: BTreeMap<String, Terms>,
    /// Own rates that no line uses.
    pub own_unused: Vec<OwnUnused>,
    /// What must be said of the account as a whole.
    pub says: Vec<String>,
    /// Edition of the tables.
    pub edition: String,
}

/// The most years an account may run over.
const YEARS_MAX: i64 = 1000;

/// An account of lines. `None` where an amount is beyond pence, or the lines lie more than a thousand years apart.
pub fn reckon(given: Given, ask: &Ask) -> Option<Account> {
    let Given { mut lines, first_year, falling, not_claimed, terms, own_unused, says, edition } = given;
    lines.sort_by_key(|line| line.flow);
    let years = by_year(&lines, first_year, ask.years.unwrap_or(0))?;
    let totals = totals(&lines);
    let worth = Worth::of(&years, &ask.rates, ask.first)?;
    let flows: Vec<Pence> = years.iter().map(|year| year.net[1]).collect();
    let year_of = |index: usize| years.get(index).map(|year| year.year);
    let low = low_point(&flows).and_then(|low| Some(Low { year: year_of(low.year)?, balance: low.balance }));
    Some(Account {
        option: ask.option,
        edition,
        worth_falling: Worth::of(&years, &falling, ask.first)?,
        low,
        payback: payback_year(&flows).and_then(year_of),
        per_usable_ha: ask.usable_ha.map(|gain| per_unit(&worth, gain)),
        per_gain: ask.gain.map(|gain| per_unit(&worth, gain)),
        sensitivity: largest(&lines, &years, &ask.rates, ask.first)?,
        claims: claims(&lines, &terms),
        not_claimed,
        terms,
        own_unused,
        says,
        lines,
        years,
        totals,
        worth,
    })
}

/// Costs and income low, usual and high, as worst, usual and best.
fn net(cost: [Pence; 3], income: [Pence; 3]) -> [Pence; 3] {
    [income[0] - cost[2], income[1] - cost[1], income[2] - cost[0]]
}

fn add(sum: &mut [Pence; 3], more: [Pence; 3]) {
    sum.iter_mut().zip(more).for_each(|(sum, more)| *sum += more);
}

fn by_year(lines: &[Line], first_year: i32, at_least: u32) -> Option<Vec<YearSum>> {
    let parts = || lines.iter().flat_map(|line| &line.parts);
    let first = parts().map(|part| part.year).min().map_or(first_year, |year| year.min(first_year));
    let past = parts().map(|part| i64::from(part.year) + 1).max().unwrap_or(0).max(i64::from(first) + i64::from(at_least));
    let many = past - i64::from(first);
    if many > YEARS_MAX {
        return None;
    }
    let none = [Pence(0); 3];
    let mut years: Vec<YearSum> =
        (0..many.max(0) as i32).map(|i| YearSum { year: first + i, cost: none, income: none, net: none, balance: Pence(0) }).collect();
    for line in lines {
        for part in &line.parts {
            let (Some(pence), Some(year)) = (part.pence, years.get_mut(usize::try_from(part.year - first).ok()?)) else { continue };
            add(if line.flow == Flow::Cost { &mut year.cost } else { &mut year.income }, pence);
        }
    }
    let mut balance = Pence(0);
    for year in &mut years {
        year.net = net(year.cost, year.income);
        balance += year.net[1];
        year.balance = balance;
    }
    Some(years)
}

fn totals(lines: &[Line]) -> Totals {
    let (mut cost, mut income) = ([Pence(0); 3], [Pence(0); 3]);
    let mut without = Vec::new();
    for line in lines {
        match line.pence {
            Some(pence) => add(if line.flow == Flow::Cost { &mut cost } else { &mut income }, pence),
            None => {
                let side = if line.flow == Flow::Cost { "costs" } else { "income" };
                without.push(format!("{side}: {} of measure {}, {} {}: no rate known", line.item, line.measure, line.quantity, line.unit));
            }
        }
    }
    Totals { cost, income, net: net(cost, income), whole: without.is_empty(), without }
}

/// Present cost for a unit gained. Least and most are over every pairing of low and high cost with low and high gain.
fn per_unit(worth: &Worth, gain: [f64; 3]) -> PerUnit {
    let low = gain[0].min(gain[2]);
    let each = |three: [Pence; 3]| -> [Option<Pence>; 3] {
        // Divided as pence, so that half a penny is seen as one.
        let one = |pence: Pence, gain: f64| {
            let each = (pence.0 as f64 / gain).round();
            (gain > 0.0 && each.abs() < 1e18).then_some(Pence(each as i64))
        };
        let ends = || [three[0], three[2]].into_iter().flat_map(|pence| [gain[0], gain[2]].map(|gain| one(pence, gain)));
        let (least, most) = if low > 0.0 { (ends().flatten().min(), ends().flatten().max()) } else { (None, None) };
        [least, one(three[1], gain[1]), most]
    };
    let why = match () {
        () if gain[1] <= 0.0 => "nothing is gained at the usual figures, so there is no cost for a unit",
        () if low <= 0.0 => "at its low end nothing is gained, so least and most cannot be told",
        () => "",
    };
    PerUnit { gain, cost: each(worth.cost), cost_less_income: each(worth.net.map(|net| -net)), why: why.to_string() }
}
