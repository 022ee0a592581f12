//! Fences put up, moved, marked or taken down, then walked each autumn and marked anew when the marking is worn.

use super::job::{Amount, Job, Stage, Wait};
use super::of::{Of, count, done};
use crate::programme::Lag;
use guidance::Unknown;
use measures::kind::cost;
use measures::rules::on_measures::season::Nature;

/// Months of a year.
const YEAR: f64 = 12.0;
/// The season of work on fences.
const SEASON: Nature = Nature::Between(["window.fence_work.first", "window.fence_work.last"]);

/// The jobs of a measure.
pub fn jobs(of: &mut Of) -> Result<(), Unknown> {
    let work = of.facts.word("work");
    let name = of.name();
    let survey = of.job(Stage::Survey, "", format!("Walk the line of {name}: services, gates, ways, who else's fence it is"), "adviser");
    of.put(survey);
    let (up_m, down_m, marked_m) = (of.amount("fence put up"), of.amount("fence taken down"), of.amount("fence marked"));
    let goods = goods(of)?;
    let mut before = goods;
    let mut kept_up = false;
    if matches!(work.as_str(), "new" | "move") {
        let said = of.facts.word("kind");
        let deer =
            if said.is_empty() { of.o.holding().fences.iter().any(|f| is(of, f) && f.kind == holding::FenceKind::Deer) } else { said == "deer" };
        let mut job = put_up(of, "up", deer, up_m)?;
        job.amounts = of.own("fence put up");
        if let Some(gates) = of.facts.maybe_number("gates")? {
            job.notes.push(format!("With {}.", count(gates, "gates, stiles and water gates")));
        }
        before = vec![done(&site(of, job, &before)?)];
        kept_up = true;
    }
    let marking = if work == "mark" && of.facts.word("marking").is_empty() { "netting".into() } else { marking_of(of) };
    let to_mark = if work == "mark" { marked_m } else { up_m };
    if to_mark > 0.0 && marking != "none" {
        let mut job = mark(of, &marking, to_mark)?;
        let goods = ["orange netting", "bamboo canes", "pales"].iter().flat_map(|what| of.own(what));
        let name = if work == "mark" { "fence marked" } else { "new fence marked" };
        job.amounts = std::iter::once(marked(name, to_mark)).chain(goods).collect();
        // Done before the birds display.
        let (month, day) = of.o.context.guidance.month_day("schedule.mark_fences_before", of.o.country())?;
        let from = of.year_begins(of.year);
        let next = |y: i32| chrono::NaiveDate::from_ymd_opt(y, month, day).and_then(|d| d.pred_opt());
        job.by = (0..2).filter_map(|n| next(chrono::Datelike::year(&from) + n)).find(|d| *d >= from);
        job.keys.push("schedule.mark_fences_before".into());
        before = vec![done(&site(of, job, &before)?)];
        kept_up = true;
        renew(of, &marking, &before[0].job.clone(), to_mark)?;
    }
    if matches!(work.as_str(), "remove" | "move") {
        let people = of.people("works.people.remove_fence")?;
        let mut job = of.job(Stage::Fence, "down", format!("Take down and carry off {down_m:.0} m of fence: {name}"), "fencing");
        job.people = people;
        job.days = Some(of.at_rate("workrate.remove_fence", down_m, 1)?);
        job.amounts = of.own("fence taken down");
        job.keys.push("works.people.remove_fence".into());
        job.notes.push("See first that stock are held without it.".into());
        site(of, job, &before)?;
    }
    if kept_up {
        checks(of, &before[0].job.clone())?;
    }
    Ok(())
}

/// Whether a fence is the one the measure works on.
fn is(of: &Of, fence: &holding::Fence) -> bool {
    let said = of.facts.word("fence");
    fence.id == said || (!fence.name.is_empty() && fence.name.eq_ignore_ascii_case(&said))
}

/// The marking of the finished fence: told, else as it was on one moved, else none.
fn marking_of(of: &Of) -> String {
    let said = of.facts.word("marking");
    if !said.is_empty() {
        return said;
    }
    // What goes on a fence is in the measure's own quantities.
    let own = [("orange netting", "netting"), ("bamboo canes", "bamboo"), ("pales", "pales")];
    own.iter().find(|(what, _)| of.amount(what) > 0.0).map_or("none", |(_, marking)| marking).to_string()
}

/// A job on the ground, in the season of fences and of the measure's year.
fn site(of: &mut Of, mut job: Job, before: &[Wait]) -> Result<String, Unknown> {
    job.after.extend(before.iter().cloned());
    job.season = of.season(SEASON, true)?;
    job.earliest = of.year_begins(of.year);
    job.heavy = true;
    Ok(of.put(job))
}

/// A fence put up, of so many metres.
pub fn put_up(of: &Of, tail: &str, deer: bool, long_m: f64) -> Result<Job, Unknown> {
    let (kind, rate, people) =
        if deer { ("deer", "workrate.deer_fence", "works.people.deer_fence") } else { ("stock", "workrate.stock_fence", "works.people.stock_fence") };
    let mut job = of.job(Stage::Fence, tail, format!("Put up {long_m:.0} m of {kind} fence: {}", of.name()), "fencing");
    job.people = of.people(people)?;
    job.days = Some(of.at_rate(rate, long_m, 1)?);
    job.keys.push(people.into());
    job.heavy = true;
    Ok(job)
}

/// A fence marked, of so many metres.
pub fn mark(of: &Of, marking: &str, long_m: f64) -> Result<Job, Unknown> {
    let rate = if marking == "netting" { "workrate.mark_netting" } else { "workrate.mark_bamboo_or_pales" };
    let mut job = of.job(Stage::Fence, "mark", format!("Mark {long_m:.0} m of fence with {marking}: {}", of.name()), "fencing");
    job.people = of.people("works.people.mark_fence")?;
    job.days = Some(of.at_rate(rate, long_m, 1)?);
    job.keys.push("works.people.mark_fence".into());
    Ok(job)
}

/// Metres of fence marked, under a name that is not counted with the measure's own where it goes beyond them.
fn marked(what: &str, long_m: f64) -> Amount {
    Amount { what: what.into(), amount: long_m, unit: "m".into() }
}

/// The marking renewed when it is worn, within the programme or later.
fn renew(of: &mut Of, marking: &str, marked: &str, long_m: f64) -> Result<(), Unknown> {
    let key = match marking {
        "bamboo" => "fence.life.marking_bamboo",
        "pales" => "fence.life.marking_pales",
        _ => "fence.life.marking_netting",
    };
    let [low, usual, high] = cost::spread(&of.o.context, key)?;
    if of.year + usual.floor() as i32 > of.settings.last_year() {
        return of.later(format!("mark the fence of {} anew", of.name()), key, 0.0);
    }
    let mut job = mark(of, marking, long_m)?;
    job.amounts = vec![self::marked("fence marked anew", long_m)];
    job.notes.push("Marking renewed is not in the money: ask what it costs then.".into());
    job.id = format!("{}/{}/mark", of.measure.id, Stage::Keep.word());
    job.stage = Stage::Keep;
    job.year = of.year + usual.floor() as i32;
    job.what = format!("Mark the fence of {} anew, {long_m:.0} m, where it is worn", of.name());
    job.after = vec![Wait {
        job: marked.to_string(),
        lag: Lag::Months((YEAR * usual).floor() as u32),
        words: format!("worn after {low:.0} to {high:.0} years"),
    }];
    job.season = of.season(SEASON, false)?;
    job.keys.push(key.into());
    of.put(job);
    Ok(())
}

/// The fence walked each autumn of the programme.
fn checks(of: &mut Of, after: &str) -> Result<(), Unknown> {
    for year in of.year..=of.settings.last_year() {
        let name = of.name();
        let mut job = of.job(Stage::Check, &year.to_string(), format!("Walk the fence of {name}: wires, posts, marking, gates"), "farm");
        of.in_year(&mut job, year);
        job.after = vec![done(after)];
        job.season = of.season(Nature::Between(["schedule.fence_check.first", "schedule.fence_check.last"]), false)?;
        of.put(job);
    }
    Ok(())
}

/// Posts, strainers and markers ordered, with spares; gives what waits for them.
fn goods(of: &mut Of) -> Result<Vec<Wait>, Unknown> {
    let mut amounts: Vec<Amount> = Vec::new();
    for what in ["posts, at least", "strainers, at least", "orange netting", "bamboo canes", "pales"] {
        for own in of.own(what) {
            let spare =
                Amount { what: format!("spare {}", what.split(',').next().unwrap_or(what)), amount: of.spare(own.amount)?, unit: own.unit.clone() };
            amounts.extend([own, spare]);
        }
    }
    if amounts.is_empty() {
        return Ok(vec![]);
    }
    let name = of.name();
    let posts = amounts.iter().any(|a| a.unit == "posts");
    let marked = amounts.iter().find(|a| a.unit != "posts").map(|a| a.what.clone());
    let goods: Vec<String> = posts.then(|| "posts and wire".to_string()).into_iter().chain(marked).collect();
    let mut job = of.paper(Stage::Order, format!("Order {} for {name}", goods.join(" and ")))?;
    job.amounts = amounts;
    job.keys.push("works.spare".into());
    job.notes.push(format!("How long they take to come is not known: ask.{}", if posts { " Wire is not counted." } else { "" }));
    Ok(vec![done(&of.put(job))])
}
