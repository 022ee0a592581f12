//! Which measures earn which payments, by the conditions in guidance (Scottish options of 2016, English and Welsh pages).

use super::farm::{account, bare, farm, measure, nowhere, rect, with};
use guidance::{Country, Guidance};
use holding::Measure;
use serde_json::json;
use works::account::{Account, Ask, Fail, PAYMENTS, of_option};

fn claimed(account: &Account) -> Vec<(String, f64)> {
    let mut out: Vec<(String, f64)> = Vec::new();
    for line in account.lines.iter().filter(|line| line.payment.is_some()) {
        out.push((format!("{} {}", line.payment.as_ref().unwrap(), line.measure), line.parts[0].quantity[1]));
    }
    out.dedup();
    out
}

fn wood(id: &str, x: f64, metres: f64, stems: u32, open: u32) -> Measure {
    let facts =
        [("stems_per_ha", json!(stems)), ("open_pct", json!(open)), ("mix", json!({"birch": 70, "rowan": 30})), ("protection", json!("none"))];
    measure(id, "wood", 2027, rect(x, 0.0, x + metres, 200.0), &facts)
}

#[test]
fn every_payment_is_whole_in_guidance() {
    let guidance = Guidance::load().unwrap();
    let ids: Vec<&str> = PAYMENTS.iter().map(|p| p.id).collect();
    for payment in PAYMENTS {
        for what in ["title", "condition", "evidence"] {
            assert!(guidance.text(&format!("earns.{}.{what}", payment.id), payment.country).unwrap().len() > 8, "{} {what}", payment.id);
        }
        for part in payment.parts {
            for key in part.rates {
                assert_eq!(guidance.row(key, payment.country).unwrap().unit, part.unit, "{key}");
            }
        }
        let excluded = guidance.text(&format!("earns.{}.excludes", payment.id), payment.country).unwrap_or("");
        for id in excluded.split_whitespace() {
            assert!(ids.contains(&id) && id != payment.id, "{} excludes {id}", payment.id);
        }
    }
    let told: Vec<&str> = guidance.under("earns.").map(|row| row.key.split('.').nth(1).unwrap()).collect();
    assert!(told.iter().all(|id| ids.contains(id)));
    assert_eq!(ids.len(), ids.iter().collect::<std::collections::BTreeSet<_>>().len());
}

#[test]
fn scottish_woods_are_paid_once_by_the_option_they_fit() {
    let mut h = bare(Country::Scotland);
    // Thin and open, dense and closed, too thin for either, and a second one half over the dense one.
    h.measures = vec![
        wood("thin", 0.0, 100.0, 600, 40),
        wood("dense", 200.0, 100.0, 1600, 10),
        wood("bare", 400.0, 100.0, 300, 40),
        wood("over", 250.0, 100.0, 600, 40),
    ];
    let account = account(&h, |_, _| {});
    let wanted = [
        ("fgs_upland_birch dense", 2.0),
        ("fgs_low_density thin", 2.0),
        ("fgs_low_density over", 1.0),
        ("fgs_top_up thin", 2.0),
        ("fgs_top_up dense", 2.0),
        ("fgs_top_up over", 1.0),
    ];
    assert_eq!(claimed(&account), wanted.map(|(words, ha)| (words.to_string(), ha)));
    // 2 ha at 1840, then 5 years at 128.
    let dense: Vec<i64> = account
        .lines
        .iter()
        .filter(|l| l.measure == "dense" && l.payment.as_deref() == Some("fgs_upland_birch"))
        .map(|l| l.pence.unwrap()[1].0)
        .collect();
    assert_eq!(dense, [368_000, 128_000]);
    let maintained = account.lines.iter().find(|l| l.measure == "dense" && l.item.ends_with("maintenance")).unwrap();
    assert_eq!(maintained.parts.iter().map(|p| p.year).collect::<Vec<_>>(), [2028, 2029, 2030, 2031, 2032]);
    let lost = account.not_claimed.iter().find(|n| n.payment == "fgs_low_density" && n.measure == "over").unwrap();
    assert_eq!((lost.quantity, lost.instead.join(" ")), (1.0, "fgs_upland_birch".to_string()));
    let thin = account.not_claimed.iter().find(|n| n.measure == "bare").unwrap();
    assert!(thin.why.contains("300") && thin.why.contains("500"), "{}", thin.why);
}

#[test]
fn a_payment_without_a_known_rate_is_claimed_without_an_amount() {
    let mut h = bare(Country::Scotland);
    let stubble = [("work", json!("stubble")), ("parcel", json!("F")), ("years", json!(2))];
    h.measures = vec![measure("S1", "inbye", 2027, nowhere(), &stubble), measure("S2", "inbye", 2027, rect(0.0, 0.0, 100.0, 100.0), &stubble[..1])];
    let account = account(&h, |_, _| {});
    assert_eq!(claimed(&account), [("aecs_stubble S1".to_string(), 10.0)]);
    let claim = &account.claims[0];
    assert!(claim.pence.is_none() && claim.rate_gbp.is_none() && claim.says == ["no rate known"]);
    assert_eq!(account.totals.income[1].0, 0);
    assert!(!account.totals.whole && account.totals.without.iter().any(|said| said.starts_with("income: ")), "{:?}", account.totals.without);
    // Ten hectares in all are paid.
    assert!(account.not_claimed.iter().any(|n| n.measure == "S2" && n.quantity == 1.0));
}

#[test]
fn stubble_that_goes_before_summer_is_not_paid_as_if_it_stayed() {
    let mut h = bare(Country::England);
    h.measures = vec![measure("S1", "inbye", 2027, nowhere(), &[("work", json!("stubble")), ("parcel", json!("F"))])];
    let account = account(&h, |_, _| {});
    assert!(claimed(&account).is_empty());
    assert!(account.not_claimed[0].payment == "ahw7" && account.not_claimed[0].why.contains("mid-summer"), "{:?}", account.not_claimed);
    assert_eq!(account.lines.iter().map(|l| l.item.as_str()).collect::<Vec<_>>(), ["crop or fodder given up"]);
}

#[test]
fn countries_and_wishes_are_kept() {
    let mut h = bare(Country::Wales);
    h.measures = vec![wood("W", 0.0, 100.0, 600, 40)];
    assert_eq!(claimed(&account(&h, |_, _| {})), [("sfs_woodland W".to_string(), 2.0), ("wales_tree W".to_string(), 1200.0)]);
    h.about.country = Country::GB;
    let none = account(&h, |_, _| {});
    assert!(claimed(&none).is_empty() && none.says.iter().any(|said| said.contains("no country")));
    let without = account(&farm(), |ask, _| ask.not_wanted = vec!["upl8".to_string()]);
    assert!(claimed(&without).contains(&("cup12 G1".to_string(), 40.0)));
}

#[test]
fn a_higher_stocking_later_ends_what_a_lower_one_earned() {
    let mut h = bare(Country::England);
    h.stock[0].head = [120.0; 12];
    let head =
        |id: &str, year: i32, many: u32| measure(id, "grazing", year, nowhere(), &[("parcel", json!("H")), ("head", json!({"Jan-Dec": many}))]);
    // 20 ewes on 40 ha: 0.04 units, limited; back to 100 after two years.
    h.measures = vec![head("less", 2027, 20), head("more", 2029, 100)];
    let account = account(&h, |_, _| {});
    assert_eq!(claimed(&account), [("upl3 less".to_string(), 40.0)]);
    assert_eq!(account.lines.iter().find(|l| l.payment.is_some()).unwrap().parts.len(), 2);
    let instead: Vec<_> = account.not_claimed.iter().map(|n| (n.payment.as_str(), n.instead.join(" "))).collect();
    assert_eq!(instead, [("upl1", "upl3".to_string()), ("upl2", "upl3".to_string()), ("cup8", "upl3".to_string())]);
}

#[test]
fn what_cannot_be_asked_is_refused() {
    let mut h = farm();
    with(&h, |c, guidance| {
        let ask = |option| Ask::of(guidance, Country::England, option).unwrap();
        assert_eq!(of_option(c, &ask(7)).unwrap_err(), Fail::NoOption(7));
        let odd = Ask { not_wanted: vec!["upl8".into(), "moat".into()], ..ask(1) };
        assert_eq!(of_option(c, &odd).unwrap_err(), Fail::NoPayment(vec!["moat".into()]));
    });
    h.about.as_at = None;
    with(&h, |c, guidance| assert_eq!(of_option(c, &Ask::of(guidance, Country::England, 1).unwrap()).unwrap_err(), Fail::NoDay));
    let nothing = account(&bare(Country::England), |_, _| {});
    assert!(nothing.years.is_empty() && nothing.low.is_none() && nothing.payback.is_none() && nothing.totals.whole);
}

#[test]
fn of_two_that_exclude_each_other_the_one_worth_more_now_is_claimed_and_both_are_told() {
    let mut h = farm();
    h.measures.retain(|m| m.id == "G1");
    h.measures[0].facts.remove("years");
    let long = account(&h, |_, _| {});
    // Ten years at 43 pounds are worth more than one agreement of three at 74: 43 x 8.6077 and 74 x 2.8997.
    assert_eq!(claimed(&long), [("cup12 G1".to_string(), 40.0)]);
    let low = works::account::OwnRate { item: "upl8".into(), gbp: 80.0, unit: "gbp_per_ha_per_year".into(), note: String::new() };
    assert!(account(&h, |ask, _| ask.own = vec![low]).own_unused[0].why.contains("not claimed"));
    let lost = long.not_claimed.iter().find(|n| n.payment == "upl8").unwrap();
    assert!(
        lost.why.contains("£370.13 a hectare now, 2027 to 2036") && lost.why.ends_with("this one £214.58 a hectare now, 2027 to 2029"),
        "{}",
        lost.why
    );
    // The user's own rate is what counts.
    let own = works::account::OwnRate { item: "upl8".into(), gbp: 140.0, unit: "gbp_per_ha_per_year".into(), note: String::new() };
    assert_eq!(claimed(&account(&h, |ask, _| ask.own = vec![own])), [("upl8 G1".to_string(), 40.0)]);
}

#[test]
fn measures_that_say_nothing_break_no_account_and_strange_ones_are_told() {
    for country in Country::ALL {
        let mut h = bare(country);
        for entry in measures::kind::all() {
            h.measures.push(measure(entry.key, entry.key, 2027, nowhere(), &[]));
            h.measures.push(measure(&format!("{} drawn", entry.key), entry.key, 2028, rect(0.0, 0.0, 300.0, 300.0), &[]));
        }
        h.measures.push(measure("moat", "moat", 2027, nowhere(), &[("done", json!(2025))]));
        let account = account(&h, |_, _| {});
        let said = account.says.join(" ");
        assert!(
            said.contains("Of no known kind, and so without any money here: moat.") && said.contains("With faults") && said.contains("Done already"),
            "{said}"
        );
        assert!(account.lines.iter().all(|line| !line.parts.is_empty() && !line.says.is_empty()));
    }
    let mut h = farm();
    h.measures[0].year = Some(i32::MAX);
    with(&h, |c, guidance| assert_eq!(of_option(c, &Ask::of(guidance, Country::England, 1).unwrap()).unwrap_err(), Fail::Beyond));
}

#[test]
fn care_of_a_lek_is_told_by_its_name_alone() {
    let mut h = bare(Country::England);
    h.measures = vec![measure("L", "lek_care", 2027, nowhere(), &[("work", json!("quiet")), ("lek", json!("L1")), ("years", json!(2))])];
    let account = account(&h, |_, _| {});
    assert_eq!(account.lines.iter().map(|l| (l.place.as_str(), l.item.as_str())).collect::<Vec<_>>(), [("Testrigg", "signs and talk")]);
}

#[test]
fn trees_on_one_outline_are_claimed_once_whatever_measures_plant_them() {
    let mut h = bare(Country::England);
    h.measures = vec![wood("first", 0.0, 100.0, 600, 40), wood("again", 0.0, 100.0, 600, 40), wood("beside", 200.0, 100.0, 600, 40)];
    let account = account(&h, |_, _| {});
    let of = |measure: &str| account.lines.iter().filter(|l| l.measure == measure && l.payment.as_deref() == Some("te4")).count();
    assert_eq!(["first", "again", "beside"].map(of), [1, 0, 1]);
    let refused = account.not_claimed.iter().find(|n| n.payment == "te4" && n.measure == "again").unwrap();
    assert!(refused.why.contains("measure first") && refused.quantity > 0.0, "{refused:?}");
}

#[test]
fn money_falls_in_the_year_the_work_comes_to_lie_in() {
    let mut h = bare(Country::England);
    h.measures = vec![wood("w", 0.0, 100.0, 600, 40), wood("as-meant", 200.0, 100.0, 600, 40)];
    let meant = account(&h, |_, _| {});
    let later = account(&h, |ask, _| {
        ask.later.insert("w".into(), 2);
    });
    let first = |a: &Account, measure: &str| a.lines.iter().filter(|l| l.measure == measure).map(|l| l.parts[0].year).min().unwrap();
    assert_eq!([first(&meant, "w"), first(&later, "w"), first(&later, "as-meant")], [2027, 2029, 2027]);
    assert_eq!(meant.totals, later.totals);
    assert!(later.worth.net[1].0.abs() < meant.worth.net[1].0.abs(), "what lies later weighs less");
    assert!(later.says.iter().any(|s| s.contains("w by 2")), "{:?}", later.says);
}
