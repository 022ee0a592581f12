//! What is put into a plan comes back out of it.

mod full_holding;

use full_holding::{assert_same, full, square};
use holding::{Holding, Patch, Plan, PlanError};

fn files(folder: &std::path::Path) -> Vec<String> {
    let mut names: Vec<String> =
        std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn a_holding_that_uses_every_field_comes_back_equal() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let holding = full();
    let plan = Plan::create(&path, &holding, false).unwrap();
    assert_same(&holding, &plan.holding().unwrap());
    assert_eq!(files(folder.path()), ["plan.gpkg"], "one file while open and at rest");
    drop(plan);
    let plan = Plan::open_read_only(&path).unwrap();
    assert_same(&holding, &plan.holding().unwrap());
    plan.check().unwrap();
    drop(plan);
    let mut plan = Plan::open(&path).unwrap();
    assert!(plan.save(&holding).unwrap().is_nothing(), "saving what is there writes nothing");
    drop(plan);
    assert_eq!(files(folder.path()), ["plan.gpkg"]);
}

#[test]
fn an_empty_holding_comes_back_equal() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let plan = Plan::create(&path, &Holding::default(), false).unwrap();
    assert_same(&Holding::default(), &plan.holding().unwrap());
}

#[test]
fn a_file_is_replaced_only_by_force_and_never_under_a_writer() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let first = Plan::create(&path, &full(), false).unwrap();
    assert!(matches!(Plan::create(&path, &Holding::default(), false), Err(PlanError::Exists(_))));
    assert!(Plan::create(&path, &Holding::default(), true).err().unwrap().is_taken());
    drop(first);
    assert_same(&full(), &Plan::open_read_only(&path).unwrap().holding().unwrap());
    let second = Plan::create(&path, &Holding::default(), true).unwrap();
    assert_same(&Holding::default(), &second.holding().unwrap());
    drop(second);
    std::fs::write(&path, "not a plan at all, but in the way").unwrap();
    assert!(matches!(Plan::open(&path), Err(PlanError::NotAPlan { .. })));
    // Not a plan: never replaced, forced or not.
    let error = Plan::create(&path, &full(), true).err().unwrap();
    assert!(matches!(error, PlanError::NotAPlan { .. }) && error.to_string().contains("--force"), "{error}");
    assert_eq!(std::fs::read(&path).unwrap(), b"not a plan at all, but in the way");
    assert_eq!(files(folder.path()), ["plan.gpkg"]);
    let lost = Plan::create(&folder.path().join("nowhere").join("plan.gpkg"), &full(), false).err().unwrap();
    assert!(matches!(&lost, PlanError::NoFolder(at) if at.ends_with("nowhere")), "{lost}");
}

#[test]
fn a_save_writes_only_the_difference_and_keeps_the_order() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let mut holding = full();
    let mut plan = Plan::create(&path, &holding, false).unwrap();
    holding.patches[1].height_cm = Some(5.5);
    let saved = plan.save(&holding).unwrap();
    assert_eq!((saved.added, saved.changed, saved.removed, saved.heights), (0, 1, 0, false));
    // One in the middle, one out, the rest turned round, trees among them.
    holding.patches.insert(1, Patch::new("between", square(400_001.0, 518_001.0, 5.0)));
    holding.patches.remove(3);
    holding.patches.reverse();
    holding.woods[0].stems.remove(4);
    holding.woods.swap(0, 1);
    holding.heights.as_mut().unwrap().cells[9] = -3.0;
    holding.about.note.clear();
    holding.about.blaeberry_taken = None;
    holding.boundary = None;
    plan.save(&holding).unwrap();
    assert_same(&holding, &plan.holding().unwrap());
    holding.heights = None;
    holding.boundary = Some(square(400_000.0, 518_000.0, 77.0));
    plan.save(&holding).unwrap();
    drop(plan);
    let plan = Plan::open_read_only(&path).unwrap();
    assert_same(&holding, &plan.holding().unwrap());
    plan.check().unwrap();
}
