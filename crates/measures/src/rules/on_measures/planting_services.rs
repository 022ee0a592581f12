//! Trees planted under wires or over buried services.
//!
//! Sources: widths by voltage are practice from memory; for buried services no figure was found and one is assumed.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie, planted};
use crate::finding::Severity;
use crate::rules::{Said, places, words};

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_services",
    title: "Trees planned under wires or over services",
    severity: Severity::Must,
    explain: "Looks for woods, new ones and restocked ones, near mapped services. Clear of overhead lines, each side: {planting.offset.wire_11kv} at 11 kV (also \
        where the voltage is not told), {planting.offset.wire_33kv} at 33 kV, {planting.offset.wire_132kv} at 132 kV and {planting.offset.wire_275_400kv} at 275 or \
        400 kV: practice, from memory. Everything that is not called overhead or a line is taken as buried and kept clear by {rule.planting.buried}, an \
        assumption. The voltage is read from the words of the survey.\n\n\
        Why it matters: trees on wires kill people and cut power; roots break pipes, and the ground must stay open for repair.\n\n\
        What to do: leave the strip open as a glade or ride, and ask the network or the owner of the pipe for their wayleave before the outline is fixed.",
    keys: &[
        "planting.offset.wire_11kv",
        "planting.offset.wire_33kv",
        "planting.offset.wire_132kv",
        "planting.offset.wire_275_400kv",
        "rule.planting.buried",
    ],
};

/// Guidance key of the strip along a service, by its kind in words.
fn key_of(kind: &str) -> &'static str {
    let kind = kind.to_lowercase();
    let overhead = ["overhead", "line", "wire", "kv", "pylon", "electric"].iter().any(|w| kind.contains(w));
    let buried = ["buried", "underground", "cable", "pipe", "main", "gas", "water"].iter().any(|w| kind.contains(w));
    match () {
        () if !overhead || (buried && !kind.contains("overhead")) => "rule.planting.buried",
        () if kind.contains("400") || kind.contains("275") => "planting.offset.wire_275_400kv",
        () if kind.contains("132") => "planting.offset.wire_132kv",
        () if kind.contains("33") => "planting.offset.wire_33kv",
        () => "planting.offset.wire_11kv",
    }
}

/// Find woods near services.
pub fn check(o: &OnMeasures) -> Checked {
    let mut found = Vec::new();
    for p in planted::all(o) {
        for service in &o.holding().services {
            let within_m = o.number(key_of(&service.kind))?;
            let piece = lie::near_lines(&p.area, &service.shape, within_m);
            if piece.0.is_empty() {
                continue;
            }
            let name = o.name(p.measure);
            let kind = if service.kind.is_empty() { "service" } else { &service.kind };
            found.push(o.finding(
                &RULE,
                p.measure,
                Said {
                    what: format!("{name} plants under or over a service"),
                    place: format!("{name}, along {kind} {}", service.id),
                    value: format!("{} of trees within {} of it", lie::ha(places::hectares(&piece)), words::metres(within_m)),
                    geometry: piece.into(),
                    needed: format!("no trees within {} each side, or as far as the network asks", words::metres(within_m)),
                    why: "Trees on wires kill people and cut power; roots break pipes, and the ground must stay open for repair.".into(),
                    hint: "Leave the strip open as a glade; ask the network or the owner for their wayleave first.".into(),
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
    use crate::rules::fixture::{line, moor, rect};
    use holding::Service;

    #[test]
    fn the_strip_is_that_of_the_voltage() {
        let at = |kind: &str, x: f64| {
            let mut h = moor();
            h.services = vec![Service { kind: kind.into(), ..Service::new("S1", line(&[(1500.0, 0.0), (1500.0, 2000.0)])) }];
            found(&h, vec![wood_of(rect(x, 1500.0, 1800.0, 1600.0), &[])], check).len()
        };
        assert_eq!([at("overhead line", 1507.0), at("overhead line", 1508.0)], [1, 0]);
        assert_eq!([at("33 kV line", 1512.0), at("33 kV line", 1513.0)], [1, 0]);
        assert_eq!([at("132 kV overhead", 1527.0), at("400 kV line", 1537.0), at("400 kV line", 1538.0)], [1, 1, 0]);
        assert_eq!([at("water main", 1504.0), at("water main", 1506.0), at("", 1506.0)], [1, 0, 0]);
    }
}
