//! Reading the user's own rates, and which line each is for.

use super::farm::{account, farm};
use guidance::{Country, Guidance};
use proptest::prelude::*;
use std::sync::LazyLock;
use works::account::{OwnRate, Standing, read_own};

static GUIDANCE: LazyLock<Guidance> = LazyLock::new(|| Guidance::load().unwrap());

fn read(text: &str) -> Result<Vec<OwnRate>, Vec<(usize, String)>> {
    read_own("own.csv", text, &GUIDANCE, Country::England).map_err(|faults| faults.into_iter().map(|f| (f.row, f.column)).collect())
}

#[test]
fn a_table_is_read_as_people_write_it() {
    let text = "\u{feff}Unit,Item,RATE\r\n£/m,cost.market.stock_fence,£11.5\r\n\r\nGBP per m²,scrapes dug,2\r\ngbp_each,\"gates, stiles and water gates\",180\r\n";
    let own = read(text).unwrap();
    let units: Vec<&str> = own.iter().map(|own| own.unit.as_str()).collect();
    assert_eq!(units, ["gbp_per_m", "gbp_per_m2", "gbp_each"]);
    assert_eq!((own[0].gbp, own[2].item.as_str(), own[2].note.as_str()), (11.5, "gates, stiles and water gates", ""));
    assert_eq!(read("item,rate,unit,note\n").unwrap(), []);
}

#[test]
fn all_faults_are_told_at_once() {
    let text = "item,rate,unit,note\nstock fence,eleven,gbp_per_m,\ncost.market.moat,5,gbp_per_m,\n,5,furlongs,\nStock-Fence,9,gbp_per_m,\ncost.market.tree,1,gbp_per_m,\nx,-1,gbp_each,\na,1\nb,\"1,200\",gbp_each,\n";
    let at = |row: usize, column: &str| (row, column.to_string());
    let wanted = [at(2, "rate"), at(3, "item"), at(4, "unit"), at(4, "item"), at(5, "item"), at(6, "unit"), at(7, "rate"), at(8, ""), at(9, "rate")];
    assert_eq!(read(text).unwrap_err(), wanted);
    assert_eq!(read("item,price\nx,1\n").unwrap_err(), [at(1, "rate"), at(1, "unit"), at(1, "price")]);
    assert_eq!(read("").unwrap_err().len(), 3);
    let fault = &read_own("own.csv", "item,rate,unit\ncost.market.stok_fence,5,gbp_per_m\n", &GUIDANCE, Country::England).unwrap_err()[0];
    assert!(fault.to_string().contains("cost.market.stock_fence"), "{fault}");
}

#[test]
fn own_rates_win_and_those_of_no_line_are_told() {
    let own = |item: &str, gbp: f64, unit: &str| OwnRate { item: item.into(), gbp, unit: unit.into(), note: "quoted".into() };
    let rates = vec![
        own("gates, stiles and water gates", 180.0, "gbp_each"),
        own("te4", 1.5, "gbp_each"),
        own("cost.england.fg2_sheep_net", 8.0, "gbp_per_m"),
        own("away keep", 1.0, "gbp_each"),
        own("moat", 1.0, "gbp_each"),
    ];
    let account = account(&farm(), |ask, _| ask.own = rates);
    assert!(account.totals.whole);
    let line = |measure: &str, item: &str| account.lines.iter().find(|l| l.measure == measure && l.item.starts_with(item)).unwrap();
    assert_eq!(line("F1", "gates").pence.unwrap()[1].0, 36_000);
    // The price of a tree is one thing, what is paid for it another.
    assert_eq!((line("W1", "trees").rate.as_ref().unwrap().gbp[1], line("W1", "Tree").rate.as_ref().unwrap().gbp[1]), (1.72, 1.5));
    let (cost, paid) = (line("W1", "stock fence").rate.as_ref().unwrap(), line("W1", "Sheep").rate.as_ref().unwrap());
    assert_eq!((cost.gbp[1], cost.standing, paid.gbp[1], paid.standing), (8.0, Standing::Own, 7.47, Standing::Published));
    let unused: Vec<_> = account.own_unused.iter().map(|own| (own.item.as_str(), own.why.contains("gbp_per_head_per_week"))).collect();
    assert_eq!(unused, [("away keep", true), ("moat", false)]);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(256) })]

    #[test]
    fn any_table_is_read_or_told(text in "(item,rate,unit(,note)?\n)?([a-z.,\"£ 0-9\n\r/]|gbp_per_m|gbp_each|\\PC){0,80}") {
        match read(&text) {
            Ok(own) => prop_assert!(own.iter().all(|own| !own.item.is_empty() && own.gbp >= 0.0 && own.unit.starts_with("gbp"))),
            Err(faults) => prop_assert!(!faults.is_empty()),
        }
    }

    #[test]
    fn what_is_written_is_what_is_read(item in "[a-z]{1,12}( [a-z]{1,8})?", pence in 0..1_000_000_u32, unit in prop::sample::select(vec!["gbp_each", "GBP per m", "£/m", "gbp_per_ha_per_year", "£ per hour", "GBP an hour"])) {
        let own = read(&format!("item,rate,unit\n{item},{:.2},{unit}\n", f64::from(pence) / 100.0));
        match own {
            Ok(own) => prop_assert_eq!((own[0].item.as_str(), own[0].gbp), (item.as_str(), f64::from(pence) / 100.0)),
            // An hour is not written so in the tables.
            Err(_) => prop_assert_eq!(unit, "£ per hour"),
        }
    }
}
