//! The invented demonstration holding: made from a seed, with faults an adviser would know.

mod drainage;
mod noise;
mod terrain;

/// Heights for now.
pub fn heights_only(seed: u64) -> ground::Grid<f32> {
    terrain::heights(seed)
}
