//! What was done to the plan, so that it can be taken back and done again, kept in the plan itself.
//!
//! Each step notes, for every row it writes, the row's number now and what the row was before, column by column, also the columns the
//! tool does not know. Taking a step back puts those rows back, newest first, and notes what they were in between: that is what doing
//! it again needs. A row that somebody else changed since is never written over: its mark no longer fits, and the step stays.

use super::fault::{PlanError, PlanFault, RESTORE};
use super::{base, clock, kind};
use rusqlite::types::{Value, ValueRef};
use rusqlite::{Connection, OptionalExtension, params, params_from_iter};
use serde_json::{Map, Value as Json, json};
use std::collections::{BTreeMap, HashMap};

/// The first schema that has a history.
pub(crate) const SINCE: u32 = 5;

/// Steps kept.
const STEPS_MAX: i64 = 200;
/// What older steps than the newest may take in the file, bytes.
const BYTES_MAX: i64 = 32 << 20;

const LAYOUT: &str = "
CREATE TABLE greyhen_history (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  label TEXT NOT NULL,
  done_at DATETIME NOT NULL,
  taken_back BOOLEAN NOT NULL CHECK (taken_back IN (0, 1)),
  bytes INTEGER NOT NULL
);
CREATE TABLE greyhen_history_rows (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  step INTEGER NOT NULL,
  table_name TEXT NOT NULL,
  row_fid INTEGER,
  row_mark TEXT,
  was TEXT
);
CREATE INDEX greyhen_history_rows_step ON greyhen_history_rows (step);
";

/// Make the tables of the history, and register them.
pub(crate) fn add(conn: &Connection) -> rusqlite::Result<()> {
    conn.execute_batch(LAYOUT)?;
    base::register(conn, "greyhen_history", "History", "What was done to the plan, one row a step, so that it can be taken back.", None)?;
    base::register(conn, "greyhen_history_rows", "History of rows", "What the rows of each step were before it.", None)
}

/// Make the history anew where somebody took its tables out of the file: without them nothing could be written.
pub(crate) fn mend(conn: &Connection) -> rusqlite::Result<()> {
    let sql = "SELECT COUNT(*) FROM sqlite_master WHERE type = 'table' AND name IN ('greyhen_history', 'greyhen_history_rows')";
    if conn.query_row(sql, [], |row| row.get::<_, i64>(0))? == 2 {
        return Ok(());
    }
    conn.execute_batch(
        "DROP TABLE IF EXISTS greyhen_history; DROP TABLE IF EXISTS greyhen_history_rows;
         DELETE FROM gpkg_contents WHERE table_name IN ('greyhen_history', 'greyhen_history_rows');",
    )?;
    add(conn)
}

/// What can be taken back and done again, in words.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct History {
    /// The step that would be taken back; `None`: nothing can be.
    pub undo: Option<String>,
    /// The step that would be done again.
    pub redo: Option<String>,
}

/// A step taken back or done again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Turned {
    /// The step, in words.
    pub label: String,
    /// Tables and ids of the rows it touches.
    pub rows: Vec<(String, String)>,
}

/// Which way to turn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Way {
    Back,
    Again,
}

impl Way {
    /// The step that is next this way: its number and label.
    fn next(self, conn: &Connection) -> rusqlite::Result<Option<(i64, String)>> {
        let sql = match self {
            Way::Back => "SELECT fid, SUBSTR(CAST(label AS TEXT), 1, 500) FROM greyhen_history WHERE taken_back = 0 ORDER BY fid DESC LIMIT 1",
            Way::Again => "SELECT fid, SUBSTR(CAST(label AS TEXT), 1, 500) FROM greyhen_history WHERE taken_back = 1 ORDER BY fid LIMIT 1",
        };
        conn.query_row(sql, [], |row| Ok((row.get(0)?, row.get(1)?))).optional()
    }
}

/// What can be taken back and done again.
pub(crate) fn told(conn: &Connection) -> rusqlite::Result<History> {
    let label = |way: Way| way.next(conn).map(|step| step.map(|(_, label)| label));
    Ok(History { undo: label(Way::Back)?, redo: label(Way::Again)? })
}

/// How one row is put back.
#[derive(Clone, Debug)]
struct Inverse {
    table: String,
    /// The row's number now; `None`: there is no such row now.
    now: Option<i64>,
    /// The mark of the row as it is now.
    mark: Option<String>,
    /// The row as it was; `None`: there was none.
    was: Option<String>,
}

/// Notes what a step does to rows.
#[derive(Debug, Default)]
pub(crate) struct Recorder {
    columns: HashMap<&'static str, Vec<String>>,
    inverses: Vec<Inverse>,
    forget: bool,
}

impl Recorder {
    /// The row as it is before it is written.
    pub(crate) fn before(&mut self, conn: &Connection, table: &'static str, fid: i64) -> rusqlite::Result<Option<String>> {
        let columns = match self.columns.get(table) {
            Some(columns) => columns,
            None => {
                let found = columns_of(conn, table)?;
                self.columns.entry(table).or_insert(found)
            }
        };
        row(conn, table, columns, fid)
    }

    /// Note that a row was written: what it was, and its number now.
    pub(crate) fn after(&mut self, conn: &Connection, table: &'static str, was: Option<String>, now: Option<i64>) -> rusqlite::Result<()> {
        let left = now.map(|fid| self.before(conn, table, fid)).transpose()?.flatten();
        if was.is_some() || left.is_some() {
            self.inverses.push(Inverse { table: table.into(), now, mark: left.as_deref().map(mark), was });
        }
        Ok(())
    }

    /// Note that something was done that cannot be taken back: what was done before cannot be either.
    pub(crate) fn forget(&mut self) {
        self.forget = true;
    }

    /// Write the step into the history.
    pub(crate) fn finish(self, conn: &Connection, label: &str) -> rusqlite::Result<()> {
        if self.forget {
            return conn.execute_batch("DELETE FROM greyhen_history; DELETE FROM greyhen_history_rows;");
        }
        if self.inverses.is_empty() {
            return Ok(());
        }
        // What was taken back before is not done again after this.
        conn.execute("DELETE FROM greyhen_history_rows WHERE step IN (SELECT fid FROM greyhen_history WHERE taken_back = 1)", [])?;
        conn.execute("DELETE FROM greyhen_history WHERE taken_back = 1", [])?;
        let insert = "INSERT INTO greyhen_history (label, done_at, taken_back, bytes) VALUES (?1, ?2, 0, 0)";
        conn.prepare_cached(insert)?.execute(params![label, clock::now()])?;
        let step = conn.last_insert_rowid();
        write(conn, step, &self.inverses)?;
        trim(conn)
    }
}

/// Take the last step back, or do the last one taken back again; `None` where there is none.
pub(crate) fn turn(conn: &Connection, way: Way) -> Result<Option<Turned>, PlanError> {
    let failed = || PlanError::engine(match way {
        Way::Back => "taking a step back",
        Way::Again => "doing a step again",
    });
    let Some((step, label)) = way.next(conn).map_err(failed())? else { return Ok(None) };
    let mut inverses = Vec::new();
    let mut rows = Vec::new();
    let mut columns: HashMap<&str, Vec<String>> = HashMap::new();
    for inverse in of_step(conn, step).map_err(failed())? {
        let table = writable(&inverse.table)?;
        if !columns.contains_key(table) {
            columns.insert(table, columns_of(conn, table).map_err(failed())?);
        }
        let known = &columns[table];
        let was = inverse.was.as_deref().map(|was| decode(table, known, was)).transpose()?;
        let was_fid = was.as_ref().and_then(|was| whole(was.first()?));
        let now = inverse.now.map(|fid| row(conn, table, known, fid)).transpose().map_err(failed())?.flatten();
        let in_the_way = || -> Result<bool, PlanError> {
            Ok(match was_fid.filter(|fid| inverse.now != Some(*fid)) {
                Some(fid) => row(conn, table, known, fid).map_err(failed())?.is_some(),
                None => false,
            })
        };
        if now.as_deref().map(mark) != inverse.mark || in_the_way()? {
            return Err(PlanError::Moved { label, table: table.into() });
        }
        rows.push(named(table, now.as_deref().or(inverse.was.as_deref())));
        put_back(conn, table, known, inverse.now, was.as_deref()).map_err(failed())?;
        let left = was_fid.map(|fid| row(conn, table, known, fid)).transpose().map_err(failed())?.flatten();
        inverses.push(Inverse { table: table.into(), now: was_fid, mark: left.as_deref().map(mark), was: now });
    }
    let taken_back = way == Way::Back;
    conn.execute("DELETE FROM greyhen_history_rows WHERE step = ?1", [step]).map_err(failed())?;
    write(conn, step, &inverses).map_err(failed())?;
    conn.execute("UPDATE greyhen_history SET taken_back = ?2 WHERE fid = ?1", params![step, taken_back]).map_err(failed())?;
    let tables: BTreeMap<&str, bool> = inverses.iter().map(|i| (i.table.as_str(), has_geometry(&i.table))).collect();
    for (table, has_geometry) in tables {
        base::stamp(conn, table, has_geometry).map_err(failed())?;
    }
    rows.sort();
    rows.dedup();
    Ok(Some(Turned { label, rows }))
}

fn has_geometry(table: &str) -> bool {
    kind::TABLES.iter().any(|t| t.name == table && t.shape().is_some())
}

/// Tables the history may write: what the file names is never trusted.
fn writable(table: &str) -> Result<&'static str, PlanError> {
    let known = kind::TABLES.iter().map(|t| t.name).chain(["about"]);
    known.into_iter().find(|name| *name == table).ok_or_else(|| unreadable(format!("the table `{table}`")))
}

fn unreadable(found: String) -> PlanError {
    PlanError::Faults(vec![PlanFault::table("greyhen_history_rows", "rows of the plan as they were", found, RESTORE)])
}

/// The rows of a step, newest first.
fn of_step(conn: &Connection, step: i64) -> rusqlite::Result<Vec<Inverse>> {
    let mut select = conn.prepare_cached("SELECT table_name, row_fid, row_mark, was FROM greyhen_history_rows WHERE step = ?1 ORDER BY fid DESC")?;
    let read = |row: &rusqlite::Row| Ok(Inverse { table: row.get(0)?, now: row.get(1)?, mark: row.get(2)?, was: row.get(3)? });
    select.query_map([step], read)?.collect()
}

fn write(conn: &Connection, step: i64, inverses: &[Inverse]) -> rusqlite::Result<()> {
    let mut insert = conn.prepare_cached("INSERT INTO greyhen_history_rows (step, table_name, row_fid, row_mark, was) VALUES (?1, ?2, ?3, ?4, ?5)")?;
    let mut bytes = 0;
    for inverse in inverses {
        insert.execute(params![step, inverse.table, inverse.now, inverse.mark, inverse.was])?;
        bytes += inverse.was.as_ref().map_or(0, String::len);
    }
    conn.execute("UPDATE greyhen_history SET bytes = ?2 WHERE fid = ?1", params![step, bytes as i64])?;
    Ok(())
}

/// Let go of the oldest steps. The newest stays, however large.
fn trim(conn: &Connection) -> rusqlite::Result<()> {
    let mut select = conn.prepare_cached("SELECT fid, bytes FROM greyhen_history ORDER BY fid DESC")?;
    let steps: Vec<(i64, i64)> = select.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
    let (mut kept, mut bytes) = (0, 0);
    for (step, size) in steps {
        (kept, bytes) = (kept + 1, bytes + size);
        if kept > STEPS_MAX || (kept > 1 && bytes > BYTES_MAX) {
            conn.execute("DELETE FROM greyhen_history_rows WHERE step <= ?1", [step])?;
            conn.execute("DELETE FROM greyhen_history WHERE fid <= ?1", [step])?;
            break;
        }
    }
    Ok(())
}

/// The columns of a table that hold values of their own, `fid` first.
fn columns_of(conn: &Connection, table: &str) -> rusqlite::Result<Vec<String>> {
    let mut select = conn.prepare_cached("SELECT name FROM pragma_table_info(?1) ORDER BY name <> 'fid', cid")?;
    select.query_map([table], |row| row.get(0))?.collect()
}

fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

/// A row as it is kept in the history; `None` where there is none.
fn row(conn: &Connection, table: &str, columns: &[String], fid: i64) -> rusqlite::Result<Option<String>> {
    let names: Vec<String> = columns.iter().map(|name| quoted(name)).collect();
    let mut select = conn.prepare_cached(&format!("SELECT {} FROM \"{table}\" WHERE fid = ?1", names.join(", ")))?;
    let read = |row: &rusqlite::Row| {
        let mut kept = Map::new();
        for (at, name) in columns.iter().enumerate() {
            kept.insert(name.clone(), encode(row.get_ref(at)?));
        }
        Ok(Json::Object(kept).to_string())
    };
    select.query_row([fid], read).optional()
}

/// A value so that it comes back exactly: JSON alone does not tell 1 from 1.0 everywhere, and knows no bytes.
fn encode(value: ValueRef) -> Json {
    match value {
        ValueRef::Null => Json::Null,
        ValueRef::Integer(v) => json!(v),
        ValueRef::Real(v) => json!({ "real": format!("{v:?}") }),
        ValueRef::Text(bytes) => match std::str::from_utf8(bytes) {
            Ok(text) => json!(text),
            Err(_) => json!({ "text": hex(bytes) }),
        },
        ValueRef::Blob(bytes) => json!({ "blob": hex(bytes) }),
    }
}

/// The values of a kept row, in the order of the columns; a column that is gone since is refused.
fn decode(table: &str, columns: &[String], kept: &str) -> Result<Vec<Value>, PlanError> {
    let bad = || unreadable(format!("a row of `{table}` that cannot be read"));
    let Ok(Json::Object(mut kept)) = serde_json::from_str(kept) else { return Err(bad()) };
    let values = columns.iter().map(|name| value(kept.remove(name).unwrap_or_default()).ok_or_else(bad)).collect::<Result<Vec<_>, _>>()?;
    match (values.first(), kept.is_empty()) {
        (Some(Value::Integer(_)), true) => Ok(values),
        _ => Err(bad()),
    }
}

fn value(kept: Json) -> Option<Value> {
    Some(match kept {
        Json::Null => Value::Null,
        Json::Number(v) => Value::Integer(v.as_i64()?),
        Json::String(text) => Value::Text(text),
        Json::Object(one) => match (one.get("real"), one.get("blob"), one.get("text")) {
            (Some(real), None, None) => Value::Real(real.as_str()?.parse().ok()?),
            (None, Some(blob), None) => Value::Blob(bytes(blob.as_str()?)?),
            // Text that is not UTF-8 cannot be bound as text; as bytes it reads the same, and is told as a fault the same.
            (None, None, Some(text)) => Value::Blob(bytes(text.as_str()?)?),
            _ => return None,
        },
        _ => return None,
    })
}

fn hex(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 16] = b"0123456789abcdef";
    let digit = |four: u8| char::from(DIGITS[usize::from(four & 15)]);
    let mut text = String::with_capacity(2 * bytes.len());
    bytes.iter().for_each(|byte| text.extend([digit(byte >> 4), digit(*byte)]));
    text
}

fn bytes(hex: &str) -> Option<Vec<u8>> {
    if !hex.is_ascii() || hex.len() % 2 == 1 {
        return None;
    }
    (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).ok()).collect()
}

fn whole(value: &Value) -> Option<i64> {
    match value {
        Value::Integer(fid) => Some(*fid),
        _ => None,
    }
}

/// A mark by which a row is known again: FNV-1a, 64 bits (Fowler, Noll, Vo 1991).
fn mark(kept: &str) -> String {
    let hash = kept.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3));
    format!("{hash:016x}")
}

/// Make the row what it was.
fn put_back(conn: &Connection, table: &str, columns: &[String], now: Option<i64>, was: Option<&[Value]>) -> rusqlite::Result<()> {
    let sql = match (now, was) {
        (None, None) => return Ok(()),
        (Some(fid), None) => return conn.execute(&format!("DELETE FROM \"{table}\" WHERE fid = ?1"), [fid]).map(|_| ()),
        (Some(fid), Some(_)) => {
            let sets: Vec<String> = columns.iter().enumerate().map(|(at, name)| format!("{} = ?{}", quoted(name), at + 1)).collect();
            format!("UPDATE \"{table}\" SET {} WHERE fid = {fid}", sets.join(", "))
        }
        (None, Some(_)) => {
            let names: Vec<String> = columns.iter().map(|name| quoted(name)).collect();
            let marks: Vec<String> = (1..=columns.len()).map(|at| format!("?{at}")).collect();
            format!("INSERT INTO \"{table}\" ({}) VALUES ({})", names.join(", "), marks.join(", "))
        }
    };
    conn.prepare_cached(&sql)?.execute(params_from_iter(was.unwrap_or_default())).map(|_| ())
}

/// Table and id of a row; trees are their wood's.
fn named(table: &str, kept: Option<&str>) -> (String, String) {
    let kept: Json = kept.and_then(|kept| serde_json::from_str(kept).ok()).unwrap_or_default();
    let (table, key) = match table {
        "wood_stems" => ("woods", "wood_id"),
        "options" => (table, "number"),
        "about" => (table, "key"),
        _ => (table, "id"),
    };
    let id = match &kept[key] {
        Json::String(text) if !text.is_empty() => text.clone(),
        Json::Number(number) => number.to_string(),
        _ => format!("{table}-{}", kept["fid"]),
    };
    (table.to_string(), id)
}
