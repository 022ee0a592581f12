//! Sites of work: the measures of an option that lie together, so that each site fits a map a contractor can work from.
//!
//! Measures are joined nearest first, as long as what comes of it fits half a sheet at 1:10,000 and lies no farther apart than
//! [`NEAR_M`]. A measure that is too large for that by itself is a site at whatever scale it takes, with others as large beside it
//! where the scale stays the same. A measure without a place, or whose place is withheld, is on no site map: [`left_out`] lists it.
//! Only shapes as they may be shown are looked at.

use super::view::{Box4, scale_for};
use crate::pack::Pack;
use crate::placed::Placed;
use crate::planned::Planned;
use crate::secrecy::{Secrecy, mentions};
use geo::{BoundingRect, Densify, Distance, Euclidean};
use geo_types::{LineString, Point};
use holding::Holding;
use holding::model::{Track, TrackKind};

/// Width of a site map, millimetres: the text of a page.
pub const WIDE_MM: f64 = 174.0;
/// Height of a site map, millimetres: two fit a page of A4.
pub const HIGH_MM: f64 = 113.0;
/// The smallest scale measures are joined at.
pub const SCALE: f64 = 10_000.0;
/// Room on the paper of a site map for the measures themselves, millimetres.
const ROOM_MM: (f64, f64) = (150.0, 47.0);
/// Room left round the measures, millimetres.
const ROUND_MM: f64 = 5.0;
/// Measures farther apart are not joined, metres.
pub const NEAR_M: f64 = 500.0;
/// Ways are looked at every so many metres for the point nearest to the work.
const ALONG_M: f64 = 5.0;

/// Measures that lie together.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    /// What it is called: `Site A`.
    pub name: String,
    /// Its measures, as places in [`Planned::jobs`], rising.
    pub members: Vec<usize>,
    /// The box round its measures with room about them: west, south, east, north, metres.
    pub ground: Box4,
    /// The middle of its measures.
    pub middle: Point<f64>,
    /// The grid reference of that, to 10 m.
    pub reference: String,
    /// Where a road or track comes nearest; `None` where the plan has neither.
    pub access: Option<Access>,
    /// Ground steeper than this is too steep for machines, degrees; `None` where the tables hold no limit.
    pub steep_deg: Option<f64>,
    /// What to mind about lines and pipes, as the guidance has it.
    pub mind: Vec<String>,
}

/// Where a road or track comes nearest to a site.
#[derive(Clone, Debug, PartialEq)]
pub struct Access {
    /// The point on it.
    pub at: Point<f64>,
    /// Its grid reference, to 10 m.
    pub reference: String,
    /// What the way is called: its name, else its kind.
    pub way: String,
    /// From there to the nearest measure, metres.
    pub away_m: f64,
}

/// A measure that is on no site map.
#[derive(Clone, Debug, PartialEq)]
pub struct LeftOut {
    /// Its place in [`Planned::jobs`].
    pub job: usize,
    /// Why, in words.
    pub why: String,
}

/// Measures on their way to a site.
struct Group {
    members: Vec<usize>,
    ground: Box4,
}

/// The sites of an option, in the order of their first measures.
pub fn of(planned: &Planned, placed: &[Placed], pack: &Pack) -> Vec<Site> {
    let mut groups: Vec<Group> = (0..planned.jobs.len()).filter(|i| !whole_unit(planned, *i)).filter_map(|i| Some(Group { members: vec![i], ground: ground(&placed[i])? })).collect();
    while let Some((a, b)) = nearest_pair(&groups) {
        let other = groups.remove(b);
        let group = &mut groups[a];
        group.ground = joint(&group.ground, &other.ground);
        group.members.extend(other.members);
        group.members.sort_unstable();
    }
    groups.sort_by_key(|g| g.members[0]);
    groups.iter().enumerate().map(|(i, group)| site(i, group, planned, placed, pack)).collect()
}

/// The measures that are on no site map, with the reason.
pub fn left_out(planned: &Planned, placed: &[Placed]) -> Vec<LeftOut> {
    let why = |i: usize| match &placed[i] {
        _ if whole_unit(planned, i) => "a whole unit: see the map of its kind".to_owned(),
        p if p.kept_back.is_empty() || p.drawn => "no place is known".to_owned(),
        p => p.kept_back.to_owned(),
    };
    (0..planned.jobs.len()).filter(|i| whole_unit(planned, *i) || ground(&placed[*i]).is_none()).map(|job| LeftOut { job, why: why(job) }).collect()
}

/// Whether a measure is done on a whole unit, which no map of a site has room for.
fn whole_unit(planned: &Planned, job: usize) -> bool {
    planned.jobs[job].entry.key == "grazing"
}

/// The box of ground a measure takes; `None` where it has no place or is not to be drawn.
fn ground(placed: &Placed) -> Option<Box4> {
    let bounds = placed.shape.bounding_rect().filter(|r| placed.drawn && [r.min().x, r.min().y, r.max().x, r.max().y].iter().all(|v| v.is_finite()))?;
    Some([bounds.min().x, bounds.min().y, bounds.max().x, bounds.max().y])
}

fn joint(a: &Box4, b: &Box4) -> Box4 {
    [a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])]
}

/// How far two boxes lie apart, metres.
fn gap_m(a: &Box4, b: &Box4) -> f64 {
    let apart = |low_a: f64, high_a: f64, low_b: f64, high_b: f64| (low_b - high_a).max(low_a - high_b).max(0.0);
    apart(a[0], a[2], b[0], b[2]).hypot(apart(a[1], a[3], b[1], b[3]))
}

fn scale(ground: &Box4) -> f64 {
    scale_for(*ground, ROOM_MM.0, ROOM_MM.1)
}

/// The two groups to join next, the first of equals; `None` where none may be joined.
fn nearest_pair(groups: &[Group]) -> Option<(usize, usize)> {
    let mut best: Option<(f64, f64, usize, usize)> = None;
    for (b, second) in groups.iter().enumerate() {
        for (a, first) in groups[..b].iter().enumerate() {
            let gap = gap_m(&first.ground, &second.ground);
            if gap > NEAR_M || best.is_some_and(|(least, ..)| gap > least) {
                continue;
            }
            let both = scale(&joint(&first.ground, &second.ground));
            let alone = [scale(&first.ground), scale(&second.ground)];
            let fits = both <= SCALE || (alone.iter().all(|s| *s > SCALE) && both <= alone[0].max(alone[1]));
            if fits && best.is_none_or(|(g, s, ..)| (gap, both) < (g, s)) {
                best = Some((gap, both, a, b));
            }
        }
    }
    best.map(|(_, _, a, b)| (a, b))
}

fn site(place: usize, group: &Group, planned: &Planned, placed: &[Placed], pack: &Pack) -> Site {
    let secrecy = pack.secrecy();
    let [w, s, e, n] = group.ground;
    let round = ROUND_MM * scale(&group.ground) / 1000.0;
    let middle = Point::new((w + e) / 2.0, (s + n) / 2.0);
    let (guidance, country) = (pack.guidance, pack.holding.about.country);
    let wet = group.members.iter().any(|i| planned.jobs[*i].entry.key == "water");
    // A limit for machines on peat where ditches or dams are worked, else that of a tractor that cuts.
    let limit = if wet { "water.machine.slope_max" } else { "heather.cutting.slope.tractor" };
    Site {
        name: format!("Site {}", letters(place)),
        members: group.members.clone(),
        ground: [w - round, s - round, e + round, n + round],
        middle,
        reference: secrecy.grid_reference(middle, 8),
        access: access(pack.holding, group.members.iter().map(|i| &placed[*i])).map(|(track, at, away_m)| Access { at, reference: secrecy.grid_reference(at, 8), way: called(track, &secrecy), away_m }),
        steep_deg: guidance.number(limit, country).ok(),
        mind: ["caution.overhead_line", "caution.buried"].into_iter().filter_map(|key| guidance.text(key, country).ok().map(str::to_owned)).collect(),
    }
}

/// A, B, … Z, AA, AB, …
fn letters(place: usize) -> String {
    let last = char::from(b'A' + (place % 26) as u8);
    if place < 26 { last.to_string() } else { format!("{}{last}", letters(place / 26 - 1)) }
}

/// What a way is called: its name where that may be said, else its kind.
fn called(track: &Track, secrecy: &Secrecy) -> String {
    let kind = match track.kind {
        TrackKind::Road => "public road",
        TrackKind::Track => "track",
        TrackKind::Path => "path",
    };
    line_name(&track.name, secrecy).unwrap_or_else(|| kind.to_owned())
}

/// The name of a way, a burn or a service as it may be printed; `None` where it has none or, leks being withheld, speaks of one.
pub(super) fn line_name(name: &str, secrecy: &Secrecy) -> Option<String> {
    let low = name.trim().to_lowercase();
    let speaks = ["lek", "leks"].iter().any(|w| mentions(&low, w)) || secrecy.leks.iter().any(|(_, lek, _)| mentions(&low, &lek.to_lowercase()));
    let told = secrecy.withheld() && speaks;
    (!low.is_empty() && !told).then(|| secrecy.words(name.trim()))
}

/// The road or track that comes nearest to some measures, the point on it, and how far that is from them, metres.
fn access<'a, 'h>(holding: &'h Holding, placed: impl Iterator<Item = &'a Placed> + Clone) -> Option<(&'h Track, Point<f64>, f64)> {
    let away = |at: Point<f64>| placed.clone().map(|p| Euclidean.distance(&at, &p.shape)).fold(f64::INFINITY, f64::min);
    let mut best: Option<(&Track, Point<f64>, f64)> = None;
    for track in holding.tracks.iter().filter(|t| t.kind != TrackKind::Path) {
        for line in &track.shape.0 {
            for at in points(line) {
                let metres = away(at);
                if metres.is_finite() && best.is_none_or(|(.., least)| metres < least) {
                    best = Some((track, at, metres));
                }
            }
        }
    }
    best
}

/// Points along a line, no farther apart than [`ALONG_M`].
fn points(line: &LineString<f64>) -> Vec<Point<f64>> {
    Euclidean.densify(line, ALONG_M).points().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn group(member: usize, ground: Box4) -> Group {
        Group { members: vec![member], ground }
    }

    #[test]
    fn sites_are_lettered_like_columns() {
        assert_eq!([0, 25, 26, 27, 701, 702].map(letters), ["A", "Z", "AA", "AB", "ZZ", "AAA"]);
    }

    #[test]
    fn near_measures_are_joined_while_they_fit() {
        let near = [group(0, [0.0, 0.0, 100.0, 100.0]), group(1, [900.0, 0.0, 1000.0, 100.0]), group(2, [250.0, 0.0, 300.0, 50.0])];
        assert_eq!(nearest_pair(&near), Some((0, 2)), "150 m apart before 600 m");
        // 400 m apart, but together taller than 58 mm at 1:10,000.
        assert_eq!(nearest_pair(&[group(0, [0.0, 0.0, 100.0, 100.0]), group(1, [0.0, 490.0, 100.0, 590.0])]), None);
        // Two units of the hill, each too large: together where the scale stays.
        let large = [group(0, [0.0, 0.0, 2000.0, 1000.0]), group(1, [100.0, 50.0, 2100.0, 1100.0]), group(2, [2000.0, 0.0, 2050.0, 50.0])];
        assert_eq!(nearest_pair(&large), Some((0, 1)));
        assert_eq!(nearest_pair(&[group(0, [0.0, 0.0, 2000.0, 1000.0]), group(2, [2000.0, 0.0, 2050.0, 50.0])]), None, "a small one keeps its own scale");
    }
}
