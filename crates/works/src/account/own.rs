//! The user's own rates, and reading them from a table.

use super::rate::{Rate, Standing};
use guidance::unit::UNITS;
use guidance::{Country, Fault, Guidance, Unit};
use measures::kind::facts::same;
use serde::{Deserialize, Serialize};

/// A rate of the user's own. It wins over the tables.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OwnRate {
    /// What it is for: a guidance key (`cost.market.stock_fence`), the key's last word (`stock fence`), or the words of the line
    /// (`gates, stiles and water gates`, or what stands before the first comma).
    pub item: String,
    /// Pounds for one unit.
    pub gbp: f64,
    /// Unit, a word of guidance's list such as `gbp_per_m`.
    pub unit: String,
    /// Anything else, such as who quoted it and when.
    pub note: String,
}

/// An own rate that no line uses.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct OwnUnused {
    /// What it was given for.
    pub item: String,
    /// Why it is not used.
    pub why: String,
}

/// The most pounds a unit may cost; more is a slip of the pen.
const GBP_MAX: f64 = 1e7;

impl OwnRate {
    /// As a rate, in place of a row or of none; its key is what it was given for.
    pub fn rate(&self) -> Rate {
        Rate {
            key: self.item.clone(),
            gbp: [self.gbp; 3],
            unit: self.unit.clone(),
            unit_words: Unit::from_word(&self.unit).map_or_else(|| self.unit.clone(), |unit| unit.symbol.to_string()),
            standing: Standing::Own,
            grade: None,
            source: self.note.clone(),
            country: Country::GB,
            edition: String::new(),
            of_year: None,
            valid_from: None,
            valid_to: None,
            note: String::new(),
        }
    }

    /// How well it fits a line: 0 by its key, 1 by its words, 2 by the last word of its key; `None` where it is for something else.
    fn fits(&self, names: &Names) -> Option<u8> {
        let before_comma = names.what.split(',').next().unwrap_or(names.what);
        let last = names.key.rsplit('.').next().unwrap_or(names.key);
        let is = |name: &str| !name.is_empty() && same(name, &self.item);
        match () {
            () if self.item == names.key || (!names.id.is_empty() && is(names.id)) => Some(0),
            () if is(names.what) || is(before_comma) => Some(1),
            // A payment is not meant by the name of a cost.
            () if names.id.is_empty() && is(last) => Some(2),
            () => None,
        }
    }
}

/// What a line may be called by.
pub struct Names<'a> {
    /// Guidance key of its rate; empty where there is none.
    pub key: &'a str,
    /// Its words.
    pub what: &'a str,
    /// The payment's id; empty for a cost.
    pub id: &'a str,
    /// Unit its rate must have.
    pub unit: &'a str,
}

/// The own rate for a line, as its place in the list: the one that fits best, the first of equals. One of another unit is none.
pub fn find(own: &[OwnRate], names: &Names) -> Option<usize> {
    let fits = |(i, rate): (usize, &OwnRate)| rate.fits(names).filter(|_| rate.unit == names.unit).map(|how| (how, i));
    own.iter().enumerate().filter_map(fits).min().map(|(_, i)| i)
}

/// The own rates that would fit a line but for their unit.
pub fn of_another_unit(own: &[OwnRate], names: &Names) -> Vec<usize> {
    (0..own.len()).filter(|i| own[*i].fits(names).is_some() && own[*i].unit != names.unit).collect()
}

/// Read a table of own rates: columns `item`, `rate` (pounds), `unit` and, if wanted, `note`, in any order. Units are guidance's words
/// or as they stand after a number (`gbp_per_m`, `GBP per m`, `£/m`).
///
/// # Errors
/// All faults at once, each with its line and column.
pub fn read_own(file: &str, text: &str, guidance: &Guidance, country: Country) -> Result<Vec<OwnRate>, Vec<Fault>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
    let mut faults = Vec::new();
    let mut fault = |row: usize, column: &str, needed: &str, found: &str, hint: &str| {
        let found = if found.is_empty() { "nothing".to_string() } else { format!("`{found}`") };
        faults.push(Fault { file: file.to_string(), row, column: column.to_string(), needed: needed.to_string(), found, hint: hint.to_string() });
    };
    let header = reader.headers().cloned().unwrap_or_default();
    let column = |name: &str| header.iter().position(|head| head.eq_ignore_ascii_case(name));
    for name in ["item", "rate", "unit"].into_iter().filter(|name| column(name).is_none()) {
        fault(
            1,
            name,
            "a column of that name",
            &header.iter().collect::<Vec<_>>().join(","),
            "the first line names the columns: item,rate,unit,note",
        );
    }
    for (at, head) in header.iter().enumerate() {
        if !["item", "rate", "unit", "note"].iter().any(|name| head.eq_ignore_ascii_case(name)) {
            fault(1, head, "item, rate, unit or note", head, "rename the column or take it out");
        } else if header.iter().take(at).any(|before| before.eq_ignore_ascii_case(head)) {
            fault(1, head, "each column once", head, "take one of them out");
        }
    }
    let mut out: Vec<(usize, OwnRate)> = Vec::new();
    if let (Some(item_at), Some(rate_at), Some(unit_at)) = (column("item"), column("rate"), column("unit")) {
        for record in reader.records() {
            let record = match record {
                Ok(record) => record,
                Err(error) => {
                    let row = error.position().map_or(0, |at| at.line() as usize);
                    fault(row, "", "a line of comma-separated text", &error.to_string(), "save the table as UTF-8 with commas");
                    continue;
                }
            };
            let row = record.position().map_or(0, |at| at.line() as usize);
            if record.iter().all(str::is_empty) {
                continue;
            }
            if record.len() != header.len() {
                let found = format!("{}", record.len());
                fault(row, "", &format!("{} cells", header.len()), &found, "put a text that holds a comma in double quotes");
                continue;
            }
            let cell = |at: usize| record.get(at).unwrap_or_default();
            let (item, rate, unit) = (cell(item_at), cell(rate_at), cell(unit_at));
            let number = rate.trim_start_matches('£').trim().parse::<f64>().ok().filter(|gbp| (0.0..=GBP_MAX).contains(gbp));
            if number.is_none() {
                let hint = "write pounds with digits and a point, such as 11.50; no commas, and the unit in its own column";
                fault(row, "rate", &format!("pounds from 0 to {GBP_MAX}"), rate, hint);
            }
            let known = unit_of(unit);
            if known.is_none() {
                let all: Vec<&str> = UNITS.iter().filter(|u| u.word.starts_with("gbp")).map(|u| u.word).collect();
                fault(row, "unit", "a unit of money", unit, &format!("one of {}", all.join(", ")));
            }
            if item.is_empty() {
                fault(row, "item", "what the rate is for", item, "a key such as cost.market.stock_fence, or the words of the line");
            } else if let Some((first, _)) = out.iter().find(|(_, own)| same(&own.item, item)) {
                fault(row, "item", "each item once", item, &format!("it stands in line {first} as well: take one of them out"));
            } else if is_key(item) {
                match guidance.row(item, country) {
                    Err(unknown) => {
                        let hint = if unknown.near.is_empty() {
                            "leave out the dots and use the words of the line".to_string()
                        } else {
                            format!("near to it: {}", unknown.near.join(", "))
                        };
                        fault(row, "item", &format!("a key the tables hold for {}, or plain words", country.in_words()), item, &hint);
                    }
                    Ok(held) if known.is_some_and(|unit| unit.word != held.unit) => {
                        fault(row, "unit", &format!("{}, as `{item}` has it", held.unit), unit, "turn the rate into that unit");
                    }
                    Ok(_) => {}
                }
            }
            let note = column("note").map_or("", cell);
            out.push((
                row,
                OwnRate {
                    item: item.to_string(),
                    gbp: number.unwrap_or(0.0),
                    unit: known.map_or("", |u| u.word).to_string(),
                    note: note.to_string(),
                },
            ));
        }
    }
    faults.sort_by_key(|fault| fault.row);
    if faults.is_empty() { Ok(out.into_iter().map(|(_, own)| own).collect()) } else { Err(faults) }
}

/// Whether an item is written as a key: dotted, no blanks.
fn is_key(item: &str) -> bool {
    item.contains('.') && !item.contains(char::is_whitespace)
}

/// The unit of money people mean.
fn unit_of(said: &str) -> Option<&'static Unit> {
    let flat = |text: &str| {
        let text = text.to_lowercase().replace('£', "gbp ").replace('/', " per ").replace('²', "2");
        text.chars().filter(char::is_ascii_alphanumeric).collect::<String>()
    };
    let said = flat(said);
    UNITS.iter().filter(|unit| unit.word.starts_with("gbp")).find(|unit| said == flat(unit.word) || said == flat(unit.symbol))
}
