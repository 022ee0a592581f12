//! Ground left free for a design: cells taken off one reason after another, with the hectares each took.

use crate::rules::Context;
use ground::{Frame, Grid, distance, rasterise};
use holding::{AreaKind, Holding};

/// What bars cells, gathered one reason after another.
pub(super) struct Taking<'a> {
    /// Where the cells lie.
    pub frame: &'a Frame,
    /// Cells left.
    pub free: Vec<bool>,
    /// Reasons, in words, with the hectares each took beyond those before it.
    pub barred: Vec<(String, f64)>,
}

impl<'a> Taking<'a> {
    /// All cells, nothing taken off.
    pub fn of(frame: &'a Frame) -> Taking<'a> {
        Taking { frame, free: vec![true; frame.len()], barred: Vec::new() }
    }

    /// Take off what lies outside the holding or within a distance of its march: not the plan's, and not told of.
    pub fn land(&mut self, h: &Holding, within_m: f64) {
        let land = match &h.boundary {
            Some(b) => self.polygons([b]),
            None => self.polygons(h.parcels.iter().map(|p| &p.shape)),
        };
        if land.iter().any(|l| *l) {
            self.near("outside the holding, or too near the march", land.iter().map(|l| !l).collect(), within_m);
            self.barred.clear();
        }
    }

    /// Take off protected ground, each kind with its margin, metres.
    pub fn areas(&mut self, h: &Holding, kinds: &[(AreaKind, &str, f64)]) {
        for (kind, why, margin) in kinds {
            let marked = self.polygons(h.areas.iter().filter(|a| a.kind == *kind).map(|a| &a.shape));
            self.near(why, marked, *margin);
        }
    }

    /// Take off the cells a test bars.
    pub fn off(&mut self, why: &str, bars: impl Fn(usize) -> bool) {
        let mut n = 0usize;
        for (i, free) in self.free.iter_mut().enumerate() {
            if *free && bars(i) {
                *free = false;
                n += 1;
            }
        }
        if n > 0 {
            self.barred.push((why.to_string(), n as f64 * self.frame.cell_ha()));
        }
    }

    /// Take off the cells within a distance of marked ones, a cell more for the outline.
    pub fn near(&mut self, why: &str, marked: Vec<bool>, within_m: f64) {
        if marked.iter().any(|m| *m) {
            let reach = within_m + self.frame.dx_m;
            let away = distance::distance(&Grid { frame: *self.frame, cells: marked }, Some(reach));
            self.off(why, |i| f64::from(away.cells[i]) <= reach);
        }
    }

    pub fn polygons<'s>(&self, shapes: impl IntoIterator<Item = &'s geo_types::MultiPolygon<f64>>) -> Vec<bool> {
        let grid = rasterise::polygons(self.frame, shapes.into_iter().map(|s| (s, 0)));
        grid.cells.iter().map(|m| *m != rasterise::NONE).collect()
    }

    pub fn lines<'s>(&self, shapes: impl IntoIterator<Item = &'s geo_types::MultiLineString<f64>>) -> Vec<bool> {
        let grid = rasterise::lines(self.frame, shapes.into_iter().map(|s| (s, 0)));
        grid.cells.iter().map(|m| *m != rasterise::NONE).collect()
    }
}

/// Peat depth by the nearest probe within reach, centimetres, by cell.
pub(super) fn probed(c: &Context, reach_m: f64) -> Vec<Option<f64>> {
    let frame = &c.assessed.layout.frame;
    let mut nearest: Vec<Option<(f64, f64)>> = vec![None; frame.len()];
    for p in c.holding.probes.iter().filter(|p| p.depth_cm.is_finite()) {
        c.each_cell_within(p.at, reach_m, |i| {
            let (x, y) = frame.centre(i % frame.cols, i / frame.cols);
            let d = (x - p.at.x()).hypot(y - p.at.y());
            if nearest[i].is_none_or(|(best, _)| d < best) {
                nearest[i] = Some((d, f64::from(p.depth_cm)));
            }
        });
    }
    nearest.into_iter().map(|n| n.map(|(_, cm)| cm)).collect()
}

/// Hectares of the same reason told once.
pub(super) fn merged(barred: Vec<(String, f64)>) -> Vec<(String, f64)> {
    let mut out: Vec<(String, f64)> = Vec::new();
    for (why, ha) in barred {
        match out.iter_mut().find(|(w, _)| *w == why) {
            Some((_, sum)) => *sum += ha,
            None => out.push((why, ha)),
        }
    }
    out
}
