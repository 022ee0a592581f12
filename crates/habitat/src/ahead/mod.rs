//! Years ahead: every stand stepped year by year, one process a file.

pub(crate) mod ask;
pub mod course;
pub mod covers;
pub mod fields;
pub mod grazing;
pub mod ground_layer;
pub mod growth;
pub mod heather;
pub mod plantation;
pub mod shrubs;
pub mod stock;
pub mod sward;
pub mod trees;
pub mod water;
pub mod work;

pub use course::{Moving, Place, Processes};
pub use grazing::Grazed;
pub use stock::Head;
pub use work::{Doing, Programme, StockFrom, Work};
