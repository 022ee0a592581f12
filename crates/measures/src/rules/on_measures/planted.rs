//! Ground the option plants, as the planting rules see it.

use super::seen::OnMeasures;
use geo_types::MultiPolygon;
use habitat::ahead::Doing;
use holding::{Measure, Tree};

/// Trees planted by one measure.
pub struct Planted<'a> {
    /// The measure.
    pub measure: &'a Measure,
    /// Ground planted.
    pub area: MultiPolygon<f64>,
    /// Year, counted from the plan's day.
    pub year: u32,
    /// Stems a hectare of the outline, by species.
    pub stems: Vec<(Tree, f64)>,
    /// Share left open, 0 to 1.
    pub open: f64,
    /// Whether it is new wood, not felled wood planted again.
    pub new: bool,
}

/// Everything planted, new woods and restocked ones.
pub fn all<'a>(o: &OnMeasures<'a>) -> Vec<Planted<'a>> {
    let each = o.works.iter().filter_map(|(i, w)| {
        let (stems, open, new) = match &w.doing {
            Doing::Plant { stems, open, .. } => (stems, open, true),
            Doing::Restock { stems, open } => (stems, open, false),
            _ => return None,
        };
        Some(Planted {
            measure: o.measures[*i],
            area: w.area.clone(),
            year: w.year,
            stems: stems.iter().map(|(t, n)| (*t, f64::from(*n))).collect(),
            open: f64::from(*open),
            new,
        })
    });
    each.filter(|p| crate::rules::places::hectares(&p.area) > 0.0).collect()
}

/// New woods only.
pub fn new<'a>(o: &OnMeasures<'a>) -> Vec<Planted<'a>> {
    all(o).into_iter().filter(|p| p.new).collect()
}
