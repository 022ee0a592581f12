//! What the rules on measures look at: one option, the survey it starts from, what it does, and the years ahead.

use crate::finding::Finding;
use crate::kind::facts::Facts;
use crate::kind::{self, Entry};
use crate::option;
use crate::rules::{Context, Rule, Said};
use chrono::Datelike;
use guidance::explain::value_in_words;
use guidance::{Country, Unknown, Value};
use habitat::ahead::{Forecast, Programme, Work};
use holding::{Holding, Measure};

/// One option, as the rules on measures see it.
pub struct OnMeasures<'a> {
    /// The survey the option starts from, with its assessment.
    pub context: Context<'a>,
    /// The option's measures of known kinds, in the order of the plan.
    pub measures: Vec<&'a Measure>,
    /// What each does to the ground: place in `measures`, and the work.
    pub works: Vec<(usize, Work)>,
    /// Everything it does, stock made whole.
    pub programme: Programme,
    /// The holding once everything is done.
    pub after: Holding,
    /// The years ahead under the option, where they were worked out.
    pub forecast: Option<&'a Forecast>,
}

/// A limit of a law or code, as held for a country.
pub struct Limit {
    /// The figure, in the unit of its row.
    pub value: f64,
    /// The figure with its unit.
    pub words: String,
    /// Country and edition, in words.
    pub from: String,
}

impl<'a> OnMeasures<'a> {
    /// An option of the plan. Measures of unknown kinds are passed over: the check of the option's facts tells them.
    ///
    /// # Errors
    /// A guidance figure that is missing.
    pub fn new(context: Context<'a>, option: u32, forecast: Option<&'a Forecast>) -> Result<Self, Unknown> {
        let known = option::measures(&context, option);
        let mut works = Vec::new();
        for (i, (measure, entry)) in known.iter().enumerate() {
            let mut own = Programme::default();
            (entry.works)(&context, measure, &mut own)?;
            works.extend(own.works.into_iter().map(|w| (i, w)));
        }
        Ok(Self {
            programme: option::programme(&context, option)?,
            after: option::holding_with(&context, option)?,
            measures: known.into_iter().map(|(m, _)| m).collect(),
            works,
            context,
            forecast,
        })
    }

    /// The survey.
    pub fn holding(&self) -> &'a Holding {
        self.context.holding
    }

    /// The plan's country.
    pub fn country(&self) -> Country {
        self.context.holding.about.country
    }

    /// The countries whose law may hold: the plan's own, or all three where it names none.
    pub fn countries(&self) -> Vec<Country> {
        match self.country() {
            Country::GB => vec![Country::England, Country::Wales, Country::Scotland],
            one => vec![one],
        }
    }

    /// A figure for the plan's country.
    ///
    /// # Errors
    /// An unknown key.
    pub fn number(&self, key: &str) -> Result<f64, Unknown> {
        self.context.number(key)
    }

    /// A figure of law or code for a country; `None` where none is held for it.
    pub fn limit(&self, key: &str, country: Country) -> Option<Limit> {
        let row = self.context.guidance.find(key, country)?;
        let Value::Number(value) = row.value else { return None };
        let edition = row.valid_from.map_or_else(|| row.edition.clone(), |d| format!("from {}", d.format("%-d %B %Y")));
        let edition = if edition.is_empty() { format!("{} tables", self.context.guidance.edition()) } else { edition };
        Some(Limit { value, words: value_in_words(row), from: format!("{country}, {edition}") })
    }

    /// Country and edition of a figure of law or code, in words.
    pub fn edition_of(&self, key: &str, country: Country) -> String {
        let edition = self.context.guidance.row(key, country).map_or("", |r| r.edition.as_str());
        if edition.is_empty() { format!("{country}, {} tables", self.context.guidance.edition()) } else { format!("{country}, {edition}") }
    }

    /// The measures of a kind.
    pub fn of_kind(&self, key: &str) -> impl Iterator<Item = &'a Measure> {
        let wanted = kind::find(key).map(|e| e.key);
        let mine: Vec<&'a Measure> = self.measures.iter().copied().filter(|m| kind::find(&m.kind).map(|e| e.key) == wanted).collect();
        mine.into_iter()
    }

    /// The facts of a measure, read as its kind reads them.
    pub fn facts(&self, measure: &'a Measure) -> Facts<'a> {
        let known = kind::find(&measure.kind).map_or(&[][..], |e: &'static Entry| e.facts);
        Facts::of(&self.context, measure, known)
    }

    /// The works of a measure.
    pub fn works_of(&self, measure: &Measure) -> impl Iterator<Item = &Work> {
        self.works.iter().filter(|(i, _)| std::ptr::eq(self.measures[*i], measure)).map(|(_, w)| w)
    }

    /// A measure as it is called in a sentence: its kind and id, the id alone where it begins with the kind.
    pub fn name(&self, measure: &Measure) -> String {
        let key = kind::find(&measure.kind).map_or(measure.kind.as_str(), |e| e.key);
        if measure.id.starts_with(key) { measure.id.clone() } else { format!("{} {}", key.replace('_', " "), measure.id) }
    }

    /// A year of the option in words: the calendar year, else years from now.
    pub fn year_words(&self, year: u32) -> String {
        self.context.today.map_or_else(|| format!("year {year}"), |d| (d.year() + year as i32).to_string())
    }

    /// A finding on a measure.
    pub fn finding(&self, rule: &Rule, measure: &Measure, said: Said) -> Finding {
        Finding { measure: Some(measure.id.clone()), ..self.context.finding(rule, said) }
    }
}
