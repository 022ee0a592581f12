//! `greyhen spend`: what the next pound buys most of, across all kinds of measure.

use super::course::Start;
use super::measure::{MONEY, gbp_words, new_id};
use super::suggest::{above_nought, brief, lay, told};
use crate::fail::Fail;
use crate::{Draws, Ended, PlanFile, talk};
use desk::Progress;
use solve::pack::Options;
use measures::suggest::Suggested;
use measures::suggest::spend::{Ask, Spending, spend};
use measures::suggest::{heather, wood};
use serde_json::{Value, json};
use std::cell::Cell;
use std::time::{Duration, Instant};

/// Points of the frontier unless others are asked for.
pub const POINTS: u8 = 6;
/// Seconds the choices may take unless others are asked for.
pub const SECONDS: f64 = 20.0;

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  greyhen spend hill.gpkg --budget 10000
  greyhen spend hill.gpkg --budget 10000 --option 2     and lay the best set for the whole budget in option 2

Offers of every kind are weighed by the needs they meet over thirty years; a bird saved at a fence counts as its share of a lek's needs.
It advises; it does not license, and money is at usual rates with grants not taken off.")]
pub struct Spend {
    #[command(flatten)]
    plan: PlanFile,
    /// The most money, pounds
    #[arg(long, value_name = "GBP", value_parser = above_nought)]
    budget: f64,
    /// Points of the frontier up to the budget
    #[arg(long, value_name = "N", default_value_t = POINTS, value_parser = clap::value_parser!(u8).range(1..=20))]
    points: u8,
    /// The option to lay the best set for the whole budget in
    #[arg(long, value_name = "N")]
    option: Option<u32>,
    #[command(flatten)]
    draws: Draws,
    /// Seconds the choices may take
    #[arg(long, value_name = "S", default_value_t = SECONDS, value_parser = above_nought)]
    seconds: f64,
    /// Give outlines and lines in the JSON; they may show where leks lie
    #[arg(long)]
    show_leks: bool,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// What is looked for.
pub struct Search {
    /// The most money, pounds.
    pub budget_gbp: f64,
    /// Points of the frontier up to it.
    pub points: usize,
    /// Seed of the outlines of woods.
    pub seed: u64,
    /// Seconds the choices may take.
    pub seconds: f64,
}

impl Search {
    /// Weigh every offer on a plan, each under an id that is free in it.
    pub fn run(&self, start: &Start, progress: &dyn Progress) -> Result<Spending, Fail> {
        let context = start.context();
        let mut trees = wood::Ask::usual(&context)?;
        trees.seed = self.seed;
        trees.tried = 150;
        let heather = heather::Ask { seed: self.seed, tried: 80, ..heather::Ask::usual(&context, heather::Work::Cut)? };
        let ask = Ask { budget_gbp: self.budget_gbp, points: self.points, wood: trees, heather, search: Options::default() };
        let limit = Duration::from_secs_f64(self.seconds.min(1e6));
        // The clock of the choices runs from the last thing said before them.
        let began = Cell::new(Instant::now());
        let say = |what: &str| {
            began.set(Instant::now());
            progress.now(what);
        };
        let mut spending = spend(&context, &ask, &say, &|| progress.stopped() || began.get().elapsed() > limit).map_err(Fail::one)?;
        name(start, &mut spending);
        Ok(spending)
    }
}

/// Every offer under an id that is free in the plan: those of the whole budget's set first, then the next pound's, then the rest.
fn name(start: &Start, spending: &mut Spending) {
    let mut taken: Vec<String> = start.holding.measures.iter().map(|m| m.id.clone()).collect();
    let best = spending.points.last().map(|p| p.chosen.chosen.clone()).unwrap_or_default();
    let order = best.into_iter().chain(spending.next.iter().map(|s| s.candidate)).chain(0..spending.offers.len());
    let mut named = vec![false; spending.offers.len()];
    for i in order {
        if std::mem::replace(&mut named[i], true) {
            continue;
        }
        let measure = &mut spending.offers[i].suggested.measure;
        measure.id = new_id(&measure.kind, &taken);
        taken.push(measure.id.clone());
    }
}

/// For programs. `option`: the one the best set is laid in.
pub fn json(start: &Start, s: &Spending, option: Option<u32>, show_leks: bool) -> Value {
    let offers: Vec<Value> = s
        .offers
        .iter()
        .map(|o| {
            let mut v = told(&o.suggested, show_leks);
            v["saved_a_year"] = json!(o.saved_a_year);
            v
        })
        .collect();
    let points: Vec<Value> = s
        .points
        .iter()
        .map(|p| {
            json!({
                "budget_gbp": p.budget_gbp, "spent_gbp": p.chosen.cost_gbp, "chosen": p.chosen.chosen, "objective": p.chosen.objective,
                "before": p.chosen.before, "upper_bound": p.chosen.upper_bound, "gap": p.chosen.gap, "gap_of_gain": p.chosen.gap_of_gain,
                "status": p.chosen.status.word(), "gain": p.gain, "saved_a_year": p.saved_a_year,
            })
        })
        .collect();
    json!({
        "schema": "greyhen.spend/1", "plan": start.holding.about.name, "option": option, "leks_shown": show_leks,
        "guidance_edition": start.base.assessment.guidance_edition, "draws": start.base.settings.draws, "seed": start.base.settings.seed,
        "money": MONEY, "best_value": s.best_value, "offers": offers, "frontier": points, "next": s.next, "notes": s.notes,
    })
}

impl Spend {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let working = talk::Working::on("reading the plan");
        let start = Start::read(&self.plan.path, &self.draws, &working)?;
        start.has(self.option.as_slice())?;
        let search = Search { budget_gbp: self.budget, points: self.points.into(), seed: self.draws.seed, seconds: self.seconds };
        let spending = search.run(&start, &working)?;
        if let (Some(n), Some(last)) = (self.option, spending.points.last()) {
            let laid: Vec<Suggested> = last
                .chosen
                .chosen
                .iter()
                .map(|i| {
                    let mut s = spending.offers[*i].suggested.clone();
                    s.measure.option = n;
                    s
                })
                .collect();
            working.now("saving");
            lay(&self.plan.path, &start, &laid)?;
        }
        drop(working);
        if self.json {
            talk::print_json(&json(&start, &spending, self.option, self.show_leks));
        } else {
            talk::print(&self.text(&start, &spending));
        }
        Ok(Ended::Well)
    }

    fn text(&self, start: &Start, s: &Spending) -> String {
        let mut out = vec![format!("{} offers weighed. Needs met are counted over thirty years, nearer years more: one unit is one season of one lek met for one year.", s.offers.len())];
        out = out.iter().map(|w| talk::wrapped(w, 96, "")).collect();
        let rows: Vec<Vec<String>> = s
            .points
            .iter()
            .map(|p| {
                vec![
                    gbp_words([p.budget_gbp; 3]),
                    gbp_words([p.chosen.cost_gbp; 3]),
                    p.chosen.chosen.len().to_string(),
                    format!("{:.1} ({:.1} to {:.1})", p.gain.p50, p.gain.p10, p.gain.p90),
                    format!("{:.2}", p.saved_a_year),
                    format!("{:.1}", p.chosen.objective - p.chosen.before),
                    format!("{:.1}", p.chosen.upper_bound - p.chosen.before),
                    format!("{:.1} %", 100.0 * p.chosen.gap_of_gain),
                ]
            })
            .collect();
        out.push(talk::table(&["money", "spent", "measures", "needs met more (10-90)", "birds saved a year", "sum", "at most", "gap"], &rows, &[0, 1, 2, 4, 5, 6, 7]));
        out.push(talk::wrapped(
            "Needs met more: all measures together, against as now, on every draw. Sum: their worth one by one, birds saved included; at most: no other set of these offers reaches more; \
            gap between the two, as a share of it.",
            96,
            "",
        ));
        out.push("\nThe next pound, greatest worth for the money first:".to_string());
        let mut left = 12;
        for step in &s.next {
            if left == 0 {
                out.push(format!("  ... and {} more", s.next.len() - 12));
                break;
            }
            left -= 1;
            let o = &s.offers[step.candidate];
            let per = step.gain_per_1000_gbp().map_or("no money counted".to_string(), |g| format!("{g:.2} for £1,000"));
            out.push(talk::wrapped(&format!("{per}: {}", brief(&o.suggested)), 94, "    ").trim_start().to_string());
        }
        out.extend(s.notes.iter().map(|n| talk::wrapped(&format!("note: {n}"), 96, "")));
        if let Some(n) = self.option {
            out.push(format!("\nThe best set for the whole budget is laid in {}.", start.called(Some(n))));
        }
        out.push(talk::wrapped(MONEY, 96, ""));
        out.push("A forecast compares options on the same draws; it is never a promise.".to_string());
        out.join("\n")
    }
}
