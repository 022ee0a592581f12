//! Brood counts: hens and young found on some ground in late summer, with or without a place or a lek.

use super::counting::{Counting, birds, day, is_total, keep};
use super::lek_book::{LekBook, Named};
use super::{Ids, Reading, Row, Values};
use crate::import::crs::{Off, off_plan, plan_ground};
use crate::import::fault::ImportFault;
use crate::import::features::Mode;
use crate::import::geometry::settle;
use crate::import::table::Shape;
use crate::model::{BroodCount, Extra, Holding, KnownTo};
use chrono::{Datelike, NaiveDate};
use std::collections::HashMap;

/// More birds in one count are a slip; the program's own limit.
const BIRDS_MAX: u32 = 1000;

pub(super) fn broods(rows: &[Row], reading: &mut Reading<'_>, ids: &mut Ids, holding: &Holding, counting: &Counting) -> Vec<BroodCount> {
    if ["hens", "hens_with_brood", "young"].iter().all(|f| reading.mapping.of(f).is_none()) {
        let columns = reading.columns.join("`, `");
        reading.faults.push(
            ImportFault::new("a column for `hens`, `hens_with_brood` or `young`", format!("columns `{columns}`"))
                .hint("name them with `--map hens=COLUMN --map hens_with_brood=COLUMN --map young=COLUMN`; dawn visits go in with `greyhen import FILE visits SOURCE`"),
        );
        return Vec::new();
    }
    if ["hens_with_brood", "young"].iter().all(|f| reading.mapping.of(f).is_none()) {
        let columns = reading.columns.join("`, `");
        reading.faults.push(
            ImportFault::new("a column for `young` or `hens_with_brood`: hens alone are no brood count", format!("columns `{columns}`"))
                .hint("name them with `--map young=COLUMN`; dawn visits go in with `greyhen import FILE visits SOURCE`"),
        );
        return Vec::new();
    }
    let mut book = LekBook::new(&holding.leks, counting.same_lek_m);
    let ground = plan_ground(holding);
    let mut all: Vec<BroodCount> = Vec::new();
    let old = if counting.mode == Mode::Add { &holding.broods[..] } else { &[] };
    let nameless = |count: &BroodCount| BroodCount { id: String::new(), ..count.clone() };
    let mut of_day: HashMap<NaiveDate, Vec<BroodCount>> = HashMap::new();
    for count in old {
        of_day.entry(count.date).or_default().push(nameless(count));
    }
    for (at, row) in rows.iter().enumerate() {
        let before = reading.faults.total;
        let mut v = reading.row(row, None);
        if is_total(&v, at + 1 == rows.len()) {
            v.note("a row of totals was left out");
            continue;
        }
        match off_plan(row, holding, ground) {
            Some(Off::Far(fault)) => v.push(fault),
            Some(Off::Near) => v.note("lies more than 2 km off the plan's ground"),
            None => {}
        }
        let id = ids.next(&mut v);
        let count = count(row, &mut v, &mut book, counting);
        if counting.leave_out && reading.leave_out(before, &row.place) {
            continue;
        }
        let Some((id, count)) = id.zip(count) else { continue };
        let same_day = of_day.entry(count.date).or_default();
        if same_day.contains(&count) {
            reading.notes.row(&row.place, "counts alike in everything to another, of the file or of the plan, were left out");
            continue;
        }
        same_day.push(count.clone());
        all.push(BroodCount { id, ..count });
    }
    all
}

/// The count of a row, without its id; `None` after a fault.
fn count(row: &Row, v: &mut Values<'_, '_>, book: &mut LekBook<'_>, counting: &Counting) -> Option<BroodCount> {
    let mut extra = v.extra();
    let day = day(v, counting);
    let at = match &row.shape {
        Shape::Is(drawn) => match settle::point(drawn.clone()) {
            Ok((point, _)) => Some(point),
            Err(_) => {
                v.push(ImportFault::new("a single point, or no place", "another geometry").row(&row.place));
                None
            }
        },
        Shape::Broken(why) => {
            v.push(ImportFault::new("a place that can be read, or none", why.clone()).row(&row.place));
            None
        }
        Shape::None | Shape::Missing => None,
    };
    let said = v.text("lek");
    let lek = match if said.is_empty() { None } else { Some(book.named(&said)) } {
        Some(Named::One(lek)) => book.lek(lek).id.clone(),
        Some(Named::Several(ids)) => {
            v.fault("lek", "the name of one lek", format!("the leks {ids} are called so: write the id"));
            String::new()
        }
        Some(Named::Unknown(_)) => {
            v.note("a site that is no lek of the plan was kept as written");
            keep(v, "lek", &mut extra);
            String::new()
        }
        None => String::new(),
    };
    let hens = birds(v, "hens", BIRDS_MAX, &mut extra);
    let hens_with_brood = birds(v, "hens_with_brood", BIRDS_MAX, &mut extra);
    let young = birds(v, "young", BIRDS_MAX, &mut extra);
    possible(v, hens, hens_with_brood, young, counting.young_most);
    if hens.is_none() && hens_with_brood.is_none() && young.is_none() {
        v.note("no hens, broods or young were counted");
    }
    let dogs = dogs(v, &mut extra);
    let (observer, note) = (v.text("observer"), v.text("note"));
    let (date, known_to) = day?;
    if known_to != KnownTo::Day {
        v.fault("date", "the day of the count", "a brood count without its day cannot be judged");
        return None;
    }
    if let Some([first, last]) = counting.brood_season
        && !(first..=last).contains(&(date.month(), date.day()))
    {
        let told = |(month, day): (u32, u32)| NaiveDate::from_ymd_opt(date.year(), month, day).map_or(String::new(), |d| d.format("%-d %B").to_string());
        v.note(format!("outside the season of brood counts, {} to {}: kept, and left out of the young per hen", told(first), told(last)));
    }
    Some(BroodCount { id: String::new(), date, at, lek, hens, hens_with_brood, young, dogs, observer, note, extra })
}

/// Look whether hens, hens with broods and young can stand together.
fn possible(v: &mut Values<'_, '_>, hens: Option<u32>, with_brood: Option<u32>, young: Option<u32>, most: f64) {
    if let (Some(hens), Some(with)) = (hens, with_brood)
        && with > hens
    {
        v.fault("hens_with_brood", format!("no more hens with broods than hens seen, {hens}"), "look whether the columns are the right ones");
    }
    let Some(young) = young else { return };
    // Young belong to the hens with broods, or to any hen where those were not told apart.
    let (of, called) = if with_brood.is_some() { (with_brood, "hens with a brood") } else { (hens, "hens") };
    let Some(of) = of else { return };
    if young > 0 && of == 0 {
        v.fault("young", format!("no young where no {called} were counted"), "young have a hen, seen or not: count her, or leave the cells of hens and broods empty where they were not counted");
    } else if f64::from(young) > most * f64::from(of) {
        v.fault("young", format!("no more than {most:.0} young to a hen, and there are {of} {called}"), "broods join now and then, but hardly so many; look whether the columns are the right ones");
    } else if with_brood.is_some_and(|with| young < with) {
        v.fault("young", format!("a young at least for each of the {of} hens with a brood"), "a hen without young had no brood; leave the cell empty where young were not counted");
    }
}

/// Whether dogs found the birds: yes or no, or how many dogs, or their names; words that deny any, such as `no dogs`, are no.
fn dogs(v: &mut Values<'_, '_>, extra: &mut Extra) -> Option<bool> {
    let said = v.text("dogs");
    let plain = said.to_lowercase();
    let denies = |word: &str| matches!(word, "no" | "not" | "none" | "nil" | "never" | "without" | "w/o");
    match plain.as_str() {
        "" | "-" | "?" | "n/a" => None,
        "n" | "false" | "f" | "0" => Some(false),
        "yes" | "y" | "true" | "t" | "x" | "1" | "with" => Some(true),
        _ if plain.split_whitespace().next().is_some_and(denies) => {
            if plain.contains(' ') {
                keep(v, "dogs", extra);
            }
            Some(false)
        }
        _ => {
            keep(v, "dogs", extra);
            Some(true)
        }
    }
}
