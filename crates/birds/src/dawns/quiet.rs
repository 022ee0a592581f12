//! Coming up to a lek without putting the birds up.

use super::ask::Ask;
use super::record::StopTooNear;
use super::rules::Rules;

/// What to do, in plain words with the figures of the rules.
pub(super) fn words(rules: &Rules) -> Vec<String> {
    vec![
        format!("Stop the vehicle at least {} m from the edge of a lek, in place before it gets light, and do not move it while birds display.", rules.vehicle_m),
        format!("Watch from where the display ground is seen at a distance: walkers are known to put birds up from about {} m; no lights, no dog, no talk.", rules.walker_m),
        format!("Sit still for {} minutes after coming up to a lek before the count begins.", rules.settle_min),
        format!(
            "Leave under cover once the count is done, by the way that shows least. Who watches from a vehicle stays until about {} hours after dawn, when display is over.",
            rules.leave_hours
        ),
    ]
}

/// Stops too near to the edge of any lek, by stop, then lek.
pub(super) fn stops_too_near(ask: &Ask, rules: &Rules) -> Vec<StopTooNear> {
    let mut near = Vec::new();
    for stop in &ask.stops {
        for lek in &ask.leks {
            let metres = ((stop.at_m.0 - lek.at_m.0).hypot(stop.at_m.1 - lek.at_m.1) - lek.radius_m).max(0.0);
            if metres < rules.vehicle_m {
                let (lek_id, name) = (lek.id.clone(), lek.name.clone());
                near.push(StopTooNear { stop: stop.name.clone(), lek_id, lek: name, metres, needed_m: rules.vehicle_m });
            }
        }
    }
    near
}
