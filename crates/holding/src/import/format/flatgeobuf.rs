//! FlatGeobuf: the header and each feature are verified before they are looked at, and no size is believed that
//! the file does not hold.

use super::{column_names, within_limits};
use crate::import::crs::{from_epsg, from_projection_text};
use crate::import::fault::{Faults, ImportFault};
use crate::import::geometry::build::{Builder, Rings, collection};
use crate::import::limit::DEPTH_MAX;
use crate::import::note::Notes;
use crate::import::table::{Cell, Crs, Row, Shape, Table};
use flatgeobuf::{ColumnType, Feature, Geometry as Part, GeometryType, Header, size_prefixed_root_as_feature, size_prefixed_root_as_header};
use geo_types::{Coord, Geometry};

/// Bytes of one node of the spatial index: a box and an offset.
const NODE_BYTES: u64 = 40;

/// Read the one layer of the file.
pub(in crate::import) fn read(bytes: &[u8]) -> Result<Table, Faults> {
    let damaged = |why: &str| ImportFault::new("a whole FlatGeobuf file", why).hint("the file may be cut short: copy it again");
    let mut rest = bytes.get(8..).ok_or_else(|| damaged("a file that ends in its first bytes"))?;
    if !(bytes.starts_with(b"fgb") && bytes[3] == 3 && &bytes[4..7] == b"fgb") {
        return Err(damaged("other first bytes, or another version than 3").into());
    }
    let head = sized(&mut rest).ok_or_else(|| damaged("a header larger than the file"))?;
    let header = size_prefixed_root_as_header(head).map_err(|e| damaged(&format!("a broken header ({e})")))?;
    let names: Vec<String> = header.columns().into_iter().flatten().map(|c| c.name().to_owned()).collect();
    let types: Vec<ColumnType> = header.columns().into_iter().flatten().map(|c| c.type_()).collect();
    let index = index_bytes(header.features_count(), header.index_node_size());
    rest = usize::try_from(index).ok().and_then(|skip| rest.get(skip..)).ok_or_else(|| {
        damaged(&format!("a claim of {} features in {} bytes", header.features_count(), bytes.len()))
    })?;
    let mut faults = Faults::new();
    let mut rows = Vec::new();
    while !rest.is_empty() {
        let place = format!("feature {}", rows.len() + 1);
        let Some(feature) = sized(&mut rest) else {
            return Err(damaged("a feature larger than what is left of the file").row(place).into());
        };
        let feature = size_prefixed_root_as_feature(feature).map_err(|e| damaged(&format!("a broken feature ({e})")).row(&place))?;
        let mut cells = vec![Cell::Empty; names.len()];
        if let Some(properties) = feature.properties()
            && values(properties.bytes(), &types, &mut cells).is_none()
        {
            faults.push(damaged("values that cannot be read").row(&place));
        }
        rows.push(Row { place, cells, shape: shape(&feature, header.geometry_type()) });
        within_limits(rows.len(), names.len())?;
    }
    if header.features_count() > 0 && header.features_count() != rows.len() as u64 {
        faults.push(damaged(&format!("{} features where {} are promised", rows.len(), header.features_count())));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let crs = crs(&header);
    Ok(Table { layer: None, columns: column_names(names), rows, crs, notes: Notes::default() })
}

/// The next buffer with its length before it, length included.
fn sized<'a>(rest: &mut &'a [u8]) -> Option<&'a [u8]> {
    let (length, _) = rest.split_first_chunk::<4>()?;
    let length = (u32::from_le_bytes(*length) as usize).checked_add(4)?;
    // A buffer of fewer bytes than a root offset cannot be looked into.
    if length < 12 || length > rest.len() {
        return None;
    }
    let (one, after) = rest.split_at(length);
    *rest = after;
    Some(one)
}

/// Size of the packed index of so many features.
fn index_bytes(features: u64, node_size: u16) -> u64 {
    if features == 0 || node_size < 2 {
        return 0;
    }
    let (mut level, mut nodes) = (features, features);
    while level > 1 {
        level = level.div_ceil(u64::from(node_size));
        nodes = nodes.saturating_add(level);
    }
    // A single feature still has a root above it.
    if features == 1 {
        nodes += 1;
    }
    nodes.saturating_mul(NODE_BYTES)
}

fn crs(header: &Header<'_>) -> Crs {
    let Some(crs) = header.crs() else { return Crs::Unsaid };
    let epsg = crs.org().is_none_or(|org| org.eq_ignore_ascii_case("epsg"));
    match (u32::try_from(crs.code()), crs.wkt()) {
        (Ok(code), _) if code > 0 && epsg => from_epsg(code),
        (_, Some(text)) => from_projection_text(text),
        _ => crs.name().map_or(Crs::Unsaid, |name| Crs::Other(name.chars().take(60).collect())),
    }
}

fn shape(feature: &Feature<'_>, header: GeometryType) -> Shape {
    let Some(part) = feature.geometry() else { return Shape::Missing };
    let kind = if header == GeometryType::Unknown { part.type_() } else { header };
    let mut builder = Builder::default();
    match geometry(&part, kind, &mut builder, 0) {
        Ok(Some(geometry)) => Shape::Is(builder.done(geometry)),
        Ok(None) => Shape::Missing,
        Err(why) => Shape::Broken(why),
    }
}

fn geometry(part: &Part<'_>, kind: GeometryType, builder: &mut Builder, depth: usize) -> Result<Option<Geometry<f64>>, String> {
    if depth > DEPTH_MAX {
        return Err(format!("geometry collections nested deeper than {DEPTH_MAX}"));
    }
    let many = matches!(kind, GeometryType::MultiPolygon | GeometryType::GeometryCollection);
    if !many && part.xy().is_none_or(|xy| xy.is_empty()) {
        return Ok(None);
    }
    Ok(Some(match kind {
        GeometryType::Point => Geometry::Point(builder.point(coords(part).first().copied().ok_or("an empty point")?)?),
        GeometryType::MultiPoint => Geometry::MultiPoint(builder.points(coords(part))?),
        GeometryType::LineString => Geometry::LineString(builder.line(coords(part))?),
        GeometryType::MultiLineString => Geometry::MultiLineString(builder.lines(runs(part)?)?),
        GeometryType::Polygon => Geometry::Polygon(builder.polygon(runs(part)?)?),
        GeometryType::MultiPolygon => {
            let parts = part.parts().into_iter().flatten().map(|p| runs(&p)).collect::<Result<Vec<_>, _>>()?;
            if parts.is_empty() {
                return Ok(None);
            }
            Geometry::MultiPolygon(builder.polygons(parts)?)
        }
        GeometryType::GeometryCollection => {
            let mut all = Vec::new();
            for part in part.parts().into_iter().flatten() {
                all.extend(geometry(&part, part.type_(), builder, depth + 1)?);
            }
            if all.is_empty() {
                return Ok(None);
            }
            collection(all)
        }
        other => return Err(format!("curved or unknown geometry ({other:?})")),
    }))
}

fn coords(part: &Part<'_>) -> Vec<Coord<f64>> {
    let flat: Vec<f64> = part.xy().into_iter().flatten().collect();
    flat.chunks_exact(2).map(|pair| Coord { x: pair[0], y: pair[1] }).collect()
}

/// The coordinates cut at the ends given; all in one where none are.
fn runs(part: &Part<'_>) -> Result<Rings, String> {
    let all = coords(part);
    let ends: Vec<usize> = part.ends().into_iter().flatten().map(|e| e as usize).collect();
    if ends.is_empty() {
        return Ok(vec![all]);
    }
    let mut from = 0;
    let mut rings = Vec::new();
    for end in ends {
        let run = all.get(from..end).ok_or("rings that end beyond their coordinates")?;
        rings.push(run.to_vec());
        from = end;
    }
    Ok(rings)
}

/// Values of a feature: a column number and its value, again and again. `None` where the bytes do not fit.
fn values(mut rest: &[u8], types: &[ColumnType], cells: &mut [Cell]) -> Option<()> {
    fn take<const N: usize>(rest: &mut &[u8]) -> Option<[u8; N]> {
        let (head, after) = rest.split_first_chunk::<N>()?;
        *rest = after;
        Some(*head)
    }
    while rest.len() > 1 {
        let at = usize::from(u16::from_le_bytes(take(&mut rest)?));
        let cell = match *types.get(at)? {
            ColumnType::Byte => Cell::Number(f64::from(i8::from_le_bytes(take(&mut rest)?))),
            ColumnType::UByte => Cell::Number(f64::from(u8::from_le_bytes(take(&mut rest)?))),
            ColumnType::Bool => Cell::Flag(take::<1>(&mut rest)? != [0]),
            ColumnType::Short => Cell::Number(f64::from(i16::from_le_bytes(take(&mut rest)?))),
            ColumnType::UShort => Cell::Number(f64::from(u16::from_le_bytes(take(&mut rest)?))),
            ColumnType::Int => Cell::Number(f64::from(i32::from_le_bytes(take(&mut rest)?))),
            ColumnType::UInt => Cell::Number(f64::from(u32::from_le_bytes(take(&mut rest)?))),
            ColumnType::Long => Cell::Number(i64::from_le_bytes(take(&mut rest)?) as f64),
            ColumnType::ULong => Cell::Number(u64::from_le_bytes(take(&mut rest)?) as f64),
            ColumnType::Float => Cell::Number(f64::from(f32::from_le_bytes(take(&mut rest)?))),
            ColumnType::Double => Cell::Number(f64::from_le_bytes(take(&mut rest)?)),
            kind => {
                let length = u32::from_le_bytes(take(&mut rest)?) as usize;
                let (value, after) = rest.split_at_checked(length)?;
                rest = after;
                match kind {
                    ColumnType::Binary => Cell::Unusable(format!("{length} bytes of binary")),
                    ColumnType::Json => match serde_json::from_slice(value) {
                        Ok(json) => Cell::Nested(json),
                        Err(_) => Cell::text(std::str::from_utf8(value).ok()?),
                    },
                    _ => Cell::text(std::str::from_utf8(value).ok()?),
                }
            }
        };
        *cells.get_mut(at)? = cell;
    }
    Some(())
}
