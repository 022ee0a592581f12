//! Heather cut or burnt: each patch in its year, and again where it is in a rotation.

use super::job::Stage;
use super::of::{Of, ha};
use guidance::Unknown;
use measures::rules::on_measures::season::Nature;

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
    let years = match every {
        Some(every) => of.each_year(every.round() as u32, of.facts.number("years")?),
        None => vec![of.year],
    };
    for year in years {
        let stage = if year == of.year { Stage::Work } else { Stage::Keep };
        let mut job = of.job(stage, &year.to_string(), format!("{doing} the heather of {name}: {}", ha(worked_ha)), hands);
        job.year = year;
        job.earliest = of.from_year(year);
        job.amounts = of.own(what);
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
        }
        of.put(job);
    }
    Ok(())
}
