//! What options change in the number of cocks, all leks together, paired draw by draw with as now.

use super::bars::{self, Axis, Bar};
use crate::words;
use birds::project::birds::Projection;

/// Years told, where they are looked at.
const TOLD: [u32; 4] = [5, 10, 20, 30];

/// The chart; `None` without an option. `name`: what the course of a number is called.
pub fn draw(p: &Projection, name: impl Fn(u32) -> String, width_mm: f64) -> Option<String> {
    let mut rows = vec![];
    for option in p.courses.iter().filter_map(|c| c.option) {
        let told = p.differences.iter().filter(|d| d.first.is_none() && d.second == Some(option) && d.lek.is_none() && TOLD.contains(&d.year));
        for (i, d) in told.enumerate() {
            let whole = |share: f64| format!("{:.0}", 100.0 * share);
            let words = match (d.more_fraction, d.fewer_fraction) {
                (0.0, 0.0) => "the same".to_owned(),
                (more, fewer) => format!("more {}, fewer {} of 100", whole(more), whole(fewer)),
            };
            let name = if i == 0 { words::capital(&name(option)) } else { String::new() };
            rows.push(Bar { name, when: format!("year {}", d.year), low: d.cocks.p10, middle: d.cocks.p50, high: d.cocks.p90, words });
        }
    }
    (!rows.is_empty()).then(|| bars::chart(&rows, &Axis::of_draws("cocks, more or fewer than as now"), width_mm))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::sample::projection;

    #[test]
    fn options_stand_beside_as_now_and_as_now_alone_is_no_chart() {
        let p = projection(2, &[(None, 12.0), (Some(1), 16.0)]);
        let svg = draw(&p, |n| format!("option {n}"), 174.0).unwrap();
        assert!(svg.contains("Option 1") && svg.contains("year 10") && svg.contains("more 62, fewer 20 of 100"), "{svg}");
        assert!(draw(&projection(2, &[(None, 12.0)]), |n| n.to_string(), 174.0).is_none());
    }
}
