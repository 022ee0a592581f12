//! One tile of the height model: a TIFF of 32-bit floating point numbers, as a gridded coverage asks.
//!
//! One image, one sample a cell, strips, LZW or no compression, whichever is smaller. Floating point was chosen
//! over 16-bit PNG because a height then comes back exactly as it was put in.
//!
//! Source: OGC 17-066r1, clause 8; TIFF 6.0.

use std::io::Cursor;
use tiff::decoder::{Decoder, DecodingResult, Limits};
use tiff::encoder::{Compression, TiffEncoder, colortype::Gray32Float};

/// Cells along a side of a tile.
pub(crate) const SIDE: usize = 256;

/// Write a tile of `SIDE` by `SIDE` cells.
pub(crate) fn encode(cells: &[f32]) -> Result<Vec<u8>, tiff::TiffError> {
    let packed = encode_with(cells, Compression::Lzw)?;
    let plain_bytes = SIDE * SIDE * 4;
    if packed.len() < plain_bytes { Ok(packed) } else { encode_with(cells, Compression::Uncompressed) }
}

fn encode_with(cells: &[f32], compression: Compression) -> Result<Vec<u8>, tiff::TiffError> {
    let mut out = Cursor::new(Vec::new());
    let mut encoder = TiffEncoder::new(&mut out)?.with_compression(compression);
    encoder.write_image::<Gray32Float>(SIDE as u32, SIDE as u32, cells)?;
    Ok(out.into_inner())
}

/// Read a tile of `width` by `height` cells; anything else in the bytes is refused, whatever size it claims.
pub(crate) fn decode(bytes: &[u8], width: usize, height: usize) -> Result<Vec<f32>, String> {
    let wrong = |why: &dyn std::fmt::Display| format!("a tile that cannot be read ({why})");
    let mut limits = Limits::default();
    limits.decoding_buffer_size = width * height * 4;
    limits.intermediate_buffer_size = width * height * 4 + (1 << 16);
    let mut decoder = Decoder::new(Cursor::new(bytes)).map_err(|why| wrong(&why))?.with_limits(limits);
    let size = decoder.dimensions().map_err(|why| wrong(&why))?;
    if size != (width as u32, height as u32) {
        return Err(format!("a tile of {} by {} cells", size.0, size.1));
    }
    match decoder.read_image().map_err(|why| wrong(&why))? {
        DecodingResult::F32(cells) if cells.len() == width * height => Ok(cells),
        _ => Err("a tile that does not hold 32-bit floating point heights".into()),
    }
}
