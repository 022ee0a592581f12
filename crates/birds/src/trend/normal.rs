//! The normal equations: a symmetric positive matrix, factored, solved with, inverted. Small (a column a year at most).

/// A symmetric matrix, whole, row by row.
#[derive(Clone, Debug, PartialEq)]
pub struct Symmetric {
    /// Rows.
    pub n: usize,
    /// `n` times `n` numbers.
    pub of: Vec<f64>,
}

impl Symmetric {
    /// All zero.
    pub fn zero(n: usize) -> Self {
        Self { n, of: vec![0.0; n * n] }
    }

    /// One element.
    pub fn at(&self, row: usize, column: usize) -> f64 {
        self.of[row * self.n + column]
    }

    /// Add to one element and to its mirror.
    pub fn add(&mut self, row: usize, column: usize, value: f64) {
        self.of[row * self.n + column] += value;
        if row != column {
            self.of[column * self.n + row] += value;
        }
    }

    /// The Cholesky factor; `None` where the matrix is not clearly positive: some column says nothing that the others do
    /// not say already. "Clearly" is a part in 10^11 of the diagonal.
    pub fn factor(&self) -> Option<Factor> {
        let n = self.n;
        let mut lower = vec![0.0; n * n];
        for j in 0..n {
            let before: f64 = (0..j).map(|k| lower[j * n + k] * lower[j * n + k]).sum();
            let pivot = self.at(j, j) - before;
            if pivot.is_nan() || pivot <= 1e-11 * self.at(j, j).abs() || pivot <= 0.0 {
                return None;
            }
            lower[j * n + j] = pivot.sqrt();
            for i in j + 1..n {
                let before: f64 = (0..j).map(|k| lower[i * n + k] * lower[j * n + k]).sum();
                lower[i * n + j] = (self.at(i, j) - before) / lower[j * n + j];
            }
        }
        Some(Factor { n, lower })
    }

    /// The inverse; `None` as for [`Self::factor`].
    pub fn inverse(&self) -> Option<Symmetric> {
        let factor = self.factor()?;
        let mut inverse = Symmetric::zero(self.n);
        for column in 0..self.n {
            let mut unit = vec![0.0; self.n];
            unit[column] = 1.0;
            for (row, value) in factor.solve(unit).into_iter().enumerate() {
                inverse.of[row * self.n + column] = value;
            }
        }
        Some(inverse)
    }

    /// `vector' * matrix * vector`.
    pub fn form(&self, vector: &[f64]) -> f64 {
        (0..self.n).map(|i| vector[i] * (0..self.n).map(|j| self.at(i, j) * vector[j]).sum::<f64>()).sum()
    }

    /// `matrix * middle * matrix`, for the sandwich of robust limits.
    pub fn around(&self, middle: &Symmetric) -> Symmetric {
        let n = self.n;
        let product = |a: &[f64], b: &[f64]| -> Vec<f64> {
            (0..n * n).map(|at| (0..n).map(|k| a[(at / n) * n + k] * b[k * n + at % n]).sum()).collect()
        };
        Symmetric { n, of: product(&product(&self.of, &middle.of), &self.of) }
    }
}

/// A matrix's lower triangular factor.
pub struct Factor {
    n: usize,
    lower: Vec<f64>,
}

impl Factor {
    /// The vector that the matrix takes to `right`.
    pub fn solve(&self, mut right: Vec<f64>) -> Vec<f64> {
        let n = self.n;
        for i in 0..n {
            let before: f64 = (0..i).map(|k| self.lower[i * n + k] * right[k]).sum();
            right[i] = (right[i] - before) / self.lower[i * n + i];
        }
        for i in (0..n).rev() {
            let after: f64 = (i + 1..n).map(|k| self.lower[k * n + i] * right[k]).sum();
            right[i] = (right[i] - after) / self.lower[i * n + i];
        }
        right
    }
}
