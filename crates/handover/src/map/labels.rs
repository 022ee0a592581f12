//! Names and numbers on maps, kept clear of one another: names try a few places round their point and are left out where none is
//! free, numbers look for the nearest free place.

use super::view::View;
use crate::svg::{Anchor, Svg, Type};

/// A name over something is set in two lines where it is longer than this, millimetres.
const LINE_MM: f64 = 30.0;
/// A line longer than this is cut, and a name beside something set in two, millimetres.
const MOST_MM: f64 = 46.0;
/// Room kept between texts, millimetres.
const GAP_MM: f64 = 0.25;

/// A box on paper: left, top, right, bottom, millimetres.
pub type Area = [f64; 4];

/// Places already taken on a map.
pub struct Labels {
    taken: Vec<Area>,
    shunned: Vec<Area>,
    written: Vec<Area>,
    bounds: Area,
    /// The smallest box, width and height, that found no room.
    full: Option<(f64, f64)>,
}

/// A name in its lines.
struct Lines {
    lines: Vec<String>,
    wide_mm: f64,
}

impl Lines {
    /// A name in one line, or in two where it is long: broken before a bracket, else at the space nearest its middle.
    fn of(name: &str, look: Type, one_line_mm: f64) -> Self {
        let whole = look.width_mm(name);
        let middle = |at: &usize| (look.width_mm(&name[..*at]) - whole / 2.0).abs();
        let bracket = name.find(" (");
        let space = bracket.or_else(|| name.match_indices(' ').map(|(at, _)| at).min_by(|a, b| middle(a).total_cmp(&middle(b))));
        let lines: Vec<String> = match space {
            Some(at) if whole > one_line_mm => vec![look.fitted(name[..at].trim(), MOST_MM), look.fitted(name[at..].trim(), MOST_MM)],
            _ => vec![look.fitted(name, MOST_MM)],
        };
        let wide_mm = lines.iter().map(|l| look.width_mm(l)).fold(0.0, f64::max);
        Self { lines, wide_mm }
    }

    /// The box a name takes with its left end and first baseline at a point.
    fn area(&self, left: f64, base: f64, size: f64) -> Area {
        let below = (self.lines.len() - 1) as f64 * size;
        [left - GAP_MM, base - size * 0.8, left + self.wide_mm + GAP_MM, base + below + size * 0.25]
    }

    fn write(&self, svg: &mut Svg, left: f64, base: f64, look: Type) {
        for (i, line) in self.lines.iter().enumerate() {
            svg.text(left + self.wide_mm / 2.0, base + i as f64 * look.size_mm, look.anchor(Anchor::Middle), line);
        }
    }
}

fn apart(a: &Area, b: &Area) -> bool {
    a[2] < b[0] || a[0] > b[2] || a[3] < b[1] || a[1] > b[3]
}

impl Labels {
    /// A clean slate inside a view's frame.
    pub fn new(view: &View) -> Self {
        Self { taken: vec![], shunned: vec![], written: vec![], full: None, bounds: [view.x_mm + 0.5, view.y_mm + 0.5, view.x_mm + view.width_mm - 0.5, view.y_mm + view.height_mm - 0.5] }
    }

    /// Keeps a box free of names.
    pub fn keep_free(&mut self, area: Area) {
        self.taken.push(area);
    }

    /// A box that names keep off, and numbers beside other things where they can.
    pub fn shun(&mut self, area: Area) {
        self.shunned.push(area);
    }

    /// The boxes of all names and numbers written.
    pub fn written(&self) -> &[Area] {
        &self.written
    }

    fn free(&self, b: &Area) -> bool {
        let inside = b[0] >= self.bounds[0] && b[1] >= self.bounds[1] && b[2] <= self.bounds[2] && b[3] <= self.bounds[3];
        inside && self.taken.iter().all(|t| apart(t, b))
    }

    fn take(&mut self, area: Area) {
        self.taken.push(area);
        self.written.push(area);
    }

    /// Writes a name at the first of some places (left end and first baseline) where it is free; false where none is.
    fn at_first(&mut self, svg: &mut Svg, look: Type, lines: &Lines, places: impl Iterator<Item = (f64, f64)>) -> bool {
        for (left, base) in places {
            let area = lines.area(left, base, look.size_mm);
            if self.free(&area) && self.shunned.iter().all(|s| apart(s, &area)) {
                self.take(area);
                lines.write(svg, left, base, look);
                return true;
            }
        }
        false
    }

    /// Writes a name in the middle of something, or a little above or below; false where there was no room.
    pub fn over(&mut self, svg: &mut Svg, x: f64, y: f64, look: Type, name: &str) -> bool {
        let lines = Lines::of(name, look, LINE_MM);
        let up = (lines.lines.len() - 1) as f64 * 0.5;
        let places = [0.0, -1.2, 1.2, -2.4, 2.4].map(|dy| (x - lines.wide_mm / 2.0, y + look.size_mm * (0.32 - up + dy)));
        self.at_first(svg, look, &lines, places.into_iter())
    }

    /// Writes a name beside a symbol of a radius; false where there was no room.
    pub fn beside(&mut self, svg: &mut Svg, x: f64, y: f64, radius: f64, look: Type, name: &str) -> bool {
        let lines = Lines::of(name, look, MOST_MM);
        let (wide, size, gap) = (lines.wide_mm, look.size_mm, radius + 0.8);
        let more = (lines.lines.len() - 1) as f64 * size;
        let level = y + size * 0.3 - more / 2.0;
        let places = [(x + gap, level), (x - gap - wide, level), (x - wide / 2.0, y - gap - size * 0.2 - more), (x - wide / 2.0, y + gap + size * 0.75)];
        self.at_first(svg, look, &lines, places.into_iter())
    }

    /// A place for a box of a size right, left, above or below a shunned box, on no other of them; taken. `None` where none is free.
    pub fn next_to(&mut self, shape: &Area, wide_mm: f64, high_mm: f64) -> Option<(f64, f64)> {
        let (x, y) = ((shape[0] + shape[2]) / 2.0, (shape[1] + shape[3]) / 2.0);
        let (half_w, half_h) = (wide_mm / 2.0, high_mm / 2.0);
        let places = [(shape[2] + half_w, y), (shape[0] - half_w, y), (x, shape[1] - half_h), (x, shape[3] + half_h)];
        let area = |(x, y): (f64, f64)| [x - half_w, y - half_h, x + half_w, y + half_h];
        let good = |a: &Area| self.free(a) && self.shunned.iter().all(|s| s == shape || apart(s, a));
        let spot = places.into_iter().find(|p| good(&area(*p)))?;
        self.take(area(spot));
        Some(spot)
    }

    /// The free place nearest to a point for a box of a size, given by its middle; the box is taken. `None` where nothing is free.
    pub fn nearest(&mut self, x: f64, y: f64, wide_mm: f64, high_mm: f64) -> Option<(f64, f64)> {
        let b = self.bounds;
        let (half_w, half_h) = (wide_mm / 2.0, high_mm / 2.0);
        if b[2] - b[0] < wide_mm || b[3] - b[1] < high_mm || self.full.is_some_and(|(w, h)| wide_mm >= w && high_mm >= h) {
            return None;
        }
        let inside = |x: f64, y: f64| (x.clamp(b[0] + half_w, b[2] - half_w), y.clamp(b[1] + half_h, b[3] - half_h));
        let area = |(x, y): (f64, f64)| [x - half_w, y - half_h, x + half_w, y + half_h];
        // A spiral of evenly spread points, out to the farthest corner; a little is taken off the box so that neighbours may touch.
        let step = half_w.min(half_h);
        let steps = ((b[2] - b[0]).hypot(b[3] - b[1]) / step).powi(2).ceil() as u32;
        let spiral = (0..=steps).map(|i| {
            let (turn, reach) = (f64::from(i) * 2.399_963, step * f64::from(i).sqrt());
            inside(x + reach * turn.cos(), y + reach * turn.sin())
        });
        let spot = spiral.into_iter().find(|p| self.free(&area(*p)));
        match spot {
            Some(at) => self.take(area(at)),
            None => self.full = Some((wide_mm, high_mm)),
        }
        spot
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn clear(labels: &Labels) -> bool {
        let all = labels.written();
        all.iter().enumerate().all(|(i, a)| all[i + 1..].iter().all(|b| apart(a, b)))
    }

    #[test]
    fn a_second_name_on_the_same_spot_moves_or_stays_away() {
        let view = View::fitting([0.0, 0.0, 100.0, 100.0], 0.0, 0.0, 60.0, 60.0);
        let mut labels = Labels::new(&view);
        let mut svg = Svg::new(60.0, 60.0);
        let written = (0..12).filter(|i| labels.over(&mut svg, 30.0, 30.0, Type::plain(3.0), &format!("Name {i}"))).count();
        assert!((2..=5).contains(&written), "{written}");
        assert!(clear(&labels));
        assert!(!labels.over(&mut svg, 59.0, 30.0, Type::plain(3.0), "A name over the edge"));
    }

    #[test]
    fn many_numbers_on_one_spot_all_find_room() {
        let view = View::fitting([0.0, 0.0, 100.0, 100.0], 0.0, 0.0, 160.0, 90.0);
        let mut labels = Labels::new(&view);
        labels.keep_free([40.0, 40.0, 60.0, 60.0]);
        let spots: Vec<_> = (0..200).map(|_| labels.nearest(80.0, 45.0, 6.5, 4.0)).collect();
        assert!(spots.iter().all(Option::is_some) && clear(&labels));
        assert!(labels.written().iter().all(|a| apart(a, &[40.0, 40.0, 60.0, 60.0])), "what was kept free is free");
        let tried: usize = (0..800).filter(|_| labels.nearest(80.0, 45.0, 6.5, 4.0).is_none()).count();
        assert!(tried > 300, "no room is said, never taken twice: {tried}");
        assert!(clear(&labels));
    }

    #[test]
    fn long_names_are_set_in_two_lines() {
        let view = View::fitting([0.0, 0.0, 100.0, 100.0], 0.0, 0.0, 90.0, 60.0);
        let (mut labels, mut svg) = (Labels::new(&view), Svg::new(90.0, 60.0));
        assert!(labels.over(&mut svg, 45.0, 30.0, Type::plain(2.9), "The Far Allotment beyond the Old Sheepfold Wall"));
        let text = svg.finish();
        assert!(text.contains(">The Far Allotment beyond</text>") && text.contains(">the Old Sheepfold Wall</text>"), "{text}");
    }
}
