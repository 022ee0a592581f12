//! Reading the facts of a measure: what was given, else the usual value.
//!
//! A value that is not what the fact may be counts as not given; [`Facts::faults`] tells it.

use super::{Entry, Fact, Fault, Form, Usual};
use crate::rules::Context;
use guidance::Unknown;
use holding::{Extra, Measure};
use serde_json::{Map, Value, json};
use std::fmt;

/// Months as facts name them, January first.
pub const MONTHS: [&str; 12] = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];

/// The facts of one measure, by the list its kind knows.
#[derive(Clone, Copy)]
pub struct Facts<'a> {
    context: Context<'a>,
    measure: &'a Measure,
    known: &'static [Fact],
}

impl<'a> Facts<'a> {
    /// Of a measure.
    pub fn of(context: &Context<'a>, measure: &'a Measure, known: &'static [Fact]) -> Self {
        Self { context: *context, measure, known }
    }

    fn given(&self, name: &str) -> Option<&'a Value> {
        self.measure.facts.get(name).filter(|v| !v.is_null() && v.as_str() != Some(""))
    }

    /// Whether something stands there, right or wrong.
    pub fn has(&self, name: &str) -> bool {
        self.given(name).is_some()
    }

    fn fact(&self, name: &str) -> Option<&'static Fact> {
        self.known.iter().find(|f| f.name == name)
    }

    /// A number: given, or usual by the guidance.
    ///
    /// # Errors
    /// A usual figure the tables lack.
    pub fn maybe_number(&self, name: &str) -> Result<Option<f64>, Unknown> {
        let Some(fact) = self.fact(name) else { return Ok(None) };
        if let (Some(value), Form::Number { from, to }) = (self.given(name).and_then(number_of), fact.form)
            && (from..=to).contains(&value)
        {
            return Ok(Some(value));
        }
        match fact.usual {
            Usual::Key(key) => self.context.number(key).map(Some),
            _ => Ok(None),
        }
    }

    /// A number that has a usual value; zero where it has none and none was given.
    ///
    /// # Errors
    /// A usual figure the tables lack.
    pub fn number(&self, name: &str) -> Result<f64, Unknown> {
        Ok(self.maybe_number(name)?.unwrap_or(0.0))
    }

    /// A word or text: given, else usual, else empty. Words of a closed list come back as the list writes them.
    pub fn word(&self, name: &str) -> String {
        let Some(fact) = self.fact(name) else { return String::new() };
        let given = self.given(name).map(text_of);
        let fits = match (fact.form, given) {
            (Form::OneOf(words), Some(said)) => words.iter().find(|w| same(w, &said)).map(|w| (*w).to_string()),
            (_, given) => given,
        };
        fits.unwrap_or_else(|| match fact.usual {
            Usual::Word(word) => word.to_string(),
            _ => String::new(),
        })
    }

    /// A table as given, in the order of the file.
    pub fn table(&self, name: &str) -> Option<Vec<(String, f64)>> {
        self.given(name).and_then(table_of)
    }

    /// What is wrong with the facts by themselves, all at once.
    pub fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        for fact in self.known {
            match self.given(fact.name) {
                None if matches!(fact.usual, Usual::MustBeGiven) => faults.push(Fault {
                    at: fact.name.to_string(),
                    found: "nothing".to_string(),
                    needed: needed(fact),
                    hint: format!("give it: --fact {}={}", fact.name, example(fact)),
                }),
                Some(value) => faults.extend(wrong(fact, value)),
                None => {}
            }
        }
        faults
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}; needed: {}. Hint: {}", self.at, self.found, self.needed, self.hint)
    }
}

/// What a fact may be, in words.
pub fn needed(fact: &Fact) -> String {
    match fact.form {
        Form::OneOf(words) => format!("one of {}", words.join(", ")),
        Form::Number { from, to } => format!("a number from {from} to {to}: {}", fact.what),
        Form::Text | Form::Months => fact.what.to_string(),
        Form::Table => format!("names with numbers, such as {}: {}", example(fact), fact.what),
    }
}

/// A value a fact may have, for hints.
pub fn example(fact: &Fact) -> String {
    match fact.form {
        Form::OneOf(words) => words.first().map_or_else(String::new, |w| (*w).to_string()),
        Form::Number { from, .. } => format!("{from}"),
        Form::Text => "...".to_string(),
        Form::Months => "Nov-Feb".to_string(),
        Form::Table => "\"A 60, B 40\"".to_string(),
    }
}

/// Read a fact as it is typed or stands in a column.
///
/// # Errors
/// What is wrong with it.
pub fn read(fact: &Fact, text: &str) -> Result<Value, Fault> {
    let text = text.trim();
    let value = match fact.form {
        Form::OneOf(words) => words.iter().find(|w| same(w, text)).map_or_else(|| json!(text), |w| json!(w)),
        Form::Number { .. } => number_of(&json!(text)).map_or_else(|| json!(text), whole),
        Form::Text | Form::Months => json!(text),
        Form::Table => table_of(&json!(text)).map_or_else(
            || json!(text),
            |rows| Value::Object(rows.into_iter().map(|(name, number)| (name, whole(number))).collect::<Map<_, _>>()),
        ),
    };
    match wrong(fact, &value) {
        Some(fault) => Err(fault),
        None => Ok(value),
    }
}

/// Bring facts as they came from a file into the form a kind reads: names as the kind writes them, text read.
///
/// A name may carry its kind before it (`fence_kind` is `kind` of a fence). Gives every value that cannot be read, and the names
/// the kind does not know; those stay as they came.
pub fn settle(entry: &Entry, facts: &mut Extra) -> (Vec<Fault>, Vec<String>) {
    let (mut faults, mut unknown, mut settled) = (Vec::new(), Vec::new(), Extra::new());
    for (name, value) in std::mem::take(facts) {
        let bare = name.get(..entry.key.len()).filter(|before| same(before, entry.key)).and_then(|_| name.get(entry.key.len() + 1..));
        let Some(fact) = entry.fact(&name).or_else(|| entry.fact(bare?)) else {
            unknown.push(name.clone());
            settled.insert(name, value);
            continue;
        };
        let read = match &value {
            Value::Null => continue,
            Value::String(text) if text.trim().is_empty() => continue,
            Value::Object(_) => Ok(value.clone()),
            other => read(fact, &text_of(other)),
        };
        match read {
            _ if settled.contains_key(fact.name) => faults.push(Fault {
                at: fact.name.to_string(),
                found: format!("told twice, the second time as `{name}`"),
                needed: "each fact once".to_string(),
                hint: "take one of them out".to_string(),
            }),
            Ok(value) => {
                settled.insert(fact.name.to_string(), value);
            }
            Err(fault) => faults.push(fault),
        }
    }
    *facts = settled;
    (faults, unknown)
}

fn wrong(fact: &Fact, value: &Value) -> Option<Fault> {
    let fits = match fact.form {
        Form::OneOf(words) => words.iter().any(|w| same(w, &text_of(value))),
        Form::Number { from, to } => number_of(value).is_some_and(|v| (from..=to).contains(&v)),
        Form::Text => value.is_string() || value.is_number(),
        Form::Months => months_of(&text_of(value)).is_some(),
        Form::Table => table_of(value).is_some(),
    };
    (!fits).then(|| Fault {
        at: fact.name.to_string(),
        found: format!("`{}`", text_of(value)),
        needed: needed(fact),
        hint: format!("for example --fact {}={}", fact.name, example(fact)),
    })
}

/// Whether two words are the same but for case, spaces, hyphens and underscores.
pub fn same(a: &str, b: &str) -> bool {
    let flat = |t: &str| t.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect::<String>();
    flat(a) == flat(b)
}

fn text_of(value: &Value) -> String {
    value.as_str().map_or_else(|| value.to_string(), |t| t.trim().to_string())
}

pub(super) fn number_of(value: &Value) -> Option<f64> {
    value.as_f64().or_else(|| value.as_str()?.trim().trim_end_matches('%').trim().parse().ok()).filter(|v: &f64| v.is_finite())
}

/// A number as JSON, whole ones without a point.
fn whole(number: f64) -> Value {
    if number.fract() == 0.0 && number.abs() < 1e15 { json!(number as i64) } else { json!(number) }
}

/// An object of numbers, or text such as `birch 60, rowan 40` or `May-Oct 120; Nov-Apr 0`.
fn table_of(value: &Value) -> Option<Vec<(String, f64)>> {
    if let Some(object) = value.as_object() {
        return object.iter().map(|(name, v)| number_of(v).map(|n| (name.clone(), n))).collect();
    }
    let rows: Vec<&str> = value.as_str()?.split([',', ';']).map(str::trim).filter(|p| !p.is_empty()).collect();
    let pair = |part: &&str| {
        let (name, number) = part.trim_end_matches('%').trim_end().rsplit_once([' ', ':', '='])?;
        let name = name.trim_end_matches([' ', ':', '=']).trim();
        (!name.is_empty()).then_some((name.to_string(), number.trim().parse::<f64>().ok().filter(|v| v.is_finite())?))
    };
    if rows.is_empty() { None } else { rows.iter().map(pair).collect() }
}

/// Month of a word, counted from 0: `Jan`, `january`, `1`.
pub fn month_of(word: &str) -> Option<usize> {
    let word = word.trim().to_lowercase();
    if let Ok(number) = word.parse::<usize>() {
        return (1..=12).contains(&number).then(|| number - 1);
    }
    const LONG: [&str; 12] =
        ["january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december"];
    LONG.iter().position(|long| word.len() >= 3 && long.starts_with(&word))
}

/// Months of a word or a span, counted from 0: `May`, `Nov-Mar`. The span may run over the turn of the year.
pub fn months_of(words: &str) -> Option<Vec<usize>> {
    match words.split_once('-') {
        None => month_of(words).map(|m| vec![m]),
        Some((from, to)) => {
            let (from, to) = (month_of(from)?, month_of(to)?);
            let many = (to + 12 - from) % 12 + 1;
            Some((from..from + many).map(|m| m % 12).collect())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: Fact = Fact { name: "head", what: "head by month", form: Form::Table, usual: Usual::MayBeLeftOut };
    const SHARE: Fact = Fact { name: "open_pct", what: "open, percent", form: Form::Number { from: 0.0, to: 90.0 }, usual: Usual::MayBeLeftOut };
    const WORK: Fact = Fact { name: "work", what: "work", form: Form::OneOf(&["cut", "burn"]), usual: Usual::MustBeGiven };

    #[test]
    fn facts_are_read_as_people_type_them() {
        assert_eq!(read(&HEAD, "May-Oct 120, Nov-Apr: 0").unwrap(), json!({"May-Oct": 120, "Nov-Apr": 0}));
        assert_eq!(read(&SHARE, "45 %").unwrap(), json!(45));
        assert_eq!(read(&WORK, "Burn").unwrap(), json!("burn"));
        assert_eq!(read(&super::super::COMMON[0], "nov-February").unwrap(), json!("nov-February"));
        for nonsense in ["13", "Smarch-Feb", "Nov-", "winter"] {
            assert!(read(&super::super::COMMON[0], nonsense).unwrap_err().needed.contains("span of months"), "{nonsense}");
        }
        assert!(read(&SHARE, "95").unwrap_err().needed.contains("0 to 90"));
        assert!(read(&SHARE, "half").is_err());
        assert!(read(&WORK, "mow").unwrap_err().needed.contains("cut, burn"));
        assert!(read(&HEAD, "May").is_err());
        assert!(read(&HEAD, "").is_err());
    }

    #[test]
    fn facts_from_a_file_are_settled_and_strange_ones_kept() {
        let entry = crate::kind::find("wood").unwrap();
        let mut facts: Extra =
            [("Open pct", json!("45")), ("mix", json!("birch 60, rowan 40")), ("surveyor", json!("x")), ("stems_per_ha", json!("many")), ("name", json!("")), ("wood_protection", json!("fence"))]
                .map(|(k, v)| (k.to_string(), v))
                .into();
        let (faults, unknown) = settle(entry, &mut facts);
        assert_eq!((faults.len(), faults[0].at.as_str(), unknown), (1, "stems_per_ha", vec!["surveyor".to_string()]));
        assert_eq!(facts.get("open_pct"), Some(&json!(45)));
        assert_eq!(facts.get("mix"), Some(&json!({"birch": 60, "rowan": 40})));
        assert_eq!(facts.get("protection"), Some(&json!("fence")));
        assert!(facts.contains_key("surveyor") && !facts.contains_key("name"));
    }

    #[test]
    fn months_run_over_the_turn_of_the_year() {
        assert_eq!(months_of("Nov-Feb"), Some(vec![10, 11, 0, 1]));
        assert_eq!(months_of("May"), Some(vec![4]));
        assert_eq!(months_of("jan-dec").map(|m| m.len()), Some(12));
        assert_eq!(months_of("lambing"), None);
        assert_eq!(month_of("ma"), None);
    }
}
