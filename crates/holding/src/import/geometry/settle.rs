//! The form a kind needs, out of the geometry that came: checked, mended where it can be, and said.
//!
//! A ring that crosses itself or doubles back on itself is rebuilt by the odd-even rule (Ledoux, Arroyo Ohori and
//! Meijers 2014, as the geometry library implements it); parts that overlap are merged; holes outside their ring
//! are dropped by the same rule. Rings that only touch themselves at a point are left as they are.

use crate::import::table::Drawn;
use geo::orient::{Direction, Orient};
use geo::line_intersection::{LineIntersection, line_intersection};
use geo::{Area, BoundingRect, Contains, Euclidean, Intersects, Length, Line, MakeValid, unary_union};
use geo_types::{Geometry, LineString, MultiLineString, MultiPolygon, Point, Polygon};

/// Gap between the ends of a walked outline, as a share of its length, up to which it is taken for closed.
const GAP_MAX: f64 = 0.02;
/// Pieces smaller than this after mending are dust and dropped, square metres.
const DUST_M2: f64 = 0.01;

/// Why a geometry cannot be used.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::import) enum Wrong {
    /// It has another form than the kind needs; what it is, in words.
    Form(String),
    /// It cannot be used or mended, and why.
    Broken(String),
}

/// An area, with what was mended.
pub(in crate::import) fn area(drawn: Drawn) -> Result<(MultiPolygon<f64>, Vec<String>), Wrong> {
    let mut notes = Vec::new();
    let closed = drawn.unclosed.then(|| "the outline was not closed: its last corner was joined to its first".to_owned());
    notes.extend(closed);
    let mut polygons = Vec::new();
    gather_polygons(drawn.geometry, &mut polygons, &mut notes)?;
    let before = polygons.iter().map(|p| p.unsigned_area()).sum::<f64>();
    let mut mended = false;
    let mut sound: Vec<Polygon<f64>> = Vec::new();
    for polygon in polygons {
        let polygon = without_repeats(polygon)?;
        if is_sound(&polygon) {
            sound.push(polygon);
        } else {
            mended = true;
            let pieces = polygon.make_valid().map_err(|e| Wrong::Broken(format!("an outline that cannot be mended ({e})")))?;
            sound.extend(pieces.0.into_iter().filter(|p| p.unsigned_area() > DUST_M2));
        }
    }
    let mut shape = MultiPolygon(sound);
    if let Some(whole) = merged(&shape) {
        shape = whole;
        notes.push("parts of the outline overlapped and were merged".to_owned());
    }
    let after = shape.unsigned_area();
    if after <= DUST_M2 {
        return Err(Wrong::Broken(format!("an outline of {after:.3} m2")));
    }
    if mended {
        notes.push(format!(
            "the outline crossed or doubled back on itself and was mended: {:.4} ha as drawn, {:.4} ha now",
            before / 10_000.0,
            after / 10_000.0
        ));
    }
    Ok((shape.orient(Direction::Default), notes))
}

/// A line.
pub(in crate::import) fn line(drawn: Drawn) -> Result<(MultiLineString<f64>, Vec<String>), Wrong> {
    let mut lines = Vec::new();
    gather_lines(drawn.geometry, &mut lines)?;
    for line in &mut lines {
        line.0.dedup();
    }
    lines.retain(|line| line.0.len() > 1);
    if lines.is_empty() {
        return Err(Wrong::Broken("a line of no length".to_owned()));
    }
    Ok((MultiLineString(lines), Vec::new()))
}

/// A point.
pub(in crate::import) fn point(drawn: Drawn) -> Result<(Point<f64>, Vec<String>), Wrong> {
    match drawn.geometry {
        Geometry::Point(point) => Ok((point, Vec::new())),
        Geometry::MultiPoint(points) if points.0.len() == 1 => Ok((points.0[0], Vec::new())),
        Geometry::MultiPoint(points) => Err(Wrong::Form(format!("{} points in one feature", points.0.len()))),
        Geometry::GeometryCollection(mut all) if all.0.len() == 1 => {
            let only = all.0.remove(0);
            point(Drawn { geometry: only, unclosed: false })
        }
        other => Err(Wrong::Form(form_words(&other).to_owned())),
    }
}

/// What a geometry is, in words.
pub(in crate::import) fn form_words(geometry: &Geometry<f64>) -> &'static str {
    match geometry {
        Geometry::Point(_) => "a point",
        Geometry::MultiPoint(_) => "several points",
        Geometry::LineString(_) | Geometry::MultiLineString(_) | Geometry::Line(_) => "a line",
        Geometry::Polygon(_) | Geometry::MultiPolygon(_) | Geometry::Rect(_) | Geometry::Triangle(_) => "a polygon",
        Geometry::GeometryCollection(_) => "a mixture of forms",
    }
}

fn gather_polygons(geometry: Geometry<f64>, into: &mut Vec<Polygon<f64>>, notes: &mut Vec<String>) -> Result<(), Wrong> {
    match geometry {
        Geometry::Polygon(polygon) => into.push(polygon),
        Geometry::MultiPolygon(polygons) => into.extend(polygons.0),
        Geometry::LineString(line) => into.push(outline(line, notes)?),
        Geometry::MultiLineString(lines) => {
            for line in lines.0 {
                into.push(outline(line, notes)?);
            }
        }
        Geometry::GeometryCollection(all) => {
            for one in all.0 {
                gather_polygons(one, into, notes)?;
            }
        }
        other => return Err(Wrong::Form(form_words(&other).to_owned())),
    }
    Ok(())
}

/// A line that comes back to where it began, or nearly, is the outline of an area: so a walked boundary is given.
fn outline(mut line: LineString<f64>, notes: &mut Vec<String>) -> Result<Polygon<f64>, Wrong> {
    let (Some(first), Some(last)) = (line.0.first().copied(), line.0.last().copied()) else {
        return Err(Wrong::Broken("an empty line".to_owned()));
    };
    let gap = Euclidean.length(&Line::new(first, last));
    if line.0.len() < 4 || gap > GAP_MAX * Euclidean.length(&line) {
        return Err(Wrong::Form(format!("a line whose ends are {gap:.0} m apart")));
    }
    notes.push(if gap > 0.0 {
        format!("a line whose ends are {gap:.1} m apart was closed and taken for the outline of an area")
    } else {
        "a closed line was taken for the outline of an area".to_owned()
    });
    line.close();
    Ok(Polygon::new(line, vec![]))
}

fn gather_lines(geometry: Geometry<f64>, into: &mut Vec<LineString<f64>>) -> Result<(), Wrong> {
    match geometry {
        Geometry::LineString(line) => into.push(line),
        Geometry::MultiLineString(lines) => into.extend(lines.0),
        Geometry::GeometryCollection(all) => {
            for one in all.0 {
                gather_lines(one, into)?;
            }
        }
        other => return Err(Wrong::Form(form_words(&other).to_owned())),
    }
    Ok(())
}

/// The polygon without corners that stand twice; holes of fewer than three corners go.
fn without_repeats(polygon: Polygon<f64>) -> Result<Polygon<f64>, Wrong> {
    let (mut outer, mut holes) = polygon.into_inner();
    outer.0.dedup();
    for hole in &mut holes {
        hole.0.dedup();
    }
    holes.retain(|hole| hole.0.len() >= 4);
    if outer.0.len() < 4 {
        return Err(Wrong::Broken("an outline of fewer than three different corners".to_owned()));
    }
    Ok(Polygon::new(outer, holes))
}

fn is_sound(polygon: &Polygon<f64>) -> bool {
    let outer = Polygon::new(polygon.exterior().clone(), vec![]);
    let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
    let holes_inside = polygon.interiors().iter().all(|hole| hole.0.iter().any(|c| outer.contains(&Point(*c))));
    holes_inside && !crosses(rings.flat_map(LineString::lines).collect())
}

/// The parts of a multipolygon merged, where they share ground: then their union is smaller than their sum.
fn merged(shape: &MultiPolygon<f64>) -> Option<MultiPolygon<f64>> {
    let boxes: Vec<_> = shape.0.iter().filter_map(BoundingRect::bounding_rect).collect();
    let meet = (0..boxes.len()).any(|a| boxes[a + 1..].iter().any(|b| boxes[a].intersects(b)));
    if !meet {
        return None;
    }
    let whole = unary_union(&shape.0);
    // The union keeps coordinates to a fraction of a millimetre; a real overlap is larger than that leaves.
    let lost_m2 = shape.unsigned_area() - whole.unsigned_area();
    (lost_m2 > 1.0_f64.max(1e-6 * shape.unsigned_area())).then_some(whole)
}

/// Whether any two edges cross, or run along each other, by a sweep from west to east.
fn crosses(mut edges: Vec<Line<f64>>) -> bool {
    let west = |l: &Line<f64>| l.start.x.min(l.end.x);
    let east = |l: &Line<f64>| l.start.x.max(l.end.x);
    let span = |l: &Line<f64>| (l.start.y.min(l.end.y), l.start.y.max(l.end.y));
    edges.sort_by(|a, b| west(a).total_cmp(&west(b)));
    for (at, edge) in edges.iter().enumerate() {
        let (low, high) = span(edge);
        for other in edges[at + 1..].iter().take_while(|other| west(other) <= east(edge)) {
            let (bottom, top) = span(other);
            if bottom > high || top < low {
                continue;
            }
            match line_intersection(*edge, *other) {
                Some(LineIntersection::SinglePoint { is_proper: true, .. }) => return true,
                Some(LineIntersection::Collinear { intersection }) if intersection.start != intersection.end => return true,
                _ => {}
            }
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo_types::{line_string, polygon};

    fn drawn(geometry: impl Into<Geometry<f64>>) -> Drawn {
        Drawn { geometry: geometry.into(), unclosed: false }
    }

    #[test]
    fn a_bow_tie_is_mended_and_said() {
        let tie = polygon![(x: 0.0, y: 0.0), (x: 100.0, y: 100.0), (x: 100.0, y: 0.0), (x: 0.0, y: 100.0)];
        let (shape, notes) = area(drawn(tie)).unwrap();
        assert!((shape.unsigned_area() - 5000.0).abs() < 1e-6, "{}", shape.unsigned_area());
        assert_eq!(notes.len(), 1);
        assert!(notes[0].contains("0.0000 ha as drawn, 0.5000 ha now"), "{notes:?}");
    }

    #[test]
    fn a_sound_polygon_is_left_as_it_is() {
        let square = polygon![
            exterior: [(x: 0.0, y: 0.0), (x: 100.0, y: 0.0), (x: 100.0, y: 100.0), (x: 0.0, y: 100.0)],
            interiors: [[(x: 10.0, y: 10.0), (x: 10.0, y: 20.0), (x: 20.0, y: 20.0)]],
        ];
        let (shape, notes) = area(drawn(square.clone())).unwrap();
        assert!(notes.is_empty());
        assert_eq!(shape.unsigned_area(), square.unsigned_area());
    }

    #[test]
    fn spikes_and_overlapping_parts_are_mended() {
        let spike = polygon![(x: 0.0, y: 0.0), (x: 10.0, y: 0.0), (x: 10.0, y: 10.0), (x: 10.0, y: 30.0), (x: 10.0, y: 10.0), (x: 0.0, y: 10.0)];
        let (shape, notes) = area(drawn(spike)).unwrap();
        assert!((shape.unsigned_area() - 100.0).abs() < 1e-6 && notes.len() == 1, "{notes:?}");
        let part = |x: f64| polygon![(x: x, y: 0.0), (x: x + 10.0, y: 0.0), (x: x + 10.0, y: 10.0), (x: x, y: 10.0)];
        let (shape, notes) = area(drawn(MultiPolygon(vec![part(0.0), part(5.0)]))).unwrap();
        assert!((shape.unsigned_area() - 150.0).abs() < 1e-3 && notes.len() == 1, "{notes:?}");
        let (_, notes) = area(drawn(MultiPolygon(vec![part(0.0), part(10.0)]))).unwrap();
        assert!(notes.is_empty(), "a shared boundary is no overlap");
    }

    #[test]
    fn what_has_no_area_is_refused() {
        let flat = polygon![(x: 0.0, y: 0.0), (x: 100.0, y: 0.0), (x: 50.0, y: 0.0)];
        assert!(matches!(area(drawn(flat)), Err(Wrong::Broken(_))));
        assert!(matches!(area(drawn(line_string![(x: 0.0, y: 0.0), (x: 9.0, y: 0.0), (x: 9.0, y: 9.0), (x: 0.0, y: 9.0)])), Err(Wrong::Form(_))));
        assert!(matches!(point(drawn(line_string![(x: 0.0, y: 0.0), (x: 9.0, y: 0.0)])), Err(Wrong::Form(_))));
    }
}
