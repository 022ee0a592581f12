//! What came in from the field: received once, whatever is sent again; photographs beside.

use super::fault::{PlanError, RESTORE};
use super::step::Step;
use super::{Plan, PlanFault, base, read};
use crate::field::FieldEntry;
use crate::words::Word;
use rusqlite::{Connection, OptionalExtension, params};

/// The first schema that has entries from the field.
const SINCE: u32 = 5;

const PHOTOS: &str = "
CREATE TABLE field_photos (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  entry_id TEXT NOT NULL UNIQUE,
  jpeg BLOB NOT NULL
);
";

/// Make the table of photographs, and register it.
pub(crate) fn add_photos(conn: &Connection) -> rusqlite::Result<()> {
    conn.execute_batch(PHOTOS)?;
    base::register(conn, "field_photos", "Photographs from the field", "One JPEG an entry from the field, by the entry's `id`.", None)
}

impl Plan {
    /// Every entry from the field, in the order they came.
    ///
    /// # Errors
    /// Every row that cannot be read.
    pub fn field_entries(&self) -> Result<Vec<FieldEntry>, PlanError> {
        if self.schema() < SINCE {
            return Ok(Vec::new());
        }
        let mut faults: Vec<PlanFault> = Vec::new();
        let rows = read::all::<FieldEntry>(&self.conn, &mut faults);
        if faults.is_empty() { Ok(rows.into_iter().map(|row| row.thing).collect()) } else { Err(PlanError::Faults(faults)) }
    }

    /// The photograph of an entry; `None` where it has none.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn field_photo(&self, entry: &str) -> Result<Option<Vec<u8>>, PlanError> {
        if self.schema() < SINCE {
            return Ok(None);
        }
        let found = self.conn.query_row("SELECT jpeg FROM field_photos WHERE entry_id = ?1", [entry], |row| row.get(0)).optional();
        found.map_err(PlanError::engine("reading a photograph"))
    }
}

impl Step<'_> {
    /// The entry with an id, where it has come in before.
    ///
    /// # Errors
    /// Where the file, or the row, cannot be read.
    pub fn field_entry(&self, id: &str) -> Result<Option<FieldEntry>, PlanError> {
        let failed = || PlanError::engine("reading `field_entries`");
        if self.fid_of::<FieldEntry>(id).map_err(failed())?.is_none() {
            return Ok(None);
        }
        let mut faults = Vec::new();
        let rows = read::all::<FieldEntry>(self.conn, &mut faults);
        match rows.into_iter().map(|row| row.thing).find(|entry| entry.id == id) {
            Some(entry) => Ok(Some(entry)),
            None => Err(PlanError::Faults(vec![PlanFault::table("field_entries", "a row that can be read", "one that cannot".to_owned(), RESTORE)])),
        }
    }

    /// Note how an entry stands. This is not undone.
    ///
    /// # Errors
    /// Values that do not fit.
    pub fn amend_field_entry(&mut self, entry: &FieldEntry) -> Result<(), PlanError> {
        let sql = "UPDATE field_entries SET state = ?2, why = ?3, became = ?4 WHERE id = ?1";
        let empty = |text: &str| (!text.is_empty()).then(|| text.to_owned());
        let values = params![entry.id, entry.state.word(), empty(&entry.why), empty(&entry.became)];
        self.conn.execute(sql, values).map_err(PlanError::engine("writing to `field_entries`"))?;
        Ok(())
    }

    /// Take in an entry that came from the field, with its photograph. What came in is not undone: only what is made of it is.
    ///
    /// # Errors
    /// Values that do not fit, and an id that is there already.
    pub fn receive(&mut self, entry: &FieldEntry, jpeg: Option<&[u8]>) -> Result<(), PlanError> {
        self.put_unrecorded(entry)?;
        let Some(jpeg) = jpeg else { return Ok(()) };
        let failed = PlanError::engine("writing to `field_photos`");
        self.conn.execute("INSERT INTO field_photos (entry_id, jpeg) VALUES (?1, ?2)", params![entry.id, jpeg]).map_err(failed)?;
        Ok(())
    }
}

