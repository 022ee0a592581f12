//! From classes to patches: connected pieces, small ones joined to a neighbour, large ones divided.

use crate::cover::Cover;
use crate::noise::fractal;
use crate::relief::Relief;
use std::collections::BTreeMap;

/// A patch in the making.
#[derive(Clone, Debug)]
pub struct Piece {
    /// The parcel it lies in; 0 off the holding.
    pub parcel: u8,
    /// What grows there.
    pub cover: Cover,
    /// Its cells.
    pub cells: Vec<usize>,
}

/// Labels of cells (0: off the map) and the pieces they stand for (label 1 first).
pub struct Pieces {
    /// Label of each cell.
    pub labels: Vec<u32>,
    /// The pieces.
    pub list: Vec<Piece>,
}

type Key = (u8, Cover);

/// Divide classified ground into patches.
pub fn pieces(relief: &Relief, parcels: &[u8], covers: &[Cover], seed: u64) -> Pieces {
    let cols = relief.frame.cols;
    let mut keys: Vec<Key> = parcels.iter().copied().zip(covers.iter().copied()).collect();
    join_small(&mut keys, cols);
    let mut labels = divide_large(relief, &keys, seed);
    tidy_parts(&mut labels, &keys, cols);
    part_corners(&mut labels, cols);
    gather(&labels, &keys)
}

/// Connected pieces of equal keys: the piece of each cell, and each piece's cells.
fn connected<K: PartialEq>(keys: &[K], cols: usize) -> (Vec<u32>, Vec<Vec<usize>>) {
    let mut piece = vec![u32::MAX; keys.len()];
    let mut cells = Vec::new();
    for start in 0..keys.len() {
        if piece[start] != u32::MAX {
            continue;
        }
        let id = cells.len() as u32;
        let mut members = vec![start];
        piece[start] = id;
        let mut next = 0;
        while next < members.len() {
            for near in beside(members[next], cols, keys.len()) {
                if piece[near] == u32::MAX && keys[near] == keys[start] {
                    piece[near] = id;
                    members.push(near);
                }
            }
            next += 1;
        }
        cells.push(members);
    }
    (piece, cells)
}

/// The up to four cells that share a side with a cell.
fn beside(cell: usize, cols: usize, len: usize) -> impl Iterator<Item = usize> {
    let c = cell % cols;
    [(c > 0).then(|| cell - 1), (c + 1 < cols).then(|| cell + 1), cell.checked_sub(cols), (cell + cols < len).then(|| cell + cols)]
        .into_iter()
        .flatten()
}

/// Smallest piece left standing, cells of 10 m.
fn least(key: Key) -> usize {
    match key {
        (0, _) => 1_800,
        (_, Cover::Flush) => 70,
        (_, cover) if cover.keeps() => 45,
        _ => 200,
    }
}

/// Give pieces that are too small the key of the neighbour they share most border with.
fn join_small(keys: &mut [Key], cols: usize) {
    for _ in 0..12 {
        let (piece, cells) = connected(keys, cols);
        let mut small: Vec<usize> = (0..cells.len()).filter(|&p| cells[p].len() < least(keys[cells[p][0]])).collect();
        if small.is_empty() {
            return;
        }
        small.sort_by_key(|&p| cells[p].len());
        for p in small {
            let key = keys[cells[p][0]];
            let mut shared: BTreeMap<Key, usize> = BTreeMap::new();
            for &cell in &cells[p] {
                for near in beside(cell, cols, keys.len()) {
                    if piece[near] != p as u32 {
                        // Ground of another parcel is joined only where there is no other neighbour.
                        let weight = if keys[near].0 == key.0 { 10_000 } else { usize::from((keys[near].0 == 0) == (key.0 == 0)) * 10 + 1 };
                        let wood = if keys[near].1.keeps() && key.0 != 0 { 100 } else { 1 };
                        *shared.entry(keys[near]).or_default() += (weight / wood).max(1);
                    }
                }
            }
            if let Some((&to, _)) = shared.iter().max_by_key(|&(_, &n)| n) {
                for &cell in &cells[p] {
                    keys[cell] = to;
                }
            }
        }
    }
}

/// Largest piece left whole, and the size aimed for when one is divided, cells.
fn most((parcel, cover): Key) -> (usize, usize) {
    match (parcel, cover) {
        (0, _) => (22_000, 13_000),
        (_, cover) if cover.keeps() => (usize::MAX, usize::MAX),
        _ => (3_600, 2_400),
    }
}

/// Divide pieces that are too large round evenly spread centres, with ragged lines between.
fn divide_large(relief: &Relief, keys: &[Key], seed: u64) -> Vec<u32> {
    let cols = relief.frame.cols;
    let (_, cells) = connected(keys, cols);
    let mut labels = vec![0_u32; keys.len()];
    let mut next = 1_u32;
    for members in &cells {
        let key = keys[members[0]];
        let (limit, aim) = most(key);
        let n = if members.len() > limit { members.len().div_ceil(aim) } else { 1 };
        let places: Vec<(f64, f64)> = members
            .iter()
            .map(|&cell| {
                let (x, y) = relief.place(cell);
                let (wave, sway) = if key.0 == 0 { (900.0, 220.0) } else { (300.0, 75.0) };
                (x + sway * fractal(x, y, wave, 3, seed ^ 0xF0), y + sway * fractal(x, y, wave, 3, seed ^ 0xF1))
            })
            .collect();
        for (&cell, part) in members.iter().zip(centres(&places, n)) {
            labels[cell] = next + part as u32;
        }
        next += n as u32;
    }
    labels
}

/// Which of `n` evenly spread centres each place is nearest to (Lloyd's iteration from evenly spaced members).
fn centres(places: &[(f64, f64)], n: usize) -> Vec<usize> {
    let mut middle: Vec<(f64, f64)> = (0..n).map(|k| places[(2 * k + 1) * places.len() / (2 * n)]).collect();
    let mut part = vec![0; places.len()];
    if n == 1 {
        return part;
    }
    for _ in 0..12 {
        let mut sums = vec![(0.0, 0.0, 0.0); n];
        for (i, &(x, y)) in places.iter().enumerate() {
            part[i] = (0..n).min_by(|&a, &b| {
                let far = |k: usize| (middle[k].0 - x).powi(2) + (middle[k].1 - y).powi(2);
                far(a).total_cmp(&far(b))
            }).unwrap_or(0);
            let s = &mut sums[part[i]];
            *s = (s.0 + x, s.1 + y, s.2 + 1.0);
        }
        for (k, s) in sums.iter().enumerate() {
            if s.2 > 0.0 {
                middle[k] = (s.0 / s.2, s.1 / s.2);
            }
        }
    }
    part
}

/// A divided piece may leave scraps apart from its main part: give each to the neighbour it lies along.
fn tidy_parts(labels: &mut [u32], keys: &[Key], cols: usize) {
    let (piece, cells) = connected(labels, cols);
    let mut main: BTreeMap<u32, usize> = BTreeMap::new();
    for (p, members) in cells.iter().enumerate() {
        let best = main.entry(labels[members[0]]).or_insert(p);
        if cells[*best].len() < members.len() {
            *best = p;
        }
    }
    let before = labels.to_vec();
    for (p, members) in cells.iter().enumerate() {
        if main.get(&before[members[0]]) == Some(&p) {
            continue;
        }
        let mut shared: BTreeMap<u32, usize> = BTreeMap::new();
        for &cell in members {
            for near in beside(cell, cols, keys.len()) {
                if piece[near] != p as u32 && keys[near] == keys[cell] {
                    *shared.entry(before[near]).or_default() += 1;
                }
            }
        }
        if let Some((&to, _)) = shared.iter().max_by_key(|&(_, &n)| n) {
            for &cell in members {
                labels[cell] = to;
            }
        }
    }
}

/// Leave no two cells of one label touching only at a corner, where the outline would touch itself.
fn part_corners(labels: &mut [u32], cols: usize) {
    let rows = labels.len() / cols;
    for _ in 0..8 {
        let mut changed = false;
        for r in 0..rows - 1 {
            for c in 0..cols - 1 {
                let (nw, ne) = (r * cols + c, r * cols + c + 1);
                let (sw, se) = (nw + cols, ne + cols);
                if labels[nw] == labels[se] && labels[nw] != labels[ne] && labels[nw] != labels[sw] {
                    labels[sw] = labels[nw];
                    changed = true;
                } else if labels[ne] == labels[sw] && labels[ne] != labels[nw] && labels[ne] != labels[se] {
                    labels[se] = labels[ne];
                    changed = true;
                }
            }
        }
        if !changed {
            return;
        }
    }
}

/// Number the labels from 1 without gaps, and list their cells.
fn gather(labels: &[u32], keys: &[Key]) -> Pieces {
    let mut cells: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    for (cell, &label) in labels.iter().enumerate() {
        cells.entry(label).or_default().push(cell);
    }
    let mut out = vec![0; labels.len()];
    let mut list = Vec::new();
    for members in cells.into_values() {
        for &cell in &members {
            out[cell] = list.len() as u32 + 1;
        }
        // A cell or two may have crossed from a neighbour: the middle member speaks for the piece.
        let (parcel, cover) = keys[members[members.len() / 2]];
        list.push(Piece { parcel, cover, cells: members });
    }
    Pieces { labels: out, list }
}
