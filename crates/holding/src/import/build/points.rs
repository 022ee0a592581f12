//! Points: leks, stick heights, peat probes; and features that rows name.

use super::Values;
use crate::model::{Lek, Probe, Stick};
use geo_types::Point;
use std::collections::HashMap;

/// Names given in a message; the rest are only counted.
const NAMES_SHOWN: usize = 8;

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

/// Features that rows speak of, by id and by name.
pub(super) struct Known {
    what: &'static str,
    ids: HashMap<String, String>,
    names: HashMap<String, String>,
    shown: String,
}

impl Known {
    /// From ids and names, in order; the first of several of one name stands for it.
    pub fn new<'h>(what: &'static str, there: impl Iterator<Item = (&'h str, &'h str)>) -> Self {
        let (mut ids, mut names, mut shown, mut count) = (HashMap::new(), HashMap::new(), Vec::new(), 0);
        for (id, name) in there {
            ids.insert(id.to_owned(), id.to_owned());
            for key in [id, name] {
                names.entry(key.to_lowercase()).or_insert_with(|| id.to_owned());
            }
            if count < NAMES_SHOWN {
                shown.push(if name.is_empty() { id } else { name });
            }
            count += 1;
        }
        let shown = match count {
            0 => format!("import the {what}s first"),
            n if n > NAMES_SHOWN => format!("the plan has {} and {} more", shown.join(", "), n - NAMES_SHOWN),
            _ => format!("the plan has {}", shown.join(", ")),
        };
        names.remove("");
        Self { what, ids, names, shown }
    }

    /// The id of the feature a row speaks of, by its id or its name.
    pub fn id(&self, v: &mut Values<'_, '_>, field: &str) -> Option<String> {
        let said = v.text(field);
        let found = self.ids.get(&said).or_else(|| self.names.get(&said.to_lowercase()));
        if found.is_none() {
            v.fault(field, format!("a {} of the plan, by id or name", self.what), &self.shown);
        }
        found.cloned()
    }
}
