//! Trees planted too near a dwelling, a road, a path or the neighbour's march.
//!
//! Source: all distances are practice, from memory.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie, planted};
use crate::finding::Severity;
use crate::rules::{Said, places, words};
use geo_types::MultiPolygon;
use holding::TrackKind;

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_too_near",
    title: "Trees planned too near a house, road, path or march",
    severity: Severity::Should,
    explain: "Looks for new woods within {planting.offset.dwelling} of a dwelling, {planting.offset.road} of a public road, {planting.offset.core_path} of a path \
        open to walkers, or {planting.offset.neighbour} of the boundary of the holding, inside it or beyond. All are practice from memory; on the south side \
        of a house twice the height the trees will reach is usual, which is not looked at. Tracks of the holding are left alone.\n\n\
        Why it matters: trees fall, shade windows, hide bends, and drop roots and seed over the march.\n\n\
        What to do: draw the wood back and ask the neighbour; leave the strip open or to low shrubs.",
    keys: &["planting.offset.dwelling", "planting.offset.road", "planting.offset.core_path", "planting.offset.neighbour"],
};

/// Find woods too near.
pub fn check(o: &OnMeasures) -> Checked {
    let (house_m, road_m) = (o.number("planting.offset.dwelling")?, o.number("planting.offset.road")?);
    let (path_m, march_m) = (o.number("planting.offset.core_path")?, o.number("planting.offset.neighbour")?);
    let h = o.holding();
    let mut found = Vec::new();
    for p in planted::new(o) {
        let name = o.name(p.measure);
        let mut tell = |piece: MultiPolygon<f64>, what: &str, at: &str, within_m: f64| {
            if piece.0.is_empty() {
                return;
            }
            found.push(o.finding(
                &RULE,
                p.measure,
                Said {
                    what: format!("{name} plants too near {what}"),
                    place: format!("{name}, at {at}"),
                    value: format!("{} within {}", lie::ha(places::hectares(&piece)), words::metres(within_m)),
                    geometry: piece.into(),
                    needed: format!("new trees at least {} from {what}", words::metres(within_m)),
                    why: "Trees fall, shade windows, hide bends, and drop roots and seed over the march.".into(),
                    hint: "Draw the wood back, ask the neighbour, and leave the strip open or to low shrubs.".into(),
                    ..Said::default()
                },
            ));
        };
        for b in h.buildings.iter().filter(|b| b.dwelling) {
            tell(lie::near_area(&p.area, &b.shape, house_m), "a dwelling", lie::called(&b.name, &b.id), house_m);
        }
        for t in &h.tracks {
            let (what, within_m) = match t.kind {
                TrackKind::Road => ("a public road", road_m),
                TrackKind::Path => ("a path", path_m),
                TrackKind::Track => continue,
            };
            tell(lie::near_lines(&p.area, &t.shape, within_m), what, lie::called(&t.name, &t.id), within_m);
        }
        if let Some(boundary) = &h.boundary {
            let rings = geo_types::MultiLineString(boundary.0.iter().flat_map(|b| std::iter::once(b.exterior()).chain(b.interiors()).cloned()).collect());
            tell(lie::near_lines(&p.area, &rings, march_m), "the boundary of the holding", "the march", march_m);
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, wood_of};
    use super::*;
    use crate::rules::fixture::{line, moor, rect};
    use holding::{Building, Track};

    #[test]
    fn each_has_its_distance() {
        let mut h = moor();
        h.boundary = Some(rect(0.0, 0.0, 2000.0, 2000.0));
        h.buildings = vec![
            Building { dwelling: true, name: "House".into(), ..Building::new("B1", rect(1490.0, 1000.0, 1500.0, 1010.0)) },
            Building::new("barn", rect(1590.0, 1000.0, 1600.0, 1010.0)),
        ];
        let way = |kind: TrackKind, x: f64| Track { kind, ..Track::new(format!("{kind:?}"), line(&[(x, 0.0), (x, 400.0)])) };
        h.tracks = vec![way(TrackKind::Road, 500.0), way(TrackKind::Path, 600.0), way(TrackKind::Track, 700.0)];
        let at = |x: f64, y: f64| found(&h, vec![wood_of(rect(x, y, x + 50.0, y + 50.0), &[])], check).into_iter().map(|f| f.place).collect::<Vec<_>>();
        assert_eq!(at(1534.0, 1000.0), ["wood M1, at House"]);
        assert!(at(1536.0, 1000.0).is_empty() && at(1605.0, 1000.0).is_empty());
        assert_eq!(at(512.0, 100.0), ["wood M1, at Road"]);
        assert!(at(513.0, 100.0).is_empty());
        assert_eq!((at(607.0, 100.0).len(), at(608.0, 100.0).len(), at(700.0, 100.0).len()), (1, 0, 0));
        assert_eq!(at(1943.0, 1500.0), ["wood M1, at the march"]);
        assert!(at(1942.0, 1500.0).is_empty());
    }
}
