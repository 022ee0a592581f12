//! The layers maps are built of, each drawn into a view: ground, relief, lines, buildings, boundary, leks.

use super::look::{Look, of_patch, of_wood};
use super::view::View;
use crate::raster::{self, Raster};
use crate::secrecy::{Mark, Secrecy};
use crate::svg::hatch::Hatch;
use crate::svg::palette::{BLAEBERRY, BURN, COTTON, INK, PEAT, STONE};
use crate::svg::{Svg, number};
use geo_types::MultiLineString;
use ground::Grid;
use holding::Holding;
use holding::model::{FenceKind, Marking, TrackKind};
use std::collections::BTreeSet;

/// Paper under everything.
pub fn paper(svg: &mut Svg, view: &View) {
    svg.rect(view.x_mm, view.y_mm, view.width_mm, view.height_mm, &format!(r#"fill="{COTTON}""#));
}

/// Vegetation patches and woods in their looks; gives the looks drawn.
pub fn ground(svg: &mut Svg, view: &View, holding: &Holding) -> BTreeSet<Look> {
    let mut seen = BTreeSet::new();
    let mut paint = |svg: &mut Svg, data: &str, look: Look, faint: bool| {
        if data.is_empty() {
            return;
        }
        seen.insert(look);
        let (colour, hatch) = look.paint();
        let opacity = if faint { r#" fill-opacity=".45""# } else { "" };
        svg.path(data, &format!(r#"fill="{colour}"{opacity} fill-rule="evenodd" stroke="{STONE}" stroke-width=".08""#));
        if let Some(hatch) = hatch {
            let fill = svg.hatch(hatch);
            svg.path(data, &format!(r#"fill="{fill}" fill-rule="evenodd"{}"#, if faint { r#" opacity=".45""# } else { "" }));
        }
    };
    for patch in &holding.patches {
        paint(svg, &view.area(&patch.shape), of_patch(patch), patch.coarse);
    }
    for wood in &holding.woods {
        paint(svg, &view.area(&wood.shape), of_wood(wood), false);
    }
    seen
}

/// A packed picture laid where its ground lies.
pub fn lay(svg: &mut Svg, view: &View, raster: &Raster) {
    let f = raster.frame;
    let (x, y) = (view.x(f.west_m), view.y(f.north_m));
    svg.image(x, y, view.x(f.east_m()) - x, view.y(f.south_m()) - y, &raster.png);
}

/// Relief shading; false where there are no heights in view.
pub fn relief(svg: &mut Svg, view: &View, heights: Option<&Grid<f32>>) -> bool {
    let raster = heights.and_then(|grid| raster::cut(grid, view.ground())).and_then(|grid| raster::relief(&grid));
    if let Some(raster) = &raster {
        lay(svg, view, raster);
    }
    raster.is_some()
}

/// A kind of line, as the legend lists it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Line {
    /// Edge of the holding.
    Boundary,
    /// Edge of a field or hill unit.
    Parcel,
    /// Burn, beck, river or shore.
    Water,
    /// Open ditch.
    Ditch,
    /// Blocked ditch.
    Blocked,
    /// Road.
    Road,
    /// Track.
    Track,
    /// Path.
    Path,
    /// Deer fence.
    Deer,
    /// Stock fence.
    Stock,
    /// Other fence.
    Wire,
    /// Wall.
    Wall,
    /// Markers on a fence.
    Marked,
    /// Overhead or buried service.
    Service,
}

impl Line {
    /// The words of the legend.
    pub fn words(self) -> &'static str {
        match self {
            Line::Boundary => "edge of the holding",
            Line::Parcel => "field or hill unit",
            Line::Water => "running water, shore",
            Line::Ditch => "open ditch",
            Line::Blocked => "blocked ditch",
            Line::Road => "road",
            Line::Track => "track",
            Line::Path => "path",
            Line::Deer => "deer fence",
            Line::Stock => "stock fence",
            Line::Wire => "wire or other fence",
            Line::Wall => "wall",
            Line::Marked => "fence marked for birds",
            Line::Service => "power line, pipe",
        }
    }

    /// The strokes it is drawn with, first below.
    pub fn strokes(self) -> Vec<String> {
        let stroke = |colour: &str, width: f64, more: &str| {
            format!(r#"fill="none" stroke="{colour}" stroke-width="{}" stroke-linejoin="round" {more}"#, number(width))
        };
        match self {
            Line::Boundary => vec![stroke(COTTON, 1.3, ""), stroke(INK, 0.65, r#"stroke-dasharray="3.2 .7 .7 .7""#)],
            Line::Parcel => vec![stroke(PEAT, 0.18, "")],
            Line::Water => vec![stroke(BURN, 0.42, r#"stroke-linecap="round""#)],
            Line::Ditch => vec![stroke(BURN, 0.26, r#"stroke-dasharray="1.1 .5""#)],
            Line::Blocked => vec![stroke(BURN, 0.32, r#"stroke-dasharray=".3 .9""#)],
            Line::Road => vec![stroke(PEAT, 1.1, ""), stroke(COTTON, 0.7, "")],
            Line::Track => vec![stroke(PEAT, 0.75, ""), stroke(COTTON, 0.4, "")],
            Line::Path => vec![stroke(PEAT, 0.3, r#"stroke-dasharray=".9 .7""#)],
            Line::Deer => vec![stroke(INK, 0.38, ""), stroke(INK, 1.3, r#"stroke-dasharray=".3 1.5""#)],
            Line::Stock => vec![stroke(INK, 0.22, ""), stroke(INK, 0.85, r#"stroke-dasharray=".22 2.4""#)],
            Line::Wire => vec![stroke(INK, 0.22, r#"stroke-dasharray="1.8 .5""#)],
            Line::Wall => vec![stroke(PEAT, 0.55, r#"stroke-dasharray=".55 .3""#)],
            Line::Marked => vec![stroke(COTTON, 1.15, r#"stroke-linecap="round" stroke-dasharray="0 3.1""#), stroke(INK, 0.7, r#"stroke-linecap="round" stroke-dasharray="0 3.1""#)],
            Line::Service => vec![stroke(STONE, 0.25, r#"stroke-dasharray="3 .6 .2 .6 .2 .6""#)],
        }
    }
}

/// Draws one line kind over shapes; true when any was in view.
pub fn line<'a>(svg: &mut Svg, view: &View, kind: Line, shapes: impl Iterator<Item = &'a MultiLineString<f64>>) -> bool {
    let data: String = shapes.map(|shape| view.lines(shape)).collect();
    for style in kind.strokes() {
        svg.path(&data, &style);
    }
    !data.is_empty()
}

/// Every surveyed line; gives the kinds drawn.
pub fn lines(svg: &mut Svg, view: &View, holding: &Holding) -> BTreeSet<Line> {
    let mut seen = BTreeSet::new();
    let h = holding;
    let parcels: String = h.parcels.iter().map(|p| view.area(&p.shape)).collect();
    if !parcels.is_empty() {
        seen.insert(Line::Parcel);
        Line::Parcel.strokes().iter().for_each(|style| svg.path(&parcels, style));
    }
    let mut draw = |kind: Line, shapes: Vec<&MultiLineString<f64>>| {
        if line(svg, view, kind, shapes.into_iter()) {
            seen.insert(kind);
        }
    };
    draw(Line::Water, h.watercourses.iter().map(|w| &w.shape).collect());
    draw(Line::Ditch, h.ditches.iter().filter(|d| !d.blocked).map(|d| &d.shape).collect());
    draw(Line::Blocked, h.ditches.iter().filter(|d| d.blocked).map(|d| &d.shape).collect());
    let ways = |kind: TrackKind| h.tracks.iter().filter(|t| t.kind == kind).map(|t| &t.shape).collect();
    draw(Line::Path, ways(TrackKind::Path));
    draw(Line::Track, ways(TrackKind::Track));
    draw(Line::Road, ways(TrackKind::Road));
    draw(Line::Service, h.services.iter().map(|s| &s.shape).collect());
    let fences = |kinds: &[FenceKind]| h.fences.iter().filter(|f| kinds.contains(&f.kind)).map(|f| &f.shape).collect();
    draw(Line::Wall, fences(&[FenceKind::Wall]));
    draw(Line::Wire, fences(&[FenceKind::Wire, FenceKind::Other]));
    draw(Line::Stock, fences(&[FenceKind::Stock]));
    draw(Line::Deer, fences(&[FenceKind::Deer]));
    let marked = |m: Marking| !matches!(m, Marking::None | Marking::Unknown);
    draw(Line::Marked, h.fences.iter().filter(|f| marked(f.marking)).map(|f| &f.shape).collect());
    seen
}

/// Buildings, solid.
pub fn buildings(svg: &mut Svg, view: &View, holding: &Holding) -> bool {
    let data: String = holding.buildings.iter().map(|b| view.area(&b.shape)).collect();
    svg.path(&data, &format!(r#"fill="{PEAT}" stroke="{PEAT}" stroke-width=".25""#));
    !data.is_empty()
}

/// Protected and no-go areas, outlined with wide leaning strokes.
pub fn guarded(svg: &mut Svg, view: &View, holding: &Holding) -> bool {
    let data: String = holding.areas.iter().map(|a| view.area(&a.shape)).collect();
    if data.is_empty() {
        return false;
    }
    let fill = svg.hatch(Hatch::Guarded);
    svg.path(&data, &format!(r#"fill="{fill}" fill-rule="evenodd" opacity=".6""#));
    svg.path(&data, &format!(r#"fill="none" stroke="{INK}" stroke-width=".3" stroke-dasharray=".4 .5""#));
    true
}

/// The edge of the holding, with ground beyond it veiled where asked.
pub fn boundary(svg: &mut Svg, view: &View, holding: &Holding, veil: bool) -> bool {
    let Some(shape) = &holding.boundary else { return false };
    let data = view.area(shape);
    if veil && !data.is_empty() {
        let (x, y) = (number(view.x_mm), number(view.y_mm));
        let (r, b) = (number(view.x_mm + view.width_mm), number(view.y_mm + view.height_mm));
        svg.path(&format!("M{x} {y}L{r} {y}L{r} {b}L{x} {b}Z{data}"), &format!(r#"fill="{COTTON}" fill-opacity=".5" fill-rule="evenodd""#));
    }
    Line::Boundary.strokes().iter().for_each(|style| svg.path(&data, style));
    !data.is_empty()
}

/// Leks: a ring with a lyre inside where the place may be shown, else the kilometre square it lies in.
/// Gives the place and radius of each symbol drawn, for its name, millimetres.
pub fn leks(svg: &mut Svg, view: &View, holding: &Holding, secrecy: &Secrecy, size: f64) -> Vec<(f64, f64, f64, String)> {
    let mut names = vec![];
    let mut squares: Vec<(i64, i64)> = vec![];
    for lek in &holding.leks {
        match secrecy.mark(lek.at) {
            Mark::Exact { east_m, north_m } => {
                if view.holds(east_m, north_m) {
                    let (x, y) = (view.x(east_m), view.y(north_m));
                    lek_symbol(svg, x, y, size);
                    names.push((x, y, size, lek.name.clone()));
                }
            }
            Mark::Square { west_m, south_m, size_m } => {
                if !view.meets([west_m, south_m, west_m + size_m, south_m + size_m]) {
                    continue;
                }
                let key = (west_m as i64, south_m as i64);
                let (x, y, side) = (view.x(west_m), view.y(south_m + size_m), size_m / view.metres_a_mm());
                if !squares.contains(&key) {
                    squares.push(key);
                    square(svg, x, y, side);
                }
                let row = squares.iter().filter(|k| **k == key).count() + names.len();
                names.push((x + side / 2.0, y + side / 2.0 + 0.01 * row as f64, 0.0, format!("{} (place withheld)", lek.name)));
            }
        }
    }
    names
}

/// The square that stands for a withheld place.
pub fn square(svg: &mut Svg, x: f64, y: f64, side: f64) {
    let fill = svg.hatch(Hatch::Withheld);
    svg.rect(x, y, side, side, &format!(r#"fill="{fill}" opacity=".75""#));
    svg.rect(x, y, side, side, &format!(r#"fill="none" stroke="{BLAEBERRY}" stroke-width=".45" stroke-dasharray="1.4 .6""#));
}

/// The symbol of a lek: a ring holding two outward curves.
pub fn lek_symbol(svg: &mut Svg, x: f64, y: f64, radius: f64) {
    svg.circle(x, y, radius, &format!(r#"fill="{COTTON}" stroke="{BLAEBERRY}" stroke-width="{}""#, number(radius * 0.22)));
    let r = radius;
    let half = |side: f64| {
        format!(
            "M{} {}C{} {} {} {} {} {}",
            number(x + side * 0.12 * r),
            number(y + 0.55 * r),
            number(x + side * 0.12 * r),
            number(y - 0.25 * r),
            number(x + side * 0.2 * r),
            number(y - 0.6 * r),
            number(x + side * 0.62 * r),
            number(y - 0.3 * r)
        )
    };
    let style = format!(r#"fill="none" stroke="{BLAEBERRY}" stroke-width="{}" stroke-linecap="round""#, number(radius * 0.24));
    svg.path(&half(-1.0), &style);
    svg.path(&half(1.0), &style);
}
