//! Sight lines: what can be seen from a point, over ground and through porous cover.
//!
//! How it works:
//! 1. The ground between four cell centres is known along the lines that join neighbouring centres. A sight
//!    line from the eye to a target is tested at every place where it crosses such a row or column line; the
//!    ground there is linear between the two centres. This is the exact line of sight of the R3 family: one
//!    line for every target cell, no shared reference planes and no sampling.
//! 2. The ground hides the target when it stands above the line at any crossing. With the fraction of the way
//!    `t`, distance `d` to the target, `A` the rise from eye to target and `B = curvature d^2 / D` the drop of
//!    the earth at the target, the line passes at height `(A - B) t + B t^2` above the eye's level.
//! 3. A line that clears the ground is followed cell by cell through the obstacle layer. Where it runs below
//!    the top of the cover, each metre of path lets through the same share of light (Beer's law):
//!    `share = product of (1 - opacity)^(metres under cover / opacity_path_m)`.
//!
//! Variant: the observer may stand anywhere (ground by bilinear interpolation); targets are cell centres.
//! The first and the last cell of a line count like every other one: an eye below the top of opaque cover sees
//! nothing. Cover is a solid body from the ground to its top; there is no clear trunk space beneath crowns.
//! Left out: reflection, colour, light, and the sideways width of a target.
//!
//! Missing ground hides nothing and is itself neither seen nor unseen (`NaN`). Heights are kept in single
//! precision relative to the eye: right to well under a millimetre within a few hundred metres of height.

use geo_types::Coord;
use rayon::prelude::*;

use crate::grid::{Frame, Grid};
use crate::rasterise::Cells;

/// Diameter of the Airy 1830 ellipsoid at the equator, metres (semi-major axis 6 377 563.396 m).
pub const AIRY_DIAMETER_M: f64 = 2.0 * 6_377_563.396;

/// How to look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sight {
    /// Height of the eye above the ground, metres; zero or more.
    pub eye_m: f64,
    /// Height of the target above its ground, metres; zero or more.
    pub target_m: f64,
    /// How far to look, metres; greater than zero. Cells whose centre is farther away are left out.
    pub radius_m: f64,
    /// Share of the earth's curvature left after refraction: 0 for a flat earth, 1 for no refraction; a
    /// refraction coefficient `k` is written `1 - k`.
    pub curvature: f64,
    /// Diameter of the earth, metres, such as [`AIRY_DIAMETER_M`].
    pub earth_diameter_m: f64,
    /// Number of evenly spaced compass directions for the horizon; north first, then clockwise.
    pub rays: usize,
}

impl Sight {
    /// A look over a flat earth with 720 compass directions.
    pub fn new(eye_m: f64, target_m: f64, radius_m: f64) -> Self {
        Self { eye_m, target_m, radius_m, curvature: 0.0, earth_diameter_m: AIRY_DIAMETER_M, rays: 720 }
    }
}

/// Cover that stands on the ground and lets part of the light through. Both grids share the frame of the
/// height model.
#[derive(Clone, Copy, Debug)]
pub struct Obstacles<'a> {
    /// Height of the top above the ground, metres; missing or zero where nothing stands.
    pub top_m: &'a Grid<f32>,
    /// Share of light stopped by each `opacity_path_m` of path, 0 to 1; 1 stops everything.
    pub opacity: &'a Grid<f32>,
    /// Path length that `opacity` is stated for, metres; greater than zero. With round crowns of diameter `c`
    /// scattered at random and `opacity` their canopy cover it is `pi c / 4`: a line of length `L` meets
    /// `N c L` crowns at `N` crowns a square metre, and cover is `1 - exp(-N pi c^2 / 4)`.
    pub opacity_path_m: f64,
}

/// One compass direction of a view.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ray {
    /// Direction clockwise from grid north, degrees.
    pub azimuth_deg: f64,
    /// Share of a target seen at the full radius, 0 to 1; `NaN` where the ground there is missing.
    pub share: f32,
    /// Height of the ground's skyline within the radius above the level of the eye, degrees; porous cover does
    /// not count. `NaN` where no ground is known along the ray.
    pub skyline_deg: f32,
}

/// What is seen from one point.
#[derive(Clone, Debug)]
pub struct View {
    /// Share of the target seen in each cell, 0 to 1, on the part of the height model round the observer;
    /// `NaN` beyond the radius and where ground is missing.
    pub share: Grid<f32>,
    /// Mean share over the known cells of the disc, the observer's own cell included.
    pub disc_open: f64,
    /// Mean share over the compass directions of a target at the full radius; `NaN` when none is known.
    pub horizon_open: f64,
    /// The compass directions.
    pub rays: Vec<Ray>,
}

/// Why a view cannot be taken.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SightError {
    /// The observer stands outside the height model or on missing ground.
    #[error("no ground height at the observer's place {east_m:.1} {north_m:.1}; needed: a place inside the height model and off its gaps")]
    NoGround {
        /// Easting, metres.
        east_m: f64,
        /// Northing, metres.
        north_m: f64,
    },
    /// A height, radius or curvature that makes no sense.
    #[error("invalid {what} {found}; needed: {needed}")]
    Invalid {
        /// The quantity.
        what: &'static str,
        /// The value given.
        found: f64,
        /// What it may be.
        needed: &'static str,
    },
    /// The obstacle grids do not lie on the frame of the height model.
    #[error("the obstacle grid {which} does not lie on the frame of the height model")]
    Frame {
        /// `top` or `opacity`.
        which: &'static str,
    },
}

/// Takes the view from one point. See [`views`] for several.
///
/// # Errors
/// [`SightError`] when the observer has no ground, a setting is out of range or an obstacle grid lies elsewhere.
pub fn view(
    dem: &Grid<f32>, observer: (f64, f64), sight: &Sight, obstacles: Option<Obstacles>,
) -> Result<View, SightError> {
    check(dem, sight, obstacles)?;
    let scene = Scene::new(dem, observer, sight)?;
    let share = scene.shares(obstacles);
    let rays = scene.rays(obstacles);
    let disc_open = mean(share.cells.iter().copied());
    let horizon_open = mean(rays.iter().map(|ray| ray.share));
    Ok(View { share, disc_open, horizon_open, rays })
}

/// Takes the views from several points at once, in parallel; the answers keep the order of the observers.
pub fn views(
    dem: &Grid<f32>, observers: &[(f64, f64)], sight: &Sight, obstacles: Option<Obstacles>,
) -> Vec<Result<View, SightError>> {
    observers.par_iter().with_max_len(1).map(|observer| view(dem, *observer, sight, obstacles)).collect()
}

/// Metres by which a target of the sight's height could be lowered in each cell before the ground hides it;
/// negative where it is hidden. `NaN` beyond the radius, infinite in the observer's own place. Cover is not
/// looked at.
///
/// # Errors
/// As [`view`].
pub fn margins(dem: &Grid<f32>, observer: (f64, f64), sight: &Sight) -> Result<Grid<f32>, SightError> {
    check(dem, sight, None)?;
    let scene = Scene::new(dem, observer, sight)?;
    Ok(scene.each_cell(|line| scene.margin(line) as f32))
}

fn check(dem: &Grid<f32>, sight: &Sight, obstacles: Option<Obstacles>) -> Result<(), SightError> {
    let not_negative = "zero or more";
    let positive = "more than zero";
    let invalid = |what, found, needed| Err(SightError::Invalid { what, found, needed });
    for (what, found) in [("eye height", sight.eye_m), ("target height", sight.target_m), ("curvature", sight.curvature)] {
        if !(found >= 0.0 && found.is_finite()) {
            return invalid(what, found, not_negative);
        }
    }
    for (what, found) in [("radius", sight.radius_m), ("earth's diameter", sight.earth_diameter_m)] {
        if !(found > 0.0 && found.is_finite()) {
            return invalid(what, found, positive);
        }
    }
    if let Some(cover) = obstacles {
        if !(cover.opacity_path_m > 0.0 && cover.opacity_path_m.is_finite()) {
            return invalid("opacity path", cover.opacity_path_m, positive);
        }
        for (which, grid) in [("top", cover.top_m), ("opacity", cover.opacity)] {
            if grid.frame != dem.frame {
                return Err(SightError::Frame { which });
            }
        }
    }
    Ok(())
}

fn mean(shares: impl Iterator<Item = f32>) -> f64 {
    let (sum, known) = shares.filter(|s| !s.is_nan()).fold((0.0, 0_usize), |(sum, n), s| (sum + f64::from(s), n + 1));
    if known == 0 { f64::NAN } else { sum / known as f64 }
}

/// Height given to missing ground: it hides nothing.
const ABYSS_M: f32 = -1.0e6;

/// The ground round one observer, relative to the eye. Places are in cells: (column, row) of centres are whole.
struct Scene {
    frame: Frame,
    corner: (usize, usize),
    eye: (f64, f64),
    by_row: Vec<f32>,
    by_column: Vec<f32>,
    sight: Sight,
}

/// A sight line: where it ends, how far that is and how its height runs.
#[derive(Clone, Copy)]
struct Line {
    /// Columns and rows from the eye to the target.
    run: (f64, f64),
    distance_m: f64,
    /// Height of the target above the eye, drop of the earth taken off.
    rise_m: f64,
    /// Drop of the earth at the target.
    drop_m: f64,
}

impl Line {
    /// Height of the line above the eye's level at a fraction of the way, as ground must reach to hide the target.
    fn height_m(&self, t: f64) -> f64 {
        t * (self.rise_m + self.drop_m * t)
    }
}

impl Scene {
    fn new(dem: &Grid<f32>, (east_m, north_m): (f64, f64), sight: &Sight) -> Result<Self, SightError> {
        let no_ground = SightError::NoGround { east_m, north_m };
        let whole = dem.frame;
        let column = (east_m - whole.west_m) / whole.dx_m - 0.5;
        let row = (whole.north_m - north_m) / whole.dy_m - 0.5;
        let ground_m = bilinear(&whole, |c, r| f64::from(dem.get(c, r)), column, row).ok_or(no_ground.clone())?;
        if ground_m.is_nan() {
            return Err(no_ground);
        }
        // One cell more than the radius on every side, so that rays to the rim find ground to interpolate in.
        let span = |at: f64, reach: f64, count: usize| {
            let first = (at - reach - 1.0).floor().max(0.0) as usize;
            let last = ((at + reach + 1.0).ceil() as usize).min(count - 1);
            (first, last - first + 1)
        };
        let (first_column, cols) = span(column, sight.radius_m / whole.dx_m, whole.cols);
        let (first_row, rows) = span(row, sight.radius_m / whole.dy_m, whole.rows);
        let frame = Frame {
            west_m: whole.west_m + first_column as f64 * whole.dx_m,
            north_m: whole.north_m - first_row as f64 * whole.dy_m,
            cols,
            rows,
            ..whole
        };
        let eye_m = ground_m + sight.eye_m;
        let mut by_row = Vec::with_capacity(frame.len());
        for r in first_row..first_row + rows {
            let start = r * whole.cols + first_column;
            by_row.extend(dem.cells[start..start + cols].iter().map(|z| {
                if z.is_nan() { ABYSS_M } else { (f64::from(*z) - eye_m) as f32 }
            }));
        }
        let by_column = (0..frame.len()).map(|i| by_row[(i % rows) * cols + i / rows]).collect();
        let eye = (column - first_column as f64, row - first_row as f64);
        Ok(Self { frame, corner: (first_column, first_row), eye, by_row, by_column, sight: *sight })
    }

    /// The line to a target on ground of a known height relative to the eye.
    fn line_to(&self, column: f64, row: f64, ground_m: f64) -> Line {
        let run = (column - self.eye.0, row - self.eye.1);
        let distance_m = (run.0 * self.frame.dx_m).hypot(run.1 * self.frame.dy_m);
        let drop_m = self.sight.curvature * distance_m * distance_m / self.sight.earth_diameter_m;
        Line { run, distance_m, rise_m: ground_m + self.sight.target_m - drop_m, drop_m }
    }

    /// A value for every known cell of the disc, `NaN` elsewhere.
    fn each_cell(&self, mut value: impl FnMut(&Line) -> f32) -> Grid<f32> {
        let mut grid = Grid::filled(self.frame, f32::NAN);
        for row in 0..self.frame.rows {
            for column in 0..self.frame.cols {
                let at = row * self.frame.cols + column;
                let ground_m = self.by_row[at];
                if ground_m <= ABYSS_M {
                    continue;
                }
                let line = self.line_to(column as f64, row as f64, f64::from(ground_m));
                if line.distance_m <= self.sight.radius_m {
                    grid.cells[at] = value(&line);
                }
            }
        }
        grid
    }

    fn shares(&self, obstacles: Option<Obstacles>) -> Grid<f32> {
        self.each_cell(|line| self.share(line, obstacles))
    }

    fn share(&self, line: &Line, obstacles: Option<Obstacles>) -> f32 {
        if !self.ground_is_clear(line) {
            return 0.0;
        }
        obstacles.map_or(1.0, |cover| self.through(line, cover) as f32)
    }

    fn ground_is_clear(&self, line: &Line) -> bool {
        let hidden = |t: f64, ground_m: f64| ground_m > line.height_m(t);
        !(self.any_column_crossing(line, hidden) || self.any_row_crossing(line, hidden))
    }

    fn margin(&self, line: &Line) -> f64 {
        let mut highest = f64::NEG_INFINITY;
        let mut note = |t: f64, ground_m: f64| {
            highest = highest.max(ground_m / t - line.drop_m * t);
            false
        };
        self.any_column_crossing(line, &mut note);
        self.any_row_crossing(line, &mut note);
        line.rise_m - highest
    }

    /// Visits, outward, the crossings with the column lines strictly between eye and target until `stop` says so.
    #[inline]
    fn any_column_crossing(&self, line: &Line, stop: impl FnMut(f64, f64) -> bool) -> bool {
        any_crossing(&self.by_column, self.frame.rows, self.eye, line.run, stop)
    }

    /// The same for the row lines.
    #[inline]
    fn any_row_crossing(&self, line: &Line, stop: impl FnMut(f64, f64) -> bool) -> bool {
        any_crossing(&self.by_row, self.frame.cols, (self.eye.1, self.eye.0), (line.run.1, line.run.0), stop)
    }

    /// Share of light that comes through the cover along a line that clears the ground.
    fn through(&self, line: &Line, cover: Obstacles) -> f64 {
        let (dx, dy) = (self.frame.dx_m, self.frame.dy_m);
        let place = |c: f64, r: f64| Coord {
            x: self.frame.west_m + (c + 0.5) * dx,
            y: self.frame.north_m - (r + 0.5) * dy,
        };
        let target = (self.eye.0 + line.run.0, self.eye.1 + line.run.1);
        let cells = Cells::of(&self.frame, place(self.eye.0, self.eye.1), place(target.0, target.1));
        // Fraction of the way, from the longer of the two runs.
        let along = |p: (f64, f64)| {
            let (c, r) = (p.0 - 0.5 - self.eye.0, p.1 - 0.5 - self.eye.1);
            if line.run.0.abs() > line.run.1.abs() { c / line.run.0 } else { r / line.run.1 }
        };
        // Natural logarithm of the share; minus infinity behind opaque cover.
        let mut log_share = 0.0_f64;
        cells.pieces(|column, row, from, to| {
            let outside = column < 0.0 || row < 0.0 || column >= self.frame.cols as f64 || row >= self.frame.rows as f64;
            if outside || log_share == f64::NEG_INFINITY {
                return;
            }
            let at = cover.top_m.frame.at(column as usize + self.corner.0, row as usize + self.corner.1);
            let (top_m, opacity) = (f64::from(cover.top_m.cells[at]), f64::from(cover.opacity.cells[at]));
            if !(top_m > 0.0 && opacity > 0.0) {
                return;
            }
            let clearance = |p: (f64, f64)| {
                line.height_m(along(p)) - self.ground_m(p.0 - 0.5, p.1 - 0.5).unwrap_or(f64::from(ABYSS_M)) - top_m
            };
            let under = share_below_zero(clearance(from), clearance(to));
            if under > 0.0 {
                let path_m = under * ((to.0 - from.0) * dx).hypot((to.1 - from.1) * dy);
                log_share += path_m / cover.opacity_path_m * (1.0 - opacity.min(1.0)).ln();
            }
        });
        log_share.exp()
    }

    fn ground_m(&self, column: f64, row: f64) -> Option<f64> {
        bilinear(&self.frame, |c, r| f64::from(self.by_row[r * self.frame.cols + c]), column, row)
    }

    fn rays(&self, obstacles: Option<Obstacles>) -> Vec<Ray> {
        let reach = (self.sight.radius_m / self.frame.dx_m, self.sight.radius_m / self.frame.dy_m);
        (0..self.sight.rays)
            .map(|k| {
                let azimuth_deg = 360.0 * k as f64 / self.sight.rays as f64;
                let (sin, cos) = azimuth_deg.to_radians().sin_cos();
                let (column, row) = (self.eye.0 + reach.0 * sin, self.eye.1 - reach.1 * cos);
                let ground_m = self.ground_m(column, row).filter(|z| *z > 0.5 * f64::from(ABYSS_M));
                let line = self.line_to(column, row, ground_m.unwrap_or(0.0));
                let share = ground_m.map_or(f32::NAN, |_| self.share(&line, obstacles));
                Ray { azimuth_deg, share, skyline_deg: self.skyline_deg(&line, ground_m) }
            })
            .collect()
    }

    fn skyline_deg(&self, line: &Line, rim_m: Option<f64>) -> f32 {
        let mut steepest = rim_m.map_or(f64::NEG_INFINITY, |z| z - line.drop_m);
        let mut note = |t: f64, ground_m: f64| {
            if ground_m > 0.5 * f64::from(ABYSS_M) {
                steepest = steepest.max(ground_m / t - line.drop_m * t);
            }
            false
        };
        self.any_column_crossing(line, &mut note);
        self.any_row_crossing(line, &mut note);
        if steepest == f64::NEG_INFINITY { f32::NAN } else { (steepest / line.distance_m).atan().to_degrees() as f32 }
    }
}

/// Walks the grid lines of one family that lie strictly between eye and target. `lines` holds one grid line
/// after another, `length` values each; `.0` of a place counts grid lines and `.1` runs along them.
#[inline]
fn any_crossing(
    lines: &[f32], length: usize, eye: (f64, f64), run: (f64, f64), mut stop: impl FnMut(f64, f64) -> bool,
) -> bool {
    let end = eye.0 + run.0;
    let count = (lines.len() / length) as i64;
    let (first, last, step) = if run.0 > 0.0 {
        (eye.0.floor() as i64 + 1, (end.ceil() as i64 - 1).min(count - 1), 1)
    } else {
        (eye.0.ceil() as i64 - 1, (end.floor() as i64 + 1).max(0), -1)
    };
    let number = (last - first) * step + 1;
    let (slope, per_line) = (run.1 / run.0, 1.0 / run.0);
    let mut line = first;
    for _ in 0..number.max(0) {
        let ahead = line as f64 - eye.0;
        let at = eye.1 + ahead * slope;
        let near = at as usize;
        let share = at - near as f64;
        let start = line as usize * length + near;
        let Some(&a) = lines.get(start) else { break };
        // On the last value of a grid line the share is zero, and any neighbour will do.
        let b = lines.get(start + 1).copied().unwrap_or(a);
        let (a, b) = (f64::from(a), f64::from(b));
        if stop(ahead * per_line, a + share * (b - a)) {
            return true;
        }
        line += step;
    }
    false
}

/// The share of the way from one value to another, in a straight line, that lies below zero.
fn share_below_zero(from: f64, to: f64) -> f64 {
    match (from < 0.0, to < 0.0) {
        (true, true) => 1.0,
        (false, false) => 0.0,
        (true, false) => from / (from - to),
        (false, true) => to / (to - from),
    }
}

/// Bilinear value at a place counted in cells between centres; the half cell outside the outermost centres takes
/// the value of the nearest place between them. `None` outside the frame.
fn bilinear(frame: &Frame, value: impl Fn(usize, usize) -> f64, column: f64, row: f64) -> Option<f64> {
    let (last_column, last_row) = (frame.cols.checked_sub(1)? as f64, frame.rows.checked_sub(1)? as f64);
    let inside = column >= -0.5 && row >= -0.5 && column <= last_column + 0.5 && row <= last_row + 0.5;
    if !inside {
        return None;
    }
    let (column, row) = (column.clamp(0.0, last_column), row.clamp(0.0, last_row));
    let (c, r) = (column as usize, row as usize);
    let (east, south) = ((c + 1).min(frame.cols - 1), (r + 1).min(frame.rows - 1));
    let (a, b) = (column - c as f64, row - r as f64);
    let mix = |p: f64, q: f64, share: f64| if share == 0.0 { p } else { p + share * (q - p) };
    Some(mix(mix(value(c, r), value(east, r), a), mix(value(c, south), value(east, south), a), b))
}
