//! Birds: dawns and counts.
//!
//! - [`sun`]: sunrise, sunset and civil twilight
//! - [`clock`]: British clock time
//! - [`visits`]: which dawn visits count, and a lek's figure for a year
//! - [`project`]: what numbers may do, option against option
//! - [`network`]: leks as patches that birds move between

pub mod clock;
pub mod network;
pub mod project;
pub mod sun;
pub mod visits;
