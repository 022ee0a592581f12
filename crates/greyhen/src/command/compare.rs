//! `greyhen compare`: options beside as now and beside each other, on the same draws.

use super::course::{Start, Under, Years};
use crate::fail::Fail;
use crate::{Draws, Ended, PlanFile, talk};
use desk::Progress;
use habitat::ahead::changes::SHOWS;
use habitat::ahead::{Change, Difference, Way, changes, compare};
use habitat::assess::quantiles;
use habitat::{Quantiles, Season};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "Example:
  greyhen compare hill.gpkg 1 2          options 1 and 2 beside as now, and beside each other
  greyhen compare hill.gpkg 0 1          the same as: compare hill.gpkg 1

Every option meets the same luck in every draw, so that a difference is sure even where a level is not. Two are told apart where the
10-90 interval of their paired difference lies wholly above or wholly below zero. That a difference is sure does not say that it is
large.")]
pub struct Compare {
    #[command(flatten)]
    plan: PlanFile,
    #[command(flatten)]
    question: Question,
    #[command(flatten)]
    draws: Draws,
    /// Tell every year with its interval, not only the years of the summary
    #[arg(long)]
    full: bool,
    /// Print one JSON document; it tells no places
    #[arg(long)]
    json: bool,
}

/// Years of the summary, where they are told.
const SUMMED: [u32; 3] = [0, 10, 20];

/// What is compared.
#[derive(clap::Args)]
pub struct Question {
    /// Options to compare; 0 is as now, which is always compared with
    #[arg(value_name = "N", required = true)]
    pub options: Vec<u32>,
    #[command(flatten)]
    pub years: Years,
}

impl Compare {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let working = talk::Working::on("reading the plan");
        let start = Start::read(&self.plan.path, &self.draws, &working)?;
        let weighing = self.question.answer(&start, &working)?;
        drop(working);
        if self.json {
            talk::print_json(&weighing.json(&start));
        } else {
            talk::print(&weighing.text(&start, self.full));
        }
        Ok(Ended::Well)
    }
}

impl Question {
    /// The options beside each other.
    pub fn answer(&self, start: &Start, progress: &dyn Progress) -> Result<Weighing, Fail> {
        start.has(&self.options)?;
        let options: BTreeSet<u32> = self.options.iter().copied().filter(|n| *n != 0).collect();
        if options.is_empty() {
            return Err(Fail::one("only as now is named; needed: an option to compare it with. Hint: greyhen option FILE list"));
        }
        let told = self.years.told();
        let mut courses = Vec::new();
        for (i, option) in [None].into_iter().chain(options.iter().copied().map(Some)).enumerate() {
            talk::step(progress, &format!("looking ahead: {} ({} of {})", start.called(option), i + 1, options.len() + 1))?;
            courses.push(Weighed::of(start, start.under(option, &told)?)?);
        }
        talk::step(progress, "comparing")?;
        let mut pairs = Vec::new();
        for (i, first) in courses.iter().enumerate() {
            for second in &courses[i + 1..] {
                let differences = compare(&start.base, &first.under.forecast, &second.under.forecast);
                pairs.push(Pair { first: first.under.option, second: second.under.option, differences });
            }
        }
        Ok(Weighing { courses, pairs })
    }
}

/// A course with what it comes to.
struct Weighed {
    under: Under,
    /// By year told: sum over leks and seasons of the margin, each counted to one at most.
    met: Vec<Quantiles>,
    /// Low, usual and high cost, pounds; nothing done costs nothing.
    gbp: [f64; 3],
    /// What is wrong with its measures, in words.
    faults: Vec<String>,
}

impl Weighed {
    fn of(start: &Start, under: Under) -> Result<Weighed, Fail> {
        let need = &start.base.need;
        let met = under.forecast.supply.iter().map(|year| {
            let of_draw = |d: usize| -> f64 {
                let of_lek = |(supply, need): (&habitat::ledger::Supply, &habitat::ledger::Supply)| -> f64 {
                    supply.iter().zip(need).map(|(s, n)| (s[d] / n[d].max(1e-9)).min(1.0)).sum()
                };
                year.iter().zip(need).map(of_lek).sum()
            };
            quantiles(&(0..start.base.settings.draws).map(of_draw).collect::<Vec<_>>())
        });
        let costs = match under.option {
            Some(n) => measures::option::costs(&start.context(), n)?,
            None => Vec::new(),
        };
        let gbp = costs.iter().fold([0.0; 3], |sum, m| std::array::from_fn(|i| sum[i] + m.gbp[i]));
        Ok(Weighed { met: met.collect(), gbp, faults: start.faults(under.option), under })
    }
}

/// Two courses and what the second changes against the first.
struct Pair {
    first: Option<u32>,
    second: Option<u32>,
    differences: Vec<Difference>,
}

impl Pair {
    /// Draws in which the second is better, and in which it is worse.
    fn draws(d: &Difference, draws: usize) -> (usize, usize) {
        let count = |fraction: f64| (fraction * draws as f64).round() as usize;
        (count(d.better_fraction), count(d.worse_fraction))
    }

    /// The differences of one lek and season by year.
    fn of<'a>(&'a self, lek: &'a str, season: Season) -> impl Iterator<Item = &'a Difference> {
        self.differences.iter().filter(move |d| d.lek == lek && d.season == season)
    }

    /// The largest loss of the second: least median difference, where any is below nothing.
    fn worst(&self) -> Option<&Difference> {
        self.differences.iter().filter(|d| d.margin.p50 < 0.0).min_by(|a, b| a.margin.p50.total_cmp(&b.margin.p50))
    }

    /// Whether nothing differs in any draw.
    fn alike(&self) -> bool {
        self.differences.iter().all(|d| d.better_fraction == 0.0 && d.worse_fraction == 0.0)
    }
}

/// All courses and pairs.
pub struct Weighing {
    /// As now first.
    courses: Vec<Weighed>,
    pairs: Vec<Pair>,
}

impl Weighing {
    fn years(&self) -> Vec<u32> {
        self.courses[0].under.forecast.years.iter().map(|y| y.year).collect()
    }

    /// What an option changes against as now; `None` for as now itself.
    fn against_now(&self, option: Option<u32>) -> Option<&Pair> {
        self.pairs.iter().find(|p| p.first.is_none() && p.second == option)
    }

    /// For programs.
    pub fn json(&self, start: &Start) -> Value {
        let a = &start.base.assessment;
        let leks: Vec<&str> = a.leks.iter().map(|l| l.id.as_str()).collect();
        let options: Vec<Value> = self
            .courses
            .iter()
            .map(|c| {
                let pair = self.against_now(c.under.option);
                let met: Vec<Value> = c.under.forecast.years.iter().zip(&c.met).map(|(y, met)| json!({"year": y.year, "calendar": y.calendar, "met": met})).collect();
                let worst = pair.and_then(Pair::worst).map(|d| json!({"lek": d.lek, "season": d.season, "year": d.year, "margin": d.margin, "told_apart": d.way().is_some()}));
                let changes: Vec<Value> = pair
                    .map(|p| changes(&leks, &p.differences))
                    .unwrap_or_default()
                    .iter()
                    .map(|c| json!({"lek": c.lek, "season": c.season, "way": if c.way == Way::Better { "better" } else { "worse" }, "from_year": c.from, "to_year": c.to, "most": c.most}))
                    .collect();
                json!({
                    "option": c.under.option.unwrap_or(0), "title": start.called(c.under.option), "needs": a.leks.len() * Season::ALL.len(),
                    "years": met, "gbp": super::measure::gbp_json(c.gbp), "worst": worst, "changes": changes,
                    "faults": c.faults, "notes": c.under.forecast.variant.notes,
                })
            })
            .collect();
        let pairs: Vec<Value> = self
            .pairs
            .iter()
            .map(|p| {
                let differences: Vec<Value> = p
                    .differences
                    .iter()
                    .map(|d| {
                        let (better, worse) = Pair::draws(d, a.draws);
                        json!({
                            "year": d.year, "lek": d.lek, "season": d.season, "margin": d.margin, "unpaired": d.unpaired,
                            "better_draws": better, "worse_draws": worse, "told_apart": d.way().is_some(),
                        })
                    })
                    .collect();
                json!({"first": p.first.unwrap_or(0), "second": p.second.unwrap_or(0), "alike": p.alike(), "differences": differences})
            })
            .collect();
        json!({
            "schema": "greyhen.compare/1", "plan": a.plan, "cell_m": a.cell_m, "draws": a.draws, "seed": a.seed, "guidance_edition": a.guidance_edition,
            "money": super::measure::MONEY,
            "leks": a.leks.iter().map(|l| json!({"id": l.id, "name": l.name})).collect::<Vec<_>>(),
            "options": options, "pairs": pairs,
        })
    }

    /// For a terminal.
    fn text(&self, start: &Start, full: bool) -> String {
        let a = &start.base.assessment;
        let mut out = vec![format!("{}: {}, {} m cells, guidance {}", talk::name(&a.plan), talk::number(a.draws, "draw"), a.cell_m, a.guidance_edition)];
        out.push(self.summary(start));
        for pair in &self.pairs {
            let against = match pair.first {
                None => "as now".to_string(),
                Some(_) => start.called(pair.first),
            };
            out.push(format!("\n{} against {against}", start.called(pair.second)));
            if pair.alike() {
                out.push("  The same in every draw, season and year.".to_string());
                continue;
            }
            out.extend(self.words(start, pair));
            // Between two options the summary and the words say enough, unless all is asked for.
            if pair.first.is_none() || full {
                out.extend(self.grid(start, pair));
                out.extend(self.intervals(start, pair, full));
            }
        }
        out.push(String::new());
        out.push(talk::wrapped(
            "Needs met: every season of every lek counts its supply over need, to one at most. * told apart: the 10-90 interval of the paired difference lies wholly \
            above or below zero. Differences that show as 0.00 are not put into words.",
            96,
            "",
        ));
        out.push(talk::wrapped(super::measure::MONEY, 96, ""));
        for c in &self.courses {
            let called = c.under.option.map_or(String::new(), |n| format!("option {n}: "));
            out.extend(c.faults.iter().map(|f| talk::wrapped(&format!("wrong in {called}{f}"), 96, "")));
            out.extend(c.under.forecast.variant.notes.iter().map(|n| talk::wrapped(&format!("note: {called}{n}"), 96, "")));
        }
        out.push("A forecast compares options on the same draws; it is never a promise.".to_string());
        out.join("\n")
    }

    /// One line a course: needs met now and later, cost, worst harm.
    fn summary(&self, start: &Start) -> String {
        let years = self.years();
        let summed: Vec<usize> = (0..years.len()).filter(|i| SUMMED.contains(&years[*i])).collect();
        let summed = if summed.is_empty() { (0..years.len()).collect() } else { summed };
        let needs = start.base.assessment.leks.len() * Season::ALL.len();
        let mut head = vec!["".to_string()];
        head.extend(summed.iter().map(|i| if years[*i] == 0 { "now".to_string() } else { format!("year {}", years[*i]) }));
        head.extend(["cost".to_string(), "worst harm (margin lost)".to_string()]);
        let rows: Vec<Vec<String>> = self
            .courses
            .iter()
            .map(|c| {
                let mut row = vec![start.called(c.under.option)];
                row.extend(summed.iter().map(|i| format!("{:.2} ({:.2}-{:.2})", c.met[*i].p50, c.met[*i].p10, c.met[*i].p90)));
                row.push(super::measure::gbp_words(c.gbp));
                let worst = self.against_now(c.under.option).and_then(Pair::worst);
                row.push(match worst {
                    Some(d) if d.margin.p50 <= -SHOWS => format!("{:.2} {}, {}, year {}", -d.margin.p50, d.season.name(), start.lek(&d.lek), d.year),
                    _ => "none that shows".to_string(),
                });
                row
            })
            .collect();
        let head: Vec<&str> = head.iter().map(String::as_str).collect();
        format!("Needs met, of {needs}: median (10-90)\n{}", talk::table(&head, &rows, &[]))
    }

    /// What helps and what costs, plainly.
    fn words(&self, start: &Start, pair: &Pair) -> Vec<String> {
        let leks: Vec<&str> = start.base.assessment.leks.iter().map(|l| l.id.as_str()).collect();
        let changes = changes(&leks, &pair.differences);
        let mut out = Vec::new();
        for (way, verb) in [(Way::Better, "helps"), (Way::Worse, "costs")] {
            for lek in &leks {
                let of: Vec<String> = changes.iter().filter(|c| c.way == way && c.lek == *lek).map(Change::words).collect();
                if !of.is_empty() {
                    out.push(talk::wrapped(&format!("{verb} at {}: {}", start.lek(lek), of.join("; ")), 94, "  "));
                }
            }
        }
        if out.is_empty() {
            out.push("  Nothing that is both sure and large enough to show.".to_string());
        }
        let apart = pair.differences.iter().filter(|d| d.way().is_some()).count();
        out.push(format!("  told apart in {apart} of {} seasons, leks and years", pair.differences.len()));
        out
    }

    /// Median differences by season and year, a table a lek.
    fn grid(&self, start: &Start, pair: &Pair) -> Vec<String> {
        let years = self.years();
        let head: Vec<String> = [String::new()].into_iter().chain(years.iter().map(u32::to_string)).collect();
        let head: Vec<&str> = head.iter().map(String::as_str).collect();
        let right: Vec<usize> = (1..head.len()).collect();
        let mut out = Vec::new();
        for lek in &start.base.assessment.leks {
            let cell = |d: &Difference| match (d.better_fraction == 0.0 && d.worse_fraction == 0.0, d.way()) {
                (true, _) => "= ".to_string(),
                (_, sure) => format!("{:+.2}{}", d.margin.p50, if sure.is_some() { "*" } else { " " }),
            };
            let rows: Vec<Vec<String>> =
                Season::ALL.iter().map(|s| [s.name().to_string()].into_iter().chain(pair.of(&lek.id, *s).map(cell)).collect()).collect();
            out.push(format!("\n  {}: median difference of supply over need, by years from now; = the same in every draw", talk::name(&lek.name)));
            out.push(indented(&talk::table(&head, &rows, &right)));
        }
        out
    }

    /// Differences with their intervals: of the years of the summary, or of every year.
    fn intervals(&self, start: &Start, pair: &Pair, full: bool) -> Vec<String> {
        let draws = start.base.assessment.draws;
        let years = self.years();
        let any_summed = years.iter().any(|y| *y > 0 && SUMMED.contains(y));
        let wanted = |d: &&Difference| d.year > 0 && (full || !any_summed || SUMMED.contains(&d.year)) && d.better_fraction + d.worse_fraction > 0.0;
        let mut rows = Vec::new();
        for lek in &start.base.assessment.leks {
            for season in Season::ALL {
                rows.extend(pair.of(&lek.id, season).filter(wanted).map(|d| {
                    let (better, worse) = Pair::draws(d, draws);
                    vec![
                        talk::name(&lek.name),
                        season.name().to_string(),
                        d.year.to_string(),
                        format!("{:+.3}", d.margin.p50),
                        format!("{:+.3} to {:+.3}", d.margin.p10, d.margin.p90),
                        format!("better in {better}, worse in {worse} of {draws} draws"),
                        if d.way().is_some() { "told apart".to_string() } else { String::new() },
                    ]
                }));
            }
        }
        if rows.is_empty() {
            return Vec::new();
        }
        let table = talk::table(&["lek", "season", "year", "difference", "(10-90)", "", ""], &rows, &[2, 3]);
        vec![String::new(), indented(&table)]
    }
}

/// Every line of a text with two blanks before it.
fn indented(text: &str) -> String {
    text.lines().map(|l| format!("  {l}")).collect::<Vec<_>>().join("\n")
}
