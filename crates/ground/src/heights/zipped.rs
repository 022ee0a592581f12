//! Zip archives of height files.
//!
//! Every entry ending in `.asc`, `.tif`, `.tiff`, `.xyz`, `.csv`, `.txt` or `.zip` is read in memory; nothing is
//! written, so paths in entry names are only names. Archives inside the archive are opened once more.
//! Unpacked bytes are counted as they come, whatever the entry claims, and held to the limits of the archive.

use std::io::{Cursor, Read};

use super::error::{HeightsError, one, shown};
use super::{Source, limits, sources_of};

const ENDINGS: [&str; 7] = [".asc", ".tif", ".tiff", ".xyz", ".csv", ".txt", ".zip"];

/// All height sources of an archive, in the order of its entries.
pub(super) fn read(file: &str, bytes: &[u8], depth: usize) -> Result<Vec<Source>, Vec<HeightsError>> {
    if depth >= limits::ARCHIVE_DEPTH_MAX {
        return Err(one(file, "", "archives lie too deep in archives", "at most one inside another", "a third", "unpack the archive first"));
    }
    let broken = |e: zip::result::ZipError| one(file, "", "the archive is broken", "a whole zip archive", e.to_string(), "fetch it again");
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(broken)?;
    if archive.len() > limits::ENTRIES_MAX {
        return Err(one(
            file,
            "",
            "the archive has too many entries",
            format!("at most {}", limits::ENTRIES_MAX),
            archive.len().to_string(),
            "pick out the tiles in hand",
        ));
    }
    let mut budget = (bytes.len() as u64 * limits::UNPACKED_RATIO_MAX).clamp(limits::UNPACKED_ALWAYS, limits::BYTES_MAX);
    let mut sources = Vec::new();
    let mut faults = Vec::new();
    for index in 0..archive.len() {
        match unpack(file, &mut archive, index, &mut budget) {
            Ok(None) => {}
            Ok(Some((name, body))) => match sources_of(&name, &body, depth + 1) {
                Ok(more) => sources.extend(more),
                Err(more) => faults.extend(more),
            },
            Err(more) => {
                faults.extend(more);
                if budget == 0 {
                    break;
                }
            }
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    if sources.is_empty() {
        return Err(one(
            file,
            "",
            "the archive holds no height file",
            "an entry ending in .asc, .tif or .xyz",
            format!("{} entries of other kinds", archive.len()),
            "check that this is the right archive",
        ));
    }
    Ok(sources)
}

type Unpacked = Option<(String, Vec<u8>)>;

/// One entry's name and bytes, `None` when it is no height file. `budget` falls by what was unpacked.
fn unpack(file: &str, archive: &mut zip::ZipArchive<Cursor<&[u8]>>, index: usize, budget: &mut u64) -> Result<Unpacked, Vec<HeightsError>> {
    let broken = |e: &dyn std::fmt::Display| {
        one(file, format!("entry {}", index + 1), "an entry cannot be unpacked", "a plain or deflated entry without password", e.to_string(), "pack the files again")
    };
    let mut entry = archive.by_index(index).map_err(|e| broken(&e))?;
    let inner = String::from_utf8_lossy(entry.name_raw()).into_owned();
    let lower = inner.to_ascii_lowercase();
    // Some packers leave hidden companions named like the real files.
    let hidden = lower.starts_with("__macosx/") || lower.rsplit('/').next().is_some_and(|n| n.starts_with('.'));
    if entry.is_dir() || hidden || !ENDINGS.iter().any(|e| lower.ends_with(e)) {
        return Ok(None);
    }
    let shown_name = shown(inner.as_bytes());
    let name = format!("{file}/{}", shown_name.trim_matches('`'));
    let too_much = |found: String, allowed: u64| {
        one(&name, "", "the archive unpacks to too much", format!("at most {allowed} bytes more"), found, "this looks like a broken or hostile archive; unpack it by hand if you trust it")
    };
    let allowed = *budget;
    if entry.size() > allowed {
        *budget = 0;
        return Err(too_much(format!("an entry claiming {} bytes", entry.size()), allowed));
    }
    let mut body = Vec::new();
    entry.by_ref().take(allowed + 1).read_to_end(&mut body).map_err(|e| broken(&e))?;
    if body.len() as u64 > allowed {
        *budget = 0;
        return Err(too_much("more than that".into(), allowed));
    }
    *budget -= body.len() as u64;
    Ok(Some((name, body)))
}
