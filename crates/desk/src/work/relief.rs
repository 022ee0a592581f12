//! The lie of the land as a veil to be laid over the ground: peat where a slope turns from the north-west, cotton where it turns to it, clear on
//! the level and where no height is known.

use super::picture::{Png, pack};
use ground::slope::Rim;
use ground::{Frame, Grid, relief};

/// Dark slopes: black-brown of peat.
const PEAT: [u8; 3] = [0x43, 0x35, 0x2b];
/// Light slopes: white of cotton-grass.
const COTTON: [u8; 3] = [0xfb, 0xfa, 0xf4];
/// Bearing of the sun, its height, and how much steeper slopes are drawn than they are, so that gentle moor shows.
const SUN: (f64, f64, f64) = (315.0, 45.0, 2.0);
/// Strongest veil, of 1: vegetation must stay readable through it.
const MOST: f32 = 0.55;
/// Most cells along a side; larger grids are thinned.
const CELLS_MOST: usize = 2000;

/// The veil over a height model; `None` where there is none.
pub fn veil(heights: &Grid<f32>) -> Option<Png> {
    let heights = thinned(heights);
    let shade = relief::shade(&heights, SUN.0, SUN.1, SUN.2, Rim::Continued);
    // Grey of level ground under that sun.
    let level = 1.0 + 254.0 * SUN.1.to_radians().sin() as f32;
    let pixels: Vec<u8> = shade
        .cells
        .iter()
        .flat_map(|grey| {
            let turned = (f32::from(*grey) - level) / 254.0;
            let (tone, strength) = match grey {
                0 => (PEAT, 0.0),
                _ if turned < 0.0 => (PEAT, -turned),
                _ => (COTTON, turned),
            };
            [tone[0], tone[1], tone[2], (strength.min(MOST) * 255.0) as u8]
        })
        .collect();
    pack(&heights.frame, &pixels)
}

/// The grid itself, or every so many cells of it.
fn thinned(grid: &Grid<f32>) -> Grid<f32> {
    let f = grid.frame;
    let step = f.cols.max(f.rows).div_ceil(CELLS_MOST).max(1);
    if step == 1 {
        return grid.clone();
    }
    let (cols, rows) = (f.cols.div_ceil(step), f.rows.div_ceil(step));
    let frame = Frame { dx_m: f.dx_m * step as f64, dy_m: f.dy_m * step as f64, cols, rows, ..f };
    let at = |i: usize, most: usize| (i * step + step / 2).min(most - 1);
    let cells = (0..frame.len()).map(|i| grid.get(at(i % cols, f.cols), at(i / cols, f.rows))).collect();
    Grid { frame, cells }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn level_ground_and_missing_heights_are_clear_and_slopes_are_not() {
        let frame = Frame::square(0.0, 100.0, 10.0, 10, 10);
        let alpha = |heights: Grid<f32>| -> Vec<u8> {
            let png = veil(&heights).unwrap();
            let mut reader = png::Decoder::new(std::io::Cursor::new(png.bytes)).read_info().unwrap();
            let mut out = vec![0; reader.output_buffer_size().unwrap()];
            reader.next_frame(&mut out).unwrap();
            out.chunks(4).map(|p| p[3]).collect()
        };
        assert!(alpha(Grid::filled(frame, 300.0)).iter().all(|a| *a <= 1));
        assert!(alpha(Grid::filled(frame, f32::NAN)).iter().all(|a| *a == 0));
        let slope = Grid { frame, cells: (0..100).map(|i| (i % 10) as f32 * 5.0).collect() };
        assert!(alpha(slope).iter().all(|a| *a > 20));
    }

    #[test]
    fn a_large_grid_is_thinned_and_keeps_its_place() {
        let frame = Frame::square(0.0, 0.0, 1.0, 5000, 30);
        let png = veil(&Grid::filled(frame, 1.0)).unwrap();
        assert_eq!(png.place.size, [1667, 10]);
        assert!((png.place.extent[2] - 5001.0).abs() < 1e-6);
    }
}
