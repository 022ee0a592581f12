//! The year sheet: a row a lek, a column a season, and in every cell what the ground gives against what the birds need.
//!
//! A cell is a ruler with the need at its middle. The bar grows from the left with what the ground gives; where it stops
//! before the need, the rest is hatched: that length is the shortfall. The fine line on the bar runs from the tenth to the
//! ninetieth percentile of supply, the grey band round the middle is the same for the need.

use crate::svg::hatch::Hatch;
use crate::svg::palette::{BLAEBERRY, COTTON, INK, LICHEN, RUSSET, STONE};
use crate::svg::{Anchor, Svg, Type, fitted, number};
use crate::words;
use habitat::{LekLedger, Season, SeasonLedger};

/// Leks on one picture.
const ROWS: usize = 8;
const NAME_MM: f64 = 26.0;
const HEAD_MM: f64 = 11.0;
const ROW_MM: f64 = 21.0;
const KEY_MM: f64 = 13.0;

/// Pictures needed for a number of leks.
pub fn pages(leks: usize) -> usize {
    leks.div_ceil(ROWS)
}

/// The sheet of one picture, `page` counted from 0.
pub fn draw(leks: &[LekLedger], draws: usize, page: usize, width_mm: f64) -> String {
    let rows: Vec<&LekLedger> = leks.iter().skip(page * ROWS).take(ROWS).collect();
    let cell_mm = (width_mm - NAME_MM) / Season::ALL.len() as f64;
    let mut svg = Svg::new(width_mm, HEAD_MM + ROW_MM * rows.len() as f64 + KEY_MM);
    for (i, season) in Season::ALL.into_iter().enumerate() {
        let x = NAME_MM + cell_mm * (i as f64 + 0.5);
        svg.text(x, 4.2, Type::plain(3.4).bold().anchor(Anchor::Middle), season.name());
        svg.text(x, 8.2, Type::plain(2.7).colour(STONE).anchor(Anchor::Middle), season.months());
    }
    for (row, lek) in rows.iter().enumerate() {
        let y = HEAD_MM + ROW_MM * row as f64;
        svg.line(0.0, y, width_mm, y, &format!(r#"stroke="{INK}" stroke-width=".2""#));
        name(&mut svg, lek, y);
        for season in &lek.seasons {
            let column = Season::ALL.iter().position(|s| *s == season.season).unwrap_or(0);
            let x = NAME_MM + cell_mm * column as f64;
            cell(&mut svg, season, season.season == lek.pinch, draws, x, y, cell_mm);
        }
    }
    let y = HEAD_MM + ROW_MM * rows.len() as f64;
    svg.line(0.0, y, width_mm, y, &format!(r#"stroke="{INK}" stroke-width=".2""#));
    key(&mut svg, y + 3.5, width_mm);
    svg.finish()
}

fn name(svg: &mut Svg, lek: &LekLedger, y: f64) {
    let mut lines = vec![String::new()];
    for word in lek.name.split_whitespace() {
        let longer = format!("{} {word}", lines[lines.len() - 1]).trim().to_owned();
        if crate::svg::text_width_mm(&longer, 3.5) > NAME_MM - 2.0 && !lines[lines.len() - 1].is_empty() {
            lines.push(word.to_owned());
        } else if let Some(last) = lines.last_mut() {
            *last = longer;
        }
    }
    if lines.len() > 2 {
        let rest = lines.split_off(1).join(" ");
        lines.push(rest);
    }
    for (i, line) in lines.iter().enumerate() {
        svg.text(0.0, y + 5.4 + 4.0 * i as f64, Type::plain(3.5).bold(), &fitted(line, 3.5, NAME_MM - 1.5));
    }
    let below = y + 5.4 + 4.0 * lines.len() as f64;
    let counted = match (lek.cocks, lek.counted) {
        (Some(n), Some(year)) => format!("{n} cocks, {year}"),
        (Some(n), None) => format!("{n} cocks"),
        (None, _) => "not counted".to_owned(),
    };
    svg.text(0.0, below, Type::plain(2.7).colour(STONE), &counted);
    svg.text(0.0, below + 3.4, Type::plain(2.7).colour(STONE), &format!("for {} cocks", lek.target_cocks));
}

/// One cell: the ruler, the figures, and how often it is short.
fn cell(svg: &mut Svg, season: &SeasonLedger, pinch: bool, draws: usize, x: f64, y: f64, cell_mm: f64) {
    if pinch {
        svg.rect(x + 0.4, y + 0.6, cell_mm - 0.8, ROW_MM - 1.2, &format!(r##"fill="#efe6dd" stroke="{BLAEBERRY}" stroke-width=".55""##));
    }
    let (left, wide) = (x + 1.5, cell_mm - 3.0);
    let (need, supply) = (season.need_ha, season.supply_ha);
    if need.p50.is_nan() || need.p50 <= 0.0 {
        svg.text(x + cell_mm / 2.0, y + 9.0, Type::plain(2.8).colour(STONE).anchor(Anchor::Middle), "no need");
        return;
    }
    let full = 2.0 * need.p50;
    let at = |ha: f64| left + wide * (ha / full).clamp(0.0, 1.0);
    let (top, high) = (y + 4.2, 4.2);
    svg.rect(left, top, wide, high, &format!(r#"fill="{COTTON}" stroke="{STONE}" stroke-width=".12""#));
    svg.rect(at(need.p10), top - 0.9, at(need.p90) - at(need.p10), high + 1.8, &format!(r#"fill="{LICHEN}" fill-opacity=".75""#));
    svg.rect(left, top, at(supply.p50) - left, high, &format!(r#"fill="{INK}""#));
    if supply.p50 < need.p50 {
        let fill = svg.hatch(Hatch::Short);
        svg.rect(at(supply.p50), top, at(need.p50) - at(supply.p50), high, &format!(r#"fill="{COTTON}""#));
        svg.rect(at(supply.p50), top, at(need.p50) - at(supply.p50), high, &format!(r#"fill="{fill}" stroke="{RUSSET}" stroke-width=".25""#));
    }
    whisker(svg, at(supply.p10), at(supply.p90), at(supply.p50), top + high / 2.0);
    svg.line(at(need.p50), top - 1.5, at(need.p50), top + high + 1.5, &format!(r#"stroke="{INK}" stroke-width=".55""#));
    if supply.p50 > full {
        let (edge, middle) = (left + wide, top + high / 2.0);
        let notch = format!("M{} {}L{} {}L{} {}Z", number(edge - 1.6), number(top), number(edge), number(middle), number(edge - 1.6), number(top + high));
        svg.rect(edge - 1.6, top - 0.1, 1.8, high + 0.2, &format!(r#"fill="{}""#, if pinch { "#efe6dd" } else { "#ffffff" }));
        svg.path(&notch, &format!(r#"fill="{INK}""#));
    }
    let middle = x + cell_mm / 2.0;
    svg.text(middle, y + 13.2, Type::plain(2.8).anchor(Anchor::Middle), &format!("{} of {} ha", words::hectares(supply.p50), words::hectares(need.p50)));
    let state = words::often(season);
    let look = Type::plain(2.8).anchor(Anchor::Middle);
    svg.text(middle, y + 16.4, if season.short_fraction >= 0.5 { look.bold().colour(RUSSET) } else { look }, state);
    svg.text(middle, y + 19.3, Type::plain(2.3).colour(STONE).anchor(Anchor::Middle), &format!("short in {}/{draws}", season.short_draws));
    if pinch {
        svg.rect(middle - 4.6, y - 0.9, 9.2, 3.2, &format!(r#"fill="{BLAEBERRY}""#));
        svg.text(middle, y + 1.5, Type::plain(2.5).bold().colour(COTTON).anchor(Anchor::Middle), "pinch");
    }
}

/// Line from the tenth to the ninetieth percentile; light where it lies on the bar, dark beyond it.
fn whisker(svg: &mut Svg, low: f64, high: f64, bar_end: f64, y: f64) {
    let rod = |colour: &str| format!(r#"stroke="{colour}" stroke-width=".35""#);
    svg.line(low, y, low.max(bar_end.min(high)), y, &rod(COTTON));
    svg.line(low, y - 0.8, low, y + 0.8, &rod(COTTON));
    svg.line(bar_end.max(low), y, high, y, &rod(INK));
    svg.line(high, y - 0.8, high, y + 0.8, &rod(INK));
}

fn key(svg: &mut Svg, y: f64, width_mm: f64) {
    let look = Type::plain(2.8);
    let edge = format!(r#"stroke="{STONE}" stroke-width=".12""#);
    let column = width_mm / 3.0;
    svg.rect(0.0, y, 8.0, 3.0, &format!(r#"fill="{INK}""#));
    svg.text(9.5, y + 2.4, look, "what the ground gives, usable ha");
    let fill = svg.hatch(Hatch::Short);
    svg.rect(column, y, 8.0, 3.0, &format!(r#"fill="{COTTON}""#));
    svg.rect(column, y, 8.0, 3.0, &format!(r#"fill="{fill}" stroke="{RUSSET}" stroke-width=".25""#));
    svg.text(column + 9.5, y + 2.4, look, "what is missing to the need");
    svg.line(2.0 * column + 4.0, y - 0.6, 2.0 * column + 4.0, y + 3.6, &format!(r#"stroke="{INK}" stroke-width=".55""#));
    svg.text(2.0 * column + 9.5, y + 2.4, look, "what the birds need (middle)");
    let y = y + 5.2;
    svg.rect(0.0, y, 8.0, 3.0, &format!(r#"fill="{INK}""#));
    whisker(svg, 2.5, 7.0, 8.0, y + 1.5);
    svg.text(9.5, y + 2.4, look, "8 of 10 draws of supply");
    svg.rect(column, y, 8.0, 3.0, &format!(r#"fill="{LICHEN}" {edge}"#));
    svg.text(column + 9.5, y + 2.4, look, "8 of 10 draws of need");
    let tip = 2.0 * column;
    svg.path(&format!("M{} {}H{}L{} {}L{} {}H{}Z", number(tip), number(y), number(tip + 6.4), number(tip + 8.0), number(y + 1.5), number(tip + 6.4), number(y + 3.0), number(tip)), &format!(r#"fill="{INK}""#));
    svg.text(tip + 9.5, y + 2.4, look, "more than twice the need");
}
