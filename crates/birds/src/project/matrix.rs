//! Stage-structured projection matrices of any size.
//!
//! A matrix `A` takes the numbers of one year to those of the next: `n(t+1) = A n(t)`, where the cell of row `i` and column `j` is what one
//! bird of stage `j` adds to stage `i`. For its dominant eigenvalue `lambda` with right vector `w` and left vector `v`,
//! sensitivity is `v_i w_j / v'w` and elasticity is `a_ij / lambda` times that (Caswell 1978; de Kroon et al. 1986; from memory).
//!
//! Eigenvalues come from the Hessenberg form by shifted QR steps in complex arithmetic (Wilkinson's shift); the dominant one is polished
//! together with its two vectors by inverse iteration.

use serde::Serialize;
use std::ops::{Add, Mul, Sub};

/// Steps of QR tried on one eigenvalue.
const QR_STEPS: usize = 200;
/// Eigenvalues nearer to each other than this part of their size are one and the same.
const TWIN: f64 = 1e-7;
/// Passes of inverse iteration.
const PASSES: usize = 4;

/// Why there is no matrix, or no analysis of one.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MatrixFault {
    /// No cells, or rows of another length than there are rows.
    #[error("the matrix is not square: needed as many cells in every row as there are rows ({rows}), found {found} in row {row}\n  hint: cells are given row by row, one row a stage")]
    NotSquare {
        /// Rows given.
        rows: usize,
        /// The row at fault, counted from 1.
        row: usize,
        /// Cells found in it.
        found: usize,
    },
    /// Cells that no number of birds can have.
    #[error("cells of the matrix are wrong: needed numbers from nothing up, found {0}")]
    Cells(String),
    /// Nothing grows or lasts, or two parts of the matrix grow alike, so that no one vector describes it.
    #[error("the matrix has no single leading growth rate: needed one dominant eigenvalue above nothing, the largest found is {0}, held more than once or nothing\n  hint: take parts that exchange no birds one by one")]
    NoDominant(f64),
}

/// A square matrix of numbers from nothing up, by row.
#[derive(Clone, Debug, PartialEq)]
pub struct Matrix {
    n: usize,
    cells: Vec<f64>,
}

/// What a matrix says of a population.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Analysis {
    /// Growth in a year once stages are stable.
    pub lambda: f64,
    /// Its natural logarithm.
    pub r: f64,
    /// Share of each stage once stable; sums to one.
    pub stable_stage: Vec<f64>,
    /// Reproductive value of each stage, that of the first stage one; where the first has none, the largest is one.
    pub reproductive_value: Vec<f64>,
    /// Change of growth with each cell, by row.
    pub sensitivity: Vec<Vec<f64>>,
    /// Relative change of growth with a relative change of each cell, by row; sums to one.
    pub elasticity: Vec<Vec<f64>>,
    /// Growth over the size of the next eigenvalue: how fast stages settle; `None` where there is no other but nothing.
    pub damping_ratio: Option<f64>,
}

impl Matrix {
    /// From rows.
    ///
    /// # Errors
    /// Rows that do not make a square, or cells that are negative or no numbers (all told at once).
    pub fn new(rows: &[Vec<f64>]) -> Result<Matrix, MatrixFault> {
        let n = rows.len();
        if let Some(row) = rows.iter().position(|r| r.len() != n).or((n == 0).then_some(0)) {
            return Err(MatrixFault::NotSquare { rows: n, row: row + 1, found: rows.get(row).map_or(0, Vec::len) });
        }
        let cells: Vec<f64> = rows.concat();
        let wrong: Vec<String> =
            cells.iter().enumerate().filter(|(_, c)| !(c.is_finite() && **c >= 0.0)).map(|(k, c)| format!("{c} in row {} column {}", k / n + 1, k % n + 1)).collect();
        if wrong.is_empty() { Ok(Matrix { n, cells }) } else { Err(MatrixFault::Cells(wrong.join(", "))) }
    }

    /// Number of stages.
    pub fn stages(&self) -> usize {
        self.n
    }

    /// What one bird of stage `from` adds to stage `to`.
    pub fn cell(&self, to: usize, from: usize) -> f64 {
        self.cells[to * self.n + from]
    }

    /// The numbers a year on.
    pub fn step(&self, numbers: &[f64]) -> Vec<f64> {
        self.cells.chunks(self.n).map(|row| row.iter().zip(numbers).map(|(a, x)| a * x).sum()).collect()
    }

    /// The numbers of `years` years on, the start first.
    pub fn project(&self, start: &[f64], years: usize) -> Vec<Vec<f64>> {
        let mut out = vec![start.to_vec()];
        for _ in 0..years {
            out.push(self.step(&out[out.len() - 1]));
        }
        out
    }

    /// The mean of matrices of one size under weights.
    pub fn mean<'a>(parts: impl Iterator<Item = (f64, &'a Matrix)>) -> Option<Matrix> {
        parts.fold(None, |sum: Option<Matrix>, (weight, m)| {
            let mut sum = sum.unwrap_or_else(|| Matrix { n: m.n, cells: vec![0.0; m.n * m.n] });
            sum.cells.iter_mut().zip(&m.cells).for_each(|(s, c)| *s += weight * c);
            Some(sum)
        })
    }

    /// All eigenvalues as real and imaginary part, largest size first.
    pub fn eigenvalues(&self) -> Vec<(f64, f64)> {
        let n = self.n;
        let mut h: Vec<Complex> = self.hessenberg().into_iter().map(Complex::real).collect();
        let mut found = Vec::with_capacity(n);
        let mut high = n;
        let mut steps = 0;
        while high > 0 {
            let small = |k: usize| {
                let near = h[(k - 1) * n + k - 1].size() + h[k * n + k].size();
                h[k * n + k - 1].size() <= f64::EPSILON * if near > 0.0 { near } else { 1.0 }
            };
            let low = (1..high).rev().find(|k| small(*k)).unwrap_or(0);
            if low + 1 == high || steps >= QR_STEPS {
                found.push(h[(high - 1) * n + high - 1]);
                high -= 1;
                steps = 0;
                continue;
            }
            steps += 1;
            qr_step(&mut h, n, low, high, steps % 11 == 10);
        }
        found.sort_by(|a, b| b.size().total_cmp(&a.size()));
        found.into_iter().map(|z| (z.re, z.im)).collect()
    }

    /// The same eigenvalues with nothing below the first subdiagonal, by Householder reflections.
    fn hessenberg(&self) -> Vec<f64> {
        let n = self.n;
        let mut h = self.cells.clone();
        for k in 0..n.saturating_sub(2) {
            let mut v: Vec<f64> = (k + 1..n).map(|i| h[i * n + k]).collect();
            let size = v.iter().map(|x| x * x).sum::<f64>().sqrt();
            if size == 0.0 {
                continue;
            }
            v[0] += if v[0] < 0.0 { -size } else { size };
            let square: f64 = v.iter().map(|x| x * x).sum();
            for j in 0..n {
                let dot: f64 = v.iter().enumerate().map(|(i, x)| x * h[(k + 1 + i) * n + j]).sum();
                v.iter().enumerate().for_each(|(i, x)| h[(k + 1 + i) * n + j] -= 2.0 * x * dot / square);
            }
            for i in 0..n {
                let dot: f64 = v.iter().enumerate().map(|(j, x)| x * h[i * n + k + 1 + j]).sum();
                v.iter().enumerate().for_each(|(j, x)| h[i * n + k + 1 + j] -= 2.0 * x * dot / square);
            }
        }
        h
    }

    /// Growth and what it hangs on.
    ///
    /// # Errors
    /// A matrix without a single dominant eigenvalue above nothing.
    pub fn analyse(&self) -> Result<Analysis, MatrixFault> {
        let n = self.n;
        let sizes = self.eigenvalues();
        // A matrix without negative cells has a real eigenvalue of the largest size (Perron and Frobenius).
        let first = sizes.iter().map(|z| z.0).fold(0.0, f64::max);
        let as_large = sizes.iter().filter(|z| (z.0 - first).hypot(z.1) <= TWIN * first).count();
        if first <= 0.0 || as_large > 1 {
            return Err(MatrixFault::NoDominant(first));
        }
        let (w, v) = (self.vector(first, false), self.vector(first, true));
        let overlap: f64 = v.iter().zip(&w).map(|(a, b)| a * b).sum();
        if !overlap.is_finite() || overlap <= 1e-12 {
            return Err(MatrixFault::NoDominant(first));
        }
        let lambda = v.iter().zip(self.step(&w)).map(|(a, b)| a * b).sum::<f64>() / overlap;
        let total: f64 = w.iter().sum();
        let scale = if v[0] > 0.0 { v[0] } else { v.iter().copied().fold(0.0, f64::max) };
        let sensitivity: Vec<Vec<f64>> = v.iter().map(|a| w.iter().map(|b| a * b / overlap).collect()).collect();
        let elasticity = (0..n).map(|i| (0..n).map(|j| sensitivity[i][j] * self.cell(i, j) / lambda).collect()).collect();
        let second = sizes.get(1).map_or(0.0, |z| z.0.hypot(z.1));
        Ok(Analysis {
            lambda,
            r: lambda.ln(),
            stable_stage: w.iter().map(|x| x / total).collect(),
            reproductive_value: v.iter().map(|x| x / scale).collect(),
            sensitivity,
            elasticity,
            damping_ratio: (second > 0.0).then(|| lambda / second),
        })
    }

    /// The right vector of an eigenvalue, or the left one, of unit length and without negative parts, by inverse iteration.
    fn vector(&self, lambda: f64, left: bool) -> Vec<f64> {
        let n = self.n;
        let mut a: Vec<f64> = (0..n * n).map(|k| if left { self.cells[k % n * n + k / n] } else { self.cells[k] }).collect();
        (0..n).for_each(|i| a[i * n + i] -= lambda);
        let mut x = vec![1.0; n];
        let pivots = decompose(&mut a, n, lambda * f64::EPSILON);
        for _ in 0..PASSES {
            solve(&a, &pivots, n, &mut x);
            let size = x.iter().map(|v| v * v).sum::<f64>().sqrt();
            x.iter_mut().for_each(|v| *v /= size);
        }
        x.iter().map(|v| v.abs()).map(|v| if v < 1e-15 { 0.0 } else { v }).collect()
    }
}

/// LU with rows exchanged, in place; a pivot smaller than `least` is lifted to it, as inverse iteration asks. Returns the rows taken.
fn decompose(a: &mut [f64], n: usize, least: f64) -> Vec<usize> {
    (0..n)
        .map(|k| {
            let row = (k..n).fold(k, |best, i| if a[i * n + k].abs() > a[best * n + k].abs() { i } else { best });
            (0..n).for_each(|j| a.swap(k * n + j, row * n + j));
            if a[k * n + k].abs() < least {
                a[k * n + k] = least;
            }
            for i in k + 1..n {
                let factor = a[i * n + k] / a[k * n + k];
                a[i * n + k] = factor;
                (k + 1..n).for_each(|j| a[i * n + j] -= factor * a[k * n + j]);
            }
            row
        })
        .collect()
}

fn solve(a: &[f64], pivots: &[usize], n: usize, x: &mut [f64]) {
    pivots.iter().enumerate().for_each(|(k, row)| x.swap(k, *row));
    for i in 0..n {
        x[i] -= (0..i).map(|j| a[i * n + j] * x[j]).sum::<f64>();
    }
    for i in (0..n).rev() {
        x[i] = (x[i] - (i + 1..n).map(|j| a[i * n + j] * x[j]).sum::<f64>()) / a[i * n + i];
    }
}

/// One shifted QR step on the rows and columns from `low` to before `high`.
fn qr_step(h: &mut [Complex], n: usize, low: usize, high: usize, odd: bool) {
    let last = high - 1;
    let at = |i: usize, j: usize| h[i * n + j];
    // An odd shift now and then breaks a cycle.
    let shift = if odd { Complex::real(at(last, last - 1).size()) } else { wilkinson(at(last - 1, last - 1), at(last - 1, last), at(last, last - 1), at(last, last)) };
    (low..high).for_each(|i| h[i * n + i] = h[i * n + i] - shift);
    let mut turns = Vec::with_capacity(high - low);
    for k in low..last {
        let (a, b) = (h[k * n + k], h[(k + 1) * n + k]);
        let size = a.size().hypot(b.size());
        let (c, s) = if size > 0.0 { (a.scaled(1.0 / size), b.scaled(1.0 / size)) } else { (Complex::real(1.0), Complex::real(0.0)) };
        for j in k..high {
            let (x, y) = (h[k * n + j], h[(k + 1) * n + j]);
            h[k * n + j] = c.conjugate() * x + s.conjugate() * y;
            h[(k + 1) * n + j] = c * y - s * x;
        }
        turns.push((c, s));
    }
    for (k, (c, s)) in (low..last).zip(turns) {
        for i in low..=(k + 1) {
            let (x, y) = (h[i * n + k], h[i * n + k + 1]);
            h[i * n + k] = x * c + y * s;
            h[i * n + k + 1] = y * c.conjugate() - x * s.conjugate();
        }
    }
    (low..high).for_each(|i| h[i * n + i] = h[i * n + i] + shift);
}

/// The eigenvalue of a two by two corner nearer to its last cell.
fn wilkinson(a: Complex, b: Complex, c: Complex, d: Complex) -> Complex {
    let half = (a - d).scaled(0.5);
    let root = (half * half + b * c).root();
    let (one, other) = (d + half + root, d + half - root);
    if (one - d).size() <= (other - d).size() { one } else { other }
}

#[derive(Clone, Copy)]
struct Complex {
    re: f64,
    im: f64,
}

impl Complex {
    fn real(re: f64) -> Complex {
        Complex { re, im: 0.0 }
    }

    fn size(self) -> f64 {
        self.re.hypot(self.im)
    }

    fn conjugate(self) -> Complex {
        Complex { re: self.re, im: -self.im }
    }

    fn scaled(self, by: f64) -> Complex {
        Complex { re: self.re * by, im: self.im * by }
    }

    fn root(self) -> Complex {
        let size = self.size();
        let re = ((size + self.re) / 2.0).max(0.0).sqrt();
        let im = ((size - self.re) / 2.0).max(0.0).sqrt();
        Complex { re, im: if self.im < 0.0 { -im } else { im } }
    }
}

impl Add for Complex {
    type Output = Complex;
    fn add(self, other: Complex) -> Complex {
        Complex { re: self.re + other.re, im: self.im + other.im }
    }
}

impl Sub for Complex {
    type Output = Complex;
    fn sub(self, other: Complex) -> Complex {
        Complex { re: self.re - other.re, im: self.im - other.im }
    }
}

impl Mul for Complex {
    type Output = Complex;
    fn mul(self, other: Complex) -> Complex {
        Complex { re: self.re * other.re - self.im * other.im, im: self.re * other.im + self.im * other.re }
    }
}
