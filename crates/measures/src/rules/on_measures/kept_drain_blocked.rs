//! A drain that must keep running is blocked.
//!
//! Source: the survey says so; that flows others depend on are kept is law and practice, no figure is in it.

use super::seen::OnMeasures;
use super::{Checked, Rule, dammed};
use crate::finding::Severity;
use crate::kind::cut::shared;
use crate::rules::{Said, places, words};

/// The rule.
pub const RULE: Rule = Rule {
    key: "kept_drain_blocked",
    title: "Drain that must run is blocked or wetted",
    severity: Severity::Must,
    explain: "Looks for ditches to be dammed that the survey marks as drains that must keep running, for a track, a house or a neighbour, and for such drains within \
        the ground other dams wet, whose water they will then carry. Practice on ditches: {practice.wet}; drains others hang on are not meant.\n\n\
        Why it matters: blocking what others depend on floods them, and they may sue.\n\n\
        What to do: choose another ditch, or agree another way for the water first and correct the survey.",
    keys: &["practice.wet"],
};

/// Find kept drains that are blocked.
pub fn check(o: &OnMeasures) -> Checked {
    let mut found = Vec::new();
    for d in dammed::all(o)? {
        let name = o.name(d.measure);
        let mut tell = |severity: Severity, what: String, ditch: &holding::Ditch, value: String| {
            found.push(o.finding(
                &RULE,
                d.measure,
                Said {
                    severity: Some(severity),
                    what,
                    place: format!("{name}, ditch {}", ditch.id),
                    geometry: ditch.shape.clone().into(),
                    value,
                    needed: "drains that a track, a house or a neighbour hangs on keep running".into(),
                    why: "Blocking what others depend on floods them, and they may sue.".into(),
                    hint: "Choose another ditch, or agree another way for the water first and correct the survey.".into(),
                    ..Said::default()
                },
            ));
        };
        if d.ditch.keep {
            tell(Severity::Must, format!("{name} blocks a drain that must run"), d.ditch, "marked in the survey as a drain that must keep running".into());
            continue;
        }
        let Some(wetted) = d.plan.as_ref().map(|p| &p.wetted).filter(|w| !shared(w, w).0.is_empty()) else { continue };
        for kept in o.holding().ditches.iter().filter(|k| k.keep && k.id != d.ditch.id) {
            let long_m = places::metres(&places::line_inside(&kept.shape, wetted));
            if long_m >= 1.0 {
                let value = format!("{} of it in the ground that is wetted", words::metres(long_m));
                tell(Severity::Consider, format!("{name} wets the ground of a drain that must run"), kept, value);
            }
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{block, ditched, found};
    use super::*;
    use crate::rules::fixture::line;
    use holding::Ditch;

    #[test]
    fn a_kept_drain_is_left_running() {
        let mut h = ditched();
        assert!(found(&h, vec![block(&[])], check).is_empty());
        h.ditches[0].keep = true;
        assert_eq!(found(&h, vec![block(&[])], check)[0].severity, Severity::Must);
        h.ditches[0].keep = false;
        h.ditches.push(Ditch { keep: true, ..Ditch::new("K", line(&[(500.0, 400.0), (500.0, 600.0)])) });
        assert_eq!(found(&h, vec![block(&[])], check)[0].severity, Severity::Consider);
    }
}
