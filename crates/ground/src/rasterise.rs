//! Shapes to cells: which cells a polygon, line or point falls on.
//!
//! - [`polygons`] and [`spans`]: a cell belongs to a polygon when its **centre** does. Scan lines through the
//!   row centres, even-odd rule over the rings of one polygon, so holes stay open. Edges are half-open, so
//!   two polygons that share an edge vertex by vertex never both claim a cell and never leave one between them.
//! - [`coverage`]: the share of each cell's area inside a polygon, exact up to rounding (signed areas to the
//!   right of each edge piece, summed along the row). Needs rings that do not cross one another.
//! - [`lines`], [`line_lengths`]: the cells a line runs through and the metres of it in each.
//! - [`points`]: the cell that holds each point.
//!
//! Left out: the variant that counts every cell a polygon merely touches. Coordinates that are not finite
//! make their segment be skipped.

use geo_types::{Coord, LineString, MultiLineString, MultiPolygon, Polygon};

use crate::grid::{Frame, Grid};

/// The mark of a cell that no shape covers.
pub const NONE: u32 = u32::MAX;

/// Marks each cell with the number of the polygon that holds its centre; later shapes overwrite earlier ones.
///
/// Cells outside every shape hold [`NONE`].
pub fn polygons<'a>(frame: &Frame, shapes: impl IntoIterator<Item = (&'a MultiPolygon<f64>, u32)>) -> Grid<u32> {
    let mut grid = Grid::filled(*frame, NONE);
    for (shape, mark) in shapes {
        for polygon in &shape.0 {
            spans(frame, polygon, |row, from, to| {
                let start = row * frame.cols;
                grid.cells[start + from..start + to].fill(mark);
            });
        }
    }
    grid
}

/// True for the cells whose centre lies inside the shape.
pub fn inside(frame: &Frame, shape: &MultiPolygon<f64>) -> Grid<bool> {
    let mut grid = Grid::filled(*frame, false);
    for polygon in &shape.0 {
        spans(frame, polygon, |row, from, to| {
            let start = row * frame.cols;
            grid.cells[start + from..start + to].fill(true);
        });
    }
    grid
}

/// Calls `visit(row, first column, column after the last)` for each run of cells whose centres lie inside the
/// polygon, row by row from the north. No run is empty, and no cell is visited twice.
pub fn spans(frame: &Frame, polygon: &Polygon<f64>, mut visit: impl FnMut(usize, usize, usize)) {
    let mut crossings: Vec<(usize, f64)> = Vec::new();
    for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
        for edge in ring.0.windows(2) {
            cross_rows(frame, edge[0], edge[1], &mut crossings);
        }
    }
    crossings.sort_unstable_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    // Every ring is closed, so each row holds an even number of crossings and pairs never straddle two rows.
    for pair in crossings.chunks_exact(2) {
        let column = |x: f64| ((x - frame.west_m) / frame.dx_m - 0.5).ceil().clamp(0.0, frame.cols as f64) as usize;
        let (from, to) = (column(pair[0].1), column(pair[1].1));
        if from < to {
            visit(pair[0].0, from, to);
        }
    }
}

/// Adds the easting at which an edge crosses each row-centre line, for the rows of the frame.
fn cross_rows(frame: &Frame, a: Coord<f64>, b: Coord<f64>, crossings: &mut Vec<(usize, f64)>) {
    if !(a.x.is_finite() && a.y.is_finite() && b.x.is_finite() && b.y.is_finite()) || a.y == b.y {
        return;
    }
    // The same two end points must give the same easting whichever way the edge runs.
    let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
    let row_at = |y: f64| (frame.north_m - y) / frame.dy_m - 0.5;
    let first = (row_at(high.y).floor() - 1.0).max(0.0);
    let last = (row_at(low.y).ceil() + 1.0).min(frame.rows as f64 - 1.0);
    if first > last {
        return;
    }
    let run = (high.x - low.x) / (high.y - low.y);
    for row in first as usize..=last as usize {
        let y = frame.north_m - (row as f64 + 0.5) * frame.dy_m;
        if low.y <= y && y < high.y {
            crossings.push((row, low.x + (y - low.y) * run));
        }
    }
}

/// The share (0 to 1) of each cell's area that lies inside the shape.
///
/// Overlapping members of the multi-polygon are counted once each and the sum is held to 1.
pub fn coverage(frame: &Frame, shape: &MultiPolygon<f64>) -> Grid<f32> {
    let mut share = vec![0.0_f64; frame.len()];
    for polygon in &shape.0 {
        add_coverage(frame, polygon, &mut share);
    }
    Grid { frame: *frame, cells: share.into_iter().map(|s| s.clamp(0.0, 1.0) as f32).collect() }
}

fn add_coverage(frame: &Frame, polygon: &Polygon<f64>, share: &mut [f64]) {
    let Some(window) = rows_of(frame, polygon) else { return };
    let width = frame.cols + 1;
    // `own[c]`: signed area inside cell c to the right of the edge pieces in it; `onward[c]`: the signed fall
    // those pieces hand to every cell further right. Both in shares of a cell.
    let mut own = vec![0.0_f64; window.len() * width];
    let mut onward = vec![0.0_f64; window.len() * width];
    for (index, ring) in std::iter::once(polygon.exterior()).chain(polygon.interiors()).enumerate() {
        let outer = index == 0;
        let sign = if (ring_area_twice(ring) > 0.0) == outer { 1.0 } else { -1.0 };
        for edge in ring.0.windows(2) {
            let cells = Cells::of(frame, edge[0], edge[1]);
            cells.pieces(|column, row, from, to| {
                if row < window.start as f64 || row >= window.end as f64 {
                    return;
                }
                let base = (row as usize - window.start) * width;
                let rise = sign * (to.1 - from.1);
                if column < 0.0 {
                    onward[base] += rise;
                    own[base] += rise;
                } else if column < frame.cols as f64 {
                    let right = column + 1.0 - 0.5 * (from.0 + to.0);
                    own[base + column as usize] += rise * right;
                    onward[base + column as usize + 1] += rise;
                    own[base + column as usize + 1] += rise;
                }
            });
        }
    }
    for row in window.clone() {
        let base = (row - window.start) * width;
        let mut carried = 0.0;
        for column in 0..frame.cols {
            share[row * frame.cols + column] += carried + own[base + column];
            carried += onward[base + column];
        }
    }
}

fn rows_of(frame: &Frame, polygon: &Polygon<f64>) -> Option<std::ops::Range<usize>> {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for point in &polygon.exterior().0 {
        low = low.min(point.y);
        high = high.max(point.y);
    }
    let first = ((frame.north_m - high) / frame.dy_m).floor().max(0.0);
    let after = ((frame.north_m - low) / frame.dy_m).ceil().min(frame.rows as f64);
    (first < after).then_some(first as usize..after as usize)
}

/// Twice the signed area of a ring, positive when it runs anticlockwise.
fn ring_area_twice(ring: &LineString<f64>) -> f64 {
    let Some(origin) = ring.0.first() else { return 0.0 };
    ring.0
        .windows(2)
        .map(|edge| {
            (edge[0].x - origin.x) * (edge[1].y - origin.y) - (edge[1].x - origin.x) * (edge[0].y - origin.y)
        })
        .sum()
}

/// Marks each cell that a line runs through; later lines overwrite earlier ones, other cells hold [`NONE`].
pub fn lines<'a>(frame: &Frame, shapes: impl IntoIterator<Item = (&'a MultiLineString<f64>, u32)>) -> Grid<u32> {
    let mut grid = Grid::filled(*frame, NONE);
    for (shape, mark) in shapes {
        for line in &shape.0 {
            along(frame, line, |column, row, _| grid.cells[row * frame.cols + column] = mark);
        }
    }
    grid
}

/// Metres of line in each cell.
pub fn line_lengths(frame: &Frame, shape: &MultiLineString<f64>) -> Grid<f32> {
    let mut length_m = vec![0.0_f64; frame.len()];
    for line in &shape.0 {
        along(frame, line, |column, row, piece_m| length_m[row * frame.cols + column] += piece_m);
    }
    Grid { frame: *frame, cells: length_m.into_iter().map(|m| m as f32).collect() }
}

/// Calls `visit(column, row, metres)` for each piece of the line within one cell, in the order of the line.
/// A cell is visited again each time the line comes back to it or has a corner in it.
pub fn along(frame: &Frame, line: &LineString<f64>, mut visit: impl FnMut(usize, usize, f64)) {
    for edge in line.0.windows(2) {
        Cells::of(frame, edge[0], edge[1]).pieces(|column, row, from, to| {
            if column >= 0.0 && row >= 0.0 && column < frame.cols as f64 && row < frame.rows as f64 {
                let metres = ((to.0 - from.0) * frame.dx_m).hypot((to.1 - from.1) * frame.dy_m);
                visit(column as usize, row as usize, metres);
            }
        });
    }
}

/// A segment in units of cells, counted from the north-west corner, y downward.
pub(crate) struct Cells {
    from: (f64, f64),
    to: (f64, f64),
    bounds: (f64, f64),
}

impl Cells {
    pub(crate) fn of(frame: &Frame, a: Coord<f64>, b: Coord<f64>) -> Self {
        let unit = |p: Coord<f64>| ((p.x - frame.west_m) / frame.dx_m, (frame.north_m - p.y) / frame.dy_m);
        Self { from: unit(a), to: unit(b), bounds: (frame.cols as f64, frame.rows as f64) }
    }

    /// Cuts the segment at every column and row line of the frame and hands over each piece with its cell.
    /// Parts beyond the frame come as longer pieces with a column or row outside it.
    pub(crate) fn pieces(&self, mut visit: impl FnMut(f64, f64, (f64, f64), (f64, f64))) {
        let (dx, dy) = (self.to.0 - self.from.0, self.to.1 - self.from.1);
        if !(dx.is_finite() && dy.is_finite() && self.from.0.is_finite() && self.from.1.is_finite()) {
            return;
        }
        let mut columns = Cuts::new(self.from.0, dx, self.bounds.0);
        let mut rows = Cuts::new(self.from.1, dy, self.bounds.1);
        let (mut t, mut from) = (0.0, self.from);
        while t < 1.0 {
            let cut = columns.t.min(rows.t);
            let next = cut.min(1.0);
            let mut to = (self.from.0 + dx * next, self.from.1 + dy * next);
            if next >= 1.0 {
                to = self.to;
            }
            if columns.t <= cut && next < 1.0 {
                to.0 = columns.line;
            }
            if rows.t <= cut && next < 1.0 {
                to.1 = rows.line;
            }
            if next > t {
                visit((0.5 * (from.0 + to.0)).floor(), (0.5 * (from.1 + to.1)).floor(), from, to);
            }
            if columns.t <= cut {
                columns.advance();
            }
            if rows.t <= cut {
                rows.advance();
            }
            (t, from) = (next, to);
        }
    }
}

/// The whole-numbered lines a coordinate passes between t = 0 and t = 1, in order, within the frame.
struct Cuts {
    start: f64,
    change: f64,
    line: f64,
    step: f64,
    limit: f64,
    t: f64,
}

impl Cuts {
    fn new(start: f64, change: f64, limit: f64) -> Self {
        let (line, step) =
            if change > 0.0 { ((start.floor() + 1.0).max(0.0), 1.0) } else { ((start.ceil() - 1.0).min(limit), -1.0) };
        let mut cuts = Self { start, change, line, step, limit, t: f64::INFINITY };
        cuts.place();
        cuts
    }

    fn place(&mut self) {
        let within = self.line >= 0.0 && self.line <= self.limit && self.change != 0.0;
        self.t = if within { (self.line - self.start) / self.change } else { f64::INFINITY };
    }

    fn advance(&mut self) {
        self.line += self.step;
        self.place();
    }
}

/// Marks the cell that holds each point (easting, northing in metres); later points overwrite earlier ones.
pub fn points(frame: &Frame, marked: impl IntoIterator<Item = ((f64, f64), u32)>) -> Grid<u32> {
    let mut grid = Grid::filled(*frame, NONE);
    for ((east_m, north_m), mark) in marked {
        if let Some((column, row)) = frame.cell_of(east_m, north_m) {
            grid.cells[row * frame.cols + column] = mark;
        }
    }
    grid
}

#[cfg(test)]
mod tests {
    use geo::{Area, Contains, Euclidean, Length, line_string, polygon};
    use proptest::prelude::*;

    use super::*;

    fn frame() -> Frame {
        Frame::square(0.0, 100.0, 5.0, 20, 20)
    }

    #[test]
    fn hole_stays_open_and_count_matches_area() {
        let shape = MultiPolygon(vec![Polygon::new(
            line_string![(x: 10.0, y: 10.0), (x: 90.0, y: 10.0), (x: 90.0, y: 90.0), (x: 10.0, y: 90.0)],
            vec![line_string![(x: 30.0, y: 30.0), (x: 30.0, y: 60.0), (x: 60.0, y: 60.0), (x: 60.0, y: 30.0)]],
        )]);
        let marks = polygons(&frame(), [(&shape, 7)]);
        assert_eq!(marks.cells.iter().filter(|m| **m == 7).count(), 16 * 16 - 6 * 6);
        assert_eq!(marks.at_point(45.0, 45.0), Some(NONE));
        let cover = coverage(&frame(), &shape);
        let area: f64 = cover.cells.iter().map(|s| f64::from(*s) * 25.0).sum();
        assert!((area - (6400.0 - 900.0)).abs() < 1e-6);
    }

    #[test]
    fn later_shape_overwrites_and_points_land() {
        let west = MultiPolygon(vec![polygon![(x: 0.0, y: 0.0), (x: 60.0, y: 0.0), (x: 60.0, y: 100.0), (x: 0.0, y: 100.0)]]);
        let east = MultiPolygon(vec![polygon![(x: 40.0, y: 0.0), (x: 100.0, y: 0.0), (x: 100.0, y: 100.0), (x: 40.0, y: 100.0)]]);
        let marks = polygons(&frame(), [(&west, 1), (&east, 2)]);
        assert_eq!(marks.at_point(50.0, 50.0), Some(2));
        assert_eq!(marks.at_point(30.0, 50.0), Some(1));
        let spots = points(&frame(), [((2.0, 99.0), 3), ((200.0, 0.0), 4)]);
        assert_eq!(spots.cells.iter().filter(|m| **m != NONE).count(), 1);
        assert_eq!(spots.get(0, 0), 3);
    }

    #[test]
    fn line_on_the_diagonal_touches_the_diagonal() {
        let line = MultiLineString(vec![line_string![(x: 0.0, y: 100.0), (x: 100.0, y: 0.0)]]);
        let marks = lines(&frame(), [(&line, 1)]);
        for i in 0..20 {
            assert_eq!(marks.get(i, i), 1);
        }
        assert_eq!(marks.cells.iter().filter(|m| **m == 1).count(), 20);
    }

    fn star(radii: &[f64], x: f64, y: f64) -> Polygon<f64> {
        let n = radii.len() as f64;
        let ring: Vec<Coord<f64>> = radii
            .iter()
            .enumerate()
            .map(|(k, r)| {
                let angle = std::f64::consts::TAU * k as f64 / n;
                Coord { x: x + r * angle.cos(), y: y + r * angle.sin() }
            })
            .collect();
        Polygon::new(LineString(ring), vec![])
    }

    proptest! {
        #[test]
        fn cells_are_those_whose_centre_is_inside(
            radii in prop::collection::vec(4.0..70.0_f64, 3..12), x in -20.0..120.0_f64, y in -20.0..120.0_f64
        ) {
            let frame = frame();
            let shape = star(&radii, x, y);
            let marks = polygons(&frame, [(&MultiPolygon(vec![shape.clone()]), 1)]);
            for row in 0..frame.rows {
                for column in 0..frame.cols {
                    let (e, n) = frame.centre(column, row);
                    prop_assert_eq!(marks.get(column, row) == 1, shape.contains(&geo::Point::new(e, n)));
                }
            }
        }

        #[test]
        fn coverage_keeps_the_area(
            radii in prop::collection::vec(4.0..45.0_f64, 3..12), x in 46.0..54.0_f64, y in 46.0..54.0_f64
        ) {
            let shape = star(&radii, x, y);
            let cover = coverage(&frame(), &MultiPolygon(vec![shape.clone()]));
            let area: f64 = cover.cells.iter().map(|s| f64::from(*s) * 25.0).sum();
            prop_assert!((area - shape.unsigned_area()).abs() < 1e-3);
            prop_assert!(cover.cells.iter().all(|s| (0.0..=1.0).contains(s)));
        }

        #[test]
        fn coverage_of_a_cut_shape_is_that_of_the_window(
            radii in prop::collection::vec(4.0..90.0_f64, 3..12), x in -20.0..120.0_f64, y in -20.0..120.0_f64
        ) {
            let shape = MultiPolygon(vec![star(&radii, x, y)]);
            let wide = Frame::square(-150.0, 250.0, 5.0, 80, 80);
            let (near, far) = (coverage(&frame(), &shape), coverage(&wide, &shape));
            for row in 0..20 {
                for column in 0..20 {
                    prop_assert!((near.get(column, row) - far.get(column + 30, row + 30)).abs() < 1e-5);
                }
            }
        }

        #[test]
        fn line_length_is_shared_out_whole(
            ends in prop::collection::vec((1.0..99.0_f64, 1.0..99.0_f64), 2..8)
        ) {
            let line = LineString::from(ends);
            let length = line_lengths(&frame(), &MultiLineString(vec![line.clone()]));
            let total: f64 = length.cells.iter().map(|m| f64::from(*m)).sum();
            prop_assert!((total - Euclidean.length(&line)).abs() < 1e-3);
        }

        #[test]
        fn neighbours_share_out_every_cell(
            foot in prop::collection::vec(0.0..100.0_f64, 5), waist in prop::collection::vec(0.0..100.0_f64, 5)
        ) {
            let ordered = |mut xs: Vec<f64>| {
                xs.extend([0.0, 100.0]);
                xs.sort_by(f64::total_cmp);
                xs
            };
            let (foot, waist) = (ordered(foot), ordered(waist));
            let mut claims = [0; 400];
            for k in 0..foot.len() - 1 {
                let strip = MultiPolygon(vec![polygon![
                    (x: foot[k], y: 0.0), (x: foot[k + 1], y: 0.0), (x: waist[k + 1], y: 47.5),
                    (x: foot[k + 1], y: 100.0), (x: foot[k], y: 100.0), (x: waist[k], y: 47.5)
                ]]);
                for (claim, within) in claims.iter_mut().zip(inside(&frame(), &strip).cells) {
                    *claim += i32::from(within);
                }
            }
            prop_assert!(claims.iter().all(|c| *c == 1));
        }
    }
}
