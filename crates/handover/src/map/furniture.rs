//! What every map carries: the frame, the lines of the national grid with their figures, the scale bar and north.

use super::view::View;
use crate::svg::palette::{COTTON, INK, STONE};
use crate::svg::{Anchor, Svg, Type, number};

/// Spacing of grid lines for a scale, metres.
fn spacing_m(scale: f64) -> f64 {
    let least = 22.0 * scale / 1000.0;
    [100.0, 500.0, 1000.0, 2000.0, 5000.0, 10_000.0].into_iter().find(|s| *s >= least).unwrap_or(20_000.0)
}

/// Grid lines inside the frame.
pub fn grid_lines(svg: &mut Svg, view: &View) {
    let [west, south, east, north] = view.ground();
    let step = spacing_m(view.scale);
    let style = format!(r#"stroke="{INK}" stroke-width=".09" opacity=".45""#);
    for i in (west / step).ceil() as i64..=(east / step).floor() as i64 {
        let x = view.x(i as f64 * step);
        svg.line(x, view.y_mm, x, view.y_mm + view.height_mm, &style);
    }
    for i in (south / step).ceil() as i64..=(north / step).floor() as i64 {
        let y = view.y(i as f64 * step);
        svg.line(view.x_mm, y, view.x_mm + view.width_mm, y, &style);
    }
}

/// The frame with a figure at every grid line, in kilometres of easting and northing.
pub fn frame(svg: &mut Svg, view: &View, figures: bool) {
    let (x, y, w, h) = (view.x_mm, view.y_mm, view.width_mm, view.height_mm);
    svg.rect(x, y, w, h, &format!(r#"fill="none" stroke="{INK}" stroke-width=".35""#));
    if !figures {
        return;
    }
    let [west, south, east, north] = view.ground();
    let step = spacing_m(view.scale);
    let look = Type::plain(2.3).colour(STONE);
    let kilometres = |metres: f64| number(metres / 1000.0);
    let tick = format!(r#"stroke="{INK}" stroke-width=".2""#);
    for i in (west / step).ceil() as i64..=(east / step).floor() as i64 {
        let at = view.x(i as f64 * step);
        svg.line(at, y - 0.8, at, y, &tick);
        svg.line(at, y + h, at, y + h + 0.8, &tick);
        if at > x + 3.0 && at < x + w - 3.0 {
            svg.text(at, y - 1.3, look.anchor(Anchor::Middle), &kilometres(i as f64 * step));
        }
    }
    for i in (south / step).ceil() as i64..=(north / step).floor() as i64 {
        let at = view.y(i as f64 * step);
        svg.line(x - 0.8, at, x, at, &tick);
        svg.line(x + w, at, x + w + 0.8, at, &tick);
        if at > y + 2.0 && at < y + h - 2.0 {
            svg.text(x - 1.2, at + 0.8, look.anchor(Anchor::End), &kilometres(i as f64 * step));
        }
    }
}

/// A bar of a round length, at most `width_mm` long, with its scale in figures.
pub fn scale_bar(svg: &mut Svg, view: &View, x: f64, y: f64, width_mm: f64) {
    let longest = width_mm * view.metres_a_mm();
    let lengths = [25.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10_000.0];
    let length = lengths.into_iter().rev().find(|l| *l <= longest).unwrap_or(25.0);
    let (mm, quarter) = (length / view.metres_a_mm(), length / view.metres_a_mm() / 4.0);
    for part in 0..4 {
        let fill = if part % 2 == 0 { INK } else { COTTON };
        svg.rect(x + quarter * f64::from(part), y, quarter, 1.3, &format!(r#"fill="{fill}" stroke="{INK}" stroke-width=".18""#));
    }
    let words = |metres: f64| if metres >= 1000.0 { format!("{} km", number(metres / 1000.0)) } else { format!("{} m", number(metres)) };
    let look = Type::plain(2.5);
    svg.text(x, y + 4.0, look.anchor(Anchor::Middle), "0");
    svg.text(x + mm / 2.0, y + 4.0, look.anchor(Anchor::Middle), &words(length / 2.0));
    svg.text(x + mm, y + 4.0, look.anchor(Anchor::Middle), &words(length));
}

/// The scale as a ratio, in words fit for a caption: `1 : 20 000`.
pub fn ratio(scale: f64) -> String {
    let digits = format!("{scale:.0}");
    let mut out = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i) % 3 == 0 {
            out.push('\u{a0}');
        }
        out.push(digit);
    }
    format!("1 : {out}")
}

/// A north arrow: a slim spire, its west half open.
pub fn north(svg: &mut Svg, x: f64, y: f64) {
    let path = |dx: f64| format!("M{} {}L{} {}L{} {}Z", number(x), number(y), number(x + dx), number(y + 8.0), number(x), number(y + 6.4));
    svg.path(&path(-2.2), &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".2" stroke-linejoin="round""#));
    svg.path(&path(2.2), &format!(r#"fill="{INK}" stroke="{INK}" stroke-width=".2" stroke-linejoin="round""#));
    svg.text(x, y - 0.9, Type::plain(3.0).bold().anchor(Anchor::Middle), "N");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ratios_are_grouped_by_thousands() {
        assert_eq!(ratio(25_000.0), "1 : 25\u{a0}000");
        assert_eq!(ratio(500.0), "1 : 500");
    }

    #[test]
    fn grid_figures_stand_at_whole_kilometres() {
        let view = View::fitting([383_200.0, 528_300.0, 387_000.0, 532_000.0], 10.0, 10.0, 140.0, 140.0);
        let mut svg = Svg::new(170.0, 170.0);
        frame(&mut svg, &view, true);
        let text = svg.finish();
        assert!(text.contains(">384</text>") && text.contains(">530</text>"), "{text}");
        assert!(!text.contains("384.5"));
    }
}
