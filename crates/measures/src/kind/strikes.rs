//! Black grouse struck and killed on fences in a year.
//!
//! Length times the rate of the kind of fence, times a share by distance from the nearest lek, times what marking leaves; deaths
//! are the fatal share of strikes. Sources: Baines & Andrew 2003 (rate on deer fences, effect of orange netting, fatal share);
//! low and high from native pinewoods (Catt and others 1994) and a recount that disagrees with the published mean. Stock
//! fences, canes and pales, and the fall with distance were never measured for black grouse: assumptions, told as such.

use crate::rules::Context;
use crate::rules::places;
use geo::Distance;
use geo_types::{Coord, LineString, MultiLineString, Point};
use guidance::{Curve, Unknown};
use holding::{Fence, FenceKind, Marking};

use super::cost;

/// A figure with how wide it is.
#[derive(Clone, Copy, Debug, Default, PartialEq, serde::Serialize)]
pub struct Spread {
    /// Low.
    pub low: f64,
    /// Usual.
    pub usual: f64,
    /// High.
    pub high: f64,
}

impl Spread {
    /// Times a number that is not negative.
    pub fn times(self, by: f64) -> Spread {
        Spread { low: self.low * by, usual: self.usual * by, high: self.high * by }
    }

    /// Together with another, low with low and high with high: what is unknown is unknown of both alike.
    pub fn plus(self, other: Spread) -> Spread {
        Spread { low: self.low + other.low, usual: self.usual + other.usual, high: self.high + other.high }
    }

    /// Less another, low with low and high with high.
    pub fn less(self, other: Spread) -> Spread {
        Spread { low: self.low - other.low, usual: self.usual - other.usual, high: self.high - other.high }
    }
}

/// A stretch of fence in one band of distance from its nearest lek.
#[derive(Clone, Debug)]
pub struct Section {
    /// The line.
    pub line: MultiLineString<f64>,
    /// Length, metres.
    pub length_m: f64,
    /// Nearest lek.
    pub lek: usize,
    /// Distance of the band from the lek, metres; the last band is open outwards.
    pub from_m: f64,
    /// Its outer edge, metres; infinite for the last.
    pub to_m: f64,
    /// Share of the full rate, mean over its length.
    pub share: f64,
}

/// Longest piece of fence taken as at one distance, metres.
const PIECE_M: f64 = 5.0;

/// Strikes a kilometre a year on a fence right by a lek.
///
/// # Errors
/// A figure the tables lack.
pub fn rate(c: &Context, kind: FenceKind, marking: Marking) -> Result<Spread, Unknown> {
    let bare = match kind {
        FenceKind::Wall => return Ok(Spread::default()),
        FenceKind::Deer => Spread {
            low: c.number("fence.strikes.native_pinewood.black_grouse_year")?,
            usual: c.number("fence.strikes.deer.black_grouse")?,
            high: c.number("fence.strikes.deer.black_grouse_high")?,
        },
        FenceKind::Stock | FenceKind::Wire | FenceKind::Other => {
            let [low, usual, high] = cost::spread(c, "fence.strikes.stock.black_grouse")?;
            Spread { low, usual, high }
        }
    };
    let left = left_by(c, marking)?;
    Ok(Spread { low: bare.low * left.low, usual: bare.usual * left.usual, high: bare.high * left.high })
}

/// Share of strikes that marking leaves, the best for the low.
fn left_by(c: &Context, marking: Marking) -> Result<Spread, Unknown> {
    let netting = 1.0 - c.number("fence.marking_cut.black_grouse")? / 100.0;
    Ok(match marking {
        Marking::None => Spread { low: 1.0, usual: 1.0, high: 1.0 },
        Marking::Netting => Spread { low: netting, usual: netting, high: netting },
        Marking::Bamboo | Marking::Pales => {
            let [least, usual, most] = cost::spread(c, "fence.marking_cut.unmeasured")?;
            Spread { low: 1.0 - most / 100.0, usual: 1.0 - usual / 100.0, high: 1.0 - least / 100.0 }
        }
        // Marked at best, bare at worst.
        Marking::Unknown => Spread { low: netting, usual: 1.0, high: 1.0 },
    })
}

/// Share of the full rate by distance from the nearest lek, metres.
fn by_distance(c: &Context) -> Result<Curve, Unknown> {
    c.guidance.curve("fence.strikes.distance_factor", c.holding.about.country)
}

/// A line cut at the bands of distance from leks, pieces of a band and lek together, nearest lek and band first.
///
/// # Errors
/// A figure the tables lack.
pub fn sections(c: &Context, line: &MultiLineString<f64>) -> Result<Vec<Section>, Unknown> {
    sections_among(c, line, &(0..c.leks().len()).collect::<Vec<_>>())
}

/// As [`sections`], by the nearest of these leks.
fn sections_among(c: &Context, line: &MultiLineString<f64>, among: &[usize]) -> Result<Vec<Section>, Unknown> {
    let curve = by_distance(c)?;
    let edges: Vec<f64> = curve.points().iter().map(|p| p.0).collect();
    let leks: Vec<(usize, Point<f64>)> = among.iter().map(|l| (*l, c.lek_at(*l))).collect();
    let mut found: Vec<(usize, usize, Section)> = Vec::new();
    for part in &line.0 {
        let mut last: Option<(usize, usize)> = None;
        for leg in part.lines() {
            let long = leg.dx().hypot(leg.dy());
            let pieces = (long / PIECE_M).ceil().max(1.0) as usize;
            let place = |m: f64| Coord { x: leg.start.x + m * leg.dx() / long, y: leg.start.y + m * leg.dy() / long };
            for i in 0..pieces {
                if long <= 0.0 {
                    continue;
                }
                // Whole pieces from the start: a longer fence has every piece of a shorter one.
                let (from_m, to_m) = (PIECE_M * i as f64, (PIECE_M * (i + 1) as f64).min(long));
                let (a, b) = (place(from_m), if i + 1 == pieces { leg.end } else { place(to_m) });
                let middle = Point::new((a.x + b.x) / 2.0, (a.y + b.y) / 2.0);
                let near = leks.iter().map(|(l, at)| (*l, geo::Euclidean.distance(*at, middle))).min_by(|a, b| a.1.total_cmp(&b.1));
                let Some((lek, far)) = near else { continue };
                let band = edges.partition_point(|e| *e <= far).saturating_sub(1);
                let piece_m = to_m - from_m;
                let at = match found.iter().position(|(l, bd, _)| (*l, *bd) == (lek, band)) {
                    Some(at) => at,
                    None => {
                        let (near_m, far_m) = (edges.get(band).copied().unwrap_or(0.0), edges.get(band + 1).copied().unwrap_or(f64::INFINITY));
                        found.push((lek, band, Section { line: MultiLineString(vec![]), length_m: 0.0, lek, from_m: near_m, to_m: far_m, share: 0.0 }));
                        found.len() - 1
                    }
                };
                let section = &mut found[at].2;
                match section.line.0.last_mut().filter(|_| last == Some((lek, band))) {
                    Some(run) => run.0.push(b),
                    None => section.line.0.push(LineString(vec![a, b])),
                }
                section.share += curve.at(far) * piece_m;
                section.length_m += piece_m;
                last = Some((lek, band));
            }
        }
    }
    found.sort_by_key(|f| (f.0, f.1));
    Ok(found
        .into_iter()
        .map(|(_, _, mut s)| {
            s.share /= s.length_m;
            s.line = thinned(s.line);
            s
        })
        .collect())
}

/// Corners that lie on the straight between their neighbours left out.
fn thinned(lines: MultiLineString<f64>) -> MultiLineString<f64> {
    let thin = |line: LineString<f64>| {
        let mut out: Vec<Coord<f64>> = Vec::new();
        for at in line.0 {
            while let [.., a, b] = out.as_slice()
                && ((b.x - a.x) * (at.y - a.y) - (b.y - a.y) * (at.x - a.x)).abs() < 1e-6 * (at.x - a.x).hypot(at.y - a.y).max(1.0)
                && (b.x - a.x) * (at.x - b.x) + (b.y - a.y) * (at.y - b.y) >= 0.0
            {
                out.pop();
            }
            out.push(at);
        }
        LineString(out)
    };
    MultiLineString(lines.0.into_iter().map(thin).collect())
}

/// Full-rate kilometres of a line: length times the share by distance.
fn full_km(c: &Context, line: &MultiLineString<f64>) -> Result<f64, Unknown> {
    Ok(sections(c, line)?.iter().map(|s| s.length_m * s.share / 1000.0).sum())
}

/// Black grouse that strike a fence in a year.
///
/// # Errors
/// A figure the tables lack.
pub fn strikes(c: &Context, fence: &Fence) -> Result<Spread, Unknown> {
    Ok(rate(c, fence.kind, fence.marking)?.times(full_km(c, &fence.shape)?))
}

/// Black grouse killed on a fence in a year.
///
/// # Errors
/// A figure the tables lack.
pub fn deaths(c: &Context, fence: &Fence) -> Result<Spread, Unknown> {
    Ok(strikes(c, fence)?.times(fatal(c)?))
}

/// Black grouse killed in a year on a line, were it such a fence.
///
/// # Errors
/// A figure the tables lack.
pub fn deaths_on(c: &Context, line: &MultiLineString<f64>, kind: FenceKind, marking: Marking) -> Result<Spread, Unknown> {
    Ok(rate(c, kind, marking)?.times(full_km(c, line)? * fatal(c)?))
}

/// Black grouse killed in a year on all the fences of the context's holding, by lek: each piece of fence takes the birds of the nearest of the leks
/// `among`, those that hold birds.
///
/// # Errors
/// A figure the tables lack.
pub fn deaths_by_lek(c: &Context, among: &[usize]) -> Result<Vec<Spread>, Unknown> {
    let fatal = fatal(c)?;
    let mut all = vec![Spread::default(); c.leks().len()];
    for fence in &c.holding.fences {
        let rate = rate(c, fence.kind, fence.marking)?;
        for section in sections_among(c, &fence.shape, among)? {
            all[section.lek] = all[section.lek].plus(rate.times(section.length_m * section.share / 1000.0 * fatal));
        }
    }
    Ok(all)
}

/// Share of strikes that kill.
///
/// # Errors
/// A figure the tables lack.
pub fn fatal(c: &Context) -> Result<f64, Unknown> {
    Ok(c.number("fence.fatal_share.black_grouse")? / 100.0)
}

/// Whether the rate of a kind of fence was ever measured.
pub fn measured(kind: FenceKind) -> bool {
    kind == FenceKind::Deer
}

/// Deaths a year on a fence in every draw: rate and marking as drawn.
///
/// # Errors
/// A figure the tables lack.
pub fn deaths_drawn(c: &Context, fence: &Fence, seed: u64, n: usize) -> Result<Vec<f64>, Unknown> {
    let draws = c.guidance.draws(seed, n, c.holding.about.country);
    let rates = match fence.kind {
        FenceKind::Wall => return Ok(vec![0.0; n]),
        FenceKind::Deer => draws.of("fence.strikes.deer.drawn")?,
        FenceKind::Stock | FenceKind::Wire | FenceKind::Other => draws.of("fence.strikes.stock.black_grouse")?,
    };
    let cuts = match fence.marking {
        Marking::None | Marking::Unknown => None,
        Marking::Netting => Some(draws.of("fence.marking_cut.black_grouse")?),
        Marking::Bamboo | Marking::Pales => Some(draws.of("fence.marking_cut.unmeasured")?),
    };
    let fatal = draws.of("fence.fatal_share.black_grouse")?;
    let km = full_km(c, &fence.shape)?;
    Ok((0..n).map(|i| km * rates[i] * (1.0 - cuts.map_or(0.0, |cut| cut[i] / 100.0)) * fatal[i] / 100.0).collect())
}

/// Strikes of birds of every kind a month on so many kilometres of deer fence.
///
/// # Errors
/// A figure the tables lack.
pub fn all_birds_a_month(c: &Context, km: f64, marked: bool) -> Result<f64, Unknown> {
    Ok(km * c.number(if marked { "fence.strikes.all_birds.marked" } else { "fence.strikes.all_birds.unmarked" })?)
}

/// Metres of a fence within a distance of any lek.
pub fn metres_within(c: &Context, line: &MultiLineString<f64>, radius_m: f64) -> f64 {
    let discs: Vec<_> = (0..c.leks().len()).map(|l| places::disc(c.lek_at(l), radius_m)).collect();
    places::metres(&places::line_inside(line, &ground::quick::union(&discs)))
}
