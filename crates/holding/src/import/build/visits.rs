//! Dawn visits: each to a lek that the plan knows by id, by name, or by where the birds were.
//!
//! Birds within `same_lek_m` of a lek belong to it. Places beyond are put together where they lie that near each other,
//! and each group is a lek put forward: a satellite lek within `lone_bird_m` of a known one, else a new lek. A lone cock
//! that near a known lek is counted to it. Leks put forward are made only where the person says so; until then their
//! visits are faults, as a visit cannot stand without its lek.
//!
//! A fault is what would mislead or cannot be used: no lek, no day, figures that are no count or no time. A note is what
//! can honestly be left away or taken as it stands: words for a count or a time, a row alike in everything to another, a
//! row of totals, a visit to no lek without a bird.

use super::cluster::groups;
use super::counting::{Counting, birds, day, is_total, keep};
use super::lek_book::{LekBook, Named};
use super::{Ids, Reading, Row, Values};
use crate::clock;
use crate::import::crs::{Off, off_plan, plan_ground};
use crate::import::fault::ImportFault;
use crate::import::features::Mode;
use crate::import::geometry::settle;
use crate::import::kind::Kind;
use crate::import::note::LeftOut;
use crate::import::proposed::{ProposedLek, within_hundreds};
use crate::import::table::Shape;
use crate::import::value::{Clock, beaufort};
use crate::model::{Extra, Holding, KnownTo, Lek, Rain, Visit};
use crate::words::Word;
use chrono::{NaiveDate, NaiveTime};
use geo::{Distance, Euclidean};
use geo_types::Point;
use std::collections::HashMap;

/// More birds at one lek are a slip; the program's own limit.
const BIRDS_MAX: u32 = 200;
/// Rows named of a lek put forward.
const ROWS_NAMED: usize = 5;

/// A visit whose lek is not settled where `at` is given.
struct Draft {
    visit: Visit,
    at: Option<Point<f64>>,
    /// What the file calls the lek.
    said: String,
    row: usize,
}

/// Where a visit was made.
enum Where {
    Lek(usize),
    Place(Point<f64>),
}

pub(super) fn visits(rows: &[Row], reading: &mut Reading<'_>, ids: &mut Ids, holding: &Holding, counting: &Counting) -> Vec<Visit> {
    if reading.mapping.of("lek").is_none() && !rows.iter().any(|r| matches!(r.shape, Shape::Is(_) | Shape::Broken(_))) {
        let columns = reading.columns.join("`, `");
        reading.faults.push(
            ImportFault::new("a column for `lek`, or the places of the birds", format!("columns `{columns}`"))
                .hint("name it with `--map lek=COLUMN`, or `--map grid_ref=COLUMN`; brood counts go in with `greyhen import FILE broods SOURCE`"),
        );
        return Vec::new();
    }
    if reading.mapping.of("cocks").is_none() {
        let columns = reading.columns.join("`, `");
        let fault = ImportFault::new("a column for `cocks`", format!("columns `{columns}`"));
        reading.faults.push(fault.hint("name it with `--map cocks=COLUMN`: visits without any count would tell of none"));
    }
    let mut book = LekBook::new(&holding.leks, counting.lone_bird_m.max(counting.same_lek_m));
    let ground = plan_ground(holding);
    let mut drafts = Vec::new();
    for (at, row) in rows.iter().enumerate() {
        let before = reading.faults.total;
        let mut v = reading.row(row, place(row).map(|p| p.x_y()));
        if is_total(&v, at + 1 == rows.len()) {
            v.note("a row of totals was left out");
            continue;
        }
        let id = ids.next(&mut v);
        let stood = stand(row, &mut v, &mut book, counting);
        if let Some(Where::Place(_)) = &stood
            && let Some(Off::Far(fault)) = off_plan(row, holding, ground)
        {
            v.push(fault);
        }
        let draft = visit(&mut v, counting).zip(stood).zip(id).map(|((visit, stood), id)| match stood {
            Where::Lek(lek) => Draft { visit: Visit { id, lek: book.lek(lek).id.clone(), ..visit }, at: None, said: String::new(), row: at },
            Where::Place(place) => Draft { visit: Visit { id, ..visit }, at: Some(place), said: v.text("lek"), row: at },
        });
        if counting.leave_out && reading.leave_out(before, &row.place) {
            continue;
        }
        drafts.extend(draft);
    }
    settle_places(&mut drafts, rows, reading, holding, &book, counting);
    once_each(drafts, rows, reading, holding, counting)
}

fn place(row: &Row) -> Option<Point<f64>> {
    match &row.shape {
        Shape::Is(drawn) => settle::point(drawn.clone()).ok().map(|(point, _)| point),
        _ => None,
    }
}

/// Where the visit of a row was made, by what the row says; `None` after a fault.
fn stand(row: &Row, v: &mut Values<'_, '_>, book: &mut LekBook<'_>, counting: &Counting) -> Option<Where> {
    let said = v.text("lek");
    let place = place(row);
    if said.is_empty() {
        if place.is_none() {
            match &row.shape {
                Shape::Broken(why) => v.push(ImportFault::new("the lek, or a place that can be read", why.clone()).row(&row.place)),
                Shape::Is(_) => v.push(ImportFault::new("the lek, or a single point", "another geometry").row(&row.place)),
                _ => v.fault("lek", "the lek, by id or name, or the place of the birds", "write the lek in every row"),
            }
        }
        return place.map(Where::Place);
    }
    match (book.named(&said), place) {
        (Named::One(lek), place) => {
            if place.is_some_and(|p| Euclidean.distance(&p, &book.lek(lek).at) > counting.same_lek_m) {
                v.note(format!("the place lies more than {:.0} m from the lek named; the lek named was taken", counting.same_lek_m));
            }
            Some(Where::Lek(lek))
        }
        (Named::Several(ids), _) => {
            v.fault("lek", "the name of one lek", format!("the leks {ids} are called so: write the id"));
            None
        }
        (Named::Unknown(_), Some(place)) => Some(Where::Place(place)),
        (Named::Unknown(hint), None) => {
            v.fault("lek", "a lek of the plan, by id or name", hint);
            None
        }
    }
}

/// The visit of a row, without its id and lek; `None` after a fault.
fn visit(v: &mut Values<'_, '_>, counting: &Counting) -> Option<Visit> {
    let mut extra = v.extra();
    let day = day(v, counting);
    let start = start(v, day.map(|(date, _)| date), &mut extra);
    let cocks = birds(v, "cocks", BIRDS_MAX, &mut extra);
    let hens = birds(v, "hens", BIRDS_MAX, &mut extra);
    let wind_beaufort = wind(v, &mut extra);
    let rain = rain(v, &mut extra);
    let told: Option<KnownTo> = v.word("known_to");
    let (weather, observer, note) = (v.text("weather"), v.text("observer"), v.text("note"));
    let (date, known_to) = day?;
    let known_to = told.filter(|_| known_to == KnownTo::Day).unwrap_or(known_to);
    if known_to != KnownTo::Day {
        v.note("only the month or the year of a count is known; its season and hour are not judged");
    }
    Some(Visit { id: String::new(), lek: String::new(), date, start, cocks, hens, weather, note, known_to, observer, wind_beaufort, rain, extra })
}

/// The start by the local clock.
fn start(v: &mut Values<'_, '_>, date: Option<NaiveDate>, extra: &mut Extra) -> Option<NaiveTime> {
    let own = v.has("start");
    match if own { v.clock("start") } else { v.moment_clock("date") }? {
        // A day alone in a column of days and times stands at midnight.
        Clock::At(NaiveTime::MIN, ..) if !own => None,
        Clock::At(NaiveTime::MIN, ..) => {
            v.note("a start at midnight was taken for not recorded");
            None
        }
        Clock::At(time, greenwich, taken) => {
            if let Some(taken) = taken {
                v.note(taken);
            }
            if !greenwich {
                if date.is_some_and(|date| clock::moment(date.and_time(time)).is_none()) {
                    v.note("a start at a time that the clock of its night does not have, as clocks went forward from 01:00 to 02:00: kept as it stands; look at the day, or whether it is Greenwich time");
                }
                return Some(time);
            }
            v.note("times said to be Greenwich time were brought to the clock in use that day");
            date.map(|date| clock::local(date.and_time(time).and_utc()).time())
        }
        Clock::Unclear => {
            v.note("words or marks that give no time were kept as written, and the start as not recorded");
            keep(v, "start", extra);
            None
        }
    }
}

fn wind(v: &mut Values<'_, '_>, extra: &mut Extra) -> Option<u8> {
    let said = v.text("wind_beaufort");
    if said.is_empty() {
        return None;
    }
    match beaufort(&said) {
        Some((force, None)) => Some(force),
        Some((force, Some(how))) => {
            v.note(how);
            keep(v, "wind_beaufort", extra);
            Some(force)
        }
        None => {
            v.note("wind that is no Beaufort force was kept as written");
            keep(v, "wind_beaufort", extra);
            None
        }
    }
}

fn rain(v: &mut Values<'_, '_>, extra: &mut Extra) -> Option<Rain> {
    let said = v.text("rain");
    if said.is_empty() {
        return None;
    }
    let rain = Rain::from_word(&said);
    if rain.is_none() {
        v.note(format!("rain in other words than {} was kept as written", Rain::all_words()));
    }
    if rain.is_none_or(|r| r.word() != said) {
        keep(v, "rain", extra);
    }
    rain
}

/// Give visits with a place their lek: one of the plan, or one put forward.
fn settle_places(drafts: &mut Vec<Draft>, rows: &[Row], reading: &mut Reading<'_>, holding: &Holding, book: &LekBook<'_>, counting: &Counting) {
    let mut apart = Vec::new();
    for (number, draft) in drafts.iter_mut().enumerate() {
        let Some(at) = draft.at else { continue };
        match book.nearest(at) {
            Some((lek, apart_m)) if apart_m <= counting.same_lek_m => {
                draft.visit.lek = book.lek(lek).id.clone();
                if !draft.said.is_empty() {
                    reading.notes.row(&rows[draft.row].place, "a lek not known by its name was found by the place of the birds");
                }
            }
            _ => apart.push(number),
        }
    }
    let places: Vec<Point<f64>> = apart.iter().filter_map(|n| drafts[*n].at).collect();
    let mut lek_ids = Ids::new(Kind::Leks, holding.leks.iter().map(|l| l.id.clone()));
    let mut names: HashMap<String, usize> = HashMap::new();
    for group in groups(&places, counting.same_lek_m) {
        let members: Vec<usize> = group.into_iter().map(|n| apart[n]).collect();
        let first_row = &rows[drafts[members[0]].row].place;
        let most_cocks = members.iter().filter_map(|n| drafts[*n].visit.cocks).max().unwrap_or(0);
        let mut lek = proposal(&members, drafts, rows, book, most_cocks, &mut names);
        let near = book.nearest(lek.at);
        let to = match near {
            _ if most_cocks == 0 => {
                for n in &members {
                    let why = "a cock, or a lek of the plan within reach: a count of none at no lek tells of none";
                    LeftOut::add(&mut reading.left_out, why, None, &rows[drafts[*n].row].place, "none");
                }
                None
            }
            Some((known, _)) if most_cocks == 1 => {
                let within_m = counting.lone_bird_m;
                reading.notes.row(first_row, format!("a lone cock within {within_m:.0} m of a known lek was counted to it"));
                Some(book.lek(known).id.clone())
            }
            _ if counting.make_leks => {
                let id = lek_ids.made();
                reading.made.push(Lek::new(&id, &lek.name, lek.at));
                lek.id = Some(id.clone());
                reading.proposed.push(lek);
                Some(id)
            }
            near => {
                let nearest = near.map_or_else(|| "no lek near".to_owned(), |(known, m)| format!("lek {} {}", book.lek(known).id, within_hundreds(m)));
                let found = format!("birds round {}, at most {most_cocks} cocks, {nearest}", lek.name);
                let needed = format!("a lek of the plan within {:.0} m", counting.same_lek_m);
                if counting.leave_out {
                    for n in &members {
                        LeftOut::add(&mut reading.left_out, &needed, None, &rows[drafts[*n].row].place, &found);
                    }
                } else {
                    let hint = "let the leks put forward be made (`--make-leks`), or import the leks first";
                    reading.faults.push(ImportFault::new(needed, found).row(first_row).hint(hint));
                }
                reading.proposed.push(lek);
                None
            }
        };
        for n in members {
            drafts[n].visit.lek = to.clone().unwrap_or_default();
        }
    }
    drafts.retain(|d| !d.visit.lek.is_empty());
}

/// The lek that a group of visits puts forward.
fn proposal(members: &[usize], drafts: &[Draft], rows: &[Row], book: &LekBook<'_>, most_cocks: u32, names: &mut HashMap<String, usize>) -> ProposedLek {
    let places: Vec<Point<f64>> = members.iter().filter_map(|n| drafts[*n].at).collect();
    let sum = places.iter().fold((0.0, 0.0), |(x, y), p| (x + p.x(), y + p.y()));
    let at = Point::new(sum.0 / places.len() as f64, sum.1 / places.len() as f64);
    let said = members.iter().map(|n| drafts[*n].said.as_str()).find(|s| !s.is_empty());
    let name = said.map_or_else(|| kilometre_square(at), str::to_owned);
    let met = names.entry(name.clone()).or_insert(0);
    *met += 1;
    ProposedLek {
        id: None,
        name: if *met > 1 { format!("{name} {met}") } else { name },
        at,
        reach_m: places.iter().map(|p| Euclidean.distance(p, &at)).fold(0.0, f64::max),
        visits: members.len(),
        most_cocks,
        rows: members.iter().take(ROWS_NAMED).map(|n| rows[drafts[*n].row].place.clone()).collect(),
        satellite_of: book.nearest(at).map(|(lek, apart_m)| (book.lek(lek).id.clone(), apart_m)),
    }
}

/// The grid reference of the kilometre square a place lies in.
fn kilometre_square(at: Point<f64>) -> String {
    let lettered = crate::grid_ref::format_grid_ref(at.x(), at.y(), 4).map(|r| r.replace(' ', ""));
    lettered.unwrap_or_else(|| format!("{:.0} {:.0}", (at.x() / 1000.0).floor(), (at.y() / 1000.0).floor()))
}

/// The visits, each once: rows alike in everything to another row, or to a visit of the plan, are left out and said; those
/// that may be one are kept and said.
fn once_each(drafts: Vec<Draft>, rows: &[Row], reading: &mut Reading<'_>, holding: &Holding, counting: &Counting) -> Vec<Visit> {
    let old = if counting.mode == Mode::Add { &holding.visits[..] } else { &[] };
    let mut there: HashMap<(&str, NaiveDate), Vec<&Visit>> = HashMap::new();
    for visit in old {
        there.entry((&visit.lek, visit.date)).or_default().push(visit);
    }
    let mut new: Vec<Visit> = Vec::new();
    let mut met: HashMap<(String, NaiveDate), Vec<usize>> = HashMap::new();
    for Draft { visit, row, .. } in drafts {
        let row = &rows[row].place;
        let old = there.get(&(visit.lek.as_str(), visit.date)).map_or(&[][..], Vec::as_slice);
        let before = met.entry((visit.lek.clone(), visit.date)).or_default();
        if old.iter().any(|v| alike(v, &visit)) {
            reading.notes.row(row, "visits that the plan has already, alike in everything, were left out");
            continue;
        }
        if before.iter().any(|n| alike(&new[*n], &visit)) {
            reading.notes.row(row, "rows alike in everything to another of the file were left out");
            continue;
        }
        let others = || old.iter().copied().chain(before.iter().map(|n| &new[*n]));
        if others().any(|v| v.start.is_some() && v.start == visit.start) {
            reading.notes.row(row, "the lek, day and start of another visit, with other figures: both were kept");
        } else if others().any(|v| v.cocks == visit.cocks && v.known_to == visit.known_to) {
            reading.notes.row(row, "the lek, day and cocks of another visit, which may be the same: both were kept");
        }
        before.push(new.len());
        new.push(visit);
    }
    new
}

/// Whether two visits are alike in everything but their ids.
fn alike(a: &Visit, b: &Visit) -> bool {
    let Visit { id: _, lek, date, start, cocks, hens, weather, note, known_to, observer, wind_beaufort, rain, extra } = a;
    (lek, date, start, cocks, hens) == (&b.lek, &b.date, &b.start, &b.cocks, &b.hens)
        && (weather, note, known_to, observer) == (&b.weather, &b.note, &b.known_to, &b.observer)
        && (wind_beaufort, rain, extra) == (&b.wind_beaufort, &b.rain, &b.extra)
}
