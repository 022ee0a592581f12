//! Heather burnt outside the season of the country.
//!
//! Sources: England, regulations of 2021; Wales, of 2008; Scotland, the Act of 2011 until the licensing of the Act of 2024 starts.

use super::seen::OnMeasures;
use super::when::{self, Lies, Window};
use super::{Checked, Rule, heathered};
use crate::finding::Severity;
use crate::rules::Said;
use guidance::{Country, Unknown};

/// The rule.
pub const RULE: Rule = Rule {
    key: "burn_season",
    title: "Burning planned outside the season",
    severity: Severity::Must,
    explain: "Holds the month told for burning against the season of the country: the table gives the dates. Upland seasons are taken for England and \
        Wales: in the lowland the season is shorter. In Scotland the new season starts with licensing, and whether that is in force must be checked, so a month \
        counts as in season only where both seasons hold it. A plan without a country is held to all three. A month partly outside is told as well. \
        Without a month it asks for one, as something to think about. Check the code in force.\n\n\
        Why it matters: burning out of season is an offence without a licence, and kills nests.\n\n\
        What to do: burn in the season, or cut instead.",
    keys: &[
        "law.burning.upland.first",
        "law.burning.upland.last",
        "law.muirburn.old_season.first",
        "law.muirburn.old_season.last",
        "law.muirburn.new_season.first",
        "law.muirburn.new_season.last",
        "law.muirburn.licensing_start",
    ],
};

/// A season of burning that may be in force.
pub struct Season {
    /// Days on which burning is not out of season.
    pub window: Window,
    /// Country and edition, in words.
    pub from: String,
    /// Keys of its dates.
    pub keys: [&'static str; 2],
}

/// The seasons that may be in force in a country, with their editions; burning must lie in all of them.
///
/// # Errors
/// A date the tables lack.
pub fn seasons(o: &OnMeasures, country: Country) -> Result<Vec<Season>, Unknown> {
    let keys: &[[&'static str; 2]] = match country {
        Country::Scotland => {
            &[["law.muirburn.old_season.first", "law.muirburn.old_season.last"], ["law.muirburn.new_season.first", "law.muirburn.new_season.last"]]
        }
        _ => &[["law.burning.upland.first", "law.burning.upland.last"]],
    };
    let one = |keys: &[&'static str; 2]| {
        Ok(Season { window: Window::read(o, keys[0], keys[1], country)?, from: o.edition_of(keys[0], country), keys: *keys })
    };
    keys.iter().map(one).collect()
}

/// Find burning out of season.
pub fn check(o: &OnMeasures) -> Checked {
    let mut all = Vec::new();
    for country in o.countries() {
        all.extend(seasons(o, country)?);
    }
    let needed: Vec<String> = all.iter().map(|s| format!("{} ({})", s.window.words(), s.from)).collect();
    let mut found = Vec::new();
    for p in heathered::burnt(o) {
        let name = o.name(p.measure);
        let (what, value, severity) = match when::months(p.measure) {
            None => (format!("{name} does not say when it burns"), "no month told".to_string(), Severity::Consider),
            Some(months) => {
                let lies: Vec<Lies> = months.iter().flat_map(|m| all.iter().map(|s| s.window.of_month(*m))).collect();
                if lies.iter().all(|l| *l == Lies::Inside) {
                    continue;
                }
                let wholly = lies.contains(&Lies::Outside);
                let told = when::words(&months);
                (
                    format!("{name} burns {}outside the season", if wholly { "" } else { "partly " }),
                    format!("{told}, {}", if wholly { "out of season" } else { "part of it out of season" }),
                    if wholly { Severity::Must } else { Severity::Should },
                )
            }
        };
        found.push(o.finding(
            &RULE,
            p.measure,
            Said {
                severity: Some(severity),
                what,
                place: name,
                geometry: p.area.clone().into(),
                value,
                needed: format!("burning {} only; check the code in force", needed.join(" and ")),
                why: "Burning out of season is an offence without a licence, and kills nests.".into(),
                hint: "Burn in the season or cut instead; set its month, such as Oct.".into(),
                ..Said::default()
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, measure};
    use super::*;
    use crate::rules::fixture::{moor, rect};
    use serde_json::json;

    #[test]
    fn the_season_is_the_countrys() {
        let at = |country: Country, month: &str| {
            let mut h = moor();
            h.about.country = country;
            let m = measure("heather", rect(100.0, 100.0, 150.0, 150.0), &[("work", json!("burn")), ("month", json!(month))]);
            found(&h, vec![m], check).first().map(|f| f.severity)
        };
        let (e, w, s) = (Country::England, Country::Wales, Country::Scotland);
        assert_eq!([at(e, "Mar"), at(e, "Apr"), at(e, "May")], [None, Some(Severity::Should), Some(Severity::Must)]);
        assert_eq!([at(w, "Mar"), at(w, "Apr")], [None, Some(Severity::Must)]);
        assert_eq!([at(s, "Oct-Mar"), at(s, "Apr"), at(s, "Sep")], [None, Some(Severity::Must), Some(Severity::Must)]);
        assert_eq!([at(Country::GB, "Nov"), at(Country::GB, "Apr")], [None, Some(Severity::Must)]);
        assert_eq!(at(e, ""), Some(Severity::Consider));
    }

    #[test]
    fn cutting_has_no_such_season() {
        let m = measure("heather", rect(100.0, 100.0, 150.0, 150.0), &[("month", json!("May"))]);
        assert!(found(&moor(), vec![m], check).is_empty());
    }
}
