//! What any account keeps to: sums to the penny, low below usual below high, rates moved one by one.

use super::farm::{account, farm};
use guidance::Country;
use guidance::Guidance;
use proptest::prelude::*;
use std::sync::LazyLock;
use works::account::{Account, Ask, Flow, Given, falling, of_option, reckon};
use works::money::{FirstFlow, Pence, Rates, present_value};

static GUIDANCE: LazyLock<Guidance> = LazyLock::new(|| Guidance::load().unwrap());

/// Every sum of an account again from its lines.
fn adds_up(account: &Account) {
    let sum = |flow: Flow, i: usize, year: Option<i32>| -> Pence {
        let lines = account.lines.iter().filter(|line| line.flow == flow);
        let parts = lines.flat_map(|line| &line.parts).filter(|part| year.is_none_or(|year| part.year == year));
        parts.filter_map(|part| part.pence).map(|pence| pence[i]).sum()
    };
    let mut balance = Pence(0);
    for i in 0..3 {
        assert_eq!((account.totals.cost[i], account.totals.income[i]), (sum(Flow::Cost, i, None), sum(Flow::Income, i, None)));
        assert_eq!(account.totals.net[i], account.totals.income[i] - account.totals.cost[2 - i]);
        for year in &account.years {
            assert_eq!((year.cost[i], year.income[i]), (sum(Flow::Cost, i, Some(year.year)), sum(Flow::Income, i, Some(year.year))));
            assert_eq!(year.net[i], year.income[i] - year.cost[2 - i]);
        }
        assert_eq!(account.years.iter().map(|year| year.net[i]).sum::<Pence>(), account.totals.net[i]);
    }
    for year in &account.years {
        balance += year.net[1];
        assert_eq!(balance, year.balance);
        assert!(account.low.as_ref().unwrap().balance <= balance);
    }
    for line in &account.lines {
        for part in &line.parts {
            let wanted = line.rate.as_ref().map(|rate| [0, 1, 2].map(|i| Pence::of(rate.gbp[i], part.quantity[i]).unwrap()));
            assert_eq!(part.pence, wanted);
        }
        assert!(line.pence.is_none_or(|p| p[0] <= p[1] && p[1] <= p[2]));
    }
    let claims: Pence = account.claims.iter().filter_map(|claim| claim.pence).sum();
    assert_eq!(claims, account.totals.income[1]);
    assert!(account.years.windows(2).all(|pair| pair[1].year == pair[0].year + 1));
    assert_eq!(account.totals.whole, account.lines.iter().all(|line| line.rate.is_some()));
    for moved in &account.sensitivity {
        let (low, high) = (account.worth.net[0], account.worth.net[2]);
        assert!(moved.net.iter().all(|net| *net >= low && *net <= high), "{moved:?}");
        assert!(!moved.fixed || moved.net == [account.worth.net[1]; 2]);
    }
}

/// Which line, year, quantities and rates in hundredths, whether the rate is known.
type Drawn = (usize, i32, [u32; 3], [u32; 3], bool);

/// Lines of the farm with other quantities, years and rates.
fn changed(drawn: &[Drawn]) -> Vec<works::account::Line> {
    static BASE: LazyLock<Vec<works::account::Line>> = LazyLock::new(|| account(&farm(), |_, _| {}).lines);
    let base = &BASE;
    drawn
        .iter()
        .map(|(which, year, quantity, gbp, known)| {
            let mut line = base[which % base.len()].clone();
            let three = |of: &[u32; 3]| {
                let mut of = of.map(|n| f64::from(n) / 100.0);
                of.sort_by(f64::total_cmp);
                of
            };
            line.parts.truncate(1);
            line.parts[0].year = *year;
            line.parts[0].quantity = three(quantity);
            line.rate = line.rate.filter(|_| *known).map(|mut rate| {
                (rate.key, rate.gbp) = (format!("drawn.{gbp:?}"), three(gbp));
                rate
            });
            line.parts[0].pence = line.rate.as_ref().map(|rate| [0, 1, 2].map(|i| Pence::of(rate.gbp[i], line.parts[0].quantity[i]).unwrap()));
            line.pence = line.parts[0].pence;
            line.quantity = line.parts[0].quantity[1];
            line
        })
        .collect()
}

fn given(lines: Vec<works::account::Line>) -> Given {
    let falling = falling(&GUIDANCE, Country::England).unwrap();
    Given {
        lines,
        first_year: 2027,
        falling,
        not_claimed: vec![],
        terms: Default::default(),
        own_unused: vec![],
        says: vec![],
        edition: String::new(),
    }
}

fn ask(percent: f64, first: FirstFlow) -> Ask {
    Ask { rates: Rates::constant(percent / 100.0).unwrap(), first, gain: Some([0.0, 2.0, 4.0]), ..Ask::of(&GUIDANCE, Country::England, 1).unwrap() }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    #[test]
    fn every_account_adds_up(
        drawn in prop::collection::vec((0..20_usize, 2027..2090_i32, prop::array::uniform3(0..500_000_u32), prop::array::uniform3(0..20_000_u32), any::<bool>()), 1..25),
        percent in 0.0..12.0_f64,
        first in prop::sample::select(vec![FirstFlow::Now, FirstFlow::EndOfYear, FirstFlow::MidYear]),
    ) {
        let lines = changed(&drawn);
        let ask = ask(percent, first);
        let account = reckon(given(lines.clone()), &ask).unwrap();
        adds_up(&account);
        // Worth now again, from the lines one by one.
        let mut now = 0.0;
        for line in &account.lines {
            for part in line.parts.iter().filter(|part| part.pence.is_some()) {
                let sign = if line.flow == Flow::Cost { -1.0 } else { 1.0 };
                now += sign * part.pence.unwrap()[1].gbp() * ask.rates.factor(first.years((part.year - 2027) as usize));
            }
        }
        prop_assert!((account.worth.net[1].gbp() - now).abs() < 0.0051, "{} {now}", account.worth.net[1]);
        // Moving a rate is the account with that rate in its place.
        for moved in &account.sensitivity {
            for (end, at) in [0, 2].into_iter().enumerate() {
                let mut other = lines.clone();
                for line in other.iter_mut().filter(|l| l.flow == moved.flow && l.rate.as_ref().is_some_and(|r| r.key == moved.key)) {
                    let gbp = line.rate.as_ref().unwrap().gbp[at];
                    let pence = Pence::of(gbp, line.parts[0].quantity[1]).unwrap();
                    line.parts[0].pence = line.parts[0].pence.map(|p| [p[0], pence, p[2]]);
                    line.pence = line.parts[0].pence;
                }
                prop_assert_eq!(reckon(given(other), &ask).unwrap().worth.net[1], moved.net[end]);
            }
        }
        prop_assert_eq!(reckon(given(lines), &ask).unwrap(), account);
    }
}

#[test]
fn the_farm_adds_up_whichever_way_it_is_asked() {
    for not_wanted in [vec![], vec!["upl8".to_string()], works::account::PAYMENTS.iter().map(|p| p.id.to_string()).collect()] {
        let account = account(&farm(), |ask, _| ask.not_wanted = not_wanted);
        adds_up(&account);
    }
}

#[test]
fn nothing_gained_has_no_cost_for_a_unit() {
    let unit = |gain: [f64; 3]| account(&farm(), |ask, _| ask.gain = Some(gain)).per_gain.unwrap();
    let low = unit([-1.0, 2.0, 4.0]);
    assert!(low.cost[0].is_none() && low.cost[1].is_some() && low.cost[2].is_none() && low.why.contains("low end"));
    let none = unit([-1.0, 0.0, 4.0]);
    assert!(none.cost == [None; 3] && none.why.contains("nothing is gained"));
    assert!(unit([1.0, 2.0, 4.0]).why.is_empty());
}

#[test]
fn far_years_fall_under_the_treasurys_lower_rates() {
    // HM Treasury: 3.5 % to year 30, 3.0 % to 75 (gov.uk, review of discounting, December 2025). Mowing for 60 years from 2027.
    let mut h = farm();
    let facts = [("work", serde_json::json!("short")), ("lek", serde_json::json!("L1")), ("years", serde_json::json!(60))];
    h.measures = vec![super::farm::measure("L", "lek_care", 2027, super::farm::rect(0.0, 0.0, 100.0, 100.0), &facts)];
    super::farm::with(&h, |c, guidance| {
        let mut ask = Ask::of(guidance, Country::England, 1).unwrap();
        ask.first = FirstFlow::EndOfYear;
        let account = of_option(c, &ask).unwrap();
        let flows = vec![Pence(-16_000); 60];
        let factor = |t: i32| 1.035_f64.powi(-t.min(30)) * 1.03_f64.powi(-(t - 30).max(0));
        let wanted: f64 = (1..=60).map(|t| -160.0 * factor(t)).sum();
        assert_eq!(account.worth_falling.net[1], Pence::nearest(wanted).unwrap());
        assert_eq!(account.worth.net[1], Pence::nearest(present_value(&flows, &ask.rates, ask.first)).unwrap());
        assert!(account.worth_falling.net[1] < account.worth.net[1]);
        assert!(
            account.worth_falling.convention.starts_with("3.5 %, 3 % from year 31, 2.5 % from year 76 a year"),
            "{}",
            account.worth_falling.convention
        );
    });
}
