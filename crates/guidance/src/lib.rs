//! Every number the program believes, with where it comes from and how far to trust it.
//!
//! The tables lie in the folder `guidance/` at the root of the workspace and are built into the program. A row that lacks
//! a source, a unit or a grade is refused, and all faults of all tables are told at once. See `docs/guidance.md` for the
//! format, the grades and how to add a row.
//!
//! - [`tables`]: the tables as a whole: look a figure, a date, a text or a curve up
//! - [`row`]: one fact, its value, spread and grade
//! - [`source`]: one entry of the bibliography
//! - [`unit`]: the closed list of units
//! - [`country`]: where a row holds
//! - [`curve`]: figures along an axis
//! - [`distribution`], [`draws`]: what a spread means, and seeded stratified draws from it
//! - [`explain`]: a row in words, for a reader who wants to check it
//! - [`fault`]: what is wrong with a table, and what is asked for in vain
//! - [`load`]: reading and checking

pub mod country;
pub mod curve;
pub mod distribution;
pub mod draws;
pub mod explain;
pub mod fault;

pub mod load;
pub mod row;
pub mod source;
pub mod tables;
pub mod unit;

pub use country::Country;
pub use curve::Curve;
pub use draws::Draws;
pub use explain::{Explanation, Statement};
pub use fault::{Fault, Unknown, Why};
pub use tables::Guidance;
pub use row::{Grade, Row, Spread, Value};
pub use source::{Kind, ReadStatus, Source};
pub use unit::Unit;
