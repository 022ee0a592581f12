//! Hill parcels with stock records within brood reach, as the grazing rules see them.

use super::{Context, places};
use geo::{BoundingRect, Contains, InteriorPoint, Intersects};
use guidance::Unknown;
use habitat::{Feature, Stand};
use holding::{Parcel, ParcelKind};

/// A hill, common or rough parcel with stock recorded.
pub struct GrazedParcel<'a> {
    /// The parcel.
    pub parcel: &'a Parcel,
    /// Its name, or its identity.
    pub name: &'a str,
    /// Index of the nearest lek.
    pub lek: usize,
    /// Hill ewes or their equal a hectare, summer and winter.
    pub ewes_per_ha: [f64; 2],
    /// Surveyed patches inside.
    pub stands: Vec<&'a Stand>,
    /// Hectares.
    pub ha: f64,
}

/// Hill, common and rough parcels with stock recorded that reach into brood ground.
///
/// # Errors
/// A missing figure.
pub fn parcels<'a>(c: &Context<'a>) -> Result<Vec<GrazedParcel<'a>>, Unknown> {
    let reach_m = c.number("reach.brood_m")?;
    let mut out = Vec::new();
    for parcel in &c.holding.parcels {
        let open = matches!(parcel.kind, ParcelKind::Hill | ParcelKind::Common | ParcelKind::Rough);
        if !open || !c.holding.stock.iter().any(|s| s.parcel == parcel.id) {
            continue;
        }
        let Some((lek, _)) = c.nearest_lek(&parcel.shape).filter(|(_, d)| *d < reach_m) else { continue };
        let Some(bounds) = parcel.shape.bounding_rect() else { continue };
        let inside = |s: &&Stand| {
            matches!(s.feature, Feature::Patch(_))
                && c.shape(s).bounding_rect().is_some_and(|b| b.intersects(&bounds))
                && c.shape(s).interior_point().is_some_and(|p| parcel.shape.contains(&p))
        };
        let stands: Vec<&Stand> = c.stands().iter().filter(inside).collect();
        let Some(first) = stands.first() else { continue };
        out.push(GrazedParcel {
            parcel,
            name: if parcel.name.is_empty() { &parcel.id } else { &parcel.name },
            lek,
            ewes_per_ha: first.ewes_per_ha.map(f64::from),
            ha: places::hectares(&parcel.shape),
            stands,
        });
    }
    Ok(out)
}
