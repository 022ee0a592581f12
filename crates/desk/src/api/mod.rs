//! The shapes that go over the wire. `openapi.json` and the page's types are made from them.
//!
//! Places are in the plan's own coordinate system, metres, as GeoJSON geometries; the page never sees longitude and latitude.
//! Unknown fields are refused, numbers must be finite, and text has a greatest length.

pub mod ask;
pub mod birds;
pub mod edit;
pub mod ground;
pub mod importing;
pub mod live;
pub mod plan;
pub mod year;
