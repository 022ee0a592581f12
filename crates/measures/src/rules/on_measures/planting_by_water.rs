//! Trees planted inside the buffer of a watercourse or a water supply.
//!
//! Source: UK Forestry Standard, Forests and Water, 2017, from memory; a newer edition may have merged the two small classes.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie, planted};
use crate::finding::Severity;
use crate::rules::{Said, places, words};
use holding::AreaKind;

/// Channel widths at which the class changes, as the standard names its classes, metres.
const CLASSES_M: [f32; 2] = [1.0, 2.0];

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_by_water",
    title: "Trees planned inside a watercourse buffer",
    severity: Severity::Should,
    explain: "Looks for woods, new ones and restocked ones, inside the buffer of a mapped watercourse: {planting.buffer.narrow} each side of a channel under 1 m, \
        {planting.buffer.middle_and_lochs} from 1 to 2 m (also where the width was not recorded), {planting.buffer.wide} above; and within \
        {planting.buffer.abstraction} of ground mapped as water supply, though the standard asks that only upslope of the intake, which the plan does not \
        know. From memory of the 2017 edition; check the code in force.\n\n\
        Light native trees may stand inside where they shade no more than {planting.buffer.shade_max} of it: then this finding is only to be thought about.\n\n\
        Why it matters: dense shade and bare banks spoil the water, and the open edge is what broods use.\n\n\
        What to do: draw the wood back, or leave the strip to a few willows and birches.",
    keys: &[
        "planting.buffer.narrow",
        "planting.buffer.middle_and_lochs",
        "planting.buffer.wide",
        "planting.buffer.abstraction",
        "planting.buffer.shade_max",
    ],
};

/// Find woods inside buffers.
pub fn check(o: &OnMeasures) -> Checked {
    let by_class = [o.number("planting.buffer.narrow")?, o.number("planting.buffer.middle_and_lochs")?, o.number("planting.buffer.wide")?];
    let supply_m = o.number("planting.buffer.abstraction")?;
    let mut found = Vec::new();
    for p in planted::all(o) {
        let name = o.name(p.measure);
        let mut tell = |piece: geo_types::MultiPolygon<f64>, at: String, channel: String, within_m: f64| {
            if piece.0.is_empty() {
                return;
            }
            found.push(o.finding(
                &RULE,
                p.measure,
                Said {
                    what: format!("{name} plants inside the buffer of water"),
                    place: format!("{name}, at {at}"),
                    value: format!("{} inside the buffer; {channel}", lie::ha(places::hectares(&piece))),
                    geometry: piece.into(),
                    needed: format!("{} each side left open or to light native trees; check the code in force", words::metres(within_m)),
                    why: "Dense shade and bare banks spoil the water, and the open edge is what broods use.".into(),
                    hint: "Draw the wood back, or leave the strip to a few willows and birches.".into(),
                    ..Said::default()
                },
            ));
        };
        for water in &o.holding().watercourses {
            let known = water.width_m.filter(|w| w.is_finite() && *w >= 0.0);
            let within_m = match known {
                Some(w) if w < CLASSES_M[0] => by_class[0],
                Some(w) if w > CLASSES_M[1] => by_class[2],
                _ => by_class[1],
            };
            let channel = known.map_or("width of the channel not recorded, the middle class is taken".to_string(), |w| format!("channel {w:.1} m wide"));
            // The line is the middle of the channel; the buffer begins at the bank.
            let bank_m = known.map_or(0.0, |w| f64::from(w) / 2.0);
            tell(lie::near_lines(&p.area, &water.shape, within_m + bank_m), lie::called(&water.name, &water.id).to_string(), channel, within_m);
        }
        for supply in o.holding().areas.iter().filter(|a| a.kind == AreaKind::WaterSupply) {
            let piece = lie::near_area(&p.area, &supply.shape, supply_m);
            tell(piece, lie::called(&supply.name, &supply.id).to_string(), "ground mapped as water supply".to_string(), supply_m);
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, wood_of};
    use super::*;
    use crate::rules::fixture::{line, moor, rect};
    use holding::{Area, Watercourse};

    #[test]
    fn the_buffer_goes_by_the_channel() {
        let at = |width_m: Option<f32>, y: f64| {
            let mut h = moor();
            h.watercourses = vec![Watercourse { width_m, ..Watercourse::new("B1", line(&[(1000.0, 1500.0), (2000.0, 1500.0)])) }];
            found(&h, vec![wood_of(rect(1500.0, y, 1600.0, 1700.0), &[])], check).len()
        };
        assert_eq!([at(Some(0.5), 1505.0), at(Some(0.5), 1505.5)], [1, 0]);
        assert_eq!([at(Some(2.0), 1510.5), at(Some(2.0), 1511.5)], [1, 0]);
        assert_eq!([at(Some(4.0), 1521.5), at(Some(4.0), 1522.5)], [1, 0]);
        assert_eq!([at(None, 1509.5), at(None, 1510.5), at(Some(f32::NAN), 1509.5)], [1, 0, 1]);
    }

    #[test]
    fn a_water_supply_has_its_own() {
        let mut h = moor();
        h.areas = vec![Area { kind: AreaKind::WaterSupply, ..Area::new("W", rect(1500.0, 1500.0, 1510.0, 1510.0)) }];
        let at = |x: f64| found(&h, vec![wood_of(rect(x, 1500.0, 1700.0, 1600.0), &[])], check).len();
        assert_eq!([at(1559.0), at(1561.0)], [1, 0]);
    }
}
