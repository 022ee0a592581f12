//! Charts as pictures.

pub mod counts;
pub mod dawns;
pub mod frontier;
pub mod paired;
pub mod year_sheet;
pub mod years_ahead;
