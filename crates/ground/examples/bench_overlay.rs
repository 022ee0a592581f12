//! Times the overlay of two lists of polygons by pairs; driven by `benches/side_by_side_sight_overlay.py`.
//!
//! Arguments: two files of shapes (a line a polygon: `x y x y ...`, one ring, not closed), repeats.
//! Prints the milliseconds of each repeat (index, intersection and areas), then pieces and total area.
#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a bench speaks to its driver and may stop")]

use std::time::Instant;

use geo_types::{Coord, LineString, MultiPolygon, Polygon};
use ground::overlay::pairs;

fn read(name: &str) -> Vec<MultiPolygon<f64>> {
    std::fs::read_to_string(name)
        .unwrap()
        .lines()
        .map(|line| {
            let numbers: Vec<f64> = line.split_whitespace().map(|w| w.parse().unwrap()).collect();
            let ring: Vec<Coord<f64>> = numbers.chunks_exact(2).map(|p| Coord { x: p[0], y: p[1] }).collect();
            MultiPolygon(vec![Polygon::new(LineString(ring), vec![])])
        })
        .collect()
}

fn main() {
    let given: Vec<String> = std::env::args().skip(1).collect();
    let (left, right) = (read(&given[0]), read(&given[1]));
    let mut found = Vec::new();
    for _ in 0..given[2].parse::<usize>().unwrap() {
        let start = Instant::now();
        found = pairs(&left, &right);
        println!("{:.3}", start.elapsed().as_secs_f64() * 1000.0);
    }
    let pieces: usize = found.iter().map(|p| p.shape.0.len()).sum();
    println!("{} {} {:.9}", found.len(), pieces, found.iter().map(|p| p.area_m2).sum::<f64>());
}
