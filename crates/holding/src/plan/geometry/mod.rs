//! Geometry as the plan file stores it: a GeoPackage header in front of well-known binary.

pub(crate) mod blob;
pub(crate) mod wkb;
