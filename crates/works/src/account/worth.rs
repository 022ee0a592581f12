//! What an account is worth now.

use super::result::YearSum;
use crate::money::{FirstFlow, Pence, Rates, equal_annual, present_value};
use serde::Serialize;

/// What an account is worth now. What comes in counts above nought.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Worth {
    /// Discount rates, by the first year they hold, as fractions.
    pub rates: Rates,
    /// When the first year of the account falls.
    pub first: FirstFlow,
    /// The convention in words.
    pub convention: String,
    /// Years of the account.
    pub years: u32,
    /// Net present value: all rates at their worst, usual, all at their best. Each is rounded by itself.
    pub net: [Pence; 3],
    /// Present value of the costs, low, usual and high.
    pub cost: [Pence; 3],
    /// Present value of the income, low, usual and high.
    pub income: [Pence; 3],
    /// The same amount at the end of each year of the account that is worth as much: worst, usual, best.
    pub equal_annual: [Pence; 3],
}

impl Worth {
    /// Of yearly sums; `None` where an amount is beyond pence.
    pub fn of(years: &[YearSum], rates: &Rates, first: FirstFlow) -> Option<Worth> {
        let now = |flows: Vec<Pence>| Pence::nearest(present_value(&flows, rates, first));
        let three = |of: &dyn Fn(&YearSum) -> [Pence; 3]| -> Option<[Pence; 3]> {
            Some([
                now(years.iter().map(|y| of(y)[0]).collect())?,
                now(years.iter().map(|y| of(y)[1]).collect())?,
                now(years.iter().map(|y| of(y)[2]).collect())?,
            ])
        };
        let many = years.len() as u32;
        let yearly = |i: usize| {
            let flows: Vec<Pence> = years.iter().map(|year| year.net[i]).collect();
            Pence::nearest(equal_annual(&flows, rates, first, many).unwrap_or(0.0))
        };
        Some(Worth {
            rates: rates.clone(),
            first,
            convention: convention(years.first().map(|year| year.year), rates, first),
            years: many,
            net: three(&|year| year.net)?,
            cost: three(&|year| year.cost)?,
            income: three(&|year| year.income)?,
            equal_annual: [yearly(0)?, yearly(1)?, yearly(2)?],
        })
    }
}

/// The rates and the first year in words.
fn convention(year: Option<i32>, rates: &Rates, first: FirstFlow) -> String {
    let steps: Vec<(u32, f64)> = rates.clone().into();
    let percent = |rate: f64| format!("{} %", (rate * 1e6).round() / 1e4);
    let said: Vec<String> = steps
        .iter()
        .enumerate()
        .map(|(i, (from, rate))| if i == 0 { percent(*rate) } else { format!("{} from year {from}", percent(*rate)) })
        .collect();
    let year = year.map_or_else(|| "the first year".to_string(), |year| year.to_string());
    let when = match first {
        FirstFlow::Now => format!("money of {year} is not discounted"),
        FirstFlow::EndOfYear => format!("money of {year} is discounted for a year"),
        FirstFlow::MidYear => format!("money of {year} is discounted for half a year"),
    };
    format!("{} a year; {when}; without inflation", said.join(", "))
}
