//! Relief shading: how light ground looks under a sun in one place.
//!
//! Variant: Lambert's cosine on Horn's gradient, 1 + 254 cos i rounded to whole grey levels, 1 in shade, as gdaldem writes
//! it; cast shadows are not drawn. 0 is missing, so that no ground is ever 0.
//!
//! Source: Horn 1981, Proceedings of the IEEE 69:14-47 (from memory); gdaldem 3.6.2 for the grey scale (run).

use crate::Grid;
use crate::slope::Rim;
use crate::window::{self, Window};

/// Shaded relief in grey levels, 1 (dark) to 255 (facing the sun); 0 where missing.
///
/// `heights` [m]; `sun_bearing_deg` — bearing of the sun from north over east [degrees]; `sun_height_deg` — height of the
/// sun above the horizon [degrees, 0 to 90]; `exaggeration` — heights are taken times this, 1 for true relief.
pub fn shade(heights: &Grid<f32>, sun_bearing_deg: f64, sun_height_deg: f64, exaggeration: f64, rim: Rim) -> Grid<u8> {
    let (sin_bearing, cos_bearing) = sun_bearing_deg.to_radians().sin_cos();
    let (sin_height, cos_height) = sun_height_deg.to_radians().sin_cos();
    // Direction to the sun: east, south, up.
    let sun = [cos_height * sin_bearing, -cos_height * cos_bearing, sin_height].map(|v| v as f32);
    let per_east = (0.125 * exaggeration / heights.frame.dx_m) as f32;
    let per_south = (0.125 * exaggeration / heights.frame.dy_m) as f32;
    window::map(heights, rim, 0, |w: Window| {
        let east = ((w.c + w.f + w.f + w.i) - (w.a + w.d + w.d + w.g) + 0.0 * w.e) * per_east;
        let south = ((w.g + w.h + w.h + w.i) - (w.a + w.b + w.b + w.c)) * per_south;
        // The upward normal of the ground is (-east, -south, 1).
        let cosine = (sun[2] - east * sun[0] - south * sun[1]) / (1.0 + east * east + south * south).sqrt();
        let level = 1.0 + 254.0 * if cosine < 0.0 { 0.0 } else { cosine };
        // A missing neighbour made it not-a-number, which turns into 0.
        (level + 0.5) as u8
    })
}
