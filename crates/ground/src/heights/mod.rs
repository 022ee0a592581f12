//! Height models from files: GeoTIFF, text grids of heights (.asc), XYZ text, and zip archives holding any of these.
//!
//! The only place of this crate that touches files or foreign bytes. The kind of a file is told from its
//! first bytes, never from its name. Several sources become one grid (see [`mosaic`](self::mosaic) for the
//! overlap rule). Missing heights become `NaN`. Heights are taken as metres above the datum of the source,
//! plan coordinates as metres of a projected plane; nothing is reprojected.
//!
//! Limits (see `limits.rs`): 500 million cells, 4 GiB a file; archives also by entry count and ratio.

mod ascii;
mod error;
mod geotiff;
mod geotiff_write;
mod georeference;
mod limits;
pub mod mosaic;
mod xyz;
mod zipped;

use std::path::{Path, PathBuf};

use rayon::prelude::*;

use crate::Grid;
pub use error::HeightsError;
pub use geotiff_write::write_geotiff;

/// A height model as read: the grid, its coordinate system where stated, and remarks for the reader.
#[derive(Clone, Debug)]
pub struct HeightModel {
    /// Heights [m], `NaN` where missing.
    pub grid: Grid<f32>,
    /// EPSG number of the projected system, when the source states one.
    pub epsg: Option<u32>,
    /// Remarks on what was assumed or repaired; each names its file.
    pub notes: Vec<String>,
}

/// A source with the name it is spoken of.
pub(crate) struct Source {
    pub name: String,
    pub model: HeightModel,
}

/// Reads one or several files into one height model, each with the name it is spoken of in faults and notes.
///
/// # Errors
/// All faults of all files at once; when each file reads well, all disagreements between them.
pub fn read(files: &[(PathBuf, String)]) -> Result<HeightModel, Vec<HeightsError>> {
    if files.is_empty() {
        return Err(error::one("(no file)", "", "no height source", "at least one file", "none", "name a height file"));
    }
    let read_all: Vec<Result<Vec<Source>, Vec<HeightsError>>> = files.par_iter().map(|(path, name)| read_file(path, name)).collect();
    let mut sources = Vec::new();
    let mut faults = Vec::new();
    for result in read_all {
        match result {
            Ok(more) => sources.extend(more),
            Err(more) => faults.extend(more),
        }
    }
    if faults.is_empty() { mosaic::join(sources) } else { Err(faults) }
}

/// Reads one file already in memory; `name` is what it is called in faults and notes.
///
/// # Errors
/// All faults of the file at once.
pub fn read_bytes(name: &str, bytes: &[u8]) -> Result<HeightModel, Vec<HeightsError>> {
    mosaic::join(sources_of(name, bytes, 0)?)
}

fn read_file(path: &Path, name: &str) -> Result<Vec<Source>, Vec<HeightsError>> {
    let unreadable = |e: std::io::Error| {
        error::one(name, "", "cannot read the file", "a readable file", e.to_string(), "check the path and its rights")
    };
    let size = std::fs::metadata(path).map_err(unreadable)?.len();
    if size > limits::BYTES_MAX {
        return Err(error::one(
            name,
            "",
            "the file is too large",
            format!("at most {} bytes", limits::BYTES_MAX),
            format!("{size} bytes"),
            "cut it to the ground in hand first",
        ));
    }
    sources_of(name, &std::fs::read(path).map_err(unreadable)?, 0)
}

/// The format of a height file that its first bytes give away, in words; `None` where they do not, as of plain text and of archives.
pub fn format(head: &[u8]) -> Option<&'static str> {
    match head {
        [b'I', b'I', 42 | 43, 0, ..] | [b'M', b'M', 0, 42 | 43, ..] => Some("GeoTIFF"),
        _ if ascii::looks_like(head) => Some("text grid of heights (.asc)"),
        _ => None,
    }
}

/// What the first bytes say a file is.
fn sources_of(name: &str, bytes: &[u8], depth: usize) -> Result<Vec<Source>, Vec<HeightsError>> {
    let single = |model: HeightModel| vec![Source { name: name.to_owned(), model }];
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(error::one(name, "", "the file is empty", "heights", format!("{} bytes", bytes.len()), "fetch it again"));
    }
    if matches!(bytes, [b'I', b'I', 42 | 43, 0, ..] | [b'M', b'M', 0, 42 | 43, ..]) {
        geotiff::read(name, bytes).map(single)
    } else if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        zipped::read(name, bytes, depth)
    } else if ascii::looks_like(bytes) {
        ascii::read(name, bytes).map(single)
    } else if let Some(found) = not_text(bytes) {
        Err(error::one(
            name,
            "first bytes",
            "not a height file",
            "GeoTIFF, a text grid of heights (.asc), XYZ text, or a zip of these",
            found,
            "export the heights in one of these forms",
        ))
    } else {
        xyz::read(name, bytes).map(single)
    }
}

/// Why bytes cannot be plain text, if so.
fn not_text(bytes: &[u8]) -> Option<String> {
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        return Some("text in two-byte characters (UTF-16); save it as plain text".into());
    }
    let head = &bytes[..bytes.len().min(4096)];
    head.contains(&0).then(|| format!("binary data beginning {}", error::shown(&bytes[..bytes.len().min(8)])))
}
