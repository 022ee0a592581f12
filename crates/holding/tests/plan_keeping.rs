//! What a plan keeps: what it does not know, what an older version wrote, what a newer one may not lose.

mod full_holding;

use full_holding::{assert_same, full, square};
use holding::plan::SCHEMA;
use holding::{Patch, Plan, PlanError};
use rusqlite::Connection;
use std::path::{Path, PathBuf};

/// A connection of our own, with the geometry functions as stand-ins so that the triggers can run.
fn raw(path: &Path) -> Connection {
    use rusqlite::functions::FunctionFlags;
    let conn = Connection::open(path).unwrap();
    conn.busy_timeout(std::time::Duration::from_secs(2)).unwrap();
    for name in ["ST_IsEmpty", "ST_MinX", "ST_MaxX", "ST_MinY", "ST_MaxY"] {
        conn.create_scalar_function(name, 1, FunctionFlags::SQLITE_UTF8, |_| Ok(0.0)).unwrap();
    }
    conn
}

/// Schema 1 as it was written by the first version: `full()` with twenty heights.
fn schema_1(folder: &Path) -> PathBuf {
    let path = folder.join("old.gpkg");
    std::fs::copy(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/plan/schema_1.gpkg"), &path).unwrap();
    path
}

fn full_with_twenty_heights() -> holding::Holding {
    let frame = ground::Frame::square(400_000.0, 520_000.0, 10.0, 5, 4);
    let mut cells: Vec<f32> = (0..20).map(|n| 300.5 + n as f32).collect();
    cells[7] = f32::NAN;
    let mut then = holding::Holding { heights: ground::Grid::from_cells(frame, cells), broods: vec![], crews: vec![], rates: vec![], ..full() };
    // What schema 3 brought.
    then.visits.truncate(2);
    for visit in &mut then.visits {
        (visit.observer, visit.wind_beaufort, visit.rain, visit.extra) = Default::default();
    }
    then
}

#[test]
fn unknown_tables_columns_and_facts_stay_through_every_save() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let mut holding = full();
    drop(Plan::create(&path, &holding, false).unwrap());
    raw(&path)
        .execute_batch(
            "CREATE TABLE bees (hive TEXT, honey_kg REAL); INSERT INTO bees VALUES ('by the wall', 11.5);
             ALTER TABLE patches ADD COLUMN colour TEXT; UPDATE patches SET colour = 'brown ' || id;
             ALTER TABLE wood_stems ADD COLUMN bark TEXT; UPDATE wood_stems SET bark = tree || fid;
             INSERT INTO about (key, value) VALUES ('gate_code', '1234');
             CREATE INDEX by_colour ON patches (colour);",
        )
        .unwrap();
    let mut plan = Plan::open(&path).unwrap();
    assert_same(&holding, &plan.holding().unwrap());
    holding.patches[0].note = "changed".into();
    holding.patches.remove(1);
    holding.patches.reverse();
    holding.woods[0].stems[3].stems_per_ha = 1.0;
    holding.patches.push(Patch::new("new", square(400_000.0, 518_000.0, 9.0)));
    plan.save(&holding).unwrap();
    plan.step("one patch", |step| step.put(&holding.patches[0])).unwrap();
    drop(plan);
    let conn = raw(&path);
    let one = |sql: &str| conn.query_row(sql, [], |row| row.get::<_, Option<String>>(0)).unwrap();
    assert_eq!(one("SELECT hive || honey_kg FROM bees").as_deref(), Some("by the wall11.5"));
    for patch in &holding.patches {
        let kept = one(&format!("SELECT colour FROM patches WHERE id = '{}'", patch.id));
        assert_eq!(kept, (patch.id != "new").then(|| format!("brown {}", patch.id)));
    }
    assert_eq!(one("SELECT bark FROM wood_stems WHERE wood_id = 'w1' AND stems_per_ha = 1.0").as_deref(), Some("hawthorn4"));
    assert_eq!(one("SELECT value FROM about WHERE key = 'gate_code'").as_deref(), Some("1234"));
    assert_eq!(one("SELECT name FROM sqlite_master WHERE name = 'by_colour'").as_deref(), Some("by_colour"));
    drop(conn);
    assert_same(&holding, &Plan::open_read_only(&path).unwrap().holding().unwrap());
}

#[test]
fn a_row_added_elsewhere_without_an_id_is_read_and_keeps_its_row() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    drop(Plan::create(&path, &full(), false).unwrap());
    raw(&path)
        .execute_batch("INSERT INTO patches (geom, height_cm) SELECT geom, 44 FROM patches WHERE id = 'bare'")
        .unwrap();
    let mut plan = Plan::open(&path).unwrap();
    let mut holding = plan.holding().unwrap();
    let added = holding.patches.last_mut().unwrap();
    assert_eq!((added.id.as_str(), added.height_cm), ("patches-6", Some(44.0)));
    added.height_cm = Some(45.0);
    assert_eq!(plan.save(&holding).unwrap().changed, 1);
    assert_same(&holding, &plan.holding().unwrap());
}

#[test]
fn a_plan_of_schema_1_is_read_as_it_is_and_brought_up_when_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = schema_1(folder.path());
    raw(&path).execute_batch("CREATE TABLE bees (hive TEXT); INSERT INTO bees VALUES ('one');").unwrap();
    let before = std::fs::read(&path).unwrap();
    let plan = Plan::open_read_only(&path).unwrap();
    assert_eq!(plan.schema(), 1);
    assert_same(&full_with_twenty_heights(), &plan.holding().unwrap());
    drop(plan);
    assert!(std::fs::read(&path).unwrap() == before, "reading changes nothing");

    let plan = Plan::open(&path).unwrap();
    assert!(plan.notice().unwrap().contains(&format!("from plan schema 1 to {SCHEMA}")), "{:?}", plan.notice());
    assert_same(&full_with_twenty_heights(), &plan.holding().unwrap());
    plan.check().unwrap();
    drop(plan);
    let conn = raw(&path);
    let number = |sql: &str| conn.query_row(sql, [], |row| row.get::<_, i64>(0)).unwrap();
    assert_eq!(number("SELECT MAX(version) FROM greyhen_schema"), i64::from(SCHEMA));
    assert_eq!(number("SELECT COUNT(*) FROM greyhen_schema"), 2, "the file's history is kept");
    assert_eq!(number("SELECT user_version FROM pragma_user_version"), 10300);
    assert_eq!(number("SELECT COUNT(*) FROM bees"), 1);
    // The same descriptions and indexes as in a plan made new.
    let fresh_path = folder.path().join("fresh.gpkg");
    drop(Plan::create(&fresh_path, &full(), false).unwrap());
    let fresh = raw(&fresh_path);
    for sql in [
        "SELECT group_concat(table_name || column_name || description || IFNULL(constraint_name, '')) FROM (SELECT * FROM gpkg_data_columns ORDER BY 1, 2)",
        "SELECT group_concat(constraint_name || IFNULL(value, max)) FROM (SELECT * FROM gpkg_data_column_constraints ORDER BY 1, 3)",
        // Columns that came later stand in lines of their own, so spaces are left out.
        "SELECT group_concat(type || name || REPLACE(REPLACE(IFNULL(sql, ''), ' ', ''), char(10), '')) FROM (SELECT * FROM sqlite_master WHERE name != 'bees' ORDER BY 1, 2)",
    ] {
        let text = |conn: &Connection| conn.query_row(sql, [], |row| row.get::<_, String>(0)).unwrap();
        assert_eq!(text(&conn), text(&fresh));
    }
}

#[test]
fn a_plan_of_a_newer_version_is_read_and_not_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    drop(Plan::create(&path, &full(), false).unwrap());
    raw(&path).execute("INSERT INTO greyhen_schema (version, since) VALUES (9, '2031-01-01T00:00:00.000Z')", []).unwrap();
    let before = std::fs::read(&path).unwrap();
    let error = Plan::open(&path).err().unwrap();
    assert!(matches!(error, PlanError::Newer { found: 9, known: SCHEMA, .. }), "{error}");
    assert!(error.to_string().contains("can be read but not changed"), "{error}");
    let mut plan = Plan::open_read_only(&path).unwrap();
    assert_eq!(plan.schema(), 9);
    assert!(plan.notice().unwrap().contains("newer version"));
    assert_same(&full(), &plan.holding().unwrap());
    assert!(matches!(plan.save(&full()), Err(PlanError::ReadOnly(_))));
    drop(plan);
    assert!(std::fs::read(&path).unwrap() == before);
}

#[test]
fn the_guidance_edition_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let mut plan = Plan::create(&path, &full(), false).unwrap();
    assert_eq!(plan.guidance_edition().unwrap(), "");
    plan.set_guidance_edition("2026.1").unwrap();
    drop(plan);
    assert_eq!(Plan::open_read_only(&path).unwrap().guidance_edition().unwrap(), "2026.1");
}
