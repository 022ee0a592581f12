//! From labelled cells to smooth outlines that share their borders exactly.
//!
//! The border between two labels is one line, smoothed once and used by both sides, so outlines neither overlap
//! nor leave gaps. Points where three labels meet stay where they are.

use geo::Validation;
use geo_types::{Coord, LineString, MultiLineString, MultiPolygon, Polygon};
use ground::Frame;
use std::collections::{BTreeMap, BTreeSet};

/// How a border is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Finish {
    /// Flowing, as vegetation meets vegetation.
    Flowing,
    /// In straight runs, as a wall or fence goes.
    Straight,
    /// Broad strokes, for ground that was not walked.
    Broad,
}

/// A labelled grid and its drawn borders. Label 0 is off the map.
pub struct Tiling<'a> {
    frame: Frame,
    labels: &'a [u32],
    finish: &'a dyn Fn(u32, u32) -> Finish,
    boxes: Vec<[i32; 4]>,
    plain: BTreeSet<u32>,
    drawn: BTreeMap<Vec<(i32, i32)>, Vec<Coord<f64>>>,
}

type Corner = (i32, i32);

impl<'a> Tiling<'a> {
    /// Borders of a label grid; `finish` says how the border between two labels is drawn.
    pub fn new(frame: Frame, labels: &'a [u32], finish: &'a dyn Fn(u32, u32) -> Finish) -> Self {
        let top = labels.iter().copied().max().unwrap_or(0) as usize;
        let mut boxes = vec![[i32::MAX, i32::MAX, -1, -1]; top + 1];
        for (i, &label) in labels.iter().enumerate() {
            let (c, r) = ((i % frame.cols) as i32, (i / frame.cols) as i32);
            let b = &mut boxes[label as usize];
            *b = [b[0].min(c), b[1].min(r), b[2].max(c + 1), b[3].max(r + 1)];
        }
        let mut tiling = Self { frame, labels, finish, boxes, plain: BTreeSet::new(), drawn: BTreeMap::new() };
        tiling.mend();
        tiling
    }

    /// Draw the borders of outlines that would cross themselves with less smoothing, until none does.
    fn mend(&mut self) {
        for _ in 0..4 {
            let bad: Vec<u32> = (1..self.boxes.len() as u32).filter(|&label| !self.outline(&[label]).is_valid()).collect();
            if bad.is_empty() {
                return;
            }
            self.plain.extend(bad);
            self.drawn.clear();
        }
    }

    fn label(&self, col: i32, row: i32) -> u32 {
        if col < 0 || row < 0 || col >= self.frame.cols as i32 || row >= self.frame.rows as i32 {
            return 0;
        }
        self.labels[self.frame.at(col as usize, row as usize)]
    }

    /// The labels to the left and right of a step from a corner. Directions: 0 east, 1 north, 2 west, 3 south.
    fn sides(&self, (c, r): Corner, way: u8) -> (u32, u32) {
        let (nw, ne, sw, se) = (self.label(c - 1, r - 1), self.label(c, r - 1), self.label(c - 1, r), self.label(c, r));
        match way {
            0 => (ne, se),
            1 => (nw, ne),
            2 => (sw, nw),
            _ => (se, sw),
        }
    }

    /// True where three or more borders meet.
    fn is_node(&self, at: Corner) -> bool {
        (0..4).filter(|&way| { let (a, b) = self.sides(at, way); a != b }).count() > 2
    }

    /// The outline of a set of labels, as one shape.
    pub fn outline(&mut self, labels: &[u32]) -> MultiPolygon<f64> {
        let wanted = self.chosen(labels);
        let rings = self.rings(&wanted);
        assemble(rings.into_iter().map(|ring| self.borders(&ring).joined()).collect())
    }

    /// The lines along which a set of labels meets ground that `beyond` accepts.
    pub fn edge(&mut self, labels: &[u32], beyond: &dyn Fn(u32) -> bool) -> MultiLineString<f64> {
        let wanted = self.chosen(labels);
        let mut lines: Vec<Vec<Coord<f64>>> = Vec::new();
        for ring in self.rings(&wanted) {
            let mut joins = false;
            for (across, line) in self.borders(&ring).0 {
                if !beyond(across) {
                    joins = false;
                    continue;
                }
                match lines.last_mut() {
                    Some(last) if joins => last.extend(&line[1..]),
                    _ => lines.push(line),
                }
                joins = true;
            }
        }
        MultiLineString(lines.into_iter().map(LineString).collect())
    }

    fn chosen(&self, labels: &[u32]) -> Vec<bool> {
        let mut wanted = vec![false; self.boxes.len()];
        for &label in labels {
            wanted[label as usize] = true;
        }
        wanted[0] = false;
        wanted
    }

    /// The rings of corners round the wanted labels, ground to the left.
    fn rings(&self, wanted: &[bool]) -> Vec<Vec<Corner>> {
        let mut span = [i32::MAX, i32::MAX, -1, -1];
        for (b, _) in self.boxes.iter().zip(wanted).filter(|(_, w)| **w) {
            span = [span[0].min(b[0]), span[1].min(b[1]), span[2].max(b[2]), span[3].max(b[3])];
        }
        let is = |label: u32| wanted[label as usize];
        let mut seen = BTreeSet::new();
        let mut rings = Vec::new();
        for r in span[1]..=span[3] {
            for c in span[0]..=span[2] {
                // Every ring has an eastward step; wanted ground lies to its north (left).
                let (left, right) = self.sides((c, r), 0);
                if is(left) && !is(right) && !seen.contains(&(c, r)) {
                    rings.push(self.walk((c, r), &is, &mut seen));
                }
            }
        }
        rings
    }

    /// Follow the edge of the wanted ground, keeping it to the left, back to the start.
    fn walk(&self, start: Corner, wanted: &impl Fn(u32) -> bool, seen: &mut BTreeSet<Corner>) -> Vec<Corner> {
        let mut ring = vec![start];
        let (mut at, mut way) = (start, 0_u8);
        loop {
            if way == 0 {
                seen.insert(at);
            }
            at = step(at, way);
            if let Some(next) = [1, 0, 3].into_iter().map(|turn| (way + turn) % 4).find(|&w| {
                let (left, right) = self.sides(at, w);
                wanted(left) && !wanted(right)
            }) {
                way = next;
            } else {
                return ring;
            }
            if at == start && way == 0 {
                return ring;
            }
            ring.push(at);
        }
    }

    /// Draw a ring of corners, border by border, each with the label on its far side.
    fn borders(&mut self, ring: &[Corner]) -> Borders {
        let nodes: Vec<usize> = (0..ring.len()).filter(|&i| self.is_node(ring[i])).collect();
        let mut parts: Vec<Vec<Corner>> = Vec::new();
        if nodes.is_empty() {
            let first = (0..ring.len()).min_by_key(|&i| ring[i]).unwrap_or(0);
            let mut whole: Vec<Corner> = ring[first..].iter().chain(&ring[..first]).copied().collect();
            whole.push(whole[0]);
            parts.push(whole);
        }
        for (k, &from) in nodes.iter().enumerate() {
            let to = nodes[(k + 1) % nodes.len()];
            let steps = if to > from { to - from } else { to + ring.len() - from };
            parts.push((0..=steps).map(|i| ring[(from + i) % ring.len()]).collect());
        }
        Borders(
            parts
                .into_iter()
                .map(|part| {
                    let way = (0..4).find(|&w| step(part[0], w) == part[1]).unwrap_or(0);
                    (self.sides(part[0], way).1, self.border(part))
                })
                .collect(),
        )
    }

    /// One border, drawn the same whichever way it is walked.
    fn border(&mut self, part: Vec<Corner>) -> Vec<Coord<f64>> {
        let mut other = part.clone();
        other.reverse();
        let turned = other < part;
        let key = if turned { other } else { part };
        if !self.drawn.contains_key(&key) {
            let line = self.draw_border(&key);
            self.drawn.insert(key.clone(), line);
        }
        let mut line = self.drawn[&key].clone();
        if turned {
            line.reverse();
        }
        line
    }

    fn draw_border(&self, corners: &[Corner]) -> Vec<Coord<f64>> {
        let f = self.frame;
        let points: Vec<Coord<f64>> =
            corners.iter().map(|&(c, r)| Coord { x: f.west_m + f64::from(c) * f.dx_m, y: f.north_m - f64::from(r) * f.dy_m }).collect();
        let way = (0..4).find(|&w| step(corners[0], w) == corners[1]).unwrap_or(0);
        let (a, b) = self.sides(corners[0], way);
        let closed = corners[0] == corners[corners.len() - 1];
        if self.plain.contains(&a) || self.plain.contains(&b) {
            return thin(&smooth(points, 2, closed), 0.5);
        }
        match (self.finish)(a, b) {
            Finish::Flowing => thin(&smooth(points, 14, closed), 1.2),
            Finish::Straight => thin(&smooth(points, 1, closed), 11.0),
            Finish::Broad => thin(&smooth(points, 40, closed), 6.0),
        }
        .into_iter()
        .map(|c| Coord { x: (c.x * 100.0).round() / 100.0, y: (c.y * 100.0).round() / 100.0 })
        .collect()
    }
}

/// The borders of a ring in walking order, each with the label across it.
struct Borders(Vec<(u32, Vec<Coord<f64>>)>);

impl Borders {
    fn joined(self) -> Vec<Coord<f64>> {
        let mut out: Vec<Coord<f64>> = Vec::new();
        for (_, line) in self.0 {
            out.extend(if out.is_empty() { &line[..] } else { &line[1..] });
        }
        out
    }
}

fn step((c, r): Corner, way: u8) -> Corner {
    match way {
        0 => (c + 1, r),
        1 => (c, r - 1),
        2 => (c - 1, r),
        _ => (c, r + 1),
    }
}

/// Average each point with its neighbours, a number of times; the ends stay.
pub fn smooth(mut points: Vec<Coord<f64>>, times: usize, closed: bool) -> Vec<Coord<f64>> {
    let n = points.len();
    if n < 3 {
        return points;
    }
    for _ in 0..times {
        let before = points.clone();
        for i in 1..n - 1 {
            points[i] = before[i - 1] * 0.25 + before[i] * 0.5 + before[i + 1] * 0.25;
        }
        if closed {
            points[0] = before[n - 2] * 0.25 + before[0] * 0.5 + before[1] * 0.25;
            points[n - 1] = points[0];
        }
    }
    points
}

/// Leave out points that lie within a distance of the line without them (Douglas and Peucker 1973).
/// A closed line keeps its farthest point too, so that it never collapses.
pub fn thin(points: &[Coord<f64>], within_m: f64) -> Vec<Coord<f64>> {
    let n = points.len();
    if n < 3 {
        return points.to_vec();
    }
    if points[0] == points[n - 1] {
        let far = (1..n - 1).max_by(|&a, &b| apart(points[a], points[0]).total_cmp(&apart(points[b], points[0]))).unwrap_or(1);
        let mut half = thin(&points[..=far], within_m);
        half.extend(&thin(&points[far..], within_m)[1..]);
        return half;
    }
    let (a, b) = (points[0], points[n - 1]);
    let length = apart(a, b);
    let off = |p: Coord<f64>| ((b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)).abs() / length;
    let worst = (1..n - 1).max_by(|&i, &j| off(points[i]).total_cmp(&off(points[j]))).unwrap_or(1);
    if off(points[worst]) <= within_m {
        return vec![a, b];
    }
    let mut half = thin(&points[..=worst], within_m);
    half.extend(&thin(&points[worst..], within_m)[1..]);
    half
}

fn apart(a: Coord<f64>, b: Coord<f64>) -> f64 {
    (a.x - b.x).hypot(a.y - b.y)
}

/// Twice the signed area of a closed ring.
fn turn(ring: &[Coord<f64>]) -> f64 {
    ring.windows(2).map(|w| w[0].x * w[1].y - w[1].x * w[0].y).sum()
}

fn holds(ring: &[Coord<f64>], p: Coord<f64>) -> bool {
    ring.windows(2).filter(|w| (w[0].y > p.y) != (w[1].y > p.y) && p.x < (w[1].x - w[0].x) * (p.y - w[0].y) / (w[1].y - w[0].y) + w[0].x).count() % 2 == 1
}

/// Outer rings with the holes that lie in them.
fn assemble(rings: Vec<Vec<Coord<f64>>>) -> MultiPolygon<f64> {
    let (outer, holes): (Vec<_>, Vec<_>) = rings.into_iter().partition(|ring| turn(ring) > 0.0);
    let mut parts: Vec<(Vec<Coord<f64>>, Vec<_>)> = outer.into_iter().map(|ring| (ring, Vec::new())).collect();
    for hole in holes {
        let probe = (hole[0] + hole[1]) * 0.5;
        if let Some(home) = parts
            .iter_mut()
            .filter(|(ring, _)| holds(ring, probe))
            .min_by(|a, b| turn(&a.0).total_cmp(&turn(&b.0)))
        {
            home.1.push(LineString(hole));
        }
    }
    MultiPolygon(parts.into_iter().map(|(ring, holes)| Polygon::new(LineString(ring), holes)).collect())
}
