//! Where a measure is, by name.

use holding::Measure;
use measures::kind::facts::Facts;
use measures::kind::{Entry, place};
use measures::rules::Context;
use measures::rules::places::{hectares, metres};

/// Where a measure is: the parcel it names or lies in most, the ditch or fence it names, or its own id. Care of a lek is told by the
/// lek's name alone, for the ground it lies on would tell where it is; behind a veil, measures that would give a lek away are nowhere.
pub fn place(c: &Context, measure: &Measure, entry: &Entry) -> String {
    let facts = Facts::of(c, measure, entry.facts);
    let told = |id: &str, name: &str| if name.is_empty() { id.to_string() } else { name.to_string() };
    if entry.key == "lek_care" {
        let named = place::lek(c, &facts.word("lek")).map(|lek| told(&lek.id, &lek.name));
        return named.unwrap_or_else(|| measure.id.clone());
    }
    if c.veil.is_some_and(|veil| veil.covers(&measure.id)) {
        return "place withheld".to_string();
    }
    let (fence, ditch) = (facts.word("fence"), facts.word("ditch"));
    if !fence.is_empty() {
        return c.holding.fences.iter().find(|f| f.id == fence).map_or(fence, |f| told(&f.id, &f.name));
    }
    if !ditch.is_empty() {
        return format!("ditch {ditch}");
    }
    if let Some(parcel) = place::parcel_of(c, &facts.word("parcel"), measure) {
        return told(&parcel.id, &parcel.name);
    }
    let on_line = |parcel: &&holding::Parcel| metres(&ground::quick::lines_inside(&parcel.shape, &measure.line));
    let along = c.holding.parcels.iter().filter(|p| hectares(&p.shape) > 0.0 && on_line(p) > 0.0).max_by(|a, b| on_line(a).total_cmp(&on_line(b)));
    along.map_or_else(|| measure.id.clone(), |parcel| told(&parcel.id, &parcel.name))
}
