//! What the commands that look ahead share: the plan worked out as it is, one course of it, and the ground of a year for the rules.

use crate::fail::Fail;
use crate::talk;
use chrono::Datelike;
use desk::Progress;
use geo::{BooleanOps, Contains, InteriorPoint, MultiPolygon};
use guidance::Guidance;
use habitat::ahead::{Course, Forecast, Programme, YEARS, forecast, forecasts};
use habitat::{Assessed, Feature};
use holding::{Holding, Patch};
use measures::rules::{Context, check_all};
use measures::{Finding, option};
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

/// The last year looked at unless another is asked for.
const USUAL_YEARS: u32 = 30;
/// No year is looked at beyond this.
const FARTHEST: u32 = 100;

/// Which years are told.
#[derive(clap::Args)]
pub struct Years {
    /// The last year looked at, counted from the plan's day
    #[arg(long, value_name = "N", default_value_t = USUAL_YEARS, allow_negative_numbers = true, value_parser = year)]
    years: u32,
    /// Tell exactly these years, such as 0,5,10,20
    #[arg(long, value_name = "YEARS", value_delimiter = ',', conflicts_with = "years", allow_negative_numbers = true, value_parser = year)]
    at: Vec<u32>,
}

/// A year ahead as it is typed.
pub fn year(text: &str) -> Result<u32, String> {
    text.trim().parse().ok().filter(|y| *y <= FARTHEST).ok_or_else(|| "needed a whole number of years from now, 0 to 100".to_string())
}

impl Years {
    /// Exactly these years, in any order; the usual ones where there are none.
    pub fn at(years: &[u32]) -> Result<Years, Fail> {
        match years.iter().find(|y| **y > FARTHEST) {
            Some(far) => Err(Fail::one(format!("year {far}; needed: 0 to {FARTHEST} years from now"))),
            None => Ok(Years { years: USUAL_YEARS, at: years.to_vec() }),
        }
    }

    /// The years, rising.
    pub fn told(&self) -> Vec<u32> {
        let asked: BTreeSet<u32> = match self.at.as_slice() {
            [] => YEARS.iter().copied().filter(|y| *y < self.years).chain([self.years]).collect(),
            at => at.iter().copied().collect(),
        };
        asked.into_iter().collect()
    }
}

/// A plan with its figures and its year worked out as surveyed: what every course starts from.
pub struct Start {
    /// The plan.
    pub holding: Arc<Holding>,
    /// The figures.
    pub guidance: Arc<Guidance>,
    /// The year as surveyed.
    pub base: Arc<Assessed>,
}

impl From<&desk::Start> for Start {
    fn from(of: &desk::Start) -> Start {
        Start { holding: of.holding.clone(), guidance: of.guidance.clone(), base: of.base.clone() }
    }
}

/// The years ahead under an option, or with nothing done.
pub struct Under {
    /// The option; `None`: nothing is done.
    pub option: Option<u32>,
    /// The holding when everything is done.
    pub with: Holding,
    /// What is done, when.
    pub programme: Programme,
    /// The years.
    pub forecast: Forecast,
}

/// The ground of a year as the rules look at it.
pub struct Ground {
    /// The holding with what is done by then. Patches that works cut up stand in pieces.
    pub holding: Holding,
    /// The year worked out, its stands tied to the pieces.
    pub assessed: Assessed,
}

impl Start {
    /// Read a plan and work out its year.
    pub fn read(path: &Path, draws: &crate::Draws, working: &dyn Progress) -> Result<Start, Fail> {
        let holding = super::read(path)?;
        let guidance = super::tables()?;
        working.now("working out the year");
        let base = habitat::assess(&holding, &guidance, draws.settings())?;
        Ok(Start { holding: Arc::new(holding), guidance: Arc::new(guidance), base: Arc::new(base) })
    }

    /// What rules and measures are judged against: the survey.
    pub fn context(&self) -> Context<'_> {
        Context::new(&self.holding, &self.guidance, &self.base)
    }

    /// Refuse options that the plan does not have, all at once. 0 stands for as now.
    pub fn has(&self, options: &[u32]) -> Result<(), Fail> {
        let faults: Vec<String> = options.iter().filter(|n| **n != 0).filter_map(|n| super::option::find(&self.holding, *n).err()).collect();
        if faults.is_empty() { Ok(()) } else { Err(Fail::all(faults)) }
    }

    /// An option as it is called: `option 1, More trees`.
    pub fn called(&self, option: Option<u32>) -> String {
        match option {
            None => "as now, nothing done".to_string(),
            Some(n) => self.holding.options.iter().find(|o| o.number == n).map_or(format!("option {n}"), |o| format!("option {n}, {}", talk::name(&o.name))),
        }
    }

    /// A lek as it is called; its id where it has no name.
    pub fn lek(&self, id: &str) -> String {
        self.base.assessment.leks.iter().find(|l| l.id == id).map_or(id.to_string(), |l| talk::name(&l.name))
    }

    /// The leks of a name or id, by their place in the ledger; all of them where none is named.
    pub fn leks(&self, wanted: Option<&str>) -> Result<Vec<usize>, Fail> {
        let all = &self.base.assessment.leks;
        let Some(wanted) = wanted else { return Ok((0..all.len()).collect()) };
        let by_id: Vec<usize> = (0..all.len()).filter(|i| all[*i].id == wanted).collect();
        let found = if by_id.is_empty() { (0..all.len()).filter(|i| all[*i].name.eq_ignore_ascii_case(wanted.trim())).collect() } else { by_id };
        if found.is_empty() {
            let there: Vec<String> = all.iter().map(|l| talk::name(&l.name)).collect();
            return Err(Fail::one(format!("--lek: `{wanted}` is not in the plan; needed: the id or name of a lek. Hint: the plan has {}", there.join(", "))));
        }
        Ok(found)
    }

    /// The calendar year of a year ahead, in words: `year 10 (2036)`.
    pub fn year_words(&self, year: u32) -> String {
        self.calendar(year).map_or(format!("year {year}"), |calendar| format!("year {year} ({calendar})"))
    }

    /// Look ahead under an option, or with nothing done, to the years given, which must rise.
    pub fn under(&self, option: Option<u32>, years: &[u32]) -> Result<Under, Fail> {
        let (with, programme) = self.course(option)?;
        let forecast = forecast(&self.base, &self.holding, &self.guidance, Course { holding: &with, programme: &programme }, years)?;
        Ok(Under { option, with, programme, forecast })
    }

    /// Look ahead under several of them at once, in their order.
    pub fn under_each(&self, options: &[Option<u32>], years: &[u32]) -> Result<Vec<Under>, Fail> {
        let done: Vec<(Holding, Programme)> = options.iter().map(|option| self.course(*option)).collect::<Result<_, Fail>>()?;
        let courses: Vec<Course> = done.iter().map(|(holding, programme)| Course { holding, programme }).collect();
        let forecasts = forecasts(&self.base, &self.holding, &self.guidance, &courses, years)?;
        Ok(options.iter().zip(done).zip(forecasts).map(|((option, (with, programme)), forecast)| Under { option: *option, with, programme, forecast }).collect())
    }

    /// The holding with all of an option done, and what is done when.
    fn course(&self, option: Option<u32>) -> Result<(Holding, Programme), Fail> {
        let context = self.context();
        Ok(match option {
            Some(n) => (option::holding_with(&context, n)?, option::programme(&context, n)?),
            None => (Holding::clone(&self.holding), Programme::default()),
        })
    }

    /// The calendar year of a year ahead, where the plan has a day.
    pub fn calendar(&self, year: u32) -> Option<i32> {
        self.holding.about.as_at.map(|day| day.year() + year as i32)
    }

    /// What is wrong with the facts of an option's measures, in words; measures so told may do nothing in the years ahead.
    pub fn faults(&self, option: Option<u32>) -> Vec<String> {
        let found = option.map(|n| option::faults(&self.context(), n)).unwrap_or_default();
        found.iter().map(|f| if f.measure.is_empty() { f.fault.to_string() } else { format!("{}: {}", talk::name(&f.measure), f.fault) }).collect()
    }

    /// Every finding of the rules on the ground as surveyed.
    pub fn findings(&self) -> Result<Vec<Finding>, Fail> {
        Ok(check_all(&self.context())?)
    }
}

impl Under {
    /// The year of a place in the forecast worked out whole, for its ledger.
    pub fn assessed(&self, start: &Start, index: usize) -> Result<Assessed, Fail> {
        Ok(self.forecast.assessed(&start.base, &self.built(start, self.forecast.years[index].year)?, &start.guidance, index)?)
    }

    /// The holding with what the option has built, planted, taken down and put on by a year. Surveyed features keep their places.
    fn built(&self, start: &Start, year: u32) -> Result<Holding, Fail> {
        let Some(n) = self.option else { return Ok(Holding::clone(&start.holding)) };
        Ok(option::holding_by(&start.context(), n, year)?)
    }

    /// The ground of a year for the rules. A forecast keeps a piece of ground that is worked as a stand of its own, but leaves it the
    /// outline of the whole; here every piece that is worked by then gets its own outline, so that no hectare is told twice.
    pub fn ground(&self, start: &Start, index: usize) -> Result<Ground, Fail> {
        let year = self.forecast.years[index].year;
        let mut holding = self.built(start, year)?;
        let mut assessed = self.forecast.assessed(&start.base, &holding, &start.guidance, index)?;
        let variant = &self.forecast.variant;
        let works = &self.programme.works;
        let surveyed = start.base.state.stands.len();
        let areas = |of: &[usize]| of.iter().fold(MultiPolygon(vec![]), |all, w| all.union(&works[*w].area));
        for origin in 0..surveyed {
            let pieces: Vec<usize> = (surveyed..variant.stands.len()).filter(|k| variant.origin[*k] == origin).collect();
            if pieces.is_empty() {
                continue;
            }
            let all: BTreeSet<usize> = pieces.iter().flat_map(|k| variant.works_on[*k].iter().copied()).collect();
            let whole = start.base.state.stands[origin].feature.shape(&start.holding);
            let mut rest = whole.clone();
            for k in pieces {
                let on = &variant.works_on[k];
                let begun = on.iter().any(|w| works[*w].year <= year);
                let piece = if begun {
                    let others: Vec<usize> = all.iter().copied().filter(|w| !on.contains(w)).collect();
                    on.iter().fold(whole.clone(), |piece, w| piece.intersection(&works[*w].area)).difference(&areas(&others))
                } else {
                    // Not worked yet: still part of the whole.
                    MultiPolygon(vec![])
                };
                rest = rest.difference(&piece);
                let stand = &mut assessed.state.stands[k];
                let planted = match stand.feature {
                    Feature::Wood(i) if start.base.state.stands[origin].feature != stand.feature => {
                        holding.woods.iter().position(|w| w.id == self.with.woods[i].id)
                    }
                    _ => None,
                };
                stand.feature = match (planted, start.base.state.stands[origin].feature) {
                    (Some(wood), _) => Feature::Wood(wood),
                    (None, Feature::Wood(old)) => cut_from(&holding, start, &piece).unwrap_or(Feature::Wood(old)),
                    (None, Feature::Patch(old)) => {
                        let of = &start.base.state.stands[origin];
                        let by: BTreeSet<&str> = on.iter().map(|w| works[*w].id.as_str()).collect();
                        stand.name = format!("{} ({})", of.name, by.into_iter().collect::<Vec<_>>().join(", "));
                        holding.patches.push(Patch { shape: piece, ..start.holding.patches[old].clone() });
                        Feature::Patch(holding.patches.len() - 1)
                    }
                };
            }
            if let Feature::Patch(i) = start.base.state.stands[origin].feature {
                holding.patches[i].shape = rest;
            }
        }
        Ok(Ground { holding, assessed })
    }

    /// Every finding of the rules on what is there, in a year.
    pub fn findings(&self, start: &Start, index: usize) -> Result<Vec<Finding>, Fail> {
        let ground = self.ground(start, index)?;
        Ok(check_all(&Context::new(&ground.holding, &start.guidance, &ground.assessed))?)
    }
}

/// The wood or patch that a measure made of a piece of a surveyed wood.
fn cut_from(holding: &Holding, start: &Start, piece: &MultiPolygon<f64>) -> Option<Feature> {
    let inside = piece.interior_point()?;
    let wood = (start.holding.woods.len()..holding.woods.len()).find(|i| holding.woods[*i].shape.contains(&inside)).map(Feature::Wood);
    wood.or_else(|| (start.holding.patches.len()..holding.patches.len()).find(|i| holding.patches[*i].shape.contains(&inside)).map(Feature::Patch))
}
