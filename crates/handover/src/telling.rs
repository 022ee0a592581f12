//! Ground whose outline or name would give a withheld lek away, and the plan without it.
//!
//! A small patch mapped round a display ground tells its place to a few metres, whatever it is called; a patch called after a
//! lek tells it by name. So, where places are withheld, vegetation and woods are cut away inside the leks' kilometre
//! squares, small telling stands are joined to a neighbour beyond them, and telling names are taken out of words.

use crate::secrecy::{SQUARE_M, mentions};
use geo::{Area, BoundingRect, Contains, CoordsIter, Distance, Euclidean};
use geo_types::{Coord, MultiPolygon, Point, Rect};
use ground::Grid;
use ground::overlay::{difference, dissolve, union};
use holding::Holding;
use holding::model::Lek;
use std::collections::BTreeMap;

/// A stand smaller than this may tell where a lek is, hectares.
const SMALL_HA: f64 = 10.0;
/// A small stand wholly this near a lek tells where it is, metres.
const NEAR_M: f64 = 300.0;
/// Farthest neighbour a telling stand is joined to, metres.
const JOIN_M: f64 = 50.0;
/// Side of the blocks a grid is smoothed to inside a lek's square, metres.
const BLOCK_M: f64 = 250.0;

/// What would tell.
#[derive(Default)]
pub struct Telling {
    /// Small shapes, with the place of their lek in the list of leks.
    shapes: Vec<(MultiPolygon<f64>, usize)>,
    /// Names in small letters with what stands for them, longest first.
    names: Vec<(Vec<char>, &'static str)>,
}

impl Telling {
    /// What would tell in a plan.
    pub fn of(holding: &Holding) -> Self {
        let leks = &holding.leks;
        let mut all = Self::default();
        let patches = holding.patches.iter().map(|p| (&p.shape, &p.id, &p.name, "a patch near the lek"));
        let woods = holding.woods.iter().map(|w| (&w.shape, &w.id, &w.name, "a wood near the lek"));
        for (shape, id, name, instead) in patches.chain(woods) {
            let named = by_name(name, leks);
            let lek = small_and_telling(shape, named, leks);
            all.shapes.extend(lek.map(|i| (shape.clone(), i)));
            if named || lek.is_some() {
                if !id.is_empty() && !name.is_empty() {
                    all.names.push((letters(&format!("{name} {id}")), instead));
                    all.names.push((letters(&format!("{name} ({id})")), instead));
                }
                // A bare number would be found in every figure.
                if id.chars().any(char::is_alphabetic) && id.chars().count() > 1 {
                    all.names.push((letters(id), instead));
                }
            }
            if named {
                all.names.push((letters(name), instead));
            }
        }
        let parcels = holding.parcels.iter().map(|p| (&p.name, "a hill unit"));
        let areas = holding.areas.iter().map(|a| (&a.name, "an area"));
        all.names.extend(parcels.chain(areas).filter(|(name, _)| by_name(name, leks)).map(|(name, instead)| (letters(name), instead)));
        all.names.retain(|(name, _)| !speaks_of_a_lek(name, leks));
        all.names.sort_by(|a, b| b.0.len().cmp(&a.0.len()).then_with(|| a.cmp(b)));
        all.names.dedup();
        all
    }

    /// The lek a shape or part of it would give away, as its place in the list of leks.
    pub fn lek_of(&self, parts: &[MultiPolygon<f64>], middle: Point<f64>, leks: &[Point<f64>]) -> Option<usize> {
        let by_part = parts.iter().find_map(|part| near(part, leks).filter(|_| part.unsigned_area() < SMALL_HA * 10_000.0));
        by_part.or_else(|| self.shapes.iter().find(|(shape, _)| shape.contains(&middle)).map(|(_, lek)| *lek))
    }

    /// Text without telling names.
    pub fn scrubbed(&self, text: &str) -> String {
        if self.names.is_empty() {
            return text.to_owned();
        }
        let (written, low): (Vec<char>, Vec<char>) = (text.chars().collect(), letters(text));
        if written.len() != low.len() {
            return text.to_owned();
        }
        let edge = |c: Option<&char>| c.is_none_or(|c| !c.is_alphanumeric());
        let (mut out, mut i) = (String::new(), 0);
        while i < written.len() {
            let starts = i == 0 || edge(low.get(i - 1));
            let found = self.names.iter().find(|(name, _)| starts && low[i..].starts_with(name) && edge(low.get(i + name.len())));
            match found {
                Some((name, instead)) => {
                    out.push_str(instead);
                    i += name.len();
                }
                None => {
                    out.push(written[i]);
                    i += 1;
                }
            }
        }
        out
    }
}

/// Small letters, one for one.
fn letters(text: &str) -> Vec<char> {
    text.chars().map(|c| c.to_lowercase().next().unwrap_or(c)).collect()
}

/// Whether a name speaks of a lek.
pub(crate) fn by_name(name: &str, leks: &[Lek]) -> bool {
    let low = name.to_lowercase();
    ["lek", "leks"].iter().any(|word| mentions(&low, word)) || leks.iter().any(|l| mentions(&low, &l.name.to_lowercase()))
}

/// Whether a name is no more than a lek's own, which is printed with its square and must stay readable.
fn speaks_of_a_lek(name: &[char], leks: &[Lek]) -> bool {
    let name: String = name.iter().collect();
    let own = |l: &Lek| [l.name.to_lowercase(), format!("{} lek", l.name.to_lowercase()), l.id.to_lowercase()].contains(&name);
    ["", "lek", "leks", "the lek"].contains(&name.trim()) || leks.iter().any(own)
}

/// The lek a small shape holds or wholly lies near.
fn near(shape: &MultiPolygon<f64>, leks: &[Point<f64>]) -> Option<usize> {
    let far = |p: &Point<f64>| shape.coords_iter().map(|c| (c.x - p.x()).hypot(c.y - p.y())).fold(0.0, f64::max);
    leks.iter().position(|p| !shape.0.is_empty() && (shape.contains(p) || far(p) <= NEAR_M))
}

/// The lek a small stand tells of: the one it holds or lies near, or, where its name tells, the nearest.
fn small_and_telling(shape: &MultiPolygon<f64>, named: bool, leks: &[Lek]) -> Option<usize> {
    if shape.unsigned_area() >= SMALL_HA * 10_000.0 {
        return None;
    }
    let points: Vec<Point<f64>> = leks.iter().map(|l| l.at).collect();
    let distance = |i: &usize| Euclidean.distance(&points[*i], shape);
    let nearest = || (0..points.len()).min_by(|a, b| distance(a).total_cmp(&distance(b)));
    near(shape, &points).or_else(|| if named { nearest() } else { None })
}

/// The kilometre squares the leks lie in, each once.
pub fn squares(leks: &[Lek]) -> Vec<Rect<f64>> {
    let mut out: Vec<Rect<f64>> = vec![];
    for lek in leks {
        let low = Coord { x: (lek.at.x() / SQUARE_M).floor() * SQUARE_M, y: (lek.at.y() / SQUARE_M).floor() * SQUARE_M };
        let square = Rect::new(low, Coord { x: low.x + SQUARE_M, y: low.y + SQUARE_M });
        if !out.contains(&square) {
            out.push(square);
        }
    }
    out
}

/// The plan as it may be drawn and copied where places are withheld: no vegetation or wood inside the leks' squares, no small
/// telling stand, no telling name. Leks stay: whoever draws them asks [`crate::secrecy::Secrecy`] how.
pub fn without(holding: &Holding) -> Holding {
    let leks = &holding.leks;
    let mut out = holding.clone();
    let squares: Vec<MultiPolygon<f64>> = squares(leks).iter().map(|r| MultiPolygon(vec![r.to_polygon()])).collect();
    let veil = dissolve(&squares);
    let cut = |shape: &MultiPolygon<f64>| if apart(shape, &veil, 0.0) { shape.clone() } else { difference(shape, &veil) };
    let tells = |shape: &MultiPolygon<f64>, name: &str| small_and_telling(shape, by_name(name, leks), leks).is_some();
    let (told, kept): (Vec<_>, Vec<_>) = out.patches.into_iter().partition(|p| tells(&p.shape, &p.name));
    out.patches = kept;
    let (told_woods, kept): (Vec<_>, Vec<_>) = out.woods.into_iter().partition(|w| tells(&w.shape, &w.name));
    out.woods = kept;
    out.patches.iter_mut().for_each(|p| p.shape = cut(&p.shape));
    out.woods.iter_mut().for_each(|w| w.shape = cut(&w.shape));
    out.patches.retain(|p| !p.shape.0.is_empty());
    out.woods.retain(|w| !w.shape.0.is_empty());
    for patch in &told {
        join(&cut(&patch.shape), out.patches.iter_mut().filter(|p| p.coarse == patch.coarse).map(|p| &mut p.shape));
    }
    for wood in &told_woods {
        join(&cut(&wood.shape), out.patches.iter_mut().filter(|p| !p.coarse).map(|p| &mut p.shape));
    }
    out.areas.retain(|a| !tells(&a.shape, &a.name));
    let names = out.patches.iter_mut().map(|p| &mut p.name).chain(out.woods.iter_mut().map(|w| &mut w.name));
    let names = names.chain(out.parcels.iter_mut().map(|p| &mut p.name)).chain(out.areas.iter_mut().map(|a| &mut a.name));
    names.filter(|name| by_name(name, leks)).for_each(|name| name.clear());
    out
}

/// Whether two shapes' boxes are farther apart than a distance.
fn apart(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>, metres: f64) -> bool {
    let Some((a, b)) = a.bounding_rect().zip(b.bounding_rect()) else { return true };
    a.min().x > b.max().x + metres || b.min().x > a.max().x + metres || a.min().y > b.max().y + metres || b.min().y > a.max().y + metres
}

/// Joins ground to the nearest of some shapes, the first of equals; left out where none is near.
fn join<'a>(ground: &MultiPolygon<f64>, shapes: impl Iterator<Item = &'a mut MultiPolygon<f64>>) {
    let near = shapes.filter(|s| !apart(ground, s, JOIN_M)).map(|s| (Euclidean.distance(ground, &*s), s));
    if let Some((_, shape)) = near.min_by(|a, b| a.0.total_cmp(&b.0)) {
        *shape = union(shape, ground);
    }
}

/// A grid whose values inside the leks' squares are means of blocks, so that no small outline shows.
pub fn smoothed(grid: &Grid<f32>, leks: &[Lek]) -> Grid<f32> {
    let squares = squares(leks);
    let f = grid.frame;
    let block = |i: usize| {
        let (x, y) = f.centre(i % f.cols, i / f.cols);
        let within = |r: &Rect<f64>| x >= r.min().x && x < r.max().x && y >= r.min().y && y < r.max().y;
        squares.iter().any(within).then(|| ((x / BLOCK_M).floor() as i64, (y / BLOCK_M).floor() as i64))
    };
    let value = |i: usize| grid.get(i % f.cols, i / f.cols);
    let mut sums: BTreeMap<(i64, i64), (f64, usize)> = BTreeMap::new();
    for i in 0..f.len() {
        if let Some(key) = block(i).filter(|_| !value(i).is_nan()) {
            let sum = sums.entry(key).or_default();
            *sum = (sum.0 + f64::from(value(i)), sum.1 + 1);
        }
    }
    let mean = |i: usize| block(i).and_then(|key| sums.get(&key)).filter(|_| !value(i).is_nan()).map(|(sum, n)| (sum / *n as f64) as f32);
    let cells = (0..f.len()).map(|i| mean(i).unwrap_or_else(|| value(i))).collect();
    Grid::from_cells(f, cells).unwrap_or_else(|| grid.clone())
}
