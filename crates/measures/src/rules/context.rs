//! What rules are checked against, and how a finding is made.

use super::{Rule, Veil};
use crate::finding::{Finding, Severity};
use crate::secrecy::Secret;
use chrono::NaiveDate;
use geo::{Distance, Euclidean, Intersects};
use geo_types::{Geometry, MultiPolygon, Point};
use guidance::explain::value_in_words;
use guidance::{Grade, Guidance, Unknown};
use habitat::layout::NO_STAND;
use habitat::{Assessed, Feature, LekLedger, Stand};
use holding::Holding;

/// Everything a rule may look at.
#[derive(Clone, Copy)]
pub struct Context<'a> {
    /// The survey.
    pub holding: &'a Holding,
    /// The figures.
    pub guidance: &'a Guidance,
    /// The assessment of that survey.
    pub assessed: &'a Assessed,
    /// The day the plan stands for; `None` where it has none.
    pub today: Option<NaiveDate>,
    /// What programmes and accounts must not tell of leks; `None`: they tell all.
    pub veil: Option<&'a Veil>,
}

/// What a rule has to say of one place.
pub struct Said {
    /// Index of the lek whose place the geometry gives away.
    pub lek: Option<usize>,
    /// Weight, where it is not the rule's own.
    pub severity: Option<Severity>,
    /// What is wrong, naming feature and lek.
    pub what: String,
    /// Where, in words.
    pub place: String,
    /// The offending piece.
    pub geometry: Geometry<f64>,
    /// The value here.
    pub value: String,
    /// What is needed.
    pub needed: String,
    /// Why it matters.
    pub why: String,
    /// What to do.
    pub hint: String,
    /// Words above that narrow down where a lek lies.
    pub secret: Vec<Secret>,
}

impl Default for Said {
    /// Nothing said, nowhere.
    fn default() -> Self {
        let nowhere = Geometry::GeometryCollection(geo_types::GeometryCollection(vec![]));
        let nothing = String::new;
        Self {
            lek: None,
            severity: None,
            what: nothing(),
            place: nothing(),
            geometry: nowhere,
            value: nothing(),
            needed: nothing(),
            why: nothing(),
            hint: nothing(),
            secret: vec![],
        }
    }
}

impl<'a> Context<'a> {
    /// The context of a holding and its assessment, as at the plan's day.
    pub fn new(holding: &'a Holding, guidance: &'a Guidance, assessed: &'a Assessed) -> Self {
        Self { holding, guidance, assessed, today: holding.about.as_at, veil: None }
    }

    /// The same behind a veil: seasons and quantities of programmes and accounts tell no more than it lets through.
    pub fn behind(self, veil: &'a Veil) -> Self {
        Self { veil: Some(veil), ..self }
    }

    /// A figure of the guidance for the plan's country, in the unit of its row.
    ///
    /// # Errors
    /// An unknown key.
    pub fn number(&self, key: &str) -> Result<f64, Unknown> {
        self.guidance.number(key, self.holding.about.country)
    }

    /// A figure, date or text of the guidance with its unit, in words.
    ///
    /// # Errors
    /// An unknown key.
    pub fn words(&self, key: &str) -> Result<String, Unknown> {
        Ok(value_in_words(self.guidance.row(key, self.holding.about.country)?))
    }

    /// The leks, in the order of the assessment (which is the holding's).
    pub fn leks(&self) -> &'a [LekLedger] {
        &self.assessed.assessment.leks
    }

    /// A lek as it is called in a sentence.
    pub fn lek_name(&self, lek: usize) -> String {
        let name = self.leks().get(lek).map_or("", |l| l.name.as_str());
        if name.to_lowercase().contains("lek") { name.to_string() } else { format!("{name} lek") }
    }

    /// Centre of a lek.
    pub fn lek_at(&self, lek: usize) -> Point<f64> {
        self.leks().get(lek).map_or(Point::new(f64::NAN, f64::NAN), |l| Point::new(l.ground.at[0], l.ground.at[1]))
    }

    /// The nearest lek to a shape and its distance, metres.
    pub fn nearest_lek<S>(&self, shape: &S) -> Option<(usize, f64)>
    where
        Euclidean: for<'s> Distance<f64, &'s Point<f64>, &'s S>,
    {
        (0..self.leks().len())
            .map(|i| (i, Euclidean.distance(&self.lek_at(i), shape)))
            .filter(|(_, d)| d.is_finite())
            .min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Outline of a stand.
    pub fn shape(&self, stand: &Stand) -> &'a MultiPolygon<f64> {
        stand.feature.shape(self.holding)
    }

    /// A stand as it is called in a sentence: its name, with its identity where another stand shares the name.
    pub fn stand_name(&self, stand: &Stand) -> String {
        let shared = stand.name != stand.id && self.stands().iter().filter(|s| s.name == stand.name).nth(1).is_some();
        if shared { format!("{} {}", stand.name, stand.id) } else { stand.name.clone() }
    }

    /// Whether a lek lies on a stand.
    pub fn holds_lek(&self, stand: &Stand) -> bool {
        (0..self.leks().len()).any(|lek| self.shape(stand).intersects(&self.lek_at(lek)))
    }

    /// Names of the stands among these that hold a lek, to be kept back where leks are not shown. A name that is part of a
    /// lek's own tells no more than the lek's and stays.
    pub fn names_kept_back<'s>(&self, stands: impl IntoIterator<Item = &'s Stand>) -> Vec<Secret> {
        stands
            .into_iter()
            .filter(|s| self.holds_lek(s))
            .filter_map(|s| {
                let instead = match s.feature {
                    Feature::Patch(_) => "a patch at the lek",
                    Feature::Wood(_) => "a wood at the lek",
                };
                self.name_kept_back(&self.stand_name(s), instead)
            })
            .collect()
    }

    /// As [`Context::names_kept_back`], of a thing that would give a lek away by lying near it.
    pub fn name_kept_back(&self, name: &str, instead: &str) -> Option<Secret> {
        let of_a_lek = self.leks().iter().any(|l| l.name.contains(name));
        (!of_a_lek).then(|| Secret { said: name.to_string(), instead: instead.to_string() })
    }

    /// Every stand.
    pub fn stands(&self) -> &'a [Stand] {
        &self.assessed.state.stands
    }

    /// Hectares of every stand within a distance of a place, by the assessment's cells.
    pub fn ha_within(&self, at: Point<f64>, radius_m: f64) -> Vec<f64> {
        let layout = &self.assessed.layout;
        let mut ha = vec![0.0; self.stands().len()];
        self.each_cell_within(at, radius_m, |i| {
            let stand = layout.stand_of.cells[i];
            if stand != NO_STAND {
                ha[stand as usize] += layout.frame.cell_ha();
            }
        });
        ha
    }

    /// Visit the assessment's cells whose middle lies within a distance of a place.
    pub fn each_cell_within(&self, at: Point<f64>, radius_m: f64, mut visit: impl FnMut(usize)) {
        let f = &self.assessed.layout.frame;
        let span = |from: f64, to: f64, n: usize| {
            let clamp = |v: f64| v.clamp(0.0, n as f64) as usize;
            clamp(from.floor())..clamp(to.ceil() + 1.0)
        };
        let cols = span((at.x() - radius_m - f.west_m) / f.dx_m, (at.x() + radius_m - f.west_m) / f.dx_m, f.cols);
        for row in span((f.north_m - at.y() - radius_m) / f.dy_m, (f.north_m - at.y() + radius_m) / f.dy_m, f.rows) {
            for col in cols.clone() {
                let (x, y) = f.centre(col, row);
                if (x - at.x()).hypot(y - at.y()) <= radius_m {
                    visit(f.at(col, row));
                }
            }
        }
    }

    /// Make a finding of what a rule says; its sources, grade and edition come from the rule's keys.
    pub fn finding(&self, rule: &Rule, said: Said) -> Finding {
        let country = self.holding.about.country;
        let rows = rule.keys.iter().filter_map(|k| self.guidance.find(k, country));
        Finding {
            rule: rule.key,
            measure: None,
            what: said.what,
            severity: said.severity.unwrap_or(rule.severity),
            place: said.place,
            lek: said.lek.and_then(|l| self.leks().get(l)).map(|l| l.id.clone()),
            geometry: said.geometry,
            value: said.value,
            needed: said.needed,
            why: said.why,
            hint: said.hint,
            secret: said.secret,
            source: rule.keys.iter().map(|k| k.to_string()).collect(),
            grade: rows.map(|r| r.grade).max().unwrap_or(Grade::Assumption),
            edition: self.guidance.edition().to_string(),
        }
    }
}
