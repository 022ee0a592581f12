//! Times slope, distance and flow on a seeded grid: `cargo run --release -p ground --example bench_terrain -- [SIDE] [FOLDER]`.
//!
//! Prints one JSON object of medians in milliseconds. With a folder, writes the input there (`heights.f32`, `marks.u8`, raw,
//! row by row) so that other programs can be timed on the same numbers; see `benches/side_by_side_terrain.py`.
#![allow(clippy::print_stdout, reason = "a program for the terminal")]

use std::hint::black_box;
use std::time::Instant;

use ground::distance::distance;
use ground::fill::fill;
use ground::flow::{d8, dinf};
use ground::slope::{Gradient, Rim, aspect_deg, slope_deg};
use ground::{Frame, Grid};

const RUNS: usize = 7;

fn main() -> std::io::Result<()> {
    let mut arguments = std::env::args().skip(1);
    let side: usize = arguments.next().and_then(|a| a.parse().ok()).unwrap_or(4000);
    let folder = arguments.next();
    let (heights, marks) = (heights(side), marks(side));
    if let Some(folder) = folder {
        let bytes: Vec<u8> = heights.cells.iter().flat_map(|h| h.to_le_bytes()).collect();
        std::fs::write(format!("{folder}/heights.f32"), bytes)?;
        let bytes: Vec<u8> = marks.cells.iter().map(|&m| u8::from(m)).collect();
        std::fs::write(format!("{folder}/marks.u8"), bytes)?;
    }
    let filled = fill(&heights);
    let directions = d8::directions(&filled);
    let steepest = dinf::steepest(&filled);
    let timings = [
        ("slope", median_ms(|| slope_deg(&heights, Gradient::Horn, Rim::Missing).cells.len())),
        ("aspect", median_ms(|| aspect_deg(&heights, Gradient::Horn, Rim::Missing).cells.len())),
        ("distance", median_ms(|| distance(&marks, None).cells.len())),
        ("distance_within_500_m", median_ms(|| distance(&marks, Some(500.0)).cells.len())),
        ("fill", median_ms(|| fill(&heights).cells.len())),
        ("d8_directions", median_ms(|| d8::directions(&filled).cells.len())),
        ("d8_accumulation", median_ms(|| d8::accumulation(&directions).cells.len())),
        ("dinf_directions", median_ms(|| dinf::steepest(&filled).slope.cells.len())),
        ("dinf_accumulation", median_ms(|| dinf::accumulation(&steepest.angle_rad).cells.len())),
    ];
    let fields: Vec<String> = timings.iter().map(|(name, ms)| format!("\"{name}\": {ms:.1}")).collect();
    println!("{{\"side\": {side}, \"runs\": {RUNS}, {}}}", fields.join(", "));
    Ok(())
}

fn median_ms(mut run: impl FnMut() -> usize) -> f64 {
    let mut times: Vec<f64> = (0..RUNS)
        .map(|_| {
            let start = Instant::now();
            black_box(run());
            start.elapsed().as_secs_f64() * 1000.0
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times[RUNS / 2]
}

/// Whole numbers that look random, the same every time.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / (1_u64 << 31) as f64
    }
}

/// Hills of several sizes with a centimetre or two of noise, 5 m cells.
fn heights(side: usize) -> Grid<f32> {
    let mut dice = Dice(20_261_125);
    let waves: Vec<[f64; 4]> = (0..24)
        .map(|k| {
            let length_m = 6000.0 / 1.35_f64.powi(k);
            let (turn, phase) = (dice.next() * std::f64::consts::TAU, dice.next() * std::f64::consts::TAU);
            [turn.cos() / length_m, turn.sin() / length_m, phase, 0.02 * length_m]
        })
        .collect();
    let frame = Frame::square(380_000.0, 540_000.0, 5.0, side, side);
    let cells = (0..side * side).map(|k| {
        let (x, y) = ((k % side) as f64 * 5.0, (k / side) as f64 * 5.0);
        let hills: f64 = waves.iter().map(|w| w[3] * (std::f64::consts::TAU * (x * w[0] + y * w[1]) + w[2]).sin()).sum();
        (400.0 + hills + 0.03 * dice.next()) as f32
    });
    Grid { frame, cells: cells.collect() }
}

/// One cell in two thousand marked.
fn marks(side: usize) -> Grid<bool> {
    let mut dice = Dice(7);
    Grid { frame: Frame::square(380_000.0, 540_000.0, 5.0, side, side), cells: (0..side * side).map(|_| dice.next() < 0.0005).collect() }
}
