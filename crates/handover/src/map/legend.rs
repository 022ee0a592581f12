//! The legend of a map: a sample and a word for everything drawn, in columns.

use super::layers::{self, Line};
use super::look::Look;
use crate::svg::hatch::Hatch;
use crate::svg::palette::{BLAEBERRY, COTTON, INK, PEAT, VALUE_STEPS, VALUE_WORDS, hex};
use crate::svg::{Svg, Type, number};
use std::borrow::Cow;

/// One thing a legend explains.
#[derive(Clone, Debug, PartialEq)]
pub enum Entry {
    /// A look of ground.
    Ground(Look),
    /// A kind of line.
    Line(Line),
    /// Buildings.
    Building,
    /// Protected and no-go areas.
    Guarded,
    /// A lek where it is.
    Lek,
    /// The square of a withheld lek.
    Square,
    /// A step of the value ramp.
    Value(usize),
    /// Ground nobody mapped.
    Unmapped,
    /// Ground hidden from the lek.
    Hidden,
    /// A numbered finding: its weight (0 must, 1 should, 2 consider) and the words.
    Finding(usize, &'static str),
    /// A kind of measure: its key and title, and whether it is drawn along a line.
    Measure(&'static str, &'static str, bool),
    /// The edge of a wood.
    WoodEdge,
    /// Ground steeper than so many degrees, too steep for machines.
    Steep(f64),
    /// Where the way in ends.
    Access,
    /// Which way that is, where it lies beyond the frame.
    WayOut,
    /// A number of a measure whose place is withheld.
    Withheld,
}

impl Entry {
    fn words(&self) -> Cow<'static, str> {
        let words = match self {
            Entry::Steep(degrees) => return format!("steeper than {} degrees: limit for machines", number(*degrees)).into(),
            Entry::Measure(kind, title, true) if *kind != "fence" => return format!("{title}, along a line").into(),
            Entry::Ground(look) => look.words(),
            Entry::Line(line) => line.words(),
            Entry::WoodEdge => "edge of a wood",
            Entry::Access => "access point",
            Entry::WayOut => "towards the nearest way",
            Entry::Withheld => "measure near the lek here, place withheld",
            Entry::Building => "building",
            Entry::Guarded => "protected or kept out of",
            Entry::Lek => "lek",
            Entry::Square => "lek in this square",
            Entry::Value(step) => VALUE_WORDS.get(*step).copied().unwrap_or(""),
            Entry::Unmapped => "not mapped",
            Entry::Hidden => "hidden from the lek",
            Entry::Finding(_, words) | Entry::Measure(_, words, _) => words,
        };
        words.into()
    }

    pub(super) fn sample(&self, svg: &mut Svg, x: f64, y: f64) {
        let edge = format!(r#"stroke="{INK}" stroke-width=".12""#);
        match self {
            Entry::Ground(look) => {
                let (colour, hatch) = look.paint();
                let fill = svg.hatch(hatch);
                svg.rect(x, y, 6.0, 3.4, &format!(r#"fill="{colour}" {edge}"#));
                svg.rect(x, y, 6.0, 3.4, &format!(r#"fill="{fill}""#));
            }
            Entry::Line(line) => {
                for style in line.strokes() {
                    svg.line(x, y + 1.7, x + 6.0, y + 1.7, &style);
                }
            }
            Entry::Building => svg.rect(x + 1.8, y + 0.6, 2.4, 2.0, &format!(r#"fill="{PEAT}""#)),
            Entry::Guarded => {
                let fill = svg.hatch(Hatch::Guarded);
                svg.rect(x, y, 6.0, 3.4, &format!(r#"fill="{fill}" stroke="{INK}" stroke-width=".3" stroke-dasharray=".4 .5""#));
            }
            Entry::Lek => layers::lek_symbol(svg, x + 3.0, y + 1.7, 1.6),
            Entry::Square => {
                let fill = svg.hatch(Hatch::Withheld);
                svg.rect(x, y, 6.0, 3.4, &format!(r#"fill="{fill}" stroke="{BLAEBERRY}" stroke-width=".3" stroke-dasharray="1 .5""#));
            }
            Entry::Value(step) => {
                let colour = hex(VALUE_STEPS.get(*step).copied().unwrap_or([255; 3]));
                svg.rect(x, y, 6.0, 3.4, &format!(r#"fill="{colour}" {edge}"#));
            }
            Entry::Unmapped => {
                svg.rect(x, y, 6.0, 3.4, &format!(r#"fill="{COTTON}" {edge}"#));
                let fill = svg.hatch(Hatch::Unmapped);
                svg.rect(x, y, 6.0, 3.4, &format!(r#"fill="{fill}""#));
            }
            Entry::Hidden => svg.rect(x, y, 6.0, 3.4, &format!(r##"fill="#5b606b" {edge}"##)),
            Entry::Measure(kind, _, line) => super::works::sample(svg, x, y, kind, *line),
            Entry::Steep(_) => {
                let fill = svg.hatch(Hatch::Steep);
                svg.rect(x, y, 6.0, 3.4, &format!(r#"fill="{fill}""#));
            }
            Entry::WoodEdge => svg.line(x, y + 1.7, x + 6.0, y + 1.7, super::WOOD_EDGE),
            Entry::Access => layers::access(svg, x + 3.0, y + 3.8),
            Entry::WayOut => layers::way_out(svg, (x + 2.5, y + 1.7), (1.0, 0.0)),
            Entry::Withheld => super::works::flag(svg, x + 3.0, y + 1.7, Type::plain(2.2), "7", true),
            Entry::Finding(weight, _) => super::findings::symbol(svg, x + 3.0, y + 1.7, *weight, ""),
        }
    }
}

/// Width of a sample with the room beside it, millimetres.
const SAMPLE_MM: f64 = 7.4;
/// Room between columns, millimetres.
const BETWEEN_MM: f64 = 4.0;

/// How a legend is set out.
#[derive(Clone, Copy, Debug)]
pub struct Layout {
    columns: usize,
    rows: usize,
    row_mm: f64,
    size_mm: f64,
    width_mm: f64,
}

impl Layout {
    /// As many columns as the widest words leave room for.
    pub fn of(entries: &[Entry], width_mm: f64, size_mm: f64) -> Self {
        let look = Type::plain(size_mm);
        let widest = entries.iter().map(|e| look.width_mm(&e.words())).fold(1.0, f64::max);
        let columns = (((width_mm + BETWEEN_MM) / (SAMPLE_MM + widest + BETWEEN_MM)).floor() as usize).clamp(1, entries.len().max(1));
        // Lozenges of findings are taller than a row of words.
        let tall = entries.iter().any(|e| matches!(e, Entry::Finding(..)));
        Self { columns, rows: entries.len().div_ceil(columns), row_mm: (size_mm * 1.55).max(if tall { 5.7 } else { 4.4 }), size_mm, width_mm }
    }

    /// Height it takes, millimetres.
    pub fn height_mm(&self) -> f64 {
        self.rows as f64 * self.row_mm
    }

    /// Draws it, column by column.
    pub fn draw(&self, svg: &mut Svg, entries: &[Entry], x: f64, y: f64) {
        let column_mm = (self.width_mm + BETWEEN_MM) / self.columns as f64;
        let look = Type::plain(self.size_mm);
        svg.group("legend");
        for (i, entry) in entries.iter().enumerate() {
            let (ex, ey) = (x + (i / self.rows.max(1)) as f64 * column_mm, y + (i % self.rows.max(1)) as f64 * self.row_mm);
            entry.sample(svg, ex, ey);
            svg.text(ex + SAMPLE_MM, ey + 1.7 + self.size_mm * 0.33, look, &look.fitted(&entry.words(), column_mm - SAMPLE_MM - BETWEEN_MM + 0.1));
        }
        svg.end();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::svg::palette::VALUE_STEPS;

    /// Everything a legend can hold but the steps of value, which differ in lightness.
    fn all() -> Vec<Entry> {
        let mut out: Vec<Entry> = Look::ALL.into_iter().map(Entry::Ground).chain(Line::ALL.into_iter().map(Entry::Line)).collect();
        out.extend([Entry::Line(Line::Boundary), Entry::Building, Entry::Guarded, Entry::Lek, Entry::Square, Entry::Steep(15.0), Entry::Access, Entry::WayOut, Entry::Withheld, Entry::WoodEdge, Entry::Hidden]);
        out.extend((0..3).map(|w| Entry::Finding(w, "")));
        for entry in measures::kind::all() {
            out.extend([false, true].map(|line| Entry::Measure(entry.key, entry.title, line)));
        }
        out
    }

    /// What is left of a sample when every colour and opacity is taken out: its shapes, hatches, widths and dashes.
    fn without_colour(entry: &Entry) -> String {
        let mut svg = Svg::new(8.0, 5.0);
        entry.sample(&mut svg, 1.0, 1.0);
        let text = svg.finish();
        let body = &text[text.find("<defs>").unwrap()..];
        let mut out = String::new();
        for (i, part) in body.split('#').enumerate() {
            out.push_str(if i > 0 && part.len() > 6 && part[..6].chars().all(|c| c.is_ascii_hexdigit()) { &part[6..] } else { part });
        }
        // A hatch is what it draws, not what it is called.
        let mut named = String::new();
        for (i, part) in out.split("h-").enumerate() {
            named.push_str(if i > 0 { &part[part.find(['"', ')']).unwrap()..] } else { part });
        }
        named
    }

    #[test]
    fn every_two_looks_differ_in_more_than_colour() {
        let all = all();
        let bare: Vec<String> = all.iter().map(without_colour).collect();
        for i in 0..all.len() {
            for j in 0..i {
                let same_kind = matches!((&all[i], &all[j]), (Entry::Measure(a, ..), Entry::Measure(b, ..)) if a == b);
                assert!(same_kind || bare[i] != bare[j], "{:?} and {:?} differ in colour alone", all[i], all[j]);
            }
        }
    }

    #[test]
    fn steps_of_value_differ_in_lightness() {
        // Weights of red, green and blue in what the eye takes for light: ITU-R BT.601, as printers and screens turn colour to grey.
        let grey = |[r, g, b]: [u8; 3]| 0.299 * f64::from(r) + 0.587 * f64::from(g) + 0.114 * f64::from(b);
        for pair in VALUE_STEPS.windows(2) {
            assert!(grey(pair[0]) - grey(pair[1]) > 25.0, "{pair:?}");
        }
    }

    #[test]
    fn words_are_never_cut_where_a_row_holds_them() {
        let entries = all();
        let layout = Layout::of(&entries, 164.0, 2.9);
        let mut svg = Svg::new(174.0, 200.0);
        layout.draw(&mut svg, &entries, 0.0, 0.0);
        assert!(layout.columns >= 2 && !svg.finish().contains('…'));
    }
}
