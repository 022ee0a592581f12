//! Heather cut or burnt: each patch in its year, and again where it is in a rotation.

use super::job::{Amount, Job, Stage};
use super::of::{Of, at_rate, ha};
use guidance::Unknown;
use measures::rules::on_measures::lie;
use measures::rules::on_measures::season::Nature;
use measures::rules::places::hectares;
use measures::rules::{OnMeasures, words};

/// How steep a tractor and a tracked machine go, degrees.
const SLOPES: [&str; 2] = ["heather.cutting.slope.tractor", "heather.cutting.slope.tracked"];
/// What begins the name of a part of an amount told before it.
const OF_IT: &str = "of it ";

/// Hectares cut by how steep they lie: what a tractor takes, a tracked machine, and neither. None without heights on all of the ground.
fn by_slope(of: &Of) -> Result<Vec<Amount>, Unknown> {
    let [tractor_deg, tracked_deg] = [of.number(SLOPES[0])?, of.number(SLOPES[1])?];
    let steeper = |limit_deg: f64| lie::steep(of.o, &of.measure.shape, limit_deg).map(|(piece, _)| hectares(&piece));
    let (Some(above_tractor), Some(above_tracked)) = (steeper(tractor_deg), steeper(tracked_deg)) else { return Ok(vec![]) };
    let all_ha = hectares(&of.measure.shape);
    let told = |ha: f64| of.o.context.veil.map_or(ha, |veil| veil.amount(&of.measure.id, "ha", ha));
    let classes = [
        (format!("{OF_IT}up to {tractor_deg:.1} degrees, for a tractor"), all_ha - above_tractor),
        (format!("{OF_IT}to {tracked_deg:.0} degrees, for a tracked machine"), above_tractor - above_tracked),
        (format!("{OF_IT}steeper than either takes"), above_tracked),
    ];
    // A hundredth of a hectare is less than the heights tell.
    Ok(classes.into_iter().filter(|(_, ha)| *ha >= 0.01).map(|(what, ha)| Amount { what, amount: told(ha), unit: "ha".into() }).collect())
}

/// The jobs of a measure.
pub fn jobs(of: &mut Of) -> Result<(), Unknown> {
    let burn = of.facts.word("work") == "burn";
    let tracked = of.facts.word("machine") == "tracked";
    let (what, doing, hands, rate) = match (burn, tracked) {
        (true, _) => ("heather burnt", "Burn", "burning", "workrate.muirburn"),
        (false, true) => ("heather cut", "Cut", "tracked", "workrate.heather_cut.tracked"),
        (false, false) => ("heather cut", "Cut", "tractor", "workrate.heather_cut.tractor"),
    };
    let (name, worked_ha) = (of.name(), of.amount(what));
    let every = of.facts.maybe_number("every")?;
    let by_slope = if burn { vec![] } else { by_slope(of)? };
    let years = match every {
        Some(every) => of.each_year(every.round() as u32, of.facts.number("years")?),
        None => vec![of.year],
    };
    for year in years {
        let stage = if year == of.year { Stage::Work } else { Stage::Keep };
        let mut job = of.job(stage, &year.to_string(), format!("{doing} the heather of {name}: {}", ha(worked_ha)), hands);
        job.year = year;
        job.earliest = of.year_begins(year);
        job.amounts = of.own(what).into_iter().chain(by_slope.iter().cloned()).collect();
        job.heavy = true;
        job.days = Some(of.at_rate(rate, worked_ha, 1)?);
        if burn {
            job.people = of.people("caution.burning.people_min")?;
            job.season = of.season(Nature::Burning, true)?;
            job.keys.push("caution.burning.people_min".into());
            job.notes.push("Only on a day the wind, the ground and the fire service allow: such days are not counted here.".into());
        } else {
            job.season = of.season(Nature::Between(["heather.cutting.first", "heather.cutting.last"]), true)?;
            job.notes.push(format!("Leave about {}, and the moss.", of.o.context.words("heather.cutting.height")?));
            job.keys.push("heather.cutting.height".into());
            if by_slope.is_empty() {
                job.notes.push("How steep it is is not known: the plan has no heights there. Walk it first.".into());
            } else {
                job.keys.extend(SLOPES.map(String::from));
            }
        }
        of.put(job);
    }
    Ok(())
}

/// Patches of one year that are worked in the same season by the same hands after the same answers, put together: they are one job
/// of as many days as all their ground takes.
pub fn together(o: &OnMeasures, jobs: &mut Vec<Job>) -> Result<(), Unknown> {
    let alike = |a: &Job, b: &Job| {
        let own = |j: &Job| (j.kind, j.stage, j.year, j.hands, j.people, j.earliest, j.days.as_ref().map(|d| d.rates.clone()));
        own(a) == own(b) && a.season.left == b.season.left && a.after == b.after && a.notes == b.notes
    };
    let mut out: Vec<Job> = Vec::new();
    for job in jobs.drain(..) {
        match out.iter_mut().find(|first| job.kind == "heather" && alike(first, &job)) {
            Some(first) => {
                first.measures.extend(job.measures);
                for more in job.amounts {
                    match first.amounts.iter_mut().find(|a| a.what == more.what) {
                        Some(same) => same.amount += more.amount,
                        None => first.amounts.push(more),
                    }
                }
                for bound in job.season.bounds {
                    if !first.season.bounds.iter().any(|b| b.words == bound.words) {
                        first.season.bounds.push(bound);
                    }
                }
                first.keys.extend(job.keys.into_iter().filter(|k| !first.keys.contains(k)).collect::<Vec<_>>());
            }
            None => out.push(job),
        }
    }
    let mut taken: Vec<String> = Vec::new();
    for job in out.iter_mut().filter(|j| j.measures.len() > 1 && j.kind == "heather") {
        let worked_ha: f64 = job.amounts.iter().filter(|a| !a.what.starts_with(OF_IT)).map(|a| a.amount).sum();
        if let Some(rate) = job.days.as_ref().and_then(|d| d.rates.first().cloned()) {
            job.days = Some(at_rate(&o.context, &rate, worked_ha, 1)?);
        }
        let doing = job.what.split(' ').next().unwrap_or_default().to_string();
        job.what = format!("{doing} heather in {} patches, {}: {}", job.measures.len(), ha(worked_ha), words::list(&job.measures));
        let id = format!("heather/{}/{}", job.stage.word(), job.year);
        let same = taken.iter().filter(|t| **t == id).count();
        taken.push(id.clone());
        job.id = if same > 0 { format!("{id}/{}", same + 1) } else { id };
    }
    *jobs = out;
    Ok(())
}
