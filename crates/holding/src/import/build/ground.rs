//! Areas: the boundary, parcels, patches, buildings, protected and no-go areas.

use super::super::geometry::settle;
use super::super::kind::Form;
use super::{Features, Reading, Row, Values, shape_of};
use crate::model::{Area, Building, Covers, Parcel, ParcelKind, Patch, Plant};
use geo::{Area as _, Centroid, unary_union};
use geo_types::MultiPolygon;

/// A vegetation height beyond this is a slip of the unit, centimetres.
const HEIGHT_MAX_CM: f64 = 600.0;
/// Covers of layers may overlap; a sum above this cannot be.
const SUM_MAX_PERCENT: f32 = 200.0;

/// All rows together are the boundary.
pub(super) fn boundary(rows: &[Row], reading: &mut Reading<'_>) -> Features {
    let mut parts: Vec<MultiPolygon<f64>> = Vec::new();
    let mut name = String::new();
    for row in rows {
        let shape = shape_of(row, reading, Form::Area, settle::area);
        let place = shape.as_ref().and_then(Centroid::centroid).map(|p| p.x_y());
        let said = reading.row(row, place).text("name");
        if name.is_empty() {
            name = said;
        }
        parts.extend(shape);
    }
    let whole = match parts.len() {
        1 => parts.remove(0),
        _ => unary_union(parts.iter().flat_map(|p| &p.0)),
    };
    if rows.len() > 1 {
        reading.notes.file(format!("{} outlines were joined to one boundary of {:.1} ha", rows.len(), whole.unsigned_area() / 10_000.0));
    }
    Features::Boundary(whole, name)
}

pub(super) fn parcel(id: String, shape: MultiPolygon<f64>, v: &mut Values<'_, '_>) -> Option<Parcel> {
    let kind = v.word("kind");
    if kind.is_none() {
        v.note("no kind of land is given; `hill` was taken");
    }
    Some(Parcel {
        id,
        name: v.text("name"),
        kind: kind.unwrap_or(ParcelKind::Hill),
        shape,
        stubble: v.word("stubble"),
        extra: v.extra(),
    })
}

pub(super) fn patch(id: String, shape: MultiPolygon<f64>, v: &mut Values<'_, '_>) -> Option<Patch> {
    let height_cm = v.length("height_cm", HEIGHT_MAX_CM);
    Some(Patch {
        id,
        name: v.text("name"),
        shape,
        phase1: v.phase1("phase1"),
        covers: covers("", v),
        height_cm,
        height_sd_cm: v.length("height_sd_cm", HEIGHT_MAX_CM),
        phase: v.word("phase"),
        heather_age_yr: v.number("heather_age_yr", 0.0, 200.0).map(|a| a as f32),
        flush: v.flag("flush"),
        wetness: v.number("wetness", 0.0, 1.0).map(|w| w as f32),
        surveyed: v.date("surveyed"),
        coarse: v.flag("coarse"),
        note: v.text("note"),
        extra: v.extra(),
    })
}

/// Covers by plant group; `before` stands before the group's name in the field.
pub(super) fn covers(before: &str, v: &mut Values<'_, '_>) -> Covers {
    let mut covers = Covers::default();
    let (mut sum, mut last) = (0.0, String::new());
    for plant in Plant::ALL {
        let field = format!("{before}{}", plant.key());
        if let Some(percent) = v.cover(&field) {
            covers.set(plant, percent);
            sum += percent;
            last = field;
        }
    }
    if sum > SUM_MAX_PERCENT {
        v.fault(&last, format!("covers that come to no more than {SUM_MAX_PERCENT} percent together, layers overlapping"), format!("they come to {sum:.0} percent"));
    } else if sum > 100.5 {
        v.note(format!("covers come to {sum:.0} percent together; layers were taken to overlap"));
    }
    covers
}

pub(super) fn building(id: String, shape: MultiPolygon<f64>, v: &mut Values<'_, '_>) -> Option<Building> {
    Some(Building { id, name: v.text("name"), shape, dwelling: v.flag("dwelling"), extra: v.extra() })
}

pub(super) fn area(id: String, shape: MultiPolygon<f64>, v: &mut Values<'_, '_>) -> Option<Area> {
    let kind = v.word("kind");
    if kind.is_none() {
        v.note("no kind of area is given; `no_go` was taken");
    }
    Some(Area { id, name: v.text("name"), kind: kind.unwrap_or_default(), shape, extra: v.extra() })
}
