//! The question of a plan file: its leks, where a vehicle may be left, who counts from where, and minutes measured or estimated.
//!
//! Where no stop is given, each lek gets the point of a road or track that is nearest on foot, outside the vehicle distance of every
//! lek of the plan; a lek shares the stop of an earlier one where that walk is no longer than driving on and walking from its own.
//! Minutes nobody measured are those of [`Pace`] on straight lines. One figure serves the walk there and back, so that the climb taken
//! is the difference in height, whichever way it goes.

use super::ask::{Ask, Fault, LekSite, Observer, Stop};
use super::quiet::stops_too_near;
use super::record::StopTooNear;
use super::rules::Rules;
use super::travel::Pace;
use chrono::NaiveDate;
use geo_types::{Coord, Line};
use holding::grid_ref::format_grid_ref;
use holding::{Holding, Lek, TrackKind};
use std::collections::{BTreeMap, BTreeSet};

/// Points of a track looked at lie so far apart at most, metres.
const STEP_M: f64 = 20.0;
/// The most observers.
pub const OBSERVERS_MAX: usize = 3;

/// A named place: a base, or where a vehicle may be left.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Spot {
    /// Name; may be empty.
    pub name: String,
    /// Easting and northing, metres.
    pub at_m: (f64, f64),
}

/// Someone who counts.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Person {
    /// Name.
    pub name: String,
    /// Where they start from.
    pub base: Spot,
    /// Days on which they cannot.
    pub away: BTreeSet<NaiveDate>,
}

/// Minutes somebody measured, alike in both directions.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Measured {
    /// Where it is written.
    pub place: String,
    /// One end: an observer, a base, a stop or a lek.
    pub from: String,
    /// The other end.
    pub to: String,
    /// Minutes: by road between bases and stops, on foot in the dark from a stop to a lek, on foot by day from lek to lek
    /// where both are reached from one stop.
    pub minutes: u32,
}

/// What is wanted of a plan file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wanted {
    /// The year.
    pub year: i32,
    /// Leks by id or name; none: all.
    pub leks: Vec<String>,
    /// Who counts.
    pub people: Vec<Person>,
    /// Where a vehicle may be left; none: sought along the plan's tracks.
    pub stops: Vec<Spot>,
    /// Mornings that may be used.
    pub mornings: BTreeSet<NaiveDate>,
    /// Measured minutes.
    pub measured: Vec<Measured>,
}

/// A question made from a plan, and what it rests on.
#[derive(Clone, Debug, PartialEq)]
pub struct OfPlan {
    /// The question.
    pub ask: Ask,
    /// Whether stops were sought along tracks.
    pub sought: bool,
    /// Whether the walk to each lek was measured, in the order of the question's leks.
    pub walk_measured: Vec<bool>,
    /// Leks to which the climb is not known, by name: taken as level.
    pub climb_unknown: Vec<String>,
    /// Ways by road that were measured, and all ways by road.
    pub drives: (usize, usize),
    /// Stops too near to leks that are not planned.
    pub near_others: Vec<StopTooNear>,
}

/// What an end of a measured way is.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum End {
    Base(Vec<usize>),
    Stop(usize),
    Lek(usize),
    /// A lek of the plan that is not planned.
    Elsewhere,
}

fn apart(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

fn fault(place: impl Into<String>, needed: &str, found: impl Into<String>, hint: &'static str) -> Fault {
    Fault { place: place.into(), needed: needed.into(), found: found.into(), hint }
}

/// The letters of a stop: A to Z, then AA.
fn letters(number: usize) -> String {
    let last = char::from(b'A' + (number % 26) as u8);
    if number < 26 { last.to_string() } else { format!("{}{last}", letters(number / 26 - 1)) }
}

/// Whether somebody means a name.
fn means(said: &str, name: &str) -> bool {
    !name.is_empty() && said.trim().to_lowercase() == name.trim().to_lowercase()
}

/// A place as it is printed: its name and a reference of eight figures.
fn printed(name: &str, at_m: (f64, f64)) -> String {
    let reference = format_grid_ref(at_m.0, at_m.1, 8).unwrap_or_else(|| format!("{:.0} E {:.0} N", at_m.0, at_m.1));
    if name.trim().is_empty() { reference } else { format!("{}, {reference}", name.trim()) }
}

/// The question a plan file asks. `radius_m`: of a display ground where none is recorded. `lon_lat`: degrees of a lek.
///
/// # Errors
/// Everything that is wrong with what is wanted.
pub fn of_plan(holding: &Holding, rules: &Rules, pace: &Pace, radius_m: f64, lon_lat: impl Fn(&Lek) -> Option<(f64, f64)>, wanted: &Wanted) -> Result<OfPlan, Vec<Fault>> {
    let mut faults = Vec::new();
    let chosen = chosen(holding, &wanted.leks, &mut faults);
    let site = |lek: &Lek| LekSite {
        id: lek.id.clone(),
        name: lek.called().to_owned(),
        at_m: (lek.at.x(), lek.at.y()),
        radius_m: lek.radius_m.unwrap_or(radius_m),
        lon_lat_deg: lon_lat(lek).unwrap_or_default(),
        stop: 0,
        walk_min: 0,
    };
    let mut leks: Vec<LekSite> = chosen.iter().map(|lek| site(lek)).collect();
    for lek in chosen.iter().filter(|lek| lon_lat(lek).is_none()) {
        let found = format!("coordinates of EPSG:{}", holding.about.epsg);
        faults.push(fault(format!("lek `{}`", lek.id), "a place on the British national grid, for the time of sunrise", found, "dawns are planned for plans in EPSG:27700"));
    }
    if wanted.people.is_empty() || wanted.people.len() > OBSERVERS_MAX {
        faults.push(fault("observers", "one to three", wanted.people.len().to_string(), "plan a larger crew in parts, each with leks of its own"));
    }
    let others: Vec<LekSite> = holding.leks.iter().filter(|lek| !chosen.iter().any(|c| c.id == lek.id)).map(site).collect();
    let walk = Walk { holding, pace };
    let sought = wanted.stops.is_empty();
    let mut stops = if sought {
        let grounds: Vec<&LekSite> = leks.iter().chain(&others).collect();
        seek(&walk, pace, rules, &leks, &grounds, &mut faults)
    } else {
        wanted.stops.clone()
    };
    let ways = resolved(wanted, holding, &leks, &stops, &mut faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut walk_measured = vec![false; leks.len()];
    let mut climb_unknown = Vec::new();
    for (l, lek) in leks.iter_mut().enumerate() {
        let measured = ways.iter().filter_map(|(ends, minutes)| match ends {
            (End::Stop(stop), End::Lek(lek)) if *lek == l => Some((*minutes, *stop)),
            _ => None,
        });
        let estimated = || (0..stops.len()).map(|stop| (walk.min(stops[stop].at_m, lek.at_m), stop)).min();
        let measured = measured.min();
        walk_measured[l] = measured.is_some();
        (lek.walk_min, lek.stop) = measured.or_else(estimated).unwrap_or_default();
        if measured.is_none() && walk.climb_m(stops[lek.stop].at_m, lek.at_m).is_none() {
            climb_unknown.push(lek.name.clone());
        }
    }
    let called = |lek: usize| leks[lek].name.as_str();
    for (ends, _) in &ways {
        if let (End::Lek(a), End::Lek(b)) = ends
            && leks[*a].stop != leks[*b].stop
        {
            let found = format!("{} and {}, which are reached from stops {} and {}", called(*a), called(*b), letters(leks[*a].stop), letters(leks[*b].stop));
            faults.push(fault("minutes", "a walk between leks that are reached from one stop", found, "measure the walk to both from one stop too, or leave the row out"));
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    // Stops that no lek is reached from are left out; letters stay as they were given.
    let used: Vec<usize> = (0..stops.len()).filter(|stop| leks.iter().any(|lek| lek.stop == *stop)).collect();
    let place_of: BTreeMap<usize, usize> = used.iter().enumerate().map(|(new, old)| (*old, new)).collect();
    leks.iter_mut().for_each(|lek| lek.stop = place_of[&lek.stop]);
    let lettered = |old: usize, spot: &Spot| Stop { id: letters(old), name: format!("{}, {}", letters(old), printed(&spot.name, spot.at_m)), at_m: spot.at_m };
    let stops: Vec<Stop> = used.iter().map(|old| lettered(*old, &std::mem::take(&mut stops[*old]))).collect();
    let bases: Vec<(f64, f64)> = wanted.people.iter().map(|p| p.base.at_m).collect();
    let mut minutes = pace.minutes(&bases, &stops, &leks);
    let mut driven = BTreeSet::new();
    for (ends, measured) in &ways {
        match ends {
            (End::Base(people), End::Stop(stop)) => {
                if let Some(stop) = place_of.get(stop) {
                    people.iter().for_each(|p| minutes.from_base[*p][*stop] = *measured);
                    driven.extend(people.iter().map(|p| (Some(*p), *stop, *stop)));
                }
            }
            (End::Stop(a), End::Stop(b)) => {
                if let (Some(&a), Some(&b)) = (place_of.get(a), place_of.get(b)) {
                    minutes.between_stops[a][b] = *measured;
                    minutes.between_stops[b][a] = *measured;
                    driven.insert((None, a.min(b), a.max(b)));
                }
            }
            (End::Lek(a), End::Lek(b)) => {
                minutes.across[*a][*b] = Some(*measured);
                minutes.across[*b][*a] = Some(*measured);
            }
            _ => {}
        }
    }
    let drives = (driven.len(), wanted.people.len() * stops.len() + stops.len() * (stops.len().max(1) - 1) / 2);
    let observers = wanted.people.iter().map(|p| Observer { name: p.name.clone(), base: printed(&p.base.name, p.base.at_m), away: p.away.clone() }).collect();
    let mut ask = Ask { of: holding.about.name.clone(), year: wanted.year, leks: others, stops, observers, mornings: wanted.mornings.clone(), minutes };
    let near_others = stops_too_near(&ask, rules);
    ask.leks = leks;
    Ok(OfPlan { ask, sought, walk_measured, climb_unknown, drives, near_others })
}

/// The leks that are wanted, in the order of the plan.
fn chosen<'a>(holding: &'a Holding, wanted: &[String], faults: &mut Vec<Fault>) -> Vec<&'a Lek> {
    let is = |said: &String, lek: &Lek| means(said, &lek.id) || means(said, &lek.name);
    for said in wanted.iter().filter(|said| !holding.leks.iter().any(|lek| is(said, lek))) {
        faults.push(fault("leks", "the id or name of a lek of the plan", format!("`{said}`"), "greyhen show FILE tells what the plan holds"));
    }
    if holding.leks.is_empty() {
        faults.push(fault("plan", "at least one lek", "none", "greyhen import FILE leks SOURCE brings them in"));
    }
    holding.leks.iter().filter(|lek| wanted.is_empty() || wanted.iter().any(|said| is(said, lek))).collect()
}

/// Walking where nobody measured it.
struct Walk<'a> {
    holding: &'a Holding,
    pace: &'a Pace,
}

impl Walk<'_> {
    /// The difference in height between two places, where it is known.
    fn climb_m(&self, from: (f64, f64), to: (f64, f64)) -> Option<f64> {
        let heights = self.holding.heights.as_ref()?;
        let height = |at: (f64, f64)| heights.at_point(at.0, at.1).filter(|h| h.is_finite()).map(f64::from);
        Some((height(from)? - height(to)?).abs())
    }

    fn min(&self, from: (f64, f64), to: (f64, f64)) -> u32 {
        self.pace.walk_min(apart(from, to), self.climb_m(from, to).unwrap_or(0.0))
    }
}

/// A stop for each lek along roads and tracks, away from all `grounds`.
fn seek(walk: &Walk, pace: &Pace, rules: &Rules, leks: &[LekSite], grounds: &[&LekSite], faults: &mut Vec<Fault>) -> Vec<Spot> {
    let free = |at: (f64, f64)| grounds.iter().all(|lek| apart(at, lek.at_m) - lek.radius_m >= rules.vehicle_m);
    let mut points: Vec<(&str, (f64, f64))> = Vec::new();
    for track in walk.holding.tracks.iter().filter(|t| t.kind != TrackKind::Path) {
        let name = if track.name.is_empty() { &track.id } else { &track.name };
        let along = track.shape.0.iter().flat_map(|line| line.lines().flat_map(steps).chain(line.0.last().copied()));
        points.extend(along.map(|c| (name.as_str(), (c.x, c.y))).filter(|(_, at)| free(*at)));
    }
    if points.is_empty() && !leks.is_empty() {
        let found = if walk.holding.tracks.iter().any(|t| t.kind != TrackKind::Path) { "roads and tracks, but none that far away" } else { "no road or track in the plan" };
        let needed = format!("a place at least {} m from the edge of every lek where a vehicle may be left", rules.vehicle_m);
        faults.push(fault("stops", &needed, found, "give places (--stop), or bring roads and tracks in: greyhen import FILE tracks SOURCE"));
        return vec![];
    }
    let mut stops: Vec<Spot> = Vec::new();
    for lek in leks {
        // The nearest in a straight line first, so that of equal minutes it stays.
        points.sort_by(|a, b| apart(a.1, lek.at_m).total_cmp(&apart(b.1, lek.at_m)));
        let Some((name, at_m)) = points.iter().min_by_key(|(_, at)| walk.min(*at, lek.at_m)) else { continue };
        let own_min = walk.min(*at_m, lek.at_m);
        let serves = |stop: &Spot| walk.min(stop.at_m, lek.at_m) <= own_min + pace.drive_min(apart(stop.at_m, *at_m));
        if !stops.iter().any(serves) {
            stops.push(Spot { name: (*name).to_owned(), at_m: *at_m });
        }
    }
    stops
}

/// Points from the start of a line up to its end, not with it.
fn steps(line: Line<f64>) -> impl Iterator<Item = Coord<f64>> {
    let parts = (apart((line.start.x, line.start.y), (line.end.x, line.end.y)) / STEP_M).ceil().max(1.0) as usize;
    (0..parts).map(move |i| line.start + line.delta() * (i as f64 / parts as f64))
}

/// The measured ways by what their ends are; both in the order base, stop, lek.
fn resolved(wanted: &Wanted, holding: &Holding, leks: &[LekSite], stops: &[Spot], faults: &mut Vec<Fault>) -> Vec<((End, End), u32)> {
    let ends_of = |said: &str| -> BTreeSet<End> {
        let meant = |p: &Person| means(said, &p.name) || means(said, &p.base.name);
        // A way from a base is that of everybody who starts there.
        let there = |p: &Person| wanted.people.iter().any(|other| meant(other) && other.base.at_m == p.base.at_m);
        let people: Vec<usize> = (0..wanted.people.len()).filter(|p| there(&wanted.people[*p])).collect();
        let base = (!people.is_empty()).then_some(End::Base(people));
        let stop = (0..stops.len()).filter(|s| means(said, &letters(*s)) || means(said, &stops[*s].name)).map(End::Stop);
        let planned = (0..leks.len()).filter(|l| means(said, &leks[*l].id) || means(said, &leks[*l].name)).map(End::Lek);
        let elsewhere = holding.leks.iter().filter(|l| !leks.iter().any(|p| p.id == l.id) && (means(said, &l.id) || means(said, &l.name))).map(|_| End::Elsewhere);
        base.into_iter().chain(stop).chain(planned).chain(elsewhere).collect()
    };
    let mut ways: Vec<((End, End), u32)> = Vec::new();
    for row in &wanted.measured {
        let mut one = |said: &String| {
            let ends = ends_of(said);
            if ends.len() != 1 {
                let found = if ends.is_empty() { format!("`{said}`") } else { format!("`{said}`, which names several") };
                faults.push(fault(&row.place, "an observer, a base, a stop (its letter or name) or a lek (its id or name)", found, "run it once without minutes: it tells the names and letters"));
            }
            (ends.len() == 1).then(|| ends.into_iter().next()).flatten()
        };
        let (Some(from), Some(to)) = (one(&row.from), one(&row.to)) else { continue };
        let ends = if from <= to { (from, to) } else { (to, from) };
        let fits = match &ends {
            (End::Base(_) | End::Stop(_), End::Stop(_)) | (End::Stop(_), End::Lek(_)) | (End::Lek(_), End::Lek(_)) => ends.0 != ends.1,
            (_, End::Elsewhere) => continue,
            _ => false,
        };
        if !fits {
            let found = format!("`{}` to `{}`", row.from, row.to);
            faults.push(fault(&row.place, "base to stop, stop to stop, stop to lek, or lek to lek", found, "a walk begins at a stop; a drive ends at one"));
        } else if ways.iter().any(|(other, _)| *other == ends) {
            faults.push(fault(&row.place, "each way once", format!("`{}` to `{}` again", row.from, row.to), "a figure serves both directions"));
        } else {
            ways.push((ends, row.minutes));
        }
    }
    ways
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo_types::{LineString, MultiLineString, Point};
    use guidance::{Country, Guidance};
    use holding::Track;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    /// Two leks by a track along a northing, a third far off the end of it.
    fn plan() -> Holding {
        let lek = |id: &str, e, n| Lek::new(id, format!("{id} Knowe"), Point::new(390_000.0 + e, 520_000.0 + n));
        let line = LineString::from(vec![(390_000.0, 520_000.0), (392_000.0, 520_000.0)]);
        Holding { leks: vec![lek("near", 500.0, 40.0), lek("by", 300.0, 500.0), lek("far", 2000.0, 4000.0)], tracks: vec![Track::new("T1", MultiLineString(vec![line]))], ..Holding::default() }
    }

    fn wanted() -> Wanted {
        let base = Spot { name: "Home".into(), at_m: (385_000.0, 520_000.0) };
        let mornings = day("2027-04-01").iter_days().take(40).collect();
        Wanted { year: 2027, people: vec![Person { name: "Ann".into(), base, ..Person::default() }], mornings, ..Wanted::default() }
    }

    fn asked(holding: &Holding, wanted: &Wanted) -> Result<OfPlan, Vec<Fault>> {
        let guidance = Guidance::load().unwrap();
        let (rules, pace) = (Rules::of(&guidance, Country::GB).unwrap(), Pace::of(&guidance, Country::GB).unwrap());
        of_plan(holding, &rules, &pace, 50.0, |_| Some((-2.15, 54.6)), wanted)
    }

    #[test]
    fn stops_are_sought_along_tracks_outside_the_vehicle_distance_and_shared_where_that_is_no_longer() {
        let holding = plan();
        let made = asked(&holding, &wanted()).unwrap();
        let rules = Rules::of(&Guidance::load().unwrap(), Country::GB).unwrap();
        assert!(made.sought && made.near_others.is_empty());
        for stop in &made.ask.stops {
            let metres = holding.leks.iter().map(|l| apart(stop.at_m, (l.at.x(), l.at.y())) - 50.0);
            assert!(metres.fold(f64::INFINITY, f64::min) >= rules.vehicle_m, "{stop:?}");
        }
        let [near, by, far] = [0, 1, 2].map(|l| &made.ask.leks[l]);
        // 150 m on a slant that begins 40 m off the track: 145 m along, to the next point looked at.
        assert!((apart(made.ask.stops[near.stop].at_m, near.at_m) - 150.0).abs() < STEP_M, "{:?}", made.ask.stops);
        assert_eq!(near.stop, by.stop, "500 m off, the stop of the neighbour will do");
        assert_ne!(near.stop, far.stop);
        assert!(made.ask.stops[far.stop].name.starts_with("B, T1, NY 9200 2000"), "{:?}", made.ask.stops);
        assert_eq!(made.climb_unknown.len(), 3, "the plan has no heights");
    }

    #[test]
    fn measured_minutes_stand_in_place_of_estimates_and_tie_a_lek_to_a_stop() {
        let row = |from: &str, to: &str, minutes| Measured { place: "row".into(), from: from.into(), to: to.into(), minutes };
        let at_gate = || Spot { name: "Gate".into(), at_m: (390_300.0, 520_000.0) };
        let at_ford = || Spot { name: "Ford".into(), at_m: (391_000.0, 520_000.0) };
        let stops = vec![at_gate(), at_ford()];
        let measured = vec![row("ford", "near", 33), row("Ann", "Gate", 21), row("B", "A", 9), row("far", "B", 80), row("near knowe", "far", 44)];
        let made = asked(&plan(), &Wanted { stops, measured, ..wanted() }).unwrap();
        assert!(!made.sought);
        assert_eq!((made.ask.leks[0].walk_min, made.ask.stops[made.ask.leks[0].stop].id.as_str()), (33, "B"));
        assert_eq!(made.walk_measured, [true, false, true]);
        // The lek in the middle is nearest to the gate, so that both stops stay.
        let at = |id: &str| made.ask.stops.iter().position(|s| s.id == id).unwrap();
        let (a, b) = (at("A"), at("B"));
        assert_eq!((made.ask.minutes.from_base[0][a], made.ask.minutes.between_stops[a][b], made.ask.minutes.between_stops[b][a]), (21, 9, 9));
        assert_eq!((made.ask.minutes.across[0][2], made.drives), (Some(44), (2, 3)));
        let lone = vec![row("ford", "near", 33), row("by", "A", 5), row("near", "by", 7)];
        let faults = asked(&plan(), &Wanted { measured: lone, stops: vec![at_gate(), at_ford()], ..wanted() }).unwrap_err();
        assert!(faults.len() == 1 && faults[0].found.contains("stops B and A"), "{faults:?}");
    }

    #[test]
    fn everything_wrong_is_said_at_once() {
        let row = |from: &str, to: &str| Measured { place: format!("{from}-{to}"), from: from.into(), to: to.into(), minutes: 1 };
        let measured = vec![row("Ann", "near"), row("nowhere", "A"), row("A", "near"), row("near", "a")];
        let faults = asked(&plan(), &Wanted { leks: vec!["near".into(), "lost".into()], measured, ..wanted() }).unwrap_err();
        assert_eq!(faults.iter().map(|f| f.place.as_str()).collect::<Vec<_>>(), ["leks", "Ann-near", "nowhere-A", "near-a"], "{faults:#?}");
        let bare = Holding { tracks: vec![], ..plan() };
        assert_eq!(asked(&bare, &wanted()).unwrap_err()[0].place, "stops");
    }

    #[test]
    fn a_stop_by_a_lek_that_is_not_planned_is_told() {
        let stops = vec![Spot { name: String::new(), at_m: (390_300.0, 520_420.0) }];
        let made = asked(&plan(), &Wanted { leks: vec!["far".into()], stops, ..wanted() }).unwrap();
        assert_eq!(made.near_others.iter().map(|n| n.lek_id.as_str()).collect::<Vec<_>>(), ["by"]);
        assert_eq!((letters(0), letters(25), letters(26), letters(51)), ("A".into(), "Z".into(), "AA".into(), "AZ".into()));
    }
}
