//! What an option costs and brings in, year by year.
//!
//! Costs are the measures' own cost lines, laid on the years they fall in and priced by the rate that holds in that year: the user's own
//! rate first, then the country's published one, then the market default. Income is what schemes pay for such a measure, where the
//! tables know one; where two payments exclude each other on a piece of ground the better is taken and the other is told.
//!
//! Every amount is a price times a quantity as printed (hectares to the square metre, all else to two decimals), rounded once to the
//! penny; every total is the sum of its lines. What no rate is known for stands as a line without an amount, and the totals say that
//! they are without it. `docs/accounts.md` has the conventions and an account reckoned by hand.
//!
//! - [`of_option`]: the account of an option of a plan; [`reckon`]: of lines from anywhere
//! - [`OwnRate`], [`read_own`]: the user's own rates
//! - [`Rate`], [`Standing`]: a rate and what it stands on
//! - [`Line`], [`Part`]: one item, by year
//! - [`Account`] and its parts: sums by year, worth now, low point, payback, costs for a unit gained, sensitivity, claims
//! - [`PAYMENTS`]: the payments the tables know conditions of
//! - [`choose`]: which payments stand together on which ground
//!
//! A measure at a lek is told by the lek's name, never by the ground it lies on; a caller who withholds leks withholds quantities and
//! money of such measures as it does elsewhere.

mod ask;
pub mod choose;
mod claims;
mod cost;
mod income;
mod line;
mod option;
mod own;
mod payments;
mod place;
mod rate;
mod reckon;
mod result;
mod sensitivity;
mod worth;

pub use ask::{Ask, falling};
pub use claims::{Claim, NotClaimed, Terms};
pub use line::{Flow, Line, Part};
pub use option::{Fail, of_option};
pub use own::{OwnRate, OwnUnused, read_own};
pub use payments::{PAYMENTS, Payment, PaymentPart, Span};
pub use rate::{Rate, Standing};
pub use reckon::{Given, reckon};
pub use result::{Account, Low, PerUnit, Totals, YearSum};
pub use sensitivity::Moved;
pub use worth::Worth;
