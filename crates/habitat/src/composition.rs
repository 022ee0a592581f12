//! The published composition table: shares of ground round a lek beside the values found at occupied, growing,
//! retained and lost leks.
//!
//! Independent of the ledger. Sources: White et al. 2013 (moor, young wood), Warren et al. 2020 (rough grass, conifer),
//! Scridel et al. 2017 (native wood and its age), White et al. 2015 (moor patch), SNH report 741 (distance to heather).
//! Shares are of the mapped ground inside the disc, by cells.

use crate::class::Class;
use crate::layout::{Layout, NO_STAND};
use crate::outcome::{CompositionRow, Standing};
use crate::state::State;
use ground::Grid;
use ground::landscape::{Neighbours, Patches};
use guidance::{Country, Guidance, Unknown};
use holding::Plant;

/// Published values of one line.
struct Published {
    occupied: Option<(f64, f64)>,
    lost: Option<(f64, f64)>,
    keys: Vec<String>,
}

/// What is counted round one lek.
#[derive(Default, Clone)]
struct Disc {
    cells: usize,
    by_class: [usize; 9],
    native_age_cells: f64,
    heather_m: f64,
    moor_patch_ha: f64,
    native_edge_m: f64,
}

/// The table of one lek.
pub fn table(layout: &Layout, state: &State, at: (f64, f64), patches: &MoorPatches, guidance: &Guidance, country: Country) -> Result<Vec<CompositionRow>, Unknown> {
    let near_m = guidance.number("composition.near_m", country)?;
    let wide_m = guidance.number("composition.wide_m", country)?;
    let heather = guidance.number("lek.heather_cover", country)? as f32 / 100.0;
    let near = disc(layout, state, at, near_m, patches, heather);
    let wide = disc(layout, state, at, wide_m, patches, heather);
    let share = |d: &Disc, classes: &[Class]| {
        (d.cells > 0).then(|| 100.0 * classes.iter().map(|c| d.by_class[*c as usize]).sum::<usize>() as f64 / d.cells as f64)
    };
    let published = |occupied: Option<&str>, lost: Option<&str>| -> Result<Published, Unknown> {
        let read = |key: &str| -> Result<(f64, f64), Unknown> {
            let row = guidance.row(key, country)?;
            let value = guidance.number(key, country)?;
            Ok((row.low.unwrap_or(value), row.high.unwrap_or(value)))
        };
        Ok(Published {
            occupied: occupied.map(read).transpose()?,
            lost: lost.map(read).transpose()?,
            keys: occupied.into_iter().chain(lost).map(str::to_string).collect(),
        })
    };
    let native = wide.by_class[Class::NativeWood as usize];
    let rows = [
        ("moor within", "moor", near_m, "percent", share(&near, &[Class::Moor]), published(Some("composition.moor_1km.occupied"), None)?),
        ("acid and rough grass within", "rough_grass", near_m, "percent", share(&near, &[Class::RoughGrass]), published(Some("composition.rough_grass_1km.retained"), Some("composition.rough_grass_1km.lost"))?),
        ("young wood (before the thicket) within", "young_wood", near_m, "percent", Some(young(layout, state, at, near_m, guidance.number("composition.young_forest_age_max", country)?)), published(Some("composition.young_forest_1km.occupied"), None)?),
        ("closed conifer within", "closed_conifer", near_m, "percent", share(&near, &[Class::ClosedConifer]), published(Some("composition.conifer_1km.retained"), Some("composition.conifer_1km.lost"))?),
        ("native wood within", "native_wood", wide_m, "percent", share(&wide, &[Class::NativeWood]), published(Some("composition.native_wood_1500m.growing"), None)?),
        ("mean age of native wood within", "native_wood_age", wide_m, "years", (native > 0).then(|| wide.native_age_cells / native as f64), published(Some("composition.native_wood_age.growing"), Some("composition.native_wood_age.declining"))?),
        ("edge of native wood within", "native_wood_edge", wide_m, "km", Some(wide.native_edge_m / 1000.0), published(None, None)?),
        ("largest moor patch reaching within", "moor_patch", near_m, "ha", Some(near.moor_patch_ha), published(Some("composition.moor_patch.least"), None)?),
        ("distance to heather", "heather_distance", 0.0, "m", near.heather_m.is_finite().then_some(near.heather_m), published(Some("composition.heather_distance.occupied"), None)?),
    ];
    Ok(rows
        .into_iter()
        .map(|(what, key, radius_m, unit, value, p)| {
            let words = |r: (f64, f64)| if r.0 == r.1 { number(r.0) } else { format!("{}-{}", number(r.0), number(r.1)) };
            CompositionRow {
                what: if radius_m > 0.0 { format!("{what} {} km", number(radius_m / 1000.0)) } else { what.to_string() },
                key,
                radius_m,
                value,
                unit,
                occupied: p.occupied.map(words),
                lost: p.lost.map(words),
                standing: value.map_or(Standing::Unknown, |v| standing(key, v, p.occupied, p.lost)),
                source: p.keys,
            }
        })
        .collect())
}

fn number(v: f64) -> String {
    if (v - v.round()).abs() < 1e-9 { format!("{v:.0}") } else { format!("{v:.1}") }
}

/// Where a value stands: with two published groups, on which side of the third-points between them; with one range,
/// inside it or (for minimum figures) above it.
fn standing(key: &str, value: f64, occupied: Option<(f64, f64)>, lost: Option<(f64, f64)>) -> Standing {
    match (occupied, lost) {
        (Some(o), Some(l)) => {
            let (om, lm) = ((o.0 + o.1) / 2.0, (l.0 + l.1) / 2.0);
            let t = (value - om) / (lm - om);
            if t <= 1.0 / 3.0 {
                Standing::LikeOccupied
            } else if t >= 2.0 / 3.0 {
                Standing::LikeLost
            } else {
                Standing::Between
            }
        }
        // A least patch and a usual distance are limits on one side only.
        (Some(o), None) => match key {
            "moor_patch" if value >= o.0 => Standing::LikeOccupied,
            "heather_distance" if value <= o.1 => Standing::LikeOccupied,
            _ if value < o.0 => Standing::Below,
            _ if value > o.1 => Standing::Above,
            _ => Standing::LikeOccupied,
        },
        _ => Standing::Unknown,
    }
}

/// Moor patches of the layout, joined by the four neighbours.
pub struct MoorPatches(Patches);

impl MoorPatches {
    /// Find them.
    pub fn of(layout: &Layout, state: &State) -> Self {
        let cover = layout.stand_of.cells.iter().map(|s| match s {
            &NO_STAND => NO_STAND,
            s => (state.stands[*s as usize].class == Class::Moor) as u32,
        });
        Self(Patches::of(&Grid { frame: layout.frame, cells: cover.collect() }, Neighbours::Four))
    }

    /// Size of the moor patch a cell belongs to, hectares.
    fn ha(&self, cell: usize) -> Option<f64> {
        let patch = self.0.table.get(self.0.number.cells[cell] as usize)?;
        (patch.class == 1).then_some(patch.area_m2 / 1e4)
    }
}

/// Visit the cells whose centres lie within a disc: index and distance.
fn each_in_disc(layout: &Layout, at: (f64, f64), radius_m: f64, mut visit: impl FnMut(usize, f64)) {
    let f = &layout.frame;
    let clampc = |v: f64, n: usize| v.floor().clamp(0.0, n as f64) as usize;
    let (c0, c1) = (clampc((at.0 - radius_m - f.west_m) / f.dx_m, f.cols), clampc((at.0 + radius_m - f.west_m) / f.dx_m + 1.0, f.cols));
    let (r0, r1) = (clampc((f.north_m - at.1 - radius_m) / f.dy_m, f.rows), clampc((f.north_m - at.1 + radius_m) / f.dy_m + 1.0, f.rows));
    for r in r0..r1 {
        for c in c0..c1 {
            let (x, y) = f.centre(c, r);
            let d = (x - at.0).hypot(y - at.1);
            if d <= radius_m {
                visit(f.at(c, r), d);
            }
        }
    }
}

fn disc(layout: &Layout, state: &State, at: (f64, f64), radius_m: f64, patches: &MoorPatches, heather: f32) -> Disc {
    let mut out = Disc { heather_m: f64::INFINITY, ..Disc::default() };
    let cols = layout.frame.cols;
    let native = |i: usize| {
        let s = layout.stand_of.cells[i];
        s != NO_STAND && state.stands[s as usize].class == Class::NativeWood
    };
    each_in_disc(layout, at, radius_m, |i, d| {
        let s = layout.stand_of.cells[i];
        if s == NO_STAND {
            return;
        }
        let stand = &state.stands[s as usize];
        out.cells += 1;
        out.by_class[stand.class as usize] += 1;
        if stand.class == Class::NativeWood {
            out.native_age_cells += stand.wood_age_yr as f64;
            // Edge: sides shared with anything else, inside the layout.
            let (c, r) = (i % cols, i / cols);
            let mut side = |inside: bool, j: usize, m: f64| if inside && !native(j) { out.native_edge_m += m };
            side(c > 0, i.wrapping_sub(1), layout.frame.dy_m);
            side(c + 1 < cols, i + 1, layout.frame.dy_m);
            side(r > 0, i.wrapping_sub(cols), layout.frame.dx_m);
            side(r + 1 < layout.frame.rows, i + cols, layout.frame.dx_m);
        }
        if stand.covers[Plant::Heather as usize] >= heather {
            out.heather_m = out.heather_m.min(d);
        }
        out.moor_patch_ha = out.moor_patch_ha.max(patches.ha(i).unwrap_or(0.0));
    });
    // Beyond the disc heather still has a distance.
    if out.heather_m.is_infinite() {
        each_in_disc(layout, at, 4.0 * radius_m, |i, d| {
            let s = layout.stand_of.cells[i];
            if s != NO_STAND && state.stands[s as usize].covers[Plant::Heather as usize] >= heather {
                out.heather_m = out.heather_m.min(d);
            }
        });
    }
    out
}

/// Share of the disc under young wood: planted conifer before the thicket, or native wood under the same age, percent.
fn young(layout: &Layout, state: &State, at: (f64, f64), radius_m: f64, under_yr: f64) -> f64 {
    let (mut all, mut young) = (0usize, 0usize);
    each_in_disc(layout, at, radius_m, |i, _| {
        let s = layout.stand_of.cells[i];
        if s == NO_STAND {
            return;
        }
        all += 1;
        let stand = &state.stands[s as usize];
        let wood = stand.wooded && matches!(stand.class, Class::YoungConifer | Class::NativeWood);
        young += (wood && (stand.wood_age_yr as f64) < under_yr) as usize;
    });
    if all > 0 { 100.0 * young as f64 / all as f64 } else { 0.0 }
}
