//! Birds: dawns and counts.
//!
//! - [`sun`]: sunrise, sunset and civil twilight
//! - [`clock`]: British clock time
//! - [`counts`]: a region's file of visits to many leks
//! - [`visits`]: which dawn visits count, and a lek's figure for a year

pub mod counts;
pub mod sun;
pub mod visits;

pub use holding::clock;
