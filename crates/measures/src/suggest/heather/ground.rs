//! Heather that may be worked: tall enough, and off the ground the rules keep free of machines and fire.

use super::Work;
use crate::rules::Context;
use crate::suggest::free::{Taking, merged, probed};
use crate::suggest::wood::ground::Ground;
use geo_types::MultiPolygon;
use guidance::{Country, Unknown};
use habitat::layout::NO_STAND;
use habitat::state::{Origin, Stand};
use habitat::Feature;
use holding::{AreaKind, Plant, TrackKind};

/// Width of the fringe along barred ground in which patches waver, metres.
const FRINGE_M: f64 = 15.0;

/// Whether every stand is heather ground: surveyed patches with the cover that counts as heather.
///
/// # Errors
/// A figure the tables lack.
pub fn heather(c: &Context) -> Result<Vec<bool>, Unknown> {
    let cover = c.number("lek.heather_cover")? as f32 / 100.0;
    let is = |s: &Stand| {
        let surveyed = s.height_from <= Origin::Class && s.covers_from <= Origin::Class;
        matches!(s.feature, Feature::Patch(_)) && surveyed && s.covers[Plant::Heather as usize] >= cover
    };
    Ok(c.stands().iter().map(is).collect())
}

/// Deepest peat that may be burnt, centimetres: the country's figure, the strictest where the plan names no country or none was read.
fn peat_limit_cm(c: &Context) -> f64 {
    let held = [("law.burning.peat_depth", Country::England), ("law.muirburn.peat_depth", Country::Scotland)];
    let own = |country: Country| held.iter().any(|h| h.1 == country);
    let at = c.holding.about.country;
    let depths = held.iter().filter(|h| !own(at) || h.1 == at).filter_map(|(key, country)| c.guidance.number(key, *country).ok());
    depths.fold(f64::INFINITY, f64::min)
}

/// Find the heather that may be worked. `woods`: ground to be planted, kept clear of like woods that stand.
///
/// # Errors
/// A figure the tables lack.
pub fn eligible(c: &Context, work: Work, woods: &[MultiPolygon<f64>]) -> Result<Ground, Unknown> {
    let h = c.holding;
    let layout = &c.assessed.layout;
    let frame = &layout.frame;
    let heather = heather(c)?;
    let burn = work == Work::Burn;
    let tall_cm = c.number("heather.burn_height")? as f32;
    let stand = |i: usize| {
        let s = layout.stand_of.cells[i];
        (s != NO_STAND).then(|| &c.assessed.state.stands[s as usize])
    };
    let mut t = Taking::of(frame);
    t.land(h, frame.dx_m);
    t.off("not heather", |i| layout.stand_of.cells[i] == NO_STAND || !heather[layout.stand_of.cells[i] as usize]);
    t.barred.clear();
    t.off("too short to work yet", |i| stand(i).is_some_and(|s| s.height_cm < tall_cm));
    t.near("flush or its edge", (0..frame.len()).map(|i| stand(i).is_some_and(|s| s.flush)).collect(), 0.0);
    let bog = |i: usize| match stand(i).map(|s| s.feature) {
        Some(Feature::Patch(p)) => h.patches[p].phase1.as_deref().is_some_and(|code| code.starts_with("E1") || code.starts_with("E3")),
        _ => false,
    };
    t.off("bog or fen", bog);
    let (limit_cm, reach_m) = (peat_limit_cm(c), c.number("rule.probe.reach")?);
    if burn {
        let depth = probed(c, reach_m);
        let deep = depth.iter().map(|d| d.is_some_and(|cm| cm > limit_cm)).collect();
        t.near("peat too deep to burn, by the probes", deep, 0.0);
    }
    if let Some(slope) = &layout.slope {
        let (dry_deg, wet_deg) = (c.number("heather.burning.slope_dry")?, c.number("heather.burning.slope_wet")?);
        let (wet_from, machine_deg) = (c.number("rule.planting.wet_from")? as f32, c.number(work.slope_key())?);
        let limit = |i: usize| match (burn, stand(i).is_some_and(|s| s.wetness >= wet_from)) {
            (false, _) => machine_deg,
            (true, true) => wet_deg,
            (true, false) => dry_deg,
        };
        t.off("too steep", |i| f64::from(slope.cells[i]) > limit(i));
    }
    let bank_m = h.watercourses.iter().filter_map(|w| w.width_m).map(f64::from).filter(|w| w.is_finite()).fold(0.0, f64::max) / 2.0;
    let margin_m = c.number("heather.burning.watercourse_margin_large")? + bank_m + frame.dx_m / 2.0;
    t.near("beside water", t.lines(h.watercourses.iter().map(|w| &w.shape)), margin_m);
    let wood_m = if burn { c.number("rule.burn.wood")? } else { 0.0 };
    let wooded: Vec<bool> = t.polygons(h.woods.iter().map(|w| &w.shape).chain(woods));
    t.near("beside a wood", wooded, wood_m);
    let monument_m = c.number("planting.monument")?;
    t.areas(
        h,
        &[
            (AreaKind::NoGo, "no-go by the owner's word", 0.0),
            (AreaKind::Sssi, "protected site (consent would be needed)", 0.0),
            (AreaKind::European, "European site (consent would be needed)", 0.0),
            (AreaKind::Historic, "historic feature and its margin", monument_m),
            (AreaKind::WaterSupply, "water supply", 0.0),
        ],
    );
    t.near("beside a road", t.lines(h.tracks.iter().filter(|w| w.kind == TrackKind::Road).map(|w| &w.shape)), frame.dx_m);
    Ok(Ground::of(*frame, t.free, merged(t.barred), FRINGE_M))
}
