//! A GeoPackage in memory: the tables every one must have, and tables of features or of attributes.
//!
//! Source: OGC 12-128r18, clauses 1.1 and 2.1; stamped as GeoPackage 1.3, of which it uses nothing newer, so that older readers
//! open it without a warning. No spatial index is written: the copy is small.

use chrono::NaiveDate;
use geo::BoundingRect;
use geo_types::Geometry;
use geozero::{CoordDimensions, ToWkb};
use rusqlite::types::Value;
use rusqlite::{Connection, params, params_from_iter};

const NATIONAL_GRID: &str = r#"PROJCS["OSGB36 / British National Grid",GEOGCS["OSGB36",DATUM["Ordnance_Survey_of_Great_Britain_1936",SPHEROID["Airy 1830",6377563.396,299.3249646,AUTHORITY["EPSG","7001"]],AUTHORITY["EPSG","6277"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4277"]],PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",49],PARAMETER["central_meridian",-2],PARAMETER["scale_factor",0.9996012717],PARAMETER["false_easting",400000],PARAMETER["false_northing",-100000],UNIT["metre",1,AUTHORITY["EPSG","9001"]],AXIS["Easting",EAST],AXIS["Northing",NORTH],AUTHORITY["EPSG","27700"]]"#;

const WGS84: &str = r#"GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4326"]]"#;

const BASE: &str = "
PRAGMA application_id = 1196444487;
PRAGMA user_version = 10300;
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE, description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name), CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
";

/// A store being filled.
pub struct Store {
    conn: Connection,
    epsg: u32,
    stamp: String,
}

/// A table: its name, title, meaning, and its columns as name and SQL type.
pub struct Table {
    /// Name in the file.
    pub name: &'static str,
    /// Title.
    pub title: &'static str,
    /// What it holds.
    pub meaning: String,
    /// Columns besides the number and the shape.
    pub columns: Vec<(String, &'static str)>,
}

/// A row of a feature table: its shape and its values.
pub type Feature = (Geometry<f64>, Vec<Value>);

impl Store {
    /// An empty GeoPackage of one coordinate system, stamped with a day.
    pub fn new(epsg: u32, day: NaiveDate) -> rusqlite::Result<Self> {
        let conn = Connection::open_in_memory()?;
        conn.execute_batch(BASE)?;
        let mut enter = conn.prepare("INSERT INTO gpkg_spatial_ref_sys VALUES (?1, ?2, ?3, ?2, ?4, ?5)")?;
        enter.execute(params!["Undefined Cartesian", -1, "NONE", "undefined", "undefined Cartesian coordinate reference system"])?;
        enter.execute(params!["Undefined geographic", 0, "NONE", "undefined", "undefined geographic coordinate reference system"])?;
        enter.execute(params!["WGS 84", 4326, "EPSG", WGS84, "longitude and latitude in degrees"])?;
        let (name, definition) = match epsg {
            27700 => ("OSGB36 / British National Grid".to_owned(), NATIONAL_GRID.to_owned()),
            other => (format!("EPSG:{other}"), format!(r#"LOCAL_CS["EPSG:{other}",UNIT["metre",1],AUTHORITY["EPSG","{other}"]]"#)),
        };
        enter.execute(params![name, epsg, "EPSG", definition, "eastings and northings in metres"])?;
        drop(enter);
        Ok(Self { conn, epsg, stamp: format!("{day}T00:00:00.000Z") })
    }

    /// A table without shapes.
    pub fn attributes(&self, table: &Table, rows: &[Vec<Value>]) -> rusqlite::Result<()> {
        self.create(table, None)?;
        let mut insert = self.conn.prepare(&insert_sql(table, false))?;
        for row in rows {
            insert.execute(params_from_iter(row))?;
        }
        Ok(())
    }

    /// A table of features of one geometry type (`POINT`, `MULTIPOLYGON`, ..., `GEOMETRY` for several). A shape without a place is left empty.
    pub fn features(&self, table: &Table, geometry: &str, rows: &[Feature]) -> Result<(), String> {
        let sql = |e: rusqlite::Error| e.to_string();
        self.create(table, Some(geometry)).map_err(sql)?;
        let mut insert = self.conn.prepare(&insert_sql(table, true)).map_err(sql)?;
        let mut all: Option<[f64; 4]> = None;
        for (shape, values) in rows {
            let bounds = shape.bounding_rect().map(|r| [r.min().x, r.min().y, r.max().x, r.max().y]);
            if let Some(b) = bounds {
                all = Some(all.map_or(b, |a| [a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])]));
            }
            let envelope = bounds.filter(|_| geometry != "POINT").map(|b| vec![b[0], b[2], b[1], b[3]]).unwrap_or_default();
            let blob = match bounds {
                Some(_) => Value::Blob(shape.to_gpkg_wkb(CoordDimensions::xy(), Some(self.epsg as i32), envelope).map_err(|e| e.to_string())?),
                None => Value::Null,
            };
            let cells = std::iter::once(blob).chain(values.iter().cloned());
            insert.execute(params_from_iter(cells)).map_err(sql)?;
        }
        let [w, s, e, n] = all.map_or([None; 4], |b| b.map(Some));
        let extent = "UPDATE gpkg_contents SET min_x = ?2, min_y = ?3, max_x = ?4, max_y = ?5 WHERE table_name = ?1";
        self.conn.execute(extent, params![table.name, w, s, e, n]).map_err(sql)?;
        Ok(())
    }

    fn create(&self, table: &Table, geometry: Option<&str>) -> rusqlite::Result<()> {
        let mut columns = vec!["fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL".to_owned()];
        columns.extend(geometry.map(|kind| format!("geom {kind}")));
        columns.extend(table.columns.iter().map(|(name, kind)| format!("\"{name}\" {kind}")));
        self.conn.execute_batch(&format!("CREATE TABLE \"{}\" ({})", table.name, columns.join(", ")))?;
        let kind = if geometry.is_some() { "features" } else { "attributes" };
        self.conn.execute(
            "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change, srs_id) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            params![table.name, kind, table.title, table.meaning, self.stamp, geometry.map(|_| self.epsg)],
        )?;
        if let Some(geometry) = geometry {
            self.conn.execute("INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', ?2, ?3, 0, 0)", params![table.name, geometry, self.epsg])?;
        }
        Ok(())
    }

    /// The bytes of the file.
    pub fn bytes(mut self) -> rusqlite::Result<Vec<u8>> {
        Ok(self.conn.serialize("main")?.to_vec())
    }
}

fn insert_sql(table: &Table, shape: bool) -> String {
    let names: Vec<String> = shape.then(|| "geom".to_owned()).into_iter().chain(table.columns.iter().map(|(n, _)| format!("\"{n}\""))).collect();
    let marks: Vec<String> = (1..=names.len()).map(|i| format!("?{i}")).collect();
    format!("INSERT INTO \"{}\" ({}) VALUES ({})", table.name, names.join(", "), marks.join(", "))
}
