//! The years ahead of one lek: a panel a season, supply over need against the years, the option beside as now.
//!
//! As now is a dashed line with open marks in a hatched band, the option a firm line with full marks in a tinted band; the band holds
//! 8 of 10 draws. The heavy line at one is the need. Every panel has its own height, which its figures tell.

use crate::planned::{Path, Planned};
use crate::svg::hatch::Hatch;
use crate::svg::palette::{BLAEBERRY, COTTON, INK, RUSSET, STONE};
use crate::svg::{Anchor, Svg, Type, fitted, number};
use habitat::{Quantiles, Season};
use std::fmt::Write;

const COLUMNS: usize = 2;
const GAP_MM: f64 = 5.0;
/// Margins above this run off the top of a panel.
const MOST: f64 = 10.0;

/// One course: year and figure.
pub(super) type Curve = Vec<(f64, Quantiles)>;

/// The picture of one lek, by its place in the ledger.
pub fn draw(planned: &Planned, lek: usize, width_mm: f64, height_mm: f64) -> String {
    let mut svg = Svg::new(width_mm, height_mm);
    let (Some(now), Some(own)) = (planned.now(), planned.own()) else { return svg.finish() };
    let rows = (Season::ALL.len() + 1).div_ceil(COLUMNS);
    let (wide, high) = ((width_mm - GAP_MM) / COLUMNS as f64, height_mm / rows as f64);
    let place = |i: usize| ((i % COLUMNS) as f64 * (wide + GAP_MM), (i / COLUMNS) as f64 * high);
    for (i, season) in Season::ALL.into_iter().enumerate() {
        let (x, y) = place(i);
        panel(&mut svg, season, &curve(now, lek, season), &curve(own, lek, season), [x, y, wide, high - 3.0]);
    }
    let (x, y) = place(Season::ALL.len());
    key(&mut svg, &own.name, x, y, wide);
    svg.finish()
}

fn curve(path: &Path, lek: usize, season: Season) -> Curve {
    let of = |y: &habitat::ahead::YearLedger| y.leks.get(lek).and_then(|l| l.seasons.iter().find(|s| s.season == season)).map(|s| (f64::from(y.year), s.margin));
    path.forecast.years.iter().filter_map(of).collect()
}

/// One season in a box: left, top, width, height.
fn panel(svg: &mut Svg, season: Season, now: &Curve, own: &Curve, [x, y, wide, high]: [f64; 4]) {
    let all = || now.iter().chain(own).map(|(_, q)| q);
    let most = all().map(|q| q.p90).fold(0.0, f64::max);
    let top = [1.25, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0].into_iter().find(|t| most <= *t).unwrap_or(MOST);
    let (left, right, head, base) = (x + 8.0, x + wide - 1.0, y + 6.2, y + high - 4.6);
    let last = now.iter().chain(own).map(|(year, _)| *year).fold(1.0, f64::max);
    let at = |year: f64| left + (right - left) * year / last;
    let up = |margin: f64| base - (base - head) * (margin / top).clamp(0.0, 1.0);
    svg.text(x, y + 3.6, Type::plain(3.4).bold(), season.name());
    svg.text(right, y + 3.6, Type::plain(2.6).colour(STONE).anchor(Anchor::End), season.months());
    svg.rect(left, head, right - left, base - head, &format!(r#"fill="{COTTON}" stroke="{STONE}" stroke-width=".12""#));
    let step = if top > 4.0 {
        2.0
    } else if top > 2.0 {
        1.0
    } else {
        0.5
    };
    for i in 0..=(top / step) as usize {
        let level = i as f64 * step;
        svg.line(left, up(level), right, up(level), &format!(r#"stroke="{STONE}" stroke-width=".08""#));
        svg.text(left - 1.0, up(level) + 0.9, Type::plain(2.6).colour(STONE).anchor(Anchor::End), &number(level));
    }
    let ten = if last > 60.0 { 20 } else if last > 12.0 { 10 } else if last > 4.0 { 2 } else { 1 };
    for year in (0..=last as usize).step_by(ten) {
        let words = if year == 0 { "now".to_owned() } else { year.to_string() };
        svg.line(at(year as f64), base, at(year as f64), base + 0.8, &format!(r#"stroke="{INK}" stroke-width=".15""#));
        svg.text(at(year as f64), base + 3.3, Type::plain(2.6).colour(STONE).anchor(if year == 0 { Anchor::Start } else if year == last as usize { Anchor::End } else { Anchor::Middle }), &words);
    }
    svg.clip(left, head, right - left, base - head);
    let hatch = svg.hatch(Hatch::BandNow);
    svg.path(&band(own, &at, &up), &format!(r#"fill="{BLAEBERRY}" fill-opacity=".22""#));
    svg.path(&band(now, &at, &up), &format!(r#"fill="{hatch}" stroke="{STONE}" stroke-width=".12""#));
    svg.line(left, up(1.0), right, up(1.0), &format!(r#"stroke="{RUSSET}" stroke-width=".6""#));
    svg.path(&line(now, &at, &up), &format!(r#"fill="none" stroke="{INK}" stroke-width=".4" stroke-dasharray="1.6 .9""#));
    svg.path(&line(own, &at, &up), &format!(r#"fill="none" stroke="{INK}" stroke-width=".6""#));
    svg.end();
    for (year, q) in now {
        svg.circle(at(*year), up(q.p50), 0.75, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".25""#));
    }
    for (year, q) in own.iter().filter(|(year, _)| *year > 0.0) {
        svg.circle(at(*year), up(q.p50), 0.75, &format!(r#"fill="{INK}""#));
    }
    if most > top {
        svg.text(right - 1.0, base - 1.2, Type::plain(2.6).anchor(Anchor::End), &format!("runs to {} off the top", crate::words::ratio(most)));
    }
    svg.line(left, base, right, base, &format!(r#"stroke="{INK}" stroke-width=".25""#));
}

/// The middle of a curve.
pub(super) fn line(curve: &Curve, at: &dyn Fn(f64) -> f64, up: &dyn Fn(f64) -> f64) -> String {
    let mut out = String::new();
    for (i, (year, q)) in curve.iter().enumerate() {
        let _ = write!(out, "{}{} {}", if i == 0 { 'M' } else { 'L' }, number(at(*year)), number(up(q.p50)));
    }
    out
}

/// The band of a curve.
pub(super) fn band(curve: &Curve, at: &dyn Fn(f64) -> f64, up: &dyn Fn(f64) -> f64) -> String {
    let edge = curve.iter().map(|(year, q)| (*year, q.p90)).chain(curve.iter().rev().map(|(year, q)| (*year, q.p10)));
    let mut out = String::new();
    for (i, (year, margin)) in edge.enumerate() {
        let _ = write!(out, "{}{} {}", if i == 0 { 'M' } else { 'L' }, number(at(year)), number(up(margin)));
    }
    if out.is_empty() { out } else { out + "Z" }
}

fn key(svg: &mut Svg, name: &str, x: f64, y: f64, wide: f64) {
    let look = Type::plain(2.9);
    svg.text(x + 8.0, y + 3.6, Type::plain(3.4).bold(), "How to read it");
    let rows = [fitted(name, 2.9, wide - 24.0), "As now, nothing done".to_owned(), "The need: below it the season is short".to_owned()];
    let mut row = y + 9.5;
    let (left, right) = (x + 8.0, x + 20.0);
    svg.rect(left, row - 2.4, right - left, 3.6, &format!(r#"fill="{BLAEBERRY}" fill-opacity=".22""#));
    svg.line(left, row - 0.6, right, row - 0.6, &format!(r#"stroke="{INK}" stroke-width=".6""#));
    svg.circle(left + 6.0, row - 0.6, 0.75, &format!(r#"fill="{INK}""#));
    svg.text(right + 2.0, row + 0.4, look, &rows[0]);
    row += 6.0;
    let hatch = svg.hatch(Hatch::BandNow);
    svg.rect(left, row - 2.4, right - left, 3.6, &format!(r#"fill="{hatch}" stroke="{STONE}" stroke-width=".12""#));
    svg.line(left, row - 0.6, right, row - 0.6, &format!(r#"stroke="{INK}" stroke-width=".4" stroke-dasharray="1.6 .9""#));
    svg.circle(left + 6.0, row - 0.6, 0.75, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".25""#));
    svg.text(right + 2.0, row + 0.4, look, &rows[1]);
    row += 6.0;
    svg.line(left, row - 0.6, right, row - 0.6, &format!(r#"stroke="{RUSSET}" stroke-width=".6""#));
    svg.text(right + 2.0, row + 0.4, look, &rows[2]);
    row += 5.4;
    for words in ["Up: what the ground gives over what the birds need.", "Across: years from now. Bands hold 8 of 10 draws,", "lines their middle, straight between the years told."] {
        svg.text(left, row, Type::plain(2.8).colour(STONE), words);
        row += 3.9;
    }
}
