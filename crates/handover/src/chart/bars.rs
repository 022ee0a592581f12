//! Bars beside nothing: each from a low to a high figure, a tick at the middle, what it comes to in words.
//!
//! A bar that lies wholly on one side of nothing is full: the difference is clear. One that straddles nothing is hatched.

use super::axis::step;
use crate::svg::hatch::Hatch;
use crate::svg::palette::{BLAEBERRY, COTTON, INK, STONE};
use crate::svg::{Anchor, Svg, Type, fitted};

const ROW_MM: f64 = 5.6;
const FOOT_MM: f64 = 13.0;
/// Bars narrower than this have no room for the tick at their middle.
const WIDE_MM: f64 = 1.5;

/// A bar.
pub(super) struct Bar {
    /// What stands before it; empty where the line above has the same.
    pub name: String,
    /// The year, or what else tells bars of one name apart.
    pub when: String,
    /// Its left end.
    pub low: f64,
    /// Its tick.
    pub middle: f64,
    /// Its right end.
    pub high: f64,
    /// What stands behind it.
    pub words: String,
}

/// What stands below the bars.
pub(super) struct Axis<'a> {
    /// What is measured, with its unit.
    pub title: &'a str,
    /// A figure of the axis, with so many decimals.
    pub figure: &'a dyn Fn(f64, usize) -> String,
    /// What a full bar is.
    pub clear: &'a str,
    /// What a hatched bar is.
    pub unclear: &'a str,
}

impl<'a> Axis<'a> {
    /// Differences of draws against as now.
    pub fn of_draws(title: &'a str) -> Self {
        Self { title, figure: &signed, clear: "8 of 10 draws and their middle: told apart", unclear: "on both sides of nothing: not told apart" }
    }
}

/// A figure with its sign.
pub(super) fn signed(value: f64, digits: usize) -> String {
    format!("{value:+.digits$}")
}

/// The bars, one below the other.
pub(super) fn chart(rows: &[Bar], axis: &Axis, width_mm: f64) -> String {
    const NAME_MM: f64 = 44.0;
    const YEAR_MM: f64 = 26.0;
    const SAID_MM: f64 = 38.0;
    let (low, high) = rows.iter().fold((0.0_f64, 0.0_f64), |(l, h), b| (l.min(b.low), h.max(b.high)));
    // Three to six figures a side, none finer than a hundredth.
    let step = step(((high - low) / 6.0).max(0.01));
    let (low, high) = (((low / step).floor() * step).min(-step), ((high / step).ceil() * step).max(step));
    let mut svg = Svg::new(width_mm, 2.0 + rows.len() as f64 * ROW_MM + FOOT_MM);
    let (left, right, base) = (NAME_MM + YEAR_MM, width_mm - SAID_MM, 2.0 + rows.len() as f64 * ROW_MM);
    let at = |v: f64| left + (right - left) * (v - low) / (high - low);
    let digits = if step < 0.1 { 2 } else if step < 1.0 { 1 } else { 0 };
    for i in (low / step).round() as i64..=(high / step).round() as i64 {
        let level = i as f64 * step;
        svg.line(at(level), 1.0, at(level), base, &format!(r#"stroke="{STONE}" stroke-width=".08""#));
        let words = if i == 0 { "0".to_owned() } else { (axis.figure)(level, digits) };
        svg.text(at(level), base + 3.4, Type::plain(2.6).colour(STONE).anchor(Anchor::Middle), &words);
    }
    svg.line(at(0.0), 0.5, at(0.0), base + 0.6, &format!(r#"stroke="{INK}" stroke-width=".4""#));
    for (i, bar) in rows.iter().enumerate() {
        let y = 2.0 + i as f64 * ROW_MM;
        if !bar.name.is_empty() {
            if i > 0 {
                svg.line(0.0, y - 0.1, width_mm, y - 0.1, &format!(r#"stroke="{STONE}" stroke-width=".08""#));
            }
            let room = if bar.when.is_empty() { NAME_MM + YEAR_MM } else { NAME_MM };
            svg.text(0.0, y + 3.8, Type::plain(3.1).bold(), &fitted(&bar.name, 3.1, room - 1.0));
        }
        svg.text(NAME_MM, y + 3.8, Type::plain(2.9), &bar.when);
        let (from, to, top) = (at(bar.low), at(bar.high), y + 1.2);
        let middle = at(bar.middle);
        if bar.low == 0.0 && bar.high == 0.0 {
            svg.circle(at(0.0), top + 1.6, 0.8, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".3""#));
        } else if bar.low > 0.0 || bar.high < 0.0 {
            svg.rect(from, top, (to - from).max(0.4), 3.2, &format!(r#"fill="{BLAEBERRY}""#));
            if to - from > WIDE_MM {
                svg.line(middle, top, middle, top + 3.2, &format!(r#"stroke="{COTTON}" stroke-width=".5""#));
            }
        } else {
            let fill = svg.hatch(Hatch::BandNow);
            svg.rect(from, top, (to - from).max(0.4), 3.2, &format!(r#"fill="{COTTON}""#));
            svg.rect(from, top, (to - from).max(0.4), 3.2, &format!(r#"fill="{fill}" stroke="{INK}" stroke-width=".2""#));
            svg.line(middle, top - 0.3, middle, top + 3.5, &format!(r#"stroke="{INK}" stroke-width=".5""#));
        }
        svg.text(right + 2.0, y + 3.8, Type::plain(2.8), &bar.words);
    }
    svg.line(left, base, right, base, &format!(r#"stroke="{INK}" stroke-width=".2""#));
    svg.text((left + right) / 2.0, base + 7.2, Type::plain(2.8).anchor(Anchor::Middle), axis.title);
    let y = base + 9.0;
    svg.rect(0.0, y, 8.0, 3.0, &format!(r#"fill="{BLAEBERRY}""#));
    svg.line(4.0, y, 4.0, y + 3.0, &format!(r#"stroke="{COTTON}" stroke-width=".5""#));
    svg.text(9.5, y + 2.4, Type::plain(2.8), axis.clear);
    let fill = svg.hatch(Hatch::BandNow);
    svg.rect(78.0, y, 8.0, 3.0, &format!(r#"fill="{fill}" stroke="{INK}" stroke-width=".2""#));
    svg.text(87.5, y + 2.4, Type::plain(2.8), axis.unclear);
    svg.finish()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clear_bars_are_full_unclear_ones_hatched_and_nothing_is_a_ring() {
        let bar = |low: f64, middle: f64, high: f64| Bar { name: "x".into(), when: String::new(), low, middle, high, words: signed(middle, 1) };
        let axis = Axis { title: "cocks", figure: &signed, clear: "clear", unclear: "not told apart" };
        let svg = chart(&[bar(1.0, 2.0, 4.0), bar(-1.0, 0.5, 2.0), bar(0.0, 0.0, 0.0)], &axis, 174.0);
        assert_eq!(svg.matches(&format!(r#"fill="{BLAEBERRY}""#)).count(), 2, "one bar and the key");
        assert_eq!(svg.matches("url(#h-band-now)").count(), 2, "one bar and the key");
        assert_eq!(svg.matches("<circle").count(), 1);
        assert!(svg.contains(">+2.0</text>") && svg.contains(">cocks</text>"));
        assert!(!chart(&[bar(0.0, 0.0, 0.0)], &axis, 174.0).contains("NaN"), "an axis where all is nothing");
    }
}
