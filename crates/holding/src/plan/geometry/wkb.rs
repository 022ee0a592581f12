//! Well-known binary, read with distrust and written plainly.
//!
//! Reads ISO and extended well-known binary in either byte order; heights and measures of vertices are passed
//! over, since a plan is planar. Every count is weighed against the bytes that are left before anything is set
//! aside for it, and collections may nest only a few levels deep, so a damaged or hostile value ends in a fault
//! at once. Curves are not read. Written: little-endian, two dimensions.
//!
//! Source: OGC 06-103r4 (Simple Feature Access, part 1), clause 8.

use geo_types::{
    Coord, Geometry, GeometryCollection, LineString, MultiLineString, MultiPoint, MultiPolygon, Point, Polygon,
};

/// Collections within collections that are still followed.
const DEPTH_MAX: usize = 4;

/// Why a value is not well-known binary that a plan can hold.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WkbFault {
    /// The bytes end early.
    #[error("a geometry cut short ({left} bytes left where {needed} are needed)")]
    Short {
        /// Bytes the next part takes.
        needed: usize,
        /// Bytes there are.
        left: usize,
    },
    /// A count that the bytes cannot bear out.
    #[error("a geometry that claims {count} parts in {left} bytes")]
    Count {
        /// Parts claimed.
        count: u32,
        /// Bytes there are.
        left: usize,
    },
    /// A byte-order mark other than 0 or 1.
    #[error("a geometry with the byte-order mark {0}")]
    Order(u8),
    /// A kind of geometry that is not read.
    #[error("a geometry of the kind numbered {0}")]
    Kind(u32),
    /// Collections nested too deep.
    #[error("geometry collections nested more than {DEPTH_MAX} deep")]
    Depth,
    /// A coordinate that is not a number, or endless.
    #[error("a coordinate that is not a finite number")]
    NotFinite,
    /// Bytes after the end.
    #[error("{0} bytes after the end of the geometry")]
    Trailing(usize),
}

/// Read one geometry that fills `bytes` exactly.
pub(crate) fn read(bytes: &[u8]) -> Result<Geometry<f64>, WkbFault> {
    let mut cursor = Cursor { rest: bytes, little: true };
    let geometry = cursor.geometry(0)?;
    match cursor.rest.len() {
        0 => Ok(geometry),
        left => Err(WkbFault::Trailing(left)),
    }
}

struct Cursor<'a> {
    rest: &'a [u8],
    little: bool,
}

impl Cursor<'_> {
    fn take<const N: usize>(&mut self) -> Result<[u8; N], WkbFault> {
        match self.rest.split_first_chunk::<N>() {
            Some((chunk, rest)) => {
                self.rest = rest;
                Ok(*chunk)
            }
            None => Err(WkbFault::Short { needed: N, left: self.rest.len() }),
        }
    }

    fn u32(&mut self) -> Result<u32, WkbFault> {
        let bytes = self.take::<4>()?;
        Ok(if self.little { u32::from_le_bytes(bytes) } else { u32::from_be_bytes(bytes) })
    }

    fn f64(&mut self) -> Result<f64, WkbFault> {
        let bytes = self.take::<8>()?;
        Ok(if self.little { f64::from_le_bytes(bytes) } else { f64::from_be_bytes(bytes) })
    }

    /// A count of parts, each at least `least` bytes long.
    fn count(&mut self, least: usize) -> Result<usize, WkbFault> {
        let count = self.u32()?;
        let left = self.rest.len();
        if (count as usize).checked_mul(least).is_none_or(|bytes| bytes > left) {
            return Err(WkbFault::Count { count, left });
        }
        Ok(count as usize)
    }

    /// The kind (1 to 7) and the number of ordinates of a vertex.
    fn head(&mut self) -> Result<(u32, usize), WkbFault> {
        self.little = match self.take::<1>()? {
            [0] => false,
            [1] => true,
            [other] => return Err(WkbFault::Order(other)),
        };
        let code = self.u32()?;
        let (flags, plain) = (code & 0xE000_0000, code & 0x1FFF_FFFF);
        if flags & 0x2000_0000 != 0 {
            self.u32()?; // the reference system's number, given once more
        }
        let (dimension, kind) = (plain / 1000, plain % 1000);
        let extra = match (dimension, flags & 0xC000_0000) {
            (0, 0) => 0,
            (1 | 2, 0) | (0, 0x8000_0000 | 0x4000_0000) => 1,
            (3, 0) | (0, 0xC000_0000) => 2,
            _ => return Err(WkbFault::Kind(code)),
        };
        if (1..=7).contains(&kind) { Ok((kind, 2 + extra)) } else { Err(WkbFault::Kind(code)) }
    }

    /// A vertex; `None` where every ordinate is a NaN, the way an empty point is written.
    fn vertex(&mut self, ordinates: usize) -> Result<Option<Coord<f64>>, WkbFault> {
        let (x, y) = (self.f64()?, self.f64()?);
        for _ in 2..ordinates {
            self.f64()?;
        }
        if x.is_nan() && y.is_nan() {
            return Ok(None);
        }
        if x.is_finite() && y.is_finite() { Ok(Some(Coord { x, y })) } else { Err(WkbFault::NotFinite) }
    }

    fn line(&mut self, ordinates: usize) -> Result<LineString<f64>, WkbFault> {
        let count = self.count(8 * ordinates)?;
        let vertices = (0..count).map(|_| self.vertex(ordinates)?.ok_or(WkbFault::NotFinite));
        Ok(LineString(vertices.collect::<Result<_, _>>()?))
    }

    fn polygon(&mut self, ordinates: usize) -> Result<Polygon<f64>, WkbFault> {
        let count = self.count(4)?;
        let mut rings = (0..count).map(|_| self.line(ordinates)).collect::<Result<Vec<_>, _>>()?.into_iter();
        let outer = rings.next().unwrap_or_else(|| LineString(vec![]));
        Ok(Polygon::new(outer, rings.collect()))
    }

    /// The parts of a multi-geometry, each with a head of its own.
    fn parts<T>(
        &mut self,
        kind: u32,
        part: impl Fn(&mut Self, usize) -> Result<T, WkbFault>,
    ) -> Result<Vec<T>, WkbFault> {
        let count = self.count(9)?;
        (0..count)
            .map(|_| {
                let (found, ordinates) = self.head()?;
                if found == kind { part(self, ordinates) } else { Err(WkbFault::Kind(found)) }
            })
            .collect()
    }

    fn geometry(&mut self, depth: usize) -> Result<Geometry<f64>, WkbFault> {
        let (kind, ordinates) = self.head()?;
        Ok(match kind {
            1 => match self.vertex(ordinates)? {
                Some(place) => Geometry::Point(Point(place)),
                None => Geometry::MultiPoint(MultiPoint(vec![])),
            },
            2 => Geometry::LineString(self.line(ordinates)?),
            3 => Geometry::Polygon(self.polygon(ordinates)?),
            4 => Geometry::MultiPoint(MultiPoint(self.parts(1, |c, n| {
                c.vertex(n)?.map(Point).ok_or(WkbFault::NotFinite)
            })?)),
            5 => Geometry::MultiLineString(MultiLineString(self.parts(2, Self::line)?)),
            6 => Geometry::MultiPolygon(MultiPolygon(self.parts(3, Self::polygon)?)),
            _ => {
                if depth >= DEPTH_MAX {
                    return Err(WkbFault::Depth);
                }
                let count = self.count(5)?;
                let parts = (0..count).map(|_| self.geometry(depth + 1)).collect::<Result<Vec<_>, _>>()?;
                Geometry::GeometryCollection(GeometryCollection(parts))
            }
        })
    }
}

/// Write a point.
pub(crate) fn write_point(place: Point<f64>, out: &mut Vec<u8>) {
    head(1, out);
    vertex(place.0, out);
}

/// Write areas.
pub(crate) fn write_areas(areas: &MultiPolygon<f64>, out: &mut Vec<u8>) {
    head(6, out);
    count(areas.0.len(), out);
    for area in &areas.0 {
        head(3, out);
        let blank = area.exterior().0.is_empty() && area.interiors().is_empty();
        count(if blank { 0 } else { 1 + area.interiors().len() }, out);
        if !blank {
            std::iter::once(area.exterior()).chain(area.interiors()).for_each(|ring| vertices(ring, out));
        }
    }
}

/// Write lines.
pub(crate) fn write_lines(lines: &MultiLineString<f64>, out: &mut Vec<u8>) {
    head(5, out);
    count(lines.0.len(), out);
    for line in &lines.0 {
        head(2, out);
        vertices(line, out);
    }
}

/// Write a collection of areas and lines.
pub(crate) fn write_both(areas: &MultiPolygon<f64>, lines: &MultiLineString<f64>, out: &mut Vec<u8>) {
    head(7, out);
    count(2, out);
    write_areas(areas, out);
    write_lines(lines, out);
}

fn head(kind: u32, out: &mut Vec<u8>) {
    out.push(1);
    out.extend_from_slice(&kind.to_le_bytes());
}

fn count(n: usize, out: &mut Vec<u8>) {
    out.extend_from_slice(&(n as u32).to_le_bytes());
}

fn vertex(place: Coord<f64>, out: &mut Vec<u8>) {
    out.extend_from_slice(&place.x.to_le_bytes());
    out.extend_from_slice(&place.y.to_le_bytes());
}

fn vertices(line: &LineString<f64>, out: &mut Vec<u8>) {
    count(line.0.len(), out);
    line.0.iter().for_each(|place| vertex(*place, out));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_claim_of_two_thousand_million_parts_ends_at_once() {
        for kind in 2u32..=7 {
            let mut bytes = vec![1];
            bytes.extend(kind.to_le_bytes());
            bytes.extend(0x7FFF_FFFFu32.to_le_bytes());
            bytes.extend([0; 64]);
            assert!(matches!(read(&bytes), Err(WkbFault::Count { count: 0x7FFF_FFFF, left: 64 })), "kind {kind}");
        }
    }

    #[test]
    fn collections_without_end_are_refused() {
        let mut bytes = Vec::new();
        for _ in 0..100_000 {
            head(7, &mut bytes);
            count(1, &mut bytes);
        }
        assert_eq!(read(&bytes), Err(WkbFault::Depth));
    }

    #[test]
    fn a_cut_anywhere_is_a_fault_and_never_a_panic() {
        let areas = MultiPolygon(vec![Polygon::new(
            LineString::from(vec![(0.0, 0.0), (9.0, 0.0), (9.0, 9.0)]),
            vec![LineString::from(vec![(1.0, 1.0), (2.0, 1.0), (2.0, 2.0)])],
        )]);
        let mut whole = Vec::new();
        write_areas(&areas, &mut whole);
        assert_eq!(read(&whole), Ok(Geometry::MultiPolygon(areas)));
        for end in 0..whole.len() {
            assert!(read(&whole[..end]).is_err(), "cut at {end}");
        }
    }

    #[test]
    fn either_byte_order_and_heights_are_read() {
        // POINT Z (1 2 3): ISO, big-endian; then the extended form, little-endian, with a system number.
        let mut iso = vec![0];
        iso.extend(1001u32.to_be_bytes());
        [1.0f64, 2.0, 3.0].iter().for_each(|v| iso.extend(v.to_be_bytes()));
        let mut extended = vec![1];
        extended.extend(0xA000_0001u32.to_le_bytes());
        extended.extend(27700u32.to_le_bytes());
        [1.0f64, 2.0, 3.0].iter().for_each(|v| extended.extend(v.to_le_bytes()));
        let place = Ok(Geometry::Point(Point::new(1.0, 2.0)));
        assert_eq!((read(&iso), read(&extended)), (place.clone(), place));
    }
}
