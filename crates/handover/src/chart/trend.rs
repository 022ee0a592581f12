//! The trend of the counts: the index year by year with its limits, the line with how steep it may be, the bent line and the smooth
//! curve, the base year, and years without a valid count, so that a gap is never read as nought.

use super::axis::step;
use crate::svg::hatch::Hatch;
use crate::svg::palette::{BLAEBERRY, COTTON, INK, RUSSET, STONE};
use crate::svg::{Anchor, Svg, Type, number};
use birds::trend::Trend;
use birds::trend::words::share;
use std::fmt::Write;

const LEFT_MM: f64 = 12.0;
const TOP_MM: f64 = 8.0;
const FOOT_MM: f64 = 23.0;
/// Height of a third line of the key, millimetres.
const THIRD_MM: f64 = 5.2;
/// Limits reach at most so many times the highest index before they run off the top.
const REACH: f64 = 1.7;

/// The chart; `None` without an index.
pub fn draw(t: &Trend, width_mm: f64, height_mm: f64) -> Option<String> {
    let line = Level::of(t)?;
    let (first, last) = t.span;
    let span = usize::try_from(last - first).ok()? + 1;
    let most = t.index.iter().chain(&t.smooth).map(|y| y.value).chain([line.at(first, t.annual_change.value), line.at(last, t.annual_change.value)]).fold(1.0, f64::max);
    let limit = t.index.iter().filter_map(|y| y.hi).fold(0.0, f64::max);
    let step = step(limit.min(most * REACH).max(most) / 5.0);
    let top = (limit.min(most * REACH).max(most) / step).ceil() * step;

    let gaps = t.index.len() < span;
    let third = if gaps || t.index.iter().any(|y| y.value == 0.0) { THIRD_MM } else { 0.0 };
    let mut svg = Svg::new(width_mm, height_mm);
    let (left, right, base) = (LEFT_MM, width_mm - 1.0, height_mm - FOOT_MM - third);
    let slot = (right - left) / span as f64;
    let at = |year: i32| left + slot * (f64::from(year - first) + 0.5);
    let up = |index: f64| base - (base - TOP_MM) * (index / top).clamp(0.0, 1.0);
    svg.text(0.0, 3.4, Type::plain(2.9), &format!("Displaying cocks, times those of {}", t.base));
    let digits = if step < 0.1 { 2 } else { usize::from(step.fract() != 0.0) };
    for i in 0..=(top / step).round() as usize {
        let level = i as f64 * step;
        svg.line(left, up(level), right, up(level), &format!(r#"stroke="{STONE}" stroke-width=".08""#));
        svg.text(left - 1.2, up(level) + 0.9, Type::plain(2.7).colour(STONE).anchor(Anchor::End), &format!("{level:.digits$}"));
    }
    let every = (9.5 / slot).ceil().max(1.0) as i32;
    for year in first..=last {
        let held = t.index.iter().find(|y| y.year == year);
        if held.is_none() {
            let fill = svg.hatch(Hatch::Unmapped);
            svg.rect(at(year) - slot.min(8.0) / 2.0, TOP_MM, slot.min(8.0), base - TOP_MM, &format!(r#"fill="{fill}""#));
        }
        if (year - first) % every == 0 {
            svg.line(at(year), base, at(year), base + 0.9, &format!(r#"stroke="{INK}" stroke-width=".15""#));
            svg.text(at(year), base + 4.0, Type::plain(2.7).anchor(Anchor::Middle), &year.to_string());
            if let Some(held) = held {
                svg.text(at(year), base + 7.8, Type::plain(2.5).colour(STONE).anchor(Anchor::Middle), &held.leks.to_string());
            }
        }
    }
    svg.text(left - 1.2, base + 7.8, Type::plain(2.5).colour(STONE).anchor(Anchor::End), "leks");

    svg.clip(left, TOP_MM, right - left, base - TOP_MM);
    let years = || first..=last;
    let trace = |of: &dyn Fn(i32) -> f64| path(years().map(|year| (at(year), up(of(year)))));
    let band = path(years().map(|y| (at(y), up(line.steepest(y, t)))).chain(years().rev().map(|y| (at(y), up(line.flattest(y, t))))));
    let hatch = svg.hatch(Hatch::BandNow);
    svg.path(&format!("{band}Z"), &format!(r#"fill="{hatch}" stroke="{STONE}" stroke-width=".12""#));
    svg.path(&trace(&|y| line.at(y, t.annual_change.value)), &format!(r#"fill="none" stroke="{INK}" stroke-width=".45" stroke-dasharray="3 1.2""#));
    if !t.bends.is_empty() {
        svg.path(&trace(&|y| line.bent(y, t)), &format!(r#"fill="none" stroke="{RUSSET}" stroke-width=".6" stroke-dasharray="2.2 .8 .5 .8""#));
    }
    svg.path(&path(t.smooth.iter().map(|y| (at(y.year), up(y.value)))), &format!(r#"fill="none" stroke="{BLAEBERRY}" stroke-width=".7""#));
    for bend in &t.bends {
        svg.line(at(bend.year), TOP_MM, at(bend.year), base, &format!(r#"stroke="{RUSSET}" stroke-width=".25" stroke-dasharray=".6 .8""#));
    }
    svg.end();
    for y in &t.index {
        if let (Some(lo), Some(hi)) = (y.lo, y.hi) {
            svg.line(at(y.year), up(lo), at(y.year), up(hi), &format!(r#"stroke="{INK}" stroke-width=".3""#));
            if hi > top {
                svg.path(&format!("M{} {}l-.8 1.5h1.6Z", number(at(y.year)), number(TOP_MM)), &format!(r#"fill="{INK}""#));
            }
        }
        match (y.year == t.base, y.value > 0.0) {
            (true, _) => {
                svg.circle(at(y.year), up(y.value), 1.5, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".35""#));
                svg.circle(at(y.year), up(y.value), 0.6, &format!(r#"fill="{INK}""#));
            }
            (false, true) => svg.circle(at(y.year), up(y.value), 0.9, &format!(r#"fill="{INK}""#)),
            (false, false) => svg.circle(at(y.year), up(0.0), 0.9, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".3""#)),
        }
    }
    for bend in &t.bends {
        svg.text(at(bend.year) + 0.8, TOP_MM + 2.6, Type::plain(2.6).rim(), &format!("bends after {}", bend.year));
    }
    svg.line(left, base, right, base, &format!(r#"stroke="{INK}" stroke-width=".3""#));
    key(&mut svg, t, gaps, base + 12.0);
    Some(svg.finish())
}

fn path(points: impl Iterator<Item = (f64, f64)>) -> String {
    let mut out = String::new();
    for (i, (x, y)) in points.enumerate() {
        let _ = write!(out, "{}{} {}", if i == 0 { 'M' } else { 'L' }, number(x), number(y));
    }
    out
}

/// Where the lines lie: the slope is the trend's own, the level that at which the line holds as many cocks as were counted.
struct Level {
    level: f64,
    pivot: f64,
    /// That of the bent line.
    bent: f64,
}

impl Level {
    fn of(t: &Trend) -> Option<Self> {
        let held: Vec<(i32, f64, f64)> = t.index.iter().filter(|y| y.value > 0.0).map(|y| (y.year, y.counted as f64, y.value)).collect();
        let counted: f64 = held.iter().map(|(_, n, _)| n).sum();
        if held.is_empty() || counted <= 0.0 {
            return None;
        }
        let pivot = held.iter().map(|(y, n, _)| f64::from(*y) * n).sum::<f64>() / counted;
        let mut out = Self { level: 1.0, pivot, bent: 1.0 };
        let level = |of: &dyn Fn(i32) -> f64| counted / held.iter().map(|(y, n, v)| of(*y) * n / v).sum::<f64>();
        let (straight, bent) = (level(&|y| out.at(y, t.annual_change.value)), level(&|y| out.bent(y, t)));
        (out.level, out.bent) = (straight, bent);
        Some(out)
    }

    fn at(&self, year: i32, change: f64) -> f64 {
        self.level * (change.ln_1p() * (f64::from(year) - self.pivot)).exp()
    }

    fn steepest(&self, year: i32, t: &Trend) -> f64 {
        self.at(year, t.annual_change.lo).max(self.at(year, t.annual_change.hi))
    }

    fn flattest(&self, year: i32, t: &Trend) -> f64 {
        self.at(year, t.annual_change.lo).min(self.at(year, t.annual_change.hi))
    }

    /// The bent line: the change of each leg after the other.
    fn bent(&self, year: i32, t: &Trend) -> f64 {
        let Some(first) = t.bends.first() else { return self.bent };
        let mut log = first.before.value.ln_1p() * f64::from(year.min(first.year) - t.span.0);
        for (i, bend) in t.bends.iter().enumerate() {
            let until = t.bends.get(i + 1).map_or(t.span.1, |next| next.year);
            log += bend.after.value.ln_1p() * f64::from((year.min(until) - bend.year).max(0));
        }
        self.bent * log.exp()
    }
}

fn key(svg: &mut Svg, t: &Trend, gaps: bool, y: f64) {
    let look = Type::plain(2.8);
    let column = [0.0, 62.0, 124.0];
    let dot = |svg: &mut Svg, x: f64, y: f64| {
        svg.line(x + 4.0, y - 2.2, x + 4.0, y + 1.2, &format!(r#"stroke="{INK}" stroke-width=".3""#));
        svg.circle(x + 4.0, y - 0.5, 0.9, &format!(r#"fill="{INK}""#));
    };
    dot(svg, column[0], y);
    svg.text(column[0] + 9.5, y + 0.4, look, &format!("a year, with {} limits", share(t.level)));
    svg.circle(column[1] + 4.0, y - 0.5, 1.5, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".35""#));
    svg.circle(column[1] + 4.0, y - 0.5, 0.6, &format!(r#"fill="{INK}""#));
    svg.text(column[1] + 9.5, y + 0.4, look, &format!("base year, {}: 1 by definition", t.base));
    if !t.smooth.is_empty() {
        svg.line(column[2], y - 0.5, column[2] + 8.0, y - 0.5, &format!(r#"stroke="{BLAEBERRY}" stroke-width=".7""#));
        svg.text(column[2] + 9.5, y + 0.4, look, "smooth curve");
    }
    let y = y + 5.2;
    let hatch = svg.hatch(Hatch::BandNow);
    svg.rect(column[0], y - 2.3, 8.0, 3.6, &format!(r#"fill="{hatch}" stroke="{STONE}" stroke-width=".12""#));
    svg.line(column[0], y - 0.5, column[0] + 8.0, y - 0.5, &format!(r#"stroke="{INK}" stroke-width=".45" stroke-dasharray="3 1.2""#));
    svg.text(column[0] + 9.5, y + 0.4, look, "line, and how steep it may be");
    if !t.bends.is_empty() {
        svg.line(column[1], y - 0.5, column[1] + 8.0, y - 0.5, &format!(r#"stroke="{RUSSET}" stroke-width=".6" stroke-dasharray="2.2 .8 .5 .8""#));
        svg.text(column[1] + 9.5, y + 0.4, look, "bent line");
    }
    let y = y + THIRD_MM;
    if gaps {
        let fill = svg.hatch(Hatch::Unmapped);
        svg.rect(column[0], y - 2.3, 8.0, 3.0, &format!(r#"fill="{fill}" stroke="{STONE}" stroke-width=".1""#));
        svg.text(column[0] + 9.5, y + 0.4, look, "no valid count: not nought");
    }
    if t.index.iter().any(|y| y.value == 0.0) {
        svg.circle(column[1] + 4.0, y - 0.5, 0.9, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".3""#));
        svg.text(column[1] + 9.5, y + 0.4, look, "counted, and no cock anywhere");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use birds::trend::table::{Count, Table};
    use birds::trend::{Ask, NoTrend, trend};
    use crate::chart::sample::usual;

    fn counted(rows: &[(usize, i32, u32)]) -> Result<Trend, NoTrend> {
        let leks = (0..=rows.iter().map(|r| r.0).max().unwrap_or(0)).map(|l| format!("L{l}")).collect();
        trend(&Table::new(leks, rows.iter().map(|(lek, year, cocks)| Count { lek: *lek, year: *year, cocks: *cocks }).collect()), &usual())
    }

    #[test]
    fn every_year_is_a_point_and_a_gap_is_no_nought() {
        let rows: Vec<(usize, i32, u32)> = (2010..2020).filter(|y| *y != 2014).flat_map(|y| [(0, y, 12 - (y - 2010) as u32), (1, y, 7)]).collect();
        let t = counted(&rows).unwrap();
        let svg = draw(&t, 174.0, 96.0).unwrap();
        assert!(svg.contains("times those of 2010") && svg.contains("no valid count: not nought") && svg.contains(">2010</text>"));
        assert_eq!(svg.matches("url(#h-unmapped)").count(), 2, "one gap and the key");
        // Nine years: the base year is a ring and a dot, the others dots; the key has one of each.
        assert_eq!(svg.matches("<circle").count(), 8 + 2 + 3);
        // The line holds as many cocks as were counted.
        let line = Level::of(&t).unwrap();
        let held: f64 = t.index.iter().map(|y| line.at(y.year, t.annual_change.value) / y.value * y.counted as f64).sum();
        assert!((held - t.index.iter().map(|y| y.counted as f64).sum::<f64>()).abs() < 1e-9);
        assert!(t.index.iter().all(|y| line.flattest(y.year, &t) <= line.at(y.year, t.annual_change.value) && line.at(y.year, t.annual_change.value) <= line.steepest(y.year, &t)));
    }

    #[test]
    fn a_bent_line_turns_where_it_is_said_to() {
        let rows: Vec<(usize, i32, u32)> = (2000..2020).flat_map(|y| [(0, y, if y < 2010 { 20 + 4 * (y - 2000) as u32 } else { 60 - 5 * (y - 2010) as u32 }), (1, y, 9)]).collect();
        let leks = vec!["a".to_owned(), "b".to_owned()];
        let table = Table::new(leks, rows.iter().map(|(lek, year, cocks)| Count { lek: *lek, year: *year, cocks: *cocks }).collect());
        let t = trend(&table, &Ask { bends: Some(vec![2010]), ..usual() }).unwrap();
        let line = Level::of(&t).unwrap();
        let grows = |a: i32| line.bent(a + 1, &t) / line.bent(a, &t) - 1.0;
        assert!((grows(2003) - t.bends[0].before.value).abs() < 1e-12 && (grows(2015) - t.bends[0].after.value).abs() < 1e-12);
        assert!(draw(&t, 174.0, 96.0).unwrap().contains("bends after 2010"));
    }

    #[test]
    fn years_without_a_cock_lie_on_the_ground_and_one_year_has_no_trend() {
        let t = counted(&[(0, 2020, 4), (1, 2020, 3), (0, 2021, 0), (1, 2021, 0), (0, 2022, 3), (1, 2022, 2)]).unwrap();
        assert!(draw(&t, 174.0, 96.0).unwrap().contains("counted, and no cock anywhere"));
        assert!(matches!(counted(&[(0, 2020, 4), (1, 2020, 3)]), Err(NoTrend::TooFewYears(_))));
        assert!(matches!(counted(&[(0, 2020, 0), (0, 2021, 0)]), Err(NoTrend::NoBirds)));
    }
}
