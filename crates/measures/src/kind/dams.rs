//! Dams along a ditch: where they stand, of what kind, what ground they wet, and which stretches must stay open.
//!
//! Sources: fall, clamp, shape and volume of peat dams from Scottish Rural Priorities, "Peat Dam"; spacing in England from
//! the grip blocking option (WN1); widest and deepest ditches for hand and machine from the Fen Management Handbook;
//! piling from the Scottish scheme's page and Brooks & Stoneman 1997; that peat dams fail on slopes, on bare mineral and in
//! strong flow from Armstrong and others 2009. Slope ceilings are from memory; what is kept clear of is assumed.
//!
//! - [`profile`]: heights along the ditch, which way it runs
//! - [`spacing`]: how far apart
//! - [`wetted`]: ground wetted
//! - [`flow`]: where the water goes that a dam turns out

pub mod flow;
pub mod profile;
pub mod spacing;
pub mod wetted;

use super::cost::spread;
use crate::rules::{Context, places};
use flow::Spill;
use geo::{BoundingRect, Intersects};
use geo_types::{Coord, LineString, MultiLineString, MultiPolygon, Rect};
use ground::buffer;
use guidance::Unknown;
use habitat::Class;
use holding::{AreaKind, Ditch};
use profile::{Run, length, point_at, stretch};
use spacing::Spacing;
use wetted::HalfWidths;

/// What a dam is built of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum DamType {
    /// Peat, dug by hand.
    HandPeat,
    /// Peat, by a low-pressure excavator.
    MachinePeat,
    /// Plastic piling.
    Piling,
    /// Timber or stone.
    TimberStone,
    /// Heather bales, staked.
    Bale,
    /// Not dammed: too steep or too wide.
    Leave,
}

impl DamType {
    /// Every type that is built.
    pub const BUILT: [DamType; 5] = [DamType::HandPeat, DamType::MachinePeat, DamType::Piling, DamType::TimberStone, DamType::Bale];

    /// In words, as a quantity is called.
    pub fn words(self) -> &'static str {
        match self {
            DamType::HandPeat => "peat dams by hand",
            DamType::MachinePeat => "peat dams by excavator",
            DamType::Piling => "plastic piling dams",
            DamType::TimberStone => "timber or stone dams",
            DamType::Bale => "heather bale dams",
            DamType::Leave => "left open",
        }
    }

    /// Guidance key of the cost of one.
    pub fn cost_key(self) -> Option<&'static str> {
        Some(match self {
            DamType::HandPeat => "cost.market.peat_dam_hand",
            DamType::MachinePeat => "cost.market.peat_dam",
            DamType::Piling => "cost.market.piling_dam",
            DamType::TimberStone => "cost.market.stone_dam",
            DamType::Bale => "cost.market.bale_dam",
            DamType::Leave => return None,
        })
    }
}

/// The ground a ditch is cut in, as far as wetting goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Soil {
    /// Deep peat.
    BlanketPeat,
    /// Thin peat over clay.
    PeatyGley,
    /// Clay.
    ClayGley,
}

impl Soil {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Soil::BlanketPeat => "blanket peat",
            Soil::PeatyGley => "peaty gley",
            Soil::ClayGley => "clay gley",
        }
    }

    /// How far wetting reaches, metres.
    ///
    /// # Errors
    /// A figure the tables lack.
    pub fn half_widths(self, c: &Context) -> Result<HalfWidths, Unknown> {
        Ok(match self {
            Soil::BlanketPeat => HalfWidths { up_m: c.number("water.reach.blanket_peat.up")?, down_m: c.number("water.reach.blanket_peat.down")? },
            Soil::PeatyGley => both(c.number("water.reach.peaty_gley")?),
            Soil::ClayGley => both(c.number("water.reach.clay_gley")?),
        })
    }
}

fn both(m: f64) -> HalfWidths {
    HalfWidths { up_m: m, down_m: m }
}

/// Limits of the kinds of dam and of what is kept clear of, read once.
#[derive(Clone, Copy, Debug)]
pub struct Limits {
    /// Widest and deepest ditch for a peat dam by hand, centimetres.
    pub hand_cm: [f64; 2],
    /// Widest and deepest ditch for a peat dam by excavator, centimetres.
    pub machine_cm: [f64; 2],
    /// Widest ditch for piling, metres.
    pub piling_m: f64,
    /// Widest ditch for heather bales, metres.
    pub bale_m: f64,
    /// Steepest ditch for a peat dam, degrees.
    pub peat_deg: f64,
    /// Steepest ground for machines, degrees; steeper ditches are left.
    pub machine_deg: f64,
    /// Least peat for a peat dam, centimetres.
    pub peat_cm: f64,
    /// Fall from one peat dam to the next, metres.
    pub fall_m: f64,
    /// Least, greatest and ever greatest spacing of peat dams, metres.
    pub clamp_m: [f64; 3],
    /// Spacing where there are no heights, metres.
    pub mean_m: f64,
    /// Share of the head that one piling dam backs up the next, and the widest spacing of piling, metres.
    pub piling: [f64; 2],
    /// Least and greatest spacing of timber or stone dams, metres.
    pub timber_m: [f64; 2],
}

/// Dams are set out to the centimetre.
const PEG_M: f64 = 0.01;
/// Centimetres in a metre.
const CM: f64 = 100.0;

impl Limits {
    /// From the guidance, for the plan's country.
    ///
    /// # Errors
    /// A figure the tables lack.
    pub fn read(c: &Context) -> Result<Limits, Unknown> {
        let timber = spread(c, "water.timber_dam.spacing")?;
        let most = c.number("water.dam.spacing_max")?;
        Ok(Limits {
            hand_cm: [c.number("water.peat_dam.hand.width_max")?, c.number("water.peat_dam.hand.depth_max")?],
            machine_cm: [c.number("water.peat_dam.excavator.width_max")?, c.number("water.peat_dam.excavator.depth_max")?],
            piling_m: c.number("water.piling.width_max")?,
            bale_m: c.number("water.bale.width")?,
            peat_deg: c.number("water.peat_dam.slope_max")?,
            machine_deg: c.number("water.machine.slope_max")?,
            peat_cm: c.number("water.ypp.peat_min")?,
            fall_m: c.number("water.dam.fall")? / CM,
            clamp_m: [c.number("water.dam.clamp_low")?, c.number("water.dam.clamp_high")?.min(most), most],
            mean_m: c.number("water.dam.spacing_mean")?,
            piling: [c.number("water.piling.head_share")?, spread(c, "water.piling.spacing")?[2].min(most)],
            timber_m: [timber[0], timber[2]],
        })
    }

    /// The kind of dam for a ditch of a width and depth on a slope, with peat as deep as probed.
    pub fn dam_type(&self, width_cm: f64, depth_cm: f64, slope_deg: f64, peat_cm: Option<f64>) -> DamType {
        let fits = |limit: [f64; 2]| width_cm <= limit[0] && depth_cm <= limit[1];
        if slope_deg > self.machine_deg || width_cm > CM * self.piling_m {
            return DamType::Leave;
        }
        if slope_deg > self.peat_deg {
            return DamType::TimberStone;
        }
        // Cut through to the mineral, or too thin a peat to dig a dam from.
        if peat_cm.is_some_and(|p| p < depth_cm || p < self.peat_cm) {
            return if width_cm <= CM * self.bale_m { DamType::Bale } else { DamType::TimberStone };
        }
        match () {
            () if fits(self.hand_cm) => DamType::HandPeat,
            () if fits(self.machine_cm) => DamType::MachinePeat,
            () => DamType::Piling,
        }
    }

    /// How dams of a kind are spaced in a ditch of a depth.
    pub fn spacing(&self, kind: DamType, depth_cm: f64) -> Spacing {
        let [least_m, greatest_m, _] = self.clamp_m;
        match kind {
            DamType::Piling => {
                Spacing { fall_m: self.piling[0] * depth_cm / CM, least_m: least_m.min(self.piling[1]), greatest_m: self.piling[1], peg_m: PEG_M }
            }
            DamType::TimberStone => Spacing { fall_m: self.fall_m, least_m: self.timber_m[0], greatest_m: self.timber_m[1], peg_m: PEG_M },
            _ => Spacing { fall_m: self.fall_m, least_m, greatest_m, peg_m: PEG_M },
        }
    }
}

/// A dam.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dam {
    /// Where.
    pub at: Coord<f64>,
    /// Distance from the top of its run, metres.
    pub along_m: f64,
    /// Height of the ground, metres; NaN without a height model.
    pub level_m: f64,
    /// What it is built of.
    pub kind: DamType,
}

/// A run of ditch that is dammed, drawn downstream.
#[derive(Clone, Debug)]
pub struct DammedRun {
    /// The line.
    pub line: LineString<f64>,
    /// Length dammed, metres: from the first dam to the end, steep stretches left out.
    pub length_m: f64,
    /// Dams from the top down.
    pub dams: Vec<Dam>,
}

/// A stretch that stays open, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct Open {
    /// Why.
    pub why: String,
    /// Metres.
    pub length_m: f64,
}

/// The dams of one ditch.
#[derive(Clone, Debug)]
pub struct Plan {
    /// Top width and depth, centimetres.
    pub size_cm: [f64; 2],
    /// Whether width or depth had to be taken from the usual grip.
    pub size_assumed: bool,
    /// Peat by the nearest probe, centimetres.
    pub peat_cm: Option<f64>,
    /// Ground it is cut in.
    pub soil: Soil,
    /// Runs with dams.
    pub runs: Vec<DammedRun>,
    /// Stretches that stay open.
    pub open: Vec<Open>,
    /// Ground wetted.
    pub wetted: MultiPolygon<f64>,
    /// Dams whose water comes to something it must not.
    pub spills: Vec<Spill>,
    /// Dams whose pool does not reach the foot of the dam above.
    pub short_pools: usize,
    /// Steepest stretch that is dammed, degrees.
    pub steepest_deg: f64,
    /// Whether heights were known.
    pub by_heights: bool,
}

impl Plan {
    /// Every dam.
    pub fn dams(&self) -> impl Iterator<Item = &Dam> {
        self.runs.iter().flat_map(|r| r.dams.iter())
    }

    /// Dams of a kind.
    pub fn count(&self, kind: DamType) -> usize {
        self.dams().filter(|d| d.kind == kind).count()
    }

    /// Metres of ditch dammed.
    pub fn length_m(&self) -> f64 {
        self.runs.iter().map(|r| r.length_m).sum()
    }

    /// The lines of the runs.
    pub fn lines(&self) -> MultiLineString<f64> {
        MultiLineString(self.runs.iter().map(|r| r.line.clone()).collect())
    }

    /// Hectares wetted.
    pub fn wetted_ha(&self) -> f64 {
        places::hectares(&self.wetted)
    }
}

/// Peat for one peat dam, cubic metres: the full section of the ditch and so much above its top, at least so many ditch
/// widths along it. The section is taken as a box, so sloping sides need a little less.
///
/// # Errors
/// A figure the tables lack.
pub fn peat_m3(c: &Context, width_cm: f64, depth_cm: f64) -> Result<f64, Unknown> {
    let (width_m, height_m) = (width_cm / CM, (depth_cm + c.number("water.dam.above_top")?) / CM);
    Ok(width_m * height_m * c.number("water.dam.length_widths")? * width_m)
}

/// Why a ditch as a whole may not be blocked.
pub fn barred(ditch: &Ditch) -> Option<String> {
    if ditch.blocked {
        return Some("it is blocked already".into());
    }
    ditch.keep.then(|| "it is marked as a drain that must keep running".into())
}

/// Plan the dams of a ditch, or of the part of it near a drawn line.
///
/// `spacing_m` overrides the spacing by fall. A ditch that may not be blocked gets no dams.
///
/// # Errors
/// A figure the tables lack.
pub fn plan(c: &Context, ditch: &Ditch, only: Option<&MultiLineString<f64>>, spacing_m: Option<f64>) -> Result<Plan, Unknown> {
    let limits = Limits::read(c)?;
    let usual = [CM * c.number("water.grip.width")?, CM * c.number("water.grip.depth")?];
    let given = [ditch.width_cm.map(f64::from).filter(|v| *v > 0.0), ditch.depth_cm.map(f64::from).filter(|v| *v > 0.0)];
    let size_cm = [given[0].unwrap_or(usual[0]), given[1].unwrap_or(usual[1])];
    let (mut open, mut clear) = (Vec::new(), ditch.shape.clone());
    if let Some(why) = barred(ditch) {
        open.push(Open { why, length_m: places::metres(&clear) });
        clear.0.clear();
    }
    if let Some(only) = only.filter(|l| !l.0.is_empty()) {
        let near = buffer::along_lines(only, c.number("fence.snap")?, buffer::Style::default());
        clear = places::line_inside(&clear, &near);
    }
    keep_clear(c, &mut clear, &mut open)?;
    let least_m = c.number("water.stretch.least")?;
    let heights = c.holding.heights.as_ref();
    let step_m = heights.map_or(PIECE_STEP_M, |h| h.frame.dx_m.min(h.frame.dy_m) / 2.0);
    let rise_max_m = c.number("water.profile.rise_max")?;
    let peat_cm = peat_at(c, &ditch.shape)?;
    let mut made = Plan {
        size_cm,
        size_assumed: given.contains(&None),
        peat_cm,
        soil: soil_at(c, &ditch.shape, peat_cm)?,
        runs: Vec::new(),
        open,
        wetted: MultiPolygon(vec![]),
        spills: Vec::new(),
        short_pools: 0,
        steepest_deg: 0.0,
        by_heights: false,
    };
    for line in &clear.0 {
        for run in profile::runs(line, heights, step_m, rise_max_m) {
            let long = length(&run.line);
            if long < least_m {
                made.open.push(Open { why: format!("too short a stretch to be worth it (under {least_m:.0} m)"), length_m: long });
            } else {
                set_out(&run, &limits, spacing_m, &mut made);
            }
        }
    }
    let lines: Vec<LineString<f64>> = made.runs.iter().map(|r| r.line.clone()).collect();
    let wetted = wetted::along(&lines, made.soil.half_widths(c)?, heights);
    made.wetted = match &c.holding.boundary {
        Some(b) if !wetted.0.is_empty() => ground::quick::intersection(&wetted, b),
        _ => wetted,
    };
    let at: Vec<Coord<f64>> = made.dams().map(|d| d.at).collect();
    made.spills = flow::spills(c, &at, c.number("water.check.flow")?);
    Ok(made)
}

/// How far apart a ditch is looked at where there is no height model, metres.
const PIECE_STEP_M: f64 = 5.0;

/// A stretch of a run with one kind of dam.
struct Stretch {
    from_m: f64,
    to_m: f64,
    kind: DamType,
}

/// Set the dams of one run.
fn set_out(run: &Run, limits: &Limits, spacing_m: Option<f64>, made: &mut Plan) {
    let long = length(&run.line);
    let [width_cm, depth_cm] = made.size_cm;
    let stretches = stretches(run, long, limits, made);
    let spacing = |kind: DamType| match (spacing_m, &run.profile) {
        (Some(apart), _) => Spacing::even(apart, PEG_M),
        (None, None) => Spacing::even(limits.mean_m, PEG_M),
        (None, Some(_)) => limits.spacing(kind, depth_cm),
    };
    // Without heights the run is taken as level: nothing is left out for its slope.
    let level = profile::Profile::fitted(&[0.0, long], &[0.0, 0.0]);
    let Some(profile) = run.profile.as_ref().or(level.as_ref()) else { return };
    made.by_heights |= run.profile.is_some();
    let mut group: Vec<Stretch> = Vec::new();
    for stretch in stretches.into_iter().chain([Stretch { from_m: long, to_m: long, kind: DamType::Leave }]) {
        if stretch.kind != DamType::Leave {
            group.push(stretch);
            continue;
        }
        if stretch.to_m > stretch.from_m {
            let why = if width_cm > CM * limits.piling_m { "too wide for any dam" } else { "too steep to dam" };
            made.open.push(Open { why: why.into(), length_m: stretch.to_m - stretch.from_m });
        }
        let group = std::mem::take(&mut group);
        let (Some(first), Some(last)) = (group.first(), group.last()) else { continue };
        let (top_m, end_m) = (first.from_m, last.to_m);
        let mut dams = Vec::new();
        let mut at = top_m;
        while at <= end_m {
            let here = group.iter().rfind(|s| s.from_m <= at).unwrap_or(first);
            dams.push(Dam {
                at: point_at(&run.line, at),
                along_m: at - top_m,
                level_m: if run.profile.is_some() { profile.at(at) } else { f64::NAN },
                kind: here.kind,
            });
            let mut next = spacing(here.kind).next(profile, at);
            // Into ground with another kind of dam: its first dam stands where it begins, or as soon as it may.
            if here.to_m < next
                && let Some(below) = group.iter().find(|s| s.from_m >= here.to_m)
            {
                next = next.min(below.from_m.max(at + spacing(below.kind).least_m));
            }
            if next <= at {
                break;
            }
            at = next;
        }
        if run.profile.is_some() {
            let foot = |d: &Dam| d.level_m - depth_cm / CM;
            made.short_pools += dams.windows(2).filter(|w| w[1].level_m < foot(&w[0])).count();
            made.steepest_deg = group.iter().map(|s| profile.fall(s.from_m, s.to_m).atan().to_degrees()).fold(made.steepest_deg, f64::max);
        }
        made.runs.push(DammedRun { line: stretch_of(&run.line, top_m, end_m), length_m: end_m - top_m, dams });
    }
}

fn stretch_of(line: &LineString<f64>, from_m: f64, to_m: f64) -> LineString<f64> {
    if from_m <= 0.0 && to_m >= length(line) { line.clone() } else { stretch(line, from_m, to_m) }
}

/// A run cut where its slope asks for another kind of dam. The slope is that over the greatest spacing round a place.
fn stretches(run: &Run, long: f64, limits: &Limits, made: &Plan) -> Vec<Stretch> {
    let [width_cm, depth_cm] = made.size_cm;
    // Clay has no peat to dig a dam from, probed or not.
    let peat_cm = made.peat_cm.or((made.soil == Soil::ClayGley).then_some(0.0));
    let kind_at = |slope_deg: f64| limits.dam_type(width_cm, depth_cm, slope_deg, peat_cm);
    let Some(profile) = &run.profile else {
        return vec![Stretch { from_m: 0.0, to_m: long, kind: kind_at(0.0) }];
    };
    let over_m = limits.clamp_m[1];
    let pieces = (2.0 * long / over_m).ceil().max(1.0) as usize;
    let mut out: Vec<Stretch> = Vec::new();
    for i in 0..pieces {
        let (from_m, to_m) = (long * i as f64 / pieces as f64, long * (i + 1) as f64 / pieces as f64);
        let middle = (from_m + to_m) / 2.0;
        let slope = profile.fall((middle - over_m / 2.0).max(0.0), (middle + over_m / 2.0).min(long));
        let kind = kind_at(slope.atan().to_degrees());
        match out.last_mut() {
            Some(last) if last.kind == kind => last.to_m = to_m,
            _ => out.push(Stretch { from_m, to_m, kind }),
        }
    }
    out
}

/// Take out what must be kept clear of, saying why.
fn keep_clear(c: &Context, clear: &mut MultiLineString<f64>, open: &mut Vec<Open>) -> Result<(), Unknown> {
    let style = buffer::Style::default();
    let h = c.holding;
    let Some(round) = clear.bounding_rect() else { return Ok(()) };
    // Only what lies near is grown and cut with.
    let near = |shape: Option<Rect<f64>>, by_m: f64| {
        shape.is_some_and(|s| Rect::new(s.min() - Coord { x: by_m, y: by_m }, s.max() + Coord { x: by_m, y: by_m }).intersects(&round))
    };
    let mut take = |zone: MultiPolygon<f64>, why: String| {
        let inside = places::line_inside(clear, &zone);
        let length_m = places::metres(&inside);
        if length_m > 0.0 {
            open.push(Open { why, length_m });
            clear.0 = ground::quick::lines_outside(&zone, clear).0;
        }
    };
    let building_m = c.number("water.keep.building")?;
    for b in h.buildings.iter().filter(|b| near(b.shape.bounding_rect(), building_m)) {
        let name = if b.name.is_empty() { &b.id } else { &b.name };
        take(buffer::around_area(&b.shape, building_m, style), format!("within {building_m:.0} m of building {name}"));
    }
    let track_m = c.number("water.keep.track")?;
    for t in h.tracks.iter().filter(|t| near(t.shape.bounding_rect(), track_m)) {
        let name = if t.name.is_empty() { &t.id } else { &t.name };
        take(buffer::along_lines(&t.shape, track_m, style), format!("within {track_m:.0} m of track {name}"));
    }
    for a in h.areas.iter().filter(|a| matches!(a.kind, AreaKind::Historic | AreaKind::WaterSupply | AreaKind::NoGo)) {
        let name = if a.name.is_empty() { &a.id } else { &a.name };
        let what = match a.kind {
            AreaKind::Historic => "on historic ground",
            AreaKind::WaterSupply => "on ground that feeds a water supply",
            _ => "on ground the owner keeps out",
        };
        take(a.shape.clone(), format!("{what}, {name}"));
    }
    if let Some(b) = &h.boundary {
        let edge_m = c.number("water.keep.boundary")?;
        let inner = buffer::around_area(b, -edge_m, style);
        let before_m = places::metres(clear);
        let kept = places::line_inside(clear, &inner);
        let lost_m = before_m - places::metres(&kept);
        if lost_m >= 1.0 {
            open.push(Open { why: format!("within {edge_m:.0} m of the boundary, or beyond it"), length_m: lost_m });
            *clear = kept;
        }
    }
    Ok(())
}

/// Peat by the nearest probe within reach, centimetres.
fn peat_at(c: &Context, shape: &MultiLineString<f64>) -> Result<Option<f64>, Unknown> {
    let within_m = c.number("water.probe.near")?;
    let depth = c
        .holding
        .probes
        .iter()
        .map(|p| (geo::Distance::distance(&geo::Euclidean, &p.at, shape), f64::from(p.depth_cm)))
        .filter(|(d, _)| *d <= within_m)
        .min_by(|a, b| a.0.total_cmp(&b.0));
    Ok(depth.map(|(_, cm)| cm))
}

/// The soil: by the probe, else by the ground most of the ditch runs through.
fn soil_at(c: &Context, shape: &MultiLineString<f64>, peat_cm: Option<f64>) -> Result<Soil, Unknown> {
    if let Some(cm) = peat_cm {
        let (blanket, peaty) = (c.number("water.ypp.peat_min")?, c.number("water.soil.peaty_min")?);
        return Ok(if cm >= blanket { Soil::BlanketPeat } else if cm >= peaty { Soil::PeatyGley } else { Soil::ClayGley });
    }
    let most = c
        .stands()
        .iter()
        .map(|s| (places::metres(&places::line_inside(shape, c.shape(s))), s))
        .filter(|(m, _)| *m > 0.0)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, s)| s);
    Ok(match most {
        Some(s) if s.class == Class::Moor && !s.flush => Soil::BlanketPeat,
        Some(s) if s.flush || matches!(s.class, Class::Moor | Class::RoughGrass | Class::Bracken | Class::NativeWood) => Soil::PeatyGley,
        Some(s) if matches!(s.class, Class::YoungConifer | Class::ClosedConifer) => Soil::PeatyGley,
        _ => Soil::ClayGley,
    })
}
