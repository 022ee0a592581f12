//! Guards against files that claim or unfold to more than a holding can be.
//!
//! The limits are the program's own, far above any real holding; they are no figures of the trade.

use super::fault::ImportFault;
use std::io::{Cursor, Read};

/// Largest file read, bytes.
pub(super) const FILE_MAX: u64 = 256 * 1024 * 1024;
/// Largest total a zip archive may unfold to, bytes.
pub(super) const UNZIPPED_MAX: u64 = 512 * 1024 * 1024;
/// A packed file that unfolds to more than this is looked at for its ratio, bytes.
const RATIO_FROM: u64 = 64 * 1024 * 1024;
/// Most that a packed file may unfold to, as a multiple of its packed size, once it is large.
const RATIO_MAX: u64 = 200;
/// Most entries in a zip archive.
pub(super) const ENTRIES_MAX: usize = 2_000;
/// Most rows in a source.
pub(super) const ROWS_MAX: usize = 1_000_000;
/// Most columns in a source.
pub(super) const COLUMNS_MAX: usize = 2_000;
/// Most values in a source.
pub(super) const CELLS_MAX: usize = 20_000_000;
/// Longest text taken into a name or note, characters.
pub(super) const TEXT_MAX: usize = 20_000;
/// Deepest nesting of geometry collections.
pub(super) const DEPTH_MAX: usize = 8;

/// A size in words a person reads.
pub(super) fn size_words(bytes: u64) -> String {
    if bytes >= 1 << 30 {
        format!("{:.1} GB", bytes as f64 / f64::from(1 << 30))
    } else if bytes >= 1 << 20 {
        format!("{:.1} MB", bytes as f64 / f64::from(1 << 20))
    } else {
        format!("{bytes} bytes")
    }
}

/// The fault of a file that is too large.
pub(super) fn too_large(what: &str, limit: u64, found: u64) -> ImportFault {
    ImportFault::new(format!("{what} of at most {}", size_words(limit)), size_words(found))
        .hint("split the file, or leave out what lies off the holding")
}

/// A file of a zip archive, unfolded.
pub(super) struct Entry {
    pub name: String,
    pub bytes: Vec<u8>,
}

/// Unfold a zip archive into memory, refusing bombs: the claims are summed first, then the bytes that truly come.
pub(super) fn unzip(bytes: &[u8]) -> Result<Vec<Entry>, ImportFault> {
    let damaged = |why: String| {
        ImportFault::new("a whole zip archive", why).hint("the file may be cut short: copy or download it again")
    };
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|e| damaged(e.to_string()))?;
    if archive.len() > ENTRIES_MAX {
        return Err(ImportFault::new(
            format!("a zip archive of at most {ENTRIES_MAX} files"),
            format!("{} files", archive.len()),
        )
        .hint("zip only the files of the one layer"));
    }
    let mut claimed = 0_u64;
    for at in 0..archive.len() {
        let entry = archive.by_index_raw(at).map_err(|e| damaged(e.to_string()))?;
        claimed = claimed.saturating_add(entry.size());
    }
    if claimed > UNZIPPED_MAX {
        return Err(too_large("a zip archive that unfolds to a total", UNZIPPED_MAX, claimed));
    }
    let mut left = UNZIPPED_MAX;
    let mut entries = Vec::new();
    for at in 0..archive.len() {
        let entry = archive.by_index(at).map_err(|e| damaged(e.to_string()))?;
        if entry.is_dir() {
            continue;
        }
        let name = entry.name().map_err(|e| damaged(e.to_string()))?.into_owned();
        let most = left.min(RATIO_FROM.max(entry.compressed_size().saturating_mul(RATIO_MAX)));
        if entry.size() > most {
            return Err(bomb(&name, most));
        }
        let mut unfolded = Vec::new();
        entry.take(most + 1).read_to_end(&mut unfolded).map_err(|e| damaged(format!("`{name}`: {e}")))?;
        let size = unfolded.len() as u64;
        if size > most {
            return Err(bomb(&name, most));
        }
        left -= size;
        entries.push(Entry { name, bytes: unfolded });
    }
    Ok(entries)
}

fn bomb(name: &str, most: u64) -> ImportFault {
    ImportFault::new(format!("a file that unfolds to at most {}", size_words(most)), format!("`{name}`, which unfolds to more"))
        .hint("nothing surveyed packs so small: the archive is broken, or was made to do harm")
}
