//! Birds: dawns and counts.
//!
//! - [`sun`]: sunrise, sunset and civil twilight
//! - [`clock`]: British clock time
//! - [`visits`]: which dawn visits count, and a lek's figure for a year
//! - [`trend`]: trends of counts, with limits
//! - [`power`]: what it takes to see a change

pub mod clock;
pub mod power;
pub mod sun;
pub mod trend;
pub mod visits;
