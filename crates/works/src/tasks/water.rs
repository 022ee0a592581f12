//! Water brought back: ditches measured and probed, dams built by their kinds, looked at afterwards; scrapes dug.

use super::job::{Amount, Job, Stage, Wait};
use super::of::{Of, count, done};
use crate::programme::Lag;
use guidance::Unknown;
use measures::kind::dams::DamType;
use measures::kind::water;
use measures::rules::on_measures::season::Nature;

/// Months of a year.
const YEAR: f64 = 12.0;

/// The jobs of a measure.
pub fn jobs(of: &mut Of) -> Result<(), Unknown> {
    if of.facts.word("work") == "scrape" {
        return scrapes(of);
    }
    let Some(plan) = water::plan(&of.o.context, of.measure)? else { return Ok(()) };
    let (name, blocked_m) = (of.name(), of.amount("ditch blocked"));
    let near_m = of.number("water.probe.near")?;
    let points = if plan.peat_cm.is_some() { 0.0 } else { (blocked_m / (2.0 * near_m)).ceil() };
    let probing = if points > 0.0 { format!(" and probe the peat at {}", count(points, "points")) } else { String::new() };
    let mut survey = of.job(Stage::Survey, "", format!("Measure the ditch of {name}, {blocked_m:.0} m, peg out its dams{probing}"), "adviser");
    if points > 0.0 {
        survey.amounts.push(Amount { what: "peat probed".into(), amount: points, unit: "points".into() });
        survey.days = Some(of.at_rate("workrate.peat_probe", points, 1)?);
        survey.keys.push("water.probe.near".into());
    } else {
        survey.notes.push("Peat is probed already: only measuring and pegging are left.".into());
    }
    of.put(survey);
    let goods = goods(of)?;
    let mut built = Vec::new();
    for kind in DamType::BUILT {
        if plan.count(kind) == 0 {
            continue;
        }
        let mut job = dams(of, kind)?;
        job.after.extend(goods.iter().cloned());
        built.push(of.put(job));
    }
    let years = of.number("water.dam.repair_year")?;
    if let Some(last) = built.last().cloned() {
        let mut check = of.job(Stage::Check, "", format!("Walk the dams of {name} and mend those that leak"), "digging");
        check.year = of.year + years.round() as i32;
        check.after = vec![Wait { job: last, lag: Lag::Months((YEAR * years).round() as u32), words: String::new() }];
        check.season = of.season(Nature::Between(["water.season.first", "water.season.last"]), false)?;
        check.keys.extend(["water.dam.repair_year".to_string(), "water.dam.repair_share".into()]);
        check.notes.push(format!("Where more than {} fail, mend them all.", of.o.context.words("water.dam.repair_share")?));
        of.put(check);
    }
    Ok(())
}

/// Dams of one kind.
fn dams(of: &Of, kind: DamType) -> Result<Job, Unknown> {
    let name = of.name();
    let dams = of.amount(kind.words());
    let (tail, hands, rate, people) = match kind {
        DamType::MachinePeat => ("excavator", "excavator", Some("workrate.peat_dams.excavator"), 1),
        DamType::Piling => ("piling", "digging", Some("workrate.piling_dams.hand"), of.people("works.people.piling")?),
        DamType::TimberStone => ("timber", "digging", Some("workrate.stone_dams"), of.hands.largest("digging")),
        DamType::Bale => ("bales", "digging", None, of.hands.largest("digging")),
        DamType::HandPeat | DamType::Leave => ("hand", "digging", None, of.hands.largest("digging")),
    };
    let mut job = of.job(
        Stage::Work,
        tail,
        format!(
            "Build {:.0} {} in {name}, from the top down",
            dams,
            if dams == 1.0 { kind.words().replace("dams", "dam") } else { kind.words().into() }
        ),
        hands,
    );
    job.amounts = of.own(kind.words());
    match kind {
        DamType::HandPeat | DamType::MachinePeat => job.amounts.extend(of.own("peat in dams")),
        DamType::Piling => job.amounts.extend(of.own("piling")),
        _ => {}
    }
    job.people = people;
    job.heavy = true;
    job.season = of.season(Nature::Between(["water.season.first", "water.season.last"]), true)?;
    job.earliest = of.year_begins(of.year);
    match rate {
        Some(rate) => job.days = Some(of.at_rate(rate, dams, 1)?),
        None => job.notes.push("No work rate was read for such dams.".into()),
    }
    job.notes.push("Not in hard frost, nor on ground full of snowmelt.".into());
    Ok(job)
}

/// Goods for dams, where any are bought; gives what waits for them.
fn goods(of: &mut Of) -> Result<Vec<Wait>, Unknown> {
    let mut amounts = of.own("piling");
    if let Some(piling) = amounts.first().map(|a| a.amount) {
        amounts.push(Amount { what: "spare piling".into(), amount: of.spare(piling)?, unit: "m²".into() });
    }
    amounts.extend([DamType::TimberStone, DamType::Bale].iter().flat_map(|kind| of.own(kind.words())));
    if amounts.is_empty() {
        return Ok(vec![]);
    }
    let name = of.name();
    let mut job = of.paper(Stage::Order, format!("Order piling, timber, stone or bales for the dams of {name}"))?;
    job.amounts = amounts;
    job.keys.push("works.spare".into());
    job.notes.push("How long they take to come is not known, nor how they are carried to the hill: ask.".into());
    Ok(vec![done(&of.put(job))])
}

/// Scrapes.
fn scrapes(of: &mut Of) -> Result<(), Unknown> {
    let (name, many) = (of.name(), of.amount("scrapes"));
    let survey = of.job(
        Stage::Survey,
        "",
        format!("Look for rare plants and services on the ground of {name}, and peg out {}", count(many, "scrapes")),
        "adviser",
    );
    of.put(survey);
    let mut job =
        of.job(Stage::Work, "scrape", format!("Dig {} in {name}, {:.0} m² in all", count(many, "scrapes"), of.amount("scraped")), "excavator");
    job.amounts = ["scrapes", "scraped", "spoil at most", "ground"].iter().flat_map(|what| of.own(what)).collect();
    job.heavy = true;
    job.season = of.season(Nature::Between(["water.scrape.first", "water.scrape.last"]), true)?;
    job.earliest = of.year_begins(of.year);
    job.notes.push("No work rate was read for scrapes. On dry ground; spread the spoil thin.".into());
    of.put(job);
    Ok(())
}
