//! Grids and planar geometry: height models, slope, sight lines, distance, flow, kernels, overlay.
//! This room knows no birds. All lengths are metres in one projected plane; no file, clock or network
//! is touched outside [`heights`].

pub mod grid;
pub mod rasterise;
pub mod sight;
pub mod distance;
pub mod heights;
pub mod resample;
pub mod slope;
pub mod curvature;
pub mod fill;
pub mod flow;
pub mod relief;
pub mod roughness;
pub mod wetness;
mod window;

pub use grid::{Frame, Grid};
