//! The rulebook as text: one rule explained, and the page of all rules.

use super::{Rule, RuleEntry, all, on_ground, on_measures};
use guidance::explain::{spread_in_words, value_in_words};
use guidance::{Country, Guidance, Row, Unknown};
use std::fmt::Write;

/// The text of a rule with its figures put in for a country.
///
/// # Errors
/// A figure the text names and the tables lack.
pub fn explained(rule: &Rule, guidance: &Guidance, country: Country) -> Result<String, Unknown> {
    filled(rule.explain, guidance, country)
}

/// A text with the figures it names in braces put in for a country.
///
/// # Errors
/// A figure the text names and the tables lack.
pub fn filled(text: &str, guidance: &Guidance, country: Country) -> Result<String, Unknown> {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('{') {
        let (key, tail) = after.split_once('}').unwrap_or((after, ""));
        out.push_str(before);
        out.push_str(&value_in_words(guidance.row(key, country)?));
        rest = tail;
    }
    out.push_str(rest);
    Ok(out)
}

/// The page of all rules, with limits, sources and grades, for Great Britain.
///
/// # Errors
/// A figure a rule names and the tables lack.
pub fn page(guidance: &Guidance) -> Result<String, Unknown> {
    let mut out = String::from(
        "# Rules\n\n\
         Made from the texts of the rules and the guidance tables: do not edit by hand. `GREYHEN_BLESS=1 cargo test -p measures rulebook`\n\
         writes it anew. A rule's text on its own: `greyhen explain RULE`. A figure: `greyhen explain FIGURE`.\n\n\
         Weight: **must** is law, code or certain harm; **should** is good practice well supported; **consider** is worth thinking about.\n",
    );
    let mut table = |title: &str, entries: &[RuleEntry]| {
        let _ = write!(out, "\n{title}\n\n| Rule | What it finds | Weight |\n|---|---|---|\n");
        for entry in entries {
            let _ = writeln!(out, "| [`{0}`](#{0}) | {1} | {2} |", entry.rule.key, entry.rule.title, entry.rule.severity.word());
        }
    };
    table("Rules on what is there, and on the ground as an option leaves it:", on_ground());
    table("Rules on the measures of an option:", on_measures::all());
    for entry in all() {
        let rule = entry.rule;
        let _ = write!(out, "\n## {}\n\n**{}** ({}).\n\n{}\n", rule.key, rule.title, rule.severity.word(), explained(rule, guidance, Country::GB)?);
        if rule.keys.is_empty() {
            continue;
        }
        out.push_str("\n| Figure | Value | Spread | Source | Grade |\n|---|---|---|---|---|\n");
        for key in rule.keys {
            // A figure no row of which holds for all of Great Britain is told country by country.
            let rows: Vec<&Row> = match guidance.row(key, Country::GB) {
                Ok(row) => vec![row],
                Err(unknown) if guidance.rows_of(key).next().is_none() => return Err(unknown),
                Err(_) => guidance.rows_of(key).collect(),
            };
            for row in rows {
                let source = guidance.source(&row.source).map(|s| s.reference()).unwrap_or_default();
                let country = if row.country == Country::GB { String::new() } else { format!(" ({})", row.country) };
                let _ = writeln!(
                    out,
                    "| `{key}`{country} | {} | {} | {} | {} |",
                    value_in_words(row),
                    spread_in_words(row),
                    source.replace('|', "/"),
                    row.grade.in_words()
                );
            }
        }
    }
    Ok(out)
}
