//! A file of visits to many leks, read without a plan: a region's counts, to set a holding's beside.
//!
//! Nothing is refused for one odd row: what cannot be used is left out, what is odd is kept, and both are counted with
//! the first few lines. Which column is which is guessed as for a plan's own visits, and can be told.

#![allow(clippy::result_large_err, reason = "a fault ends the reading of a file, so its size costs nothing")]

use super::odd::{Met, Odd, Oddity};
use super::year_table::YearTable;
use chrono::{NaiveDate, NaiveTime, Timelike};
use flate2::read::MultiGzDecoder;
use holding::import::said::{self, Birds, Clock, When};
use holding::import::{Faults, ImportFault, Kind, MapTo, Mapping, Notes};
use serde::Serialize;
use std::borrow::Cow;
use std::collections::{HashMap, HashSet};
use std::io::Read;

/// Most bytes a packed file may unfold to; the program's own limit.
const UNPACKED_MAX: u64 = 512 * 1024 * 1024;
/// No count is older; the program's own limit.
const YEAR_MIN: i32 = 1900;
/// The start of a visit of unknown start.
const NO_START: u16 = u16::MAX;

/// What the person says beside the file.
#[derive(Clone, Debug)]
pub struct Ask {
    /// Which column is which field, where the guess is wrong or unsure.
    pub map: Vec<MapTo>,
    /// The day it is; later visits are left out. `None`: the future is not judged.
    pub today: Option<NaiveDate>,
    /// More birds than this on one visit are told, and kept.
    pub many_birds: u32,
    /// More birds than this on one visit are a slip: told, and taken as not counted.
    pub most_birds: u32,
}

/// Visits to many leks: one entry a visit in each list, in the order of the file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Series {
    /// Names of leks, in the order they first come.
    pub leks: Vec<String>,
    /// The lek's number in `leks`.
    pub lek: Vec<u32>,
    /// Year.
    pub year: Vec<i32>,
    /// Day, where it is known.
    pub day: Vec<Option<NaiveDate>>,
    /// Start in minutes from midnight, where it is known.
    pub start_min: Vec<Option<u16>>,
    /// Cocks; `None`: not counted.
    pub cocks: Vec<Option<u32>>,
    /// Hens; `None`: not counted.
    pub hens: Vec<Option<u32>>,
}

/// How a file was understood, and what was odd in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// How the columns were understood.
    pub mapping: Mapping,
    /// What was taken for granted of the file.
    pub notes: Notes,
    /// Rows with something in them.
    pub rows: usize,
    /// Rows left out.
    pub left_out: usize,
    /// What was odd, by kind.
    pub odd: Vec<Odd>,
}

impl Report {
    /// What was odd in one way, if anything.
    pub fn of(&self, what: Oddity) -> Option<&Odd> {
        self.odd.iter().find(|o| o.what == what)
    }
}

/// The first and last year, visits and leks of a series.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Extent {
    /// First year.
    pub first_year: i32,
    /// Last year.
    pub last_year: i32,
    /// Visits.
    pub visits: usize,
    /// Leks.
    pub leks: usize,
}

/// The columns of a file.
struct Columns {
    lek: usize,
    date: Option<usize>,
    year: Option<usize>,
    month: Option<usize>,
    day: Option<usize>,
    start: Option<usize>,
    cocks: usize,
    hens: Option<usize>,
}

impl Series {
    /// Visits with a number of cocks, of one lek and day once; visits whose day is not known are each their own.
    pub fn dawns_counted(&self) -> usize {
        let counted = || (0..self.lek.len()).filter(|at| self.cocks[*at].is_some());
        let days: HashSet<(u32, NaiveDate)> = counted().filter_map(|at| Some((self.lek[at], self.day[at]?))).collect();
        days.len() + counted().filter(|at| self.day[*at].is_none()).count()
    }

    /// Read a table of text, packed by gzip or not.
    ///
    /// - `file`: the file's name, for messages
    ///
    /// Errors: a file that is no table, or without columns of leks, years and cocks.
    pub fn read(file: &str, bytes: &[u8], ask: &Ask) -> Result<(Series, Report), Faults> {
        read(file, bytes, ask).map_err(|mut faults| {
            for fault in faults.listed.iter_mut().filter(|f| f.file.is_empty()) {
                fault.file = file.to_owned();
            }
            faults
        })
    }

    /// Visits.
    pub fn len(&self) -> usize {
        self.lek.len()
    }

    /// True without any visit.
    pub fn is_empty(&self) -> bool {
        self.lek.is_empty()
    }

    /// How far it reaches; `None` without any visit.
    pub fn extent(&self) -> Option<Extent> {
        let (first, last) = (self.year.iter().min()?, self.year.iter().max()?);
        Some(Extent { first_year: *first, last_year: *last, visits: self.len(), leks: self.leks.len() })
    }

    /// The most cocks of each lek in each year, of all visits with a count.
    pub fn year_table(&self) -> YearTable {
        let counts = self.lek.iter().zip(&self.year).zip(&self.cocks);
        YearTable::of(self.leks.clone(), counts.filter_map(|((lek, year), cocks)| Some((*lek as usize, *year, (*cocks)?))))
    }

    fn push(&mut self, lek: u32, when: When, start: Option<u16>, cocks: Option<u32>, hens: Option<u32>) {
        self.lek.push(lek);
        self.year.push(when.year());
        self.day.push(match when {
            When::Day(day) => Some(day),
            When::Month(..) | When::Year(_) => None,
        });
        self.start_min.push(start);
        self.cocks.push(cocks);
        self.hens.push(hens);
    }
}

fn read(file: &str, bytes: &[u8], ask: &Ask) -> Result<(Series, Report), Faults> {
    let (text, separator, mut notes) = said::text(&unpacked(bytes)?)?;
    let reader = || csv::ReaderBuilder::new().delimiter(separator).flexible(true).has_headers(false).from_reader(text.as_bytes());
    let mut first_pass = reader();
    let mut reader = reader();
    let mut record = csv::StringRecord::new();
    let unreadable = |line: u64, why: String| ImportFault::new("a readable line", why).row(format!("line {line}"));
    let mut columns: Option<(Columns, Mapping)> = None;
    let mut rows = Rows { series: Series::default(), met: Met::default(), numbers: HashMap::new(), first_lines: Vec::new(), seen: HashMap::new(), ask, month_first: false, read: 0 };
    loop {
        let line = reader.position().line();
        if !reader.read_record(&mut record).map_err(|e| unreadable(line, e.to_string()))? {
            break;
        }
        if record.iter().all(|v| v.trim().is_empty()) {
            continue;
        }
        let line = record.position().map_or(line, csv::Position::line);
        match &columns {
            None => {
                let found = find(file, &record, ask)?;
                // What one day of the column shows holds for all of it, so the column is looked at first.
                if let Some(at) = found.0.date {
                    let days: Vec<String> = first_pass.records().flatten().filter_map(|r| r.get(at).map(str::to_owned)).collect();
                    rows.month_first = said::month_first(days.iter().map(String::as_str));
                    if rows.month_first {
                        notes.file("days in figures were read month first, as their column shows");
                    }
                }
                columns = Some(found);
            }
            Some((columns, _)) => rows.row(columns, &record, line),
        }
    }
    let Some((_, mapping)) = columns else {
        return Err(ImportFault::new("a first line of column names", "an empty table").into());
    };
    if rows.read == 0 {
        return Err(ImportFault::new("at least one row", "none").into());
    }
    rows.names_alike();
    let left_out = rows.read - rows.series.len();
    Ok((rows.series, Report { mapping, notes, rows: rows.read, left_out, odd: rows.met.all() }))
}

/// The bytes, unpacked where they are packed.
fn unpacked(bytes: &[u8]) -> Result<Cow<'_, [u8]>, ImportFault> {
    if !bytes.starts_with(&[0x1F, 0x8B]) {
        return Ok(Cow::Borrowed(bytes));
    }
    let mut out = Vec::new();
    MultiGzDecoder::new(bytes)
        .take(UNPACKED_MAX + 1)
        .read_to_end(&mut out)
        .map_err(|e| ImportFault::new("a whole gzip file", e.to_string()).hint("the file may be cut short: copy or download it again"))?;
    if out.len() as u64 > UNPACKED_MAX {
        let most = UNPACKED_MAX >> 20;
        return Err(ImportFault::new(format!("a file that unfolds to at most {most} MB"), "more").hint("split the file"));
    }
    Ok(Cow::Owned(out))
}

fn find(file: &str, header: &csv::StringRecord, ask: &Ask) -> Result<(Columns, Mapping), Faults> {
    let names: Vec<String> = header.iter().map(|name| name.trim().to_owned()).collect();
    let shown = format!("columns `{}`", names.join("`, `"));
    let mapping = said::columns(Kind::Visits, names, &ask.map, file)?;
    let of = |field: &str| mapping.of(field).map(|m| m.column_number());
    let mut faults = Faults::new();
    let mut needed = |field: &str| {
        faults.push(ImportFault::new(format!("a column for `{field}`"), &shown).hint(format!("name it with `--map {field}=COLUMN`")));
    };
    for field in ["lek", "cocks"] {
        if of(field).is_none() {
            needed(field);
        }
    }
    if of("date").is_none() && of("year").is_none() && of("day").is_none() {
        needed("date");
    }
    if let (Some(lek), Some(cocks), true) = (of("lek"), of("cocks"), faults.is_empty()) {
        let (date, year, month, day) = (of("date"), of("year"), of("month"), of("day"));
        // A column `day` with no year beside it holds whole days.
        let (date, day) = if date.is_none() && year.is_none() { (day, None) } else { (date, day) };
        return Ok((Columns { lek, date, year, month, day, start: of("start"), cocks, hens: of("hens") }, mapping));
    }
    faults.mapping = Some(Box::new(mapping));
    Err(faults)
}

/// Cocks and hens.
type Seen = (Option<u32>, Option<u32>);

/// Rows as they are read.
struct Rows<'a> {
    series: Series,
    met: Met,
    numbers: HashMap<String, u32>,
    /// The line each lek first comes in.
    first_lines: Vec<u64>,
    /// Cocks and hens of each lek, day and start.
    seen: HashMap<(u32, NaiveDate, u16), Seen>,
    ask: &'a Ask,
    /// Whether days in figures have the month first.
    month_first: bool,
    read: usize,
}

impl Rows<'_> {
    fn row(&mut self, columns: &Columns, record: &csv::StringRecord, line: u64) {
        self.read += 1;
        let cell = |at: Option<usize>| at.and_then(|at| record.get(at)).map_or("", str::trim);
        let name = cell(Some(columns.lek));
        if name.is_empty() {
            return self.met.add(Oddity::NoLek, line, "");
        }
        let when = match self.when(cell(columns.date), [columns.year, columns.month, columns.day].map(cell)) {
            Ok(when) => when,
            Err((what, found)) => return self.met.add(what, line, &found),
        };
        let early = when.year() < YEAR_MIN;
        let late = self.ask.today.is_some_and(|today| when.first_day().is_none_or(|day| day > today));
        if early || late {
            return self.met.add(Oddity::OutOfTime, line, &when.first_day().map_or_else(String::new, |d| d.to_string()));
        }
        match when {
            When::Day(_) => {}
            When::Month(..) => self.met.add(Oddity::MonthOnly, line, ""),
            When::Year(_) => self.met.add(Oddity::YearOnly, line, ""),
        }
        let start = self.start(cell(columns.start), line);
        let cocks = self.birds(cell(Some(columns.cocks)), line);
        let hens = self.birds(cell(columns.hens), line);
        if cocks.is_none() && cell(Some(columns.cocks)).is_empty() {
            self.met.add(Oddity::NotCounted, line, "");
        }
        let lek = self.number(name, line);
        if let When::Day(day) = when {
            let birds = (cocks, hens);
            match self.seen.insert((lek, day, start.unwrap_or(NO_START)), birds) {
                Some(before) if before == birds => self.met.add(Oddity::Twice, line, name),
                Some(_) => self.met.add(Oddity::TwiceUnlike, line, name),
                None => {}
            }
        }
        self.series.push(lek, when, start, cocks, hens);
    }

    fn number(&mut self, name: &str, line: u64) -> u32 {
        if let Some(number) = self.numbers.get(name) {
            return *number;
        }
        let number = self.series.leks.len() as u32;
        self.numbers.insert(name.to_owned(), number);
        self.series.leks.push(name.to_owned());
        self.first_lines.push(line);
        number
    }

    /// The day, month or year of a row.
    fn when(&self, date: &str, [year, month, day]: [&str; 3]) -> Result<When, (Oddity, String)> {
        if !date.is_empty() {
            return said::when(date, self.month_first).map_err(|_| (Oddity::NoSuchDay, date.to_owned()));
        }
        if year.is_empty() {
            return Err((Oddity::NoYear, String::new()));
        }
        let wrong = || (Oddity::NoSuchDay, [year, month, day].join("-").trim_end_matches('-').to_owned());
        let number: i32 = year.parse().map_err(|_| wrong())?;
        if month.is_empty() {
            return Ok(When::Year(number));
        }
        let of_year = said::month(month).ok_or_else(wrong)?;
        if day.is_empty() {
            return Ok(When::Month(number, of_year));
        }
        let of_month: u32 = day.parse().map_err(|_| wrong())?;
        NaiveDate::from_ymd_opt(number, of_year, of_month).map(When::Day).ok_or_else(wrong)
    }

    fn start(&mut self, text: &str, line: u64) -> Option<u16> {
        if text.is_empty() {
            self.met.add(Oddity::NoTime, line, "");
            return None;
        }
        match said::clock(text) {
            Ok(Clock::At(NaiveTime::MIN, ..)) => self.met.add(Oddity::Midnight, line, text),
            Ok(Clock::At(time, ..)) => return Some((time.num_seconds_from_midnight() / 60) as u16),
            Ok(Clock::Unclear) => self.met.add(Oddity::TimeInWords, line, text),
            Err(_) => self.met.add(Oddity::NoSuchTime, line, text),
        }
        None
    }

    fn birds(&mut self, text: &str, line: u64) -> Option<u32> {
        let number = match text.parse::<u32>() {
            Ok(number) => number,
            Err(_) => match said::birds(text)? {
                Birds::Figure(figure) if figure >= 0.0 && figure.fract() == 0.0 && figure <= f64::from(u32::MAX) => figure as u32,
                Birds::Figure(_) => {
                    self.met.add(Oddity::NoSuchCount, line, text);
                    return None;
                }
                Birds::Taken(number, _) => {
                    self.met.add(Oddity::CountTaken, line, text);
                    number
                }
                Birds::Unclear => {
                    self.met.add(Oddity::CountInWords, line, text);
                    return None;
                }
            },
        };
        if number > self.ask.most_birds {
            self.met.add(Oddity::TooManyBirds, line, text);
            return None;
        }
        if number > self.ask.many_birds {
            self.met.add(Oddity::ManyBirds, line, text);
        }
        Some(number)
    }

    /// Tell leks whose names differ only in case, accents or marks, each where it first comes.
    fn names_alike(&mut self) {
        let mut first: HashMap<String, usize> = HashMap::new();
        for (at, name) in self.series.leks.iter().enumerate() {
            match first.entry(holding::words::loose(name)) {
                std::collections::hash_map::Entry::Occupied(before) => {
                    let pair = format!("{name} / {}", self.series.leks[*before.get()]);
                    self.met.add(Oddity::NamesAlike, self.first_lines[at], &pair);
                }
                std::collections::hash_map::Entry::Vacant(free) => {
                    free.insert(at);
                }
            }
        }
    }
}
