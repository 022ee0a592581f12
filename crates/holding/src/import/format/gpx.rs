//! GPX: waypoints for points; tracks and routes for lines and outlines.

use crate::import::fault::{Faults, ImportFault};
use crate::import::geometry::build::Builder;
use crate::import::kind::{Form, Kind};
use crate::import::note::Notes;
use crate::import::table::{Cell, Crs, Row, Shape, Table};
use geo_types::{Coord, Geometry};
use gpx::Waypoint;

const COLUMNS: [&str; 6] = ["name", "comment", "description", "gpx type", "elevation", "date"];

/// Read the part of a file that fits the kind.
pub(in crate::import) fn read(bytes: &[u8], kind: Kind) -> Result<Table, Faults> {
    let file = gpx::read(bytes).map_err(|e| {
        ImportFault::new("a whole GPX file", e.to_string().chars().take(200).collect::<String>()).hint("the file may be cut short: export it again")
    })?;
    let mut rows = Vec::new();
    let mut notes = Notes::default();
    if matches!(kind.form(), Form::Point | Form::None) {
        for (number, point) in file.waypoints.iter().enumerate() {
            let time = point.time.and_then(|t| t.format().ok());
            rows.push(Row {
                place: format!("waypoint {}", number + 1),
                cells: vec![
                    text(point.name.as_ref()),
                    text(point.comment.as_ref()),
                    text(point.description.as_ref()),
                    text(point.type_.as_ref()),
                    point.elevation.map_or(Cell::Empty, Cell::Number),
                    text(time.as_ref()),
                ],
                shape: built(|b| Ok(Some(Geometry::Point(b.point(coord(point))?)))),
            });
        }
        left_out(&mut notes, &[("tracks", file.tracks.len()), ("routes", file.routes.len())]);
    } else {
        for (number, track) in file.tracks.iter().enumerate() {
            let lines: Vec<Vec<Coord<f64>>> =
                track.segments.iter().map(|s| s.points.iter().map(coord).collect()).filter(|l: &Vec<_>| l.len() > 1).collect();
            rows.push(Row {
                place: format!("track {}", number + 1),
                cells: vec![text(track.name.as_ref()), text(track.comment.as_ref()), text(track.description.as_ref()), text(track.type_.as_ref()), Cell::Empty, Cell::Empty],
                shape: built(|b| if lines.is_empty() { Ok(None) } else { Ok(Some(Geometry::MultiLineString(b.lines(lines)?))) }),
            });
        }
        for (number, route) in file.routes.iter().enumerate() {
            let line: Vec<Coord<f64>> = route.points.iter().map(coord).collect();
            rows.push(Row {
                place: format!("route {}", number + 1),
                cells: vec![text(route.name.as_ref()), text(route.comment.as_ref()), text(route.description.as_ref()), text(route.type_.as_ref()), Cell::Empty, Cell::Empty],
                shape: built(|b| if line.is_empty() { Ok(None) } else { Ok(Some(Geometry::LineString(b.line(line)?))) }),
            });
        }
        left_out(&mut notes, &[("waypoints", file.waypoints.len())]);
    }
    if rows.is_empty() {
        let (needed, found) = match kind.form() {
            Form::Point | Form::None => ("waypoints", format!("{} tracks and {} routes", file.tracks.len(), file.routes.len())),
            _ => ("tracks or routes", format!("{} waypoints", file.waypoints.len())),
        };
        return Err(ImportFault::new(needed, found).into());
    }
    let filled: Vec<usize> = (0..COLUMNS.len()).filter(|at| rows.iter().any(|row| !row.cells[*at].is_empty())).collect();
    for row in &mut rows {
        row.cells = filled.iter().map(|at| row.cells[*at].clone()).collect();
    }
    let columns = filled.iter().map(|at| COLUMNS[*at].to_owned()).collect();
    Ok(Table { layer: None, columns, rows, crs: Crs::LonLat("WGS84, as GPX has it"), notes })
}

fn left_out(notes: &mut Notes, parts: &[(&str, usize)]) {
    for (what, count) in parts.iter().filter(|(_, count)| *count > 0) {
        notes.file(format!("{count} {what} of the file were left out"));
    }
}

fn text(value: Option<&String>) -> Cell {
    value.map_or(Cell::Empty, |text| Cell::text(text))
}

fn coord(point: &Waypoint) -> Coord<f64> {
    let at = point.point();
    Coord { x: at.x(), y: at.y() }
}

fn built(build: impl FnOnce(&Builder) -> Result<Option<Geometry<f64>>, String>) -> Shape {
    let builder = Builder::default();
    match build(&builder) {
        Ok(Some(geometry)) => Shape::Is(builder.done(geometry)),
        Ok(None) => Shape::Missing,
        Err(why) => Shape::Broken(why),
    }
}
