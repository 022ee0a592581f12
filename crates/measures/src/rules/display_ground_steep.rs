//! Display ground too steep.
//!
//! Source: leks lie on almost flat ground (Parr & Watson 1988, in words); the limit in degrees is common practice.

use super::{Checked, Context, Rule, Said, places};
use crate::finding::Severity;

/// The rule.
pub const RULE: Rule = Rule {
    key: "display_ground_steep",
    title: "Display ground too steep",
    severity: Severity::Consider,
    explain: "Takes the mean slope of the display ground (its recorded radius, else {lek.radius_m}) from the height model and tells where it is \
        steeper than {site.lek_slope_max}. The piece given is the cells of the display ground that are steeper.\n\n\
        A study in north-east Scotland found leks on almost flat ground; the limit in degrees is common practice without a source, and \
        {site.lek_slope_best} is held best.\n\n\
        Why it matters: a lek recorded on a slope is often the place the birds were seen from or flushed to, or a lek pushed off better ground.\n\n\
        What to do: check the place at dawn; look for flatter open ground near by that has grown over and could be opened again.",
    keys: &["site.lek_slope_max", "site.lek_slope_best", "lek.radius_m"],
};

/// Find every display ground that is too steep.
pub fn check(c: &Context) -> Checked {
    let most_deg = c.number("site.lek_slope_max")?;
    let best_deg = c.number("site.lek_slope_best")?;
    let layout = &c.assessed.layout;
    let mut found = Vec::new();
    for (lek, ledger) in c.leks().iter().enumerate() {
        let Some(slope_deg) = ledger.ground.slope_deg.filter(|s| *s > most_deg) else { continue };
        let at = c.lek_at(lek);
        let mut steep = Vec::new();
        c.each_cell_within(at, ledger.ground.radius_m, |i| {
            if layout.slope.as_ref().is_some_and(|s| s.cells[i] as f64 > most_deg) {
                steep.push(i);
            }
        });
        let lek_name = c.lek_name(lek);
        found.push(c.finding(
            &RULE,
            Said {
                lek: Some(lek),
                severity: None,
                what: format!("{lek_name} is recorded on a slope"),
                place: format!("{lek_name}, the display ground"),
                geometry: places::together([places::of_cells(&layout.frame, steep)], at),
                value: format!("mean slope {slope_deg:.0} degrees"),
                needed: format!("{most_deg:.0} degrees at most, best below {best_deg:.0}"),
                why: "Leks lie on almost flat ground; a steep one is misplaced on the map or pushed off better ground.".into(),
                hint: "Check the place at dawn from a distance; look for flatter ground near by that has grown over and could be opened.".into(),
                secret: vec![],
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, moor, run, slope};
    use super::*;

    #[test]
    fn a_steep_display_ground_is_found_and_one_inside_the_limit_is_not() {
        let mut h = moor();
        h.heights = Some(slope(11.0));
        let f = run(&h, check);
        assert_eq!(f.len(), 1);
        assert_eq!(f[0].value, "mean slope 11 degrees");
        h.heights = Some(slope(9.9));
        assert!(run(&h, check).is_empty());
    }

    #[test]
    fn without_heights_nothing_is_said() {
        assert!(run(&bare(), check).is_empty());
    }
}
