//! The account reckoned by hand in docs/accounts.md: every line, year and figure of its tables.

use super::farm::{account, farm};
use guidance::Country;
use works::account::{Account, Flow, read_own};
use works::money::Pence;

const DOC: &str = include_str!("../../../../docs/accounts.md");

/// Rows of the table whose heading begins with these words.
fn table(head: &str) -> Vec<Vec<String>> {
    let rows: Vec<&str> =
        DOC.lines().skip_while(|line| !line.starts_with(&format!("| {head} |"))).take_while(|line| line.starts_with('|')).skip(2).collect();
    assert!(rows.len() >= 5, "only {} rows under {head}", rows.len());
    rows.iter().map(|row| row.trim_matches('|').split('|').map(|cell| cell.trim().to_string()).collect()).collect()
}

fn three(cell: &str) -> [f64; 3] {
    let all: Vec<f64> = cell.split('/').map(|number| number.trim().parse().unwrap()).collect();
    if all.len() == 1 { [all[0]; 3] } else { [all[0], all[1], all[2]] }
}

fn told(pence: &[Pence]) -> Vec<String> {
    pence.iter().map(Pence::to_string).collect()
}

fn by_hand() -> Account {
    let csv = DOC.split("```csv\n").nth(1).unwrap().split("```").next().unwrap();
    account(&farm(), |ask, guidance| {
        ask.own = read_own("own.csv", csv, guidance, Country::England).unwrap();
        ask.usable_ha = Some([10.0, 20.0, 40.0]);
    })
}

#[test]
fn every_line_is_as_reckoned_by_hand() {
    let account = by_hand();
    let mut found = Vec::new();
    for line in account.lines.iter().filter(|line| line.rate.is_some()) {
        for part in &line.parts {
            let flow = if line.flow == Flow::Cost { "cost" } else { "income" };
            let rate = line.rate.as_ref().unwrap();
            let row = (flow.to_string(), line.measure.clone(), line.item.clone(), part.year.to_string(), line.unit.clone());
            found.push((row, part.quantity, rate.gbp, told(&part.pence.unwrap())));
        }
    }
    let mut wanted: Vec<_> = table("flow | measure")
        .into_iter()
        .map(|r| ((r[0].clone(), r[1].clone(), r[2].clone(), r[3].clone(), r[5].clone()), three(&r[4]), three(&r[6]), r[7..10].to_vec()))
        .collect();
    let order = |a: &(String, String, String, String, String), b: &(String, String, String, String, String)| a.cmp(b);
    found.sort_by(|a, b| order(&a.0, &b.0));
    wanted.sort_by(|a, b| order(&a.0, &b.0));
    assert_eq!(found.len(), wanted.len());
    for (found, wanted) in found.iter().zip(&wanted) {
        assert_eq!(found, wanted);
    }
    // The gates stand without an amount, and the totals say so.
    let bare: Vec<_> = account.lines.iter().filter(|line| line.rate.is_none()).map(|line| (line.item.as_str(), line.quantity, line.pence)).collect();
    assert_eq!(bare, [("gates, stiles and water gates", 2.0, None)]);
    assert!(
        !account.totals.whole && account.totals.without.len() == 1 && account.totals.without[0].contains("gates"),
        "{:?}",
        account.totals.without
    );
}

#[test]
fn years_and_figures_are_as_reckoned_by_hand() {
    let account = by_hand();
    let mut rows = table("year");
    let all = rows.pop().unwrap();
    assert_eq!(account.years.len(), rows.len());
    for (year, row) in account.years.iter().zip(rows) {
        let mut found = vec![year.year.to_string()];
        found.extend(told(&year.cost));
        found.push(year.income[1].to_string());
        found.extend(told(&year.net));
        found.push(year.balance.to_string());
        assert_eq!(found, row);
    }
    let totals = &account.totals;
    assert_eq!([told(&totals.cost), vec![totals.income[1].to_string()], told(&totals.net)].concat(), all[1..8]);
    let worth = &account.worth;
    let unit = account.per_usable_ha.as_ref().unwrap();
    let some = |three: [Option<Pence>; 3]| told(&three.map(Option::unwrap));
    let found = [told(&worth.cost), told(&worth.income), told(&worth.net), told(&worth.equal_annual), some(unit.cost), some(unit.cost_less_income)];
    for (row, found) in table("figure").iter().zip(found) {
        assert_eq!(row[1..], found, "{}", row[0]);
    }
    // Six years lie before the Treasury's rates fall.
    assert_eq!(account.worth_falling.net, worth.net);
    let low = account.low.as_ref().unwrap();
    assert!(DOC.contains(&format!("The purse is lowest in {} and pays back in {}.", low.year, account.payback.unwrap())));
    assert_eq!(low.balance, account.years[0].balance);
    assert_eq!(worth.convention, "3.5 % a year; money of 2027 is not discounted; without inflation");
}

#[test]
fn rates_moved_are_as_reckoned_by_hand() {
    let account = by_hand();
    let rows = table("flow | rate");
    assert_eq!(account.sensitivity.len(), rows.len());
    for (moved, row) in account.sensitivity.iter().zip(rows) {
        let flow = if moved.flow == Flow::Cost { "cost" } else { "income" };
        assert!(moved.items.contains(&row[1]) && flow == row[0], "{moved:?}");
        assert_eq!([vec![moved.size.to_string()], told(&moved.net)].concat(), [row[2].clone(), row[5].clone(), row[6].clone()]);
        assert_eq!([moved.gbp[0], moved.gbp[2]], [&row[3], &row[4]].map(|cell| cell.parse::<f64>().unwrap()));
        assert_eq!(moved.fixed, row[3] == row[4]);
    }
}

#[test]
fn claims_are_the_income_and_what_lost_says_why() {
    let account = by_hand();
    let sum: Pence = account.claims.iter().filter_map(|claim| claim.pence).sum();
    assert_eq!(sum, account.totals.income[1]);
    assert!(account.claims.is_sorted_by_key(|claim| claim.year));
    for claim in &account.claims {
        assert!(claim.evidence.len() > 10 && claim.condition.len() > 10 && !claim.says.is_empty() && claim.place != claim.measure, "{claim:?}");
    }
    let mut lost: Vec<_> = account.not_claimed.iter().map(|n| (n.payment.as_str(), n.measure.as_str(), n.instead.join(" "))).collect();
    lost.sort();
    assert_eq!(
        lost,
        [
            ("cup12", "G1", "upl8".to_string()),
            ("cup8", "G1", String::new()),
            ("up1", "R1", "up2".to_string()),
            ("upl1", "G1", String::new()),
            ("upl2", "G1", String::new())
        ]
    );
    let why = |id: &str| account.not_claimed.iter().find(|n| n.payment == id).unwrap().why.clone();
    assert!(why("cup12").contains("UPL8") && why("upl1").contains("before the measure"));
}

#[test]
fn what_a_rate_stands_on_is_said_on_every_line() {
    let account = by_hand();
    let says = |measure: &str, item: &str| account.lines.iter().find(|l| l.measure == measure && l.item.starts_with(item)).unwrap().says.join("; ");
    assert_eq!(says("W1", "stock fence"), "your own rate");
    assert_eq!(says("H1", "cutting"), "market default, no source: put your own in; rate of 2026, used for 2027: up to a year old, prices not raised");
    assert_eq!(says("F1", "Sheep netting"), "published rate; rate of 2023, used for 2028: up to 5 years old, prices not raised");
    assert!(says("R1", "Rough grazing").contains("year of the rate is not recorded"));
    assert_eq!(says("F1", "gates"), "no rate known");
    assert!(account.lines.iter().all(|line| !line.says.is_empty()));
    assert_eq!(account, by_hand());
    let json = serde_json::to_value(&account).unwrap();
    assert_eq!(json["totals"]["cost"][1], 1_913_389);
}
