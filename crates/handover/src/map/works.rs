//! Where measures go: each kind in a hatch or stroke of its own, each measure with its number, told apart without colour.

use super::labels::Area;
use super::layers::{self, Line};
use super::legend::Entry;
use super::sheet::{Canvas, Form, Sheet, Sizes};
use super::sites::{Access, Site, line_name};
use super::view::{Box4, View};
use super::{Scene, leader};
use crate::placed::{self, Placed};
use crate::planned::Planned;
use crate::secrecy::Secrecy;
use crate::svg::hatch::Hatch;
use crate::svg::palette::{BLAEBERRY, COTTON, INK};
use crate::svg::{Anchor, Svg, Type, number};
use geo::{BoundingRect, InterpolateLine, Euclidean, Length};
use geo_types::{Geometry, LineString, MultiLineString, MultiPolygon};
use ground::quick::lines_inside;

/// A measure smaller than this on paper has its number beside it, millimetres.
const SMALL_MM: f64 = 10.0;
/// One narrower than this too.
const STRIP_MM: f64 = 6.0;
/// A measure larger than this may carry names, millimetres.
const LARGE_MM: f64 = 40.0;
/// Ground round an access point that lies in view with it, metres.
const ROUND_ACCESS_M: f64 = 50.0;
/// Room round the holding on the year map, as a share of its length.
const YEAR_ROOM: f64 = 0.01;
/// Lines that measures are found by.
const LINES: [Line; 9] = [Line::Water, Line::Path, Line::Track, Line::Road, Line::Wall, Line::Wire, Line::Stock, Line::Deer, Line::Boundary];
/// Those of them that people at a table find their way by.
const WAYS: [Line; 4] = [Line::Water, Line::Track, Line::Road, Line::Boundary];
/// Half the size of an arrow at the frame, millimetres.
const EDGE_MM: f64 = 2.2;
/// Scales smaller than this have no room for names of ground.
const NAMED_TO: f64 = 30_000.0;
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
        "wood" => [stroke(COTTON, 1.9, ""), stroke(INK, 1.3, r#"stroke-linecap="round" stroke-dasharray="0 2""#)],
        "conifer_edge" => [stroke(COTTON, 1.9, ""), stroke(INK, 0.9, r#"stroke-dasharray="2.6 .7""#)],
        "grazing" => [stroke(COTTON, 1.9, ""), stroke(INK, 0.9, r#"stroke-dasharray="1.4 1.4""#)],
        "heather" => [stroke(COTTON, 1.9, ""), stroke(INK, 0.9, r#"stroke-dasharray="2 .6 .6 .6""#)],
        "lek_care" => [stroke(COTTON, 1.9, ""), stroke(INK, 0.9, r#"stroke-dasharray="3 .5 .5 .5 .5 .5""#)],
        _ => [stroke(COTTON, 1.9, ""), stroke(INK, 0.9, "")],
    }
}

/// The sample of a kind in a legend, as an area or along a line.
pub fn sample(svg: &mut Svg, x: f64, y: f64, kind: &str, line: bool) {
    if line || kind == "fence" {
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
        let Some(near) = kind.and_then(|_| placed::bounds(of.iter().map(|i| &placed[*i].shape))) else {
            return self.works(&self.form(width_mm, height_mm), planned, placed, &of, &LINES);
        };
        // A low sheet may have more room for the map with its legend at the side.
        let [under, beside] = [false, true].map(|beside| self.works(&Form { ground: near, beside, ..self.form(width_mm, height_mm) }, planned, placed, &of, &LINES));
        if beside.scale < under.scale { beside } else { under }
    }

    /// The measures of a year over the whole holding, in type for a table with several people round it: nothing on it is smaller
    /// than 3 mm. `members` are places in [`Planned::jobs`]; numbers are the same as everywhere.
    pub fn year_map(&self, planned: &Planned, placed: &[Placed], members: &[usize], width_mm: f64, height_mm: f64) -> Sheet {
        let [under, beside] = [false, true].map(|beside| {
            let form = Form { ground: self.worked(placed, members), sizes: Sizes::LARGE, beside, ..self.form(width_mm, height_mm) };
            self.works(&form, planned, placed, members, &WAYS)
        });
        if beside.scale < under.scale { beside } else { under }
    }

    /// The holding itself and the measures, without the ground round about; all of the scene where there is no edge of the holding.
    fn worked(&self, placed: &[Placed], members: &[usize]) -> Box4 {
        let Some(edge) = self.holding.boundary.as_ref().and_then(BoundingRect::bounding_rect) else { return self.extent };
        let boxes = members.iter().filter_map(|i| placed[*i].shape.bounding_rect()).map(|r| [r.min().x, r.min().y, r.max().x, r.max().y]);
        let [w, s, e, n] = boxes.fold([edge.min().x, edge.min().y, edge.max().x, edge.max().y], |a, b| {
            [a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])]
        });
        let room_m = YEAR_ROOM * (e - w).max(n - s);
        [w - room_m, s - room_m, e + room_m, n + room_m]
    }

    fn works(&self, form: &Form, planned: &Planned, placed: &[Placed], of: &[usize], lines: &[Line]) -> Sheet {
        form.draw(|c| {
            self.draw_under_work(c);
            self.draw_lines(c, lines);
            let leks = self.draw_leks(c);
            draw_measures(c, planned, placed, of);
            self.name_leks(c, &leks);
            keep_off_measures(c, placed, of);
            number_measures(c, placed, of);
            if c.view.scale <= NAMED_TO {
                self.name_ground(c, false);
            }
        })
    }

    /// One site of work for whoever works there: the measures with their numbers, the ways to them, water, fences, protected ground,
    /// lines and pipes, buildings, and ground too steep for machines. Leks are drawn only where their places are shown: withheld, a
    /// lek's square would cover most of the map and tell people of a lek who need not know of one.
    pub fn site(&self, planned: &Planned, placed: &[Placed], site: &Site, width_mm: f64, height_mm: f64) -> Sheet {
        let also = site.access.as_ref().map(|a| [a.at.x() - ROUND_ACCESS_M, a.at.y() - ROUND_ACCESS_M, a.at.x() + ROUND_ACCESS_M, a.at.y() + ROUND_ACCESS_M]);
        let form = Form { ground: site.ground, also, sizes: Sizes::FIELD, notes: self.site_notes(site), ..self.form(width_mm, height_mm) };
        form.draw(|c| {
            self.draw_under_work(c);
            let steep = site.steep_deg.filter(|limit| layers::steep(&mut c.svg, &c.view, self.holding.heights.as_ref(), *limit));
            let guarded = layers::guarded(&mut c.svg, &c.view, self.holding);
            let leks = if self.secrecy.withheld() { vec![] } else { self.draw_leks(c) };
            // The edge of the holding lies under the fences that run along it; edges of units are fences and walls here.
            self.draw_lines(c, &[Line::Boundary]);
            self.draw_lines(c, &Line::ALL.into_iter().filter(|l| !matches!(l, Line::Parcel | Line::Service | Line::Overhead)).collect::<Vec<_>>());
            let buildings = layers::buildings(&mut c.svg, &c.view, self.holding);
            draw_measures(c, planned, placed, &site.members);
            keep_off_measures(c, placed, &site.members);
            // Above the work, so that nothing hides them.
            self.draw_lines(c, &[Line::Service, Line::Overhead]);
            if let Some(access) = &site.access {
                self.draw_access(c, access, site);
            }
            c.show_if(buildings, Entry::Building);
            c.show_if(guarded, Entry::Guarded);
            steep.into_iter().for_each(|limit| c.show(Entry::Steep(limit)));
            self.name_leks(c, &leks);
            number_measures(c, placed, &site.members);
            self.name_lines(c);
            self.name_ground(c, false);
        })
    }

    /// The point where a way comes nearest; an arrow at the frame towards it where it is out of view.
    fn draw_access(&self, c: &mut Canvas, access: &Access, site: &Site) {
        let view = c.view;
        let (x, y) = (view.x(access.at.x()), view.y(access.at.y()));
        let whole = x > view.x_mm + EDGE_MM && x < view.x_mm + view.width_mm - EDGE_MM && y > view.y_mm + 2.0 * EDGE_MM && y < view.y_mm + view.height_mm;
        if whole {
            layers::access(&mut c.svg, x, y);
            c.labels.keep_free([x - 2.2, y - 4.6, x + 2.2, y + 0.4]);
            c.show(Entry::Access);
            return;
        }
        let (from_x, from_y) = (view.x(site.middle.x()), view.y(site.middle.y()));
        let (dx, dy) = (x - from_x, y - from_y);
        let reach = |from: f64, d: f64, low: f64, high: f64| if d > 0.0 { (high - from) / d } else if d < 0.0 { (low - from) / d } else { f64::INFINITY };
        let share = reach(from_x, dx, view.x_mm + EDGE_MM, view.x_mm + view.width_mm - EDGE_MM).min(reach(from_y, dy, view.y_mm + EDGE_MM, view.y_mm + view.height_mm - EDGE_MM));
        let at = (from_x + share * dx, from_y + share * dy);
        layers::way_out(&mut c.svg, at, (dx / dx.hypot(dy), dy / dx.hypot(dy)));
        c.labels.keep_free([at.0 - EDGE_MM, at.1 - EDGE_MM, at.0 + EDGE_MM, at.1 + EDGE_MM]);
        c.show(Entry::WayOut);
        let words = format!("to {}, {:.0} m", access.way, (access.away_m / 10.0).round() * 10.0);
        c.labels.beside(&mut c.svg, at.0, at.1, EDGE_MM, Type::plain(c.sizes.unit).bold().rim(), &words);
    }

    /// What is said under a site map.
    fn site_notes(&self, site: &Site) -> Vec<String> {
        let way = match &site.access {
            Some(a) if a.away_m < 1.0 => format!("Nearest way: {} at {}, beside the work.", a.way, a.reference),
            Some(a) => format!("Nearest way: {} at {}, {:.0} m from the work in a straight line.", a.way, a.reference, a.away_m),
            None => "The plan has no road or track.".to_owned(),
        };
        let h = self.holding;
        let lines = if h.services.is_empty() { "The plan knows no line or pipe: ask their owners before digging, felling or lifting." } else { "Only lines and pipes the plan knows are drawn: ask their owners before digging, felling or lifting." };
        let steep = match (site.steep_deg, &h.heights) {
            (Some(_), Some(_)) => "Steepness is of the height model, which misses banks and boulders; the maker's plate of a machine rules.",
            _ => "Steepness is not drawn: the plan has no heights or the tables no limit.",
        };
        let leks = match (h.leks.is_empty(), self.secrecy.withheld()) {
            (true, _) => "",
            (_, true) => " Lek places are withheld: none is drawn.",
            (_, false) => " This sheet shows lek places: keep it close.",
        };
        vec![format!("Middle of the work: {}. {way}", site.reference), format!("{lines} {steep}{leks}")]
    }

    /// Names of services, ways and water, each on the middle of its longest stretch in view, where there is room.
    fn name_lines(&self, c: &mut Canvas) {
        let h = self.holding;
        let services = h.services.iter().map(|s| (&s.shape, &s.kind, true));
        let ways = h.tracks.iter().map(|t| (&t.shape, &t.name, false));
        let water = h.watercourses.iter().map(|w| (&w.shape, &w.name, false));
        let frame = MultiPolygon(vec![c.view.rect().to_polygon()]);
        for (shape, name, bold) in services.chain(ways).chain(water) {
            let Some(name) = line_name(name, self.secrecy) else { continue };
            let Some((x, y)) = middle(shape, &frame, &c.view) else { continue };
            let look = Type::plain(c.sizes.patch).italic().rim();
            let look = if bold { Type::plain(c.sizes.unit).bold().rim() } else { look };
            c.labels.over(&mut c.svg, x, y, look, &name);
        }
    }
}

/// The middle of the longest stretch of a line in view, on paper.
fn middle(shape: &MultiLineString<f64>, frame: &MultiPolygon<f64>, view: &View) -> Option<(f64, f64)> {
    let seen = view.shows(shape).then(|| lines_inside(frame, shape))?;
    let long = |line: &LineString<f64>| Euclidean.length(line);
    let longest = seen.0.iter().max_by(|a, b| long(a).total_cmp(&long(b)))?;
    let at = Euclidean.point_at_ratio_from_start(longest, 0.5)?;
    Some((view.x(at.x()), view.y(at.y())))
}

/// The shapes of measures. What is withheld lies in the lek's square, which is drawn with the leks.
fn draw_measures(c: &mut Canvas, planned: &Planned, placed: &[Placed], of: &[usize]) {
    for i in of.iter().filter(|i| placed[**i].drawn) {
        let entry = planned.jobs[*i].entry;
        if draw(&mut c.svg, &c.view, entry.key, &placed[*i].shape) {
            c.show(Entry::Measure(entry.key, entry.title, matches!(placed[*i].shape, Geometry::LineString(_) | Geometry::MultiLineString(_))));
        }
    }
}

/// Keeps names off measures drawn as areas, but for those so large that a name may stand in them.
fn keep_off_measures(c: &mut Canvas, placed: &[Placed], of: &[usize]) {
    for i in of.iter().filter(|i| matches!(placed[**i].shape, Geometry::MultiPolygon(_))) {
        if let Some(area) = boxed(&c.view, &placed[*i]).filter(|a| (a[2] - a[0]).max(a[3] - a[1]) < LARGE_MM) {
            c.labels.shun(area);
        }
    }
}

/// The numbers of measures, each where there is room nearest to its measure. They come before other names, which keep clear of them.
fn number_measures(c: &mut Canvas, placed: &[Placed], of: &[usize]) {
    let look = Type::plain(c.sizes.number).bold();
    let mut flags = vec![];
    // Those that stand for a square go first, so that they stand in it.
    let (own, withheld): (Vec<usize>, Vec<usize>) = of.iter().partition(|i| placed[**i].drawn);
    for i in withheld.iter().chain(&own) {
        let shown = &placed[*i];
        let below = if shown.drawn { 0.0 } else { BELOW_M };
        let Some(at) = Secrecy::spot(&shown.shape).filter(|p| c.view.holds(p.x(), p.y() - below)) else { continue };
        let from = (c.view.x(at.x()), c.view.y(at.y() - below));
        let text = (i + 1).to_string();
        let (wide, high) = flag_mm(look, &text);
        let Some((to, beside)) = c.room(i + 1, from, small(&c.view, shown), wide + 0.6, high + 0.6) else { continue };
        flags.push((from, to, text, !shown.drawn, beside));
    }
    for (from, to, _, withheld, beside) in &flags {
        leader(&mut c.svg, *from, *to, *withheld || *beside);
    }
    for (_, to, text, withheld, _) in &flags {
        flag(&mut c.svg, to.0, to.1, look, text, *withheld);
        c.show_if(*withheld, Entry::Withheld);
    }
}

/// The box of a drawn measure on paper, with a hair round it.
fn boxed(view: &View, placed: &Placed) -> Option<Area> {
    let (bounds, round) = (placed.shape.bounding_rect().filter(|_| placed.drawn)?, 0.4);
    Some([view.x(bounds.min().x) - round, view.y(bounds.max().y) - round, view.x(bounds.max().x) + round, view.y(bounds.min().y) + round])
}

/// The box of a measure that is too small on paper to carry its number.
fn small(view: &View, placed: &Placed) -> Option<Area> {
    let area = boxed(view, placed)?;
    let (wide, high) = (area[2] - area[0], area[3] - area[1]);
    let strip = matches!(placed.shape, Geometry::MultiPolygon(_)) && wide.min(high) < STRIP_MM;
    (wide.max(high) < SMALL_MM || strip).then_some(area)
}

/// Width and height of a numbered flag, millimetres.
fn flag_mm(look: Type, text: &str) -> (f64, f64) {
    let high = look.size_mm * 1.36;
    ((look.width_mm(text) + look.size_mm * 0.6).max(high), high)
}

/// A numbered flag; rimmed in blaeberry dashes where the place is withheld.
pub fn flag(svg: &mut Svg, x: f64, y: f64, look: Type, text: &str, withheld: bool) {
    let (half, up) = (flag_mm(look, text).0 / 2.0, flag_mm(look, text).1 / 2.0);
    let edge = if withheld { format!(r#"stroke="{BLAEBERRY}" stroke-width=".4" stroke-dasharray=".9 .5""#) } else { format!(r#"stroke="{INK}" stroke-width=".35""#) };
    let data = format!("M{} {}H{}V{}H{}Z", number(x - half), number(y - up), number(x + half), number(y + up), number(x - half));
    svg.path(&data, &format!(r#"fill="{COTTON}" {edge}"#));
    svg.text(x, y + look.size_mm * 0.34, look.anchor(Anchor::Middle), text);
}

/// A measure: hatched area with a firm edge, or its stroke; false where none of it is in view.
fn draw(svg: &mut Svg, view: &View, kind: &str, shape: &Geometry<f64>) -> bool {
    match shape {
        Geometry::Polygon(p) => draw(svg, view, kind, &Geometry::MultiPolygon(MultiPolygon(vec![p.clone()]))),
        Geometry::MultiPolygon(all) => {
            let data = view.area(all);
            if data.is_empty() {
                return false;
            }
            let fill = svg.hatch(hatch(kind));
            if kind != "grazing" {
                svg.path(&data, &format!(r#"fill="{COTTON}" fill-opacity=".6" fill-rule="evenodd""#));
            }
            svg.path(&data, &format!(r#"fill="{fill}" fill-rule="evenodd""#));
            svg.path(&data, &format!(r#"fill="none" stroke="{INK}" stroke-width=".5""#));
            true
        }
        Geometry::LineString(l) => draw(svg, view, kind, &Geometry::MultiLineString(MultiLineString(vec![l.clone()]))),
        Geometry::MultiLineString(all) => {
            let data = view.lines(all);
            strokes(kind).iter().for_each(|style| svg.path(&data, style));
            !data.is_empty()
        }
        _ => false,
    }
}
