//! Reading rows of a kind, with every fault.

use super::column::Table;
use super::fault::{PlanFault, RESTORE};
use super::kind::{Outline, StemRow, Stored};
use super::row::Row;
use super::{about, coverage};
use crate::model::*;
use rusqlite::Connection;
use rusqlite::types::Value;
use std::collections::{HashMap, HashSet};

/// Read the tables that are wanted into a holding, in place of what it has of them. Faults are added to `faults`.
pub(crate) fn into(conn: &Connection, holding: &mut Holding, wanted: &dyn Fn(&str) -> bool, faults: &mut Vec<PlanFault>) {
    let fault = |what: &str, source: rusqlite::Error| PlanFault::table(what, "a table that can be read", source.to_string(), RESTORE);
    if wanted("about") {
        match about::read(conn, faults) {
            Ok(about) => holding.about = about,
            Err(source) => faults.push(fault("about", source)),
        }
    }
    if wanted(Outline::TABLE.name) {
        let outline = all::<Outline>(conn, faults);
        holding.boundary = (!outline.is_empty())
            .then(|| geo_types::MultiPolygon(outline.into_iter().flat_map(|row| row.thing.0.0).collect()));
    }
    macro_rules! kinds {
        ($($field:ident: $kind:ty),* $(,)?) => { $(
            if wanted(<$kind>::TABLE.name) {
                holding.$field = all::<$kind>(conn, faults).into_iter().map(|row| row.thing).collect();
            }
        )* };
    }
    kinds!(parcels: Parcel, patches: Patch, leks: Lek, visits: Visit, broods: BroodCount, fences: Fence, ditches: Ditch);
    kinds!(watercourses: Watercourse, tracks: Track, services: Service, buildings: Building, areas: Area, sticks: Stick);
    kinds!(probes: Probe, stock: Stock, options: PlanOption, measures: Measure, crews: HiredCrew, rates: OwnPrice);
    if wanted(Wood::TABLE.name) || wanted(StemRow::TABLE.name) {
        holding.woods = all::<Wood>(conn, faults).into_iter().map(|row| row.thing).collect();
        let mut stems: HashMap<String, Vec<_>> = HashMap::new();
        for row in all::<StemRow>(conn, faults) {
            stems.entry(row.thing.wood).or_default().push(row.thing.stems);
        }
        for wood in &mut holding.woods {
            wood.stems = stems.remove(&wood.id).unwrap_or_default();
        }
    }
    if wanted("heights") {
        match coverage::read(conn, faults) {
            Ok(heights) => holding.heights = heights,
            Err(source) => faults.push(fault("heights", source)),
        }
    }
}

/// A row as read: where it is, whether the file itself holds its id, and the thing.
pub(crate) struct Found<T> {
    pub fid: i64,
    pub has_id: bool,
    pub thing: T,
}

/// Read every row of a kind, in file order. Faults are added to `faults`; a faulty row is left out.
pub(crate) fn all<T: Stored>(conn: &Connection, faults: &mut Vec<PlanFault>) -> Vec<Found<T>> {
    let before = faults.len();
    match try_all(conn, faults) {
        Ok(rows) => rows,
        Err(source) if faults.len() == before || matches!(source, rusqlite::Error::SqliteFailure(..)) => {
            faults.push(PlanFault::table(T::TABLE.name, "a table that can be read", source.to_string(), RESTORE));
            Vec::new()
        }
        Err(_) => Vec::new(),
    }
}

fn try_all<T: Stored>(conn: &Connection, faults: &mut Vec<PlanFault>) -> rusqlite::Result<Vec<Found<T>>> {
    let table = T::TABLE;
    if !columns_stand(conn, table, faults)? {
        return Ok(Vec::new());
    }
    let names: Vec<String> = table.columns.iter().map(|c| format!("\"{}\"", c.name)).collect();
    let mut select = conn.prepare(&format!("SELECT fid, {} FROM \"{}\" ORDER BY fid", names.join(", "), table.name))?;
    let mut rows = select.query([])?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        let fid: i64 = row.get(0)?;
        let values = (1..=table.columns.len()).map(|at| value(row, at)).collect::<rusqlite::Result<Vec<_>>>()?;
        let row = Row { table, fid, values: &values };
        let wrong = row.faults();
        if wrong.is_empty() {
            let has_id = !table.has_id() || row.text_maybe("id").is_some_and(|id| !id.is_empty());
            found.extend(T::read(&row).map(|thing| Found { fid, has_id, thing }));
        } else {
            faults.extend(wrong);
        }
    }
    let mut things: Vec<T> = Vec::with_capacity(found.len());
    let mut places = Vec::with_capacity(found.len());
    for row in found {
        things.push(row.thing);
        places.push((row.fid, row.has_id));
    }
    T::number(&mut things);
    let rows = places.into_iter().zip(things).map(|((fid, has_id), thing)| Found { fid, has_id, thing }).collect();
    unlike_ids(&rows, faults);
    Ok(rows)
}

/// A value; text that is not UTF-8 becomes bytes, which no text column accepts.
fn value(row: &rusqlite::Row, at: usize) -> rusqlite::Result<Value> {
    let raw = row.get_ref(at)?;
    Ok(match raw {
        rusqlite::types::ValueRef::Text(bytes) => match std::str::from_utf8(bytes) {
            Ok(text) => Value::Text(text.into()),
            Err(_) => Value::Blob(bytes.into()),
        },
        other => other.try_into().unwrap_or(Value::Null),
    })
}

/// Check that the table and its columns are there.
fn columns_stand(conn: &Connection, table: &'static Table, faults: &mut Vec<PlanFault>) -> rusqlite::Result<bool> {
    let mut select = conn.prepare("SELECT name FROM pragma_table_info(?1)")?;
    let there: HashSet<String> = select.query_map([table.name], |row| row.get(0))?.collect::<Result<_, _>>()?;
    if there.is_empty() {
        faults.push(PlanFault::table(table.name, "the table", "no such table", RESTORE));
        return Ok(false);
    }
    let missing: Vec<_> = std::iter::once("fid")
        .chain(table.columns.iter().map(|c| c.name))
        .filter(|name| !there.contains(*name))
        .collect();
    for name in &missing {
        let hint = "add the column again in a GIS or with `sqlite3`; `docs/plan-file.md` gives its type";
        let mut fault = PlanFault::table(table.name, "the column", "no such column", hint);
        fault.column = Some((*name).into());
        faults.push(fault);
    }
    Ok(missing.is_empty())
}

fn unlike_ids<T: Stored>(rows: &Vec<Found<T>>, faults: &mut Vec<PlanFault>) {
    if T::TABLE.shape().is_some() && !T::TABLE.has_id() {
        return; // the boundary, where several rows are one
    }
    let mut seen = HashSet::new();
    for row in rows {
        let key = row.thing.key();
        if !seen.insert(key.clone()) {
            let mut fault = PlanFault::table(T::TABLE.name, "an id of its own", format!("`{key}` a second time"), "give one of the rows another id");
            (fault.row, fault.id) = (Some(row.fid), Some(key));
            faults.push(fault);
        }
    }
}
