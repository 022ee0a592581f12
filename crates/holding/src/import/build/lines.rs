//! Lines: fences, ditches, watercourses, tracks, services.

use super::Values;
use crate::model::{Ditch, Fence, Marking, Service, Track, Watercourse};
use geo_types::MultiLineString;

/// Heights and widths beyond these are slips of the unit.
const FENCE_MAX_M: f64 = 6.0;
const DITCH_MAX_CM: f64 = 2000.0;
const CHANNEL_MAX_M: f64 = 500.0;

pub(super) fn fence(id: String, shape: MultiLineString<f64>, v: &mut Values<'_, '_>) -> Option<Fence> {
    let kind = v.word("kind");
    if kind.is_none() {
        v.note("no kind of fence is given; `stock` was taken");
    }
    Some(Fence {
        id,
        name: v.text("name"),
        shape,
        kind: kind.unwrap_or_default(),
        height_m: v.length("height_m", FENCE_MAX_M),
        marking: marking(v),
        extra: v.extra(),
    })
}

/// Markings by word; a plain no is unmarked, and what is not recorded is unknown, never unmarked.
fn marking(v: &mut Values<'_, '_>) -> Marking {
    v.word("marking").unwrap_or(Marking::Unknown)
}

pub(super) fn ditch(id: String, shape: MultiLineString<f64>, v: &mut Values<'_, '_>) -> Option<Ditch> {
    Some(Ditch {
        id,
        shape,
        width_cm: v.length("width_cm", DITCH_MAX_CM),
        depth_cm: v.length("depth_cm", DITCH_MAX_CM),
        blocked: v.flag("blocked"),
        keep: v.flag("keep"),
        extra: v.extra(),
    })
}

pub(super) fn watercourse(id: String, shape: MultiLineString<f64>, v: &mut Values<'_, '_>) -> Option<Watercourse> {
    Some(Watercourse { id, name: v.text("name"), shape, width_m: v.length("width_m", CHANNEL_MAX_M), extra: v.extra() })
}

pub(super) fn track(id: String, shape: MultiLineString<f64>, v: &mut Values<'_, '_>) -> Option<Track> {
    let kind = v.word("kind");
    if kind.is_none() {
        v.note("no kind of way is given; `track` was taken");
    }
    Some(Track { id, name: v.text("name"), kind: kind.unwrap_or_default(), shape, extra: v.extra() })
}

pub(super) fn service(id: String, shape: MultiLineString<f64>, v: &mut Values<'_, '_>) -> Option<Service> {
    Some(Service { id, kind: v.text("kind"), shape, extra: v.extra() })
}
