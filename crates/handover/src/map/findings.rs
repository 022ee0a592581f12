//! Numbered symbols of findings: the weight is told by the shape, never by colour alone.

use crate::svg::palette::{COTTON, INK, RUSSET};
use crate::svg::{Anchor, Svg, Type, number};
use measures::Severity;

/// Weight of a severity: 0 must, 1 should, 2 consider.
pub fn weight(severity: Severity) -> usize {
    match severity {
        Severity::Must => 0,
        Severity::Should => 1,
        Severity::Consider => 2,
    }
}

/// The words of the weights.
pub const WEIGHTS: [&str; 3] = ["must", "should", "consider"];

/// Half the height of a symbol, millimetres.
const HALF_MM: f64 = 2.0;
/// Room a symbol takes, millimetres.
pub const WIDE_MM: f64 = HALF_MM * 2.7;

/// Draws the symbol of a weight with a number in it: a filled square, a filled lozenge, an open circle.
pub fn symbol(svg: &mut Svg, x: f64, y: f64, weight: usize, text: &str) {
    let h = HALF_MM;
    match weight {
        0 => svg.rect(x - h * 0.95, y - h * 0.95, h * 1.9, h * 1.9, &format!(r#"fill="{INK}" stroke="{COTTON}" stroke-width=".3""#)),
        1 => {
            let r = h * 1.3;
            let data = format!(
                "M{} {}L{} {}L{} {}L{} {}Z",
                number(x),
                number(y - r),
                number(x + r),
                number(y),
                number(x),
                number(y + r),
                number(x - r),
                number(y)
            );
            svg.path(&data, &format!(r#"fill="{RUSSET}" stroke="{COTTON}" stroke-width=".3""#));
        }
        _ => svg.circle(x, y, h, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".4""#)),
    }
    let colour = if weight < 2 { COTTON } else { INK };
    let size = if text.len() > 2 { 1.9 } else { 2.4 };
    svg.text(x, y + size * 0.33, Type::plain(size).bold().colour(colour).anchor(Anchor::Middle), text);
}
