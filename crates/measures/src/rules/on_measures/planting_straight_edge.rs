//! Woods with straight edges.
//!
//! Sources: uneven edges are common practice; the index is Patton's (1975), outline over that of a circle of the same area; both
//! limits are assumptions.

use super::seen::OnMeasures;
use super::{Checked, Rule, planted};
use crate::finding::Severity;
use crate::rules::{Said, places, words};
use geo::Area;
use geo_types::{Coord, LineString, MultiLineString, MultiPolygon};
use ground::polygon::{area_m2, perimeter_m, shape_index};

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_straight_edge",
    title: "Wood planned with straight edges",
    severity: Severity::Consider,
    explain: "Looks at every block of a new wood. The shape index is the outline divided by that of a circle of the same area (a circle 1, a square 1.13); below \
        {rule.planting.shape_min} the block is plain. A run of outline longer than {rule.planting.straight} that turns by no more than \
        {rule.planting.straight_turn} on its whole way is straight. Practice asks for {practice.wood.edge} and gives no figure: the limits are assumptions.\n\n\
        Why it matters: grouse use the edge; a straight one is short, and hunters and wind run along it.\n\n\
        What to do: draw bays and points, follow the lie of the ground, and let scrub run out in a skirt.",
    keys: &["rule.planting.shape_min", "rule.planting.straight", "rule.planting.straight_turn", "practice.wood.edge"],
};

/// The longest run of a ring that turns by no more than an angle from its first side.
fn longest_straight(ring: &LineString<f64>, turn_deg: f64) -> LineString<f64> {
    let points: Vec<Coord<f64>> = ring.0.windows(2).filter(|w| w[0] != w[1]).map(|w| w[0]).collect();
    let n = points.len();
    let side = |i: usize| (points[(i + 1) % n].x - points[i % n].x, points[(i + 1) % n].y - points[i % n].y);
    let mut best = (0.0, 0, 0);
    for first in 0..n {
        let a = side(first);
        let (mut long, mut sides) = (0.0, 0);
        while sides < n {
            let b = side(first + sides);
            let turn = (a.0 * b.1 - a.1 * b.0).atan2(a.0 * b.0 + a.1 * b.1).to_degrees().abs();
            if turn > turn_deg {
                break;
            }
            long += b.0.hypot(b.1);
            sides += 1;
        }
        if long > best.0 {
            best = (long, first, sides);
        }
    }
    LineString((0..=best.2).filter(|_| n > 0).map(|i| points[(best.1 + i) % n]).collect())
}

/// Find plain blocks and straight runs.
pub fn check(o: &OnMeasures) -> Checked {
    let least = o.number("rule.planting.shape_min")?;
    let (straight_m, turn_deg) = (o.number("rule.planting.straight")?, o.number("rule.planting.straight_turn")?);
    let mut found = Vec::new();
    for p in planted::new(o) {
        for block in p.area.0.iter().filter(|b| b.unsigned_area() > 0.0) {
            let outer = MultiPolygon(vec![geo_types::Polygon::new(block.exterior().clone(), vec![])]);
            let index = shape_index(area_m2(&outer), perimeter_m(&outer));
            let run = MultiLineString(vec![longest_straight(block.exterior(), turn_deg)]);
            let long_m = places::metres(&run);
            let (plain, straight) = (index < least, long_m > straight_m);
            if !plain && !straight {
                continue;
            }
            let name = o.name(p.measure);
            found.push(o.finding(
                &RULE,
                p.measure,
                Said {
                    what: format!("{name} has {}", if straight { "a long straight edge" } else { "a plain outline" }),
                    place: name,
                    geometry: if straight { run.into() } else { places::outlines(&outer).into() },
                    value: format!("shape index {index:.2}; longest straight run {}", words::metres(long_m)),
                    needed: format!("a shape index of at least {least} and no straight run over {}", words::metres(straight_m)),
                    why: "Grouse use the edge; a straight one is short, and hunters and wind run along it.".into(),
                    hint: "Draw bays and points, follow the lie of the ground, and let scrub run out in a skirt.".into(),
                    ..Said::default()
                },
            ));
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, wood_of};
    use super::*;
    use crate::rules::fixture::{moor, rect};
    use geo_types::Polygon;

    /// A star of so many points between two radii.
    fn star(points: usize, inner_m: f64, outer_m: f64) -> MultiPolygon<f64> {
        let ring = (0..2 * points).map(|i| {
            let (sin, cos) = (i as f64 / points as f64 * std::f64::consts::PI).sin_cos();
            let r = if i % 2 == 0 { outer_m } else { inner_m };
            Coord { x: 1500.0 + r * cos, y: 1500.0 + r * sin }
        });
        MultiPolygon(vec![Polygon::new(LineString(ring.collect()), vec![])])
    }

    #[test]
    fn squares_and_long_sides_are_told_and_ragged_blocks_are_not() {
        let f = found(&moor(), vec![wood_of(rect(1400.0, 1400.0, 1500.0, 1500.0), &[])], check);
        // A square: 4 / (2 sqrt(pi)) = 1.128.
        assert!(f[0].value.contains("shape index 1.13") && f[0].what.contains("plain"), "{f:?}");
        let f = found(&moor(), vec![wood_of(rect(1400.0, 1400.0, 1601.0, 1430.0), &[])], check);
        assert!(f[0].what.contains("straight") && f[0].value.contains("201 m"), "{f:?}");
        assert!(found(&moor(), vec![wood_of(star(9, 60.0, 110.0), &[])], check).is_empty());
        assert_eq!(found(&moor(), vec![wood_of(star(9, 100.0, 110.0), &[])], check).len(), 1);
    }

    #[test]
    fn a_straight_run_goes_on_through_points_on_the_line() {
        let ring: LineString<f64> = vec![(0.0, 0.0), (80.0, 0.5), (160.0, 0.0), (160.0, 50.0), (0.0, 50.0), (0.0, 0.0)].into();
        let long = places::metres(&MultiLineString(vec![longest_straight(&ring, 5.0)]));
        assert!((long - 160.0).abs() < 0.1, "{long}");
    }
}
