//! A damaged plan says everything that is wrong with it at once, and never takes the program down.

mod full_holding;

use full_holding::full;
use holding::{Plan, PlanError};
use rusqlite::Connection;
use std::path::Path;

/// A connection that lets anything pass.
fn raw(path: &Path) -> Connection {
    use rusqlite::functions::FunctionFlags;
    let conn = Connection::open(path).unwrap();
    conn.execute_batch("PRAGMA ignore_check_constraints = ON; PRAGMA foreign_keys = OFF;").unwrap();
    for name in ["ST_IsEmpty", "ST_MinX", "ST_MaxX", "ST_MinY", "ST_MaxY"] {
        conn.create_scalar_function(name, 1, FunctionFlags::SQLITE_UTF8, |_| Ok(0.0)).unwrap();
    }
    conn
}

#[test]
fn every_fault_is_told_at_once_with_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    drop(Plan::create(&path, &full(), false).unwrap());
    let claim_of_two_thousand_million = "X'47500001346C0000010600000000FFFF7F'";
    raw(&path)
        .execute_batch(&format!(
            "UPDATE patches SET heather_pct = 140, height_cm = 'tall' WHERE fid = 1;
             UPDATE patches SET phase = 'elderly', surveyed_on = 'last May' WHERE fid = 2;
             UPDATE patches SET geom = NULL, flush = 7, other = '{{not json' WHERE fid = 3;
             UPDATE patches SET geom = substr(geom, 1, 70) WHERE fid = 4;
             UPDATE patches SET geom = (SELECT geom FROM leks WHERE fid = 1) WHERE fid = 5;
             UPDATE parcels SET geom = {claim_of_two_thousand_million} WHERE fid = 1;
             UPDATE parcels SET geom = X'00' WHERE fid = 2;
             UPDATE visits SET lek_id = NULL, start_local = 'dawn' WHERE fid = 1;
             UPDATE wood_stems SET tree = 'monkey puzzle' WHERE fid = 3;
             UPDATE about SET value = 'Atlantis' WHERE key = 'country';
             UPDATE about SET value = '-5' WHERE key = 'cell_m';
             UPDATE heights SET tile_data = X'49492A00' WHERE id = 2;
             ALTER TABLE stock DROP COLUMN head_may;
             DROP TABLE services;",
        ))
        .unwrap();
    let faults = Plan::open_read_only(&path).unwrap().holding().unwrap_err();
    let told: Vec<(&str, Option<i64>, Option<&str>)> =
        faults.iter().map(|f| (f.table.as_str(), f.row, f.column.as_deref())).collect();
    let expected = [
        ("about", None, Some("value")),
        ("about", None, Some("value")),
        ("parcels", Some(1), Some("geom")),
        ("parcels", Some(2), Some("geom")),
        ("patches", Some(1), Some("heather_pct")),
        ("patches", Some(1), Some("height_cm")),
        ("patches", Some(2), Some("phase")),
        ("patches", Some(2), Some("surveyed_on")),
        ("patches", Some(3), Some("geom")),
        ("patches", Some(3), Some("flush")),
        ("patches", Some(3), Some("other")),
        ("patches", Some(4), Some("geom")),
        ("patches", Some(5), Some("geom")),
        ("visits", Some(1), Some("lek_id")),
        ("visits", Some(1), Some("start_local")),
        ("services", None, None),
        ("stock", None, Some("head_may")),
        ("wood_stems", Some(3), Some("tree")),
        ("heights", Some(2), Some("tile_data")),
    ];
    for place in &expected {
        assert!(told.contains(place), "{place:?} is not among {told:#?}");
    }
    assert_eq!(told.len(), expected.len(), "{told:#?}");
    let words: String = faults.iter().map(|f| format!("{f}\n")).collect();
    for part in [
        "table `patches`, row 1 (id `pioneer`), column `heather_pct`: needed a number from 0 to 100 (percent), found 140",
        "found `tall`",
        "found `last May`",
        "claims 2147483392 parts in 0 bytes",
        "column `geom`: needed an area or areas, found a point",
        "found `Atlantis`",
        "hint:",
    ] {
        assert!(words.contains(part), "{part} is not in {words}");
    }
    // Nor is such a plan saved over.
    let mut plan = Plan::open(&path).unwrap();
    assert!(matches!(plan.save(&full()), Err(PlanError::Faults(_))));
}

#[test]
fn files_that_are_no_plan_are_named_for_what_they_are() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let words = |path: &Path| (Plan::open(path).err().unwrap().to_string(), Plan::open_read_only(path).err().unwrap().to_string());
    let both = |name: &str, part: &str| {
        let (write, read) = words(&at(name));
        assert!(write.contains(part) && read.contains(part), "{name}: {write} / {read}");
    };
    both("nothing.gpkg", "there is no plan");
    both("", "it is a folder");
    std::fs::write(at("empty.gpkg"), "").unwrap();
    both("empty.gpkg", "it is empty");
    std::fs::write(at("text.gpkg"), "id,name\n1,Nether Moss\n".repeat(200)).unwrap();
    both("text.gpkg", "not a GeoPackage");
    Connection::open(at("other.db")).unwrap().execute_batch("CREATE TABLE t (x)").unwrap();
    both("other.db", "database of another kind");
    Connection::open(at("other.gpkg")).unwrap().execute_batch("PRAGMA application_id = 1196444487; CREATE TABLE t (x)").unwrap();
    both("other.gpkg", "not made by this tool");
}

/// SplitMix64 (Steele, Lea and Flood 2014).
fn chance(state: &mut u64) -> usize {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    (z ^ (z >> 31)) as usize
}

#[test]
fn bytes_changed_or_cut_anywhere_end_in_words_not_in_a_crash() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let whole = std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/plan/schema_1.gpkg")).unwrap();
    let mut seed = 7;
    let (mut sound, mut refused, mut faulty) = (0, 0, 0);
    for round in 0..150 {
        let mut bytes = whole.clone();
        if round % 5 == 0 {
            bytes.truncate(chance(&mut seed) % whole.len());
        }
        for _ in 0..1 + round % 40 {
            if let Some(len) = std::num::NonZero::new(bytes.len()) {
                let at = chance(&mut seed) % len;
                bytes[at] = chance(&mut seed) as u8;
            }
        }
        std::fs::write(&path, &bytes).unwrap();
        match Plan::open_read_only(&path) {
            Err(error) => {
                assert!(!error.to_string().is_empty());
                refused += 1;
            }
            Ok(plan) => match plan.holding() {
                Ok(_) => sound += 1,
                Err(faults) => {
                    assert!(!faults.is_empty());
                    faulty += 1;
                }
            },
        }
    }
    println!("{sound} read whole, {faulty} with faults, {refused} refused");
    assert!(refused > 0 && faulty > 0);
}
