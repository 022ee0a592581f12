//! Path, track or road through a display ground.
//!
//! Source: walkers put birds up at 62 m in spring on average (access study, page of the Game & Wildlife Conservation Trust); keeping leks
//! quiet from mid-March to the end of May is common practice.

use super::{Checked, Context, Rule, Said, places, words};
use crate::finding::Severity;
use crate::secrecy::{Secret, distance_band};
use geo_types::{MultiLineString, MultiPolygon};
use holding::TrackKind;

/// The rule.
pub const RULE: Rule = Rule {
    key: "way_through_lek",
    title: "Path or track through or beside a display ground",
    severity: Severity::Should,
    explain: "Looks for paths, tracks and roads that cross a display ground (its recorded radius, else {lek.radius_m}) or pass within \
        {disturbance.flush_distance.spring} of its edge, and gives the stretch. One that crosses it should be dealt with; one that passes by is worth \
        thinking about.\n\n\
        The distance is the mean at which a walker put birds up in spring in a study in northern England; birds that were often disturbed went up \
        {disturbance.flush_distance.often_disturbed} farther off. Whether people use the way, and when, is not known to the rule.\n\n\
        Why it matters: birds put up at dawn lose the hours in which they mate; a lek that is put up often moves or ends.\n\n\
        What to do: lead people round from {practice.quiet.first} to {practice.quiet.last}, by agreement and signs that do not name the lek; close gates to \
        vehicles till the birds have left. Rights of way may be turned aside only by the authority.",
    keys: &["disturbance.flush_distance.spring", "disturbance.flush_distance.often_disturbed", "practice.quiet.first", "practice.quiet.last", "lek.radius_m"],
};

/// Find ways through and beside display grounds.
pub fn check(c: &Context) -> Checked {
    let flush_m = c.number("disturbance.flush_distance.spring")?;
    let [first, last] = [c.words("practice.quiet.first")?, c.words("practice.quiet.last")?];
    let mut found = Vec::new();
    for (lek, ledger) in c.leks().iter().enumerate() {
        let at = c.lek_at(lek);
        let radius_m = ledger.ground.radius_m;
        let (inner, outer) = (MultiPolygon(vec![places::disc(at, radius_m)]), MultiPolygon(vec![places::disc(at, radius_m + flush_m)]));
        for way in &c.holding.tracks {
            let near = places::line_inside(&way.shape, &outer);
            if near.0.is_empty() {
                continue;
            }
            let across = places::line_inside(&way.shape, &inner);
            let crosses = !across.0.is_empty();
            let kind = match way.kind {
                TrackKind::Road => "road",
                TrackKind::Track => "track",
                TrackKind::Path => "path",
            };
            let (name, lek_name) = (if way.name.is_empty() { format!("{kind} {}", way.id) } else { way.name.clone() }, c.lek_name(lek));
            let value = |say: &dyn Fn(&MultiLineString<f64>) -> String| match crosses {
                true => format!("{} of {kind} across the display ground, {} within putting-up distance", say(&across), say(&near)),
                false => format!("{} of {kind} within putting-up distance of the display ground", say(&near)),
            };
            let exact = value(&|line| words::metres(places::metres(line)));
            let mut secret = vec![Secret { said: exact.clone(), instead: value(&|line| distance_band(places::metres(line)).to_string()) }];
            // On any map a named way and the distance are a line.
            secret.extend(c.name_kept_back(&name, &format!("a {kind}")));
            found.push(c.finding(
                &RULE,
                Said {
                    lek: Some(lek),
                    severity: Some(if crosses { Severity::Should } else { Severity::Consider }),
                    what: format!("{name} runs {} the display ground of {lek_name}", if crosses { "through" } else { "beside" }),
                    place: format!("{name}, at {lek_name}"),
                    geometry: near.into(),
                    value: exact,
                    needed: format!("no way within {} of the edge of a display ground in use", words::metres(flush_m)),
                    why: "Birds put up at dawn lose the hours in which they mate; a lek put up often moves or ends.".into(),
                    hint: format!(
                        "From {first} to {last} lead people round by agreement, with signs that do not name the lek, and keep vehicles off till the birds \
                         have left. A right of way may be turned aside only by the authority."
                    ),
                    secret,
                },
            ));
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, line, moor, run};
    use super::*;
    use holding::Track;

    fn way_at(y: f64) -> Vec<crate::Finding> {
        let mut h = moor();
        h.leks[0].radius_m = Some(50.0);
        h.tracks = vec![Track { name: "Peat road".into(), ..Track::new("T1", line(&[(0.0, y), (2000.0, y)])) }];
        run(&h, check)
    }

    #[test]
    fn a_way_across_is_found_with_the_stretch() {
        let f = way_at(1000.0);
        assert_eq!((f.len(), f[0].severity), (1, Severity::Should));
        // Diameters: 2 x 50 m and 2 x (50 + 62) m.
        assert_eq!(f[0].value, "100 m of track across the display ground, 224 m within putting-up distance");
        let off = &way_at(1030.0)[0];
        assert!(off.value.starts_with("80 m of track"), "{}", off.value);
        assert_eq!(off.withheld().value, "under 1 km of track across the display ground, under 1 km within putting-up distance");
        assert_eq!([off.withheld().what, off.withheld().place], ["a track runs through the display ground of Testrigg lek", "a track, at Testrigg lek"]);
    }

    #[test]
    fn a_way_just_within_reach_is_worth_a_thought_and_one_beyond_is_not() {
        let f = way_at(1110.0);
        assert_eq!((f.len(), f[0].severity), (1, Severity::Consider));
        assert!(way_at(1113.0).is_empty());
    }

    #[test]
    fn a_bare_survey_is_read() {
        assert_eq!(run(&bare(), check).len(), 1);
    }
}
