//! Where leks may be shown and where not.
//!
//! Lek places are sensitive. Unless the keeper of the plan asks for them, a lek is given only as the kilometre square
//! it lies in; whatever is tied to it (a finding, a distance, a sight line) is given as coarsely, and grid references in
//! words are cut to the square.

use crate::telling::{self, Telling};
use geo::{BoundingRect, Centroid};
use geo_types::{Coord, Geometry, MultiPolygon, Point, Rect};
use ground::Grid;
use holding::Holding;
use measures::Finding;
use measures::secrecy::{coarsen, distance_band};
use std::borrow::Cow;

/// Side of the square that stands for a withheld place, metres.
pub const SQUARE_M: f64 = 1000.0;

/// How a place may be drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mark {
    /// As it is.
    Exact {
        /// Easting, metres.
        east_m: f64,
        /// Northing, metres.
        north_m: f64,
    },
    /// Somewhere in a square.
    Square {
        /// Easting of the west edge, metres.
        west_m: f64,
        /// Northing of the south edge, metres.
        south_m: f64,
        /// Side, metres.
        size_m: f64,
    },
}

/// What may be said of leks in one hand-over.
pub struct Secrecy {
    show: bool,
    national_grid: bool,
    pub(crate) leks: Vec<(String, String, Point<f64>)>,
    pub(crate) telling: Telling,
}

impl Secrecy {
    /// Rules for a holding; `show` lets every place through.
    pub fn new(holding: &Holding, show: bool) -> Self {
        Self {
            show,
            national_grid: holding.about.epsg == 27700,
            leks: holding.leks.iter().map(|l| (l.id.clone(), l.name.clone(), l.at)).collect(),
            telling: if show { Telling::default() } else { Telling::of(holding) },
        }
    }

    /// True when places are withheld.
    pub fn withheld(&self) -> bool {
        !self.show
    }

    /// The plan as it may be drawn and copied: itself, or without the ground that would tell where leks are.
    pub fn public<'a>(&self, holding: &'a Holding) -> Cow<'a, Holding> {
        if self.show { Cow::Borrowed(holding) } else { Cow::Owned(telling::without(holding)) }
    }

    /// A grid as it may be drawn: itself, or in blocks inside the leks' squares.
    pub fn grid<'a>(&self, holding: &Holding, grid: &'a Grid<f32>) -> Cow<'a, Grid<f32>> {
        if self.show { Cow::Borrowed(grid) } else { Cow::Owned(telling::smoothed(grid, &holding.leks)) }
    }

    /// A finding as it may be printed: itself, or in words that do not narrow down where a lek lies.
    pub fn finding(&self, finding: &Finding) -> Finding {
        if self.show { finding.clone() } else { finding.withheld() }
    }

    /// How a lek's place may be drawn.
    pub fn mark(&self, at: Point<f64>) -> Mark {
        if self.show {
            return Mark::Exact { east_m: at.x(), north_m: at.y() };
        }
        let corner = |v: f64| (v / SQUARE_M).floor() * SQUARE_M;
        Mark::Square { west_m: corner(at.x()), south_m: corner(at.y()), size_m: SQUARE_M }
    }

    /// The point that stands for a lek: itself, or the middle of its square.
    pub fn point(&self, at: Point<f64>) -> Point<f64> {
        match self.mark(at) {
            Mark::Exact { east_m, north_m } => Point::new(east_m, north_m),
            Mark::Square { west_m, south_m, size_m } => Point::new(west_m + size_m / 2.0, south_m + size_m / 2.0),
        }
    }

    /// The grid reference of a lek, as finely as it may be given.
    pub fn reference(&self, at: Point<f64>) -> String {
        self.grid_reference(at, if self.show { 6 } else { 4 })
    }

    /// A grid reference of a number of figures on the national grid, else rounded easting and northing.
    pub fn grid_reference(&self, at: Point<f64>, figures: usize) -> String {
        let step = 10f64.powi(5 - figures as i32 / 2);
        let lettered = self.national_grid.then(|| holding::grid_ref::format_grid_ref(at.x(), at.y(), figures)).flatten();
        lettered.unwrap_or_else(|| {
            let cut = |v: f64| (v / step).floor() * step;
            format!("{:.0} E {:.0} N", cut(at.x()), cut(at.y()))
        })
    }

    /// The leks whose place a finding would give away, as places in the list of leks: the one it says, else, to be safe, the
    /// nearest where the rule is about leks or the shape is small and sits on one.
    pub fn tied(&self, finding: &Finding) -> Vec<usize> {
        if let Some(i) = finding.lek.as_ref().and_then(|id| self.leks.iter().position(|(other, _, _)| other == id)) {
            return vec![i];
        }
        let Some((middle, bounds)) = finding.geometry.centroid().zip(finding.geometry.bounding_rect()) else { return vec![] };
        let points: Vec<Point<f64>> = self.leks.iter().map(|l| l.2).collect();
        if let Some(i) = self.telling.lek_of(&areas(&finding.geometry), middle, &points) {
            return vec![i];
        }
        let distance = |p: Point<f64>| (p.x() - middle.x()).hypot(p.y() - middle.y());
        let nearest = (0..self.leks.len()).map(|i| (distance(self.leks[i].2), i)).min_by(|a, b| a.0.total_cmp(&b.0));
        let about_leks = ["lek", "view", "display"].iter().any(|word| finding.rule.contains(word)) || !self.named(finding).is_empty();
        let small = bounds.width().max(bounds.height()) < SQUARE_M / 2.0;
        let gives_away = |metres: f64| (about_leks && metres < SQUARE_M) || metres < SQUARE_M / 10.0;
        nearest.filter(|(metres, _)| small && gives_away(*metres)).map(|(_, i)| i).into_iter().collect()
    }

    /// The leks a finding names, by id or name.
    pub fn named(&self, finding: &Finding) -> Vec<usize> {
        let words = [&finding.what, &finding.place, &finding.hint, &finding.value, &finding.needed].map(|t| t.to_lowercase()).join(" | ");
        let named = |i: &usize| [&self.leks[*i].0, &self.leks[*i].1].iter().any(|word| mentions(&words, &word.to_lowercase()));
        (0..self.leks.len()).filter(named).collect()
    }

    /// The shape of a finding as it may be shown: its own, or the squares of the leks it is tied to.
    pub fn shape(&self, finding: &Finding) -> (Geometry<f64>, bool) {
        let tied = if self.show { vec![] } else { self.tied(finding) };
        if tied.is_empty() {
            return (finding.geometry.clone(), false);
        }
        (self.squares_of(&tied), true)
    }

    /// The squares that stand for some leks, each once.
    pub(crate) fn squares_of(&self, leks: &[usize]) -> Geometry<f64> {
        let mut squares: Vec<Rect<f64>> = vec![];
        for lek in leks {
            if let Mark::Square { west_m, south_m, size_m } = self.mark(self.leks[*lek].2) {
                let square = Rect::new(Coord { x: west_m, y: south_m }, Coord { x: west_m + size_m, y: south_m + size_m });
                if !squares.contains(&square) {
                    squares.push(square);
                }
            }
        }
        Geometry::MultiPolygon(MultiPolygon(squares.into_iter().map(|r| r.to_polygon()).collect()))
    }

    /// A representative point of a shape, for its number on a map and its reference.
    pub fn spot(geometry: &Geometry<f64>) -> Option<Point<f64>> {
        use geo::InteriorPoint;
        geometry.interior_point().or_else(|| geometry.bounding_rect().map(|r| r.center().into()))
    }

    /// Words as they may be printed: grid references finer than the square are cut to it, long runs of digits (eastings,
    /// northings) are taken out, and so are names of ground that tell where a lek is.
    pub fn words(&self, text: &str) -> String {
        if self.show { text.to_owned() } else { self.telling.scrubbed(&coarsen(text)) }
    }

    /// A share as it may be printed: whole percent, or the band it falls in.
    pub fn share(&self, share: f64) -> String {
        if self.show { crate::words::percent(share) } else { band(share * 100.0, &[5.0, 15.0, 30.0, 50.0], "%") }
    }

    /// A slope as it may be printed.
    pub fn slope(&self, degrees: f64) -> String {
        if self.show { format!("{degrees:.1} degrees") } else { band(degrees, &[2.0, 5.0, 10.0, 20.0], "degrees") }
    }

    /// An altitude as it may be printed.
    pub fn altitude(&self, metres: f64) -> String {
        if self.show { format!("{metres:.0} m") } else { band(metres, &[100.0, 200.0, 300.0, 400.0, 500.0, 600.0], "m") }
    }

    /// A vegetation height at a lek as it may be printed.
    pub fn height(&self, centimetres: f64) -> String {
        if self.show { format!("{centimetres:.0} cm") } else { band(centimetres, &[10.0, 20.0, 30.0, 40.0], "cm") }
    }

    /// A length of edge round a lek as it may be printed.
    pub fn length(&self, km: f64) -> String {
        if self.show { format!("{km:.1} km") } else { band(km, &[1.0, 3.0, 10.0], "km") }
    }

    /// A distance from a lek as it may be printed: itself, or the band it falls in.
    pub fn distance(&self, metres: f64) -> String {
        if self.show {
            return if metres < 1000.0 { format!("{metres:.0} m") } else { format!("{:.1} km", metres / 1000.0) };
        }
        distance_band(metres).to_owned()
    }
}

/// The band a value falls in: `under 5 %`, `5 to 15 %`, `over 50 %`.
fn band(value: f64, edges: &[f64], unit: &str) -> String {
    let above = edges.iter().position(|edge| value < *edge);
    match above {
        _ if value.is_nan() => "not known".to_owned(),
        Some(0) => format!("under {} {unit}", edges[0]),
        Some(i) => format!("{} to {} {unit}", edges[i - 1], edges[i]),
        None => edges.last().map_or_else(String::new, |edge| format!("over {edge} {unit}")),
    }
}

/// The areas of a shape, part by part.
pub(crate) fn areas(shape: &Geometry<f64>) -> Vec<MultiPolygon<f64>> {
    match shape {
        Geometry::Polygon(p) => vec![MultiPolygon(vec![p.clone()])],
        Geometry::MultiPolygon(all) => all.0.iter().map(|p| MultiPolygon(vec![p.clone()])).collect(),
        Geometry::Rect(r) => vec![MultiPolygon(vec![r.to_polygon()])],
        Geometry::GeometryCollection(all) => all.iter().flat_map(areas).collect(),
        _ => vec![],
    }
}

/// Whether `text` holds `word` with no letter or digit beside it.
pub(crate) fn mentions(text: &str, word: &str) -> bool {
    !word.is_empty()
        && text.match_indices(word).any(|(at, _)| {
            let before = text[..at].chars().next_back();
            let after = text[at + word.len()..].chars().next();
            ![before, after].into_iter().flatten().any(char::is_alphanumeric)
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidance::Grade;
    use holding::model::Lek;
    use measures::Severity;

    fn plan() -> Holding {
        Holding { leks: vec![Lek::new("L1", "Cold Rig", Point::new(384_512.0, 529_377.0))], ..Holding::default() }
    }

    fn finding(what: &str, rule: &'static str, at: Point<f64>) -> Finding {
        Finding {
            rule,
            measure: None,
            what: what.into(),
            severity: Severity::Should,
            place: String::new(),
            lek: None,
            geometry: Geometry::Point(at),
            value: String::new(),
            needed: String::new(),
            why: String::new(),
            hint: String::new(),
            source: vec![],
            grade: Grade::Assumption,
            secret: vec![],
            edition: String::new(),
        }
    }

    #[test]
    fn references_are_cut_and_plain_numbers_left() {
        for (given, kept) in [
            ("near NY 845 293, 40 m", "near NY 84 29, 40 m"),
            ("NY8451229377", "NY 84 29"),
            ("NY 84512 29377.", "NY 84 29."),
            ("ny845293", "ny 84 29"),
            ("at 384512, 529377", "at (withheld), (withheld)"),
            ("at 384512.5 E", "at (withheld) E"),
            ("so 384512 to 529377", "so (withheld) to (withheld)"),
            ("by 120 m in 2024, of 14 ha", "by 120 m in 2024, of 14 ha"),
            ("NY 84 29 stays", "NY 84 29 stays"),
        ] {
            assert_eq!(coarsen(given), kept);
        }
    }

    #[test]
    fn a_withheld_lek_is_a_square_and_ties_what_names_it() {
        let holding = plan();
        let secrecy = Secrecy::new(&holding, false);
        let at = holding.leks[0].at;
        assert_eq!(secrecy.point(at), Point::new(384_500.0, 529_500.0));
        assert_eq!(secrecy.reference(at), "NY 84 29");
        let far = Point::new(386_900.0, 529_377.0);
        let said = Finding { lek: Some("L1".into()), ..finding("wood near", "wood", far) };
        assert_eq!(secrecy.tied(&said), [0]);
        assert_eq!(secrecy.tied(&finding("fence 12 near cold rig", "fence", Point::new(384_900.0, 529_377.0))), [0]);
        assert_eq!(secrecy.tied(&finding("fence 12 near L1", "fence", Point::new(384_900.0, 529_377.0))), [0]);
        assert_eq!(secrecy.tied(&finding("sward uniform on L12", "sward", far)), [] as [usize; 0]);
        assert_eq!(secrecy.named(&finding("hard edge in sight of Cold Rig lek", "edge", far)), [0]);
        assert_eq!(secrecy.named(&finding("Cold Rigging", "edge", far)), [] as [usize; 0]);
        assert_eq!(secrecy.tied(&finding("too steep", "display_steep", Point::new(384_900.0, 529_377.0))), [0]);
        assert_eq!(secrecy.tied(&finding("too steep", "sward", Point::new(384_530.0, 529_400.0))), [0]);
        let (shape, blurred) = secrecy.shape(&finding("near Cold Rig", "fence", at));
        assert!(blurred);
        assert_eq!(shape.bounding_rect().unwrap().min(), Coord { x: 384_000.0, y: 529_000.0 });
        assert_eq!(secrecy.distance(45.0), "under 1 km");
    }

    #[test]
    fn a_shown_lek_is_where_it_is() {
        let holding = plan();
        let secrecy = Secrecy::new(&holding, true);
        assert_eq!(secrecy.point(holding.leks[0].at), holding.leks[0].at);
        assert_eq!(secrecy.words("NY 845 293"), "NY 845 293");
        assert_eq!(secrecy.distance(45.0), "45 m");
        assert!(!secrecy.shape(&finding("near Cold Rig", "fence", holding.leks[0].at)).1);
    }
}
