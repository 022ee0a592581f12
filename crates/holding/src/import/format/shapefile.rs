//! Shapefiles (ESRI Shapefile technical description, 1998): loose with their siblings, or zipped.
//!
//! Rings are told apart as the description says: outer rings run clockwise, holes the other way; a hole belongs to
//! the smallest outer ring around it, and a hole in no outer ring is taken for an outer ring.

use super::{column_names, dbf, pick, within_limits};
use crate::import::crs::from_projection_text;
use crate::import::kind::Kind;
use crate::import::fault::{Faults, ImportFault};
use crate::import::geometry::build::{Builder, Rings};
use crate::import::limit::{Entry, unzip};
use crate::import::note::Notes;
use crate::import::source::Source;
use crate::import::table::{Crs, Row, Shape, Table};
use geo::{Area, Contains};
use geo_types::{Coord, Geometry, LineString, Point, Polygon};

/// Read a loose .shp with the files beside it.
pub(in crate::import) fn read_loose(source: &Source, shp: &[u8]) -> Result<Table, Faults> {
    let dbf = source.sibling("dbf")?;
    let shx = source.sibling("shx")?.is_some();
    let text = |bytes: Option<Vec<u8>>| bytes.map(|b| String::from_utf8_lossy(&b).into_owned());
    let prj = text(source.sibling("prj")?);
    let cpg = text(source.sibling("cpg")?);
    read(shp, dbf.as_deref(), prj.as_deref(), cpg.as_deref(), shx, None)
}

/// Read a zipped Shapefile.
pub(in crate::import) fn read_zip(bytes: &[u8], asked: Option<&str>, kind: Kind) -> Result<Table, Faults> {
    let (entries, stems) = entries(bytes)?;
    let chosen = pick(&stems, asked, kind, "layer")?.to_owned();
    let part = |ending: &str| entries.iter().find(|e| stem(&e.name, ending).as_deref() == Some(&chosen)).map(|e| e.bytes.as_slice());
    let text = |ending: &str| part(ending).map(|b| String::from_utf8_lossy(b).into_owned());
    let shp = part("shp").unwrap_or_default();
    let layer = (stems.len() > 1).then(|| chosen.clone());
    read(shp, part("dbf"), text("prj").as_deref(), text("cpg").as_deref(), part("shx").is_some(), layer)
}

/// The layers of an archive.
pub(in crate::import) fn names(bytes: &[u8]) -> Result<Vec<String>, ImportFault> {
    Ok(entries(bytes)?.1)
}

/// What is in an archive, and the names of its Shapefiles: at least one.
fn entries(bytes: &[u8]) -> Result<(Vec<Entry>, Vec<String>), ImportFault> {
    let entries: Vec<Entry> = unzip(bytes)?.into_iter().filter(|e| !e.name.starts_with("__MACOSX/")).collect();
    let stems: Vec<String> = entries.iter().filter_map(|e| stem(&e.name, "shp")).collect();
    if stems.is_empty() {
        let names: Vec<&str> = entries.iter().map(|e| e.name.as_str()).take(8).collect();
        return Err(ImportFault::new("a .shp file in the archive", format!("`{}`", names.join("`, `")))
            .hint("zip the .shp with its .dbf, .shx and .prj; give other formats unzipped"));
    }
    Ok((entries, stems))
}

/// The name before an ending, whatever its case; folders are left off.
fn stem(name: &str, ending: &str) -> Option<String> {
    let file = name.rsplit(['/', '\\']).next()?;
    let (stem, found) = file.rsplit_once('.')?;
    found.eq_ignore_ascii_case(ending).then(|| stem.to_owned())
}

fn read(shp: &[u8], dbf: Option<&[u8]>, prj: Option<&str>, cpg: Option<&str>, shx: bool, layer: Option<String>) -> Result<Table, Faults> {
    let dbf = dbf.ok_or_else(|| {
        ImportFault::new("the .dbf table that belongs to the .shp", "none beside it")
            .hint("a Shapefile is several files of one name: give them together, or in one zip")
    })?;
    let mut notes = Notes::default();
    if !shx {
        notes.file("the .shx index is missing; the shapes were read in order without it");
    }
    let crs = match prj {
        Some(text) => from_projection_text(text),
        None => Crs::Unsaid,
    };
    let shapes = shapes(shp)?;
    let attributes = dbf::read(dbf, cpg)?;
    if shapes.len() != attributes.rows.len() {
        return Err(ImportFault::new(
            "as many shapes in the .shp as rows in the .dbf",
            format!("{} shapes and {} rows", shapes.len(), attributes.rows.len()),
        )
        .hint("the files do not belong together: copy them again")
        .into());
    }
    if attributes.not_utf8 {
        notes.file("the text is not UTF-8; it was read as Windows-1252");
    }
    let mut rows = Vec::with_capacity(shapes.len());
    for (number, (shape, cells)) in shapes.into_iter().zip(attributes.rows).enumerate() {
        if let Some(cells) = cells {
            rows.push(Row { place: format!("row {}", number + 1), cells, shape });
        }
    }
    Ok(Table { layer, columns: column_names(attributes.columns), rows, crs, notes })
}

/// Little-endian figures out of a record, each checked against its end.
struct Record<'a>(&'a [u8]);

impl Record<'_> {
    fn i32(&self, at: usize) -> Result<i32, String> {
        let bytes = self.0.get(at..at + 4).ok_or("a shape that is cut short")?;
        Ok(i32::from_le_bytes([bytes[0], bytes[1], bytes[2], bytes[3]]))
    }

    fn f64(&self, at: usize) -> Result<f64, String> {
        let bytes = self.0.get(at..at + 8).ok_or("a shape that is cut short")?;
        let mut eight = [0; 8];
        eight.copy_from_slice(bytes);
        Ok(f64::from_le_bytes(eight))
    }

    fn coord(&self, at: usize) -> Result<Coord<f64>, String> {
        Ok(Coord { x: self.f64(at)?, y: self.f64(at + 8)? })
    }

    /// A count of things of `each` bytes that must lie after `at`.
    fn count(&self, at: usize, each: usize) -> Result<usize, String> {
        let count = self.i32(at)?;
        usize::try_from(count)
            .ok()
            .filter(|n| n.saturating_mul(each) <= self.0.len())
            .ok_or_else(|| format!("a shape that claims {count} parts in {} bytes", self.0.len()))
    }

    /// The coordinates of each part.
    fn parts(&self) -> Result<Rings, String> {
        let (parts, points) = (self.count(36, 4)?, self.count(40, 16)?);
        let first = 44 + 4 * parts;
        let start = |part: usize| -> Result<usize, String> {
            if part == parts {
                return Ok(points);
            }
            usize::try_from(self.i32(44 + 4 * part)?).ok().filter(|s| *s <= points).ok_or_else(|| "parts that begin beyond their points".to_owned())
        };
        let mut all = Vec::new();
        for part in 0..parts {
            let (from, to) = (start(part)?, start(part + 1)?);
            all.push((from..to).map(|at| self.coord(first + 16 * at)).collect::<Result<_, _>>()?);
        }
        Ok(all)
    }
}

fn shapes(shp: &[u8]) -> Result<Vec<Shape>, ImportFault> {
    let damaged = |why: String| ImportFault::new("a whole .shp file", why).hint("copy the .shp again");
    if !shp.starts_with(&[0, 0, 0x27, 0x0A]) || shp.len() < 100 {
        return Err(damaged("a file that does not begin as one does".to_owned()));
    }
    let claimed = u64::from(u32::from_be_bytes([shp[24], shp[25], shp[26], shp[27]])) * 2;
    if claimed > shp.len() as u64 {
        return Err(damaged(format!("{} bytes where its header says {claimed}", shp.len())));
    }
    let mut all = Vec::new();
    let mut rest = &shp[100..];
    while let Some((head, after)) = rest.split_first_chunk::<8>() {
        let words = u32::from_be_bytes([head[4], head[5], head[6], head[7]]) as usize;
        let Some((record, next)) = after.split_at_checked(words.saturating_mul(2)) else {
            return Err(damaged(format!("row {} longer than what is left of the file", all.len() + 1)));
        };
        all.push(shape(&Record(record)));
        within_limits(all.len(), 1)?;
        rest = next;
    }
    Ok(all)
}

fn shape(record: &Record<'_>) -> Shape {
    let mut builder = Builder::default();
    match geometry(record, &mut builder) {
        Ok(Some(geometry)) => Shape::Is(builder.done(geometry)),
        Ok(None) => Shape::Missing,
        Err(why) => Shape::Broken(why),
    }
}

fn geometry(record: &Record<'_>, builder: &mut Builder) -> Result<Option<Geometry<f64>>, String> {
    Ok(match record.i32(0)? {
        0 => None,
        1 | 11 | 21 => Some(Geometry::Point(builder.point(record.coord(4)?)?)),
        8 | 18 | 28 => {
            let count = record.count(36, 16)?;
            let points = (0..count).map(|at| record.coord(40 + 16 * at)).collect::<Result<Vec<_>, _>>()?;
            if points.is_empty() { None } else { Some(Geometry::MultiPoint(builder.points(points)?)) }
        }
        3 | 13 | 23 => {
            let parts = record.parts()?;
            if parts.is_empty() { None } else { Some(Geometry::MultiLineString(builder.lines(parts)?)) }
        }
        5 | 15 | 25 => {
            let rings = record.parts()?;
            if rings.is_empty() { None } else { Some(Geometry::MultiPolygon(builder.polygons(grouped(rings))?)) }
        }
        other => return Err(format!("a shape of type {other}, which is no point, line or polygon")),
    })
}

/// Outer rings, each with its holes.
fn grouped(rings: Rings) -> Vec<Rings> {
    // Clockwise is negative by the shoelace sum.
    let area = |ring: &[Coord<f64>]| {
        let next = ring.iter().cycle().skip(1);
        ring.iter().zip(next).map(|(a, b)| (a.x - ring[0].x) * (b.y - ring[0].y) - (b.x - ring[0].x) * (a.y - ring[0].y)).sum::<f64>()
    };
    let (outer, holes): (Rings, Rings) = rings.into_iter().partition(|ring| area(ring) <= 0.0);
    let polygons: Vec<Polygon<f64>> = outer.iter().map(|ring| Polygon::new(LineString(ring.clone()), vec![])).collect();
    let mut all: Vec<Rings> = outer.into_iter().map(|ring| vec![ring]).collect();
    for hole in holes {
        let around = (0..polygons.len())
            .filter(|at| hole.iter().any(|c| polygons[*at].contains(&Point(*c))))
            .min_by(|a, b| polygons[*a].unsigned_area().total_cmp(&polygons[*b].unsigned_area()));
        match around {
            Some(at) => all[at].push(hole),
            None => all.push(vec![hole]),
        }
    }
    all
}
