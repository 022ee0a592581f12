//! Times the trend of a region's file of visits, for `benches/trend.py`: the table as CSV on request, the slope and the milliseconds.

#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::panic, reason = "a bench may stop and prints")]

use birds::counts::{Ask as Reading, Series};
use birds::trend::glm::{Family, fit};
use birds::trend::shape::{Shape, frame};
use birds::trend::table::Table;
use birds::trend::{Ask, trend};
use guidance::{Country, Guidance};
use std::time::Instant;

fn main() {
    let path = std::env::args().nth(1).unwrap_or_else(|| panic!("needed: a file of visits"));
    let started = Instant::now();
    let (series, report) = Series::read("visits", &std::fs::read(&path).unwrap(), &Reading { map: Vec::new(), today: None, many_birds: 200, most_birds: 2000 }).unwrap();
    let table = Table::of_years(&series.year_table());
    let read_ms = started.elapsed().as_millis();
    if std::env::args().nth(2).as_deref() == Some("table") {
        println!("lek,year,cocks");
        table.counts.iter().for_each(|c| println!("{},{},{}", c.lek, c.year, c.cocks));
        return;
    }
    let used = table.sort_out().used;
    let from = used.iter().map(|c| c.year).min().unwrap();
    let (line_ms, _) = median(|| fit(&frame(&used, &Shape::Line { from, bends: Vec::new() }, |_| 0.0), Family::Poisson, None).unwrap());
    let ask = Ask::usual(&Guidance::load().unwrap(), Country::GB).unwrap();
    let (whole_ms, drawn) = median(|| trend(&table, &ask).unwrap());
    let slope = |at: usize| drawn.by_kind[at].slope.map(|s| (s.value, s.se));
    println!("rows {} left out {} read {read_ms} ms; line median {line_ms:.1} ms, whole trend {whole_ms:.0} ms; leks {} counts {} slope {:?} by lek {:?} years {} bends {:?}", report.rows, report.left_out, drawn.leks, drawn.counts, slope(0), slope(4), drawn.index.len(), drawn.bends);
}

/// Milliseconds, the median of five, and the last result.
fn median<T>(what: impl Fn() -> T) -> (f64, T) {
    let mut times = Vec::new();
    let mut last = None;
    for _ in 0..5 {
        let started = Instant::now();
        last = Some(what());
        times.push(started.elapsed().as_secs_f64() * 1e3);
    }
    times.sort_unstable_by(f64::total_cmp);
    (times[2], last.unwrap())
}
