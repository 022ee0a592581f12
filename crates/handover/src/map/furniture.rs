//! What every map carries: the frame, the lines of the grid with their figures, the scale bar and north.

use super::view::View;
use crate::svg::palette::{COTTON, INK};
use crate::svg::{Anchor, Svg, Type, number};
use holding::Holding;
use holding::grid_ref::format_grid_ref;

/// Spacing of grid lines by scale: to 1 in this, so many metres.
const SPACING: [(f64, f64); 6] = [(5000.0, 100.0), (20_000.0, 500.0), (50_000.0, 1000.0), (100_000.0, 2000.0), (250_000.0, 5000.0), (500_000.0, 10_000.0)];
/// At scales larger than this the frame has ticks between the lines, one every [`FINE_M`].
const FINE_TO: f64 = 15_000.0;
const FINE_M: f64 = 100.0;
/// Side of a lettered square of the national grid, metres.
const LETTERED_M: f64 = 100_000.0;

/// How grid lines are told apart in the margin.
#[derive(Clone, Copy, Debug)]
pub struct Figures {
    /// The coordinate system's EPSG number; the national grid (27700) has letters and the figures of its references.
    pub epsg: u32,
    /// Size of the figures, millimetres.
    pub size_mm: f64,
}

impl Figures {
    /// Figures of a plan at the usual size.
    pub fn of(holding: &Holding) -> Self {
        Self { epsg: holding.about.epsg, size_mm: 2.3 }
    }

    fn national(&self) -> bool {
        self.epsg == 27700
    }

    /// The figure of a line: on the national grid those of a reference, with letters where a lettered square begins; else kilometres.
    fn words(&self, along_m: f64, step_m: f64, letters: Option<String>) -> String {
        if !self.national() {
            return number(along_m / 1000.0);
        }
        let within = along_m.rem_euclid(LETTERED_M);
        let figure = if step_m < 1000.0 { format!("{:03.0}", within / 100.0) } else { format!("{:02.0}", within / 1000.0) };
        letters.filter(|_| within == 0.0).map_or(figure.clone(), |l| format!("{l} {figure}"))
    }

    /// What the figures of a view are, in words.
    pub fn told(&self, view: &View) -> String {
        let step = spacing_m(view.scale);
        let every = if step < 1000.0 { format!("{step:.0} m") } else { format!("{:.0} km", step / 1000.0) };
        if !self.national() {
            return format!("Grid of EPSG {}, in km: a line every {every}", self.epsg);
        }
        let [w, s, e, n] = view.ground();
        let mut squares: Vec<String> = [(w, n), (e, n), (w, s), (e, s)].into_iter().filter_map(|(x, y)| letters(x, y)).collect();
        squares.sort();
        squares.dedup();
        let squares = if squares.is_empty() { String::new() } else { format!(" {}", squares.join(", ")) };
        format!("National grid{squares}: a line every {every}")
    }
}

/// The letters of the square a place lies in; `None` off the lettered squares.
fn letters(east_m: f64, north_m: f64) -> Option<String> {
    format_grid_ref(east_m, north_m, 2).map(|r| r.chars().take(2).collect())
}

/// Spacing of grid lines for a scale, metres.
pub fn spacing_m(scale: f64) -> f64 {
    SPACING.into_iter().find(|(to, _)| *to >= scale).map_or(20_000.0, |(_, step)| step)
}

/// Places of the grid lines between two coordinates, metres.
fn lines_between(low: f64, high: f64, step: f64) -> impl Iterator<Item = f64> {
    ((low / step).ceil() as i64..=(high / step).floor() as i64).map(move |i| i as f64 * step)
}

/// Grid lines inside the frame.
pub fn grid_lines(svg: &mut Svg, view: &View) {
    let [west, south, east, north] = view.ground();
    let step = spacing_m(view.scale);
    let style = format!(r#"stroke="{INK}" stroke-width=".09" opacity=".45""#);
    for x in lines_between(west, east, step).map(|m| view.x(m)) {
        svg.line(x, view.y_mm, x, view.y_mm + view.height_mm, &style);
    }
    for y in lines_between(south, north, step).map(|m| view.y(m)) {
        svg.line(view.x_mm, y, view.x_mm + view.width_mm, y, &style);
    }
}

/// The frame, with a figure at every grid line above and on the left, and the letters of the national grid at the corner.
pub fn frame(svg: &mut Svg, view: &View, figures: Option<Figures>) {
    let (x, y, w, h) = (view.x_mm, view.y_mm, view.width_mm, view.height_mm);
    svg.rect(x, y, w, h, &format!(r#"fill="none" stroke="{INK}" stroke-width=".35""#));
    let Some(figures) = figures else { return };
    let [west, south, east, north] = view.ground();
    let step = spacing_m(view.scale);
    let look = Type::plain(figures.size_mm).colour(INK);
    let tick = format!(r#"stroke="{INK}" stroke-width=".2""#);
    svg.group("grid-figures");
    if view.scale <= FINE_TO && step > FINE_M {
        lines_between(west, east, FINE_M).map(|m| view.x(m)).for_each(|at| svg.line(at, y - 0.5, at, y, &tick));
        lines_between(south, north, FINE_M).map(|m| view.y(m)).for_each(|at| svg.line(x - 0.5, at, x, at, &tick));
    }
    let mut free_from = x;
    for metres in lines_between(west, east, step) {
        let at = view.x(metres);
        svg.line(at, y - 1.0, at, y, &tick);
        svg.line(at, y + h, at, y + h + 0.8, &tick);
        let words = figures.words(metres, step, letters(metres, north));
        let half = look.width_mm(&words) / 2.0;
        if at - half >= free_from && at + half <= x + w {
            svg.text(at, y - 1.3, look.anchor(Anchor::Middle), &words);
            free_from = at + half + 0.8;
        }
    }
    // The letters of the corner stand below the lowest figure.
    let mut free_to = y + h - look.size_mm * 1.4;
    for metres in lines_between(south, north, step) {
        let at = view.y(metres);
        svg.line(x - 1.0, at, x, at, &tick);
        svg.line(x + w, at, x + w + 0.8, at, &tick);
        if at <= free_to && at - look.size_mm >= y {
            svg.text(x - 1.1, at + look.size_mm * 0.33, look.anchor(Anchor::End), &figures.words(metres, step, letters(west, metres)));
            free_to = at - look.size_mm * 1.3;
        }
    }
    if let Some(letters) = letters(west, south).filter(|_| figures.national()) {
        svg.text(x - 1.1, y + h, look.bold().anchor(Anchor::End), &letters);
    }
    svg.end();
}

/// A bar of a round length, at most `width_mm` long, with its scale in figures.
pub fn scale_bar(svg: &mut Svg, view: &View, x: f64, y: f64, width_mm: f64, size_mm: f64) {
    let look = Type::plain(size_mm);
    let longest = width_mm * view.metres_a_mm();
    let lengths = [25.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10_000.0, 20_000.0];
    let length = lengths.into_iter().rev().find(|l| *l <= longest).unwrap_or(25.0);
    let (mm, quarter) = (length / view.metres_a_mm(), length / view.metres_a_mm() / 4.0);
    svg.group("scale-bar");
    for part in 0..4 {
        let fill = if part % 2 == 0 { INK } else { COTTON };
        svg.rect(x + quarter * f64::from(part), y, quarter, 1.3, &format!(r#"fill="{fill}" stroke="{INK}" stroke-width=".18""#));
    }
    let words = |metres: f64| if metres >= 1000.0 { format!("{} km", number(metres / 1000.0)) } else { format!("{} m", number(metres)) };
    let base = y + 1.5 + size_mm;
    svg.text(x, base, look, "0");
    if mm > 30.0 {
        svg.text(x + mm / 2.0, base, look.anchor(Anchor::Middle), &words(length / 2.0));
    }
    svg.text(x + mm, base, look.anchor(Anchor::Middle), &words(length));
    svg.end();
}

/// The scale as a ratio: `1:20,000`.
pub fn ratio(scale: f64) -> String {
    let digits = format!("{scale:.0}");
    let mut out = String::from("1:");
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i) % 3 == 0 {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

/// The smallest sheet of paper a picture lies on.
pub fn paper(width_mm: f64, height_mm: f64) -> &'static str {
    let (short, long) = (width_mm.min(height_mm), width_mm.max(height_mm));
    let sheets = [(210.0, 297.0, "A4"), (297.0, 420.0, "A3"), (420.0, 594.0, "A2"), (594.0, 841.0, "A1")];
    sheets.into_iter().find(|(s, l, _)| short <= *s && long <= *l).map_or("A0", |s| s.2)
}

/// A north arrow: a slim spire, its west half open. Up is north of the grid the map is drawn on.
pub fn north(svg: &mut Svg, x: f64, y: f64, size_mm: f64) {
    let path = |dx: f64| format!("M{} {}L{} {}L{} {}Z", number(x), number(y), number(x + dx), number(y + 6.6), number(x), number(y + 5.2));
    svg.path(&path(-1.9), &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".2" stroke-linejoin="round""#));
    svg.path(&path(1.9), &format!(r#"fill="{INK}" stroke="{INK}" stroke-width=".2" stroke-linejoin="round""#));
    svg.text(x, y + 7.0 + size_mm, Type::plain(size_mm).anchor(Anchor::Middle), "grid north");
}

#[cfg(test)]
mod tests {
    use super::*;

    fn framed(ground: [f64; 4], epsg: u32) -> (String, View) {
        let view = View::fitting(ground, 10.0, 10.0, 140.0, 140.0);
        let mut svg = Svg::new(170.0, 170.0);
        frame(&mut svg, &view, Some(Figures { epsg, size_mm: 2.3 }));
        (svg.finish(), view)
    }

    #[test]
    fn ratios_are_grouped_by_thousands() {
        assert_eq!(ratio(25_000.0), "1:25,000");
        assert_eq!(ratio(500.0), "1:500");
        assert_eq!(ratio(1_250_000.0), "1:1,250,000");
    }

    #[test]
    fn paper_is_named_by_what_fits() {
        assert_eq!([paper(174.0, 238.0), paper(267.0, 180.0), paper(390.0, 265.0)], ["A4", "A4", "A3"]);
    }

    #[test]
    fn figures_are_those_of_a_reference() {
        // 1:50,000, a line every kilometre: NY 84 30 has its corner at 384000, 530000.
        let (text, view) = framed([383_200.0, 528_300.0, 387_000.0, 532_000.0], 27700);
        assert!(text.contains(">84</text>") && text.contains(">30</text>") && text.contains(">NY</text>"), "{text}");
        assert!(!text.contains(">384"));
        assert_eq!(Figures { epsg: 27700, size_mm: 2.3 }.told(&view), "National grid NY: a line every 1 km");
        let (text, _) = framed([383_000.0, 528_000.0, 383_300.0, 528_300.0], 27700);
        assert!(text.contains(">831</text>") && text.contains(">282</text>"), "{text}");
    }

    #[test]
    fn a_new_lettered_square_is_said_where_it_begins() {
        let (text, view) = framed([399_000.0, 528_300.0, 402_000.0, 531_000.0], 27700);
        assert!(text.contains(">NZ 00</text>") && text.contains(">99</text>"), "{text}");
        assert!(Figures { epsg: 27700, size_mm: 2.3 }.told(&view).starts_with("National grid NY, NZ:"));
    }

    #[test]
    fn another_plane_has_plain_kilometres() {
        let (text, view) = framed([612_300.0, 4_800_200.0, 613_100.0, 4_800_900.0], 25830);
        assert!(text.contains(">612.5</text>") && text.contains(">4800.5</text>") && !text.contains("NY"), "{text}");
        assert_eq!(Figures { epsg: 25830, size_mm: 2.3 }.told(&view), "Grid of EPSG 25830, in km: a line every 500 m");
    }

    #[test]
    fn lines_lie_neither_too_near_nor_too_far() {
        for scale in super::super::view::SCALES {
            let mm = spacing_m(scale) / scale * 1000.0;
            assert!((20.0..=67.0).contains(&mm), "1:{scale}: {mm} mm");
        }
    }
}
