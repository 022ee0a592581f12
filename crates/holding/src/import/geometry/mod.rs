//! Geometry as files write it, and as the plan keeps it.
//!
//! - [`build`]: polygons from rings, closing what is open
//! - [`wkb`], [`wkt`], [`json`]: the three notations that several formats share
//! - [`settle`]: the form a kind needs, repaired where it can be

pub(super) mod build;
pub(super) mod json;
pub(super) mod settle;
pub(super) mod wkb;
pub(super) mod wkt;
