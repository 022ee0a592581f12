//! Points and visits: leks, dawn visits, stick heights, peat probes.

use super::{Ids, Reading, Row, Values};
use crate::model::{Holding, Lek, Probe, Stick, Visit};
use geo_types::Point;

/// Lengths beyond these are slips of the unit.
const LEK_MAX_M: f64 = 1000.0;
const STICK_MAX_CM: f64 = 600.0;
const PEAT_MAX_CM: f64 = 1500.0;

pub(super) fn lek(id: String, at: Point<f64>, v: &mut Values<'_, '_>) -> Option<Lek> {
    Some(Lek {
        id,
        name: v.text("name"),
        at,
        radius_m: v.length("radius_m", LEK_MAX_M).map(f64::from),
        target_cocks: v.count("target_cocks"),
        extra: v.extra(),
    })
}

pub(super) fn stick(id: String, at: Point<f64>, v: &mut Values<'_, '_>) -> Option<Stick> {
    let height_cm = needed_length("height_cm", STICK_MAX_CM, v);
    let (date, note) = (v.date("date"), v.text("note"));
    Some(Stick { id, at, height_cm: height_cm?, date, note })
}

pub(super) fn probe(id: String, at: Point<f64>, v: &mut Values<'_, '_>) -> Option<Probe> {
    let depth_cm = needed_length("depth_cm", PEAT_MAX_CM, v);
    let date = v.date("date");
    Some(Probe { id, at, depth_cm: depth_cm?, date })
}

/// A length without which the row means nothing.
fn needed_length(field: &str, high: f64, v: &mut Values<'_, '_>) -> Option<f32> {
    if !v.has(field) {
        v.fault(field, "a figure in every row", "take rows without one out of the file");
        return None;
    }
    v.length(field, high)
}

/// Visits, each to a lek that the plan knows by id or by name.
pub(super) fn visits(rows: &[Row], reading: &mut Reading<'_>, ids: &mut Ids, holding: &Holding) -> Vec<Visit> {
    let mut all = Vec::new();
    for row in rows {
        let mut values = reading.row(row, None);
        let id = ids.next(&mut values);
        let v = &mut values;
        let lek = known(v, "lek", "lek", holding.leks.iter().map(|l| (l.id.as_str(), l.name.as_str())));
        if !v.has("date") {
            v.fault("date", "the day of the visit", "a count without a day cannot be used");
        }
        let date = v.date("date");
        let start = if v.has("start") { v.time("start") } else { v.moment_time("date") };
        let (cocks, hens) = (v.count("cocks"), v.count("hens"));
        let (weather, note) = (v.text("weather"), v.text("note"));
        if let (Some(id), Some(lek), Some(date)) = (id, lek, date) {
            all.push(Visit { id, lek, date, start, cocks, hens, weather, note });
        }
    }
    all
}

/// The id of the feature a row speaks of, by its id or its name.
pub(super) fn known<'h>(
    v: &mut Values<'_, '_>,
    field: &str,
    what: &str,
    there: impl Iterator<Item = (&'h str, &'h str)> + Clone,
) -> Option<String> {
    let said = v.text(field);
    let found = there.clone().find(|(id, _)| *id == said).or_else(|| {
        there.clone().find(|(id, name)| id.eq_ignore_ascii_case(&said) || (!name.is_empty() && name.eq_ignore_ascii_case(&said)))
    });
    match found {
        Some((id, _)) if !said.is_empty() => Some(id.to_owned()),
        _ => {
            let mut names: Vec<&str> = there.map(|(id, name)| if name.is_empty() { id } else { name }).collect();
            let more = names.len().saturating_sub(8);
            names.truncate(8);
            let hint = match (names.is_empty(), more) {
                (true, _) => format!("import the {what}s first"),
                (false, 0) => format!("the plan has {}", names.join(", ")),
                (false, more) => format!("the plan has {} and {more} more", names.join(", ")),
            };
            v.fault(field, format!("a {what} of the plan, by id or name"), hint);
            None
        }
    }
}
