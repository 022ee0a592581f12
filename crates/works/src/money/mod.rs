//! Money of works: sums in whole pence, and what money of other years is worth now.
//!
//! What is added up and printed is [`Pence`], so that totals agree to the penny wherever they stand. Discounting is in pounds as
//! `f64`, rounded once, at the end, by [`Pence::nearest`]. A flow is what comes in less what goes out: costs are below nought.
//! Rates are fractions a year (0.035 for 3.5 %). `docs/programme.md` has the formulas.
//!
//! - [`Pence`]: an amount
//! - [`Rates`], [`FirstFlow`]: discount rates, constant or falling, and when the first flow of a list falls
//! - [`present_value`], [`annuity`], [`annuity_due`], [`annual_payment`], [`equal_annual`], [`perpetuity_from_now`],
//!   [`perpetuity_from_next`]: worth now and yearly equivalents
//! - [`internal_rate`]: the rate at which a list of flows is worth nothing
//! - [`real_rate`]: a rate without inflation
//! - [`running`], [`low_point`], [`payback_year`]: how the purse stands

mod flow;
mod pence;
mod rates;
mod returns;
mod worth;

pub use flow::{LowPoint, low_point, payback_year, running};
pub use pence::Pence;
pub use rates::{FirstFlow, Rates, RatesFault, real_rate};
pub use returns::{InternalRate, RATE_MAX, RATE_MIN, internal_rate};
pub use worth::{annual_payment, annuity, annuity_due, equal_annual, perpetuity_from_next, perpetuity_from_now, present_value};
