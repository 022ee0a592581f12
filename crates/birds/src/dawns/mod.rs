//! Next spring's dawns: which leks on which mornings, who goes, when to leave, park, be in place and watch.
//!
//! Each lek is visited twice, once in each window of the survey rule, wholly within the hours round sunrise, with so many days
//! between. Of all plans that miss the fewest visits the one with the fewest mornings (dates on which anyone goes out) is made, of
//! those the fewest outings (mornings of one observer), of those the least travelling. A lek that cannot be visited is told with the
//! reason, and the others are planned.
//!
//! Method: every order of leks one observer can do in a morning is followed (`tour.rs`); the leks of each window are shared out to
//! such tours (`count.rs`); the tours are put on mornings (`mornings.rs`). What the sharing out finds is a lower bound, so a placing
//! of it is the best plan there is. Where none is found, a plan as by hand (`hand.rs`) is bettered with both windows at once, morning
//! by morning (`whole.rs`). All of it is by branch and bound on linear relaxations (`choose.rs`, `linear.rs`), with a limit of work
//! and the bound told.
//!
//! Variant: minutes are whole; hours are cut inwards to the minute. Nobody waits for anyone: an observer who is in place watches
//! as soon as hours are open and the settling time is over. Weather, ground and rest between mornings are not known to the plan:
//! it says which usable mornings are left over. The early mornings of a window are taken before late ones where nothing
//! else decides.
//!
//! - [`ask`]: the question
//! - [`rules`]: the figures of guidance it is answered by
//! - [`travel`]: minutes of walking and driving where nobody measured them
//! - [`record`], [`reason`]: the plan, and why a visit is missing
//! - [`calendar`]: the plan as a calendar file
//! - [`of_plan`]: the question of a plan file
//! - [`withheld`]: a plan that tells no way to a lek
//! - [`words`]: a plan in words

pub mod ask;
pub mod calendar;
pub mod of_plan;
pub mod reason;
pub mod record;
pub mod rules;
pub mod travel;
pub mod withheld;
pub mod words;

mod choose;
mod count;
mod crew;
mod hand;
mod light;
mod linear;
mod mornings;
mod quiet;
mod tour;
mod whole;
mod write;

pub use ask::{Ask, Fault, LekSite, Minutes, Observer, Stop};
pub use calendar::{Names, calendar};
pub use of_plan::{Measured, OfPlan, Person, Spot, Wanted, of_plan};
pub use reason::Reason;
pub use record::{DawnPlan, DawnVisit, Effort, Missed, Morning, Outing, StopTooNear};
pub use rules::Rules;
pub use travel::Pace;

use choose::Means;
use count::{Counted, Levels};
use crew::Crew;
use mornings::{Placed, Window};
use std::collections::BTreeSet;
use write::HoursOf;

/// How far a search may go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limit {
    /// Single sums of the search, in millions: some thousand of them a second. Only a spring of many leks and few mornings meets it.
    pub million_sums: u64,
}

impl Default for Limit {
    fn default() -> Self {
        Self { million_sums: 6_000 }
    }
}

/// The plan of a spring. `stop` ends the search early when it says so; the best plan so far is given with its bound.
///
/// # Errors
/// Everything wrong with the question.
pub fn plan(ask: &Ask, rules: &Rules, limit: Limit, stop: &dyn Fn() -> bool) -> Result<DawnPlan, Vec<Fault>> {
    ask.check(rules)?;
    let crew = Crew::of(ask);
    let days = [0, 1].map(|w| ask.days(rules, w));
    let hours: [HoursOf; 2] = [0, 1].map(|w| {
        let of_day = |day: &_| ask.leks.iter().map(|lek| light::hours(*day, lek.lon_lat_deg, rules)).collect();
        days[w].iter().map(of_day).collect()
    });
    let windows = [0, 1].map(|w| Window {
        days: days[w].clone(),
        there: crew.counts(ask, &days[w]),
        tours: tour::tours(ask, rules, &hours[w], &crew.first()),
    });
    let mut means = Means { work: 1_000_000 * limit.million_sums, stop };
    let (placed, bound) = best(&windows, ask.leks.len(), rules.apart_days, &mut means);
    Ok(told(ask, rules, &crew, &windows, &hours, &placed, bound))
}

/// Tours on mornings, and a bound without the leks that no tour takes in.
fn best(windows: &[Window; 2], leks: usize, apart_days: i64, means: &mut Means) -> ([Vec<Placed>; 2], Levels) {
    let counted = [0, 1].map(|w| count::count(&windows[w].tours, &windows[w].there, means));
    let tours = [0, 1].map(|w: usize| counted[w].tours.as_slice());
    let bound = least(&counted);
    let place = |most| mornings::place(windows, tours, most, apart_days);
    let placed = place([0, 1].map(|w: usize| counted[w].levels[1] as usize)).or_else(|| place([0, 1].map(|w: usize| windows[w].days.len())));
    let by_hand = hand::by_hand(windows, apart_days);
    let known = placed.filter(|placed| levels(windows, placed) <= levels(windows, &by_hand)).unwrap_or(by_hand);
    let [missed, used, ..] = levels(windows, &known);
    if levels(windows, &known) <= bound {
        return (known, bound);
    }
    // Where no plan misses fewer visits than the known one, none that is better has more mornings.
    let most = [0, 1].map(|w| if missed == bound[0] { (used - counted[1 - w].bound[1]) as usize } else { leks });
    let whole = whole::whole(windows, &known, most, tours, leks, apart_days, means);
    (whole.placed, whole.bound.max(bound))
}

/// What tours on mornings come to, without the leks that no tour takes in.
fn levels(windows: &[Window; 2], placed: &[Vec<Placed>; 2]) -> Levels {
    let mut levels = [0; 4];
    for (window, placed) in windows.iter().zip(placed) {
        let made: u32 = placed.iter().map(|at| at.set.count_ones()).sum();
        let days: BTreeSet<usize> = placed.iter().map(|at| at.day).collect();
        let travel = placed.iter().filter_map(|at| window.tours.travel_on(at.base, at.set, at.day)).map(i64::from).sum();
        let own = [i64::from(window.tours.reached().count_ones() - made), days.len() as i64, placed.len() as i64, travel];
        levels.iter_mut().zip(own).for_each(|(sum, own)| *sum += own);
    }
    levels
}

/// The bounds of both windows together, as far as they hold one after the other.
fn least(counted: &[Counted; 2]) -> Levels {
    let mut bound = [0; 4];
    for (level, sum) in bound.iter_mut().enumerate() {
        *sum = counted.iter().map(|c| c.bound[level]).sum();
        if counted.iter().any(|c| c.bound[level] < c.levels[level]) {
            break;
        }
    }
    bound
}

fn told(ask: &Ask, rules: &Rules, crew: &Crew, windows: &[Window; 2], hours: &[HoursOf; 2], placed: &[Vec<Placed>; 2], bound: Levels) -> DawnPlan {
    let mornings = write::mornings(ask, rules, crew, windows, hours, placed);
    let mut missed = Vec::new();
    let mut unreached = 0;
    for (lek, site) in ask.leks.iter().enumerate() {
        for w in [0, 1] {
            let toured = windows[w].tours.reached() >> lek & 1 == 1;
            unreached += i64::from(!toured);
            if !placed[w].iter().any(|at| at.set >> lek & 1 == 1) {
                let reason = reason::reason(ask, rules, w, lek, &windows[w].days, &hours[w], toured);
                missed.push(Missed { lek_id: site.id.clone(), lek: site.name.clone(), visit: w as u8 + 1, reason });
            }
        }
    }
    let outings = || mornings.iter().flat_map(|m| &m.outings);
    let effort = Effort {
        missed: missed.len() as i64,
        mornings: mornings.len() as i64,
        outings: outings().count() as i64,
        travel_min: outings().map(|o| o.driving_min.zip(o.walking_min).map(|(driving, walking)| i64::from(driving + walking))).sum(),
    };
    let followed = windows.iter().all(|w| w.tours.all);
    let [missing, dates, parts, travel_min] = if followed { bound } else { [0; 4] };
    let bound = Effort { missed: missing + if followed { unreached } else { 0 }, mornings: dates, outings: parts, travel_min: Some(travel_min) };
    let used: BTreeSet<_> = mornings.iter().map(|m| m.date).collect();
    DawnPlan {
        of: ask.of.clone(),
        year: ask.year,
        spare: windows.iter().flat_map(|w| &w.days).filter(|day| !used.contains(day)).copied().collect(),
        mornings,
        missed,
        effort,
        proven: bound >= effort,
        bound: bound.min(effort),
        quiet: quiet::words(rules),
        stops_too_near: quiet::stops_too_near(ask, rules),
        cautions: rules.cautions.clone(),
    }
}
