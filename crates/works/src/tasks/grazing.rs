//! Grazing changed: agreed, keep found for what winters away, stock gathered and moved each year.

use super::job::{Amount, Stage};
use super::of::{Of, done};
use guidance::Unknown;
use measures::kind::facts::{MONTHS, months_of};
use measures::kind::grazing;
use measures::kind::place::parcel_of;
use measures::rules::on_measures::season::{Bound, Season};
use measures::rules::on_measures::when::{DAYS, NAMES, Window};

/// The jobs of a measure.
pub fn jobs(of: &mut Of) -> Result<(), Unknown> {
    let parcel = parcel_of(&of.o.context, &of.facts.word("parcel"), of.measure).map_or(String::new(), |p| if p.name.is_empty() { p.id.clone() } else { p.name.clone() });
    let class = of.facts.word("class").replace('_', " ");
    let mut agree = of.job(Stage::Agree, "", format!("Agree the stock of {parcel} with whoever grazes it"), "adviser");
    agree.notes.push("Days not known. On a common all who share it must agree.".into());
    let agreed = of.put(agree);
    let weeks = of.own("away-keep").into_iter().filter(|a| a.amount > 0.0).collect::<Vec<_>>();
    let mut before = vec![done(&agreed)];
    if !weeks.is_empty() {
        let mut keep = of.paper(Stage::Order, format!("Find away-keep for the {class}s of {parcel}: {:.0} head-weeks a year", weeks[0].amount))?;
        keep.amounts = weeks;
        keep.after = before.clone();
        before = vec![done(&of.put(keep))];
    }
    let years = of.each_year(1, of.facts.number("years")?);
    let away = grazing::away(&of.o.context, of.measure)?;
    for year in years {
        for (from, to) in spells(&away) {
            let most = (0..12).filter(|m| within(from, to, *m)).map(|m| away[m]).fold(0.0, f64::max);
            let keys = if of.measure.facts.contains_key("off_winter_head") { &["stocking.off_winter.first", "stocking.off_winter.last", "schedule.stock_reduction_from"][..] } else { &[] };
            let off = moved(of, year, from, &format!("off-{}", MONTHS[from]), format!("Gather {most:.0} {class}s off {parcel} and send them to their keep"), most, &before, keys);
            of.put(off);
            let back = (to + 1) % 12;
            let return_year = if back <= from { year + 1 } else { year };
            if return_year <= of.settings.last_year() {
                let on = moved(of, return_year, back, &format!("back-{}", MONTHS[back]), format!("Bring {most:.0} {class}s back to {parcel}"), most, &before, keys);
                of.put(on);
            }
        }
        for (words, head) in of.facts.table("head").unwrap_or_default() {
            let months = months_of(&words).unwrap_or_default();
            let Some(first) = months.first().copied() else { continue };
            let job = moved(of, year, first, &format!("head-{}", MONTHS[first]), format!("Have {head:.0} {class}s on {parcel} in {words}"), head, &before, &[]);
            of.put(job);
        }
    }
    Ok(())
}

/// Stock moved in the first days of a month.
fn moved(of: &Of, year: i32, month: usize, tail: &str, what: String, head: f64, after: &[super::job::Wait], keys: &[&'static str]) -> super::Job {
    let mut job = of.job(Stage::Keep, &format!("{tail}-{year}"), what, "stock");
    job.year = year;
    job.earliest = of.from_year(year);
    job.amounts.push(Amount { what: "head".into(), amount: head, unit: "head".into() });
    job.after.extend(after.iter().cloned());
    let window = Window { first: (month as u32 + 1, 1), last: (month as u32 + 1, DAYS[month]) };
    let words = format!("in {}", NAMES[month]);
    job.season = Season { bounds: vec![Bound { window, opens: true, words, keys: keys.to_vec(), lek: None }], left: vec![window] };
    job.notes.push("Days to gather are not known.".into());
    job
}

fn within(from: usize, to: usize, month: usize) -> bool {
    if from <= to { (from..=to).contains(&month) } else { month >= from || month <= to }
}

/// The spells of months in which head are away: first and last month of each.
fn spells(away: &[f64; 12]) -> Vec<(usize, usize)> {
    let out = |m: usize| away[m % 12] > 0.0;
    if (0..12).all(out) {
        return vec![(0, 11)];
    }
    let begins = (0..12).filter(|m| out(*m) && !out(m + 11));
    begins.map(|from| (from, (from + (0..12).take_while(|n| out(from + n)).count() - 1) % 12)).collect()
}
