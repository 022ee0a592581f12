//! Birds: dawns and counts.
//!
//! - [`sun`]: sunrise, sunset and civil twilight
//! - [`clock`]: British clock time
//! - [`visits`]: which dawn visits count, and a lek's figure for a year
//! - [`detection`]: how many birds a count misses
//! - [`productivity`]: young per hen, hens with broods, and what would hold numbers steady

pub mod clock;
pub mod detection;
pub mod productivity;
pub mod sun;
pub mod visits;
