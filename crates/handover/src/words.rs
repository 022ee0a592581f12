//! Figures and kinds in words, the same on paper, in the workbook and in the geographic copy.

use chrono::{Datelike, NaiveDate};
use guidance::{Grade, Guidance};
use habitat::{Cause, Quantiles, SeasonLedger, Standing};

/// A whole number grouped by thousands: `1,512`.
pub fn grouped(value: f64) -> String {
    let digits = format!("{:.0}", value.abs());
    let mut out = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i) % 3 == 0 {
            out.push(',');
        }
        out.push(digit);
    }
    if value <= -0.5 { format!("-{out}") } else { out }
}

/// Hectares at a precision that fits their size: `0.4`, `14`, `1,512`.
pub fn hectares(value: f64) -> String {
    if !value.is_finite() {
        "not known".to_owned()
    } else if value.abs() < 9.95 {
        format!("{value:.1}")
    } else {
        grouped(value)
    }
}

/// A ratio: two figures below one, one above, whole numbers when large.
pub fn ratio(value: f64) -> String {
    match value {
        v if !v.is_finite() => "-".to_owned(),
        v if v < 0.995 => format!("{v:.2}"),
        v if v < 9.95 => format!("{v:.1}"),
        v => grouped(v),
    }
}

/// Median with the tenth and ninetieth percentile: `14 (9 to 21)`.
pub fn spread(q: &Quantiles, form: fn(f64) -> String) -> String {
    format!("{} ({} to {})", form(q.p50), form(q.p10), form(q.p90))
}

/// A share as whole percent.
pub fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

/// A day: `14 March 2026`.
pub fn day(date: NaiveDate) -> String {
    format!("{} {} {}", date.day(), month(date.month()), date.year())
}

fn month(month: u32) -> &'static str {
    const NAMES: [&str; 12] =
        ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];
    NAMES.get((month as usize).wrapping_sub(1)).copied().unwrap_or("")
}

/// The first letter made large.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Numbers in rising order, runs told by their ends: `2, 5 to 8`.
pub fn runs(numbers: impl IntoIterator<Item = usize>) -> String {
    let mut runs: Vec<(usize, usize)> = vec![];
    for number in numbers {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == number => *last = number,
            _ => runs.push((number, number)),
        }
    }
    let said = |(first, last): &(usize, usize)| match last - first {
        0 => first.to_string(),
        1 => format!("{first}, {last}"),
        _ => format!("{first} to {last}"),
    };
    runs.iter().map(said).collect::<Vec<_>>().join(", ")
}

/// How often a season is short, in a word.
pub fn often(season: &SeasonLedger) -> &'static str {
    match season.short_fraction {
        f if f >= 0.9 => "short",
        f if f >= 0.5 => "likely short",
        f if f > 0.1 => "may be short",
        _ => "enough",
    }
}

/// A cause of lost value in words.
pub fn cause(cause: Cause) -> &'static str {
    match cause {
        Cause::Food => "too little of the season's food",
        Cause::TooShort => "vegetation too short",
        Cause::TooTall => "vegetation too tall",
        Cause::Uniform => "all of one height, no short beside tall",
        Cause::ClosedWood => "wood closed or too old",
        Cause::Far => "far from what the season needs beside it",
        Cause::Disturbed => "people or vehicles near",
        Cause::Site => "too high, too low or too steep",
        Cause::Unmapped => "nobody has mapped it",
    }
}

/// Where a value stands against published ones, in words.
pub fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::LikeOccupied => "like leks that hold",
        Standing::Between => "between the two",
        Standing::Below => "below leks that hold",
        Standing::Above => "above leks that hold",
        Standing::LikeLost => "like leks that were lost",
        Standing::Unknown => "cannot be said",
    }
}

/// A grade in few words, for a table.
pub fn grade(grade: Grade) -> &'static str {
    match grade {
        Grade::Published => "published study",
        Grade::Guidance => "guidance, scheme, law or news",
        Grade::Practice => "common practice, no source",
        Grade::Memory => "from memory, not opened",
        Grade::Assumption => "assumption",
    }
}

/// What stands for a source where the grade says that there is none.
pub fn no_source(grade: Grade) -> Option<&'static str> {
    match grade {
        Grade::Assumption => Some("assumption of this program"),
        Grade::Practice => Some("common practice, no source"),
        _ => None,
    }
}

/// The sources behind guidance keys, each once, as `Author year`; practice, memory and assumption are said as such.
pub fn sources(keys: &[String], guidance: &Guidance) -> String {
    let mut names: Vec<String> = vec![];
    for row in keys.iter().flat_map(|key| guidance.rows_of(key)) {
        let known = || guidance.source(&row.source).map_or_else(|| row.source.clone(), |s| short_source(&s.authors, &s.year, if s.title.is_empty() { &s.container } else { &s.title }));
        let name = match no_source(row.grade) {
            Some(words) => words.to_owned(),
            None if row.source == "memory" => "from memory".to_owned(),
            None => known(),
        };
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names.join("; ")
}

/// The first author (or the body) and the year; without a year, the body and what it put out.
fn short_source(authors: &str, year: &str, title: &str) -> String {
    let several = authors.contains('&') || authors.matches(',').count() > 1 || authors.contains(';');
    let first = authors.split([',', ';', '&']).next().unwrap_or(authors).trim();
    match (several, year.is_empty(), title.is_empty()) {
        (true, false, _) => format!("{first} and others {year}"),
        (false, false, _) => format!("{first} {year}"),
        (_, true, false) => format!("{first}, {title}"),
        (_, true, true) => first.to_owned(),
    }
}

/// Things in a row, the last joined by "and".
pub fn list(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// A small whole number in words.
pub fn count(n: usize) -> String {
    const WORDS: [&str; 13] = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    WORDS.get(n).map_or_else(|| n.to_string(), |w| (*w).to_owned())
}

/// A number of things: `one lek`, `3 leks`.
pub fn things(n: usize, one: &str, many: &str) -> String {
    format!("{} {}", count(n), if n == 1 { one } else { many })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_as_precise_as_their_size_deserves() {
        assert_eq!([hectares(0.44), hectares(9.96), hectares(1512.4), hectares(f64::NAN)], ["0.4", "10", "1,512", "not known"]);
        assert_eq!([ratio(0.5), ratio(1.04), ratio(12.2)], ["0.50", "1.0", "12"]);
        assert_eq!(grouped(-1234567.0), "-1,234,567");
    }

    #[test]
    fn sources_are_named_by_first_author_or_body() {
        assert_eq!(short_source("Elder, A., Ash, B. & Rowan, C.", "2020", "A study"), "Elder and others 2020");
        assert_eq!(short_source("Hill and Moor Office", "2019", ""), "Hill and Moor Office 2019");
        assert_eq!(short_source("Ash", "", ""), "Ash");
        assert_eq!(short_source("Hill and Moor Office", "", "Leaflet 3"), "Hill and Moor Office, Leaflet 3", "a bare body says too little");
    }

    #[test]
    fn numbers_in_a_row_are_told_by_their_ends() {
        assert_eq!([runs([]), runs([3]), runs([1, 2]), runs([1, 2, 3, 7, 9, 10])], ["", "3", "1, 2", "1 to 3, 7, 9, 10"]);
    }

    #[test]
    fn lists_and_counts_read_as_sentences() {
        let three = ["a".to_owned(), "b".to_owned(), "c".to_owned()];
        assert_eq!([list(&three[..1]), list(&three)], ["a", "a, b and c"]);
        assert_eq!([things(1, "lek", "leks"), things(0, "lek", "leks"), things(30, "lek", "leks")], ["one lek", "no leks", "30 leks"]);
        assert_eq!(capital("élan"), "Élan");
    }
}
