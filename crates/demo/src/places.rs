//! Where the leks lie and how the holding is divided: march, parcels, woods.

use crate::noise::{chance, fractal};
use crate::relief::Relief;
use holding::{ParcelKind, Stubble};

/// A parcel of the demo.
pub struct ParcelPlan {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: &'static str,
    /// Kind.
    pub kind: ParcelKind,
    /// Stubble.
    pub stubble: Option<Stubble>,
}

/// Parcel numbers of the open ground; in-bye fields follow from [`FIRST_FIELD`].
pub const FELL: u8 = 1;
/// The common.
pub const COMMON: u8 = 2;
/// The three allotments.
pub const WEST_ALLOTMENT: u8 = 3;
const MIDDLE_ALLOTMENT: u8 = 4;
const EAST_ALLOTMENT: u8 = 5;
/// The conifer block.
pub const CONIFERS: u8 = 6;
/// The first in-bye field.
pub const FIRST_FIELD: u8 = 7;
const FIELDS_ALONG: usize = 7;

const FIELD_NAMES: [&str; 14] = [
    "Burn Holme", "Low Meadow", "Calf Garth", "Stackyard Field", "Long Haugh", "Barley Flatt", "Sike Foot",
    "Whin Close", "High Meadow", "Tup Field", "Kiln Close", "Lang Rigg", "Cow Pasture", "Thorn Bank",
];

/// All parcels, in number order (number 1 first).
pub fn parcels() -> Vec<ParcelPlan> {
    let open = [
        ("Whaupsley Fell", ParcelKind::Hill),
        ("Quarlow Common", ParcelKind::Common),
        ("West Allotment", ParcelKind::Rough),
        ("Middle Allotment", ParcelKind::Rough),
        ("Sike Allotment", ParcelKind::Rough),
        ("Mirkhope Plantation", ParcelKind::Wood),
    ];
    let fields = FIELD_NAMES.iter().enumerate().map(|(i, &name)| match i {
        1 | 8 => (name, ParcelKind::InByeMeadow),
        5 => (name, ParcelKind::InByeArable),
        _ => (name, ParcelKind::InByePasture),
    });
    open.into_iter()
        .chain(fields)
        .enumerate()
        .map(|(i, (name, kind))| ParcelPlan {
            id: format!("P{:02}", i + 1),
            name,
            kind,
            stubble: (kind == ParcelKind::InByeArable).then_some(Stubble::Ploughed),
        })
        .collect()
}

/// Where the three leks lie, as cells.
#[derive(Clone, Copy)]
pub struct LekCells {
    /// Under the conifer wall; falling.
    pub wall: usize,
    /// On the high moor; steady.
    pub moor: usize,
    /// On the low common; small.
    pub low: usize,
}

/// Eastern edge of the conifer block, local metres.
const WALL_EAST_M: f64 = 1_150.0;
const WALL_WEST_M: f64 = 190.0;
const WALL_SOUTH_M: f64 = 1_590.0;
const WALL_NORTH_M: f64 = 2_590.0;

/// Choose level ground for each lek.
pub fn lek_cells(relief: &Relief) -> LekCells {
    let level = |cell: usize| relief.slope_deg[cell] - 0.15 * relief.spur_m[cell].clamp(-6.0, 6.0);
    let wall = relief.best_near(WALL_EAST_M + 85.0, 2_060.0, 220.0, &|cell| {
        let (x, y) = relief.place(cell);
        level(cell) + if (x - WALL_EAST_M - lean(y) - 70.0).abs() < 9.0 { 0.0 } else { 1e6 }
    });
    let moor = relief.best_near(3_420.0, 3_360.0, 140.0, &level);
    let low = relief.best_near(3_560.0, 1_060.0, 230.0, &level);
    LekCells { wall, moor, low }
}

/// The plantation was set out square to an old fence that leans a little.
fn lean(y: f64) -> f64 {
    0.05 * (y - WALL_SOUTH_M)
}

fn in_conifers(x: f64, y: f64) -> bool {
    let tilt = 0.06 * (x - WALL_WEST_M);
    let notch = x > 820.0 && y < WALL_SOUTH_M + 190.0;
    x > WALL_WEST_M + lean(y) && x < WALL_EAST_M + lean(y) && y > WALL_SOUTH_M + tilt && y < WALL_NORTH_M + tilt && !notch
}

/// The hand-drawn march, local metres; its south side is the burn.
const MARCH: [(f64, f64); 19] = [
    (260.0, -900.0), (4_020.0, -900.0), (4_020.0, 330.0), (4_130.0, 700.0), (4_060.0, 1_180.0), (4_260.0, 1_700.0), (4_330.0, 2_250.0),
    (4_130.0, 2_800.0), (4_200.0, 3_250.0), (3_900.0, 3_640.0), (3_420.0, 3_760.0), (2_900.0, 3_990.0), (2_250.0, 3_900.0),
    (1_700.0, 4_010.0), (1_050.0, 3_760.0), (640.0, 3_330.0), (160.0, 2_700.0), (40.0, 1_900.0), (130.0, 900.0),
];

fn in_march(x: f64, y: f64) -> bool {
    let n = MARCH.len();
    (0..n)
        .filter(|&i| {
            let ((ax, ay), (bx, by)) = (MARCH[i], MARCH[(i + 1) % n]);
            (ay > y) != (by > y) && x < (bx - ax) * (y - ay) / (by - ay) + ax
        })
        .count()
        % 2
        == 1
}

/// The parcel number of every cell; 0 off the holding.
pub fn divide(relief: &Relief, seed: u64) -> Vec<u8> {
    (0..relief.height_m.len()).map(|cell| parcel_at(relief, cell, seed)).collect()
}

fn parcel_at(relief: &Relief, cell: usize, seed: u64) -> u8 {
    let (x, y) = relief.place(cell);
    let up = relief.up_m(cell);
    let wobble = 70.0 * fractal(x, y, 900.0, 3, seed ^ 0xB0);
    if up < 5.0 || !in_march(x + wobble, y + 70.0 * fractal(x, y, 900.0, 3, seed ^ 0xB1)) {
        return 0;
    }
    if in_conifers(x, y) {
        return CONIFERS;
    }
    // Walls follow the slope and bend a little.
    let bend = 28.0 * fractal(x, y, 700.0, 2, seed ^ 0xB2);
    let rise = y - relief.bottom_m[cell % relief.frame.cols];
    let (wx, wu) = (x + bend, rise + bend + 40.0 * fractal(x, 0.0, 1_100.0, 2, seed ^ 0xB3));
    if (760.0..3_330.0).contains(&wx) && wu < 590.0 {
        let row = usize::from(wu > 285.0);
        let along = (3_330.0 - 760.0) / FIELDS_ALONG as f64;
        let column = (1..FIELDS_ALONG)
            .filter(|&k| wx > 760.0 + along * k as f64 + 80.0 * (chance(k as i64, row as i64, seed ^ 0xB4) - 0.5) + 0.09 * wu)
            .count();
        return FIRST_FIELD + (row * FIELDS_ALONG + column) as u8;
    }
    let common_from = 2_640.0 + 0.06 * y + 60.0 * fractal(0.0, y, 1_300.0, 2, seed ^ 0xB5);
    if wu < 1_210.0 && wx < 1_500.0 {
        return WEST_ALLOTMENT;
    }
    if wu < 1_150.0 && x < common_from {
        return MIDDLE_ALLOTMENT;
    }
    if wu < 930.0 && wx < 3_330.0 {
        return EAST_ALLOTMENT;
    }
    if x > common_from { COMMON } else { FELL }
}
