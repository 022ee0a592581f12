//! Times the views of many observers on a raw height model; driven by `benches/side_by_side_sight_overlay.py`.
//!
//! Arguments: heights (little-endian f32, row-major), columns, rows, cell metres, observers (lines of
//! `column row`), eye, target and radius metres, curvature, repeats, file for the seen cells.
//! Prints the milliseconds of each repeat, then writes one byte a cell of the last repeat (1 seen, 0 not,
//! 255 beyond the radius), observer after observer.
#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a bench speaks to its driver and may stop")]

use std::time::Instant;

use ground::sight::{Sight, views};
use ground::{Frame, Grid};

fn main() {
    let given: Vec<String> = std::env::args().skip(1).collect();
    let number = |i: usize| given[i].parse::<f64>().unwrap();
    let (cols, rows, cell_m) = (number(1) as usize, number(2) as usize, number(3));
    let frame = Frame::square(0.0, rows as f64 * cell_m, cell_m, cols, rows);
    let heights = std::fs::read(&given[0]).unwrap();
    let cells = heights.chunks_exact(4).map(|b| f32::from_le_bytes(b.try_into().unwrap())).collect();
    let dem = Grid::from_cells(frame, cells).unwrap();
    let observers: Vec<(f64, f64)> = std::fs::read_to_string(&given[4])
        .unwrap()
        .lines()
        .map(|line| {
            let mut words = line.split_whitespace().map(|w| w.parse::<usize>().unwrap());
            frame.centre(words.next().unwrap(), words.next().unwrap())
        })
        .collect();
    let sight = Sight { curvature: number(8), rays: 0, ..Sight::new(number(5), number(6), number(7)) };
    let mut seen = Vec::new();
    for _ in 0..number(9) as usize {
        let start = Instant::now();
        let all = views(&dem, &observers, &sight, None);
        println!("{:.3}", start.elapsed().as_secs_f64() * 1000.0);
        seen = all;
    }
    let mut bytes = Vec::new();
    for one in seen {
        let share = one.unwrap().share;
        let (first_column, first_row) = frame.cell_of(share.frame.west_m + 1e-6, share.frame.north_m - 1e-6).unwrap();
        let at = bytes.len();
        bytes.resize(at + frame.len(), 255_u8);
        for row in 0..share.frame.rows {
            for column in 0..share.frame.cols {
                let share = share.get(column, row);
                if !share.is_nan() {
                    bytes[at + frame.at(column + first_column, row + first_row)] = share as u8;
                }
            }
        }
    }
    std::fs::write(&given[10], bytes).unwrap();
}
