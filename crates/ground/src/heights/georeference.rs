//! Where the cells of a GeoTIFF lie: tie point and scale, or a transformation, and the keys beside them.
//!
//! Source: OGC 19-008r4, GeoTIFF 1.1, sections 7 (tags, keys) and B (key values); numbers from memory.
//! Only upright grids of projected metres are taken: no rotation, no degrees, no feet.

use super::error::Faults;
use crate::Frame;

/// The georeferencing tags of one image, as stored.
#[derive(Debug, Default)]
pub(super) struct GeoTags {
    pub scale: Option<Vec<f64>>,
    pub tie_points: Option<Vec<f64>>,
    pub transformation: Option<Vec<f64>>,
    pub keys: Vec<u16>,
}

const MODEL_TYPE: u16 = 1024;
const RASTER_TYPE: u16 = 1025;
const PROJECTED_SYSTEM: u16 = 3072;
const PROJECTED_UNIT: u16 = 3076;
const VERTICAL_UNIT: u16 = 4099;

const GEOGRAPHIC: u16 = 2;
const PIXEL_IS_POINT: u16 = 2;
const USER_DEFINED: u16 = 32_767;
const METRE: u16 = 9001;

/// Placement of an image.
#[derive(Debug, PartialEq)]
pub(super) struct Placed {
    pub frame: Frame,
    /// The first row stored is the southernmost.
    pub south_up: bool,
    pub epsg: Option<u32>,
}

impl GeoTags {
    /// A key's value, when it is stored in the directory itself.
    fn key(&self, id: u16) -> Option<u16> {
        // Four numbers of head, then four a key: id, where the value is (0 = here), count, value.
        self.keys.get(4..)?.chunks_exact(4).find(|k| k[0] == id && k[1] == 0).map(|k| k[3])
    }

    /// Frame and system; anything wrong goes to `faults`.
    pub fn place(&self, cols: usize, rows: usize, faults: &mut Faults<'_>) -> Option<Placed> {
        self.check_units(faults);
        let (west_m, north_m, dx_m, step_north_m) = self.corner(faults)?;
        let south_up = step_north_m > 0.0;
        let dy_m = step_north_m.abs();
        if !(dx_m > 0.0 && dy_m > 0.0 && [west_m, north_m, dx_m, dy_m].iter().all(|v| v.is_finite())) {
            faults.add("georeferencing tags", "the cell size makes no grid", "metres, above 0", format!("{dx_m} x {dy_m}"), "export the file again");
            return None;
        }
        // A grid of points gives the centre of the corner cell, a grid of areas its outer corner.
        let half = if self.key(RASTER_TYPE) == Some(PIXEL_IS_POINT) { 0.5 } else { 0.0 };
        let west_m = west_m - half * dx_m;
        let edge_m = north_m - half * step_north_m;
        let north_m = if south_up { edge_m + dy_m * rows as f64 } else { edge_m };
        let epsg = self.key(PROJECTED_SYSTEM).filter(|&e| e != USER_DEFINED && e != 0).map(u32::from);
        Some(Placed { frame: Frame { west_m, north_m, dx_m, dy_m, cols, rows }, south_up, epsg })
    }

    fn check_units(&self, faults: &mut Faults<'_>) {
        if self.key(MODEL_TYPE) == Some(GEOGRAPHIC) {
            faults.add("key 1024", "the grid lies in degrees", "a projected system in metres", "longitude and latitude", "reproject it first, to EPSG:27700 in Great Britain");
        }
        for (id, of) in [(PROJECTED_UNIT, "plan"), (VERTICAL_UNIT, "height")] {
            if let Some(unit) = self.key(id).filter(|&u| u != METRE && u != USER_DEFINED && u != 0) {
                faults.add(format!("key {id}"), format!("the {of} unit is not the metre"), "9001 (metre)", unit.to_string(), "convert the file to metres first");
            }
        }
    }

    /// West, north, cell width, and the signed step north from one stored row to the next.
    fn corner(&self, faults: &mut Faults<'_>) -> Option<(f64, f64, f64, f64)> {
        if let Some(t) = &self.transformation {
            if t.len() != 16 {
                faults.add("tag 34264", "the transformation is broken", "16 numbers", t.len().to_string(), "export the file again");
                return None;
            }
            if t[1] != 0.0 || t[4] != 0.0 {
                faults.add("tag 34264", "the grid is turned", "rows running west to east", format!("shear {} and {}", t[1], t[4]), "resample it to an upright grid first");
                return None;
            }
            return Some((t[3], t[7], t[0], t[5]));
        }
        match (&self.scale, &self.tie_points) {
            (Some(s), Some(p)) if s.len() >= 2 && p.len() >= 6 => Some((p[3] - p[0] * s[0], p[4] + p[1] * s[1], s[0], -s[1])),
            _ => {
                faults.add(
                    "georeferencing tags",
                    "the file does not say where it lies",
                    "tags 33550 and 33922, or tag 34264",
                    "none, or broken ones",
                    "export a GeoTIFF with its coordinates inside, or use a text grid (.asc)",
                );
                None
            }
        }
    }
}
