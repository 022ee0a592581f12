//! The kinds of measure: one file each, in one running order.
//!
//! Where it may go (eligible ground), its facts, quantities, what it does to the ground by year, what it can harm, what
//! it costs, when it may be done, the rules on it and the cautions people need.
//!
//! A measure is stored as a kind, a year, an area or a line and `facts` (plain values by name). [`Entry`] says which
//! facts a kind knows, in which unit and with which usual value; nothing else is read from them.

pub mod cost;
pub mod cut;
pub mod dams;
pub mod facts;
pub mod fence;
pub mod mix;
pub mod place;
pub mod strikes;
pub mod water;

mod conifer_edge;
pub mod grazing;
mod heather;
mod inbye;
mod lek_care;
mod wood;

#[cfg(test)]
pub(crate) mod tests;

use crate::rules::Context;
use crate::rules::page::filled;
use chrono::Datelike;
use guidance::{Country, Guidance, Unknown};
use habitat::ahead::Programme;
use holding::{Holding, Measure};

/// A fact a kind of measure knows.
#[derive(Clone, Copy, Debug)]
pub struct Fact {
    /// Name in the plan file and on the command line, such as `stems_per_ha`.
    pub name: &'static str,
    /// What it is, in a few words, with its unit.
    pub what: &'static str,
    /// What it may be.
    pub form: Form,
    /// Where the usual value comes from.
    pub usual: Usual,
}

/// The facts every kind knows besides its own; the rules on measures and the read-out of counts after work read them.
pub const COMMON: &[Fact] = &[
    Fact {
        name: "month",
        what: "month or span of months the work is done in, such as Nov or Nov-Feb",
        form: Form::Months,
        usual: Usual::MayBeLeftOut,
    },
    Fact {
        name: "done",
        what: "year the work was finished, such as 2029; left out: not done yet",
        form: Form::Number { from: 1900.0, to: 2200.0 },
        usual: Usual::MayBeLeftOut,
    },
];

/// The year a measure was finished; `None`: it is not done yet.
pub fn done(measure: &Measure) -> Option<i32> {
    measure.facts.get("done").and_then(facts::number_of).map(|year| year as i32)
}

/// What a fact may be.
#[derive(Clone, Copy, Debug)]
pub enum Form {
    /// One of these words.
    OneOf(&'static [&'static str]),
    /// A number in a range.
    Number {
        /// Least.
        from: f64,
        /// Greatest.
        to: f64,
    },
    /// Free text, such as the id of a parcel or lek.
    Text,
    /// A month or a span of months.
    Months,
    /// Numbers by word, such as stems by species or head by month.
    Table,
}

/// Where a fact's usual value comes from.
#[derive(Clone, Copy, Debug)]
pub enum Usual {
    /// A guidance figure.
    Key(&'static str),
    /// A word.
    Word(&'static str),
    /// It must be given.
    MustBeGiven,
    /// It may be left out; what happens then is told in `what`.
    MayBeLeftOut,
}

/// What is wrong with a measure.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// Which fact or part.
    pub at: String,
    /// What was found.
    pub found: String,
    /// What is needed.
    pub needed: String,
    /// What to do.
    pub hint: String,
}

/// One quantity of a measure.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Quantity {
    /// What, such as `birch`.
    pub what: String,
    /// How much.
    pub amount: f64,
    /// Unit in words, such as `trees`, `m`, `ha`.
    pub unit: &'static str,
}

/// One line of a measure's cost: amount times rate.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Cost {
    /// What for.
    pub what: String,
    /// How much of it.
    pub amount: f64,
    /// Unit in words.
    pub unit: &'static str,
    /// Guidance key of the rate.
    pub rate: String,
    /// Low, usual and high, pounds of the rate's edition. Yearly costs are times their years, undiscounted.
    pub gbp: [f64; 3],
    /// The amount by year; together they are `amount`.
    pub due: Vec<Due>,
}

/// What of an amount falls in one year.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Due {
    /// Years after the measure's first: 0 in the year it begins.
    pub after_yr: u32,
    /// Low, usual and high, in the unit of the line.
    pub amount: [f64; 3],
}

/// Something a measure takes or gives up that no table has a rate for, so that it stands in no cost line.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Unpriced {
    /// What, such as `gates`.
    pub what: &'static str,
    /// Unit of the amount in words.
    pub unit: &'static str,
    /// Unit a rate for it would have, a word of the guidance's list, such as `gbp_each`.
    pub rate_unit: &'static str,
    /// The amount by year.
    pub due: Vec<Due>,
}

/// A kind of measure.
pub struct Entry {
    /// Stable key, such as `wood`.
    pub key: &'static str,
    /// Title for people.
    pub title: &'static str,
    /// Where it may go, what it does, what it can harm, when it may be done and what to mind. `{key}` stands for a guidance figure.
    pub explain: &'static str,
    /// The facts it knows.
    pub facts: &'static [Fact],
    /// Guidance keys of cautions.
    pub cautions: &'static [&'static str],
    /// What is wrong with a measure, all at once.
    pub faults: fn(&Context, &Measure) -> Vec<Fault>,
    /// Quantities.
    pub quantities: fn(&Context, &Measure) -> Result<Vec<Quantity>, Unknown>,
    /// What it does to the ground, added to the programme.
    pub works: fn(&Context, &Measure, &mut Programme) -> Result<(), Unknown>,
    /// The features as they stand once it is done: new woods, fences, ditches blocked.
    pub features: fn(&Context, &Measure, &mut Holding) -> Result<(), Unknown>,
    /// What it can harm, in plain words for this measure.
    pub harm: fn(&Context, &Measure) -> Result<Vec<String>, Unknown>,
    /// What it costs.
    pub costs: fn(&Context, &Measure) -> Result<Vec<Cost>, Unknown>,
    /// What it takes or gives up that no table has a rate for.
    pub unpriced: fn(&Context, &Measure) -> Result<Vec<Unpriced>, Unknown>,
    /// When it may be done, in words.
    pub window: fn(&Context, &Measure) -> Result<String, Unknown>,
}

macro_rules! book {
    ($($file:ident),* $(,)?) => {
        &[$(&$file::ENTRY),*]
    };
}

/// Every kind, in the order of the book: woods, stock, heather, water, fences, fields, leks.
static BOOK: &[&Entry] = book![wood, conifer_edge, grazing, heather, water, fence, inbye, lek_care];

/// Every kind.
pub fn all() -> &'static [&'static Entry] {
    BOOK
}

/// The kind of a key; case, spaces, hyphens and underscores do not matter.
pub fn find(key: &str) -> Option<&'static Entry> {
    BOOK.iter().find(|e| facts::same(e.key, key)).copied()
}

impl Entry {
    /// The text of the kind with its figures put in for a country.
    ///
    /// # Errors
    /// A figure the text names and the tables lack.
    pub fn explained(&self, guidance: &Guidance, country: Country) -> Result<String, Unknown> {
        filled(self.explain, guidance, country)
    }

    /// What to mind, in words; a bare figure with what it is of.
    ///
    /// # Errors
    /// A caution the tables lack.
    pub fn cautioned(&self, guidance: &Guidance, country: Country) -> Result<Vec<String>, Unknown> {
        let said = |key: &&str| {
            let row = guidance.row(key, country)?;
            let value = guidance::explain::value_in_words(row);
            Ok(match &row.value {
                guidance::Value::Number(_) if row.unit == "ratio" => format!("{}: {value}", row.note.split(';').next().unwrap_or_default()),
                guidance::Value::Number(_) => format!("{}: {value}", key.split('.').nth(1).unwrap_or_default().replace('_', " ")),
                _ => value,
            })
        };
        self.cautions.iter().map(said).collect()
    }

    /// A fact the kind knows, or every kind does, by name.
    pub fn fact(&self, name: &str) -> Option<&'static Fact> {
        self.facts.iter().chain(COMMON).find(|f| facts::same(f.name, name))
    }
}

/// First year of a measure, counted from the plan's day: at least 1; 1 where the measure or the plan has no year.
pub fn year_of(context: &Context, measure: &Measure) -> u32 {
    let since = measure.year.zip(context.today).map(|(year, today)| year.saturating_sub(today.year()));
    since.and_then(|s| u32::try_from(s).ok()).unwrap_or(1).max(1)
}

/// The calendar year of a measure, where it or the plan has one.
pub fn calendar_year(context: &Context, measure: &Measure) -> Option<i32> {
    measure.year.or_else(|| context.today.map(|t| t.year() + 1))
}

/// How often a work is done in a number of years: once, or every so many years from the first.
fn times(every: Option<u32>, years: f64) -> f64 {
    every.map_or(1.0, |every| 1.0 + ((years - 1.0).max(0.0) / f64::from(every.max(1))).floor())
}

/// For kinds of which everything has a rate.
fn all_priced(_: &Context, _: &Measure) -> Result<Vec<Unpriced>, Unknown> {
    Ok(vec![])
}

/// A percentage in words.
fn words_pct(percent: f64) -> String {
    format!("{percent:.0} %")
}

/// What a feature is called: its name, else its id.
fn called<'a>(name: &'a str, id: &'a str) -> &'a str {
    if name.is_empty() { id } else { name }
}
