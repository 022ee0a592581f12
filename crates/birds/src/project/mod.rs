//! What numbers of birds may do: projection matrices, chance, quasi-extinction, and the leks of a holding under its options.
//!
//! - [`matrix`]: growth, stable stage, reproductive value, sensitivity, elasticity
//! - [`stochastic`]: environments drawn by chance, exactly and by simulation
//! - [`diffusion`]: first passage of a drifting random walk, and its estimates from counts
//! - [`chance`]: streams of chance that options share
//! - [`rates`]: the bird's rates as guidance holds them
//! - [`growth`]: what growth hangs on
//! - [`birds`]: the leks of a holding ahead, option against option

pub mod birds;
pub mod chance;
pub mod diffusion;
pub mod growth;
pub mod matrix;
pub mod rates;
pub mod stochastic;
