//! Geometry out of columns: eastings and northings, grid references, longitudes and latitudes, well-known text.
//!
//! A grid reference names a square by its south-west corner; the place taken is the middle of that square, which is
//! as likely too far one way as the other, and the note says how large the squares are.

use super::fault::{Faults, ImportFault};
use super::geometry::{wkb, wkt};
use super::guess::{MapTo, column_named, column_words};
use super::kind::{Form, Kind};
use super::table::{Cell, Crs, Drawn, Row, Shape, Table};
use super::unit::Unit;
use super::value::number;
use crate::grid_ref::parse_grid_ref;
use geo_types::{Geometry, Point};

/// A square larger than this does not tell one lek from the next, metres; the program's own.
const COARSE_M: f64 = 100.0;

const EASTING: &[&str] = &["easting", "eastings", "east", "e", "osgbeast", "osgbeasting", "bngeasting", "xcoord", "eastingm"];
const NORTHING: &[&str] = &["northing", "northings", "north", "n", "osgbnorth", "osgbnorthing", "bngnorthing", "ycoord", "northingm"];
const GRID_REF: &[&str] =
    &["gridref", "gridreference", "osgr", "osref", "osgridref", "osgridreference", "ngr", "nationalgridreference", "gr", "gridreferences"];
const LON: &[&str] = &["lon", "long", "longitude", "lng", "decimallongitude", "londeg", "longitudedeg"];
const LAT: &[&str] = &["lat", "latitude", "decimallatitude", "latdeg", "latitudedeg"];
const TEXT: &[&str] = &["wkt", "geometry", "geom", "thegeom", "shape", "wktgeometry", "wkb"];

/// Whether a name of `--map` is one of the columns a place is read from.
pub(super) fn place_fields(name: &str) -> bool {
    ["easting", "northing", "grid_ref", "lon", "lat", "wkt"].iter().any(|f| f.eq_ignore_ascii_case(name))
}

#[derive(Clone, Copy, Debug)]
enum From {
    Grid { east: usize, north: usize, check: Option<usize> },
    Ref(usize),
    LonLat { lon: usize, lat: usize },
    Text(usize),
}

/// Where the geometry came from, in words, and the columns it used.
pub(super) struct Placed {
    pub words: String,
    pub taken: Vec<usize>,
}

/// Give every row of a table without geometry a shape out of its columns.
///
/// Errors: no such columns, for a kind that needs a place.
pub(super) fn place(table: &mut Table, kind: Kind, told: &[MapTo], epsg: u32) -> Result<Placed, Faults> {
    let Some(from) = find(table, told)? else {
        if matches!(kind.form(), Form::None | Form::Either | Form::PointOrNone) {
            return Ok(Placed { words: "none needed".to_owned(), taken: vec![] });
        }
        let columns = if table.columns.is_empty() { "no columns".to_owned() } else { format!("columns `{}`", table.columns.join("`, `")) };
        let needed = match kind.form() {
            Form::Point => "columns with easting and northing, a grid reference, or longitude and latitude",
            _ => "a geometry, or a column with well-known text",
        };
        let hint = match kind.form() {
            Form::Point => "name them with `--map easting=COLUMN --map northing=COLUMN`, or `grid_ref`, or `lon` and `lat`",
            _ => "areas and lines come best as GeoPackage, GeoJSON or Shapefile",
        };
        return Err(ImportFault::new(needed, columns).hint(hint).into());
    };
    let name = |at: usize| format!("`{}`", table.columns[at]);
    let (words, taken) = match from {
        From::Grid { east, north, check } => {
            (format!("columns {} and {}", name(east), name(north)), [Some(east), Some(north), check].into_iter().flatten().collect())
        }
        From::Ref(at) => (format!("grid references in column {}", name(at)), vec![at]),
        From::LonLat { lon, lat } => (format!("longitude and latitude in columns {} and {}", name(lon), name(lat)), vec![lon, lat]),
        From::Text(at) => (format!("well-known text in column {}", name(at)), vec![at]),
    };
    match from {
        From::Grid { .. } => table.crs = Crs::Epsg(epsg),
        From::Ref(_) => table.crs = Crs::Epsg(27700),
        From::LonLat { .. } => table.crs = Crs::LonLat("longitude and latitude columns"),
        From::Text(_) => {}
    }
    let mut largest_m: f64 = 0.0;
    let mut faults = Faults::new();
    let Table { rows, notes, columns, .. } = table;
    for row in rows.iter_mut() {
        row.shape = match from {
            From::Grid { east, north, check } => {
                let shape = point(row, east, north, Some(Unit::Metre));
                match check.map(|c| disagreement(row, c, &shape)) {
                    Some(Err(apart)) if kind.form() == Form::PointOrNone => Shape::Broken(apart.found),
                    Some(Err(apart)) => {
                        faults.push(apart.row(&row.place).column(&columns[check.unwrap_or(east)]).hint(format!(
                            "say which to take: `--map grid_ref=-` for the easting and northing, `--map grid_ref={}` for the reference",
                            columns[check.unwrap_or(east)]
                        )));
                        Shape::Missing
                    }
                    Some(Ok(Some((true, square)))) => {
                        notes.row(&row.place, format!("the grid reference ({square}) and the easting and northing name different places; the easting and northing were taken"));
                        shape
                    }
                    Some(Ok(Some((false, square)))) if shape == Shape::Missing => {
                        largest_m = largest_m.max(1.0);
                        notes.row(&row.place, format!("no easting and northing; the middle of the grid reference's square ({square}) was taken"));
                        reference(&row.cells[check.unwrap_or(east)]).0
                    }
                    _ => shape,
                }
            }
            From::Ref(at) => {
                let (shape, size_m) = reference(&row.cells[at]);
                if kind == Kind::Visits && size_m > COARSE_M {
                    let why = format!("a grid reference of a square of {size_m:.0} m, too coarse to tell one lek from the next");
                    row.shape = Shape::Broken(why);
                    continue;
                }
                largest_m = largest_m.max(size_m);
                shape
            }
            From::LonLat { lon, lat } => point(row, lon, lat, None),
            From::Text(at) => match &row.cells[at] {
                Cell::Empty => Shape::Missing,
                Cell::Text(text) if wkt::looks_like(text) || !is_hex(text) => wkt::shape(text),
                Cell::Text(text) => wkb::shape(&unhex(text)),
                other => Shape::Broken(format!("`{}`", other.shown())),
            },
        };
    }
    if matches!(from, From::Ref(_)) {
        notes.file(format!("grid references name squares (the largest here of {largest_m:.0} m); the middle of each was taken"));
    }
    if faults.is_empty() { Ok(Placed { words, taken }) } else { Err(faults) }
}

fn find(table: &Table, told: &[MapTo]) -> Result<Option<From>, Faults> {
    let mut faults = Faults::new();
    let mut ask = |field: &str| {
        let map = told.iter().find(|m| m.field.eq_ignore_ascii_case(field) && m.column != "-")?;
        column_named(table, &map.column).map_err(|fault| faults.push(*fault)).ok()
    };
    let [east, north, grid, lon, lat, text] = ["easting", "northing", "grid_ref", "lon", "lat", "wkt"].map(&mut ask);
    if !faults.is_empty() {
        return Err(faults);
    }
    let left_out = |field: &str| told.iter().any(|m| m.field.eq_ignore_ascii_case(field) && m.column == "-");
    let named = |field: &str, words: &[&str]| {
        (!left_out(field)).then(|| table.columns.iter().position(|c| words.contains(&column_words(c).as_str()))).flatten()
    };
    // What was told stands before what is guessed, and the finest guess first.
    let guessed_grid = grid.or(named("grid_ref", GRID_REF));
    if east.is_some() || north.is_some() {
        let (east, north) = (east.or(named("easting", EASTING)), north.or(named("northing", NORTHING)));
        return Ok(east.zip(north).map(|(east, north)| From::Grid { east, north, check: guessed_grid }));
    }
    if let Some(grid) = grid {
        return Ok(Some(From::Ref(grid)));
    }
    if lon.is_some() || lat.is_some() {
        return Ok(lon.or(named("lon", LON)).zip(lat.or(named("lat", LAT))).map(|(lon, lat)| From::LonLat { lon, lat }));
    }
    if let Some(text) = text {
        return Ok(Some(From::Text(text)));
    }
    if let Some((east, north)) = named("easting", EASTING).zip(named("northing", NORTHING)) {
        return Ok(Some(From::Grid { east, north, check: guessed_grid }));
    }
    if let Some((lon, lat)) = named("lon", LON).zip(named("lat", LAT)) {
        return Ok(Some(From::LonLat { lon, lat }));
    }
    if let Some(grid) = guessed_grid {
        return Ok(Some(From::Ref(grid)));
    }
    if let Some((x, y)) = named("easting", &["x"]).zip(named("northing", &["y"])) {
        return Ok(Some(From::Grid { east: x, north: y, check: None }));
    }
    let text = named("wkt", TEXT).filter(|at| {
        table.rows.iter().any(|row| matches!(&row.cells[*at], Cell::Text(text) if wkt::looks_like(text) || is_hex(text)))
    });
    Ok(text.map(From::Text))
}

/// A point of two columns; `unit` is the only unit that may stand behind the figures.
fn point(row: &Row, x: usize, y: usize, unit: Option<Unit>) -> Shape {
    let read = |at: usize| match number(&row.cells[at]) {
        Ok(None) => Ok(None),
        Ok(Some((value, said))) if said.is_none() || said == unit => Ok(Some(value)),
        _ => Err(format!("`{}` for a coordinate", row.cells[at].shown())),
    };
    match (read(x), read(y)) {
        (Ok(Some(x)), Ok(Some(y))) => at(x, y),
        (Ok(None), Ok(None)) => Shape::Missing,
        (Ok(_), Ok(_)) => Shape::Broken("one coordinate without the other".to_owned()),
        (Err(why), _) | (_, Err(why)) => Shape::Broken(why),
    }
}

fn at(x: f64, y: f64) -> Shape {
    Shape::Is(Drawn { geometry: Geometry::Point(Point::new(x, y)), unclosed: false })
}

/// The middle of a reference's square, and its size in metres.
fn reference(cell: &Cell) -> (Shape, f64) {
    match cell {
        Cell::Empty => (Shape::Missing, 0.0),
        cell => match parse_grid_ref(&cell.shown()) {
            Ok(square) => {
                let (east, north) = square.middle();
                (at(east, north), square.size_m)
            }
            Err(why) => (Shape::Broken(format!("a grid reference that cannot be read: {why}")), 0.0),
        },
    }
}

/// Whether a row's grid reference names another place than its coordinates: `Some((true, ..))` if so, with the
/// reference's square in words. Farther than ten squares and ten kilometres apart is an error: one of the two is wrong.
fn disagreement(row: &Row, column: usize, shape: &Shape) -> Result<Option<(bool, String)>, ImportFault> {
    if row.cells[column].is_empty() {
        return Ok(None);
    }
    let Ok(square) = parse_grid_ref(&row.cells[column].shown()) else { return Ok(None) };
    let words = format!("{:.0} m", square.size_m);
    let Shape::Is(Drawn { geometry: Geometry::Point(point), .. }) = shape else { return Ok(Some((false, words))) };
    if square.holds(point.x(), point.y()) {
        return Ok(None);
    }
    let (east, north) = square.middle();
    let apart_m = (east - point.x()).hypot(north - point.y());
    if apart_m > 10_000.0 && apart_m > 10.0 * square.size_m {
        return Err(ImportFault::new(
            "a grid reference and an easting and northing of the same place",
            format!(
                "`{}` and {:.0}, {:.0}, which are {:.0} km apart",
                row.cells[column].shown(),
                point.x(),
                point.y(),
                apart_m / 1000.0
            ),
        ));
    }
    Ok(Some((true, words)))
}

fn is_hex(text: &str) -> bool {
    let text = text.trim();
    text.len() >= 42 && text.len().is_multiple_of(2) && text.bytes().all(|b| b.is_ascii_hexdigit())
}

fn unhex(text: &str) -> Vec<u8> {
    let digit = |b: u8| char::from(b).to_digit(16).unwrap_or(0) as u8;
    text.trim().as_bytes().chunks(2).map(|pair| digit(pair[0]) << 4 | pair.get(1).map_or(0, |b| digit(*b))).collect()
}
