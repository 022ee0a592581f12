//! Birds: dawns and counts.
//!
//! - [`sun`]: sunrise, sunset and civil twilight
//! - [`clock`]: British clock time
//! - [`visits`]: which dawn visits count, and a lek's figure for a year
//! - [`detection`]: how many birds a count misses

pub mod clock;
pub mod detection;
pub mod sun;
pub mod visits;
