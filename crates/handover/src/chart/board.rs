//! The board of the works: months of the years across, a row for each kind of work and its stage, days shut to it hatched, its tasks as bars
//! in open ones under their numbers, and the money of each year below.
//!
//! A task whose days are not known is a ring on the first day it may be done. A bar that rests over a shut season goes on as a line. Tasks of
//! a row that follow one another within days share a line, with their numbers behind the last.

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
const MONEY_MM: f64 = 18.5;
const KEY_MM: f64 = 11.5;
/// Size of the numbers and the small words.
const SMALL_MM: f64 = 2.6;
/// Worked days no further apart than this are one bar: a weekend lies between.
const RUN_DAYS: i64 = 4;
/// Tasks of a row no further apart than this are told together, unless all of them together take longer than the next.
const TOGETHER_DAYS: i64 = 10;
const TOGETHER_MOST_DAYS: i64 = 92;
/// Numbers told together are no longer than this, millimetres.
const NUMBERS_MM: f64 = 30.0;

/// Tasks of one kind of measure in one stage that may be done on the same days.
struct Row<'a> {
    kind: &'static str,
    stage: Stage,
    season: &'a Season,
    /// Number and task.
    tasks: Vec<(usize, Done<'a>)>,
}

/// Tasks of a row told together: places in the row's list.
type Group = Vec<usize>;

/// One line of bars on a sheet: its row, whether it is the first of that row there, and its tasks.
struct Lane {
    row: usize,
    first: bool,
    groups: Vec<Group>,
}

/// A sheet: its months, and its lanes.
struct Sheet {
    across: Across,
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
    let each = ((last - first + blocks) / blocks.max(1)).max(1);
    let mut out = Vec::new();
    for from in (first..=last).step_by(each as usize) {
        let across = Across::new(works.asked.settings.first, (from, (from + each - 1).min(last)));
        let mut sheet: Vec<Lane> = Vec::new();
        for (i, row) in rows.iter().enumerate() {
            let lanes = lanes(row, across);
            if sheet.len() + lanes.len() > LANES && (lanes.len() <= LANES || sheet.len() == LANES) {
                out.push(Sheet { across, lanes: std::mem::take(&mut sheet) });
            }
            for (k, groups) in lanes.into_iter().enumerate() {
                if sheet.len() == LANES {
                    out.push(Sheet { across, lanes: std::mem::take(&mut sheet) });
                }
                sheet.push(Lane { row: i, first: k == 0 || sheet.is_empty(), groups });
            }
        }
        out.push(Sheet { across, lanes: sheet });
    }
    out.retain(|sheet| !sheet.lanes.is_empty());
    out
}

/// The months of a block of years across a sheet.
#[derive(Clone, Copy)]
struct Across {
    first: NaiveDate,
    /// The day after the last.
    past: NaiveDate,
}

impl Across {
    /// From the month of the first day of all, or the beginning of the block, to its end.
    fn new(begins: NaiveDate, (from, to): (i32, i32)) -> Self {
        let day = |year: i32| NaiveDate::from_ymd_opt(year, 1, 1).unwrap_or_default();
        Self { first: begins.with_day(1).unwrap_or(begins).max(day(from)), past: day(to + 1) }
    }

    /// Where a day begins.
    fn at(self, day: NaiveDate) -> f64 {
        let share = (day - self.first).num_days() as f64 / (self.past - self.first).num_days() as f64;
        LABEL_MM + (WIDTH_MM - LABEL_MM) * share.clamp(0.0, 1.0)
    }

    /// Where it ends.
    fn end(self, day: NaiveDate) -> f64 {
        self.at(day + Days::new(1))
    }

    fn years(self) -> std::ops::RangeInclusive<i32> {
        self.first.year()..=self.past.year() - 1
    }

    /// Where a year begins and ends.
    fn year(self, year: i32) -> (f64, f64) {
        let at = |year: i32| NaiveDate::from_ymd_opt(year, 1, 1).map_or(LABEL_MM, |day| self.at(day));
        (at(year), at(year + 1))
    }
}

/// Tasks told together on a sheet: where their bars begin and end, and where their numbers stand.
struct Spot {
    from: f64,
    to: f64,
    numbers: String,
    middle: f64,
    half: f64,
}

fn spot(across: Across, row: &Row, group: &Group) -> Spot {
    let tasks = || group.iter().map(|i| &row.tasks[*i]);
    let first = tasks().map(|(_, done)| done.planned.first).min().unwrap_or(across.first);
    let from = across.at(first);
    let to = tasks().map(|(_, done)| if unknown(done) { across.at(done.planned.first) + 1.6 } else { across.end(done.planned.last).max(across.at(done.planned.first) + 1.0) });
    let to = to.fold(from, f64::max).min(WIDTH_MM);
    let numbers = words::runs(tasks().map(|(number, _)| *number));
    let half = text_width_mm(&numbers, SMALL_MM) / 2.0 + 0.5;
    let middle = if to + 2.0 * half > WIDTH_MM { from - half } else { to + half };
    Spot { from, to, numbers, middle, half }
}

/// The tasks of a row within some years, those together that follow one another within days.
fn groups(row: &Row, across: Across) -> Vec<Group> {
    let mut out: Vec<Group> = Vec::new();
    let mut span: Option<(NaiveDate, NaiveDate)> = None;
    for (i, (number, done)) in row.tasks.iter().enumerate() {
        let (first, last) = (done.planned.first, done.planned.last);
        if last < across.first || first >= across.past {
            continue;
        }
        let near = span.is_some_and(|(from, to)| (first - to).num_days() <= TOGETHER_DAYS && (last.max(to) - from).num_days() <= TOGETHER_MOST_DAYS);
        let fits = |group: &Group| text_width_mm(&words::runs(group.iter().map(|k| row.tasks[*k].0).chain([*number])), SMALL_MM) <= NUMBERS_MM;
        match (out.last_mut().filter(|group| near && fits(group)), span) {
            (Some(group), Some((from, to))) => {
                group.push(i);
                span = Some((from, last.max(to)));
            }
            _ => {
                out.push(vec![i]);
                span = Some((first, last));
            }
        }
    }
    out
}

/// The tasks of a row on as few lanes as keep bars and numbers apart.
fn lanes(row: &Row, across: Across) -> Vec<Vec<Group>> {
    let mut lanes: Vec<(f64, Vec<Group>)> = Vec::new();
    for group in groups(row, across) {
        let spot = spot(across, row, &group);
        let (from, to) = (spot.from.min(spot.middle - spot.half), spot.to.max(spot.middle + spot.half));
        match lanes.iter_mut().find(|(end, _)| *end <= from) {
            Some(lane) => {
                lane.0 = to;
                lane.1.push(group);
            }
            None => lanes.push((to, vec![group])),
        }
    }
    lanes.into_iter().map(|(_, groups)| groups).collect()
}

fn draw(works: &Works, telling: &Telling, rows: &[Row], sheet: &Sheet, title: &str, (page, pages): (usize, usize)) -> String {
    let top = if title.is_empty() { HEAD_MM } else { TITLE_MM + HEAD_MM };
    let base = top + LANE_MM * sheet.lanes.len() as f64;
    let mut svg = Svg::new(WIDTH_MM, base + MONEY_MM + KEY_MM);
    let across = sheet.across;
    if !title.is_empty() {
        let of = if pages > 1 { format!("sheet {page} of {pages}") } else { String::new() };
        svg.text(0.0, 4.2, Type::plain(4.0).bold(), &fitted(title, 4.0, WIDTH_MM - 30.0));
        svg.text(WIDTH_MM, 4.2, Type::plain(2.8).colour(STONE).anchor(Anchor::End), &of);
    }
    for (i, lane) in sheet.lanes.iter().enumerate() {
        shut(&mut svg, works, rows[lane.row].season, across, top + LANE_MM * i as f64);
    }
    months(&mut svg, across, top, base);
    for (i, lane) in sheet.lanes.iter().enumerate() {
        let y = top + LANE_MM * i as f64;
        if lane.first {
            svg.line(0.0, y, WIDTH_MM, y, &format!(r#"stroke="{STONE}" stroke-width=".18""#));
            svg.text(0.0, y + 3.0, Type::plain(2.8), &fitted(&label(rows, lane.row), 2.8, LABEL_MM - 1.5));
        }
        for group in &lane.groups {
            told(&mut svg, &rows[lane.row], group, across, y);
        }
    }
    svg.line(0.0, base, WIDTH_MM, base, &format!(r#"stroke="{INK}" stroke-width=".3""#));
    money(&mut svg, works.account.as_ref().ok(), across, base);
    key(&mut svg, telling, works.account.as_ref().ok().filter(|a| a.years.last().is_some_and(|y| y.year >= across.past.year())).is_some(), base + MONEY_MM);
    svg.finish()
}

/// What a row is called.
fn label(rows: &[Row], i: usize) -> String {
    let row = &rows[i];
    let what = match row.stage {
        Stage::Survey => "survey",
        Stage::Agree => "agreement",
        Stage::Consent => "consent",
        Stage::Order => "order",
        Stage::Fence => "fence",
        Stage::Ground => "ground made ready",
        Stage::Work => "work",
        Stage::BeatUp => "beating up",
        Stage::Keep => "kept up",
        Stage::Check => "looked over",
    };
    if row.stage == Stage::Consent {
        return "Consents asked for".to_owned();
    }
    let other = i > 0 && rows[i - 1].kind == row.kind && rows[i - 1].stage == row.stage;
    format!("{}: {what}{}", words::capital(&row.kind.replace('_', " ")), if other { ", other season" } else { "" })
}

/// Days on which the tasks of a row may not be done, and days outside of the programme.
fn shut(svg: &mut Svg, works: &Works, season: &Season, across: Across, y: f64) {
    let settings = works.asked.settings;
    for (from, to) in [(LABEL_MM, across.at(settings.first)), (across.end(settings.last), WIDTH_MM)] {
        if to - from > 0.01 {
            svg.rect(from, y, to - from, LANE_MM, &format!(r#"fill="{BENT}" fill-opacity=".55""#));
        }
    }
    if season.all_year() {
        return;
    }
    let closed = |day: NaiveDate| !season.left.iter().any(|w| w.holds((day.month(), day.day())));
    let mut spans: Vec<(NaiveDate, NaiveDate)> = Vec::new();
    for day in across.first.iter_days().take_while(|day| *day < across.past).filter(|day| closed(*day)) {
        match spans.last_mut() {
            Some((_, last)) if *last + Days::new(1) == day => *last = day,
            _ => spans.push((day, day)),
        }
    }
    let fill = svg.hatch(Hatch::Shut);
    for (first, last) in spans {
        svg.rect(across.at(first), y, across.end(last) - across.at(first), LANE_MM, &format!(r#"fill="{fill}""#));
    }
}

/// Names of years and months, and the lines between them.
fn months(svg: &mut Svg, across: Across, top: f64, base: f64) {
    const NAMES: [&str; 12] = ["J", "F", "M", "A", "M", "J", "J", "A", "S", "O", "N", "D"];
    let heavy = format!(r#"stroke="{INK}" stroke-width=".4""#);
    for year in across.years() {
        let days = (1..=12).filter_map(|month| Some((month, NaiveDate::from_ymd_opt(year, month, 1)?, NaiveDate::from_ymd_opt(year, month, 16)?)));
        for (month, first, middle) in days.filter(|(_, first, _)| *first >= across.first) {
            if month > 1 {
                svg.line(across.at(first), top, across.at(first), base, &format!(r#"stroke="{STONE}" stroke-width=".08""#));
            }
            svg.text(across.at(middle), top - 1.1, Type::plain(SMALL_MM).anchor(Anchor::Middle), NAMES[month as usize - 1]);
        }
        let (from, to) = across.year(year);
        svg.line(from, top - HEAD_MM + 0.6, from, base + MONEY_MM - 2.0, &heavy);
        let name = if to - from > 9.0 { year.to_string() } else { format!("’{:02}", year % 100) };
        svg.text((from + to) / 2.0, top - HEAD_MM + 4.0, Type::plain(3.4).bold().anchor(Anchor::Middle), &name);
    }
    svg.line(WIDTH_MM, top - HEAD_MM + 0.6, WIDTH_MM, base + MONEY_MM - 2.0, &heavy);
}

/// Tasks told together: bars, and their numbers on clean ground.
fn told(svg: &mut Svg, row: &Row, group: &Group, across: Across, y: f64) {
    let spot = spot(across, row, group);
    let middle = y + LANE_MM / 2.0;
    svg.rect(spot.middle - spot.half + 0.1, y + 0.4, 2.0 * spot.half - 0.2, LANE_MM - 0.8, r##"fill="#ffffff""##);
    for i in group {
        bar(svg, &row.tasks[*i].1, across, y);
    }
    svg.text(spot.middle, middle + 0.9, Type::plain(SMALL_MM).bold().anchor(Anchor::Middle), &spot.numbers);
}

/// Whether it is not known how long a task takes, or it takes no time.
fn unknown(done: &Done) -> bool {
    done.job.days.is_none() || done.planned.worked.is_empty()
}

/// A task: its worked days as bars with a line between them.
fn bar(svg: &mut Svg, done: &Done, across: Across, y: f64) {
    let (top, middle) = (y + (LANE_MM - BAR_MM) / 2.0, y + LANE_MM / 2.0);
    if unknown(done) {
        svg.circle(across.at(done.planned.first) + 0.6, middle, 0.9, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".35""#));
        return;
    }
    svg.line(across.at(done.planned.first), middle, across.end(done.planned.last), middle, &format!(r#"stroke="{INK}" stroke-width=".5""#));
    let mut spans: Vec<(NaiveDate, NaiveDate)> = Vec::new();
    for day in done.planned.worked.iter().filter(|day| (across.first..across.past).contains(day)) {
        match spans.last_mut() {
            Some((_, last)) if (*day - *last).num_days() <= RUN_DAYS => *last = *day,
            _ => spans.push((*day, *day)),
        }
    }
    for (first, last) in spans {
        let from = across.at(first);
        svg.rect(from, top, (across.end(last) - from).max(1.0).min(WIDTH_MM - from), BAR_MM, &format!(r#"fill="{INK}""#));
    }
}

/// What goes out and comes in by year, and the balance at its end.
fn money(svg: &mut Svg, account: Option<&Account>, across: Across, base: f64) {
    let rows = [("Goes out, usual", 4.0), ("Comes in, usual", 9.6), ("Balance at the end of the year", 15.2)];
    for (name, y) in rows {
        svg.text(0.0, base + y, Type::plain(2.8), name);
    }
    let Some(account) = account else {
        svg.text(LABEL_MM + 2.0, base + 4.0, Type::plain(2.8), "not told: see why where the money is told");
        return;
    };
    let most = account.years.iter().map(|y| y.cost[1].max(y.income[1])).max().unwrap_or_default().max(Pence(1));
    for year in across.years() {
        let (left, right) = across.year(year);
        let (left, right) = (left + 1.0, right - 1.0);
        let of: Option<&YearSum> = account.years.iter().find(|y| y.year == year);
        for ((_, y), pence) in rows.iter().zip([of.map(|y| y.cost[1]), of.map(|y| y.income[1]), of.map(|y| y.balance)]) {
            let said = pence.map_or_else(|| "-".to_owned(), |p| p.to_string());
            // A year of which a few months are shown has no room for its sums.
            let said = if text_width_mm(&said, 2.8) > right - left { "…".to_owned() } else { said };
            svg.text(right, base + y, Type::plain(2.8).anchor(Anchor::End), &said);
        }
        let Some(of) = of else { continue };
        let long = |pence: Pence| (right - left) * pence.gbp() / most.gbp();
        let fill = svg.hatch(Hatch::Short);
        svg.rect(left, base + 5.0, long(of.cost[1]), 1.2, &format!(r#"fill="{fill}" stroke="{RUSSET}" stroke-width=".15""#));
        svg.rect(left, base + 10.6, long(of.income[1]), 1.2, &format!(r#"fill="{LICHEN}" stroke="{INK}" stroke-width=".15""#));
    }
}

fn key(svg: &mut Svg, telling: &Telling, later: bool, y: f64) {
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
    if later {
        svg.text(WIDTH_MM, y + 3.4, look.colour(STONE).anchor(Anchor::End), "more money falls in later years: see the account");
    }
    svg.text(0.0, y + 8.4, look.colour(STONE), &telling.of_board());
}
