//! View from the lek lost to trees and tall sward.
//!
//! Compares what a displaying bird sees over bare ground with what it sees over the same ground with the sward and
//! trees of the survey on it. Source: the limit is an assumption of this program; that leks need an open view is common practice.

use super::{Checked, Context, Rule, Said, places, words};
use crate::finding::Severity;
use geo::{Distance, Euclidean};
use geo_types::MultiPolygon;
use habitat::state::Origin;
use habitat::{Feature, LekGround};

/// The rule.
pub const RULE: Rule = Rule {
    key: "view_lost",
    title: "View from the lek lost to trees or tall vegetation",
    severity: Severity::Should,
    explain: "Draws the view of a displaying bird, its eye {lek.eye_m} above the ground, out to {lek.view_m}: once over bare ground, once \
        with the sward and trees of the survey standing on it (trees let light through by their canopy). It tells where more than the part \
        {rule.view.lost_share} of the disc, or of the horizon, that bare ground would show is hidden.\n\n\
        The piece given is every wood within the view, and every patch taller than the eye.\n\n\
        Limits: the part allowed is an assumption of this program, not a measured figure; that leks need a view all round is common practice. \
        Heights and canopies of woods without tree measurements are worked out from their age. Needs a height model.\n\n\
        Why it matters: cocks that cannot see round leave a lek or are taken on it.\n\n\
        What to do: keep the display ground and its surroundings short; thin, cut back or clear the trees named, where felling law allows.",
    keys: &["rule.view.lost_share", "lek.eye_m", "lek.view_m"],
};

const KEEP_LOW: &str = "Keep the sward round the display ground below the eye of a bird";
const PATCHES: &str = "Do it outside the season of display and nesting, and ask for consent on protected ground first.";
const FELLING: &str = "Felling may need a licence or permission, and consent on protected ground.";

/// Parts of the disc and of the horizon that what stands on the ground hides, fractions; the horizon is `None` where bare
/// ground shows none.
fn lost(ground: &LekGround) -> Option<(f64, Option<f64>)> {
    let part = |bare: Option<f64>, now: Option<f64>| Some(((bare? - now?) / bare.filter(|b| *b > 0.0)?).clamp(0.0, 1.0));
    Some((part(ground.bare_disc, ground.view_disc)?, part(ground.bare_horizon, ground.view_horizon)))
}

/// Find every lek that has lost too much of its view.
pub fn check(c: &Context) -> Checked {
    let allowed = c.number("rule.view.lost_share")?;
    let eye_cm = c.number("lek.eye_m")? as f32 * 100.0;
    let mut found = Vec::new();
    for (lek, ledger) in c.leks().iter().enumerate() {
        let Some((disc_lost, horizon_lost)) = lost(&ledger.ground).filter(|(d, h)| d.max(h.unwrap_or(0.0)) > allowed) else { continue };
        let at = c.lek_at(lek);
        let disc = places::disc(at, ledger.ground.view_m);
        let mut hiding = Vec::new();
        for stand in c.stands() {
            let hides = match stand.feature {
                Feature::Wood(_) => stand.tree_height_m > 0.0,
                Feature::Patch(_) => stand.height_cm > eye_cm && stand.height_from != Origin::Missing,
            };
            let piece = if hides { places::area_inside(c.shape(stand), &disc) } else { continue };
            if !piece.0.is_empty() {
                hiding.push((stand, piece));
            }
        }
        // Trees first, then the nearest: what the list shows first is what to look at first.
        let near_m = |p: &MultiPolygon<f64>| Euclidean.distance(&at, p);
        hiding.sort_by(|(a, p), (b, q)| (a.tree_height_m <= 0.0).cmp(&(b.tree_height_m <= 0.0)).then(near_m(p).total_cmp(&near_m(q))));
        let names: Vec<String> = hiding.iter().map(|(s, _)| c.stand_name(s)).collect();
        let horizon = horizon_lost.map_or(String::new(), |h| format!(" and {} of the horizon", words::percent(h)));
        let lek_name = c.lek_name(lek);
        let by = if names.is_empty() { String::new() } else { format!("; within the view: {}", words::list(&names)) };
        let felling = hiding.iter().any(|(s, _)| matches!(s.feature, Feature::Wood(_)));
        let tall = hiding.iter().any(|(s, _)| matches!(s.feature, Feature::Patch(_)));
        let hint = match (felling, tall) {
            (true, true) => format!("{KEEP_LOW}, bring down the tall growth on the patches named, and thin or clear the trees named, starting with the nearest. {PATCHES} {FELLING}"),
            (true, false) => format!("{KEEP_LOW}, and thin or clear the trees named, starting with the nearest. {FELLING}"),
            (false, true) => format!("{KEEP_LOW}: graze, cut or roll the tall growth on the patches named, starting with the nearest. {PATCHES}"),
            (false, false) => format!("{KEEP_LOW}. {PATCHES}"),
        };
        let secret = c.names_kept_back(hiding.iter().map(|(s, _)| *s));
        found.push(c.finding(
            &RULE,
            Said {
                lek: Some(lek),
                severity: None,
                what: format!("{lek_name} has lost part of its view"),
                place: format!("{lek_name}, out to {}", words::metres(ledger.ground.view_m)),
                geometry: places::together(hiding.into_iter().map(|(_, p)| p), at),
                value: format!(
                    "hidden, of what bare ground would show: {} of the ground{horizon}{by}",
                    words::percent(disc_lost)
                ),
                needed: format!("at most {} of either hidden", words::percent(allowed)),
                why: "A cock at display relies on seeing danger early; leks whose view closes are given up.".into(),
                hint,
                secret,
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, flat, moor, rect, run, wood};
    use super::*;
    use holding::Tree;

    #[test]
    fn a_dark_wall_of_trees_is_found() {
        let mut h = moor();
        h.heights = Some(flat());
        h.patches.iter_mut().for_each(|p| p.height_cm = Some(5.0));
        h.woods = vec![wood("Wall", rect(1050.0, 600.0, 1500.0, 1400.0), Tree::Spruce, 12.0, 95.0, 1990)];
        let f = run(&h, check);
        assert_eq!(f.len(), 1);
        assert!(f[0].value.contains("Wall"), "{}", f[0].value);
        assert!(f[0].hint.contains("trees named") && !f[0].hint.contains("patches named"), "{}", f[0].hint);
    }

    #[test]
    fn tall_patches_alone_are_not_told_of_as_trees_and_the_one_under_the_lek_goes_unnamed_when_withheld() {
        let mut h = moor();
        h.heights = Some(flat());
        h.patches.iter_mut().for_each(|p| (p.height_cm, p.height_sd_cm) = (Some(60.0), Some(5.0)));
        let f = run(&h, check).remove(0);
        assert!(!f.hint.contains("tree") && !f.hint.contains("elling") && f.hint.contains("patches named"), "{}", f.hint);
        assert!(f.value.contains("Green"), "{}", f.value);
        let told = f.withheld();
        assert!(!told.value.contains("Green") && told.value.contains("a patch at the lek"), "{}", told.value);
    }

    #[test]
    fn short_open_ground_is_left_alone() {
        let mut h = moor();
        h.heights = Some(flat());
        h.patches.iter_mut().for_each(|p| {
            p.height_cm = Some(5.0);
            p.height_sd_cm = Some(1.0);
        });
        assert!(run(&h, check).is_empty());
    }

    #[test]
    fn without_heights_nothing_is_said() {
        assert!(run(&bare(), check).is_empty());
        assert!(run(&moor(), check).is_empty());
    }

    #[test]
    fn the_part_lost_is_counted_against_bare_ground() {
        let mut h = moor();
        h.heights = Some(flat());
        let guidance = guidance::Guidance::load().unwrap();
        let a = habitat::assess(&h, &guidance, habitat::Settings { draws: 2, ..Default::default() }).unwrap();
        let mut ground = a.assessment.leks[0].ground.clone();
        (ground.bare_disc, ground.view_disc, ground.bare_horizon, ground.view_horizon) = (Some(0.8), Some(0.6), Some(1.0), Some(0.95));
        let (disc, horizon) = lost(&ground).unwrap();
        assert!((disc - 0.25).abs() < 1e-9 && (horizon.unwrap() - 0.05).abs() < 1e-9);
        ground.bare_disc = None;
        assert!(lost(&ground).is_none());
    }
}
