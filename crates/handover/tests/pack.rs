//! The files of a hand-over that are not paper, read back: money to the penny, places to the metre, names as text, days as days, every file
//! listed with its hash; nothing in them gives a withheld lek away.

#![allow(clippy::panic, reason = "a test may stop")]

mod common;

use calamine::{Data, Range, Reader, Xlsx};
use common::whole::{ROUND_M, Whole, holds, round, store, told, told_by, whole, whole_of};
use common::*;
use geo::{Area, Distance, Euclidean, HasDimensions};
use geo_types::{Coord, Point};
use guidance::Country;
use handover::secrecy::Secrecy;
use handover::{Output, Pack, Planned, Works};
use holding::grid_ref::{grid_from_lonlat, lonlat_from_grid};
use sha2::{Digest, Sha256};
use std::io::Cursor;
use std::process::Command;

/// An option in England, where schemes pay for some of it.
fn english() -> Whole {
    let mut holding = common::whole::holding();
    holding.about.country = Country::England;
    whole_of(holding)
}

fn pack<'a>(whole: &'a Whole, planned: &'a Planned<'a>, works: &'a Works, show_leks: bool) -> Pack<'a> {
    Pack { works: Some(works), ..whole.pack(planned, show_leks) }
}

fn sheet(outputs: &[Output], name: &str, sheet: &str) -> Range<Data> {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(file(outputs, name).to_vec())).expect("a workbook");
    book.worksheet_range(sheet).expect(sheet)
}

/// The column of a head, without the head.
fn column(range: &Range<Data>, head: &str) -> Vec<Data> {
    let at = range.rows().next().expect("heads").iter().position(|c| *c == *head).unwrap_or_else(|| panic!("no column {head}"));
    range.rows().skip(1).map(|row| row[at].clone()).collect()
}

/// The pence of a column of pounds, each cell a whole number of pence.
fn pence(range: &Range<Data>, head: &str) -> i64 {
    let cell = |c: &Data| match c {
        Data::Float(gbp) => {
            assert!((gbp * 100.0 - (gbp * 100.0).round()).abs() < 1e-6, "{gbp} is no whole number of pence");
            (gbp * 100.0).round() as i64
        }
        Data::Int(gbp) => gbp * 100,
        _ => 0,
    };
    column(range, head).iter().map(cell).sum()
}

#[test]
fn sheets_tables_and_calendar_hold_what_the_works_hold() {
    let whole = english();
    let planned = whole.planned();
    let works = whole.works(true);
    let account = works.account.as_ref().expect("an account");
    let pack = pack(&whole, &planned, &works, true);
    let outputs = pack.write().expect("a hand-over");
    assert_eq!(outputs.iter().map(|o| o.name.as_str()).collect::<Vec<_>>(), handover::pack::names(false, true), "and none is left out");
    assert!(pack.left_out().is_empty());

    // Money: every sum is the account's, to the penny.
    assert!(account.totals.cost[1].0 > 0 && account.totals.income[1].0 > 0 && !account.claims.is_empty());
    let claims = |name: &str| sheet(&outputs, "claims.xlsx", name);
    assert_eq!(pence(&claims("Claims"), "Amount, £"), account.totals.income[1].0);
    assert_eq!(pence(&claims("By year"), "Claimed, £"), account.totals.income[1].0);
    assert_eq!(pence(&claims("By payment"), "Claimed, £"), account.totals.income[1].0);
    for (head, i) in [("Low, £", 0), ("Amount, £", 1), ("High, £", 2)] {
        assert_eq!(pence(&claims("Costs"), head), account.totals.cost[i].0, "{head}");
    }
    assert_eq!(pence(&claims("By year"), "Costs, £"), account.totals.cost[1].0);
    assert_eq!(claims("Claims").height() - 1, account.claims.len());
    assert_eq!(claims("Not claimed").height().max(1) - 1, account.not_claimed.len());
    // Quantity times rate is the amount wherever a rate is known.
    let costs = claims("Costs");
    for row in costs.rows().skip(1) {
        if let (Data::Float(quantity), Data::Float(rate), Data::Float(gbp)) = (&row[5], &row[7], &row[8]) {
            assert!((quantity * rate - gbp).abs() < 0.005 + 1e-6, "{quantity} at {rate} is not {gbp}");
        }
    }
    let net = claims("Totals");
    let now = net.rows().find(|r| r[0] == *"Worth now: income less costs").expect("worth now");
    assert_eq!(now[2], Data::Float(account.worth.net[1].gbp()));
    assert!(now[4].to_string().contains("a year"), "the convention in words");

    // The contractor's: every task with days that are days; sums by hand; no money.
    let jobs = sheet(&outputs, "contractor.xlsx", "Jobs");
    let done: Vec<_> = works.made.on_days().collect();
    let first: Vec<_> = column(&jobs, "First day").iter().map(|c| if let Data::DateTime(d) = c { d.as_f64() } else { panic!("{c:?} is no day") }).collect();
    // Days since 1899-12-30, as ECMA-376 counts from March 1900 on.
    let epoch = day(1899, 12, 30);
    assert_eq!(first, done.iter().map(|d| (d.planned.first - epoch).num_days() as f64).collect::<Vec<_>>());
    let quantities = sheet(&outputs, "contractor.xlsx", "Quantities");
    let total = |part: &str, unit: &str| -> f64 {
        let of = |r: &&[Data]| r[0] == *part && r[3] == *unit;
        quantities.rows().filter(of).map(|r| if let Data::Float(v) = r[2] { v } else { 0.0 }).sum()
    };
    let planted: f64 = done.iter().filter(|d| d.job.stage == works::tasks::Stage::Work).flat_map(|d| &d.job.amounts).filter(|a| a.unit == "trees").map(|a| a.amount).sum();
    assert!(planted > 0.0 && (total("the work", "trees") - planted).abs() < 1e-6);
    let machines = ["excavator", "tractor", "tracked"];
    let people: f64 = done.iter().filter(|d| !machines.contains(&d.job.hands)).filter_map(|d| d.job.days.as_ref().map(|days| f64::from(days.usual * d.job.people))).sum();
    assert_eq!(total("people", "person days"), people);
    assert!(!told_by(outputs.iter().find(|o| o.name == "contractor.xlsx").expect("it")).contains('£'), "no money for the contractor");

    // The map file: the same sums, areas to the square metre, tasks and claims row by row.
    let (_folder, copy) = store(file(&outputs, "gis/measures.gpkg"));
    let number = |sql: &str| copy.query_row(sql, [], |r| r.get::<_, f64>(0)).expect(sql);
    for (column, i) in [("cost_pence_low", 0), ("cost_pence", 1), ("cost_pence_high", 2)] {
        assert_eq!(number(&format!("SELECT total({column}) FROM measures")), account.totals.cost[i].0 as f64);
    }
    assert_eq!(number("SELECT total(income_pence) FROM measures"), account.totals.income[1].0 as f64);
    assert_eq!(number("SELECT total(pence) FROM account_lines WHERE flow = 'cost'"), account.totals.cost[1].0 as f64);
    assert_eq!(number("SELECT total(pence) FROM account_lines WHERE flow = 'income'"), account.totals.income[1].0 as f64);
    assert_eq!(number("SELECT total(pence) FROM claims"), account.totals.income[1].0 as f64);
    let area: f64 = planned.jobs.iter().map(|j| j.shape.unsigned_area()).sum();
    assert!((number("SELECT total(area_m2) FROM measures") - area).abs() < 1.0, "{area}");
    // The far wood is 180 m by 140 m.
    assert_eq!(number("SELECT area_m2 FROM measures WHERE id = 'wood-far'").round(), 25_200.0);
    assert_eq!(number("SELECT length_m FROM measures WHERE id = 'fence-cut'").round(), 422.0);
    assert_eq!(number("SELECT count(*) FROM tasks") as usize, done.len());
    assert_eq!(number("SELECT count(*) FROM claims") as usize, account.claims.len());
    for copy in ["gis/measures.gpkg", "gis/results.gpkg"] {
        opens_without_a_word(file(&outputs, copy));
    }

    // The calendar: a task an event, stamped with the day printed.
    let calendar = String::from_utf8(file(&outputs, "calendar.ics").to_vec()).expect("text").replace("\r\n ", "");
    let of = |name: &str| calendar.lines().filter(|l| l.starts_with(name)).collect::<Vec<_>>();
    assert_eq!((of("BEGIN:VEVENT").len(), of("END:VEVENT").len()), (done.len(), done.len()));
    assert_eq!(of("DTSTART").iter().map(|l| l.rsplit(':').next().expect("a day").to_owned()).collect::<Vec<_>>(), done.iter().map(|d| d.planned.first.format("%Y%m%d").to_string()).collect::<Vec<_>>());
    assert!(of("DTSTAMP").iter().all(|l| *l == "DTSTAMP:20261102T000000Z"));

    // The list of files, against the bytes of each.
    let list: serde_json::Value = serde_json::from_slice(file(&outputs, "manifest.json")).expect("JSON");
    let files = list["files"].as_array().expect("files");
    assert_eq!(files.len(), outputs.len() - 1, "all but itself");
    for (entry, output) in files.iter().zip(&outputs) {
        let hash: String = Sha256::digest(&output.bytes).iter().map(|b| format!("{b:02x}")).collect();
        assert_eq!((entry["name"].as_str(), entry["bytes"].as_u64(), entry["sha256"].as_str()), (Some(output.name.as_str()), Some(output.bytes.len() as u64), Some(hash.as_str())));
        assert!(entry["what"].as_str().is_some_and(|w| w.ends_with('.')) && entry["whom"].as_str().is_some_and(|w| !w.is_empty()), "{entry}");
    }
    assert_eq!((list["lek_places"].as_str(), list["printed"].as_str(), list["option"]["number"].as_u64()), (Some("shown"), Some("2026-11-02"), Some(1)));
}

/// GDAL says nothing on the way.
fn opens_without_a_word(bytes: &[u8]) {
    let (folder, copy) = store(bytes);
    drop(copy);
    let Ok(read) = Command::new("ogrinfo").args(["-ro", "-al", "-so"]).arg(folder.path().join("copy.gpkg")).output() else {
        println!("skipped: ogrinfo is not installed");
        return;
    };
    let said = String::from_utf8_lossy(&read.stderr);
    assert!(read.status.success() && said.trim().is_empty(), "{said}");
}

#[test]
fn waypoints_lie_on_their_measures() {
    let whole = whole();
    let planned = whole.planned();
    let works = whole.works(true);
    let outputs = pack(&whole, &planned, &works, true).write().expect("a hand-over");
    let gpx = gpx::read(file(&outputs, "waypoints.gpx")).expect("GPX");
    assert_eq!((gpx.waypoints.len(), gpx.tracks.len()), (planned.jobs.len(), planned.jobs.len()));
    let grid = |p: Point<f64>| grid_from_lonlat(p.x(), p.y()).map(Point::from).expect("on the grid");
    for (i, (point, job)) in gpx.waypoints.iter().zip(&planned.jobs).enumerate() {
        let name = point.name.as_deref().expect("a name");
        assert!(name.len() <= 20 && name.is_ascii() && name.starts_with(&format!("{:02} ", i + 1)), "{name}");
        let spot = Secrecy::spot(&job.shape).expect("a place");
        let away = Euclidean.distance(grid(point.point()), spot);
        assert!(away < 1.0, "{name} is {away} m from its spot");
        assert!(point.description.as_ref().is_some_and(|d| d.contains(job.entry.title)), "{point:?}");
    }
    // Outlines close; lines have their own corners, here the fence's two ends.
    for (track, job) in gpx.tracks.iter().zip(&planned.jobs) {
        let ends: Vec<_> = track.segments.iter().map(|s| (s.points.first().expect("a point").point(), s.points.last().expect("a point").point())).collect();
        assert!(!ends.is_empty() && !job.shape.is_empty());
        if job.shape.unsigned_area() > 0.0 {
            assert!(ends.iter().all(|(a, b)| a == b), "{:?} does not close", track.name);
        }
    }
    let at = planned.jobs.iter().position(|j| j.measure.id == "fence-cut").expect("the fence");
    let corner: Point<f64> = planned.jobs[at].measure.line.0[0].0[0].into();
    assert!(Euclidean.distance(grid(gpx.tracks[at].segments[0].points[0].point()), corner) < 0.01);
    let made = gpx.metadata.and_then(|m| m.time).and_then(|t| t.format().ok()).expect("a time");
    assert!(made.starts_with("2026-11-02T00:00:00"), "{made}: the day printed");

    // On another grid there is none, and that is said.
    let mut abroad = whole;
    abroad.parts.holding.about.epsg = 32630;
    let planned = abroad.planned();
    let works = abroad.works(true);
    let pack = pack(&abroad, &planned, &works, true);
    assert!(pack.left_out().iter().any(|why| why.starts_with("waypoints.gpx is left out") && why.contains("EPSG:32630")), "{:?}", pack.left_out());
    let outputs = pack.write().expect("a hand-over");
    assert!(outputs.iter().all(|o| o.name != "waypoints.gpx") && told(&outputs).contains("waypoints.gpx is left out"));
}

#[test]
fn no_file_gives_a_withheld_lek_away() {
    let whole = english();
    let planned = whole.planned();
    let works = whole.works(false);
    let outputs = pack(&whole, &planned, &works, false).write().expect("a hand-over");
    let shown_works = whole.works(true);
    let shown = pack(&whole, &planned, &shown_works, true).write().expect("a hand-over");
    let [_, b] = lek_places();
    for output in &outputs {
        let text = told_by(output);
        for secret in ["384512", "529377", "84512", "29377", "NY 845", "385433", "530289", "85433", "30289", "NY8451", "wood-round-tops", "mow-the-old-green", "fence-cut", "422", "422.00"] {
            assert!(!holds(&text, secret), "{secret} is told in {}", output.name);
        }
        let corners = |raw: &[u8], x: f64, y: f64| raw.windows(16).any(|w| w[..8] == x.to_le_bytes() && w[8..] == y.to_le_bytes());
        for corner in round(b, ROUND_M).0.iter().chain(&whole.parts.holding.measures[6].line.0[0].0) {
            assert!(!corners(&output.bytes, corner.x, corner.y), "{corner:?} is in {}", output.name);
        }
    }
    assert!(told(&shown).contains("mow-the-old-green") && told(&shown).contains("fence-cut"), "the search finds what is shown");
    // A measure that would tell is its lek's square for a handheld too: corners on the kilometre, the middle as its point.
    let gpx = gpx::read(file(&outputs, "waypoints.gpx")).expect("GPX");
    let squares: Vec<_> = gpx.waypoints.iter().filter(|w| w.name.as_deref().is_some_and(|n| n.ends_with("square"))).collect();
    assert_eq!(squares.len(), 3);
    for square in squares {
        let (x, y) = grid_from_lonlat(square.point().x(), square.point().y()).expect("on the grid");
        assert!([x, y].iter().all(|v| (v.rem_euclid(1000.0) - 500.0).abs() < 0.01), "{x} {y}");
    }
    // No track passes within 20 m of where the round or the cut fence have their corners.
    let corners: Vec<Coord<f64>> = round(b, ROUND_M).0.iter().chain(&whole.parts.holding.measures[6].line.0[0].0).copied().collect();
    let tied = |track: &&gpx::Track| track.name.as_deref().is_some_and(|n| n.ends_with("square"));
    for point in gpx.tracks.iter().filter(tied).flat_map(|t| &t.segments).flat_map(|s| &s.points) {
        let (x, y) = grid_from_lonlat(point.point().x(), point.point().y()).expect("on the grid");
        assert!(corners.iter().all(|c| (c.x - x).hypot(c.y - y) > 20.0), "{x} {y}");
    }
    for lek in lek_places() {
        let (lon, lat) = lonlat_from_grid(lek.x(), lek.y()).expect("on the grid");
        let text = told(&outputs);
        assert!(!text.contains(&format!("{lon:.5}")) && !text.contains(&format!("{lat:.5}")));
    }
    let list: serde_json::Value = serde_json::from_slice(file(&outputs, "manifest.json")).expect("JSON");
    assert!(list["files"].as_array().expect("files").iter().all(|f| f["lek_places_withheld"] == true) && list["lek_places"] == "withheld");
}

#[test]
fn hostile_names_stay_text() {
    let names = ["=cmd|' /C calc'!A0", "+1+1", "-2*3", "@SUM(A1)", "\u{202e}gpj.<b>&amp;\"'", "]]><x/>", "a,b;c\\n\r\nBEGIN:VEVENT"];
    let mut holding = common::whole::holding();
    holding.about.name = names[0].into();
    holding.options[0].name = names[4].into();
    holding.measures.truncate(names.len());
    for (measure, name) in holding.measures.iter_mut().zip(names) {
        measure.id = name.into();
    }
    holding.about.country = Country::England;
    let whole = whole_of(holding);
    let planned = whole.planned();
    let works = whole.works(true);
    let pack = pack(&whole, &planned, &works, true);
    let outputs = pack.write().expect("a hand-over");
    for name in ["contractor.xlsx", "claims.xlsx", "ledger.xlsx"] {
        let mut book: Xlsx<_> = Xlsx::new(Cursor::new(file(&outputs, name).to_vec())).expect("a workbook");
        for sheet in book.sheet_names() {
            assert!(book.worksheet_formula(&sheet).expect("formulas").is_empty(), "a formula in {name}, {sheet}");
        }
    }
    // What turns the direction of a line is nowhere that people read; the map file keeps ids as the plan has them.
    let seen = names.map(|name| name.replace('\u{202e}', ""));
    let ids: Vec<String> = column(&sheet(&outputs, "contractor.xlsx", "Places"), "Identity").iter().map(ToString::to_string).collect();
    assert!(seen[..6].iter().all(|name| ids.iter().any(|id| id == name)), "{ids:?}");
    let gpx = gpx::read(file(&outputs, "waypoints.gpx")).expect("GPX");
    let said: Vec<&str> = gpx.waypoints.iter().filter_map(|w| w.comment.as_deref()).collect();
    assert!(seen[..6].iter().all(|name| said.iter().any(|c| c.starts_with(name.as_str()))), "{said:?}");
    assert!(gpx.waypoints.iter().all(|w| w.name.as_deref().is_some_and(str::is_ascii)));
    let (_folder, copy) = store(file(&outputs, "gis/measures.gpkg"));
    for name in names {
        assert_eq!(copy.query_row("SELECT count(*) FROM measures WHERE id = ?1", [name], |r| r.get::<_, i64>(0)).expect("a count"), 1, "{name:?}");
    }
    let calendar = String::from_utf8(file(&outputs, "calendar.ics").to_vec()).expect("text");
    let unfolded = calendar.replace("\r\n ", "");
    assert!(!unfolded.contains('\u{202e}'));
    assert_eq!(unfolded.lines().filter(|l| *l == "BEGIN:VEVENT").count(), works.made.on_days().count());
    let list: serde_json::Value = serde_json::from_slice(file(&outputs, "manifest.json")).expect("JSON");
    assert_eq!((list["plan"].as_str(), list["option"]["name"].as_str()), (Some(names[0]), Some(names[4])));
}
