//! The mornings of the two windows of counting as a strip: used, left over for bad weather, or not to be used. Told apart by fill and
//! sign, never by colour alone; a visit that cannot be made is told below the strip.

use crate::svg::hatch::Hatch;
use crate::svg::palette::{INK, STONE};
use crate::svg::{Anchor, Svg, Type};
use birds::dawns::DawnPlan;
use chrono::{Datelike, NaiveDate, Weekday};

const ROW_MM: f64 = 22.5;
const TOP_MM: f64 = 9.5;
const BOX_MM: f64 = 7.5;
const KEY_MM: f64 = 9.0;

/// The strip.
pub fn draw(plan: &DawnPlan, windows: &[[NaiveDate; 2]; 2], width_mm: f64) -> String {
    let mut svg = Svg::new(width_mm, ROW_MM * 2.0 + KEY_MM);
    let most = windows.iter().map(|[first, last]| (*last - *first).num_days() + 1).max().unwrap_or(1).max(1);
    let slot = width_mm / most as f64;
    for (w, [first, last]) in windows.iter().enumerate() {
        let top = ROW_MM * w as f64;
        let missed = plan.missed.iter().filter(|m| usize::from(m.visit) == w + 1).count();
        let told = if missed == 0 { String::new() } else { format!("; {missed} {} missed", if missed == 1 { "lek" } else { "leks" }) };
        svg.text(0.0, top + 3.4, Type::plain(3.2).bold(), &format!("Visit {}{told}", w + 1));
        for (i, day) in first.iter_days().take_while(|day| day <= last).enumerate() {
            morning(&mut svg, plan, day, slot * i as f64, top + TOP_MM, slot, i == 0);
        }
    }
    key(&mut svg, slot);
    svg.finish()
}

/// A morning: its box, the day below, and the month above where it begins.
fn morning(svg: &mut Svg, plan: &DawnPlan, day: NaiveDate, x: f64, y: f64, slot: f64, begins: bool) {
    if begins || day.day() == 1 {
        svg.text(x + 0.3, y - 1.2, Type::plain(2.7).colour(STONE), &day.format("%B").to_string());
    }
    let outings = plan.mornings.iter().find(|m| m.date == day).map(|m| m.outings.len());
    let state = match outings {
        Some(outings) => State::Used(outings),
        None if plan.spare.contains(&day) => State::Spare,
        None => State::Shut,
    };
    square(svg, state, x + 0.3, y, slot - 0.6);
    let look = Type::plain(2.5).anchor(Anchor::Middle);
    let look = if outings.is_some() { look.bold() } else { look };
    svg.text(x + slot / 2.0, y + BOX_MM + 2.8, look, &day.day().to_string());
    if day.weekday() == Weekday::Sun {
        svg.line(x + slot, y - 0.6, x + slot, y + BOX_MM + 3.0, &format!(r#"stroke="{STONE}" stroke-width=".15""#));
    }
}

enum State {
    /// With so many outings.
    Used(usize),
    Spare,
    Shut,
}

fn square(svg: &mut Svg, state: State, x: f64, y: f64, width: f64) {
    match state {
        State::Used(outings) => {
            svg.rect(x, y, width, BOX_MM, &format!(r#"fill="{INK}""#));
            svg.text(x + width / 2.0, y + BOX_MM / 2.0 + 1.3, Type::plain(3.6).bold().colour("#ffffff").anchor(Anchor::Middle), &outings.to_string());
        }
        State::Spare => svg.rect(x, y, width, BOX_MM, &format!(r##"fill="#ffffff" stroke="{INK}" stroke-width=".25""##)),
        State::Shut => {
            let fill = svg.hatch(Hatch::Unmapped);
            svg.rect(x, y, width, BOX_MM, &format!(r#"fill="{fill}" stroke="{STONE}" stroke-width=".1""#));
            svg.line(x, y, x + width, y + BOX_MM, &format!(r#"stroke="{STONE}" stroke-width=".25""#));
            svg.line(x, y + BOX_MM, x + width, y, &format!(r#"stroke="{STONE}" stroke-width=".25""#));
        }
    }
}

fn key(svg: &mut Svg, slot: f64) {
    let y = ROW_MM * 2.0 + KEY_MM - BOX_MM;
    let words = [(State::Used(1), "somebody is out; how many"), (State::Spare, "left over for bad weather"), (State::Shut, "not to be used, or nobody is there")];
    let mut x = 0.0;
    for (state, told) in words {
        square(svg, state, x, y - 0.3, (slot - 0.6).min(5.0));
        svg.text(x + 6.2, y + 4.7, Type::plain(2.9), told);
        x += 6.2 + crate::svg::text_width_mm(told, 2.9) + 4.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use birds::dawns::{Effort, Morning};

    #[test]
    fn every_morning_is_drawn_once_as_what_it_is() {
        let day = |m, d| NaiveDate::from_ymd_opt(2027, m, d).unwrap();
        let windows = [[day(3, 30), day(4, 3)], [day(4, 19), day(4, 21)]];
        let plan = DawnPlan {
            of: String::new(),
            year: 2027,
            mornings: vec![Morning { date: day(4, 1), outings: vec![] }, Morning { date: day(4, 19), outings: vec![] }],
            missed: vec![],
            spare: vec![day(3, 30), day(4, 20), day(4, 21)],
            effort: Effort::default(),
            bound: Effort::default(),
            proven: true,
            quiet: vec![],
            stops_too_near: vec![],
            cautions: vec![],
        };
        let svg = draw(&plan, &windows, 174.0);
        let of = |style: &str| svg.matches(style).count() - 1;
        // Each sign stands once more in the key.
        assert_eq!(svg.matches(&format!(r#"fill="{INK}"/>"#)).count() - 1, 2);
        assert_eq!((of(r##"fill="#ffffff" stroke"##), of("url(#h-unmapped)")), (3, 3));
        assert!(svg.contains(">March</text>") && svg.contains(">April</text>"));
    }
}
