//! Coordinates of a source into the plan's coordinate system.
//!
//! Taken: the plan's own system, and longitude and latitude where the plan is on the national grid. WGS84 is taken
//! for ETRS89, and said. Everything else is refused with a hint: a wrong guess would put a wood in the wrong glen.

use super::fault::{Faults, ImportFault};
use super::kind::{Form, Kind};
use super::note::Notes;
use super::table::{Crs, Row, Shape, Table};
use crate::grid_ref::{grid_from_lonlat, lonlat_from_grid};
use crate::model::Holding;
use geo::{BoundingRect, CoordsIter, MapCoords};
use geo_types::{Coord, Geometry, Rect};

/// EPSG number of the British national grid.
pub(super) const NATIONAL_GRID: u32 = 27700;
/// Beyond this from the plan's ground a feature is taken for misplaced, metres.
const FAR_M: f64 = 50_000.0;
/// Beyond this from the plan's ground a feature is remarked on, metres.
const OFF_M: f64 = 2_000.0;

/// The coordinate system an EPSG number stands for.
pub(super) fn from_epsg(epsg: u32) -> Crs {
    match epsg {
        4326 | 4979 => Crs::LonLat("WGS84"),
        4258 | 4937 => Crs::LonLat("ETRS89"),
        other => Crs::Epsg(other),
    }
}

/// Whether an EPSG number is one of the systems of longitude and latitude that are read.
pub fn in_degrees(epsg: u32) -> bool {
    matches!(from_epsg(epsg), Crs::LonLat(_))
}

enum Route {
    Plan,
    LonLat { swapped: bool },
}

/// Bring every shape of a table into the plan's system; the words say what was done.
///
/// Errors: a system that cannot be brought over, and each row that lies outside it.
pub(super) fn to_plan(table: &mut Table, told: Option<u32>, holding: &Holding, kind: Kind) -> Result<String, Faults> {
    let plan = holding.about.epsg;
    if !table.rows.iter().any(|r| matches!(r.shape, Shape::Is(_))) {
        return Ok("no geometry".to_owned());
    }
    let said = told.map_or_else(|| table.crs.clone(), from_epsg);
    let degrees = share(table, |c| c.x.abs() <= 180.0 && c.y.abs() <= 90.0) > 0.5;
    let (route, words) = match said {
        Crs::Epsg(epsg) if epsg == plan && degrees => {
            return Err(ImportFault::new(
                format!("eastings and northings in metres (EPSG:{plan})"),
                "figures as small as degrees",
            )
            .hint("if they are longitude and latitude say `--epsg 4326` (with columns: `--map lon=COLUMN --map lat=COLUMN`)")
            .into());
        }
        Crs::Epsg(epsg) if epsg == plan => (Route::Plan, format!("EPSG:{plan}, as the plan")),
        Crs::LonLat(what) if degrees => (lonlat(table, plan, what)?, format!("longitude and latitude ({what})")),
        Crs::LonLat(what) => {
            if told.is_none() && on_grid(table, plan) {
                table.notes.file(format!(
                    "the figures are no degrees, though {what} says so; they were taken for eastings and northings of EPSG:{plan}"
                ));
                (Route::Plan, format!("taken for EPSG:{plan}"))
            } else {
                return Err(ImportFault::new("longitude and latitude in degrees", format!("figures such as {}", example(table)))
                    .hint("say the coordinate system with `--epsg NUMBER`")
                    .into());
            }
        }
        Crs::Unsaid if degrees && plan == NATIONAL_GRID => {
            table.notes.file("the file names no coordinate system; its small figures were taken for longitude and latitude");
            (lonlat(table, plan, "by the size of the figures")?, "longitude and latitude (by the size of the figures)".to_owned())
        }
        Crs::Unsaid => {
            table.notes.file(format!("the file names no coordinate system; the plan's was taken (EPSG:{plan})"));
            (Route::Plan, format!("taken for EPSG:{plan}, as the plan"))
        }
        Crs::Epsg(epsg) => return Err(other_system(plan, &format!("EPSG:{epsg}"))),
        Crs::Other(name) => return Err(other_system(plan, &format!("`{name}`"))),
    };
    carry(table, &route, kind.form() == Form::PointOrNone)?;
    Ok(words)
}

fn other_system(plan: u32, found: &str) -> Faults {
    let also = if plan == NATIONAL_GRID { ", or longitude and latitude (EPSG:4326)" } else { "" };
    ImportFault::new(format!("coordinates in the plan's system (EPSG:{plan}){also}"), found)
        .hint(format!("save the layer again in EPSG:{plan}; if the file names its system wrongly, say `--epsg {plan}`"))
        .into()
}

/// Share of the shapes whose first coordinate meets a condition.
fn share(table: &Table, of: impl Fn(Coord<f64>) -> bool) -> f64 {
    let (mut all, mut meet) = (0.0, 0.0);
    for c in firsts(table) {
        all += 1.0;
        meet += f64::from(u8::from(of(c)));
    }
    if all > 0.0 { meet / all } else { 0.0 }
}

fn firsts(table: &Table) -> impl Iterator<Item = Coord<f64>> {
    table.rows.iter().filter_map(|row| match &row.shape {
        Shape::Is(drawn) => drawn.geometry.coords_iter().next(),
        _ => None,
    })
}

fn example(table: &Table) -> String {
    firsts(table).next().map_or_else(String::new, |c| format!("{}, {}", c.x, c.y))
}

/// Whether figures could be eastings and northings of the national grid.
fn on_grid(table: &Table, plan: u32) -> bool {
    plan == NATIONAL_GRID && share(table, |c| lonlat_from_grid(c.x, c.y).is_ok()) > 0.5
}

/// The way in for longitudes and latitudes, turning them round where all of them stand the wrong way.
fn lonlat(table: &mut Table, plan: u32, what: &str) -> Result<Route, Faults> {
    if plan != NATIONAL_GRID {
        return Err(other_system(plan, "longitude and latitude"));
    }
    let right = share(table, |c| grid_from_lonlat(c.x, c.y).is_ok());
    let turned = share(table, |c| grid_from_lonlat(c.x, c.y).is_err() && grid_from_lonlat(c.y, c.x).is_ok());
    let swapped = turned > 0.0 && right == 0.0;
    if swapped {
        table.notes.file("latitude stood where longitude belongs; the two were swapped");
    }
    if !what.starts_with("ETRS89") {
        table.notes.file("longitude and latitude (WGS84) were taken as ETRS89 and brought to the national grid by OSTN15");
    }
    Ok(Route::LonLat { swapped })
}

/// `lenient`: a shape that lies outside is no fault of the file, but a broken shape.
fn carry(table: &mut Table, route: &Route, lenient: bool) -> Result<(), Faults> {
    let Route::LonLat { swapped } = *route else { return Ok(()) };
    let mut faults = Faults::new();
    for row in &mut table.rows {
        let Shape::Is(drawn) = &mut row.shape else { continue };
        let moved = drawn.geometry.try_map_coords(|c| {
            let (lon, lat) = if swapped { (c.y, c.x) } else { (c.x, c.y) };
            grid_from_lonlat(lon, lat).map(|(x, y)| Coord { x, y })
        });
        match moved {
            Ok(geometry) => drawn.geometry = geometry,
            Err(outside) if lenient => row.shape = Shape::Broken(outside.to_string()),
            Err(outside) => {
                let hint = if firsts_turn(&drawn.geometry) {
                    "latitude and longitude seem to be swapped here"
                } else {
                    "longitude comes first and west is negative"
                };
                faults.push(
                    ImportFault::new("a place within the national grid of Great Britain", outside.to_string())
                        .row(&row.place)
                        .hint(hint),
                );
            }
        }
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

fn firsts_turn(geometry: &Geometry<f64>) -> bool {
    geometry.coords_iter().next().is_some_and(|c| grid_from_lonlat(c.y, c.x).is_ok())
}

/// The ground a plan's heights cover.
pub(super) fn heights_ground(holding: &Holding) -> Option<Rect<f64>> {
    let frame = holding.heights.as_ref()?.frame;
    Some(Rect::new(Coord { x: frame.west_m, y: frame.south_m() }, Coord { x: frame.east_m(), y: frame.north_m }))
}

/// The ground a plan covers, from its boundary and its heights.
pub(super) fn plan_ground(holding: &Holding) -> Option<Rect<f64>> {
    let boundary = holding.boundary.as_ref().and_then(BoundingRect::bounding_rect);
    match (boundary, heights_ground(holding)) {
        (Some(a), Some(b)) => Some(Rect::new(
            Coord { x: a.min().x.min(b.min().x), y: a.min().y.min(b.min().y) },
            Coord { x: a.max().x.max(b.max().x), y: a.max().y.max(b.max().y) },
        )),
        (one, other) => one.or(other),
    }
}

/// Where a shape lies, when it does not lie on the plan's ground.
pub(super) enum Off {
    /// So far off that it is misplaced.
    Far(ImportFault),
    /// A little off.
    Near,
}

/// Look whether shapes in the plan's system lie on or near the plan's ground; what lies far off is a fault, what
/// lies a little off a note.
pub(super) fn near_plan(rows: &[Row], holding: &Holding, ground: Option<Rect<f64>>, notes: &mut Notes, faults: &mut Faults) {
    for row in rows {
        match off_plan(row, holding, ground) {
            Some(Off::Far(fault)) => faults.push(fault),
            Some(Off::Near) => notes.row(&row.place, "lies more than 2 km off the plan's ground"),
            None => {}
        }
    }
}

/// Whether a row's shape lies off the plan's ground.
pub(super) fn off_plan(row: &Row, holding: &Holding, ground: Option<Rect<f64>>) -> Option<Off> {
    let Shape::Is(drawn) = &row.shape else { return None };
    let found = drawn.geometry.bounding_rect()?;
    let place = Some(found.center().x_y());
    let fault = |needed: &str, found: String| ImportFault::new(needed, found).row(&row.place).place(place);
    let Some(ground) = ground else {
        let outside = holding.about.epsg == NATIONAL_GRID && lonlat_from_grid(found.center().x, found.center().y).is_err();
        return outside.then(|| {
            Off::Far(
                fault("a place within the national grid of Great Britain", words(found))
                    .hint("the coordinate system may be another: say `--epsg NUMBER`, or easting and northing may be swapped"),
            )
        });
    };
    let off_m = gap_m(ground, found);
    if off_m > FAR_M {
        let turned = Rect::new(Coord { x: found.min().y, y: found.min().x }, Coord { x: found.max().y, y: found.max().x });
        let hint = if gap_m(ground, turned) <= FAR_M {
            "easting and northing seem to be swapped: `--map easting=COLUMN --map northing=COLUMN` says which is which"
        } else {
            "the coordinate system may be another: say `--epsg NUMBER`"
        };
        let found = format!("{}, {:.0} km off", words(found), off_m / 1000.0);
        return Some(Off::Far(fault("a place on or near the plan's ground", found).hint(hint)));
    }
    (off_m > OFF_M).then_some(Off::Near)
}

fn words(found: Rect<f64>) -> String {
    format!("easting {:.0}, northing {:.0}", found.center().x, found.center().y)
}

/// Distance between two boxes, metres; 0 where they meet.
fn gap_m(a: Rect<f64>, b: Rect<f64>) -> f64 {
    let apart = |a_min: f64, a_max: f64, b_min: f64, b_max: f64| (b_min - a_max).max(a_min - b_max).max(0.0);
    apart(a.min().x, a.max().x, b.min().x, b.max().x).hypot(apart(a.min().y, a.max().y, b.min().y, b.max().y))
}

/// The coordinate system that a projection text (WKT 1 or 2, as in a .prj file) stands for.
pub(super) fn from_projection_text(text: &str) -> Crs {
    let upper = text.to_uppercase();
    let code = ["AUTHORITY[\"EPSG\",", "ID[\"EPSG\","]
        .iter()
        .filter_map(|mark| upper.rfind(mark).map(|at| &upper[at + mark.len()..]))
        .filter_map(|tail| {
            let digits: String = tail.trim_start_matches(['"', ' ']).chars().take_while(char::is_ascii_digit).collect();
            digits.parse::<u32>().ok()
        })
        .next();
    // The last code belongs to the whole text only where it ends it.
    let ends = upper.trim_end().ends_with("\"]]") || upper.trim_end().ends_with("]]");
    let projected = upper.contains("PROJCS[") || upper.contains("PROJCRS[");
    if upper.contains("BRITISH_NATIONAL_GRID") || upper.contains("BRITISH NATIONAL GRID") {
        return Crs::Epsg(NATIONAL_GRID);
    }
    if !projected && upper.contains("OSGB") {
        return Crs::Other("OSGB36 longitude and latitude".to_owned());
    }
    if !projected && (upper.contains("WGS_1984") || upper.contains("WGS 84") || upper.contains("WGS84")) {
        return Crs::LonLat("WGS84");
    }
    if !projected && upper.contains("ETRS") {
        return Crs::LonLat("ETRS89");
    }
    match code {
        Some(code) if ends => from_epsg(code),
        _ => {
            let name = text.split('"').nth(1).unwrap_or("an unnamed projection");
            Crs::Other(name.chars().take(60).collect())
        }
    }
}
