//! Pictures of ground as PNG, cell by cell.

use crate::api::ground::Picture;
use ground::Frame;

/// A picture with its place.
#[derive(Clone, Debug)]
pub struct Png {
    /// Where it lies.
    pub place: Picture,
    /// The bytes.
    pub bytes: Vec<u8>,
}

/// Pack red, green, blue and opacity, four bytes a cell of the frame.
pub fn pack(frame: &Frame, rgba: &[u8]) -> Option<Png> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, u32::try_from(frame.cols).ok()?, u32::try_from(frame.rows).ok()?);
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::Fast);
    let mut writer = encoder.write_header().ok()?;
    writer.write_image_data(rgba).ok()?;
    writer.finish().ok()?;
    Some(Png { place: place(frame), bytes })
}

/// Where the outer edges of a frame lie.
pub fn place(frame: &Frame) -> Picture {
    Picture { extent: [frame.west_m, frame.south_m(), frame.east_m(), frame.north_m], size: [frame.cols, frame.rows] }
}

/// A window of a frame: first column and row, columns and rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cut {
    /// First column.
    pub col: usize,
    /// First row.
    pub row: usize,
    /// Columns.
    pub cols: usize,
    /// Rows.
    pub rows: usize,
}

impl Cut {
    /// The cells of a frame that a circle touches; `None` where it lies outside.
    pub fn round(frame: &Frame, (east_m, north_m): (f64, f64), radius_m: f64) -> Option<Cut> {
        let span = |from: f64, to: f64, n: usize| {
            let (a, b) = (from.floor().max(0.0) as usize, to.ceil().clamp(0.0, n as f64) as usize);
            (a < b).then_some((a, b - a))
        };
        let (col, cols) = span((east_m - radius_m - frame.west_m) / frame.dx_m, (east_m + radius_m - frame.west_m) / frame.dx_m, frame.cols)?;
        let (row, rows) = span((frame.north_m - north_m - radius_m) / frame.dy_m, (frame.north_m - north_m + radius_m) / frame.dy_m, frame.rows)?;
        Some(Cut { col, row, cols, rows })
    }

    /// The frame of the window.
    pub fn frame(&self, of: &Frame) -> Frame {
        let (west_m, north_m) = (of.west_m + self.col as f64 * of.dx_m, of.north_m - self.row as f64 * of.dy_m);
        Frame { west_m, north_m, cols: self.cols, rows: self.rows, ..*of }
    }
}
