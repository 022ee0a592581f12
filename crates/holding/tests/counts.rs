//! Counts as people keep them: days, times, weather, leks by name and by place, brood counts.

mod broken;
mod making;

use chrono::NaiveDate;
use geo_types::Point;
use holding::import::{Features, Imported, Kind, Options, Source, read};
use holding::{Holding, KnownTo, Lek, Rain, Visit};
use making::*;

fn day(y: i32, m: u32, d: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(y, m, d).unwrap()
}

fn taken(csv: &str, options: &Options, plan: &Holding) -> Imported {
    read(Kind::Visits, &Source::bytes("v.csv", csv), options, plan, guidance()).unwrap_or_else(|f| panic!("{f}"))
}

fn visits(csv: &str) -> Vec<Visit> {
    match taken(csv, &Options::default(), &holding()).features {
        Features::Visits(visits) => visits,
        _ => panic!("visits"),
    }
}

#[test]
fn days_and_times_in_every_form_are_one() {
    for date in ["2025-04-12", "12/4/2025", "12 Apr 2025", "12.4.25", "45759", "2025-04-12T00:00:00", "12th April 2025", "20250412"] {
        for start in ["0545", "5:45", "05.45", "5.45am", "545", "0.2395833333", "5:45 BST", "04:45 GMT"] {
            let csv = format!("Lek name,Date,Time of visit,Displaying cocks\nwhin rigg,{date},{start},6\n");
            let found = visits(&csv).remove(0);
            assert_eq!((found.lek.as_str(), found.date, found.start.unwrap().to_string().as_str(), found.cocks), ("L1", day(2025, 4, 12), "05:45:00", Some(6)), "{csv}");
        }
    }
    let moment = visits("lek,date,cocks\nL1,12/04/2025 05:45,6\nL1,2025-04-13T04:45:00Z,7\n");
    assert_eq!(moment.iter().map(|v| v.start.unwrap().to_string()).collect::<Vec<_>>(), ["05:45:00", "05:45:00"]);
    // Before the clocks change Greenwich time is the clock's.
    assert_eq!(visits("lek,date,start,cocks\nL1,2025-03-25,05:45 GMT,6\n")[0].start.unwrap().to_string(), "05:45:00");
}

#[test]
fn a_month_or_a_year_will_do() {
    let found = visits("lek,Year,Month,Day,cocks\nL1,1987,,,9\nL1,1988,Apr,,8\nL1,1989,4,12,7\n");
    let short: Vec<_> = found.iter().map(|v| (v.date, v.known_to)).collect();
    assert_eq!(short, [(day(1987, 1, 1), KnownTo::Year), (day(1988, 4, 1), KnownTo::Month), (day(1989, 4, 12), KnownTo::Day)]);
}

#[test]
fn a_column_settles_whether_the_month_stands_first() {
    let first = visits("lek,date,cocks\nL1,04/05/2025,6\nL1,04/25/2025,7\n");
    assert_eq!(first.iter().map(|v| v.date).collect::<Vec<_>>(), [day(2025, 4, 5), day(2025, 4, 25)]);
    let last = visits("lek,date,cocks\nL1,04/05/2025,6\nL1,25/04/2025,7\n");
    assert_eq!(last.iter().map(|v| v.date).collect::<Vec<_>>(), [day(2025, 5, 4), day(2025, 4, 25)]);
}

#[test]
fn weather_people_and_everything_else_are_kept() {
    let csv = "lek,date,cocks,hens,Wind,Rain,Recorder,Weather,Comments,Vantage point,Dogs walked\n\
               L1,2025-04-12,c. 6,2,SW 2-3,light drizzle,M. Thwaite,\"cold, clear\",one limping,wall end,3\n";
    let found = visits(csv).remove(0);
    assert_eq!((found.cocks, found.hens, found.wind_beaufort, found.rain), (Some(6), Some(2), Some(3), Some(Rain::Drizzle)));
    assert_eq!((found.observer.as_str(), found.weather.as_str(), found.note.as_str()), ("M. Thwaite", "cold, clear", "one limping"));
    let kept: Vec<_> = found.extra.iter().map(|(k, v)| format!("{k}: {v}")).collect();
    assert_eq!(kept, ["Dogs walked: \"3\"", "Rain as written: \"light drizzle\"", "Vantage point: \"wall end\"", "Wind as written: \"SW 2-3\"", "cocks as written: \"c. 6\""]);
}

/// Birds within 200 m of a lek are the lek's, the nearest one's; farther off, places that lie together put one lek
/// forward. Distances: survey rule of the west Scotland counts, GBIF 10.15468/r1xoae.
#[test]
fn birds_are_joined_to_leks_by_their_place() {
    let mut plan = holding();
    plan.leks.push(Lek::new("L2", "Long Moss", Point::new(391_300.0, 531_000.0)));
    let csv = "easting,northing,date,cocks,site\n\
               391160,531000,2025-04-12,4,\n391199,531000,2025-04-13,3,\n391000,531200,2025-04-14,2,\n\
               392500,532500,2025-04-12,5,\n392650,532500,2025-04-13,7,\n392800,532500,2025-04-14,,\n\
               391300,531400,2025-04-12,3,\n391300,531401,2025-04-13,2,Far Knowe\n\
               392500,533500,2025-04-12,0,\n";
    let proposed = read(Kind::Visits, &Source::bytes("v.csv", csv), &Options::default(), &plan, guidance()).unwrap_err();
    assert_eq!((proposed.total, proposed.proposed.len()), (2, 2));
    let imported = taken(csv, &Options { make_leks: true, ..Options::default() }, &plan);
    let leks: Vec<_> = imported.proposed.iter().map(|l| (l.id.as_deref(), l.name.as_str(), l.visits, l.most_cocks, l.satellite_of.as_ref().map(|s| s.0.as_str()))).collect();
    assert_eq!(leks, [(Some("lek-1"), "NY9232", 3, 7, None), (Some("lek-2"), "Far Knowe", 2, 3, Some("L2"))]);
    assert_eq!((imported.proposed[0].at, imported.proposed[0].reach_m), (Point::new(392_650.0, 532_500.0), 150.0));
    assert_eq!((imported.left_out.len(), imported.count), (1, 8));
    imported.apply(&mut plan);
    assert_eq!(plan.leks.iter().map(|l| l.id.as_str()).collect::<Vec<_>>(), ["L1", "L2", "lek-1", "lek-2"]);
    let of: Vec<_> = plan.visits.iter().map(|v| v.lek.as_str()).collect();
    assert_eq!(of, ["L2", "L2", "L1", "lek-1", "lek-1", "lek-1", "lek-2", "lek-2"]);
    // Once made, the same file adds nothing.
    let again = taken(csv, &Options::default(), &plan);
    assert_eq!((again.count, again.proposed.len()), (0, 0));
}

#[test]
fn places_come_as_references_and_degrees_too() {
    let [lon, lat] = lonlat(391_050.0, 531_050.0);
    for csv in [
        "gridref,date,cocks\nNY 9105 3105,2025-04-12,5\n".to_owned(),
        format!("lat,lon,date,cocks\n{lat},{lon},2025-04-12,5\n"),
        geojson_text(point_json([lon, lat])),
    ] {
        let name = if csv.starts_with('{') { "v.geojson" } else { "v.csv" };
        let imported = read(Kind::Visits, &Source::bytes(name, csv), &Options::default(), &holding(), guidance()).unwrap();
        let Features::Visits(found) = &imported.features else { panic!() };
        assert_eq!(found[0].lek, "L1");
    }
}

fn geojson_text(point: serde_json::Value) -> String {
    String::from_utf8(geojson(&[(point, serde_json::json!({"date": "2025-04-12", "cocks": 5}))])).unwrap()
}

#[test]
fn a_name_of_two_leks_is_asked_about() {
    let mut plan = holding();
    plan.leks.push(Lek::new("L2", "Whin Rigg", Point::new(392_000.0, 531_000.0)));
    let ask = |lek: &str| read(Kind::Visits, &Source::bytes("v.csv", format!("lek,date,cocks\n{lek},2025-04-12,5\n")), &Options::default(), &plan, guidance());
    let faults = ask("whin rigg").unwrap_err().to_string();
    assert!(faults.contains("the name of one lek") && faults.contains("the leks L1, L2 are called so"), "{faults}");
    assert!(ask("L2").is_ok());
}

#[test]
fn brood_counts_come_in() {
    let csv = "Date,Grid ref,Lek,Hens seen,Hens with broods,Chicks,Dogs,Counter,Remarks,Beat\n\
               9/8/2025,NY 9105 3105,Whin Rigg,5,3,11,yes,M. Thwaite,wet,north\n10/8/2025,,,2,0,nil,no dogs,,,\n";
    let imported = read(Kind::Broods, &Source::bytes("b.csv", csv), &Options::default(), &holding(), guidance()).unwrap_or_else(|f| panic!("{f}"));
    let mut plan = holding();
    imported.apply(&mut plan);
    let [first, second] = &plan.broods[..] else { panic!() };
    assert_eq!((first.date, first.lek.as_str(), first.at), (day(2025, 8, 9), "L1", Some(Point::new(391_055.0, 531_055.0))));
    assert_eq!((first.hens, first.hens_with_brood, first.young, first.dogs), (Some(5), Some(3), Some(11), Some(true)));
    assert_eq!((first.observer.as_str(), first.note.as_str(), &first.extra["Beat"]), ("M. Thwaite", "wet", &"north".into()));
    assert_eq!((second.at, second.lek.as_str(), second.hens_with_brood, second.young, second.dogs), (None, "", Some(0), Some(0), Some(false)));
    assert_eq!(second.extra["Dogs as written"], "no dogs");
}

/// Two thousand leks and a hundred and twenty thousand visits by place are joined without comparing each with each.
#[test]
fn many_visits_find_their_leks_quickly() {
    let mut plan = Holding::default();
    for n in 0..2_000 {
        plan.leks.push(Lek::new(format!("L{n}"), format!("Lek {n}"), Point::new(380_000.0 + f64::from(n % 50) * 1_000.0, 520_000.0 + f64::from(n / 50) * 1_000.0)));
    }
    let mut csv = String::from("easting,northing,date,start,cocks\n");
    for n in 0..120_000_u32 {
        let lek = n % 2_000;
        let (east, north) = (380_000 + lek % 50 * 1_000 + n % 190, 520_000 + lek / 50 * 1_000);
        csv += &format!("{east},{north},{}-04-{:02},05:{:02},{}\n", 1960 + n / 2_000, 1 + n % 30, n % 60, n % 13);
    }
    let started = std::time::Instant::now();
    let imported = taken(&csv, &Options::default(), &plan);
    println!("120,000 visits joined to 2,000 leks in {:?}", started.elapsed());
    let Features::Visits(found) = &imported.features else { panic!() };
    assert_eq!(found.len(), 120_000);
    assert!(found.iter().enumerate().all(|(n, v)| v.lek == format!("L{}", n % 2_000)));
    assert!(started.elapsed().as_secs() < 60, "{:?}", started.elapsed());
}
