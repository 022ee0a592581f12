//! The board of the works: months of the years across, a row for each kind of work and its stage, days shut to it hatched, its tasks as bars
//! in open ones under their numbers, and the money of each year below.
//!
//! A task whose days are not known is a ring on the first day it may be done. A bar that rests over a shut season goes on as a line.

use crate::content::works::Telling;
use crate::svg::hatch::Hatch;
use crate::svg::palette::{BENT, COTTON, INK, LICHEN, RUSSET, STONE};
use crate::svg::{Anchor, Svg, Type, fitted, text_width_mm};
use crate::words;
use crate::works::Works;
use ::works::account::{Account, YearSum};
use ::works::money::Pence;
use ::works::tasks::{Done, Stage};
use chrono::{Datelike, Days, NaiveDate};
use measures::kind;
use measures::rules::on_measures::season::Season;

/// Width of a board, millimetres: A4 on its side.
pub const WIDTH_MM: f64 = 261.0;
/// Years on one sheet at the most.
const YEARS: i32 = 6;
/// Lanes on one sheet at the most.
const LANES: usize = 23;
const LABEL_MM: f64 = 50.0;
const TITLE_MM: f64 = 7.0;
const HEAD_MM: f64 = 9.0;
const LANE_MM: f64 = 4.0;
const BAR_MM: f64 = 2.8;
const MONEY_MM: f64 = 17.5;
const KEY_MM: f64 = 11.5;
/// Size of the numbers and the small words.
const SMALL_MM: f64 = 2.6;
/// Worked days no further apart than this are one bar: a weekend lies between.
const RUN_DAYS: i64 = 4;

/// Tasks of one kind of measure in one stage that may be done on the same days.
struct Row<'a> {
    kind: &'static str,
    stage: Stage,
    season: &'a Season,
    /// Number and task.
    tasks: Vec<(usize, Done<'a>)>,
}

/// One line of bars on a sheet: its row, whether it is the first of that row there, and its tasks.
struct Lane {
    row: usize,
    first: bool,
    tasks: Vec<usize>,
}

/// A sheet: first and last year, and its lanes.
struct Sheet {
    years: (i32, i32),
    lanes: Vec<Lane>,
}

/// How many sheets there are; none where no task is on a day.
pub fn sheets(works: &Works) -> usize {
    laid(works, &rows(works)).len()
}

/// The sheets, as pictures. `title` stands above each; empty for none.
pub fn board(works: &Works, telling: &Telling, title: &str) -> Vec<String> {
    let rows = rows(works);
    let sheets = laid(works, &rows);
    let many = sheets.len();
    sheets.iter().enumerate().map(|(i, sheet)| draw(works, telling, &rows, sheet, title, (i + 1, many))).collect()
}

/// The rows, kind by kind in the order of the book, stage by stage.
fn rows(works: &Works) -> Vec<Row<'_>> {
    let mut out: Vec<Row> = Vec::new();
    for (number, done) in (1..).zip(works.made.on_days()) {
        let job = done.job;
        let is = |row: &&mut Row| row.kind == job.kind && row.stage == job.stage && row.season.all_year() == job.season.all_year() && row.season.left == job.season.left;
        match out.iter_mut().find(is) {
            Some(row) => row.tasks.push((number, done)),
            None => out.push(Row { kind: job.kind, stage: job.stage, season: &job.season, tasks: vec![(number, done)] }),
        }
    }
    let place = |key: &str| kind::all().iter().position(|e| e.key == key);
    out.sort_by_key(|row| (place(row.kind), row.stage));
    out
}

/// Rows on sheets: blocks of years, then as many lanes as a sheet holds.
fn laid(works: &Works, rows: &[Row]) -> Vec<Sheet> {
    let (first, last) = (works.asked.settings.first_year(), works.asked.settings.last_year());
    let blocks = (last - first + YEARS) / YEARS;
    let each = (last - first + blocks) / blocks.max(1);
    let mut out = Vec::new();
    for from in (first..=last).step_by(each.max(1) as usize) {
        let years = (from, (from + each - 1).min(last));
        let mut sheet: Vec<Lane> = Vec::new();
        for (i, row) in rows.iter().enumerate() {
            let lanes = lanes(row, years);
            if sheet.len() + lanes.len() > LANES && (lanes.len() <= LANES || sheet.len() == LANES) {
                out.push(Sheet { years, lanes: std::mem::take(&mut sheet) });
            }
            for (k, tasks) in lanes.into_iter().enumerate() {
                if sheet.len() == LANES {
                    out.push(Sheet { years, lanes: std::mem::take(&mut sheet) });
                }
                sheet.push(Lane { row: i, first: k == 0 || sheet.is_empty(), tasks });
            }
        }
        if !sheet.is_empty() {
            out.push(Sheet { years, lanes: sheet });
        }
    }
    out.retain(|sheet| !sheet.lanes.is_empty());
    out
}

/// The days of a block of years across a sheet.
#[derive(Clone, Copy)]
struct Across {
    first: NaiveDate,
    days: f64,
}

impl Across {
    fn new((from, to): (i32, i32)) -> Self {
        let day = |year: i32| NaiveDate::from_ymd_opt(year, 1, 1).unwrap_or_default();
        Self { first: day(from), days: (day(to + 1) - day(from)).num_days() as f64 }
    }

    /// Where a day begins.
    fn at(self, day: NaiveDate) -> f64 {
        let share = (day - self.first).num_days() as f64 / self.days;
        LABEL_MM + (WIDTH_MM - LABEL_MM) * share.clamp(0.0, 1.0)
    }

    /// Where it ends.
    fn end(self, day: NaiveDate) -> f64 {
        self.at(day + Days::new(1))
    }
}

/// A task on a sheet: where its bar begins and ends, and where its number stands.
struct Spot {
    from: f64,
    to: f64,
    number: f64,
    inside: bool,
}

fn spot(across: Across, number: usize, done: &Done) -> Spot {
    let from = across.at(done.planned.first);
    let to = across.end(done.planned.last).max(from + 1.0).min(WIDTH_MM);
    let wide = text_width_mm(&number.to_string(), SMALL_MM) + 0.8;
    let whole = done.planned.worked.len() as f64 * 7.0 / 5.0 + 3.0 >= (done.planned.last - done.planned.first).num_days() as f64;
    match () {
        () if whole && done.job.days.is_some() && to - from > wide + 0.6 => Spot { from, to, number: (from + to) / 2.0, inside: true },
        () if to + wide > WIDTH_MM => Spot { from, to, number: from - wide / 2.0 - 0.3, inside: false },
        () => Spot { from, to, number: to + wide / 2.0 + 0.3, inside: false },
    }
}

/// The tasks of a row in a block of years on as few lanes as keep bars and numbers apart: places in the row's list.
fn lanes(row: &Row, years: (i32, i32)) -> Vec<Vec<usize>> {
    let across = Across::new(years);
    let mut lanes: Vec<(f64, Vec<usize>)> = Vec::new();
    for (i, (number, done)) in row.tasks.iter().enumerate() {
        if done.planned.last.year() < years.0 || done.planned.first.year() > years.1 {
            continue;
        }
        let spot = spot(across, *number, done);
        let half = text_width_mm(&number.to_string(), SMALL_MM) / 2.0 + 0.6;
        let (from, to) = (spot.from.min(spot.number - half), spot.to.max(spot.number + half));
        match lanes.iter_mut().find(|(end, _)| *end <= from) {
            Some(lane) => {
                lane.0 = to;
                lane.1.push(i);
            }
            None => lanes.push((to, vec![i])),
        }
    }
    lanes.into_iter().map(|(_, tasks)| tasks).collect()
}

fn draw(works: &Works, telling: &Telling, rows: &[Row], sheet: &Sheet, title: &str, (page, pages): (usize, usize)) -> String {
    let top = if title.is_empty() { HEAD_MM } else { TITLE_MM + HEAD_MM };
    let base = top + LANE_MM * sheet.lanes.len() as f64;
    let mut svg = Svg::new(WIDTH_MM, base + MONEY_MM + KEY_MM);
    let across = Across::new(sheet.years);
    if !title.is_empty() {
        let of = if pages > 1 { format!("sheet {page} of {pages}") } else { String::new() };
        svg.text(0.0, 4.2, Type::plain(4.0).bold(), &fitted(title, 4.0, WIDTH_MM - 30.0));
        svg.text(WIDTH_MM, 4.2, Type::plain(2.8).colour(STONE).anchor(Anchor::End), &of);
    }
    for (i, lane) in sheet.lanes.iter().enumerate() {
        shut(&mut svg, works, rows[lane.row].season, across, top + LANE_MM * i as f64);
    }
    months(&mut svg, sheet.years, across, top, base);
    for (i, lane) in sheet.lanes.iter().enumerate() {
        let y = top + LANE_MM * i as f64;
        if lane.first {
            svg.line(0.0, y, WIDTH_MM, y, &format!(r#"stroke="{STONE}" stroke-width=".18""#));
            svg.text(0.0, y + 3.0, Type::plain(2.8), &fitted(&label(rows, lane.row), 2.8, LABEL_MM - 1.5));
        }
        for task in &lane.tasks {
            let (number, done) = &rows[lane.row].tasks[*task];
            bar(&mut svg, *number, done, across, y);
        }
    }
    svg.line(0.0, base, WIDTH_MM, base, &format!(r#"stroke="{INK}" stroke-width=".3""#));
    money(&mut svg, works.account.as_ref().ok(), sheet.years, across, base);
    key(&mut svg, telling, base + MONEY_MM);
    svg.finish()
}

/// What a row is called.
fn label(rows: &[Row], i: usize) -> String {
    let row = &rows[i];
    let what = match row.stage {
        Stage::Survey => "survey",
        Stage::Agree => "agreement",
        Stage::Consent => "consent asked for",
        Stage::Order => "order",
        Stage::Fence => "fence",
        Stage::Ground => "ground made ready",
        Stage::Work => "work",
        Stage::BeatUp => "beating up",
        Stage::Keep => "kept up",
        Stage::Check => "looked over",
    };
    let other = i > 0 && rows[i - 1].kind == row.kind && rows[i - 1].stage == row.stage;
    format!("{}: {what}{}", words::capital(&row.kind.replace('_', " ")), if other { ", other season" } else { "" })
}

/// Days on which the tasks of a row may not be done, and days outside of the programme.
fn shut(svg: &mut Svg, works: &Works, season: &Season, across: Across, y: f64) {
    let last = across.first + Days::new(across.days as u64 - 1);
    let settings = works.asked.settings;
    let out = |svg: &mut Svg, from: f64, to: f64| {
        if to - from > 0.01 {
            svg.rect(from, y, to - from, LANE_MM, &format!(r#"fill="{BENT}" fill-opacity=".55""#));
        }
    };
    out(svg, LABEL_MM, across.at(settings.first));
    out(svg, across.end(settings.last), WIDTH_MM);
    if season.all_year() {
        return;
    }
    let closed = |day: &NaiveDate| !season.left.iter().any(|w| w.holds((day.month(), day.day())));
    let mut from: Option<NaiveDate> = None;
    let days: Vec<NaiveDate> = across.first.iter_days().take(across.days as usize).collect();
    let mut spans = Vec::new();
    for day in days {
        match (from, closed(&day)) {
            (None, true) => from = Some(day),
            (Some(begun), false) => {
                spans.push((across.at(begun), across.at(day)));
                from = None;
            }
            _ => {}
        }
    }
    spans.extend(from.map(|begun| (across.at(begun), across.end(last))));
    let fill = svg.hatch(Hatch::Shut);
    for (from, to) in spans {
        svg.rect(from, y, to - from, LANE_MM, &format!(r#"fill="{fill}""#));
    }
}

/// Names of years and months, and the lines between them.
fn months(svg: &mut Svg, (from, to): (i32, i32), across: Across, top: f64, base: f64) {
    const NAMES: [&str; 12] = ["J", "F", "M", "A", "M", "J", "J", "A", "S", "O", "N", "D"];
    for year in from..=to {
        for month in 1..=12 {
            let (Some(first), Some(middle)) = (NaiveDate::from_ymd_opt(year, month, 1), NaiveDate::from_ymd_opt(year, month, 16)) else { continue };
            let (x, year_begins) = (across.at(first), month == 1);
            let width = if year_begins { ".4" } else { ".08" };
            svg.line(x, if year_begins { top - HEAD_MM + 0.6 } else { top }, x, if year_begins { base + MONEY_MM - 1.5 } else { base }, &format!(r#"stroke="{}" stroke-width="{width}""#, if year_begins { INK } else { STONE }));
            svg.text(across.at(middle), top - 1.1, Type::plain(SMALL_MM).anchor(Anchor::Middle), NAMES[month as usize - 1]);
        }
        let middle = NaiveDate::from_ymd_opt(year, 7, 2).map_or(LABEL_MM, |day| across.at(day));
        svg.text(middle, top - HEAD_MM + 4.0, Type::plain(3.4).bold().anchor(Anchor::Middle), &year.to_string());
    }
    svg.line(WIDTH_MM, top - HEAD_MM + 0.6, WIDTH_MM, base + MONEY_MM - 1.5, &format!(r#"stroke="{INK}" stroke-width=".4""#));
}

/// A task: its worked days as bars with a line between them, and its number.
fn bar(svg: &mut Svg, number: usize, done: &Done, across: Across, y: f64) {
    let spot = spot(across, number, done);
    let (top, middle) = (y + (LANE_MM - BAR_MM) / 2.0, y + LANE_MM / 2.0);
    if done.job.days.is_none() || done.planned.worked.is_empty() {
        svg.circle(spot.from + 0.6, middle, 0.9, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".35""#));
    } else {
        svg.line(spot.from, middle, spot.to, middle, &format!(r#"stroke="{INK}" stroke-width=".5""#));
        let inside = |day: &&NaiveDate| **day >= across.first && (**day - across.first).num_days() < across.days as i64;
        let mut runs: Vec<(NaiveDate, NaiveDate)> = Vec::new();
        for day in done.planned.worked.iter().filter(inside) {
            match runs.last_mut() {
                Some((_, last)) if (*day - *last).num_days() <= RUN_DAYS => *last = *day,
                _ => runs.push((*day, *day)),
            }
        }
        for (first, last) in runs {
            let from = across.at(first);
            svg.rect(from, top, (across.end(last) - from).max(1.0).min(WIDTH_MM - from), BAR_MM, &format!(r#"fill="{INK}""#));
        }
    }
    let look = Type::plain(SMALL_MM).bold().anchor(Anchor::Middle);
    svg.text(spot.number, middle + 0.9, if spot.inside { look.colour(COTTON) } else { look.rim() }, &number.to_string());
}

/// What goes out and comes in by year, and what stands in the purse at its end.
fn money(svg: &mut Svg, account: Option<&Account>, (from, to): (i32, i32), across: Across, base: f64) {
    let rows = [("Goes out, usual", 4.0), ("Comes in, usual", 9.0), ("Balance at the end of the year", 14.0)];
    for (name, y) in rows {
        svg.text(0.0, base + y, Type::plain(2.8), name);
    }
    let most = account.iter().flat_map(|a| &a.years).map(|y| y.cost[1].max(y.income[1])).max().unwrap_or_default().max(Pence(1));
    for year in from..=to {
        let (Some(begins), Some(next)) = (NaiveDate::from_ymd_opt(year, 1, 1), NaiveDate::from_ymd_opt(year, 12, 31)) else { continue };
        let (left, right) = (across.at(begins) + 1.0, across.end(next) - 1.0);
        let of: Option<&YearSum> = account.and_then(|a| a.years.iter().find(|y| y.year == year));
        let said = |pence: Option<Pence>| pence.map_or_else(|| "-".to_owned(), |p| p.to_string());
        for ((_, y), pence) in rows.iter().zip([of.map(|y| y.cost[1]), of.map(|y| y.income[1]), of.map(|y| y.balance)]) {
            svg.text(right, base + y, Type::plain(2.8).anchor(Anchor::End), &said(pence));
        }
        let Some(of) = of else { continue };
        let long = |pence: Pence| (right - left) * pence.gbp() / most.gbp();
        let fill = svg.hatch(Hatch::Short);
        svg.rect(left, base + 4.6, long(of.cost[1]), 1.3, &format!(r#"fill="{fill}" stroke="{RUSSET}" stroke-width=".15""#));
        svg.rect(left, base + 9.6, long(of.income[1]), 1.3, &format!(r#"fill="{LICHEN}" stroke="{INK}" stroke-width=".15""#));
    }
    let foot = match account {
        None => "The money of these works is not told.".to_owned(),
        Some(a) if a.years.last().is_some_and(|y| y.year > to) => "Money of later years stands in the account.".to_owned(),
        Some(_) => String::new(),
    };
    svg.text(LABEL_MM + 1.0, base + 17.3, Type::plain(SMALL_MM).colour(STONE), &foot);
}

fn key(svg: &mut Svg, telling: &Telling, y: f64) {
    let look = Type::plain(2.8);
    let high = 3.0;
    svg.rect(0.0, y + 1.0, 8.0, high, &format!(r#"fill="{INK}""#));
    svg.text(9.5, y + 3.4, look, "worked on these days");
    svg.circle(46.0, y + 2.5, 0.9, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".35""#));
    svg.text(48.5, y + 3.4, look, "how long is not known");
    let fill = svg.hatch(Hatch::Shut);
    svg.rect(86.0, y + 1.0, 8.0, high, &format!(r#"fill="{fill}" stroke="{STONE}" stroke-width=".12""#));
    svg.text(95.5, y + 3.4, look, "shut to this work");
    svg.rect(129.0, y + 1.0, 8.0, high, &format!(r#"fill="{BENT}" fill-opacity=".55" stroke="{STONE}" stroke-width=".12""#));
    svg.text(138.5, y + 3.4, look, "outside of the programme");
    svg.text(0.0, y + 8.4, Type::plain(2.8).colour(STONE), &telling.of_board());
}
