//! Differences against as now, paired draw by draw: a bar from the tenth to the ninetieth percentile, a tick at the middle.
//!
//! A bar that lies wholly on one side of nothing is full: the two are told apart. One that straddles nothing is hatched.

use crate::content::OptionText;
use crate::content::option::met_change;
use crate::planned::Planned;
use crate::svg::hatch::Hatch;
use crate::svg::palette::{BLAEBERRY, COTTON, INK, STONE};
use crate::svg::{Anchor, Svg, Type, fitted};
use habitat::ahead::compare;
use habitat::{Quantiles, Season};

const ROW_MM: f64 = 5.6;
const FOOT_MM: f64 = 13.0;
/// Bars narrower than this have no room for the tick at their middle.
const WIDE_MM: f64 = 1.5;
/// Years told for a lek, where the forecast has them.
const TOLD: [u32; 2] = [10, 20];

/// A row: what stands before it, and its bar. A row without a bar is a heading.
type Row = (String, Option<(String, Quantiles)>);

/// Needs met by every option against as now.
pub fn met(planned: &Planned, text: &OptionText, width_mm: f64) -> String {
    let mut rows: Vec<Row> = vec![];
    for (path, said) in planned.paths.iter().zip(&text.paths).filter(|(p, _)| p.option.is_some()) {
        for (i, (year, q)) in met_change(planned, path).into_iter().enumerate() {
            rows.push((if i == 0 { said.name.clone() } else { String::new() }, Some((year, q))));
        }
    }
    chart(&rows, "needs met, more or fewer than as now", width_mm)
}

/// Seasons of one lek under the option handed over against as now.
pub fn lek(planned: &Planned, lek: usize, width_mm: f64) -> String {
    let (Some(now), Some(own)) = (planned.now(), planned.own()) else { return Svg::new(width_mm, 1.0).finish() };
    let id = &planned.base.assessment.leks[lek].id;
    let all = compare(planned.base, now.forecast, own.forecast);
    let told: Vec<u32> = TOLD.into_iter().filter(|y| now.forecast.years.iter().any(|l| l.year == *y)).collect();
    let told = if told.is_empty() { now.forecast.years.iter().rev().take(1).map(|y| y.year).collect() } else { told };
    let mut rows: Vec<Row> = vec![];
    for season in Season::ALL {
        for (i, year) in told.iter().enumerate() {
            let found = all.iter().find(|d| d.lek == *id && d.season == season && d.year == *year);
            rows.extend(found.map(|d| (if i == 0 { season.name().to_owned() } else { String::new() }, Some((format!("year {year}"), d.margin)))));
        }
    }
    chart(&rows, "supply over need, more or less than as now", width_mm)
}

/// A step of the axis that gives three to six figures a side.
fn step(reach: f64) -> f64 {
    [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0].into_iter().find(|s| reach / s <= 4.0).unwrap_or(reach / 4.0)
}

/// A change in words.
fn change(value: f64) -> String {
    if value.abs() < 0.005 { "under 0.01".to_owned() } else { format!("{value:+.2}") }
}

fn chart(rows: &[Row], axis: &str, width_mm: f64) -> String {
    const NAME_MM: f64 = 44.0;
    const YEAR_MM: f64 = 26.0;
    const SAID_MM: f64 = 38.0;
    let bars = || rows.iter().filter_map(|(_, bar)| bar.as_ref()).map(|(_, q)| q);
    let (low, high) = bars().fold((0.0_f64, 0.0_f64), |(l, h), q| (l.min(q.p10), h.max(q.p90)));
    let step = step((high - low).max(0.02) / 1.5);
    let (low, high) = (((low / step).floor() * step).min(-step), ((high / step).ceil() * step).max(step));
    let mut svg = Svg::new(width_mm, 2.0 + rows.len() as f64 * ROW_MM + FOOT_MM);
    let (left, right, base) = (NAME_MM + YEAR_MM, width_mm - SAID_MM, 2.0 + rows.len() as f64 * ROW_MM);
    let at = |v: f64| left + (right - left) * (v - low) / (high - low);
    let digits = if step < 0.1 { 2 } else { 1 };
    for i in (low / step).round() as i64..=(high / step).round() as i64 {
        let level = i as f64 * step;
        svg.line(at(level), 1.0, at(level), base, &format!(r#"stroke="{STONE}" stroke-width=".08""#));
        let words = if i == 0 { "0".to_owned() } else { format!("{level:+.digits$}") };
        svg.text(at(level), base + 3.4, Type::plain(2.6).colour(STONE).anchor(Anchor::Middle), &words);
    }
    svg.line(at(0.0), 0.5, at(0.0), base + 0.6, &format!(r#"stroke="{INK}" stroke-width=".4""#));
    for (i, (name, bar)) in rows.iter().enumerate() {
        let y = 2.0 + i as f64 * ROW_MM;
        if !name.is_empty() {
            if i > 0 {
                svg.line(0.0, y - 0.1, width_mm, y - 0.1, &format!(r#"stroke="{STONE}" stroke-width=".08""#));
            }
            svg.text(0.0, y + 3.8, Type::plain(3.1).bold(), &fitted(name, 3.1, NAME_MM - 1.0));
        }
        let Some((year, q)) = bar else { continue };
        svg.text(NAME_MM, y + 3.8, Type::plain(2.9), year);
        let (from, to, top) = (at(q.p10), at(q.p90), y + 1.2);
        let apart = q.p10 > 0.0 || q.p90 < 0.0;
        if q.p10 == 0.0 && q.p90 == 0.0 {
            svg.circle(at(0.0), top + 1.6, 0.8, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".3""#));
        } else if apart {
            svg.rect(from, top, (to - from).max(0.4), 3.2, &format!(r#"fill="{BLAEBERRY}""#));
            if to - from > WIDE_MM {
                svg.line(at(q.p50), top, at(q.p50), top + 3.2, &format!(r#"stroke="{COTTON}" stroke-width=".5""#));
            }
        } else {
            let fill = svg.hatch(Hatch::BandNow);
            svg.rect(from, top, (to - from).max(0.4), 3.2, &format!(r#"fill="{COTTON}""#));
            svg.rect(from, top, (to - from).max(0.4), 3.2, &format!(r#"fill="{fill}" stroke="{INK}" stroke-width=".2""#));
            svg.line(at(q.p50), top - 0.3, at(q.p50), top + 3.5, &format!(r#"stroke="{INK}" stroke-width=".5""#));
        }
        let words = match (q.p10 == 0.0 && q.p90 == 0.0, apart) {
            (true, _) => "the same".to_owned(),
            (false, true) => format!("{}, {}", change(q.p50), if q.p50 > 0.0 { "surely better" } else { "surely worse" }),
            (false, false) => format!("{}, not told apart", change(q.p50)),
        };
        svg.text(right + 2.0, y + 3.8, Type::plain(2.8), &words);
    }
    svg.line(left, base, right, base, &format!(r#"stroke="{INK}" stroke-width=".2""#));
    svg.text((left + right) / 2.0, base + 7.2, Type::plain(2.8).anchor(Anchor::Middle), axis);
    let y = base + 9.0;
    svg.rect(0.0, y, 8.0, 3.0, &format!(r#"fill="{BLAEBERRY}""#));
    svg.line(4.0, y, 4.0, y + 3.0, &format!(r#"stroke="{COTTON}" stroke-width=".5""#));
    svg.text(9.5, y + 2.4, Type::plain(2.8), "8 of 10 draws and their middle: told apart");
    let fill = svg.hatch(Hatch::BandNow);
    svg.rect(78.0, y, 8.0, 3.0, &format!(r#"fill="{fill}" stroke="{INK}" stroke-width=".2""#));
    svg.text(87.5, y + 2.4, Type::plain(2.8), "on both sides of nothing: not told apart");
    svg.finish()
}
