//! Too much closed conifer round a lek.
//!
//! Source: Warren et al. 2020, 121 leks in south Scotland 1989-2018: 6 % conifer within 1 km of leks kept, 29 % round leks lost.

use super::{Checked, Context, Rule, Said, places, words};
use crate::finding::Severity;
use habitat::Class;

/// The rule.
pub const RULE: Rule = Rule {
    key: "conifer_share_high",
    title: "Too much closed conifer within 1 km of the lek",
    severity: Severity::Should,
    explain: "Takes the share of closed plantation conifer in the mapped ground within {composition.near_m} of a lek and tells where it is above \
        {rule.conifer.share}, half way between the {composition.conifer_1km.retained} found round leks that were kept and the \
        {composition.conifer_1km.lost} round leks that were lost, of 121 leks in south Scotland over thirty years.\n\n\
        Limits: means of two groups, no sharp line; leks with more have lasted and leks with less have gone. Ground nobody mapped is left out of \
        the share.\n\n\
        Why it matters: young plantations serve the birds for a decade, then close over heather, blaeberry and brood ground and shelter \
        hunters of eggs and chicks. It was the strongest difference between leks kept and lost.\n\n\
        What to do: at felling, do not restock the ground nearest the lek; open rides and edges; let native trees at low density take the place. \
        Felling without restocking needs the forestry authority's agreement.",
    keys: &["rule.conifer.share", "composition.conifer_1km.retained", "composition.conifer_1km.lost", "composition.near_m"],
};

/// Find leks with too much closed conifer round them.
pub fn check(c: &Context) -> Checked {
    let limit = c.number("rule.conifer.share")?;
    let (kept, lost) = (c.number("composition.conifer_1km.retained")?, c.number("composition.conifer_1km.lost")?);
    let mut found = Vec::new();
    for (lek, ledger) in c.leks().iter().enumerate() {
        let row = ledger.composition.iter().find(|r| r.key == "closed_conifer");
        let Some((row, share)) = row.and_then(|r| Some((r, r.value.filter(|v| *v > limit)?))) else { continue };
        let at = c.lek_at(lek);
        let disc = places::disc(at, row.radius_m);
        let woods = c.stands().iter().filter(|s| s.class == Class::ClosedConifer);
        let pieces: Vec<_> = woods.map(|s| (s, places::area_inside(c.shape(s), &disc))).filter(|(_, p)| !p.0.is_empty()).collect();
        let names: Vec<String> = pieces.iter().map(|(s, _)| c.stand_name(s)).collect();
        let lek_name = c.lek_name(lek);
        let secret = c.names_kept_back(pieces.iter().map(|(s, _)| *s));
        found.push(c.finding(
            &RULE,
            Said {
                lek: Some(lek),
                severity: None,
                what: format!("much closed conifer round {lek_name}"),
                place: format!("{}, within {} of {lek_name}", words::list(&names), words::metres(row.radius_m)),
                value: format!("{share:.0} % of the mapped ground within {}", words::metres(row.radius_m)),
                geometry: places::together(pieces.into_iter().map(|(_, p)| p), at),
                needed: format!("well under {limit:.1} %; leks kept had {kept:.0} %, leks lost {lost:.0} %"),
                why: "Closed plantations shade out food and brood ground and shelter hunters; leks with much of it near by were lost.".into(),
                hint: "When these stands are felled, leave the ground nearest the lek open or under thin native trees, and open rides now. Felling and leaving \
                    ground unstocked need the forestry authority's agreement."
                    .into(),
                secret,
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, moor, rect, run, wood};
    use super::*;
    use holding::Tree;

    /// Conifer over the east of the moor from `x0` on: a circular segment of the disc of 1 km.
    fn from(x0: f64) -> Vec<crate::Finding> {
        let mut h = moor();
        h.woods = vec![wood("Block", rect(x0, 0.0, 2000.0, 2000.0), Tree::Spruce, 14.0, 90.0, 1985)];
        run(&h, check)
    }

    #[test]
    fn a_fifth_is_found_and_a_sixth_is_not() {
        // Segment beyond d of a unit circle: (acos d - d sqrt(1 - d^2)) / pi. d = 0.50: 19.6 %; d = 0.56: 16.4 %.
        let f = from(1500.0);
        assert_eq!(f.len(), 1);
        assert!(f[0].value.starts_with("20 %"), "{}", f[0].value);
        assert!(from(1560.0).is_empty());
    }

    #[test]
    fn a_bare_survey_is_read() {
        assert!(run(&bare(), check).is_empty());
    }
}
