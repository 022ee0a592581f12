//! Cutting woods along the area of a measure.

use crate::rules::places::{area_inside, hectares};
use geo::{BoundingRect, Intersects};
use geo_types::MultiPolygon;
use holding::{Holding, Patch, Wood};

/// Pieces smaller than this are slivers of the cut, hectares.
const SLIVER_HA: f64 = 1e-4;

/// The part of an area inside another; empty where they only touch.
pub fn shared(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    match (a.bounding_rect(), b.bounding_rect()) {
        (Some(x), Some(y)) if x.intersects(&y) => MultiPolygon(b.0.iter().flat_map(|part| area_inside(a, part).0).collect()),
        _ => MultiPolygon(vec![]),
    }
}

/// The woods an area lies on, each with the part inside the area.
pub fn on_woods<'h>(holding: &'h Holding, area: &MultiPolygon<f64>) -> Vec<(&'h Wood, MultiPolygon<f64>)> {
    holding.woods.iter().map(|w| (w, shared(&w.shape, area))).filter(|(_, part)| hectares(part) > SLIVER_HA).collect()
}

/// Take an area out of every wood and give back the parts taken out, each as a wood of its own with the old one's id; a wood
/// of which nothing is left goes.
pub fn take_out(holding: &mut Holding, area: &MultiPolygon<f64>) -> Vec<Wood> {
    let mut taken = Vec::new();
    holding.woods.retain_mut(|wood| {
        let part = shared(&wood.shape, area);
        if hectares(&part) <= SLIVER_HA {
            return true;
        }
        let rest = ground::quick::difference(&wood.shape, area);
        taken.push(Wood { shape: part, ..wood.clone() });
        if hectares(&rest) <= SLIVER_HA {
            return false;
        }
        wood.shape = rest;
        true
    });
    taken
}

/// The id of a piece: the measure's, with the old wood's behind it where there are several.
pub fn piece_id(measure: &str, wood: &str, several: bool) -> String {
    if several { format!("{measure}-{wood}") } else { measure.to_string() }
}

/// Open ground where a wood stood, with what grew beneath it.
pub fn opened(id: String, wood: &Wood) -> Patch {
    let mut patch = Patch::new(id, wood.shape.clone());
    patch.name = if wood.name.is_empty() { "felled".to_string() } else { format!("{}, felled", wood.name) };
    patch.phase1 = wood.ground_phase1.clone();
    patch.covers = wood.ground_covers;
    patch
}
