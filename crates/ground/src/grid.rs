//! Grids: rectangles of cells in a projected plane.
//!
//! Everything is planar and in metres. Row 0 is the northernmost row; within a row, cells run west to east.
//! Missing cells of a float grid are `NaN`.

/// Where the cells of a grid lie: the outer north-west corner, the cell size and the number of cells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Easting of the western outer edge, metres.
    pub west_m: f64,
    /// Northing of the northern outer edge, metres.
    pub north_m: f64,
    /// Cell width, west to east, metres; greater than zero.
    pub dx_m: f64,
    /// Cell height, north to south, metres; greater than zero.
    pub dy_m: f64,
    /// Number of columns.
    pub cols: usize,
    /// Number of rows.
    pub rows: usize,
}

impl Frame {
    /// A frame of square cells of `cell_m` metres.
    pub fn square(west_m: f64, north_m: f64, cell_m: f64, cols: usize, rows: usize) -> Self {
        Self { west_m, north_m, dx_m: cell_m, dy_m: cell_m, cols, rows }
    }

    /// The smallest frame of square cells, edges on whole multiples of `cell_m`, that covers a box.
    pub fn covering(west_m: f64, south_m: f64, east_m: f64, north_m: f64, cell_m: f64) -> Self {
        let w = (west_m / cell_m).floor() * cell_m;
        let n = (north_m / cell_m).ceil() * cell_m;
        let cols = ((east_m - w) / cell_m).ceil().max(1.0) as usize;
        let rows = ((n - south_m) / cell_m).ceil().max(1.0) as usize;
        Self::square(w, n, cell_m, cols, rows)
    }

    /// Number of cells.
    pub fn len(&self) -> usize {
        self.cols * self.rows
    }

    /// True when the frame holds no cell.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Easting of the eastern outer edge, metres.
    pub fn east_m(&self) -> f64 {
        self.west_m + self.dx_m * self.cols as f64
    }

    /// Northing of the southern outer edge, metres.
    pub fn south_m(&self) -> f64 {
        self.north_m - self.dy_m * self.rows as f64
    }

    /// Area of one cell, hectares.
    pub fn cell_ha(&self) -> f64 {
        self.dx_m * self.dy_m / 10_000.0
    }

    /// Index of a cell in the row-major store.
    pub fn at(&self, col: usize, row: usize) -> usize {
        row * self.cols + col
    }

    /// Easting and northing of a cell's centre, metres.
    pub fn centre(&self, col: usize, row: usize) -> (f64, f64) {
        (self.west_m + (col as f64 + 0.5) * self.dx_m, self.north_m - (row as f64 + 0.5) * self.dy_m)
    }

    /// The cell (column, row) holding a point, or `None` outside the frame.
    pub fn cell_of(&self, east_m: f64, north_m: f64) -> Option<(usize, usize)> {
        let c = ((east_m - self.west_m) / self.dx_m).floor();
        let r = ((self.north_m - north_m) / self.dy_m).floor();
        (c >= 0.0 && r >= 0.0 && c < self.cols as f64 && r < self.rows as f64).then_some((c as usize, r as usize))
    }
}

/// A grid of values on a [`Frame`], row-major, north first.
#[derive(Clone, Debug, PartialEq)]
pub struct Grid<T> {
    /// Where the cells lie.
    pub frame: Frame,
    /// One value a cell, `frame.len()` of them.
    pub cells: Vec<T>,
}

impl<T: Clone> Grid<T> {
    /// A grid with the same value in every cell.
    pub fn filled(frame: Frame, value: T) -> Self {
        Self { frame, cells: vec![value; frame.len()] }
    }
}

impl<T: Copy> Grid<T> {
    /// The value of a cell.
    pub fn get(&self, col: usize, row: usize) -> T {
        self.cells[self.frame.at(col, row)]
    }

    /// The value at a point, or `None` outside the frame.
    pub fn at_point(&self, east_m: f64, north_m: f64) -> Option<T> {
        self.frame.cell_of(east_m, north_m).map(|(c, r)| self.get(c, r))
    }
}

impl<T> Grid<T> {
    /// A grid from its cells; `None` when the number of cells does not match the frame.
    pub fn from_cells(frame: Frame, cells: Vec<T>) -> Option<Self> {
        (cells.len() == frame.len()).then_some(Self { frame, cells })
    }
}
