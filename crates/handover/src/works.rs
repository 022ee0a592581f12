//! The works of an option as they are handed over: its tasks on days, what comes of one being late, its money.

use crate::content::works::Telling;
use crate::pack::Pack;
use crate::placed;
use crate::planned;
use crate::secrecy::Secrecy;
use crate::telling::squares;
use chrono::{Datelike, NaiveTime};
use guidance::{Guidance, Row, Unknown};
use measures::rules::on_measures::season;
use measures::rules::on_measures::when::Window;
use measures::rules::on_measures::work_in_season::NESTING;
use measures::rules::{Context, OnMeasures, Veil};
use measures::secrecy::to_figures;
use measures::{kind, option};
use std::collections::{BTreeMap, BTreeSet};
use works::account::{self, Account, Ask, OwnRate};
use works::programme::Limit;
use works::tasks::{self, Hands, Programmed, Settings, Slipped};

/// Keys of what money is discounted by.
pub const DISCOUNT: [&str; 5] = ["design.discount", "discount.second.from", "discount.second.rate", "discount.third.from", "discount.third.rate"];

/// What is asked of the works of an option.
pub struct Asked {
    /// The option, by number.
    pub option: u32,
    /// First and last day.
    pub settings: Settings,
    /// Who can be had.
    pub hands: Hands,
    /// The user's own rates.
    pub own_rates: Vec<OwnRate>,
    /// Calendar days a task is late in what is told of slips.
    pub late_days: u32,
    /// Needs met more under the option, low, usual and high, where the years ahead were worked out.
    pub gain: Option<[f64; 3]>,
    /// Usable hectares more under the option, low, usual and high, where the years ahead were worked out.
    pub usable_ha: Option<[f64; 3]>,
}

/// The works of an option.
pub struct Works {
    /// What was asked.
    pub asked: Asked,
    /// The tasks on days.
    pub made: Programmed,
    /// What comes of a task being late.
    pub slips: Vec<Slipped>,
    /// The nesting season.
    pub nesting: Window,
    /// What to mind, by kind of measure.
    pub cautions: Vec<(&'static str, Vec<String>)>,
    /// What it costs and brings in, or why that cannot be told.
    pub account: Result<Account, String>,
    /// Measures that would give a lek away, by id, with what they are called instead; none where leks are shown.
    pub renamed: Vec<(String, String)>,
}

/// Why there is no programme of works.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NoWorks {
    /// A figure the tables lack.
    #[error(transparent)]
    Guidance(#[from] Unknown),
    /// What is wrong with tasks or crews, all of it.
    #[error("{}", .0.join("\n"))]
    Programme(Vec<String>),
}

impl Works {
    /// The works of an option of a plan, told as `secrecy` lets them be.
    ///
    /// # Errors
    /// [`NoWorks`].
    pub fn new(context: Context, mut asked: Asked, secrecy: &Secrecy) -> Result<Works, NoWorks> {
        let square = Veil::new(squares(&context.holding.leks), BTreeSet::new());
        let renamed = giving_away(&context.behind(&square), asked.option, secrecy)?;
        let veil = Veil::new(squares(&context.holding.leks), renamed.iter().map(|(id, _)| id.clone()).collect::<BTreeSet<_>>());
        let context = if secrecy.withheld() { context.behind(&veil) } else { context };
        if secrecy.withheld() {
            // As the sums of options are told.
            [&mut asked.gain, &mut asked.usable_ha].into_iter().flatten().for_each(|gain| *gain = gain.map(|v| to_figures(v, 2)));
        }
        let country = context.holding.about.country;
        let seen = OnMeasures::new(context, asked.option, None)?;
        let wrong = |faults: Vec<works::programme::Fault>| NoWorks::Programme(faults.iter().map(ToString::to_string).collect());
        let jobs = tasks::jobs(&seen, asked.settings, &asked.hands)?;
        let made = tasks::programme(jobs, asked.settings, &asked.hands, Limit::default()).map_err(wrong)?;
        let account = account(&context, &asked, &made)?;
        let slips = made.slips(asked.late_days).map_err(wrong)?;
        let kinds: BTreeSet<&str> = seen.measures.iter().filter(|m| kind::done(m).is_none()).map(|m| m.kind.as_str()).collect();
        let entries = kind::all().iter().filter(|e| kinds.contains(e.key));
        let cautions = entries.map(|e| Ok((e.key, e.cautioned(context.guidance, country)?))).collect::<Result<_, Unknown>>()?;
        Ok(Works { nesting: season::nesting(&seen)?, asked, made, slips, cautions, account, renamed })
    }

    /// The tasks as a calendar file, stamped with the day printed on the pack.
    pub fn calendar(&self, pack: &Pack) -> String {
        Telling::of(self, &pack.secrecy()).calendar(&pack.holding.about.name, pack.today.and_time(NaiveTime::MIN))
    }

    /// The figures behind the tasks, the search for nests and the discounting, by key.
    pub fn figures<'g>(&self, guidance: &'g Guidance, country: guidance::Country) -> Vec<&'g Row> {
        let jobs = &self.made.jobs;
        let told = jobs.jobs.iter().flat_map(|j| &j.keys).chain(jobs.later.iter().flat_map(|l| &l.keys));
        let money = DISCOUNT.iter().filter(|_| self.account.is_ok());
        let keys: BTreeSet<&str> = told.map(String::as_str).chain(NESTING).chain(money.copied()).collect();
        let row = |key: &&str| guidance.find(key, country).or_else(|| guidance.rows_of(key).next());
        keys.iter().filter_map(row).collect()
    }
}

/// Measures of an option that would give a withheld lek away, by id, with what they are called instead.
fn giving_away(context: &Context, number: u32, secrecy: &Secrecy) -> Result<Vec<(String, String)>, Unknown> {
    let of = option::measures(context, number);
    let mut out = vec![];
    let mut count = 0;
    for entry in kind::all() {
        for (measure, _) in of.iter().filter(|(_, e)| e.key == entry.key) {
            count += 1;
            if placed::tells(&planned::job(context, measure, entry)?, secrecy) {
                out.push((measure.id.clone(), placed::called(&measure.id, entry.key, count)));
            }
        }
    }
    Ok(out)
}

/// The account of an option whose works are on days; within, why there can be none.
fn account(context: &Context, asked: &Asked, made: &Programmed) -> Result<Result<Account, String>, Unknown> {
    let usual = Ask::of(context.guidance, context.holding.about.country, asked.option)?;
    let (later, cannot) = out_of_place(made);
    let ask = Ask { own: asked.own_rates.clone(), gain: asked.gain, usable_ha: asked.usable_ha, later, cannot, ..usual };
    match account::of_option(context, &ask) {
        Ok(account) => Ok(Ok(account)),
        Err(account::Fail::Guidance(unknown)) => Err(unknown),
        Err(other) => Ok(Err(other.to_string())),
    }
}

/// Measures whose work begins in a later year than they are meant for, with how many, and those no day is left for.
fn out_of_place(made: &Programmed) -> (BTreeMap<String, u32>, BTreeSet<String>) {
    let works = |job: &tasks::Job| (tasks::Stage::Fence..=tasks::Stage::Work).contains(&job.stage);
    let mut later: BTreeMap<String, i32> = BTreeMap::new();
    for done in made.on_days().filter(|done| works(done.job)) {
        let years = (done.planned.first.year() - done.job.year).max(0);
        // Ground made ready and fences do not say when the work itself is done.
        for measure in done.job.measures.iter().filter(|m| done.job.stage == tasks::Stage::Work || !has_work(made, m)) {
            let least = later.entry(measure.clone()).or_insert(years);
            *least = (*least).min(years);
        }
    }
    let cannot = made.refused.iter().filter_map(|r| made.job(&r.job)).filter(|job| job.stage == tasks::Stage::Work || (job.stage == tasks::Stage::Fence && !job.measures.iter().any(|m| has_work(made, m))));
    let cannot = cannot.flat_map(|job| job.measures.clone()).filter(|m| !later.contains_key(m)).collect();
    (later.into_iter().filter(|(_, years)| *years > 0).map(|(id, years)| (id, years as u32)).collect(), cannot)
}

fn has_work(made: &Programmed, measure: &str) -> bool {
    made.jobs.jobs.iter().any(|job| job.stage == tasks::Stage::Work && job.measures.iter().any(|m| m == measure))
}
