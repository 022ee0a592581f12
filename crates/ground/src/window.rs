//! Walking a grid by windows of 3 x 3 cells, in parallel over rows.

use rayon::prelude::*;

use crate::Grid;

/// Nine heights round a cell, as the usual letters stand on the map (north up):
///
/// ```text
/// a b c
/// d e f
/// g h i
/// ```
#[derive(Clone, Copy, Debug)]
pub struct Window {
    /// North-west.
    pub a: f32,
    /// North.
    pub b: f32,
    /// North-east.
    pub c: f32,
    /// West.
    pub d: f32,
    /// The cell itself.
    pub e: f32,
    /// East.
    pub f: f32,
    /// South-west.
    pub g: f32,
    /// South.
    pub h: f32,
    /// South-east.
    pub i: f32,
}

/// What to do where a window reaches over the rim of the grid or onto a missing cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rim {
    /// The result is missing. The usual choice.
    Missing,
    /// The line through the rim cell and the one inside it is drawn on over the rim; at the ends of the first and last row
    /// the end cell is repeated; a missing neighbour takes the height of the cell itself. A missing cell stays missing.
    Continued,
}

impl Window {
    /// Missing neighbours replaced by the cell itself.
    fn patched(self) -> Self {
        let e = self.e;
        let or_e = |v: f32| if v.is_nan() { e } else { v };
        Self {
            a: or_e(self.a),
            b: or_e(self.b),
            c: or_e(self.c),
            d: or_e(self.d),
            e,
            f: or_e(self.f),
            g: or_e(self.g),
            h: or_e(self.h),
            i: or_e(self.i),
        }
    }
}

/// What is worked out from a window. Any function of a window is one; a type of its own can have `of` inlined for certain,
/// without which the walk over a row does not turn into vector code when `of` is long.
pub(crate) trait Measure<T>: Sync {
    fn of(&self, window: Window) -> T;
}

impl<T, F: Fn(Window) -> T + Sync> Measure<T> for F {
    #[inline(always)]
    fn of(&self, window: Window) -> T {
        self(window)
    }
}

/// One result for each cell from the window round it. `missing` stands where [`Rim`] leaves no answer at the rim;
/// the measure itself must give it for windows holding `NaN`.
pub(crate) fn map<T: Copy + Send>(grid: &Grid<f32>, rim: Rim, missing: T, measure: impl Measure<T>) -> Grid<T> {
    let frame = grid.frame;
    let (cols, rows) = (frame.cols, frame.rows);
    let mut cells = vec![missing; frame.len()];
    if cols >= 3 && rows >= 3 {
        cells.par_chunks_mut(cols).enumerate().skip(1).take(rows - 2).for_each(|(row, out)| {
            let line = |r: usize| &grid.cells[r * cols..(r + 1) * cols];
            inner_row(Lines { north: line(row - 1), here: line(row), south: line(row + 1) }, out, rim, &measure);
        });
    }
    if rim == Rim::Continued && cols >= 2 && rows >= 2 {
        let on_rim = |col: usize, row: usize| col == 0 || row == 0 || col == cols - 1 || row == rows - 1;
        for row in 0..rows {
            let step = if row == 0 || row == rows - 1 { 1 } else { cols - 1 };
            for col in (0..cols).step_by(step).filter(|&col| on_rim(col, row)) {
                cells[frame.at(col, row)] = measure.of(rim_window(grid, col, row));
            }
        }
    }
    Grid { frame, cells }
}

/// One result for every cell, rim too; cells outside the grid are `NaN` in the window.
pub(crate) fn map_all<T: Copy + Send + Default>(grid: &Grid<f32>, of: impl Fn(Window) -> T + Sync) -> Grid<T> {
    let (cols, rows) = (grid.frame.cols, grid.frame.rows);
    let mut out = map(grid, Rim::Missing, T::default(), &of);
    let on = |col: usize, row: usize| if col < cols && row < rows { grid.get(col, row) } else { f32::NAN };
    for row in 0..rows {
        let whole = row == 0 || row == rows - 1 || cols < 3;
        for col in (0..cols).step_by(if whole { 1 } else { cols - 1 }) {
            let (w, n) = (col.wrapping_sub(1), row.wrapping_sub(1));
            let (e, s) = (col + 1, row + 1);
            out.cells[grid.frame.at(col, row)] = of(Window {
                a: on(w, n),
                b: on(col, n),
                c: on(e, n),
                d: on(w, row),
                e: on(col, row),
                f: on(e, row),
                g: on(w, s),
                h: on(col, s),
                i: on(e, s),
            });
        }
    }
    out
}

/// Three rows of one length.
#[derive(Clone, Copy)]
struct Lines<'a> {
    north: &'a [f32],
    here: &'a [f32],
    south: &'a [f32],
}

impl Lines<'_> {
    /// All cells of a row but the first and last. In a function of its own, where the compiler knows that the slices do not overlap,
    /// and inlined down to the measure, so that the loop turns into vector code.
    #[inline(never)]
    fn walk<T>(self, out: &mut [T], of: impl Fn(Window) -> T) {
        let n = out.len() - 2;
        let (a, b, c) = (&self.north[..n], &self.north[1..=n], &self.north[2..n + 2]);
        let (d, e, f) = (&self.here[..n], &self.here[1..=n], &self.here[2..n + 2]);
        let (g, h, i) = (&self.south[..n], &self.south[1..=n], &self.south[2..n + 2]);
        for (k, out) in out[1..=n].iter_mut().enumerate() {
            *out = of(Window { a: a[k], b: b[k], c: c[k], d: d[k], e: e[k], f: f[k], g: g[k], h: h[k], i: i[k] });
        }
    }
}

fn inner_row<T>(lines: Lines<'_>, out: &mut [T], rim: Rim, measure: &impl Measure<T>) {
    match rim {
        Rim::Missing => lines.walk(out, |w| measure.of(w)),
        Rim::Continued => lines.walk(out, |w| measure.of(w.patched())),
    }
}

/// The window of a rim cell, continued as [`Rim::Continued`] says.
fn rim_window(grid: &Grid<f32>, col: usize, row: usize) -> Window {
    let (last_col, last_row) = (grid.frame.cols as isize - 1, grid.frame.rows as isize - 1);
    let on = |c: isize, r: isize| grid.get(c as usize, r as usize);
    let at = |dc: isize, dr: isize| {
        let (c, r) = (col as isize + dc, row as isize + dr);
        if row == 0 || row as isize == last_row {
            let c = c.clamp(0, last_col);
            if r < 0 || r > last_row { 2.0 * on(c, row as isize) - on(c, row as isize - dr) } else { on(c, r) }
        } else if c < 0 || c > last_col {
            2.0 * on(col as isize, r) - on(col as isize - dc, r)
        } else {
            on(c, r)
        }
    };
    Window { a: at(-1, -1), b: at(0, -1), c: at(1, -1), d: at(-1, 0), e: at(0, 0), f: at(1, 0), g: at(-1, 1), h: at(0, 1), i: at(1, 1) }.patched()
}
