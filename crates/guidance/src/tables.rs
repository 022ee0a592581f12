//! The tables as a whole: look a figure, a date, a text or a curve up.

use std::collections::BTreeMap;

use crate::country::Country;
use crate::curve::Curve;
use crate::draws::Draws;
use crate::fault::{Fault, Unknown, Why, near};
use crate::load;
use crate::row::{Row, Value};
use crate::source::Source;

/// The texts built into the program: `(file name, text)` by name.
const BUILT_IN: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/tables.gen.rs"));

/// Every row of every table, checked, with the bibliography.
#[derive(Debug, Clone)]
pub struct Guidance {
    edition: String,
    rows: Vec<Row>,
    by_key: BTreeMap<String, Vec<usize>>,
    sources: BTreeMap<String, Source>,
}

impl Guidance {
    /// The tables built into the program.
    ///
    /// # Errors
    /// All faults of all tables, by file and line.
    pub fn load() -> Result<Guidance, Vec<Fault>> {
        Guidance::from_texts(BUILT_IN)
    }

    /// The texts built into the program, for a caller that puts tables of its own in place of some of them.
    pub fn built_in_texts() -> &'static [(&'static str, &'static str)] {
        BUILT_IN
    }

    /// Tables given as `(file name, text)`: `bibliography.csv`, `edition.txt`, and any others ending in `.csv`.
    ///
    /// # Errors
    /// All faults of all tables, by file and line.
    pub fn from_texts(texts: &[(&str, &str)]) -> Result<Guidance, Vec<Fault>> {
        let load::Tables { edition, sources, rows } = load::read(texts)?;
        let mut by_key: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (index, row) in rows.iter().enumerate() {
            by_key.entry(row.key.clone()).or_default().push(index);
        }
        Ok(Guidance { edition, rows, by_key, sources })
    }

    /// The edition of the tables.
    pub fn edition(&self) -> &str {
        &self.edition
    }

    /// Every row, by file and line.
    pub fn rows(&self) -> impl Iterator<Item = &Row> {
        self.rows.iter()
    }

    /// Every row whose key begins with `prefix`, by key.
    pub fn under(&self, prefix: &str) -> impl Iterator<Item = &Row> {
        let prefix = prefix.to_owned();
        self.by_key
            .range(prefix.clone()..)
            .take_while(move |(key, _)| key.starts_with(&prefix))
            .flat_map(|(_, indexes)| indexes.iter().filter_map(|&index| self.rows.get(index)))
    }

    /// Every row of `key`, for any country.
    pub fn rows_of(&self, key: &str) -> impl Iterator<Item = &Row> {
        self.by_key.get(key).into_iter().flatten().filter_map(|&index| self.rows.get(index))
    }

    /// The entry of the bibliography with that key.
    pub fn source(&self, key: &str) -> Option<&Source> {
        self.sources.get(key)
    }

    /// The bibliography, by key.
    pub fn sources(&self) -> impl Iterator<Item = &Source> {
        self.sources.values()
    }

    /// The row of `key` that holds in `country` or, where it has none of its own, in Great Britain; `None` where there is none, or a curve.
    pub fn find(&self, key: &str, country: Country) -> Option<&Row> {
        match self.held(key, country).as_slice() {
            [row] if row.x.is_none() => Some(row),
            _ => None,
        }
    }

    /// The row of `key` that holds in `country`, or that of Great Britain where the country has none of its own.
    ///
    /// # Errors
    /// An unknown key (with the nearest ones), a key not held there, or a curve.
    pub fn row(&self, key: &str, country: Country) -> Result<&Row, Unknown> {
        self.find(key, country).ok_or_else(|| self.holding(key, country).err().unwrap_or_else(|| self.unknown(key, country, Why::IsCurve)))
    }

    /// The number of `key`, in the unit of its row.
    ///
    /// # Errors
    /// As [`Guidance::row`], or a row that is no number.
    pub fn number(&self, key: &str, country: Country) -> Result<f64, Unknown> {
        match self.row(key, country)?.value {
            Value::Number(number) => Ok(number),
            _ => Err(self.unknown(key, country, Why::NotNumber)),
        }
    }

    /// The text of `key`.
    ///
    /// # Errors
    /// As [`Guidance::row`], or a row that is no text.
    pub fn text(&self, key: &str, country: Country) -> Result<&str, Unknown> {
        match &self.row(key, country)?.value {
            Value::Text(text) => Ok(text),
            _ => Err(self.unknown(key, country, Why::NotText)),
        }
    }

    /// The date of the year of `key`: month and day.
    ///
    /// # Errors
    /// As [`Guidance::row`], or a row that is no date.
    pub fn month_day(&self, key: &str, country: Country) -> Result<(u32, u32), Unknown> {
        match self.row(key, country)?.value {
            Value::MonthDay(month, day) => Ok((month, day)),
            _ => Err(self.unknown(key, country, Why::NotDate)),
        }
    }

    /// The curve of `key`.
    ///
    /// # Errors
    /// As [`Guidance::row`], or a key that is one value.
    pub fn curve(&self, key: &str, country: Country) -> Result<Curve, Unknown> {
        let points = self.holding(key, country)?.into_iter().map(|row| match row.value {
            Value::Number(value) => row.x.map(|x| (x, value)),
            _ => None,
        });
        match points.collect::<Option<Vec<_>>>() {
            Some(points) => Ok(Curve::from_points(points)),
            None => Err(self.unknown(key, country, Why::NotCurve)),
        }
    }

    /// `n` stratified draws of every number and curve that holds in `country`; the same for the same tables, seed, `n` and country.
    pub fn draws(&self, seed: u64, n: usize, country: Country) -> Draws {
        let groups = self.by_key.keys().map(|key| (key.as_str(), self.holding(key, country).unwrap_or_default()));
        Draws::new(seed, n, country, groups)
    }

    /// An error about `key`, with the nearest keys where there is none like it.
    pub(crate) fn unknown(&self, key: &str, country: Country, why: Why) -> Unknown {
        let near = if why == Why::NoKey { near(key, self.by_key.keys().map(String::as_str)) } else { Vec::new() };
        Unknown { key: key.to_owned(), country, why, near }
    }

    /// The rows of `key` that hold in `country`: its own, else those of Great Britain. Never empty.
    fn holding(&self, key: &str, country: Country) -> Result<Vec<&Row>, Unknown> {
        let rows = self.held(key, country);
        if rows.is_empty() {
            let any = self.rows_of(key).next().is_some();
            return Err(self.unknown(key, country, if any { Why::NoCountry } else { Why::NoKey }));
        }
        Ok(rows)
    }

    /// As [`Guidance::holding`], empty where there are none.
    fn held(&self, key: &str, country: Country) -> Vec<&Row> {
        let of = |wanted: Country| self.rows_of(key).filter(|row| row.country == wanted).collect::<Vec<_>>();
        let own = of(country);
        if own.is_empty() { of(Country::GB) } else { own }
    }
}
