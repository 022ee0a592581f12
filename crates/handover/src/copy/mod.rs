//! The results as a GeoPackage: leks, findings by kind of shape, patches and woods with what each season finds on them,
//! and the ledger as a plain table; beside it the measures of an option as one of their own ([`measures`]). Where places are withheld a lek is the middle of its kilometre square.

pub mod measures;
mod patches;
mod store;

use crate::content::Content;
use crate::pack::Pack;
use crate::secrecy::Secrecy;
use geo_types::{Geometry, LineString, MultiLineString, MultiPoint, MultiPolygon};
use rusqlite::types::Value;
use store::{Feature, Store, Table};

/// Text of a cell.
fn text(value: &str) -> Value {
    Value::Text(value.to_owned())
}

/// A number of a cell; none where it is not finite.
fn real(value: f64) -> Value {
    if value.is_finite() { Value::Real(value) } else { Value::Null }
}

fn columns(list: &[(&str, &'static str)]) -> Vec<(String, &'static str)> {
    list.iter().map(|(name, kind)| ((*name).to_owned(), *kind)).collect()
}

/// The bytes of the copy.
///
/// # Errors
/// What the store says.
pub fn of(pack: &Pack, content: &Content) -> Result<Vec<u8>, String> {
    let sql = |e: rusqlite::Error| e.to_string();
    let store = Store::new(pack.holding.about.epsg, pack.today).map_err(sql)?;
    let secrecy = pack.secrecy();
    about(&store, content).map_err(sql)?;
    leks(&store, pack, content, &secrecy)?;
    ledger(&store, pack).map_err(sql)?;
    findings(&store, pack, content, &secrecy)?;
    patches::write(&store, pack, &secrecy)?;
    store.bytes().map_err(sql)
}

fn about(store: &Store, content: &Content) -> rusqlite::Result<()> {
    let table = Table {
        name: "about_results",
        title: "About these results",
        meaning: "What the results were made from, by key.".into(),
        columns: columns(&[("key", "TEXT NOT NULL"), ("value", "TEXT")]),
    };
    let rows = [
        ("holding", &content.name),
        ("area", &content.area),
        ("as_at", &content.as_at),
        ("printed", &content.today),
        ("figures_edition", &content.edition),
        ("draws", &content.draws),
        ("lek_places", &content.secrecy),
    ];
    store.attributes(&table, &rows.map(|(key, value)| vec![text(key), text(value)]))
}

fn leks(store: &Store, pack: &Pack, content: &Content, secrecy: &Secrecy) -> Result<(), String> {
    let meaning = if secrecy.withheld() {
        "Display grounds, each moved to the middle of the kilometre square it lies in: place withheld."
    } else {
        "Display grounds at their places: keep close."
    };
    let table = Table {
        name: "leks",
        title: "Leks",
        meaning: meaning.into(),
        columns: columns(&[
            ("lek", "TEXT"),
            ("name", "TEXT"),
            ("reference", "TEXT"),
            ("place", "TEXT"),
            ("cocks", "INTEGER"),
            ("counted", "INTEGER"),
            ("target_cocks", "INTEGER"),
            ("pinch", "TEXT"),
            ("pinch_short_draws", "INTEGER"),
            ("words", "TEXT"),
        ]),
    };
    let place = if secrecy.withheld() { "middle of the kilometre square, place withheld" } else { "exact" };
    let rows: Vec<Feature> = pack
        .assessment
        .leks
        .iter()
        .zip(&content.leks)
        .filter_map(|(ledger, words)| {
            let lek = pack.holding.leks.iter().find(|l| l.id == ledger.id)?;
            let short = ledger.seasons.iter().find(|s| s.season == ledger.pinch).map_or(0, |s| s.short_draws);
            let values = vec![
                text(&ledger.id),
                text(&ledger.name),
                text(&words.reference),
                text(place),
                ledger.cocks.map_or(Value::Null, |n| Value::Integer(n.into())),
                ledger.counted.map_or(Value::Null, |n| Value::Integer(n.into())),
                Value::Integer(ledger.target_cocks.into()),
                text(ledger.pinch.key()),
                Value::Integer(short as i64),
                text(&words.words),
            ];
            Some((Geometry::Point(secrecy.point(lek.at)), values))
        })
        .collect();
    store.features(&table, "POINT", &rows)
}

fn ledger(store: &Store, pack: &Pack) -> rusqlite::Result<()> {
    let mut names = vec![("lek".to_owned(), "TEXT"), ("season".to_owned(), "TEXT")];
    for figure in ["supply_ha", "need_ha", "margin"] {
        names.extend(["p10", "p50", "p90"].map(|q| (format!("{figure}_{q}"), "REAL")));
    }
    names.extend(columns(&[("short_fraction", "REAL"), ("short_draws", "INTEGER"), ("shortfall_ha", "REAL"), ("pinch", "BOOLEAN")]));
    let table = Table {
        name: "lek_seasons",
        title: "The ledger",
        meaning: "One row a lek and season: usable hectares given and needed, with the middle of the draws (p50) and the figures that one draw in ten falls below (p10) and one in ten goes above (p90).".into(),
        columns: names,
    };
    let mut rows = vec![];
    for lek in &pack.assessment.leks {
        for s in &lek.seasons {
            let mut row = vec![text(&lek.id), text(s.season.key())];
            for q in [s.supply_ha, s.need_ha, s.margin] {
                row.extend([q.p10, q.p50, q.p90].map(real));
            }
            row.extend([real(s.short_fraction), Value::Integer(s.short_draws as i64), real(s.shortfall_ha)]);
            row.push(Value::Integer(i64::from(s.season == lek.pinch)));
            rows.push(row);
        }
    }
    store.attributes(&table, &rows)
}

/// The parts of a shape: points, lines, areas.
fn parts(shape: &Geometry<f64>) -> (MultiPoint<f64>, MultiLineString<f64>, MultiPolygon<f64>) {
    let (mut points, mut lines, mut areas) = (MultiPoint(vec![]), MultiLineString(vec![]), MultiPolygon(vec![]));
    match shape {
        Geometry::Point(p) => points.0.push(*p),
        Geometry::MultiPoint(p) => points.0.extend(&p.0),
        Geometry::Line(l) => lines.0.push(LineString(vec![l.start, l.end])),
        Geometry::LineString(l) => lines.0.push(l.clone()),
        Geometry::MultiLineString(l) => lines.0.extend(l.0.clone()),
        Geometry::Polygon(p) => areas.0.push(p.clone()),
        Geometry::MultiPolygon(p) => areas.0.extend(p.0.clone()),
        Geometry::Rect(r) => areas.0.push(r.to_polygon()),
        Geometry::Triangle(t) => areas.0.push(t.to_polygon()),
        Geometry::GeometryCollection(all) => {
            for part in all {
                let (p, l, a) = parts(part);
                points.0.extend(p.0);
                lines.0.extend(l.0);
                areas.0.extend(a.0);
            }
        }
    }
    (points, lines, areas)
}

fn findings(store: &Store, pack: &Pack, content: &Content, secrecy: &Secrecy) -> Result<(), String> {
    let (mut points, mut lines, mut areas): (Vec<Feature>, Vec<Feature>, Vec<Feature>) = (vec![], vec![], vec![]);
    for (finding, words) in pack.ordered_findings().iter().zip(&content.findings) {
        let (shape, withheld) = secrecy.shape(finding);
        let values = vec![
            Value::Integer(words.number as i64),
            text(words.rule),
            text(words.severity),
            text(&words.what),
            text(&words.place),
            text(&words.value),
            text(&words.needed),
            text(&words.why),
            text(&words.hint),
            text(&words.source),
            text(words.grade),
            text(&words.edition),
            text(if withheld { "kilometre square of the lek, place withheld" } else { "as found" }),
        ];
        let (p, l, a) = parts(&shape);
        if !p.0.is_empty() {
            points.push((Geometry::MultiPoint(p), values.clone()));
        }
        if !l.0.is_empty() {
            lines.push((Geometry::MultiLineString(l), values.clone()));
        }
        if !a.0.is_empty() {
            areas.push((Geometry::MultiPolygon(a), values));
        }
    }
    let named = |name, title| Table {
        name,
        title,
        meaning: "What the rules found, numbered as on paper.".into(),
        columns: columns(&[
            ("number", "INTEGER"),
            ("rule", "TEXT"),
            ("severity", "TEXT"),
            ("what", "TEXT"),
            ("place", "TEXT"),
            ("value", "TEXT"),
            ("needed", "TEXT"),
            ("why", "TEXT"),
            ("hint", "TEXT"),
            ("source", "TEXT"),
            ("grade", "TEXT"),
            ("edition", "TEXT"),
            ("shape", "TEXT"),
        ]),
    };
    store.features(&named("finding_points", "Findings: points"), "MULTIPOINT", &points)?;
    store.features(&named("finding_lines", "Findings: lines"), "MULTILINESTRING", &lines)?;
    store.features(&named("finding_areas", "Findings: areas"), "MULTIPOLYGON", &areas)
}
