//! Lek counts too old.
//!
//! Source: yearly counts are common practice; season and hours from the rules of a national survey (data description).

use super::{Checked, Context, Rule, Said, words};
use crate::finding::Severity;
use chrono::Datelike;

/// The rule.
pub const RULE: Rule = Rule {
    key: "counts_old",
    title: "Lek not counted lately",
    severity: Severity::Should,
    explain: "Takes the year of the latest count at every lek and tells where it is more than {rule.counts.oldest_years} before the plan's day, or where no \
        count is recorded. Without a day in the plan only leks never counted are told of.\n\n\
        Counting every year is common practice without a source. The national survey rule is two visits, between {counts.visit_1.first} and \
        {counts.visit_1.last} and between {counts.visit_2.first} and {counts.visit_2.last}, from {counts.hours_before_sunrise} before sunrise to \
        {counts.hours_after_sunrise} after; the figure used is the highest number of cocks.\n\n\
        Why it matters: the need of every season is reckoned from the cocks of the latest count; a lek may have moved, grown or gone since.\n\n\
        What to do: count from a distance, from a vehicle or hide in place before light, on calm dry mornings, and leave after the birds do. Disturbing leks \
        may be an offence: follow the watching code and the law of the country.",
    keys: &[
        "rule.counts.oldest_years",
        "counts.visit_1.first",
        "counts.visit_1.last",
        "counts.visit_2.first",
        "counts.visit_2.last",
        "counts.hours_before_sunrise",
        "counts.hours_after_sunrise",
    ],
};

/// Find leks whose latest count is too old.
pub fn check(c: &Context) -> Checked {
    let oldest = c.number("rule.counts.oldest_years")?;
    let mut found = Vec::new();
    for (lek, ledger) in c.leks().iter().enumerate() {
        let value = match (ledger.counted, ledger.cocks, c.today) {
            (Some(year), Some(cocks), Some(today)) if (today.year() - year) as f64 > oldest => {
                format!("last counted in {year} ({cocks} cocks), {} years before the plan's day", today.year() - year)
            }
            (Some(_), _, _) => continue,
            (None, _, _) => "no count recorded".to_string(),
        };
        let lek_name = c.lek_name(lek);
        found.push(c.finding(
            &RULE,
            Said {
                lek: Some(lek),
                severity: None,
                what: format!("{lek_name} has not been counted lately"),
                place: lek_name,
                geometry: c.lek_at(lek).into(),
                value,
                needed: format!("a count within {} years", words::number(oldest).trim_end_matches(".0")),
                why: "Every need in the ledger is reckoned from the latest count; the lek may have moved, grown or gone since.".into(),
                hint: format!(
                    "Count twice next spring, from {} to {} and from {} to {}, about sunrise, from a distance and in place before light. Follow the watching \
                     code and the law on disturbance.",
                    c.words("counts.visit_1.first")?,
                    c.words("counts.visit_1.last")?,
                    c.words("counts.visit_2.first")?,
                    c.words("counts.visit_2.last")?
                ),
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
    use chrono::NaiveDate;

    #[test]
    fn an_old_count_is_found_and_one_of_two_years_ago_is_not() {
        let mut h = moor();
        h.about.as_at = NaiveDate::from_ymd_opt(2029, 3, 1);
        let f = run(&h, check);
        assert_eq!(f.len(), 1);
        assert_eq!(f[0].value, "last counted in 2026 (6 cocks), 3 years before the plan's day");
        h.about.as_at = NaiveDate::from_ymd_opt(2028, 12, 31);
        assert!(run(&h, check).is_empty());
    }

    #[test]
    fn a_lek_never_counted_is_found_even_without_a_day() {
        assert_eq!(run(&bare(), check)[0].value, "no count recorded");
        let mut h = moor();
        h.about.as_at = None;
        assert!(run(&h, check).is_empty());
    }
}
