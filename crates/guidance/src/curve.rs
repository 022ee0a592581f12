//! Figures along an axis: straight lines between the points, flat outside them.

use serde::{Deserialize, Serialize};

/// A piecewise linear curve through points sorted by abscissa.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Curve {
    points: Vec<(f64, f64)>,
}

impl Curve {
    /// A curve through `points` (abscissa, value), in any order. Points that share an abscissa keep the order given.
    pub fn from_points(mut points: Vec<(f64, f64)>) -> Curve {
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        Curve { points }
    }

    /// The points, by rising abscissa.
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// The value at `x`: on the line between the two points round it, or that of the nearest end outside them.
    /// A curve without points is zero everywhere (the loader makes none).
    pub fn at(&self, x: f64) -> f64 {
        let after = self.points.partition_point(|point| point.0 <= x);
        match (after.checked_sub(1).and_then(|i| self.points.get(i)), self.points.get(after)) {
            (Some(&(x0, y0)), Some(&(x1, y1))) => y0 + (y1 - y0) * (x - x0) / (x1 - x0),
            (Some(&(_, y)), None) | (None, Some(&(_, y))) => y,
            (None, None) => 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn between_points_it_is_a_line_and_outside_it_is_flat() {
        let curve = Curve::from_points(vec![(10.0, 1.0), (0.0, 0.0), (20.0, 0.5)]);
        let expected = [(-5.0, 0.0), (0.0, 0.0), (2.5, 0.25), (10.0, 1.0), (15.0, 0.75), (20.0, 0.5), (99.0, 0.5)];
        for (x, y) in expected {
            assert!((curve.at(x) - y).abs() < 1e-12, "at {x}: {} instead of {y}", curve.at(x));
        }
    }
}
