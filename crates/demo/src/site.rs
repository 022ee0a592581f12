//! Everything known of the ground while the demo is being made, and the way from local places to the map.

use crate::cover::{Cover, Sites};
use crate::pieces::Piece;
use crate::relief::Relief;
use crate::terrain::{EAST_M, NORTH_M};
use geo_types::{Coord, LineString, MultiLineString, MultiPolygon, Point, Polygon, coord};

/// The ground as laid out.
pub struct Site<'a> {
    /// Terrain readings.
    pub relief: &'a Relief,
    /// Fixed places.
    pub sites: &'a Sites,
    /// Patch label of each cell.
    pub labels: &'a [u32],
    /// The pieces; label 1 first.
    pub pieces: &'a [Piece],
}

impl Site<'_> {
    /// The piece a cell lies in.
    pub fn piece(&self, cell: usize) -> Option<&Piece> {
        (self.labels[cell] as usize).checked_sub(1).map(|i| &self.pieces[i])
    }

    /// The parcel a cell lies in; 0 off the holding.
    pub fn parcel(&self, cell: usize) -> u8 {
        self.piece(cell).map_or(0, |p| p.parcel)
    }

    /// Labels of the pieces that a test accepts.
    pub fn labels_of(&self, wanted: impl Fn(&Piece) -> bool) -> Vec<u32> {
        (1..).zip(self.pieces).filter(|(_, p)| wanted(p)).map(|(label, _)| label).collect()
    }

    /// Labels of pieces of one cover on the holding.
    pub fn labels_with(&self, cover: Cover) -> Vec<u32> {
        self.labels_of(|p| p.parcel > 0 && p.cover == cover)
    }

    /// A cell's centre on the map.
    pub fn point(&self, cell: usize) -> Point<f64> {
        let (x, y) = self.relief.place(cell);
        Point(at((x, y)))
    }
}

/// A local place on the map, to the centimetre.
pub fn at((x, y): (f64, f64)) -> Coord<f64> {
    let round = |v: f64| (v * 100.0).round() / 100.0;
    coord! { x: round(EAST_M + x), y: round(NORTH_M + y) }
}

/// A line through local places.
pub fn line(places: &[(f64, f64)]) -> LineString<f64> {
    LineString(places.iter().map(|&p| at(p)).collect())
}

/// Lines through local places.
pub fn lines(parts: &[Vec<(f64, f64)>]) -> MultiLineString<f64> {
    MultiLineString(parts.iter().map(|p| line(p)).collect())
}

/// A rectangle about a local place, turned by an angle.
pub fn block((x, y): (f64, f64), long_m: f64, wide_m: f64, turned_deg: f64) -> MultiPolygon<f64> {
    let (s, c) = turned_deg.to_radians().sin_cos();
    let corner = |u: f64, v: f64| (x + u * c - v * s, y + u * s + v * c);
    let (l, w) = (long_m / 2.0, wide_m / 2.0);
    MultiPolygon(vec![Polygon::new(line(&[corner(-l, -w), corner(l, -w), corner(l, w), corner(-l, w), corner(-l, -w)]), vec![])])
}

/// A round area about a local place.
pub fn round((x, y): (f64, f64), radius_m: f64) -> MultiPolygon<f64> {
    let mut ring: Vec<(f64, f64)> = (0..24)
        .map(|k| {
            let a = f64::from(k) * std::f64::consts::TAU / 24.0;
            let r = radius_m * (1.0 + 0.08 * (3.0 * a).sin());
            (x + r * a.cos(), y + r * a.sin())
        })
        .collect();
    ring.push(ring[0]);
    MultiPolygon(vec![Polygon::new(line(&ring), vec![])])
}
