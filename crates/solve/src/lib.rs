//! Mathematical programs: where stock goes, which heather patches in which year, which candidates to choose.
//!
//! Every answer comes with a bound on how much better any other answer could be. Nothing here reads a clock: a search
//! stops at its node limit or when the caller's `stop` says so, and says which.

pub mod choose;
pub mod linear;
pub mod pack;
pub mod rotation;
pub mod stock;
