//! Heather the option cuts or burns, as the heather rules see it.

use super::seen::OnMeasures;
use geo_types::MultiPolygon;
use habitat::ahead::Doing;
use holding::Measure;

/// Heather cut or burnt by one measure.
pub struct Heathered<'a> {
    /// The measure.
    pub measure: &'a Measure,
    /// The patch.
    pub area: MultiPolygon<f64>,
    /// First year, counted from the plan's day.
    pub year: u32,
    /// Repeated every so many years.
    pub every: Option<u32>,
    /// Height of a cut, centimetres; `None` where burnt.
    pub cut_cm: Option<f64>,
}

/// Everything cut or burnt.
pub fn all<'a>(o: &OnMeasures<'a>) -> Vec<Heathered<'a>> {
    let each = o.works.iter().filter_map(|(i, w)| {
        let cut_cm = match w.doing {
            Doing::CutHeather { height_cm } => Some(f64::from(height_cm)),
            Doing::BurnHeather => None,
            _ => return None,
        };
        Some(Heathered { measure: o.measures[*i], area: w.area.clone(), year: w.year, every: w.every, cut_cm })
    });
    each.filter(|p| crate::rules::places::hectares(&p.area) > 0.0).collect()
}

/// What is burnt.
pub fn burnt<'a>(o: &OnMeasures<'a>) -> Vec<Heathered<'a>> {
    all(o).into_iter().filter(|p| p.cut_cm.is_none()).collect()
}
