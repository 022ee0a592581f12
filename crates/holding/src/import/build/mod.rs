//! Features out of rows: one file a family of kinds.

mod broods;
mod cluster;
mod counting;
mod ground;
mod lek_book;
mod lines;
mod measures;
mod points;
mod stock;
mod visits;
mod woods;

pub(super) use counting::Counting;

use super::features::Features;
use super::kind::{Form, Kind};
use super::reading::{Reading, Values};
use super::fault::ImportFault;
use super::geometry::settle::{self, Wrong};
use super::table::{Drawn, Row, Shape};
use crate::model::Holding;
use geo::Centroid;
use geo_types::{MultiLineString, MultiPolygon, Point};
use std::collections::{HashMap, HashSet};

/// The features of a table's rows; faults and notes are left in the reading.
pub(super) fn build(kind: Kind, rows: &[Row], reading: &mut Reading<'_>, ids: &mut Ids, holding: &Holding, counting: &Counting) -> Features {
    match kind {
        Kind::Boundary => ground::boundary(rows, reading),
        Kind::Parcels => Features::Parcels(areas(rows, reading, ids, ground::parcel)),
        Kind::Patches => Features::Patches(areas(rows, reading, ids, ground::patch)),
        Kind::Buildings => Features::Buildings(areas(rows, reading, ids, ground::building)),
        Kind::Areas => Features::Areas(areas(rows, reading, ids, ground::area)),
        Kind::Woods => Features::Woods(areas(rows, reading, ids, woods::wood)),
        Kind::Fences => Features::Fences(ways(rows, reading, ids, lines::fence)),
        Kind::Ditches => Features::Ditches(ways(rows, reading, ids, lines::ditch)),
        Kind::Watercourses => Features::Watercourses(ways(rows, reading, ids, lines::watercourse)),
        Kind::Tracks => Features::Tracks(ways(rows, reading, ids, lines::track)),
        Kind::Services => Features::Services(ways(rows, reading, ids, lines::service)),
        Kind::Leks => Features::Leks(spots(rows, reading, ids, points::lek)),
        Kind::Sticks => Features::Sticks(spots(rows, reading, ids, points::stick)),
        Kind::Probes => Features::Probes(spots(rows, reading, ids, points::probe)),
        Kind::Visits => Features::Visits(visits::visits(rows, reading, ids, holding, counting)),
        Kind::Broods => Features::Broods(broods::broods(rows, reading, ids, holding, counting)),
        Kind::Stock => Features::Stock(stock::stock(rows, reading, ids, holding)),
        Kind::Measures => Features::Measures(measures::measures(rows, reading, ids)),
    }
}

/// Brings a geometry into the form needed, with notes of what was mended.
type Settle<S> = fn(Drawn) -> Result<(S, Vec<String>), Wrong>;

/// A feature of a shape, with its id, from a row's values.
type Make<S, T> = fn(String, S, &mut Values<'_, '_>) -> Option<T>;

fn areas<T>(rows: &[Row], reading: &mut Reading<'_>, ids: &mut Ids, make: Make<MultiPolygon<f64>, T>) -> Vec<T> {
    each(rows, reading, ids, Form::Area, settle::area, |s| s.centroid().map(|p| p.x_y()), make)
}

fn ways<T>(rows: &[Row], reading: &mut Reading<'_>, ids: &mut Ids, make: Make<MultiLineString<f64>, T>) -> Vec<T> {
    each(rows, reading, ids, Form::Line, settle::line, |s| s.centroid().map(|p| p.x_y()), make)
}

fn spots<T>(rows: &[Row], reading: &mut Reading<'_>, ids: &mut Ids, make: Make<Point<f64>, T>) -> Vec<T> {
    each(rows, reading, ids, Form::Point, settle::point, |s| Some(s.x_y()), make)
}

fn each<S, T>(
    rows: &[Row],
    reading: &mut Reading<'_>,
    ids: &mut Ids,
    form: Form,
    settle: Settle<S>,
    middle: fn(&S) -> Option<(f64, f64)>,
    make: Make<S, T>,
) -> Vec<T> {
    let mut all = Vec::new();
    for row in rows {
        let shape = shape_of(row, reading, form, settle);
        let place = shape.as_ref().and_then(middle);
        let mut values = reading.row(row, place);
        let id = ids.next(&mut values);
        // The values are looked at even where the shape is wrong, so that all faults of the row are said.
        if let (Some(shape), Some(id)) = (shape, id) {
            all.extend(make(id, shape, &mut values));
        }
    }
    all
}

fn shape_of<S>(row: &Row, reading: &mut Reading<'_>, form: Form, settle: Settle<S>) -> Option<S> {
    let needed = form.words();
    let fault = match &row.shape {
        Shape::Is(drawn) => match settle(drawn.clone()) {
            Ok((shape, notes)) => {
                for note in notes {
                    reading.notes.row(&row.place, note);
                }
                return Some(shape);
            }
            Err(Wrong::Form(found)) => ImportFault::new(needed, found).hint(match form {
                Form::Point => "give each place one point, or import the layer as another kind",
                Form::Line => "give the line itself, not the outline of an area, or import the layer as another kind",
                _ => "give outlines as polygons, or import the layer as another kind",
            }),
            Err(Wrong::Broken(why)) => ImportFault::new(needed, why).hint("mend the geometry where it was drawn"),
        }
        .place(first_place(drawn)),
        Shape::Missing | Shape::None => {
            ImportFault::new(needed, "no geometry").hint("draw it, or take the row out of the file")
        }
        Shape::Broken(why) => ImportFault::new(needed, why.clone()).hint("mend the geometry where it was drawn"),
    };
    reading.faults.push(fault.row(&row.place));
    None
}

fn first_place(drawn: &Drawn) -> Option<(f64, f64)> {
    use geo::CoordsIter;
    drawn.geometry.coords_iter().next().map(|c| c.x_y())
}

/// Ids: those given, each once, and new ones for rows without.
pub(super) struct Ids {
    stem: &'static str,
    given: HashMap<String, String>,
    there: HashSet<String>,
    next: usize,
}

impl Ids {
    /// Ids of a kind, given those that are in the holding already (none when they are to be replaced).
    pub fn new(kind: Kind, there: impl IntoIterator<Item = String>) -> Self {
        Self { stem: kind.id_stem(), given: HashMap::new(), there: there.into_iter().collect(), next: 1 }
    }

    /// Ids given in the file, so that made ones keep clear of them.
    pub fn keep_clear(&mut self, given: impl IntoIterator<Item = String>) {
        self.there.extend(given.into_iter().filter(|id| id.starts_with(self.stem)).map(|id| format!("\u{0}{id}")));
    }

    /// The id of a row; `None` after a fault.
    pub fn next(&mut self, values: &mut Values<'_, '_>) -> Option<String> {
        let id = values.text("id");
        if id.is_empty() {
            return Some(self.made());
        }
        if let Some(first) = self.given.get(&id) {
            let first = first.clone();
            values.fault("id", "an id that comes only once", format!("it stands at {first} too"));
            return None;
        }
        if self.there.contains(&id) {
            values.fault("id", "an id that the plan does not have yet", "replace what is there with `--replace`, or let every row have a new id with `--map id=-`");
            return None;
        }
        self.given.insert(id.clone(), values.row_place().to_owned());
        Some(id)
    }

    /// A new id.
    pub fn made(&mut self) -> String {
        loop {
            let id = format!("{}-{}", self.stem, self.next);
            self.next += 1;
            if !self.there.contains(&id) && !self.there.contains(&format!("\u{0}{id}")) && !self.given.contains_key(&id) {
                return id;
            }
        }
    }
}
