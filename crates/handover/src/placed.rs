//! Where a measure may be shown and how finely it may be told.
//!
//! Care of a lek, a fence worked only near one, an outline drawn round one: each gives a withheld lek away by where it lies or how
//! long it is. Such a measure is shown as its lek's kilometre square, its quantities in bands and its money to one figure.
//! Other areas are cut away inside the leks' squares, as vegetation and woods are.

use crate::pack::Pack;
use crate::planned::{Job, Planned};
use crate::secrecy::{Mark, SQUARE_M, Secrecy, areas, mentions};
use crate::telling;
use geo::{BoundingRect, Centroid, CoordsIter, Distance, Euclidean};
use geo_types::{Coord, Geometry, LineString, MultiPolygon, Point, Rect};
use ground::overlay::{difference, dissolve};

/// A measure wholly this near a lek tells where it is, metres.
const NEAR_M: f64 = 300.0;
/// A stretch of fence drawn within this of a lek may have been cut by a round about it, metres.
const FENCE_M: f64 = 3000.0;
/// Corners in a row this alike in their distance from a lek were cut by a round about it, metres.
const ALIKE_M: f64 = 1.0;
/// So much of an outline makes a round, metres.
const ROUND_M: f64 = 50.0;
/// Corners in a row that make a round.
const IN_A_ROW: usize = 4;

/// How a measure may be shown.
#[derive(Clone, Debug)]
pub struct Placed {
    /// Its shape as it may be drawn and copied.
    pub shape: Geometry<f64>,
    /// Where, as finely as it may be told; empty where it has no place.
    pub reference: String,
    /// Whether the shape is the measure's own, to be drawn; otherwise a square that stands for it.
    pub drawn: bool,
    /// What was done to the shape, in words; empty where it is as planned.
    pub kept_back: &'static str,
    /// Whether it would give a lek away: quantities in bands, money to one figure, no name of its own.
    pub tied: bool,
}

/// How every measure of an option may be shown, in their order.
pub fn of(pack: &Pack, planned: &Planned, secrecy: &Secrecy) -> Vec<Placed> {
    planned.jobs.iter().map(|job| place(pack, job, secrecy)).collect()
}

/// How one measure may be shown.
pub fn place(pack: &Pack, job: &Job, secrecy: &Secrecy) -> Placed {
    let shown = |shape: Geometry<f64>, kept_back, figures: usize, tied| {
        let reference = Secrecy::spot(&shape).map_or_else(String::new, |at| secrecy.grid_reference(at, figures));
        Placed { shape, reference, drawn: true, kept_back, tied }
    };
    let square = |placed: Placed| Placed { drawn: false, ..placed };
    let leks = tied(job, secrecy);
    if !leks.is_empty() {
        return square(shown(secrecy.squares_of(&leks), "kilometre square of the lek, place withheld", 4, true));
    }
    if !secrecy.withheld() {
        return shown(job.shape.clone(), "", 6, false);
    }
    // Lines and whole units are drawn on every map; only drawn areas are cut.
    let Geometry::MultiPolygon(area) = &job.shape else { return shown(job.shape.clone(), "", 6, false) };
    if job.measure.shape.0.is_empty() && job.entry.fact("parcel").is_some() {
        return shown(job.shape.clone(), "", 6, false);
    }
    let squares: Vec<MultiPolygon<f64>> = telling::squares(&pack.holding.leks).iter().map(|r| MultiPolygon(vec![r.to_polygon()])).collect();
    let veil = dissolve(&squares);
    if squares.is_empty() || Euclidean.distance(area, &veil) > 0.0 {
        return shown(job.shape.clone(), "", 6, false);
    }
    let rest = difference(area, &veil);
    if rest.0.is_empty() {
        let over: Vec<_> = squares.into_iter().filter(|s| Euclidean.distance(area, s) <= 0.0).flat_map(|s| s.0).collect();
        return square(shown(Geometry::MultiPolygon(MultiPolygon(over)), "in the kilometre square of a lek, outline withheld", 4, false));
    }
    shown(Geometry::MultiPolygon(rest), "without the part in the kilometre square of a lek", 4, false)
}

/// Whether a measure would give a withheld lek away.
pub fn tells(job: &Job, secrecy: &Secrecy) -> bool {
    !tied(job, secrecy).is_empty()
}

/// What a measure that would give a lek away goes by: its id where that is the kind with a number, which tells nothing, else its kind
/// and its number in the option.
pub fn called(id: &str, kind: &str, number: usize) -> String {
    let plain = id.strip_prefix(kind).and_then(|rest| rest.strip_prefix('-')).is_some_and(|n| !n.is_empty() && n.len() < 6 && n.chars().all(|c| c.is_ascii_digit()));
    if plain { id.to_owned() } else { format!("{} {number}", kind.replace('_', " ")) }
}

/// The leks a measure would give away, as places in the list of leks.
fn tied(job: &Job, secrecy: &Secrecy) -> Vec<usize> {
    if !secrecy.withheld() {
        return vec![];
    }
    let m = &job.measure;
    let drawn_fence = job.entry.key == "fence" && !m.line.0.is_empty();
    // What the rules say of a drawn fence hangs on where exactly the lek is: what people wrote of it alone is looked at.
    let found = if drawn_fence { vec![] } else { [vec![job.window.clone()], job.harm.clone()].concat() };
    let said: Vec<String> = m.facts.values().map(ToString::to_string).chain([m.id.clone(), job.on.clone()]).chain(found).collect();
    let said = said.join(" | ").to_lowercase();
    let named: Vec<usize> = (0..secrecy.leks.len()).filter(|i| [&secrecy.leks[*i].0, &secrecy.leks[*i].1].iter().any(|w| mentions(&said, &w.to_lowercase()))).collect();
    if !named.is_empty() {
        return named;
    }
    let points: Vec<Point<f64>> = secrecy.leks.iter().map(|l| l.2).collect();
    let Some(middle) = job.shape.centroid() else { return vec![] };
    if let Some(lek) = secrecy.telling.lek_of(&areas(&job.shape), middle, &points).filter(|_| !drawn_fence) {
        return vec![lek];
    }
    let far = |p: &Point<f64>| job.shape.coords_iter().map(|c| (c.x - p.x()).hypot(c.y - p.y())).fold(0.0, f64::max);
    let about_leks = job.entry.key == "lek_care";
    // By the squares alone: which square stands for a measure must not hang on where in it the lek is.
    let off_square = |p: &Point<f64>| match secrecy.mark(*p) {
        Mark::Square { west_m, south_m, size_m } => {
            let square = Rect::new(Coord { x: west_m, y: south_m }, Coord { x: west_m + size_m, y: south_m + size_m });
            Euclidean.distance(&Geometry::Rect(square), &job.shape)
        }
        Mark::Exact { .. } => Euclidean.distance(p, &job.shape),
    };
    let gives_away = |p: &Point<f64>| if drawn_fence { off_square(p) < FENCE_M } else { far(p) <= NEAR_M || round(&job.shape, *p) };
    let mut all: Vec<(f64, usize)> = points.iter().enumerate().filter(|(_, p)| about_leks || gives_away(p)).map(|(i, p)| (off_square(p), i)).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all.first().map(|(_, i)| *i).into_iter().collect()
}

/// Whether an outline follows a round about a point: several corners in a row equally far from it, over more of the outline than a
/// smooth corner takes.
fn round(shape: &Geometry<f64>, about: Point<f64>) -> bool {
    lines(shape).iter().any(|line| {
        let far: Vec<f64> = line.0.iter().map(|c| (c.x - about.x()).hypot(c.y - about.y())).collect();
        (0..far.len()).any(|from| {
            let (mut least, mut most, mut long_m) = (far[from], far[from], 0.0);
            for (to, away) in far.iter().enumerate().skip(from + 1) {
                (least, most) = (least.min(*away), most.max(*away));
                if most - least > ALIKE_M || most >= FENCE_M {
                    return false;
                }
                long_m += (line.0[to].x - line.0[to - 1].x).hypot(line.0[to].y - line.0[to - 1].y);
                if to - from + 1 >= IN_A_ROW && long_m >= ROUND_M {
                    return true;
                }
            }
            false
        })
    })
}

/// The outlines and lines of a shape.
pub(crate) fn lines(shape: &Geometry<f64>) -> Vec<LineString<f64>> {
    let rings = |all: &MultiPolygon<f64>| all.0.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors())).cloned().collect();
    match shape {
        Geometry::MultiPolygon(all) => rings(all),
        Geometry::Polygon(p) => rings(&MultiPolygon(vec![p.clone()])),
        Geometry::MultiLineString(all) => all.0.clone(),
        Geometry::LineString(l) => vec![l.clone()],
        _ => vec![],
    }
}

/// The box of ground some shapes take, with room round it; `None` where none has a place.
pub fn bounds<'a>(shapes: impl Iterator<Item = &'a Geometry<f64>>) -> Option<[f64; 4]> {
    let all = shapes.filter_map(|s| s.bounding_rect()).map(|r| [r.min().x, r.min().y, r.max().x, r.max().y]);
    let [w, s, e, n] = all.reduce(|a, b| [a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])])?;
    let side = (e - w).max(n - s).max(SQUARE_M * 0.8) * 1.1;
    let (x, y) = ((w + e) / 2.0, (s + n) / 2.0);
    let half = |long: f64| (long * 1.1).max(side * 0.6) / 2.0;
    let corner = Coord { x: half(e - w), y: half(n - s) };
    Some([x - corner.x, y - corner.y, x + corner.x, y + corner.y])
}
