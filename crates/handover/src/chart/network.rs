//! The leks as a network: a circle a lek, as large as its share of the whole by hens, and lines where young hens move between them.
//!
//! Where places are withheld every lek is somewhere in its hatched square: circles stand in the middle of squares, lines run between
//! those middles and are as broad as the middles are near, so that nothing of the picture tells more than the squares do.

use crate::map::furniture::{self, Figures};
use crate::map::labels::Labels;
use crate::map::layers;
use crate::map::view::View;
use crate::secrecy::Secrecy;
use crate::spring::Linked;
use crate::svg::palette::{BLAEBERRY, COTTON, INK, STONE};
use crate::svg::{Svg, Type};
use birds::network::Sex;
use geo_types::Point;
use holding::Holding;
use measures::secrecy::to_a_twentieth;

const FOOT_MM: f64 = 30.0;
/// Ground shown beyond the outermost lek, metres, and as a share of the whole.
const ROUND_M: f64 = 700.0;
const ROUND_SHARE: f64 = 0.15;
/// Radius of the circle of a lek that gives all of it.
const WHOLE_MM: f64 = 11.0;
/// Least radius, so that a lek that gives nothing is seen.
const LEAST_MM: f64 = 1.3;
/// How far names keep from lines, millimetres.
const BESIDE_MM: f64 = 1.0;
/// Exchange of hens (one at no distance) from which a line has a breadth, millimetres, and what it is called.
const LINKS: [(f64, f64, &str); 3] = [(0.6, 1.1, "many young hens"), (0.3, 0.5, "some"), (0.05, 0.18, "few")];

/// One lek on paper.
struct Spot {
    at: Point<f64>,
    name: String,
    /// Share of the whole by hens, as finely as it may be told, and in words; `None` where it holds no bird.
    share: Option<f64>,
    told: String,
}

/// The map; `None` with fewer than two leks that the holding knows.
pub fn draw(linked: &Linked, holding: &Holding, secrecy: &Secrecy, width_mm: f64, height_mm: f64) -> Option<String> {
    let spots = spots(linked, holding, secrecy);
    if spots.len() < 2 {
        return None;
    }
    let of = |f: &dyn Fn(&Point<f64>) -> f64, pick: fn(f64, f64) -> f64, from: f64| spots.iter().map(|s| f(&s.at)).fold(from, pick);
    let (west, east) = (of(&|p| p.x(), f64::min, f64::INFINITY), of(&|p| p.x(), f64::max, f64::NEG_INFINITY));
    let (south, north) = (of(&|p| p.y(), f64::min, f64::INFINITY), of(&|p| p.y(), f64::max, f64::NEG_INFINITY));
    let round = ROUND_M + ROUND_SHARE * (east - west).max(north - south);
    let view = View::fitting([west - round, south - round, east + round, north + round], 8.0, 4.5, width_mm - 9.5, height_mm - 4.5 - FOOT_MM);
    let mut svg = Svg::new(width_mm, height_mm);
    svg.clip(view.x_mm, view.y_mm, view.width_mm, view.height_mm);
    layers::paper(&mut svg, &view);
    furniture::grid_lines(&mut svg, &view);
    layers::boundary(&mut svg, &view, holding, false);
    if secrecy.withheld() {
        layers::leks(&mut svg, &view, holding, secrecy, 0.0);
    }
    let exchange = |a: &Spot, b: &Spot| linked.dispersal.kernel(Sex::Hens, (a.at.x() - b.at.x()).hypot(a.at.y() - b.at.y()) / 1000.0);
    let paper = |s: &Spot| (view.x(s.at.x()), view.y(s.at.y()));
    let mut links: Vec<[f64; 4]> = vec![];
    for (i, a) in spots.iter().enumerate() {
        for b in &spots[..i] {
            if let Some((_, breadth, _)) = LINKS.iter().find(|(least, ..)| exchange(a, b) >= *least) {
                let ((x1, y1), (x2, y2)) = (paper(a), paper(b));
                let dash = if a.share.is_some() && b.share.is_some() { "" } else { r#" stroke-dasharray="1.4 1.2""# };
                svg.line(x1, y1, x2, y2, &format!(r#"stroke="{INK}" stroke-width="{breadth}"{dash}"#));
                links.push([x1, y1, x2, y2]);
            }
        }
    }
    let circles = beside(&spots, &paper);
    // Names keep clear of circles, and of lines where there is room.
    let (mut labels, mut clear) = (Labels::new(&view), Labels::new(&view));
    for (x, y) in links.iter().flat_map(along) {
        clear.keep_free([x - BESIDE_MM, y - BESIDE_MM, x + BESIDE_MM, y + BESIDE_MM]);
    }
    for (spot, (x, y)) in spots.iter().zip(&circles) {
        circle(&mut svg, *x, *y, spot.share);
        let r = radius(spot.share);
        for of in [&mut labels, &mut clear] {
            of.keep_free([x - r, y - r, x + r, y + r]);
        }
    }
    for (spot, (x, y)) in spots.iter().zip(&circles) {
        let said = format!("{}, {}", spot.told, spot.name);
        let look = Type::plain(3.3).bold().rim();
        if !clear.beside(&mut svg, *x, *y, radius(spot.share), look, &said) {
            labels.beside(&mut svg, *x, *y, radius(spot.share), look, &said);
        }
    }
    svg.end();
    furniture::frame(&mut svg, &view, Some(Figures::of(holding)));
    let foot = view.y_mm + view.height_mm + 3.0;
    furniture::scale_bar(&mut svg, &view, view.x_mm + 1.0, foot, 55.0, 2.5);
    svg.text(view.x_mm + 64.0, foot + 1.6, Type::plain(2.8), &format!("{} on A4", furniture::ratio(view.scale)));
    furniture::north(&mut svg, view.x_mm + view.width_mm - 8.0, foot - 1.0, 2.5);
    key(&mut svg, secrecy.withheld(), view.x_mm, foot + 10.5);
    Some(svg.finish())
}

/// A share in words, as finely as it may be told.
pub fn told(share: f64, secrecy: &Secrecy) -> String {
    match shown(share, secrecy) {
        0.0 if share > 0.0 && secrecy.withheld() => "under 3 %".to_owned(),
        share => crate::words::percent(share),
    }
}

/// A share as finely as it may be told: shares of several leks fix how far they lie apart.
pub fn shown(share: f64, secrecy: &Secrecy) -> f64 {
    if secrecy.withheld() { to_a_twentieth(share) } else { share }
}

fn spots(linked: &Linked, holding: &Holding, secrecy: &Secrecy) -> Vec<Spot> {
    let n = &linked.network;
    let leks = n.leks.iter().map(|l| (&l.id, &l.name, Some(l.hens.share.p50)));
    let proposed = n.proposed.iter().map(|p| (&p.id, &p.name, None));
    let said = |share: Option<f64>| share.map_or_else(|| "no birds".to_owned(), |s| told(s, secrecy));
    let place = |id: &str| holding.leks.iter().find(|l| l.id == *id).map(|l| secrecy.point(l.at));
    leks.chain(proposed).filter_map(|(id, name, share)| Some(Spot { at: place(id)?, name: name.clone(), share: share.map(|s| shown(s, secrecy)), told: said(share) })).collect()
}

/// Points along a line, near enough to each other that no name fits between.
fn along([x1, y1, x2, y2]: &[f64; 4]) -> impl Iterator<Item = (f64, f64)> + use<> {
    let (x, y, wide, high) = (*x1, *y1, x2 - x1, y2 - y1);
    let steps = (wide.hypot(high) / BESIDE_MM).ceil().max(1.0) as usize;
    (0..=steps).map(move |i| i as f64 / steps as f64).map(move |t| (x + t * wide, y + t * high))
}

/// Circles of leks of one place drawn side by side.
fn beside(spots: &[Spot], paper: &dyn Fn(&Spot) -> (f64, f64)) -> Vec<(f64, f64)> {
    let mut out: Vec<(f64, f64)> = vec![];
    for (i, spot) in spots.iter().enumerate() {
        let (mut x, y) = paper(spot);
        for (j, other) in spots[..i].iter().enumerate() {
            let reach = radius(other.share) + radius(spot.share) + 0.6;
            if (out[j].1 - y).abs() < 1e-6 && (out[j].0 - x).abs() < reach {
                x = out[j].0 + reach;
            }
        }
        out.push((x, y));
    }
    out
}

fn radius(share: Option<f64>) -> f64 {
    share.map_or(LEAST_MM, |s| (s.max(0.0).sqrt() * WHOLE_MM).max(LEAST_MM))
}

fn circle(svg: &mut Svg, x: f64, y: f64, share: Option<f64>) {
    let r = radius(share);
    match share {
        Some(_) => svg.circle(x, y, r, &format!(r#"fill="{BLAEBERRY}" stroke="{COTTON}" stroke-width=".5""#)),
        None => svg.circle(x, y, r, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".35" stroke-dasharray=".7 .5""#)),
    }
}

fn key(svg: &mut Svg, withheld: bool, x: f64, y: f64) {
    let look = Type::plain(2.7);
    svg.text(x, y, look.bold(), "Share of the whole by hens");
    let mut across = x + 4.0;
    for share in [0.1, 0.3, 0.6] {
        let r = radius(Some(share)) * 0.5;
        svg.circle(across + r, y + 6.0, r, &format!(r#"fill="{BLAEBERRY}""#));
        svg.text(across + 2.0 * r + 1.0, y + 7.0, look, &crate::words::percent(share));
        across += 2.0 * r + 11.0;
    }
    svg.text(x, y + 12.6, look.colour(STONE), "drawn here at half size");
    let links = x + 62.0;
    svg.text(links, y, look.bold(), "Young hens that come and go");
    for (i, (_, breadth, words)) in LINKS.iter().enumerate() {
        let row = y + 3.6 + i as f64 * 3.8;
        svg.line(links, row, links + 9.0, row, &format!(r#"stroke="{INK}" stroke-width="{breadth}""#));
        svg.text(links + 11.0, row + 0.9, look, words);
    }
    let others = x + 112.0;
    svg.circle(others + 2.0, y + 3.4, LEAST_MM, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".35" stroke-dasharray=".7 .5""#));
    svg.text(others + 6.0, y + 4.3, look, "no birds known; lines dashed");
    if withheld {
        layers::square(svg, others, y + 6.2, 4.0);
        svg.text(others + 6.0, y + 9.2, look, "lek somewhere in this square;");
        svg.text(others + 6.0, y + 12.6, look, "shares to the nearest 5 %");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use birds::network::{Dispersal, Patch, network};
    use guidance::{Country, Guidance};
    use holding::model::Lek;

    fn leks(places: &[(f64, f64, f64)]) -> (Linked, Holding) {
        let guidance = Guidance::load().unwrap();
        let dispersal = Dispersal::of(&guidance, Country::England).unwrap();
        let patch = |(i, (x, y, weight)): (usize, &(f64, f64, f64))| Patch { id: format!("L{i}"), name: format!("Lek {i}"), east_m: *x, north_m: *y, weight: *weight, proposed: *weight == 0.0 };
        let patches: Vec<Patch> = places.iter().enumerate().map(patch).collect();
        let holding = Holding { leks: patches.iter().map(|p| Lek::new(&p.id, &p.name, Point::new(p.east_m, p.north_m))).collect(), ..Holding::default() };
        (Linked { network: network(&patches, &dispersal, &[]).unwrap(), dispersal, later: vec![] }, holding)
    }

    #[test]
    fn shown_leks_lie_where_they_are_with_their_share() {
        let (linked, holding) = leks(&[(384_123.0, 529_321.0, 9.0), (386_777.0, 529_055.0, 14.0), (385_111.0, 531_999.0, 0.0)]);
        let svg = draw(&linked, &holding, &Secrecy::new(&holding, true), 174.0, 120.0).unwrap();
        assert!(svg.contains("50 %, Lek 0") && svg.contains("50 %, Lek 1") && svg.contains("no birds, Lek 2"), "{svg}");
        assert!(!svg.contains("h-withheld") && svg.contains("km"));
    }

    #[test]
    fn a_withheld_picture_hangs_on_the_squares_alone() {
        // Two sets of leks in the same squares give the same picture, wherever in them they lie.
        let at = |d: f64| leks(&[(384_020.0 + d, 529_020.0 + 0.3 * d, 9.0), (386_050.0 + 0.2 * d, 529_055.0 + d, 9.0), (386_010.0 + 0.5 * d, 531_009.0, 9.0)]);
        let (a, b) = (at(0.0), at(900.0));
        let draw = |(linked, holding): &(Linked, Holding)| draw(linked, holding, &Secrecy::new(holding, false), 174.0, 120.0).unwrap();
        let without_shares = |svg: &str| svg.lines().filter(|l| !l.contains(" %, Lek") && !l.contains("<circle")).collect::<Vec<_>>().join("\n");
        assert_eq!(without_shares(&draw(&a)), without_shares(&draw(&b)));
        let svg = draw(&a);
        assert!(svg.contains("h-withheld") && ["30 %, Lek", "35 %, Lek"].iter().any(|s| svg.contains(s)), "shares to a twentieth: {svg}");
    }

    #[test]
    fn leks_of_one_square_stand_side_by_side_and_one_lek_is_no_network() {
        let (linked, holding) = leks(&[(384_100.0, 529_100.0, 9.0), (384_900.0, 529_900.0, 9.0)]);
        let svg = draw(&linked, &holding, &Secrecy::new(&holding, false), 174.0, 120.0).unwrap();
        let centres: Vec<&str> = svg.lines().filter(|l| l.starts_with("<circle") && l.contains("stroke=\"#fbfaf4\"")).collect();
        assert!(centres.len() == 2 && centres[0] != centres[1], "{centres:?}");
        assert!(draw(&Linked { network: linked.network.clone(), ..linked }, &Holding { leks: holding.leks[..1].to_vec(), ..holding.clone() }, &Secrecy::new(&holding, true), 174.0, 120.0).is_none());
    }
}
