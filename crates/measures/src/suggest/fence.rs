//! Which fences to take down, mark or move first: deaths avoided for the money.
//!
//! Every fence is cut where the distance from leks changes band, and each section is tried three ways: taken down, marked with
//! orange netting, and the sections nearest the lek moved round it at the distance of a band (the whole stretch inside that distance). Deaths avoided a year are times the years the work lasts
//! (marking until it must be renewed, the others as long as a fence lives) and over the cost. The best of each section is put
//! forward; low to high takes few deaths and dear work against many deaths and cheap work.
//!
//! Taking down is only put forward where the fence seems to have done its work: not along the boundary, not between parcels of
//! which one is stocked, not round trees younger than fences are usually kept for.

use super::{LeftOut, Suggested};
use crate::kind::strikes::{self, Section, Spread};
use crate::kind::{Quantity, cost, fence as kind};
use crate::rules::{Context, places, words};
use geo::{Contains, Distance, Euclidean};
use geo_types::{Coord, LineString, MultiLineString, Point};
use guidance::Unknown;
use holding::{Fence, FenceKind, Marking, Measure};

/// One way of dealing with a section.
#[derive(Clone, Debug)]
pub struct Choice {
    /// What is done: `remove`, `mark` or `move`.
    pub work: &'static str,
    /// The measure.
    pub measure: Measure,
    /// Deaths avoided a year.
    pub saved: Spread,
    /// Years it lasts.
    pub years: f64,
    /// Cost, pounds.
    pub gbp: [f64; 3],
}

impl Choice {
    /// Deaths avoided over the years it lasts for each £1,000: low, usual, high.
    pub fn per_1000_gbp(&self) -> [f64; 3] {
        let of = |deaths: f64, gbp: f64| if gbp > 0.0 { 1000.0 * deaths * self.years / gbp } else { 0.0 };
        [of(self.saved.low, self.gbp[2]), of(self.saved.usual, self.gbp[1]), of(self.saved.high, self.gbp[0])]
    }
}

/// A section of fence with every way tried, best first.
#[derive(Clone, Debug)]
pub struct Tried {
    /// Place of the fence in the survey.
    pub fence: usize,
    /// The section.
    pub section: Section,
    /// Deaths a year as it stands.
    pub deaths: Spread,
    /// Why it may not be taken down, as far as the survey tells.
    pub needed: Option<String>,
    /// Ways, best first.
    pub choices: Vec<Choice>,
}

/// Best choice of every section, best first.
///
/// # Errors
/// A figure the tables lack.
pub fn suggest(c: &Context) -> Result<Vec<Suggested>, Unknown> {
    let mut tried = tried(c)?;
    let rank = |t: &Tried| t.choices.first().map_or(0.0, |b| b.per_1000_gbp()[1]);
    tried.sort_by(|a, b| rank(b).total_cmp(&rank(a)));
    Ok(tried.iter().filter_map(|t| put_forward(c, t)).collect())
}

/// Fences nothing is put forward for, and why.
///
/// # Errors
/// A figure the tables lack.
pub fn left_out(c: &Context) -> Result<Vec<LeftOut>, Unknown> {
    let tried = tried(c)?;
    let mut out = Vec::new();
    for (i, fence) in c.holding.fences.iter().enumerate() {
        if tried.iter().any(|t| t.fence == i && !t.choices.is_empty()) {
            continue;
        }
        let why = if fence.kind == FenceKind::Wall {
            "a wall strikes no birds"
        } else if places::metres(&fence.shape) <= 0.0 {
            "it has no line"
        } else if tried.iter().any(|t| t.fence == i) {
            "it is needed, and marked or moved it would kill no fewer by the figures there are"
        } else {
            "it lies too far from any lek for a strike to be expected"
        };
        out.push(LeftOut { id: fence.id.clone(), why: why.into() });
    }
    Ok(out)
}

/// Every section with every way tried, in the order of the survey.
///
/// # Errors
/// A figure the tables lack.
pub fn tried(c: &Context) -> Result<Vec<Tried>, Unknown> {
    let within_m = 1000.0 * c.number("fence.near_lek")?;
    let fatal = strikes::fatal(c)?;
    let mut out = Vec::new();
    for (i, fence) in c.holding.fences.iter().enumerate().filter(|(_, f)| f.kind != FenceKind::Wall) {
        let rate = strikes::rate(c, fence.kind, fence.marking)?;
        for (k, section) in strikes::sections(c, &fence.shape)?.into_iter().enumerate() {
            let deaths = rate.times(section.length_m * section.share * fatal / 1000.0);
            if section.from_m >= within_m || deaths.usual <= 0.0 || section.length_m < 1.0 {
                continue;
            }
            let needed = needed(c, &section)?;
            let mut choices = Vec::new();
            for work in ["remove", "mark", "move"].into_iter().filter(|w| *w != "remove" || needed.is_none()) {
                choices.extend(choice(c, fence, &section, work, &format!("{}-{}", fence.id, k + 1), deaths)?);
            }
            choices.sort_by(|a, b| b.per_1000_gbp()[1].total_cmp(&a.per_1000_gbp()[1]));
            out.push(Tried { fence: i, section, deaths, needed, choices });
        }
    }
    Ok(out)
}

/// One way of dealing with a section, where it can be done and helps.
fn choice(c: &Context, fence: &Fence, section: &Section, work: &'static str, id: &str, deaths: Spread) -> Result<Option<Choice>, Unknown> {
    let life = match fence.kind {
        FenceKind::Deer => c.number("fence.life.deer")?,
        _ => c.number("fence.life.stock")?,
    };
    let mut measure = Measure { id: format!("{work}-{id}"), kind: kind::ENTRY.key.into(), line: section.line.clone(), ..Measure::default() };
    let mut fact = |name: &str, value: &str| measure.facts.insert(name.into(), value.into());
    fact("work", work);
    fact("fence", &fence.id);
    let (left, years) = match work {
        "mark" => {
            if !matches!(fence.marking, Marking::None | Marking::Unknown) {
                return Ok(None);
            }
            fact("marking", "netting");
            (strikes::deaths_on(c, &section.line, fence.kind, Marking::Netting)?, c.number("fence.life.marking_netting")?)
        }
        "move" => {
            let Some((moved, round)) = best_way_round(c, fence, section)? else { return Ok(None) };
            let saved = strikes::deaths_on(c, &moved, fence.kind, fence.marking)?.less(strikes::deaths_on(c, &round, fence.kind, fence.marking)?);
            measure.line = round;
            (deaths.less(saved), life)
        }
        _ => (Spread::default(), life),
    };
    let saved = deaths.less(left);
    if saved.usual <= 0.0 {
        return Ok(None);
    }
    let gbp = cost::total(&(kind::ENTRY.costs)(c, &measure)?);
    Ok(Some(Choice { work, measure, saved, years, gbp }))
}

/// How far apart a section is looked at to tell what it is for, metres.
const LOOK_M: f64 = 20.0;

/// What a section is needed for over most of its length, as far as the survey tells.
fn needed(c: &Context, section: &Section) -> Result<Option<String>, Unknown> {
    let h = c.holding;
    let snap_m = c.number("fence.snap")?;
    let kept_yr = c.number("schedule.thin_open")?;
    let edge = h.boundary.as_ref().map(places::outlines);
    let stocked = |id: &str| h.stock.iter().any(|s| s.parcel == id && s.head.iter().any(|n| *n > 0.0));
    let young: Vec<_> = c.stands().iter().filter(|s| !s.trees.is_empty() && f64::from(s.wood_age_yr) < kept_yr).collect();
    let (mut looks, mut march, mut stock, mut trees) = (0usize, 0usize, 0usize, 0usize);
    for line in &section.line.0 {
        for leg in line.lines() {
            let long = leg.dx().hypot(leg.dy());
            let many = (long / LOOK_M).ceil() as usize;
            for i in 0..many {
                let t = (i as f64 + 0.5) / many as f64;
                let (x, y) = (leg.start.x + t * leg.dx(), leg.start.y + t * leg.dy());
                // To either side, twice the snap away: clear of how exactly fence and parcels were drawn.
                let (ox, oy) = (-2.0 * snap_m * leg.dy() / long, 2.0 * snap_m * leg.dx() / long);
                let sides = [Point::new(x + ox, y + oy), Point::new(x - ox, y - oy)];
                let parcels = sides.map(|p| h.parcels.iter().find(|q| q.shape.contains(&p)).map(|q| q.id.as_str()));
                looks += 1;
                march += usize::from(edge.as_ref().is_some_and(|e| Euclidean.distance(&Point::new(x, y), e) <= snap_m));
                stock += usize::from(parcels[0] != parcels[1] && parcels.iter().flatten().any(|id| stocked(id)));
                trees += usize::from(young.iter().any(|s| sides.iter().any(|p| c.shape(s).contains(p))));
            }
        }
    }
    let most = |n: usize| 2 * n > looks;
    Ok(if most(march) {
        Some("it runs along the boundary, and the neighbour has a say".into())
    } else if most(trees) {
        Some(format!("trees beside it are younger than {kept_yr:.0} years"))
    } else if most(stock) {
        Some("it parts parcels that are stocked".into())
    } else {
        None
    })
}

/// Farthest two corners of a fence moved round a lek stand apart, metres.
const ARC_STEP_M: f64 = 25.0;

/// A stretch of fence, and the line it is moved to.
type Way = (MultiLineString<f64>, MultiLineString<f64>);

/// The stretch of a fence to move and its way round the lek at the edge of a band, where most deaths are avoided for the length
/// put up; asked of the sections nearest the lek only. `None` where no way round avoids any.
fn best_way_round(c: &Context, fence: &Fence, section: &Section) -> Result<Option<Way>, Unknown> {
    if section.from_m > 0.0 {
        return Ok(None);
    }
    let lek = c.lek_at(section.lek);
    let mut best: Option<(f64, MultiLineString<f64>, MultiLineString<f64>)> = None;
    let curve = c.guidance.curve("fence.strikes.distance_factor", c.holding.about.country)?;
    for (edge, _) in curve.points().iter().filter(|(edge, _)| *edge > 0.0) {
        let inside = places::line_inside(&fence.shape, &geo_types::MultiPolygon(vec![places::disc(lek, *edge)]));
        let Some(piece) = inside.0.iter().min_by(|a, b| Euclidean.distance(&lek, *a).total_cmp(&Euclidean.distance(&lek, *b))) else { continue };
        let Some(round) = round_the_lek(c, lek, *edge, piece) else { continue };
        let old = holding::one_line(piece.clone());
        let saved = strikes::deaths_on(c, &old, fence.kind, fence.marking)?.less(strikes::deaths_on(c, &round, fence.kind, fence.marking)?);
        let per_m = saved.usual / places::metres(&round).max(1.0);
        if saved.usual > 0.0 && best.as_ref().is_none_or(|b| per_m > b.0) {
            best = Some((per_m, old, round));
        }
    }
    Ok(best.map(|(_, old, round)| (old, round)))
}

/// The way round a lek at a distance, from end to end of a stretch, the shorter way; `None` where its ends do not lie at that
/// distance or the way leaves the holding.
fn round_the_lek(c: &Context, lek: Point<f64>, edge: f64, stretch: &LineString<f64>) -> Option<MultiLineString<f64>> {
    let (a, b) = (stretch.0.first()?, stretch.0.last()?);
    let polar = |p: &Coord<f64>| ((p.x - lek.x()).hypot(p.y - lek.y()), (p.y - lek.y()).atan2(p.x - lek.x()));
    let ((r0, t0), (r1, t1)) = (polar(a), polar(b));
    // To within what the many-sided disc leaves.
    if (r0 - edge).abs() > ARC_STEP_M || (r1 - edge).abs() > ARC_STEP_M {
        return None;
    }
    let turn = (t1 - t0 + std::f64::consts::PI).rem_euclid(std::f64::consts::TAU) - std::f64::consts::PI;
    let steps = (turn.abs() * edge / ARC_STEP_M).ceil().max(1.0) as usize;
    let on_arc = |i: usize| {
        let (sin, cos) = (t0 + turn * i as f64 / steps as f64).sin_cos();
        Coord { x: lek.x() + edge * cos, y: lek.y() + edge * sin }
    };
    let round = LineString(std::iter::once(*a).chain((1..steps).map(on_arc)).chain([*b]).collect());
    let inside = c.holding.boundary.as_ref().is_none_or(|land| land.contains(&round));
    inside.then(|| MultiLineString(vec![round]))
}

/// The best way with a section as a measure put forward; `None` where no way helps.
pub fn put_forward(c: &Context, t: &Tried) -> Option<Suggested> {
    let best = t.choices.first()?;
    let fence = c.holding.fences.get(t.fence)?;
    let name = if fence.name.is_empty() { format!("fence {}", fence.id) } else { fence.name.clone() };
    let say = |s: Spread| format!("{} ({} to {})", words::number(s.usual), words::number(s.low), words::number(s.high));
    let per = best.per_1000_gbp();
    let others: Vec<String> = t.choices.iter().skip(1).map(|o| format!("{} {}", o.work, words::number(o.per_1000_gbp()[1]))).collect();
    let instead = if others.is_empty() { String::new() } else { format!("; for comparison {}", others.join(", ")) };
    let band = if t.section.to_m.is_finite() {
        format!("{:.0} to {:.0} m from {}", t.section.from_m, t.section.to_m, c.lek_name(t.section.lek))
    } else {
        format!("beyond {:.0} m of {}", t.section.from_m, c.lek_name(t.section.lek))
    };
    let condition = match best.work {
        "remove" => " Only if its work is done: stock and deer pass where it stood.",
        "move" => " The line drawn goes round the lek at one distance; fit it to the ground.",
        _ => " Marking must be renewed when it is worn.",
    };
    let kept = t.needed.as_ref().map_or(String::new(), |why| format!(" Not taken down: {why}."));
    let basis = if strikes::measured(fence.kind) { "" } else { " Strikes on such fences were never measured: the rate is assumed." };
    let why = format!(
        "{} {name}, {} of it {band}: {} black grouse deaths a year expected, {} avoided; {} avoided for each £1,000 over the {:.0} years it lasts ({} to {}){instead}.{kept}{condition}{basis}",
        match best.work {
            "remove" => "Take down",
            "mark" => "Mark",
            _ => "Move",
        },
        words::metres(t.section.length_m),
        say(t.deaths),
        say(best.saved),
        words::number(per[1]),
        best.years,
        words::number(per[0]),
        words::number(per[2]),
    );
    let one = |what: &str, amount: f64, unit: &'static str| Quantity { what: what.into(), amount, unit };
    let figures = vec![
        one("deaths avoided for £1,000, low", per[0], "black grouse"),
        one("deaths avoided for £1,000", per[1], "black grouse"),
        one("deaths avoided for £1,000, high", per[2], "black grouse"),
        one("deaths avoided, low", best.saved.low, "a year"),
        one("deaths avoided", best.saved.usual, "a year"),
        one("deaths avoided, high", best.saved.high, "a year"),
        one("section", t.section.length_m, "m"),
        one("lasts", best.years, "years"),
    ];
    Some(Suggested { measure: best.measure.clone(), why, gbp: best.gbp, figures })
}
