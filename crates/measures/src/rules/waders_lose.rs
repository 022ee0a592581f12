//! Where lighter grazing for grouse costs waders.
//!
//! Source: Baines et al. 2002: on moor plots with reduced grazing waders fell by 59 % and grey partridge by 60 %.

use super::grazed::{GrazedParcel, parcels};
use super::{Checked, Context, Rule, Said, words};
use crate::finding::Severity;
use crate::secrecy::Secret;

/// The rule.
pub const RULE: Rule = Rule {
    key: "waders_lose",
    title: "Light grazing that may cost waders",
    severity: Severity::Consider,
    explain: "Looks at hill, common and rough grazing within {reach.brood_m} of a lek that has stock recorded, but less than {stocking.black_grouse.summer_max} in \
        summer, and where a patch has grown tall: a mean above {practice.grazing.tall}. It also says where such a parcel is larger than \
        {stocking.block_decline_above}.\n\n\
        On the plots of the study that cut grazing for black grouse, waders changed by {tests.less_grazing.waders} and grey partridge by \
        {tests.less_grazing.grey_partridge}; on blocks above that size hens declined again. That swards growing tall is the cause is the reading of \
        its authors. The height that counts as tall here is common practice, and the survey of birds other than grouse is not known to this program.\n\n\
        Why it matters: what is done for one bird is taken from others; a plan should say so and choose.\n\n\
        What to do: ask who counts waders here before grazing is cut further; keep some ground short for them, and several small light blocks for grouse.",
    keys: &[
        "stocking.black_grouse.summer_max",
        "practice.grazing.tall",
        "stocking.block_decline_above",
        "tests.less_grazing.waders",
        "tests.less_grazing.grey_partridge",
        "reach.brood_m",
    ],
};

/// Find lightly grazed parcels that have grown tall.
pub fn check(c: &Context) -> Checked {
    let light = c.number("stocking.black_grouse.summer_max")?;
    let tall_cm = c.number("practice.grazing.tall")?;
    let large_ha = 100.0 * c.number("stocking.block_decline_above")?;
    let (waders, partridge) = (c.number("tests.less_grazing.waders")?, c.number("tests.less_grazing.grey_partridge")?);
    let mut found = Vec::new();
    for GrazedParcel { parcel, name, lek, ewes_per_ha, stands, ha } in parcels(c)? {
        let tall_stands: Vec<_> = stands.into_iter().filter(|s| s.height_cm as f64 > tall_cm).collect();
        let tall: Vec<String> = tall_stands.iter().map(|s| c.stand_name(s)).collect();
        if ewes_per_ha[0] >= light || tall.is_empty() {
            continue;
        }
        let large = if ha > large_ha { format!("; the block is {}, and hens declined on blocks over {}", words::hectares(ha), words::hectares(large_ha)) } else { String::new() };
        // The parcel is shown exactly: that a lek lies in it is not said either.
        let secret = c.names_kept_back(tall_stands).into_iter().map(|s| Secret { instead: "a patch".into(), ..s }).collect();
        found.push(c.finding(
            &RULE,
            Said {
                lek: None,
                severity: None,
                what: format!("{name} is grazed lightly and has grown tall: good for grouse for a time, not for waders"),
                place: format!("{name}, in brood reach of {}", c.lek_name(lek)),
                geometry: parcel.shape.clone().into(),
                value: format!("{:.2} ewes or their equal a hectare in summer; mean sward over {tall_cm:.0} cm on {}{large}", ewes_per_ha[0], words::list(&tall)),
                needed: "a choice made knowingly: some short ground for waders, light grazing in several small blocks".into(),
                why: format!("Where grazing was cut for black grouse, waders changed by {waders:.0} % and grey partridge by {partridge:.0} %."),
                hint: "Ask who counts waders here before grazing is cut further, and keep part of the ground short for them.".into(),
                secret,
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, grazed, run};
    use super::*;

    #[test]
    fn a_light_tall_hill_is_found_and_a_stocked_or_short_one_is_not() {
        let tall = |ewes: f32, height_cm: f32| {
            let mut h = grazed(ewes, 0.2);
            h.patches.iter_mut().for_each(|p| p.height_cm = Some(height_cm));
            run(&h, check)
        };
        let f = tall(0.5, 32.0);
        assert_eq!(f.len(), 1);
        assert!(f[0].why.contains("-59 %") && f[0].value.contains("400 ha"), "{} {}", f[0].why, f[0].value);
        assert!(tall(1.2, 32.0).is_empty());
        assert!(tall(0.5, 29.0).is_empty());
    }

    #[test]
    fn a_bare_survey_is_read() {
        assert!(run(&bare(), check).is_empty());
    }
}
