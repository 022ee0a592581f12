//! Charts as pictures.

pub mod counts;
pub mod year_sheet;
