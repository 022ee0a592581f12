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
//! A line that grazes the ground, to within a hundredth of a millimetre, is clear.
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
    let cover = obstacles.map(|o| scene.cover(o));
    let share = scene.shares(cover.as_deref());
    let rays = scene.rays(cover.as_deref());
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
    let mut grid = Grid::filled(scene.frame, f32::NAN);
    scene.outward(|column, row| {
        let line = scene.line_to_cell(column, row);
        grid.cells[row * scene.frame.cols + column] = scene.margin(&line) as f32;
    });
    Ok(grid)
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

/// A line that cuts less than this into the ground only grazes it. Of the size of the rounding of heights.
const GRAZE_M: f64 = 1.0e-5;

/// The ground round one observer, relative to the eye. Places are in cells: (column, row) of centres are whole.
struct Scene {
    frame: Frame,
    corner: (usize, usize),
    eye: (f64, f64),
    by_row: Vec<f32>,
    by_column: Vec<f32>,
    sight: Sight,
}

/// What stands on a cell of a scene.
#[derive(Clone, Copy)]
struct Cover {
    /// Height of its top above the ground, metres; nought where nothing stands or nothing stops light.
    top_m: f32,
    /// Natural logarithm of the share of light that a metre of path under it lets through; minus infinity where it is opaque.
    fade: f64,
}

/// A sight line: where it ends and how its height runs.
#[derive(Clone, Copy)]
struct Line {
    /// Columns and rows from the eye to the target.
    run: (f64, f64),
    /// The last grid lines, column and row, that are crossed before the target.
    farthest: (i32, i32),
    /// Height of the target above the eye, drop of the earth taken off.
    rise_m: f64,
    /// Drop of the earth at the target.
    drop_m: f64,
}

impl Line {
    /// Height of the line above the eye's level at a fraction of the way, on the flat map of the heights.
    #[inline]
    fn height_m(&self, t: f64) -> f64 {
        t * (self.rise_m + self.drop_m * t)
    }

    /// Whether ground of a height above the eye's level hides the target.
    #[inline]
    fn is_cut(&self, t: f64, ground_m: f64) -> bool {
        ground_m > self.height_m(t) + GRAZE_M
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
        let mut by_column = transposed(&by_row, cols, rows);
        // One value more, so that the last of a grid line has a neighbour too; its weight there is nil.
        by_row.push(ABYSS_M);
        by_column.push(ABYSS_M);
        let eye = (column - first_column as f64, row - first_row as f64);
        Ok(Self { frame, corner: (first_column, first_row), eye, by_row, by_column, sight: *sight })
    }

    /// What stands on every cell.
    fn cover(&self, obstacles: Obstacles) -> Vec<Cover> {
        let of = |(top_m, opacity): (&f32, &f32)| {
            let fade = (1.0 - f64::from(*opacity).min(1.0)).ln() / obstacles.opacity_path_m;
            Cover { top_m: if *top_m > 0.0 && *opacity > 0.0 { *top_m } else { 0.0 }, fade }
        };
        let row = |row: usize| {
            let start = obstacles.top_m.frame.at(self.corner.0, self.corner.1 + row);
            let cells = start..start + self.frame.cols;
            obstacles.top_m.cells[cells.clone()].iter().zip(&obstacles.opacity.cells[cells]).map(of)
        };
        (0..self.frame.rows).flat_map(row).collect()
    }

    /// The line to a cell's centre.
    fn line_to_cell(&self, column: usize, row: usize) -> Line {
        let run = (column as f64 - self.eye.0, row as f64 - self.eye.1);
        let before = |run: f64, at: usize| if run > 0.0 { at as i32 - 1 } else { at as i32 + 1 };
        let ground_m = f64::from(self.by_row[row * self.frame.cols + column]);
        self.line(run, (before(run.0, column), before(run.1, row)), ground_m)
    }

    /// The line to any place, on ground of a known height relative to the eye.
    fn line_to_place(&self, column: f64, row: f64, ground_m: f64) -> Line {
        let run = (column - self.eye.0, row - self.eye.1);
        let before = |run: f64, at: f64, count: usize| {
            if run > 0.0 { (at.ceil() as i32 - 1).min(count as i32 - 1) } else { (at.floor() as i32 + 1).max(0) }
        };
        let farthest = (before(run.0, column, self.frame.cols), before(run.1, row, self.frame.rows));
        self.line(run, farthest, ground_m)
    }

    fn line(&self, run: (f64, f64), farthest: (i32, i32), ground_m: f64) -> Line {
        let (east_m, south_m) = (run.0 * self.frame.dx_m, run.1 * self.frame.dy_m);
        let drop_m = (east_m * east_m + south_m * south_m) * self.sight.curvature / self.sight.earth_diameter_m;
        Line { run, farthest, rise_m: ground_m + self.sight.target_m - drop_m, drop_m }
    }

    /// Calls `take(column, row)` for every known cell of the disc, outward from the eye along rows and columns.
    fn outward(&self, mut take: impl FnMut(usize, usize)) {
        let Frame { dx_m, dy_m, cols, rows, .. } = self.frame;
        let order = |eye: f64, from: usize, to: usize| {
            let first = (eye.ceil().max(0.0) as usize).clamp(from, to);
            (first..to).chain((from..first).rev())
        };
        let squared_m2 = self.sight.radius_m * self.sight.radius_m;
        for row in order(self.eye.1, 0, rows) {
            let south_m = (row as f64 - self.eye.1) * dy_m;
            let within = |column: usize| {
                let east_m = (column as f64 - self.eye.0) * dx_m;
                east_m * east_m + south_m * south_m <= squared_m2
            };
            for column in order(self.eye.0, 0, cols) {
                if within(column) && self.by_row[row * cols + column] > ABYSS_M {
                    take(column, row);
                }
            }
        }
    }

    /// The share for every cell. Cells are taken outward from the eye, so that whatever hides a cell can be tried
    /// first on the cell behind it: most hidden cells are settled by that one crossing.
    fn shares(&self, cover: Option<&[Cover]>) -> Grid<f32> {
        let mut grid = Grid::filled(self.frame, f32::NAN);
        let mut hiding: Vec<Option<Hider>> = vec![None; self.frame.len()];
        self.outward(|column, row| {
            let at = row * self.frame.cols + column;
            let line = self.line_to_cell(column, row);
            let inner = self.inner(&line, column, row).and_then(|inner| hiding[inner]);
            hiding[at] = inner.filter(|h| self.hides(&line, *h)).or_else(|| self.hider(&line));
            grid.cells[at] = match (hiding[at], cover) {
                (Some(_), _) => 0.0,
                (None, Some(cover)) => self.through(&line, cover) as f32,
                (None, None) => 1.0,
            };
        });
        grid
    }

    /// The cell next to a target, toward the eye, that lies nearest to its sight line. Nothing next to the eye.
    fn inner(&self, line: &Line, column: usize, row: usize) -> Option<usize> {
        let (across, down) = line.run;
        let longer = across.abs().max(down.abs());
        if longer < 2.0 {
            return None;
        }
        // Adding a half and cutting off rounds; the place is never negative.
        let per_step = 1.0 / longer;
        let step = |run: f64, at: usize| (at as f64 - run * per_step + 0.5) as usize;
        Some(step(down, row) * self.frame.cols + step(across, column))
    }

    fn share(&self, line: &Line, cover: Option<&[Cover]>) -> f32 {
        if self.hider(line).is_some() {
            return 0.0;
        }
        cover.map_or(1.0, |cover| self.through(line, cover) as f32)
    }

    /// The grid line at which ground hides the target, the one nearest to the target within its family.
    fn hider(&self, line: &Line) -> Option<Hider> {
        let column = self.columns(line).first_above(line).map(Hider::Column);
        column.or_else(|| self.rows(line).first_above(line).map(Hider::Row))
    }

    /// Whether ground at a grid line between eye and target hides the target.
    fn hides(&self, line: &Line, hider: Hider) -> bool {
        let (eye, run) = (self.eye, line.run);
        let (t, ground_m) = match hider {
            Hider::Column(k) => {
                let t = (f64::from(k) - eye.0) / run.0;
                (t, ground_on(&self.by_column, self.frame.rows, k, eye.1 + t * run.1))
            }
            Hider::Row(k) => {
                let t = (f64::from(k) - eye.1) / run.1;
                (t, ground_on(&self.by_row, self.frame.cols, k, eye.0 + t * run.0))
            }
        };
        ground_m.is_some_and(|z| line.is_cut(t, z))
    }

    fn margin(&self, line: &Line) -> f64 {
        line.rise_m - self.steepest_m(line)
    }

    /// The steepest ground between eye and target, as its height at the target's distance.
    fn steepest_m(&self, line: &Line) -> f64 {
        self.columns(line).highest_m(line.drop_m).max(self.rows(line).highest_m(line.drop_m))
    }

    /// The crossings with the column lines strictly between eye and target.
    #[inline]
    fn columns(&self, line: &Line) -> Crossings<'_> {
        Crossings::new(&self.by_column, self.frame.rows, self.eye, line.run, line.farthest.0)
    }

    /// The same for the row lines.
    #[inline]
    fn rows(&self, line: &Line) -> Crossings<'_> {
        let (eye, run) = ((self.eye.1, self.eye.0), (line.run.1, line.run.0));
        Crossings::new(&self.by_row, self.frame.cols, eye, run, line.farthest.1)
    }

    /// Share of light that comes through the cover along a line that clears the ground.
    fn through(&self, line: &Line, cover: &[Cover]) -> f64 {
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
        let length_m = (line.run.0 * dx).hypot(line.run.1 * dy);
        // Fraction of the way to a place, and height of the line above the ground there. One piece ends where the next begins, and is looked at once.
        let mut looked: Option<((f64, f64), (f64, f64))> = None;
        let mut above_ground = |p: (f64, f64)| match looked {
            Some((at, found)) if at == p => found,
            _ => {
                let t = along(p);
                let found = (t, line.height_m(t) - self.ground_m(p.0 - 0.5, p.1 - 0.5).unwrap_or(f64::from(ABYSS_M)));
                looked = Some((p, found));
                found
            }
        };
        // Natural logarithm of the share; minus infinity behind opaque cover.
        let mut log_share = 0.0_f64;
        cells.pieces(|column, row, from, to| {
            let outside = column < 0.0 || row < 0.0 || column >= self.frame.cols as f64 || row >= self.frame.rows as f64;
            if outside || log_share == f64::NEG_INFINITY {
                return;
            }
            let Cover { top_m, fade } = cover[self.frame.at(column as usize, row as usize)];
            if top_m <= 0.0 {
                return;
            }
            let ((near, near_m), (far, far_m)) = (above_ground(from), above_ground(to));
            let under = share_below_zero(near_m - f64::from(top_m), far_m - f64::from(top_m));
            // Where a column and a row line all but meet, rounding may turn a piece about.
            let path_m = under * (far - near) * length_m;
            if path_m > 0.0 {
                log_share += path_m * fade;
            }
        });
        log_share.exp()
    }

    fn ground_m(&self, column: f64, row: f64) -> Option<f64> {
        bilinear(&self.frame, |c, r| f64::from(self.by_row[r * self.frame.cols + c]), column, row)
    }

    fn rays(&self, cover: Option<&[Cover]>) -> Vec<Ray> {
        let reach = (self.sight.radius_m / self.frame.dx_m, self.sight.radius_m / self.frame.dy_m);
        (0..self.sight.rays)
            .map(|k| {
                let azimuth_deg = 360.0 * k as f64 / self.sight.rays as f64;
                let (sin, cos) = azimuth_deg.to_radians().sin_cos();
                let (column, row) = (self.eye.0 + reach.0 * sin, self.eye.1 - reach.1 * cos);
                let ground_m = self.ground_m(column, row).filter(|z| *z > 0.5 * f64::from(ABYSS_M));
                let line = self.line_to_place(column, row, ground_m.unwrap_or(0.0));
                let share = ground_m.map_or(f32::NAN, |_| self.share(&line, cover));
                Ray { azimuth_deg, share, skyline_deg: self.skyline_deg(&line, ground_m) }
            })
            .collect()
    }

    fn skyline_deg(&self, line: &Line, rim_m: Option<f64>) -> f32 {
        let rim_m = rim_m.map_or(f64::NEG_INFINITY, |z| z - line.drop_m);
        let steepest = rim_m.max(self.steepest_m(line));
        if steepest == f64::NEG_INFINITY { f32::NAN } else { (steepest / self.sight.radius_m).atan().to_degrees() as f32 }
    }
}

/// Height of the ground on a grid line, between two of its values; `None` off its ends.
#[inline]
fn ground_on(lines: &[f32], length: usize, line: i32, place: f64) -> Option<f64> {
    let near = place as i32;
    if near < 0 || near as usize >= length {
        return None;
    }
    let start = line as usize * length + near as usize;
    let pair = lines.get(start..start + 2)?;
    let (a, b) = (f64::from(pair[0]), f64::from(pair[1]));
    Some(a + (place - f64::from(near)) * (b - a))
}

/// The grid line that hides a target.
#[derive(Clone, Copy)]
enum Hider {
    Column(i32),
    Row(i32),
}

/// Where a sight line crosses the grid lines of one family. Of a place, `.0` counts grid lines and `.1` runs
/// along them.
struct Crossings<'a> {
    /// One grid line after another, `length` values each.
    lines: &'a [f32],
    length: usize,
    eye: (f64, f64),
    slope: f64,
    per_line: f64,
    farthest: i32,
    count: i32,
    step: i32,
}

impl<'a> Crossings<'a> {
    #[inline]
    fn new(lines: &'a [f32], length: usize, eye: (f64, f64), run: (f64, f64), farthest: i32) -> Self {
        // The eye's place is not negative by more than half a cell, so cutting off rounds down or to zero.
        let below = eye.0 as i32;
        let (nearest, step) = if run.0 > 0.0 {
            (if eye.0 < 0.0 { 0 } else { below + 1 }, 1)
        } else {
            (if f64::from(below) < eye.0 { below } else { below - 1 }, -1)
        };
        let per_line = 1.0 / run.0;
        let count = ((farthest - nearest) * step + 1).max(0);
        Self { lines, length, eye, slope: run.1 * per_line, per_line, farthest, count, step }
    }

    /// Fraction of the way and height of the ground at one grid line.
    #[inline]
    fn at(&self, line: i32) -> Option<(f64, f64)> {
        let ahead = f64::from(line) - self.eye.0;
        let place = self.eye.1 + ahead * self.slope;
        Some((ahead * self.per_line, ground_on(self.lines, self.length, line, place)?))
    }

    /// The first grid line, from the target inward, at which the ground stands above a sight line.
    ///
    /// Steps along in whole numbers of 2^-32 cells, which over a thousand lines strays by less than a micrometre.
    #[inline]
    fn first_above(&self, line: &Line) -> Option<i32> {
        const CELL: f64 = 4_294_967_296.0;
        let ahead = f64::from(self.farthest) - self.eye.0;
        let mut place = ((self.eye.1 + ahead * self.slope) * CELL) as i64;
        let inward = (f64::from(-self.step) * self.slope * CELL) as i64;
        let (mut t, back) = (ahead * self.per_line, self.per_line.abs());
        let mut start = self.farthest as isize * self.length as isize;
        let to_next = self.step as isize * self.length as isize;
        for k in 0..self.count {
            let along = place.max(0);
            let at = (start + (along >> 32) as isize) as usize;
            let pair = self.lines.get(at..at + 2)?;
            let share = (along & 0xffff_ffff) as f32 * (1.0 / CELL) as f32;
            let ground_m = pair[0] + share * (pair[1] - pair[0]);
            if line.is_cut(t, f64::from(ground_m)) {
                return Some(self.farthest - k * self.step);
            }
            place += inward;
            t -= back;
            start -= to_next;
        }
        None
    }

    /// The steepest ground seen from the eye, as its height at the target's distance.
    fn highest_m(&self, drop_m: f64) -> f64 {
        let mut highest = f64::NEG_INFINITY;
        let known = |(_, ground_m): &(f64, f64)| *ground_m > 0.5 * f64::from(ABYSS_M);
        for k in 0..self.count {
            if let Some((t, ground_m)) = self.at(self.farthest - k * self.step).filter(known) {
                highest = highest.max(ground_m / t - drop_m * t);
            }
        }
        highest
    }
}

/// The same values column after column; in blocks, which spares the memory.
fn transposed(by_row: &[f32], cols: usize, rows: usize) -> Vec<f32> {
    const BLOCK: usize = 16;
    let mut by_column = vec![0.0; by_row.len()];
    for top in (0..rows).step_by(BLOCK) {
        for left in (0..cols).step_by(BLOCK) {
            for column in left..(left + BLOCK).min(cols) {
                for row in top..(top + BLOCK).min(rows) {
                    by_column[column * rows + row] = by_row[row * cols + column];
                }
            }
        }
    }
    by_column
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
