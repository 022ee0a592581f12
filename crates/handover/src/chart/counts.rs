//! Cocks counted over the years: a bar a year, and a marked gap where no visit was valid, so that a gap is never read as nought.

use crate::pack::LekCounts;
use crate::svg::hatch::Hatch;
use crate::svg::palette::{INK, STONE};
use crate::svg::{Anchor, Svg, Type};

const LEFT_MM: f64 = 8.0;
const TOP_MM: f64 = 4.0;
const FOOT_MM: f64 = 10.0;

/// The chart of one lek; `None` without years.
pub fn draw(counts: &LekCounts, width_mm: f64, height_mm: f64) -> Option<String> {
    let first = counts.years.iter().map(|y| y.year).min()?;
    let last = counts.years.iter().map(|y| y.year).max()?;
    let span = usize::try_from(last - first).ok()? + 1;
    let seen = |year: i32| counts.years.iter().filter(|y| y.year == year).filter_map(|y| y.seen).max();
    let figure = |year: i32| counts.years.iter().filter(|y| y.year == year).filter_map(|y| y.cocks).max();
    let most = counts.years.iter().filter_map(|y| y.cocks).max().unwrap_or(0).max(1);
    let step = [1, 2, 5, 10, 20, 50, 100].into_iter().find(|s| most.div_ceil(*s) <= 5).unwrap_or(200);
    let top = most.div_ceil(step) * step;

    let mut svg = Svg::new(width_mm, height_mm);
    let (plot_w, plot_h) = (width_mm - LEFT_MM - 1.0, height_mm - TOP_MM - FOOT_MM);
    let base = TOP_MM + plot_h;
    let y = |cocks: u32| base - plot_h * f64::from(cocks) / f64::from(top);
    for level in (0..=top).step_by(step as usize) {
        svg.line(LEFT_MM, y(level), LEFT_MM + plot_w, y(level), &format!(r#"stroke="{STONE}" stroke-width=".1""#));
        svg.text(LEFT_MM - 1.5, y(level) + 0.9, Type::plain(2.7).colour(STONE).anchor(Anchor::End), &level.to_string());
    }
    let slot = plot_w / span as f64;
    let bar = (slot * 0.66).min(8.0);
    let every = (9.5 / slot).ceil().max(1.0) as usize;
    let mut gaps = false;
    for i in 0..span {
        let year = first + i as i32;
        let middle = LEFT_MM + slot * (i as f64 + 0.5);
        match figure(year) {
            Some(cocks) => {
                svg.rect(middle - bar / 2.0, y(cocks), bar, base - y(cocks), &format!(r#"fill="{INK}""#));
                svg.text(middle, y(cocks) - 0.8, Type::plain(2.7).anchor(Anchor::Middle), &cocks.to_string());
            }
            None => {
                gaps = true;
                let fill = svg.hatch(Hatch::Unmapped);
                svg.rect(middle - bar / 2.0, TOP_MM, bar, plot_h, &format!(r#"fill="{fill}""#));
                if let Some(cocks) = seen(year) {
                    svg.text(middle, base - 0.8, Type::plain(2.7).anchor(Anchor::Middle).rim(), &format!("({cocks})"));
                }
            }
        }
        if i % every == 0 {
            svg.text(middle, base + 3.6, Type::plain(2.7).anchor(Anchor::Middle), &year.to_string());
        }
    }
    svg.line(LEFT_MM, base, LEFT_MM + plot_w, base, &format!(r#"stroke="{INK}" stroke-width=".3""#));
    let foot = base + 8.2;
    svg.rect(LEFT_MM, foot - 2.2, 4.0, 2.6, &format!(r#"fill="{INK}""#));
    svg.text(LEFT_MM + 5.2, foot, Type::plain(2.7), "cocks, most on a valid visit");
    if gaps {
        let fill = svg.hatch(Hatch::Unmapped);
        svg.rect(LEFT_MM + 44.0, foot - 2.2, 4.0, 2.6, &format!(r#"fill="{fill}" stroke="{STONE}" stroke-width=".1""#));
        svg.text(LEFT_MM + 49.2, foot, Type::plain(2.7), "no valid visit: not nought; in brackets, seen but not valid");
    }
    Some(svg.finish())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pack::YearCount;

    #[test]
    fn a_year_without_a_valid_visit_is_a_gap_and_nought_is_a_figure() {
        let years = vec![
            YearCount { year: 2021, cocks: Some(7), ..Default::default() },
            YearCount { year: 2022, cocks: None, seen: Some(6), why: "begun too late".into() },
            YearCount { year: 2024, cocks: Some(0), ..Default::default() },
        ];
        let svg = draw(&LekCounts { lek: "L1".into(), years }, 80.0, 40.0).unwrap();
        assert!(svg.contains("no valid visit"), "2022 and 2023 are gaps");
        assert_eq!(svg.matches("url(#h-unmapped)").count(), 3, "two gaps and the key");
        assert!(svg.contains(">7</text>") && svg.contains(">(6)</text>"));
        assert!(svg.matches(">0</text>").count() == 2, "the axis and the figure of 2024");
        assert!(draw(&LekCounts::default(), 80.0, 40.0).is_none());
    }
}
