//! Grids as small pictures: cut to what is in view, thinned to what paper can show, coloured, and packed as PNG.

use crate::svg::palette::{VALUE_STEPS, value_step};
use ground::slope::Rim;
use ground::{Frame, Grid};

/// Most pixels a picture has along either side.
const PIXELS_MOST: usize = 1000;

/// What a packed picture covers, metres, with its PNG bytes.
pub struct Raster {
    /// Where the outer edges lie.
    pub frame: Frame,
    /// The picture.
    pub png: Vec<u8>,
}

/// A grid cut to a box and thinned by taking the nearest cell; `None` where the two do not meet.
pub fn cut(grid: &Grid<f32>, view: [f64; 4]) -> Option<Grid<f32>> {
    let [west, south, east, north] = view;
    let f = grid.frame;
    let (w, e) = (west.max(f.west_m), east.min(f.east_m()));
    let (s, n) = (south.max(f.south_m()), north.min(f.north_m));
    if w >= e || s >= n {
        return None;
    }
    let first_col = ((w - f.west_m) / f.dx_m).floor() as usize;
    let last_col = (((e - f.west_m) / f.dx_m).ceil() as usize).min(f.cols);
    let first_row = ((f.north_m - n) / f.dy_m).floor() as usize;
    let last_row = (((f.north_m - s) / f.dy_m).ceil() as usize).min(f.rows);
    let step = (last_col - first_col).max(last_row - first_row).div_ceil(PIXELS_MOST).max(1);
    let (cols, rows) = ((last_col - first_col).div_ceil(step), (last_row - first_row).div_ceil(step));
    let frame = Frame {
        west_m: f.west_m + first_col as f64 * f.dx_m,
        north_m: f.north_m - first_row as f64 * f.dy_m,
        dx_m: f.dx_m * step as f64,
        dy_m: f.dy_m * step as f64,
        cols,
        rows,
    };
    let mut cells = Vec::with_capacity(cols * rows);
    for row in 0..rows {
        let from_row = (first_row + row * step + step / 2).min(last_row - 1);
        for col in 0..cols {
            let from_col = (first_col + col * step + step / 2).min(last_col - 1);
            cells.push(grid.get(from_col, from_row));
        }
    }
    Grid::from_cells(frame, cells)
}

/// Grey level of level ground under a sun 45 degrees high.
const LEVEL: u8 = 181;

/// Relief as a veil of shade and light, to be laid over colours: dark on slopes turned from the north-west, light on
/// those turned to it, clear on the level. Slopes are drawn twice as steep as they are, so that gentle moor shows.
pub fn relief(heights: &Grid<f32>) -> Option<Raster> {
    let f = heights.frame;
    let shade = ground::relief::shade(heights, 315.0, 45.0, 2.0, Rim::Continued);
    let mut pixels = Vec::with_capacity(f.len() * 4);
    for &level in &shade.cells {
        let turned = (f32::from(level) - f32::from(LEVEL)) / 254.0;
        let (tone, strength) = match level {
            0 => (0, 0.0),
            _ if turned < 0.0 => (28, -turned * 0.9),
            _ => (255, turned * 1.1),
        };
        pixels.extend_from_slice(&[tone, tone, tone, (strength.clamp(0.0, 0.75) * 255.0) as u8]);
    }
    Some(Raster { frame: f, png: pack(f.cols, f.rows, &pixels)? })
}

/// Values from 0 to 1 in the five steps of the palette; missing cells are clear.
pub fn values(grid: &Grid<f32>) -> Option<Raster> {
    let f = grid.frame;
    let mut pixels = Vec::with_capacity(f.len() * 4);
    for &value in &grid.cells {
        if value.is_nan() {
            pixels.extend_from_slice(&[0, 0, 0, 0]);
        } else {
            pixels.extend_from_slice(&VALUE_STEPS[value_step(value)]);
            pixels.push(255);
        }
    }
    Some(Raster { frame: f, png: pack(f.cols, f.rows, &pixels)? })
}

/// Share in sight: clear where seen, a dark veil where hidden; cells outside the view are clear.
pub fn hidden(grid: &Grid<f32>) -> Option<Raster> {
    let f = grid.frame;
    let mut pixels = Vec::with_capacity(f.len() * 4);
    for &seen in &grid.cells {
        let veil = if seen.is_nan() { 0.0 } else { (1.0 - seen.clamp(0.0, 1.0)) * 0.78 };
        pixels.extend_from_slice(&[29, 37, 51, (veil * 255.0) as u8]);
    }
    Some(Raster { frame: f, png: pack(f.cols, f.rows, &pixels)? })
}

/// Packs eight-bit red, green, blue and opacity.
fn pack(cols: usize, rows: usize, pixels: &[u8]) -> Option<Vec<u8>> {
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, u32::try_from(cols).ok()?, u32::try_from(rows).ok()?);
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    // The page engine packs it anew.
    encoder.set_compression(png::Compression::Fast);
    let mut writer = encoder.write_header().ok()?;
    writer.write_image_data(pixels).ok()?;
    writer.finish().ok()?;
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decode(png_bytes: &[u8]) -> (usize, usize, Vec<u8>) {
        let mut reader = png::Decoder::new(std::io::Cursor::new(png_bytes)).read_info().unwrap();
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut pixels).unwrap();
        (info.width as usize, info.height as usize, pixels)
    }

    #[test]
    fn a_cut_keeps_cells_in_place_and_thins_large_grids() {
        let frame = Frame::square(1000.0, 9000.0, 2.0, 4000, 3000);
        let cells = (0..frame.len()).map(|i| (i % frame.cols) as f32).collect();
        let grid = Grid::from_cells(frame, cells).unwrap();
        let part = cut(&grid, [1100.0, 8000.0, 1300.0, 8900.0]).unwrap();
        assert_eq!((part.frame.west_m, part.frame.north_m, part.frame.cols, part.frame.rows), (1100.0, 8900.0, 100, 450));
        assert_eq!(part.get(0, 0), 50.0);
        let whole = cut(&grid, [0.0, 0.0, 20_000.0, 20_000.0]).unwrap();
        assert!(whole.frame.cols <= PIXELS_MOST && whole.frame.rows <= PIXELS_MOST);
        assert!(cut(&grid, [0.0, 0.0, 10.0, 10.0]).is_none());
    }

    #[test]
    fn slopes_to_the_north_west_are_light_and_from_it_dark() {
        let frame = Frame::square(0.0, 100.0, 10.0, 10, 10);
        let ramp = |sign: f32| Grid::from_cells(frame, (0..100).map(|i| sign * ((i % 10) as f32 + (9 - i / 10) as f32)).collect()).unwrap();
        // Heights that rise towards the south-east face north-west, and the other way round.
        let south_east_high = Grid::from_cells(frame, (0..100).map(|i| (i % 10) as f32 + (i / 10) as f32).collect()).unwrap();
        let (_, _, lit) = decode(&relief(&south_east_high).unwrap().png);
        let (_, _, level) = decode(&relief(&ramp(0.0)).unwrap().png);
        let north_west_high = Grid::from_cells(frame, (0..100).map(|i| -((i % 10) as f32) - (i / 10) as f32).collect()).unwrap();
        let (_, _, dark) = decode(&relief(&north_west_high).unwrap().png);
        let middle = 55 * 4;
        assert_eq!(lit[middle], 255);
        assert!(lit[middle + 3] > 10);
        assert_eq!(dark[middle], 28);
        assert!(dark[middle + 3] > 10);
        assert_eq!(level[middle + 3], 0);
    }

    #[test]
    fn unmapped_cells_are_clear() {
        let frame = Frame::square(0.0, 10.0, 10.0, 2, 1);
        let (cols, rows, pixels) = decode(&values(&Grid::from_cells(frame, vec![f32::NAN, 1.0]).unwrap()).unwrap().png);
        assert_eq!((cols, rows, pixels[3], pixels[7]), (2, 1, 0, 255));
    }
}
