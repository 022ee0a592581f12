//! How far the figures behind a page can be trusted: keys by grade.

use crate::pack::Pack;
use crate::words;
use guidance::{Country, Grade, Row};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Keys of one grade.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Trust {
    /// The grade, in words.
    pub grade: &'static str,
    /// The keys, in order.
    pub keys: Vec<String>,
}

/// The keys by the weakest grade of the rows that hold in the country of a pack, surest first.
pub(super) fn of(pack: &Pack, keys: &[&str]) -> Vec<Trust> {
    let country = pack.holding.about.country;
    let mut grades: BTreeMap<Grade, BTreeSet<&str>> = BTreeMap::new();
    for key in keys {
        let rows: Vec<&Row> = pack.guidance.rows_of(key).collect();
        let own = |of: Country| rows.iter().filter(move |r| r.country == of).map(|r| r.grade).max();
        if let Some(grade) = own(country).or_else(|| own(Country::GB)).or_else(|| rows.iter().map(|r| r.grade).max()) {
            grades.entry(grade).or_default().insert(key);
        }
    }
    grades.into_iter().map(|(grade, keys)| Trust { grade: words::grade(grade), keys: keys.into_iter().map(str::to_owned).collect() }).collect()
}
