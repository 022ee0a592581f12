//! The features of a kind, with their attributes by field name.

use super::geojson::Feature;
use crate::import::Kind;
use crate::model::*;
use crate::words::Word;
use geo_types::Geometry;
use serde_json::{Map, Value, json};

/// Whether the places of leks go out. They are sensitive: a known display ground draws visitors.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Leks {
    /// Give their places out.
    Shown,
    /// Leave leks out.
    Hidden,
}

/// The features of a kind in a holding, in the holding's order; leks only where they are to be shown.
pub fn features(holding: &Holding, kind: Kind, leks: Leks) -> Vec<Feature> {
    match kind {
        Kind::Boundary => holding.boundary.iter().map(|shape| of("boundary", shape.clone(), vec![("name", json!(holding.about.name))], None)).collect(),
        Kind::Parcels => holding.parcels.iter().map(parcel).collect(),
        Kind::Patches => holding.patches.iter().map(patch).collect(),
        Kind::Woods => holding.woods.iter().map(wood).collect(),
        Kind::Leks if leks == Leks::Hidden => Vec::new(),
        Kind::Leks => holding.leks.iter().map(lek).collect(),
        Kind::Visits => holding.visits.iter().map(visit).collect(),
        Kind::Broods => holding.broods.iter().map(brood).collect(),
        Kind::Fences => holding.fences.iter().map(fence).collect(),
        Kind::Ditches => holding.ditches.iter().map(ditch).collect(),
        Kind::Watercourses => holding
            .watercourses
            .iter()
            .map(|w| of(&w.id, w.shape.clone(), vec![("name", json!(w.name)), ("width_m", json!(w.width_m))], Some(&w.extra)))
            .collect(),
        Kind::Tracks => holding
            .tracks
            .iter()
            .map(|t| of(&t.id, t.shape.clone(), vec![("name", json!(t.name)), ("kind", json!(t.kind.word()))], Some(&t.extra)))
            .collect(),
        Kind::Services => holding.services.iter().map(|s| of(&s.id, s.shape.clone(), vec![("kind", json!(s.kind))], Some(&s.extra))).collect(),
        Kind::Buildings => holding
            .buildings
            .iter()
            .map(|b| of(&b.id, b.shape.clone(), vec![("name", json!(b.name)), ("dwelling", json!(b.dwelling))], Some(&b.extra)))
            .collect(),
        Kind::Areas => holding
            .areas
            .iter()
            .map(|a| of(&a.id, a.shape.clone(), vec![("name", json!(a.name)), ("kind", json!(a.kind.word()))], Some(&a.extra)))
            .collect(),
        Kind::Sticks => holding
            .sticks
            .iter()
            .map(|s| of(&s.id, s.at, vec![("height_cm", json!(s.height_cm)), ("date", json!(s.date)), ("note", json!(s.note))], None))
            .collect(),
        Kind::Probes => holding
            .probes
            .iter()
            .map(|p| of(&p.id, p.at, vec![("depth_cm", json!(p.depth_cm)), ("date", json!(p.date))], None))
            .collect(),
        Kind::Stock => holding.stock.iter().map(stock).collect(),
        // Care of a lek lies on the lek.
        Kind::Measures => holding.measures.iter().filter(|m| leks == Leks::Shown || !m.facts.contains_key("lek") && m.kind != "lek_care").map(measure).collect(),
    }
}

/// A feature; what is not recorded is left out, and own names stand before attributes kept as they came.
fn of(id: &str, shape: impl Into<Geometry<f64>>, values: Vec<(&str, Value)>, extra: Option<&Extra>) -> Feature {
    Feature { geometry: Some(shape.into()), ..record(id, values, extra) }
}

fn record(id: &str, values: Vec<(&str, Value)>, extra: Option<&Extra>) -> Feature {
    let mut properties = Map::new();
    properties.insert("id".to_owned(), json!(id));
    for (name, value) in values {
        if !value.is_null() && value != json!("") {
            properties.insert(name.to_owned(), value);
        }
    }
    for (name, value) in extra.into_iter().flatten() {
        properties.entry(name.clone()).or_insert_with(|| value.clone());
    }
    Feature { id: id.to_owned(), geometry: None, properties }
}

fn parcel(p: &Parcel) -> Feature {
    let values = vec![("name", json!(p.name)), ("kind", json!(p.kind.word())), ("stubble", json!(p.stubble.map(Word::word)))];
    of(&p.id, p.shape.clone(), values, Some(&p.extra))
}

fn covers<'n>(covers: &Covers, names: &'n [String]) -> Vec<(&'n str, Value)> {
    Plant::ALL.iter().zip(names).map(|(plant, name)| (name.as_str(), json!(covers.of(*plant)))).collect()
}

fn patch(p: &Patch) -> Feature {
    let names = Plant::ALL.map(|plant| plant.key().to_owned());
    let mut values = vec![
        ("name", json!(p.name)),
        ("phase1", json!(p.phase1)),
        ("height_cm", json!(p.height_cm)),
        ("height_sd_cm", json!(p.height_sd_cm)),
        ("phase", json!(p.phase.map(Word::word))),
        ("heather_age_yr", json!(p.heather_age_yr)),
        ("flush", json!(p.flush)),
        ("wetness", json!(p.wetness)),
        ("surveyed", json!(p.surveyed)),
        ("coarse", json!(p.coarse)),
        ("note", json!(p.note)),
    ];
    values.extend(covers(&p.covers, &names));
    of(&p.id, p.shape.clone(), values, Some(&p.extra))
}

fn wood(w: &Wood) -> Feature {
    let names = Plant::ALL.map(|plant| format!("ground_{}", plant.key()));
    let species: Vec<String> = w.stems.iter().map(|s| format!("{} {}", s.tree.key(), s.stems_per_ha)).collect();
    // Height and age stand once for the wood; species of different heights keep the wood's own age alone.
    let same = |of: fn(&Stems) -> Option<f32>| {
        let first = w.stems.first().and_then(of);
        first.filter(|_| w.stems.iter().all(|s| of(s) == first))
    };
    let mut values = vec![
        ("name", json!(w.name)),
        ("planted", json!(w.planted)),
        ("species", json!(species.join(", "))),
        ("tree_height_m", json!(same(|s| s.height_m))),
        ("age_yr", json!(same(|s| s.age_yr))),
        ("canopy_pct", json!(w.canopy_pct)),
        ("open_pct", json!(w.open_pct)),
        ("ground_phase1", json!(w.ground_phase1)),
        ("feathered_edge", json!(w.feathered_edge)),
    ];
    values.extend(covers(&w.ground_covers, &names));
    of(&w.id, w.shape.clone(), values, Some(&w.extra))
}

fn lek(l: &Lek) -> Feature {
    let values = vec![("name", json!(l.name)), ("radius_m", json!(l.radius_m)), ("target_cocks", json!(l.target_cocks))];
    of(&l.id, l.at, values, Some(&l.extra))
}

fn visit(v: &Visit) -> Feature {
    let values = vec![
        ("lek", json!(v.lek)),
        ("date", json!(v.date)),
        ("start", json!(v.start.map(|t| t.format("%H:%M:%S").to_string()))),
        ("cocks", json!(v.cocks)),
        ("hens", json!(v.hens)),
        ("weather", json!(v.weather)),
        ("known_to", json!(Some(v.known_to).filter(|k| *k != KnownTo::Day).map(Word::word))),
        ("observer", json!(v.observer)),
        ("wind_beaufort", json!(v.wind_beaufort)),
        ("rain", json!(v.rain.map(Word::word))),
        ("note", json!(v.note)),
    ];
    record(&v.id, values, Some(&v.extra))
}

fn brood(b: &BroodCount) -> Feature {
    let values = vec![
        ("date", json!(b.date)),
        ("lek", json!(b.lek)),
        ("hens", json!(b.hens)),
        ("hens_with_brood", json!(b.hens_with_brood)),
        ("young", json!(b.young)),
        ("dogs", json!(b.dogs)),
        ("observer", json!(b.observer)),
        ("note", json!(b.note)),
    ];
    Feature { geometry: b.at.map(Into::into), ..record(&b.id, values, Some(&b.extra)) }
}

fn fence(f: &Fence) -> Feature {
    let values = vec![
        ("name", json!(f.name)),
        ("kind", json!(f.kind.word())),
        ("height_m", json!(f.height_m)),
        ("marking", json!(f.marking.word())),
    ];
    of(&f.id, f.shape.clone(), values, Some(&f.extra))
}

fn ditch(d: &Ditch) -> Feature {
    let values = vec![
        ("width_cm", json!(d.width_cm)),
        ("depth_cm", json!(d.depth_cm)),
        ("blocked", json!(d.blocked)),
        ("keep", json!(d.keep)),
    ];
    of(&d.id, d.shape.clone(), values, Some(&d.extra))
}

fn measure(m: &Measure) -> Feature {
    let values = vec![("kind", json!(m.kind)), ("option", json!(m.option)), ("year", json!(m.year))];
    let geometry = match (m.shape.0.is_empty(), m.line.0.is_empty()) {
        (false, _) => Some(m.shape.clone().into()),
        (true, false) => Some(m.line.clone().into()),
        (true, true) => None,
    };
    Feature { geometry, ..record(&m.id, values, Some(&m.facts)) }
}

fn stock(s: &Stock) -> Feature {
    const MONTHS: [&str; 12] = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];
    let mut values = vec![("parcel", json!(s.parcel)), ("class", json!(s.class.word()))];
    values.extend(MONTHS.iter().zip(s.head).map(|(month, head)| (*month, json!(head))));
    record(&s.id, values, None)
}
