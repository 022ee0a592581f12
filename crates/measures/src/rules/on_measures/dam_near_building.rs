//! Dams near a building, a track or the march, or whose water runs onto one.
//!
//! Source: the distances are assumptions of this program; no figure was found.

use super::seen::OnMeasures;
use super::{Checked, Rule, dammed, lie};
use crate::finding::Severity;
use crate::kind::dams::flow::Onto;
use crate::rules::{Said, places, words};
use ground::buffer;

/// The rule.
pub const RULE: Rule = Rule {
    key: "dam_near_building",
    title: "Ditch dammed near a building or track",
    severity: Severity::Should,
    explain: "Looks at ditches to be dammed that come within {water.keep.building} of a building or {water.keep.track} of a track: the plan of the dams leaves those \
        stretches open, and the finding says which. And at the water the dams turn out: followed {water.check.flow} down the height model, onto a building or beyond \
        the boundary it is told as certain harm, onto a track as something to put right. The distances are assumptions; no figure was found.\n\n\
        Why it matters: wet footings, soaked tracks and a flooded neighbour end a scheme.\n\n\
        What to do: dam only the stretch above, lead the water off through a pipe or a side channel, and agree it with whoever is below.",
    keys: &["water.keep.building", "water.keep.track", "water.check.flow"],
};

/// Find dams near buildings and tracks.
pub fn check(o: &OnMeasures) -> Checked {
    let (house_m, track_m) = (o.number("water.keep.building")?, o.number("water.keep.track")?);
    let h = o.holding();
    let style = buffer::Style::default();
    let mut found = Vec::new();
    for d in dammed::all(o)? {
        let name = o.name(d.measure);
        let worked = if places::metres(&d.measure.line) > 0.0 && o.facts(d.measure).word("work") == "dam" { &d.measure.line } else { &d.ditch.shape };
        let mut tell = |severity: Severity, what: String, place: String, geometry: geo_types::Geometry<f64>, value: String| {
            found.push(o.finding(
                &RULE,
                d.measure,
                Said {
                    severity: Some(severity),
                    what,
                    place,
                    geometry,
                    value,
                    needed: format!("no dam within {} of a building or {} of a track, and its water onto neither", words::metres(house_m), words::metres(track_m)),
                    why: "Wet footings, soaked tracks and a flooded neighbour end a scheme.".into(),
                    hint: "Dam only the stretch above, or lead the water off first, and agree it with whoever is below.".into(),
                    ..Said::default()
                },
            ));
        };
        for b in &h.buildings {
            let piece = places::line_inside(worked, &buffer::around_area(&b.shape, house_m, style));
            if !piece.0.is_empty() {
                let value = format!("{} of the ditch within {}, which stay open", words::metres(places::metres(&piece)), words::metres(house_m));
                let at = lie::called(&b.name, &b.id);
                tell(Severity::Should, format!("{name} dams a ditch near a building"), format!("{name}, at {at}"), piece.into(), value);
            }
        }
        for t in &h.tracks {
            let piece = places::line_inside(worked, &buffer::along_lines(&t.shape, track_m, style));
            if !piece.0.is_empty() {
                let value = format!("{} of the ditch within {}, which stay open", words::metres(places::metres(&piece)), words::metres(track_m));
                let at = lie::called(&t.name, &t.id);
                tell(Severity::Consider, format!("{name} dams a ditch near a track"), format!("{name}, at {at}"), piece.into(), value);
            }
        }
        for spill in d.plan.iter().flat_map(|p| &p.spills) {
            let severity = if spill.onto == Onto::Track { Severity::Should } else { Severity::Must };
            tell(severity, format!("{name} turns water onto {}", match spill.onto {
                Onto::Track => "a track",
                Onto::Building => "a building",
                Onto::Neighbour => "a neighbour",
            }), format!("{name}, below dam {}", spill.dam), spill.at.into(), spill.words());
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{block, ditched, found};
    use super::*;
    use crate::rules::fixture::{line, rect};
    use holding::{Building, Track};

    #[test]
    fn buildings_and_tracks_have_their_distance() {
        let house = |y: f64| {
            let mut h = ditched();
            h.buildings = vec![Building::new("B", rect(480.0, y, 500.0, y + 10.0))];
            found(&h, vec![block(&[])], check).len()
        };
        assert_eq!([house(549.0), house(551.0)], [1, 0]);
        let track = |y: f64| {
            let mut h = ditched();
            h.tracks = vec![Track::new("T", line(&[(0.0, y), (900.0, y)]))];
            found(&h, vec![block(&[])], check).first().map(|f| f.severity)
        };
        assert_eq!([track(509.0), track(511.0)], [Some(Severity::Consider), None]);
    }
}
