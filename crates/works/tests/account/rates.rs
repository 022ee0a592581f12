//! Which rate holds in a year. The English table of January 2023 changed FG2 from 4.90 to 7.47 pounds a metre on 5 January 2023; UPL1 was
//! 20 pounds in 2024 and 35 in 2026 (guidance/costs.csv has the sources).

use super::farm::{account, farm, measure, nowhere, rect};
use chrono::NaiveDate;
use serde_json::json;
use works::account::Account;

fn fenced(as_at: i32, year: i32) -> Account {
    let mut h = farm();
    h.about.as_at = NaiveDate::from_ymd_opt(as_at, 6, 1);
    h.measures.retain(|m| m.id == "W1");
    h.measures[0].year = Some(year);
    account(&h, |_, _| {})
}

#[test]
fn a_rate_holds_between_its_days() {
    let paid = |as_at, year| {
        let account = fenced(as_at, year);
        let line = account.lines.iter().find(|l| l.payment.as_deref() == Some("fg2")).unwrap();
        (line.rate.as_ref().unwrap().gbp[1], line.says.join("; "))
    };
    assert_eq!(paid(2021, 2022), (4.9, "published rate; the year of the rate is not recorded".to_string()));
    assert_eq!(paid(2022, 2023), (7.47, "published rate".to_string()));
    assert!(paid(2026, 2031).1.contains("rate of 2023, used for 2031: up to 8 years old"));
}

#[test]
fn years_under_two_rates_become_two_lines() {
    let mut h = farm();
    h.about.as_at = NaiveDate::from_ymd_opt(2024, 6, 1);
    h.stock[0].head = [120.0; 12];
    h.measures = vec![measure("G", "grazing", 2025, nowhere(), &[("parcel", json!("H")), ("head", json!({"Jan-Dec": 60})), ("years", json!(5))])];
    let account = account(&h, |ask, _| ask.not_wanted = vec!["cup8".to_string()]);
    let lines: Vec<_> = account.lines.iter().filter(|l| l.payment.as_deref() == Some("upl1")).collect();
    // 60 ewes on 40 ha are 0.12 units a hectare: moderate. 40 ha at 20 pounds in 2025, at 35 in 2026 and 2027.
    let told: Vec<_> = lines.iter().map(|l| (l.rate.as_ref().unwrap().key.as_str(), l.parts.len(), l.pence.unwrap()[1].0)).collect();
    assert_eq!(told, [("payment.england.upl1.sfi24", 1, 80_000), ("payment.england.upl1.sfi26", 2, 280_000)]);
    let gone = account.lines.iter().find(|l| l.item == "income of stock taken off").unwrap();
    assert_eq!((gone.parts.len(), gone.parts[0].quantity[1], gone.pence), (5, 60.0, None));
}

#[test]
fn later_years_fall_where_the_work_is_done_again() {
    let mut h = farm();
    h.measures = vec![measure("H1", "heather", 2028, rect(0.0, 0.0, 100.0, 50.0), &[("every", json!(4)), ("years", json!(10))])];
    let account = account(&h, |ask, _| ask.years = Some(15));
    let years: Vec<(i32, i64)> = account.lines[0].parts.iter().map(|p| (p.year, p.pence.unwrap()[1].0)).collect();
    assert_eq!(years, [(2028, 8_000), (2032, 8_000), (2036, 8_000)]);
    assert_eq!((account.years.len(), account.years[0].year, account.payback), (15, 2027, None));
}
