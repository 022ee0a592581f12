//! One item of an account, by year.

use super::rate::Rate;
use crate::money::Pence;
use measures::rules::Veil;
use serde::Serialize;

/// Which way money goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Flow {
    /// It goes out.
    Cost,
    /// It comes in.
    Income,
}

/// What of a line falls in one year.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Part {
    /// Calendar year.
    pub year: i32,
    /// Quantity low, usual and high, as printed: hectares to four decimals, all else to two.
    pub quantity: [f64; 3],
    /// Quantity times rate, low, usual and high, above nought whichever way it goes; `None` where no rate is known.
    pub pence: Option<[Pence; 3]>,
}

/// One item of an account.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Line {
    /// Which way the money goes.
    pub flow: Flow,
    /// What for.
    pub item: String,
    /// The measure's id.
    pub measure: String,
    /// The measure's kind.
    pub kind: String,
    /// Where, by name.
    pub place: String,
    /// The payment that is claimed, by its id; `None` for a cost.
    pub payment: Option<String>,
    /// Unit of the quantity in words.
    pub unit: String,
    /// The rate; `None` where no rate is known.
    pub rate: Option<Rate>,
    /// What must be said of the line: what the rate stands on, how old it is, or that none is known.
    pub says: Vec<String>,
    /// By year, rising.
    pub parts: Vec<Part>,
    /// Usual quantity of all years.
    pub quantity: f64,
    /// Low, usual and high of all years; `None` where no rate is known.
    pub pence: Option<[Pence; 3]>,
}

/// What a line is of; its parts and amounts are reckoned.
pub struct Of {
    /// Which way the money goes.
    pub flow: Flow,
    /// What for.
    pub item: String,
    /// The measure's id.
    pub measure: String,
    /// The measure's kind.
    pub kind: String,
    /// Where, by name.
    pub place: String,
    /// The payment that is claimed.
    pub payment: Option<String>,
    /// Unit of the quantity in words.
    pub unit: String,
}

/// An amount too great to be money: beyond a hundred thousand million pounds.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error(
    "measure {measure}, {item}: needed an amount below £100,000,000,000, found {quantity} at {gbp} pounds\n  hint: look at the quantity and the rate"
)]
pub struct TooGreat {
    /// The measure's id.
    pub measure: String,
    /// What for.
    pub item: String,
    /// The quantity.
    pub quantity: f64,
    /// The rate, pounds.
    pub gbp: f64,
}

const MOST: Pence = Pence(10_000_000_000_000);

impl Line {
    /// A line of quantities by calendar year, low, usual and high, at a rate or none.
    ///
    /// # Errors
    /// An amount too great.
    pub fn new(of: Of, due: &[(i32, [f64; 3])], rate: Option<Rate>) -> Result<Line, TooGreat> {
        let mut parts: Vec<Part> = Vec::new();
        let mut due: Vec<(i32, [f64; 3])> = due.to_vec();
        due.sort_by_key(|(year, _)| *year);
        for (year, amount) in due {
            let quantity = amount.map(|amount| printed(amount, &of.unit));
            let pence = rate.as_ref().map(|rate| amount_of(&of, quantity, rate.gbp)).transpose()?;
            parts.push(Part { year, quantity, pence });
        }
        let add = |sum: [Pence; 3], part: &Part| part.pence.map(|pence| std::array::from_fn(|i| sum[i] + pence[i]));
        let pence = rate.as_ref().and_then(|_| parts.iter().try_fold([Pence(0); 3], add));
        let says = match (&rate, parts.first(), parts.last()) {
            (Some(rate), Some(first), Some(last)) => rate.says(first.year, last.year),
            (Some(_), _, _) => vec![],
            (None, _, _) => vec!["no rate known".to_string()],
        };
        let quantity = printed(parts.iter().map(|part| part.quantity[1]).sum(), &of.unit);
        let Of { flow, item, measure, kind, place, payment, unit } = of;
        Ok(Line { flow, item, measure, kind, place, payment, unit, rate, says, parts, quantity, pence })
    }

    /// The line as it may be told behind a veil: its quantities, and the money for them, where it would give a lek away to one figure.
    ///
    /// # Errors
    /// An amount too great.
    pub fn behind(self, veil: &Veil) -> Result<Line, TooGreat> {
        if !veil.covers(&self.measure) {
            return Ok(self);
        }
        let due: Vec<_> = self.parts.iter().map(|part| (part.year, part.quantity.map(|q| veil.amount(&self.measure, &self.unit, q)))).collect();
        let Line { flow, item, measure, kind, place, payment, unit, rate, .. } = self;
        Line::new(Of { flow, item, measure, kind, place, payment, unit }, &due, rate)
    }

    /// The line at another rate, the usual quantity kept: pence by year. `None` where no rate is known or the amount is beyond pence.
    pub fn at_gbp(&self, gbp: f64) -> Option<Vec<(i32, Pence)>> {
        self.rate.as_ref()?;
        self.parts.iter().map(|part| Pence::of(gbp, part.quantity[1]).map(|pence| (part.year, pence))).collect()
    }
}

fn amount_of(of: &Of, quantity: [f64; 3], gbp: [f64; 3]) -> Result<[Pence; 3], TooGreat> {
    let mut out = [Pence(0); 3];
    for i in 0..3 {
        let found = Pence::of(gbp[i], quantity[i]).filter(|pence| *pence <= MOST && *pence >= -MOST);
        out[i] = found.ok_or_else(|| TooGreat { measure: of.measure.clone(), item: of.item.clone(), quantity: quantity[i], gbp: gbp[i] })?;
    }
    Ok(out)
}

/// A quantity as it is printed and reckoned with: hectares to the square metre, all else to two decimals.
pub fn printed(quantity: f64, unit: &str) -> f64 {
    let parts = if unit == "ha" { 1e4 } else { 1e2 };
    (quantity * parts).round() / parts
}
