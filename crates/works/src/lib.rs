//! Works: what they come to in money, and when they can be done.
//!
//! - [`account`]: what an option costs and brings in, by year
//! - [`money`]: whole pence, discounting, yearly equivalents, returns
//! - [`programme`]: tasks on days, with closed seasons, crews, what depends on what, and what happens when one is late
//! - [`tasks`]: from an option of a plan to those tasks

pub mod account;
pub mod money;
pub mod programme;
pub mod tasks;
