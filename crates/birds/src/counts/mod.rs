//! Counts of many leks without a plan: a region's file of visits.
//!
//! - [`series`]: the visits of a file, and what was odd in it
//! - [`year_table`]: the most cocks of each lek in each year

pub mod odd;
pub mod series;
pub mod year_table;

pub use odd::{Odd, Oddity};
pub use series::{Ask, Report, Series};
pub use year_table::YearTable;
