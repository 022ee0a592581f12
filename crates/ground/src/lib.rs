//! Grids and planar geometry: height models, slope, sight lines, distance, flow, kernels, overlay.
//! This room knows no birds. All lengths are metres in one projected plane; no file, clock or network
//! is touched outside [`heights`].

pub mod buffer;
pub mod curvature;
pub mod distance;
pub mod fill;
pub mod flow;
pub mod grid;
pub mod heights;
pub mod kernel;
pub mod landscape;
pub mod overlay;
pub mod polygon;
pub mod quick;
pub mod rasterise;
pub mod relief;
pub mod resample;
pub mod roughness;
pub mod sight;
pub mod slope;
pub mod wetness;
mod window;

pub use grid::{Frame, Grid};
