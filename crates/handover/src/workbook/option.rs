//! Sheets of the option: its measures, how much, what it costs, and the years ahead of every option.

use super::{Cell, Sheet, heads, quantiles, t};
use crate::content::OptionText;
use crate::content::option::{FrontierText, placed};
use crate::pack::Pack;
use crate::planned::{Frontier, FrontierPoint, Planned};
use habitat::ahead::compare;

/// All of them, in the order of the workbook.
pub(super) fn sheets(pack: &Pack, planned: &Planned, option: &OptionText) -> Vec<Sheet> {
    let mut all = vec![jobs(planned, option), amounts(pack, planned, option), costs(pack, planned, option), ahead(planned, option)];
    if let (Some(frontier), Some(said)) = (&planned.frontier, &option.frontier) {
        all.extend([money(frontier, said), next(said)]);
    }
    all
}

fn money(frontier: &Frontier, said: &FrontierText) -> Sheet {
    let mut names = heads(&[("Spent", 20.0), ("Measures", 9.0)]);
    names.extend(["one draw in ten is lower", "middle", "one draw in ten is higher"].map(|q| (format!("Needs met more, together: {q}"), 12.0)));
    names.extend(heads(&[("Birds saved a year", 12.0), ("Worth one by one", 10.0), ("No set is worth more than", 12.0)]));
    let row = |(p, [spent, _, _, saved, ..]): (&FrontierPoint, &[String; 6])| {
        let mut row = vec![t(spent), Cell::Number(p.measures as f64)];
        row.extend(quantiles(&p.gain));
        row.extend([t(saved), Cell::Number(p.worth), Cell::Number(p.bound)]);
        row
    };
    Sheet { name: "Money", heads: names, rows: frontier.points.iter().skip(1).zip(&said.rows).map(row).collect() }
}

fn next(said: &FrontierText) -> Sheet {
    let rows = said.next.iter().enumerate().map(|(i, n)| vec![Cell::Number(i as f64 + 1.0), t(n.title), t(&n.place), t(&n.what), t(&n.cost), t(&n.worth)]);
    let heads = heads(&[("Order", 8.0), ("Kind", 32.0), ("Where", 40.0), ("How much", 26.0), ("Cost", 18.0), ("Worth for £1,000", 12.0)]);
    Sheet { name: "Next pound", heads, rows: rows.collect() }
}

fn jobs(planned: &Planned, option: &OptionText) -> Sheet {
    let words = option.kinds.iter().flat_map(|k| &k.jobs);
    let mut rows: Vec<Vec<Cell>> = planned
        .jobs
        .iter()
        .zip(words)
        .map(|(job, said)| {
            let found: Vec<String> = said.findings.iter().map(|(weight, what)| format!("{weight}: {what}")).collect();
            let year = job.year.map_or_else(|| t(""), |y| Cell::Number(f64::from(y)));
            vec![Cell::Number(said.number as f64), t(&said.id), t(said.title), t(&said.place), year, t(&said.what), t(&said.window), t(&said.cost), t(said.harm.join("\n")), t(found.join("\n"))]
        })
        .collect();
    rows.extend(option.faults.iter().map(|f| vec![t(""), t(""), t(""), t(""), t(""), t(format!("Wrong in the option: {f}"))]));
    rows.push(vec![t(""), t(""), t(""), t(""), t(""), t(option.money)]);
    let heads = heads(&[
        ("Number", 8.0),
        ("Measure", 16.0),
        ("Kind", 22.0),
        ("Where", 28.0),
        ("From year", 8.0),
        ("What", 36.0),
        ("When", 30.0),
        ("Cost", 24.0),
        ("Can harm", 46.0),
        ("The rules say", 46.0),
    ]);
    Sheet { name: "Measures", heads, rows }
}

fn amounts(pack: &Pack, planned: &Planned, option: &OptionText) -> Sheet {
    let secrecy = pack.secrecy();
    let mut rows = vec![];
    let words: Vec<_> = option.kinds.iter().flat_map(|k| &k.jobs).collect();
    for ((job, place), said) in planned.jobs.iter().zip(placed(pack, &secrecy)).zip(words) {
        for q in job.quantities.iter().filter(|q| q.amount != 0.0) {
            let coarse = place.tied || (secrecy.withheld() && q.what.contains("deaths"));
            let amount = if coarse { t(crate::content::option::quantity(q, place.tied, &secrecy).rsplit(": ").next().unwrap_or_default()) } else { Cell::Number(q.amount) };
            rows.push(vec![Cell::Number(said.number as f64), t(&said.id), t(secrecy.words(&q.what)), amount, t(q.unit)]);
        }
    }
    Sheet { name: "Quantities", heads: heads(&[("Number", 8.0), ("Measure", 16.0), ("What", 40.0), ("Amount", 16.0), ("Unit", 20.0)]), rows }
}

fn costs(pack: &Pack, planned: &Planned, option: &OptionText) -> Sheet {
    let secrecy = pack.secrecy();
    let mut rows = vec![];
    let words: Vec<_> = option.kinds.iter().flat_map(|k| &k.jobs).collect();
    for ((job, place), said) in planned.jobs.iter().zip(placed(pack, &secrecy)).zip(words) {
        for (line, told) in job.costs.iter().zip(&said.costs) {
            let mut row = vec![Cell::Number(said.number as f64), t(&said.id), t(&told.what)];
            row.push(if place.tied { t("") } else { Cell::Number(line.amount) });
            row.extend([t(&line.unit), t(&line.rate)]);
            row.extend(line.gbp.map(|gbp| if place.tied { t("") } else { Cell::Number(gbp) }));
            row.push(t(&told.gbp));
            rows.push(row);
        }
    }
    rows.push(vec![t(""), t(""), t(option.money)]);
    let heads = heads(&[
        ("Number", 8.0),
        ("Measure", 16.0),
        ("What for", 40.0),
        ("Amount", 10.0),
        ("Unit", 14.0),
        ("Rate", 34.0),
        ("Low, £", 10.0),
        ("Usual, £", 10.0),
        ("High, £", 10.0),
        ("In words", 30.0),
    ]);
    Sheet { name: "Costs", heads, rows }
}

fn ahead(planned: &Planned, option: &OptionText) -> Sheet {
    let mut names = heads(&[("Option", 26.0), ("Lek", 24.0), ("Season", 13.0), ("Years from now", 9.0), ("Year", 8.0)]);
    for figure in ["Gives, ha", "Gives over need", "More than as now"] {
        names.extend(["one draw in ten is lower", "middle", "one draw in ten is higher"].map(|q| (format!("{figure}: {q}"), 11.0)));
    }
    names.extend(heads(&[("Share of draws short", 10.0), ("Against as now", 16.0)]));
    let mut rows = vec![];
    for (path, said) in planned.paths.iter().zip(&option.paths) {
        let differences = planned.now().filter(|_| path.option.is_some()).map(|now| compare(planned.base, now.forecast, path.forecast)).unwrap_or_default();
        for (lek, ledger) in planned.base.assessment.leks.iter().enumerate() {
            for season in habitat::Season::ALL {
                for year in &path.forecast.years {
                    let Some(s) = year.leks.get(lek).and_then(|l| l.seasons.iter().find(|s| s.season == season)) else { continue };
                    let mut row = vec![t(&said.name), t(&ledger.name), t(season.name()), Cell::Number(f64::from(year.year))];
                    row.push(year.calendar.map_or_else(|| t(""), |y| Cell::Number(f64::from(y))));
                    row.extend(quantiles(&s.supply_ha));
                    row.extend(quantiles(&s.margin));
                    let d = differences.iter().find(|d| d.year == year.year && d.lek == ledger.id && d.season == season);
                    row.extend(d.map_or_else(|| [t(""), t(""), t("")], |d| quantiles(&d.margin)));
                    row.push(Cell::Number(s.short_fraction));
                    row.push(t(d.map_or("", |d| match (d.margin.p10 > 0.0, d.margin.p90 < 0.0) {
                        (true, _) => "surely better",
                        (_, true) => "surely worse",
                        _ if d.better_fraction + d.worse_fraction == 0.0 => "the same",
                        _ => "not told apart",
                    })));
                    rows.push(row);
                }
            }
        }
    }
    Sheet { name: "Years ahead", heads: names, rows }
}
