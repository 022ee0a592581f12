//! Burns and sikes where the terrain gathers water; grips cut across the bog and through a flush.

use crate::cover::Cover;
use crate::drainage::neighbours;
use crate::site::{Site, at, lines};
use crate::tiling::{smooth, thin};
use geo_types::{Coord, LineString, MultiLineString};
use holding::{Ditch, Watercourse};
use std::collections::BTreeSet;

/// Ground that keeps a watercourse running all year, cells of 100 square metres.
const RUNNING: f64 = 2_600.0;

const NAMES: [&str; 9] =
    ["Harkenshaw Burn", "Thrummel Beck", "Quarlow Sike", "Mirkhope Sike", "Peat Sike", "Clarty Sike", "Bield Sike", "Kiln Sike", "Far Sike"];

/// Watercourses of the holding and just beyond, largest first.
pub fn courses(site: &Site) -> Vec<Watercourse> {
    let relief = site.relief;
    let flow = &relief.drainage;
    let (cols, rows) = (relief.frame.cols, relief.frame.rows);
    let main_donor = |cell: usize| {
        neighbours(cell, cols, rows)
            .map(|(near, _)| near)
            .filter(|&near| near != cell && flow.receiver[near] == cell && flow.drained[near] >= RUNNING)
            .max_by(|&a, &b| flow.drained[a].total_cmp(&flow.drained[b]))
    };
    let near_holding = |cell: usize| {
        let (x, y) = relief.place(cell);
        (-500.0..4_900.0).contains(&x) && (-400.0..4_500.0).contains(&y)
    };
    let mut stems: Vec<(f64, Vec<usize>)> = Vec::new();
    for &mouth in &flow.upstream_order {
        let down = flow.receiver[mouth];
        if flow.drained[mouth] < RUNNING || (down != mouth && main_donor(down) == Some(mouth)) {
            continue;
        }
        let mut stem = vec![down, mouth];
        stem.dedup();
        while let Some(up) = stem.last().and_then(|&cell| main_donor(cell)) {
            stem.push(up);
        }
        stem.retain(|&cell| near_holding(cell));
        stem.reverse();
        let inside = stem.iter().filter(|&&cell| site.parcel(cell) > 0 || relief.up_m(cell).abs() < 30.0).count();
        if stem.len() > 22 && inside > 15 {
            stems.push((flow.drained[mouth], stem));
        }
    }
    stems.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let stems = join_early(stems, cols);
    stems
        .into_iter()
        .enumerate()
        .map(|(i, (drained, stem))| {
            let points: Vec<Coord<f64>> = stem.iter().map(|&cell| at(relief.place(cell))).collect();
            let drawn = thin(&smooth(points, 3, false), 1.0).into_iter().map(|c| Coord { x: (c.x * 100.0).round() / 100.0, y: (c.y * 100.0).round() / 100.0 });
            let mut course = Watercourse::new(format!("W{:02}", i + 1), MultiLineString(vec![LineString(drawn.collect())]));
            course.name = NAMES.get(i).copied().unwrap_or("").to_string();
            course.width_m = Some(((drained / 10_000.0).sqrt() * 14.0).round() as f32 / 10.0);
            course
        })
        .collect()
}

/// End each lesser stem where it first comes beside a greater one; what is then too short is left out.
fn join_early(stems: Vec<(f64, Vec<usize>)>, cols: usize) -> Vec<(f64, Vec<usize>)> {
    const BESIDE: usize = 5;
    let mut taken = BTreeSet::new();
    let mut out = Vec::new();
    for (drained, mut stem) in stems {
        if let Some(meets) = stem.iter().position(|cell| taken.contains(cell)) {
            stem.truncate(meets + 1);
        }
        let end = stem[stem.len() - 1];
        // The last step runs to the greater stem itself, not to the strip beside it.
        let join = out.iter().flat_map(|(_, other): &(f64, Vec<usize>)| other).copied().min_by_key(|&cell| apart(cell, end, cols));
        if let Some(cell) = join.filter(|&cell| apart(cell, end, cols) <= 2 * BESIDE * BESIDE) {
            stem.push(cell);
        }
        if stem.len() <= 22 {
            continue;
        }
        for &cell in &stem {
            for dr in 0..=2 * BESIDE {
                taken.extend((0..=2 * BESIDE).filter_map(|dc| (cell + dr * cols + dc).checked_sub(BESIDE * cols + BESIDE)));
            }
        }
        out.push((drained, stem));
    }
    out
}

/// Square of the distance between two cells, in cells.
fn apart(a: usize, b: usize, cols: usize) -> usize {
    (a % cols).abs_diff(b % cols).pow(2) + (a / cols).abs_diff(b / cols).pow(2)
}

/// Direction of fall at a local place, as a unit vector east and north.
fn fall(site: &Site, x: f64, y: f64) -> (f64, f64) {
    let height = |x: f64, y: f64| site.relief.cell(x, y).map_or(0.0, |c| site.relief.height_m[c]);
    let (gx, gy) = (height(x - 40.0, y) - height(x + 40.0, y), height(x, y - 40.0) - height(x, y + 40.0));
    let size = gx.hypot(gy).max(1e-9);
    (gx / size, gy / size)
}

/// A direction turned to the left, degrees.
fn turned((x, y): (f64, f64), deg: f64) -> (f64, f64) {
    let (s, c) = deg.to_radians().sin_cos();
    (x * c - y * s, x * s + y * c)
}

/// Cut a grip from a place in a direction, for as long as it stays in ground that `stays` accepts.
fn cut(site: &Site, (mut x, mut y): (f64, f64), (dx, dy): (f64, f64), longest_m: f64, stays: &dyn Fn(usize) -> bool) -> Vec<(f64, f64)> {
    let mut places = vec![(x, y)];
    while places.len() < (longest_m / 20.0) as usize {
        (x, y) = (x + dx * 20.0, y + dy * 20.0);
        if !site.relief.cell(x, y).is_some_and(stays) {
            break;
        }
        places.push((x, y));
    }
    if places.len() > 2 { vec![places[0], places[places.len() / 2], places[places.len() - 1]] } else { places }
}

/// Grips: a set across the largest bog of the fell, three through the flush, one that must keep running.
pub fn ditches(site: &Site) -> Vec<Ditch> {
    let mut out = Vec::new();
    let bog = site.labels_with(Cover::Bog).into_iter().max_by_key(|&label| site.pieces[label as usize - 1].cells.len());
    if let Some(label) = bog {
        let cells = &site.pieces[label as usize - 1].cells;
        let n = cells.len() as f64;
        let (mx, my) = cells.iter().map(|&c| site.relief.place(c)).fold((0.0, 0.0), |a, p| (a.0 + p.0 / n, a.1 + p.1 / n));
        let (fx, fy) = fall(site, mx, my);
        let stays = |cell: usize| site.labels[cell] == label;
        for k in 0..8 {
            // Set out along the contour, each running down and across.
            let along = (f64::from(k) - 3.5) * 55.0;
            let start = (mx - fy * along - fx * 110.0, my + fx * along - fy * 110.0);
            if site.relief.cell(start.0, start.1).is_some_and(stays) {
                let places = cut(site, start, turned((fx, fy), 32.0), 330.0, &stays);
                if places.len() > 1 {
                    let mut ditch = Ditch::new("", lines(&[places]));
                    ditch.width_cm = Some(110.0 + 12.0 * k as f32);
                    ditch.depth_cm = Some(55.0 + 6.0 * k as f32);
                    ditch.blocked = k == 1;
                    out.push(ditch);
                }
            }
        }
    }
    let (mx, my) = site.relief.place(site.sites.drained_flush);
    let (fx, fy) = fall(site, mx, my);
    for k in 0..3 {
        let along = (f64::from(k) - 1.0) * 42.0;
        let start = (mx - fy * along - fx * 95.0, my + fx * along - fy * 95.0);
        let places = cut(site, start, turned((fx, fy), -8.0), 240.0, &|cell| site.parcel(cell) > 0);
        let mut ditch = Ditch::new("", lines(&[places]));
        ditch.width_cm = Some(80.0);
        ditch.depth_cm = Some(60.0);
        out.push(ditch);
    }
    let mut keep = Ditch::new("", lines(&[vec![(1_905.0, 640.0), (1_890.0, 520.0), (1_880.0, 380.0)]]));
    keep.width_cm = Some(60.0);
    keep.depth_cm = Some(40.0);
    keep.keep = true;
    out.push(keep);
    for (i, ditch) in out.iter_mut().enumerate() {
        ditch.id = format!("D{:02}", i + 1);
    }
    out
}
