//! The GeoPackage geometry value: a short header (system number, box) in front of well-known binary.
//!
//! Source: OGC 12-128r18, clause 2.1.3.

use super::wkb::{self, WkbFault};
use geo_types::{Coord, Geometry, MultiLineString, MultiPolygon, Point};

/// The box of a geometry: west, east, south, north, metres.
pub(crate) type Bounds = [f64; 4];

/// Why a value is not a GeoPackage geometry.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BlobFault {
    /// The two letters at the front are missing, or the value is too short to have a header.
    #[error("{0} bytes that do not start as a GeoPackage geometry")]
    Head(usize),
    /// A value of an extension's own form.
    #[error("a geometry in the form of an extension")]
    Extension,
    /// The geometry itself.
    #[error(transparent)]
    Wkb(#[from] WkbFault),
}

/// A header taken apart.
struct Head<'a> {
    empty: bool,
    bounds: Option<Bounds>,
    body: &'a [u8],
}

fn head(blob: &[u8]) -> Result<Head<'_>, BlobFault> {
    let bad = || BlobFault::Head(blob.len());
    let [b'G', b'P', _version, flags, _, _, _, _, rest @ ..] = blob else { return Err(bad()) };
    if flags & 0x20 != 0 {
        return Err(BlobFault::Extension);
    }
    let doubles = match (flags >> 1) & 7 {
        0 => 0,
        1 => 4,
        2 | 3 => 6,
        4 => 8,
        _ => return Err(bad()),
    };
    let (envelope, body) = rest.split_at_checked(doubles * 8).ok_or_else(bad)?;
    let double = |at: usize| -> f64 {
        let mut bytes = [0u8; 8];
        bytes.copy_from_slice(&envelope[at * 8..at * 8 + 8]);
        if flags & 1 == 1 { f64::from_le_bytes(bytes) } else { f64::from_be_bytes(bytes) }
    };
    let bounds = (doubles > 0).then(|| [double(0), double(1), double(2), double(3)]);
    Ok(Head { empty: flags & 0x10 != 0, bounds: bounds.filter(|b| b.iter().all(|v| v.is_finite())), body })
}

/// Read a stored geometry.
pub(crate) fn read(blob: &[u8]) -> Result<Geometry<f64>, BlobFault> {
    Ok(wkb::read(head(blob)?.body)?)
}

/// The box of a stored geometry; `None` where it is empty.
pub(crate) fn bounds(blob: &[u8]) -> Result<Option<Bounds>, BlobFault> {
    let head = head(blob)?;
    if head.empty {
        return Ok(None);
    }
    match head.bounds {
        Some(bounds) => Ok(Some(bounds)),
        None => Ok(bounds_of(&wkb::read(head.body)?)),
    }
}

fn bounds_of(geometry: &Geometry<f64>) -> Option<Bounds> {
    use geo::CoordsIter;
    bounds_of_places(geometry.coords_iter())
}

fn bounds_of_places(places: impl Iterator<Item = Coord<f64>>) -> Option<Bounds> {
    places.fold(None, |so_far, p| {
        let [w, e, s, n] = so_far.unwrap_or([p.x, p.x, p.y, p.y]);
        Some([w.min(p.x), e.max(p.x), s.min(p.y), n.max(p.y)])
    })
}

/// Write a header with the box (none for a point or an empty geometry), then the body.
fn assemble(epsg: u32, bounds: Option<Bounds>, empty: bool, body: impl FnOnce(&mut Vec<u8>)) -> Vec<u8> {
    let mut out = Vec::with_capacity(64);
    let flags = 1 | if bounds.is_some() { 0b10 } else { 0 } | if empty { 0x10 } else { 0 };
    out.extend_from_slice(&[b'G', b'P', 0, flags]);
    out.extend_from_slice(&epsg.to_le_bytes());
    bounds.iter().flatten().for_each(|v| out.extend_from_slice(&v.to_le_bytes()));
    body(&mut out);
    out
}

/// A stored point.
pub(crate) fn point(epsg: u32, place: Point<f64>) -> Vec<u8> {
    assemble(epsg, None, false, |out| wkb::write_point(place, out))
}

/// Stored areas.
pub(crate) fn areas(epsg: u32, areas: &MultiPolygon<f64>) -> Vec<u8> {
    use geo::CoordsIter;
    let bounds = bounds_of_places(areas.coords_iter());
    assemble(epsg, bounds, bounds.is_none(), |out| wkb::write_areas(areas, out))
}

/// Stored lines.
pub(crate) fn lines(epsg: u32, lines: &MultiLineString<f64>) -> Vec<u8> {
    use geo::CoordsIter;
    let bounds = bounds_of_places(lines.coords_iter());
    assemble(epsg, bounds, bounds.is_none(), |out| wkb::write_lines(lines, out))
}

/// Stored areas and lines of one feature: areas alone, lines alone, or a collection of both; `None` for neither.
pub(crate) fn either(epsg: u32, of_areas: &MultiPolygon<f64>, of_lines: &MultiLineString<f64>) -> Option<Vec<u8>> {
    use geo::CoordsIter;
    match (of_areas.0.is_empty(), of_lines.0.is_empty()) {
        (true, true) => None,
        (false, true) => Some(areas(epsg, of_areas)),
        (true, false) => Some(lines(epsg, of_lines)),
        (false, false) => {
            let bounds = bounds_of_places(of_areas.coords_iter().chain(of_lines.coords_iter()));
            Some(assemble(epsg, bounds, bounds.is_none(), |out| wkb::write_both(of_areas, of_lines, out)))
        }
    }
}
