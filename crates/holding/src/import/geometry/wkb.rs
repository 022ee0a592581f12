//! Well-known binary (OGC 06-103r4, clause 8; ISO and the older high-bit dimension codes) and the GeoPackage
//! header before it (OGC 12-128r18, clause 2.1.3). Every count is checked against the bytes that are there before
//! anything is set aside for it.

use super::build::{Builder, Rings, collection};
use crate::import::limit::DEPTH_MAX;
use crate::import::table::Shape;
use geo_types::{Coord, Geometry};

/// A geometry blob of a GeoPackage.
pub(in crate::import) fn gpkg_shape(blob: &[u8]) -> Shape {
    let header = |why: &str| Shape::Broken(format!("a geometry blob {why}"));
    let [b'G', b'P', _, flags, ..] = *blob else { return header("that is no GeoPackage geometry") };
    let envelope = match flags >> 1 & 7 {
        0 => 0,
        1 => 32,
        2 | 3 => 48,
        4 => 64,
        _ => return header("with an unknown envelope"),
    };
    match blob.get(8 + envelope..) {
        Some(_) if flags & 0x10 != 0 => Shape::Missing,
        Some(body) => shape(body),
        None => header("that is cut short"),
    }
}

/// Plain well-known binary.
pub(in crate::import) fn shape(bytes: &[u8]) -> Shape {
    let mut builder = Builder::default();
    let mut reader = Reader { rest: bytes };
    match reader.geometry(&mut builder, 0) {
        Ok(Some(geometry)) => Shape::Is(builder.done(geometry)),
        Ok(None) => Shape::Missing,
        Err(why) => Shape::Broken(why),
    }
}

struct Reader<'a> {
    rest: &'a [u8],
}

/// Byte order and number of ordinates of one geometry.
#[derive(Clone, Copy)]
struct Form {
    little: bool,
    ordinates: usize,
}

impl Reader<'_> {
    fn take<const N: usize>(&mut self) -> Result<[u8; N], String> {
        let (head, rest) = self.rest.split_first_chunk::<N>().ok_or("a geometry that is cut short")?;
        self.rest = rest;
        Ok(*head)
    }

    fn u32(&mut self, form: Form) -> Result<u32, String> {
        let bytes = self.take::<4>()?;
        Ok(if form.little { u32::from_le_bytes(bytes) } else { u32::from_be_bytes(bytes) })
    }

    /// A count of things that take at least `least` bytes each.
    fn count(&mut self, form: Form, least: usize) -> Result<usize, String> {
        let count = self.u32(form)? as usize;
        if count.saturating_mul(least) > self.rest.len() {
            return Err(format!("a geometry that claims {count} parts in {} bytes", self.rest.len()));
        }
        Ok(count)
    }

    fn coord(&mut self, form: Form) -> Result<Coord<f64>, String> {
        let mut ordinates = [0.0; 4];
        for ordinate in ordinates.iter_mut().take(form.ordinates) {
            let bytes = self.take::<8>()?;
            *ordinate = if form.little { f64::from_le_bytes(bytes) } else { f64::from_be_bytes(bytes) };
        }
        Ok(Coord { x: ordinates[0], y: ordinates[1] })
    }

    fn coords(&mut self, form: Form) -> Result<Vec<Coord<f64>>, String> {
        let count = self.count(form, 8 * form.ordinates)?;
        (0..count).map(|_| self.coord(form)).collect()
    }

    fn rings(&mut self, form: Form) -> Result<Rings, String> {
        let count = self.count(form, 4)?;
        (0..count).map(|_| self.coords(form)).collect()
    }

    fn head(&mut self) -> Result<(Form, u32), String> {
        let [order] = self.take::<1>()?;
        let mut form = Form { little: order == 1, ordinates: 2 };
        if order > 1 {
            return Err(format!("a geometry with byte order {order}"));
        }
        let code = self.u32(form)?;
        let high = usize::from(code & 0x8000_0000 != 0) + usize::from(code & 0x4000_0000 != 0);
        let skip_srid = code & 0x2000_0000 != 0;
        let plain = code & 0x0FFF_FFFF;
        form.ordinates += high
            + match plain / 1000 {
                0 => 0,
                1 | 2 => 1,
                3 => 2,
                _ => return Err(format!("a geometry of type {plain}")),
            };
        if form.ordinates > 4 {
            return Err(format!("a geometry of type {code}"));
        }
        if skip_srid {
            self.u32(form)?;
        }
        Ok((form, plain % 1000))
    }

    fn geometry(&mut self, builder: &mut Builder, depth: usize) -> Result<Option<Geometry<f64>>, String> {
        if depth > DEPTH_MAX {
            return Err(format!("geometry collections nested deeper than {DEPTH_MAX}"));
        }
        let (form, kind) = self.head()?;
        Ok(match kind {
            1 => {
                let at = self.coord(form)?;
                // An empty point is written as one of NaN by NaN.
                if at.x.is_nan() && at.y.is_nan() && depth == 0 { None } else { Some(Geometry::Point(builder.point(at)?)) }
            }
            2 => {
                let coords = self.coords(form)?;
                if coords.is_empty() { None } else { Some(Geometry::LineString(builder.line(coords)?)) }
            }
            3 => {
                let rings = self.rings(form)?;
                if rings.is_empty() { None } else { Some(Geometry::Polygon(builder.polygon(rings)?)) }
            }
            4..=7 => {
                let count = self.count(form, 5)?;
                let mut all = Vec::new();
                for _ in 0..count {
                    all.extend(self.geometry(builder, depth + 1)?);
                }
                (!all.is_empty()).then(|| collection(all))
            }
            other => return Err(format!("curved or unknown geometry (type {other})")),
        })
    }
}
