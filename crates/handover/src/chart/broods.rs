//! Young per hen, summer by summer with exact limits, beside the young that would hold numbers steady.

use super::axis::step;
use crate::svg::hatch::Hatch;
use crate::svg::palette::{COTTON, INK, RUSSET, STONE};
use crate::svg::{Anchor, Svg, Type};
use birds::detection::Interval;
use birds::found::Summer;
use birds::productivity::Standing;

const ROW_MM: f64 = 7.0;
const NAME_MM: f64 = 50.0;
const SAID_MM: f64 = 48.0;
/// Limits run at most so far beyond what else is drawn.
const REACH: f64 = 2.0;

/// The chart; `None` where no summer gives young per hen. `level`: the share of cases that limits hold.
pub fn draw(summers: &[Summer], break_even: &Interval, level: f64, width_mm: f64) -> Option<String> {
    if summers.iter().all(|s| s.found.is_err()) {
        return None;
    }
    let found = || summers.iter().filter_map(|s| s.found.as_ref().ok());
    let most = found().map(|f| f.widened.value).fold(break_even.high, f64::max);
    let reach = found().map(|f| f.widened.high).fold(most, f64::max).min(most * REACH);
    let step = step(reach / 6.0);
    let top = (reach / step).ceil() * step;
    let (left, right, head) = (NAME_MM, width_mm - SAID_MM, 2.0);
    let base = head + summers.len() as f64 * ROW_MM;
    let mut svg = Svg::new(width_mm, base + 21.0);
    let at = |young: f64| left + (right - left) * (young / top).clamp(0.0, 1.0);
    let digits = usize::from(step < 1.0);
    for i in 0..=(top / step).round() as usize {
        let level = i as f64 * step;
        svg.line(at(level), head, at(level), base, &format!(r#"stroke="{STONE}" stroke-width=".08""#));
        svg.text(at(level), base + 3.6, Type::plain(2.6).colour(STONE).anchor(Anchor::Middle), &format!("{level:.digits$}"));
    }
    let steady = svg.hatch(Hatch::Short);
    svg.rect(at(break_even.low), head, at(break_even.high) - at(break_even.low), base - head, &format!(r#"fill="{steady}" fill-opacity=".55""#));
    svg.line(at(break_even.value), head, at(break_even.value), base, &format!(r#"stroke="{RUSSET}" stroke-width=".8""#));
    for (i, summer) in summers.iter().enumerate() {
        let y = head + i as f64 * ROW_MM + ROW_MM / 2.0;
        if i > 0 {
            svg.line(0.0, y - ROW_MM / 2.0, width_mm, y - ROW_MM / 2.0, &format!(r#"stroke="{STONE}" stroke-width=".08""#));
        }
        let name = summer.year.map_or_else(|| "All summers".to_owned(), |y| y.to_string());
        let look = if summer.year.is_none() { Type::plain(3.1).bold() } else { Type::plain(3.1) };
        svg.text(0.0, y + 1.1, look, &name);
        let Ok(f) = &summer.found else {
            svg.text(left + 1.5, y + 1.0, Type::plain(2.8).italic().rim(), "no young per hen from these counts");
            continue;
        };
        svg.text(left - 2.0, y + 1.0, Type::plain(2.6).colour(STONE).anchor(Anchor::End), &format!("{} young, {} hens", f.young, f.hens));
        let w = f.widened;
        svg.line(at(w.low), y, at(w.high), y, &format!(r#"stroke="{COTTON}" stroke-width="1.3""#));
        svg.line(at(w.low), y, at(w.high), y, &format!(r#"stroke="{INK}" stroke-width=".5""#));
        for end in [w.low, w.high].into_iter().filter(|v| *v <= top) {
            svg.line(at(end), y - 1.1, at(end), y + 1.1, &format!(r#"stroke="{INK}" stroke-width=".4""#));
        }
        if w.high > top {
            svg.path(&format!("M{} {}l-1.6 -.9v1.8Z", crate::svg::number(right), crate::svg::number(y)), &format!(r#"fill="{INK}""#));
        }
        svg.circle(at(w.value), y, 1.2, &format!(r#"fill="{INK}" stroke="{COTTON}" stroke-width=".3""#));
        let standing = summer.verdict.map_or("", |v| match v.standing {
            Standing::Above => ": enough",
            Standing::Below => ": too few",
            Standing::CannotTell => ": cannot be told",
        });
        svg.text(right + 2.0, y + 1.0, Type::plain(2.8), &format!("{:.1} ({:.1} to {:.1}){standing}", w.value, w.low, w.high));
    }
    svg.line(left, base, right, base, &format!(r#"stroke="{INK}" stroke-width=".25""#));
    svg.text((left + right) / 2.0, base + 7.6, Type::plain(2.8).anchor(Anchor::Middle), "young per hen in August");
    let y = base + 13.0;
    svg.line(0.0, y, 8.0, y, &format!(r#"stroke="{INK}" stroke-width=".5""#));
    svg.circle(4.0, y, 1.2, &format!(r#"fill="{INK}""#));
    svg.text(9.5, y + 0.9, Type::plain(2.8), &format!("counted, and exact limits that hold {:.0} cases of 100, widened as young come in broods", 100.0 * level));
    let y = y + 5.0;
    svg.rect(0.0, y - 1.8, 8.0, 3.6, &format!(r#"fill="{steady}" fill-opacity=".55""#));
    svg.line(4.0, y - 1.8, 4.0, y + 1.8, &format!(r#"stroke="{RUSSET}" stroke-width=".8""#));
    svg.text(9.5, y + 0.9, Type::plain(2.8), &format!("what would hold numbers steady: {:.1} ({:.1} to {:.1})", break_even.value, break_even.low, break_even.high));
    Some(svg.finish())
}

#[cfg(test)]
mod tests {
    use super::*;
    use birds::productivity::{Broods, Fault};

    fn summer(year: Option<i32>, hens: u32, young: u32) -> Summer {
        let found = Broods { hens, with_broods: None, young, sizes: vec![] }.measure(0.9);
        Summer { year, counts: 1, unfit: 0, out_of_season: vec![], found, verdict: None, with_broods_alone: None }
    }

    #[test]
    fn summers_stand_beside_what_holds_numbers_steady() {
        let even = Interval { value: 1.2, low: 0.9, high: 1.6 };
        let summers = [summer(None, 30, 45), summer(Some(2024), 20, 44), summer(Some(2025), 10, 0)];
        let svg = draw(&summers, &even, 0.9, 174.0).unwrap();
        assert!(svg.contains("All summers") && svg.contains(">2024</text>") && svg.contains("1.2 (0.9 to 1.6)") && svg.contains("45 young, 30 hens"));
        assert!(svg.contains("0.0 (0.0 to 0.3)"), "no young is a figure with an upper limit: {svg}");
        assert_eq!(svg.matches(r##"fill="#1d2533" stroke="#fbfaf4""##).count(), 3, "a point a summer");
    }

    #[test]
    fn summers_without_hens_are_said_so_and_alone_are_no_chart() {
        let even = Interval { value: 1.2, low: 0.9, high: 1.6 };
        let none = summer(Some(2023), 0, 0);
        assert_eq!(none.found, Err(vec![Fault::NoHens]));
        assert!(draw(std::slice::from_ref(&none), &even, 0.9, 174.0).is_none() && draw(&[], &even, 0.9, 174.0).is_none());
        assert!(draw(&[none, summer(Some(2024), 3, 4)], &even, 0.9, 174.0).unwrap().contains("no young per hen from these counts"));
    }
}
