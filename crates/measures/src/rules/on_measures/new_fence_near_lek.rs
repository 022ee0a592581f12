//! A fence put up or moved within reach of a lek.
//!
//! Sources: strikes on unmarked fences (Baines & Andrew 2003); the reach is the Scottish grant's for marking; the distance kept by
//! new fences is common practice.

use super::seen::OnMeasures;
use super::{Checked, Rule, fenced};
use crate::finding::Severity;
use crate::rules::{Said, places, words};
use crate::secrecy::{Secret, distance_band};
use geo_types::MultiPolygon;
use holding::{FenceKind, Marking};

/// The rule.
pub const RULE: Rule = Rule {
    key: "new_fence_near_lek",
    title: "New fence within reach of a lek",
    severity: Severity::Should,
    explain: "Looks at fences put up or moved, and at fences round new woods. An unmarked deer fence within {fence.near_lek} of a lek is certain harm: unmarked \
        ones struck {fence.strikes.deer.black_grouse}. Other unmarked fences are told of within {disturbance.new_track_fence_distance}, the distance new fences \
        keep by common practice; so is a marked one, as something to think about. Strikes on stock fences were never measured for black grouse.\n\n\
        Why it matters: grouse fly low and fast and do not see wire.\n\n\
        What to do: choose tubes or another line; else mark it with orange netting, which cut strikes by {fence.marking_cut.black_grouse}, and take it down when \
        its work is done.",
    keys: &["fence.near_lek", "disturbance.new_track_fence_distance", "fence.strikes.deer.black_grouse", "fence.marking_cut.black_grouse"],
};

/// Find new fences near leks.
pub fn check(o: &OnMeasures) -> Checked {
    let (far_m, near_m) = (1000.0 * o.number("fence.near_lek")?, o.number("disturbance.new_track_fence_distance")?);
    let c = &o.context;
    let mut found = Vec::new();
    for f in fenced::new(o) {
        let bare = matches!(f.marking, Marking::None | Marking::Unknown);
        let deer = f.kind == FenceKind::Deer;
        let within_m = if bare && deer { far_m } else { near_m };
        for lek in 0..c.leks().len() {
            let piece = places::line_inside(&f.line, &MultiPolygon(vec![places::disc(c.lek_at(lek), within_m)]));
            if piece.0.is_empty() {
                continue;
            }
            let away_m = geo::Distance::distance(&geo::Euclidean, &c.lek_at(lek), &piece);
            let long_m = places::metres(&piece);
            let (exact, band) = (words::metres(away_m), distance_band(away_m));
            let (name, lek_name) = (o.name(f.measure), c.lek_name(lek));
            let away = |d: &str| format!("{d} away at the nearest");
            let long = |d: &str| format!("{d} of it within reach");
            let kind = if deer { "deer fence" } else { "fence" };
            let marked = if bare { "unmarked" } else { "marked" };
            found.push(o.finding(
                &RULE,
                f.measure,
                Said {
                    lek: Some(lek),
                    severity: Some(match (bare, deer) {
                        (true, true) => Severity::Must,
                        (true, false) => Severity::Should,
                        (false, _) => Severity::Consider,
                    }),
                    what: format!("{name} puts {} {marked} {kind} near {lek_name}", if bare { "an" } else { "a" }),
                    place: format!("{name}, near {lek_name}"),
                    geometry: piece.into(),
                    value: format!("{marked} {kind}, {}; {}", away(&exact), long(&words::metres(long_m))),
                    needed: format!("no new fence within {}, no unmarked deer fence within {}", words::metres(near_m), words::metres(far_m)),
                    why: "Grouse fly low and fast and do not see wire; a small lek cannot spare a bird a year.".into(),
                    hint: "Choose tubes or another line; else mark it with orange netting before the lek season.".into(),
                    secret: vec![Secret::of(&exact, band, away), Secret::of(&words::metres(long_m), distance_band(long_m), long)],
                },
            ));
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{along, found, wood_of};
    use super::*;
    use crate::rules::fixture::{moor, rect};
    use serde_json::json;

    #[test]
    fn kind_marking_and_distance_weigh() {
        let at = |y: f64, kind: &str, marking: &str| {
            let m = along("fence", &[(900.0, 1000.0 + y), (1100.0, 1000.0 + y)], &[("work", json!("new")), ("kind", json!(kind)), ("marking", json!(marking))]);
            found(&moor(), vec![m], check).first().map(|f| f.severity)
        };
        assert_eq!([at(1990.0, "deer", "none"), at(2001.0, "deer", "none")], [Some(Severity::Must), None]);
        assert_eq!([at(490.0, "stock", "none"), at(501.0, "stock", "none")], [Some(Severity::Should), None]);
        assert_eq!([at(490.0, "deer", "netting"), at(501.0, "deer", "netting")], [Some(Severity::Consider), None]);
    }

    #[test]
    fn the_fence_round_a_wood_counts_and_is_withheld_in_bands() {
        let wood = |protection: &str| wood_of(rect(1171.0, 900.0, 1300.0, 1100.0), &[("protection", json!(protection)), ("fence_marking", json!("none"))]);
        let f = found(&moor(), vec![wood("fence")], check);
        assert!(f[0].value.contains("171 m away"), "{}", f[0].value);
        assert!(!f[0].withheld().value.contains("171 m"));
        assert!(found(&moor(), vec![wood("tubes")], check).is_empty());
    }
}
