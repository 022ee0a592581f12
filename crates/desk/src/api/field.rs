//! The field page: what the phone sends and hears, and what the desk shows of it.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// How the field page stands, for the desk's own page.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct FieldState {
    /// Whether the desk was started with it.
    pub on: bool,
    /// Addresses a phone on the same network opens, most likely first.
    pub addresses: Vec<String>,
    /// Where the phone fetches the certificate of this desk's own authority.
    pub authority: String,
    /// SHA-256 fingerprint of that certificate, to be compared by eye.
    pub fingerprint: String,
    /// The pairing under way; null: none.
    pub pairing: Option<Pairing>,
    /// Devices that are paired.
    pub devices: Vec<Device>,
    /// What came in, the newest first.
    pub entries: Vec<EntryState>,
}

/// Begin to pair a phone.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PairingRequest {
    /// Give the phone the exact places of leks; left out: as the desk was started, which is the kilometre square unless it said otherwise.
    pub exact_leks: Option<bool>,
}

/// A pairing under way.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Pairing {
    /// Six digits, typed on the phone.
    pub code: String,
    /// Seconds it still holds.
    pub seconds: u64,
    /// Wrong codes it still bears.
    pub tries: u32,
    /// Whether the phone will get the exact places of leks.
    pub exact_leks: bool,
}

/// A paired device.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Device {
    /// Its number.
    pub id: u64,
    /// The name it was given on the phone.
    pub name: String,
    /// The day it was paired.
    pub since: chrono::NaiveDate,
    /// Whether it gets the exact places of leks.
    pub exact_leks: bool,
}

/// An entry from the field as the desk shows it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EntryState {
    /// Its id.
    pub id: String,
    /// `visit`, `stick`, `probe`, `note` or `photo`.
    pub kind: String,
    /// `waiting`, `merged`, `kept` or `aside`.
    pub state: String,
    /// What it says, in one line.
    pub words: String,
    /// Why a person has to look at it; empty: nobody has to.
    pub why: String,
    /// The device that sent it.
    pub device: String,
    /// When it was made, universal time.
    pub made_at: String,
    /// When it came in, universal time.
    pub received_at: String,
    /// East and north, metres, where a place is known.
    pub at: Option<[f64; 2]>,
    /// What can be done with it now: `add`, `replace`, `put_aside`.
    pub can: Vec<Choice>,
    /// Where its photograph is; null: none.
    pub photo: Option<String>,
    /// The visit, stick or probe it became; empty: none.
    pub became: String,
    /// What it says, as it came.
    pub said: serde_json::Value,
}

/// What a person decides of an entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Choice {
    /// Take it into the plan beside what is there.
    Add,
    /// Take it into the plan in place of what it disagrees with.
    Replace,
    /// Leave it out of the plan; it is kept as it came.
    PutAside,
}

/// A decision.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Decision {
    /// What is decided.
    pub choice: Choice,
    /// The lek it is of, where the entry names none that is there.
    pub lek: Option<String>,
    /// East and north, metres, where the entry has no place or a wrong one.
    pub at: Option<[f64; 2]>,
}

/// A phone asks to be paired.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Pair {
    /// The six digits.
    pub code: String,
    /// A name for the phone, such as its owner's.
    pub name: String,
}

/// What a phone needs before it leaves.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct FieldBook {
    /// Name of the plan.
    pub plan: String,
    /// The name this phone goes by.
    pub device: String,
    /// Leks that can be counted.
    pub leks: Vec<FieldLek>,
}

/// A lek as a phone knows it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct FieldLek {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Its kilometre square, such as `NY 90 32`; empty off the national grid.
    pub square: String,
    /// Its grid reference to ten metres; null unless the desk gives exact places to this phone.
    pub exact: Option<String>,
}

/// An entry as the phone sends it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// A UUID made on the phone. Sent twice, it is taken once.
    pub id: String,
    /// When it was made, RFC 3339.
    pub made_at: chrono::DateTime<chrono::Utc>,
    /// Who made it.
    #[serde(default)]
    pub observer: String,
    /// Where the phone was.
    pub place: Option<Fix>,
    /// What it is.
    pub what: What,
}

/// A place as a phone knows it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Fix {
    /// Longitude, degrees.
    pub lon: f64,
    /// Latitude, degrees.
    pub lat: f64,
    /// How far it may be off, metres; left out: not told.
    pub accuracy_m: Option<f64>,
}

/// What an entry is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "is", rename_all = "snake_case", deny_unknown_fields)]
pub enum What {
    /// A dawn count.
    Visit {
        /// Lek by id.
        lek: String,
        /// Day.
        date: chrono::NaiveDate,
        /// Clock time the count began, `HH:MM`.
        start: Option<String>,
        /// Displaying cocks.
        cocks: Option<u32>,
        /// Hens.
        hens: Option<u32>,
        /// Weather in words.
        #[serde(default)]
        weather: String,
        /// Note.
        #[serde(default)]
        note: String,
    },
    /// A height of the sward.
    Stick {
        /// Height, centimetres.
        height_cm: f32,
        /// Day.
        date: chrono::NaiveDate,
        /// Note.
        #[serde(default)]
        note: String,
    },
    /// A depth of peat.
    Probe {
        /// Depth, centimetres.
        depth_cm: f32,
        /// Day.
        date: chrono::NaiveDate,
    },
    /// Words.
    Note {
        /// The words.
        text: String,
    },
    /// A photograph.
    Photo {
        /// Words to it.
        #[serde(default)]
        text: String,
        /// The picture: JPEG, base64.
        jpeg: String,
    },
}

/// What became of an entry, told to the phone.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Received {
    /// The entry.
    pub id: String,
    /// `waiting` (somebody at the desk has to look), `merged`, `kept` or `aside`.
    pub state: String,
    /// Why somebody has to look; empty: nobody has to.
    pub why: String,
}
