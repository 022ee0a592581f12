//! The plan: what was surveyed, options and measures; the plan file; import and export of open formats.

pub mod begin;
pub mod clock;
pub mod export;
pub mod grid_ref;
pub mod icalendar;
pub mod import;
pub mod model;
pub mod plan;
pub mod words;

pub use model::*;
pub use plan::{Plan, PlanError, PlanFault};
pub use words::Word;
