//! Findings as the JSON others read: schema `greyhen.check/1`.
//!
//! Geometry is GeoJSON in the plane of the plan (metres, not longitude and latitude; a `crs` member says so). Unless leks
//! are to be shown, the geometry of a finding that gives a lek's place away is the kilometre square the lek lies in, and its
//! words are those of [`Finding::withheld`].

use crate::finding::Finding;
use geo::{CoordsIter, MapCoords};
use geo_types::{Coord, Geometry, Point, Rect};
use guidance::Guidance;
use holding::Holding;
use serde_json::{Value, json};

/// Name and version of the shape.
pub const SCHEMA: &str = "greyhen.check/1";

/// Side of the square that stands for a withheld place, metres.
const SQUARE_M: f64 = 1000.0;

/// The findings on a holding as one JSON document.
pub fn to_json(findings: &[Finding], guidance: &Guidance, holding: &Holding, show_leks: bool) -> Value {
    let items: Vec<Value> = findings.iter().map(|f| finding(f, guidance, holding, show_leks)).collect();
    json!({
        "schema": SCHEMA,
        "guidance_edition": guidance.edition(),
        "crs": { "epsg": holding.about.epsg, "note": "coordinates are metres in the plane of the plan, easting first, not longitude and latitude" },
        "leks_shown": show_leks,
        "findings": items,
    })
}

fn finding(found: &Finding, guidance: &Guidance, holding: &Holding, show_leks: bool) -> Value {
    let f = &if show_leks { found.clone() } else { found.withheld() };
    let blurred = f.lek.as_deref().filter(|_| !show_leks);
    let geometry = match blurred {
        Some(id) => holding.leks.iter().find(|l| l.id == id).map(|l| square(l.at)),
        None => Some(f.geometry.clone()),
    };
    let source: Vec<Value> = f
        .source
        .iter()
        .map(|key| {
            let row = guidance.rows_of(key).next();
            json!({
                "figure": key,
                "reference": row.and_then(|r| guidance.source(&r.source)).map(|s| s.reference()),
                "locator": row.map(|r| r.locator.as_str()),
                "grade": row.map(|r| r.grade),
            })
        })
        .collect();
    json!({
        "rule": f.rule,
        "measure": f.measure,
        "severity": f.severity,
        "what": f.what,
        "where": f.place,
        "lek": f.lek,
        "geometry": geometry.filter(|g| g.coords_count() > 0).map(|g| geojson(&g)),
        "blurred": blurred.is_some(),
        "value": f.value,
        "needed": f.needed,
        "why": f.why,
        "hint": f.hint,
        "source": source,
        "grade": f.grade,
        "edition": f.edition,
    })
}

/// The kilometre square a place lies in.
fn square(at: Point<f64>) -> Geometry<f64> {
    let corner = Coord { x: (at.x() / SQUARE_M).floor() * SQUARE_M, y: (at.y() / SQUARE_M).floor() * SQUARE_M };
    Rect::new(corner, Coord { x: corner.x + SQUARE_M, y: corner.y + SQUARE_M }).to_polygon().into()
}

/// GeoJSON of a geometry, rounded to the centimetre.
fn geojson(geometry: &Geometry<f64>) -> Value {
    let round = |v: f64| (v * 100.0).round() / 100.0;
    let rounded = geometry.map_coords(|c| Coord { x: round(c.x), y: round(c.y) });
    serde_json::to_value(geojson::Geometry::from(&rounded)).unwrap_or(Value::Null)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Severity;
    use crate::secrecy::Secret;
    use geo_types::Point;
    use guidance::Grade;

    fn made(lek: Option<&str>) -> Finding {
        Finding {
            rule: "wood_near_lek",
            measure: None,
            what: "a wood".into(),
            severity: Severity::Should,
            place: "by the lek at NY 840 293".into(),
            lek: lek.map(str::to_string),
            geometry: Geometry::Point(Point::new(384_012.123_4, 529_377.0)),
            value: "71 m away".into(),
            needed: "100 m".into(),
            why: String::new(),
            hint: String::new(),
            source: vec!["practice.tree_distance".into()],
            grade: Grade::Practice,
            secret: vec![Secret::of("71 m", "under 1 km", |d| format!("{d} away"))],
            edition: "2026-11".into(),
        }
    }

    /// A plan with one lek, 60 m west of the next kilometre square, in which the wood lies.
    fn plan() -> Holding {
        Holding { leks: vec![holding::Lek::new("L1", "Cold Rig", Point::new(383_940.0, 529_377.0))], ..Holding::default() }
    }

    #[test]
    fn a_lek_is_given_away_only_when_asked() {
        let (guidance, plan) = (Guidance::load().unwrap(), plan());
        let shown = to_json(&[made(Some("L1"))], &guidance, &plan, true);
        assert_eq!(shown["schema"], SCHEMA);
        assert_eq!(shown["findings"][0]["geometry"]["type"], "Point");
        assert_eq!(shown["findings"][0]["geometry"]["coordinates"][0], 384_012.12);
        assert_eq!(shown["findings"][0]["severity"], "should");
        assert_eq!(shown["findings"][0]["source"][0]["grade"], "practice");
        assert_eq!(shown["findings"][0]["value"], "71 m away");
        let hidden = to_json(&[made(Some("L1"))], &guidance, &plan, false);
        let text = hidden.to_string();
        assert!(!text.contains("384012") && !text.contains("383940") && !text.contains("71 m") && !text.contains("840 293"), "{text}");
        let free = to_json(&[made(None)], &guidance, &plan, false);
        assert_eq!(free["findings"][0]["geometry"]["type"], "Point");
    }

    #[test]
    fn a_withheld_lek_is_given_by_its_own_square_and_never_another() {
        let (guidance, plan) = (Guidance::load().unwrap(), plan());
        let hidden = to_json(&[made(Some("L1"))], &guidance, &plan, false);
        assert_eq!(
            hidden["findings"][0]["geometry"]["coordinates"][0],
            json!([[384_000.0, 529_000.0], [384_000.0, 530_000.0], [383_000.0, 530_000.0], [383_000.0, 529_000.0], [384_000.0, 529_000.0]])
        );
        assert_eq!(hidden["findings"][0]["value"], "under 1 km away");
        assert_eq!(hidden["findings"][0]["where"], "by the lek at NY 84 29");
        assert!(to_json(&[made(Some("gone"))], &guidance, &plan, false)["findings"][0]["geometry"].is_null());
    }

    #[test]
    fn a_geometry_without_points_is_null() {
        let guidance = Guidance::load().unwrap();
        let mut f = made(None);
        f.geometry = Geometry::MultiPoint(Vec::<Point<f64>>::new().into());
        assert!(to_json(&[f], &guidance, &plan(), true)["findings"][0]["geometry"].is_null());
    }
}
