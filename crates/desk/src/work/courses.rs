//! The years ahead of options, kept so that sliding the ruler costs nothing.
//!
//! A year is worked out by itself when it is first asked for, and the rest of the ruler after it while nobody waits. It is the
//! same whatever was asked before it: `greyhen ahead --at` gives it too. A course stays true until the option's own measures, the survey or
//! the facts of the plan change; measures of other options do not touch it. One year is worked out at a time, since each takes every
//! core: who asks meanwhile waits for the turn, and then asks of the plan as it is by then. So a storm of edits costs one year after
//! it, not one an edit. The rest of the ruler waits while the desk is asked for anything: a page that opens and a pen that moves have the cores.

use super::ground::stood;
use crate::answers::Start;
use crate::api::edit::Problem;
use crate::api::ground::Stood;
use habitat::Assessed;
use habitat::ahead::{Course as Under, Forecast, Programme, YEARS, YearLedger, forecast};
use holding::{About, Holding, Measure};
use measures::rules::Context;
use measures::{Finding, option};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError, Weak};
use std::time::{Duration, Instant};

/// Last year of the ruler.
pub const LAST_YEAR: u32 = 30;

/// Courses kept: those of the options being weighed side by side.
const COURSES_KEPT: usize = 6;

/// Years looked at closely that a course keeps.
const CLOSE_KEPT: usize = 2;

/// One year of a course.
pub struct Told {
    /// The ledger.
    pub ledger: YearLedger,
    /// What stands then.
    pub ground: StoodAll,
    /// What of the option could not be laid on the ground, in words.
    pub notes: Vec<String>,
}

/// Woods and open ground in one year.
pub struct StoodAll {
    /// Woods.
    pub woods: Vec<Stood>,
    /// Open ground.
    pub patches: Vec<Stood>,
}

/// The years ahead under an option, or with nothing done.
pub struct Course {
    option: Option<u32>,
    programme: Programme,
    start: Start,
    with: Holding,
    years: Vec<OnceLock<Result<Told, Problem>>>,
    filling: AtomicBool,
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
pub struct Courses(Arc<Shared>);

#[derive(Default)]
struct Shared {
    /// The latest asked for last.
    kept: Mutex<Vec<Arc<Course>>>,
    turn: Mutex<()>,
    /// How many wait for the turn.
    waiting: AtomicUsize,
    /// When the desk was last asked for anything.
    asked: Mutex<Option<Instant>>,
}

/// A lock, whatever became of the thread that held it before: what is kept is only ever put in whole.
pub(super) fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Courses {
    /// The course of an option, a year of it ready, on the plan as it is when the turn comes; `newest` gives that plan with its
    /// version. Takes a while where the year is not known yet.
    ///
    /// # Errors
    /// What the plan lacks, that it has no such option, or a year beyond the ruler.
    pub fn under(&self, newest: impl Fn() -> Result<(u64, Start), Problem>, option: Option<u32>, year: u32) -> Result<(u64, Start, Arc<Course>), Problem> {
        let (version, start) = newest()?;
        let course = self.0.of(&start, option)?;
        if course.knows(year) {
            return Ok((version, start, course));
        }
        self.0.waiting.fetch_add(1, Ordering::SeqCst);
        let turn = lock(&self.0.turn);
        self.0.waiting.fetch_sub(1, Ordering::SeqCst);
        let (version, start) = newest()?;
        let course = self.0.of(&start, option)?;
        course.year(year)?;
        drop(turn);
        self.fill(&course);
        Ok((version, start, course))
    }

    /// Somebody asks the desk for something, whatever it is: what nobody waits for gives way a while.
    pub fn give_way(&self) {
        *lock(&self.0.asked) = Some(Instant::now());
    }

    /// Work out the rest of the ruler, the usual years first, as long as the course is kept and nobody waits.
    fn fill(&self, course: &Arc<Course>) {
        if course.filling.swap(true, Ordering::SeqCst) {
            return;
        }
        let (shared, course): (Weak<Shared>, Arc<Course>) = (Arc::downgrade(&self.0), course.clone());
        std::thread::spawn(move || {
            let others = (0..=LAST_YEAR).filter(|y| !YEARS.contains(y));
            for year in YEARS.into_iter().chain(others) {
                let Some(shared) = shared.upgrade() else { return };
                let since = Instant::now();
                while shared.waiting.load(Ordering::SeqCst) > 0 || (shared.is_busy() && since.elapsed() < BUSY_MOST) {
                    std::thread::sleep(A_MOMENT);
                }
                let _turn = lock(&shared.turn);
                if !lock(&shared.kept).iter().any(|kept| Arc::ptr_eq(kept, &course)) || course.year(year).is_err() {
                    return;
                }
            }
        });
    }
}

/// How long the rest of the ruler gives way at a time.
const A_MOMENT: Duration = Duration::from_millis(5);
/// How long after a question the next one is likely: a page that opens asks many, a pen that moves asks on and on.
const BUSY_FOR: Duration = Duration::from_millis(250);
/// How long the next year of the ruler is put off at most by questions alone.
const BUSY_MOST: Duration = Duration::from_secs(3);

impl Shared {
    fn is_busy(&self) -> bool {
        lock(&self.asked).is_some_and(|asked| asked.elapsed() < BUSY_FOR)
    }

    /// The course kept, or a new one of which no year is known yet.
    fn of(&self, start: &Start, option: Option<u32>) -> Result<Arc<Course>, Problem> {
        let mut kept = lock(&self.kept);
        if let Some(at) = kept.iter().position(|k| k.option == option && Key::of(&k.start, option).same(&Key::of(start, option))) {
            let course = kept.remove(at);
            kept.push(course.clone());
            return Ok(course);
        }
        let course = Arc::new(Course::of(start, option)?);
        // What stands on another survey, or was before this option changed, is never asked for again.
        kept.retain(|k| Arc::ptr_eq(&k.start.base, &start.base) && k.option != option);
        if kept.len() == COURSES_KEPT {
            kept.remove(0);
        }
        kept.push(course.clone());
        Ok(course)
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
    /// Make an option ready to be looked at.
    ///
    /// # Errors
    /// A figure that is missing, or that the plan has no such option.
    fn of(start: &Start, option: Option<u32>) -> Result<Course, Problem> {
        known(&start.holding, option)?;
        let context = context(start);
        let (with, programme) = match option {
            Some(n) => (option::holding_with(&context, n).map_err(failed)?, option::programme(&context, n).map_err(failed)?),
            None => (Holding::clone(&start.holding), Programme::default()),
        };
        Ok(Course {
            option,
            programme,
            start: start.clone(),
            with,
            years: (0..=LAST_YEAR).map(|_| OnceLock::new()).collect(),
            filling: AtomicBool::new(false),
            close: Mutex::default(),
            findings: OnceLock::new(),
        })
    }

    /// Whether a year is worked out already.
    pub fn knows(&self, year: u32) -> bool {
        self.years.get(year as usize).is_some_and(|y| y.get().is_some())
    }

    /// A year. Takes a while the first time.
    ///
    /// # Errors
    /// A year beyond the ruler, or a figure that is missing.
    pub fn year(&self, year: u32) -> Result<&Told, Problem> {
        let kept = self.years.get(year as usize).ok_or_else(|| beyond(year))?;
        kept.get_or_init(|| self.tell(year)).as_ref().map_err(Clone::clone)
    }

    fn tell(&self, year: u32) -> Result<Told, Problem> {
        let mut told = look(&self.start, &self.with, &self.programme, &[year])?;
        let ground = stood(&self.start, &self.with, &self.programme, &told, 0);
        let ledger = told.years.pop().ok_or_else(|| beyond(year))?;
        Ok(Told { ledger, ground, notes: told.variant.notes })
    }

    /// A year looked at closely. Takes a while the first time.
    ///
    /// # Errors
    /// A year beyond the ruler, or a figure that is missing.
    pub fn close(&self, year: u32) -> Result<Arc<Close>, Problem> {
        if year > LAST_YEAR {
            return Err(beyond(year));
        }
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
        let Some(n) = self.option else { return found(start) };
        let left = habitat::assess(&self.with, &start.guidance, start.base.settings).map_err(failed)?;
        let mut findings = measures::rules::check_all(&Context::new(&self.with, &start.guidance, &left)).map_err(failed)?;
        let told = look(start, &self.with, &self.programme, &YEARS)?;
        findings.extend(measures::rules::check_option(&context(start), n, Some(&told)).map_err(failed)?);
        Ok(findings)
    }
}

/// Every finding of the rules on the ground as surveyed.
///
/// # Errors
/// A figure that is missing.
pub fn found(start: &Start) -> Result<Vec<Finding>, Problem> {
    measures::rules::check_all(&context(start)).map_err(failed)
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
