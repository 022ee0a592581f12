//! Algorithms against closed forms, oracles and real ground. One suite, so that what it stands on is built once.

mod distance;
mod flow;
mod heights;
mod kernel;
mod landscape;
mod polygon;
mod real_ground;
mod relief_and_shape;
mod resampling;
mod sight;
mod support;
mod terrain;
