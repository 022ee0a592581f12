//! What a programme or an account that leaves must not tell of leks.
//!
//! A season shut by a lek tells that the lek is near, a length cut by a round about a lek how far it lies off. Behind a veil a lek may be
//! anywhere in the square it is shown as, so that seasons tell no more than the square; and measures that would give a lek away are
//! reckoned in quantities of one figure.

use crate::secrecy::to_one_figure;
use geo::{Distance, Euclidean};
use geo_types::{Geometry, Rect};
use std::collections::BTreeSet;

/// What stands for the leks, and for measures that would give one away.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Veil {
    squares: Vec<Rect<f64>>,
    coarse: BTreeSet<String>,
}

impl Veil {
    /// A veil of the squares that stand for leks, over the measures (by id) that would give one away.
    pub fn new(squares: Vec<Rect<f64>>, coarse: BTreeSet<String>) -> Self {
        Self { squares, coarse }
    }

    /// Distance of a shape from the nearest square a lek may be in, metres; `None` without leks.
    pub fn far_m(&self, shape: &Geometry<f64>) -> Option<f64> {
        self.squares.iter().map(|square| Euclidean.distance(&Geometry::Rect(*square), shape)).min_by(f64::total_cmp)
    }

    /// Whether a measure would give a lek away.
    pub fn covers(&self, measure: &str) -> bool {
        self.coarse.contains(measure)
    }

    /// A quantity of a measure as it may be told: years as they are, the rest to one figure where the measure would give a lek away.
    pub fn amount(&self, measure: &str, unit: &str, amount: f64) -> f64 {
        if self.covers(measure) && unit != "years" { to_one_figure(amount) } else { amount }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo_types::{Coord, Point};

    #[test]
    fn a_veil_tells_the_square_and_one_figure() {
        let square = Rect::new(Coord { x: 1000.0, y: 1000.0 }, Coord { x: 2000.0, y: 2000.0 });
        let veil = Veil::new(vec![square], ["fence-1".to_string()].into());
        assert_eq!(veil.far_m(&Geometry::Point(Point::new(2400.0, 1500.0))), Some(400.0));
        assert_eq!(veil.far_m(&Geometry::Point(Point::new(1500.0, 1500.0))), Some(0.0));
        assert_eq!(Veil::default().far_m(&Geometry::Point(Point::new(0.0, 0.0))), None);
        assert_eq!(veil.amount("fence-1", "m", 1234.0), 1000.0);
        assert_eq!(veil.amount("fence-1", "years", 12.0), 12.0);
        assert_eq!(veil.amount("fence-2", "m", 1234.0), 1234.0);
    }
}
