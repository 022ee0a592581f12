//! One fact of the tables: its value, how wide it is, where it comes from and how far to trust it.

use std::fmt;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::country::Country;

/// What a row says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Value {
    /// A number in the unit of the row.
    Number(f64),
    /// A date of the year (unit `date`).
    MonthDay(u32, u32),
    /// Words (unit `text`).
    Text(String),
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Value::Number(number) => write!(f, "{number}"),
            Value::MonthDay(month, day) => write!(f, "{month:02}-{day:02}"),
            Value::Text(text) => f.write_str(text),
        }
    }
}

/// How `low` and `high` of a row are meant, and so what is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Spread {
    /// One fixed value.
    None,
    /// Least, most likely and greatest: triangular.
    Range,
    /// Anything between `low` and `high`, all alike.
    Uniform,
    /// `high` is the standard deviation: normal, cut at the bounds of the unit.
    Sd,
    /// `high` is the standard error: normal, cut at the bounds of the unit.
    Se,
    /// `high` is the coefficient of variation: log-normal with `value` as its mean.
    Cv,
    /// `low` and `high` are the 95 % limits: a normal on each side of `value`.
    Ci95,
}

impl Spread {
    /// Every spread, in the order the format lists them.
    pub const ALL: [Spread; 7] = [Spread::None, Spread::Range, Spread::Uniform, Spread::Sd, Spread::Se, Spread::Cv, Spread::Ci95];

    /// The word the tables use.
    pub fn word(self) -> &'static str {
        match self {
            Spread::None => "none",
            Spread::Range => "range",
            Spread::Uniform => "uniform",
            Spread::Sd => "sd",
            Spread::Se => "se",
            Spread::Cv => "cv",
            Spread::Ci95 => "ci95",
        }
    }

    /// The spread a word of the tables means.
    pub fn from_word(word: &str) -> Option<Spread> {
        Spread::ALL.into_iter().find(|spread| spread.word() == word)
    }
}

/// How far a figure can be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Grade {
    /// Read in a published study.
    Published,
    /// Read in guidance, a scheme, a law, a leaflet or the news.
    Guidance,
    /// Common practice without a source.
    Practice,
    /// Written down from memory, the source not opened.
    Memory,
    /// Assumed by the makers of this program.
    Assumption,
}

impl Grade {
    /// Every grade, best first.
    pub const ALL: [Grade; 5] = [Grade::Published, Grade::Guidance, Grade::Practice, Grade::Memory, Grade::Assumption];

    /// The word the tables use.
    pub fn word(self) -> &'static str {
        match self {
            Grade::Published => "published",
            Grade::Guidance => "guidance",
            Grade::Practice => "practice",
            Grade::Memory => "memory",
            Grade::Assumption => "assumption",
        }
    }

    /// The grade a word of the tables means.
    pub fn from_word(word: &str) -> Option<Grade> {
        Grade::ALL.into_iter().find(|grade| grade.word() == word)
    }

    /// The grade in plain words, as it must stand beside the figure wherever that is shown.
    pub fn in_words(self) -> &'static str {
        match self {
            Grade::Published => "read in a published study (abstract or summary unless the locator says more)",
            Grade::Guidance => "read in guidance, a scheme, a law, a leaflet or the news",
            Grade::Practice => "common practice, no source",
            Grade::Memory => "from memory, the source was not opened",
            Grade::Assumption => "an assumption of this program",
        }
    }
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// One fact of the tables.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// Dotted name of the fact; rows that share it and differ in `x` form a curve.
    pub key: String,
    /// Abscissa of a curve point.
    pub x: Option<f64>,
    /// What the row says.
    pub value: Value,
    /// Word of the closed list of units, see [`crate::unit`].
    pub unit: String,
    /// Lower figure of the spread, in the unit of the row.
    pub low: Option<f64>,
    /// Upper figure of the spread in the unit of the row, or the deviation, error or coefficient of variation.
    pub high: Option<f64>,
    /// How `low` and `high` are meant.
    pub spread: Spread,
    /// Key of the bibliography.
    pub source: String,
    /// Where in the source.
    pub locator: String,
    /// How far to trust it.
    pub grade: Grade,
    /// Where it holds.
    pub country: Country,
    /// Year or edition of the source.
    pub edition: String,
    /// First day on which it holds.
    pub valid_from: Option<NaiveDate>,
    /// Last day on which it holds.
    pub valid_to: Option<NaiveDate>,
    /// The room it waits for; empty once the program uses it.
    pub waits: String,
    /// Anything else a reader should know.
    pub note: String,
    /// The table it stands in.
    pub file: String,
    /// The line of the table.
    pub line: usize,
}

impl Row {
    /// Whether the row holds on `date`: its first and last day count, an empty bound is open.
    pub fn in_force(&self, date: NaiveDate) -> bool {
        self.valid_from.is_none_or(|first| first <= date) && self.valid_to.is_none_or(|last| date <= last)
    }
}
