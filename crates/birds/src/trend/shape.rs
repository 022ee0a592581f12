//! How numbers run over the years: a straight line on the log scale, a line with breaks, a smooth curve, or each year for
//! itself. Each is a set of columns; [`frame`] lays counts out in them.

use super::glm::Frame;
use super::table::{Count, place, years_of};

/// Columns by year.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A line that may bend at the years given.
    Line {
        /// Year of the first count.
        from: i32,
        /// Years at which it bends.
        bends: Vec<i32>,
    },
    /// A natural cubic spline: straight beyond the outer knots.
    Smooth {
        /// Knots, years, at least three.
        knots: Vec<f64>,
    },
    /// A level for every year but the first.
    Years {
        /// Years, in order.
        years: Vec<i32>,
    },
}

impl Shape {
    /// A smooth curve with so many degrees of freedom (at least 2) over a span of years.
    pub fn smooth(from: i32, to: i32, df: usize) -> Self {
        let step = f64::from(to - from) / df as f64;
        Shape::Smooth { knots: (0..=df).map(|k| f64::from(from) + k as f64 * step).collect() }
    }

    /// Number of columns.
    pub fn columns(&self) -> usize {
        match self {
            Shape::Line { bends, .. } => 1 + bends.len(),
            Shape::Smooth { knots } => knots.len() - 1,
            Shape::Years { years } => years.len().saturating_sub(1),
        }
    }

    /// The columns of a year that are not zero.
    pub fn row(&self, year: i32) -> Vec<(usize, f64)> {
        match self {
            Shape::Line { from, bends } => {
                let after = bends.iter().enumerate().filter(|(_, b)| year > **b).map(|(k, b)| (k + 1, f64::from(year - b)));
                std::iter::once((0, f64::from(year - from))).chain(after).collect()
            }
            Shape::Smooth { knots } => {
                // Hastie, Tibshirani & Friedman, The Elements of Statistical Learning, eq. 5.4 and 5.5 (from memory), in
                // units of the whole span.
                let (first, last) = (knots[0], knots[knots.len() - 1]);
                let scaled = |k: usize| (knots[k] - first) / (last - first);
                let t = (f64::from(year) - first) / (last - first);
                let cube = |k: usize| (t - scaled(k)).max(0.0).powi(3);
                let end = knots.len() - 1;
                let d = |k: usize| (cube(k) - cube(end)) / (scaled(end) - scaled(k));
                std::iter::once((0, t)).chain((0..end - 1).map(|k| (k + 1, d(k) - d(end - 1)))).collect()
            }
            Shape::Years { years } => years.binary_search(&year).ok().filter(|at| *at > 0).map(|at| (at - 1, 1.0)).into_iter().collect(),
        }
    }

    /// The columns of a year, whole.
    pub fn whole_row(&self, year: i32) -> Vec<f64> {
        let mut whole = vec![0.0; self.columns()];
        self.row(year).into_iter().for_each(|(c, v)| whole[c] = v);
        whole
    }
}

/// Lay counts out, sorted by lek, in the columns of a shape; `known` is the known part of a year's logarithm.
pub fn frame(counts: &[Count], shape: &Shape, known: impl Fn(i32) -> f64) -> Frame {
    let years = years_of(counts);
    let mut frame = Frame::new(shape.columns(), true);
    for &year in &years {
        frame.add_kind(known(year), shape.row(year));
    }
    frame.reserve(counts.len());
    let mut kind = 0;
    for (at, c) in counts.iter().enumerate() {
        kind = place(&years, c.year, kind).unwrap_or_else(|at| at);
        frame.push_kind(f64::from(c.cocks), kind);
        if counts.get(at + 1).is_none_or(|next| next.lek != c.lek) {
            frame.close_group();
        }
    }
    frame
}
