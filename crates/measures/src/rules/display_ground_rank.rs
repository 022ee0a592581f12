//! Display ground too rank.
//!
//! Source: short vegetation on leks is common practice without a source.

use super::{Checked, Context, Rule, Said, places, words};
use crate::finding::Severity;
use habitat::Feature;
use habitat::state::Origin;

/// The rule.
pub const RULE: Rule = Rule {
    key: "display_ground_rank",
    title: "Display ground too rank",
    severity: Severity::Should,
    explain: "Takes the mean height of the vegetation over the display ground (its recorded radius, else {lek.radius_m}) and tells \
        where it is above {structure.lek.vegetation_max}. The piece given is every patch, cut to the display ground, that is itself above it.\n\n\
        The limit is common practice without a source; below {structure.lek.vegetation_best} is held best. The radius of a display ground \
        that nobody measured is an assumption.\n\n\
        Why it matters: cocks show themselves on short ground and shift when it grows up; a lek on the move is easily lost.\n\n\
        What to do: graze or mow the display ground short before display begins and again when nesting is over; leave it alone in between.",
    keys: &["structure.lek.vegetation_max", "structure.lek.vegetation_best", "lek.radius_m"],
};

/// Find every display ground whose sward is too tall.
pub fn check(c: &Context) -> Checked {
    let most_cm = c.number("structure.lek.vegetation_max")?;
    let best_cm = c.number("structure.lek.vegetation_best")?;
    let mut found = Vec::new();
    for (lek, ledger) in c.leks().iter().enumerate() {
        let Some(sward_cm) = ledger.ground.sward_cm.filter(|s| *s > most_cm) else { continue };
        let at = c.lek_at(lek);
        let disc = places::disc(at, ledger.ground.radius_m);
        let (mut guessed, mut pieces) = (false, Vec::new());
        for stand in c.stands().iter().filter(|s| matches!(s.feature, Feature::Patch(_)) && s.height_cm as f64 > most_cm) {
            let piece = places::area_inside(c.shape(stand), &disc);
            guessed |= !piece.0.is_empty() && stand.height_from > Origin::Measured;
            pieces.push(piece);
        }
        let lek_name = c.lek_name(lek);
        let origin = if guessed { " (partly from the habitat class, not measured)" } else { "" };
        found.push(c.finding(
            &RULE,
            Said {
                lek: Some(lek),
                severity: None,
                what: format!("the display ground of {lek_name} is too rank"),
                place: format!("{lek_name}, the display ground"),
                geometry: places::together(pieces, at),
                value: format!("mean sward {sward_cm:.0} cm{origin}"),
                needed: format!("{most_cm:.0} cm at most, best below {best_cm:.0} cm, over a radius of {}", words::metres(ledger.ground.radius_m)),
                why: "Cocks display where they show and see well; on rank ground they shift or give up.".into(),
                hint: "Graze or mow the display ground short before display begins and again when nesting is over, never in between. On protected or \
                    species-rich ground ask first."
                    .into(),
                secret: vec![],
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, moor, run};
    use super::*;

    #[test]
    fn a_rank_display_ground_is_found_and_a_short_one_is_not() {
        let mut h = moor();
        let green = h.patches.iter().position(|p| p.id == "Green").unwrap();
        h.patches[green].height_cm = Some(16.0);
        let f = run(&h, check);
        assert_eq!(f.len(), 1);
        assert_eq!(f[0].value, "mean sward 16 cm");
        h.patches[green].height_cm = Some(15.0);
        assert!(run(&h, check).is_empty());
    }

    #[test]
    fn a_bare_survey_is_read() {
        run(&bare(), check);
    }
}
