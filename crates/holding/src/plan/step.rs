//! One step of work on a plan: everything in it is written, or nothing.

use super::fault::{PlanError, PlanFault};
use super::kind::{Outline, StemRow, Stored};
use super::row::{self, Draft};
use super::history::Recorder;
use super::{about, base, coverage, read, srs};
use crate::model::*;
use geo_types::MultiPolygon;
use ground::Grid;
use rusqlite::types::Value;
use rusqlite::{Connection, params, params_from_iter};
use std::collections::{BTreeMap, HashMap, HashSet};

/// How many rows a save added, changed and took out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Saved {
    /// Rows added.
    pub added: usize,
    /// Rows changed.
    pub changed: usize,
    /// Rows taken out.
    pub removed: usize,
    /// Whether the heights were written anew.
    pub heights: bool,
}

impl Saved {
    /// True where nothing had to be written.
    pub fn is_nothing(&self) -> bool {
        *self == Saved::default()
    }
}

/// A step under way. Dropped without an error it is committed as one transaction.
pub struct Step<'p> {
    pub(super) conn: &'p Connection,
    pub(super) epsg: u32,
    saved: Saved,
    /// Tables written, and whether they have geometry.
    touched: BTreeMap<&'static str, bool>,
    history: Recorder,
}

impl<'p> Step<'p> {
    pub(crate) fn new(conn: &'p Connection) -> Result<Self, PlanError> {
        let mut faults = Vec::new();
        let about = about::read(conn, &mut faults).map_err(PlanError::engine("reading about the plan"))?;
        Ok(Self { conn, epsg: about.epsg, saved: Saved::default(), touched: BTreeMap::new(), history: Recorder::default() })
    }

    /// Bring the register up to date with what was written, and note in the history what was done.
    pub(crate) fn finish(self, label: Option<&str>) -> rusqlite::Result<Saved> {
        for (table, has_geometry) in self.touched {
            base::stamp(self.conn, table, has_geometry)?;
        }
        label.map_or(Ok(()), |label| self.history.finish(self.conn, label))?;
        Ok(self.saved)
    }

    /// Tables written so far.
    pub fn touched(&self) -> impl Iterator<Item = &'static str> {
        self.touched.keys().copied()
    }

    /// Read the tables written so far into a holding that was read before them.
    ///
    /// # Errors
    /// Every row that cannot be read.
    pub fn reread(&self, holding: &mut Holding) -> Result<(), PlanError> {
        let mut faults = Vec::new();
        read::into(self.conn, holding, &|table| self.touched.contains_key(table), &mut faults);
        if faults.is_empty() { Ok(()) } else { Err(PlanError::Faults(faults)) }
    }

    /// What was written so far.
    pub fn saved(&self) -> Saved {
        self.saved
    }

    /// Write what differs between the plan and a whole holding.
    pub fn save(&mut self, holding: &Holding) -> Result<(), PlanError> {
        let mut faults = Vec::new();
        gather(self.set_about(&holding.about), &mut faults)?;
        gather(self.set_boundary(holding.boundary.as_ref()), &mut faults)?;
        macro_rules! kinds {
            ($($field:ident),*) => { $( gather(self.replace(&holding.$field), &mut faults)?; )* };
        }
        kinds!(parcels, patches, woods, leks, visits, broods, fences, ditches, watercourses, tracks, services, buildings);
        kinds!(areas, sticks, probes, stock, options, measures, crews, rates);
        gather(self.set_heights(holding.heights.as_ref()), &mut faults)?;
        if faults.is_empty() { Ok(()) } else { Err(PlanError::Faults(faults)) }
    }

    /// Set the facts about the plan. A change of coordinate system changes the name of the system everywhere;
    /// it does not move anything.
    pub fn set_about(&mut self, about: &About) -> Result<(), PlanError> {
        let faults = about::refuses(about);
        if !faults.is_empty() {
            return Err(PlanError::Faults(faults));
        }
        let doing = || PlanError::engine("writing about the plan");
        let before = self.facts().map_err(doing())?;
        let changed = about::write(self.conn, about).map_err(doing())?;
        if changed > 0 {
            self.saved.changed += changed;
            self.touched.insert("about", false);
            self.note_facts(before).map_err(doing())?;
        }
        if about.epsg != self.epsg {
            self.rename_system(about.epsg).map_err(doing())?;
        }
        Ok(())
    }

    /// Give the plan's coordinate system its full definition (well-known text, `PROJCS[...]`, metres). Needed only
    /// for systems the plan knows by number alone: all but the national grid and the UTM zones of WGS 84 and ETRS89.
    pub fn define_system(&mut self, wkt: &str) -> Result<(), PlanError> {
        if let Some(found) = srs::refuses(wkt) {
            let needed = "the well-known text of a projected system in metres";
            let fault = PlanFault::table("gpkg_spatial_ref_sys", needed, found, "take it from the system's entry in the EPSG dataset");
            return Err(PlanError::Faults(vec![fault]));
        }
        let sql = "UPDATE gpkg_spatial_ref_sys SET definition = ?2 WHERE srs_id = ?1";
        self.conn.execute(sql, params![self.epsg, wkt]).map_err(PlanError::engine("defining the coordinate system"))?;
        Ok(())
    }

    /// Note the guidance edition the plan is worked on with.
    pub(crate) fn note_guidance(&mut self, edition: &str) -> Result<(), PlanError> {
        let sql = "UPDATE greyhen_schema SET guidance_edition = ?1 WHERE fid = (SELECT MAX(fid) FROM greyhen_schema)";
        self.conn.execute(sql, params![edition]).map_err(PlanError::engine("noting the guidance edition"))?;
        self.touched.insert("greyhen_schema", false);
        Ok(())
    }

    /// The rows of facts about the plan, by number.
    fn facts(&mut self) -> rusqlite::Result<BTreeMap<i64, String>> {
        let numbers: Vec<i64> = self.conn.prepare("SELECT fid FROM about")?.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
        let mut rows = BTreeMap::new();
        for fid in numbers {
            rows.extend(self.history.before(self.conn, "about", fid)?.map(|row| (fid, row)));
        }
        Ok(rows)
    }

    /// Note which of those rows are not as they were.
    fn note_facts(&mut self, mut before: BTreeMap<i64, String>) -> rusqlite::Result<()> {
        for (fid, row) in self.facts()? {
            let was = before.remove(&fid);
            if was.as_ref() != Some(&row) {
                self.history.after(self.conn, "about", was, Some(fid))?;
            }
        }
        before.into_values().try_for_each(|was| self.history.after(self.conn, "about", Some(was), None))
    }

    fn rename_system(&mut self, epsg: u32) -> rusqlite::Result<()> {
        self.history.forget();
        srs::enter(self.conn, epsg)?;
        for table in super::kind::TABLES.iter().filter(|t| t.shape().is_some()) {
            let mut select = self.conn.prepare(&format!("SELECT fid, geom FROM \"{}\"", table.name))?;
            let rows = select.query_map([], |row| Ok((row.get::<_, i64>(0)?, row.get::<_, Option<Vec<u8>>>(1)?)))?;
            for (fid, blob) in rows.collect::<Result<Vec<_>, _>>()? {
                let Some(mut blob) = blob.filter(|b| b.len() >= 8) else { continue };
                let little = blob[3] & 1 == 1;
                blob[4..8].copy_from_slice(&if little { epsg.to_le_bytes() } else { epsg.to_be_bytes() });
                self.conn.execute(&format!("UPDATE \"{}\" SET geom = ?2 WHERE fid = ?1", table.name), params![fid, blob])?;
            }
            self.conn.execute("UPDATE gpkg_geometry_columns SET srs_id = ?2 WHERE table_name = ?1", params![table.name, epsg])?;
            self.conn.execute("UPDATE gpkg_contents SET srs_id = ?2 WHERE table_name = ?1", params![table.name, epsg])?;
        }
        self.conn.execute("UPDATE gpkg_contents SET srs_id = ?1 WHERE table_name = 'heights'", params![epsg])?;
        self.conn.execute("UPDATE gpkg_tile_matrix_set SET srs_id = ?1 WHERE table_name = 'heights'", params![epsg])?;
        self.epsg = epsg;
        Ok(())
    }

    /// Set the boundary, or take it out.
    pub fn set_boundary(&mut self, boundary: Option<&MultiPolygon<f64>>) -> Result<(), PlanError> {
        let there = self.boundary()?;
        if there.as_ref() == boundary {
            return Ok(());
        }
        let wanted: Vec<Outline> = boundary.cloned().map(Outline).into_iter().collect();
        self.write_difference(&wanted)
    }

    fn boundary(&self) -> Result<Option<MultiPolygon<f64>>, PlanError> {
        let rows = self.rows::<Outline>()?;
        Ok((!rows.is_empty()).then(|| MultiPolygon(rows.into_iter().flat_map(|row| row.thing.0.0).collect())))
    }

    /// Set the heights, or take them out.
    pub fn set_heights(&mut self, heights: Option<&Grid<f32>>) -> Result<(), PlanError> {
        if let Some(fault) = heights.and_then(coverage::refuses) {
            return Err(PlanError::Faults(vec![fault]));
        }
        let mut faults = Vec::new();
        let there = coverage::read(self.conn, &mut faults).map_err(PlanError::engine("reading the heights"))?;
        if faults.is_empty() && same_heights(there.as_ref(), heights) {
            return Ok(());
        }
        match heights {
            Some(grid) => coverage::write(self.conn, grid, self.epsg)?,
            None => coverage::clear(self.conn).map_err(PlanError::engine("taking the heights out"))?,
        }
        self.saved.heights = true;
        // Heights are too large to keep twice.
        self.history.forget();
        Ok(())
    }

    /// Make the rows of a kind equal to a list: rows that differ are changed, rows not in the list are taken out,
    /// the order becomes the list's. Columns the tool does not know keep their values.
    ///
    /// Fails with every value that does not fit, and where rows already in the plan are faulty.
    pub fn replace<T: Stored>(&mut self, wanted: &[T]) -> Result<(), PlanError> {
        self.write_difference(wanted)?;
        T::replace_parts(wanted, self)
    }

    /// Add a feature, or change the one with its id.
    pub fn put<T: Stored>(&mut self, thing: &T) -> Result<(), PlanError> {
        let values = self.checked(std::slice::from_ref(thing))?.remove(0);
        let failed = || PlanError::engine(format!("writing to `{}`", T::TABLE.name));
        match self.fid_of::<T>(&thing.key()).map_err(failed())? {
            Some(fid) => {
                let all: Vec<usize> = (0..values.len()).collect();
                self.update::<T>(fid, &all, &values).map_err(failed())?;
            }
            None => self.insert::<T>(&values).map_err(failed())?,
        }
        thing.put_parts(self)
    }

    /// Take a feature out; false where there is none with this id.
    pub fn remove<T: Stored>(&mut self, id: &str) -> Result<bool, PlanError> {
        let failed = || PlanError::engine(format!("taking a row out of `{}`", T::TABLE.name));
        let Some(fid) = self.fid_of::<T>(id).map_err(failed())? else { return Ok(false) };
        self.delete::<T>(fid).map_err(failed())?;
        T::remove_parts(id, self)?;
        Ok(true)
    }

    /// Make the trees of one wood equal to a list.
    pub(crate) fn replace_stems(&mut self, wood: &str, wanted: &[Stems]) -> Result<(), PlanError> {
        let mut all: Vec<StemRow> = self.rows::<StemRow>()?.into_iter().map(|row| row.thing).collect();
        all.retain(|row| row.wood != wood);
        all.extend(wanted.iter().enumerate().map(|(at, stems)| StemRow { wood: wood.into(), place: at + 1, stems: *stems }));
        self.write_difference(&all)
    }

    fn rows<T: Stored>(&self) -> Result<Vec<read::Found<T>>, PlanError> {
        let mut faults = Vec::new();
        let rows = read::all::<T>(self.conn, &mut faults);
        if faults.is_empty() { Ok(rows) } else { Err(PlanError::Faults(faults)) }
    }

    /// The values of each thing, checked; every value that does not fit, and every id used twice, is reported.
    fn checked<T: Stored>(&self, things: &[T]) -> Result<Vec<Vec<Value>>, PlanError> {
        let mut faults = Vec::new();
        let mut seen = HashSet::new();
        let mut all = Vec::with_capacity(things.len());
        for thing in things {
            let values = self.values(thing);
            faults.extend(row::check(T::TABLE, None, &values).into_iter().map(|mut fault| {
                fault.id = Some(thing.key());
                fault.hint = "put the value right before saving".into();
                fault
            }));
            let key = thing.key();
            if key.is_empty() || !seen.insert(key.clone()) {
                let found = if key.is_empty() { "none".into() } else { format!("`{key}` a second time") };
                let mut fault = PlanFault::table(T::TABLE.name, "an id of its own", found, "give each feature its own id");
                fault.id = Some(key);
                faults.push(fault);
            }
            all.push(values);
        }
        if faults.is_empty() { Ok(all) } else { Err(PlanError::Faults(faults)) }
    }

    fn values<T: Stored>(&self, thing: &T) -> Vec<Value> {
        let mut draft = Draft::new(T::TABLE, self.epsg);
        thing.write(&mut draft);
        draft.values
    }

    pub(crate) fn write_difference<T: Stored>(&mut self, wanted: &[T]) -> Result<(), PlanError> {
        let values = self.checked(wanted)?;
        let there = self.rows::<T>()?;
        let failed = || PlanError::engine(format!("writing to `{}`", T::TABLE.name));
        let keep: HashSet<String> = wanted.iter().map(Stored::key).collect();
        let mut by_key = HashMap::new();
        for row in &there {
            let key = row.thing.key();
            if keep.contains(&key) && !by_key.contains_key(&key) {
                by_key.insert(key, row);
            } else {
                self.delete::<T>(row.fid).map_err(failed())?;
            }
        }
        // New rows come last, so a row whose place in the list is not the place in the file gets a new number.
        let mut last = 0;
        let mut in_order = true;
        for (thing, values) in wanted.iter().zip(&values) {
            match by_key.get(&thing.key()) {
                Some(row) => {
                    in_order &= row.fid > last;
                    let fid = if in_order { row.fid } else { self.renumber::<T>(row.fid).map_err(failed())? };
                    last = last.max(fid);
                    let before = self.values(&row.thing);
                    let id_at = T::TABLE.index("id").filter(|_| !row.has_id);
                    let differ: Vec<usize> =
                        (0..values.len()).filter(|at| before[*at] != values[*at] || id_at == Some(*at)).collect();
                    if !differ.is_empty() {
                        self.update::<T>(fid, &differ, values).map_err(failed())?;
                    }
                }
                None => {
                    self.insert::<T>(values).map_err(failed())?;
                    last = i64::MAX;
                    in_order = false;
                }
            }
        }
        Ok(())
    }

    /// The row with an id, also where the id is only made from the row's number.
    pub(super) fn fid_of<T: Stored>(&self, id: &str) -> rusqlite::Result<Option<i64>> {
        use rusqlite::OptionalExtension;
        let table = T::TABLE;
        if !table.has_id() {
            let mut faults = Vec::new();
            return Ok(read::all::<T>(self.conn, &mut faults).into_iter().find(|row| row.thing.key() == id).map(|row| row.fid));
        }
        let numbered = id.strip_prefix(table.name).and_then(|rest| rest.strip_prefix('-')).and_then(|n| n.parse::<i64>().ok());
        let sql = format!("SELECT fid FROM \"{}\" WHERE id = ?1 OR (fid = ?2 AND IFNULL(id, '') = '') ORDER BY id IS NULL LIMIT 1", table.name);
        self.conn.prepare_cached(&sql)?.query_row(params![id, numbered], |row| row.get(0)).optional()
    }

    fn touch<T: Stored>(&mut self) {
        self.touched.insert(T::TABLE.name, T::TABLE.shape().is_some());
    }

    pub(super) fn insert<T: Stored>(&mut self, values: &[Value]) -> rusqlite::Result<()> {
        let names: Vec<String> = T::TABLE.columns.iter().map(|c| format!("\"{}\"", c.name)).collect();
        let marks: Vec<String> = (1..=names.len()).map(|at| format!("?{at}")).collect();
        let sql = format!("INSERT INTO \"{}\" ({}) VALUES ({})", T::TABLE.name, names.join(", "), marks.join(", "));
        self.conn.prepare_cached(&sql)?.execute(params_from_iter(values))?;
        self.history.after(self.conn, T::TABLE.name, None, Some(self.conn.last_insert_rowid()))?;
        self.saved.added += 1;
        self.touch::<T>();
        Ok(())
    }

    pub(super) fn update<T: Stored>(&mut self, fid: i64, at: &[usize], values: &[Value]) -> rusqlite::Result<()> {
        let sets: Vec<String> =
            at.iter().enumerate().map(|(n, at)| format!("\"{}\" = ?{}", T::TABLE.columns[*at].name, n + 1)).collect();
        let sql = format!("UPDATE \"{}\" SET {} WHERE fid = ?{}", T::TABLE.name, sets.join(", "), at.len() + 1);
        let was = self.history.before(self.conn, T::TABLE.name, fid)?;
        let number = Value::Integer(fid);
        let bound = at.iter().map(|at| &values[*at]).chain(std::iter::once(&number));
        self.conn.prepare_cached(&sql)?.execute(params_from_iter(bound))?;
        self.history.after(self.conn, T::TABLE.name, was, Some(fid))?;
        self.saved.changed += 1;
        self.touch::<T>();
        Ok(())
    }

    fn delete<T: Stored>(&mut self, fid: i64) -> rusqlite::Result<()> {
        let was = self.history.before(self.conn, T::TABLE.name, fid)?;
        self.conn.prepare_cached(&format!("DELETE FROM \"{}\" WHERE fid = ?1", T::TABLE.name))?.execute([fid])?;
        self.history.after(self.conn, T::TABLE.name, was, None)?;
        self.saved.removed += 1;
        self.touch::<T>();
        Ok(())
    }

    /// Give a row the next free number, which puts it last.
    fn renumber<T: Stored>(&mut self, fid: i64) -> rusqlite::Result<i64> {
        let table = T::TABLE.name;
        let next: i64 = self.conn.query_row(
            &format!(
                "SELECT 1 + MAX(IFNULL((SELECT seq FROM sqlite_sequence WHERE name = ?1), 0), IFNULL(MAX(fid), 0)) FROM \"{table}\""
            ),
            [table],
            |row| row.get(0),
        )?;
        let was = self.history.before(self.conn, table, fid)?;
        self.conn.execute(&format!("UPDATE \"{table}\" SET fid = ?2 WHERE fid = ?1"), params![fid, next])?;
        self.history.after(self.conn, table, was, Some(next))?;
        self.conn.execute("UPDATE sqlite_sequence SET seq = ?2 WHERE name = ?1", params![table, next])?;
        self.saved.changed += 1;
        self.touch::<T>();
        Ok(next)
    }
}

/// Keep faults to report them together; any other error ends the step at once.
fn gather(result: Result<(), PlanError>, faults: &mut Vec<PlanFault>) -> Result<(), PlanError> {
    match result {
        Err(PlanError::Faults(more)) => faults.extend(more),
        other => return other,
    }
    Ok(())
}

fn same_heights(a: Option<&Grid<f32>>, b: Option<&Grid<f32>>) -> bool {
    match (a, b) {
        (None, None) => true,
        (Some(a), Some(b)) => {
            a.frame == b.frame && a.cells.iter().zip(&b.cells).all(|(x, y)| x == y || (x.is_nan() && y.is_nan()))
        }
        _ => false,
    }
}
