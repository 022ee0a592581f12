//! The one way sheets are drawn: a scale of the ladder, the map, its frame and grid figures, scale bar, north, notes, and a legend of
//! what the map shows.

use super::furniture::{self, Figures};
use super::labels::{Area, Labels};
use super::layers::Line;
use super::legend::{Entry, Layout};
use super::look::Look;
use super::view::{Box4, View};
use crate::svg::palette::INK;
use crate::svg::{Svg, Type};
use std::collections::BTreeSet;

/// Sizes of type on a sheet, millimetres.
#[derive(Clone, Copy, Debug)]
pub struct Sizes {
    /// Figures of the grid.
    pub figure: f64,
    /// Notes under the map.
    pub note: f64,
    /// Scale and legend.
    pub legend: f64,
    /// Names of patches and lines.
    pub patch: f64,
    /// Names of woods.
    pub wood: f64,
    /// Names of units.
    pub unit: f64,
    /// Names of leks.
    pub lek: f64,
    /// Numbers of measures and findings.
    pub number: f64,
}

impl Sizes {
    /// For reading at a desk.
    pub const USUAL: Sizes = Sizes { figure: 2.3, note: 2.5, legend: 2.9, patch: 2.2, wood: 2.5, unit: 2.9, lek: 3.0, number: 2.8 };
    /// For whoever works there, outdoors and in the rain.
    pub const FIELD: Sizes = Sizes { figure: 2.6, note: 2.7, legend: 2.9, patch: 2.6, wood: 2.7, unit: 3.0, lek: 3.0, number: 3.2 };
    /// For a table with several people round it: nothing under 3 mm.
    pub const LARGE: Sizes = Sizes { figure: 3.0, note: 3.1, legend: 3.7, patch: 3.0, wood: 3.2, unit: 3.6, lek: 3.8, number: 4.4 };
}

/// What a sheet is to be.
pub struct Form {
    /// Width of the whole picture, millimetres.
    pub width_mm: f64,
    /// Height of the whole picture, millimetres.
    pub height_mm: f64,
    /// Ground that must lie in view, metres.
    pub ground: Box4,
    /// Ground that lies in view too where that takes no smaller scale.
    pub also: Option<Box4>,
    /// Sizes of type.
    pub sizes: Sizes,
    /// EPSG number of the plan.
    pub epsg: u32,
    /// What is said under the map.
    pub notes: Vec<String>,
    /// Legend and notes stand beside the map, not under it: for sheets broader than high.
    pub beside: bool,
}

/// A sheet in the making.
pub struct Canvas {
    /// The picture.
    pub svg: Svg,
    /// Ground to paper.
    pub view: View,
    /// Places taken by names and numbers.
    pub labels: Labels,
    /// Sizes of type.
    pub sizes: Sizes,
    shown: Vec<Entry>,
    homeless: Vec<usize>,
}

/// A finished map and its scale.
pub struct Sheet {
    /// The picture.
    pub svg: String,
    /// The scale, 1 to this.
    pub scale: f64,
    /// The boxes of the names and numbers on the map.
    pub written: Vec<Area>,
    /// Numbers that found no room; the sheet says so.
    pub homeless: Vec<usize>,
}

/// Room between frame and what stands under it, millimetres.
const UNDER_MM: f64 = 3.0;
/// Room between frame and what stands beside it, millimetres.
const BESIDE_MM: f64 = 4.0;
/// Room a north arrow takes, millimetres wide.
const NORTH_MM: f64 = 15.0;

impl Canvas {
    fn new(form: &Form, view: View) -> Self {
        Self { svg: Svg::new(form.width_mm, form.height_mm), view, labels: Labels::new(&view), sizes: form.sizes, shown: vec![], homeless: vec![] }
    }

    /// Puts something into the legend, once.
    pub fn show(&mut self, entry: Entry) {
        if !self.shown.contains(&entry) {
            self.shown.push(entry);
        }
    }

    /// Leaves the sheet without a legend.
    pub fn no_legend(&mut self) {
        self.shown.clear();
    }

    /// Puts something into the legend where it was drawn.
    pub fn show_if(&mut self, drawn: bool, entry: Entry) {
        if drawn {
            self.show(entry);
        }
    }

    /// Puts looks of ground into the legend, in its order.
    pub fn show_looks(&mut self, looks: &BTreeSet<Look>) {
        Look::ALL.into_iter().filter(|l| looks.contains(l)).for_each(|l| self.show(Entry::Ground(l)));
    }

    /// Puts kinds of line into the legend.
    pub fn show_lines(&mut self, lines: BTreeSet<Line>) {
        lines.into_iter().for_each(|l| self.show(Entry::Line(l)));
    }

    /// A place on paper for a box round a point that covers nothing written; a number without room is said under the map.
    /// One for something small stands next to that, where there is room; then true comes with it.
    pub fn room(&mut self, number: usize, at: (f64, f64), small: Option<Area>, wide_mm: f64, high_mm: f64) -> Option<((f64, f64), bool)> {
        let next = small.and_then(|shape| self.labels.next_to(&shape, wide_mm, high_mm)).map(|p| (p, true));
        let spot = next.or_else(|| self.labels.nearest(at.0, at.1, wide_mm, high_mm).map(|p| (p, false)));
        if spot.is_none() {
            self.homeless.push(number);
        }
        spot
    }
}

/// What stands under a map, or beside it.
struct Margin {
    notes: Vec<String>,
    layout: Layout,
}

impl Form {
    /// The view with so much room under the frame, or beside it.
    fn view(&self, taken_mm: f64) -> View {
        let (left, top) = (self.sizes.figure * 3.5, self.sizes.figure * 2.0);
        let (beside, below) = if self.beside { (self.beside_mm() + BESIDE_MM, UNDER_MM + self.bar_mm()) } else { (0.0, taken_mm) };
        let (wide, high) = ((self.width_mm - left - beside - 1.5).max(20.0), (self.height_mm - top - below).max(20.0));
        let view = View::fitting(self.ground, left, top, wide, high);
        let more = self.also.map(|o| [self.ground[0].min(o[0]), self.ground[1].min(o[1]), self.ground[2].max(o[2]), self.ground[3].max(o[3])]);
        more.map(|g| View::fitting(g, left, top, wide, high)).filter(|v| v.scale <= view.scale).unwrap_or(view)
    }

    /// Height of scale bar and north arrow, millimetres.
    fn bar_mm(&self) -> f64 {
        self.sizes.note.max(2.5) + 9.0
    }

    /// Width of what stands beside a map, millimetres: a column of the legend.
    fn beside_mm(&self) -> f64 {
        self.sizes.legend * 21.0
    }

    fn margin(&self, canvas: &Canvas) -> Margin {
        let homeless: Vec<String> = canvas.homeless.iter().map(ToString::to_string).collect();
        let no_room = (!homeless.is_empty()).then(|| format!("No room was left on the map for the number of: {}.", homeless.join(", ")));
        let look = Type::plain(self.sizes.note);
        let width = if self.beside { self.beside_mm() } else { canvas.view.width_mm };
        let notes = self.notes.iter().cloned().chain(no_room).flat_map(|note| wrapped(&note, look, width)).collect();
        Margin { notes, layout: Layout::of(&canvas.shown, width, self.sizes.legend) }
    }

    fn notes_mm(&self, margin: &Margin) -> f64 {
        margin.notes.len() as f64 * self.sizes.note * 1.35 + 1.5
    }

    /// Room what was drawn takes under the frame, millimetres.
    fn below_mm(&self, canvas: &Canvas) -> f64 {
        let margin = self.margin(canvas);
        UNDER_MM + self.bar_mm() + if self.beside { 0.0 } else { self.notes_mm(&margin) + margin.layout.height_mm() }
    }

    /// Draws the sheet: what is in view decides the legend, and the legend the view, so it is drawn again until there is room for all.
    pub fn draw(&self, on: impl Fn(&mut Canvas)) -> Sheet {
        let mut below = UNDER_MM + self.bar_mm();
        loop {
            let mut canvas = Canvas::new(self, self.view(below));
            let view = canvas.view;
            canvas.svg.clip(view.x_mm, view.y_mm, view.width_mm, view.height_mm);
            on(&mut canvas);
            canvas.svg.end();
            let needed = self.below_mm(&canvas);
            if needed <= below + 1e-9 || below > self.height_mm {
                return self.furnish(canvas);
            }
            below = needed;
        }
    }

    fn furnish(&self, mut canvas: Canvas) -> Sheet {
        let (margin, view, sizes) = (self.margin(&canvas), canvas.view, self.sizes);
        let figures = Figures { epsg: self.epsg, size_mm: sizes.figure };
        let svg = &mut canvas.svg;
        furniture::frame(svg, &view, Some(figures));
        let (left, foot) = (view.x_mm, view.y_mm + view.height_mm + UNDER_MM);
        let bar = (view.width_mm * 0.34).min(58.0);
        furniture::scale_bar(svg, &view, left + 1.0, foot, bar, sizes.note);
        let (beside, room) = (left + bar + 8.0, view.width_mm - bar - 8.0 - NORTH_MM);
        let (scale, note) = (Type::plain(sizes.legend).bold(), Type::plain(sizes.note).colour(INK));
        svg.text(beside, foot + sizes.legend * 0.75, scale, &scale.fitted(&format!("{} on {}", furniture::ratio(view.scale), furniture::paper(self.width_mm, self.height_mm)), room));
        for (i, line) in wrapped(&figures.told(&view), note, room).iter().take(2).enumerate() {
            svg.text(beside, foot + sizes.legend * 0.75 + (i + 1) as f64 * sizes.note * 1.35, note, line);
        }
        furniture::north(svg, left + view.width_mm - NORTH_MM / 2.0, foot - 1.0, sizes.note);
        let (left, top) = if self.beside { (left + view.width_mm + BESIDE_MM, view.y_mm) } else { (left, foot + self.bar_mm()) };
        for (i, line) in margin.notes.iter().enumerate() {
            svg.text(left, top + sizes.note * (0.95 + i as f64 * 1.35), note, line);
        }
        margin.layout.draw(svg, &canvas.shown, left, top + self.notes_mm(&margin));
        Sheet { scale: view.scale, written: canvas.labels.written().to_vec(), homeless: canvas.homeless, svg: canvas.svg.finish() }
    }
}

/// A text in lines no wider than `width_mm`; a word that is wider is cut.
fn wrapped(text: &str, look: Type, width_mm: f64) -> Vec<String> {
    let mut lines: Vec<String> = vec![];
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if look.width_mm(&format!("{line} {word}")) <= width_mm => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(look.fitted(word, width_mm)),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(notes: &[&str]) -> Form {
        Form { width_mm: 174.0, height_mm: 118.0, ground: [384_000.0, 529_000.0, 384_700.0, 529_300.0], also: None, sizes: Sizes::USUAL, epsg: 27700, beside: false, notes: notes.iter().map(ToString::to_string).collect() }
    }

    #[test]
    fn the_legend_takes_what_room_it_needs_and_no_more() {
        let few = form(&[]).draw(|c| c.show(Entry::Lek));
        let many = form(&["A note of so many words that it takes more than a line, so that there must be room for two of them or even three, which nobody can know before it is written down and set."]).draw(|c| Look::ALL.into_iter().for_each(|l| c.show(Entry::Ground(l))));
        let frame = |sheet: &Sheet| {
            let line = sheet.svg.lines().find(|l| l.starts_with("<rect") && l.contains("stroke-width=\".35\"")).unwrap().to_owned();
            line.split("height=\"").nth(1).unwrap().split('"').next().unwrap().parse::<f64>().unwrap()
        };
        assert!(frame(&few) > frame(&many) + 15.0, "{} {}", frame(&few), frame(&many));
        for line in many.svg.lines().filter(|l| l.starts_with("<text")) {
            let y: f64 = line.split(" y=\"").nth(1).unwrap().split('"').next().unwrap().parse().unwrap();
            assert!(y < 118.0, "{line}");
        }
    }

    #[test]
    fn other_ground_is_taken_in_only_at_the_same_scale() {
        let near = Form { also: Some([384_700.0, 529_100.0, 384_750.0, 529_150.0]), ..form(&[]) };
        let far = Form { also: Some([390_000.0, 529_100.0, 390_050.0, 529_150.0]), ..form(&[]) };
        let holds = |f: &Form, x: f64| {
            let seen = std::cell::Cell::new(false);
            let sheet = f.draw(|c| seen.set(c.view.holds(x, 529_120.0)));
            (sheet.scale, seen.get())
        };
        assert_eq!(holds(&near, 384_745.0), (5000.0, true));
        assert_eq!(holds(&far, 390_020.0), (5000.0, false));
    }
}
