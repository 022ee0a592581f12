//! Where water goes that a dam turns out of its ditch: followed down the height model, all to the steepest neighbour (D8).
//!
//! The height model is taken round the ditch, its pits filled, and the way followed from each dam for so many metres. The
//! path ends where it meets a watercourse, level ground, or the rim.

use crate::rules::Context;
use geo::BoundingRect;
use geo_types::{Coord, MultiLineString, Point};
use ground::flow::d8;
use ground::{Frame, Grid, fill, rasterise};
use holding::Building;

/// What water runs onto.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Onto {
    /// A track, path or road.
    Track,
    /// A building.
    Building,
    /// Land beyond the boundary.
    Neighbour,
}

/// Water of one dam that comes to something it must not.
#[derive(Clone, Debug, PartialEq)]
pub struct Spill {
    /// Number of the dam, counted from 1.
    pub dam: usize,
    /// What it comes to.
    pub onto: Onto,
    /// Its name or identity; empty for the neighbour.
    pub name: String,
    /// How far it runs, metres.
    pub after_m: f64,
    /// Where it comes there.
    pub at: Point<f64>,
}

impl Spill {
    /// In words.
    pub fn words(&self) -> String {
        let onto = match self.onto {
            Onto::Track => format!("track {}", self.name),
            Onto::Building => format!("building {}", self.name),
            Onto::Neighbour => "land beyond the boundary".to_string(),
        };
        format!("water turned out by dam {} runs onto {onto} after about {:.0} m by the height model", self.dam, self.after_m)
    }
}

/// Steps of the direction codes, columns and rows, clockwise from east as [`d8`] has them.
const STEPS: [(isize, isize); 8] = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1)];

/// Every dam whose water comes to a track, a building or the boundary within so many metres.
pub fn spills(c: &Context, dams: &[Coord<f64>], within_m: f64) -> Vec<Spill> {
    let Some(ground) = c.holding.heights.as_ref().and_then(|h| window(h, dams, within_m)) else { return Vec::new() };
    let frame = ground.frame;
    let ways = d8::directions(&fill::fill(&ground));
    let h = c.holding;
    let tracks = rasterise::lines(&frame, h.tracks.iter().zip(0..).map(|(t, i)| (&t.shape, i)));
    let burns = rasterise::lines(&frame, h.watercourses.iter().zip(0..).map(|(w, i)| (&w.shape, i)));
    let outlines: Vec<(MultiLineString<f64>, u32)> = h.buildings.iter().zip(0..).map(|(b, i)| (crate::rules::places::outlines(&b.shape), i)).collect();
    let walls = rasterise::lines(&frame, outlines.iter().map(|(l, i)| (l, *i)));
    let inside_walls = rasterise::polygons(&frame, h.buildings.iter().zip(0..).map(|(b, i)| (&b.shape, i)));
    let land = h.boundary.as_ref().map(|b| rasterise::inside(&frame, b));
    let met = |cell: usize| -> Option<(Onto, String)> {
        let building = [walls.cells[cell], inside_walls.cells[cell]].into_iter().find(|m| *m != rasterise::NONE);
        if let Some(b) = building.and_then(|i| h.buildings.get(i as usize)) {
            return Some((Onto::Building, building_name(b)));
        }
        if let Some(t) = Some(tracks.cells[cell]).filter(|m| *m != rasterise::NONE).and_then(|i| h.tracks.get(i as usize)) {
            return Some((Onto::Track, if t.name.is_empty() { t.id.clone() } else { t.name.clone() }));
        }
        land.as_ref().is_some_and(|l| !l.cells[cell]).then(|| (Onto::Neighbour, String::new()))
    };
    let mut found = Vec::new();
    for (dam, at) in dams.iter().enumerate() {
        let Some((mut col, mut row)) = frame.cell_of(at.x, at.y) else { continue };
        let mut run_m = 0.0;
        loop {
            let code = ways.get(col, row);
            if !code.is_power_of_two() {
                break;
            }
            let (dc, dr) = STEPS[code.trailing_zeros() as usize % 8];
            let (Some(c1), Some(r1)) = (col.checked_add_signed(dc), row.checked_add_signed(dr)) else { break };
            if c1 >= frame.cols || r1 >= frame.rows {
                break;
            }
            (col, row) = (c1, r1);
            run_m += (dc as f64 * frame.dx_m).hypot(dr as f64 * frame.dy_m);
            if run_m > within_m {
                break;
            }
            let cell = frame.at(col, row);
            if let Some((onto, name)) = met(cell) {
                let (x, y) = frame.centre(col, row);
                found.push(Spill { dam: dam + 1, onto, name, after_m: run_m, at: Point::new(x, y) });
                break;
            }
            if burns.cells[cell] != rasterise::NONE {
                break;
            }
        }
    }
    found
}

fn building_name(b: &Building) -> String {
    if b.name.is_empty() { b.id.clone() } else { b.name.clone() }
}

/// The height model round the dams, wide enough for the water to run its length.
fn window(heights: &Grid<f32>, dams: &[Coord<f64>], within_m: f64) -> Option<Grid<f32>> {
    let f = heights.frame;
    let rect = geo_types::MultiPoint::from(dams.to_vec()).bounding_rect()?;
    // Two cells more than the water runs, so that the rim does not bend the way.
    let margin = within_m + 2.0 * f.dx_m.max(f.dy_m);
    let clamp = |v: f64, n: usize| v.clamp(0.0, n as f64) as usize;
    let c0 = clamp(((rect.min().x - margin - f.west_m) / f.dx_m).floor(), f.cols);
    let c1 = clamp(((rect.max().x + margin - f.west_m) / f.dx_m).ceil(), f.cols);
    let r0 = clamp(((f.north_m - rect.max().y - margin) / f.dy_m).floor(), f.rows);
    let r1 = clamp(((f.north_m - rect.min().y + margin) / f.dy_m).ceil(), f.rows);
    if c0 >= c1 || r0 >= r1 {
        return None;
    }
    let frame = Frame {
        west_m: f.west_m + c0 as f64 * f.dx_m,
        north_m: f.north_m - r0 as f64 * f.dy_m,
        cols: c1 - c0,
        rows: r1 - r0,
        ..f
    };
    let cells = (r0..r1).flat_map(|r| heights.cells[f.at(c0, r)..f.at(c1 - 1, r) + 1].iter().copied()).collect();
    Grid::from_cells(frame, cells)
}
