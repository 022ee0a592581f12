//! In-bye fields: sown, cut or left each year.

use super::job::{Job, Stage};
use super::of::{Of, done, ha};
use guidance::Unknown;
use measures::rules::on_measures::season::{Bound, Nature, Season};
use measures::rules::on_measures::when::Window;

/// The jobs of a measure.
pub fn jobs(of: &mut Of) -> Result<(), Unknown> {
    let work = of.facts.word("work");
    for year in of.each_year(1, of.facts.number("years")?) {
        match work.as_str() {
            "roots" | "weedy" => sown(of, year, if work == "roots" { "roots sown" } else { "weedy patch" })?,
            "stubble" => {
                let job = left(of, year, "stubble left", "arable.oats.keep_until", "Leave the stubble")?;
                of.put(job);
            }
            "meadow" => meadow(of, year)?,
            "rush" => rush(of, year)?,
            _ => {}
        }
    }
    Ok(())
}

fn yearly(of: &Of, year: i32, stage: Stage, tail: &str, what: String, hands: &'static str) -> Job {
    let mut job = of.job(stage, &format!("{tail}-{year}"), what, hands);
    of.in_year(&mut job, year);
    job
}

fn sown(of: &mut Of, year: i32, own: &str) -> Result<(), Unknown> {
    let (name, field_ha) = (of.name(), of.amount(own));
    let crop = if own == "roots sown" { "roots" } else { "the weedy patch" };
    let mut sow = yearly(of, year, Stage::Work, "sow", format!("Prepare and sow {crop} of {name}: {}", ha(field_ha)), "tractor");
    sow.amounts = of.own(own);
    sow.days = Some(of.at_days_each("workrate.sow_patch", field_ha, 1)?);
    sow.season = of.season(Nature::Between(["arable.roots.sow_first", "arable.roots.sow_last"]), true)?;
    sow.heavy = true;
    let sown = of.put(sow);
    let mut keep = left(of, year + 1, own, "arable.roots.keep_until", "Leave part of the crop uneaten")?;
    keep.after.push(done(&sown));
    if year < of.settings.last_year() {
        of.put(keep);
    }
    Ok(())
}

/// A crop or stubble left until a day: a mark on that day.
fn left(of: &Of, year: i32, own: &str, key: &'static str, what: &str) -> Result<Job, Unknown> {
    let (month, day) = of.o.context.guidance.month_day(key, of.o.country())?;
    let until = of.o.context.words(key)?;
    let mut job =
        yearly(of, year, Stage::Keep, "leave", format!("{what} of {} until {until}, {}: from then it may go", of.name(), ha(of.amount(own))), "farm");
    job.amounts = of.own(own);
    let window = Window { first: (month, day), last: (12, 31) };
    let words = format!("not before {until}");
    job.season = Season { bounds: vec![Bound { window, opens: true, words, keys: vec![key], lek: None }], left: vec![window] };
    Ok(job)
}

fn meadow(of: &mut Of, year: i32) -> Result<(), Unknown> {
    let (month, day) = of.o.context.guidance.month_day("arable.meadow.cut_first_broods", of.o.country())?;
    let first = of.o.context.words("arable.meadow.cut_first_broods")?;
    let late = of.o.context.words("arable.meadow.cut_first_broods_late")?;
    let what = format!("Cut the meadow of {}, {}, not before {first}, from the middle outwards", of.name(), ha(of.amount("meadow cut late")));
    let mut job = yearly(of, year, Stage::Work, "mow", what, "tractor");
    job.amounts = of.own("meadow cut late");
    job.heavy = true;
    let window = Window { first: (month, day), last: (12, 31) };
    job.season = Season {
        bounds: vec![Bound { window, opens: true, words: format!("not before {first}"), keys: vec!["arable.meadow.cut_first_broods"], lek: None }],
        left: vec![window],
    };
    job.notes.push(format!("No work rate of mowing was read. Where broods are late, not before {late}."));
    job.keys.push("arable.meadow.cut_first_broods_late".into());
    of.put(job);
    Ok(())
}

fn rush(of: &mut Of, year: i32) -> Result<(), Unknown> {
    let cut_ha = of.amount("rush cut each year");
    let mut job = yearly(
        of,
        year,
        Stage::Work,
        "cut",
        format!("Cut rush of {}: {} of it this year, tussocks left for nests", of.name(), ha(cut_ha)),
        "tractor",
    );
    job.amounts = of.own("rush cut each year");
    job.days = Some(of.at_rate("workrate.heather_cut.tractor", cut_ha, 1)?);
    job.season = of.season(Nature::Between(["arable.rush.cut_first", "arable.rush.cut_last"]), true)?;
    job.heavy = true;
    job.notes.push("At the rate of cutting heather: no rate for rush was read.".into());
    of.put(job);
    Ok(())
}
