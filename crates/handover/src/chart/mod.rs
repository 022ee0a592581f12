//! Charts as pictures.

mod axis;
mod bars;
pub mod birds_ahead;
pub mod birds_change;
pub mod board;
pub mod broods;
pub mod counts;
pub mod dawns;
pub mod frontier;
pub mod money;
pub mod network;
pub mod paired;
#[cfg(test)]
mod sample;
pub mod split;
pub mod trend;
pub mod variance;
pub mod year_sheet;
pub mod years_ahead;
