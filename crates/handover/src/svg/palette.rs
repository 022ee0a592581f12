//! Our colours, from the moor. Every pair that must be told apart also differs in lightness or in hatch, so that a
//! print in greys says the same.

/// Near-black blue of the cock: text, frames, what the ground gives.
pub const INK: &str = "#1d2533";
/// Red-brown of the hen: what is short, and what must be done.
pub const RUSSET: &str = "#8c4524";
/// White of cotton-grass: paper inside pictures.
pub const COTTON: &str = "#fbfaf4";
/// Dark purple of the berry: leks, the pinch.
pub const BLAEBERRY: &str = "#453a5e";
/// Green-brown: woods.
pub const MOSS: &str = "#56663c";
/// Black-brown: tracks, walls, buildings.
pub const PEAT: &str = "#43352b";
/// Grey-green: light grounds.
pub const LICHEN: &str = "#c9d0bd";
/// Straw of the bents in winter: grass.
pub const BENT: &str = "#e4d9b4";
/// Faded heather.
pub const LING: &str = "#b79aa8";
/// Grey-blue of burn water.
pub const BURN: &str = "#4d7186";
/// Mid grey for small print and grid lines.
pub const STONE: &str = "#77777a";

/// The ramp of a value from 0 to 1: five steps, light to dark, told apart in greys.
pub const VALUE_STEPS: [[u8; 3]; 5] = [[240, 233, 212], [206, 207, 174], [150, 168, 128], [86, 114, 98], [33, 52, 66]];

/// The words for those steps.
pub const VALUE_WORDS: [&str; 5] = ["hardly any use", "a little", "some", "good", "very good"];

/// The step a value falls in.
pub fn value_step(value: f32) -> usize {
    ((value.clamp(0.0, 1.0) * 5.0) as usize).min(4)
}

/// A colour of three bytes, written for a picture.
pub fn hex(rgb: [u8; 3]) -> String {
    format!("#{:02x}{:02x}{:02x}", rgb[0], rgb[1], rgb[2])
}
