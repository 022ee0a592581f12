//! `greyhen counts FILE power`: how many years, leks or visits it takes to see a change.

use super::{Read, certainty, counts_of, told};
use crate::fail::Fail;
use crate::talk;
use birds::detection::attendance::Attendance;
use birds::power::{Answer, Design, Question};
use birds::power::seen::{Visited, visited};
use birds::trend::limits::Limits;
use birds::trend::words::{chance, percent, share};
use birds::trend::{Ask, Trend, trend};
use guidance::{Country, Guidance, Unknown};
use serde_json::{Value, json};
use std::path::Path;

/// Visits a spring that are always looked at.
const VISITS: u32 = 4;
/// Most visits a spring.
const VISITS_MOST: u32 = 12;

/// Settings of a question of power.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen counts hill.gpkg power --change -5
  greyhen counts hill.gpkg power --visits 3 --json")]
pub struct Sees {
    /// Change in a year, per cent, -5 a fall by a twentieth every year; as in guidance (trend.change) when left out
    #[arg(long, value_name = "PERCENT", allow_negative_numbers = true, value_parser = change)]
    change: Option<f64>,
    /// Power wanted, per cent; as in guidance (trend.power) when left out
    #[arg(long, value_name = "PERCENT", value_parser = certainty)]
    power: Option<f64>,
    /// Certainty of the limits that must exclude no change, per cent; as in guidance (trend.certainty) when left out
    #[arg(long, value_name = "PERCENT", value_parser = certainty)]
    certainty: Option<f64>,
    /// Limits: poisson, quasi, profile, negbin, by-lek or by-year
    #[arg(long, default_value_t = Limits::default())]
    limits: Limits,
    /// Visits that count to each lek each spring, from now on; as so far when left out
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u32).range(1..=i64::from(VISITS_MOST)))]
    visits: Option<u32>,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

fn change(text: &str) -> Result<f64, String> {
    let known = text.parse().ok().filter(|p: &f64| *p > -100.0 && *p <= 200.0 && p.abs() >= 0.1);
    known.ok_or_else(|| "needed per cent a year above -100 and up to 200, of 0.1 at least either way, such as -5".to_string())
}

/// The design counted with a number of visits.
struct ByVisits {
    visits: u32,
    visited: Visited,
    /// Share of the cocks that figures show where each comes on its own, by guidance.
    alone: Option<f64>,
    answer: Answer,
}

impl Sees {
    /// Run it.
    pub fn run(&self, path: &Path) -> Result<(), Fail> {
        let guidance = super::super::tables()?;
        let working = talk::Working::on("reading the counts");
        let read = counts_of(path, &guidance)?;
        working.now("drawing the trend");
        let drawn = trend(&read.table, &Ask::usual(&guidance, read.country)?).map_err(|e| told(path, &e))?;
        working.now("weighing visits");
        let at_hand = Design::of(&drawn);
        let now = read.visits_a_figure.map_or(1, |v| (v.round() as u32).max(1));
        let asked = self.question(&guidance, read.country)?;
        let by_visits = self.by_visits(&asked, &at_hand, now, &read, &guidance)?;
        let used = self.visits.and_then(|n| by_visits.iter().find(|v| v.visits == n)).map_or(at_hand, |v| v.visited.design);
        let answer = asked.answer(&used);
        drop(working);
        let visits_needed = by_visits.iter().find(|v| v.answer.power.is_some_and(|p| p >= asked.wanted)).map(|v| v.visits);
        if self.json {
            let rows: Vec<Value> = by_visits
                .iter()
                .map(|v| {
                    json!({
                        "visits": v.visits, "share_seen": v.visited.share_seen, "share_seen_alone": v.alone, "cocks": v.visited.design.cocks,
                        "dispersion": v.visited.design.dispersion, "power": v.answer.power, "years_needed": v.answer.years, "leks_needed": v.answer.leks,
                    })
                })
                .collect();
            talk::print_json(&json!({
                "schema": "greyhen.counts.power/1", "file": path.display().to_string(), "guidance_edition": guidance.edition(), "design": used,
                "change": asked.change, "level": asked.level, "wanted": asked.wanted, "limits": asked.limits, "power": answer.power,
                "years_needed": answer.years, "leks_needed": answer.leks, "visits_now": read.visits_a_figure, "visits": self.visits.unwrap_or(now),
                "visits_needed": visits_needed, "by_visits": rows, "not_known": unknown(&drawn),
            }));
            return Ok(());
        }
        let unknown = unknown(&drawn);
        talk::print(&self.text(&asked, &used, &answer, &by_visits, now, visits_needed, &read, unknown));
        Ok(())
    }

    /// The question, as usual where nothing was said.
    fn question(&self, guidance: &Guidance, country: Country) -> Result<Question, Unknown> {
        let usual = Question::usual(guidance, country)?;
        let part = |said: Option<f64>, usual: f64| said.map_or(usual, |percent| percent / 100.0);
        Ok(Question { change: part(self.change, usual.change), level: part(self.certainty, usual.level), wanted: part(self.power, usual.wanted), limits: self.limits })
    }

    /// The design with one visit a spring, two and so on.
    fn by_visits(&self, asked: &Question, at_hand: &Design, now: u32, read: &Read, guidance: &Guidance) -> Result<Vec<ByVisits>, Unknown> {
        let attendance = Attendance::together(guidance, read.country)?;
        let mut wanted: Vec<u32> = (1..=VISITS).chain([now]).chain(self.visits).collect();
        wanted.sort_unstable();
        wanted.dedup();
        let all = visited(at_hand, &attendance, now, &wanted);
        let one = |(visits, visited): (u32, Visited)| {
            let cocks = visited.design.cocks / visited.share_seen;
            let alone = guidance.curve(&format!("counts.maximum_share.visits_{visits}"), read.country).ok().map(|c| c.at(cocks));
            ByVisits { visits, alone, answer: asked.answer(&visited.design), visited }
        };
        Ok(wanted.into_iter().zip(all).map(one).collect())
    }

    #[allow(clippy::too_many_arguments, reason = "all that is told")]
    fn text(&self, asked: &Question, used: &Design, answer: &Answer, by_visits: &[ByVisits], now: u32, visits_needed: Option<u32>, read: &Read, unknown: Option<&str>) -> String {
        let needed = |n: Option<u32>, one: &str| n.map_or(format!("no number of {one}s would do"), |n| talk::number(n as usize, one));
        let so_far = read.visits_a_figure.map_or(String::new(), |v| format!(" ({v:.1} visits a figure)"));
        let with = self.visits.map_or(so_far.clone(), |n| format!(", were each lek visited {} a spring{so_far}", times(n)));
        let said = [
            format!(
                "Counts like these{with}: {} over {} years, {:.1} cocks at each in the last year, {:.1} times the scatter of chance alone, good and bad years shared by all leks {:.0} % either way.",
                talk::number(used.leks as usize, "lek"),
                used.years,
                used.cocks,
                used.dispersion,
                100.0 * used.swing
            ),
            format!(
                "A change of {} a year from now on would be seen over as many years with a chance of {} ({} limits, {}).",
                percent(asked.change),
                answer.power.map_or("0 to 100 %: it cannot be told".to_string(), chance),
                share(asked.level),
                asked.limits.means()
            ),
            format!("For a chance of {}: with these leks {}; in {} years {}.", share(asked.wanted), needed(answer.years, "year"), used.years, needed(answer.leks, "lek")),
            "Years shared by all leks set a floor that more leks do not lower; more years do.".to_string(),
        ];
        let said: Vec<String> = said.into_iter().chain(unknown.map(str::to_string)).collect();
        let per_cent = |v: f64| format!("{:.0} %", 100.0 * v);
        let rows: Vec<Vec<String>> = by_visits
            .iter()
            .map(|v| {
                let d = &v.visited.design;
                vec![
                    format!("{}{}", v.visits, if v.visits == now { " (now)" } else { "" }),
                    per_cent(v.visited.share_seen),
                    v.alone.map_or("-".to_string(), per_cent),
                    format!("{:.1}", d.cocks),
                    format!("{:.2}", d.dispersion),
                    v.answer.power.map_or("-".to_string(), chance),
                    v.answer.years.map_or("-".to_string(), |n| n.to_string()),
                    v.answer.leks.map_or("-".to_string(), |n| n.to_string()),
                ]
            })
            .collect();
        let head = ["visits", "of the cocks seen", "each on its own", "cocks", "scatter", "chance", "years", "leks"];
        let last = match visits_needed {
            Some(n) if n <= now => format!("{} a spring do, in these years with these leks.", talk::number(n as usize, "visit")),
            Some(n) => format!("With {} a spring the chance wanted is reached in these years with these leks.", talk::number(n as usize, "visit")),
            None => "No number of visits looked at reaches the chance wanted in these years with these leks: visits make a count surer, not the years fewer in which numbers swing.".to_string(),
        };
        [
            said.iter().map(|s| talk::wrapped(s, 100, "")).collect::<Vec<_>>().join("\n"),
            format!("By visits that count, a lek and spring\n{}", talk::table(&head, &rows, &[1, 2, 3, 4, 5, 6, 7])),
            talk::wrapped(&format!("{last} The visits must stay as many every year: more of them in later years look like a rise."), 100, ""),
        ]
        .join("\n\n")
    }
}

/// What the counts at hand are too few to tell and the question takes as none.
fn unknown(drawn: &Trend) -> Option<&'static str> {
    match (drawn.dispersion, drawn.dispersion_of_years) {
        (None, _) => Some("These counts are too few to tell how much counts scatter or good and bad years differ: chance alone is taken, and more will be needed than is told here."),
        (_, None) => Some("These years are too few to tell how much good and bad years differ: none is taken, and more will be needed than is told here."),
        _ => None,
    }
}

fn times(n: u32) -> String {
    match n {
        1 => "once".to_string(),
        2 => "twice".to_string(),
        n => format!("{n} times"),
    }
}
