//! Accounts against one reckoned by hand (docs/accounts.md), and against what any account must keep to.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

mod choosing;
mod farm;
mod hand;
mod own;
mod payments;
mod rates;
mod sums;
