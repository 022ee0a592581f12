//! Who may send: a phone is paired once, by six digits read off the desk's screen, and has a token of its own from then on.

use super::shut::{keep, read_kept};
use crate::api::edit::Problem;
use crate::api::field::{Device, Pairing};
use chrono::NaiveDate;
use rand::RngExt;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// How long a code holds.
const CODE_HOLDS: Duration = Duration::from_secs(10 * 60);
/// Wrong codes it bears; then it is gone, and the desk makes another.
const CODE_TRIES: u32 = 5;
/// Devices one plan may have.
const DEVICES_MAX: usize = 50;
/// Longest name of a device.
pub(super) const NAME_MAX: usize = 60;

/// A device as it is kept. Of its token only what cannot be turned back.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Kept {
    id: u64,
    /// Its name.
    pub name: String,
    since: NaiveDate,
    /// Whether it gets the exact places of leks.
    pub exact_leks: bool,
    token_sha256: String,
    /// The plan it was paired for; it knows no other.
    plan: PathBuf,
}

struct Code {
    digits: String,
    until: Instant,
    tries: u32,
    exact_leks: bool,
    plan: PathBuf,
}

/// The pairing under way, and the devices that are paired.
pub(crate) struct Pairings {
    folder: PathBuf,
    devices: Vec<Kept>,
    code: Option<Code>,
}

impl Pairings {
    /// Those kept in a folder.
    pub(super) fn of(folder: &Path) -> Result<Pairings, String> {
        let kept = read_kept(folder, "devices.json")?;
        let devices = kept.map(|text| serde_json::from_str(&text)).transpose();
        let hint = "Hint: delete it; phones have to be paired again";
        let devices = devices.map_err(|error| format!("`{}` cannot be read: {error}. {hint}", folder.join("devices.json").display()))?;
        Ok(Pairings { folder: folder.into(), devices: devices.unwrap_or_default(), code: None })
    }

    /// Make a new code; one there was is gone.
    pub(super) fn begin(&mut self, exact_leks: bool, plan: &Path) -> Pairing {
        let digits = format!("{:06}", rand::rng().random_range(0..1_000_000));
        self.code = Some(Code { digits: digits.clone(), until: Instant::now() + CODE_HOLDS, tries: CODE_TRIES, exact_leks, plan: plan.into() });
        Pairing { code: digits, seconds: CODE_HOLDS.as_secs(), tries: CODE_TRIES, exact_leks }
    }

    /// End the pairing under way.
    pub(super) fn end(&mut self) {
        self.code = None;
    }

    /// The pairing under way.
    pub(super) fn now(&mut self) -> Option<Pairing> {
        let now = Instant::now();
        self.code = self.code.take().filter(|code| code.until > now);
        let shown = |code: &Code| Pairing { code: code.digits.clone(), seconds: (code.until - now).as_secs(), tries: code.tries, exact_leks: code.exact_leks };
        self.code.as_ref().map(shown)
    }

    /// Pair a phone that knows the code; gives its token, which is told this once.
    pub(super) fn pair(&mut self, told: &str, name: &str, plan: &Path, today: NaiveDate) -> Result<(String, Kept), Problem> {
        self.now();
        let Some(code) = self.code.as_mut().filter(|code| code.plan == plan) else {
            return Err(Problem::refused("No phone is being paired", ["ask at the desk for a new code; it holds ten minutes".to_owned()]));
        };
        if told != code.digits {
            code.tries -= 1;
            let left = code.tries;
            if left == 0 {
                self.end();
            }
            let then = if left == 0 { "the code is gone; ask at the desk for a new one".to_owned() } else { format!("tries left: {left}") };
            return Err(Problem::refused("This is not the code on the desk's screen", [then]));
        }
        if self.devices.iter().filter(|device| device.plan == plan).count() >= DEVICES_MAX {
            return Err(Problem::refused("Too many phones are paired", ["take one out at the desk".to_owned()]));
        }
        let bytes: [u8; 32] = rand::rng().random();
        let token: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
        let id = self.devices.iter().map(|device| device.id).max().unwrap_or_default() + 1;
        let device = Kept { id, name: name.into(), since: today, exact_leks: code.exact_leks, token_sha256: hashed(&token), plan: plan.into() };
        self.code = None;
        self.devices.push(device.clone());
        self.write()?;
        Ok((token, device))
    }

    /// The device of a token, for the plan that is open.
    pub(super) fn known(&self, token: &str, plan: &Path) -> Result<Kept, Problem> {
        let hash = hashed(token);
        let known = self.devices.iter().find(|device| device.token_sha256 == hash);
        let known = known.ok_or_else(|| Problem::new("no_key", "This phone is not paired with the desk"))?;
        let other = "The desk has another plan open than the one this phone is paired for; what is written here waits";
        if known.plan == plan { Ok(known.clone()) } else { Err(Problem::new("taken", other)) }
    }

    /// Devices of a plan.
    pub(super) fn devices(&self, plan: &Path) -> Vec<Device> {
        let shown = |d: &Kept| Device { id: d.id, name: d.name.clone(), since: d.since, exact_leks: d.exact_leks };
        self.devices.iter().filter(|device| device.plan == plan).map(shown).collect()
    }

    /// Take a device out; false where there is none.
    pub(super) fn forget(&mut self, id: u64) -> Result<bool, Problem> {
        let before = self.devices.len();
        self.devices.retain(|device| device.id != id);
        if self.devices.len() == before {
            return Ok(false);
        }
        self.write().map(|()| true)
    }

    fn write(&self) -> Result<(), Problem> {
        let text = serde_json::to_string_pretty(&self.devices).unwrap_or_default();
        keep(&self.folder, "devices.json", &text).map_err(|why| Problem::new("failed", why))
    }
}

fn hashed(token: &str) -> String {
    Sha256::digest(token.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const TODAY: NaiveDate = NaiveDate::from_ymd_opt(2026, 4, 1).unwrap();

    #[test]
    fn a_code_bears_few_tries_and_pairs_one_phone_for_one_plan() {
        let folder = tempfile::tempdir().unwrap();
        let (plan, other) = (Path::new("hill.gpkg"), Path::new("moss.gpkg"));
        let mut pairings = Pairings::of(folder.path()).unwrap();
        assert!(pairings.pair("000000", "Ann", plan, TODAY).is_err(), "nothing is under way");
        let code = pairings.begin(false, plan).code;
        assert!(code.len() == 6 && code.bytes().all(|b| b.is_ascii_digit()));
        let wrong = if code == "123456" { "654321" } else { "123456" };
        for _ in 0..CODE_TRIES {
            assert!(pairings.now().is_some());
            assert_eq!(pairings.pair(wrong, "Ann", plan, TODAY).unwrap_err().kind, "refused");
        }
        assert!(pairings.now().is_none() && pairings.pair(&code, "Ann", plan, TODAY).is_err(), "the code is gone");
        let code = pairings.begin(true, plan).code;
        assert!(pairings.pair(&code, "Ann", other, TODAY).is_err(), "another plan is open");
        let (token, device) = pairings.pair(&code, "Ann", plan, TODAY).unwrap();
        assert!(device.exact_leks && token.len() == 64);
        assert!(pairings.pair(&code, "Bob", plan, TODAY).is_err(), "a code pairs one phone");
        let mut again = Pairings::of(folder.path()).unwrap();
        assert_eq!(again.known(&token, plan).unwrap(), device);
        assert_eq!(again.known(&token, other).unwrap_err().kind, "taken");
        assert_eq!(again.known("", plan).unwrap_err().kind, "no_key");
        assert!(!std::fs::read_to_string(folder.path().join("devices.json")).unwrap().contains(&token));
        assert!(again.forget(device.id).unwrap() && !again.forget(device.id).unwrap());
        assert_eq!(again.known(&token, plan).unwrap_err().kind, "no_key");
    }
}
