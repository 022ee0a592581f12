//! The workbook and the geographic copy are read back; places stay withheld; odd plans are handed over too.

#![allow(clippy::panic, reason = "a test may stop")]

mod common;

use calamine::{Data, Reader, Xlsx};
use common::*;
use geo_types::{Geometry, Point};
use handover::Output;
use holding::model::Lek;
use rusqlite::Connection;
use std::io::Cursor;

fn workbook(outputs: &[Output]) -> Xlsx<Cursor<Vec<u8>>> {
    Xlsx::new(Cursor::new(file(outputs, "ledger.xlsx").to_vec())).expect("a workbook")
}

fn copy(outputs: &[Output]) -> (tempfile::TempDir, Connection) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("results.gpkg");
    std::fs::write(&path, file(outputs, "gis/results.gpkg")).expect("a file");
    (folder, Connection::open(path).expect("a store"))
}

fn count(store: &Connection, sql: &str) -> i64 {
    store.query_row(sql, [], |r| r.get(0)).expect(sql)
}

/// All text in every output that is text or can be turned into it.
fn all_text(outputs: &[Output]) -> String {
    let mut out = String::new();
    let mut book = workbook(outputs);
    for name in book.sheet_names() {
        for row in book.worksheet_range(&name).expect("a sheet").rows() {
            row.iter().for_each(|cell| out.push_str(&format!("{cell}\t")));
        }
    }
    let (_folder, store) = copy(outputs);
    let mut tables = store.prepare("SELECT table_name FROM gpkg_contents").expect("contents");
    let names: Vec<String> = tables.query_map([], |r| r.get(0)).expect("names").map(|n| n.expect("a name")).collect();
    for name in names {
        let mut rows = store.prepare(&format!("SELECT * FROM {name}")).expect("a table");
        let columns = rows.column_count();
        let mut found = rows.query([]).expect("rows");
        while let Some(row) = found.next().expect("a row") {
            for i in 0..columns {
                if let Ok(text) = row.get::<_, String>(i) {
                    out.push_str(&text);
                    out.push('\t');
                }
            }
        }
    }
    out
}

#[test]
fn the_workbook_holds_the_ledger_as_numbers() {
    let parts = parts();
    let outputs = parts.write(false);
    let mut book = workbook(&outputs);
    let ledger = book.worksheet_range("Ledger").expect("the ledger");
    assert_eq!(ledger.height(), 1 + 2 * 7);
    let heads: Vec<String> = ledger.rows().next().expect("heads").iter().map(ToString::to_string).collect();
    let column = |name: &str| heads.iter().position(|h| h == name).unwrap_or_else(|| panic!("{name} in {heads:?}"));
    let brood = ledger.rows().find(|r| r[1] == Data::String("brood".into())).expect("brood");
    assert_eq!(brood[column("Gives, ha: middle")], Data::Float(9.5));
    assert_eq!(brood[column("Draws short")], Data::Float(186.0));
    assert_eq!(brood[column("State")], Data::String("short".into()));
    let counts = book.worksheet_range("Counts").expect("counts");
    assert_eq!(counts.rows().filter(|r| r[4] == Data::String("no valid visit".into())).count(), 2);
    let seen = counts.rows().find(|r| r[1] == Data::Float(2017.0)).expect("2017");
    assert_eq!((&seen[2], &seen[3]), (&Data::Empty, &Data::Float(6.0)));
    assert_eq!(seen[4], Data::String("6 seen, does not count: begun 75 minutes after sunrise, more than 60".into()));
    assert!(heads.contains(&"Gives, ha: one draw in ten is lower".to_owned()), "{heads:?}");
    assert_eq!(book.worksheet_range("Findings").expect("findings").height(), 4);
    assert!(book.worksheet_range("Figures").expect("figures").rows().any(|r| r[5] == Data::String("common practice, no source".into())));
    let column = |book: &mut Xlsx<_>, sheet: &str, at: usize| -> Vec<String> { book.worksheet_range(sheet).expect("a sheet").rows().map(|r| r[at].to_string()).collect() };
    let (given, listed) = (column(&mut book, "Figures", 4), column(&mut book, "Sources", 1));
    assert!(given.contains(&"assumption of this program".to_owned()) && !given.contains(&"none".to_owned()), "{given:?}");
    for source in ["assumption of this program", "common practice, no source"] {
        assert!(listed.contains(&source.to_owned()), "{source} is not in the list of sources: {listed:?}");
    }
}

#[test]
fn the_copy_is_a_geopackage_with_results() {
    let parts = parts();
    let (_folder, store) = copy(&parts.write(true));
    assert_eq!(count(&store, "PRAGMA application_id"), 0x4750_4B47);
    assert_eq!(store.query_row("PRAGMA integrity_check", [], |r| r.get::<_, String>(0)).expect("a check"), "ok");
    assert_eq!(count(&store, "SELECT count(*) FROM lek_seasons"), 14);
    assert_eq!(count(&store, "SELECT count(*) FROM finding_lines"), 1);
    assert_eq!(count(&store, "SELECT count(*) FROM finding_points"), 1);
    assert_eq!(count(&store, "SELECT count(*) FROM finding_areas"), 1);
    assert_eq!(count(&store, "SELECT count(*) FROM stands WHERE value_brood BETWEEN 0 AND 1"), 4);
    let blob: Vec<u8> = store.query_row("SELECT geom FROM leks WHERE lek = 'L1'", [], |r| r.get(0)).expect("a lek");
    let place = lek_places()[0];
    assert_eq!(&blob[..2], b"GP");
    assert_eq!(f64::from_le_bytes(blob[blob.len() - 16..][..8].try_into().expect("8 bytes")), place.x());
}

/// Text without the packed pictures in it, whose letters mean nothing.
fn without_images(text: &str) -> String {
    text.split("base64,").enumerate().map(|(i, part)| if i == 0 { part } else { part.split_once('"').map_or("", |(_, rest)| rest) }).collect()
}

#[test]
fn withheld_places_are_nowhere_in_the_outputs() {
    let mut parts = parts();
    // Words that give the place away in every way they can.
    parts.findings[0].place = "Cold Rig, NY 84512 29377 (NY 845 293)".into();
    parts.findings[0].hint = "go to 384512, 529377".into();
    parts.assessment.notes.push("Lek Cold Rig lies at 384512 E 529377 N, NY8451229377.".into());
    let outputs = parts.write(false);
    let pack = parts.pack(false);
    let content = handover::content::of(&pack);
    let pictures = handover::pictures::of(&pack, &content);
    let pages: Vec<String> = pictures.into_iter().map(|(_, svg)| svg).chain([serde_json::to_string(&content).expect("words")]).collect();
    let text = format!("{} {}", all_text(&outputs), pages.join(" "));
    for told in ["384512", "529377", "84512", "29377", "NY 845", "385433", "530289", "NY8451"] {
        assert!(!without_images(&text).contains(told), "{told} is told");
    }
    assert!(text.contains("NY 84 29") && text.contains("place withheld"));
    assert!(!text.contains("223 m") && !text.contains("631 m"), "distances are given in bands");
    let (_folder, store) = copy(&outputs);
    let blob: Vec<u8> = store.query_row("SELECT geom FROM leks WHERE lek = 'L1'", [], |r| r.get(0)).expect("a lek");
    assert_eq!(f64::from_le_bytes(blob[blob.len() - 16..][..8].try_into().expect("8 bytes")), WEST + 500.0);
    assert_eq!(count(&store, "SELECT count(*) FROM finding_lines") + count(&store, "SELECT count(*) FROM finding_points"), 0, "tied shapes became squares");
    assert_eq!(count(&store, "SELECT count(*) FROM finding_areas WHERE shape LIKE '%withheld%'"), 2);
    // No shape that left holds a vertex on or near a lek, in any of its bytes.
    let raw = file(&outputs, "gis/results.gpkg");
    for value in lek_places().iter().flat_map(|p| [p.x(), p.y()]) {
        assert!(!raw.windows(8).any(|w| w == value.to_le_bytes()), "{value} is in the copy");
    }
    let shown = all_text(&parts.write(true));
    assert!(shown.contains("223 m") && shown.contains("NY 845 293"));
}

/// Stands of a copy: name and outline.
fn stands(outputs: &[Output]) -> Vec<(String, Geometry<f64>)> {
    use geozero::ToGeo;
    use geozero::wkb::GpkgWkb;
    let (_folder, store) = copy(outputs);
    let mut rows = store.prepare("SELECT name, geom FROM stands").expect("stands");
    let found = rows.query_map([], |r| Ok((r.get(0)?, r.get::<_, Vec<u8>>(1)?))).expect("rows");
    found.map(|r| r.expect("a row")).map(|(name, blob)| (name, GpkgWkb(blob).to_geo().expect("a shape"))).collect()
}

#[test]
fn small_ground_at_a_withheld_lek_gives_nothing_away() {
    use geo::{Area, BoundingRect, Centroid, Contains, Intersects};
    let mut parts = parts();
    let around = |p: Point<f64>, dx: f64, half: f64| {
        let (x, y) = (p.x() - WEST + dx, p.y() - SOUTH);
        block(x - half, y - half, x + half, y + half)
    };
    let [a, b] = lek_places();
    // A patch called after a lek, a nameless one round the other lek, one near it that reaches beyond its square, and an old lek far off.
    let green = around(a, 5.0, 41.0);
    let plain = around(b, 3.0, 57.0);
    let over = block(960.0, 1270.0, 1190.0, 1333.0);
    let far = block(1801.0, 101.0, 1873.0, 151.0);
    let patch = |id: &str, name: &str, shape: &geo_types::Polygon<f64>| holding::model::Patch { name: name.into(), ..holding::model::Patch::new(id, geo_types::MultiPolygon(vec![shape.clone()])) };
    parts.holding.patches.extend([patch("V053", "old lek green", &green), patch("V060", "green", &plain), patch("V061", "Cold Rig Moss", &over), patch("V062", "lek bank", &far)]);
    parts.holding.parcels.push(holding::model::Parcel { name: "Lek Allotment".into(), ..holding::model::Parcel::new("pa2", geo_types::MultiPolygon(vec![block(0.0, 0.0, 2000.0, 600.0)])) });
    let told = ["old lek green", "Old lek green", "V053", "V060", "Cold Rig Moss", "lek bank", "Lek Allotment"];
    parts.findings.push(measures::Finding { lek: None, place: "old lek green V053 and heather".into(), value: "Old lek green (V053) and Lek Allotment".into(), ..finding("sward", measures::Severity::Should, "old lek green is rank", Geometry::Polygon(green.clone())) });
    parts.findings.push(measures::Finding { lek: None, place: "V060".into(), ..finding("sward", measures::Severity::Should, "green (V060) is rank", Geometry::MultiPolygon(geo_types::MultiPolygon(vec![block(100.0, 1500.0, 400.0, 1700.0), plain.clone()]))) });
    parts.assessment.leks[0].words = "too tall a sward on old lek green (V053), lek bank and heather (p1) is the most of it.".into();
    parts.assessment.leks[0].seasons[3].losses[0].stands[0].name = "old lek green".into();
    parts.assessment.notes.push("Covers of old lek green were taken from its class.".into());
    let outputs = parts.write(false);
    let pack = parts.pack(false);
    let content = handover::content::of(&pack);
    let pictures = handover::pictures::of(&pack, &content);
    let pages: Vec<String> = pictures.into_iter().map(|(_, svg)| svg).chain([serde_json::to_string(&content).expect("words")]).collect();
    let text = without_images(&format!("{} {}", all_text(&outputs), pages.join(" ")));
    for name in told {
        assert!(!text.contains(name), "{name} is told");
    }
    assert!(text.contains("a patch near the lek") && text.contains("heather (p1)"));
    // No corner of that ground left, in any table.
    let raw = file(&outputs, "gis/results.gpkg");
    for shape in [&green, &plain, &over, &far] {
        let corners = [shape.exterior().0[0], shape.exterior().0[2]];
        let kept = |x: f64, y: f64| raw.windows(16).any(|w| w[..8] == x.to_le_bytes() && w[8..] == y.to_le_bytes());
        assert!(corners.iter().all(|c| !kept(c.x, c.y)), "{corners:?}");
    }
    let found = stands(&outputs);
    let squares: Vec<_> = found.iter().filter(|(name, _)| name.contains("place withheld")).collect();
    assert_eq!(squares.len(), 2, "{found:?}");
    for (name, shape) in found.iter().filter(|(name, _)| !name.contains("place withheld")) {
        for (_, square) in &squares {
            let inner = square.bounding_rect().expect("bounds");
            let inner = geo_types::Rect::new((inner.min().x + 0.01, inner.min().y + 0.01), (inner.max().x - 0.01, inner.max().y - 0.01));
            assert!(!shape.intersects(&inner.to_polygon()), "{name} reaches into a lek's square");
        }
        assert!(shape.unsigned_area() > 1.0);
    }
    // The ground beyond the squares is all still there, in a neighbour: no hole tells where a patch was.
    for at in [(1190.0 - 200.0, 1300.0), (1837.0, 126.0)] {
        let at = Point::new(WEST + at.0, SOUTH + at.1);
        assert!(found.iter().any(|(_, s)| s.contains(&at)), "a hole at {at:?}");
    }
    assert!(found.iter().all(|(_, s)| lek_places().iter().all(|p| s.centroid().is_none_or(|c| (c.x() - p.x()).hypot(c.y() - p.y()) > 10.0))));
    // A copy that shows leks keeps all of it.
    let shown = parts.write(true);
    assert!(all_text(&shown).contains("old lek green") && stands(&shown).len() == 8);
}

#[test]
fn figures_that_would_fix_a_withheld_lek_are_bands() {
    let parts = parts();
    let mut book = workbook(&parts.write(false));
    let mut here = |sheet: &str, what: &str| {
        let range = book.worksheet_range(sheet).expect("a sheet");
        let at = |name: &str| range.rows().next().expect("heads").iter().position(|h| *h == *name).expect("a column");
        let (w, h) = (at("What"), at("Here"));
        range.rows().find(|r| r[w].to_string().contains(what)).unwrap_or_else(|| panic!("{what}"))[h].to_string()
    };
    assert_eq!(here("Surroundings", "conifer"), "15 to 30 %");
    assert_eq!(here("Surroundings", "istance to heather"), "under 1 km");
    for (what, band) in [("Altitude", "300 to 400 m"), ("Slope", "2 to 5 degrees"), ("In sight as it is", "over 50 %"), ("Mean vegetation", "10 to 20 cm"), ("Nearest wood", "under 1 km"), ("View taken", "300 m")] {
        assert_eq!(here("Display grounds", what), band, "{what}");
    }
}

#[test]
fn a_rules_own_limits_stay_where_places_are_withheld() {
    let mut parts = parts();
    let hidden = measures::secrecy::Secret::of("71 m", "under 1 km", |d| format!("{d} at the nearest"));
    parts.findings.truncate(1);
    parts.findings[0].place = "deer fence, 71 m at the nearest from Cold Rig lek, within 1.5 km of it".into();
    parts.findings[0].value = "16 % of the ground out to 300 m".into();
    parts.findings[0].secret = vec![hidden];
    let content = handover::content::of(&parts.pack(false));
    assert_eq!(content.findings[0].place, "deer fence, under 1 km at the nearest from Cold Rig lek, within 1.5 km of it, NY 84 29, place withheld");
    assert_eq!(content.findings[0].value, "15 to 30 % of the ground out to 300 m");
}

#[test]
fn other_programs_open_the_copy_without_a_word() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("results.gpkg");
    std::fs::write(&path, file(&parts().write(false), "gis/results.gpkg")).expect("a file");
    let Ok(read) = std::process::Command::new("ogrinfo").args(["-ro", "-al", "-so"]).arg(&path).output() else {
        println!("skipped: ogrinfo is not installed");
        return;
    };
    let said = String::from_utf8_lossy(&read.stderr);
    assert!(read.status.success() && said.trim().is_empty(), "{said}");
    assert!(String::from_utf8_lossy(&read.stdout).contains("Layer name: stands"));
}

#[test]
fn withheld_places_are_in_no_picture() {
    let parts = parts();
    let pack = parts.pack(false);
    let pictures = handover::pictures::of(&pack, &handover::content::of(&pack));
    assert!(pictures.iter().all(|(name, _)| !name.starts_with("sight")), "no map of what is in sight");
    let ground = &pictures.iter().find(|(name, _)| name == "ground.svg").expect("a map").1;
    // The name is set in two lines.
    assert!(ground.contains(">Cold Rig</text>") && ground.contains(">(place withheld)</text>") && ground.contains("h-withheld"));
    assert!(!ground.contains("lek</text>"), "no symbol of a lek in the legend");
    let shown = parts.pack(true);
    let pictures = handover::pictures::of(&shown, &handover::content::of(&shown));
    assert_eq!(pictures.iter().filter(|(name, _)| name.starts_with("sight")).count(), 2);
    assert!(!pictures.iter().any(|(_, svg)| svg.contains("h-withheld")));
}

#[test]
fn the_same_pack_gives_the_same_bytes() {
    let parts = parts();
    for (a, b) in parts.on_paper(false).iter().zip(parts.on_paper(false)) {
        assert_eq!(a.name, b.name);
        assert!(a.bytes == b.bytes, "{} differs from run to run", a.name);
    }
}

#[test]
fn names_that_look_like_markup_or_formulas_stay_names() {
    let mut parts = parts();
    let name = "=1+1 <b>&\"'#$*_[x] @y {z} \\";
    parts.holding.about.name = name.into();
    parts.holding.leks[0].name = name.into();
    parts.assessment.leks[0].name = name.into();
    parts.holding.patches[0].name = name.into();
    parts.holding.woods[0].name = "A very long name indeed ".repeat(20);
    parts.findings[2].what = name.repeat(8);
    let outputs = parts.on_paper(true);
    let mut book = workbook(&outputs);
    let about = book.worksheet_range("About").expect("about");
    assert_eq!(about.get((1, 1)), Some(&Data::String(name.into())));
    assert!(book.worksheet_formula("About").expect("formulas").is_empty());
    let (_folder, store) = copy(&outputs);
    assert_eq!(store.query_row("SELECT name FROM leks WHERE lek = 'L1'", [], |r| r.get::<_, String>(0)).expect("a lek"), name);
    check_paper(&outputs);
}

#[test]
fn plans_with_little_in_them_are_handed_over() {
    let mut none = parts();
    none.holding.leks.clear();
    none.assessment.leks.clear();
    none.pictures.view.clear();
    none.counts.clear();
    let mut one = parts();
    one.holding.leks.truncate(1);
    one.assessment.leks.truncate(1);
    one.pictures.view.truncate(1);
    let mut flat = parts();
    flat.holding.heights = None;
    flat.pictures.view = vec![None, None];
    flat.counts.clear();
    let mut bare = parts();
    bare.holding = holding::Holding { leks: vec![Lek::new("L1", "", Point::new(0.0, 0.0)), Lek::new("L2", "", Point::new(1e6, 1e7))], ..Default::default() };
    bare.pictures.value.clear();
    bare.pictures.view = vec![None, None];
    bare.findings = vec![finding("odd", measures::Severity::Must, "", Geometry::MultiPolygon(geo_types::MultiPolygon(vec![])))];
    for (what, parts) in [("no leks", none), ("one lek", one), ("no heights", flat), ("hardly anything", bare)] {
        let outputs = parts.on_paper(what == "no heights");
        let (_folder, store) = copy(&outputs);
        assert_eq!(count(&store, "SELECT count(*) FROM leks"), parts.holding.leks.len() as i64, "{what}");
        assert_eq!(workbook(&outputs).worksheet_range("Year sheet").expect("a sheet").height(), 1 + parts.assessment.leks.len(), "{what}");
        check_paper(&outputs);
    }
}

#[test]
fn a_ledger_of_another_plan_is_refused() {
    let mut parts = parts();
    parts.holding.leks.remove(0);
    let said = parts.pack(false).write().expect_err("a mismatch").to_string();
    assert!(said.contains("`L1`") && said.contains("hint:"), "{said}");
}

#[cfg(feature = "pdf")]
fn check_paper(outputs: &[Output]) {
    let pdf = file(outputs, "plan.pdf");
    assert!(pdf.starts_with(b"%PDF") && pdf.len() > 20_000 && pdf.len() < 8_000_000, "{} bytes", pdf.len());
}

#[cfg(not(feature = "pdf"))]
fn check_paper(outputs: &[Output]) {
    assert!(outputs.iter().all(|o| o.name != "plan.pdf"));
}
