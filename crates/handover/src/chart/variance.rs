//! What growth hangs on: a bar a rate for its share of the variance between years, and what a change of its mean would do.

use crate::svg::palette::{BLAEBERRY, INK, STONE};
use crate::svg::{Anchor, Svg, Type};
use crate::words;
use birds::project::growth::Growth;

const ROW_MM: f64 = 6.4;
const NAME_MM: f64 = 56.0;
const SAID_MM: f64 = 56.0;

/// The chart.
pub fn draw(growth: &Growth, width_mm: f64) -> String {
    let (left, right) = (NAME_MM, width_mm - SAID_MM);
    let base = 6.0 + growth.rates.len() as f64 * ROW_MM;
    let mut svg = Svg::new(width_mm, base + 9.5);
    let at = |share: f64| left + (right - left) * share.clamp(0.0, 1.0);
    svg.text(right + 15.0, 3.4, Type::plain(2.6).colour(STONE), "1 % more of it changes growth by");
    for i in 0..=4 {
        let share = f64::from(i) / 4.0;
        svg.line(at(share), 5.0, at(share), base, &format!(r#"stroke="{STONE}" stroke-width=".08""#));
        svg.text(at(share), base + 3.6, Type::plain(2.6).colour(STONE).anchor(Anchor::Middle), &words::percent(share));
    }
    for (i, rate) in growth.rates.iter().enumerate() {
        let y = 6.0 + i as f64 * ROW_MM;
        svg.text(0.0, y + 3.8, Type::plain(3.0), &words::capital(rate.rate.words()));
        let long = at(rate.variance_share) - left;
        svg.rect(left, y + 0.8, long, 4.2, &format!(r#"fill="{BLAEBERRY}""#));
        svg.text(left + long + 1.2, y + 3.8, Type::plain(2.8).rim(), &words::percent(rate.variance_share));
        let elasticity = rate.elasticity.map_or_else(|| "no rate of the mean year".to_owned(), |e| format!("{e:.2} %"));
        svg.text(right + 15.0, y + 3.8, Type::plain(2.8), &elasticity);
    }
    svg.line(left, 5.0, left, base, &format!(r#"stroke="{INK}" stroke-width=".3""#));
    svg.text((left + right) / 2.0, base + 7.8, Type::plain(2.8).anchor(Anchor::Middle), "share of what makes one year differ from another");
    svg.finish()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::sample::projection;

    #[test]
    fn every_rate_has_a_bar_and_its_figures() {
        let growth = projection(1, &[(None, 10.0)]).growth;
        let svg = draw(&growth, 174.0);
        for rate in &growth.rates {
            assert!(svg.contains(&words::capital(rate.rate.words())) && svg.contains(&format!(">{}</text>", words::percent(rate.variance_share))));
        }
        assert!(svg.contains("no rate of the mean year") && !svg.contains("NaN"));
    }
}
