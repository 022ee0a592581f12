//! The facts about the plan itself, kept by key.

use super::fault::PlanFault;
use crate::model::About;
use guidance::Country;
use rusqlite::{Connection, params};
use std::collections::HashMap;

/// Every key the plan knows, with its meaning, for `docs/plan-file.md`; keys it does not know are kept.
#[cfg(test)]
pub(crate) const KEYS: [(&str, &str); 8] = [
    ("name", "name of the holding"),
    ("country", "country whose codes and figures apply: GB, England, Scotland or Wales"),
    ("epsg", "EPSG number of the plan's projected, metric coordinate system"),
    ("cell_m", "cell of the plan's grids, metres"),
    ("blaeberry_taken", "whether the local birds take blaeberry: 1 yes, 0 no; missing means by country"),
    ("as_at", "the day the plan stands for, YYYY-MM-DD"),
    ("heights_source", "where the heights come from and what must be said of them"),
    ("note", "free text"),
];

fn fault(key: &str, needed: &str, found: &str) -> PlanFault {
    let mut fault = PlanFault::table("about", needed, found, "put the value right in a GIS or with `sqlite3`");
    fault.id = Some(key.into());
    fault.column = Some("value".into());
    fault
}

/// Read the facts; every fault found is added to `faults`.
pub(crate) fn read(conn: &Connection, faults: &mut Vec<PlanFault>) -> rusqlite::Result<About> {
    let mut select = conn.prepare("SELECT key, CAST(value AS TEXT) FROM about")?;
    let rows = select.query_map([], |row| Ok((row.get::<_, String>(0)?, row.get::<_, Option<String>>(1)?)))?;
    let kept: HashMap<String, Option<String>> = rows.collect::<Result<_, _>>()?;
    let text = |key: &str| kept.get(key).cloned().flatten().unwrap_or_default();
    let mut parsed = |key: &str, needed: &str, fits: &dyn Fn(&str) -> bool| match kept.get(key).cloned().flatten() {
        Some(found) if fits(&found) => Some(found),
        Some(found) => {
            faults.push(fault(key, needed, &format!("`{found}`")));
            None
        }
        None => None,
    };
    let standard = About::default();
    let country = parsed("country", "GB, England, Scotland or Wales", &|t| t.parse::<Country>().is_ok());
    let epsg = parsed("epsg", "the EPSG number of a projected system", &|t| t.parse::<u32>().is_ok());
    let cell_m = parsed("cell_m", "a cell size greater than 0 (metres)", &|t| {
        t.parse::<f64>().is_ok_and(|v| v.is_finite() && v > 0.0)
    });
    let blaeberry = parsed("blaeberry_taken", "0 or 1", &|t| matches!(t, "0" | "1"));
    let as_at = parsed("as_at", "a day as YYYY-MM-DD", &|t| super::column::date(t).is_some());
    Ok(About {
        name: text("name"),
        country: country.and_then(|t| t.parse().ok()).unwrap_or(standard.country),
        epsg: epsg.and_then(|t| t.parse().ok()).unwrap_or(standard.epsg),
        cell_m: cell_m.and_then(|t| t.parse().ok()).unwrap_or(standard.cell_m),
        blaeberry_taken: blaeberry.map(|t| t == "1"),
        as_at: as_at.as_deref().and_then(super::column::date),
        heights_source: text("heights_source"),
        note: text("note"),
    })
}

/// The facts as they are kept; `None` is not kept at all.
fn kept(about: &About) -> [(&'static str, Option<String>); 8] {
    let some = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    [
        ("name", some(&about.name)),
        ("country", Some(about.country.to_string())),
        ("epsg", Some(about.epsg.to_string())),
        ("cell_m", Some(about.cell_m.to_string())),
        ("blaeberry_taken", about.blaeberry_taken.map(|taken| u8::from(taken).to_string())),
        ("as_at", about.as_at.map(|day| day.format("%Y-%m-%d").to_string())),
        ("heights_source", some(&about.heights_source)),
        ("note", some(&about.note)),
    ]
}

/// What stands against keeping these facts.
pub(crate) fn refuses(about: &About) -> Vec<PlanFault> {
    let mut faults = Vec::new();
    if !(about.cell_m.is_finite() && about.cell_m > 0.0) {
        faults.push(fault("cell_m", "a cell size greater than 0 (metres)", &about.cell_m.to_string()));
    }
    if about.epsg == 0 || about.epsg > i32::MAX as u32 || matches!(about.epsg, 4326 | 4258 | 4277 | 4979) {
        faults.push(fault("epsg", "the EPSG number of a projected, metric system", &about.epsg.to_string()));
    }
    faults
}

/// Write what differs; the number of facts that did.
pub(crate) fn write(conn: &Connection, about: &About) -> rusqlite::Result<usize> {
    let mut changed = 0;
    for (key, value) in kept(about) {
        changed += match value {
            Some(value) => conn.execute(
                "INSERT INTO about (key, value) VALUES (?1, ?2)
                 ON CONFLICT (key) DO UPDATE SET value = excluded.value WHERE value IS NOT excluded.value",
                params![key, value],
            )?,
            None => conn.execute("DELETE FROM about WHERE key = ?1", params![key])?,
        };
    }
    Ok(changed)
}
