//! Years ahead: every stand stepped year by year, one process a file.

pub(crate) mod ask;
pub mod changes;
pub mod course;
pub mod covers;
pub mod fields;
pub mod forecast;
pub mod grazing;
pub mod ground_layer;
pub mod growth;
pub mod heather;
pub mod plantation;
pub mod shrubs;
pub mod stock;
pub mod sward;
pub mod trees;
pub mod trial;
pub mod variant;
pub mod water;
pub mod work;

pub use changes::{Change, Way, changes};
pub use course::{Moving, Place, Processes};
pub use forecast::{Course, Difference, Forecast, LekYear, SeasonYear, YEARS, YearLedger, compare, forecast, forecasts};
pub use grazing::Grazed;
pub use stock::Head;
pub use variant::Variant;
pub use work::{Doing, Programme, StockFrom, Work};
