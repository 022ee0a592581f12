//! Findings as the JSON others read: schema `greyhen.check/1`.
//!
//! Geometry is GeoJSON in the plane of the plan (metres, not longitude and latitude; a `crs` member says so). Unless leks
//! are to be shown, the geometry of a finding that gives a lek's place away is the kilometre square its middle lies in.

use crate::finding::Finding;
use geo::{BoundingRect, Centroid, CoordsIter, MapCoords};
use geo_types::{Coord, Geometry, Rect};
use guidance::Guidance;
use serde_json::{Value, json};

/// Name and version of the shape.
pub const SCHEMA: &str = "greyhen.check/1";

/// Side of the square that stands for a withheld place, metres.
const SQUARE_M: f64 = 1000.0;

/// The findings as one JSON document. `epsg` is the plan's coordinate system.
pub fn to_json(findings: &[Finding], guidance: &Guidance, epsg: u32, show_leks: bool) -> Value {
    let items: Vec<Value> = findings.iter().map(|f| finding(f, guidance, show_leks)).collect();
    json!({
        "schema": SCHEMA,
        "guidance_edition": guidance.edition(),
        "crs": { "epsg": epsg, "note": "coordinates are metres in the plane of the plan, easting first, not longitude and latitude" },
        "leks_shown": show_leks,
        "findings": items,
    })
}

fn finding(f: &Finding, guidance: &Guidance, show_leks: bool) -> Value {
    let withheld = f.lek.is_some() && !show_leks;
    let geometry = if withheld { square(&f.geometry) } else { Some(f.geometry.clone()) };
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
        "severity": f.severity,
        "what": f.what,
        "where": f.place,
        "lek": f.lek,
        "geometry": geometry.filter(|g| g.coords_count() > 0).map(|g| geojson(&g)),
        "blurred": withheld,
        "value": f.value,
        "needed": f.needed,
        "why": f.why,
        "hint": f.hint,
        "source": source,
        "grade": f.grade,
        "edition": f.edition,
    })
}

/// The kilometre square the middle of a geometry lies in.
fn square(geometry: &Geometry<f64>) -> Option<Geometry<f64>> {
    let middle = geometry.centroid().or_else(|| geometry.bounding_rect().map(|r| r.center().into()))?;
    let corner = Coord { x: (middle.x() / SQUARE_M).floor() * SQUARE_M, y: (middle.y() / SQUARE_M).floor() * SQUARE_M };
    Some(Rect::new(corner, Coord { x: corner.x + SQUARE_M, y: corner.y + SQUARE_M }).to_polygon().into())
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
    use geo_types::Point;
    use guidance::Grade;

    fn made(lek: Option<&str>) -> Finding {
        Finding {
            rule: "wood_near_lek",
            what: "a wood".into(),
            severity: Severity::Should,
            place: "by the lek".into(),
            lek: lek.map(str::to_string),
            geometry: Geometry::Point(Point::new(384_512.123_4, 529_377.0)),
            value: "35 m".into(),
            needed: "100 m".into(),
            why: String::new(),
            hint: String::new(),
            source: vec!["practice.tree_distance".into()],
            grade: Grade::Practice,
            edition: "2026-11".into(),
        }
    }

    #[test]
    fn a_lek_is_given_away_only_when_asked() {
        let guidance = Guidance::load().unwrap();
        let shown = to_json(&[made(Some("L1"))], &guidance, 27700, true);
        assert_eq!(shown["schema"], SCHEMA);
        assert_eq!(shown["findings"][0]["geometry"]["type"], "Point");
        assert_eq!(shown["findings"][0]["geometry"]["coordinates"][0], 384_512.12);
        assert_eq!(shown["findings"][0]["severity"], "should");
        assert_eq!(shown["findings"][0]["source"][0]["grade"], "practice");
        let hidden = to_json(&[made(Some("L1"))], &guidance, 27700, false);
        let text = hidden.to_string();
        assert!(!text.contains("384512") && !text.contains("529377"), "{text}");
        let ring = hidden["findings"][0]["geometry"]["coordinates"][0].as_array().unwrap();
        assert!(ring.iter().all(|p| p[0].as_f64().unwrap() % SQUARE_M == 0.0));
        let free = to_json(&[made(None)], &guidance, 27700, false);
        assert_eq!(free["findings"][0]["geometry"]["type"], "Point");
    }

    #[test]
    fn a_geometry_without_points_is_null() {
        let guidance = Guidance::load().unwrap();
        let mut f = made(None);
        f.geometry = Geometry::MultiPoint(Vec::<Point<f64>>::new().into());
        assert!(to_json(&[f], &guidance, 27700, true)["findings"][0]["geometry"].is_null());
    }
}
