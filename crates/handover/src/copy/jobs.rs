//! Measures of the option: shape, what, when, money. Where places are withheld, a measure that would give a lek away is the lek's
//! kilometre square, and its quantities are in bands.

use super::store::{Feature, Store, Table};
use super::{columns, real, text};
use crate::content::OptionText;
use crate::content::option::placed;
use crate::pack::Pack;
use crate::planned::Planned;
use crate::secrecy::Secrecy;
use geo::CoordsIter;
use rusqlite::types::Value;

/// Writes the table of measures; those without a place are left to the workbook.
pub fn write(store: &Store, pack: &Pack, planned: &Planned, option: &OptionText, secrecy: &Secrecy) -> Result<(), String> {
    let table = Table {
        name: "measures",
        title: "Measures",
        meaning: format!("Measures of {}, numbered as on paper. {}", option.name, option.money),
        columns: columns(&[
            ("number", "INTEGER"),
            ("id", "TEXT"),
            ("kind", "TEXT"),
            ("title", "TEXT"),
            ("place", "TEXT"),
            ("year", "INTEGER"),
            ("what", "TEXT"),
            ("how_much", "TEXT"),
            ("time_of_year", "TEXT"),
            ("gbp_low", "REAL"),
            ("gbp_usual", "REAL"),
            ("gbp_high", "REAL"),
            ("cost", "TEXT"),
            ("can_harm", "TEXT"),
            ("findings", "TEXT"),
            ("shape", "TEXT"),
        ]),
    };
    let mut rows: Vec<Feature> = vec![];
    let words = option.kinds.iter().flat_map(|k| &k.jobs);
    for ((job, place), said) in planned.jobs.iter().zip(placed(pack, secrecy)).zip(words) {
        if place.shape.coords_iter().next().is_none() {
            continue;
        }
        let found: Vec<String> = said.findings.iter().map(|(weight, what)| format!("{weight}: {what}")).collect();
        let mut row = vec![Value::Integer(said.number as i64), text(&said.id), text(job.entry.key), text(said.title), text(&said.place)];
        row.push(job.year.map_or(Value::Null, |y| Value::Integer(y.into())));
        row.extend([text(&said.what), text(&said.quantities.join("; ")), text(&said.window)]);
        row.extend(Planned::gbp(job).map(|gbp| if place.tied { Value::Null } else { real(gbp) }));
        row.extend([text(&said.cost), text(&said.harm.join(" ")), text(&found.join("; "))]);
        row.push(text(if place.kept_back.is_empty() { "as planned" } else { place.kept_back }));
        rows.push((place.shape, row));
    }
    store.features(&table, "GEOMETRY", &rows)
}
