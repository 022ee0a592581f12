//! What every planting has: trees ordered, ground made ready, planted, beaten up in the next winters, looked at for some years.

use super::job::{Amount, Stage, Wait};
use super::of::{Of, count, done};
use crate::programme::Lag;
use guidance::Unknown;
use measures::rules::on_measures::season::{Nature, Season};
use measures::rules::on_measures::when::Lies;
use measures::rules::words;

/// Months of a year.
const YEAR: u32 = 12;

/// A planting of a measure.
pub struct Planting {
    /// Trees by species.
    pub trees: Vec<Amount>,
    /// What waits besides consents.
    pub after: Vec<Wait>,
    /// Key of the work rate, trees a person a day.
    pub rate: &'static str,
    /// Tubes and stakes that go on.
    pub tubes: Vec<Amount>,
}

/// Trees planted by species, by the measure's own quantities; those named are not species.
pub fn trees(of: &Of, not: &[&str]) -> Vec<Amount> {
    let own = of.quantities.iter().filter(|q| q.unit == "trees" && q.amount > 0.0 && !not.contains(&q.what.as_str()));
    own.map(|q| Amount { what: q.what.clone(), amount: q.amount, unit: q.unit.to_string() }).collect()
}

fn sum(trees: &[Amount]) -> f64 {
    trees.iter().map(|t| t.amount).sum()
}

/// The order of trees and tubes, with spares; gives the wait for them.
pub fn order(of: &mut Of, trees: &[Amount], beat_up: f64, tubes: f64) -> Result<Wait, Unknown> {
    let all = sum(trees);
    let (lag, words) = of.months("schedule.tree_order")?;
    let name = of.name();
    let mut job = of.paper(Stage::Order, format!("Order {} for {name}", count(all, "trees")))?;
    job.amounts = trees.to_vec();
    let mut more = |what: &str, amount: f64, unit: &str| {
        if amount > 0.0 {
            job.amounts.push(Amount { what: what.into(), amount, unit: unit.into() });
        }
    };
    more("spare trees", of.spare(all)?, "trees");
    more("beating up", beat_up, "trees");
    more("tubes and stakes", tubes, "tubes");
    more("spare tubes", if tubes > 0.0 { of.spare(tubes)? } else { 0.0 }, "tubes");
    job.notes.push(format!("Trees take {words} from order to hill. {}.", sentence(&of.o.context.words("law.text.tree_seed")?)));
    if beat_up > 0.0 {
        job.notes.push("Trees for beating up are for the two winters after planting: ask the nursery to hold them back.".into());
    }
    job.keys.extend(["schedule.tree_order".to_string(), "works.spare".into(), "law.text.tree_seed".into()]);
    let id = of.put(job);
    Ok(Wait { job: id, lag, words: format!("{words} for the trees to be grown") })
}

/// A text of the guidance with a capital.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// Ground made ready.
pub fn ground(of: &mut Of, trees: &[Amount]) -> Result<String, Unknown> {
    let name = of.name();
    let spots = sum(trees);
    let mut job = of.job(Stage::Ground, "", format!("Make the ground of {name} ready: {}", count(spots, "planting spots")), "planting");
    job.amounts.push(Amount { what: "planting spots".into(), amount: spots, unit: "spots".into() });
    job.season = of.season(Nature::Between(["schedule.ground_preparation.first", "schedule.ground_preparation.last"]), false)?;
    job.heavy = true;
    let mound = of.o.context.words("planting.mound_max")?;
    job.notes.push(format!(
        "The plan does not say whether spots are screefed by hand or mounded. No ploughing on organic soil; mounds no higher than {mound}."
    ));
    job.keys.push("planting.mound_max".into());
    Ok(of.put(job))
}

/// The planting; gives its identity.
pub fn plant(of: &mut Of, planting: Planting) -> Result<String, Unknown> {
    let people = of.hands.largest("planting");
    let all = sum(&planting.trees);
    let tubes = if planting.tubes.is_empty() { "" } else { ", with tubes and stakes" };
    let what = format!("Plant {}{tubes}: {}", count(all, "trees"), of.name());
    let mut job = of.job(Stage::Work, "plant", what, "planting");
    job.people = people;
    job.days = Some(of.at_rate(planting.rate, all, people)?);
    job.amounts = planting.trees.into_iter().chain(planting.tubes).collect();
    job.after.extend(planting.after);
    job.season = of.season(Nature::Between(["window.planting.first", "window.planting.last"]), true)?;
    job.earliest = of.year_begins(of.year);
    job.notes.push(format!("Bare-root trees by {}; cell-grown ones may go in later.", of.o.context.words("planting.bare_root.last")?));
    job.keys.push("planting.bare_root.last".into());
    Ok(of.put(job))
}

/// Months a season touches: so long after one of its days the next begins and the same is over.
fn touched(season: &Season) -> u32 {
    (0..YEAR as usize).filter(|m| season.left.iter().any(|w| w.of_month(*m) != Lies::Outside)).count() as u32
}

/// What died planted again, in each of the next winters.
pub fn beat_up(of: &mut Of, planted: &str) -> Result<(), Unknown> {
    let Some(all) =
        of.jobs.iter().find(|j| j.id == planted).map(|j| sum(&j.amounts.iter().filter(|a| a.unit == "trees").cloned().collect::<Vec<_>>()))
    else {
        return Ok(());
    };
    let winters = of.number("schedule.beat_up_winters")?.round() as usize;
    let season = of.season(Nature::Between(["window.planting.first", "window.planting.last"]), false)?;
    let people = of.hands.largest("planting");
    let (mut before, mut left) = (planted.to_string(), of.amount("beating up"));
    for (i, key) in ["planting.beat_up.year_1", "planting.beat_up.year_2"].into_iter().enumerate().take(winters) {
        let share = of.number(key)?;
        // The measure's own sum stands: the last winter takes what is left of it.
        let last = i + 1 == winters && left > 0.0;
        let trees = if last { left } else { (all * share / 100.0).round() };
        left = (left - trees).max(0.0);
        if trees < 1.0 {
            continue;
        }
        let name = of.name();
        let winter = if i == 0 { "first" } else { "second" };
        let mut job = of.job(
            Stage::BeatUp,
            &format!("{}", i + 1),
            format!("Beat up {name} in its {winter} winter: {} planted again", count(trees, "trees")),
            "planting",
        );
        job.year = of.year + 1 + i as i32;
        job.people = people;
        job.days = Some(of.at_rate("workrate.plant.screefed", trees, people)?);
        job.amounts.push(Amount { what: "beating up".into(), amount: trees, unit: "trees".into() });
        job.season = season.clone();
        job.after.push(Wait { job: before.clone(), lag: Lag::Months(touched(&season)), words: "the next planting season".into() });
        job.notes.push(format!("{} % is usual; count the dead in late summer and change the order.", words::number(share)));
        job.keys.extend([key.to_string(), "schedule.beat_up_winters".into()]);
        before = of.put(job);
    }
    Ok(())
}

/// Weeds, guards and browsing looked at, each year for some years.
pub fn guard_checks(of: &mut Of, planted: &str) -> Result<(), Unknown> {
    let years = of.number("schedule.guard_check")?.round() as u32;
    for n in 1..=years {
        let name = of.name();
        let mut job = of.job(Stage::Check, &format!("{n}"), format!("Look over {name}: weeds, guards, browsing, year {n} of {years}"), "farm");
        job.year = of.year + n as i32;
        job.after = vec![Wait { job: planted.to_string(), lag: Lag::Months(YEAR * n - YEAR / 2), words: String::new() }];
        job.keys.push("schedule.guard_check".into());
        of.put(job);
    }
    Ok(())
}

/// What waits for a job and nothing more.
pub fn just(job: &str) -> Vec<Wait> {
    vec![done(job)]
}
