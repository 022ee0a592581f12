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

/// Half the height of a symbol, millimetres.
pub const HALF_MM: f64 = 2.0;

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

/// Places for symbols so that none covers another: each is moved along a spiral until it is clear, staying in the box
/// `[left, top, right, bottom]`.
pub fn spread(wanted: &[(f64, f64)], bounds: [f64; 4]) -> Vec<(f64, f64)> {
    let gap = HALF_MM * 2.35;
    let mut placed: Vec<(f64, f64)> = vec![];
    for &(x, y) in wanted {
        let inside = |p: (f64, f64)| (p.0.clamp(bounds[0] + gap, bounds[2] - gap), p.1.clamp(bounds[1] + gap, bounds[3] - gap));
        let free = |p: (f64, f64)| placed.iter().all(|q| (q.0 - p.0).hypot(q.1 - p.1) >= gap);
        let spot = (0..400)
            .map(|i| {
                let (turn, reach) = (f64::from(i) * 2.399_963, gap * 0.5 * f64::from(i).sqrt());
                inside((x + reach * turn.cos(), y + reach * turn.sin()))
            })
            .find(|p| free(*p))
            .unwrap_or_else(|| inside((x, y)));
        placed.push(spot);
    }
    placed
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn many_findings_on_one_spot_are_all_readable() {
        let spots = spread(&[(50.0, 50.0); 30], [0.0, 0.0, 100.0, 100.0]);
        for (i, a) in spots.iter().enumerate() {
            for b in &spots[i + 1..] {
                assert!((a.0 - b.0).hypot(a.1 - b.1) >= HALF_MM * 2.0);
            }
        }
    }
}
