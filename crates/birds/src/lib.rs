//! Birds: dawns and counts.
//!
//! - [`sun`]: sunrise, sunset and civil twilight
//! - [`clock`]: British clock time
//! - [`counts`]: a region's file of visits to many leks
//! - [`dawns`]: next spring's plan of visits
//! - [`visits`]: which dawn visits count, and a lek's figure for a year
//! - [`trend`]: trends of counts, with limits
//! - [`power`]: what it takes to see a change

pub mod clock;
pub mod power;
pub mod counts;
//! - [`detection`]: how many birds a count misses
//! - [`productivity`]: young per hen, hens with broods, and what would hold numbers steady

pub mod clock;
pub mod detection;
pub mod productivity;
pub mod dawns;
pub mod sun;
pub mod trend;
pub mod visits;

pub use holding::clock;
