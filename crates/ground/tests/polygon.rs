//! Shapes, overlay and buffers against exact figures and a reference library.
//!
//! Fixtures in `data/06_polygon`, made once: exact areas by rational arithmetic, the rest by shapely 2.2.0 (GEOS
//! 3.14.1). Areas 1e-6 m2. The pentagon of area 16.5 is the usual worked example of the shoelace formula (from memory).
#![allow(clippy::unwrap_used, reason = "a test may stop")]

use geo::Area;
use geo_types::{Coord, LineString, MultiLineString, MultiPolygon, Polygon, Rect, line_string, polygon};
use ground::buffer::{Cap, Join, Style, along_lines, around_area, around_point};
use ground::overlay::{cut_out, difference, dissolve, distance_m, intersection, pairs, symmetric_difference, union};
use ground::polygon::{area_m2, borders, centroid, faults, perimeter_m, repair, shape_index};
use proptest::prelude::*;
use serde_json::Value;

const TOLERANCE_M2: f64 = 1e-6;

fn expected() -> Value {
    serde_json::from_str(&std::fs::read_to_string("tests/data/06_polygon/polygon.json").unwrap()).unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn close(ours: f64, theirs: f64, tolerance: f64, what: &str) {
    assert!((ours - theirs).abs() <= tolerance, "{what}: {ours} and {theirs}");
}

fn one(polygon: Polygon<f64>) -> MultiPolygon<f64> {
    MultiPolygon(vec![polygon])
}

fn ring(points: &Value, offset: (f64, f64)) -> LineString<f64> {
    let corner = |p: &Value| (number(&p[0]) + offset.0, number(&p[1]) + offset.1);
    points.as_array().unwrap().iter().map(corner).collect()
}

fn holed() -> MultiPolygon<f64> {
    let facts = &expected()["hole_polygon"];
    let offset = (number(&facts["offset"][0]), number(&facts["offset"][1]));
    one(Polygon::new(ring(&facts["exterior_local"], offset), vec![ring(&facts["hole_local"], offset)]))
}

fn parcels() -> Vec<MultiPolygon<f64>> {
    let text = std::fs::read_to_string("tests/data/06_polygon/parcels.wkt").unwrap();
    text.lines()
        .map(|line| {
            let inner = line.trim_start_matches("POLYGON ((").trim_end_matches("))");
            let corner = |pair: &str| {
                let mut words = pair.split_whitespace().map(|w| w.parse::<f64>().unwrap());
                (words.next().unwrap(), words.next().unwrap())
            };
            one(Polygon::new(inner.split(',').map(corner).collect(), vec![]))
        })
        .collect()
}

#[test]
fn area_border_and_centre_are_exact() {
    let facts = expected();
    let pentagon = one(Polygon::new(ring(&facts["shoelace_pentagon"]["coords"], (0.0, 0.0)), vec![]));
    assert_eq!(area_m2(&pentagon), 16.5);
    close(perimeter_m(&pentagon), number(&facts["shoelace_pentagon"]["perimeter"]), 1e-12, "pentagon border");
    let shape = holed();
    close(area_m2(&shape), number(&facts["hole_polygon"]["exact_area"]), TOLERANCE_M2, "area with hole");
    close(perimeter_m(&shape), number(&facts["hole_polygon"]["perimeter"]), 1e-9, "border with hole");
    for (shape, name) in [(&pentagon, "shoelace_pentagon"), (&shape, "hole_polygon")] {
        let centre = centroid(shape).unwrap();
        close(centre.x(), number(&facts[name]["centroid"][0]), 1e-8, "centre east");
        close(centre.y(), number(&facts[name]["centroid"][1]), 1e-8, "centre north");
    }
    for (k, parcel) in parcels().iter().enumerate() {
        close(area_m2(parcel), number(&facts["parcels"]["areas"][k]), TOLERANCE_M2, "parcel area");
        close(perimeter_m(parcel), number(&facts["parcels"]["perimeters"][k]), 1e-9, "parcel border");
        assert!(faults(parcel).is_empty());
    }
}

#[test]
fn shape_index_is_one_for_a_circle_and_known_for_a_square() {
    let circle = around_point(Coord { x: 10.0, y: 20.0 }, 50.0, 512);
    close(shape_index(area_m2(&circle), perimeter_m(&circle)), 1.0, 1e-5, "circle");
    close(shape_index(100.0, 40.0), 2.0 / std::f64::consts::PI.sqrt(), 1e-12, "square");
}

#[test]
fn overlay_equals_exact_and_geos() {
    let a = one(polygon![(x: 0.0, y: 0.0), (x: 100.0, y: 0.0), (x: 100.0, y: 100.0), (x: 0.0, y: 100.0)]);
    let b = one(polygon![(x: 50.0, y: 50.0), (x: 150.0, y: 60.0), (x: 140.0, y: 150.0), (x: 40.0, y: 140.0)]);
    let facts = &expected()["overlay"];
    let both = intersection(&a, &b);
    close(area_m2(&both), number(&facts["intersection_exact"]), TOLERANCE_M2, "intersection");
    close(area_m2(&union(&a, &b)), number(&facts["union"]), TOLERANCE_M2, "union");
    close(area_m2(&difference(&a, &b)), number(&facts["difference"]), TOLERANCE_M2, "difference");
    let either = symmetric_difference(&a, &b);
    close(area_m2(&either), number(&facts["symmetric_difference"]), TOLERANCE_M2, "symmetric difference");
    // Corners of the intersection as printed: 44.444444 100, 100 100, 100 55, 50 50.
    let corners = &both.0[0].exterior().0;
    for (x, y) in [(400.0 / 9.0, 100.0), (100.0, 100.0), (100.0, 55.0), (50.0, 50.0)] {
        assert!(corners.iter().any(|c| (c.x - x).abs() < 1e-9 && (c.y - y).abs() < 1e-9), "{x} {y} in {corners:?}");
    }
    assert_eq!(corners.len(), 5);
}

#[test]
fn parcels_by_pairs_equal_geos() {
    let parcels = parcels();
    let found = pairs(&parcels, &parcels);
    let text = std::fs::read_to_string("tests/data/06_polygon/parcel_pairs.csv").unwrap();
    let mut overlapping = 0;
    for line in text.lines().skip(1) {
        let cells: Vec<f64> = line.split(',').map(|c| c.parse().unwrap()).collect();
        let (i, j) = (cells[0] as usize, cells[1] as usize);
        let pair = found.iter().find(|p| (p.left, p.right) == (i, j));
        overlapping += usize::from(pair.is_some());
        close(pair.map_or(0.0, |p| p.area_m2), cells[2], TOLERANCE_M2, line);
        close(area_m2(&union(&parcels[i], &parcels[j])), cells[3], TOLERANCE_M2, line);
        close(distance_m(&parcels[i], &parcels[j]), cells[4], 1e-6, line);
    }
    assert_eq!(found.len(), 2 * overlapping + parcels.len(), "each pair from both sides, and each with itself");
    let whole = dissolve(&parcels);
    close(area_m2(&whole), number(&expected()["parcels"]["dissolved_area"]), TOLERANCE_M2, "dissolved");
    close(perimeter_m(&whole), number(&expected()["parcels"]["dissolved_perimeter"]), 1e-6, "dissolved border");
}

#[test]
fn point_buffers_equal_formula_and_geos() {
    let offset = (251_234.25, 753_456.75);
    for fact in expected()["point_buffer_100m"].as_array().unwrap() {
        let quad_segs = fact["quad_segs"].as_u64().unwrap() as u32;
        let area = area_m2(&around_point(offset.into(), 100.0, quad_segs));
        close(area, number(&fact["formula_area"]), TOLERANCE_M2, "formula");
        close(area, number(&fact["area"]), TOLERANCE_M2, "geos");
    }
}

#[test]
fn line_buffers_equal_geos() {
    let (x, y) = (251_234.25, 753_456.75);
    let line = MultiLineString(vec![line_string![(x: x, y: y), (x: x + 500.0, y: y), (x: x + 500.0, y: y + 300.0)]]);
    for fact in expected()["line_buffer_50m"].as_array().unwrap() {
        let cap = match fact["cap"].as_str().unwrap() {
            "round" => Cap::Round,
            "flat" => Cap::Flat,
            _ => Cap::Square,
        };
        let join = match fact["join"].as_str().unwrap() {
            "round" => Join::Round,
            "mitre" => Join::Mitre,
            _ => Join::Bevel,
        };
        let area = area_m2(&along_lines(&line, 50.0, Style { quad_segs: 16, cap, join }));
        close(area, number(&fact["area"]), TOLERANCE_M2, &fact.to_string());
    }
}

#[test]
fn polygon_buffers_equal_geos() {
    let facts = expected();
    let style = Style { quad_segs: 16, ..Style::default() };
    for fact in facts["polygon_buffer"].as_array().unwrap() {
        let grown = around_area(&holed(), number(&fact["d"]), style);
        close(area_m2(&grown), number(&fact["area"]), TOLERANCE_M2, &fact.to_string());
        assert_eq!(grown.0.len() as u64, fact["parts"].as_u64().unwrap(), "{fact}");
        assert!(faults(&grown).is_empty(), "{fact}");
    }
    let rectangle = one(Rect::new((0.0, 0.0), (200.0, 80.0)).to_polygon());
    let steiner = &facts["steiner_rectangle_r30"];
    let grown = area_m2(&around_area(&rectangle, 30.0, Style { quad_segs: 64, ..Style::default() }));
    close(grown, number(&steiner["shapely_q64"]), TOLERANCE_M2, "grown rectangle");
    // Area of a convex shape grown by r: A + L r + pi r^2 (Steiner), less the chords' shortfall.
    assert!((number(&steiner["exact"]) - grown) / grown < 1e-5 && grown < number(&steiner["exact"]));
    let shrunk = area_m2(&around_area(&rectangle, -10.0, style));
    close(shrunk, number(&steiner["negative_10_exact"]), TOLERANCE_M2, "drawn-in rectangle");
    assert!(around_area(&rectangle, -40.5, style).0.is_empty());
}

#[test]
fn bow_tie_is_repaired_with_both_wings() {
    let facts = &expected()["bowtie"];
    let bow = one(polygon![(x: 0.0, y: 0.0), (x: 10.0, y: 10.0), (x: 10.0, y: 0.0), (x: 0.0, y: 10.0)]);
    assert!(!faults(&bow).is_empty());
    close(bow.signed_area(), number(&facts["raw_signed_area"]), 1e-12, "raw");
    let repaired = repair(&bow).unwrap();
    close(area_m2(&repaired.shape), number(&facts["make_valid_area"]), TOLERANCE_M2, "repaired");
    assert_eq!(repaired.shape.0.len(), 2);
    assert!(faults(&repaired.shape).is_empty());
    assert!(repaired.notes.iter().any(|n| n.contains("repaired: 1 part(s) became 2")), "{:?}", repaired.notes);
    let sound = repair(&holed()).unwrap();
    assert!(sound.notes.is_empty() && sound.shape == holed());
    let flat = one(polygon![(x: 0.0, y: 0.0), (x: 10.0, y: 10.0), (x: 20.0, y: 20.0)]);
    assert_eq!(faults(&flat), ["part 1 encloses no area"]);
    assert!(repair(&flat).unwrap_err().to_string().contains("encloses no area"));
    let broken = one(polygon![(x: 0.0, y: 0.0), (x: f64::NAN, y: 10.0), (x: 20.0, y: 20.0)]);
    assert!(repair(&broken).unwrap_err().to_string().contains("not a finite number"));
}

#[test]
fn borders_between_neighbours_are_found_whatever_their_corners() {
    // A 100 x 100 field, west of two fields that split its eastern side at 40; they share their own border.
    let fields = [
        Rect::new((0.0, 0.0), (100.0, 100.0)),
        Rect::new((100.0, 0.0), (150.0, 40.0)),
        Rect::new((100.0, 40.0), (150.0, 100.0)),
    ];
    let fields: Vec<MultiPolygon<f64>> = fields.iter().map(|r| one(r.to_polygon())).collect();
    let found = borders(&fields, 0.01);
    close(found.shared_m[&(0, 1)], 40.0, 1e-9, "first");
    close(found.shared_m[&(0, 2)], 60.0, 1e-9, "second");
    close(found.shared_m[&(1, 2)], 50.0, 1e-9, "between");
    for (open, length) in found.open_m.iter().zip([300.0, 90.0, 110.0]) {
        close(*open, length, 1e-9, "open");
    }
    // A gap wider than the tolerance is no shared border.
    let apart = [fields[0].clone(), one(Rect::new((100.5, 0.0), (150.0, 40.0)).to_polygon())];
    assert!(borders(&apart, 0.01).shared_m.is_empty());
}

fn star(radii: &[f64], x: f64, y: f64) -> MultiPolygon<f64> {
    let corner = |(k, r): (usize, &f64)| {
        let (sin, cos) = (std::f64::consts::TAU * k as f64 / radii.len() as f64).sin_cos();
        Coord { x: 300_000.0 + x + r * cos, y: 700_000.0 + y + r * sin }
    };
    one(Polygon::new(radii.iter().enumerate().map(corner).collect(), vec![]))
}

fn stars() -> impl Strategy<Value = MultiPolygon<f64>> {
    (prop::collection::vec(30.0..200.0_f64, 3..14), 0.0..300.0_f64, 0.0..300.0_f64)
        .prop_map(|(radii, x, y)| star(&radii, x, y))
}

proptest! {
    #[test]
    fn areas_of_overlay_add_up(a in stars(), b in stars()) {
        let (both, either) = (area_m2(&intersection(&a, &b)), area_m2(&union(&a, &b)));
        let (only_a, only_b) = (area_m2(&difference(&a, &b)), area_m2(&difference(&b, &a)));
        let tolerance = 1e-5;
        prop_assert!((area_m2(&a) + area_m2(&b) - both - either).abs() < tolerance);
        prop_assert!((area_m2(&a) - both - only_a).abs() < tolerance);
        prop_assert!((area_m2(&symmetric_difference(&a, &b)) - only_a - only_b).abs() < tolerance);
    }

    #[test]
    fn cutting_out_near_ones_equals_cutting_out_all(shapes in prop::collection::vec(stars(), 3), cutters in prop::collection::vec(stars(), 4)) {
        let all = dissolve(&cutters);
        for (shape, cut) in shapes.iter().zip(cut_out(&shapes, &cutters)) {
            prop_assert!((area_m2(&cut) - area_m2(&difference(shape, &all))).abs() < 1e-5);
        }
    }

    #[test]
    fn growing_holds_the_shape_and_follows_the_law_of_steiner(r in 1.0..60.0_f64, w in 5.0..200.0_f64, h in 5.0..200.0_f64) {
        let shape = one(Rect::new((0.0, 0.0), (w, h)).to_polygon());
        let style = Style { quad_segs: 32, ..Style::default() };
        let grown = area_m2(&around_area(&shape, r, style));
        // Four quarter circles of 32 chords each.
        let arcs = 2.0 * 32.0 * r * r * (std::f64::consts::PI / 64.0).sin();
        prop_assert!((grown - (w * h + 2.0 * (w + h) * r + arcs)).abs() < 1e-6);
    }

    #[test]
    fn growing_and_drawing_in_are_ordered(shape in stars(), r in 1.0..40.0_f64) {
        let style = Style::default();
        let (grown, shrunk) = (around_area(&shape, r, style), around_area(&shape, -r, style));
        prop_assert!(area_m2(&shrunk) < area_m2(&shape) && area_m2(&shape) < area_m2(&grown));
        prop_assert!(area_m2(&difference(&shape, &grown)) < 1e-6);
        prop_assert!(area_m2(&difference(&shrunk, &shape)) < 1e-6);
        for corner in shrunk.0.iter().flat_map(|p| &p.exterior().0) {
            let nearest = shape.0[0].exterior().lines().map(|l| geo::Distance::distance(&geo::Euclidean, &geo_types::Point::from(*corner), &l)).fold(f64::INFINITY, f64::min);
            // A turn is cut into the nearest whole number of steps, so a step is at most one and a half times the
            // stated one, and its chord comes within the cosine of half of that.
            let step = std::f64::consts::FRAC_PI_2 / 8.0;
            prop_assert!(nearest >= r * (0.75 * step).cos() - 1e-6);
        }
    }
}
