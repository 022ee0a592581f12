//! Differences against as now, paired draw by draw: a bar from the tenth to the ninetieth percentile, a tick at the middle.

use super::bars::{self, Axis, Bar};
use crate::content::OptionText;
use crate::content::option::met_change;
use crate::planned::Planned;
use crate::svg::Svg;
use habitat::ahead::compare;
use habitat::{Quantiles, Season};

/// Years told for a lek, where the forecast has them.
const TOLD: [u32; 2] = [10, 20];

/// Needs met by every option against as now.
pub fn met(planned: &Planned, text: &OptionText, width_mm: f64) -> String {
    let mut rows = vec![];
    for (path, said) in planned.paths.iter().zip(&text.paths).filter(|(p, _)| p.option.is_some()) {
        for (i, (year, q)) in met_change(planned, path).into_iter().enumerate() {
            rows.push(bar(if i == 0 { &said.name } else { "" }, year, &q));
        }
    }
    bars::chart(&rows, &Axis::of_draws("needs met, more or fewer than as now"), width_mm)
}

/// Seasons of one lek under the option handed over against as now.
pub fn lek(planned: &Planned, lek: usize, width_mm: f64) -> String {
    let (Some(now), Some(own)) = (planned.now(), planned.own()) else { return Svg::new(width_mm, 1.0).finish() };
    let id = &planned.base.assessment.leks[lek].id;
    let all = compare(planned.base, now.forecast, own.forecast);
    let told: Vec<u32> = TOLD.into_iter().filter(|y| now.forecast.years.iter().any(|l| l.year == *y)).collect();
    let told = if told.is_empty() { now.forecast.years.iter().rev().take(1).map(|y| y.year).collect() } else { told };
    let mut rows = vec![];
    for season in Season::ALL {
        for (i, year) in told.iter().enumerate() {
            let found = all.iter().find(|d| d.lek == *id && d.season == season && d.year == *year);
            rows.extend(found.map(|d| bar(if i == 0 { season.name() } else { "" }, format!("year {year}"), &d.margin)));
        }
    }
    bars::chart(&rows, &Axis::of_draws("supply over need, more or less than as now"), width_mm)
}

fn bar(name: &str, when: String, q: &Quantiles) -> Bar {
    let apart = q.p10 > 0.0 || q.p90 < 0.0;
    let words = match (q.p10 == 0.0 && q.p90 == 0.0, apart) {
        (true, _) => "the same".to_owned(),
        (false, true) => format!("{}, {}", change(q.p50), if q.p50 > 0.0 { "surely better" } else { "surely worse" }),
        (false, false) => format!("{}, not told apart", change(q.p50)),
    };
    Bar { name: name.to_owned(), when, low: q.p10, middle: q.p50, high: q.p90, words }
}

/// A change in words.
fn change(value: f64) -> String {
    if value.abs() < 0.005 { "under 0.01".to_owned() } else { format!("{value:+.2}") }
}
