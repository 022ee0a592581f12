//! Names on maps, kept clear of one another: each tries a few places round its point and is left out where none is free.

use super::view::View;
use crate::svg::{Anchor, Svg, Type, fitted, text_width_mm};

/// Places already taken on a map.
pub struct Labels {
    taken: Vec<[f64; 4]>,
    bounds: [f64; 4],
}

impl Labels {
    /// A clean slate inside a view's frame.
    pub fn new(view: &View) -> Self {
        Self { taken: vec![], bounds: [view.x_mm + 0.5, view.y_mm + 0.5, view.x_mm + view.width_mm - 0.5, view.y_mm + view.height_mm - 0.5] }
    }

    /// Keeps a box free of names: left, top, right, bottom, millimetres.
    pub fn keep_free(&mut self, area: [f64; 4]) {
        self.taken.push(area);
    }

    fn free(&self, b: [f64; 4]) -> bool {
        let inside = b[0] >= self.bounds[0] && b[1] >= self.bounds[1] && b[2] <= self.bounds[2] && b[3] <= self.bounds[3];
        inside && self.taken.iter().all(|t| b[2] < t[0] || b[0] > t[2] || b[3] < t[1] || b[1] > t[3])
    }

    /// Writes a name in the middle of something, or a little above or below; false where there was no room.
    pub fn over(&mut self, svg: &mut Svg, x: f64, y: f64, look: Type, name: &str) -> bool {
        let name = fitted(name, look.size_mm, 42.0);
        let half = text_width_mm(&name, look.size_mm) / 2.0;
        for dy in [0.0, -1.2, 1.2, -2.4, 2.4] {
            let base = y + look.size_mm * 0.32 + dy * look.size_mm;
            let area = [x - half, base - look.size_mm * 0.8, x + half, base + look.size_mm * 0.25];
            if self.free(area) {
                self.taken.push(area);
                svg.text(x, base, look.anchor(Anchor::Middle), &name);
                return true;
            }
        }
        false
    }

    /// Writes a name beside a symbol of a radius; false where there was no room.
    pub fn beside(&mut self, svg: &mut Svg, x: f64, y: f64, radius: f64, look: Type, name: &str) -> bool {
        let name = fitted(name, look.size_mm, 42.0);
        let (wide, size) = (text_width_mm(&name, look.size_mm), look.size_mm);
        let gap = radius + 0.8;
        let places = [
            (x + gap, y + size * 0.3, Anchor::Start),
            (x - gap, y + size * 0.3, Anchor::End),
            (x, y - gap - size * 0.2, Anchor::Middle),
            (x, y + gap + size * 0.75, Anchor::Middle),
        ];
        for (px, py, anchor) in places {
            let left = match anchor {
                Anchor::Start => px,
                Anchor::Middle => px - wide / 2.0,
                Anchor::End => px - wide,
            };
            let area = [left, py - size * 0.8, left + wide, py + size * 0.25];
            if self.free(area) {
                self.taken.push(area);
                svg.text(px, py, look.anchor(anchor), &name);
                return true;
            }
        }
        false
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_name_on_the_same_spot_moves_or_stays_away() {
        let view = View::fitting([0.0, 0.0, 100.0, 100.0], 0.0, 0.0, 60.0, 60.0);
        let mut labels = Labels::new(&view);
        let mut svg = Svg::new(60.0, 60.0);
        let written = (0..12).filter(|i| labels.over(&mut svg, 30.0, 30.0, Type::plain(3.0), &format!("Name {i}"))).count();
        assert!((2..=5).contains(&written), "{written}");
        assert!(!labels.over(&mut svg, 59.0, 30.0, Type::plain(3.0), "A name over the edge"));
    }
}
