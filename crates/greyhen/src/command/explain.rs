//! `greyhen explain`: what a figure or rule means, where it comes from, how good it is.

use crate::fail::Fail;
use crate::{Ended, talk};
use guidance::Guidance;
use measures::rules;
use serde_json::{Value, json};

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen explain composition.conifer_1km.lost
  greyhen explain season.brood
  greyhen explain fence_near_lek")]
pub struct Explain {
    /// A guidance key, the beginning of one, or a rule
    #[arg(value_name = "FIGURE|RULE")]
    key: String,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

impl Explain {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let guidance = super::tables()?;
        match rule_of(&self.key) {
            Some(rule) if self.json => talk::print_json(&rule_json(&guidance, rule)?),
            Some(rule) => talk::print(&rules::page::explained(rule, &guidance, guidance::Country::GB)?),
            None => return figure(&guidance, &self.key, self.json),
        }
        Ok(Ended::Well)
    }
}

/// The rule of a key.
fn rule_of(key: &str) -> Option<&'static rules::Rule> {
    rules::find(key).or_else(|| rules::find(&key.to_lowercase())).map(|entry| entry.rule)
}

fn rule_json(guidance: &Guidance, rule: &rules::Rule) -> Result<Value, Fail> {
    let text = rules::page::explained(rule, guidance, guidance::Country::GB)?;
    Ok(json!({
        "schema": "greyhen.explain/1", "rule": rule.key, "title": rule.title, "severity": rule.severity,
        "text": text, "keys": rule.keys,
    }))
}

/// A rule or a figure, for programs.
pub fn document(guidance: &Guidance, key: &str) -> Result<Value, Fail> {
    match rule_of(key) {
        Some(rule) => rule_json(guidance, rule),
        None => figure_json(guidance, &known(guidance, key)?.0),
    }
}

fn figure_json(guidance: &Guidance, key: &str) -> Result<Value, Fail> {
    let mut value = serde_json::to_value(guidance.explain(key)?).map_err(Fail::one)?;
    value["schema"] = json!("greyhen.explain/1");
    Ok(value)
}

/// The key as the tables write it, where only its case is another.
fn known_case(guidance: &Guidance, key: &str) -> String {
    guidance.rows().find(|r| r.key.eq_ignore_ascii_case(key)).map_or_else(|| key.to_string(), |r| r.key.clone())
}

/// A key as the tables write it, and the keys under it where it is only the beginning of some.
fn known<'a>(guidance: &'a Guidance, key: &str) -> Result<(String, Vec<&'a str>), Fail> {
    let key = known_case(guidance, key);
    if guidance.rows_of(&key).next().is_some() {
        return Ok((key, Vec::new()));
    }
    let prefix = format!("{}.", key.trim_end_matches('.'));
    let mut under: Vec<&str> = guidance.rows().filter(|r| r.key.starts_with(&prefix)).map(|r| r.key.as_str()).collect();
    under.sort_unstable();
    under.dedup();
    if under.is_empty() {
        let error = guidance.explain(&key).err().map_or_else(String::new, |e| e.to_string());
        let rules: Vec<&str> = rules::all().iter().map(|r| r.rule.key).filter(|r| r.contains(key.as_str())).collect();
        let rules = if rules.is_empty() { String::new() } else { format!("\n  hint: rules like it: {}", rules.join(", ")) };
        return Err(Fail::one(format!("{error}{rules}\n  hint: `greyhen guidance list` lists every key; `greyhen check` names the rules")));
    }
    Ok((key, under))
}

/// Explain one key, or list the keys under it.
pub fn figure(guidance: &Guidance, key: &str, as_json: bool) -> Result<Ended, Fail> {
    let (key, under) = known(guidance, key)?;
    if as_json {
        talk::print_json(&figure_json(guidance, &key)?);
    } else if under.is_empty() {
        talk::print(&words(guidance, &key)?);
    } else {
        talk::print(&format!("{key} has {}:", talk::number(under.len(), "figure")));
        under.iter().for_each(|k| talk::print(&format!("  {k}")));
    }
    Ok(Ended::Well)
}

fn words(guidance: &Guidance, key: &str) -> Result<String, Fail> {
    let e = guidance.explain(key)?;
    let mut out = vec![e.key.clone()];
    for s in &e.statements {
        let at = s.x.map_or(String::new(), |x| format!("at {x}: "));
        out.push(format!("  {at}{}{}", s.value, if s.spread.is_empty() { String::new() } else { format!(", {}", s.spread) }));
        out.push(talk::wrapped(&format!("source: {} [{}], {}", s.reference, s.source, s.locator), 92, "    "));
        out.push(talk::wrapped(&format!("grade: {}; {}", s.grade, s.read), 92, "    "));
        out.push(format!("    holds for {}, edition {}{}", s.country, s.edition, if s.validity.is_empty() { String::new() } else { format!(", {}", s.validity) }));
        if let Some(check) = &s.check {
            out.push(talk::wrapped(check, 92, "    "));
        }
        if !s.note.is_empty() {
            out.push(talk::wrapped(&format!("note: {}", s.note), 92, "    "));
        }
        let used = if s.used.is_empty() { String::new() } else { format!("; {}", s.used) };
        out.push(format!("    table {}{used}", s.place));
    }
    Ok(out.join("\n"))
}
