//! Where a row holds: all of Great Britain, or one country of it.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// The country a row, a rule or a holding belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
pub enum Country {
    /// All of Great Britain: what a country without a row of its own falls back to.
    #[default]
    GB,
    /// England.
    England,
    /// Scotland.
    Scotland,
    /// Wales.
    Wales,
}

impl Country {
    /// Every country, Great Britain first.
    pub const ALL: [Country; 4] = [Country::GB, Country::England, Country::Scotland, Country::Wales];

    /// The name as the tables write it.
    pub fn name(self) -> &'static str {
        match self {
            Country::GB => "GB",
            Country::England => "England",
            Country::Scotland => "Scotland",
            Country::Wales => "Wales",
        }
    }

    /// The name as a sentence would say it.
    pub fn in_words(self) -> &'static str {
        match self {
            Country::GB => "Great Britain",
            other => other.name(),
        }
    }
}

impl fmt::Display for Country {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A word that names no country the tables know.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("unknown country `{0}`: one of GB, England, Scotland, Wales is needed")]
pub struct UnknownCountry(pub String);

impl FromStr for Country {
    type Err = UnknownCountry;

    /// Reads a country, letter case aside.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Country::ALL
            .into_iter()
            .find(|country| country.name().eq_ignore_ascii_case(text.trim()))
            .ok_or_else(|| UnknownCountry(text.to_owned()))
    }
}
