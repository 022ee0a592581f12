//! Measures and rules: what is wrong on the ground, how far, where, why, and what to do.

pub mod finding;
pub mod kind;
pub mod json;
pub mod option;
pub mod rules;
pub mod secrecy;
pub mod suggest;
pub mod units;

pub use finding::{Finding, Severity};
