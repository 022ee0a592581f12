//! The demo holds together, and every fault its story tells of is there in the data.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use geo::{Area, Contains, Distance, Euclidean, Validation};
use geo_types::{MultiPolygon, Point};
use ground::quick;
use holding::*;
use std::collections::BTreeSet;
use std::sync::OnceLock;

/// Seeds looked at; the first is the usual one.
const SEEDS: [u64; 2] = [7, 2026];

fn made() -> &'static [Holding] {
    static MADE: OnceLock<Vec<Holding>> = OnceLock::new();
    MADE.get_or_init(|| std::thread::scope(|s| SEEDS.map(|seed| s.spawn(move || demo::holding(seed))).into_iter().map(|t| t.join().unwrap()).collect()))
}

fn each(check: impl Fn(&Holding)) {
    made().iter().for_each(check);
}

fn ha(shape: &MultiPolygon<f64>) -> f64 {
    shape.unsigned_area() / 10_000.0
}

fn lek<'a>(h: &'a Holding, id: &str) -> &'a Lek {
    h.leks.iter().find(|l| l.id == id).unwrap()
}

fn disc(at: Point<f64>, radius_m: f64) -> MultiPolygon<f64> {
    let ring = (0..=180).map(|k| {
        let a = f64::from(k % 180) * std::f64::consts::TAU / 180.0;
        (at.x() + radius_m * a.cos(), at.y() + radius_m * a.sin())
    });
    MultiPolygon(vec![geo_types::Polygon::new(ring.collect(), vec![])])
}

fn from(at: Point<f64>, shape: &MultiPolygon<f64>) -> f64 {
    Euclidean.distance(&at, shape)
}

fn walked(h: &Holding) -> impl Iterator<Item = &Patch> {
    h.patches.iter().filter(|p| !p.coarse)
}

fn patch_at(h: &Holding, at: Point<f64>) -> &Patch {
    h.patches.iter().find(|p| p.shape.contains(&at)).unwrap()
}

fn class(patch: &Patch) -> &str {
    patch.phase1.as_deref().unwrap_or("")
}

#[test]
fn the_same_seed_gives_the_same_holding_and_another_seed_another() {
    assert!(demo::holding(7) == made()[0]);
    assert!(made()[0] != made()[1]);
    assert_eq!(demo::field_files(), demo::field_files());
}

#[test]
fn patches_and_parcels_tile_the_boundary_without_overlap() {
    each(|h| {
        let boundary = h.boundary.as_ref().unwrap();
        let whole = ha(boundary);
        assert!((1_350.0..1_650.0).contains(&whole), "{whole} ha");
        let patches: f64 = walked(h).map(|p| ha(&p.shape)).sum();
        let parcels: f64 = h.parcels.iter().map(|p| ha(&p.shape)).sum();
        assert!((patches - whole).abs() < 1e-6 * whole, "patches {patches} of {whole}");
        assert!((parcels - whole).abs() < 1e-6 * whole, "parcels {parcels} of {whole}");
        let n = walked(h).count();
        assert!((60..=120).contains(&n), "{n} patches");
        // Joined, they still have the same area and nothing lies outside: nothing overlaps, nothing is left open.
        let joined = quick::union(&walked(h).flat_map(|p| p.shape.0.clone()).collect::<Vec<_>>());
        assert!((ha(&joined) - whole).abs() < 1e-4 * whole);
        assert!(ha(&quick::difference(&joined, boundary)) < 1e-4 * whole);
    });
}

#[test]
fn coarse_ground_fills_two_kilometres_round_and_the_height_model_covers_it() {
    each(|h| {
        let frame = h.heights.as_ref().unwrap().frame;
        let boundary = h.boundary.as_ref().unwrap();
        for c in boundary.0.iter().flat_map(|p| &p.exterior().0) {
            let out = [c.x - frame.west_m, frame.east_m() - c.x, c.y - frame.south_m(), frame.north_m - c.y];
            assert!(out.iter().all(|&d| d >= 2_000.0), "{out:?}");
        }
        let total: f64 = h.patches.iter().map(|p| ha(&p.shape)).sum();
        let framed = frame.cell_ha() * frame.len() as f64;
        assert!((total / framed - 1.0).abs() < 0.005, "{total} of {framed}");
        assert!(h.heights.as_ref().unwrap().cells.iter().all(|v| v.is_finite()));
    });
}

#[test]
fn the_ground_is_hill_ground() {
    each(|h| {
        let g = h.heights.as_ref().unwrap();
        let boundary = h.boundary.as_ref().unwrap();
        let mut heights = Vec::new();
        let mut slopes = Vec::new();
        for r in (1..g.frame.rows - 1).step_by(6) {
            for c in (1..g.frame.cols - 1).step_by(6) {
                let (e, n) = g.frame.centre(c, r);
                if boundary.contains(&Point::new(e, n)) {
                    heights.push(f64::from(g.get(c, r)));
                    let (dx, dy) = (f64::from(g.get(c + 1, r) - g.get(c - 1, r)) / 20.0, f64::from(g.get(c, r + 1) - g.get(c, r - 1)) / 20.0);
                    slopes.push(dx.hypot(dy).atan().to_degrees());
                }
            }
        }
        heights.sort_by(f64::total_cmp);
        slopes.sort_by(f64::total_cmp);
        let (low, high) = (heights[0], heights[heights.len() - 1]);
        assert!((190.0..250.0).contains(&low) && (470.0..560.0).contains(&high), "{low} to {high} m");
        assert!(slopes[slopes.len() * 99 / 100] < 26.0 && slopes[slopes.len() / 2] > 2.0, "median {} 99% {}", slopes[slopes.len() / 2], slopes[slopes.len() * 99 / 100]);
    });
}

#[test]
fn no_outline_is_invalid_and_no_id_is_used_twice() {
    each(|h| {
        let shapes = h.patches.iter().map(|p| (&p.id, &p.shape));
        let shapes = shapes.chain(h.parcels.iter().map(|p| (&p.id, &p.shape))).chain(h.woods.iter().map(|p| (&p.id, &p.shape)));
        let shapes = shapes.chain(h.areas.iter().map(|p| (&p.id, &p.shape))).chain(h.buildings.iter().map(|p| (&p.id, &p.shape)));
        for (id, shape) in shapes {
            assert!(!shape.0.is_empty() && shape.is_valid(), "{id} is empty or crosses itself");
        }
        assert!(h.boundary.as_ref().unwrap().is_valid());
        for ids in [
            h.patches.iter().map(|p| &p.id).collect::<Vec<_>>(),
            h.visits.iter().map(|p| &p.id).collect(),
            h.sticks.iter().map(|p| &p.id).collect(),
            h.probes.iter().map(|p| &p.id).collect(),
            h.fences.iter().map(|p| &p.id).collect(),
            h.ditches.iter().map(|p| &p.id).collect(),
        ] {
            assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), ids.len());
        }
        for line in h.fences.iter().map(|f| &f.shape).chain(h.ditches.iter().map(|d| &d.shape)).chain(h.watercourses.iter().map(|w| &w.shape)) {
            assert!(!line.0.is_empty() && line.0.iter().all(|l| l.0.len() > 1));
        }
        for stock in &h.stock {
            assert!(h.parcels.iter().any(|p| p.id == stock.parcel));
        }
        for visit in &h.visits {
            assert!(h.leks.iter().any(|l| l.id == visit.lek));
        }
    });
}

#[test]
fn covers_are_percentages_that_make_about_a_hundred() {
    each(|h| {
        for patch in walked(h).filter(|p| p.covers.0.iter().any(Option::is_some)) {
            let sum: f32 = patch.covers.0.iter().flatten().sum();
            assert!((95.0..=105.0).contains(&sum), "{} {sum}", patch.id);
        }
    });
}

#[test]
fn watercourses_run_downhill_on_the_height_model() {
    each(|h| {
        let g = h.heights.as_ref().unwrap();
        assert!(h.watercourses.len() >= 5);
        for w in &h.watercourses {
            let line = &w.shape.0[0].0;
            let height = |c: &geo_types::Coord<f64>| g.at_point(c.x, c.y).unwrap();
            assert!(height(&line[0]) > height(&line[line.len() - 1]), "{} runs uphill", w.name);
        }
    });
}

#[test]
fn readings_are_many_and_follow_their_patches() {
    each(|h| {
        assert!(h.sticks.len() >= 120, "{}", h.sticks.len());
        assert_eq!(h.probes.len(), 40);
        for patch in walked(h) {
            let Some(mean) = patch.height_cm else { continue };
            let found: Vec<f32> = h.sticks.iter().filter(|s| s.note.is_empty() && patch.shape.contains(&s.at)).map(|s| s.height_cm).collect();
            if found.len() >= 10 {
                let average = found.iter().sum::<f32>() / found.len() as f32;
                assert!((average - mean).abs() < 0.25 * mean + 2.0, "{} {average} against {mean}", patch.id);
            }
        }
        let bog: Vec<f32> = h.probes.iter().filter(|q| class(patch_at(h, q.at)) == "E1.6.1").map(|q| q.depth_cm).collect();
        assert!(bog.len() >= 15 && bog.iter().sum::<f32>() / bog.len() as f32 > 100.0);
    });
}

#[test]
fn fault_trees_stand_inside_the_stand_off_of_the_falling_lek_as_a_hard_closed_wall() {
    each(|h| {
        let wall = h.woods.iter().find(|w| w.stems[0].tree == Tree::Spruce).unwrap();
        let at = lek(h, "L1").at;
        let far = from(at, &wall.shape);
        assert!((50.0..100.0).contains(&far), "{far} m");
        assert!((80.0..100.0).contains(&ha(&wall.shape)), "{} ha", ha(&wall.shape));
        assert_eq!((wall.feathered_edge, wall.planted), (Some(false), Some(1978)));
        assert!(wall.canopy_pct.unwrap() > 90.0);
        let ring = disc(at, 1_000.0);
        let share = ha(&quick::intersection(&ring, &wall.shape)) / ha(&ring);
        assert!(share > 0.2, "closed conifer is {share} of the ground within 1 km");
        // It stands between the lek and a good part of the horizon within 300 m.
        assert!(ha(&quick::intersection(&disc(at, 300.0), &wall.shape)) > 5.0);
    });
}

#[test]
fn fault_an_unmarked_deer_fence_runs_by_the_falling_lek_and_another_fence_is_marked() {
    each(|h| {
        let at = lek(h, "L1").at;
        let deer = h.fences.iter().find(|f| f.kind == FenceKind::Deer).unwrap();
        assert_eq!(deer.marking, Marking::None);
        assert!(Euclidean.distance(&at, &deer.shape) < 100.0);
        assert!(h.fences.iter().any(|f| f.marking == Marking::Pales));
        let kinds: BTreeSet<&str> = h.fences.iter().map(|f| f.kind.word()).collect();
        assert!(kinds.len() >= 4, "{kinds:?}");
    });
}

#[test]
fn fault_the_display_ground_of_the_falling_lek_is_rank() {
    each(|h| {
        let patch = patch_at(h, lek(h, "L1").at);
        assert!(patch.height_cm.unwrap() > 25.0);
        for id in ["L2", "L3"] {
            assert!(patch_at(h, lek(h, id).at).height_cm.unwrap() < 15.0);
        }
    });
}

#[test]
fn fault_swards_are_uniformly_short_on_the_common_and_uniformly_rank_in_brood_ground() {
    each(|h| {
        let short = walked(h).filter(|p| p.height_cm.is_some_and(|v| v < 8.0) && p.height_sd_cm.is_some_and(|s| s < 2.0) && class(p) == "B1.1");
        assert!(short.map(|p| ha(&p.shape)).sum::<f64>() > 50.0);
        let rank = walked(h).find(|p| class(p) == "B5" && p.height_cm.is_some_and(|v| v > 50.0)).unwrap();
        assert!(rank.height_sd_cm.unwrap() < 0.12 * rank.height_cm.unwrap());
        assert!(from(lek(h, "L1").at, &rank.shape) < 1_500.0);
    });
}

#[test]
fn fault_no_nest_cover_lies_within_reach_of_the_low_lek() {
    each(|h| {
        let tall = |id: &str| {
            let at = lek(h, id).at;
            h.patches.iter().filter(|p| from(at, &p.shape) < 1_500.0 && p.height_cm.is_none_or(|v| v >= 25.0)).map(|p| p.id.clone()).collect::<Vec<_>>()
        };
        assert!(tall("L3").is_empty(), "{:?}", tall("L3"));
        assert!(!tall("L1").is_empty() && !tall("L2").is_empty());
    });
}

#[test]
fn fault_the_heather_is_all_one_age() {
    each(|h| {
        let ages: Vec<f32> = walked(h).filter_map(|p| p.heather_age_yr).collect();
        assert!(ages.len() > 10 && ages.iter().all(|a| (22.0..=26.0).contains(a)));
        assert!(walked(h).filter_map(|p| p.phase).all(|p| p == Phase::Mature));
    });
}

#[test]
fn fault_open_grips_cross_a_flush_and_a_bog() {
    each(|h| {
        let crossing = |code: &str| {
            h.ditches.iter().filter(|d| !d.blocked && walked(h).any(|p| class(p) == code && Euclidean.distance(&d.shape, &p.shape) == 0.0)).count()
        };
        let flush = walked(h).find(|p| p.flush && p.name.contains("gripped")).unwrap();
        assert!(h.ditches.iter().filter(|d| Euclidean.distance(&d.shape, &flush.shape) == 0.0).count() >= 3);
        assert!(crossing("E1.6.1") >= 4);
        assert!(h.ditches.iter().any(|d| d.blocked) && h.ditches.iter().any(|d| d.keep));
    });
}

#[test]
fn fault_no_woodland_food_lies_within_snow_reach_of_the_top_lek() {
    each(|h| {
        let food = |id: &str| {
            let at = lek(h, id).at;
            let near = h.woods.iter().filter(|w| w.stems.iter().any(|s| !s.tree.is_plantation_conifer()));
            near.map(|w| from(at, &w.shape)).fold(f64::INFINITY, f64::min)
        };
        assert!(food("L2") > 2_000.0, "{}", food("L2"));
        assert!(food("L1") < 1_000.0 && food("L3") < 1_500.0);
    });
}

#[test]
fn fault_the_stubble_is_ploughed() {
    each(|h| {
        let arable = h.parcels.iter().find(|p| p.kind == ParcelKind::InByeArable).unwrap();
        assert_eq!(arable.stubble, Some(Stubble::Ploughed));
    });
}

#[test]
fn fault_a_path_crosses_the_display_ground_of_the_top_lek() {
    each(|h| {
        let top = lek(h, "L2");
        let path = h.tracks.iter().find(|t| t.kind == TrackKind::Path).unwrap();
        assert!(Euclidean.distance(&top.at, &path.shape) < top.radius_m.unwrap());
    });
}

#[test]
fn fault_the_moor_by_the_low_lek_is_small() {
    each(|h| {
        let at = lek(h, "L3").at;
        let moor = |p: &&Patch| class(p).starts_with('D') || class(p).starts_with('E');
        let near: f64 = h.patches.iter().filter(moor).map(|p| ha(&quick::intersection(&p.shape, &disc(at, 1_500.0)))).sum();
        assert!(near < 200.0, "{near} ha");
        let top: f64 = h.patches.iter().filter(moor).map(|p| ha(&quick::intersection(&p.shape, &disc(lek(h, "L2").at, 1_500.0)))).sum();
        assert!(top > 200.0, "{top} ha");
    });
}

#[test]
fn fault_one_lek_falls_one_holds_and_one_was_last_counted_years_ago() {
    use chrono::Datelike;
    each(|h| {
        let best = |id: &str, year: i32| h.visits.iter().filter(|v| v.lek == id && v.date.year() == year).filter_map(|v| v.cocks).max();
        assert_eq!((best("L1", 2015), best("L1", 2026)), (Some(11), Some(3)));
        let steady: Vec<u32> = (2015..=2026).filter_map(|y| best("L2", y)).collect();
        assert!(steady.len() == 12 && steady.iter().all(|n| (7..=9).contains(n)));
        let last = h.visits.iter().filter(|v| v.lek == "L3").map(|v| v.date.year()).max().unwrap();
        assert!(h.about.as_at.unwrap().year() - last >= 4);
        assert!(h.visits.iter().any(|v| v.date.month() == 6), "one visit out of season");
        assert!(h.visits.iter().any(|v| v.start.is_some_and(|t| t >= chrono::NaiveTime::from_hms_opt(9, 0, 0).unwrap())));
    });
}

#[test]
fn fault_some_patches_have_no_measurements() {
    each(|h| {
        let bare = walked(h).filter(|p| p.covers == Covers::default() && p.height_cm.is_none()).count();
        assert!((4..40).contains(&bare), "{bare}");
    });
}

#[test]
fn fault_the_hill_is_heavily_stocked_in_winter() {
    each(|h| {
        for id in ["P01", "P02"] {
            let area = h.parcels.iter().find(|p| p.id == id).map(|p| ha(&p.shape)).unwrap();
            let ewes: f32 = h.stock.iter().filter(|s| s.parcel == id && s.class == StockClass::HillEwe).map(|s| s.head[0]).sum();
            assert!(f64::from(ewes) / area > 1.0, "{id}");
        }
    });
}

#[test]
fn field_files_read_as_tables_and_places_lie_by_the_holding() {
    let files = demo::field_files();
    assert_eq!(files.len(), 4);
    let text = |name: &str| String::from_utf8(files.iter().find(|f| f.0 == name).unwrap().1.clone()).unwrap();
    let sticks = text("sticks.csv");
    assert_eq!(sticks.lines().count(), 39);
    let box_ = made()[0].heights.as_ref().unwrap().frame;
    for line in sticks.lines().skip(1) {
        let place = holding::grid_ref::parse_grid_ref(line.split(',').nth(1).unwrap()).unwrap();
        assert!(box_.cell_of(place.middle().0, place.middle().1).is_some());
    }
    assert!(text("leks.geojson").contains("\"coordinates\":[-2.2"));
    assert!(demo::story().len() > 200);
}
