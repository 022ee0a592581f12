//! Stems out of the range that serves grouse, or below what a grant wanted.
//!
//! Sources: the range is built on the Scottish low-density option and an English grant; see the row's note.

use super::seen::OnMeasures;
use super::{Checked, Rule, planted};
use crate::finding::Severity;
use crate::rules::Said;

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_density",
    title: "Trees planned too thick or too thin",
    severity: Severity::Consider,
    explain: "Looks at the stems planted on a hectare of the outline of woods, new ones and restocked ones, against the range about {kind.wood.stems}: the \
        table gives its ends. It is an assumption built on the Scottish low-density option and the least stems of an older English grant, which the table \
        gives as well.\n\n\
        Why it matters: too thick a wood closes within two decades and grouse leave it; too thin a one dies back to nothing once deer and weather have had \
        their share, and may miss a grant.\n\n\
        What to do: plant fewer in wide groups with glades between, or thin early; more only where a scheme asks for it, and then plan the thinning.",
    keys: &["kind.wood.stems", "planting.low_density.stems_year_5", "planting.england_older.stems_min"],
};

/// Find woods out of the range.
pub fn check(o: &OnMeasures) -> Checked {
    let row = o.context.guidance.row("kind.wood.stems", o.country())?;
    let usual = o.number("kind.wood.stems")?;
    let (low, high) = (row.low.unwrap_or(usual), row.high.unwrap_or(usual));
    let mut found = Vec::new();
    for p in planted::all(o) {
        let stems: f64 = p.stems.iter().map(|s| s.1).sum();
        // Stems are kept as single floats.
        if (low - 0.5..=high + 0.5).contains(&stems) {
            continue;
        }
        let name = o.name(p.measure);
        let thick = stems > high;
        found.push(o.finding(
            &RULE,
            p.measure,
            Said {
                what: format!("{name} is planted too {}", if thick { "thick" } else { "thin" }),
                place: name,
                geometry: p.area.clone().into(),
                value: format!("{stems:.0} stems on a hectare of the outline"),
                needed: format!("{low:.0} to {high:.0} stems on a hectare of the outline, or as the scheme in force asks"),
                why: if thick {
                    "So thick a wood closes within two decades, and grouse leave it."
                } else {
                    "Deer and weather take their share; so few may come to nothing, or miss a grant."
                }
                .into(),
                hint: if thick { "Plant fewer in groups with glades between, or plan to thin early." } else { "Plant more, or protect every tree." }.into(),
                ..Said::default()
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, wood_of};
    use super::*;
    use crate::rules::fixture::{moor, rect};
    use serde_json::json;

    #[test]
    fn both_ends_of_the_range_hold() {
        let at = |stems: f64| found(&moor(), vec![wood_of(rect(1400.0, 1400.0, 1500.0, 1500.0), &[("stems_per_ha", json!(stems))])], check).len();
        assert_eq!([at(399.0), at(400.0), at(1100.0), at(1101.0)], [1, 0, 0, 1]);
    }
}
