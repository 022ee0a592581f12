//! Where measures go: each kind in a hatch or stroke of its own, each measure with its number, told apart without colour.

use super::labels::Labels;
use super::layers::{self, Line};
use super::legend::Entry;
use super::{LEFT_MM, Scene, Sheet, TOP_MM, findings, legend};
use crate::placed::{self, Placed};
use crate::planned::Planned;
use crate::svg::hatch::Hatch;
use crate::svg::palette::{BLAEBERRY, COTTON, INK, MOSS};
use crate::svg::{Anchor, Svg, Type, number, text_width_mm};
use crate::map::view::View;
use crate::secrecy::Secrecy;
use geo::BoundingRect;
use geo_types::{Geometry, MultiLineString, MultiPolygon};

/// Columns of the legend.
const COLUMNS: usize = 2;
/// A measure smaller than this on paper has its number beside it, millimetres.
const SMALL_MM: f64 = 10.0;
/// Scales smaller than this have no room for names of ground.
const NAMED_TO: f64 = 35_000.0;
/// Numbers of measures whose place is withheld stand this far south of the middle of their square, clear of the lek's name, metres.
const BELOW_M: f64 = 250.0;

/// The hatch of a kind of measure.
fn hatch(kind: &str) -> Hatch {
    match kind {
        "wood" => Hatch::DoPlant,
        "conifer_edge" => Hatch::DoEdge,
        "grazing" => Hatch::DoGraze,
        "heather" => Hatch::DoHeather,
        "water" => Hatch::DoWater,
        "inbye" => Hatch::DoField,
        _ => Hatch::DoLek,
    }
}

/// The strokes a kind of measure is drawn with along a line, first below.
fn strokes(kind: &str) -> [String; 2] {
    let stroke = |colour: &str, width: f64, more: &str| format!(r#"fill="none" stroke="{colour}" stroke-width="{width}" stroke-linejoin="round" {more}"#);
    match kind {
        "water" => [stroke(COTTON, 1.9, ""), stroke(INK, 1.1, r#"stroke-dasharray=".5 1""#)],
        "fence" => [stroke(INK, 1.9, ""), stroke(COTTON, 1.0, r#"stroke-dasharray="1.6 1.1""#)],
        _ => [stroke(COTTON, 1.9, ""), stroke(INK, 0.9, "")],
    }
}

/// The sample of a kind in a legend.
pub fn sample(svg: &mut Svg, x: f64, y: f64, kind: &str) {
    if kind == "fence" {
        strokes(kind).iter().for_each(|style| svg.line(x, y + 1.7, x + 6.0, y + 1.7, style));
        return;
    }
    let fill = svg.hatch(hatch(kind));
    svg.rect(x, y, 6.0, 3.4, &format!(r#"fill="{COTTON}""#));
    svg.rect(x, y, 6.0, 3.4, &format!(r#"fill="{fill}" stroke="{INK}" stroke-width=".35""#));
}

impl Scene<'_> {
    /// Where the measures of an option go: all of them over the whole holding, or those of a kind near by.
    pub fn measures(&self, planned: &Planned, placed: &[Placed], kind: Option<&str>, width_mm: f64, height_mm: f64) -> Sheet {
        let of: Vec<usize> = (0..planned.jobs.len()).filter(|i| kind.is_none_or(|k| planned.jobs[*i].entry.key == k)).collect();
        self.some_measures(planned, placed, &of, kind.is_some(), width_mm, height_mm)
    }

    /// Where some measures go, by their places in the option. `near`: the ground round them alone, else the whole holding.
    pub fn some_measures(&self, planned: &Planned, placed: &[Placed], of: &[usize], near: bool, width_mm: f64, height_mm: f64) -> Sheet {
        let mut entries: Vec<Entry> = vec![];
        for i in of {
            let entry = Entry::Measure(planned.jobs[*i].entry.key, planned.jobs[*i].entry.title);
            if !entries.contains(&entry) {
                entries.push(entry);
            }
        }
        entries.extend([Entry::Line(Line::Boundary), Entry::Line(Line::Water), Entry::Line(Line::Track), Entry::Line(Line::Stock)]);
        entries.extend(self.lek_entry());
        let near = if near { placed::bounds(of.iter().map(|i| &placed[*i].shape)) } else { None };
        let below = super::FOOT_MM + legend::height_mm(entries.len(), COLUMNS);
        let view = View::fitting(near.unwrap_or(self.extent), LEFT_MM, TOP_MM, width_mm - LEFT_MM - 1.5, height_mm - TOP_MM - below);
        let mut svg = Svg::new(width_mm, height_mm);
        svg.clip(view.x_mm, view.y_mm, view.width_mm, view.height_mm);
        svg.rect(view.x_mm, view.y_mm, view.width_mm, view.height_mm, r##"fill="#f4f1e6""##);
        let woods: String = self.holding.woods.iter().map(|w| view.area(&w.shape)).collect();
        svg.path(&woods, &format!(r#"fill="{MOSS}" fill-opacity=".3" fill-rule="evenodd""#));
        layers::relief(&mut svg, &view, self.holding.heights.as_ref());
        super::furniture::grid_lines(&mut svg, &view);
        layers::line(&mut svg, &view, Line::Track, self.holding.tracks.iter().map(|t| &t.shape));
        layers::line(&mut svg, &view, Line::Stock, self.holding.fences.iter().map(|f| &f.shape));
        self.draw_bones(&mut svg, &view);
        let leks = layers::leks(&mut svg, &view, self.holding, self.secrecy, 2.4);
        // What is withheld lies in the lek's square, which is drawn with the leks.
        for i in of.iter().filter(|i| placed[**i].drawn) {
            draw(&mut svg, &view, planned.jobs[*i].entry.key, &placed[*i].shape);
        }
        let spot = |i: &usize| {
            let below = if placed[*i].drawn { 0.0 } else { BELOW_M };
            let at = Secrecy::spot(&placed[*i].shape).filter(|p| view.holds(p.x(), p.y() - below))?;
            Some((*i, view.x(at.x()), view.y(at.y() - below)))
        };
        let spots: Vec<(usize, f64, f64)> = of.iter().filter_map(spot).collect();
        let bounds = [view.x_mm, view.y_mm, view.x_mm + view.width_mm, view.y_mm + view.height_mm];
        let wanted: Vec<(f64, f64)> = spots.iter().map(|(i, x, y)| (x + aside(&view, &placed[*i]), *y)).collect();
        let free = findings::spread(&wanted, bounds);
        let mut labels = Labels::new(&view);
        for ((i, x, y), to) in spots.iter().zip(&free) {
            if (x - to.0).hypot(y - to.1) > 2.5 && placed[*i].drawn {
                svg.line(*x, *y, to.0, to.1, &format!(r#"stroke="{INK}" stroke-width=".2""#));
            }
            labels.keep_free([to.0 - 3.0, to.1 - 2.2, to.0 + 3.0, to.1 + 2.2]);
        }
        for ((i, ..), to) in spots.iter().zip(&free) {
            flag(&mut svg, to.0, to.1, &(i + 1).to_string(), !placed[*i].drawn);
        }
        self.name_leks(&mut svg, &mut labels, &leks, 3.0);
        if view.scale <= NAMED_TO {
            self.name_ground(&mut svg, &view, &mut labels, false);
        }
        svg.end();
        self.furnish(&mut svg, &view, &entries, COLUMNS);
        Sheet { svg: svg.finish(), scale: view.scale }
    }
}

/// How far beside its spot the number of a measure stands, so that it does not cover a small one, millimetres.
fn aside(view: &View, placed: &Placed) -> f64 {
    let Some(bounds) = placed.shape.bounding_rect().filter(|_| placed.drawn) else { return 0.0 };
    let (wide, high) = (view.x(bounds.max().x) - view.x(bounds.min().x), view.y(bounds.min().y) - view.y(bounds.max().y));
    if wide.max(high) < SMALL_MM { wide / 2.0 + 3.4 } else { 0.0 }
}

/// A numbered flag; rimmed in blaeberry dashes where the place is withheld.
fn flag(svg: &mut Svg, x: f64, y: f64, text: &str, withheld: bool) {
    let half = (text_width_mm(text, 2.8) / 2.0 + 0.9).max(1.9);
    let edge = if withheld { format!(r#"stroke="{BLAEBERRY}" stroke-width=".4" stroke-dasharray=".9 .5""#) } else { format!(r#"stroke="{INK}" stroke-width=".35""#) };
    let data = format!("M{} {}H{}V{}H{}Z", number(x - half), number(y - 1.9), number(x + half), number(y + 1.9), number(x - half));
    svg.path(&data, &format!(r#"fill="{COTTON}" {edge}"#));
    svg.text(x, y + 0.95, Type::plain(2.8).bold().anchor(Anchor::Middle), text);
}

/// A measure: hatched area with a firm edge, or its stroke.
fn draw(svg: &mut Svg, view: &View, kind: &str, shape: &Geometry<f64>) {
    match shape {
        Geometry::Polygon(p) => draw(svg, view, kind, &Geometry::MultiPolygon(MultiPolygon(vec![p.clone()]))),
        Geometry::MultiPolygon(all) => {
            let data = view.area(all);
            let fill = svg.hatch(hatch(kind));
            if kind != "grazing" {
                svg.path(&data, &format!(r#"fill="{COTTON}" fill-opacity=".6" fill-rule="evenodd""#));
            }
            svg.path(&data, &format!(r#"fill="{fill}" fill-rule="evenodd""#));
            svg.path(&data, &format!(r#"fill="none" stroke="{INK}" stroke-width=".5""#));
        }
        Geometry::LineString(l) => draw(svg, view, kind, &Geometry::MultiLineString(MultiLineString(vec![l.clone()]))),
        Geometry::MultiLineString(all) => {
            let data = view.lines(all);
            strokes(kind).iter().for_each(|style| svg.path(&data, style));
        }
        _ => {}
    }
}
