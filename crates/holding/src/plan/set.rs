//! Setting columns of one row by their names, as a form or another program gives them.

use super::column::{Column, Kind, Shape};
use super::fault::{PlanError, PlanFault};
use super::geometry::blob;
use super::kind::{Outline, Stored};
use super::row;
use super::step::Step;
use crate::model::*;
use geo_types::{Geometry, MultiLineString, MultiPolygon};
use rusqlite::types::Value;
use serde_json::Value as Json;
use std::collections::BTreeMap;

/// Longest id that is taken.
const ID_MAX: usize = 200;

/// The layers whose rows can be set one by one.
macro_rules! layers {
    ($layer:expr, $kind:ident => $do:expr, $otherwise:expr) => {
        layers!(@ $layer, $kind => $do, $otherwise; Parcel, Patch, Wood, Lek, Visit, BroodCount, Fence, Ditch, Watercourse, Track, Service, Building, Area, Stick, Probe, Stock, HiredCrew, OwnPrice, Outline)
    };
    (@ $layer:expr, $kind:ident => $do:expr, $otherwise:expr; $($each:ident),*) => {
        match $layer {
            $(name if name == <$each>::TABLE.name => { type $kind = $each; $do })*
            _ => $otherwise,
        }
    };
}

/// Names of the layers whose rows can be set one by one.
pub(crate) fn layers() -> Vec<&'static str> {
    let mut names = Vec::new();
    for table in super::kind::TABLES {
        layers!(table.name, K => names.push(K::TABLE.name), {});
    }
    names
}

impl Step<'_> {
    /// Set columns of the row with an id, and its shape; a row that is not there is added. True where it was added.
    ///
    /// Columns go by the names of the plan file; null empties one. `stems` of a wood is a list of its trees.
    ///
    /// # Errors
    /// Everything that does not fit, all at once: unknown layers and columns, values, a shape of another form.
    pub fn set(&mut self, layer: &str, id: &str, set: &BTreeMap<String, Json>, shape: Option<&Geometry<f64>>) -> Result<bool, PlanError> {
        layers!(layer, K => self.set_row::<K>(id, set, shape), Err(unknown(layer)))
    }

    /// Take the row with an id out; false where there is none.
    ///
    /// # Errors
    /// Where the layer is not known.
    pub fn take_out(&mut self, layer: &str, id: &str) -> Result<bool, PlanError> {
        layers!(layer, K => self.remove::<K>(id), Err(unknown(layer)))
    }

    fn set_row<T: Stored>(&mut self, id: &str, set: &BTreeMap<String, Json>, shape: Option<&Geometry<f64>>) -> Result<bool, PlanError> {
        let table = T::TABLE;
        let failed = || PlanError::engine(format!("writing to `{}`", table.name));
        let fid = self.fid_of::<T>(id).map_err(failed())?;
        let before = match fid {
            Some(fid) => self.values_of::<T>(fid).map_err(failed())?,
            None => vec![Value::Null; table.columns.len()],
        };
        let mut values = before.clone();
        let mut faults = Vec::new();
        let mut fault = |column: &str, needed: String, found: String, hint: &str| {
            let mut fault = PlanFault::table(table.name, needed, found, hint);
            (fault.id, fault.column) = (Some(id.into()), Some(column.into()));
            faults.push(fault);
        };
        if let Some(at) = table.index("id").filter(|_| fid.is_none()) {
            if id.trim().is_empty() || id.chars().count() > ID_MAX || id.chars().any(char::is_control) {
                fault("id", format!("an id of 1 to {ID_MAX} letters on one line"), "another".into(), "choose a short id");
            }
            values[at] = Value::Text(id.into());
        }
        let mut stems = None;
        for (name, value) in set {
            let settable = |c: &&Column| c.name != "id" && !matches!(c.kind, Kind::Geometry(_));
            match table.columns.iter().position(|c| c.name == name && settable(&c)) {
                _ if name == "stems" && table.name == Wood::TABLE.name => match serde_json::from_value::<Vec<Stems>>(value.clone()) {
                    Ok(trees) => stems = Some(trees),
                    Err(error) => fault(name, "a list of trees: tree, stems_per_ha, height_m, age_yr".into(), error.to_string(), "such as {\"tree\": \"birch\", \"stems_per_ha\": 600}"),
                },
                Some(at) => match read(&table.columns[at], value) {
                    Some(value) => values[at] = value,
                    None => fault(name, table.columns[at].needed(), format!("`{value}`"), "put the value right"),
                },
                None => {
                    let known: Vec<&str> = table.columns.iter().filter(settable).map(|c| c.name).collect();
                    fault(name, format!("one of {}", known.join(", ")), "no such column".into(), "docs/plan-file.md tells what each is");
                }
            }
        }
        if let Some(shape) = shape {
            match table.shape().map(|form| (form, drawn(form, shape, self.epsg))) {
                Some((_, Some(bytes))) => values[table.index("geom").unwrap_or_default()] = Value::Blob(bytes),
                Some((form, None)) => fault("geom", form.in_words().into(), "another form".into(), "draw it as that"),
                None => fault("geom", "no shape".into(), "a shape".into(), "rows of this layer have no place"),
            }
        }
        let told: Vec<Option<String>> = faults.iter().map(|f| f.column.clone()).collect();
        faults.extend(row::check(table, None, &values).into_iter().filter(|f| !told.contains(&f.column)).map(|f| PlanFault {
            id: Some(id.into()),
            hint: "put the value right".into(),
            ..f
        }));
        if !faults.is_empty() {
            return Err(PlanError::Faults(faults));
        }
        match fid {
            Some(fid) => {
                let differ: Vec<usize> = (0..values.len()).filter(|at| values[*at] != before[*at]).collect();
                if !differ.is_empty() {
                    self.update::<T>(fid, &differ, &values).map_err(failed())?;
                }
            }
            None => self.insert::<T>(&values).map_err(failed())?,
        }
        if let Some(stems) = stems {
            self.replace_stems(id, &stems)?;
        }
        Ok(fid.is_none())
    }

    fn values_of<T: Stored>(&self, fid: i64) -> rusqlite::Result<Vec<Value>> {
        let names: Vec<String> = T::TABLE.columns.iter().map(|c| format!("\"{}\"", c.name)).collect();
        let mut select = self.conn.prepare_cached(&format!("SELECT {} FROM \"{}\" WHERE fid = ?1", names.join(", "), T::TABLE.name))?;
        select.query_row([fid], |row| (0..names.len()).map(|at| row.get(at)).collect())
    }
}

fn unknown(layer: &str) -> PlanError {
    let shown: String = layer.chars().take(60).collect();
    PlanError::Faults(vec![PlanFault::table(&shown, format!("one of {}", layers().join(", ")), "no such layer", "choose one of them")])
}

/// A value as it is given, for a column; `None` where it is of another sort.
fn read(column: &Column, value: &Json) -> Option<Value> {
    Some(match (column.kind, value) {
        (_, Json::Null) => Value::Null,
        (Kind::Text | Kind::Date | Kind::Time | Kind::Word(..), Json::String(text)) if text.is_empty() => Value::Null,
        // Other ways to write a word are for files; the plan keeps one.
        (Kind::Word(words, _), Json::String(text)) => Value::Text(words().into_iter().find(|word| word == text)?.into()),
        (Kind::Text | Kind::Date | Kind::Time, Json::String(text)) if !text.contains('\0') => Value::Text(text.clone()),
        (Kind::Integer, Json::Number(number)) => Value::Integer(number.as_i64()?),
        (Kind::Real, Json::Number(number)) => Value::Real(number.as_f64()?),
        (Kind::Boolean, Json::Bool(yes)) => Value::Integer(i64::from(*yes)),
        (Kind::Json, Json::Object(all)) if all.is_empty() => Value::Null,
        (Kind::Json, Json::Object(_)) => Value::Text(value.to_string()),
        _ => return None,
    })
}

/// A shape as a table keeps it; `None` where it has another form.
fn drawn(form: Shape, shape: &Geometry<f64>, epsg: u32) -> Option<Vec<u8>> {
    match (form, shape) {
        (Shape::Point, Geometry::Point(at)) => Some(blob::point(epsg, *at)),
        (Shape::Areas, Geometry::Polygon(area)) => Some(blob::areas(epsg, &MultiPolygon(vec![area.clone()]))),
        (Shape::Areas, Geometry::MultiPolygon(areas)) => Some(blob::areas(epsg, areas)),
        (Shape::Lines, Geometry::LineString(line)) => Some(blob::lines(epsg, &MultiLineString(vec![line.clone()]))),
        (Shape::Lines, Geometry::MultiLineString(lines)) => Some(blob::lines(epsg, lines)),
        _ => None,
    }
}
