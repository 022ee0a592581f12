//! Birds: dawns and counts.
//!
//! - [`sun`]: sunrise, sunset and civil twilight
//! - [`clock`]: British clock time
//! - [`dawns`]: next spring's plan of visits
//! - [`visits`]: which dawn visits count, and a lek's figure for a year

pub mod clock;
pub mod dawns;
pub mod sun;
pub mod visits;
