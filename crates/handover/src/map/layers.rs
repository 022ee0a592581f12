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
use ground::slope::{Gradient, Rim, slope_deg};
use holding::Holding;
use holding::model::{FenceKind, Marking, Service, TrackKind, Wood};
use std::collections::BTreeSet;

/// Paper under everything.
pub fn paper(svg: &mut Svg, view: &View) {
    svg.rect(view.x_mm, view.y_mm, view.width_mm, view.height_mm, &format!(r#"fill="{COTTON}""#));
}

/// Vegetation patches and woods in their looks; gives the looks drawn.
pub fn ground(svg: &mut Svg, view: &View, holding: &Holding) -> BTreeSet<Look> {
    let mut seen = BTreeSet::new();
    for patch in &holding.patches {
        if paint(svg, &view.area(&patch.shape), of_patch(patch), patch.coarse) {
            seen.insert(of_patch(patch));
        }
    }
    seen.extend(woods(svg, view, holding));
    seen
}

/// Woods in their looks; gives the looks drawn.
pub fn woods(svg: &mut Svg, view: &View, holding: &Holding) -> BTreeSet<Look> {
    let drawn = |svg: &mut Svg, wood: &Wood| paint(svg, &view.area(&wood.shape), of_wood(wood), false);
    holding.woods.iter().filter(|w| drawn(svg, w)).map(of_wood).collect()
}

/// An area in a look; false where it is out of view.
fn paint(svg: &mut Svg, data: &str, look: Look, faint: bool) -> bool {
    let (colour, hatch) = look.paint();
    let opacity = if faint { r#" fill-opacity=".45""# } else { "" };
    svg.path(data, &format!(r#"fill="{colour}"{opacity} fill-rule="evenodd" stroke="{STONE}" stroke-width=".08""#));
    if !data.is_empty() {
        let fill = svg.hatch(hatch);
        svg.path(data, &format!(r#"fill="{fill}" fill-rule="evenodd"{}"#, if faint { r#" opacity=".45""# } else { "" }));
    }
    !data.is_empty()
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
    /// Overhead line.
    Overhead,
    /// Buried or other service.
    Service,
}

impl Line {
    /// All kinds but the edge of the holding, in the order they are drawn, first below.
    pub const ALL: [Line; 14] = [
        Line::Parcel,
        Line::Water,
        Line::Ditch,
        Line::Blocked,
        Line::Path,
        Line::Track,
        Line::Road,
        Line::Wall,
        Line::Wire,
        Line::Stock,
        Line::Deer,
        Line::Marked,
        Line::Service,
        Line::Overhead,
    ];
    /// Enough to find one's way by.
    pub const WAYMARKS: [Line; 4] = [Line::Water, Line::Path, Line::Track, Line::Road];

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
            Line::Overhead => "overhead line",
            Line::Service => "pipe, cable, other service",
        }
    }

    /// The strokes it is drawn with, first below.
    pub fn strokes(self) -> Vec<String> {
        let stroke = |colour: &str, width: f64, more: &str| {
            format!(r#"fill="none" stroke="{colour}" stroke-width="{}" stroke-linejoin="round" {more}"#, number(width))
        };
        match self {
            Line::Boundary => vec![stroke(COTTON, 1.3, ""), stroke(INK, 0.65, r#"stroke-dasharray="3.2 .7 .7 .7""#)],
            Line::Parcel => vec![stroke(PEAT, 0.34, r#"stroke-linecap="round" stroke-dasharray="0 .8""#)],
            Line::Water => vec![stroke(BURN, 0.5, r#"stroke-linecap="round""#)],
            Line::Ditch => vec![stroke(BURN, 0.3, r#"stroke-dasharray="1.3 .5""#)],
            Line::Blocked => vec![stroke(BURN, 0.3, r#"stroke-dasharray="1.3 .5""#), stroke(BURN, 1.4, r#"stroke-dasharray=".35 3.25""#)],
            Line::Road => vec![stroke(PEAT, 1.7, ""), stroke(COTTON, 1.0, "")],
            Line::Track => vec![stroke(PEAT, 1.05, r#"stroke-dasharray="2.2 .6""#), stroke(COTTON, 0.45, "")],
            Line::Path => vec![stroke(PEAT, 0.3, r#"stroke-dasharray=".9 .7""#)],
            Line::Deer => vec![stroke(INK, 0.38, ""), stroke(INK, 1.3, r#"stroke-dasharray=".3 1.5""#)],
            Line::Stock => vec![stroke(INK, 0.22, ""), stroke(INK, 0.85, r#"stroke-dasharray=".22 2.4""#)],
            Line::Wire => vec![stroke(INK, 0.22, r#"stroke-dasharray="1.8 .5""#)],
            Line::Wall => vec![stroke(PEAT, 0.55, r#"stroke-dasharray=".55 .3""#)],
            Line::Marked => vec![stroke(COTTON, 1.15, r#"stroke-linecap="round" stroke-dasharray="0 3.1""#), stroke(INK, 0.7, r#"stroke-linecap="round" stroke-dasharray="0 3.1""#)],
            Line::Overhead => vec![stroke(COTTON, 1.2, ""), stroke(INK, 0.28, ""), stroke(INK, 1.5, r#"stroke-linecap="round" stroke-dasharray="0 5""#)],
            Line::Service => vec![stroke(COTTON, 0.9, ""), stroke(INK, 0.34, r#"stroke-dasharray="3 .6 .3 .6 .3 .6""#)],
        }
    }
}

/// Whether a service hangs overhead, by the words it was recorded with; where the words leave it open, it is taken to.
pub fn overhead(service: &Service) -> bool {
    let kind = service.kind.to_lowercase();
    let has = |words: &[&str]| words.iter().any(|w| kind.contains(w));
    !has(&["buried", "underground"]) && has(&["overhead", "pylon", "pole", "power", "electric", "telephone"])
}

/// Draws one line kind over shapes; true when any was in view.
pub fn line<'a>(svg: &mut Svg, view: &View, kind: Line, shapes: impl Iterator<Item = &'a MultiLineString<f64>>) -> bool {
    let data: String = shapes.map(|shape| view.lines(shape)).collect();
    for style in kind.strokes() {
        svg.path(&data, &style);
    }
    !data.is_empty()
}

/// The surveyed lines of some kinds; gives the kinds drawn.
pub fn lines(svg: &mut Svg, view: &View, holding: &Holding, kinds: &[Line]) -> BTreeSet<Line> {
    let drawn = |svg: &mut Svg, kind: Line| match kind {
        Line::Boundary => boundary(svg, view, holding, false),
        Line::Parcel => {
            let data: String = holding.parcels.iter().map(|p| view.outline(&p.shape)).collect();
            kind.strokes().iter().for_each(|style| svg.path(&data, style));
            !data.is_empty()
        }
        _ => line(svg, view, kind, of_kind(holding, kind).into_iter()),
    };
    kinds.iter().copied().filter(|kind| drawn(svg, *kind)).collect()
}

/// The surveyed lines of a kind.
pub fn of_kind(h: &Holding, kind: Line) -> Vec<&MultiLineString<f64>> {
    let ways = |kind: TrackKind| h.tracks.iter().filter(|t| t.kind == kind).map(|t| &t.shape).collect();
    let fences = |kinds: &[FenceKind]| h.fences.iter().filter(|f| kinds.contains(&f.kind)).map(|f| &f.shape).collect();
    let services = |above: bool| h.services.iter().filter(|s| overhead(s) == above).map(|s| &s.shape).collect();
    let ditches = |blocked: bool| h.ditches.iter().filter(|d| d.blocked == blocked).map(|d| &d.shape).collect();
    match kind {
        Line::Boundary | Line::Parcel => vec![],
        Line::Water => h.watercourses.iter().map(|w| &w.shape).collect(),
        Line::Ditch => ditches(false),
        Line::Blocked => ditches(true),
        Line::Path => ways(TrackKind::Path),
        Line::Track => ways(TrackKind::Track),
        Line::Road => ways(TrackKind::Road),
        Line::Wall => fences(&[FenceKind::Wall]),
        Line::Wire => fences(&[FenceKind::Wire, FenceKind::Other]),
        Line::Stock => fences(&[FenceKind::Stock]),
        Line::Deer => fences(&[FenceKind::Deer]),
        Line::Marked => h.fences.iter().filter(|f| !matches!(f.marking, Marking::None | Marking::Unknown)).map(|f| &f.shape).collect(),
        Line::Service => services(false),
        Line::Overhead => services(true),
    }
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
    let edge = view.outline(shape);
    Line::Boundary.strokes().iter().for_each(|style| svg.path(&edge, style));
    !edge.is_empty()
}

/// Ground steeper than a limit, hatched; false where none is in view or there are no heights.
pub fn steep(svg: &mut Svg, view: &View, heights: Option<&Grid<f32>>, limit_deg: f64) -> bool {
    let [w, s, e, n] = view.ground();
    let room = 30.0;
    let Some(near) = heights.and_then(|grid| raster::cut(grid, [w - room, s - room, e + room, n + room])) else { return false };
    let slope = slope_deg(&near, Gradient::Horn, Rim::Continued);
    let f = slope.frame;
    let over = |col: usize, row: usize| f64::from(slope.get(col, row)) > limit_deg;
    let mut data = String::new();
    for row in 0..f.rows {
        let mut col = 0;
        while col < f.cols {
            let from = col;
            while col < f.cols && over(col, row) {
                col += 1;
            }
            let north = f.north_m - row as f64 * f.dy_m;
            let (west, east) = (f.west_m + from as f64 * f.dx_m, f.west_m + col as f64 * f.dx_m);
            if col > from && view.meets([west, north - f.dy_m, east, north]) {
                // Rows overlap by a hair, so that no seam shows between them.
                data.push_str(&format!("M{} {}H{}V{}H{}Z", number(view.x(west)), number(view.y(north) - 0.02), number(view.x(east)), number(view.y(north - f.dy_m) + 0.02), number(view.x(west))));
            }
            col += 1;
        }
    }
    if !data.is_empty() {
        let fill = svg.hatch(Hatch::Steep);
        svg.path(&data, &format!(r#"fill="{fill}""#));
    }
    !data.is_empty()
}

/// An arrow head at a point, towards a direction of length one: what it tells of lies beyond the frame.
pub fn way_out(svg: &mut Svg, at: (f64, f64), towards: (f64, f64)) {
    let (x, y, dx, dy) = (at.0, at.1, towards.0, towards.1);
    let corner = |along: f64, across: f64| format!("{} {}", number(x + dx * along - dy * across), number(y + dy * along + dx * across));
    svg.path(&format!("M{}L{}L{}L{}Z", corner(2.0, 0.0), corner(-1.8, 1.7), corner(-0.9, 0.0), corner(-1.8, -1.7)), &format!(r#"fill="{INK}" stroke="{COTTON}" stroke-width=".3" stroke-linejoin="round""#));
}

/// Where a way in ends: a filled arrow head pointing down at its place.
pub fn access(svg: &mut Svg, x: f64, y: f64) {
    svg.path(&format!("M{} {}L{} {}L{} {}Z", number(x), number(y), number(x - 1.9), number(y - 4.2), number(x + 1.9), number(y - 4.2)), &format!(r#"fill="{INK}" stroke="{COTTON}" stroke-width=".35" stroke-linejoin="round""#));
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
