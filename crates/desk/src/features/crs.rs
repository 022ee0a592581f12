//! Coordinate systems: longitude and latitude by default, the plan's own metres on asking.
//!
//! Longitude and latitude come by OSTN15 (see `holding::grid_ref`) and are therefore ETRS89, which CRS84 stands for within the
//! metre by which the two have drifted apart. They are given only for plans on the national grid; others are given in
//! their own metres alone.

use geo::{MapCoords, Orient, orient::Direction};
use geo_types::{Coord, Geometry, Rect};
use holding::grid_ref::{OutsideGrid, lonlat_from_grid};
use serde_json::{Value, json};

const NATIONAL_GRID: u32 = 27700;
const CRS84: &str = "http://www.opengis.net/def/crs/OGC/1.3/CRS84";
/// Decimals of a degree: a tenth of a millimetre.
const DEGREE_STEPS: f64 = 1e9;
/// How many points stand for a side of a box that is turned into longitude and latitude.
const SIDE_STEPS: u32 = 16;

/// A coordinate system a client may ask for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum System {
    /// Longitude and latitude, degrees.
    LonLat,
    /// The plan's own, metres, by its EPSG number.
    Plan(u32),
}

impl System {
    /// What a plan is given in, the default first.
    pub(super) fn of(epsg: u32) -> Vec<System> {
        if epsg == NATIONAL_GRID { vec![System::LonLat, System::Plan(epsg)] } else { vec![System::Plan(epsg)] }
    }

    /// Its name as an address.
    pub(super) fn uri(self) -> String {
        match self {
            System::LonLat => CRS84.into(),
            System::Plan(epsg) => format!("http://www.opengis.net/def/crs/EPSG/0/{epsg}"),
        }
    }

    /// A geometry of the plan in this system.
    pub(super) fn shown(self, shape: &Geometry<f64>) -> Result<Geometry<f64>, OutsideGrid> {
        match self {
            System::Plan(_) => Ok(shape.clone()),
            System::LonLat => shape.try_map_coords(|c| lonlat_from_grid(c.x, c.y).map(|(x, y)| Coord { x, y })),
        }
    }

    /// The same as GeoJSON, outer rings counter-clockwise.
    pub(super) fn geojson(self, shape: &Geometry<f64>) -> Result<Value, OutsideGrid> {
        let mut shape = turned(self.shown(shape)?);
        if self == System::LonLat {
            shape = shape.map_coords(|c| Coord { x: (c.x * DEGREE_STEPS).round() / DEGREE_STEPS, y: (c.y * DEGREE_STEPS).round() / DEGREE_STEPS });
        }
        Ok(json!(geojson::Geometry::from(&shape)))
    }
}

/// The box of longitude and latitude round a box of the national grid; `None` where it reaches beyond.
pub(super) fn lonlat_box(round: Rect<f64>) -> Option<[f64; 4]> {
    let (low, high) = (round.min(), round.max());
    let at = |share: f64, from: f64, to: f64| from + (to - from) * share;
    let mut found = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    for step in 0..=SIDE_STEPS {
        let share = f64::from(step) / f64::from(SIDE_STEPS);
        let (x, y) = (at(share, low.x, high.x), at(share, low.y, high.y));
        for (x, y) in [(x, low.y), (x, high.y), (low.x, y), (high.x, y)] {
            let (lon, lat) = lonlat_from_grid(x, y).ok()?;
            found = [found[0].min(lon), found[1].min(lat), found[2].max(lon), found[3].max(lat)];
        }
    }
    // The sides bend; a ten-thousandth of a degree is more than they do between two of the points.
    let out = |v: f64, way: f64| ((v + way * 1e-4) * 1e6).round() / 1e6;
    Some([out(found[0], -1.0), out(found[1], -1.0), out(found[2], 1.0), out(found[3], 1.0)])
}

fn turned(shape: Geometry<f64>) -> Geometry<f64> {
    match shape {
        Geometry::Polygon(area) => Geometry::Polygon(area.orient(Direction::Default)),
        Geometry::MultiPolygon(areas) => Geometry::MultiPolygon(areas.orient(Direction::Default)),
        Geometry::GeometryCollection(all) => Geometry::GeometryCollection(all.0.into_iter().map(turned).collect()),
        other => other,
    }
}
