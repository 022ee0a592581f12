//! Conifer edge feathered, thinned, opened or felled; where it is restocked, planted again.

use super::job::Stage;
use super::of::{Of, count, done, ha};
use super::planting::{self, Planting};
use guidance::Unknown;
use measures::rules::on_measures::season::Nature;

/// The jobs of a measure.
pub fn jobs(of: &mut Of) -> Result<(), Unknown> {
    let work = of.facts.word("work");
    let (what, doing, rate) = match work.as_str() {
        "feather" => ("edge feathered", "Feather the edge of", "kind.conifer_edge.thin_days"),
        "thin" => ("wood thinned", "Thin", "kind.conifer_edge.thin_days"),
        "ride" => ("ride opened", "Open the ride of", "kind.conifer_edge.fell_days"),
        "restock" => ("wood felled and restocked", "Fell", "kind.conifer_edge.fell_days"),
        "fell" => ("wood felled", "Fell", "kind.conifer_edge.fell_days"),
        _ => return Ok(()),
    };
    let (name, worked_ha, people) = (of.name(), of.amount(what), of.hands.largest("saws"));
    let mut survey =
        of.job(Stage::Survey, "", format!("Mark what goes and what stays in {name}, and measure the stems, {}", ha(worked_ha)), "adviser");
    survey.notes.push("Leave to fell hangs on how thick the stems are, which the plan does not hold.".into());
    of.put(survey);
    let mut fell =
        of.job(Stage::Work, "fell", format!("{doing} {name}: {}, {}", ha(worked_ha), count(of.amount("trees felled"), "trees felled")), "saws");
    fell.amounts = [of.own(what), of.own("trees felled")].concat();
    fell.people = people;
    fell.days = Some(of.at_days_each(rate, worked_ha, people)?);
    fell.season = of.season(Nature::Forestry, true)?;
    fell.earliest = of.year_begins(of.year);
    fell.heavy = true;
    fell.notes.push("By hand to waste; harvesters, extraction and sale are not counted.".into());
    let felled = of.put(fell);
    if work == "restock" {
        let trees = planting::trees(of, &["trees felled"]);
        let mut after = vec![planting::order(of, &trees, 0.0, 0.0)?, done(&felled)];
        let ready = planting::ground(of, &trees)?;
        if let Some(job) = of.jobs.iter_mut().find(|j| j.id == ready) {
            job.after.extend(planting::just(&felled));
        }
        after.push(done(&ready));
        let planted = planting::plant(of, Planting { trees, after, rate: "workrate.plant.screefed", tubes: vec![] })?;
        planting::beat_up(of, &planted)?;
        planting::guard_checks(of, &planted)?;
    }
    Ok(())
}
