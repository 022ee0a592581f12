//! Where new woods may stand: the ground left when everything that bars them is taken off, and what barred how much.
//!
//! The limits are those of the rules on planting, widened by a cell so that an outline drawn round cells keeps them too.

use crate::rules::Context;
use crate::suggest::free::{Taking, merged, probed};
use ground::{Frame, Grid, distance};
use guidance::{Country, Unknown};
use habitat::layout::NO_STAND;
use habitat::{Class, Feature, Season};
use holding::{AreaKind, ParcelKind, TrackKind};

/// Width of the fringe along barred ground in which outlines waver, metres: a wood neither runs along a line nor shows where one lies.
pub const FRINGE_M: f64 = 70.0;

/// The ground that is left.
pub struct Ground {
    /// Where the cells lie: the assessment's.
    pub frame: Frame,
    /// Cells that may be planted.
    pub free: Vec<bool>,
    /// Distance of every cell to barred ground, metres; no farther than the fringe is told.
    pub to_barred: Vec<f32>,
    /// Width of the fringe along barred ground in which outlines waver, metres.
    pub fringe_m: f64,
    /// What took ground off, in words, with the hectares it took beyond those before it.
    pub barred: Vec<(String, f64)>,
}

/// The strictest peat limit of the plan's country; of all countries where the plan names none, centimetres.
fn peat_limit_cm(c: &Context) -> Result<f64, Unknown> {
    let of = |country| c.guidance.number("planting.deep_peat", country);
    match c.holding.about.country {
        Country::GB => Ok([Country::England, Country::Scotland, Country::Wales].into_iter().filter_map(|k| of(k).ok()).fold(f64::INFINITY, f64::min)),
        country => of(country),
    }
}

/// Find the ground woods may stand on. `fields` lets them stand on in-bye land too.
///
/// # Errors
/// A figure the tables lack.
pub fn eligible(c: &Context, fields: bool) -> Result<Ground, Unknown> {
    let h = c.holding;
    let layout = &c.assessed.layout;
    let frame = &layout.frame;
    let stand = |i: usize| {
        let s = layout.stand_of.cells[i];
        (s != NO_STAND).then(|| &c.assessed.state.stands[s as usize])
    };
    let mut t = Taking::of(frame);
    t.land(h, c.number("planting.offset.neighbour")?);
    t.off("unmapped ground", |i| stand(i).is_none());
    let none_m = c.number("planting.offset.lek_none")?.max(c.number("practice.tree_distance")?);
    let closed_m = c.number("disturbance.new_tree_distance")?.min(c.number("planting.offset.lek_closed_wood")?);
    let view_m = c.number("lek.view_m")?;
    let off_m = none_m.max(closed_m).max(view_m) + frame.dx_m;
    t.off("within sight and stand-off of a lek", |i| {
        let (x, y) = frame.centre(i % frame.cols, i / frame.cols);
        h.leks.iter().any(|l| (l.at.x() - x).hypot(l.at.y() - y) <= off_m)
    });
    t.off("wood already", |i| stand(i).is_some_and(|s| s.wooded));
    t.near("flush or its edge", (0..frame.len()).map(|i| stand(i).is_some_and(|s| s.flush)).collect(), 0.0);
    let bog = |i: usize| match stand(i).map(|s| s.feature) {
        Some(Feature::Patch(p)) => h.patches[p].phase1.as_deref().is_some_and(|code| code.starts_with("E1") || code.starts_with("E3")),
        _ => false,
    };
    let (limit_cm, reach_m) = (peat_limit_cm(c)?, c.number("rule.probe.reach")?);
    let probed = probed(c, reach_m);
    t.off("deep peat by the probes", |i| probed[i].is_some_and(|cm| cm > limit_cm));
    t.off("bog or fen that no probe shows to be shallow", |i| bog(i) && probed[i].is_none());
    let brood = c.assessed.middle().values(Season::Brood);
    let good = c.number("rule.planting.brood_value")? as f32;
    t.off("good brood ground", |i| brood.get(layout.facet_of[i] as usize).is_some_and(|v| *v >= good));
    let kinds = [
        (AreaKind::NoGo, "no-go by the owner's word", 0.0),
        (AreaKind::SpeciesRich, "species-rich ground", 0.0),
        (AreaKind::Sssi, "protected site (consent would be needed)", 0.0),
        (AreaKind::European, "European site (consent would be needed)", 0.0),
        (AreaKind::Historic, "historic feature and its margin", c.number("planting.monument")?),
        (AreaKind::WaterSupply, "water supply and its margin", c.number("planting.buffer.abstraction")?),
    ];
    t.areas(h, &kinds);
    let water_m = [c.number("planting.buffer.narrow")?, c.number("planting.buffer.middle_and_lochs")?, c.number("planting.buffer.wide")?];
    for (class, within) in water_m.into_iter().enumerate() {
        let of = |w: &holding::Watercourse| match w.width_m {
            Some(w) if w < 1.0 => 0,
            Some(w) if w > 2.0 => 2,
            _ => 1,
        };
        let marked = t.lines(h.watercourses.iter().filter(|w| of(w) == class).map(|w| &w.shape));
        t.near("watercourse buffer", marked, within + frame.dx_m / 2.0);
    }
    // What carries which voltage is rarely recorded: the widest of the lower two.
    t.near("under or over a service", t.lines(h.services.iter().map(|s| &s.shape)), c.number("planting.offset.wire_33kv")?);
    let house_m = c.number("planting.offset.dwelling")?;
    t.near("near a building", t.polygons(h.buildings.iter().map(|b| &b.shape)), house_m);
    t.near("beside a road", t.lines(h.tracks.iter().filter(|w| w.kind == TrackKind::Road).map(|w| &w.shape)), c.number("planting.offset.road")?);
    t.near("on a path or track", t.lines(h.tracks.iter().filter(|w| w.kind != TrackKind::Road).map(|w| &w.shape)), c.number("planting.offset.core_path")?);
    if !fields {
        let marked = t.polygons(h.parcels.iter().filter(|p| matches!(p.kind, ParcelKind::InByePasture | ParcelKind::InByeMeadow | ParcelKind::InByeArable)).map(|p| &p.shape));
        t.off("in-bye fields", |i| marked[i]);
        t.off("crop or improved grass", |i| stand(i).is_some_and(|s| matches!(s.class, Class::Arable | Class::InByeGrass)));
    }
    Ok(Ground::of(*frame, t.free, merged(t.barred), FRINGE_M))
}

impl Ground {
    /// Cells left free, with what barred the rest and a fringe.
    pub fn of(frame: Frame, free: Vec<bool>, barred: Vec<(String, f64)>, fringe_m: f64) -> Ground {
        let shut = Grid { frame, cells: free.iter().map(|f| !f).collect() };
        let to_barred = distance::distance(&shut, Some(fringe_m)).cells.into_iter().map(|d| d.min(fringe_m as f32)).collect();
        Ground { frame, free, to_barred, fringe_m, barred }
    }
}

