//! Moor in pieces too small.
//!
//! Source: White et al. 2015: when planting, keep moor in patches of 200 ha or more, little broken up.

use super::{Checked, Context, Rule, Said, places, words};
use crate::finding::Severity;
use habitat::Class;

/// The rule.
pub const RULE: Rule = Rule {
    key: "moor_patch_small",
    title: "Moor near the lek in pieces that are too small",
    severity: Severity::Consider,
    explain: "Takes the largest patch of joined moor (heath, bog, mire) any part of which lies within {composition.near_m} of a lek and tells where it is \
        smaller than {composition.moor_patch.least}. The patch is measured as far as the survey and the reach of the leks go; the piece given is the \
        moor within that distance.\n\n\
        A study of tagged birds in the central Highlands advises keeping moor in patches of at least that size, little broken up, where woods are planted. \
        It is advice from one landscape, not a limit below which leks fail. Moor that runs on beyond the mapped ground makes a patch look smaller than it is.\n\n\
        Why it matters: cocks of that study ranged over more ground than that in a season, and birds cross small pieces broken up by woods less safely.\n\n\
        What to do: keep new woods off the patch and its necks; open or thin what divides it when it is felled.",
    keys: &["composition.moor_patch.least", "composition.near_m"],
};

/// Find leks whose moor is in small pieces.
pub fn check(c: &Context) -> Checked {
    let least_ha = c.number("composition.moor_patch.least")?;
    let near_m = c.number("composition.near_m")?;
    let mut found = Vec::new();
    for (lek, ledger) in c.leks().iter().enumerate() {
        let row = ledger.composition.iter().find(|r| r.key == "moor_patch");
        let Some(ha) = row.and_then(|r| r.value).filter(|v| *v < least_ha) else { continue };
        let at = c.lek_at(lek);
        let disc = places::disc(at, near_m);
        let pieces = c.stands().iter().filter(|s| s.class == Class::Moor).map(|s| places::area_inside(c.shape(s), &disc));
        let lek_name = c.lek_name(lek);
        found.push(c.finding(
            &RULE,
            Said {
                lek: Some(lek),
                severity: None,
                what: format!("the moor near {lek_name} is in small pieces"),
                place: format!("moor within {} of {lek_name}", words::metres(near_m)),
                geometry: places::together(pieces, at),
                value: if ha > 0.0 { format!("largest joined patch {}", words::hectares(ha)) } else { "no moor mapped".into() },
                needed: format!("a patch of {} or more, little broken up", words::hectares(least_ha)),
                why: "Birds range over hundreds of hectares of moor in a season; small pieces between woods are used less and less safely.".into(),
                hint: "Keep new woods, fences and tracks off this moor and the necks that join it; when woods that divide it are felled, open a way through.".into(),
                secret: vec![],
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, moor, patch, rect, run};
    use super::*;
    use holding::Plant;

    /// A square of moor of a size, hectares, in grass.
    fn with(ha: f64) -> Vec<crate::Finding> {
        let mut h = moor();
        let half = (ha * 1e4f64).sqrt() / 2.0;
        let mut grass = patch("Grass", rect(0.0, 0.0, 2000.0, 2000.0), 20.0);
        for (plant, pct) in [(Plant::Heather, 0.0), (Plant::CottonGrass, 0.0), (Plant::SedgeGrass, 80.0)] {
            grass.covers.set(plant, pct);
        }
        // Later patches lie on earlier ones.
        h.patches = vec![grass, patch("Moss", rect(1000.0 - half, 1000.0 - half, 1000.0 + half, 1000.0 + half), 30.0)];
        run(&h, check)
    }

    #[test]
    fn a_small_patch_is_found_and_a_large_one_is_not() {
        // Cells of 10 m follow a square of whole tens: 196 ha (1400 m) and 204.49 ha (1430 m).
        let f = with(196.0);
        assert_eq!(f.len(), 1);
        assert_eq!(f[0].value, "largest joined patch 196 ha");
        assert!(with(204.49).is_empty());
    }

    #[test]
    fn a_bare_survey_is_read() {
        run(&bare(), check);
    }
}
