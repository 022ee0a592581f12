//! The plan: what was surveyed, options and measures; the plan file; import and export of open formats.

pub mod model;
pub mod words;

pub use model::*;
pub use words::Word;
