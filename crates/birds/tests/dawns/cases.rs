//! Seeded springs to plan.

use birds::dawns::{Ask, LekSite, Minutes, Observer, Pace, Rules, Stop};
use chrono::{Days, NaiveDate};
use guidance::{Country, Guidance};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

pub const YEAR: i32 = 2027;

pub fn rules() -> Rules {
    Rules::of(&Guidance::load().unwrap(), Country::GB).unwrap()
}

fn day(month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(YEAR, month, day).unwrap()
}

/// About where an easting and northing in the Highlands lie; near enough for sunrise.
fn lon_lat(at_m: (f64, f64)) -> (f64, f64) {
    (-3.9 + (at_m.0 - 280_000.0) / 61_000.0, 56.7 + (at_m.1 - 755_000.0) / 111_000.0)
}

/// 3 to 6 leks, 1 or 2 observers, 1 to 4 mornings a window, many of them near the border of the windows; minutes at random, not even
/// triangles, so that the shortest way is not by chance the straight one.
pub fn small(seed: u64) -> (Ask, Rules) {
    let mut rng = Pcg64Mcg::seed_from_u64(seed);
    let n = rng.random_range(3..=6);
    let stops: Vec<Stop> = (0..rng.random_range(2..=n)).map(|i| Stop { id: format!("S{i}"), name: format!("stop {i}"), at_m: (280_000.0 + 900.0 * i as f64, 755_000.0) }).collect();
    let leks: Vec<LekSite> = (0..n)
        .map(|i| {
            let at_m = (280_000.0 + rng.random_range(-30_000.0..30_000.0), 755_000.0 + rng.random_range(-30_000.0..30_000.0));
            let walk_min = if rng.random_bool(0.08) { 95 } else { rng.random_range(0..30) };
            LekSite { id: format!("L{i}"), name: format!("lek {i}"), at_m, radius_m: 50.0, lon_lat_deg: lon_lat(at_m), stop: rng.random_range(0..stops.len()), walk_min }
        })
        .collect();
    let mut mornings = std::collections::BTreeSet::new();
    let most = if n > 4 { 3 } else { 4 };
    for (first, last, edge) in [(day(3, 21), day(4, 18), day(4, 11)), (day(4, 19), day(5, 15), day(4, 19))] {
        for _ in 0..rng.random_range(1..=most) {
            let near = rng.random_bool(0.8);
            let (from, days) = if near { (edge, 7) } else { (first, (last - first).num_days() as u64) };
            mornings.insert(from + Days::new(rng.random_range(0..=days)));
        }
    }
    let same = rng.random_bool(0.4);
    let observers: Vec<Observer> = (0..rng.random_range(1..=2))
        .map(|i| {
            let away = mornings.iter().filter(|_| rng.random_bool(0.2)).copied().collect();
            Observer { name: format!("observer {i}"), base: if same { "base".into() } else { format!("base {i}") }, away }
        })
        .collect();
    let mut minutes = |far: u32| (0..stops.len()).map(|_| rng.random_range(5..far)).collect::<Vec<u32>>();
    let road = minutes(170);
    let from_base = observers.iter().map(|_| if same { road.clone() } else { minutes(170) }).collect();
    let mut between_stops: Vec<Vec<u32>> = stops.iter().map(|_| minutes(60)).collect();
    (0..stops.len()).for_each(|i| between_stops[i][i] = 0);
    let across = (0..n).map(|_| (0..n).map(|_| rng.random_bool(0.3).then(|| rng.random_range(5..60))).collect()).collect();
    let minutes = Minutes { from_base, between_stops, across };
    let rules = Rules { apart_days: rng.random_range(0..=12), watch_min: rng.random_range(10..=30), settle_min: rng.random_range(5..=15), ..rules() };
    (Ask { of: "small".into(), year: YEAR, leks, stops, observers, mornings, minutes }, rules)
}

/// Leks over 30 by 30 km, each with a stop near by, shared where one is within 2.5 km; each observer from a base of their own;
/// minutes by the default paces; every morning of both windows.
pub fn landscape(seed: u64, n: usize, observers: usize) -> Ask {
    let mut rng = Pcg64Mcg::seed_from_u64(seed);
    let mut anywhere = |side: f64| (280_000.0 + rng.random_range(0.0..side), 755_000.0 + rng.random_range(0.0..side));
    let bases: Vec<(f64, f64)> = (0..observers).map(|_| anywhere(30_000.0)).collect();
    let leks_at: Vec<(f64, f64)> = (0..n).map(|_| anywhere(30_000.0)).collect();
    let pace = Pace::of(&Guidance::load().unwrap(), Country::GB).unwrap();
    let mut stops: Vec<Stop> = Vec::new();
    let mut leks: Vec<LekSite> = Vec::new();
    for (i, &at_m) in leks_at.iter().enumerate() {
        let straight = |s: &Stop| (s.at_m.0 - at_m.0).hypot(s.at_m.1 - at_m.1);
        let near = (0..stops.len()).filter(|s| straight(&stops[*s]) < 2_500.0).min_by(|a, b| straight(&stops[*a]).total_cmp(&straight(&stops[*b])));
        let stop = near.unwrap_or_else(|| {
            stops.push(Stop { id: format!("S{i}"), name: format!("stop {i}"), at_m: (at_m.0 + rng.random_range(300.0..1_500.0), at_m.1) });
            stops.len() - 1
        });
        let walk_min = pace.walk_min(straight(&stops[stop]), rng.random_range(0.0..150.0));
        leks.push(LekSite { id: format!("L{i}"), name: format!("lek {i}"), at_m, radius_m: 50.0, lon_lat_deg: lon_lat(at_m), stop, walk_min });
    }
    let minutes = pace.minutes(&bases, &stops, &leks);
    let observers = (0..observers).map(|i| Observer { name: format!("observer {i}"), base: format!("base {i}"), away: Default::default() }).collect();
    let mornings = day(3, 1).iter_days().take_while(|d| *d <= day(5, 31)).collect();
    Ask { of: format!("landscape {seed}"), year: YEAR, leks, stops, observers, mornings, minutes }
}

/// The same leks with all ways shorter, as if on less ground.
pub fn nearer(mut ask: Ask, share: f64) -> Ask {
    let short = |m: &mut u32| *m = (f64::from(*m) * share).ceil() as u32;
    ask.minutes.from_base.iter_mut().chain(&mut ask.minutes.between_stops).flatten().for_each(short);
    ask.minutes.across.iter_mut().flatten().flatten().for_each(short);
    ask.leks.iter_mut().for_each(|lek| short(&mut lek.walk_min));
    ask
}
