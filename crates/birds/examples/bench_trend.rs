//! Times the trend of a region's file of visits, for `benches/trend.py`: the table as CSV on request, the slope and the milliseconds.

#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::panic, reason = "a bench may stop and prints")]

use birds::counts::{Ask as Reading, Series};
use birds::trend::table::Table;
use birds::trend::{Ask, trend};
use std::time::Instant;

fn main() {
    let path = std::env::args().nth(1).unwrap_or_else(|| panic!("needed: a file of visits"));
    let started = Instant::now();
    let (series, report) = Series::read("visits", &std::fs::read(&path).unwrap(), &Reading { map: Vec::new(), today: None, many_birds: 200 }).unwrap();
    let table = Table::of_years(&series.year_table());
    let read_ms = started.elapsed().as_millis();
    if std::env::args().nth(2).as_deref() == Some("table") {
        println!("lek,year,cocks");
        table.counts.iter().for_each(|c| println!("{},{},{}", c.lek, c.year, c.cocks));
        return;
    }
    let mut times: Vec<u128> = Vec::new();
    let mut drawn = None;
    for _ in 0..5 {
        let started = Instant::now();
        drawn = Some(trend(&table, &Ask::default()).unwrap());
        times.push(started.elapsed().as_millis());
    }
    times.sort_unstable();
    let drawn = drawn.unwrap();
    let slope = |at: usize| drawn.by_kind[at].slope.map(|s| (s.value, s.se));
    println!("rows {} left out {} read {read_ms} ms; trend median {} ms; leks {} counts {} slope {:?} by lek {:?} years {} bends {:?}", report.rows, report.left_out, times[2], drawn.leks, drawn.counts, slope(0), slope(4), drawn.index.len(), drawn.bends);
}
