//! Heather eaten beyond what it bears in years to come.
//!
//! Sources: limits built on Grant 1978 (older stands) and Palmer 1997 (young ones); the years ahead are this program's forecast.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie};
use crate::finding::Severity;
use crate::kind::place::parcel_of;
use crate::kind::year_of;
use crate::rules::{Said, words};

/// The rule.
pub const RULE: Rule = Rule {
    key: "heather_overused",
    title: "Heather eaten beyond what it bears in years ahead",
    severity: Severity::Should,
    explain: "Reads the years ahead under the option: in every parcel a grazing measure changes, the heather whose share of the year's shoots eaten is above \
        {utilisation.heather.limit_old}, or above {utilisation.heather.limit_young} in stands younger than {utilisation.heather.young_age}, from the first year of \
        the change on, and by more than at the start. It tells the worst year. Without the years ahead nothing is told.\n\n\
        Why it matters: heather eaten harder loses ground to grass within years, and with it go nest cover and winter food.\n\n\
        What to do: take stock off in autumn and winter, when they turn to heather, or feed and shepherd them off it.",
    keys: &["utilisation.heather.limit_old", "utilisation.heather.limit_young", "utilisation.heather.young_age"],
};

/// Find heather overused under changed grazing.
pub fn check(o: &OnMeasures) -> Checked {
    let Some(forecast) = o.forecast else { return Ok(vec![]) };
    let (old, young) = (o.number("utilisation.heather.limit_old")? / 100.0, o.number("utilisation.heather.limit_young")? / 100.0);
    let young_yr = o.number("utilisation.heather.young_age")?;
    let mut found = Vec::new();
    for measure in o.of_kind("grazing") {
        let Some(parcel) = parcel_of(&o.context, &o.facts(measure).word("parcel"), measure) else { continue };
        let Some(index) = o.holding().parcels.iter().position(|p| p.id == parcel.id) else { continue };
        let first = year_of(&o.context, measure);
        let start = forecast.stands.first();
        let mut worst: Option<(u32, f64, f64, f64)> = None;
        for (ledger, stands) in forecast.years.iter().zip(&forecast.stands).filter(|(y, _)| y.year >= first) {
            let (mut ha, mut most, mut limit_there) = (0.0, 0.0f64, old);
            for (i, m) in stands.iter().enumerate().filter(|(_, m)| m.place.parcel == Some(index)) {
                let heather = m.stand.covers[holding::Plant::Heather as usize];
                let limit = if m.heath.known && f64::from(m.heath.age_yr) < young_yr { young } else { old };
                let used = f64::from(m.grazed.heather);
                let before = start.and_then(|s| s.get(i)).map_or(0.0, |s| f64::from(s.grazed.heather));
                if heather > 0.0 && used > limit && used > before {
                    ha += f64::from(m.place.area_ha);
                    if used > most {
                        (most, limit_there) = (used, limit);
                    }
                }
            }
            if ha > 0.0 && worst.is_none_or(|w| most > w.2) {
                worst = Some((ledger.year, ha, most, limit_there));
            }
        }
        let Some((year, ha, most, limit)) = worst else { continue };
        let (name, field) = (o.name(measure), lie::called(&parcel.name, &parcel.id));
        found.push(o.finding(
            &RULE,
            measure,
            Said {
                what: format!("{name} lets heather of {field} be eaten too hard"),
                place: format!("{name}, {field}"),
                geometry: parcel.shape.clone().into(),
                value: format!("{} of the year's shoots eaten in {} on the hardest eaten of {}", words::percent(most), o.year_words(year), lie::ha(ha)),
                needed: format!("no more than {} there", words::percent(limit)),
                why: "Heather eaten harder loses ground to grass, and with it go nest cover and winter food.".into(),
                hint: "Take stock off in autumn and winter, or feed and shepherd them off the heather.".into(),
                ..Said::default()
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, found_ahead, measure};
    use super::*;
    use crate::rules::fixture::grazed;
    use geo_types::MultiPolygon;
    use serde_json::json;

    #[test]
    fn far_more_sheep_eat_too_much_and_fewer_do_not() {
        let m = |head: u32| measure("grazing", MultiPolygon(vec![]), &[("parcel", json!("H")), ("head", json!({"Jan-Dec": head}))]);
        let f = found_ahead(&grazed(0.5, 0.5), vec![m(3000)], &[0, 1, 3], check);
        assert!(f.len() == 1 && f[0].value.contains("eaten in 20"), "{f:?}");
        assert!(found_ahead(&grazed(0.5, 0.5), vec![m(100)], &[0, 1, 3], check).is_empty());
        assert!(found(&grazed(0.5, 0.5), vec![m(3000)], check).is_empty(), "nothing is told without the years ahead");
    }
}
