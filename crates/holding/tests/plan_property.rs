//! Whatever a holding holds within its limits, a plan gives back; and the R-tree stays true.

mod full_holding;

use full_holding::assert_same;
use geo::CoordsIter;
use geo_types::{LineString, MultiLineString, MultiPolygon, Point, Polygon};
use holding::*;
use proptest::prelude::*;
use std::cell::RefCell;

fn place() -> impl Strategy<Value = (f64, f64)> {
    (-1e7..1e7f64, -1e7..1e7f64)
}

fn ring() -> impl Strategy<Value = LineString<f64>> {
    prop_oneof![9 => prop::collection::vec(place(), 3..8), 1 => Just(vec![])].prop_map(|points| {
        let mut line = LineString::from(points);
        line.close();
        line
    })
}

fn areas() -> impl Strategy<Value = MultiPolygon<f64>> {
    let filled = prop::collection::vec(place(), 3..6).prop_map(LineString::from);
    let polygon = (ring(), prop::collection::vec(filled, 0..2)).prop_map(|(outer, holes)| {
        Polygon::new(outer.clone(), if outer.0.is_empty() { vec![] } else { holes })
    });
    prop::collection::vec(polygon, 0..3).prop_map(MultiPolygon)
}

fn lines() -> impl Strategy<Value = MultiLineString<f64>> {
    prop::collection::vec(prop::collection::vec(place(), 0..5).prop_map(LineString::from), 0..3).prop_map(MultiLineString)
}

fn amount() -> impl Strategy<Value = Option<f32>> {
    prop::option::of(prop_oneof![0.0f32..1e4, Just(f32::MAX), Just(f32::MIN_POSITIVE), Just(0.1f32)])
}

fn extra() -> impl Strategy<Value = Extra> {
    let value = prop_oneof![
        any::<String>().prop_map(serde_json::Value::from),
        any::<i64>().prop_map(serde_json::Value::from),
        (-1e300..1e300f64).prop_map(serde_json::Value::from),
        any::<bool>().prop_map(serde_json::Value::from),
        Just(serde_json::json!([null, {"a": []}])),
    ];
    prop::collection::btree_map(any::<String>(), value, 0..4)
}

fn covers() -> impl Strategy<Value = Covers> {
    prop::array::uniform11(prop::option::of(0.0f32..=100.0)).prop_map(Covers)
}

fn patch() -> impl Strategy<Value = Patch> {
    let texts = (any::<String>(), prop::option::of(any::<String>()), any::<String>());
    (areas(), texts, covers(), amount(), prop::option::of(0.0f32..=1.0), any::<bool>(), prop::option::of(0i32..40_000), extra()).prop_map(
        |(shape, (name, phase1, note), covers, height_cm, wetness, flush, day, extra)| Patch {
            name,
            phase1,
            note,
            covers,
            height_cm,
            wetness,
            flush,
            surveyed: day.and_then(|d| chrono::NaiveDate::from_ymd_opt(1950, 1, 1)?.checked_add_days(chrono::Days::new(d as u64))),
            extra,
            ..Patch::new("", shape)
        },
    )
}

fn measure() -> impl Strategy<Value = Measure> {
    (areas(), lines(), any::<u32>(), any::<String>(), any::<Option<i32>>(), extra()).prop_map(
        |(shape, line, option, kind, year, facts)| Measure { id: String::new(), option, kind, year, shape, line, facts },
    )
}

fn holding() -> impl Strategy<Value = Holding> {
    let lists = (
        prop::collection::vec((0..12u32, patch()), 0..8),
        prop::collection::vec((0..12u32, measure()), 0..5),
        prop::collection::vec((0..12u32, lines(), amount()), 0..5),
        prop::collection::vec((0..12u32, place(), 0.0f32..500.0), 0..8),
    );
    (lists, prop::option::of(areas())).prop_map(|((patches, measures, fences, sticks), boundary)| {
        let mut made = Holding { boundary, ..Default::default() };
        // Ids out of a small pool, so that saves meet rows that are there, in another order.
        let mut used = std::collections::HashSet::new();
        let mut fresh = |kind: &str, n: u32| used.insert((kind.to_owned(), n)).then(|| format!("{kind} {n}"));
        made.patches.extend(patches.into_iter().filter_map(|(n, p)| Some(Patch { id: fresh("p", n)?, ..p })));
        made.measures.extend(measures.into_iter().filter_map(|(n, m)| Some(Measure { id: fresh("m", n)?, ..m })));
        made.fences.extend(fences.into_iter().filter_map(|(n, shape, height_m)| {
            Some(Fence { height_m, ..Fence::new(fresh("f", n)?, shape) })
        }));
        made.sticks.extend(sticks.into_iter().filter_map(|(n, (x, y), height_cm)| {
            Some(Stick { id: fresh("s", n)?, at: Point::new(x, y), height_cm, date: None, note: String::new() })
        }));
        made
    })
}

/// The box of every vertex, holes too (random holes need not lie inside): west, east, south, north.
fn extent(places: impl Iterator<Item = geo_types::Coord<f64>>) -> Option<[f64; 4]> {
    places.map(|p| [p.x, p.x, p.y, p.y]).reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1]), a[2].min(b[2]), a[3].max(b[3])])
}

/// Boxes of a table's rows by id, from the things themselves; empty shapes have none.
fn boxes(holding: &Holding, table: &str) -> Vec<(String, [f64; 4])> {
    let all: Vec<(&String, Option<[f64; 4]>)> = match table {
        "patches" => holding.patches.iter().map(|p| (&p.id, extent(p.shape.coords_iter()))).collect(),
        "fences" => holding.fences.iter().map(|f| (&f.id, extent(f.shape.coords_iter()))).collect(),
        "stick_heights" => holding.sticks.iter().map(|s| (&s.id, extent(s.at.coords_iter()))).collect(),
        _ => holding.measures.iter().map(|m| (&m.id, extent(m.shape.coords_iter().chain(m.line.coords_iter())))).collect(),
    };
    all.into_iter().filter_map(|(id, found)| Some((id.clone(), found?))).collect()
}

fn tree_is_true(conn: &rusqlite::Connection, holding: &Holding, table: &str) {
    let check: String = conn.query_row(&format!("SELECT rtreecheck('rtree_{table}_geom')"), [], |row| row.get(0)).unwrap();
    assert_eq!(check, "ok", "{table}");
    let mut select = conn
        .prepare(&format!("SELECT t.id, r.minx, r.maxx, r.miny, r.maxy FROM rtree_{table}_geom r LEFT JOIN {table} t ON t.fid = r.id"))
        .unwrap();
    let found: std::collections::HashMap<String, [f64; 4]> = select
        .query_map([], |row| Ok((row.get(0)?, [row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?])))
        .unwrap()
        .collect::<Result<_, _>>()
        .unwrap();
    let expected = boxes(holding, table);
    assert_eq!(found.len(), expected.len(), "{table}: one entry for each shape that is not empty");
    for (id, want) in expected {
        // The tree keeps single precision, rounded outward.
        let have = found[&id];
        let slack = |v: f64| 1e-6 * v.abs().max(1.0);
        for at in 0..4 {
            let outward = if at % 2 == 0 { want[at] - have[at] } else { have[at] - want[at] };
            assert!(outward >= 0.0 && outward <= slack(want[at]), "{table} {id}: {have:?} for {want:?}");
        }
    }
}

thread_local! {
    static PLAN: RefCell<Option<(tempfile::TempDir, Plan)>> = const { RefCell::new(None) };
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// Each case is saved over the one before, so that every save is a difference.
    #[test]
    fn any_holding_saved_over_any_other_comes_back_equal_with_true_trees(wanted in holding()) {
        PLAN.with_borrow_mut(|slot| {
            let (folder, plan) = slot.get_or_insert_with(|| {
                let folder = tempfile::tempdir().unwrap();
                let plan = Plan::create(&folder.path().join("plan.gpkg"), &Holding::default(), false).unwrap();
                (folder, plan)
            });
            plan.save(&wanted).unwrap();
            let path = folder.path().join("plan.gpkg");
            assert_same(&wanted, &Plan::open_read_only(&path).unwrap().holding().unwrap());
            let conn = rusqlite::Connection::open_with_flags(&path, rusqlite::OpenFlags::SQLITE_OPEN_READ_ONLY).unwrap();
            for table in ["patches", "fences", "stick_heights", "measures"] {
                tree_is_true(&conn, &wanted, table);
            }
        });
    }
}
