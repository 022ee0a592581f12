//! An invented holding that uses every field of every kind.
#![allow(dead_code)]

use chrono::{NaiveDate, NaiveTime};
use geo_types::{LineString, MultiLineString, MultiPolygon, Point, Polygon};
use ground::{Frame, Grid};
use holding::*;
use serde_json::json;

pub fn square(west: f64, south: f64, side: f64) -> MultiPolygon<f64> {
    MultiPolygon(vec![ring(west, south, side)])
}

fn ring(west: f64, south: f64, side: f64) -> Polygon<f64> {
    let (e, n) = (west + side, south + side);
    Polygon::new(LineString::from(vec![(west, south), (e, south), (e, n), (west, n), (west, south)]), vec![])
}

fn holed(west: f64, south: f64, side: f64) -> MultiPolygon<f64> {
    let hole = ring(west + side / 4.0, south + side / 4.0, side / 2.0).exterior().clone();
    MultiPolygon(vec![Polygon::new(ring(west, south, side).exterior().clone(), vec![hole]), ring(west + 2.0 * side, south, side / 3.0)])
}

pub fn line(points: &[(f64, f64)]) -> MultiLineString<f64> {
    MultiLineString(vec![LineString::from(points.to_vec())])
}

fn extra() -> Extra {
    [("surveyor".to_string(), json!("A. Nother")), ("grid".to_string(), json!({"sheet": [1, 2.5, null]})), ("third".into(), json!(0.1f64 + 0.2))]
        .into_iter()
        .collect()
}

fn day(y: i32, m: u32, d: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(y, m, d).unwrap()
}

fn covers() -> Covers {
    let mut covers = Covers::default();
    for (at, plant) in Plant::ALL.into_iter().enumerate() {
        covers.set(plant, at as f32 * 3.3);
    }
    covers.0[3] = None;
    covers
}

/// Heights with a slope, a missing cell and edge tiles that are not full.
pub fn heights() -> Grid<f32> {
    let frame = Frame::square(400_000.0, 520_000.0, 10.0, 300, 270);
    let cells = (0..frame.len())
        .map(|at| {
            let (col, row) = (at % frame.cols, at / frame.cols);
            if (col, row) == (17, 5) || col > 290 && row < 4 { f32::NAN } else { 312.34 + col as f32 * 0.17 - row as f32 * 0.053 }
        })
        .collect();
    Grid::from_cells(frame, cells).unwrap()
}

pub fn full() -> Holding {
    let parcel = |id: &str, kind, stubble| Parcel { name: format!("Parcel {id}"), kind, stubble, extra: extra(), ..Parcel::new(id, holed(400_100.0, 518_200.0, 80.0)) };
    let patch = |id: &str, phase| Patch {
        name: "North \"Moss\" & 'Flow'".into(),
        phase1: Some("E1.6.1".into()),
        covers: covers(),
        height_cm: Some(31.7),
        height_sd_cm: Some(9.1),
        phase: Some(phase),
        heather_age_yr: Some(17.5),
        flush: true,
        wetness: Some(0.83),
        surveyed: Some(day(2026, 6, 3)),
        coarse: true,
        note: "Übersicht – þorn; DROP TABLE patches;--\n<b>".into(),
        extra: extra(),
        ..Patch::new(id, holed(400_400.0, 518_500.0, 120.0))
    };
    let stems = |tree, n| Stems { tree, stems_per_ha: n, height_m: Some(4.4), age_yr: Some(12.0) };
    let fence = |id: &str, kind, marking| Fence { name: "March dyke".into(), kind, height_m: Some(1.9), marking, extra: extra(), ..Fence::new(id, line(&[(400_000.5, 518_000.25), (400_900.0, 518_111.0)])) };
    let measure = |id: &str| Measure { id: id.into(), option: 2, kind: "mow".into(), year: Some(2027), facts: extra(), ..Default::default() };
    let mut holding = Holding {
        about: About {
            name: "Nether Wansbarrow".into(),
            country: Country::England,
            epsg: 27700,
            cell_m: 12.5,
            blaeberry_taken: Some(false),
            as_at: Some(day(2026, 4, 30)),
            heights_source: "invented".into(),
            note: "no such place".into(),
        },
        boundary: Some(holed(400_000.0, 518_000.0, 900.0)),
        parcels: ParcelKind::iter_words().zip([Some(Stubble::Left), Some(Stubble::Ploughed), Some(Stubble::Roots), None].into_iter().cycle()).map(|(kind, stubble)| parcel(kind.word(), kind, stubble)).collect(),
        patches: [Phase::Pioneer, Phase::Building, Phase::Mature, Phase::Degenerate].into_iter().map(|phase| patch(phase.word(), phase)).collect(),
        woods: vec![
            Wood {
                name: "Long Strip".into(),
                planted: Some(1984),
                stems: Tree::ALL.iter().map(|tree| stems(*tree, 350.5)).collect(),
                canopy_pct: Some(62.5),
                open_pct: Some(12.0),
                ground_phase1: Some("D1.1".into()),
                ground_covers: covers(),
                feathered_edge: Some(true),
                extra: extra(),
                ..Wood::new("w1", square(401_000.0, 518_900.0, 150.0))
            },
            Wood { stems: vec![stems(Tree::Birch, 0.0), Stems { tree: Tree::Birch, stems_per_ha: 3.0, height_m: None, age_yr: None }], feathered_edge: Some(false), ..Wood::new("w2", square(401_300.0, 518_900.0, 15.0)) },
        ],
        leks: vec![Lek { radius_m: Some(61.25), target_cocks: Some(12), extra: extra(), ..Lek::new("l1", "Blank Rigg", Point::new(400_777.1, 518_333.7)) }, Lek::new("l2", "", Point::new(400_100.0, 518_100.0))],
        visits: vec![
            Visit { id: "v1".into(), lek: "l1".into(), date: day(2025, 4, 11), start: NaiveTime::from_hms_opt(4, 37, 5), cocks: Some(9), hens: Some(3), weather: "still, clear".into(), note: "one limping".into(), known_to: KnownTo::Day, observer: "A. Nother".into(), wind_beaufort: Some(2), rain: Some(Rain::Drizzle), extra: extra() },
            Visit { id: "v2".into(), lek: "l1".into(), date: day(2026, 4, 13), ..Visit::default() },
            Visit { id: "v3".into(), lek: "l2".into(), date: day(1987, 1, 1), known_to: KnownTo::Year, cocks: Some(14), ..Visit::default() },
        ],
        broods: vec![
            BroodCount { id: "b1".into(), date: day(2026, 8, 9), at: Some(Point::new(400_321.0, 518_654.5)), lek: "l1".into(), hens: Some(5), hens_with_brood: Some(3), young: Some(11), dogs: Some(true), observer: "A. Nother".into(), note: "wet".into(), extra: extra() },
            BroodCount { id: "b2".into(), date: day(2025, 8, 9), ..BroodCount::default() },
        ],
        fences: FenceKind::iter_words().zip(Marking::iter_words()).map(|(kind, marking)| fence(kind.word(), kind, marking)).collect(),
        ditches: vec![Ditch { width_cm: Some(85.0), depth_cm: Some(60.5), blocked: true, keep: true, extra: extra(), ..Ditch::new("d1", line(&[(400_500.0, 518_500.0), (400_550.0, 518_400.0), (400_560.0, 518_300.0)])) }],
        watercourses: vec![Watercourse { name: "Wan Sike".into(), width_m: Some(1.2), extra: extra(), ..Watercourse::new("b1", line(&[(400_000.0, 518_700.0), (400_900.0, 518_600.0)])) }],
        tracks: TrackKind::iter_words().map(|kind| Track { name: "Peat road".into(), kind, extra: extra(), ..Track::new(kind.word(), line(&[(400_000.0, 518_010.0), (400_900.0, 518_020.0)])) }).collect(),
        services: vec![Service { kind: "overhead line".into(), extra: extra(), ..Service::new("s1", line(&[(400_000.0, 518_800.0), (400_900.0, 518_880.0)])) }],
        buildings: vec![Building { name: "Low House".into(), dwelling: true, extra: extra(), ..Building::new("h1", square(400_050.0, 518_050.0, 12.0)) }],
        areas: AreaKind::iter_words().map(|kind| Area { name: "Area".into(), kind, extra: extra(), ..Area::new(kind.word(), square(400_600.0, 518_600.0, 44.0)) }).collect(),
        sticks: (0..40).map(|n| Stick { id: format!("st{n}"), at: Point::new(400_000.0 + n as f64 * 7.7, 518_400.0), height_cm: n as f32 * 1.1, date: Some(day(2026, 5, 1 + n % 28)), note: "in rush".into() }).collect(),
        probes: vec![Probe { id: "p1".into(), at: Point::new(400_222.0, 518_444.0), depth_cm: 145.0, date: Some(day(2026, 2, 1)) }, Probe { id: "p2".into(), at: Point::new(400_223.0, 518_444.0), depth_cm: 0.0, date: None }],
        stock: StockClass::iter_words().map(|class| Stock { id: format!("k-{}", class.word()), parcel: "hill".into(), class, head: std::array::from_fn(|m| m as f32 * 10.5) }).collect(),
        crews: vec![holding::HiredCrew {
            id: "crew-1".into(),
            name: "Ann & sons".into(),
            kinds: "planting fencing".into(),
            people: 3,
            season_from: "09-01".into(),
            season_to: "04-30".into(),
            off: "2027-12-20..2028-01-04".into(),
            phone: "01632 960001".into(),
        }],
        rates: vec![holding::OwnPrice { id: "rate-1".into(), item: "stock fence".into(), gbp: 9.8, unit: "gbp_per_m".into(), note: "quoted in May".into() }],
        options: vec![PlanOption { number: 1, name: "as now".into(), note: String::new() }, PlanOption { number: 2, name: "rush and ditches".into(), note: "first thought".into() }],
        measures: vec![
            measure("m-none"),
            Measure { shape: holed(400_300.0, 518_300.0, 60.0), ..measure("m-area") },
            Measure { line: line(&[(400_300.0, 518_300.0), (400_400.0, 518_300.0)]), year: None, ..measure("m-line") },
            Measure { shape: square(400_300.0, 518_300.0, 60.0), line: line(&[(400_300.0, 518_300.0), (400_400.0, 518_350.0)]), ..measure("m-both") },
        ],
        heights: Some(heights()),
    };
    holding.patches.push(Patch::new("bare", square(400_000.0, 518_000.0, 10.0)));
    holding
}

trait IterWords: Word {
    fn iter_words() -> impl Iterator<Item = Self> {
        Self::WORDS.iter().map(|(kind, _, _)| *kind)
    }
}
impl<W: Word> IterWords for W {}

/// Equal, where a missing height equals a missing height.
#[track_caller]
pub fn assert_same(a: &Holding, b: &Holding) {
    let bare = |h: &Holding| Holding { heights: None, ..h.clone() };
    assert_eq!(bare(a), bare(b));
    match (&a.heights, &b.heights) {
        (Some(a), Some(b)) => {
            assert_eq!(a.frame, b.frame);
            for (at, (x, y)) in a.cells.iter().zip(&b.cells).enumerate() {
                assert!(x == y || x.is_nan() && y.is_nan(), "cell {at}: {x} against {y}");
            }
        }
        (a, b) => assert_eq!(a.is_some(), b.is_some()),
    }
}
