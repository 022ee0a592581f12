//! The ground as it is drawn, now and in years ahead.

use super::courses::StoodAll;
use super::looks;
use super::shapes::{Marches, geojson};
use crate::answers::Start;
use crate::api::ground::{Drawn, Ground, Layer, Stood};
use geo_types::Geometry;
use guidance::{Guidance, Unknown};
use habitat::ahead::{Forecast, Programme};
use habitat::{Feature, Stand, State};
use holding::{Holding, Marking, Word};
use std::collections::BTreeMap;

/// Every layer of the plan, lowest first.
///
/// # Errors
/// A guidance figure that is missing.
pub fn layers(holding: &Holding, guidance: &Guidance, version: u64) -> Result<Ground, Unknown> {
    let state = State::surveyed(holding, guidance)?;
    let on = &Marches::of(holding, guidance)?;
    let stand = |s: &Stand| match s.feature {
        Feature::Patch(i) => {
            let p = &holding.patches[i];
            drawn(on, &p.id, &p.name, looks::of(s), looks::words(s), p.shape.clone())
        }
        Feature::Wood(i) => {
            let w = &holding.woods[i];
            drawn(on, &w.id, &w.name, looks::of(s), looks::words(s), w.shape.clone())
        }
    };
    let (patches, woods): (Vec<&Stand>, Vec<&Stand>) = state.stands.iter().partition(|s| matches!(s.feature, Feature::Patch(_)));
    let layers = vec![
        layer("patches", patches.into_iter().map(stand)),
        layer("woods", woods.into_iter().map(stand)),
        layer("areas", holding.areas.iter().map(|a| drawn(on, &a.id, &a.name, a.kind.word(), said(a.kind.word()), a.shape.clone()))),
        layer("parcels", holding.parcels.iter().map(|p| drawn(on, &p.id, &p.name, p.kind.word(), said(p.kind.word()), p.shape.clone()))),
        layer("watercourses", holding.watercourses.iter().map(|w| {
            drawn(on, &w.id, &w.name, "water", w.width_m.map_or("running water".into(), |m| format!("running water, {m:.1} m wide")), w.shape.clone())
        })),
        layer("ditches", holding.ditches.iter().map(|d| {
            let look = if d.blocked { "blocked" } else { "open" };
            drawn(on, &d.id, "", look, ditch(d), d.shape.clone())
        })),
        layer("tracks", holding.tracks.iter().map(|t| drawn(on, &t.id, &t.name, t.kind.word(), said(t.kind.word()), t.shape.clone()))),
        layer("fences", holding.fences.iter().map(|f| drawn(on, &f.id, &f.name, f.kind.word(), fence(f), f.shape.clone()))),
        layer("services", holding.services.iter().map(|s| {
            let what = if s.kind.is_empty() { "service" } else { &s.kind };
            drawn(on, &s.id, what, "service", what.to_string(), s.shape.clone())
        })),
        layer("buildings", holding.buildings.iter().map(|b| {
            let what = if b.dwelling { "dwelling" } else { "building" };
            drawn(on, &b.id, &b.name, what, said(what), b.shape.clone())
        })),
        layer("boundary", holding.boundary.iter().map(|b| drawn(on, "boundary", "", "boundary", "edge of the holding".into(), b.clone()))),
        layer("probes", holding.probes.iter().map(|p| drawn(on, &p.id, "", "probe", format!("peat {:.0} cm", p.depth_cm), p.at))),
        layer("sticks", holding.sticks.iter().map(|s| drawn(on, &s.id, "", "stick", format!("sward {:.0} cm", s.height_cm), s.at))),
        layer("leks", holding.leks.iter().map(|l| drawn(on, &l.id, &l.name, "lek", "display ground".into(), l.at))),
    ];
    Ok(Ground { version, layers })
}

fn layer(name: &str, features: impl Iterator<Item = Drawn>) -> Layer {
    Layer { layer: name.to_string(), features: features.collect() }
}

/// A feature; one without a name is called by what it is and its id.
fn drawn(on: &Marches, id: &str, name: &str, look: &str, words: String, shape: impl Into<Geometry<f64>>) -> Drawn {
    let name = if name.trim().is_empty() { format!("{} {id}", said(look)) } else { name.to_string() };
    let shape = shape.into();
    Drawn { id: id.to_string(), name, look: look.to_string(), words, march: on.side(&shape), geometry: geojson(shape) }
}

/// A stored word as people read it.
fn said(word: &str) -> String {
    word.replace('_', " ")
}

fn fence(f: &holding::Fence) -> String {
    let tall = f.height_m.map(|m| format!(", {m:.1} m")).unwrap_or_default();
    let marked = match f.marking {
        Marking::None => ", not marked".to_string(),
        Marking::Unknown => ", marking not recorded".to_string(),
        marking => format!(", marked with {}", said(marking.word())),
    };
    format!("{} fence{tall}{marked}", said(f.kind.word()))
}

fn ditch(d: &holding::Ditch) -> String {
    let cm = |what: &str, v: Option<f32>| v.map(|v| format!(", {v:.0} cm {what}")).unwrap_or_default();
    let keep = if d.keep { ", must keep running" } else { "" };
    format!("{}{}{}{keep}", if d.blocked { "blocked ditch" } else { "open ditch" }, cm("wide", d.width_cm), cm("deep", d.depth_cm))
}

/// What stands in a year of a forecast. Pieces that one work made are one; a surveyed stand keeps its id, what a work made of a piece
/// of it has the work's.
pub fn stood(start: &Start, with: &Holding, programme: &Programme, told: &Forecast, index: usize) -> StoodAll {
    let surveyed = start.base.state.stands.len();
    let variant = &told.variant;
    let year = told.years[index].year;
    let mut all: [BTreeMap<(bool, String), Vec<&Stand>>; 2] = Default::default();
    for (k, moving) in told.stands[index].iter().enumerate() {
        let stand = &moving.stand;
        let id = match variant.works_on[k].last() {
            // Not begun: still part of the whole.
            Some(w) if programme.works[*w].year > year => continue,
            Some(w) => match stand.feature {
                Feature::Wood(i) if start.holding.woods.get(i).is_none() => with.woods[i].id.clone(),
                _ => programme.works[*w].id.clone(),
            },
            None => stand.id.clone(),
        };
        let list = usize::from(!matches!(stand.feature, Feature::Wood(_)));
        all[list].entry((k >= surveyed, id)).or_default().push(stand);
    }
    let [woods, patches] = all.map(|by_id| by_id.into_iter().map(|((_, id), pieces)| whole(id, &pieces)).collect());
    StoodAll { woods, patches }
}

/// Several pieces as one: called by the largest, as tall and as covered as the mean over their area.
fn whole(id: String, pieces: &[&Stand]) -> Stood {
    let area: f64 = pieces.iter().map(|s| s.area_ha).sum::<f64>().max(1e-9);
    let mean = |of: fn(&Stand) -> f32| {
        if let [one] = pieces { f64::from(of(one)) } else { pieces.iter().map(|s| s.area_ha * f64::from(of(s))).sum::<f64>() / area }
    };
    let Some(most) = pieces.iter().copied().reduce(|a, b| if b.area_ha > a.area_ha { b } else { a }) else {
        return Stood { id, look: "other".into(), height_m: None, crowns: None, words: String::new() };
    };
    let height_m = if most.wooded { mean(|s| s.tree_height_m) } else { mean(|s| s.height_cm) / 100.0 };
    Stood { id, look: looks::of(most).into(), height_m: Some(round(height_m, 100.0)), crowns: Some(round(mean(|s| s.canopy), 1000.0)), words: looks::words(most) }
}

fn round(value: f64, per: f64) -> f64 {
    (value * per).round() / per
}
