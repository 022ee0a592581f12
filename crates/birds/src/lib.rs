//! Birds: dawns, counts, trends, productivity, projection and the network of leks.
//!
//! - [`sun`]: sunrise, sunset and civil twilight
//! - [`clock`]: British clock time
//! - [`dawns`]: next spring's visits, planned
//! - [`counts`]: a region's file of visits to many leks
//! - [`visits`]: which dawn visits count, and a lek's figure for a year
//! - [`detection`]: how many birds a count misses
//! - [`trend`]: trends of counts, with limits
//! - [`power`]: what it takes to see a change
//! - [`productivity`]: young per hen, hens with broods, and what would hold numbers steady
//! - [`project`]: numbers ahead, option against option
//! - [`network`]: which lek matters most to the whole
//! - [`found`]: what the visits and brood counts of a plan found
//! - [`after`]: before and after work at a lek

pub mod after;
pub mod counts;
pub mod dawns;
pub mod detection;
pub mod found;
pub mod network;
pub mod power;
pub mod productivity;
pub mod project;
pub mod sun;
pub mod trend;
pub mod visits;

pub use holding::clock;
