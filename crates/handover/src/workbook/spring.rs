//! Sheets of the birds: the index, what visits found, numbers ahead, the network.

use super::{Cell, Sheet, heads, quantiles, t};
use crate::chart::network::shown;
use crate::content::spring::course;
use crate::pack::Pack;
use crate::secrecy::Secrecy;
use crate::spring::{Linked, Spring};
use birds::project::birds::{Projection, YearBirds};
use birds::trend::Trend;

/// All that there is to tell, in the order of the workbook.
pub(super) fn sheets(pack: &Pack, spring: &Spring) -> Vec<Sheet> {
    let secrecy = pack.secrecy();
    let trend = spring.trend.as_ref().ok().map(trend);
    let found = (!spring.found.leks.is_empty()).then(|| found(pack, spring));
    let ahead = spring.ahead.as_ref().ok().map(|a| ahead(pack, &a.projection, &secrecy));
    let network = spring.network.as_ref().map(|n| network(n, &secrecy));
    [trend, found, ahead, network].into_iter().flatten().collect()
}

/// A number, or nothing.
fn maybe(value: Option<f64>) -> Cell {
    value.map_or_else(|| t(""), Cell::Number)
}

fn trend(trend: &Trend) -> Sheet {
    let smooth = |year: i32| trend.smooth.iter().find(|y| y.year == year).map(|y| y.value);
    let row = |year: i32| {
        let held = trend.index.iter().find(|y| y.year == year);
        let mut row = vec![Cell::Number(f64::from(year))];
        row.extend([held.map(|y| y.value), held.and_then(|y| y.lo), held.and_then(|y| y.hi), smooth(year)].map(maybe));
        row.extend([held.map(|y| y.leks as f64), held.map(|y| y.counted as f64), held.map(|y| y.total)].map(maybe));
        row.push(t(if held.is_none() { "no valid count" } else if year == trend.base { "base year" } else { "" }));
        row
    };
    let heads = heads(&[
        ("Year", 8.0),
        ("Index", 9.0),
        ("Lower limit", 9.0),
        ("Upper limit", 9.0),
        ("Smooth curve", 9.0),
        ("Leks counted", 9.0),
        ("Cocks counted", 9.0),
        ("Cocks at all leks, fitted where not counted", 16.0),
        ("Note", 18.0),
    ]);
    Sheet { name: "Trend", heads, rows: (trend.span.0..=trend.span.1).map(row).collect() }
}

fn found(pack: &Pack, spring: &Spring) -> Sheet {
    let name = |id: &str| pack.holding.leks.iter().find(|l| l.id == id).map_or_else(|| id.to_owned(), |l| l.name.clone());
    let rows = spring.found.leks.iter().map(|l| {
        let f = &l.figure;
        let cocks = l.cocks.as_ref().and_then(|c| c.as_ref().ok());
        let missed = l.missed();
        let mut row = vec![t(name(&l.lek)), Cell::Number(f64::from(f.year)), Cell::Number(f.visits as f64), Cell::Number(f.valid as f64)];
        row.push(maybe(f.cocks.map(f64::from)));
        row.extend([cocks.map(|c| c.mean.round()), cocks.map(|c| f64::from(c.low)), cocks.map(|c| f64::from(c.high))].map(maybe));
        row.extend([missed.map(|m| m.value), missed.map(|m| m.low), missed.map(|m| m.high)].map(maybe));
        row
    });
    let heads = heads(&[
        ("Lek", 24.0),
        ("Year", 8.0),
        ("Visits", 8.0),
        ("Visits that count", 9.0),
        ("Cocks", 8.0),
        ("Probably had", 10.0),
        ("at least", 9.0),
        ("at most", 9.0),
        ("Share missed", 9.0),
        ("at least", 9.0),
        ("at most", 9.0),
    ]);
    Sheet { name: "Counts weighed", heads, rows: rows.collect() }
}

fn ahead(pack: &Pack, p: &Projection, secrecy: &Secrecy) -> Sheet {
    let mut names = heads(&[("Option", 26.0), ("Lek", 24.0), ("Years from now", 9.0)]);
    for figure in ["Cocks", "Hens", "Cocks more than as now"] {
        names.extend(["one draw in ten is lower", "middle", "one draw in ten is higher"].map(|q| (format!("{figure}: {q}"), 11.0)));
    }
    names.extend(heads(&[("Mean of cocks more", 10.0), ("Draws with more", 9.0), ("Draws with fewer", 9.0)]));
    names.push((format!("Draws with fewer than {:.0} cocks that year", p.few_cocks), 12.0));
    names.push(("the same, or in a year before".to_owned(), 12.0));
    let mut rows = vec![];
    for c in &p.courses {
        let of: Vec<(Option<&str>, &str, &[YearBirds])> =
            std::iter::once((None, "all leks counted", c.total.as_slice())).chain(c.leks.iter().map(|l| (Some(l.id.as_str()), l.name.as_str(), l.years.as_slice()))).collect();
        for (id, name, years) in of {
            for y in years {
                let d = p.differences.iter().find(|d| c.option.is_some() && d.first.is_none() && d.second == c.option && d.lek.as_deref() == id && d.year == y.year);
                let mut row = vec![t(course(pack, secrecy, c.option)), t(name), Cell::Number(f64::from(y.year))];
                row.extend(quantiles(&y.cocks));
                row.extend(quantiles(&y.hens));
                row.extend(d.map_or_else(|| [t(""), t(""), t("")], |d| quantiles(&d.cocks)));
                row.extend([d.map(|d| d.cocks_mean), d.map(|d| d.more_fraction), d.map(|d| d.fewer_fraction)].map(maybe));
                row.extend([y.few_fraction, y.few_by_fraction].map(Cell::Number));
                rows.push(row);
            }
        }
    }
    rows.push(vec![t(p.words), t(""), t("")]);
    Sheet { name: "Birds ahead", heads: names, rows }
}

fn network(linked: &Linked, secrecy: &Secrecy) -> Sheet {
    let share = |v: f64| Cell::Number(shown(v, secrecy));
    let rows = linked.network.leks.iter().map(|l| {
        let mut row = vec![t(&l.name), Cell::Number(l.weight)];
        row.extend([l.hens.share.p10, l.hens.share.p50, l.hens.share.p90, l.hens.loss, l.cocks.share.p10, l.cocks.share.p50, l.cocks.share.p90, l.cocks.loss].map(share));
        row.push(t(l.nearest.as_ref().map_or_else(|| "none".to_owned(), |(_, km)| secrecy.distance(1000.0 * km))));
        row.push(t(l.isolation.words()));
        row
    });
    let heads = heads(&[
        ("Lek", 24.0),
        ("Weight: cocks its ground could keep", 12.0),
        ("Share by hens: one draw in ten is lower", 12.0),
        ("middle", 9.0),
        ("one draw in ten is higher", 11.0),
        ("Lost without it, by hens", 10.0),
        ("Share by cocks: one draw in ten is lower", 12.0),
        ("middle", 9.0),
        ("one draw in ten is higher", 11.0),
        ("Lost without it, by cocks", 10.0),
        ("Nearest lek", 16.0),
        ("What that means to birds", 50.0),
    ]);
    Sheet { name: "Network", heads, rows: rows.collect() }
}
