//! Taking back and doing again: rows come back to the byte, also what the tool does not know of them, and after the plan was closed.

mod full_holding;

use full_holding::{assert_same, full, square};
use holding::plan::{History, Plan};
use holding::{Holding, Patch, PlanError, Stems, Tree, Visit, Wood};
use rusqlite::Connection;
use rusqlite::types::Value;
use std::path::Path;

fn raw(path: &Path) -> Connection {
    use rusqlite::functions::FunctionFlags;
    let conn = Connection::open(path).unwrap();
    conn.busy_timeout(std::time::Duration::from_secs(2)).unwrap();
    for name in ["ST_IsEmpty", "ST_MinX", "ST_MaxX", "ST_MinY", "ST_MaxY"] {
        conn.create_scalar_function(name, 1, FunctionFlags::SQLITE_UTF8, |_| Ok(0.0)).unwrap();
    }
    conn
}

/// Every row of every table of the plan, as the engine holds it; and of the trees of geometry.
fn rows(path: &Path) -> Vec<(String, Vec<Vec<Value>>)> {
    let conn = Connection::open(path).unwrap();
    let mut tables = conn
        .prepare("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'gpkg_%' AND name NOT LIKE 'greyhen_%' AND name NOT LIKE 'sqlite_%' AND name NOT LIKE '%_node' AND name NOT LIKE '%_parent' AND name NOT LIKE '%_rowid' ORDER BY name")
        .unwrap();
    let names: Vec<String> = tables.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect();
    let of = |name: &String| {
        let mut select = conn.prepare(&format!("SELECT * FROM \"{name}\" ORDER BY 1")).unwrap();
        let columns = select.column_count();
        select.query_map([], |row| (0..columns).map(|at| row.get(at)).collect()).unwrap().map(Result::unwrap).collect()
    };
    names.iter().map(|name| (name.clone(), of(name))).collect()
}

fn begun(path: &Path) -> Holding {
    let holding = full();
    drop(Plan::create(path, &holding, false).unwrap());
    raw(path)
        .execute_batch(
            "ALTER TABLE patches ADD COLUMN colour TEXT; UPDATE patches SET colour = 'brown ' || id;
             ALTER TABLE patches ADD COLUMN scent BLOB; UPDATE patches SET scent = x'00ff10';
             ALTER TABLE patches ADD COLUMN hum REAL; UPDATE patches SET hum = 0.1 + 0.2;
             ALTER TABLE patches ADD COLUMN twice REAL AS (hum * 2) VIRTUAL;
             ALTER TABLE wood_stems ADD COLUMN bark TEXT; UPDATE wood_stems SET bark = tree || fid;",
        )
        .unwrap();
    holding
}

/// Steps of every sort.
fn steps(plan: &mut Plan, holding: &Holding) {
    plan.step("a patch changed and one taken out", |step| {
        step.put(&Patch { note: "wet".into(), height_cm: Some(12.3), shape: square(400_000.0, 518_000.0, 55.0), ..holding.patches[0].clone() })?;
        step.remove::<Patch>(&holding.patches[1].id).map(|_| ())
    })
    .unwrap();
    plan.step("a wood with its trees", |step| {
        step.put(&Wood { stems: vec![Stems { tree: Tree::Rowan, stems_per_ha: 90.0, height_m: None, age_yr: None }], ..Wood::new("new wood", square(400_300.0, 518_000.0, 20.0)) })?;
        step.remove::<Wood>(&holding.woods[0].id).map(|_| ())
    })
    .unwrap();
    // Patches in another order: rows are renumbered.
    let mut patches = plan.holding().unwrap().patches;
    patches.reverse();
    plan.step("another order", |step| step.replace(&patches)).unwrap();
    plan.step("about", |step| {
        step.set_about(&holding::About { note: "seen".into(), as_at: None, ..holding.about.clone() })?;
        step.set_boundary(None)
    })
    .unwrap();
}

#[test]
fn steps_are_taken_back_to_the_byte_and_done_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let holding = begun(&path);
    let mut states = vec![rows(&path)];
    let mut plan = Plan::open(&path).unwrap();
    assert_eq!(plan.history().unwrap(), History::default(), "a new plan has nothing to take back");
    steps(&mut plan, &holding);
    let after = plan.holding().unwrap();
    states.push(rows(&path));
    assert_eq!(plan.history().unwrap().undo.as_deref(), Some("about"));
    // Closed and opened in between: what was done is kept in the file.
    drop(plan);
    let mut plan = Plan::open(&path).unwrap();
    let mut now = plan.holding().unwrap();
    let mut labels = Vec::new();
    while let Some(turned) = plan.undo(&mut now).unwrap() {
        assert_same(&now, &plan.holding().unwrap());
        labels.push(turned.label);
    }
    assert_eq!(labels, ["about", "another order", "a wood with its trees", "a patch changed and one taken out"]);
    assert_same(&holding, &now);
    assert!(rows(&path) == states[0], "every row is what it was");
    plan.check().unwrap();
    drop(plan);
    let mut plan = Plan::open(&path).unwrap();
    assert_eq!(plan.history().unwrap(), History { undo: None, redo: Some("a patch changed and one taken out".into()) });
    let turned = plan.redo(&mut now).unwrap().unwrap();
    assert_eq!(turned.rows.iter().filter(|(table, _)| table == "patches").count(), 2);
    while plan.redo(&mut now).unwrap().is_some() {}
    assert_same(&after, &now);
    assert!(rows(&path) == states[1], "every row is what it became");
    plan.check().unwrap();
}

#[test]
fn a_new_step_drops_what_was_taken_back_and_old_steps_are_let_go() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let mut now = full();
    let mut plan = Plan::create(&path, &now, false).unwrap();
    let visit = |n: usize| Visit { id: format!("v{n}"), lek: "L1".into(), date: chrono::NaiveDate::from_ymd_opt(2024, 4, 20).unwrap(), cocks: Some(n as u32), ..Visit::default() };
    for n in 0..210 {
        plan.step(&format!("visit {n}"), |step| step.put(&visit(n))).unwrap();
    }
    now = plan.holding().unwrap();
    plan.undo(&mut now).unwrap();
    plan.undo(&mut now).unwrap();
    assert_eq!(plan.history().unwrap(), History { undo: Some("visit 207".into()), redo: Some("visit 208".into()) });
    plan.step("another", |step| step.put(&visit(500))).unwrap();
    assert_eq!(plan.history().unwrap(), History { undo: Some("another".into()), redo: None });
    now = plan.holding().unwrap();
    let mut back = 0;
    while plan.undo(&mut now).unwrap().is_some() {
        back += 1;
    }
    // 200 were kept, two of them were dropped by the new one, which is one more.
    assert_eq!(back, 199);
    assert!(now.visits.iter().any(|v| v.id == "v9") && now.visits.iter().all(|v| v.id != "v10"));
    let conn = Connection::open(&path).unwrap();
    let loose = "SELECT COUNT(*) FROM greyhen_history_rows WHERE step NOT IN (SELECT fid FROM greyhen_history)";
    assert_eq!(conn.query_row(loose, [], |row| row.get::<_, i64>(0)).unwrap(), 0);
}

#[test]
fn a_step_that_fails_or_writes_nothing_leaves_no_trace() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let holding = full();
    let mut plan = Plan::create(&path, &holding, false).unwrap();
    let failed: Result<(), PlanError> = plan.step("half", |step| {
        step.remove::<Patch>(&holding.patches[0].id)?;
        Err(PlanError::Faults(vec![]))
    });
    assert!(failed.is_err());
    plan.save(&holding).unwrap();
    plan.set_guidance_edition("2024.2").unwrap();
    assert_eq!(plan.history().unwrap(), History::default());
    // A step that breaks off is taken back too.
    let broken = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
        plan.step("broken", |step| -> Result<(), PlanError> {
            step.remove::<Patch>(&holding.patches[0].id)?;
            panic!("broke off")
        })
    }));
    assert!(broken.is_err());
    plan.step("whole", |step| step.remove::<Patch>(&holding.patches[1].id)).unwrap();
    let now = plan.holding().unwrap();
    assert_eq!(now.patches.len(), holding.patches.len() - 1);
    assert_eq!(now.patches[0], holding.patches[0]);
}

#[test]
fn heights_empty_the_history() {
    let folder = tempfile::tempdir().unwrap();
    let holding = full();
    let mut plan = Plan::create(&folder.path().join("plan.gpkg"), &holding, false).unwrap();
    plan.step("a patch", |step| step.remove::<Patch>(&holding.patches[0].id)).unwrap();
    plan.step("heights", |step| step.set_heights(None)).unwrap();
    assert_eq!(plan.history().unwrap(), History::default());
    assert!(plan.undo(&mut holding.clone()).unwrap().is_none());
}

#[test]
fn what_another_program_changed_since_is_not_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let holding = full();
    let mut plan = Plan::create(&path, &holding, false).unwrap();
    let id = holding.patches[0].id.clone();
    plan.step("a note", |step| step.put(&Patch { note: "mine".into(), ..holding.patches[0].clone() })).unwrap();
    drop(plan);
    raw(&path).execute("UPDATE patches SET note = 'theirs' WHERE id = ?1", [&id]).unwrap();
    let mut plan = Plan::open(&path).unwrap();
    let mut now = plan.holding().unwrap();
    let error = plan.undo(&mut now).unwrap_err();
    assert!(matches!(error, PlanError::Moved { .. }), "{error}");
    assert_eq!(plan.holding().unwrap().patches[0].note, "theirs");
    // What is done after it can still be taken back.
    plan.step("gone", |step| step.remove::<Patch>(&id)).unwrap();
    now = plan.holding().unwrap();
    assert_eq!(plan.undo(&mut now).unwrap().unwrap().label, "gone");
    assert_eq!(now.patches[0].note, "theirs");
}

#[test]
fn a_history_that_was_tampered_with_is_refused_and_writes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let holding = full();
    for tampered in [
        "UPDATE greyhen_history_rows SET table_name = 'sqlite_master'",
        "UPDATE greyhen_history_rows SET table_name = 'patches\" SET note = ''x'' --'",
        "UPDATE greyhen_history_rows SET was = '{'",
        "UPDATE greyhen_history_rows SET was = '{\"fid\": \"; DROP TABLE patches\"}'",
        "UPDATE greyhen_history_rows SET was = REPLACE(was, '\"note\"', '\"nota\"')",
        "UPDATE greyhen_history_rows SET was = json_set(was, '$.geom', json('{\"blob\": \"00\"}'))",
    ] {
        let mut plan = Plan::create(&path, &holding, true).unwrap();
        plan.step("a note", |step| step.put(&Patch { note: "mine".into(), ..holding.patches[0].clone() })).unwrap();
        drop(plan);
        raw(&path).execute_batch(tampered).unwrap();
        let mut plan = Plan::open(&path).unwrap();
        let before = plan.holding().unwrap();
        let error = plan.undo(&mut before.clone()).expect_err(tampered);
        assert!(matches!(error, PlanError::Faults(_)), "{tampered}: {error}");
        assert_same(&before, &plan.holding().unwrap());
    }
}

#[test]
fn a_plan_without_its_history_is_written_all_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let holding = full();
    drop(Plan::create(&path, &holding, false).unwrap());
    raw(&path).execute_batch("DROP TABLE greyhen_history").unwrap();
    let mut plan = Plan::open(&path).unwrap();
    plan.step("gone", |step| step.remove::<Patch>(&holding.patches[0].id)).unwrap();
    assert_eq!(plan.history().unwrap().undo.as_deref(), Some("gone"));
    plan.check().unwrap();
}

#[test]
fn rows_are_set_by_column_with_all_faults_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let holding = full();
    let mut plan = Plan::create(&path, &holding, false).unwrap();
    let set = |json: serde_json::Value| serde_json::from_value::<std::collections::BTreeMap<String, serde_json::Value>>(json).unwrap();
    let id = holding.woods[0].id.clone();
    let added = plan
        .step("set", |step| {
            assert!(!step.set("patches", &holding.patches[0].id, &set(serde_json::json!({"height_cm": 31.5, "note": null, "flush": true})), None)?);
            assert!(!step.set("woods", &id, &set(serde_json::json!({"name": "Gill wood"})), None)?);
            step.set("leks", "new", &set(serde_json::json!({"name": "New"})), Some(&geo_types::Geometry::Point(geo_types::Point::new(400_000.0, 518_000.0))))
        })
        .unwrap();
    assert!(added);
    let now = plan.holding().unwrap();
    assert_eq!((now.patches[0].height_cm, now.patches[0].note.as_str(), now.patches[0].flush), (Some(31.5), "", true));
    assert_eq!(Patch { height_cm: None, note: String::new(), flush: false, ..now.patches[0].clone() }, Patch { height_cm: None, note: String::new(), flush: false, ..holding.patches[0].clone() });
    assert_eq!((now.woods[0].name.as_str(), &now.woods[0].stems), ("Gill wood", &holding.woods[0].stems), "trees stay");
    assert_eq!(now.leks.last().unwrap().id, "new");
    let wrong = set(serde_json::json!({"height_cm": "tall", "depth": 3, "phase": "old", "id": "x", "heather_pct": 120}));
    let error = plan.step("wrong", |step| step.set("patches", &holding.patches[0].id, &wrong, None)).unwrap_err().to_string();
    for part in ["`height_cm`", "`depth`: needed one of name,", "`phase`", "`id`", "`heather_pct`", "5 faults"] {
        assert!(error.contains(part), "{part}: {error}");
    }
    let error = plan.step("wrong", |step| step.set("measures", "m", &set(serde_json::json!({})), None)).unwrap_err().to_string();
    assert!(error.contains("no such layer") && error.contains("patches"), "{error}");
    let error = plan.step("wrong", |step| step.set("patches", "another", &set(serde_json::json!({})), None)).unwrap_err().to_string();
    assert!(error.contains("an area or areas, found nothing"), "{error}");
    assert!(!plan.step("gone", |step| step.take_out("patches", "nobody")).unwrap());
}
