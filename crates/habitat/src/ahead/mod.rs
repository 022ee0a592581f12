//! Years ahead: every stand stepped year by year, one process a file.

pub mod work;

pub use work::{Doing, Programme, StockFrom, Work};
