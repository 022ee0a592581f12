//! The calendar file against RFC 5545 (sections named; text of the standard from memory), read back by a reader written here.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use birds::clock;
use birds::dawns::withheld::withhold;
use birds::dawns::{Ask, DawnPlan, LekSite, Limit, Minutes, Names, Observer, Rules, Stop, calendar, plan};
use chrono::{NaiveDate, NaiveDateTime};
use guidance::{Country, Guidance};

fn made() -> NaiveDateTime {
    NaiveDate::from_ymd_opt(2027, 2, 1).unwrap().and_hms_opt(9, 30, 0).unwrap()
}

/// Two leks, one of them with a name that needs escaping, and one that cannot be reached.
fn spring() -> DawnPlan {
    let lek = |id: &str, name: &str, walk_min| LekSite {
        id: id.into(),
        name: name.into(),
        at_m: (280_000.0, 755_000.0),
        radius_m: 50.0,
        lon_lat_deg: (-3.9, 56.7),
        stop: 0,
        walk_min,
    };
    let day = |m, d| NaiveDate::from_ymd_opt(2027, m, d).unwrap();
    let ask = Ask {
        of: "Glen Example".into(),
        year: 2027,
        leks: vec![lek("a", "Càrn Mòr; east, by the burn \\ fank", 20), lek("b", "Dubh Moss", 10), lek("c", "Far Rigg", 200)],
        stops: vec![Stop { id: "s".into(), name: "Quarry gate".into(), at_m: (279_000.0, 755_000.0) }],
        observers: vec![Observer { name: "Observer One".into(), base: "Mill Cottage".into(), away: [].into() }],
        mornings: [day(3, 27), day(3, 28), day(5, 1), day(5, 2)].into(),
        minutes: Minutes { from_base: vec![vec![35]], between_stops: vec![vec![0]], across: vec![vec![None; 3]; 3] },
    };
    let rules = Rules::of(&Guidance::load().unwrap(), Country::Scotland).unwrap();
    plan(&ask, &rules, Limit::default(), &|| false).unwrap()
}

/// Section 3.1: content lines end in CRLF, and a line break followed by one space is taken out.
fn unfolded(text: &str) -> Vec<(String, String)> {
    assert!(text.ends_with("\r\n"));
    let whole = text.replace("\r\n ", "");
    assert!(!whole.replace("\r\n", "").contains(['\r', '\n']), "no bare CR or LF");
    whole.split_terminator("\r\n").map(|line| line.split_once(':').unwrap()).map(|(name, value)| (name.into(), value.into())).collect()
}

/// Section 3.3.11, read backwards.
fn plain(value: &str) -> String {
    let mut out = String::new();
    let mut letters = value.chars();
    while let Some(letter) = letters.next() {
        match letter {
            '\\' => match letters.next().unwrap() {
                'n' | 'N' => out.push('\n'),
                escaped @ ('\\' | ';' | ',') => out.push(escaped),
                other => panic!("\\{other} is no escape"),
            },
            ';' | ',' => panic!("{letter} stands unescaped in {value}"),
            _ => out.push(letter),
        }
    }
    out
}

/// Values of a property in the components of a kind.
fn values(text: &str, component: &str, property: &str) -> Vec<String> {
    let lines = unfolded(text);
    let mut within = false;
    let mut found = Vec::new();
    for (name, value) in lines {
        match name.as_str() {
            "BEGIN" => within = value == component,
            "END" => within = false,
            _ if within && name == property => found.push(value),
            _ => {}
        }
    }
    found
}

#[test]
fn lines_are_short_and_components_are_whole() {
    let text = calendar(&spring(), made(), Names::Told);
    // Section 3.1: no line longer than 75 octets but for its end.
    assert!(text.split("\r\n").all(|line| line.len() <= 75));
    assert!(text.split("\r\n").any(|line| line.starts_with(' ')), "something is folded");
    let lines = unfolded(&text);
    // Section 3.4: one calendar object; 3.6: VERSION and PRODID once each (3.7.4, 3.7.3).
    assert_eq!(lines[0], ("BEGIN".into(), "VCALENDAR".into()));
    assert_eq!(lines[lines.len() - 1], ("END".into(), "VCALENDAR".into()));
    for (name, value) in [("VERSION", "2.0"), ("PRODID", "-//greyhen//dawn counts//EN")] {
        assert_eq!(lines.iter().filter(|(n, v)| n == name && v == value).count(), 1);
    }
    let mut open = Vec::new();
    for (name, value) in &lines {
        match name.as_str() {
            "BEGIN" => open.push(value.clone()),
            "END" => assert_eq!(open.pop().as_ref(), Some(value)),
            _ => assert!(!open.is_empty()),
        }
    }
    assert!(open.is_empty());
}

/// Section 3.6.1: an event has UID, DTSTAMP and, where the calendar has no METHOD, DTSTART, once each; 3.3.5 form 2: times end in Z.
#[test]
fn every_outing_is_an_event_in_universal_time() {
    let plan = spring();
    let text = calendar(&plan, made(), Names::Told);
    let outings: Vec<_> = plan.mornings.iter().flat_map(|m| &m.outings).collect();
    assert_eq!(outings.len(), 2);
    let moment = |text: &str| NaiveDateTime::parse_from_str(text, "%Y%m%dT%H%M%SZ").unwrap().and_utc();
    for (property, wanted) in [("DTSTART", outings.iter().map(|o| o.leave_base.unwrap()).collect::<Vec<_>>()), ("DTEND", outings.iter().map(|o| o.back_at_base.unwrap()).collect())] {
        let found: Vec<_> = values(&text, "VEVENT", property).iter().map(|v| clock::local(moment(v))).collect();
        assert_eq!(found, wanted, "{property}");
    }
    // British Summer Time began on 28 March 2027: the first morning is on winter time, the later on summer time.
    assert_eq!(values(&text, "VEVENT", "DTSTART")[0], outings[0].leave_base.unwrap().format("%Y%m%dT%H%M00Z").to_string());
    assert_ne!(values(&text, "VEVENT", "DTSTART")[1], outings[1].leave_base.unwrap().format("%Y%m%dT%H%M00Z").to_string());
    // Section 3.8.7.2: DTSTAMP in universal time.
    assert_eq!(values(&text, "VEVENT", "DTSTAMP"), ["20270201T093000Z"; 2]);
    assert_eq!(values(&text, "VEVENT", "CLASS"), ["PRIVATE"; 2]);
}

/// Section 3.8.4.7: identities are unique and persistent.
#[test]
fn identities_stay_when_the_plan_is_made_again_and_differ_between_outings_and_holdings() {
    let plan = spring();
    let ids = |plan: &DawnPlan, at: NaiveDateTime, names| values(&calendar(plan, at, names), "VEVENT", "UID");
    let first = ids(&plan, made(), Names::Told);
    assert_ne!(first[0], first[1]);
    assert_eq!(ids(&plan, made() + chrono::Duration::days(3), Names::Withheld), first);
    let other = DawnPlan { of: "Other Glen".into(), ..plan };
    assert!(ids(&other, made(), Names::Told).iter().all(|id| !first.contains(id)));
}

/// Section 3.3.11: commas, semicolons, backslashes and line breaks of a text are escaped, and come back.
#[test]
fn what_to_do_can_be_read_back() {
    let plan = spring();
    let text = calendar(&plan, made(), Names::Told);
    let outing = &plan.mornings[0].outings[0];
    let leks: Vec<&str> = outing.visits.iter().map(|v| v.lek.as_str()).collect();
    assert_eq!(plain(&values(&text, "VEVENT", "SUMMARY")[0]), format!("Dawn count, Observer One: {}", leks.join(", ")));
    let told = plain(&values(&text, "VEVENT", "DESCRIPTION")[0]);
    let lines: Vec<&str> = told.lines().collect();
    assert_eq!(lines[0], format!("Leave Mill Cottage at {}.", outing.leave_base.unwrap().format("%H:%M")));
    let visit = &outing.visits[0];
    assert!(lines[1].starts_with(&format!("{}, visit 1: drive 35 min, park at Quarry gate by {}", visit.lek, visit.park_at.unwrap().format("%H:%M"))), "{}", lines[1]);
    assert!(lines[1].contains(&format!("in place by {}, watch {} to {}", visit.arrive_by.unwrap().format("%H:%M"), visit.watch_from.unwrap().format("%H:%M"), visit.watch_until.unwrap().format("%H:%M"))));
    assert!(told.contains("at least 100 m from the edge") && told.contains("Caution: lone working") && told.contains("Caution: dawn work"));
}

/// Section 3.6.3: a journal entry has UID and DTSTAMP; section 3.6 asks for one component at least.
#[test]
fn what_could_not_be_planned_is_told() {
    let plan = spring();
    let text = calendar(&plan, made(), Names::Told);
    assert_eq!(values(&text, "VJOURNAL", "SUMMARY"), ["Dawn counts 2027: 2 visits not planned"]);
    assert!(plain(&values(&text, "VJOURNAL", "DESCRIPTION")[0]).starts_with("Far Rigg, visit 1: the walk in the dark is 3 h 20 min"));
    let nothing = DawnPlan { mornings: vec![], missed: vec![], ..plan };
    assert_eq!(values(&calendar(&nothing, made(), Names::Told), "VJOURNAL", "UID").len(), 1);
}

#[test]
fn withheld_names_and_places_are_nowhere() {
    let mut plan = spring();
    withhold(&mut plan);
    let text = unfolded(&calendar(&plan, made(), Names::Withheld)).into_iter().map(|(name, value)| format!("{name}:{value}\n")).collect::<String>();
    for word in ["Càrn", "fank", "Dubh", "Far Rigg", "Quarry", "Mill Cottage", "Glen Example", "280000", "56.7"] {
        assert!(!text.contains(word), "{word} in {text}");
    }
    assert!(text.contains("SUMMARY:Dawn count\\, Observer One: lek A\\, lek B\n") && text.contains("a lek\\, visit 1: "), "{text}");
    assert!(!text.contains(" min\\,") && !text.contains("Leave base") && text.contains("watch after the lek before (sunrise"), "{text}");
    // From being in place at the first lek to the close of hours, to five minutes.
    assert!(text.lines().filter_map(|l| l.strip_prefix("DTSTART:").or(l.strip_prefix("DTEND:"))).all(|time| time.ends_with("000Z") || time.ends_with("500Z")), "{text}");
}
