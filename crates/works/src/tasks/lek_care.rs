//! Display ground kept short, cleared or kept quiet. No lek is named.

use super::job::Stage;
use super::of::{Of, ha};
use guidance::Unknown;
use measures::rules::on_measures::season::{Bound, Nature, Season};
use measures::rules::on_measures::when::Window;
use measures::rules::on_measures::work_in_season::DISPLAY;

/// The season of mowing and clearing.
const CUTTING: Nature = Nature::Between(["window.cutting.first", "window.cutting.last"]);

/// The jobs of a measure.
pub fn jobs(of: &mut Of) -> Result<(), Unknown> {
    match of.facts.word("work").as_str() {
        "short" => short(of),
        "clear" => clear(of),
        "quiet" => quiet(of),
        _ => Ok(()),
    }
}

fn short(of: &mut Of) -> Result<(), Unknown> {
    let worked_ha = of.amount("ground kept short");
    for year in of.each_year(1, of.facts.number("years")?) {
        let mut job = of.job(Stage::Keep, &year.to_string(), format!("Mow or graze short the ground of {}: {}", of.name(), ha(worked_ha)), "tractor");
        of.in_year(&mut job, year);
        job.amounts = of.own("ground kept short");
        job.days = Some(of.at_rate("workrate.heather_cut.tractor", worked_ha, 1)?);
        job.season = of.season(CUTTING, true)?;
        job.heavy = true;
        job.notes.push("At the rate of cutting heather: no rate of its own was read.".into());
        of.put(job);
    }
    Ok(())
}

fn clear(of: &mut Of) -> Result<(), Unknown> {
    let (worked_ha, people) = (of.amount("ground cleared of trees and scrub"), of.hands.largest("saws"));
    let mut job = of.job(Stage::Work, "clear", format!("Clear trees and scrub by hand: {}, {}", of.name(), ha(worked_ha)), "saws");
    job.amounts = of.own("ground cleared of trees and scrub");
    job.people = people;
    job.days = Some(of.at_days_each("kind.lek_care.clear_days", worked_ha, people)?);
    job.season = of.season(CUTTING, true)?;
    job.earliest = of.year_begins(of.year);
    job.heavy = true;
    of.put(job);
    Ok(())
}

fn quiet(of: &mut Of) -> Result<(), Unknown> {
    let window = Window::read(of.o, DISPLAY[0], DISPLAY[1], of.o.country())?;
    let distance = of.o.context.words("disturbance.vehicle_distance")?;
    for year in of.each_year(1, of.facts.number("years")?) {
        let mut job = of.job(
            Stage::Keep,
            &year.to_string(),
            format!("Keep {} quiet {}: no vehicles within {distance}, no work or walkers at dawn", of.name(), window.words()),
            "farm",
        );
        of.in_year(&mut job, year);
        job.amounts = of.own("ground kept quiet");
        let bound = Bound { window, opens: true, words: window.words(), keys: DISPLAY.to_vec(), lek: None };
        job.season = Season { bounds: vec![bound], left: vec![window] };
        job.keys.push("disturbance.vehicle_distance".into());
        of.put(job);
    }
    Ok(())
}
