//! Numbers ahead: cocks of all leks together and of each as fans, and the chance of too few of them, an option beside as now.
//!
//! As in [`super::years_ahead`] as now is a dashed line in a hatched band, the option a firm line in a tinted one; the band holds 8 of 10 draws.

use super::axis::step;
use super::years_ahead::{Curve, band, line};
use crate::svg::hatch::Hatch;
use crate::svg::palette::{BLAEBERRY, COTTON, INK, STONE};
use crate::svg::{Anchor, Svg, Type, fitted, number};
use birds::project::birds::{CourseAhead, Projection, YearBirds};
use std::fmt::Write;

/// Leks on one picture.
pub const LEKS: usize = 8;
const COLUMNS: usize = 2;
const GAP_MM: f64 = 6.0;
const PANEL_MM: f64 = 44.0;
const FIRM: &str = r#"stroke-width=".65""#;
const DASHED: &str = r#"stroke-width=".4" stroke-dasharray="1.6 .9""#;

/// As now and the option beside it; as now alone where none is told.
struct Pair<'a> {
    now: &'a CourseAhead,
    own: Option<&'a CourseAhead>,
}

impl<'a> Pair<'a> {
    fn of(p: &'a Projection, option: Option<u32>) -> Option<Self> {
        let now = p.courses.iter().find(|c| c.option.is_none())?;
        Some(Self { now, own: p.courses.iter().find(|c| c.option.is_some() && c.option == option) })
    }

    /// Years of all leks together, or of one.
    fn years(&self, lek: Option<usize>) -> (&'a [YearBirds], Option<&'a [YearBirds]>) {
        let of = |c: &'a CourseAhead| lek.map_or(c.total.as_slice(), |l| c.leks[l].years.as_slice());
        (of(self.now), self.own.map(of))
    }
}

/// All leks together: the fan, and below it the chance of too few cocks. `name`: what the option is called.
pub fn all(p: &Projection, option: Option<u32>, name: &str, width_mm: f64) -> Option<String> {
    const FAN_MM: f64 = 66.0;
    const CHANCE_MM: f64 = 34.0;
    let pair = Pair::of(p, option)?;
    let (now, own) = pair.years(None);
    let mut svg = Svg::new(width_mm, FAN_MM + CHANCE_MM + 9.0);
    fan(&mut svg, "Cocks in spring, all leks counted", now, own, [0.0, 0.0, width_mm, FAN_MM]);
    chance(&mut svg, p.few_cocks, now, own, [0.0, FAN_MM + 1.0, width_mm, CHANCE_MM]);
    key(&mut svg, own.map(|_| name), FAN_MM + CHANCE_MM + 6.0);
    Some(svg.finish())
}

/// Pictures of the leks one by one.
pub fn pages(p: &Projection) -> usize {
    let leks = p.courses.first().map_or(0, |c| c.leks.len());
    if leks > 1 { leks.div_ceil(LEKS) } else { 0 }
}

/// The fans of the leks of one picture.
pub fn leks(p: &Projection, option: Option<u32>, name: &str, page: usize, width_mm: f64) -> Option<String> {
    let pair = Pair::of(p, option)?;
    let shown = (page * LEKS)..pair.now.leks.len().min((page + 1) * LEKS);
    let rows = shown.len().div_ceil(COLUMNS);
    let wide = (width_mm - GAP_MM) / COLUMNS as f64;
    let mut svg = Svg::new(width_mm, rows as f64 * PANEL_MM + 4.5);
    for (i, lek) in shown.enumerate() {
        let (now, own) = pair.years(Some(lek));
        let place = [(i % COLUMNS) as f64 * (wide + GAP_MM), (i / COLUMNS) as f64 * PANEL_MM, wide, PANEL_MM - 3.0];
        fan(&mut svg, &pair.now.leks[lek].name, now, own, place);
    }
    key(&mut svg, pair.own.map(|_| name), rows as f64 * PANEL_MM + 1.5);
    Some(svg.finish())
}

fn curve(years: &[YearBirds]) -> Curve {
    years.iter().map(|y| (f64::from(y.year), y.cocks)).collect()
}

/// A box with years across: where it lies, and where a year and a share of its height lie.
struct Plot {
    left: f64,
    right: f64,
    head: f64,
    base: f64,
    last: f64,
}

impl Plot {
    fn of(years: &[YearBirds], [x, y, wide, high]: [f64; 4]) -> Self {
        Self { left: x + 10.0, right: x + wide - 1.0, head: y + 6.0, base: y + high - 5.0, last: years.last().map_or(1.0, |y| f64::from(y.year)).max(1.0) }
    }

    fn at(&self, year: f64) -> f64 {
        self.left + (self.right - self.left) * year / self.last
    }

    fn up(&self, part: f64) -> f64 {
        self.base - (self.base - self.head) * part.clamp(0.0, 1.0)
    }

    fn draw(&self, svg: &mut Svg, title: &str, levels: &[(f64, String)]) {
        svg.text(self.left - 10.0, self.head - 2.2, Type::plain(3.2).bold(), &fitted(title, 3.2, self.right - self.left + 9.0));
        svg.rect(self.left, self.head, self.right - self.left, self.base - self.head, &format!(r#"fill="{COTTON}" stroke="{STONE}" stroke-width=".12""#));
        for (part, words) in levels {
            svg.line(self.left, self.up(*part), self.right, self.up(*part), &format!(r#"stroke="{STONE}" stroke-width=".08""#));
            svg.text(self.left - 1.0, self.up(*part) + 0.9, Type::plain(2.6).colour(STONE).anchor(Anchor::End), words);
        }
        let every = if self.last > 60.0 { 20 } else if self.last > 12.0 { 5 } else if self.last > 4.0 { 2 } else { 1 };
        for year in (0..=self.last as usize).step_by(every) {
            let (words, anchor) = match year {
                0 => ("now".to_owned(), Anchor::Start),
                y if y == self.last as usize => (format!("year {y}"), Anchor::End),
                y => (y.to_string(), Anchor::Middle),
            };
            svg.line(self.at(year as f64), self.base, self.at(year as f64), self.base + 0.8, &format!(r#"stroke="{INK}" stroke-width=".15""#));
            svg.text(self.at(year as f64), self.base + 3.4, Type::plain(2.6).colour(STONE).anchor(anchor), &words);
        }
        svg.line(self.left, self.base, self.right, self.base, &format!(r#"stroke="{INK}" stroke-width=".25""#));
    }
}

fn fan(svg: &mut Svg, title: &str, now: &[YearBirds], own: Option<&[YearBirds]>, place: [f64; 4]) {
    let frame = Plot::of(now, place);
    let most = now.iter().chain(own.into_iter().flatten()).map(|y| y.cocks.p90).fold(1.0, f64::max);
    // Cocks are whole: no finer step than one.
    let step = step(most / if place[3] > 50.0 { 5.0 } else { 3.0 }).max(1.0);
    let top = (most / step).ceil() * step;
    let levels: Vec<(f64, String)> = (0..=(top / step).round() as usize).map(|i| (i as f64 * step / top, number(i as f64 * step))).collect();
    frame.draw(svg, title, &levels);
    let (at, up) = (|year: f64| frame.at(year), |cocks: f64| frame.up(cocks / top));
    svg.clip(frame.left, frame.head - 0.4, frame.right - frame.left, frame.base - frame.head + 0.8);
    if let Some(own) = own.map(curve) {
        svg.path(&band(&own, &at, &up), &format!(r#"fill="{BLAEBERRY}" fill-opacity=".22""#));
    }
    let hatch = svg.hatch(Hatch::BandNow);
    svg.path(&band(&curve(now), &at, &up), &format!(r#"fill="{hatch}" stroke="{STONE}" stroke-width=".12""#));
    svg.path(&line(&curve(now), &at, &up), &format!(r#"fill="none" stroke="{INK}" {DASHED}"#));
    if let Some(own) = own.map(curve) {
        svg.path(&line(&own, &at, &up), &format!(r#"fill="none" stroke="{INK}" {FIRM}"#));
    }
    svg.end();
}

/// The chance that there were too few cocks in a year or any before it.
fn chance(svg: &mut Svg, few: f64, now: &[YearBirds], own: Option<&[YearBirds]>, place: [f64; 4]) {
    let frame = Plot::of(now, place);
    let levels: Vec<(f64, String)> = [0.0, 0.5, 1.0].into_iter().map(|v| (v, format!("{:.0} %", 100.0 * v))).collect();
    frame.draw(svg, &format!("Draws with fewer than {few:.0} cocks in some year so far"), &levels);
    let trace = |years: &[YearBirds]| {
        let mut out = String::new();
        for (i, y) in years.iter().enumerate() {
            let _ = write!(out, "{}{} {}", if i == 0 { 'M' } else { 'L' }, number(frame.at(f64::from(y.year))), number(frame.up(y.few_by_fraction)));
        }
        out
    };
    svg.path(&trace(now), &format!(r#"fill="none" stroke="{INK}" {DASHED}"#));
    if let Some(own) = own {
        svg.path(&trace(own), &format!(r#"fill="none" stroke="{INK}" {FIRM}"#));
    }
}

fn key(svg: &mut Svg, name: Option<&str>, y: f64) {
    let look = Type::plain(2.8);
    let hatch = svg.hatch(Hatch::BandNow);
    svg.rect(0.0, y - 2.3, 10.0, 3.6, &format!(r#"fill="{hatch}" stroke="{STONE}" stroke-width=".12""#));
    svg.line(0.0, y - 0.5, 10.0, y - 0.5, &format!(r#"stroke="{INK}" {DASHED}"#));
    svg.text(11.5, y + 0.4, look, "as now, nothing done");
    if let Some(name) = name {
        svg.rect(46.0, y - 2.3, 10.0, 3.6, &format!(r#"fill="{BLAEBERRY}" fill-opacity=".22""#));
        svg.line(46.0, y - 0.5, 56.0, y - 0.5, &format!(r#"stroke="{INK}" {FIRM}"#));
        svg.text(57.5, y + 0.4, look, &fitted(name, 2.8, 48.0));
    }
    svg.text(svg.width_mm(), y + 0.4, look.colour(STONE).anchor(Anchor::End), "bands hold 8 of 10 draws, lines their middle");
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::sample::projection;

    #[test]
    fn an_option_stands_beside_as_now() {
        let p = projection(3, &[(None, 12.0), (Some(2), 17.0)]);
        let svg = all(&p, Some(2), "option 2, More woods", 174.0).unwrap();
        assert!(svg.contains("option 2, More woods") && svg.contains("as now, nothing done") && svg.contains("fewer than 5 cocks"));
        // Fan and chance: two lines each and the key's.
        assert_eq!((svg.matches(FIRM).count(), svg.matches(DASHED).count()), (3, 3));
        assert_eq!(pages(&p), 1);
        let each = leks(&p, Some(2), "option 2, More woods", 0, 174.0).unwrap();
        assert!((0..3).all(|l| each.contains(&format!(">Lek {l}</text>"))));
    }

    #[test]
    fn one_lek_as_now_alone_and_no_bird_at_all_are_drawn() {
        let p = projection(1, &[(None, 0.0)]);
        assert_eq!(pages(&p), 0, "one lek is all there is");
        let svg = all(&p, None, "", 174.0).unwrap();
        assert!(!svg.contains(FIRM) && !svg.contains("NaN") && !svg.contains("inf"));
        assert!(svg.contains(">1</text>"), "an axis none the less");
    }
}
