//! Cutting features down to the piece that breaks a rule.

use geo::{Area, BoundingRect, Euclidean, Intersects, Length};
use geo_types::{Coord, Geometry, LineString, MultiLineString, MultiPolygon, Point, Polygon, Rect};
use ground::{Frame, quick};

/// Sides of the many-sided figure that stands for a disc; it lies inside the disc by less than a tenth of a metre per
/// kilometre of radius.
const SIDES: usize = 256;

/// Pieces smaller than this (square metres, metres) are slivers of the cut and left out.
const SLIVER: f64 = 1.0;

/// The disc round a place.
pub fn disc(at: Point<f64>, radius_m: f64) -> Polygon<f64> {
    let ring = (0..SIDES).map(|i| {
        let (sin, cos) = (i as f64 / SIDES as f64 * std::f64::consts::TAU).sin_cos();
        Coord { x: at.x() + radius_m * cos, y: at.y() + radius_m * sin }
    });
    Polygon::new(LineString(ring.collect()), vec![])
}

fn apart(a: Option<Rect<f64>>, b: Option<Rect<f64>>) -> bool {
    match (a, b) {
        (Some(a), Some(b)) => !a.intersects(&b),
        _ => true,
    }
}

/// The part of an area inside another.
pub fn area_inside(shape: &MultiPolygon<f64>, of: &Polygon<f64>) -> MultiPolygon<f64> {
    if apart(shape.bounding_rect(), of.bounding_rect()) {
        return MultiPolygon(vec![]);
    }
    MultiPolygon(quick::intersection(shape, &MultiPolygon(vec![of.clone()])).0.into_iter().filter(|p| p.unsigned_area() >= SLIVER).collect())
}

/// The part of a line inside an area.
pub fn line_inside(line: &MultiLineString<f64>, of: &MultiPolygon<f64>) -> MultiLineString<f64> {
    if apart(line.bounding_rect(), of.bounding_rect()) {
        return MultiLineString(vec![]);
    }
    MultiLineString(quick::lines_inside(of, line).0.into_iter().filter(|l| Euclidean.length(l) >= SLIVER).collect())
}

/// The outlines of an area, holes left out.
pub fn outlines(shape: &MultiPolygon<f64>) -> MultiLineString<f64> {
    MultiLineString(shape.0.iter().map(|p| p.exterior().clone()).collect())
}

/// Hectares of an area.
pub fn hectares(shape: &MultiPolygon<f64>) -> f64 {
    shape.unsigned_area() / 1e4
}

/// Metres of a line.
pub fn metres(line: &MultiLineString<f64>) -> f64 {
    Euclidean.length(line)
}

/// All pieces as one geometry; a point where there is none.
pub fn together(pieces: impl IntoIterator<Item = MultiPolygon<f64>>, or_at: Point<f64>) -> Geometry<f64> {
    let all: Vec<Polygon<f64>> = pieces.into_iter().flat_map(|p| p.0).collect();
    if all.is_empty() { Geometry::Point(or_at) } else { Geometry::MultiPolygon(MultiPolygon(all)) }
}

/// The outline of a set of cells.
pub fn of_cells(frame: &Frame, mut cells: Vec<usize>) -> MultiPolygon<f64> {
    cells.sort_unstable();
    cells.dedup();
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for cell in cells {
        match runs.last_mut() {
            Some((_, end)) if *end + 1 == cell && cell % frame.cols != 0 => *end = cell,
            _ => runs.push((cell, cell)),
        }
    }
    let boxes: Vec<Polygon<f64>> = runs
        .into_iter()
        .map(|(from, to)| {
            let (x0, y) = frame.centre(from % frame.cols, from / frame.cols);
            let (x1, _) = frame.centre(to % frame.cols, to / frame.cols);
            Rect::new((x0 - frame.dx_m / 2.0, y - frame.dy_m / 2.0), (x1 + frame.dx_m / 2.0, y + frame.dy_m / 2.0)).to_polygon()
        })
        .collect();
    quick::union(&boxes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_through_a_disc_is_cut_to_its_chord() {
        // Chord of a circle of radius 100 m at 60 m from its middle: 2 sqrt(100^2 - 60^2) = 160 m.
        let line = MultiLineString(vec![LineString::from(vec![(-500.0, 60.0), (500.0, 60.0)])]);
        let cut = line_inside(&line, &MultiPolygon(vec![disc(Point::new(0.0, 0.0), 100.0)]));
        assert!((metres(&cut) - 160.0).abs() < 0.1, "{}", metres(&cut));
    }

    #[test]
    fn cells_side_by_side_become_one_outline() {
        let frame = Frame::covering(0.0, 0.0, 100.0, 100.0, 10.0);
        let shape = of_cells(&frame, vec![0, 1, 10, 11, 9, 55]);
        assert!((hectares(&shape) - 0.06).abs() < 1e-9);
        assert_eq!(shape.0.len(), 3, "a run must not wrap round the end of a row");
    }
}
