//! Sward uniformly short in brood ground.
//!
//! Sources: broods choose a taller field layer with an intermediate variation of height (Roos et al. 2016); heavy grazing
//! gives shorter swards with fewer insects and fewer broods (Baines 1996); the height is common practice without a source.

use super::brood_ground::{Uniform, findings, share_above, stands};
use super::{Checked, Context, Rule, words};
use crate::finding::Severity;

/// The rule.
pub const RULE: Rule = Rule {
    key: "brood_sward_short",
    title: "Sward uniformly short in brood ground",
    severity: Severity::Should,
    explain: "Looks at surveyed moor and rough grass within {reach.brood_m} of a lek (each patch belongs to its nearest lek; the display ground is left \
        out) and tells where less than the part {rule.brood.mixed_share} of the sward stands above {practice.grazing.tall}, from the mean and spread \
        of its height, on {rule.brood.uniform_ha} or more together.\n\n\
        That hill ground needs some sward over that height, open and dense side by side, is common practice. Studies found that broods choose taller, \
        unevenly high vegetation, and that heavy grazing left vegetation a third shorter with fewer insects and broods; none gives the part needed, \
        which is an assumption of this program. Heights of patches without measurements come from their habitat class and are marked so.\n\n\
        Why it matters: on short ground chicks find few insects and nowhere to hide.\n\n\
        What to do: lighter grazing in spring and summer on part of the ground, in several blocks rather than one.",
    keys: &["practice.grazing.tall", "rule.brood.mixed_share", "rule.brood.uniform_ha", "reach.brood_m"],
};

/// Find uniformly short brood ground, by lek.
pub fn check(c: &Context) -> Checked {
    let tall_cm = c.number("practice.grazing.tall")?;
    let share = c.number("rule.brood.mixed_share")?;
    let picked = stands(c, |s| share_above(s, tall_cm) < share)?;
    let told = Uniform {
        is: "short",
        needed: format!("at least {} of the sward over {tall_cm:.0} cm, short and tall side by side", words::percent(share)),
        why: "Chicks live on insects in their first weeks and hide in the sward; short ground gives them neither.",
        hint: "Graze part of this ground more lightly in spring and summer, several small blocks rather than one large one, and let plants flower and seed. \
            Agree it with graziers and commoners; on protected ground ask the conservation authority first.",
    };
    Ok(findings(c, &RULE, picked, c.number("rule.brood.uniform_ha")?, &told))
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, moor, run};
    use super::*;

    fn at(height_cm: f32, sd_cm: f32) -> Vec<crate::Finding> {
        let mut h = moor();
        h.patches.iter_mut().for_each(|p| (p.height_cm, p.height_sd_cm) = (Some(height_cm), Some(sd_cm)));
        run(&h, check)
    }

    #[test]
    fn a_lawn_is_found_and_a_sward_with_a_tenth_tall_is_not() {
        let f = at(12.0, 4.0);
        assert_eq!(f.len(), 1);
        assert!(f[0].value.contains("mean 12 cm"), "{}", f[0].value);
        // 30 cm is 1.28 deviations above 17.2 with a spread of 10: a tenth of a normal spread lies above.
        assert!(at(17.4, 10.0).is_empty());
        assert_eq!(at(16.9, 10.0).len(), 1);
    }

    #[test]
    fn a_little_short_ground_is_left_alone() {
        let mut h = moor();
        h.patches[2].height_cm = Some(8.0);
        assert!(run(&h, check).is_empty());
    }

    #[test]
    fn a_bare_survey_is_read() {
        assert!(run(&bare(), check).is_empty());
    }
}
