//! Writing heights as a GeoTIFF: single-precision, deflated strips, missing cells as `nan`.

use std::io::Cursor;

use tiff::TiffError;
use tiff::encoder::compression::DeflateLevel;
use tiff::encoder::{Compression, TiffEncoder, colortype};
use tiff::tags::Tag;

use super::error::{HeightsError, one};
use crate::Grid;

/// Rows of a strip are chosen so that it holds about this many bytes before packing.
const STRIP_BYTES: usize = 256 << 10;

/// Writes a grid of heights [m]; `epsg` is the projected system of its frame, below 32767.
///
/// The same grid always gives the same bytes.
///
/// # Errors
/// An empty grid, or one too large for a classic TIFF file (4 GB packed).
#[expect(clippy::result_large_err, reason = "made once a file; the error tells where and what in full")]
pub fn write_geotiff(grid: &Grid<f32>, epsg: Option<u32>) -> Result<Vec<u8>, HeightsError> {
    write(grid, epsg).map_err(|e| {
        let fault = one(
            "(new GeoTIFF)",
            "",
            "the grid cannot be written",
            "1 to 4 294 967 295 columns and rows, under 4 GB packed",
            format!("{} x {} cells: {e}", grid.frame.cols, grid.frame.rows),
            "write a smaller part",
        );
        // `one` gives exactly one fault.
        fault.into_iter().next().unwrap_or_else(|| HeightsError {
            file: String::new(),
            place: String::new(),
            what: e.to_string(),
            needed: String::new(),
            found: String::new(),
            hint: String::new(),
        })
    })
}

fn write(grid: &Grid<f32>, epsg: Option<u32>) -> Result<Vec<u8>, TiffError> {
    let f = &grid.frame;
    let mut bytes = Cursor::new(Vec::new());
    let mut encoder = TiffEncoder::new(&mut bytes)?.with_compression(Compression::Deflate(DeflateLevel::Balanced));
    let mut image = encoder.new_image::<colortype::Gray32Float>(u32::try_from(f.cols)?, u32::try_from(f.rows)?)?;
    image.rows_per_strip(u32::try_from((STRIP_BYTES / (4 * f.cols)).clamp(1, f.rows))?)?;
    let tags = image.encoder();
    tags.write_tag(Tag::ModelPixelScaleTag, &[f.dx_m, f.dy_m, 0.0][..])?;
    tags.write_tag(Tag::ModelTiepointTag, &[0.0, 0.0, 0.0, f.west_m, f.north_m, 0.0][..])?;
    tags.write_tag(Tag::GeoKeyDirectoryTag, &keys(epsg)[..])?;
    tags.write_tag(Tag::GdalNodata, "nan")?;
    image.write_data(&grid.cells)?;
    Ok(bytes.into_inner())
}

/// Key directory (OGC 19-008r4, 7.1): version 1.1.0, projected model, cells are areas, system, plan unit metre.
fn keys(epsg: Option<u32>) -> Vec<u16> {
    let mut keys = vec![[1024, 0, 1, 1], [1025, 0, 1, 1]];
    if let Some(epsg) = epsg.and_then(|e| u16::try_from(e).ok()) {
        keys.push([3072, 0, 1, epsg]);
    }
    keys.push([3076, 0, 1, 9001]);
    let head = [1, 1, 0, keys.len() as u16];
    [vec![head], keys].concat().concat()
}
