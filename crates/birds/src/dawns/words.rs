//! What a plan of dawns takes, how sure that is and what its minutes rest on, in plain words.

use super::ask::Ask;
use super::of_plan::OfPlan;
use super::record::DawnPlan;
use super::rules::Rules;
use chrono::{Datelike, Days, NaiveDate};
use std::collections::BTreeMap;

fn number(count: i64, one: &str) -> String {
    format!("{count} {one}{}", if count == 1 { "" } else { "s" })
}

/// Minutes as hours and minutes from an hour up: `45 min`, `1 h 05 min`.
pub fn minutes(minutes: i64) -> String {
    if minutes < 60 { format!("{minutes} min") } else { format!("{} h {:02} min", minutes / 60, minutes % 60) }
}

/// How much a plan takes.
pub fn takes(plan: &DawnPlan) -> String {
    let e = &plan.effort;
    let visits: usize = plan.mornings.iter().flat_map(|m| &m.outings).map(|o| o.visits.len()).sum();
    if visits == 0 {
        return format!("No visit can be made: {} of two to each lek fall out.", number(e.missed, "visit"));
    }
    let missed = if e.missed == 0 { "every lek is visited twice".to_owned() } else { format!("{} cannot be made", number(e.missed, "visit")) };
    let travel = e.travel_min.map_or(String::new(), |min| format!(", {} of driving and walking", minutes(min)));
    format!("{} on {}, {} of one observer{travel}; {missed}.", number(visits as i64, "visit"), number(e.mornings, "morning"), number(e.outings, "outing"))
}

/// Whether any plan takes less.
pub fn proof(plan: &DawnPlan) -> String {
    let (e, b) = (&plan.effort, &plan.bound);
    if plan.mornings.is_empty() && plan.proven {
        return "Proven: no plan within the rules and these minutes makes any visit.".to_owned();
    }
    if plan.proven {
        return "Proven the fewest: no plan within the rules and these minutes misses fewer visits; of those none takes fewer mornings, then fewer outings, then less travelling.".to_owned();
    }
    let known = if b.missed < e.missed {
        format!("no plan misses fewer than {}, and this one misses {}", number(b.missed, "visit"), e.missed)
    } else if b.mornings < e.mornings {
        format!("no plan misses fewer visits, and none that misses as few takes fewer than {}; this one takes {}", number(b.mornings, "morning"), e.mornings)
    } else if b.outings < e.outings {
        format!("no plan misses fewer visits or takes fewer mornings, and none as good takes fewer than {}; this one takes {}", number(b.outings, "outing"), e.outings)
    } else if let Some(travel_min) = b.travel_min {
        format!("no plan misses fewer visits or takes fewer mornings or outings, and none as good less than {} of driving and walking", minutes(travel_min))
    } else {
        "no plan misses fewer visits or takes fewer mornings or outings; how much less travelling one could take is not told".to_owned()
    };
    format!("Not proven the fewest, as the search ended before it was through: {known}.")
}

/// What minutes and stops rest on.
pub fn rests_on(made: &OfPlan, rules: &Rules) -> Vec<String> {
    let (walks, all) = (made.walk_measured.iter().filter(|m| **m).count(), made.walk_measured.len());
    let (drives, ways) = made.drives;
    let mut out = Vec::new();
    if walks < all || drives < ways {
        let climb = if made.climb_unknown.is_empty() { "climbs are from the plan's heights" } else { "where the plan's heights do not tell the climb, a walk is taken as level" };
        out.push(format!(
            "Minutes are estimates but for {walks} of {all} walks and {drives} of {ways} drives that were measured: straight lines made longer by a usual share, at a usual pace, in the dark; {climb}. Drive and walk each way once by day, and plan again with what it took."
        ));
    }
    if made.sought {
        out.push(format!(
            "Stops were sought along the roads and tracks of the plan, at least {} m from the edge of every lek. Ask who owns the track; see by day that a vehicle can stand there and turn; keep it off soft ground.",
            rules.vehicle_m
        ));
    }
    out
}

/// In what weather a morning is used, and what to do in worse.
pub fn weather(rules: &Rules) -> String {
    format!("Go in still, dry weather with good sight: wind of {} Beaufort at most, rain {}. In worse take a spare morning, with visits to a lek at least {} days apart.", rules.wind_most, rules.rain_most, rules.apart_days)
}

/// Coming up to a lek without putting the birds up: what to do, with the figures of the rules.
pub fn quiet(rules: &Rules) -> Vec<String> {
    super::quiet::words(rules)
}

/// Who goes out on mornings running, and when; empty where nobody does.
pub fn running(plan: &DawnPlan) -> Vec<String> {
    let mut by_name: BTreeMap<&str, Vec<NaiveDate>> = BTreeMap::new();
    for morning in &plan.mornings {
        morning.outings.iter().for_each(|o| by_name.entry(&o.observer).or_default().push(morning.date));
    }
    let mut said = Vec::new();
    for (name, dates) in by_name {
        let runs: Vec<String> = dates.chunk_by(|a, b| *a + Days::new(1) == *b).filter(|run| run.len() > 1).map(|run| format!("{} ({})", run.len(), days(run))).collect();
        if !runs.is_empty() {
            said.push(format!("{name} goes out on mornings running: {}. Short nights make bad drivers: take a spare morning instead, or share them out.", runs.join(", ")));
        }
    }
    said
}

/// Who covers the spare mornings.
pub fn cover(ask: &Ask, plan: &DawnPlan) -> String {
    let away = |o: &super::Observer| {
        let days_away: Vec<NaiveDate> = plan.spare.iter().copied().filter(|day| o.away.contains(day)).collect();
        (!days_away.is_empty()).then(|| format!("{} is away on {}", o.name, days(&days_away)))
    };
    let away: Vec<String> = ask.observers.iter().filter_map(away).collect();
    let but = if away.is_empty() { String::new() } else { format!("; {}", away.join("; ")) };
    format!("Whoever lost a morning takes a spare one of the same visit, from the same base{but}.")
}

/// The usable mornings of a window that are left over.
pub fn spare(plan: &DawnPlan, [first, last]: [NaiveDate; 2]) -> String {
    let left: Vec<NaiveDate> = plan.spare.iter().copied().filter(|day| (first..=last).contains(day)).collect();
    if left.is_empty() { "none".to_owned() } else { days(&left) }
}

/// Days in their order with runs drawn together: `21 to 27 March, 31 March to 2 April, 4, 6 April`.
pub fn days(days: &[NaiveDate]) -> String {
    let mut runs: Vec<(NaiveDate, NaiveDate)> = Vec::new();
    for day in days {
        match runs.last_mut() {
            Some((_, last)) if *last + Days::new(1) == *day => *last = *day,
            _ => runs.push((*day, *day)),
        }
    }
    let whole = |day: NaiveDate| day.format("%-d %B").to_string();
    let mut said = Vec::new();
    for (i, (first, last)) in runs.iter().enumerate() {
        // A month is told once, with the last of its days that stand beside each other.
        let across = first.month() != last.month();
        let of_month = runs.get(i + 1).is_none_or(|(next, until)| next.month() != last.month() || next.month() != until.month());
        let end = if across || of_month { whole(*last) } else { last.day().to_string() };
        said.push(match (first == last, across) {
            (true, _) => end,
            (false, true) => format!("{} to {end}", whole(*first)),
            (false, false) => format!("{} to {end}", first.day()),
        });
    }
    said.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_of_days_are_drawn_together_by_month() {
        let day = |m, d| NaiveDate::from_ymd_opt(2027, m, d).unwrap();
        assert_eq!(days(&[day(3, 30), day(3, 31), day(4, 1), day(4, 3), day(4, 4), day(4, 5)]), "30 March to 1 April, 3 to 5 April");
        assert_eq!(days(&[day(3, 2), day(3, 4), day(3, 30), day(3, 31), day(4, 1), day(4, 3)]), "2, 4 March, 30 March to 1 April, 3 April");
        assert_eq!(days(&[]), "");
        assert_eq!((minutes(59), minutes(65)), ("59 min".into(), "1 h 05 min".into()));
    }
}
