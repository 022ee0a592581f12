//! Where the bytes come from, and what format they are.

use super::fault::ImportFault;
use super::limit::{FILE_MAX, too_large};
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

/// A file to import, from disk or from memory (an upload).
#[derive(Clone, Debug)]
pub struct Source {
    /// The file's name, with its ending; used in messages and to tell formats apart.
    pub name: String,
    content: Content,
}

#[derive(Clone, Debug)]
enum Content {
    Bytes(Vec<u8>),
    Path(PathBuf),
}

impl Source {
    /// A file on disk.
    pub fn path(path: impl Into<PathBuf>) -> Self {
        let path = path.into();
        let name = path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned());
        Self { name, content: Content::Path(path) }
    }

    /// The same file under another name, which tells its format and is used in messages.
    pub fn called(self, name: impl Into<String>) -> Self {
        Self { name: name.into(), ..self }
    }

    /// A file in memory.
    pub fn bytes(name: impl Into<String>, bytes: impl Into<Vec<u8>>) -> Self {
        Self { name: name.into(), content: Content::Bytes(bytes.into()) }
    }

    /// The whole file.
    pub(super) fn load(&self) -> Result<Vec<u8>, ImportFault> {
        match &self.content {
            Content::Bytes(bytes) if bytes.len() as u64 > FILE_MAX => {
                Err(too_large("a file", FILE_MAX, bytes.len() as u64))
            }
            Content::Bytes(bytes) => Ok(bytes.clone()),
            Content::Path(path) => read_file(path),
        }
    }

    /// A file beside this one with another ending (`.dbf` beside `.shp`), in either case; `None` when there is none.
    pub(super) fn sibling(&self, ending: &str) -> Result<Option<Vec<u8>>, ImportFault> {
        let Content::Path(path) = &self.content else { return Ok(None) };
        for ending in [ending.to_owned(), ending.to_uppercase()] {
            let beside = path.with_extension(ending);
            if beside.is_file() {
                return read_file(&beside).map(Some);
            }
        }
        Ok(None)
    }

    /// Whether a file with this name and a tail (`plan.gpkg-wal`) lies beside and holds something.
    pub(super) fn has_tail(&self, tail: &str) -> bool {
        let Content::Path(path) = &self.content else { return false };
        let mut name = path.as_os_str().to_owned();
        name.push(tail);
        std::fs::metadata(PathBuf::from(name)).is_ok_and(|m| m.len() > 0)
    }
}

fn read_file(path: &Path) -> Result<Vec<u8>, ImportFault> {
    let refused = |e: std::io::Error| {
        ImportFault::new("a file that can be read", e.to_string()).hint(format!("look at `{}`", path.display()))
    };
    let size = std::fs::metadata(path).map_err(refused)?;
    if size.is_dir() {
        return Err(ImportFault::new("a file", "a folder").hint("name one file; a Shapefile is named by its .shp or .zip"));
    }
    if !size.is_file() {
        return Err(ImportFault::new("a file", "a pipe or device").hint("save what comes out of it in a file first"));
    }
    if size.len() > FILE_MAX {
        return Err(too_large("a file", FILE_MAX, size.len()));
    }
    let mut bytes = Vec::new();
    File::open(path).and_then(|f| f.take(FILE_MAX + 1).read_to_end(&mut bytes)).map_err(refused)?;
    Ok(bytes)
}

/// The formats that are read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Format {
    GeoPackage,
    GeoJson,
    Shapefile,
    ShapefileZip,
    FlatGeobuf,
    Csv,
    Xlsx,
    Gpx,
}

/// Tell the format by what the file holds, and by its name only where the content cannot say.
pub(super) fn format_of(name: &str, bytes: &[u8]) -> Result<Format, ImportFault> {
    let ending = Path::new(name).extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
    if bytes.is_empty() {
        return Err(ImportFault::new("a file with something in it", "an empty file (0 bytes)"));
    }
    let start = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    let start = &start[..start.len().min(512)];
    let first = start.iter().copied().find(|b| !b.is_ascii_whitespace());
    Ok(match ending.as_str() {
        _ if bytes.starts_with(b"SQLite format 3\0") => Format::GeoPackage,
        _ if bytes.starts_with(b"fgb") && bytes.get(4..7) == Some(b"fgb") => Format::FlatGeobuf,
        _ if bytes.starts_with(&[0, 0, 0x27, 0x0A]) => Format::Shapefile,
        "xlsx" | "xlsm" => Format::Xlsx,
        "zip" => Format::ShapefileZip,
        "gpkg" => Format::GeoPackage,
        "fgb" => Format::FlatGeobuf,
        "shp" => Format::Shapefile,
        "gpx" => Format::Gpx,
        "geojson" | "json" => Format::GeoJson,
        "csv" | "tsv" | "txt" => Format::Csv,
        _ if bytes.starts_with(b"PK\x03\x04") => Format::ShapefileZip,
        _ if first == Some(b'{') => Format::GeoJson,
        _ if first == Some(b'<') && start.windows(4).any(|w| w == b"<gpx") => Format::Gpx,
        _ => {
            return Err(ImportFault::new(
                "GeoPackage, GeoJSON, Shapefile (.shp or zipped), FlatGeobuf, CSV, XLSX or GPX",
                if ending.is_empty() { "a file of another kind".to_owned() } else { format!("a `.{ending}` file") },
            )
            .hint("save it again in one of these formats"));
        }
    })
}
