//! Kernel sums: how much of something lies round each cell, nearer ground counting more.
//!
//! For every cell, the values of the cells within reach are added, each times a weight that depends on the
//! distance between the two centres only. Three readings of the result: the plain sum, the sum with the weights
//! scaled to total one, and the mean over the known cells.
//!
//! Variant: weights are cut off in a circle of the stated reach and taken at cell centres, not averaged over
//! cells; ground beyond the grid and missing cells add nothing. [`half_normal_square`] cuts off in a square
//! instead, which lets rows and columns be done one after the other: the way for wide kernels.
//! Sums are in double precision and do not depend on the number of threads.

use rayon::prelude::*;

use crate::grid::{Frame, Grid};

/// How weight falls with distance. All lengths in metres, greater than zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kernel {
    /// One within the radius.
    Disc {
        /// Radius, metres; its rim belongs to it.
        radius_m: f64,
    },
    /// `1 - (d / radius)^2` within the radius.
    Epanechnikov {
        /// Radius, metres.
        radius_m: f64,
    },
    /// `exp(-d^2 / (2 sigma^2))`: the half-normal fall with distance, in the plane the Gaussian kernel.
    HalfNormal {
        /// Standard deviation along one axis, metres.
        sigma_m: f64,
        /// Distance beyond which the weight is zero, metres.
        reach_m: f64,
    },
    /// `exp(-d / scale)`.
    NegativeExponential {
        /// Distance over which the weight falls to 1/e, metres.
        scale_m: f64,
        /// Distance beyond which the weight is zero, metres.
        reach_m: f64,
    },
}

impl Kernel {
    /// The weight at a distance in metres.
    pub fn weight(&self, distance_m: f64) -> f64 {
        let d = distance_m;
        if d > self.reach_m() {
            return 0.0;
        }
        match *self {
            Self::Disc { .. } => 1.0,
            Self::Epanechnikov { radius_m } => 1.0 - (d / radius_m).powi(2),
            Self::HalfNormal { sigma_m, .. } => (-d * d / (2.0 * sigma_m * sigma_m)).exp(),
            Self::NegativeExponential { scale_m, .. } => (-d / scale_m).exp(),
        }
    }

    /// Distance beyond which the weight is zero, metres.
    pub fn reach_m(&self) -> f64 {
        match *self {
            Self::Disc { radius_m } | Self::Epanechnikov { radius_m } => radius_m,
            Self::HalfNormal { reach_m, .. } | Self::NegativeExponential { reach_m, .. } => reach_m,
        }
    }
}

/// The standard deviation of a half-normal kernel in the plane that keeps 95 % of its weight within a range.
///
/// The weight within `R` of a round normal distribution in the plane is `1 - exp(-R^2 / (2 sigma^2))` (the
/// distance follows a Rayleigh distribution), so `sigma = R / sqrt(-2 ln 0.05)`, about `0.4085 R`. This is the
/// share of **area-weighted** use, not of distances along one line (which would be `R / 1.96`).
pub fn half_normal_sigma_for(range_containing_95pct_m: f64) -> f64 {
    range_containing_95pct_m / (-2.0 * 0.05_f64.ln()).sqrt()
}

/// What a kernel gathered, cell by cell.
#[derive(Clone, Debug, PartialEq)]
pub struct Gathered {
    /// Weight times value, added over the known cells within reach.
    pub sum: Grid<f64>,
    /// Weights added over the known cells within reach.
    pub known_weight: Grid<f64>,
    /// Weights of the whole kernel added, as if every cell were known.
    pub full_weight: f64,
}

impl Gathered {
    /// The sum with the kernel's weights scaled to a total of one; missing ground counts as zero.
    pub fn unit_sum(&self) -> Grid<f64> {
        let cells = self.sum.cells.iter().map(|s| s / self.full_weight).collect();
        Grid { frame: self.sum.frame, cells }
    }

    /// The weighted mean over the known cells; `NaN` where none is within reach.
    pub fn mean_of_known(&self) -> Grid<f64> {
        let mean = |(sum, weight): (&f64, &f64)| if *weight > 0.0 { sum / weight } else { f64::NAN };
        Grid { frame: self.sum.frame, cells: self.sum.cells.iter().zip(&self.known_weight.cells).map(mean).collect() }
    }
}

/// Gathers the values round every cell. Missing values (`NaN`) add nothing.
///
/// Work grows with cells times kernel cells / 4 (a disc: with cells times kernel rows).
pub fn gather<T: Copy + Into<f64> + Sync>(grid: &Grid<T>, kernel: Kernel) -> Gathered {
    let stencil = Stencil::new(&grid.frame, kernel);
    let layers = Layers::of(grid);
    let sum = stencil.run(&grid.frame, &layers.value);
    let known_weight = match layers.known {
        Some(known) => stencil.run(&grid.frame, &known),
        None => stencil.run(&grid.frame, &vec![1.0; grid.frame.len()]),
    };
    Gathered { sum, known_weight, full_weight: stencil.total() }
}

/// Gathers with a half-normal kernel cut off in a **square** of half-width `reach_m`, rows first, then columns.
///
/// With the reach at three standard deviations or more the result differs from the round cut by under 1 % of the
/// kernel's weight; work grows with cells times kernel width, so kernels of hundreds of cells stay quick.
pub fn half_normal_square<T: Copy + Into<f64> + Sync>(grid: &Grid<T>, sigma_m: f64, reach_m: f64) -> Gathered {
    let frame = grid.frame;
    let kernel = Kernel::HalfNormal { sigma_m, reach_m };
    let weights = |cell_m: f64| -> Vec<f64> {
        (0..=(reach_m / cell_m).floor() as usize).map(|k| kernel.weight(k as f64 * cell_m)).collect()
    };
    let (across, down) = (weights(frame.dx_m), weights(frame.dy_m));
    let both = |cells: &[f64]| {
        let rows = spread_rows(cells, frame.cols, &across);
        let columns = spread_rows(&transposed(&rows, frame.cols, frame.rows), frame.rows, &down);
        Grid { frame, cells: transposed(&columns, frame.rows, frame.cols) }
    };
    let layers = Layers::of(grid);
    let known = layers.known.unwrap_or_else(|| vec![1.0; frame.len()]);
    let total = |weights: &[f64]| 2.0 * weights.iter().sum::<f64>() - weights[0];
    Gathered { sum: both(&layers.value), known_weight: both(&known), full_weight: total(&across) * total(&down) }
}

/// The kernel's weight in every cell of a frame, seen from one place (easting, northing in metres).
pub fn weights_from(frame: &Frame, place: (f64, f64), kernel: Kernel) -> Grid<f64> {
    let mut grid = Grid::filled(*frame, 0.0);
    grid.cells.par_chunks_mut(frame.cols.max(1)).enumerate().for_each(|(row, line)| {
        for (column, weight) in line.iter_mut().enumerate() {
            let (east_m, north_m) = frame.centre(column, row);
            *weight = kernel.weight((east_m - place.0).hypot(north_m - place.1));
        }
    });
    grid
}

/// Values with missing cells at zero, and ones and zeros for known and missing (`None` when all are known).
struct Layers {
    value: Vec<f64>,
    known: Option<Vec<f64>>,
}

impl Layers {
    fn of<T: Copy + Into<f64>>(grid: &Grid<T>) -> Self {
        let mut value: Vec<f64> = grid.cells.iter().map(|v| (*v).into()).collect();
        let known = value.iter().any(|v| v.is_nan()).then(|| value.iter().map(|v| f64::from(!v.is_nan())).collect());
        value.iter_mut().filter(|v| v.is_nan()).for_each(|v| *v = 0.0);
        Self { value, known }
    }
}

/// A quarter of the kernel: weights by rows down and columns across from its centre, cut after the last weight
/// that is not zero.
struct Stencil {
    rows: Vec<Vec<f64>>,
    reach: usize,
    even: bool,
}

impl Stencil {
    fn new(frame: &Frame, kernel: Kernel) -> Self {
        let count = |cell_m: f64| (kernel.reach_m() / cell_m).floor() as usize;
        let (across, down) = (count(frame.dx_m), count(frame.dy_m));
        let rows = (0..=down)
            .map(|r| {
                let weight = |c: usize| kernel.weight((c as f64 * frame.dx_m).hypot(r as f64 * frame.dy_m));
                (0..=across).map(weight).take_while(|w| *w > 0.0).collect()
            })
            .collect();
        Self { rows, reach: across, even: matches!(kernel, Kernel::Disc { .. }) }
    }

    fn total(&self) -> f64 {
        let line = |weights: &Vec<f64>| 2.0 * weights.iter().sum::<f64>() - weights.first().copied().unwrap_or(0.0);
        let lines: f64 = self.rows.iter().map(line).sum();
        2.0 * lines - self.rows.first().map_or(0.0, line)
    }

    fn run(&self, frame: &Frame, cells: &[f64]) -> Grid<f64> {
        let mut grid = Grid::filled(*frame, 0.0);
        let cols = frame.cols;
        grid.cells.par_chunks_mut(cols.max(1)).enumerate().for_each_init(
            || vec![0.0; cols + 2 * self.reach],
            |padded, (row, out)| {
                for (down, weights) in self.rows.iter().enumerate() {
                    let mut any = false;
                    padded.fill(0.0);
                    for other in [row.checked_sub(down), (down > 0).then_some(row + down)].into_iter().flatten() {
                        if let Some(line) = cells.get(other * cols..(other + 1) * cols) {
                            let middle = &mut padded[self.reach..self.reach + cols];
                            middle.iter_mut().zip(line).for_each(|(sum, v)| *sum += v);
                            any = true;
                        }
                    }
                    if any && self.even {
                        add_runs(out, padded, self.reach, weights.len());
                    } else if any {
                        add_weighted(out, padded, self.reach, weights);
                    }
                }
            },
        );
        grid
    }
}

/// Adds a padded line times symmetric weights.
fn add_weighted(out: &mut [f64], padded: &[f64], reach: usize, weights: &[f64]) {
    let count = out.len();
    for (k, weight) in weights.iter().enumerate() {
        let east = &padded[reach + k..reach + k + count];
        if k == 0 {
            out.iter_mut().zip(east).for_each(|(o, e)| *o += weight * e);
        } else {
            let west = &padded[reach - k..reach - k + count];
            out.iter_mut().zip(east.iter().zip(west)).for_each(|(o, (e, w))| *o += weight * (e + w));
        }
    }
}

/// Adds, for each place, the padded values fewer than `width` away, as a difference of running totals.
fn add_runs(out: &mut [f64], padded: &[f64], reach: usize, width: usize) {
    if width == 0 {
        return;
    }
    let mut total: f64 = padded[reach + 1 - width..reach + width - 1].iter().sum();
    for (k, o) in out.iter_mut().enumerate() {
        total += padded[reach + k + width - 1];
        *o += total;
        total -= padded[reach + k + 1 - width];
    }
}

fn spread_rows(cells: &[f64], cols: usize, weights: &[f64]) -> Vec<f64> {
    let reach = weights.len() - 1;
    let mut out = vec![0.0; cells.len()];
    out.par_chunks_mut(cols.max(1)).zip(cells.par_chunks(cols.max(1))).for_each_init(
        || vec![0.0; cols + 2 * reach],
        |padded, (out, line)| {
            padded[reach..reach + cols].copy_from_slice(line);
            add_weighted(out, padded, reach, weights);
        },
    );
    out
}

fn transposed(cells: &[f64], cols: usize, rows: usize) -> Vec<f64> {
    (0..cells.len()).map(|i| cells[(i % rows) * cols + i / rows]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sigma_keeps_95_percent_of_the_weight_within_the_range() {
        let sigma_m = half_normal_sigma_for(1000.0);
        assert!((sigma_m - 408.539).abs() < 0.001);
        let frame = Frame::square(0.0, 6000.0, 10.0, 600, 600);
        let weights = weights_from(&frame, (3000.0, 3000.0), Kernel::HalfNormal { sigma_m, reach_m: 2900.0 });
        let within = |reach_m: f64| -> f64 {
            (0..frame.len())
                .filter(|i| {
                    let (e, n) = frame.centre(i % 600, i / 600);
                    (e - 3000.0).hypot(n - 3000.0) <= reach_m
                })
                .map(|i| weights.cells[i])
                .sum()
        };
        assert!((within(1000.0) / within(3000.0) - 0.95).abs() < 2e-4);
    }
}
