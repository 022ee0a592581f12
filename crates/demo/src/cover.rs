//! What grows where: a class for every cell, following slope, height, spurs and hollows.

use crate::noise::fractal;
use crate::places::{COMMON, CONIFERS, FELL, FIRST_FIELD, LekCells, WEST_ALLOTMENT};
use crate::relief::Relief;

/// Kinds of ground in the demo.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cover {
    /// Off the map.
    Off,
    /// Blanket bog.
    Bog,
    /// Dry heath.
    DryHeath,
    /// Wet heath.
    WetHeath,
    /// Heath and acid grass, side by side.
    HeathGrass,
    /// Acid grassland.
    AcidGrass,
    /// Acid grassland of mat-grass and heath rush.
    MatGrass,
    /// Bent and fescue on better-drained banks.
    BentFescue,
    /// Wet flush.
    Flush,
    /// A flush with drains cut through it.
    DrainedFlush,
    /// Rush pasture.
    Rush,
    /// Rush pasture left ungrazed until it is tall throughout.
    RankRush,
    /// Bracken.
    Bracken,
    /// Improved in-bye grass.
    Field,
    /// Hay meadow.
    Meadow,
    /// Arable field.
    Arable,
    /// Conifer plantation.
    Conifer,
    /// Young planted native wood.
    YoungWood,
    /// Old birch wood in the gill.
    GillWood,
    /// Thorn and willow scrub.
    Thorns,
    /// Display ground kept short by sheep.
    ShortGreen,
    /// Display ground gone rank.
    RankGreen,
}

impl Cover {
    /// Woods keep their own shape and are neither merged nor split.
    pub fn keeps(self) -> bool {
        use Cover::*;
        matches!(self, Conifer | YoungWood | GillWood | Thorns | ShortGreen | RankGreen | DrainedFlush | RankRush | Arable | Meadow | Field)
    }
}

/// Distance within which the low lek's ground is eaten down, metres.
pub const EATEN_M: f64 = 1_660.0;

/// Centre of the young native wood, local metres.
pub const YOUNG_WOOD: (f64, f64) = (1_840.0, 1_540.0);

/// Fixed places found once on the terrain.
pub struct Sites {
    /// Leks.
    pub leks: LekCells,
    /// Middle of the drained flush.
    pub drained_flush: usize,
    /// Middle of the rank rushes.
    pub rank_rush: usize,
    /// Cells of the gill that holds the old birches.
    pub gill: Vec<usize>,
}

/// Find the places that depend on the terrain.
pub fn sites(relief: &Relief, parcels: &[u8], leks: LekCells) -> Sites {
    let wet = |cell: usize| wetness(relief, cell);
    let drained_flush = relief.best_near(2_250.0, 2_250.0, 420.0, &|cell| {
        let out = if parcels[cell] == FELL { 0.0 } else { 1e6 };
        out - wet(cell) + (relief.slope_deg[cell] - 4.0).abs() * 0.6
    });
    let rank_rush = relief.best_near(900.0, 1_080.0, 300.0, &|cell| {
        let out = if parcels[cell] == WEST_ALLOTMENT { 0.0 } else { 1e6 };
        out + relief.slope_deg[cell]
    });
    let gill = (0..parcels.len())
        .filter(|&cell| {
            let (x, y) = relief.place(cell);
            (1_100.0..2_150.0).contains(&x) && (760.0..1_420.0).contains(&y) && relief.drainage.drained[cell] > 9_000.0
        })
        .collect();
    Sites { leks, drained_flush, rank_rush, gill }
}

/// How wet a cell is likely to be: much ground draining to it, little fall.
fn wetness(relief: &Relief, cell: usize) -> f64 {
    let drained_m2 = relief.drainage.drained[cell] * 100.0;
    (drained_m2 / 10.0 / (relief.slope_deg[cell].to_radians().tan() + 0.02)).ln() - 0.12 * relief.spur_m[cell]
}

/// Class of every cell of the holding and of the ground round it.
pub fn classify(relief: &Relief, parcels: &[u8], sites: &Sites, seed: u64) -> Vec<Cover> {
    let mut wet: Vec<f64> = (0..parcels.len()).map(|cell| wetness(relief, cell)).collect();
    spread(&mut wet, relief.frame.cols);
    let mut covers: Vec<Cover> = (0..parcels.len())
        .map(|cell| if parcels[cell] == 0 { outside(relief, cell, sites, seed) } else { inside(relief, parcels[cell], cell, wet[cell], sites, seed) })
        .collect();
    for _ in 0..3 {
        covers = settle(&covers, parcels, relief.frame.cols);
    }
    stamp(relief, parcels, sites, seed, &mut covers);
    covers
}

/// Average wetness over a few cells so that flushes have width.
fn spread(values: &mut [f64], cols: usize) {
    for _ in 0..4 {
        let before = values.to_vec();
        for i in cols..values.len() - cols {
            values[i] = 0.5 * before[i] + 0.125 * (before[i - 1] + before[i + 1] + before[i - cols] + before[i + cols]);
        }
    }
}

fn apart(relief: &Relief, a: usize, b: usize) -> f64 {
    let ((ax, ay), (bx, by)) = (relief.place(a), relief.place(b));
    (ax - bx).hypot(ay - by)
}

/// True inside a blob of a radius with a ragged rim.
fn blob(x: f64, y: f64, (cx, cy): (f64, f64), radius_m: f64, seed: u64) -> bool {
    let away = (x - cx).hypot(y - cy);
    // Noise stays within 1 either way: far off there is nothing to ask of it.
    away < radius_m * 1.5 && away < radius_m * (1.0 + 0.45 * fractal(x, y, radius_m * 1.3, 3, seed))
}

fn inside(relief: &Relief, parcel: u8, cell: usize, wet: f64, sites: &Sites, seed: u64) -> Cover {
    use Cover::*;
    if parcel == CONIFERS {
        return Conifer;
    }
    if parcel >= FIRST_FIELD {
        return match parcel - FIRST_FIELD {
            1 | 8 => Meadow,
            5 => Arable,
            _ => Field,
        };
    }
    let (x, y) = relief.place(cell);
    let ragged = fractal(x, y, 420.0, 4, seed ^ 0xC0);
    let broad = fractal(x, y, 1_100.0, 3, seed ^ 0xC1);
    let height = relief.height_m[cell] + 38.0 * ragged + 16.0 * broad;
    let slope = relief.slope_deg[cell] + 1.1 * ragged;
    let spur = relief.spur_m[cell];
    if apart(relief, cell, sites.leks.low) < EATEN_M {
        // Where the flock lies: grass, a remnant of heath, rushes topped low.
        let remnant = blob(x, y, (3_560.0, 1_790.0), 300.0, seed ^ 0xC2) || blob(x, y, (2_350.0, 1_480.0), 150.0, seed ^ 0xC3);
        let patchy = fractal(x, y, 520.0, 4, seed ^ 0xC4);
        return if remnant {
            HeathGrass
        } else if wet + 2.2 * patchy > 8.3 && slope < 8.0 {
            Rush
        } else if patchy > 0.22 {
            MatGrass
        } else if slope > 5.0 && patchy < -0.24 {
            BentFescue
        } else {
            AcidGrass
        };
    }
    if wet > 8.45 && (2.0..9.5).contains(&slope) && height > 330.0 {
        return Flush;
    }
    if parcel != FELL && parcel != COMMON {
        return if slope > 8.6 { Bracken } else if wet > 7.9 - broad { Rush } else if spur > 1.6 && broad > 0.0 { HeathGrass } else if ragged > 0.18 { MatGrass } else { AcidGrass };
    }
    if height > 418.0 && slope < 5.6 {
        return Bog;
    }
    if slope > 9.5 && height < 385.0 && broad > -0.2 {
        return Bracken;
    }
    if spur > 1.1 && height > 335.0 || height > 405.0 {
        return DryHeath;
    }
    if slope < 4.6 && height > 350.0 {
        return WetHeath;
    }
    if broad > 0.12 {
        return HeathGrass;
    }
    if ragged > 0.16 { MatGrass } else { AcidGrass }
}

fn outside(relief: &Relief, cell: usize, sites: &Sites, seed: u64) -> Cover {
    use Cover::*;
    let (x, y) = relief.place(cell);
    // Ground that was not walked is known in broad blocks only.
    let broad = fractal(x, y, 1_600.0, 3, seed ^ 0xD0);
    let height = relief.height_m[cell] + 40.0 * fractal(x, y, 900.0, 2, seed ^ 0xD1);
    if apart(relief, cell, sites.leks.low) < EATEN_M {
        return if height < 320.0 + 60.0 * broad { Field } else { AcidGrass };
    }
    if blob(x, y, (700.0, -1_500.0), 620.0, seed ^ 0xD2) || blob(x, y, (-1_500.0, 700.0), 520.0, seed ^ 0xD3) {
        return Conifer;
    }
    match height {
        h if h < 285.0 => Field,
        h if h < 345.0 => if broad > 0.15 { Rush } else { AcidGrass },
        h if h < 430.0 => if broad > 0.0 { HeathGrass } else { AcidGrass },
        h if h < 470.0 => DryHeath,
        _ => Bog,
    }
}

/// Give each cell the class that most of its neighbours in the same parcel have.
fn settle(covers: &[Cover], parcels: &[u8], cols: usize) -> Vec<Cover> {
    let rows = covers.len() / cols;
    (0..covers.len())
        .map(|cell| {
            let reach = if parcels[cell] == 0 { 5 } else { 3 };
            let (c, r) = (cell % cols, cell / cols);
            let mut votes = [0_u16; 22];
            for nr in r.saturating_sub(reach)..(r + reach + 1).min(rows) {
                for nc in c.saturating_sub(reach)..(c + reach + 1).min(cols) {
                    let near = nr * cols + nc;
                    if parcels[near] == parcels[cell] {
                        votes[covers[near] as usize] += 1;
                    }
                }
            }
            let own = votes[covers[cell] as usize];
            let best = votes.iter().enumerate().max_by_key(|&(k, &n)| (n, usize::MAX - k)).map_or(0, |(k, _)| k);
            if votes[best] > own + 2 { from_number(best) } else { covers[cell] }
        })
        .collect()
}

fn from_number(k: usize) -> Cover {
    use Cover::*;
    [
        Off, Bog, DryHeath, WetHeath, HeathGrass, AcidGrass, MatGrass, BentFescue, Flush, DrainedFlush, Rush, RankRush, Bracken, Field, Meadow, Arable, Conifer,
        YoungWood, GillWood, Thorns, ShortGreen, RankGreen,
    ][k]
}

/// Lay the places that are what they are whatever the terrain says.
fn stamp(relief: &Relief, parcels: &[u8], sites: &Sites, seed: u64, covers: &mut [Cover]) {
    use Cover::*;
    let of = |cell: usize| relief.place(cell);
    let stamps = [
        (of(sites.leks.wall), 95.0, RankGreen, 0xE0),
        (of(sites.leks.moor), 90.0, ShortGreen, 0xE1),
        (of(sites.drained_flush), 120.0, DrainedFlush, 0xE2),
        (of(sites.rank_rush), 190.0, RankRush, 0xE3),
        (YOUNG_WOOD, 196.0, YoungWood, 0xE4),
        ((3_060.0, 700.0), 66.0, Thorns, 0xE5),
    ];
    let gill: Vec<(f64, f64)> = sites.gill.iter().map(|&cell| relief.place(cell)).collect();
    for cell in 0..covers.len() {
        let parcel = parcels[cell];
        if parcel == 0 || parcel == CONIFERS || parcel >= FIRST_FIELD {
            continue;
        }
        let (x, y) = relief.place(cell);
        let birches = 46.0 * (1.0 + 0.6 * fractal(x, y, 160.0, 3, seed ^ 0xE6));
        if (1_000.0..2_250.0).contains(&x) && (700.0..1_500.0).contains(&y) && gill.iter().any(|g| (g.0 - x).hypot(g.1 - y) < birches) {
            covers[cell] = GillWood;
        }
        for &(at, radius_m, cover, salt) in &stamps {
            if blob(x, y, at, radius_m, seed ^ salt) {
                covers[cell] = cover;
            }
        }
    }
}
