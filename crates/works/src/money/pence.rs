//! Amounts in whole pence.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Neg, Sub};

/// An amount in whole pence; what goes out is below nought. Sums are exact.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Pence(pub i64);

impl Pence {
    /// A price times a quantity, rounded once to the nearest penny; half a penny goes up (and down below nought, so that a payment and
    /// its receipt are the same amount). `price_gbp` is pounds for one unit of `quantity`. Both are taken as the shortest decimals
    /// that stand for them, and multiplied as decimals: £1.15 for half a metre is £0.58, though 1.15 as a binary number is less.
    ///
    /// `None` where either is no number, or the amount is beyond what pence can hold.
    pub fn of(price_gbp: f64, quantity: f64) -> Option<Pence> {
        let ((a, a_ten), (b, b_ten)) = (decimal(price_gbp)?, decimal(quantity)?);
        let product = a.checked_mul(b)?;
        let ten = a_ten + b_ten + 2;
        let pence = if ten >= 0 {
            product.checked_mul(10_i128.checked_pow(ten as u32)?)?
        } else {
            // Below a penny by more digits than a product has: nothing.
            match 10_i128.checked_pow(ten.unsigned_abs()) {
                Some(by) => (product.abs() / by + i128::from(product.abs() % by >= by / 2)) * product.signum(),
                None => 0,
            }
        };
        i64::try_from(pence).ok().map(Pence)
    }

    /// Pounds to the nearest penny, as [`Pence::of`] rounds. `None` where `gbp` is no number or too great.
    pub fn nearest(gbp: f64) -> Option<Pence> {
        Pence::of(gbp, 1.0)
    }

    /// Pounds, for discounting and charts.
    pub fn gbp(self) -> f64 {
        self.0 as f64 / 100.0
    }
}

/// The shortest decimal of a number, as digits and a power of ten.
fn decimal(number: f64) -> Option<(i128, i32)> {
    if !number.is_finite() {
        return None;
    }
    let text = format!("{number:e}");
    let (digits, ten) = text.split_once('e')?;
    let places = digits.split_once('.').map_or(0, |(_, after)| after.len() as i32);
    Some((digits.replace('.', "").parse().ok()?, ten.parse::<i32>().ok()? - places))
}

impl Add for Pence {
    type Output = Pence;
    fn add(self, other: Pence) -> Pence {
        Pence(self.0 + other.0)
    }
}

impl AddAssign for Pence {
    fn add_assign(&mut self, other: Pence) {
        *self = *self + other;
    }
}

impl Sub for Pence {
    type Output = Pence;
    fn sub(self, other: Pence) -> Pence {
        Pence(self.0 - other.0)
    }
}

impl Neg for Pence {
    type Output = Pence;
    fn neg(self) -> Pence {
        Pence(-self.0)
    }
}

impl Sum for Pence {
    fn sum<I: Iterator<Item = Pence>>(amounts: I) -> Pence {
        amounts.fold(Pence(0), Add::add)
    }
}

impl fmt::Display for Pence {
    /// Pounds and pence with commas between thousands: `£1,234.50`, `-£0.05`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let pence = self.0.unsigned_abs();
        let digits = (pence / 100).to_string();
        let mut pounds = String::new();
        for (i, digit) in digits.chars().enumerate() {
            if i > 0 && (digits.len() - i).is_multiple_of(3) {
                pounds.push(',');
            }
            pounds.push(digit);
        }
        f.pad(&format!("{}£{pounds}.{:02}", if self.0 < 0 { "-" } else { "" }, pence % 100))
    }
}
