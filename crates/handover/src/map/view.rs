//! From the plan's plane to paper: which ground a map shows, and at what scale.

use crate::svg::number;
use geo::{BoundingRect, Intersects, Simplify};
use geo_types::{Coord, LineString, MultiLineString, MultiPolygon, Rect};
use holding::Holding;
use std::fmt::Write;

/// Scales sheets are drawn at, 1 to this; beyond 25,000 for holdings too large for a sheet of A4, beyond the last in whole steps of it.
pub const SCALES: [f64; 16] = [2500.0, 5000.0, 7500.0, 10_000.0, 15_000.0, 20_000.0, 25_000.0, 30_000.0, 40_000.0, 50_000.0, 60_000.0, 75_000.0, 100_000.0, 150_000.0, 200_000.0, 250_000.0];

/// The largest scale of the ladder at which a box of ground fits a rectangle of paper, 1 to this.
pub fn scale_for(ground: Box4, width_mm: f64, height_mm: f64) -> f64 {
    let needed = needed(ground, width_mm, height_mm);
    let last = SCALES[SCALES.len() - 1];
    SCALES.into_iter().find(|s| *s >= needed).unwrap_or_else(|| (needed / last).ceil() * last)
}

/// The scale at which a box of ground just fits a rectangle of paper.
fn needed([west, south, east, north]: Box4, width_mm: f64, height_mm: f64) -> f64 {
    ((east - west) / width_mm).max((north - south) / height_mm).max(0.01) * 1000.0
}

/// A rectangle of ground on a rectangle of paper.
#[derive(Clone, Copy, Debug)]
pub struct View {
    /// Left edge on paper, millimetres.
    pub x_mm: f64,
    /// Top edge on paper, millimetres.
    pub y_mm: f64,
    /// Width on paper, millimetres.
    pub width_mm: f64,
    /// Height on paper, millimetres.
    pub height_mm: f64,
    /// Easting of the left edge, metres.
    pub west_m: f64,
    /// Northing of the top edge, metres.
    pub north_m: f64,
    /// The scale: 1 to this.
    pub scale: f64,
}

/// A box of ground: west, south, east, north, metres.
pub type Box4 = [f64; 4];

impl View {
    /// The largest scale of the ladder at which a box of ground fits a rectangle of paper, the box in the middle.
    pub fn fitting(ground: Box4, x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64) -> Self {
        Self::at(scale_for(ground, width_mm, height_mm), ground, x_mm, y_mm, width_mm, height_mm)
    }

    /// A box of ground filling a rectangle of paper, at whatever scale that takes: for pictures that are not measured on.
    pub fn filling(ground: Box4, x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64) -> Self {
        Self::at(needed(ground, width_mm, height_mm), ground, x_mm, y_mm, width_mm, height_mm)
    }

    fn at(scale: f64, [west, south, east, north]: Box4, x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64) -> Self {
        let metres_a_mm = scale / 1000.0;
        Self {
            x_mm,
            y_mm,
            width_mm,
            height_mm,
            west_m: (west + east - width_mm * metres_a_mm) / 2.0,
            north_m: (south + north + height_mm * metres_a_mm) / 2.0,
            scale,
        }
    }

    /// Metres of ground under one millimetre of paper.
    pub fn metres_a_mm(&self) -> f64 {
        self.scale / 1000.0
    }

    /// The box of ground in view.
    pub fn ground(&self) -> Box4 {
        let m = self.metres_a_mm();
        [self.west_m, self.north_m - self.height_mm * m, self.west_m + self.width_mm * m, self.north_m]
    }

    /// Millimetres from the left for an easting.
    pub fn x(&self, east_m: f64) -> f64 {
        self.x_mm + (east_m - self.west_m) / self.metres_a_mm()
    }

    /// Millimetres from the top for a northing.
    pub fn y(&self, north_m: f64) -> f64 {
        self.y_mm + (self.north_m - north_m) / self.metres_a_mm()
    }

    /// Whether a point lies in view.
    pub fn holds(&self, east_m: f64, north_m: f64) -> bool {
        let [w, s, e, n] = self.ground();
        east_m >= w && east_m <= e && north_m >= s && north_m <= n
    }

    /// Whether a box meets the view.
    pub fn meets(&self, other: Box4) -> bool {
        let [w, s, e, n] = self.ground();
        other[0] <= e && other[2] >= w && other[1] <= n && other[3] >= s
    }

    /// The ground in view as a rectangle.
    pub fn rect(&self) -> Rect<f64> {
        let [w, s, e, n] = self.ground();
        Rect::new(Coord { x: w, y: s }, Coord { x: e, y: n })
    }

    /// Path data of areas, bends finer than paper shows left out; empty when out of view.
    pub fn area(&self, shape: &MultiPolygon<f64>) -> String {
        if !self.shows(shape) {
            return String::new();
        }
        let mut out = String::new();
        for polygon in &shape.simplify(0.06 * self.metres_a_mm()).0 {
            self.ring(polygon.exterior(), &mut out);
            for hole in polygon.interiors() {
                self.ring(hole, &mut out);
            }
        }
        out
    }

    /// Path data of lines; empty when out of view.
    pub fn lines(&self, shape: &MultiLineString<f64>) -> String {
        if !self.shows(shape) {
            return String::new();
        }
        let mut out = String::new();
        for line in &shape.simplify(0.06 * self.metres_a_mm()).0 {
            self.points(line, &mut out);
        }
        out
    }

    /// Path data of the outlines of areas; empty when no outline is in view, though the area may hold all of it.
    pub fn outline(&self, shape: &MultiPolygon<f64>) -> String {
        let rings = shape.0.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()));
        self.lines(&MultiLineString(rings.cloned().collect()))
    }

    /// Whether any of a shape lies in view.
    pub fn shows<S: Intersects<Rect<f64>> + BoundingRect<f64>>(&self, shape: &S) -> bool {
        let near = shape.bounding_rect().into().is_some_and(|r| self.meets([r.min().x, r.min().y, r.max().x, r.max().y]));
        near && shape.intersects(&self.rect())
    }

    fn ring(&self, ring: &LineString<f64>, out: &mut String) {
        let open = LineString(ring.0[..ring.0.len().saturating_sub(1)].to_vec());
        if open.0.len() > 2 {
            self.points(&open, out);
            out.push('Z');
        }
    }

    fn points(&self, line: &LineString<f64>, out: &mut String) {
        for (i, c) in line.0.iter().enumerate().filter(|(_, c)| c.x.is_finite() && c.y.is_finite()) {
            let _ = write!(out, "{}{} {}", if i == 0 { 'M' } else { 'L' }, number(self.x(c.x)), number(self.y(c.y)));
        }
    }
}

/// The ground the plan is about: its boundary, or else what was surveyed; never drawn from lek positions.
pub fn extent(holding: &Holding) -> Option<Box4> {
    let mut all: Option<Box4> = None;
    let mut add = |shape: &MultiPolygon<f64>| {
        if let Some(r) = shape.bounding_rect() {
            let b = [r.min().x, r.min().y, r.max().x, r.max().y];
            all = Some(all.map_or(b, |a| [a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])]));
        }
    };
    match &holding.boundary {
        Some(boundary) => add(boundary),
        None => {
            holding.patches.iter().filter(|p| !p.coarse).for_each(|p| add(&p.shape));
            holding.parcels.iter().for_each(|p| add(&p.shape));
            holding.woods.iter().for_each(|w| add(&w.shape));
        }
    }
    let [w, s, e, n] = all.or_else(|| {
        holding.heights.as_ref().map(|g| [g.frame.west_m, g.frame.south_m(), g.frame.east_m(), g.frame.north_m])
    })?;
    let margin = (0.03 * (e - w).max(n - s)).max(20.0);
    Some([w - margin, s - margin, e + margin, n + margin])
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo_types::polygon;

    #[test]
    fn a_view_holds_its_box_at_a_round_scale() {
        let view = View::fitting([1000.0, 2000.0, 4600.0, 5100.0], 10.0, 20.0, 170.0, 200.0);
        assert_eq!(view.scale, 25_000.0);
        let [w, s, e, n] = view.ground();
        assert!(w <= 1000.0 && s <= 2000.0 && e >= 4600.0 && n >= 5100.0);
        assert!((view.x(2800.0) - 95.0).abs() < 1e-9 && (view.y(3550.0) - 120.0).abs() < 1e-9);
    }

    #[test]
    fn scales_are_those_of_the_ladder() {
        for (metres, scale) in [(10.0, 2500.0), (250.0, 2500.0), (251.0, 5000.0), (1000.0, 10_000.0), (2500.0, 25_000.0), (2501.0, 30_000.0), (4001.0, 50_000.0), (26_000.0, 500_000.0)] {
            assert_eq!(scale_for([0.0, 0.0, metres, metres / 2.0], 100.0, 100.0), scale, "{metres} m");
        }
        assert_eq!(View::filling([0.0, 0.0, 333.0, 100.0], 0.0, 0.0, 100.0, 100.0).scale, 3330.0);
    }

    #[test]
    fn what_only_passes_by_is_not_shown() {
        let view = View::fitting([0.0, 0.0, 250.0, 250.0], 0.0, 0.0, 100.0, 100.0);
        // Its box meets the view, the line itself goes round the corner outside.
        let round = MultiLineString(vec![LineString::from(vec![(-50.0, 100.0), (-50.0, 400.0), (200.0, 400.0)])]);
        assert_eq!(view.lines(&round), "");
        let all_round = MultiPolygon(vec![polygon![(x: -50.0, y: -50.0), (x: 400.0, y: -50.0), (x: 400.0, y: 400.0), (x: -50.0, y: 400.0)]]);
        assert!(!view.area(&all_round).is_empty() && view.outline(&all_round).is_empty(), "its edge is nowhere on the map");
        assert!(view.shows(&MultiLineString(vec![LineString::from(vec![(-50.0, 100.0), (50.0, 100.0)])])));
    }

    #[test]
    fn a_square_becomes_a_closed_path() {
        let view = View::fitting([0.0, 0.0, 1000.0, 1000.0], 0.0, 0.0, 100.0, 100.0);
        let square = MultiPolygon(vec![polygon![(x: 0.0, y: 0.0), (x: 100.0, y: 0.0), (x: 100.0, y: 100.0), (x: 0.0, y: 100.0)]]);
        assert_eq!(view.area(&square), "M0 100L10 100L10 90L0 90Z");
        let far = MultiPolygon(vec![polygon![(x: 9e5, y: 0.0), (x: 9.1e5, y: 0.0), (x: 9.1e5, y: 100.0)]]);
        assert_eq!(view.area(&far), "");
    }
}
