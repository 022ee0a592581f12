//! One row of a table: read by column name into the model's types, and written from them.

use super::column::{self, Table};
use super::fault::PlanFault;
use super::geometry::blob;
use crate::model::{Covers, Extra, Plant};
use crate::words::Word;
use chrono::{NaiveDate, NaiveTime};
use geo_types::{Geometry, MultiLineString, MultiPolygon, Point};
use rusqlite::types::Value;

/// A stored row whose values all fit their columns.
pub struct Row<'a> {
    pub table: &'static Table,
    pub fid: i64,
    /// One value for each of the table's columns.
    pub values: &'a [Value],
}

impl Row<'_> {
    /// Everything in the row that does not fit its column.
    pub(crate) fn faults(&self) -> Vec<PlanFault> {
        check(self.table, Some(self.fid), self.values)
    }

    fn value(&self, column: &str) -> &Value {
        self.table.index(column).and_then(|at| self.values.get(at)).unwrap_or(&Value::Null)
    }

    /// The id; where none was given (a row added in a GIS), one made of the table's name and the row's number.
    pub(crate) fn id(&self) -> String {
        match self.value("id") {
            Value::Text(text) if !text.is_empty() => text.clone(),
            _ => format!("{}-{}", self.table.name, self.fid),
        }
    }

    pub(crate) fn text(&self, column: &str) -> String {
        self.text_maybe(column).unwrap_or_default()
    }

    pub(crate) fn text_maybe(&self, column: &str) -> Option<String> {
        match self.value(column) {
            Value::Text(text) => Some(text.clone()),
            _ => None,
        }
    }

    pub(crate) fn f64(&self, column: &str) -> Option<f64> {
        column::real(self.value(column))
    }

    pub(crate) fn f32(&self, column: &str) -> Option<f32> {
        self.f64(column).map(|v| v as f32)
    }

    pub(crate) fn whole<N: TryFrom<i64>>(&self, column: &str) -> Option<N> {
        column::whole(self.value(column)).and_then(|v| N::try_from(v).ok())
    }

    pub(crate) fn boolean(&self, column: &str) -> Option<bool> {
        self.whole::<i64>(column).map(|v| v != 0)
    }

    pub(crate) fn date(&self, column: &str) -> Option<NaiveDate> {
        self.text_maybe(column).as_deref().and_then(column::date)
    }

    pub(crate) fn time(&self, column: &str) -> Option<NaiveTime> {
        self.text_maybe(column).as_deref().and_then(column::time)
    }

    pub(crate) fn word<W: Word>(&self, column: &str) -> Option<W> {
        self.text_maybe(column).as_deref().and_then(W::from_word)
    }

    pub(crate) fn json(&self, column: &str) -> Extra {
        self.text_maybe(column).as_deref().and_then(column::json).unwrap_or_default()
    }

    /// Covers, from one column a plant group; `prefix` stands before the group's key.
    pub(crate) fn covers(&self, prefix: &str) -> Covers {
        let mut covers = Covers::default();
        for (at, plant) in Plant::ALL.into_iter().enumerate() {
            covers.0[at] = self.f32(&format!("{prefix}{}_pct", plant.key()));
        }
        covers
    }

    fn geometry(&self) -> Option<Geometry<f64>> {
        match self.value("geom") {
            Value::Blob(bytes) => blob::read(bytes).ok(),
            _ => None,
        }
    }

    pub(crate) fn point(&self) -> Option<Point<f64>> {
        match self.geometry()? {
            Geometry::Point(place) => Some(place),
            Geometry::MultiPoint(places) => places.0.first().copied(),
            _ => None,
        }
    }

    pub(crate) fn areas(&self) -> MultiPolygon<f64> {
        self.parts().0
    }

    pub(crate) fn lines(&self) -> MultiLineString<f64> {
        self.parts().1
    }

    /// The areas and the lines of the row.
    pub(crate) fn parts(&self) -> (MultiPolygon<f64>, MultiLineString<f64>) {
        let mut parts = (MultiPolygon(vec![]), MultiLineString(vec![]));
        if let Some(geometry) = self.geometry() {
            sort_out(geometry, &mut parts);
        }
        parts
    }
}

fn sort_out(geometry: Geometry<f64>, parts: &mut (MultiPolygon<f64>, MultiLineString<f64>)) {
    match geometry {
        Geometry::Polygon(area) => parts.0.0.push(area),
        Geometry::MultiPolygon(areas) => parts.0.0.extend(areas),
        Geometry::LineString(line) => parts.1.0.push(line),
        Geometry::MultiLineString(lines) => parts.1.0.extend(lines),
        Geometry::GeometryCollection(all) => all.0.into_iter().for_each(|part| sort_out(part, parts)),
        _ => {}
    }
}

/// Everything among a row's values that does not fit its column.
pub(crate) fn check(table: &'static Table, fid: Option<i64>, values: &[Value]) -> Vec<PlanFault> {
    let id = table.index("id").and_then(|at| match values.get(at) {
        Some(Value::Text(text)) => Some(text.clone()),
        _ => None,
    });
    let mut faults = Vec::new();
    for (column, value) in table.columns.iter().zip(values) {
        if let Some(found) = column.refuses(value) {
            faults.push(PlanFault {
                table: table.name.into(),
                row: fid,
                id: id.clone(),
                column: Some(column.name.into()),
                needed: column.needed(),
                found,
                hint: column.hint(value).into(),
            });
        }
    }
    faults
}

/// A row being written.
pub struct Draft {
    pub table: &'static Table,
    /// EPSG number of the plan's system, for the geometry's header.
    pub epsg: u32,
    pub values: Vec<Value>,
}

impl Draft {
    pub(crate) fn new(table: &'static Table, epsg: u32) -> Self {
        Self { table, epsg, values: vec![Value::Null; table.columns.len()] }
    }

    fn put(&mut self, column: &str, value: Option<Value>) {
        debug_assert!(self.table.index(column).is_some(), "no column {column} in {}", self.table.name);
        if let (Some(at), Some(value)) = (self.table.index(column), value) {
            self.values[at] = value;
        }
    }

    pub(crate) fn text(&mut self, column: &str, text: &str) {
        self.put(column, (!text.is_empty()).then(|| Value::Text(text.into())));
    }

    /// Text that may be missing, where empty text is not the same as none.
    pub(crate) fn text_maybe(&mut self, column: &str, text: Option<&str>) {
        self.put(column, text.map(|t| Value::Text(t.into())));
    }

    /// A number kept to single precision: stored as its shortest decimal, so that 12.3 reads as 12.3 everywhere.
    pub(crate) fn f32(&mut self, column: &str, value: Option<f32>) {
        self.f64(column, value.map(shortest));
    }

    /// A number. A NaN is stored as text so that the check refuses it: the engine would make it a missing value.
    pub(crate) fn f64(&mut self, column: &str, value: Option<f64>) {
        self.put(column, value.map(|v| if v.is_nan() { Value::Text("NaN".into()) } else { Value::Real(v) }));
    }

    pub(crate) fn whole(&mut self, column: &str, value: Option<impl Into<i64>>) {
        self.put(column, value.map(|v| Value::Integer(v.into())));
    }

    pub(crate) fn boolean(&mut self, column: &str, value: Option<bool>) {
        self.put(column, value.map(|v| Value::Integer(v.into())));
    }

    pub(crate) fn date(&mut self, column: &str, value: Option<NaiveDate>) {
        self.put(column, value.map(|v| Value::Text(v.format("%Y-%m-%d").to_string())));
    }

    pub(crate) fn time(&mut self, column: &str, value: Option<NaiveTime>) {
        self.put(column, value.map(|v| Value::Text(v.format("%H:%M:%S%.f").to_string())));
    }

    pub(crate) fn word<W: Word>(&mut self, column: &str, value: Option<W>) {
        self.put(column, value.map(|v| Value::Text(v.word().into())));
    }

    pub(crate) fn json(&mut self, column: &str, value: &Extra) {
        let text = (!value.is_empty()).then(|| serde_json::to_string(value).ok()).flatten();
        self.put(column, text.map(Value::Text));
    }

    pub(crate) fn covers(&mut self, prefix: &str, covers: &Covers) {
        for plant in Plant::ALL {
            self.f32(&format!("{prefix}{}_pct", plant.key()), covers.of(plant));
        }
    }

    pub(crate) fn point(&mut self, place: Point<f64>) {
        self.put("geom", Some(Value::Blob(blob::point(self.epsg, place))));
    }

    pub(crate) fn areas(&mut self, areas: &MultiPolygon<f64>) {
        self.put("geom", Some(Value::Blob(blob::areas(self.epsg, areas))));
    }

    pub(crate) fn lines(&mut self, lines: &MultiLineString<f64>) {
        self.put("geom", Some(Value::Blob(blob::lines(self.epsg, lines))));
    }

    pub(crate) fn either(&mut self, areas: &MultiPolygon<f64>, lines: &MultiLineString<f64>) {
        self.put("geom", blob::either(self.epsg, areas, lines).map(Value::Blob));
    }
}

fn shortest(value: f32) -> f64 {
    value.to_string().parse().ok().filter(|v: &f64| *v as f32 == value).unwrap_or(f64::from(value))
}
