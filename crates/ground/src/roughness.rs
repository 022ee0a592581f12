//! Roughness of the ground in the 3 x 3 cells round each cell.
//!
//! Sources: Riley, DeGloria & Elliot 1999, Intermountain Journal of Sciences 5:23-27 (ruggedness); Wilson et al. 2007,
//! Marine Geodesy 30:3-35 (position, range); all from memory, checked against gdaldem 3.6.2.

use crate::Grid;
use crate::slope::Rim;
use crate::window::{self, Window};

fn neighbours(w: Window) -> [f32; 8] {
    [w.a, w.b, w.c, w.d, w.f, w.g, w.h, w.i]
}

/// Terrain ruggedness index of Riley et al. [m]: root of the summed squares of the differences to the eight neighbours.
///
/// Missing where any of the nine heights is.
pub fn ruggedness_m(heights: &Grid<f32>, rim: Rim) -> Grid<f32> {
    window::map(heights, rim, f32::NAN, |w: Window| neighbours(w).iter().map(|n| (n - w.e) * (n - w.e)).sum::<f32>().sqrt())
}

/// Topographic position index [m]: height above (below: negative) the mean of the eight neighbours.
///
/// Missing where any of the nine heights is.
pub fn position_m(heights: &Grid<f32>, rim: Rim) -> Grid<f32> {
    window::map(heights, rim, f32::NAN, |w: Window| neighbours(w).iter().map(|n| w.e - n).sum::<f32>() / 8.0)
}

/// Roughness [m]: difference of the highest and the lowest of the nine heights.
///
/// Missing where any of the nine heights is.
pub fn range_m(heights: &Grid<f32>, rim: Rim) -> Grid<f32> {
    window::map(heights, rim, f32::NAN, |w: Window| {
        let (mut low, mut high, mut known) = (w.e, w.e, 0.0 * w.e);
        for n in neighbours(w) {
            low = low.min(n);
            high = high.max(n);
            known += 0.0 * n;
        }
        high - low + known
    })
}
