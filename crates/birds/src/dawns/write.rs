//! Writes tours on mornings out as a plan: who, when, where.

use super::ask::Ask;
use super::crew::Crew;
use super::light::{Hours, Minute};
use super::mornings::{Placed, Window};
use super::record::{DawnVisit, Morning, Outing};
use super::rules::Rules;
use super::tour::{begin_next, leg};
use crate::clock;
use chrono::{DateTime, NaiveDate, NaiveDateTime};
use std::collections::BTreeMap;

/// Hours by morning of the window and lek.
pub(super) type HoursOf = Vec<Vec<Option<Hours>>>;

/// The clock at a minute.
fn shown(minute: Minute) -> NaiveDateTime {
    clock::local(DateTime::from_timestamp(60 * minute, 0).unwrap_or_default())
}

/// The mornings of both windows. Of several observers of a base the one with the fewest outings so far goes first.
pub(super) fn mornings(ask: &Ask, rules: &Rules, crew: &Crew, windows: &[Window; 2], hours: &[HoursOf; 2], placed: &[Vec<Placed>; 2]) -> Vec<Morning> {
    let mut by_date: BTreeMap<NaiveDate, Vec<(usize, Placed)>> = BTreeMap::new();
    for (w, placed) in placed.iter().enumerate() {
        for at in placed {
            by_date.entry(windows[w].days[at.day]).or_default().push((w, *at));
        }
    }
    let mut gone = vec![0; ask.observers.len()];
    let mut mornings = Vec::new();
    for (date, mut tours) in by_date {
        tours.sort_by_key(|(_, at)| (at.base, at.set));
        let mut free: Vec<Vec<usize>> = (0..crew.of_base.len()).map(|base| crew.there(ask, base, date)).collect();
        let mut outings: Vec<(usize, Outing)> = Vec::new();
        for (w, at) in tours {
            let Some(next) = (0..free[at.base].len()).min_by_key(|i| gone[free[at.base][*i]]) else { continue };
            let observer = free[at.base].remove(next);
            gone[observer] += 1;
            let orders = windows[w].tours.of_base[at.base].get(&at.set).map(Vec::as_slice).unwrap_or_default();
            if let Some(tour) = orders.iter().find(|tour| tour.days >> at.day & 1 == 1) {
                outings.extend(outing(ask, rules, observer, w, &tour.order, &hours[w][at.day]).map(|outing| (observer, outing)));
            }
        }
        outings.sort_by_key(|(observer, _)| *observer);
        mornings.push(Morning { date, outings: outings.into_iter().map(|(_, outing)| outing).collect() });
    }
    mornings
}

/// An observer's morning; `None` where an order cannot be kept.
fn outing(ask: &Ask, rules: &Rules, observer: usize, window: usize, order: &[usize], hours: &[Option<Hours>]) -> Option<Outing> {
    let (first, last) = (*order.first()?, *order.last()?);
    let from_base = |lek: usize| ask.minutes.from_base[observer][ask.leks[lek].stop];
    // The way home to begin with.
    let home = (ask.leks[last].walk_min, from_base(last));
    let (mut walking_min, mut driving_min) = home;
    let mut visits: Vec<DawnVisit> = Vec::new();
    let mut ended = 0;
    for (i, &lek) in order.iter().enumerate() {
        let (site, at) = (&ask.leks[lek], hours[lek]?);
        let (way, begin, arrive) = if i == 0 {
            (super::tour::Leg { back_min: 0, drive_min: from_base(lek), walk_min: site.walk_min, across: false }, at.open, at.in_place)
        } else {
            let begin = begin_next(ask, rules, at, ended, order[i - 1], lek)?;
            (leg(ask, order[i - 1], lek), begin, begin - rules.settle_min)
        };
        ended = begin + rules.watch_min;
        driving_min += way.drive_min;
        walking_min += way.back_min + way.walk_min;
        visits.push(DawnVisit {
            lek_id: site.id.clone(),
            lek: site.name.clone(),
            visit: window as u8 + 1,
            stop: ask.stops[site.stop].name.clone(),
            walk_back_min: Some(way.back_min),
            drive_min: Some(way.drive_min),
            park_at: (!way.across).then(|| shown(arrive - i64::from(way.walk_min))),
            walk_min: Some(way.walk_min),
            arrive_by: Some(shown(arrive)),
            watch_from: Some(shown(begin)),
            watch_until: Some(shown(ended)),
            sunrise: shown(at.sunrise),
            hours_close: shown(at.close),
        });
    }
    let leave = hours[first]?.in_place - i64::from(ask.leks[first].walk_min + from_base(first));
    Some(Outing {
        observer: ask.observers[observer].name.clone(),
        base: ask.observers[observer].base.clone(),
        leave_base: Some(shown(leave)),
        driving_min: Some(driving_min),
        walking_min: Some(walking_min),
        back_at_base: Some(shown(ended + i64::from(home.0 + home.1))),
        visits,
    })
}
