//! The legend of a map: a sample and a word for everything drawn, in columns.

use super::layers::{self, Line};
use super::look::Look;
use crate::svg::hatch::Hatch;
use crate::svg::palette::{BLAEBERRY, COTTON, INK, PEAT, VALUE_STEPS, VALUE_WORDS, hex};
use crate::svg::{Svg, Type, fitted};

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
    /// A kind of measure: its key and title.
    Measure(&'static str, &'static str),
}

impl Entry {
    fn words(&self) -> &'static str {
        match self {
            Entry::Ground(look) => look.words(),
            Entry::Line(line) => line.words(),
            Entry::Building => "building",
            Entry::Guarded => "protected or kept out of",
            Entry::Lek => "lek",
            Entry::Square => "lek in this square",
            Entry::Value(step) => VALUE_WORDS.get(*step).copied().unwrap_or(""),
            Entry::Unmapped => "not mapped",
            Entry::Hidden => "hidden from the lek",
            Entry::Finding(_, words) | Entry::Measure(_, words) => words,
        }
    }

    fn sample(&self, svg: &mut Svg, x: f64, y: f64) {
        let edge = format!(r#"stroke="{INK}" stroke-width=".12""#);
        match self {
            Entry::Ground(look) => {
                let (colour, hatch) = look.paint();
                svg.rect(x, y, 6.0, 3.4, &format!(r#"fill="{colour}" {edge}"#));
                if let Some(hatch) = hatch {
                    let fill = svg.hatch(hatch);
                    svg.rect(x, y, 6.0, 3.4, &format!(r#"fill="{fill}""#));
                }
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
            Entry::Measure(kind, _) => super::works::sample(svg, x, y, kind),
            Entry::Finding(weight, _) => super::findings::symbol(svg, x + 3.0, y + 1.7, *weight, ""),
        }
    }
}

/// Height of one row, millimetres.
const ROW_MM: f64 = 4.6;

/// Height a legend of `entries` takes over a number of columns, millimetres.
pub fn height_mm(entries: usize, columns: usize) -> f64 {
    entries.div_ceil(columns.max(1)) as f64 * ROW_MM
}

/// Draws a legend, column by column.
pub fn draw(svg: &mut Svg, entries: &[Entry], x: f64, y: f64, width_mm: f64, columns: usize) {
    let rows = entries.len().div_ceil(columns.max(1)).max(1);
    let column_mm = width_mm / columns.max(1) as f64;
    for (i, entry) in entries.iter().enumerate() {
        let (ex, ey) = (x + (i / rows) as f64 * column_mm, y + (i % rows) as f64 * ROW_MM);
        entry.sample(svg, ex, ey);
        svg.text(ex + 7.4, ey + 2.7, Type::plain(2.9), &fitted(entry.words(), 2.9, column_mm - 8.0));
    }
}
