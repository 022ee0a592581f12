//! The leks and twelve springs of dawn visits.

use crate::noise::chance;
use crate::site::Site;
use chrono::{NaiveDate, NaiveTime};
use holding::{Lek, Visit};

/// First spring counted.
const FIRST_YEAR: i32 = 2015;

/// Cocks at the best visit of each spring, from the first year; `None`: not visited.
const WALL: [Option<u32>; 12] = [Some(11), Some(11), Some(10), Some(9), Some(9), None, Some(8), Some(6), Some(6), Some(5), Some(4), Some(3)];
const MOOR: [Option<u32>; 12] = [Some(8), Some(7), Some(8), Some(9), Some(8), Some(8), Some(7), Some(8), Some(9), Some(8), Some(8), Some(8)];
const LOW: [Option<u32>; 12] = [Some(4), Some(3), Some(3), None, Some(3), Some(2), Some(2), None, None, None, None, None];

/// The display grounds.
pub fn leks(site: &Site) -> Vec<Lek> {
    [("L1", "Mirkhope Edge", site.sites.leks.wall, 60.0), ("L2", "Quarlow Top", site.sites.leks.moor, 70.0), ("L3", "Low Quarlow", site.sites.leks.low, 50.0)]
        .into_iter()
        .map(|(id, name, cell, radius_m)| {
            let mut lek = Lek::new(id, name, site.point(cell));
            lek.radius_m = Some(radius_m);
            lek
        })
        .collect()
}

/// Local clock minutes after midnight at which the sun rises in the demo's dale, roughly, from 1 April.
fn rough_sunrise_min(days_from_april: i64) -> i64 {
    402 - days_from_april * 23 / 10
}

/// All visits, two a spring where the lek was visited.
pub fn visits(seed: u64) -> Vec<Visit> {
    let mut out = Vec::new();
    for (k, (lek, best)) in [("L1", WALL), ("L2", MOOR), ("L3", LOW)].into_iter().enumerate() {
        for (i, cocks) in best.into_iter().enumerate() {
            let Some(cocks) = cocks else { continue };
            let year = FIRST_YEAR + i as i32;
            let draw = |salt: u64| chance(i64::from(year), k as i64, seed ^ salt);
            // A second visit was missed now and then; where there were two, one saw the fewer birds.
            let twice = draw(0x31) >= 0.16;
            for second in [false, true].into_iter().take(1 + usize::from(twice)) {
                let from_april = 5 + (draw(0x32) * 12.0) as i64 + if second { 16 } else { 0 };
                let fewer = if twice && (draw(0x33) < 0.5) == second { (draw(0x34) * 2.6) as u32 } else { 0 };
                out.push(visit(lek, year, from_april, (draw(0x35) * 50.0) as i64 - 35, cocks.saturating_sub(fewer), second, draw(0x36)));
            }
        }
    }
    // One count was taken when the season was over, one long after the birds had gone to feed.
    out.push(one_off("L2", (2019, 6, 20), (4, 20), 2, "after the season; heard from the track"));
    out.push(one_off("L1", (2022, 5, 2), (9, 40), 1, "late start, birds already feeding"));
    out.sort_by(|a, b| a.lek.cmp(&b.lek).then(a.date.cmp(&b.date)));
    for (i, visit) in out.iter_mut().enumerate() {
        visit.id = format!("K{:03}", i + 1);
    }
    out
}

fn visit(lek: &str, year: i32, from_april: i64, after_sunrise_min: i64, cocks: u32, second: bool, weather: f64) -> Visit {
    let first = NaiveDate::from_ymd_opt(year, 4, 1).unwrap_or_default();
    let minute = (rough_sunrise_min(from_april) + after_sunrise_min) / 5 * 5;
    Visit {
        id: String::new(),
        lek: lek.to_string(),
        date: first + chrono::Days::new(from_april as u64),
        start: NaiveTime::from_hms_opt((minute / 60) as u32, (minute % 60) as u32, 0),
        cocks: Some(cocks),
        hens: Some(if second { cocks / 4 } else { cocks / 2 }),
        weather: ["still, clear", "light air, frost", "light wind, cloud", "breeze, dry"][(weather * 3.99) as usize].to_string(),
        note: String::new(),
        ..Visit::default()
    }
}

fn one_off(lek: &str, (y, m, d): (i32, u32, u32), (hour, minute): (u32, u32), cocks: u32, note: &str) -> Visit {
    Visit {
        id: String::new(),
        lek: lek.to_string(),
        date: NaiveDate::from_ymd_opt(y, m, d).unwrap_or_default(),
        start: NaiveTime::from_hms_opt(hour, minute, 0),
        cocks: Some(cocks),
        hens: None,
        weather: "light wind".to_string(),
        note: note.to_string(),
        ..Visit::default()
    }
}
