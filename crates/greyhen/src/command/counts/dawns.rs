//! `greyhen counts FILE dawns`: next season's visits: who is where on which morning, and what cannot be visited.

mod said;
mod text;

use crate::command::course::Start;
use crate::command::{none_there, place_of, suggest::above_nought, write_new};
use crate::fail::Fail;
use crate::talk;
use birds::dawns::calendar::{letter, visited};
use birds::dawns::{DawnPlan, Limit, Names, OfPlan, Pace, Rules, StopTooNear, calendar, of_plan, plan, withheld, words};
use chrono::{NaiveDate, NaiveTime};
use desk::Progress;
use guidance::Guidance;
use handover::secrecy::Secrecy;
use holding::Holding;
use said::Said;
use serde_json::{Value, json};
use std::cell::OnceCell;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Settings.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen counts hill.gpkg dawns --base \"NY 845 293\"
  greyhen counts hill.gpkg dawns --who Ann --who Bob --base Home=NY845293 --base Inn=NY901254 \\
      --away Bob=2027-04-03..2027-04-11 --not-on 2027-04-04,2027-04-18 --stop Gate=NY85212977 --to dawns

A day is written YYYY-MM-DD, a run of days FROM..TO, several with commas. Measured minutes are a CSV with columns
from, to, minutes: base to stop and stop to stop by road, stop to lek on foot in the dark, lek to lek on foot.
docs/dawns.md tells how the plan is made. It advises; nobody has to go out in bad weather or alone.")]
pub struct Dawns {
    #[command(flatten)]
    said: Said,
    /// End the search after so many seconds, with the best plan so far and its bound
    #[arg(long, value_name = "S", allow_negative_numbers = true, value_parser = above_nought)]
    seconds: Option<f64>,
    /// Folder to write dawns.ics and dawns.pdf into; made when it is not there
    #[arg(long, value_name = "DIR")]
    to: Option<PathBuf>,
    /// Leave out the sheet on paper: calendar only
    #[arg(long, requires = "to")]
    no_pages: bool,
    /// Replace what an earlier run wrote
    #[arg(long, requires = "to")]
    force: bool,
    /// Give stops and bases exactly, and leks by name in the calendar; otherwise places only to the kilometre square
    #[arg(long)]
    show_leks: bool,
    /// The day it is made on, YYYY-MM-DD; today when left out
    #[arg(long, value_name = "DATE")]
    date: Option<NaiveDate>,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// A spring's dawns and all they are told with.
struct Planned {
    plan: DawnPlan,
    made: OfPlan,
    rules: Rules,
    secrecy: Secrecy,
    rests_on: Vec<String>,
}

/// The dawns of a spring for one observer, for programs, leks shown. Where it is not said where the observer starts from, nothing is said
/// of ways.
pub fn document(start: &Start, base: Option<String>, season: Option<i32>, progress: &dyn Progress) -> Result<Value, Fail> {
    let said = Said::one(base, season);
    let usual = Dawns { said, seconds: None, to: None, no_pages: true, force: false, show_leks: true, date: None, json: true };
    let today = chrono::Local::now().date_naive();
    let planned = usual.plan(&start.holding, &start.guidance, today, progress)?;
    Ok(planned.json(&start.holding.about.name, start.guidance.edition(), &[]))
}

impl Dawns {
    /// Run it.
    pub fn run(&self, path: &Path) -> Result<(), Fail> {
        self.free()?;
        let guidance = crate::command::tables()?;
        let working = talk::Working::on("reading the plan");
        let holding = super::plan(path, "dawns")?;
        let today = self.date.unwrap_or_else(|| chrono::Local::now().date_naive());
        let planned = self.plan(&holding, &guidance, today, &working)?;
        let outputs = self.outputs(&planned, guidance.edition(), today, &working)?;
        self.free()?;
        for (file, bytes) in &outputs {
            write_new(file, bytes, self.force)?;
        }
        drop(working);
        let written: Vec<String> = outputs.iter().map(|(file, _)| file.display().to_string()).collect();
        if self.json {
            talk::print_json(&planned.json(&path.display().to_string(), guidance.edition(), &written));
        } else {
            talk::print(&planned.text(&written));
        }
        Ok(())
    }

    /// The dawns of a spring.
    fn plan(&self, holding: &Holding, guidance: &Guidance, today: NaiveDate, progress: &dyn Progress) -> Result<Planned, Fail> {
        let country = holding.about.country;
        let (rules, pace) = (Rules::of(guidance, country)?, Pace::of(guidance, country)?);
        let (mut wanted, mut faults) = self.said.wanted(&rules, today);
        if !self.said.has_base() {
            let among = among(&holding.leks);
            wanted.people.iter_mut().for_each(|person| person.base.at_m = among);
        }
        let radius_m = guidance.number("lek.radius_m", country)?;
        let made = of_plan(holding, &rules, &pace, radius_m, place_of(holding), &wanted);
        let mut made = match (made, faults.is_empty()) {
            (Ok(made), true) => made,
            (made, _) => {
                faults.extend(made.err().unwrap_or_default().iter().map(ToString::to_string));
                return Err(Fail::all(faults));
            }
        };
        talk::step(progress, "looking for the fewest mornings")?;
        let secrecy = Secrecy::new(holding, self.show_leks);
        tell_coarsely(&mut made, &secrecy);
        let mut plan = plan(&made.ask, &rules, Limit::default(), &over(self.seconds, progress))?;
        plan.stops_too_near.extend(made.near_others.iter().cloned());
        if secrecy.withheld() {
            withheld::withhold(&mut plan);
            // That a stop is near a lek is for whoever plans, not for what is handed on.
            if !std::mem::take(&mut plan.stops_too_near).is_empty() {
                talk::complain("A stop is too near to a lek: a run with --show-leks tells which. Leave the vehicle farther off.");
            }
        }
        if !self.said.has_base() {
            withheld::withhold(&mut plan);
            plan.mornings.iter_mut().flat_map(|morning| &mut morning.outings).for_each(|outing| outing.base.clear());
        }
        let rests_on = words::rests_on(&made, &rules);
        Ok(Planned { plan, made, rules, secrecy, rests_on })
    }

    /// Names of the files to write.
    fn names(&self) -> Vec<&'static str> {
        let sheet = (cfg!(feature = "pdf") && !self.no_pages).then_some("dawns.pdf");
        std::iter::once("dawns.ics").chain(sheet).collect()
    }

    /// Refuse to write over an earlier run, before any of the work.
    fn free(&self) -> Result<(), Fail> {
        self.to.as_ref().map_or(Ok(()), |folder| none_there(folder, &self.names(), self.force))
    }

    /// The files asked for, made whole before any is written.
    fn outputs(&self, planned: &Planned, edition: &str, today: NaiveDate, working: &talk::Working) -> Result<Vec<(PathBuf, Vec<u8>)>, Fail> {
        let Some(folder) = &self.to else { return Ok(vec![]) };
        let now = self.date.map_or_else(|| chrono::Utc::now().naive_utc(), |day| day.and_time(NaiveTime::MIN));
        let names = if self.show_leks { Names::Told } else { Names::Withheld };
        let outputs = vec![(folder.join("dawns.ics"), calendar(&planned.plan, now, names).into_bytes())];
        #[cfg(feature = "pdf")]
        if !self.no_pages {
            working.now("drawing the sheet");
            let sheet = (folder.join("dawns.pdf"), planned.sheet(edition, today).pages()?);
            return Ok(outputs.into_iter().chain([sheet]).collect());
        }
        #[cfg(not(feature = "pdf"))]
        let _ = (edition, today, working);
        Ok(outputs)
    }
}

/// The middle of leks, easting and northing.
fn among(leks: &[holding::Lek]) -> (f64, f64) {
    let sum = leks.iter().fold((0.0, 0.0), |(x, y), lek| (x + lek.at.x(), y + lek.at.y()));
    let count = leks.len().max(1) as f64;
    (sum.0 / count, sum.1 / count)
}

/// Tells when so many seconds are over, never without a number; or that nobody waits for it.
fn over(seconds: Option<f64>, progress: &dyn Progress) -> impl Fn() -> bool {
    let began = OnceCell::new();
    move || progress.stopped() || seconds.is_some_and(|s| began.get_or_init(Instant::now).elapsed() > Duration::from_secs_f64(s.min(1e6)))
}

/// People, bases and stops as they may be told. A stop that was sought is the point of the tracks nearest to its lek, and tells by its
/// name and square where the lek is: of such a stop the letter alone.
fn tell_coarsely(made: &mut OfPlan, secrecy: &Secrecy) {
    if !secrecy.withheld() {
        return;
    }
    for observer in &mut made.ask.observers {
        observer.name = secrecy.words(&observer.name);
        observer.base = secrecy.words(&observer.base);
    }
    for stop in &mut made.ask.stops {
        stop.name = if made.sought { stop.id.clone() } else { secrecy.words(&stop.name) };
    }
}

impl Planned {
    /// What is not told where ways are withheld, and which lek is which in the calendar.
    fn coarse(&self) -> Option<String> {
        let letters: Vec<String> = visited(&self.plan).iter().enumerate().map(|(i, (_, name))| format!("{} is {}", letter(i), talk::name(name))).collect();
        self.secrecy.withheld().then(|| {
            format!(
                "So that nobody can reckon where a lek is, no driving, no walking and no time that hangs on them is told, and times are to five minutes: whoever goes wants a run with --show-leks. In the calendar {}.",
                letters.join(", ")
            )
        })
    }

    /// Stops as they may be told, with the leks reached from each.
    fn stops(&self) -> Vec<(&str, String, Vec<&str>)> {
        let ask = &self.made.ask;
        let leks = |s: usize| ask.leks.iter().filter(|lek| lek.stop == s).map(|lek| lek.name.as_str()).collect();
        ask.stops.iter().enumerate().map(|(s, stop)| (stop.id.as_str(), stop.name.clone(), leks(s))).collect()
    }

    #[cfg(feature = "pdf")]
    fn sheet<'a>(&'a self, edition: &'a str, today: NaiveDate) -> handover::dawns::Sheet<'a> {
        handover::dawns::Sheet {
            plan: &self.plan,
            rules: &self.rules,
            stops: self.stops().into_iter().map(|(_, stop, leks)| (stop, leks.join(", "))).collect(),
            rests_on: &self.rests_on,
            coarse: self.coarse(),
            running: words::running(&self.plan),
            cover: words::cover(&self.made.ask, &self.plan),
            near: self.plan.stops_too_near.iter().map(|near| self.near(near)).collect(),
            withheld: self.secrecy.withheld(),
            edition,
            today,
        }
    }

    /// A stop too near to a lek, in words.
    fn near(&self, near: &StopTooNear) -> String {
        format!("Stop {} is {} from the edge of {}; needed: at least {} m. Leave the vehicle farther off.", near.stop, self.secrecy.distance(near.metres), talk::name(&near.lek), near.needed_m)
    }

    fn json(&self, file: &str, edition: &str, written: &[String]) -> Value {
        let (p, rules, ask) = (&self.plan, &self.rules, &self.made.ask);
        let shown = !self.secrecy.withheld();
        let stops: Vec<Value> = (ask.stops.iter().enumerate())
            .map(|(s, stop)| {
                let leks: Vec<&str> = ask.leks.iter().filter(|lek| lek.stop == s).map(|lek| lek.id.as_str()).collect();
                json!({"id": stop.id, "name": stop.name, "east_m": shown.then_some(stop.at_m.0), "north_m": shown.then_some(stop.at_m.1), "leks": leks})
            })
            .collect();
        let near: Vec<Value> = (p.stops_too_near.iter())
            .map(|n| json!({"stop": n.stop, "lek_id": n.lek_id, "lek": n.lek, "metres": shown.then_some(n.metres), "distance": self.secrecy.distance(n.metres), "needed_m": n.needed_m}))
            .collect();
        let missed: Vec<Value> = p.missed.iter().map(|m| json!({"lek_id": m.lek_id, "lek": m.lek, "visit": m.visit, "reason": m.reason, "words": m.reason.to_string()})).collect();
        let windows = [0, 1].map(|w| rules.window(p.year, w));
        json!({
            "schema": "greyhen.counts.dawns/1", "file": file, "guidance_edition": edition, "of": p.of, "year": p.year,
            "withheld": self.secrecy.withheld(), "windows": windows, "observers": ask.observers.iter().map(|o| &o.name).collect::<Vec<_>>(),
            "rules": {
                "before_min": rules.before_min, "after_min": rules.after_min, "watch_min": rules.watch_min, "settle_min": rules.settle_min, "apart_days": rules.apart_days,
                "walk_longest_min": rules.walk_longest_min, "way_out_longest_min": rules.way_out_longest_min, "vehicle_m": rules.vehicle_m, "walker_m": rules.walker_m,
            },
            "stops": stops, "stops_sought": self.made.sought,
            "minutes": {
                "walks_measured": self.made.walk_measured.iter().filter(|m| **m).count(), "walks": self.made.walk_measured.len(),
                "drives_measured": self.made.drives.0, "drives": self.made.drives.1, "climb_unknown": self.made.climb_unknown,
            },
            "mornings": p.mornings, "missed": missed, "spare": p.spare, "effort": p.effort, "bound": p.bound, "proven": p.proven,
            "takes": words::takes(p), "proof": words::proof(p), "running": words::running(p), "cover": words::cover(ask, p), "coarse": self.coarse(),
            "letters": visited(p).iter().enumerate().map(|(i, (id, _))| json!({"lek_id": id, "letter": letter(i)})).collect::<Vec<_>>(), "rests_on": self.rests_on, "weather": words::weather(rules),
            "quiet": p.quiet, "stops_too_near": near, "cautions": p.cautions, "written": written,
        })
    }
}
