//! The height model inside the plan: a tiled gridded coverage named `heights`.
//!
//! Tiles of 256 by 256 cells, one zoom level. The tile matrix set spans whole tiles; the extent of the heights
//! themselves is the entry in `gpkg_contents`, and cells of the edge tiles beyond it hold the missing value.
//! Coarser zoom levels added by other programs are read past; they go when the heights are replaced.
//!
//! Source: OGC 12-128r18, clause 2.2; OGC 17-066r1.

use super::clock;
use super::fault::{PlanError, PlanFault, RESTORE};
use super::tile::{self, SIDE};
use ground::{Frame, Grid};
use rusqlite::{Connection, OptionalExtension, params};

/// Numbers that may stand for a missing height; the first that is not itself a height is used.
const MISSING: [f32; 3] = [-9999.0, -99999.0, f32::MIN];

/// Tiles a coverage may lack for each tile it has, before its size is not believed.
const SPARSE_MAX: usize = 16;

const LAYOUT: &str = "
CREATE TABLE IF NOT EXISTS gpkg_2d_gridded_coverage_ancillary (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  tile_matrix_set_name TEXT NOT NULL UNIQUE,
  datatype TEXT NOT NULL DEFAULT 'integer',
  scale REAL NOT NULL DEFAULT 1.0,
  offset REAL NOT NULL DEFAULT 0.0,
  precision REAL DEFAULT 1.0,
  data_null REAL,
  grid_cell_encoding TEXT DEFAULT 'grid-value-is-center',
  uom TEXT,
  field_name TEXT DEFAULT 'Height',
  quantity_definition TEXT DEFAULT 'Height',
  CONSTRAINT fk_g2dgtct_name FOREIGN KEY (tile_matrix_set_name) REFERENCES gpkg_tile_matrix_set (table_name),
  CHECK (datatype IN ('integer','float'))
);
CREATE TABLE IF NOT EXISTS gpkg_2d_gridded_tile_ancillary (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  tpudt_name TEXT NOT NULL,
  tpudt_id INTEGER NOT NULL,
  scale REAL NOT NULL DEFAULT 1.0,
  offset REAL NOT NULL DEFAULT 0.0,
  min REAL DEFAULT NULL,
  max REAL DEFAULT NULL,
  mean REAL DEFAULT NULL,
  std_dev REAL DEFAULT NULL,
  CONSTRAINT fk_g2dgtat_name FOREIGN KEY (tpudt_name) REFERENCES gpkg_contents(table_name),
  UNIQUE (tpudt_name, tpudt_id)
);
CREATE TABLE heights (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  zoom_level INTEGER NOT NULL,
  tile_column INTEGER NOT NULL,
  tile_row INTEGER NOT NULL,
  tile_data BLOB NOT NULL,
  UNIQUE (zoom_level, tile_column, tile_row)
);
";

const EXTENSION: &str = "http://docs.opengeospatial.org/is/17-066r1/17-066r1.html";

/// True where the plan holds heights.
fn there(conn: &Connection) -> rusqlite::Result<bool> {
    let sql = "SELECT 1 FROM gpkg_contents WHERE table_name = 'heights' AND data_type = '2d-gridded-coverage'";
    Ok(conn.query_row(sql, [], |_| Ok(())).optional()?.is_some())
}

/// Take the heights out.
pub(crate) fn clear(conn: &Connection) -> rusqlite::Result<()> {
    let exists = |name: &str| -> rusqlite::Result<bool> {
        let sql = "SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = ?1";
        Ok(conn.query_row(sql, params![name], |_| Ok(())).optional()?.is_some())
    };
    if exists("gpkg_2d_gridded_tile_ancillary")? {
        conn.execute("DELETE FROM gpkg_2d_gridded_tile_ancillary WHERE tpudt_name = 'heights'", [])?;
    }
    if exists("gpkg_2d_gridded_coverage_ancillary")? {
        conn.execute("DELETE FROM gpkg_2d_gridded_coverage_ancillary WHERE tile_matrix_set_name = 'heights'", [])?;
    }
    conn.execute_batch(
        "DELETE FROM gpkg_tile_matrix WHERE table_name = 'heights';
         DELETE FROM gpkg_tile_matrix_set WHERE table_name = 'heights';
         DELETE FROM gpkg_extensions WHERE table_name = 'heights';
         DELETE FROM gpkg_contents WHERE table_name = 'heights';
         DROP TABLE IF EXISTS heights;",
    )
}

/// Heights that cannot be kept.
pub(crate) fn refuses(grid: &Grid<f32>) -> Option<PlanFault> {
    let f = &grid.frame;
    let edges = [f.west_m, f.north_m, f.east_m(), f.south_m()];
    let bad = |found: String, hint: &str| Some(PlanFault::table("heights", "a grid of heights in metres", found, hint));
    if f.is_empty() || grid.cells.len() != f.len() {
        return bad(format!("{} cells for {} columns and {} rows", grid.cells.len(), f.cols, f.rows), "");
    }
    if !(f.dx_m > 0.0 && f.dy_m > 0.0 && edges.iter().all(|v| v.is_finite())) {
        return bad(format!("cells of {} by {} m from {}, {}", f.dx_m, f.dy_m, f.west_m, f.north_m), "");
    }
    let endless = grid.cells.iter().position(|v| v.is_infinite())?;
    let (col, row) = (endless % f.cols, endless / f.cols);
    bad(format!("an endless height in column {col}, row {row}"), "mark missing heights as missing")
}

/// Put heights in, in place of any that are there.
pub(crate) fn write(conn: &Connection, grid: &Grid<f32>, epsg: u32) -> Result<(), PlanError> {
    let doing = "writing the heights";
    lay_out(conn, grid, epsg).map_err(PlanError::engine(doing))?;
    let missing = missing_for(grid);
    let sql = "INSERT INTO gpkg_2d_gridded_coverage_ancillary (tile_matrix_set_name, datatype, scale, offset, precision, data_null, grid_cell_encoding, uom, field_name, quantity_definition) VALUES ('heights', 'float', 1.0, 0.0, 0.01, ?1, 'grid-value-is-center', 'm', 'Height', 'Height of the ground above the datum of its source')";
    conn.execute(sql, params![f64::from(missing)]).map_err(PlanError::engine(doing))?;
    let (across, down) = tiles(&grid.frame);
    for (row, col) in (0..down).flat_map(|row| (0..across).map(move |col| (row, col))) {
        let cells = cut(grid, col, row, missing);
        let data = tile::encode(&cells).map_err(|why| {
            let source = std::io::Error::other(why.to_string());
            PlanError::System { doing: "packing a tile of the heights".into(), source }
        })?;
        insert(conn, col, row, &data, &cells, missing).map_err(PlanError::engine(doing))?;
    }
    Ok(())
}

/// The tables and entries of the coverage, without its tiles.
fn lay_out(conn: &Connection, grid: &Grid<f32>, epsg: u32) -> rusqlite::Result<()> {
    clear(conn)?;
    conn.execute_batch(LAYOUT)?;
    let f = &grid.frame;
    let (across, down) = tiles(f);
    let east = f.west_m + (across * SIDE) as f64 * f.dx_m;
    let south = f.north_m - (down * SIDE) as f64 * f.dy_m;
    conn.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change, min_x, min_y, max_x, max_y, srs_id) VALUES ('heights', '2d-gridded-coverage', 'Heights', 'Height of the ground, metres', ?1, ?2, ?3, ?4, ?5, ?6)",
        params![clock::now(), f.west_m, f.south_m(), f.east_m(), f.north_m, epsg],
    )?;
    conn.execute(
        "INSERT INTO gpkg_tile_matrix_set VALUES ('heights', ?1, ?2, ?3, ?4, ?5)",
        params![epsg, f.west_m, south, east, f.north_m],
    )?;
    conn.execute(
        "INSERT INTO gpkg_tile_matrix VALUES ('heights', 0, ?1, ?2, ?3, ?3, ?4, ?5)",
        params![across as i64, down as i64, SIDE as i64, f.dx_m, f.dy_m],
    )?;
    for (table, column) in [
        ("gpkg_2d_gridded_coverage_ancillary", None),
        ("gpkg_2d_gridded_tile_ancillary", None),
        ("heights", Some("tile_data")),
    ] {
        conn.execute(
            "INSERT INTO gpkg_extensions SELECT ?1, ?2, 'gpkg_2d_gridded_coverage', ?3, 'read-write'
             WHERE NOT EXISTS (SELECT 1 FROM gpkg_extensions WHERE table_name = ?1 AND column_name IS ?2 AND extension_name = 'gpkg_2d_gridded_coverage')",
            params![table, column, EXTENSION],
        )?;
    }
    Ok(())
}

fn tiles(frame: &Frame) -> (usize, usize) {
    (frame.cols.div_ceil(SIDE), frame.rows.div_ceil(SIDE))
}

fn missing_for(grid: &Grid<f32>) -> f32 {
    MISSING.into_iter().find(|m| !grid.cells.contains(m)).unwrap_or(f32::MIN)
}

/// The cells of one tile, the missing value beyond the grid and where a height is missing.
fn cut(grid: &Grid<f32>, tile_col: usize, tile_row: usize, missing: f32) -> Vec<f32> {
    let f = &grid.frame;
    let mut cells = vec![missing; SIDE * SIDE];
    let (col, row) = (tile_col * SIDE, tile_row * SIDE);
    let width = SIDE.min(f.cols - col);
    for at in 0..SIDE.min(f.rows - row) {
        let from = f.at(col, row + at);
        cells[at * SIDE..at * SIDE + width].copy_from_slice(&grid.cells[from..from + width]);
    }
    cells.iter_mut().filter(|v| v.is_nan()).for_each(|v| *v = missing);
    cells
}

fn insert(conn: &Connection, col: usize, row: usize, data: &[u8], cells: &[f32], missing: f32) -> rusqlite::Result<()> {
    let mut tile = conn.prepare_cached(
        "INSERT INTO heights (zoom_level, tile_column, tile_row, tile_data) VALUES (0, ?1, ?2, ?3)",
    )?;
    tile.execute(params![col as i64, row as i64, data])?;
    let id = conn.last_insert_rowid();
    let known: Vec<f64> = cells.iter().filter(|v| **v != missing).map(|v| f64::from(*v)).collect();
    let n = known.len() as f64;
    let summary = (!known.is_empty()).then(|| {
        let (low, high) = known.iter().fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(*v), h.max(*v)));
        let mean = known.iter().sum::<f64>() / n;
        let variance = known.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n;
        (low, high, mean, variance.sqrt())
    });
    conn.prepare_cached(
        "INSERT INTO gpkg_2d_gridded_tile_ancillary (tpudt_name, tpudt_id, scale, offset, min, max, mean, std_dev) VALUES ('heights', ?1, 1.0, 0.0, ?2, ?3, ?4, ?5)",
    )?
    .execute(params![id, summary.map(|s| s.0), summary.map(|s| s.1), summary.map(|s| s.2), summary.map(|s| s.3)])?;
    Ok(())
}

/// What the file says of the coverage.
struct Claim {
    frame: Frame,
    zoom: i64,
    tile_width: usize,
    tile_height: usize,
    missing: Option<f64>,
}

/// Read the heights; `None` where there are none. Every fault found is added to `faults`.
pub(crate) fn read(conn: &Connection, faults: &mut Vec<PlanFault>) -> rusqlite::Result<Option<Grid<f32>>> {
    if !there(conn)? {
        return Ok(None);
    }
    let claim = match claim(conn)? {
        Ok(claim) => claim,
        Err(fault) => {
            faults.push(*fault);
            return Ok(None);
        }
    };
    let mut grid = Grid::filled(claim.frame, f32::NAN);
    let mut select = conn.prepare("SELECT id, tile_column, tile_row, tile_data FROM heights WHERE zoom_level = ?1")?;
    let mut rows = select.query([claim.zoom])?;
    while let Some(row) = rows.next()? {
        let id: i64 = row.get(0)?;
        let (col, line): (i64, i64) = (row.get(1)?, row.get(2)?);
        let decoded = match row.get_ref(3)?.as_blob() {
            Ok(data) => tile::decode(data, claim.tile_width, claim.tile_height),
            Err(_) => Err("a tile without data".into()),
        };
        match decoded {
            Ok(cells) => paste(&mut grid, &claim, col, line, &cells),
            Err(found) => {
                let needed = format!("a TIFF of {} by {} heights", claim.tile_width, claim.tile_height);
                let mut fault = PlanFault::table("heights", needed, found, "put the heights in again with `greyhen import`");
                (fault.row, fault.column) = (Some(id), Some("tile_data".into()));
                faults.push(fault);
            }
        }
    }
    Ok(Some(grid))
}

/// The claim of the finest zoom level, if it can be believed.
fn claim(conn: &Connection) -> rusqlite::Result<Result<Claim, Box<PlanFault>>> {
    let sql = "
        SELECT c.min_x, c.min_y, c.max_x, c.max_y, s.min_x, s.max_y, m.zoom_level, m.tile_width, m.tile_height,
               m.pixel_x_size, m.pixel_y_size, a.data_null, a.datatype,
               (SELECT COUNT(*) FROM heights h WHERE h.zoom_level = m.zoom_level)
        FROM gpkg_contents c
        JOIN gpkg_tile_matrix_set s ON s.table_name = c.table_name
        JOIN gpkg_tile_matrix m ON m.table_name = c.table_name
        JOIN gpkg_2d_gridded_coverage_ancillary a ON a.tile_matrix_set_name = c.table_name
        WHERE c.table_name = 'heights' ORDER BY m.pixel_x_size LIMIT 1";
    let found = conn
        .query_row(sql, [], |row| {
            let bounds = (row.get::<_, f64>(0)?, row.get::<_, f64>(1)?, row.get::<_, f64>(2)?, row.get::<_, f64>(3)?);
            let corner = (row.get::<_, f64>(4)?, row.get::<_, f64>(5)?);
            let tile = (row.get::<_, i64>(6)?, row.get::<_, i64>(7)?, row.get::<_, i64>(8)?);
            let cell = (row.get::<_, f64>(9)?, row.get::<_, f64>(10)?);
            let kept = (row.get::<_, Option<f64>>(11)?, row.get::<_, String>(12)?, row.get::<_, i64>(13)?);
            Ok((bounds, corner, tile, cell, kept))
        })
        .optional();
    let wrong = |needed: &str, found: String| Err(Box::new(PlanFault::table("heights", needed, found, RESTORE)));
    let ((west, south, east, north), corner, (zoom, wide, high), (dx, dy), (missing, datatype, count)) = match found {
        Ok(Some(found)) => found,
        Ok(None) => return Ok(wrong("a tile matrix and a gridded coverage entry", "none".into())),
        Err(rusqlite::Error::InvalidColumnType(..)) => {
            return Ok(wrong("numbers in the tile matrix entries", "something else".into()));
        }
        Err(other) => return Err(other),
    };
    if datatype != "float" {
        return Ok(wrong("heights stored as `float`", format!("`{datatype}`")));
    }
    let sizes_hold = (1..=4096).contains(&wide) && (1..=4096).contains(&high) && dx > 0.0 && dy > 0.0;
    let near = |a: f64, b: f64, cell: f64| (a - b).abs() < cell / 1000.0;
    if !sizes_hold || !near(corner.0, west, dx) || !near(corner.1, north, dy) {
        return Ok(wrong("tiles that start at the heights' north-west corner", format!("tiles of {wide} by {high} cells of {dx} by {dy} m from {}, {}", corner.0, corner.1)));
    }
    let (cols, rows) = (((east - west) / dx).round(), ((north - south) / dy).round());
    let believable = count.max(1) as f64 * SPARSE_MAX as f64 * (wide * high) as f64;
    if !(cols >= 1.0 && rows >= 1.0 && cols * rows <= believable) {
        return Ok(wrong("an extent that the tiles fill", format!("{cols} columns and {rows} rows in {count} tiles")));
    }
    let frame = Frame { west_m: west, north_m: north, dx_m: dx, dy_m: dy, cols: cols as usize, rows: rows as usize };
    Ok(Ok(Claim { frame, zoom, tile_width: wide as usize, tile_height: high as usize, missing }))
}

/// Lay a tile's cells into the grid; what lies beyond it is passed over.
fn paste(grid: &mut Grid<f32>, claim: &Claim, tile_col: i64, tile_row: i64, cells: &[f32]) {
    let f = claim.frame;
    let start = |at: i64, side: usize| usize::try_from(at).ok().and_then(|at| at.checked_mul(side));
    let (Some(col), Some(row)) = (start(tile_col, claim.tile_width), start(tile_row, claim.tile_height)) else { return };
    if col >= f.cols || row >= f.rows {
        return;
    }
    let width = claim.tile_width.min(f.cols - col);
    for at in 0..claim.tile_height.min(f.rows - row) {
        let from = at * claim.tile_width;
        let to = f.at(col, row + at);
        for (cell, value) in grid.cells[to..to + width].iter_mut().zip(&cells[from..from + width]) {
            let missing = claim.missing.is_some_and(|m| m as f32 == *value) || !value.is_finite();
            *cell = if missing { f32::NAN } else { *value };
        }
    }
}
