//! An option as it is handed over: its measures with all they come to, and the years ahead beside as now and the other options.

use crate::secrecy::Secrecy;
use crate::telling::squares;
use geo_types::{Geometry, MultiLineString, MultiPolygon};
use guidance::{Guidance, Unknown};
use habitat::ahead::{Forecast, Programme};
use habitat::{Assessed, Quantiles};
use holding::{Holding, Measure};
use measures::kind::{Entry, Quantity, facts::Facts, place};
use measures::rules::{Context, Veil, check_option};
use measures::suggest::spend::Spending;
use measures::{Finding, kind, option};
use std::collections::BTreeSet;
use works::account::{Account, Flow};

/// An option with what it is weighed against.
pub struct Planned<'a> {
    /// The option's number.
    pub number: u32,
    /// The assessment every path starts from.
    pub base: &'a Assessed,
    /// As now first, then every option compared, this one among them. All on the same draws and years.
    pub paths: Vec<Path<'a>>,
    /// The option's measures, kind by kind in the order of the book.
    pub jobs: Vec<Job>,
    /// What the rules found on the measures, heaviest first.
    pub findings: Vec<Finding>,
    /// What is wrong with the facts of the measures, in words: measure (may be empty) and fault.
    pub faults: Vec<(String, String)>,
    /// What money can buy at most, where it was worked out.
    pub frontier: Option<Frontier>,
    /// Whether the costs of the jobs are the lines of an account ([`Planned::price`]), to the penny; otherwise pounds at the tables' rates.
    pub priced: bool,
}

/// The years ahead under an option, or with nothing done.
pub struct Path<'a> {
    /// The option; `None`: nothing is done.
    pub option: Option<u32>,
    /// What it is called.
    pub name: String,
    /// The years.
    pub forecast: &'a Forecast,
    /// Low, usual and high cost, pounds; undiscounted, grants not taken off.
    pub gbp: [f64; 3],
}

/// A measure with all it comes to.
pub struct Job {
    /// The measure as planned.
    pub measure: Measure,
    /// Its kind.
    pub entry: &'static Entry,
    /// First year of work, where it or the plan has one.
    pub year: Option<i32>,
    /// Where: what was drawn, else the feature it is done on, else the ground it works.
    pub shape: Geometry<f64>,
    /// What the feature is called that it is done on; empty where it is drawn.
    pub on: String,
    /// How much.
    pub quantities: Vec<Quantity>,
    /// What it costs, line by line.
    pub costs: Vec<CostOf>,
    /// What it can harm.
    pub harm: Vec<String>,
    /// When it may be done.
    pub window: String,
}

/// A line of what a measure costs.
#[derive(Clone, Debug, PartialEq)]
pub struct CostOf {
    /// What for.
    pub what: String,
    /// Usual amount, all years together.
    pub amount: f64,
    /// Unit in words.
    pub unit: String,
    /// Guidance key of the rate; of an own rate what it was given for; empty where no rate is known.
    pub rate: String,
    /// Low, usual and high, pounds, all years together, undiscounted; no numbers where no rate is known.
    pub gbp: [f64; 3],
}

/// The most that money can buy: the best sets of the offers found for rising sums, and what to buy first.
pub struct Frontier {
    /// How many offers were weighed.
    pub offers: usize,
    /// Nothing bought, then the best set for every sum, by rising cost.
    pub points: Vec<FrontierPoint>,
    /// What the next pound buys most of, greatest worth for the money first.
    pub next: Vec<Next>,
    /// What must be said of it.
    pub notes: Vec<String>,
}

/// One set of the frontier. Gains are needs met over thirty years, nearer years more: one is one season of one lek met for one year.
#[derive(Clone, Debug, PartialEq)]
pub struct FrontierPoint {
    /// Usual cost, pounds.
    pub gbp: f64,
    /// How many measures.
    pub measures: usize,
    /// What all of them together gain against as now, paired draw by draw.
    pub gain: Quantiles,
    /// What they are worth one by one, birds saved at fences included.
    pub worth: f64,
    /// No other set of the offers for that money is worth more, one by one.
    pub bound: f64,
    /// Birds saved at fences a year.
    pub saved_a_year: f64,
}

/// An offer in the order of its worth for the money.
pub struct Next {
    /// The measure it would be.
    pub job: Job,
    /// What it adds after those before it.
    pub worth: f64,
    /// Usual cost, pounds.
    pub gbp: f64,
}

impl Frontier {
    /// What a spending comes to.
    ///
    /// # Errors
    /// A guidance figure that is missing.
    pub fn new(context: &Context, spending: &Spending) -> Result<Self, Unknown> {
        let nothing = Quantiles { p10: 0.0, p50: 0.0, p90: 0.0 };
        let mut points = vec![FrontierPoint { gbp: 0.0, measures: 0, gain: nothing, worth: 0.0, bound: 0.0, saved_a_year: 0.0 }];
        points.extend(spending.points.iter().map(|p| FrontierPoint {
            gbp: p.chosen.cost_gbp,
            measures: p.chosen.chosen.len(),
            gain: p.gain,
            worth: p.chosen.objective - p.chosen.before,
            bound: p.chosen.upper_bound - p.chosen.before,
            saved_a_year: p.saved_a_year,
        }));
        points.sort_by(|a, b| a.gbp.total_cmp(&b.gbp));
        points.dedup_by(|a, b| (a.gbp - b.gbp).abs() < 0.5 && a.measures == b.measures);
        let mut next = vec![];
        for step in &spending.next {
            let measure = &spending.offers[step.candidate].suggested.measure;
            if let Some(entry) = kind::find(&measure.kind) {
                next.push(Next { job: job(context, measure, entry)?, worth: step.gain, gbp: step.cost_gbp });
            }
        }
        Ok(Self { offers: spending.offers.len(), points, next, notes: spending.notes.clone() })
    }
}

impl<'a> Planned<'a> {
    /// An option of a plan with forecasts of as now (`None`, which must come first) and of every option compared, itself among them.
    /// Seasons are told as `secrecy` lets them be.
    ///
    /// # Errors
    /// A guidance figure that is missing.
    pub fn new(
        (holding, secrecy): (&Holding, &Secrecy),
        guidance: &Guidance,
        base: &'a Assessed,
        number: u32,
        forecasts: &[(Option<u32>, &'a Forecast)],
    ) -> Result<Self, Unknown> {
        let veil = Veil::new(squares(&holding.leks), BTreeSet::new());
        let context = Context::new(holding, guidance, base);
        let context = if secrecy.withheld() { context.behind(&veil) } else { context };
        let mut paths = vec![];
        for (option, forecast) in forecasts {
            let costs = option.map_or_else(|| Ok(vec![]), |n| option::costs(&context, n))?;
            let gbp = costs.iter().fold([0.0; 3], |sum, m| std::array::from_fn(|i| sum[i] + m.gbp[i]));
            let name = match option {
                None => "As now".to_owned(),
                Some(n) => holding.options.iter().find(|o| o.number == *n).map_or_else(|| format!("Option {n}"), |o| format!("Option {n}, {}", o.name)),
            };
            paths.push(Path { option: *option, name, forecast, gbp });
        }
        let of = option::measures(&context, number);
        let mut jobs = vec![];
        for entry in kind::all() {
            for (measure, _) in of.iter().filter(|(_, e)| e.key == entry.key) {
                jobs.push(job(&context, measure, entry)?);
            }
        }
        let mine = forecasts.iter().find(|(o, _)| *o == Some(number)).map(|(_, f)| *f);
        let faults = option::faults(&context, number).into_iter().map(|f| (f.measure, f.fault.to_string())).collect();
        Ok(Self { number, base, paths, jobs, findings: check_option(&context, number, mine)?, faults, frontier: None, priced: false })
    }

    /// The option's own path.
    pub fn own(&self) -> Option<&Path<'a>> {
        self.paths.iter().find(|p| p.option == Some(self.number))
    }

    /// As now.
    pub fn now(&self) -> Option<&Path<'a>> {
        self.paths.iter().find(|p| p.option.is_none())
    }

    /// Takes the costs of the measures from an account, so that they add up to its sums: own rates, and the rate that holds in each year.
    pub fn price(&mut self, account: &Account) {
        for job in &mut self.jobs {
            let lines = account.lines.iter().filter(|line| line.flow == Flow::Cost && line.measure == job.measure.id);
            job.costs = lines
                .map(|line| CostOf {
                    what: line.item.clone(),
                    amount: line.quantity,
                    unit: line.unit.clone(),
                    rate: line.rate.as_ref().map_or_else(String::new, |rate| rate.key.clone()),
                    gbp: line.pence.map_or([f64::NAN; 3], |pence| pence.map(|p| p.gbp())),
                })
                .collect();
        }
        self.priced = true;
    }

    /// Low, usual and high cost of a job, pounds, without lines no rate is known for.
    pub fn gbp(job: &Job) -> [f64; 3] {
        let known = job.costs.iter().filter(|c| c.gbp[1].is_finite());
        known.fold([0.0; 3], |sum, c| std::array::from_fn(|i| sum[i] + c.gbp[i]))
    }
}

/// A measure with all it comes to.
///
/// # Errors
/// A guidance figure that is missing.
pub fn job(context: &Context, measure: &Measure, entry: &'static Entry) -> Result<Job, Unknown> {
    let (shape, on) = placed(context, measure, entry)?;
    Ok(Job {
        year: kind::calendar_year(context, measure),
        shape,
        on,
        quantities: (entry.quantities)(context, measure)?,
        costs: (entry.costs)(context, measure)?.into_iter().map(|c| CostOf { what: c.what, amount: c.amount, unit: c.unit.to_owned(), rate: c.rate, gbp: c.gbp }).collect(),
        harm: (entry.harm)(context, measure)?,
        window: (entry.window)(context, measure)?,
        measure: measure.clone(),
        entry,
    })
}

/// Where a measure is, and on what feature.
fn placed(context: &Context, measure: &Measure, entry: &'static Entry) -> Result<(Geometry<f64>, String), Unknown> {
    let h = context.holding;
    let facts = Facts::of(context, measure, entry.facts);
    let said = |name: &str| if entry.fact(name).is_some() { facts.word(name) } else { String::new() };
    let called = |sort: &str, name: &str, id: &str| if name.trim().is_empty() || name == id { format!("{sort} {id}") } else { format!("{sort} {name} ({id})") };
    let same = |said: &str, id: &str, name: &str| !said.is_empty() && (id == said || (!name.is_empty() && name.eq_ignore_ascii_case(said)));
    let (fence, ditch, parcel, lek) = (said("fence"), said("ditch"), said("parcel"), said("lek"));
    let fence = h.fences.iter().find(|f| same(&fence, &f.id, &f.name)).map(|f| (&f.shape, called("fence", &f.name, &f.id)));
    let line = fence.or_else(|| h.ditches.iter().find(|d| same(&ditch, &d.id, "")).map(|d| (&d.shape, called("ditch", "", &d.id))));
    let on = line.as_ref().map_or_else(String::new, |(_, on)| on.clone());
    if !measure.line.0.is_empty() {
        return Ok((Geometry::MultiLineString(measure.line.clone()), on));
    }
    if !measure.shape.0.is_empty() {
        return Ok((Geometry::MultiPolygon(measure.shape.clone()), on));
    }
    if let Some((shape, on)) = line {
        return Ok((Geometry::MultiLineString(shape.clone()), on));
    }
    if entry.fact("parcel").is_some()
        && let Some(parcel) = place::parcel_of(context, &parcel, measure)
    {
        return Ok((Geometry::MultiPolygon(parcel.shape.clone()), called("unit", &parcel.name, &parcel.id)));
    }
    let mut own = Programme::default();
    (entry.works)(context, measure, &mut own)?;
    let worked: Vec<_> = own.works.into_iter().flat_map(|w| w.area.0).collect();
    let on = place::lek(context, &lek).map_or_else(String::new, |l| called("lek", &l.name, &l.id));
    Ok((if worked.is_empty() { Geometry::MultiLineString(MultiLineString(vec![])) } else { Geometry::MultiPolygon(MultiPolygon(worked)) }, on))
}
