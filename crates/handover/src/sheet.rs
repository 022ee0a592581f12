//! What the sheets of works have in common: the head of a page, field names, map numbers, cautions of the tasks told, and numbered notes of
//! where figures come from.

use crate::content::option::{joined, quantity};
use crate::content::works::{Telling, TaskText, WorksText};
use crate::pack::{Fault, Pack};
use crate::placed::{self, Placed};
use crate::planned::Planned;
use crate::secrecy::Secrecy;
use crate::words;
use crate::works::Works;
use ::works::tasks::Done;
use geo::{Area, Contains};
use guidance::explain::value_in_words;
use guidance::{Grade, Row, Value};
use holding::Holding;
use measures::kind;
use serde::Serialize;
use std::borrow::Cow;
use std::collections::BTreeSet;

/// Width of the text on a sheet, millimetres.
pub const TEXT_MM: f64 = 178.0;

/// What stands on every page.
#[derive(Debug, Serialize)]
pub struct Head {
    /// The holding.
    name: String,
    /// The option.
    option: String,
    /// Where it is, in words.
    country: String,
    /// The day printed on it.
    today: String,
    /// Edition of the figures.
    edition: String,
    /// What is done about lek places, in few words.
    leks: &'static str,
}

/// A figure with where it comes from.
#[derive(Debug, Serialize)]
pub struct Note {
    /// Key and value.
    figure: String,
    /// Source, grade, country, edition.
    from: String,
}

/// Works with everything the sheets tell of them.
pub struct Sheet<'a> {
    /// What is handed over.
    pub pack: &'a Pack<'a>,
    /// The option.
    pub planned: &'a Planned<'a>,
    /// Its works.
    pub works: &'a Works,
    /// What may be said of leks.
    pub secrecy: &'a Secrecy,
    /// The plan as it may be drawn.
    pub public: Cow<'a, Holding>,
    /// How each measure may be shown.
    pub placed: Vec<Placed>,
    /// The works in words.
    pub text: WorksText,
}

impl<'a> Sheet<'a> {
    /// The works of a pack.
    ///
    /// # Errors
    /// [`Fault::NoWorks`] where it has none.
    pub fn new(pack: &'a Pack<'a>, secrecy: &'a Secrecy) -> Result<Self, Fault> {
        let (planned, works) = pack.option.zip(pack.works).ok_or(Fault::NoWorks)?;
        let text = crate::content::works::of(pack, secrecy).ok_or(Fault::NoWorks)?;
        Ok(Self { pack, planned, works, secrecy, public: secrecy.public(pack.holding), placed: placed::of(pack, planned, secrecy), text })
    }

    /// How the works are told.
    pub fn telling(&self) -> Telling<'_> {
        Telling::of(self.works, self.secrecy)
    }

    /// The telephone number the plan keeps with a crew; empty where it keeps none.
    pub fn phone(&self, crew: &str) -> String {
        let kept = self.pack.holding.crews.iter().find(|c| c.name.eq_ignore_ascii_case(crew));
        kept.map(|c| c.phone.trim().to_owned()).unwrap_or_default()
    }

    /// Every task with its days, by number.
    pub fn tasks(&self) -> impl Iterator<Item = (&TaskText, Done<'_>)> {
        self.text.tasks.iter().zip(self.works.made.on_days())
    }

    /// What stands on every page.
    pub fn head(&self) -> Head {
        let about = &self.pack.holding.about;
        Head {
            name: if about.name.trim().is_empty() { "Unnamed holding".to_owned() } else { self.secrecy.words(&about.name) },
            option: self.secrecy.words(&self.planned.own().map_or_else(|| format!("Option {}", self.planned.number), |p| p.name.clone())),
            country: about.country.in_words().to_owned(),
            today: words::day(self.pack.today),
            edition: self.pack.guidance.edition().to_owned(),
            leks: match (self.pack.holding.leks.is_empty(), self.secrecy.withheld()) {
                (true, _) => "no lek on the plan",
                (_, true) => "lek places withheld",
                (_, false) => "shows lek places: keep close",
            },
        }
    }

    /// The field or hill unit a measure lies in, by name; empty where it has none or its place is withheld.
    pub fn field(&self, measure: usize) -> String {
        let placed = &self.placed[measure];
        let Some(at) = Secrecy::spot(&placed.shape).filter(|_| placed.drawn) else { return String::new() };
        let over = self.public.parcels.iter().filter(|p| !p.name.trim().is_empty() && p.shape.contains(&at));
        over.min_by(|a, b| a.shape.unsigned_area().total_cmp(&b.shape.unsigned_area())).map_or_else(String::new, |p| self.secrecy.words(&p.name))
    }

    /// Where a measure is and how much of it there is: `12, Long Moor, NY 845 293, 0.6 ha`.
    pub fn spot(&self, measure: usize) -> String {
        let (job, placed) = (&self.planned.jobs[measure], &self.placed[measure]);
        let much = job.quantities.iter().find(|q| q.amount != 0.0).map_or_else(String::new, |q| quantity(q, placed.tied, self.secrecy));
        let kept_back = match (placed.kept_back.is_empty(), placed.tied, placed.drawn) {
            (true, ..) => "",
            (_, true, _) => "place withheld",
            (_, _, false) => "outline withheld",
            _ => "part withheld",
        };
        let much = much.rsplit(": ").next().unwrap_or_default();
        format!("{}: {}", measure + 1, joined(&[&self.field(measure), &placed.reference, much, kept_back], ", "))
    }

    /// What to mind at works of some kinds done by some hands, each thing once, with the guidance key it comes from.
    pub fn mind(&self, kinds: &BTreeSet<&str>, hands: &BTreeSet<&str>) -> Vec<(&'static str, String)> {
        let mut out: Vec<(&'static str, String)> = vec![];
        for (kind, said) in self.works.cautions.iter().filter(|(kind, _)| kinds.contains(kind)) {
            let keys = kind::find(kind).map_or(&[][..], |entry| entry.cautions);
            for (key, words) in keys.iter().zip(said).filter(|(key, _)| befits(key, hands)) {
                if !out.iter().any(|(other, _)| other == key) {
                    out.push((key, words::capital(words.trim_end_matches('.'))));
                }
            }
        }
        out
    }

    /// The row a key has here.
    pub fn row(&self, key: &str) -> Option<&'a Row> {
        let guidance = self.pack.guidance;
        guidance.find(key, self.pack.holding.about.country).or_else(|| guidance.rows_of(key).next())
    }

    /// Where it holds and of which edition: `England, 2026-11`.
    pub fn edition(&self, key: &str) -> String {
        let tables = || format!("{} tables", self.pack.guidance.edition());
        self.row(key).map_or_else(tables, |row| format!("{}, {}", row.country.in_words(), if row.edition.is_empty() { tables() } else { row.edition.clone() }))
    }

    /// Where a figure comes from: source, grade, country, edition.
    pub fn from(&self, key: &str) -> String {
        let Some(row) = self.row(key) else { return "not held".to_owned() };
        let source = words::sources(std::slice::from_ref(&row.key), self.pack.guidance);
        // Where there is no source its words say the grade.
        let grade = match row.grade {
            Grade::Memory if source != "from memory" => "from memory, not opened",
            Grade::Published | Grade::Guidance => words::grade(row.grade),
            _ => "",
        };
        joined(&[&source, grade, &self.edition(key)], "; ")
    }

    /// A note of a figure; of a caution its words stand where it is told.
    pub fn note(&self, key: &str) -> Note {
        let value = self.row(key).map_or_else(String::new, |row| if matches!(row.value, Value::Text(_)) { "words".to_owned() } else { value_in_words(row) });
        Note { figure: format!("{key}: {value}"), from: self.from(key) }
    }
}

/// Whether a caution goes with what some hands do: saws, fire and diggers are minded where there are any.
fn befits(key: &str, hands: &BTreeSet<&str>) -> bool {
    let with = [("caution.chainsaw", "saws"), ("caution.burning", "burning"), ("caution.excavator", "excavator")];
    with.iter().all(|(caution, hand)| !key.starts_with(caution) || hands.contains(hand))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn saws_and_fire_are_minded_where_there_are_any() {
        assert!(!befits("caution.burning", &["tractor"].into()) && befits("caution.burning", &["burning"].into()));
        assert!(befits("caution.weather", &BTreeSet::new()));
    }
}
