//! Curvature of the ground.
//!
//! Variant: the quadratic surface of least squares through the nine heights (Evans), exact on any quadratic surface;
//! Zevenbergen & Thorne's surface through all nine points is left out (sharper, but it follows every error of height).
//! Signs: convex is positive throughout. Profile curvature says whether water speeds up (convex) or slows (concave);
//! plan and tangential curvature whether it parts (convex) or gathers (concave).
//!
//! Source: Evans 1972, in Chorley (ed.), Spatial Analysis in Geomorphology, 17-90 (from memory); checked in closed form.

use crate::Grid;
use crate::slope::Rim;
use crate::window::{self, Window};

/// First and second derivatives of the fitted surface; x to the east, y to the north.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Derivatives {
    /// dz/dx [m/m].
    pub p: f64,
    /// dz/dy [m/m].
    pub q: f64,
    /// d²z/dx² [1/m].
    pub r: f64,
    /// d²z/dxdy [1/m].
    pub s: f64,
    /// d²z/dy² [1/m].
    pub t: f64,
}

/// A kind of curvature.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Curvature {
    /// Of the line down the slope.
    Profile,
    /// Of the contour line on the map.
    Plan,
    /// Across the slope, in the plane that stands on the ground.
    Tangential,
}

impl Derivatives {
    /// Of nine heights [m], rows from north to south, each from west to east.
    pub fn of(window: &[f64; 9], dx_m: f64, dy_m: f64) -> Self {
        let [a, b, c, d, e, f, g, h, i] = *window;
        Self {
            p: ((c - a) + (f - d) + (i - g)) / (6.0 * dx_m),
            q: ((a - g) + (b - h) + (c - i)) / (6.0 * dy_m),
            r: ((a - b) + (c - b) + (d - e) + (f - e) + (g - h) + (i - h)) / (3.0 * dx_m * dx_m),
            s: ((c - a) + (g - i)) / (4.0 * dx_m * dy_m),
            t: ((a - d) + (g - d) + (b - e) + (h - e) + (c - f) + (i - f)) / (3.0 * dy_m * dy_m),
        }
    }

    /// Sum of the second derivatives [1/m]; positive in hollows.
    pub fn laplacian(&self) -> f64 {
        self.r + self.t
    }

    /// A curvature [1/m], convex positive; `NaN` on level ground, where there is no way down.
    pub fn curvature(&self, kind: Curvature) -> f64 {
        let Self { p, q, r, s, t } = *self;
        let steep = p * p + q * q;
        let down = r * p * p + 2.0 * s * p * q + t * q * q;
        let across = t * p * p - 2.0 * s * p * q + r * q * q;
        match kind {
            Curvature::Profile => -down / (steep * (1.0 + steep).powf(1.5)),
            Curvature::Plan => -across / steep.powf(1.5),
            Curvature::Tangential => -across / (steep * (1.0 + steep).sqrt()),
        }
    }
}

/// Curvature of each cell [1/m], convex positive; missing on level ground and where any of the nine heights is.
pub fn curvature(heights: &Grid<f32>, kind: Curvature, rim: Rim) -> Grid<f32> {
    let (dx_m, dy_m) = (heights.frame.dx_m, heights.frame.dy_m);
    window::map(heights, rim, f32::NAN, |w: Window| {
        let nine = [w.a, w.b, w.c, w.d, w.e, w.f, w.g, w.h, w.i].map(f64::from);
        Derivatives::of(&nine, dx_m, dy_m).curvature(kind) as f32
    })
}
