//! Grazing put forward: limits kept by whole animals, every head accounted for, prices that foretell what moving a limit does.

use guidance::Guidance;
use habitat::{Assessed, Settings, assess};
use holding::{Holding, Measure, Stock, StockClass};
use measures::kind::grazing::away;
use measures::option::holding_with;
use measures::rules::{Context, check_option};
use measures::suggest::grazing::{Ask, Design, suggest};

/// The demonstration with its sheep times a factor.
fn ground(times: f32) -> (Holding, Guidance, Assessed) {
    let mut h = crate::demonstration();
    for s in h.stock.iter_mut().filter(|s| sheep(s)) {
        s.head.iter_mut().for_each(|n| *n = (*n * times).round());
    }
    let g = Guidance::load().unwrap_or_else(|f| panic!("{f:?}"));
    let a = assess(&h, &g, Settings { draws: 2, ..Settings::default() }).unwrap();
    (h, g, a)
}

fn sheep(s: &Stock) -> bool {
    matches!(s.class, StockClass::HillEwe | StockClass::HeavyEwe | StockClass::Hogg)
}

fn laid(h: &Holding, d: &Design) -> Holding {
    let mut with = h.clone();
    with.options.push(holding::PlanOption { number: 1, name: "flock".into(), note: String::new() });
    with.measures.extend(d.suggested.iter().map(|s| Measure { option: 1, ..s.measure.clone() }));
    with
}

#[test]
fn limits_are_kept_by_whole_animals_and_none_is_lost() {
    for times in [1.0, 3.0] {
        let (h, g, a) = &ground(times);
        let c = Context::new(h, g, a);
        let d = suggest(&c, &Ask::usual(&c).unwrap()).unwrap();
        assert!(!d.suggested.is_empty() && d.gbp_a_year >= d.bound_gbp_a_year - 1e-6, "{} under {}", d.gbp_a_year, d.bound_gbp_a_year);
        // Whole animals cost at most a few head more than the straightened program.
        assert!(d.gbp_a_year <= 1.02 * d.bound_gbp_a_year + 100.0, "{} for {}", d.gbp_a_year, d.bound_gbp_a_year);
        for u in &d.used {
            assert!(u.then <= u.limit + 1e-3, "{u:?}");
        }
        let with = laid(h, &d);
        let c = Context::new(&with, g, a);
        let after = holding_with(&c, 1).unwrap();
        for month in 0..12 {
            let head = |of: &Holding| of.stock.iter().filter(|s| sheep(s)).map(|s| f64::from(s.head[month])).sum::<f64>();
            let gone: f64 = with.measures.iter().map(|m| away(&c, m).unwrap()[month]).sum();
            assert!((head(h) - head(&after) - gone).abs() < 1e-3, "month {month}: {} of {} left, {gone} away", head(&after), head(h));
        }
        assert!(after.stock.iter().all(|s| s.head.iter().all(|n| *n >= 0.0 && n.fract() == 0.0)));
        // Where cattle alone are too many the plan says so and cannot mend it.
        let told = |f: &measures::Finding| with.parcels.iter().any(|p| f.place.contains(&p.name) && d.notes.iter().any(|n| n.contains(&p.name)));
        let broken: Vec<_> = check_option(&c, 1, None)
            .unwrap()
            .into_iter()
            .filter(|f| f.rule == "off_winter_nowhere" || (f.rule == "stocking_high" && !told(f)))
            .map(|f| (f.place, f.value))
            .collect();
        assert!(broken.is_empty(), "{broken:?}");
    }
}

/// The same question has the same answer; a limit moved a little changes the cost by about the sum of what the words say each parcel's is worth.
#[test]
fn prices_foretell_what_a_moved_limit_does() {
    let (h, g, a) = &ground(1.0);
    let c = Context::new(h, g, a);
    let usual = Ask::usual(&c).unwrap();
    let d = suggest(&c, &usual).unwrap();
    assert_eq!(d.suggested, suggest(&c, &usual).unwrap().suggested);
    let told: f64 = d.prices.iter().filter(|p| p.contains("is held in winter")).filter_map(|p| p.split('£').nth(1)?.split(' ').next()?.parse::<f64>().ok()).sum();
    let [summer, winter] = usual.stocking.unwrap();
    let looser = suggest(&c, &Ask { stocking: Some([summer, winter + 0.1]), ..usual }).unwrap();
    let saved = d.bound_gbp_a_year - looser.bound_gbp_a_year;
    assert!(told > 500.0 && (saved - told).abs() < 0.03 * told, "told {told}, saved {saved}");
}

#[test]
fn without_sheep_that_is_told() {
    let (mut h, g, a) = ground(0.0);
    h.stock.retain(|s| !sheep(s));
    let c = Context::new(&h, &g, &a);
    assert!(suggest(&c, &Ask::usual(&c).unwrap()).err().unwrap().to_string().contains("no sheep"));
}
