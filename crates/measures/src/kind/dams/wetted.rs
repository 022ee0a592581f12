//! Ground wetted beside a blocked ditch: a strip each side, wider down the slope than up it.
//!
//! Half-widths hang on the soil and are assumptions of the tables; a study of drained blanket peat found the water table
//! lowered only a few metres each side, less uphill than downhill. Water the ditch robbed from the slope below comes back to
//! it too and reaches farther; that strip is not counted.

use super::profile::{height_at, point_at, stretch};
use geo_types::{Coord, LineString, MultiLineString, MultiPolygon, Polygon};
use ground::{Grid, buffer};

/// Half-widths of wetting, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HalfWidths {
    /// On the side that lies higher.
    pub up_m: f64,
    /// On the side that lies lower.
    pub down_m: f64,
}

/// Longest piece of ditch taken as having one lower side, metres.
const PIECE_M: f64 = 20.0;

/// Ground wetted along lines. Where neither side lies higher, or without heights, both sides get the lesser width.
pub fn along(lines: &[LineString<f64>], widths: HalfWidths, heights: Option<&Grid<f32>>) -> MultiPolygon<f64> {
    let lesser = widths.up_m.min(widths.down_m);
    let flat = buffer::Style { cap: buffer::Cap::Flat, ..buffer::Style::default() };
    let mut strips = buffer::along_lines(&MultiLineString(lines.to_vec()), lesser, flat).0;
    if let Some(heights) = heights {
        let aside = heights.frame.dx_m.max(widths.up_m).max(widths.down_m);
        for line in lines {
            let length_m = super::profile::length(line);
            let pieces = (length_m / PIECE_M).ceil().max(1.0) as usize;
            for i in 0..pieces {
                let (from, to) = (length_m * i as f64 / pieces as f64, length_m * (i + 1) as f64 / pieces as f64);
                strips.extend(lower_side(&stretch(line, from, to), point_at(line, (from + to) / 2.0), widths, aside, heights));
            }
        }
    }
    ground::quick::union(&strips)
}

/// The strips on the lower side of a short piece.
fn lower_side(piece: &LineString<f64>, middle: Coord<f64>, widths: HalfWidths, aside_m: f64, heights: &Grid<f32>) -> Vec<Polygon<f64>> {
    let (Some(first), Some(last)) = (piece.0.first(), piece.0.last()) else { return Vec::new() };
    let long = (last.x - first.x).hypot(last.y - first.y);
    if long <= 0.0 {
        return Vec::new();
    }
    // The left of the way the line runs.
    let left = ((first.y - last.y) / long, (last.x - first.x) / long);
    let beside = |side: f64| height_at(heights, Coord { x: middle.x + side * aside_m * left.0, y: middle.y + side * aside_m * left.1 });
    let (Some(on_left), Some(on_right)) = (beside(1.0), beside(-1.0)) else { return Vec::new() };
    if on_left == on_right {
        return Vec::new();
    }
    let (lower, higher) = if on_left < on_right { (1.0, -1.0) } else { (-1.0, 1.0) };
    let strip = |l: geo_types::Line<f64>, side: f64, width_m: f64| {
        let long = l.dx().hypot(l.dy());
        let off = Coord { x: -side * width_m * l.dy() / long, y: side * width_m * l.dx() / long };
        let ring = vec![l.start, l.end, l.end + off, l.start + off, l.start];
        geo::Orient::orient(&Polygon::new(LineString(ring), vec![]), geo::orient::Direction::Default)
    };
    let legs = piece.lines().filter(|l| l.dx().hypot(l.dy()) > 0.0);
    legs.flat_map(|l| [strip(l, lower, widths.down_m), strip(l, higher, widths.up_m)]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::Area;

    #[test]
    fn the_strip_is_wider_down_the_slope() {
        let frame = ground::Frame::covering(0.0, 0.0, 200.0, 200.0, 5.0);
        let mut grid = Grid::filled(frame, 0.0f32);
        for i in 0..frame.len() {
            grid.cells[i] = 0.05 * frame.centre(0, i / frame.cols).1 as f32;
        }
        // Along the contour of ground that rises to the north: 2 m above it, 6 m below it.
        let line = LineString::from(vec![(50.0, 100.0), (150.0, 100.0)]);
        let widths = HalfWidths { up_m: 2.0, down_m: 6.0 };
        let wet = along(std::slice::from_ref(&line), widths, Some(&grid));
        assert!((wet.unsigned_area() - 800.0).abs() < 1.0, "{}", wet.unsigned_area());
        let box_of = geo::BoundingRect::bounding_rect(&wet).unwrap();
        assert!((box_of.min().y - 94.0).abs() < 1e-6 && (box_of.max().y - 102.0).abs() < 1e-6);
        assert!((along(&[line], widths, None).unsigned_area() - 400.0).abs() < 1.0);
    }
}
