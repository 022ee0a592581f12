//! The years ahead of options, kept so that sliding the ruler costs nothing.
//!
//! A course is worked out once for an option: thirty-one years in one pass. It stays true until the option's own measures, the
//! survey or the facts of the plan change; measures of other options do not touch it. One course is worked out at a time, since each
//! takes every core: who asks meanwhile waits for the turn, and then asks of the plan as it is by then. So a storm of edits costs
//! one course after it, not one an edit.

use super::ground::stood;
use crate::answers::Start;
use crate::api::edit::Problem;
use crate::api::ground::Stood;
use geo_types::MultiPolygon;
use habitat::Assessed;
use habitat::ahead::{Course as Under, Forecast, Programme, YearLedger, forecast};
use holding::{About, Holding, Measure};
use measures::rules::Context;
use measures::{Finding, option};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

/// Last year of the ruler.
pub const LAST_YEAR: u32 = 30;

/// Courses kept: those of the options being weighed side by side.
const COURSES_KEPT: usize = 6;

/// Years looked at closely that a course keeps.
const CLOSE_KEPT: usize = 2;

/// Woods and open ground in one year.
pub struct StoodAll {
    /// Woods.
    pub woods: Vec<Stood>,
    /// Open ground.
    pub patches: Vec<Stood>,
}

/// The years ahead under an option, or with nothing done.
pub struct Course {
    /// The option; `None`: nothing is done.
    pub option: Option<u32>,
    /// What is done, when.
    pub programme: Programme,
    /// What of it could not be laid on the ground, in words.
    pub notes: Vec<String>,
    start: Start,
    with: Holding,
    years: Vec<YearLedger>,
    ground: Vec<StoodAll>,
    close: Mutex<Vec<Arc<Close>>>,
    findings: OnceLock<Result<Vec<Finding>, Problem>>,
}

/// One year of a course looked at closely: its ground laid out, its losses told.
pub struct Close {
    /// Years ahead.
    pub year: u32,
    /// The plan with what is done by then.
    pub holding: Holding,
    /// The year worked out.
    pub assessed: Assessed,
}

/// What a course hangs on.
struct Key<'a> {
    base: &'a Arc<Assessed>,
    about: &'a About,
    measures: Vec<&'a Measure>,
}

impl<'a> Key<'a> {
    fn of(start: &'a Start, option: Option<u32>) -> Key<'a> {
        let measures = start.holding.measures.iter().filter(|m| Some(m.option) == option).collect();
        Key { base: &start.base, about: &start.holding.about, measures }
    }

    fn same(&self, other: &Key) -> bool {
        Arc::ptr_eq(self.base, other.base) && self.about == other.about && self.measures == other.measures
    }
}

/// Courses by option.
#[derive(Default)]
pub struct Courses {
    /// The latest asked for last.
    kept: Mutex<Vec<Arc<Course>>>,
    turn: Mutex<()>,
}

/// A lock, whatever became of the thread that held it before: what is kept is only ever put in whole.
pub(super) fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Courses {
    /// The course of an option on the plan as it is when the turn comes; `newest` gives that plan with its version. Takes long when the
    /// option has changed.
    ///
    /// # Errors
    /// What the plan lacks, or that it has no such option.
    pub fn under(&self, newest: impl Fn() -> Result<(u64, Start), Problem>, option: Option<u32>) -> Result<(u64, Start, Arc<Course>), Problem> {
        let (version, start) = newest()?;
        if let Some(course) = self.found(&start, option) {
            return Ok((version, start, course));
        }
        let _turn = lock(&self.turn);
        let (version, start) = newest()?;
        if let Some(course) = self.found(&start, option) {
            return Ok((version, start, course));
        }
        let course = Arc::new(Course::of(&start, option)?);
        let mut kept = lock(&self.kept);
        // What stands on another survey is never asked for again.
        kept.retain(|k| Arc::ptr_eq(&k.start.base, &start.base) && k.option != option);
        if kept.len() == COURSES_KEPT {
            kept.remove(0);
        }
        kept.push(course.clone());
        Ok((version, start, course))
    }

    fn found(&self, start: &Start, option: Option<u32>) -> Option<Arc<Course>> {
        let mut kept = lock(&self.kept);
        let at = kept.iter().position(|k| k.option == option && Key::of(&k.start, option).same(&Key::of(start, option)))?;
        let course = kept.remove(at);
        kept.push(course.clone());
        Some(course)
    }
}

/// A fault of the figures or of the ground, as a problem.
pub(super) fn failed(error: impl std::fmt::Display) -> Problem {
    Problem::refused("This cannot be worked out", [error.to_string()])
}

/// Refuse an option the plan does not have.
///
/// # Errors
/// That it has none of that number.
pub fn known(holding: &Holding, option: Option<u32>) -> Result<(), Problem> {
    match option {
        Some(n) if !holding.options.iter().any(|o| o.number == n) => Err(Problem::not_found(format!("The plan has no option {n}"))),
        _ => Ok(()),
    }
}

impl Course {
    /// Work out the years of an option.
    ///
    /// # Errors
    /// A figure that is missing, or that the plan has no such option.
    pub fn of(start: &Start, option: Option<u32>) -> Result<Course, Problem> {
        known(&start.holding, option)?;
        let context = context(start);
        let (with, programme) = match option {
            Some(n) => (option::holding_with(&context, n).map_err(failed)?, option::programme(&context, n).map_err(failed)?),
            None => (Holding::clone(&start.holding), Programme::default()),
        };
        let years: Vec<u32> = (0..=LAST_YEAR).collect();
        let told = look(start, &with, &programme, &years)?;
        let ground = (0..told.years.len()).map(|i| stood(start, &with, &programme, &told, i)).collect();
        Ok(Course {
            option,
            notes: told.variant.notes,
            years: told.years,
            ground,
            start: start.clone(),
            with,
            programme,
            close: Mutex::default(),
            findings: OnceLock::new(),
        })
    }

    /// The ledger of a year.
    ///
    /// # Errors
    /// A year beyond the ruler.
    pub fn year(&self, year: u32) -> Result<&YearLedger, Problem> {
        self.years.get(year as usize).ok_or_else(|| beyond(year))
    }

    /// What stands in a year.
    ///
    /// # Errors
    /// A year beyond the ruler.
    pub fn ground(&self, year: u32) -> Result<&StoodAll, Problem> {
        self.ground.get(year as usize).ok_or_else(|| beyond(year))
    }

    /// A year looked at closely. Takes a while the first time.
    ///
    /// # Errors
    /// A year beyond the ruler, or a figure that is missing.
    pub fn close(&self, year: u32) -> Result<Arc<Close>, Problem> {
        self.year(year)?;
        let mut close = lock(&self.close);
        if let Some(known) = close.iter().find(|c| c.year == year) {
            return Ok(known.clone());
        }
        let holding = match self.option {
            Some(n) => option::holding_by(&context(&self.start), n, year).map_err(failed)?,
            None => Holding::clone(&self.start.holding),
        };
        let told = look(&self.start, &self.with, &self.programme, &[year])?;
        let assessed = told.assessed(&self.start.base, &holding, &self.start.guidance, 0).map_err(failed)?;
        if close.len() == CLOSE_KEPT {
            close.remove(0);
        }
        close.push(Arc::new(Close { year, holding, assessed }));
        Ok(close[close.len() - 1].clone())
    }

    /// Every finding of the rules: on the ground as the option leaves it, and on its measures. As the command line has them.
    ///
    /// # Errors
    /// A figure that is missing.
    pub fn findings(&self) -> Result<&[Finding], Problem> {
        self.findings.get_or_init(|| self.check()).as_deref().map_err(Clone::clone)
    }

    fn check(&self) -> Result<Vec<Finding>, Problem> {
        let start = &self.start;
        let Some(n) = self.option else { return measures::rules::check_all(&context(start)).map_err(failed) };
        let left = habitat::assess(&self.with, &start.guidance, start.base.settings).map_err(failed)?;
        let mut findings = measures::rules::check_all(&Context::new(&self.with, &start.guidance, &left)).map_err(failed)?;
        let told = look(start, &self.with, &self.programme, &habitat::ahead::YEARS)?;
        findings.extend(measures::rules::check_option(&context(start), n, Some(&told)).map_err(failed)?);
        Ok(findings)
    }

    /// The outline of a stand of this course: a wood or patch of the plan with everything done.
    pub fn shape(&self, feature: habitat::Feature) -> &MultiPolygon<f64> {
        match feature {
            habitat::Feature::Patch(i) => &self.with.patches[i].shape,
            habitat::Feature::Wood(i) => &self.with.woods[i].shape,
        }
    }
}

fn look(start: &Start, with: &Holding, programme: &Programme, years: &[u32]) -> Result<Forecast, Problem> {
    forecast(&start.base, &start.holding, &start.guidance, Under { holding: with, programme }, years).map_err(failed)
}

/// What rules and measures are judged against: the survey.
pub fn context(start: &Start) -> Context<'_> {
    Context::new(&start.holding, &start.guidance, &start.base)
}

fn beyond(year: u32) -> Problem {
    let fault = crate::api::edit::ProblemFault {
        at: "year".into(),
        needed: format!("a year from 0 to {LAST_YEAR}"),
        found: year.to_string(),
        hint: "the ruler ends there; `greyhen ahead` looks further".into(),
    };
    Problem::bad_request("The year lies beyond the ruler", vec![fault])
}
