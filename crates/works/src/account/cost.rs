//! The cost lines of a measure, priced by the year they fall in.

use super::line::{Flow, Line, Of};
use super::own::{self, Names, OwnUnused};
use super::rate::{self, Rate};
use super::{Ask, Fail};
use holding::Measure;
use measures::kind::{Cost, Due, Entry, year_of};
use measures::rules::Context;

/// Own rates, and what became of them.
pub struct Own<'a> {
    ask: &'a Ask,
    used: Vec<bool>,
    /// What was said where one fits a line but for its unit.
    missed: Vec<Option<String>>,
}

impl<'a> Own<'a> {
    /// Of what is asked; none is used yet.
    pub fn new(ask: &'a Ask) -> Own<'a> {
        Own { ask, used: vec![false; ask.own.len()], missed: vec![None; ask.own.len()] }
    }

    /// The own rate for a payment that may yet lose its ground.
    pub fn would_be(&mut self, names: &Names) -> Option<Rate> {
        let found = own::find(&self.ask.own, names)?;
        self.missed[found] = Some("what it is for is not claimed: see what is not claimed, and why".to_string());
        Some(self.ask.own[found].rate())
    }

    /// The own rate for a line, if there is one.
    pub fn rate(&mut self, names: &Names) -> Option<Rate> {
        for i in own::of_another_unit(&self.ask.own, names) {
            self.missed[i] = Some(format!("`{}` needs a rate in {}, this one is in {}", names.what, names.unit, self.ask.own[i].unit));
        }
        let found = own::find(&self.ask.own, names)?;
        self.used[found] = true;
        Some(self.ask.own[found].rate())
    }

    /// Those that no line uses.
    pub fn unused(self) -> Vec<OwnUnused> {
        let left = self.ask.own.iter().zip(self.used).zip(self.missed).filter(|((_, used), _)| !used);
        let why = |missed: Option<String>| missed.unwrap_or_else(|| "no line of this option is called that".to_string());
        left.map(|((own, _), missed)| OwnUnused { item: own.item.clone(), why: why(missed) }).collect()
    }
}

/// The cost lines of a measure, of the costs its kind tells. One cost whose years fall under different rates becomes a line for each rate.
///
/// # Errors
/// A figure the tables lack, or an amount too great.
pub fn lines(
    c: &Context,
    (measure, entry): (&Measure, &'static Entry),
    costs: &[Cost],
    place: &str,
    base_year: i32,
    own: &mut Own,
) -> Result<Vec<Line>, Fail> {
    let country = c.holding.about.country;
    let first = base_year + year_of(c, measure) as i32 + own.ask.years_later(&measure.id);
    let of = |item: &str, unit: &str| Of {
        flow: Flow::Cost,
        item: item.to_string(),
        measure: measure.id.clone(),
        kind: entry.key.to_string(),
        place: place.to_string(),
        payment: None,
        unit: unit.to_string(),
    };
    let by_year = |due: &[Due]| -> Vec<(i32, [f64; 3])> {
        due.iter().filter(|due| due.amount[2] > 0.0).map(|due| (first + due.after_yr as i32, due.amount)).collect()
    };
    let mut out = Vec::new();
    for cost in costs {
        let unit = c.guidance.row(&cost.rate, country)?.unit.clone();
        let due = by_year(&cost.due);
        if due.is_empty() {
            continue;
        }
        if let Some(rate) = own.rate(&Names { key: &cost.rate, what: &cost.what, id: "", unit: &unit }) {
            out.push(Line::new(of(&cost.what, cost.unit), &due, Some(rate))?);
            continue;
        }
        for (rate, due) in rated(c, &rate::family(&cost.rate), &due) {
            out.push(Line::new(of(&cost.what, cost.unit), &due, rate)?);
        }
    }
    for bare in (entry.unpriced)(c, measure)? {
        let due = by_year(&bare.due);
        if due.is_empty() {
            continue;
        }
        let rate = own.rate(&Names { key: "", what: bare.what, id: "", unit: bare.rate_unit });
        out.push(Line::new(of(bare.what, bare.unit), &due, rate)?);
    }
    Ok(out)
}

/// A rate, and the quantities it holds for by calendar year: low, usual and high.
type Rated = (Option<Rate>, Vec<(i32, [f64; 3])>);

/// Quantities by year, with the years put together that the same rate holds for.
pub fn rated(c: &Context, family: &[&str], due: &[(i32, [f64; 3])]) -> Vec<Rated> {
    let mut groups: Vec<Rated> = Vec::new();
    for (year, amount) in due {
        let rate = rate::at(c.guidance, c.holding.about.country, family, *year);
        let same = |held: &Option<Rate>| held.as_ref().map(|r| &r.key) == rate.as_ref().map(|r| &r.key);
        match groups.iter_mut().find(|(held, _)| same(held)) {
            Some((_, of)) => of.push((*year, *amount)),
            None => groups.push((rate, vec![(*year, *amount)])),
        }
    }
    groups
}
