//! Hill stocked above the level at which black grouse did well.
//!
//! Source: Calladine, Baines & Warren 2002: grazing cut below 1.1 sheep a hectare in summer and 0.5 in winter; reference sites twice and
//! three times as much.

use super::grazed::{GrazedParcel, parcels};
use super::{Checked, Context, Rule, Said, words};
use crate::finding::Severity;

/// The rule.
pub const RULE: Rule = Rule {
    key: "overgrazed",
    title: "Hill within brood reach stocked above the grouse figure",
    severity: Severity::Should,
    explain: "Takes the stock recorded on hill, common and rough grazing that reaches within {reach.brood_m} of a lek, as hill ewes or their equal a hectare, and \
        tells where it is above {stocking.black_grouse.summer_max} in summer (May to September) or {stocking.black_grouse.winter_max} in winter (November to \
        March).\n\n\
        At ten moors in northern England where grazing was cut below those figures displaying cocks rose and more hens kept broods, against ten \
        moors grazed two to three times as hard. The study does not show where between the two the change comes. Blocks of some {stocking.block_best} did \
        best. A parcel without stock records is not told of.\n\n\
        Why it matters: heavy grazing leaves the sward a third shorter with fewer insects, and winter sheep eat heather down.\n\n\
        What to do: fewer sheep in winter first, then lighter summer grazing on part of the hill; weigh it against what waders, graziers and commoners need.",
    keys: &["stocking.black_grouse.summer_max", "stocking.black_grouse.winter_max", "stocking.block_best", "reach.brood_m"],
};

/// Find parcels stocked above the figures.
pub fn check(c: &Context) -> Checked {
    let most = [c.number("stocking.black_grouse.summer_max")?, c.number("stocking.black_grouse.winter_max")?];
    let mut found = Vec::new();
    for GrazedParcel { parcel, name, lek, ewes_per_ha, .. } in parcels(c)? {
        let over: Vec<String> = ["summer", "winter"]
            .iter()
            .zip(ewes_per_ha.iter().zip(most))
            .filter(|(_, (ewes, most))| **ewes > *most)
            .map(|(when, (ewes, _))| format!("{ewes:.2} in {when}"))
            .collect();
        if over.is_empty() {
            continue;
        }
        found.push(c.finding(
            &RULE,
            Said {
                lek: None,
                severity: None,
                what: format!("{name} is stocked above the figure for black grouse"),
                place: format!("{name}, in brood reach of {}", c.lek_name(lek)),
                geometry: parcel.shape.clone().into(),
                value: format!("hill ewes or their equal a hectare: {}", words::list(&over)),
                needed: format!("below {} in summer and {} in winter", most[0], most[1]),
                why: "Heavy grazing shortens the sward, takes the insects chicks need and eats heather down in winter.".into(),
                hint: "Take sheep off in winter first, then graze part of the hill more lightly in spring and summer in several blocks. Agree it with graziers, \
                    commoners and landlord, and weigh it against waders."
                    .into(),
                secret: vec![],
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
    fn a_hard_winter_stocking_is_found_and_one_under_the_figures_is_not() {
        let f = run(&grazed(1.0, 0.6), check);
        assert_eq!(f.len(), 1);
        assert!(f[0].value.ends_with("0.60 in winter"), "{}", f[0].value);
        assert!(run(&grazed(1.09, 0.49), check).is_empty());
    }

    #[test]
    fn a_bare_survey_is_read() {
        assert!(run(&bare(), check).is_empty());
    }
}
