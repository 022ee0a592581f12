//! What people have put on the land: fences, ways, services, buildings; and what is protected.

use crate::cover::Cover;
use crate::places::{COMMON, CONIFERS, FELL, FIRST_FIELD};
use crate::site::{Site, block, line, lines, round};
use crate::tiling::Tiling;
use geo_types::MultiLineString;
use holding::{Area, AreaKind, Building, Fence, FenceKind, Marking, Service, Track, TrackKind};

/// The farmhouse, local metres.
const HOUSE: (f64, f64) = (1_980.0, 330.0);

/// Fences and walls along the borders of parcels and woods.
pub fn fences(site: &Site, tiling: &mut Tiling) -> Vec<Fence> {
    let parcel = |label: u32| if label == 0 { 0 } else { site.pieces[label as usize - 1].parcel };
    let field = |p: u8| p >= FIRST_FIELD;
    let open = |p: u8| p > 0 && !field(p);
    let of = |wanted: &dyn Fn(u8) -> bool| site.labels_of(|p| wanted(p.parcel));
    let mut out = Vec::new();
    let mut add = |name: &str, shape: MultiLineString<f64>, kind: FenceKind, height_m: f32, marking: Marking| {
        if !shape.0.is_empty() {
            let mut fence = Fence::new(format!("F{:02}", out.len() + 1), shape);
            fence.name = name.to_string();
            fence.kind = kind;
            fence.height_m = Some(height_m);
            fence.marking = marking;
            out.push(fence);
        }
    };
    add("head wall", tiling.edge(&of(&field), &|l| open(parcel(l))), FenceKind::Wall, 1.5, Marking::None);
    for k in 0..14_u8 {
        let own = FIRST_FIELD + k;
        let next = tiling.edge(&of(&|p| p == own), &|l| parcel(l) > own);
        let kind = if k % 5 == 3 { FenceKind::Stock } else { FenceKind::Wall };
        add("field boundary", next, kind, if kind == FenceKind::Wall { 1.3 } else { 1.1 }, Marking::None);
    }
    add("deer fence of the plantation", tiling.edge(&of(&|p| p == CONIFERS), &|l| parcel(l) > 0), FenceKind::Deer, 1.9, Marking::None);
    add("allotment fence", tiling.edge(&of(&|p| (3..6).contains(&p)), &|l| matches!(parcel(l), FELL | COMMON)), FenceKind::Stock, 1.1, Marking::None);
    add("allotment cross fence", tiling.edge(&of(&|p| p == 4), &|l| matches!(parcel(l), 3 | 5)), FenceKind::Stock, 1.1, Marking::None);
    add("fell to common", tiling.edge(&of(&|p| p == FELL), &|l| parcel(l) == COMMON), FenceKind::Wire, 1.0, Marking::Unknown);
    add("march fence", tiling.edge(&of(&|p| p == FELL || p == CONIFERS || p == 3), &|l| parcel(l) == 0), FenceKind::Stock, 1.1, Marking::None);
    let young = site.labels_with(Cover::YoungWood);
    add("new wood fence", tiling.edge(&young, &|l| !young.contains(&l)), FenceKind::Stock, 1.2, Marking::Pales);
    out
}

/// A line through local places with gentle bends.
fn bend(places: &[(f64, f64)]) -> MultiLineString<f64> {
    let mut out = places.to_vec();
    for _ in 0..3 {
        let mut next = vec![out[0]];
        for pair in out.windows(2) {
            let ((ax, ay), (bx, by)) = (pair[0], pair[1]);
            next.push((0.75 * ax + 0.25 * bx, 0.75 * ay + 0.25 * by));
            next.push((0.25 * ax + 0.75 * bx, 0.25 * ay + 0.75 * by));
        }
        next.push(out[out.len() - 1]);
        out = next;
    }
    lines(&[out])
}

/// The road, the tracks and the path.
pub fn tracks(site: &Site) -> Vec<Track> {
    let (bx, by) = site.relief.place(site.sites.leks.moor);
    let make = |id: &str, name: &str, kind, shape| {
        let mut track = Track::new(id, shape);
        track.name = name.to_string();
        track.kind = kind;
        track
    };
    let road: Vec<(f64, f64)> = (-6..50).map(|k| f64::from(k) * 100.0).filter_map(|x| site.relief.cell(x, 0.0).map(|c| (x, site.relief.burn_m[c % site.relief.frame.cols] - 90.0))).collect();
    vec![
        make("T01", "dale road", TrackKind::Road, bend(&road)),
        make("T02", "farm road", TrackKind::Track, bend(&[(2_050.0, -60.0), (2_030.0, 90.0), (2_000.0, 230.0), (1_990.0, 315.0)])),
        make("T03", "peat road", TrackKind::Track, bend(&[(1_960.0, 350.0), (1_900.0, 620.0), (2_010.0, 900.0), (2_240.0, 1_250.0), (2_300.0, 1_700.0), (2_180.0, 2_050.0), (2_320.0, 2_500.0), (2_560.0, 2_820.0)])),
        make("T04", "plantation ride", TrackKind::Track, bend(&[(2_240.0, 1_300.0), (1_800.0, 1_420.0), (1_450.0, 1_500.0), (1_240.0, 1_560.0)])),
        make("T05", "path over the tops", TrackKind::Path, bend(&[(2_560.0, 2_820.0), (bx - 160.0, by - 130.0), (bx - 12.0, by - 8.0), (bx + 150.0, by + 170.0), (bx + 260.0, by + 480.0), (bx + 330.0, by + 900.0)])),
    ]
}

/// The overhead line and the water main.
pub fn services() -> Vec<Service> {
    let mut overhead = Service::new("S01", MultiLineString(vec![line(&[(-300.0, 420.0), (650.0, 330.0), (1_400.0, 250.0), (2_060.0, 260.0), (2_900.0, 210.0), (3_700.0, 260.0), (4_700.0, 120.0)])]));
    overhead.kind = "overhead line".to_string();
    let mut main = Service::new("S02", MultiLineString(vec![line(&[(1_760.0, 930.0), (1_880.0, 600.0), (1_975.0, 340.0)])]));
    main.kind = "water main".to_string();
    vec![overhead, main]
}

/// The farmhouse and steading, and a field barn.
pub fn buildings() -> Vec<Building> {
    let (x, y) = HOUSE;
    [
        ("Harkenshaw farmhouse", (x, y), 16.0, 9.0, 12.0, true),
        ("byre", (x + 30.0, y + 4.0), 26.0, 8.0, 100.0, false),
        ("hay barn", (x + 8.0, y + 32.0), 22.0, 11.0, 10.0, false),
        ("sheep shed", (x + 52.0, y + 26.0), 34.0, 15.0, 12.0, false),
        ("field barn", (2_660.0, 430.0), 12.0, 7.0, 80.0, false),
    ]
    .into_iter()
    .enumerate()
    .map(|(i, (name, place, long, wide, turned, dwelling))| {
        let mut building = Building::new(format!("B{:02}", i + 1), block(place, long, wide, turned));
        building.name = name.to_string();
        building.dwelling = dwelling;
        building
    })
    .collect()
}

/// Protected and no-go ground.
pub fn areas(site: &Site, tiling: &mut Tiling) -> Vec<Area> {
    let mut moss = site.labels_of(|p| p.parcel == FELL && p.cover == Cover::Bog);
    moss.sort_by_key(|&label| std::cmp::Reverse(site.pieces[label as usize - 1].cells.len()));
    moss.truncate(3);
    let meadow = site.labels_of(|p| p.parcel == FIRST_FIELD + 8);
    let make = |id: &str, name: &str, kind, shape| {
        let mut area = Area::new(id, shape);
        area.name = name.to_string();
        area.kind = kind;
        area
    };
    vec![
        make("A01", "Whaupsley Moss", AreaKind::Sssi, tiling.outline(&moss)),
        make("A02", "old lead hush and bield", AreaKind::Historic, round((2_430.0, 1_640.0), 58.0)),
        make("A03", "High Meadow flowers", AreaKind::SpeciesRich, tiling.outline(&meadow)),
        make("A04", "house spring", AreaKind::WaterSupply, round((1_760.0, 930.0), 50.0)),
        make("A05", "training ground for the dogs", AreaKind::NoGo, block((2_930.0, 440.0), 150.0, 90.0, 20.0)),
    ]
}
