//! Sward uniformly rank in brood ground.
//!
//! Sources: chicks cannot move through uniformly tall ground (common practice; solid tall heather hinders chicks, in a guidance
//! page); the gain of lighter grazing fades as the sward turns rank (Calladine, Baines & Warren 2002).

use super::brood_ground::{Uniform, findings, share_above, stands};
use super::{Checked, Context, Rule, words};
use crate::finding::Severity;
use holding::Plant;

/// The rule.
pub const RULE: Rule = Rule {
    key: "brood_sward_rank",
    title: "Sward uniformly rank in brood ground",
    severity: Severity::Should,
    explain: "Looks at surveyed moor and rough grass within {reach.brood_m} of a lek (each patch belongs to its nearest lek; the display ground is left \
        out) and tells where less than the part {rule.brood.mixed_share} of the sward is below {structure.brood.sward_high}, from the mean and spread of \
        its height, on {rule.brood.uniform_ha} or more together. Ground with {rule.brood.heather_led} or more of heather is left out: tall heather is \
        nesting cover and is judged by the heather rule.\n\n\
        The height is from memory and common practice; the part is an assumption. A study of reduced grazing found that the gain fades after some \
        {structure.undergrazing.fade_years}, which is laid to the sward turning rank. Heights of patches without measurements come from their habitat \
        class and are marked so.\n\n\
        Why it matters: chicks get wet and cannot move in ground that is tall and dense all over.\n\n\
        What to do: open it with cattle in summer or by cutting part of it in autumn; keep rushes and tall grass beside the gaps.",
    keys: &[
        "structure.brood.sward_high",
        "rule.brood.mixed_share",
        "rule.brood.uniform_ha",
        "rule.brood.heather_led",
        "structure.undergrazing.fade_years",
        "reach.brood_m",
    ],
};

/// Find uniformly rank brood ground, by lek.
pub fn check(c: &Context) -> Checked {
    let rank_cm = c.number("structure.brood.sward_high")?;
    let share = c.number("rule.brood.mixed_share")?;
    let heather = c.number("rule.brood.heather_led")? as f32 / 100.0;
    let picked = stands(c, |s| s.covers[Plant::Heather as usize] < heather && 1.0 - share_above(s, rank_cm) < share)?;
    let told = Uniform {
        is: "rank",
        needed: format!("at least {} of the sward below {rank_cm:.0} cm, open and dense side by side", words::percent(share)),
        why: "Chicks get soaked and cannot move where the sward is tall and dense all over.",
        hint: "Open it in patches: cattle in summer, or cutting part of it when nesting is over, never all at once. Keep some tall rush and grass for cover. Check \
            first that no birds nest there, and ask for consent on protected ground.",
    };
    Ok(findings(c, &RULE, picked, c.number("rule.brood.uniform_ha")?, &told))
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, moor, run};
    use super::*;

    fn at(height_cm: f32, sd_cm: f32, heather_pct: f32) -> Vec<crate::Finding> {
        let mut h = moor();
        for p in &mut h.patches {
            (p.height_cm, p.height_sd_cm) = (Some(height_cm), Some(sd_cm));
            p.covers.set(Plant::Heather, heather_pct);
        }
        run(&h, check)
    }

    #[test]
    fn a_rank_sward_is_found_and_one_with_a_tenth_open_is_not() {
        assert_eq!(at(65.0, 10.0, 10.0).len(), 1);
        // 40 cm is 1.28 deviations below 52.8 with a spread of 10.
        assert_eq!(at(53.2, 10.0, 10.0).len(), 1);
        assert!(at(52.5, 10.0, 10.0).is_empty());
    }

    #[test]
    fn tall_heather_is_left_to_the_heather_rule() {
        assert!(at(65.0, 10.0, 60.0).is_empty());
    }

    #[test]
    fn a_bare_survey_is_read() {
        assert!(run(&bare(), check).is_empty());
    }
}
