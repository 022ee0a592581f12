//! One entry of the bibliography.

use serde::{Deserialize, Serialize};

/// What sort of thing a source is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "each name says it")]
pub enum Kind {
    Article,
    Report,
    Web,
    Standard,
    Scheme,
    Law,
    News,
    Thesis,
    Book,
    Practice,
    Memory,
    Assumption,
}

impl Kind {
    /// Every kind, in the order the format lists them.
    pub const ALL: [Kind; 12] = [
        Kind::Article,
        Kind::Report,
        Kind::Web,
        Kind::Standard,
        Kind::Scheme,
        Kind::Law,
        Kind::News,
        Kind::Thesis,
        Kind::Book,
        Kind::Practice,
        Kind::Memory,
        Kind::Assumption,
    ];

    /// The word the bibliography uses.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Article => "article",
            Kind::Report => "report",
            Kind::Web => "web",
            Kind::Standard => "standard",
            Kind::Scheme => "scheme",
            Kind::Law => "law",
            Kind::News => "news",
            Kind::Thesis => "thesis",
            Kind::Book => "book",
            Kind::Practice => "practice",
            Kind::Memory => "memory",
            Kind::Assumption => "assumption",
        }
    }

    /// The kind a word means.
    pub fn from_word(word: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// Whether a figure read in such a source may be graded `published`.
    pub fn is_study(self) -> bool {
        matches!(self, Kind::Article | Kind::Report | Kind::Thesis | Kind::Book)
    }
}

/// How much of a source was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReadStatus {
    /// The table or formula itself.
    Table,
    /// The abstract or the authors' summary; the body's tables were not.
    Abstract,
    /// The opening part of a page, leaflet, data description or rule.
    Page,
    /// A news item or press release.
    News,
    /// Another party's account of it.
    ThirdParty,
    /// Nothing: it is named from memory.
    Memory,
    /// There is nothing to read.
    None,
}

impl ReadStatus {
    /// Every status.
    pub const ALL: [ReadStatus; 7] = [
        ReadStatus::Table,
        ReadStatus::Abstract,
        ReadStatus::Page,
        ReadStatus::News,
        ReadStatus::ThirdParty,
        ReadStatus::Memory,
        ReadStatus::None,
    ];

    /// The word the bibliography uses.
    pub fn word(self) -> &'static str {
        match self {
            ReadStatus::Table => "table",
            ReadStatus::Abstract => "abstract",
            ReadStatus::Page => "page",
            ReadStatus::News => "news",
            ReadStatus::ThirdParty => "third_party",
            ReadStatus::Memory => "memory",
            ReadStatus::None => "none",
        }
    }

    /// The status a word means.
    pub fn from_word(word: &str) -> Option<ReadStatus> {
        ReadStatus::ALL.into_iter().find(|status| status.word() == word)
    }

    /// The status in plain words.
    pub fn in_words(self) -> &'static str {
        match self {
            ReadStatus::Table => "the table or formula itself was read",
            ReadStatus::Abstract => "the abstract or authors' summary was read",
            ReadStatus::Page => "the opening part of the page was read",
            ReadStatus::News => "a news item or press release was read",
            ReadStatus::ThirdParty => "another party's account was read: check the original",
            ReadStatus::Memory => "named from memory, not opened",
            ReadStatus::None => "there is no source to read",
        }
    }
}

/// One entry of the bibliography.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Source {
    /// Short key, author and year.
    pub key: String,
    /// What sort of thing it is.
    pub kind: Kind,
    /// Authors or publishing body.
    pub authors: String,
    /// Year, as written.
    pub year: String,
    /// Title; empty where it was not seen.
    pub title: String,
    /// Journal with volume and pages, publisher or site.
    pub container: String,
    /// How much of it was read.
    pub read_status: ReadStatus,
    /// Anything else.
    pub note: String,
}

impl Source {
    /// The full reference on one line, leaving out what is not known.
    pub fn reference(&self) -> String {
        let mut text = self.authors.clone();
        if !self.year.is_empty() {
            let gap = if text.is_empty() { "" } else { " " };
            text.push_str(&format!("{gap}({})", self.year));
        }
        for part in [&self.title, &self.container].into_iter().filter(|part| !part.is_empty()) {
            if !text.is_empty() {
                text.push_str(". ");
            }
            text.push_str(part);
        }
        text
    }
}
