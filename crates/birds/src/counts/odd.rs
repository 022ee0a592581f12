//! What is odd in a file of counts: told with how often and the first few places.

use serde::Serialize;
use std::fmt;

/// Places named; the rest are only counted.
const NAMED: usize = 5;

/// Ways in which a row of a file of counts can be odd.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Oddity {
    /// No lek; left out.
    NoLek,
    /// No year; left out.
    NoYear,
    /// A year, month or day that is none; left out.
    NoSuchDay,
    /// Before any count or after today; left out.
    OutOfTime,
    /// Only the year is known; kept.
    YearOnly,
    /// Only year and month are known; kept.
    MonthOnly,
    /// No start; kept.
    NoTime,
    /// Words where the start should be; kept without.
    TimeInWords,
    /// Figures that are no time of day; kept without.
    NoSuchTime,
    /// A start at midnight, which stands for no start; kept without.
    Midnight,
    /// No number of cocks; kept as not counted.
    NotCounted,
    /// Words where a count should be; kept as not counted.
    CountInWords,
    /// A count taken out of words, such as `c. 5`; kept.
    CountTaken,
    /// A negative or broken number of birds; kept as not counted.
    NoSuchCount,
    /// More birds than ever stand at a lek; kept as not counted.
    TooManyBirds,
    /// More birds than asked about; kept.
    ManyBirds,
    /// Lek, day, start and birds of another row; kept.
    Twice,
    /// Lek, day and start of another row, with other birds; kept.
    TwiceUnlike,
    /// Names of leks that differ only in case, accents or marks; kept apart.
    NamesAlike,
}

impl Oddity {
    /// In words, with what was done about it.
    pub fn words(self) -> &'static str {
        match self {
            Oddity::NoLek => "no lek: left out",
            Oddity::NoYear => "no year: left out",
            Oddity::NoSuchDay => "no day of the calendar: left out",
            Oddity::OutOfTime => "before 1900 or after today: left out",
            Oddity::YearOnly => "no month and day: kept for the year",
            Oddity::MonthOnly => "no day of the month: kept for the year",
            Oddity::NoTime => "no start: kept",
            Oddity::TimeInWords => "words or marks for a start: kept without start",
            Oddity::NoSuchTime => "no time of day: kept without start",
            Oddity::Midnight => "a start at midnight, taken for not recorded: kept without start",
            Oddity::NotCounted => "no number of cocks: kept as not counted",
            Oddity::CountInWords => "words that give no number of birds: kept as not counted",
            Oddity::CountTaken => "a number of birds taken out of words: kept",
            Oddity::NoSuchCount => "no possible number of birds: kept as not counted",
            Oddity::TooManyBirds => "more birds than a lek ever holds, a slip: kept as not counted",
            Oddity::ManyBirds => "very many birds: kept, look at them",
            Oddity::Twice => "lek, day, start and birds as in an earlier row: kept",
            Oddity::TwiceUnlike => "lek, day and start as in an earlier row, other birds: kept",
            Oddity::NamesAlike => "a lek's name that differs from another only in case, accents or marks: kept apart",
        }
    }

    /// Whether the count of such rows is no part of a trend though somebody meant one.
    pub fn spoils(self) -> bool {
        self.leaves_out() || matches!(self, Oddity::CountInWords | Oddity::NoSuchCount | Oddity::TooManyBirds)
    }

    /// Whether such rows are left out.
    pub fn leaves_out(self) -> bool {
        matches!(self, Oddity::NoLek | Oddity::NoYear | Oddity::NoSuchDay | Oddity::OutOfTime)
    }
}

/// One kind of oddity in a file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Odd {
    /// What is odd.
    pub what: Oddity,
    /// In how many rows (of names: how many leks).
    pub count: usize,
    /// The first few: the line of the file, and what stands there.
    pub first: Vec<(u64, String)>,
}

impl fmt::Display for Odd {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let places: Vec<String> =
            self.first.iter().map(|(line, found)| if found.is_empty() { format!("line {line}") } else { format!("line {line} `{found}`") }).collect();
        let more = self.count.saturating_sub(self.first.len());
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        write!(f, "{}: {} ({}{more})", self.count, self.what.words(), places.join(", "))
    }
}

/// Oddities as they are met.
#[derive(Debug, Default)]
pub(super) struct Met(Vec<Odd>);

impl Met {
    /// One more.
    pub fn add(&mut self, what: Oddity, line: u64, found: &str) {
        let at = self.0.iter().position(|o| o.what == what).unwrap_or_else(|| {
            self.0.push(Odd { what, count: 0, first: Vec::new() });
            self.0.len() - 1
        });
        let odd = &mut self.0[at];
        odd.count += 1;
        if odd.first.len() < NAMED {
            odd.first.push((line, found.chars().filter(|c| !c.is_control()).take(40).collect()));
        }
    }

    /// All, in the order of [`Oddity`].
    pub fn all(mut self) -> Vec<Odd> {
        self.0.sort_by_key(|o| o.what);
        self.0
    }
}
