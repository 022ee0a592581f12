//! GeoTIFF height models: strips or tiles, one band of whole numbers or floats, plain or packed.
//!
//! Heights may carry a scale and an offset in the metadata tag (as GDAL writes them). The missing value comes from
//! tag 42113; tiles left out of the file are missing. Only the first image of the file is read (others are
//! overviews or masks). Chunks are unpacked in parallel, a row of them at a time.

use std::io::Cursor;

use rayon::prelude::*;
use tiff::TiffError;
use tiff::decoder::{ChunkType, Decoder, DecodingResult, Limits};
use tiff::tags::Tag;

use super::error::{Faults, HeightsError, one};
use super::georeference::{GeoTags, Placed};
use super::{HeightModel, limits};
use crate::Grid;

type Bytes<'a> = Decoder<Cursor<&'a [u8]>>;

/// Scale, offset and units of bands, as small XML.
const METADATA: Tag = Tag::Unknown(42_112);

/// What the tags say about the numbers stored.
struct Layout {
    cols: usize,
    rows: usize,
    chunk_cols: usize,
    chunk_rows: usize,
    /// Packed bytes of each chunk; zero where the chunk was left out.
    chunk_bytes: Vec<u64>,
    missing: Option<f64>,
    scale: f64,
    offset: f64,
}

/// Reads the first image.
pub(super) fn read(file: &str, bytes: &[u8]) -> Result<HeightModel, Vec<HeightsError>> {
    let mut decoder = open(bytes).map_err(|e| broken(file, "header", &e))?;
    let mut faults = Faults::of(file);
    let layout = layout(&mut decoder, bytes.len(), &mut faults).map_err(|e| broken(file, "tags", &e))?;
    let tags = geo_tags(&mut decoder).map_err(|e| broken(file, "georeferencing tags", &e))?;
    let placed = tags.place(layout.cols, layout.rows, &mut faults);
    let (Some(Placed { frame, south_up, epsg }), false) = (placed, faults.any()) else { return Err(faults.finish()) };
    let mut cells = unpack(file, bytes, &layout)?;
    if south_up {
        cells = cells.chunks_exact(layout.cols).rev().flatten().copied().collect();
    }
    let mut notes = Vec::new();
    if epsg.is_none() {
        notes.push(format!("{file}: no coordinate system is stated in the file"));
    }
    if layout.scale != 1.0 || layout.offset != 0.0 {
        notes.push(format!("{file}: stored numbers times {} plus {} are taken as metres", layout.scale, layout.offset));
    }
    Ok(HeightModel { grid: Grid { frame, cells }, epsg, notes })
}

fn open(bytes: &[u8]) -> Result<Bytes<'_>, TiffError> {
    // No value is longer than the file, no chunk longer than the file could unpack to.
    let chunk = (bytes.len() as u64 * limits::RASTER_RATIO_MAX).clamp(limits::RASTER_ALWAYS, limits::BYTES_MAX) as usize;
    let mut allowed = Limits::default();
    allowed.ifd_value_size = bytes.len().min(256 << 20);
    allowed.intermediate_buffer_size = chunk;
    allowed.decoding_buffer_size = chunk;
    Ok(Decoder::new(Cursor::new(bytes))?.with_limits(allowed))
}

fn broken(file: &str, place: &str, e: &TiffError) -> Vec<HeightsError> {
    one(file, place, "the GeoTIFF cannot be read", "a whole TIFF file of a known kind", e.to_string(), "fetch or export it again, plain or deflated")
}

fn layout(decoder: &mut Bytes<'_>, n_bytes: usize, faults: &mut Faults<'_>) -> Result<Layout, TiffError> {
    let (cols, rows) = decoder.dimensions()?;
    let colour = decoder.colortype()?;
    if colour.num_samples() != 1 {
        faults.add("tag 277", "the image has several bands", "one band of heights", format!("{} bands", colour.num_samples()), "this looks like a picture; pick out the band of heights");
    }
    if decoder.find_tag_unsigned::<u16>(Tag::PhotometricInterpretation)?.is_some_and(|p| p != 1) {
        faults.add("tag 262", "the image is not a grid of values", "1 (low values dark)", "another kind of picture", "export the heights themselves, not a picture of them");
    }
    let claimed = u64::from(cols) * u64::from(rows);
    let cell_bytes = u64::from(colour.bit_depth()).div_ceil(8);
    let bearable = (n_bytes as u64 * limits::RASTER_RATIO_MAX).max(limits::RASTER_ALWAYS) / cell_bytes.max(1);
    if claimed > bearable.min(limits::CELLS_MAX) {
        faults.add(
            "tags 256 and 257",
            "the header claims more heights than the file can hold",
            format!("at most {} cells in {n_bytes} bytes", bearable.min(limits::CELLS_MAX)),
            format!("{cols} columns x {rows} rows"),
            "the file is broken; fetch it again",
        );
    }
    let counts = match decoder.get_chunk_type() {
        ChunkType::Strip => Tag::StripByteCounts,
        ChunkType::Tile => Tag::TileByteCounts,
    };
    let (chunk_cols, chunk_rows) = decoder.chunk_dimensions();
    let missing = match decoder.find_tag(Tag::GdalNodata)? {
        Some(text) => missing_of(&text.into_string()?, faults),
        None => None,
    };
    let metadata = decoder.find_tag(METADATA)?.and_then(|v| v.into_string().ok()).unwrap_or_default();
    Ok(Layout {
        cols: cols as usize,
        rows: rows as usize,
        chunk_cols: chunk_cols as usize,
        chunk_rows: (chunk_rows as usize).min(rows as usize),
        chunk_bytes: decoder.get_tag_u64_vec(counts)?,
        missing,
        scale: metadata_number(&metadata, "scale").unwrap_or(1.0),
        offset: metadata_number(&metadata, "offset").unwrap_or(0.0),
    })
}

fn missing_of(text: &str, faults: &mut Faults<'_>) -> Option<f64> {
    let text = text.trim_matches(|c: char| c == '\0' || c.is_whitespace());
    let value = text.parse().ok();
    if value.is_none() && !text.is_empty() {
        faults.add("tag 42113", "the missing value is not a number", "a number", super::error::shown(text.as_bytes()), "export the file again");
    }
    value
}

/// The number of the first `<Item ... role="ROLE">NUMBER</Item>`.
fn metadata_number(xml: &str, role: &str) -> Option<f64> {
    let (_, after) = xml.split_once(&format!("role=\"{role}\""))?;
    let (_, value) = after.split_once('>')?;
    value.split('<').next()?.trim().parse().ok().filter(|v: &f64| v.is_finite())
}

fn geo_tags(decoder: &mut Bytes<'_>) -> Result<GeoTags, TiffError> {
    let mut doubles = |tag| decoder.find_tag(tag)?.map(|v| v.into_f64_vec()).transpose();
    let (scale, tie_points) = (doubles(Tag::ModelPixelScaleTag)?, doubles(Tag::ModelTiepointTag)?);
    let transformation = doubles(Tag::ModelTransformationTag)?;
    let keys = decoder.find_tag(Tag::GeoKeyDirectoryTag)?.map(|v| v.into_u16_vec()).transpose()?.unwrap_or_default();
    Ok(GeoTags { scale, tie_points, transformation, keys })
}

fn unpack(file: &str, bytes: &[u8], layout: &Layout) -> Result<Vec<f32>, Vec<HeightsError>> {
    let mut cells = vec![f32::NAN; layout.cols * layout.rows];
    let across = layout.cols.div_ceil(layout.chunk_cols);
    cells
        .par_chunks_mut(layout.cols * layout.chunk_rows)
        .enumerate()
        .try_for_each_init(
            || open(bytes),
            |decoder, (band, out)| {
                let decoder = match decoder {
                    Ok(d) => d,
                    Err(e) => return Err(broken(file, "header", e)),
                };
                for column in 0..across {
                    let index = band * across + column;
                    if layout.chunk_bytes.get(index).is_some_and(|&n| n > 0) {
                        chunk(decoder, index, column * layout.chunk_cols, out, layout)
                            .map_err(|e| broken(file, &format!("strip or tile {}", index + 1), &e))?;
                    }
                }
                Ok(())
            },
        )
        .map(|()| cells)
}

/// Unpacks one chunk into the rows of its band.
fn chunk(decoder: &mut Bytes<'_>, index: usize, first_col: usize, out: &mut [f32], layout: &Layout) -> Result<(), TiffError> {
    let index = u32::try_from(index)?;
    let width = decoder.chunk_data_dimensions(index).0 as usize;
    let missing = layout.missing;
    let missing_single = missing.map(|m| m as f32);
    let scaled = layout.scale != 1.0 || layout.offset != 0.0;
    let of_number = |v: f64| {
        if Some(v) == missing || v.is_infinite() {
            f32::NAN
        } else if scaled {
            (v * layout.scale + layout.offset) as f32
        } else {
            v as f32
        }
    };
    // The missing value of a single-precision grid is often written with fewer figures than it has.
    let of_single = |v: f32| if Some(v) == missing_single { f32::NAN } else { of_number(f64::from(v)) };
    let mut put = |values: &mut dyn Iterator<Item = f32>| {
        for row in out.chunks_exact_mut(layout.cols) {
            for (cell, value) in row[first_col..first_col + width].iter_mut().zip(&mut *values) {
                *cell = value;
            }
        }
    };
    match decoder.read_chunk(index)? {
        DecodingResult::U8(v) => put(&mut v.into_iter().map(|v| of_number(v.into()))),
        DecodingResult::I8(v) => put(&mut v.into_iter().map(|v| of_number(v.into()))),
        DecodingResult::U16(v) => put(&mut v.into_iter().map(|v| of_number(v.into()))),
        DecodingResult::I16(v) => put(&mut v.into_iter().map(|v| of_number(v.into()))),
        DecodingResult::U32(v) => put(&mut v.into_iter().map(|v| of_number(v.into()))),
        DecodingResult::I32(v) => put(&mut v.into_iter().map(|v| of_number(v.into()))),
        DecodingResult::U64(v) => put(&mut v.into_iter().map(|v| of_number(v as f64))),
        DecodingResult::I64(v) => put(&mut v.into_iter().map(|v| of_number(v as f64))),
        DecodingResult::F16(v) => put(&mut v.into_iter().map(|v| of_single(v.into()))),
        DecodingResult::F32(v) => put(&mut v.into_iter().map(of_single)),
        DecodingResult::F64(v) => put(&mut v.into_iter().map(of_number)),
    }
    Ok(())
}
