//! Ragged native wood: probed and pegged, trees ordered, fenced, ground made ready, planted, beaten up, looked after.

use super::job::{Amount, Job, Stage, Wait};
use super::of::{Of, count, done, ha};
use super::planting::{self, Planting};
use guidance::Unknown;
use measures::rules::on_measures::season::Nature;

/// The jobs of a measure.
pub fn jobs(of: &mut Of) -> Result<(), Unknown> {
    survey(of)?;
    let trees: Vec<Amount> = planting::trees(of, &["beating up"]);
    let protection = of.facts.word("protection");
    let order = planting::order(of, &trees, of.amount("beating up"), of.amount("tubes and stakes"))?;
    let mut first = vec![order];
    if protection == "fence" {
        first.extend(fence(of)?);
    }
    first.push(done(&planting::ground(of, &trees)?));
    let rate = if protection == "tubes" { "workrate.plant.tubes" } else { "workrate.plant.screefed" };
    let planted = planting::plant(of, Planting { trees, after: first, rate, tubes: of.own("tubes and stakes") })?;
    planting::beat_up(of, &planted)?;
    planting::guard_checks(of, &planted)?;
    let open = of.facts.word("protection") != "none";
    of.later(format!("thin or open the wood{}", if open { ", and take tubes or fence off" } else { "" }), "schedule.thin_open", 0.0)
}

/// Peat probed where no probe speaks yet, and the outline pegged out.
fn survey(of: &mut Of) -> Result<(), Unknown> {
    let name = of.name();
    let wood_ha = of.amount("wood");
    let reach_m = of.number("rule.probe.reach")?;
    let probed = of.o.holding().probes.iter().filter(|p| geo::Contains::contains(&of.measure.shape, &p.at)).count();
    // Squares of which a probe in the middle reaches every corner.
    let wanted = (wood_ha * 1e4 / (2.0 * reach_m * reach_m)).ceil() as usize;
    let points = wanted.saturating_sub(probed);
    let mut job: Job =
        of.job(Stage::Survey, "", format!("Peg out {name}, {}, and probe its peat at {}", ha(wood_ha), count(points as f64, "points")), "adviser");
    job.amounts = of.own("wood");
    if points > 0 {
        job.amounts.push(Amount { what: "peat probed".into(), amount: points as f64, unit: "points".into() });
        job.days = Some(of.at_rate("workrate.peat_probe", points as f64, 1)?);
        job.keys.push("rule.probe.reach".into());
        job.notes.push(format!("{} there already; a probe speaks for ground within {reach_m:.0} m.", count(probed as f64, "probes")));
    } else {
        job.what = format!("Peg out {name}, {}", ha(wood_ha));
        job.notes.push("Peat is probed already.".into());
    }
    of.put(job);
    Ok(())
}

/// The fence round it: goods, then the fence, then its marking; gives what planting waits for.
fn fence(of: &mut Of) -> Result<Vec<Wait>, Unknown> {
    let deer = of.facts.word("fence_kind") == "deer";
    let what = format!("{} fence", of.facts.word("fence_kind"));
    let marking = of.facts.word("fence_marking");
    let marked = format!("fence marking, {marking}");
    let mut up = super::fence::put_up(of, "fence", deer, of.amount(&what))?;
    up.amounts = of.own(&what);
    up.season = of.season(Nature::Between(["window.fence_work.first", "window.fence_work.last"]), false)?;
    up.notes.push("Posts and wire are not counted by the measure: order them with the trees.".into());
    up.after.extend(of.jobs.iter().filter(|j| j.stage == Stage::Order).map(|j| done(&j.id)));
    let mut last = of.put(up);
    if of.amount(&marked) > 0.0 {
        let mut mark = super::fence::mark(of, &marking, of.amount(&marked))?;
        mark.amounts = of.own(&marked);
        mark.season = of.season(Nature::Between(["window.fence_work.first", "window.fence_work.last"]), false)?;
        mark.after.push(done(&last));
        last = of.put(mark);
    }
    Ok(vec![done(&last)])
}
