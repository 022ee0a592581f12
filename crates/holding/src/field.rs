//! What was written down on the hill and sent in: kept as it came, until it is part of the plan or put aside.

use crate::model::Extra;
use crate::words::Word;
use geo_types::Point;
use serde::{Deserialize, Serialize};

/// What an entry from the field is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FieldKind {
    /// A dawn count at a lek.
    Visit,
    /// A height of the sward.
    Stick,
    /// A depth of peat.
    Probe,
    /// Words.
    Note,
    /// A photograph.
    Photo,
}

impl Word for FieldKind {
    const WORDS: &'static [(Self, &'static str, &'static [&'static str])] = &[
        (FieldKind::Visit, "visit", &[]),
        (FieldKind::Stick, "stick", &[]),
        (FieldKind::Probe, "probe", &[]),
        (FieldKind::Note, "note", &[]),
        (FieldKind::Photo, "photo", &[]),
    ];

    fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(kind, _, _)| *kind == self).map_or("", |(_, word, _)| word)
    }
}

/// How an entry from the field stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FieldState {
    /// A person has to look at it.
    #[default]
    Waiting,
    /// It is part of the plan.
    Merged,
    /// It is kept as it came: a note, a photograph.
    Kept,
    /// A person put it aside.
    Aside,
}

impl Word for FieldState {
    const WORDS: &'static [(Self, &'static str, &'static [&'static str])] = &[
        (FieldState::Waiting, "waiting", &[]),
        (FieldState::Merged, "merged", &[]),
        (FieldState::Kept, "kept", &[]),
        (FieldState::Aside, "aside", &[]),
    ];

    fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(state, _, _)| *state == self).map_or("", |(_, word, _)| word)
    }
}

/// An entry from the field.
#[derive(Clone, Debug, PartialEq)]
pub struct FieldEntry {
    /// Identity, made on the device: sent twice, it is here once.
    pub id: String,
    /// What it is.
    pub kind: FieldKind,
    /// Where, where the device or its person knew.
    pub at: Option<Point<f64>>,
    /// The device that sent it, by the name it was given.
    pub device: String,
    /// When it was made by the device's clock, universal time, RFC 3339.
    pub made_at: String,
    /// When it came in, universal time, RFC 3339.
    pub received_at: String,
    /// How it stands.
    pub state: FieldState,
    /// Why a person has to look at it; empty: nobody has to.
    pub why: String,
    /// Id of the visit, stick or probe it became; empty: none.
    pub became: String,
    /// What it says, as it came.
    pub said: Extra,
}
