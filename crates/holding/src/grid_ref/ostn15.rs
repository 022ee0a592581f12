//! ETRS89 longitude and latitude to the national grid (OSGB36) and back, by Ordnance Survey's OSTN15.
//!
//! Method (OS, *Transformations and OSGM15 user guide*): project on GRS80 with the national grid's projection, then
//! add the east and north shifts, interpolated bilinearly from the four kilometre corners around the point. The way
//! back repeats: the shift at the guessed ETRS89 point is taken off until it stands still to 0.1 mm.
//!
//! Accuracy: OSTN15 *is* the definition of OSGB36, so there is no error but rounding; all 40 published test points
//! are held to 1 mm. Data: `data/ostn15.zip`, made by `data/make_ostn15.py`; (c) Ordnance Survey and Ministry of
//! Defence 2016, BSD 2-clause (`data/OSTN15_LICENCE.txt`).

use super::transverse_mercator::{GRS80, project, unproject};
use std::io::{Cursor, Read};
use std::sync::OnceLock;

const COLS: usize = 701;
const ROWS: usize = 1251;
const STEP_M: f64 = 1000.0;
/// Steps of the way back; Ordnance Survey's own test file needs three or four.
const TURNS_MAX: usize = 20;

/// A place the national grid's shift table does not cover.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum OutsideGrid {
    /// A longitude and latitude, degrees.
    #[error("longitude {lon_deg}, latitude {lat_deg} lies outside the area of the national grid of Great Britain")]
    LonLat {
        /// Longitude, degrees.
        lon_deg: f64,
        /// Latitude, degrees.
        lat_deg: f64,
    },
    /// An easting and northing, metres.
    #[error("easting {east_m}, northing {north_m} lies outside the area of the national grid of Great Britain")]
    Grid {
        /// Easting, metres.
        east_m: f64,
        /// Northing, metres.
        north_m: f64,
    },
}

/// Easting and northing on the national grid [m] of an ETRS89 longitude and latitude [degrees].
///
/// Errors: [`OutsideGrid`] outside the table (roughly 9 W to 2 E, 49.7 N to 61 N) and for NaN.
///
/// ```
/// // Ordnance Survey's OSTN15 test point TP01, St Mary's, Scilly.
/// let (east, north) = holding::grid_ref::grid_from_lonlat(-6.29977752, 49.92226394).unwrap();
/// assert!((east - 91492.146).abs() < 0.001 && (north - 11318.804).abs() < 0.001);
/// ```
pub fn grid_from_lonlat(lon_deg: f64, lat_deg: f64) -> Result<(f64, f64), OutsideGrid> {
    let outside = OutsideGrid::LonLat { lon_deg, lat_deg };
    // The projection's series mean nothing far away, so look before leaping: a box well outside the table.
    if !(-20.0..=15.0).contains(&lon_deg) || !(45.0..=65.0).contains(&lat_deg) {
        return Err(outside);
    }
    let (east, north) = project(GRS80, lon_deg, lat_deg);
    let (de, dn) = shift_m(east, north).ok_or(outside)?;
    Ok((east + de, north + dn))
}

/// ETRS89 longitude and latitude [degrees] of an easting and northing on the national grid [m].
///
/// Errors: [`OutsideGrid`] outside the table and for NaN.
pub fn lonlat_from_grid(east_m: f64, north_m: f64) -> Result<(f64, f64), OutsideGrid> {
    let outside = OutsideGrid::Grid { east_m, north_m };
    // Along the rim the first guess may fall off a table that covers the answer, so start from the nearest corner.
    let clamp = |v: f64, cells: usize| v.clamp(0.0, (cells - 1) as f64 * STEP_M - 1.0);
    if east_m.is_nan() || north_m.is_nan() {
        return Err(outside);
    }
    let (mut de, mut dn) = shift_m(clamp(east_m, COLS), clamp(north_m, ROWS)).ok_or(outside)?;
    for _ in 0..TURNS_MAX {
        let (east, north) = (east_m - de, north_m - dn);
        let (e, n) = shift_m(east, north).ok_or(outside)?;
        let still = (e - de).abs() < 1e-4 && (n - dn).abs() < 1e-4;
        (de, dn) = (e, n);
        if still {
            break;
        }
    }
    Ok(unproject(GRS80, east_m - de, north_m - dn))
}

/// The shift from ETRS89 to OSGB36 at an ETRS89 easting and northing, metres.
fn shift_m(east_m: f64, north_m: f64) -> Option<(f64, f64)> {
    let (x, y) = (east_m / STEP_M, north_m / STEP_M);
    if !(x >= 0.0 && y >= 0.0 && x < (COLS - 1) as f64 && y < (ROWS - 1) as f64) {
        return None;
    }
    let (col, row) = (x as usize, y as usize);
    let (t, u) = (x - col as f64, y - row as f64);
    let table = table()?;
    let blend = |of: &[i32]| {
        let at = |c: usize, r: usize| f64::from(of[r * COLS + c]) / 1000.0;
        (1.0 - t) * (1.0 - u) * at(col, row)
            + t * (1.0 - u) * at(col + 1, row)
            + t * u * at(col + 1, row + 1)
            + (1.0 - t) * u * at(col, row + 1)
    };
    Some((blend(&table.east_mm), blend(&table.north_mm)))
}

struct Table {
    east_mm: Vec<i32>,
    north_mm: Vec<i32>,
}

/// The table, unpacked once. `None` cannot happen with the data that is built in, which a test reads whole.
fn table() -> Option<&'static Table> {
    static TABLE: OnceLock<Option<Table>> = OnceLock::new();
    TABLE.get_or_init(|| unpack(include_bytes!("../../data/ostn15.zip"))).as_ref()
}

fn unpack(archive: &[u8]) -> Option<Table> {
    let mut bytes = Vec::new();
    let mut archive = zip::ZipArchive::new(Cursor::new(archive)).ok()?;
    archive.by_name("ostn15.bin").ok()?.read_to_end(&mut bytes).ok()?;
    let mut rest = bytes.iter().copied();
    let east_mm = plane(&mut rest)?;
    let north_mm = plane(&mut rest)?;
    Some(Table { east_mm, north_mm })
}

/// One plane of millimetres from its differences; the coding is told in `data/make_ostn15.py`.
fn plane(bytes: &mut impl Iterator<Item = u8>) -> Option<Vec<i32>> {
    let mut cells = vec![0_i32; COLS * ROWS];
    for row in 0..ROWS {
        for col in 0..COLS {
            let west = if col > 0 { cells[row * COLS + col - 1] } else { 0 };
            let south = if row > 0 { cells[(row - 1) * COLS + col] } else { 0 };
            let corner = if row > 0 && col > 0 { cells[(row - 1) * COLS + col - 1] } else { 0 };
            cells[row * COLS + col] = unfold(bytes)? + west + south - corner;
        }
    }
    Some(cells)
}

fn unfold(bytes: &mut impl Iterator<Item = u8>) -> Option<i32> {
    let (mut folded, mut bits) = (0_u32, 0);
    loop {
        let byte = bytes.next()?;
        folded |= u32::from(byte & 0x7F).checked_shl(bits)?;
        if byte & 0x80 == 0 {
            return Some((folded >> 1) as i32 ^ -((folded & 1) as i32));
        }
        bits += 7;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ordnance Survey's own output file gives the table's corners for each test point: record 7803 of the
    /// developer pack (east 91 km, north 11 km) and its neighbour to the east, and the interpolated shift.
    #[test]
    fn the_table_holds_the_published_corner_shifts() {
        let table = table().unwrap();
        assert_eq!((table.east_mm[7803 - 1], table.north_mm[7803 - 1]), (92_139, -81_209));
        assert_eq!((table.east_mm[8505 - 1], table.north_mm[8505 - 1]), (92_153, -81_176));
        assert_eq!((table.east_mm[876_951 - 1], table.north_mm[876_951 - 1]), (109_209, -53_064));
        let (de, dn) = shift_m(91_400.000_4, 11_399.999_3).unwrap();
        assert!((de - 92.145_56).abs() < 1e-5 && (dn - -81.195_32).abs() < 1e-5, "{de} {dn}");
    }
}
