//! GeoPackage (OGC 12-128r18): one feature or attribute table, read from memory and never written.

use super::{column_names, pick, within_limits};
use crate::import::crs::{from_epsg, from_projection_text};
use crate::import::kind::Kind;
use crate::import::fault::{Faults, ImportFault};
use crate::import::geometry::wkb::gpkg_shape;
use crate::import::limit::ROWS_MAX;
use crate::import::note::Notes;
use crate::import::source::Source;
use crate::import::table::{Cell, Crs, Row, Shape, Table};
use rusqlite::types::ValueRef;
use rusqlite::{Connection, MAIN_DB, OptionalExtension};

/// Steps of the database engine after which a read is given up: a view may loop for ever.
const STEPS_MAX: u64 = 2_000_000_000;
const STEPS_BETWEEN: i32 = 1_000_000;

/// Read one layer.
pub(in crate::import) fn read(source: &Source, bytes: Vec<u8>, asked: Option<&str>, kind: Kind) -> Result<Table, Faults> {
    let db = open(source, bytes)?;
    let names = layers_of(&db)?;
    let name = pick(&names, asked, kind, "layer")?.to_owned();
    let column = geometry_column(&db, &name).map_err(damaged)?;
    let crs = match &column {
        Some((_, srs)) => crs(&db, *srs).map_err(damaged)?,
        None => Crs::Unsaid,
    };
    rows(&db, &name, column.map(|(name, _)| name), crs).map_err(|e| Faults::from(e.unwrap_or_else(damaged)))
}

/// Its layers.
pub(in crate::import) fn names(source: &Source, bytes: Vec<u8>) -> Result<Vec<String>, ImportFault> {
    layers_of(&open(source, bytes)?)
}

fn damaged(e: rusqlite::Error) -> ImportFault {
    ImportFault::new("a whole GeoPackage", e.to_string()).hint("the file may be cut short or damaged: copy it again")
}

fn layers_of(db: &Connection) -> Result<Vec<String>, ImportFault> {
    let layers = layers(db).map_err(|e| match e {
        rusqlite::Error::SqliteFailure(_, Some(ref why)) if why.contains("no such table") => {
            ImportFault::new("a GeoPackage", "a database without a list of contents")
        }
        other => damaged(other),
    })?;
    Ok(layers.into_iter().map(|(name, _)| name).collect())
}

enum Stop {
    Fault(ImportFault),
    Engine(rusqlite::Error),
}

impl Stop {
    fn unwrap_or_else(self, damaged: impl Fn(rusqlite::Error) -> ImportFault) -> ImportFault {
        match self {
            Stop::Fault(fault) => fault,
            Stop::Engine(error) => damaged(error),
        }
    }
}

impl From<rusqlite::Error> for Stop {
    fn from(error: rusqlite::Error) -> Self {
        Stop::Engine(error)
    }
}

fn open(source: &Source, mut bytes: Vec<u8>) -> Result<Connection, ImportFault> {
    if !bytes.starts_with(b"SQLite format 3\0") || bytes.len() < 512 {
        return Err(ImportFault::new("a GeoPackage", "a file that is no database").hint("copy or save it again"));
    }
    if source.has_tail("-wal") {
        return Err(ImportFault::new("a GeoPackage that is closed", "changes still beside it in a `-wal` file")
            .hint("close the program that has it open, then import again"));
    }
    // A file kept in write-ahead mode is otherwise whole once no changes stand beside it; in memory it must be plain.
    bytes[18] = 1;
    bytes[19] = 1;
    let refused = |e: rusqlite::Error| ImportFault::new("a GeoPackage", e.to_string());
    let mut db = Connection::open_in_memory().map_err(refused)?;
    let length = bytes.len();
    db.deserialize_read_exact(MAIN_DB, bytes.as_slice(), length, true).map_err(refused)?;
    let mut steps = 0;
    db.progress_handler(
        STEPS_BETWEEN,
        Some(move || {
            steps += STEPS_BETWEEN as u64;
            steps > STEPS_MAX
        }),
    )
    .map_err(refused)?;
    db.execute_batch("PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON; PRAGMA query_only = ON;").map_err(refused)?;
    Ok(db)
}

/// Names and kinds of the tables that hold features or attributes.
fn layers(db: &Connection) -> rusqlite::Result<Vec<(String, String)>> {
    let mut query = db.prepare(
        "SELECT c.table_name, c.data_type FROM gpkg_contents c \
         WHERE c.data_type IN ('features', 'attributes') AND c.table_name IN (SELECT name FROM sqlite_master) ORDER BY c.table_name",
    )?;
    query.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.take(10_000).collect()
}

fn geometry_column(db: &Connection, layer: &str) -> rusqlite::Result<Option<(String, i64)>> {
    let found = db
        .query_row("SELECT column_name, srs_id FROM gpkg_geometry_columns WHERE table_name = ?1", [layer], |row| {
            Ok((row.get(0)?, row.get(1)?))
        })
        .optional();
    match found {
        // A package of attributes alone may lack the table.
        Err(rusqlite::Error::SqliteFailure(_, Some(why))) if why.contains("no such table") => Ok(None),
        other => other,
    }
}

fn crs(db: &Connection, srs: i64) -> rusqlite::Result<Crs> {
    let found: Option<(String, i64, String)> = db
        .query_row(
            "SELECT organization, organization_coordsys_id, definition FROM gpkg_spatial_ref_sys WHERE srs_id = ?1",
            [srs],
            |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)),
        )
        .optional()?;
    Ok(match found {
        Some((by, code, _)) if by.eq_ignore_ascii_case("epsg") => from_epsg(u32::try_from(code).unwrap_or(0)),
        Some((_, -1 | 0, _)) => Crs::Unsaid,
        Some((_, _, definition)) => from_projection_text(&definition),
        None if srs == -1 || srs == 0 => Crs::Unsaid,
        None => Crs::Other(format!("reference system {srs}, which the file does not describe")),
    })
}

fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

/// Names of a layer's columns, and which of them is its row number. The names are read as values: a damaged name
/// must be an error, and the engine's own list of names takes it for certain that they are text.
fn columns(db: &Connection, layer: &str) -> Result<(Vec<String>, Option<usize>), rusqlite::Error> {
    let mut query = db.prepare("SELECT name, pk = 1 AND upper(type) = 'INTEGER' FROM pragma_table_xinfo(?1) WHERE hidden <> 1 ORDER BY cid")?;
    let found: Vec<(String, bool)> = query.query_map([layer], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
    let row_number = found.iter().position(|(_, key)| *key);
    Ok((found.into_iter().map(|(name, _)| name).collect(), row_number))
}

fn rows(db: &Connection, layer: &str, geometry: Option<String>, crs: Crs) -> Result<Table, Stop> {
    let (names, row_number) = columns(db, layer)?;
    if names.is_empty() {
        return Err(Stop::Fault(ImportFault::new("a layer with columns", "none")));
    }
    let listed: Vec<String> = names.iter().map(|name| quoted(name)).collect();
    let mut query = db.prepare(&format!("SELECT {} FROM {}", listed.join(", "), quoted(layer)))?;
    let shape_at = geometry.as_ref().and_then(|g| names.iter().position(|n| n.eq_ignore_ascii_case(g)));
    if geometry.is_some() && shape_at.is_none() {
        return Err(Stop::Fault(ImportFault::new(format!("the geometry column `{}`", geometry.unwrap_or_default()), "none of that name")));
    }
    // The row number that every layer must have (clause 2.1.6) is the file's own bookkeeping, not a field.
    let bookkeeping = |at: usize| Some(at) == row_number && ["fid", "ogc_fid", "rowid"].contains(&names[at].to_lowercase().as_str());
    let kept: Vec<usize> = (0..names.len()).filter(|at| Some(*at) != shape_at && !bookkeeping(*at)).collect();
    let mut all = Vec::new();
    let mut found = query.query([])?;
    while let Some(row) = found.next()? {
        let number = match row_number.map(|at| row.get_ref(at)).transpose()? {
            Some(ValueRef::Integer(n)) => n.to_string(),
            _ => (all.len() + 1).to_string(),
        };
        let shape = match shape_at.map(|at| row.get_ref(at)).transpose()? {
            None => Shape::None,
            Some(ValueRef::Null) => Shape::Missing,
            Some(ValueRef::Blob(blob)) => gpkg_shape(blob),
            Some(_) => Shape::Broken("a value that is no geometry".to_owned()),
        };
        let cells = kept.iter().map(|at| row.get_ref(*at).map(cell)).collect::<Result<_, _>>()?;
        all.push(Row { place: format!("row {number}"), cells, shape });
        if all.len() > ROWS_MAX {
            break;
        }
    }
    within_limits(all.len(), kept.len()).map_err(Stop::Fault)?;
    let columns = column_names(kept.iter().map(|at| names[*at].clone()));
    Ok(Table { layer: Some(layer.to_owned()), columns, rows: all, crs, notes: Notes::default() })
}

fn cell(value: ValueRef<'_>) -> Cell {
    match value {
        ValueRef::Null => Cell::Empty,
        ValueRef::Integer(number) => Cell::Number(number as f64),
        ValueRef::Real(number) => Cell::Number(number),
        ValueRef::Text(text) => Cell::text(&String::from_utf8_lossy(text)),
        ValueRef::Blob(blob) => Cell::Unusable(format!("{} bytes of binary", blob.len())),
    }
}
