//! Grazing changed: agreed, keep found for what winters away, stock gathered and moved each year.

use super::job::{Amount, Job, Stage, Wait};
use super::of::{Of, done};
use guidance::Unknown;
use measures::kind::facts::MONTHS;
use measures::kind::grazing;
use measures::kind::place::parcel_of;
use measures::rules::on_measures::season::{Bound, Season};
use measures::rules::on_measures::when::{DAYS, NAMES, Window};

/// The jobs of a measure.
pub fn jobs(of: &mut Of) -> Result<(), Unknown> {
    let parcel = parcel_of(&of.o.context, &of.facts.word("parcel"), of.measure)
        .map_or(String::new(), |p| if p.name.is_empty() { p.id.clone() } else { p.name.clone() });
    let class = of.facts.word("class").replace('_', " ");
    let mut agree = of.job(Stage::Agree, "", format!("Agree the stock of {parcel} with whoever grazes it"), "adviser");
    agree.notes.push("On a common all who share it must agree.".into());
    let agreed = of.put(agree);
    let weeks = of.own("away-keep").into_iter().filter(|a| a.amount > 0.0).collect::<Vec<_>>();
    let mut before = vec![done(&agreed)];
    if !weeks.is_empty() {
        let mut keep = of.paper(Stage::Order, format!("Find away-keep for the {class}s of {parcel}: {:.0} head-weeks a year", weeks[0].amount))?;
        keep.amounts = weeks;
        keep.after = before.clone();
        before = vec![done(&of.put(keep))];
    }
    let Some(heads) = grazing::heads(&of.o.context, of.measure)? else { return Ok(()) };
    let keys = if of.measure.facts.contains_key("off_winter_head") {
        &["stocking.off_winter.first", "stocking.off_winter.last", "schedule.stock_reduction_from"][..]
    } else {
        &[]
    };
    for (n, year) in of.each_year(1, of.facts.number("years")?).into_iter().enumerate() {
        for month in 0..12 {
            let last = (month + 11) % 12;
            // The first January follows a December as it was.
            let (stood, kept) = if n == 0 && month == 0 { (heads.now[last], 0.0) } else { (heads.then[last], heads.away[last]) };
            let (stand, keep) = (heads.then[month], heads.away[month]);
            if (stand - stood).abs() < 0.5 && (keep - kept).abs() < 0.5 {
                continue;
            }
            let what = words(&class, &parcel, [stood, stand], [kept, keep]);
            let job = moved(of, year, month, what, (stand - stood).abs(), &before, keys);
            of.put(job);
        }
    }
    Ok(())
}

/// A move in words: how many stand there before and then, and how many are at their keep.
fn words(class: &str, parcel: &str, stand: [f64; 2], keep: [f64; 2]) -> String {
    let some = |n: f64| if n < 0.5 { "none".to_string() } else { format!("{n:.0}") };
    let moved = |[before, then]: [f64; 2]| if (then - before).abs() < 0.5 { "as before".to_string() } else { format!("{} before", some(before)) };
    let there = format!(
        "Have {} {class}{} on {parcel} ({})",
        if stand[1] < 0.5 { "no".into() } else { some(stand[1]) },
        if stand[1].round() == 1.0 { "" } else { "s" },
        moved(stand)
    );
    if keep.iter().all(|k| *k < 0.5) { there } else { format!("{there}, {} at their keep ({})", some(keep[1]), moved(keep)) }
}

/// Stock moved in the first days of a month.
fn moved(of: &Of, year: i32, month: usize, what: String, head: f64, after: &[Wait], keys: &[&'static str]) -> Job {
    let mut job = of.job(Stage::Keep, &format!("{year}-{}", MONTHS[month]), what, "stock");
    of.in_year(&mut job, year);
    job.amounts.push(Amount { what: "head".into(), amount: head, unit: "head".into() });
    job.after.extend(after.iter().cloned());
    let window = Window { first: (month as u32 + 1, 1), last: (month as u32 + 1, DAYS[month]) };
    let words = format!("in {}", NAMES[month]);
    job.season = Season { bounds: vec![Bound { window, opens: true, words, keys: keys.to_vec(), lek: None }], left: vec![window] };
    job
}
