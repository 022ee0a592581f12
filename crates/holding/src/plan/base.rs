//! The tables every GeoPackage has, and the plan's own besides the kinds.
//!
//! Source: OGC 12-128r18 (GeoPackage 1.4), annex C, and annex F.3 for the R-tree.

use super::clock;
use super::describe;
use super::history;
use super::column::Table;
use super::kind;
use super::srs;
use rusqlite::{Connection, params};

/// "GPKG", the mark of a GeoPackage in the file's head.
pub(crate) const APPLICATION_ID: i64 = 0x4750_4B47;
/// GeoPackage 1.3.0: what the file declares. The triggers are those of 1.4, which 1.4 asks older files to take
/// on; nothing else the plan uses differs, and programs that only know 1.3 then open the file without a warning.
pub(crate) const USER_VERSION: i64 = 10300;

const BASE: &str = "
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL,
  srs_id INTEGER PRIMARY KEY,
  organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL,
  definition TEXT NOT NULL,
  description TEXT
);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY,
  data_type TEXT NOT NULL,
  identifier TEXT UNIQUE,
  description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE,
  min_y DOUBLE,
  max_x DOUBLE,
  max_y DOUBLE,
  srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id)
);
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL,
  column_name TEXT NOT NULL,
  geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL,
  m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id)
);
CREATE TABLE gpkg_extensions (
  table_name TEXT,
  column_name TEXT,
  extension_name TEXT NOT NULL,
  definition TEXT NOT NULL,
  scope TEXT NOT NULL,
  CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name)
);
CREATE TABLE gpkg_tile_matrix_set (
  table_name TEXT NOT NULL PRIMARY KEY,
  srs_id INTEGER NOT NULL,
  min_x DOUBLE NOT NULL,
  min_y DOUBLE NOT NULL,
  max_x DOUBLE NOT NULL,
  max_y DOUBLE NOT NULL,
  CONSTRAINT fk_gtms_table_name FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gtms_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id)
);
CREATE TABLE gpkg_tile_matrix (
  table_name TEXT NOT NULL,
  zoom_level INTEGER NOT NULL,
  matrix_width INTEGER NOT NULL,
  matrix_height INTEGER NOT NULL,
  tile_width INTEGER NOT NULL,
  tile_height INTEGER NOT NULL,
  pixel_x_size DOUBLE NOT NULL,
  pixel_y_size DOUBLE NOT NULL,
  CONSTRAINT pk_ttm PRIMARY KEY (table_name, zoom_level),
  CONSTRAINT fk_tmm_table_name FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name)
);
CREATE TABLE about (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  key TEXT NOT NULL UNIQUE,
  value TEXT
);
CREATE TABLE greyhen_schema (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  version INTEGER NOT NULL CHECK (version >= 1),
  guidance_edition TEXT,
  program TEXT,
  since DATETIME NOT NULL
);
CREATE TABLE greyhen_writer (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  person TEXT NOT NULL,
  machine TEXT NOT NULL,
  process INTEGER NOT NULL,
  since DATETIME NOT NULL
);
";

/// Tables without geometry that are not kinds: name, title, meaning.
const OWN: [(&str, &str, &str); 3] = [
    ("about", "About the plan", "Facts about the plan itself, by key."),
    ("greyhen_schema", "Schema history", "The plan schema, one row a version this file has had; the last row holds now."),
    ("greyhen_writer", "Writer", "Who has the plan open for writing; empty when nobody has, stale after a crash."),
];

/// Lay out an empty plan. `user_version` and `application_id` are set here; the caller commits.
pub(crate) fn lay_out(conn: &Connection, epsg: u32) -> rusqlite::Result<()> {
    conn.pragma_update(None, "application_id", APPLICATION_ID)?;
    conn.pragma_update(None, "user_version", USER_VERSION)?;
    conn.execute_batch(BASE)?;
    srs::enter_all(conn, epsg)?;
    for (name, title, meaning) in OWN {
        register(conn, name, title, meaning, None)?;
    }
    for table in kind::TABLES {
        add_table(conn, table, epsg)?;
    }
    history::add(conn)?;
    describe::add(conn)?;
    add_lookups(conn)
}

/// Index the columns by which rows name rows of other tables.
pub(crate) fn add_lookups(conn: &Connection) -> rusqlite::Result<()> {
    for (table, column) in [("wood_stems", "wood_id"), ("visits", "lek_id"), ("stock", "parcel_id"), ("measures", "option_number")] {
        conn.execute_batch(&format!("CREATE INDEX IF NOT EXISTS \"{table}_{column}\" ON \"{table}\" (\"{column}\")"))?;
    }
    Ok(())
}

/// Make one table of a kind, with its index, and register it.
pub(crate) fn add_table(conn: &Connection, table: &Table, epsg: u32) -> rusqlite::Result<()> {
    conn.execute_batch(&table.create_sql())?;
    register(conn, table.name, table.title, table.meaning, table.shape().map(|_| epsg))?;
    if let Some(shape) = table.shape() {
        conn.execute(
            "INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', ?2, ?3, 0, 0)",
            params![table.name, shape.type_name(), epsg],
        )?;
        super::rtree::add(conn, table.name)?;
    }
    Ok(())
}

/// Register a table: features where it has a coordinate system, else attributes.
pub(crate) fn register(conn: &Connection, name: &str, title: &str, meaning: &str, epsg: Option<u32>) -> rusqlite::Result<()> {
    let data_type = if epsg.is_some() { "features" } else { "attributes" };
    conn.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change, srs_id) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        params![name, data_type, title, meaning, clock::now(), epsg],
    )?;
    Ok(())
}

/// Stamp a table as changed, and bring its extent up to date.
pub(crate) fn stamp(conn: &Connection, name: &str, has_geometry: bool) -> rusqlite::Result<()> {
    if has_geometry {
        conn.execute(
            &format!(
                "UPDATE gpkg_contents SET last_change = ?2, (min_x, min_y, max_x, max_y) =
                 (SELECT MIN(ST_MinX(geom)), MIN(ST_MinY(geom)), MAX(ST_MaxX(geom)), MAX(ST_MaxY(geom)) FROM \"{name}\")
                 WHERE table_name = ?1"
            ),
            params![name, clock::now()],
        )?;
    } else {
        conn.execute("UPDATE gpkg_contents SET last_change = ?2 WHERE table_name = ?1", params![name, clock::now()])?;
    }
    Ok(())
}
