//! Money by year: what goes out (hatched) and comes in (plain) as bars side by side, and the balance of all years so far as a line.

use super::axis::step;
use crate::svg::hatch::Hatch;
use crate::svg::palette::{COTTON, INK, LICHEN, RUSSET, STONE};
use crate::svg::{Anchor, Svg, Type, number};
use crate::words::grouped;
use ::works::account::YearSum;
use std::fmt::Write;

const KEY_MM: f64 = 7.0;
/// Years whose names stand nearer than this are not all named, millimetres.
const NAME_MM: f64 = 10.0;

/// The chart; `None` without years or money.
pub fn draw(years: &[YearSum], width_mm: f64, height_mm: f64) -> Option<String> {
    let all = || years.iter().flat_map(|y| [y.cost[1], y.income[1], y.balance]).map(|p| p.gbp());
    let (low, high) = (all().fold(0.0, f64::min), all().fold(0.0, f64::max));
    if high - low <= 0.0 {
        return None;
    }
    let step = step((high - low) / 6.0);
    let (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
    let mut svg = Svg::new(width_mm, height_mm);
    let (left, right, top, base) = (19.0, width_mm - 1.0, 6.0, height_mm - KEY_MM - 7.0);
    let wide = (right - left) / years.len() as f64;
    let up = |gbp: f64| base - (base - top) * (gbp - low) / (high - low);
    svg.text(0.0, 3.4, Type::plain(2.9), "Pounds, usual, undiscounted");
    svg.rect(left, top, right - left, base - top, &format!(r#"fill="{COTTON}" stroke="{STONE}" stroke-width=".12""#));
    for i in 0..=((high - low) / step).round() as usize {
        let level = low + i as f64 * step;
        svg.line(left, up(level), right, up(level), &format!(r#"stroke="{STONE}" stroke-width=".08""#));
        svg.text(left - 1.2, up(level) + 0.9, Type::plain(2.7).colour(STONE).anchor(Anchor::End), &grouped(level));
    }
    let each = (NAME_MM / wide).ceil().max(1.0) as usize;
    let bar = wide * 0.34;
    let hatch = svg.hatch(Hatch::Short);
    for (i, year) in years.iter().enumerate() {
        let x = left + wide * i as f64;
        let (cost, income) = (year.cost[1].gbp(), year.income[1].gbp());
        svg.rect(x + wide * 0.14, up(cost), bar, up(0.0) - up(cost), &format!(r#"fill="{COTTON}""#));
        svg.rect(x + wide * 0.14, up(cost), bar, up(0.0) - up(cost), &format!(r#"fill="{hatch}" stroke="{RUSSET}" stroke-width=".25""#));
        svg.rect(x + wide * 0.52, up(income), bar, up(0.0) - up(income), &format!(r#"fill="{LICHEN}" stroke="{INK}" stroke-width=".25""#));
        if i % each == 0 {
            svg.text(x + wide / 2.0, base + 4.0, Type::plain(2.7).anchor(Anchor::Middle), &year.year.to_string());
        }
    }
    svg.line(left, up(0.0), right, up(0.0), &format!(r#"stroke="{INK}" stroke-width=".4""#));
    let mut line = String::new();
    let middle = |i: usize| left + wide * (i as f64 + 0.5);
    for (i, year) in years.iter().enumerate() {
        let _ = write!(line, "{}{} {}", if i == 0 { 'M' } else { 'L' }, number(middle(i)), number(up(year.balance.gbp())));
    }
    svg.path(&line, &format!(r#"fill="none" stroke="{COTTON}" stroke-width="1.4""#));
    svg.path(&line, &format!(r#"fill="none" stroke="{INK}" stroke-width=".6""#));
    for (i, year) in years.iter().enumerate() {
        svg.circle(middle(i), up(year.balance.gbp()), 0.9, &format!(r#"fill="{INK}" stroke="{COTTON}" stroke-width=".25""#));
    }
    let y = height_mm - 4.0;
    let look = Type::plain(2.8);
    svg.rect(left, y, 8.0, 3.0, &format!(r#"fill="{hatch}" stroke="{RUSSET}" stroke-width=".25""#));
    svg.text(left + 9.5, y + 2.4, look, "goes out");
    svg.rect(left + 34.0, y, 8.0, 3.0, &format!(r#"fill="{LICHEN}" stroke="{INK}" stroke-width=".25""#));
    svg.text(left + 43.5, y + 2.4, look, "comes in");
    svg.line(left + 68.0, y + 1.5, left + 76.0, y + 1.5, &format!(r#"stroke="{INK}" stroke-width=".6""#));
    svg.circle(left + 72.0, y + 1.5, 0.9, &format!(r#"fill="{INK}""#));
    svg.text(left + 77.5, y + 2.4, look, "balance of this year and all before it");
    Some(svg.finish())
}

#[cfg(test)]
mod tests {
    use super::*;
    use ::works::money::Pence;

    #[test]
    fn every_year_has_its_bars_and_a_point_and_an_empty_account_no_chart() {
        let year = |year: i32, cost: i64, income: i64, balance: i64| YearSum { year, cost: [Pence(cost); 3], income: [Pence(income); 3], net: [Pence(income - cost); 3], balance: Pence(balance) };
        let years = [year(2027, 500_000, 100_000, -400_000), year(2028, 0, 600_000, 200_000)];
        let svg = draw(&years, 174.0, 60.0).unwrap();
        assert_eq!(svg.matches("<circle").count(), 2 + 1, "two years and the key");
        assert!(svg.contains(">2027</text>") && svg.contains(">-4,000</text>") && !svg.contains("NaN"), "{svg}");
        assert!(draw(&[], 174.0, 60.0).is_none() && draw(&[year(2027, 0, 0, 0)], 174.0, 60.0).is_none());
        let many: Vec<YearSum> = (2027..2087).map(|y| year(y, 100, 0, -100)).collect();
        assert!(draw(&many, 174.0, 60.0).unwrap().matches(">20").count() <= 16, "not every name of sixty years");
    }
}
