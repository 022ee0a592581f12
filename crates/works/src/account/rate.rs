//! Rates: which holds in a year, and what it stands on.

use chrono::{Datelike, NaiveDate};
use guidance::explain::value_in_words;
use guidance::{Country, Grade, Guidance, Row, Unit};
use measures::kind::cost;
use serde::Serialize;

/// What a rate stands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// The user's own.
    Own,
    /// Read in a scheme, a study or the news.
    Published,
    /// What the market asks, from memory or practice: an adviser's default, to be edited.
    Market,
    /// Assumed by the makers of this program.
    Assumed,
}

impl Standing {
    fn of(grade: Grade) -> Standing {
        match grade {
            Grade::Published | Grade::Guidance => Standing::Published,
            Grade::Practice | Grade::Memory => Standing::Market,
            Grade::Assumption => Standing::Assumed,
        }
    }

    /// In words for a reader.
    pub fn in_words(self) -> &'static str {
        match self {
            Standing::Own => "your own rate",
            Standing::Published => "published rate",
            Standing::Market => "market default, no source: put your own in",
            Standing::Assumed => "assumed, no source: put your own in",
        }
    }
}

/// A rate as it is used.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Rate {
    /// Guidance key; for an own rate what it was given for.
    pub key: String,
    /// Pounds for one unit: low, usual, high; all alike where the rate is taken as fixed.
    pub gbp: [f64; 3],
    /// Unit, a word of guidance's list such as `gbp_per_m`.
    pub unit: String,
    /// The unit as it stands after a number.
    pub unit_words: String,
    /// What it stands on.
    pub standing: Standing,
    /// Grade of the row; `None` for an own rate.
    pub grade: Option<Grade>,
    /// Where it was read, in words; the note of an own rate.
    pub source: String,
    /// Where it holds.
    pub country: Country,
    /// Year or edition of the source.
    pub edition: String,
    /// The year its prices are of; `None` where none is recorded.
    pub of_year: Option<i32>,
    /// First day on which it holds.
    pub valid_from: Option<NaiveDate>,
    /// Last day on which it holds.
    pub valid_to: Option<NaiveDate>,
    /// What else the row says.
    pub note: String,
}

impl Rate {
    /// The rate of a row; `None` where the row is no number of money.
    pub fn of_row(guidance: &Guidance, row: &Row) -> Option<Rate> {
        let unit = Unit::from_word(&row.unit).filter(|unit| unit.word.starts_with("gbp"))?;
        Some(Rate {
            key: row.key.clone(),
            gbp: cost::spread_of(row)?,
            unit: unit.word.to_string(),
            unit_words: unit.symbol.to_string(),
            standing: Standing::of(row.grade),
            grade: Some(row.grade),
            source: guidance.source(&row.source).map_or_else(|| row.source.clone(), |source| source.reference()),
            country: row.country,
            edition: row.edition.clone(),
            of_year: of_year(row),
            valid_from: row.valid_from,
            valid_to: row.valid_to,
            note: row.note.clone(),
        })
    }

    /// What must be said of the rate where it is used from one year to another, in words.
    pub fn says(&self, first: i32, last: i32) -> Vec<String> {
        let mut out = vec![self.standing.in_words().to_string()];
        match self.of_year {
            _ if self.standing == Standing::Own => {}
            None => out.push("the year of the rate is not recorded".to_string()),
            Some(year) if year > first => out.push(format!("rate of {year}, newer than {first}: no older one is held")),
            Some(year) if year < last => {
                let years = last - year;
                let used = if first == last { format!("{last}") } else { format!("{first} to {last}") };
                let older = if years == 1 { "a year".to_string() } else { format!("{years} years") };
                out.push(format!("rate of {year}, used for {used}: up to {older} old, prices not raised"));
            }
            Some(_) => {}
        }
        if let Some(to) = self.valid_to.filter(|to| to.year() < last) {
            out.push(format!("the rate ran out on {to}: no later one is held"));
        }
        out
    }

    /// Whether low and high differ.
    pub fn has_spread(&self) -> bool {
        self.gbp[0] != self.gbp[2]
    }

    /// The usual rate with its unit, in words.
    pub fn in_words(&self) -> String {
        format!("{} {}", self.gbp[1], self.unit_words)
    }
}

/// The year the prices of a row are of. A row that only says when it ran out was read in a later edition.
fn of_year(row: &Row) -> Option<i32> {
    if row.valid_from.is_none() && row.valid_to.is_some() {
        return None;
    }
    let edition = row.edition.get(..4).and_then(|year| year.parse().ok());
    edition.or_else(|| row.valid_from.map(|from| from.year()))
}

/// Rates that took the place of older ones: the newer, the older.
const BEFORE: [(&str, &str); 3] = [
    ("cost.england.fg1_post_wire", "cost.england.fg1_post_wire_before"),
    ("cost.england.fg2_sheep_net", "cost.england.fg2_sheep_net_before"),
    ("payment.england.up2", "payment.england.up2_before"),
];

/// Keys of a rate, newest first.
pub fn family(key: &str) -> Vec<&str> {
    let older = BEFORE.iter().find(|(newer, _)| *newer == key).map(|(_, older)| *older);
    std::iter::once(key).chain(older).collect()
}

/// The rate of a family (newest first) that holds in a year: the newest that has begun by its end and has not run out before it. Where
/// all begin later the oldest is taken, where all have run out the newest; [`Rate::says`] tells it. `None` where no row is a rate.
pub fn at(guidance: &Guidance, country: Country, family: &[&str], year: i32) -> Option<Rate> {
    let rows: Vec<&Row> = family.iter().filter_map(|key| guidance.find(key, country)).collect();
    let begun = |row: &Row| row.valid_from.map(|from| from.year()).or_else(|| of_year(row)).is_none_or(|from| from <= year);
    let holds = |row: &Row| row.valid_to.is_none_or(|to| to.year() >= year);
    let found = rows.iter().find(|row| begun(row) && holds(row)).or_else(|| rows.iter().find(|row| begun(row))).or(rows.last())?;
    Rate::of_row(guidance, found)
}

/// A row of text in words; empty where the tables have none.
pub fn text(guidance: &Guidance, country: Country, key: &str) -> String {
    guidance.row(key, country).map_or_else(|_| String::new(), value_in_words)
}
