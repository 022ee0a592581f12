//! The sources of one sheet, numbered in the order they are called on.

use crate::words;
use guidance::{Country, Grade, Guidance, Row, Unknown};

/// Sources called on so far.
pub struct Sources<'a> {
    guidance: &'a Guidance,
    country: Country,
    list: Vec<String>,
}

impl<'a> Sources<'a> {
    /// None yet.
    pub fn new(guidance: &'a Guidance, country: Country) -> Self {
        Self { guidance, country, list: vec![] }
    }

    /// The marks of figures' sources, `[1, 3]`, to stand after what they say.
    ///
    /// # Errors
    /// A key that guidance does not hold.
    pub fn mark(&mut self, keys: &[&str]) -> Result<String, Unknown> {
        let mut numbers = vec![];
        for key in keys {
            // Points of a curve share their source.
            let row = self.guidance.row(key, self.country).or_else(|why| self.guidance.rows_of(key).find(|r| [self.country, Country::GB].contains(&r.country)).ok_or(why))?;
            let said = in_words(row, self.guidance);
            let at = self.list.iter().position(|known| *known == said).unwrap_or_else(|| {
                self.list.push(said);
                self.list.len() - 1
            });
            if !numbers.contains(&(at + 1)) {
                numbers.push(at + 1);
            }
        }
        numbers.sort_unstable();
        let numbers: Vec<String> = numbers.iter().map(ToString::to_string).collect();
        Ok(format!("[{}]", numbers.join(", ")))
    }

    /// A number of guidance and the mark of its source.
    ///
    /// # Errors
    /// As [`Sources::mark`], or a row that is no number.
    pub fn number(&mut self, key: &str) -> Result<(f64, String), Unknown> {
        Ok((self.guidance.number(key, self.country)?, self.mark(&[key])?))
    }

    /// Words of guidance as a sentence with the mark of their source.
    ///
    /// # Errors
    /// As [`Sources::mark`], or a row that is no text.
    pub fn sentence(&mut self, key: &str) -> Result<String, Unknown> {
        let text = words::capital(self.guidance.text(key, self.country)?.trim_end_matches('.'));
        Ok(format!("{text} {}.", self.mark(&[key])?))
    }

    /// The sources, in the order of their numbers.
    pub fn into_list(self) -> Vec<String> {
        self.list
    }
}

/// Source, place in it, grade, country and edition of a row.
fn in_words(row: &Row, guidance: &Guidance) -> String {
    let source = words::sources(std::slice::from_ref(&row.key), guidance);
    let grade = match row.grade {
        Grade::Published | Grade::Guidance => format!(", {} ({})", row.locator, words::grade(row.grade)),
        Grade::Memory => format!(" ({})", words::grade(row.grade)),
        Grade::Practice | Grade::Assumption => String::new(),
    };
    let edition = if row.edition.is_empty() { String::new() } else { format!(", {}", row.edition) };
    format!("{source}{grade}; {}{edition}", row.country.in_words())
}
