//! What money can buy: gain against cost over the plans that no other beats, and the bound no plan can pass.

use super::axis::step;
use crate::planned::Frontier;
use crate::svg::palette::{BLAEBERRY, COTTON, INK, STONE};
use crate::svg::{Anchor, Svg, Type, number};
use crate::words;
use std::fmt::Write;

/// The chart; `None` with fewer than two points or without money.
pub fn draw(frontier: &Frontier, width_mm: f64, height_mm: f64) -> Option<String> {
    let points = &frontier.points;
    let most_gbp = points.iter().map(|p| p.gbp).filter(|v| v.is_finite()).fold(0.0, f64::max);
    if points.len() < 2 || most_gbp <= 0.0 {
        return None;
    }
    let low = points.iter().map(|p| p.gain.p10).fold(0.0, f64::min);
    let high = points.iter().map(|p| p.gain.p90.max(p.bound)).filter(|v| v.is_finite()).fold(0.0, f64::max);
    let (x_step, y_step) = (step(most_gbp / 6.0), step((high - low) / 6.0));
    let (right_gbp, low, high) = ((most_gbp / x_step).ceil() * x_step, (low / y_step).floor() * y_step, (high / y_step).ceil() * y_step);
    let mut svg = Svg::new(width_mm, height_mm);
    let (left, right, top, base) = (16.0, width_mm - 4.0, 7.0, height_mm - 20.0);
    let at = |gbp: f64| left + (right - left) * gbp / right_gbp;
    let up = |gain: f64| base - (base - top) * (gain - low) / (high - low);
    svg.text(0.0, 3.4, Type::plain(2.9), "Needs met over thirty years, more than as now");
    svg.rect(left, top, right - left, base - top, &format!(r#"fill="{COTTON}" stroke="{STONE}" stroke-width=".12""#));
    let digits = if y_step < 0.1 { 2 } else if y_step < 1.0 { 1 } else { 0 };
    for i in 0..=((high - low) / y_step).round() as usize {
        let level = low + i as f64 * y_step;
        svg.line(left, up(level), right, up(level), &format!(r#"stroke="{STONE}" stroke-width=".08""#));
        svg.text(left - 1.2, up(level) + 0.9, Type::plain(2.7).colour(STONE).anchor(Anchor::End), &format!("{level:.digits$}"));
    }
    for i in 0..=(right_gbp / x_step).round() as usize {
        let gbp = i as f64 * x_step;
        svg.line(at(gbp), base, at(gbp), base + 0.9, &format!(r#"stroke="{INK}" stroke-width=".15""#));
        svg.text(at(gbp), base + 4.0, Type::plain(2.7).colour(STONE).anchor(Anchor::Middle), &format!("£{}", words::grouped(gbp)));
    }
    let trace = |of: &dyn Fn(usize) -> f64| {
        let mut out = String::new();
        for (i, p) in points.iter().enumerate() {
            let _ = write!(out, "{}{} {}", if i == 0 { 'M' } else { 'L' }, number(at(p.gbp)), number(up(of(i))));
        }
        out
    };
    let lower: String = points.iter().rev().fold(String::new(), |mut out, p| {
        let _ = write!(out, "L{} {}", number(at(p.gbp)), number(up(p.gain.p10)));
        out
    });
    svg.path(&format!("{}{lower}Z", trace(&|i| points[i].gain.p90)), &format!(r#"fill="{BLAEBERRY}" fill-opacity=".2""#));
    svg.path(&trace(&|i| points[i].bound), &format!(r#"fill="none" stroke="{INK}" stroke-width=".35" stroke-dasharray="1.8 .9""#));
    svg.path(&trace(&|i| points[i].gain.p50), &format!(r#"fill="none" stroke="{INK}" stroke-width=".6""#));
    for p in points {
        svg.line(at(p.gbp), up(p.gain.p10), at(p.gbp), up(p.gain.p90), &format!(r#"stroke="{INK}" stroke-width=".2""#));
        svg.circle(at(p.gbp), up(p.gain.p50), 1.1, &format!(r#"fill="{INK}""#));
    }
    svg.line(left, base, right, base, &format!(r#"stroke="{INK}" stroke-width=".3""#));
    svg.text((left + right) / 2.0, base + 8.4, Type::plain(2.9).anchor(Anchor::Middle), "usual cost, undiscounted, grants not taken off");
    let y = base + 12.5;
    svg.rect(0.0, y, 8.0, 3.2, &format!(r#"fill="{BLAEBERRY}" fill-opacity=".2""#));
    svg.line(0.0, y + 1.6, 8.0, y + 1.6, &format!(r#"stroke="{INK}" stroke-width=".6""#));
    svg.circle(4.0, y + 1.6, 1.1, &format!(r#"fill="{INK}""#));
    svg.text(9.5, y + 2.6, Type::plain(2.8), "best set found, and 8 of 10 draws");
    svg.line(66.0, y + 1.6, 74.0, y + 1.6, &format!(r#"stroke="{INK}" stroke-width=".35" stroke-dasharray="1.8 .9""#));
    svg.text(75.5, y + 2.6, Type::plain(2.8), "no set for that money is worth more, measure by measure");
    Some(svg.finish())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::planned::FrontierPoint;
    use habitat::Quantiles;

    #[test]
    fn a_frontier_is_drawn_where_there_is_one() {
        let point = |gbp: f64, gain: f64| FrontierPoint {
            gbp,
            measures: 2,
            gain: Quantiles { p10: gain * 0.6, p50: gain, p90: gain * 1.4 },
            worth: gain,
            bound: gain * 1.1,
            saved_a_year: 0.0,
        };
        let of = |points: Vec<FrontierPoint>| Frontier { offers: 9, points, next: vec![], notes: vec![] };
        let svg = draw(&of(vec![point(0.0, 0.0), point(8_000.0, 0.8), point(20_000.0, 1.1)]), 174.0, 110.0).unwrap();
        assert!(svg.contains("£20,000") && svg.contains("more than as now") && svg.contains("stroke-dasharray"));
        assert_eq!(svg.matches("<circle").count(), 4, "three points and the key");
        assert!(draw(&of(vec![point(0.0, 0.0)]), 174.0, 110.0).is_none());
    }
}
