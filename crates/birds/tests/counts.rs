//! A region's file of visits: what is odd is told, nothing is refused for one row, and the yearly maxima are right.

#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a test may stop and say why it was skipped")]

use birds::counts::{Ask, Oddity, Series};
use chrono::NaiveDate;
use holding::import::MapTo;
use std::path::Path;

fn ask() -> Ask {
    Ask { map: vec![], today: NaiveDate::from_ymd_opt(2026, 6, 1), many_birds: 200, most_birds: 2000 }
}

/// 119,703 visits to 2,415 leks of another grouse, 1948 to 2015: Wyoming Game & Fish Department, CC BY 4.0. The four
/// means of yearly maxima are those of a plain grouping of the table by another program.
#[test]
fn the_real_file_of_a_region() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data/lek_counts_wyoming/lek.csv.gz");
    let Ok(bytes) = std::fs::read(&path) else {
        println!("skipped: the real counts (../shared/data beside the workspace) are absent");
        return;
    };
    let started = std::time::Instant::now();
    let (series, report) = Series::read("lek.csv.gz", &bytes, &ask()).unwrap();
    println!("read in {:?}", started.elapsed());
    let started = std::time::Instant::now();
    let table = series.year_table();
    println!("yearly maxima in {:?}", started.elapsed());
    println!("{}", report.odd.iter().map(|o| format!("{o}\n")).collect::<String>());
    for (year, mean, leks) in [(1996, 7.301_676, 716), (2006, 27.943_432, 1_591), (2013, 9.924_837, 1_836), (2015, 18.771_053, 1_900)] {
        let (found, n) = table.mean(year).unwrap();
        assert!((found - mean).abs() < 5e-7 && n == leks, "{year}: {found} of {n}");
    }
    assert_eq!((report.rows, series.leks.len()), (119_703, 2_415));
    let extent = series.extent().unwrap();
    assert_eq!((extent.first_year, extent.last_year), (1948, 2015));
    // Counted in the file by another program; of more than 200 birds, 111 are cocks and 4 hens.
    let of = |what| report.of(what).map_or(0, |o| o.count);
    assert_eq!([of(Oddity::NoYear), of(Oddity::YearOnly), of(Oddity::NotCounted), of(Oddity::NoLek)], [15, 29_992, 26_309, 0]);
    assert_eq!([of(Oddity::ManyBirds), of(Oddity::NamesAlike), of(Oddity::NoSuchDay)], [115, 1, 0]);
    assert_eq!(report.left_out, 15);
    assert!(of(Oddity::Twice) > 0 && of(Oddity::NoSuchTime) > 0 && of(Oddity::TimeInWords) > 0);
}

#[test]
fn every_oddity_is_counted_and_placed() {
    let csv = "\
Site;Date;Time;Males;Females
Whin Rigg;2025-04-12;05:45;6;1
Whin Rigg;2025-04-12;0545;6;1
Whin Rigg;2025-04-12;5.45;7;1
whin rigg;12/04/2024;25:00;c. 5;
;2025-04-12;;4;
Sike Moss;;;4;
Sike Moss;2025-02-30;;4;
Sike Moss;2031-04-12;;4;
Sike Moss;1899;;4;
Sike Moss;1987;dawn;-4;
Sike Moss;April 1988;00:00;several;
Sike Moss;1989;;;
Sike Moss;1990;;250;
Sike Moss;1991;;1000000000;
";
    let (series, report) = Series::read("c.csv", csv.as_bytes(), &ask()).unwrap();
    let found: Vec<_> = report.odd.iter().map(|o| (o.what, o.count, o.first[0].0)).collect();
    assert_eq!(found, [
        (Oddity::NoLek, 1, 6),
        (Oddity::NoYear, 1, 7),
        (Oddity::NoSuchDay, 1, 8),
        (Oddity::OutOfTime, 2, 9),
        (Oddity::YearOnly, 4, 11),
        (Oddity::MonthOnly, 1, 12),
        (Oddity::NoTime, 3, 13),
        (Oddity::TimeInWords, 1, 11),
        (Oddity::NoSuchTime, 1, 5),
        (Oddity::Midnight, 1, 12),
        (Oddity::NotCounted, 1, 13),
        (Oddity::CountInWords, 1, 12),
        (Oddity::CountTaken, 1, 5),
        (Oddity::NoSuchCount, 1, 11),
        (Oddity::TooManyBirds, 1, 15),
        (Oddity::ManyBirds, 1, 14),
        (Oddity::Twice, 1, 3),
        (Oddity::TwiceUnlike, 1, 4),
        (Oddity::NamesAlike, 1, 5),
    ]);
    assert_eq!((report.rows, report.left_out, series.len()), (14, 5, 9));
    assert_eq!(report.of(Oddity::NoSuchTime).unwrap().to_string(), "1: no time of day: kept without start (line 5 `25:00`)");
    assert_eq!(series.leks, ["Whin Rigg", "whin rigg", "Sike Moss"]);
    assert_eq!(series.start_min[..3], [Some(345); 3]);
    let table = series.year_table();
    assert_eq!((table.at(0, 2025), table.at(1, 2024), table.at(2, 1987), table.at(2, 1990)), (Some(7), Some(5), None, Some(250)));
    assert_eq!((table.mean(2025), table.mean(2023)), (Some((7.0, 1)), None));
    assert_eq!((table.all_years().count(), table.row(0).len(), table.at(0, 1980)), (36, 36, None));
}

#[test]
fn a_column_of_days_settles_whether_the_month_stands_first() {
    let (series, report) = Series::read("c.csv", b"lek,date,cocks\nA,04/05/2020,4\nA,04/25/2020,6\n", &ask()).unwrap();
    assert_eq!(series.day, [NaiveDate::from_ymd_opt(2020, 4, 5), NaiveDate::from_ymd_opt(2020, 4, 25)]);
    assert!(report.notes.0[0].text.contains("month first"));
    let (series, report) = Series::read("c.csv", b"lek,date,cocks\nA,04/05/2020,4\nA,25/04/2020,6\n", &ask()).unwrap();
    assert_eq!((series.day[0], report.notes.0.len()), (NaiveDate::from_ymd_opt(2020, 5, 4), 0));
}

/// A plan's table holds the year figures: visits out of season do not count, and a lek never counted has an empty row.
#[test]
fn a_plan_gives_the_same_kind_of_table() {
    let mut plan = holding::Holding::default();
    for id in ["L1", "L2", "L3"] {
        plan.leks.push(holding::Lek::new(id, "", geo_types::Point::new(0.0, 0.0)));
    }
    for (n, (lek, y, m, d, cocks)) in [("L1", 2023, 4, 20, 5), ("L1", 2023, 5, 1, 7), ("L1", 2023, 6, 20, 12), ("L3", 2025, 4, 1, 0)].into_iter().enumerate() {
        let date = NaiveDate::from_ymd_opt(y, m, d).unwrap();
        plan.visits.push(holding::Visit { id: n.to_string(), lek: lek.into(), date, cocks: Some(cocks), ..Default::default() });
    }
    let guidance = guidance::Guidance::load().unwrap();
    let table = birds::counts::YearTable::of_plan(&plan, &guidance, |_| None).unwrap();
    assert_eq!((table.first_year, table.years, &table.leks[..]), (2023, 3, &["L1".to_owned(), "L2".into(), "L3".into()][..]));
    assert_eq!(table.cocks, [Some(7), None, None, None, None, None, None, None, Some(0)]);
    for (lek, figures) in plan.leks.iter().zip(birds::visits::of_every_lek(&plan, &guidance, |_| None).unwrap()) {
        assert_eq!(figures, birds::visits::by_year(&plan, &lek.id, &guidance, None).unwrap());
    }
}

#[test]
fn what_is_no_file_of_counts_is_refused_in_words() {
    let refused = |bytes: &[u8]| Series::read("c.csv", bytes, &ask()).unwrap_err().to_string();
    assert!(refused(b"").contains("column names"));
    assert!(refused(b"lek,year,cocks\n").contains("at least one row"));
    let needed = refused(b"lek,note\nA,x\n");
    assert!(needed.contains("c.csv: needed a column for `cocks`") && needed.contains("a column for `date`"), "{needed}");
    assert!(refused(&[0x1F, 0x8B, 8, 0, 1, 2, 3]).contains("a whole gzip file"));
    assert!(refused(b"lek,males,cock,year\nA,1,2,2020\n").contains("one column for `cocks`"));
    let told = Ask { map: vec![MapTo::from_text("cocks=lekking").unwrap()], ..ask() };
    let (series, _) = Series::read("c.csv", b"lek,year,lekking\nA,2020,4\n", &told).unwrap();
    assert_eq!(series.cocks, [Some(4)]);
}

/// The same file into a plan that has its leks: what cannot be used is left out and said, the rest goes in.
#[test]
fn the_real_file_goes_into_a_plan() {
    use std::io::Read;
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data/lek_counts_wyoming/lek.csv.gz");
    let Ok(bytes) = std::fs::read(&path) else {
        println!("skipped: the real counts (../shared/data beside the workspace) are absent");
        return;
    };
    let (series, _) = Series::read("lek.csv.gz", &bytes, &ask()).unwrap();
    let mut text = String::new();
    flate2::read::GzDecoder::new(&bytes[..]).read_to_string(&mut text).unwrap();
    let mut plan = holding::Holding::default();
    let lek = |(n, name): (usize, &String)| holding::Lek::new(format!("W{n}"), name, geo_types::Point::new(400_000.0, 500_000.0));
    plan.leks = series.leks.iter().enumerate().map(lek).collect();
    let source = holding::import::Source::bytes("lek.csv", text);
    let options = holding::import::Options { leave_out: true, ..Default::default() };
    let started = std::time::Instant::now();
    let imported = holding::import::read(holding::import::Kind::Visits, &source, &options, &plan, &guidance::Guidance::load().unwrap()).unwrap();
    println!("read in {:?}", started.elapsed());
    for left in &imported.left_out {
        println!("{left}");
    }
    for note in &imported.notes.0 {
        println!("{note}");
    }
    // Left out: no year (15), more than 200 birds or no time of day.
    let left_out: usize = imported.left_out.iter().map(|l| l.count).sum();
    assert!((100..200).contains(&left_out), "{left_out}");
    let alike: usize = imported.notes.0.iter().filter(|n| n.text.contains("alike in everything")).map(|n| n.count).sum();
    assert_eq!(imported.count + left_out + alike, 119_703);
    imported.apply(&mut plan);
    // Without the few visits left out, a year's mean of maxima stays close to the whole file's.
    let counts = plan.visits.iter().filter(|v| v.cocks.is_some());
    let number: std::collections::HashMap<&str, usize> = plan.leks.iter().enumerate().map(|(n, l)| (l.id.as_str(), n)).collect();
    let table = birds::counts::YearTable::of(series.leks.clone(), counts.map(|v| (number[v.lek.as_str()], chrono::Datelike::year(&v.date), v.cocks.unwrap())));
    let (mean, leks) = table.mean(1996).unwrap();
    assert!((mean - 7.301_676).abs() < 0.05 && leks == 716, "{mean} of {leks}");
}
