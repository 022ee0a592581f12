//! Sound files of every format come in as they were drawn, and go out and come in again the same.

mod making;

use chrono::NaiveDate;
use geo::{Area as _, Euclidean, Length};
use holding::export::{Leks, collection, features};
use holding::grid_ref::lonlat_from_grid;
use holding::import::{Faults, Imported, Kind, MapTo, Mode, Options, Source, Sure, read};
use holding::*;
use making::*;
use serde_json::json;
use std::path::PathBuf;

fn take(kind: Kind, source: &Source, map: &[&str], plan: &Holding) -> Result<Imported, Faults> {
    let map = map.iter().map(|m| MapTo::from_text(m).unwrap()).collect();
    read(kind, source, &Options { map, ..Options::default() }, plan, guidance())
}

fn into(kind: Kind, name: &str, bytes: impl Into<Vec<u8>>) -> Holding {
    into_with(kind, name, bytes, &[])
}

fn into_with(kind: Kind, name: &str, bytes: impl Into<Vec<u8>>, map: &[&str]) -> Holding {
    let mut plan = holding();
    let imported = take(kind, &Source::bytes(name, bytes.into()), map, &plan).unwrap_or_else(|f| panic!("{f}"));
    imported.apply(&mut plan);
    plan
}

fn near(a: f64, b: f64, by: f64) {
    assert!((a - b).abs() <= by, "{a} is not {b}");
}

#[test]
fn a_geopackage_of_patches_comes_in() {
    let bytes = geopackage(27700, &[("patches", vec![(square_blob(391_000.0, 531_000.0, 300.0), "Sike Moss", Some(40.0)), (square_blob(392_000.0, 531_000.0, 200.0), "O'Dour \"Rigg\" <b>", None)])]);
    let plan = into(Kind::Patches, "p.gpkg", bytes);
    assert_eq!(plan.patches.len(), 2);
    assert_eq!((plan.patches[0].id.as_str(), plan.patches[0].name.as_str()), ("patch-1", "Sike Moss"));
    assert_eq!(plan.patches[0].covers.of(Plant::Heather), Some(40.0));
    assert_eq!(plan.patches[0].shape.unsigned_area(), 90_000.0);
    assert_eq!(plan.patches[1].name, "O'Dour \"Rigg\" <b>");
    assert_eq!(plan.patches[1].covers.of(Plant::Heather), None, "what is not surveyed stays unrecorded");
}

#[test]
fn one_layer_of_several_is_read_when_named() {
    let row = || vec![(square_blob(391_000.0, 531_000.0, 300.0), "A", None)];
    let bytes = geopackage(27700, &[("patches", row()), ("old", row())]);
    let options = Options { layer: Some("PATCHES".into()), ..Options::default() };
    let imported = read(Kind::Patches, &Source::bytes("p.gpkg", bytes), &options, &holding(), guidance()).unwrap();
    assert_eq!((imported.count, imported.mapping.layer.as_deref()), (1, Some("patches")));
}

#[test]
fn a_shapefile_comes_in_zipped_and_loose_with_its_hole() {
    let plan = into(Kind::Patches, "moor.zip", shapefile_zip(Some(BNG_PRJ)));
    assert_eq!(plan.patches.len(), 2);
    assert_eq!(plan.patches[0].shape.unsigned_area(), 240_000.0, "500 m square less a hole of 100 m");
    assert_eq!((plan.patches[0].height_cm, plan.patches[1].height_cm), (Some(22.5), Some(31.0)));
    assert_eq!(plan.patches[1].name, "Caf\u{e9} Rigg");

    let folder = tempfile::tempdir().unwrap();
    let [shp, shx, dbf] = shapefile(&[(vec![corners(391_000.0, 531_000.0, 100.0)], "Loose", 12.0)]);
    for (ending, bytes) in [("shp", shp), ("shx", shx), ("DBF", dbf), ("prj", BNG_PRJ.as_bytes().to_vec())] {
        std::fs::write(folder.path().join("p").with_extension(ending), bytes).unwrap();
    }
    let imported = take(Kind::Patches, &Source::path(folder.path().join("p.shp")), &[], &holding()).unwrap();
    assert_eq!(imported.count, 1);
    assert!(imported.notes.0.is_empty(), "{:?}", imported.notes);
}

/// A package that another program keeps in write-ahead mode is read when it is closed, and refused while changes
/// still stand beside it.
#[test]
fn a_geopackage_in_write_ahead_mode_is_read_once_it_is_closed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("p.gpkg");
    std::fs::write(&path, geopackage(27700, &[("patches", vec![(square_blob(391_000.0, 531_000.0, 300.0), "A", None)])])).unwrap();
    let db = rusqlite::Connection::open(&path).unwrap();
    db.query_row("PRAGMA journal_mode = WAL", [], |_| Ok(())).unwrap();
    db.execute("UPDATE patches SET name = 'B'", []).unwrap();
    let faults = take(Kind::Patches, &Source::path(&path), &[], &holding()).unwrap_err();
    assert!(faults.to_string().contains("close the program that has it open"), "{faults}");
    db.close().unwrap();
    let before = std::fs::read(&path).unwrap();
    assert_eq!(before[18], 2, "still in write-ahead mode");
    take(Kind::Patches, &Source::path(&path), &[], &holding()).unwrap_or_else(|f| panic!("{f}"));
    assert_eq!(std::fs::read(&path).unwrap(), before, "a source is never written to");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nor is anything left beside it");
}

#[test]
fn what_cannot_be_opened_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let faults = take(Kind::Leks, &Source::path(folder.path().join("none.csv")), &[], &holding()).unwrap_err();
    assert!(faults.to_string().contains("none.csv: needed a file that can be read"), "{faults}");
    let faults = take(Kind::Leks, &Source::path(folder.path()), &[], &holding()).unwrap_err();
    assert!(faults.to_string().contains("found a folder"), "{faults}");
    let large = folder.path().join("large.csv");
    std::fs::File::create(&large).unwrap().set_len(3 << 30).unwrap();
    let faults = take(Kind::Leks, &Source::path(&large), &[], &holding()).unwrap_err();
    assert!(faults.to_string().contains("at most 256.0 MB, found 3.0 GB"), "{faults}");
}

/// A plan in another projected system takes that system, and refuses longitude and latitude with a hint.
#[test]
fn a_plan_in_another_system_takes_only_its_own() {
    let mut plan = Holding::default();
    plan.about.epsg = 2157;
    let csv = Source::bytes("l.csv", "easting,northing\n600000,750000\n");
    let imported = take(Kind::Leks, &csv, &[], &plan).unwrap_or_else(|f| panic!("{f}"));
    assert!(imported.mapping.geometry.contains("EPSG:2157"));
    for bad in [Source::bytes("l.csv", "lon,lat\n-7,54\n"), Source::bytes("l.csv", "grid ref\nNY9131\n")] {
        let faults = take(Kind::Leks, &bad, &[], &plan).unwrap_err();
        assert!(faults.to_string().contains("EPSG:2157"), "{faults}");
    }
}

#[test]
fn a_flatgeobuf_comes_in() {
    let plan = into(Kind::Patches, "p.fgb", flatgeobuf(27700));
    let mut found: Vec<_> = plan.patches.iter().map(|p| (p.name.as_str(), p.covers.of(Plant::Heather), p.shape.unsigned_area())).collect();
    found.sort_by(|a, b| a.0.cmp(b.0));
    assert_eq!(found, [("Far Rigg", Some(55.5), 90_000.0), ("Sike Moss", Some(40.0), 90_000.0)]);
}

#[test]
fn a_geojson_of_patches_comes_in_to_the_millimetre() {
    let geometry = json!({"type": "Polygon", "coordinates": [ring(391_000.0, 531_000.0, 300.0)]});
    let properties = json!({"id": "A1", "Phase 1": "D1.1 Dry heath", "heather": "A", "bilberry": 10, "rushes": "domin 5", "surveyed": "17 Apr 2026", "Height (m)": 0.35, "surveyor": "M. Thwaite"});
    let plan = into(Kind::Patches, "p.geojson", geojson(&[(geometry, properties)]));
    let patch = &plan.patches[0];
    let corner = patch.shape.0[0].exterior().0[0];
    near(corner.x, 391_000.0, 0.001);
    near(corner.y, 531_000.0, 0.001);
    assert_eq!((patch.id.as_str(), patch.phase1.as_deref()), ("A1", Some("D1.1")));
    let of = |key: &str| Some(guidance().number(key, Country::GB).unwrap() as f32);
    assert_eq!(patch.covers.of(Plant::Heather), of("dafor.A.cover"));
    assert_eq!(patch.covers.of(Plant::Rush), of("domin.5.cover"));
    assert_eq!(patch.covers.of(Plant::Blaeberry), Some(10.0));
    assert_eq!(patch.covers.of(Plant::Moss), None, "no class default is written in");
    near(f64::from(patch.height_cm.unwrap()), 35.0, 1e-4);
    assert_eq!(patch.surveyed, NaiveDate::from_ymd_opt(2026, 4, 17));
    assert_eq!(patch.extra["surveyor"], json!("M. Thwaite"));
}

#[test]
fn a_habitat_is_known_by_its_name() {
    let geometry = json!({"type": "Polygon", "coordinates": [ring(391_000.0, 531_000.0, 300.0)]});
    let plan = into(Kind::Patches, "p.geojson", geojson(&[(geometry, json!({"habitat": "dry dwarf shrub heath,  ACID"}))]));
    assert_eq!(plan.patches[0].phase1.as_deref(), Some("D1.1"));
}

#[test]
fn sticks_come_in_from_a_sheet_with_days_and_grid_references() {
    let bytes = xlsx(&[
        ("Readme", vec![]),
        ("Sticks", vec![
            vec![Put::Text("Grid ref"), Put::Text("Sward height (cm)"), Put::Text("Date"), Put::Text("Notes")],
            vec![Put::Text("NY 91025 31050"), Put::Number(14.0), Put::Day(2026, 4, 17), Put::Text("by the sike")],
            vec![Put::Nothing, Put::Nothing, Put::Nothing, Put::Nothing],
            vec![Put::Text("NY9110031100"), Put::Text("8 cm"), Put::Text("18/04/2026"), Put::Nothing],
        ]),
    ]);
    let plan = into(Kind::Sticks, "s.xlsx", bytes);
    assert_eq!(plan.sticks.len(), 2);
    let first = &plan.sticks[0];
    assert_eq!((first.at.x(), first.at.y(), first.height_cm), (391_025.5, 531_050.5, 14.0));
    assert_eq!((first.date, first.note.as_str()), (NaiveDate::from_ymd_opt(2026, 4, 17), "by the sike"));
    assert_eq!((plan.sticks[1].height_cm, plan.sticks[1].date), (8.0, NaiveDate::from_ymd_opt(2026, 4, 18)));
}

#[test]
fn tables_of_text_come_in_whatever_their_separator_and_marks() {
    let semicolons = "\u{feff}Name;Eastings;Northings;Radius (m)\r\n\"Whin; Rigg\";391000;531000;75\r\n";
    let plan = into(Kind::Leks, "l.csv", semicolons);
    assert_eq!((plan.leks[1].name.as_str(), plan.leks[1].radius_m), ("Whin; Rigg", Some(75.0)));
    let wide: Vec<u8> = [0xFF, 0xFE].into_iter().chain("name\teasting\tnorthing\nC\u{e0}rn\t391000\t531000\n".encode_utf16().flat_map(u16::to_le_bytes)).collect();
    assert_eq!(into(Kind::Leks, "l.txt", wide).leks[1].name, "C\u{e0}rn");
    let [lon, lat] = lonlat(391_500.0, 531_500.0);
    let plan = into(Kind::Leks, "l.csv", format!("lek,longitude,latitude\nHigh Ground,{lon},{lat}\n"));
    near(plan.leks[1].at.x(), 391_500.0, 0.001);
    let plan = into(Kind::Patches, "p.csv", "WKT,Name\n\"MULTIPOLYGON (((391000 531000, 391100 531000, 391100 531100, 391000 531100, 391000 531000)))\",A\n");
    assert_eq!(plan.patches[0].shape.unsigned_area(), 10_000.0);
}

#[test]
fn told_columns_stand_before_guesses_and_the_guess_is_shown() {
    let csv = "easting,northing,ht,other ht cm\n391000,531000,0.2,99\n";
    let imported = take(Kind::Sticks, &Source::bytes("s.csv", csv), &["height_cm=ht:m"], &holding()).unwrap();
    let height = imported.mapping.of("height_cm").unwrap();
    assert_eq!((height.column.as_str(), height.sure), ("ht", Sure::Told));
    let shown = imported.mapping.to_string();
    assert!(shown.contains("height_cm <- column `ht` in m (as told)"), "{shown}");
    assert!(shown.contains("kept as they came: other ht cm"), "{shown}");
    assert!(shown.contains("columns `easting` and `northing`"), "{shown}");
    let mut plan = holding();
    imported.apply(&mut plan);
    near(f64::from(plan.sticks[0].height_cm), 20.0, 1e-5);
}

#[test]
fn visits_find_their_lek_by_name_and_take_the_start() {
    let plan = into(Kind::Visits, "v.csv", "Lek name,Date,Start time,Males,Females,Weather\nwhin rigg,17/04/2026,05:10,6,1,\"calm, \"\"clear\"\"\"\nL1,2026-04-24,,,,\n");
    let [first, second] = &plan.visits[..] else { panic!() };
    assert_eq!((first.lek.as_str(), first.cocks, first.hens), ("L1", Some(6), Some(1)));
    assert_eq!(first.start.unwrap().to_string(), "05:10:00");
    assert_eq!(first.weather, "calm, \"clear\"");
    assert_eq!(second.cocks, None, "visited, not counted");
}

#[test]
fn visits_take_their_day_from_one_column_or_three() {
    for csv in ["lek,Year,Month,Day,cocks\nL1,2026,4,17,5\n", "lek,Year,Month,Day,cocks\nL1,2026,Apr,17,5\n", "lek,Day,cocks\nL1,17/04/2026,5\n"] {
        assert_eq!(Some(into(Kind::Visits, "v.csv", csv).visits[0].date), NaiveDate::from_ymd_opt(2026, 4, 17), "{csv}");
    }
}

#[test]
fn stock_comes_in_by_month_column_by_row_and_all_year() {
    let plan = into(Kind::Stock, "k.csv", "parcel,class,jan,feb,may,december\nP1,hill ewes,10,,40,12\n");
    assert_eq!(plan.stock[0].head, [10.0, 0.0, 0.0, 0.0, 40.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 12.0]);
    let plan = into(Kind::Stock, "k.csv", "parcel,class,month,head\nP1,cattle,Jun-Sep,20\nP1,cattle,Oct,5\nP1,ewes,Nov-Feb,30\n");
    assert_eq!(plan.stock.len(), 2);
    assert_eq!(plan.stock[0].head[5..10], [20.0, 20.0, 20.0, 20.0, 5.0]);
    assert_eq!(plan.stock[1].head, [30.0, 30.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 30.0, 30.0]);
}

#[test]
fn woods_take_species_from_columns_and_from_words() {
    let wkt = "POLYGON((391000 531000, 391100 531000, 391100 531100, 391000 531100, 391000 531000))";
    let plan = into(Kind::Woods, "w.csv", format!("wkt,name,planted,birch,scots pine stems/ha,canopy %\n\"{wkt}\",Gill Wood,1998,800,300,35\n"));
    let wood = &plan.woods[0];
    let stems: Vec<_> = wood.stems.iter().map(|s| (s.tree, s.stems_per_ha)).collect();
    assert_eq!(stems, [(Tree::Birch, 800.0), (Tree::ScotsPine, 300.0)]);
    assert_eq!((wood.planted, wood.canopy_pct), (Some(1998), Some(35.0)));
    let plan = into(Kind::Woods, "w.csv", format!("wkt,species,tree height m\n\"{wkt}\",\"sitka spruce 2500; larch: 100\",12\n"));
    assert_eq!(plan.woods[0].stems[0], Stems { tree: Tree::Spruce, stems_per_ha: 2500.0, height_m: Some(12.0), age_yr: None });
    assert_eq!(plan.woods[0].stems[1].tree, Tree::Larch);
}

#[test]
fn a_walked_boundary_comes_in_from_gpx() {
    let points: String = [(0.0, 0.0), (1000.0, 0.0), (1000.0, 1000.0), (0.0, 1000.0), (0.0, 20.0)]
        .iter()
        .map(|(x, y)| {
            let [lon, lat] = lonlat(391_000.0 + x, 531_000.0 + y);
            format!(r#"<trkpt lat="{lat}" lon="{lon}"></trkpt>"#)
        })
        .collect();
    let bytes = gpx(&format!("<trk><name>Round</name><trkseg>{points}</trkseg></trk>"));
    let mut plan = Holding::default();
    let imported = take(Kind::Boundary, &Source::bytes("b.gpx", bytes), &[], &plan).unwrap();
    assert!(imported.notes.0.iter().any(|n| n.text.contains("20.0 m apart was closed")), "{:?}", imported.notes);
    imported.apply(&mut plan);
    near(plan.boundary.unwrap().unsigned_area(), 1e6, 5.0);
    assert_eq!(plan.about.name, "Round");
}

#[test]
fn replace_takes_the_place_of_what_is_there_and_add_keeps_ids_apart() {
    let mut plan = holding();
    let csv = Source::bytes("l.csv", "id,easting,northing\nL1,391000,531000\n,392000,531000\n");
    let faults = take(Kind::Leks, &csv, &[], &plan).unwrap_err();
    assert!(faults.to_string().contains("does not have yet"), "{faults}");
    let options = Options { mode: Mode::Replace, ..Options::default() };
    read(Kind::Leks, &csv, &options, &plan, guidance()).unwrap().apply(&mut plan);
    assert_eq!(plan.leks.iter().map(|l| l.id.as_str()).collect::<Vec<_>>(), ["L1", "lek-1"]);
    let more = Source::bytes("l.csv", "easting,northing\n393000,531000\n");
    take(Kind::Leks, &more, &[], &plan).unwrap().apply(&mut plan);
    assert_eq!(plan.leks[2].id, "lek-2");
}

/// A holding with one feature of every kind, out as GeoJSON and in again: the same but for a millimetre.
#[test]
fn every_kind_goes_out_and_comes_in_again() {
    let mut full = holding();
    let shape = square(391_200.0, 531_200.0, 250.0);
    let line = one_line(geo_types::LineString(vec![coord(391_000.0, 531_000.0), coord(391_400.0, 531_300.0)]));
    let day = NaiveDate::from_ymd_opt(2026, 4, 17);
    full.parcels[0].stubble = Some(Stubble::Left);
    full.parcels[0].name = "Low <Intake>".into();
    let mut patch = Patch::new("H1", shape.clone());
    patch.covers.set(Plant::Heather, 42.5);
    patch.covers.set(Plant::Bare, 3.0);
    (patch.phase1, patch.height_cm, patch.height_sd_cm, patch.phase) = (Some("D1.1".into()), Some(24.5), Some(9.0), Some(Phase::Building));
    (patch.heather_age_yr, patch.flush, patch.wetness, patch.surveyed) = (Some(12.0), true, Some(0.25), day);
    patch.note = "quotes \" and, commas".into();
    patch.extra.insert("surveyor".into(), json!("M. Thwaite"));
    full.patches.push(patch);
    let mut wood = Wood::new("W1", shape.clone());
    wood.stems = vec![Stems { tree: Tree::Birch, stems_per_ha: 800.0, height_m: Some(6.0), age_yr: Some(20.0) }, Stems { tree: Tree::Rowan, stems_per_ha: 50.5, height_m: Some(6.0), age_yr: Some(20.0) }];
    (wood.planted, wood.canopy_pct, wood.open_pct, wood.feathered_edge) = (Some(2006), Some(35.0), Some(40.0), Some(false));
    wood.ground_phase1 = Some("D1.1".into());
    wood.ground_covers.set(Plant::Blaeberry, 12.0);
    full.woods.push(wood);
    full.leks[0].radius_m = Some(80.0);
    full.visits.push(Visit { id: "V1".into(), lek: "L1".into(), date: day.unwrap(), start: chrono::NaiveTime::from_hms_opt(5, 10, 0), cocks: Some(6), weather: "calm".into(), observer: "M. Thwaite".into(), wind_beaufort: Some(3), rain: Some(Rain::None), extra: [("vantage".into(), json!("wall end"))].into(), ..Visit::default() });
    full.visits.push(Visit { id: "V2".into(), lek: "L1".into(), date: NaiveDate::from_ymd_opt(1987, 1, 1).unwrap(), known_to: KnownTo::Year, cocks: Some(9), ..Visit::default() });
    full.broods.push(BroodCount { id: "H1".into(), date: day.unwrap(), at: Some(geo_types::Point::new(391_025.0, 531_050.0)), lek: "L1".into(), hens: Some(5), hens_with_brood: Some(3), young: Some(11), dogs: Some(true), ..BroodCount::default() });
    full.broods.push(BroodCount { id: "H2".into(), date: day.unwrap(), hens: Some(0), ..BroodCount::default() });
    let mut fence = Fence::new("F1", line.clone());
    (fence.kind, fence.height_m, fence.marking) = (FenceKind::Deer, Some(1.8), Marking::Bamboo);
    full.fences.push(fence);
    let mut ditch = Ditch::new("D1", line.clone());
    (ditch.width_cm, ditch.depth_cm, ditch.keep) = (Some(60.0), Some(45.0), true);
    full.ditches.push(ditch);
    full.watercourses.push(Watercourse { width_m: Some(2.5), ..Watercourse::new("B1", line.clone()) });
    full.tracks.push(Track { kind: TrackKind::Path, ..Track::new("T1", line.clone()) });
    full.services.push(Service { kind: "overhead line".into(), ..Service::new("S1", line) });
    full.buildings.push(Building { dwelling: true, ..Building::new("U1", shape.clone()) });
    full.areas.push(Area { kind: AreaKind::Historic, name: "Old fold".into(), ..Area::new("A1", shape) });
    full.sticks.push(Stick { id: "K1".into(), at: geo_types::Point::new(391_025.0, 531_050.0), height_cm: 14.0, date: day, note: String::new() });
    full.probes.push(Probe { id: "Q1".into(), at: geo_types::Point::new(391_025.0, 531_050.0), depth_cm: 110.0, date: day });
    full.stock.push(Stock { id: "Z1".into(), parcel: "P1".into(), class: StockClass::HillEwe, head: [1.0, 2.0, 3.0, 4.0, 5.5, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0] });
    let measure = |id: &str, kind: &str| Measure { id: id.into(), option: 2, kind: kind.into(), year: Some(2028), ..Measure::default() };
    full.measures = vec![
        Measure { shape: square(391_300.0, 531_300.0, 100.0), facts: [("mix".into(), json!({"birch": 60, "rowan": 40})), ("open_pct".into(), json!(45))].into(), ..measure("M1", "wood") },
        Measure { line: one_line(geo_types::LineString(vec![coord(391_000.0, 531_000.0), coord(391_100.0, 531_300.0)])), ..measure("M2", "fence") },
        Measure { facts: [("parcel".into(), json!("P1")), ("head".into(), json!("Apr-Oct 80"))].into(), ..measure("M3", "grazing") },
    ];

    let mut back = Holding { about: full.about.clone(), ..Holding::default() };
    for (kind, word, _) in <Kind as Word>::WORDS {
        let out = collection(&features(&full, *kind, Leks::Shown), 27700).unwrap();
        // An independent reader takes what is written.
        out.to_string().parse::<geojson::GeoJson>().unwrap();
        let source = Source::bytes(format!("{word}.geojson"), out.to_string());
        let imported = take(*kind, &source, &[], &back).unwrap_or_else(|f| panic!("{word}: {f}"));
        imported.apply(&mut back);
    }
    assert!(features(&full, Kind::Leks, Leks::Hidden).is_empty());
    let text = |plan: &Holding| {
        let all: Vec<_> = <Kind as Word>::WORDS.iter().map(|(kind, ..)| features(plan, *kind, Leks::Shown)).collect();
        all.into_iter().flatten().map(|f| (f.id, serde_json::Value::Object(f.properties))).collect::<Vec<_>>()
    };
    assert_eq!(text(&back), text(&full));
    let (ours, theirs) = (full.patches[0].shape.unsigned_area(), back.patches[0].shape.unsigned_area());
    near(ours, theirs, 0.5);
    near(back.leks[0].at.x(), 391_000.0, 0.001);
    assert_eq!(back.woods[0].stems, full.woods[0].stems);
    assert_eq!(back.visits, full.visits);
    assert_eq!((&back.broods[1], back.broods[0].young), (&full.broods[1], Some(11)));
    near(back.broods[0].at.unwrap().x(), 391_025.0, 0.001);
    assert_eq!(back.stock, full.stock);
    near(back.measures[0].shape.unsigned_area(), 10_000.0, 0.5);
    assert_eq!((back.measures[1].line.0.len(), back.measures[2].shape.0.len()), (1, 0));
    assert_eq!(back.measures[2], full.measures[2]);
}

/// Measures in a table without places: other columns are facts, an empty kind is told.
#[test]
fn measures_come_in_without_a_place() {
    let csv = "kind,year,parcel,head,off_winter_head\ngrazing,2028,P1,Apr-Oct 80,\ngrazing,,P1,,60\n";
    let plan = into(Kind::Measures, "m.csv", csv);
    assert_eq!(plan.measures.iter().map(|m| (m.id.as_str(), m.year)).collect::<Vec<_>>(), [("measure-1", Some(2028)), ("measure-2", None)]);
    assert_eq!(plan.measures[0].facts.get("head"), Some(&json!("Apr-Oct 80")));
    let faults = take(Kind::Measures, &Source::bytes("m.csv", "kind,year\n,2028\nwood,soon\n"), &[], &holding()).unwrap_err();
    assert_eq!(faults.total, 2, "{faults}");
    let faults = take(Kind::Measures, &Source::bytes("m.csv", "kind,easting,northing\nwood,391000,531000\n"), &[], &holding()).unwrap_err();
    assert!(faults.to_string().contains("found a point"), "{faults}");
}

fn shared(path: &str) -> Option<PathBuf> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data").join(path);
    if !path.exists() {
        println!("skipped: {} is not on this machine", path.display());
        return None;
    }
    Some(path)
}

/// Wood & Bunce 2016 (Earth System Science Data 8:177): the grid references and the easting and northing columns of
/// 22 of the 25 sites name different squares. Two sites lie more than 10 km apart, which is refused until the person
/// says which to take; the other twenty are said, and the finer is taken.
#[test]
fn grid_references_that_disagree_with_their_coordinates_are_said() {
    let Some(path) = shared("woods_1971/plots.csv") else { return };
    let text = std::fs::read_to_string(&path).unwrap();
    // Each site with its plots, those off their square, and how far off, by another path than the importer's.
    let mut sites = std::collections::BTreeMap::new();
    for line in text.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let square = holding::grid_ref::parse_grid_ref(cells[3]).unwrap();
        let (east, north): (f64, f64) = (cells[4].parse().unwrap(), cells[5].parse().unwrap());
        let (x, y) = square.middle();
        let site = sites.entry(cells[0].to_owned()).or_insert((0, 0, 0.0));
        site.0 += 1;
        site.1 += usize::from(!square.holds(east, north));
        site.2 = (x - east).hypot(y - north);
    }
    assert_eq!((sites.len(), sites.values().filter(|s| s.1 > 0).count()), (25, 22));
    let far: Vec<&String> = sites.iter().filter(|(_, s)| s.2 > 10_000.0).map(|(name, _)| name).collect();
    assert_eq!(far.len(), 2);

    let map = ["id=SitePlot", "name=Site_no"];
    let faults = take(Kind::Leks, &Source::path(&path), &map, &Holding::default()).unwrap_err();
    assert_eq!(faults.total, far.iter().map(|site| sites[*site].0).sum::<usize>());
    assert!(faults.to_string().contains("`NH3739` and 223500, 837500, which are 14 km apart"), "{faults}");
    assert!(faults.to_string().contains("`--map grid_ref=OSGR` for the reference"), "{faults}");

    let rest: Vec<&str> = text.lines().filter(|l| !far.iter().any(|site| l.split(',').next() == Some(site.as_str()))).collect();
    let imported = take(Kind::Leks, &Source::bytes("plots.csv", rest.join("\n")), &map, &Holding::default()).unwrap_or_else(|f| panic!("{f}"));
    let said = imported.notes.0.iter().find(|n| n.text.contains("different places")).expect("said");
    let off: usize = sites.iter().filter(|(name, _)| !far.contains(name)).map(|(_, s)| s.1).sum();
    assert_eq!(said.count, off);
    println!("{} plots refused, {} of {} others said to disagree", faults.total, said.count, imported.count);

    let by_reference = take(Kind::Leks, &Source::path(&path), &["id=SitePlot", "grid_ref=OSGR"], &Holding::default()).unwrap_or_else(|f| panic!("{f}"));
    assert_eq!(by_reference.count, 265);
    take(Kind::Leks, &Source::path(&path), &["id=SitePlot", "grid_ref=-"], &Holding::default()).unwrap_or_else(|f| panic!("{f}"));
}

/// A planned hill route: 63.570 km on the national grid, by another library (data note of the folder).
#[test]
fn a_real_route_has_its_length_on_the_grid() {
    let Some(path) = shared("gpx/ramsay-round.gpx") else { return };
    let mut plan = Holding::default();
    let imported = take(Kind::Tracks, &Source::path(&path), &[], &plan).unwrap_or_else(|f| panic!("{f}"));
    imported.apply(&mut plan);
    let length_m: f64 = plan.tracks.iter().map(|t| Euclidean.length(&t.shape)).sum();
    near(length_m, 63_570.0, 1.0);
    let Some(path) = shared("gpx/ramsay-round-waypoints.gpx") else { return };
    let imported = take(Kind::Leks, &Source::path(&path), &[], &Holding::default()).unwrap_or_else(|f| panic!("{f}"));
    println!("{} waypoints", imported.count);
    assert!(imported.count > 10);
}

#[test]
fn places_go_out_where_they_are() {
    let out = collection(&features(&holding(), Kind::Leks, Leks::Shown), 27700).unwrap();
    let at = &out["features"][0]["geometry"]["coordinates"];
    let (lon, lat) = lonlat_from_grid(391_000.0, 531_000.0).unwrap();
    near(at[0].as_f64().unwrap(), lon, 1e-9);
    near(at[1].as_f64().unwrap(), lat, 1e-9);
    assert!(collection(&[], 2157).is_err());
}
