//! Counts as they come: a region's file of visits to many leks without a plan, and what a plan's own tell of themselves.
//!
//! - [`greenwich`]: starts that look like Greenwich time
//! - [`series`]: the visits of a file, and what was odd in it
//! - [`year_table`]: the most cocks of each lek in each year

pub mod greenwich;
pub mod odd;
pub mod series;
pub mod year_table;

pub use greenwich::{LooksGreenwich, greenwich, looks_greenwich};
pub use odd::{Odd, Oddity};
pub use series::{Ask, Report, Series};
pub use year_table::YearTable;
