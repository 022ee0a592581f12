//! Work near a lek while birds display or nest.
//!
//! Sources: months of display are common practice; the nesting season from a guide to birds in forestry; the distance from memory.

use super::seen::OnMeasures;
use super::when::{self, Lies, Window};
use super::{Checked, Rule};
use crate::finding::Severity;
use crate::rules::{Said, words};
use crate::secrecy::{Secret, distance_band};
use geo::{Distance, Euclidean};
use geo_types::{Geometry, MultiPolygon};
use guidance::Unknown;

/// The rule.
pub const RULE: Rule = Rule {
    key: "work_in_season",
    title: "Work planned while birds display or nest",
    severity: Severity::Should,
    explain: "Holds the month told of every measure that brings people and machines against the display season, {window.lek_quiet.first} to \
        {window.lek_quiet.last}, within {window.fence_work.lek_distance} of a lek, and against the nesting season, {window.forestry_nesting.first} to \
        {window.forestry_nesting.last}, anywhere. Where no month is told and the usual window of the work runs into the display season near a lek, it asks for one. \
        Stock, stubble, meadow and quiet bring no such work and are passed over. Wild birds' nests are protected by law in all three countries: check the \
        code in force.\n\n\
        Why it matters: disturbed cocks leave the lek, and a nest crushed is the year's brood gone.\n\n\
        What to do: work from August to February; where it cannot wait, have the ground searched first and keep away from dawn until well after it.",
    keys: &[
        "window.lek_quiet.first",
        "window.lek_quiet.last",
        "window.fence_work.lek_distance",
        "window.forestry_nesting.first",
        "window.forestry_nesting.last",
    ],
};

/// Dates of the display season, in which no work is done near a lek.
pub const DISPLAY: [&str; 2] = ["window.lek_quiet.first", "window.lek_quiet.last"];
/// Dates of the nesting season, in which ground is searched before heavy work, anywhere.
pub const NESTING: [&str; 2] = ["window.forestry_nesting.first", "window.forestry_nesting.last"];
/// How near to a lek the display season shuts ground.
pub const NEAR: &str = "window.fence_work.lek_distance";

/// The nearest lek that shuts a place in the display season, and its distance in metres; `None` where none is near enough.
///
/// # Errors
/// A figure the tables lack.
pub fn near(o: &OnMeasures, place: &Geometry<f64>) -> Result<Option<(usize, f64)>, Unknown> {
    let near_m = o.number(NEAR)?;
    let c = &o.context;
    let far = |l: usize| (l, Euclidean.distance(&Geometry::Point(c.lek_at(l)), place));
    Ok((0..c.leks().len()).map(far).filter(|(_, d)| *d < near_m).min_by(|a, b| a.1.total_cmp(&b.1)))
}

/// Find work in the season of display or nesting.
pub fn check(o: &OnMeasures) -> Checked {
    let country = o.country();
    let display = Window::read(o, DISPLAY[0], DISPLAY[1], country)?;
    let nesting = Window::read(o, NESTING[0], NESTING[1], country)?;
    let c = &o.context;
    let mut found = Vec::new();
    for measure in &o.measures {
        let work = o.facts(measure).word("work");
        let calm = measure.kind == "grazing" || matches!(work.as_str(), "stubble" | "meadow" | "quiet" | "roots" | "weedy");
        let geometry = place_of(o, measure);
        if calm || geo::CoordsIter::coords_count(&geometry) == 0 {
            continue;
        }
        let near = near(o, &geometry)?;
        let months = when::months(measure);
        let usual = when::usual(o, measure)?;
        let hits = |w: Window| months.as_ref().is_some_and(|all| all.iter().any(|m| w.of_month(*m) != Lies::Outside));
        let told = months.as_ref().map_or("no month told".to_string(), |m| when::words(m));
        let name = o.name(measure);
        let (what, value, needed, severity) = match near {
            Some((lek, _)) if hits(display) => (
                format!("{name} works near {} in the display season", c.lek_name(lek)),
                told,
                format!("no work near a lek {}", display.words()),
                Severity::Should,
            ),
            Some((lek, _)) if months.is_none() && usual.is_some_and(|u| u.meets(display)) => (
                format!("{name} near {} does not say when it is done", c.lek_name(lek)),
                format!("no month told, and the usual time of the work is {}", usual.map_or(String::new(), Window::words)),
                format!("a month outside {}", display.words()),
                Severity::Consider,
            ),
            _ if hits(nesting) => (
                format!("{name} works in the nesting season"),
                told,
                format!("no heavy work {}, or a search for nests first; check the code in force", nesting.words()),
                Severity::Should,
            ),
            _ => continue,
        };
        let (place, lek, secret) = match near {
            Some((lek, d)) => {
                let away = |d: &str| format!("{d} from {}", c.lek_name(lek));
                let exact = words::metres(d);
                (format!("{name}, {}", away(&exact)), Some(lek), vec![Secret::of(&exact, distance_band(d), away)])
            }
            None => (name.clone(), None, vec![]),
        };
        found.push(o.finding(
            &RULE,
            measure,
            Said {
                lek,
                severity: Some(severity),
                what,
                place,
                geometry,
                value,
                needed,
                why: "Disturbed cocks leave the lek, and a nest crushed is the year's brood gone.".into(),
                hint: "Set its month to one from September to February, such as Sep; where it cannot wait, search first and keep away at dawn.".into(),
                secret,
            },
        ));
    }
    Ok(found)
}

/// Where a measure is worked: its area, its line, the ground of its works, or its ditch.
pub fn place_of(o: &OnMeasures, measure: &holding::Measure) -> Geometry<f64> {
    if !measure.shape.0.is_empty() {
        return measure.shape.clone().into();
    }
    if !measure.line.0.is_empty() {
        return measure.line.clone().into();
    }
    let all: Vec<_> = o.works_of(measure).flat_map(|w| w.area.0.clone()).collect();
    if !all.is_empty() {
        return MultiPolygon(all).into();
    }
    let said = |fact: &str| measure.facts.get(fact).and_then(|v| v.as_str()).unwrap_or_default();
    let h = o.holding();
    let ditch = h.ditches.iter().find(|d| d.id == said("ditch")).map(|d| d.shape.clone());
    let fence = || h.fences.iter().find(|f| f.id == said("fence") || (!f.name.is_empty() && f.name == said("fence"))).map(|f| f.shape.clone());
    ditch.or_else(fence).map_or(Geometry::GeometryCollection(geo_types::GeometryCollection(vec![])), Geometry::MultiLineString)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, measure};
    use super::*;
    use crate::rules::fixture::{moor, rect};
    use serde_json::json;

    #[test]
    fn display_near_the_lek_and_nests_anywhere() {
        let at = |x: f64, month: &str| {
            let f = found(&moor(), vec![measure("heather", rect(1000.0 + x, 990.0, 1000.0 + x + 50.0, 1010.0), &[("month", json!(month))])], check);
            f.first().map(|f| (f.severity, f.what.contains("display")))
        };
        assert_eq!([at(740.0, "Apr"), at(760.0, "Apr")], [Some((Severity::Should, true)), Some((Severity::Should, false))]);
        assert_eq!([at(740.0, "Jul"), at(740.0, "Feb"), at(740.0, "Sep-Feb")], [Some((Severity::Should, false)), None, None]);
        // Heather is cut until the end of March.
        assert_eq!([at(740.0, ""), at(760.0, "")], [Some((Severity::Consider, false)), None]);
    }

    #[test]
    fn quiet_work_is_passed_over_and_the_distance_withheld() {
        let quiet = measure("lek_care", rect(900.0, 900.0, 1100.0, 1100.0), &[("work", json!("quiet")), ("month", json!("Apr"))]);
        assert!(found(&moor(), vec![quiet], check).is_empty());
        let f = found(&moor(), vec![measure("heather", rect(1271.0, 990.0, 1300.0, 1010.0), &[("month", json!("Apr"))])], check).remove(0);
        assert!(f.place.contains("271 m") && !f.withheld().place.contains("271 m"), "{}", f.place);
    }
}
