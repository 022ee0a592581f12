//! Height along a ditch, running downstream.
//!
//! A height model is noisy along a ditch a metre wide: heights read from it rise and fall. Water runs one way, so the way is
//! the one on which a never-rising profile fits the heights better, whatever way the line was drawn, and the profile is that
//! fit: pools of the adjacent heights that break the order (Ayer and others 1955, Annals of Mathematical Statistics
//! 26:641-647, from memory), joined by straight pieces between the middles of the pools. Heights that never rise are kept as
//! they are. Where a rise is greater than noise the line runs both ways and is parted at its crest or hollow.

use geo_types::{Coord, LineString};
use ground::Grid;

/// Heights along a line that never rise.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// Metres along the line, from the top, rising.
    x_m: Vec<f64>,
    /// Heights, metres, never rising.
    z_m: Vec<f64>,
}

impl Profile {
    /// The never-rising profile that fits heights along a line best; `None` for fewer than two.
    pub fn fitted(x_m: &[f64], z_m: &[f64]) -> Option<Profile> {
        let n = x_m.len().min(z_m.len());
        (n > 1).then(|| Profile { x_m: x_m[..n].to_vec(), z_m: downstream(&x_m[..n], &z_m[..n]) })
    }

    /// Height at a distance from the top, metres; that of the nearer end beyond the ends.
    pub fn at(&self, x_m: f64) -> f64 {
        let i = self.x_m.partition_point(|x| *x <= x_m);
        match i {
            0 => self.z_m[0],
            _ if i == self.x_m.len() => self.z_m[i - 1],
            _ => between((self.x_m[i - 1], self.z_m[i - 1]), (self.x_m[i], self.z_m[i]), x_m),
        }
    }

    /// Length, metres.
    pub fn length_m(&self) -> f64 {
        self.x_m.last().copied().unwrap_or(0.0)
    }

    /// Fall from one distance to another, metres a metre.
    pub fn fall(&self, from_m: f64, to_m: f64) -> f64 {
        if to_m > from_m { (self.at(from_m) - self.at(to_m)) / (to_m - from_m) } else { 0.0 }
    }

    /// The first distance after another at which the height is no more than a level; `None` where it never is.
    pub fn falls_to(&self, after_m: f64, level_m: f64) -> Option<f64> {
        let first = self.x_m.partition_point(|x| *x <= after_m);
        let mut last = (after_m, self.at(after_m));
        for i in first..self.x_m.len() {
            let here = (self.x_m[i], self.z_m[i]);
            if here.1 <= level_m {
                let fall = last.1 - here.1;
                let share = if fall > 0.0 { ((last.1 - level_m) / fall).clamp(0.0, 1.0) } else { 0.0 };
                return Some(last.0 + share * (here.0 - last.0));
            }
            last = here;
        }
        None
    }
}

fn between(a: (f64, f64), b: (f64, f64), x: f64) -> f64 {
    if b.0 > a.0 { a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0) } else { a.1 }
}

/// Pools of heights that break the order: middle of the distances, mean height, number.
fn pools(x_m: &[f64], z_m: &[f64]) -> Vec<(f64, f64, f64)> {
    let mut pools: Vec<(f64, f64, f64)> = Vec::with_capacity(x_m.len());
    for (&x, &z) in x_m.iter().zip(z_m) {
        let mut new = (x, z, 1.0);
        while let Some(&last) = pools.last()
            && last.1 < new.1
        {
            pools.pop();
            let n = last.2 + new.2;
            new = ((last.0 * last.2 + new.0 * new.2) / n, (last.1 * last.2 + new.1 * new.2) / n, n);
        }
        pools.push(new);
    }
    pools
}

/// Heights that never rise with distance, nearest to the given ones by least squares, smoothed between pools.
pub fn downstream(x_m: &[f64], z_m: &[f64]) -> Vec<f64> {
    let pools = pools(x_m, z_m);
    let mut after = 0;
    x_m.iter()
        .map(|&x| {
            while after < pools.len() && pools[after].0 <= x {
                after += 1;
            }
            match (after.checked_sub(1).and_then(|i| pools.get(i)), pools.get(after)) {
                (Some(a), Some(b)) => between((a.0, a.1), (b.0, b.1), x),
                (Some(one), None) | (None, Some(one)) => one.1,
                (None, None) => f64::NAN,
            }
        })
        .collect()
}

/// A stretch of ditch drawn downstream.
#[derive(Clone, Debug)]
pub struct Run {
    /// The line, from the top down.
    pub line: LineString<f64>,
    /// Its heights; `None` where the height model has none.
    pub profile: Option<Profile>,
}

/// The runs of a line: drawn downstream by the height model, parted where it runs both ways by more than a rise.
///
/// `step_m` — how far apart heights are read. Without heights the line is taken as drawn.
pub fn runs(line: &LineString<f64>, heights: Option<&Grid<f32>>, step_m: f64, rise_max_m: f64) -> Vec<Run> {
    let length_m = length(line);
    if length_m <= 0.0 {
        return Vec::new();
    }
    let as_drawn = || vec![Run { line: line.clone(), profile: None }];
    let Some(heights) = heights else { return as_drawn() };
    let steps = (length_m / step_m.max(0.1)).ceil().max(2.0) as usize;
    let x_m: Vec<f64> = (0..=steps).map(|i| length_m * i as f64 / steps as f64).collect();
    let read: Vec<Option<f64>> = x_m.iter().map(|x| height_at(heights, point_at(line, *x))).collect();
    if read.iter().flatten().count() < 2 {
        return as_drawn();
    }
    let z_m = filled(&x_m, &read);
    let mut runs = Vec::new();
    part(line, &x_m, &z_m, rise_max_m, 0, &mut runs);
    runs
}

/// Greatest number of times a line is parted in two.
const PARTINGS: usize = 6;

fn part(line: &LineString<f64>, x_m: &[f64], z_m: &[f64], rise_max_m: f64, depth: usize, runs: &mut Vec<Run>) {
    let n = x_m.len();
    let back: Vec<f64> = z_m.iter().rev().copied().collect();
    let (there, other) = (downstream(x_m, z_m), downstream(x_m, &back));
    let off = |z: &[f64], fit: &[f64]| z.iter().zip(fit).map(|(a, b)| (a - b).powi(2)).sum::<f64>();
    let turned = off(&back, &other) < off(z_m, &there);
    let (z, fit) = if turned { (back.as_slice(), other.as_slice()) } else { (z_m, there.as_slice()) };
    let rise = z.iter().zip(fit).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    let start = x_m.first().copied().unwrap_or(0.0);
    if rise > rise_max_m && depth < PARTINGS && n >= 6 {
        // Where the heights stand farthest off the straight line between the ends: a crest or a hollow.
        let chord = |i: usize| between((x_m[0], z_m[0]), (x_m[n - 1], z_m[n - 1]), x_m[i]);
        let at = (2..n - 2).max_by(|a, b| (z_m[*a] - chord(*a)).abs().total_cmp(&(z_m[*b] - chord(*b)).abs())).unwrap_or(n / 2);
        part(line, &x_m[..=at], &z_m[..=at], rise_max_m, depth + 1, runs);
        part(line, &x_m[at..], &z_m[at..], rise_max_m, depth + 1, runs);
        return;
    }
    let mut piece = stretch(line, start, x_m.last().copied().unwrap_or(start));
    if turned {
        piece.0.reverse();
    }
    let from_top: Vec<f64> = x_m.iter().map(|x| x - start).collect();
    runs.push(Run { line: piece, profile: Profile::fitted(&from_top, z) });
}

/// Heights where some could not be read: straight between the neighbours read, flat beyond.
fn filled(x_m: &[f64], read: &[Option<f64>]) -> Vec<f64> {
    let known: Vec<(f64, f64)> = x_m.iter().zip(read).filter_map(|(x, z)| z.map(|z| (*x, z))).collect();
    x_m.iter()
        .map(|x| {
            let i = known.partition_point(|(k, _)| k < x);
            match (i.checked_sub(1).and_then(|i| known.get(i)), known.get(i)) {
                (Some(a), Some(b)) => between(*a, *b, *x),
                (Some(one), None) | (None, Some(one)) => one.1,
                (None, None) => f64::NAN,
            }
        })
        .collect()
}

/// Height at a place, straight between the four cell middles round it; `None` off the model or beside a missing cell.
pub fn height_at(heights: &Grid<f32>, at: Coord<f64>) -> Option<f64> {
    let f = &heights.frame;
    let (c, r) = ((at.x - f.west_m) / f.dx_m - 0.5, (f.north_m - at.y) / f.dy_m - 0.5);
    if !(c > -0.5 && r > -0.5 && c < f.cols as f64 - 0.5 && r < f.rows as f64 - 0.5) {
        return None;
    }
    let (c, r) = (c.clamp(0.0, (f.cols - 1) as f64), r.clamp(0.0, (f.rows - 1) as f64));
    let (c0, r0) = ((c.floor() as usize).min(f.cols.saturating_sub(2)), (r.floor() as usize).min(f.rows.saturating_sub(2)));
    let (c1, r1) = ((c0 + 1).min(f.cols - 1), (r0 + 1).min(f.rows - 1));
    let (s, t) = (c - c0 as f64, r - r0 as f64);
    let cell = |c: usize, r: usize| f64::from(heights.get(c, r));
    let z = (1.0 - t) * ((1.0 - s) * cell(c0, r0) + s * cell(c1, r0)) + t * ((1.0 - s) * cell(c0, r1) + s * cell(c1, r1));
    z.is_finite().then_some(z)
}

/// Length of a line, metres.
pub fn length(line: &LineString<f64>) -> f64 {
    line.lines().map(|l| l.dx().hypot(l.dy())).sum()
}

/// The place at a distance along a line; its ends beyond them.
pub fn point_at(line: &LineString<f64>, x_m: f64) -> Coord<f64> {
    let mut left = x_m.max(0.0);
    for l in line.lines() {
        let long = l.dx().hypot(l.dy());
        if left <= long && long > 0.0 {
            let share = left / long;
            return Coord { x: l.start.x + share * l.dx(), y: l.start.y + share * l.dy() };
        }
        left -= long;
    }
    line.0.last().copied().unwrap_or(Coord { x: f64::NAN, y: f64::NAN })
}

/// The stretch of a line between two distances along it.
pub fn stretch(line: &LineString<f64>, from_m: f64, to_m: f64) -> LineString<f64> {
    let mut corners = vec![point_at(line, from_m)];
    let mut x = 0.0;
    for l in line.lines() {
        x += l.dx().hypot(l.dy());
        if x > from_m && x < to_m {
            corners.push(l.end);
        }
    }
    corners.push(point_at(line, to_m));
    corners.dedup();
    LineString(corners)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heights_that_never_rise_are_kept_and_noise_is_smoothed_into_a_fall() {
        let x: Vec<f64> = (0..50).map(|i| 2.0 * f64::from(i)).collect();
        let even: Vec<f64> = x.iter().map(|x| 300.0 - 0.02 * x).collect();
        assert_eq!(downstream(&x, &even), even);
        let rough: Vec<f64> = even.iter().enumerate().map(|(i, z)| z + if i % 2 == 0 { 0.15 } else { -0.15 }).collect();
        let smooth = downstream(&x, &rough);
        assert!(smooth.windows(2).all(|w| w[1] <= w[0] + 1e-12));
        assert!(smooth.iter().zip(&even).all(|(a, b)| (a - b).abs() < 0.16));
    }

    #[test]
    fn the_way_is_found_from_heights_not_from_drawing() {
        let frame = ground::Frame::covering(0.0, 0.0, 400.0, 100.0, 5.0);
        let mut grid = Grid::filled(frame, 0.0f32);
        for i in 0..frame.len() {
            grid.cells[i] = (300.0 + 0.03 * frame.centre(i % frame.cols, 0).0) as f32;
        }
        // The ground rises to the east; drawn eastwards, the ditch runs west.
        let line = LineString::from(vec![(50.0, 50.0), (350.0, 50.0)]);
        let run = runs(&line, Some(&grid), 5.0, 1.0).remove(0);
        assert_eq!(run.line.0[0].x, 350.0);
        let p = run.profile.unwrap();
        assert!((p.fall(0.0, 300.0) - 0.03).abs() < 1e-5);
    }

    #[test]
    fn a_ditch_over_a_crest_is_parted_there() {
        let frame = ground::Frame::covering(0.0, 0.0, 400.0, 100.0, 5.0);
        let mut grid = Grid::filled(frame, 0.0f32);
        for i in 0..frame.len() {
            grid.cells[i] = (320.0 - 0.05 * (frame.centre(i % frame.cols, 0).0 - 200.0).abs()) as f32;
        }
        let parts = runs(&LineString::from(vec![(20.0, 50.0), (380.0, 50.0)]), Some(&grid), 5.0, 1.0);
        assert_eq!(parts.len(), 2);
        assert!(parts.iter().all(|r| (r.line.0[0].x - 200.0).abs() <= 5.0), "both run from the crest");
    }
}
