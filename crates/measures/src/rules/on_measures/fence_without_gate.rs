//! A new fence across a burn, a path or a track with too few gates.
//!
//! Sources: a gate at every crossing of a path is common practice; keeping access is law, from memory.

use super::seen::OnMeasures;
use super::{Checked, Rule, fenced, lie};
use crate::finding::Severity;
use crate::rules::{Said, words};
use geo::line_intersection::{LineIntersection, line_intersection};
use geo_types::{MultiLineString, MultiPoint, Point};

/// The rule.
pub const RULE: Rule = Rule {
    key: "fence_without_gate",
    title: "New fence across a way or burn without a gate",
    severity: Severity::Must,
    explain: "Counts where fences put up or moved, and fences round new woods, cross mapped tracks, paths, roads and watercourses, and holds the count against the \
        gates told of the fence (none for the fence of a wood). A gate stands at every crossing of a way, and a field gate each \
        {fence.gate_interval} or so; a burn wants a water gate that gives in a spate. The law: {law.text.access}. Crossings of burns alone \
        weigh less.\n\n\
        Why it matters: a blocked way is against the law and gets the fence cut; a burn takes a fence without a water gate, or stock go under it.\n\n\
        What to do: tell the gates, or lead the fence along the way instead of over it. Check the code in force.",
    keys: &["fence.gate_interval", "law.text.access"],
};

/// Where two sets of lines cross.
fn crossings(a: &MultiLineString<f64>, b: &MultiLineString<f64>) -> Vec<Point<f64>> {
    let mut out: Vec<Point<f64>> = Vec::new();
    for p in a.0.iter().flat_map(|l| l.lines()) {
        for q in b.0.iter().flat_map(|l| l.lines()) {
            if let Some(LineIntersection::SinglePoint { intersection, .. }) = line_intersection(p, q) {
                let at = Point::from(intersection);
                if at.x().is_finite() && !out.contains(&at) {
                    out.push(at);
                }
            }
        }
    }
    out
}

/// Find new fences with fewer gates than crossings.
pub fn check(o: &OnMeasures) -> Checked {
    let h = o.holding();
    let mut found = Vec::new();
    for f in fenced::new(o) {
        let (mut at, mut names, mut ways) = (Vec::new(), Vec::new(), 0);
        for t in &h.tracks {
            let here = crossings(&f.line, &t.shape);
            ways += here.len();
            if !here.is_empty() {
                names.push(lie::called(&t.name, &t.id).to_string());
            }
            at.extend(here);
        }
        for w in &h.watercourses {
            let here = crossings(&f.line, &w.shape);
            if !here.is_empty() {
                names.push(lie::called(&w.name, &w.id).to_string());
            }
            at.extend(here);
        }
        let gates = f.gates.filter(|g| g.is_finite()).map_or(0.0, |g| g.clamp(0.0, 1e6));
        if at.is_empty() || gates >= at.len() as f64 {
            continue;
        }
        let name = o.name(f.measure);
        found.push(o.finding(
            &RULE,
            f.measure,
            Said {
                severity: Some(if ways as f64 > gates { Severity::Must } else { Severity::Should }),
                what: format!("{name} crosses {} with too few gates", if ways > 0 { "ways" } else { "burns" }),
                place: format!("{name}, at {}", words::list(&names)),
                value: format!("{} crossings ({ways} of ways), {gates:.0} gates told of", at.len()),
                geometry: MultiPoint(at).into(),
                needed: "a gate or stile at every crossing of a way, a water gate at every burn; check the code in force".into(),
                why: "A blocked way is against the law and gets the fence cut; a burn in spate takes the fence.".into(),
                hint: "Set the number of its gates, such as 2, or lead it another way.".into(),
                ..Said::default()
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{along, found};
    use super::*;
    use crate::rules::fixture::{line, moor};
    use holding::{Track, TrackKind, Watercourse};
    use serde_json::json;

    #[test]
    fn every_crossing_wants_a_gate() {
        let mut h = moor();
        h.tracks = vec![Track { kind: TrackKind::Path, name: "Old road".into(), ..Track::new("T1", line(&[(500.0, 0.0), (500.0, 2000.0)])) }];
        h.watercourses = vec![Watercourse::new("B1", line(&[(700.0, 0.0), (700.0, 2000.0)]))];
        let at = |to: f64, gates: f64| found(&h, vec![along("fence", &[(400.0, 300.0), (to, 310.0)], &[("work", json!("new")), ("gates", json!(gates))])], check);
        assert!(at(499.0, 0.0).is_empty());
        assert_eq!(at(600.0, 0.0)[0].severity, Severity::Must);
        assert!(at(600.0, 1.0).is_empty());
        assert_eq!((at(800.0, 1.0)[0].severity, at(800.0, 2.0).len()), (Severity::Should, 0));
        assert!(at(800.0, 0.0)[0].value.starts_with("2 crossings (1 of ways)"));
    }
}
