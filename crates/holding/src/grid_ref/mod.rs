//! Places: longitude and latitude to the national grid of Great Britain and back, and grid references in letters.
//!
//! Longitudes and latitudes are ETRS89 degrees, east and north positive. A hand-held receiver gives WGS84, which
//! has drifted from ETRS89 by the motion of the European plate since 1989; that is well under the receiver's own
//! error and is not corrected here, but importers say so.

mod letters;
mod ostn15;
mod transverse_mercator;

pub use letters::{BadGridRef, GridRef, format_grid_ref, parse_grid_ref};
pub use ostn15::{OutsideGrid, grid_from_lonlat, lonlat_from_grid};

#[cfg(test)]
mod tests;
