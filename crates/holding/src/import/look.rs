//! What a file is before anybody says what its rows are: its format, and the layers in it.

use super::fault::Faults;
use super::format::{geopackage, shapefile, xlsx};
use super::source::{Format, Source, format_of};

/// A file that was looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Looked {
    /// Its format, in words.
    pub format: &'static str,
    /// Its layers or sheets; empty where the format has none.
    pub layers: Vec<String>,
}

/// Tell the format and the layers of a file. Its rows are not read.
///
/// # Errors
/// Where it is no file that can be imported, or is damaged.
pub fn look(source: &Source) -> Result<Looked, Faults> {
    let bytes = source.load()?;
    let (format, layers) = match format_of(&source.name, &bytes)? {
        Format::Csv => ("table of text (CSV)", vec![]),
        Format::GeoJson => ("GeoJSON", vec![]),
        Format::GeoPackage => ("GeoPackage", geopackage::names(source, bytes)?),
        Format::Shapefile => ("Shapefile", vec![]),
        Format::ShapefileZip => ("zipped Shapefile", shapefile::names(&bytes)?),
        Format::FlatGeobuf => ("FlatGeobuf", vec![]),
        Format::Xlsx => ("workbook (XLSX)", xlsx::names(&bytes)?),
        Format::Gpx => ("GPX", vec![]),
    };
    Ok(Looked { format, layers })
}
