//! Giving data out: features as GeoJSON in longitude and latitude.
//!
//! The properties bear the names that the importers take, so that what is given out can be read in again.

mod features;
mod geojson;

pub use features::{Leks, features};
pub use geojson::{ExportError, Feature, collection};
