//! Seeded gradient noise: smooth random relief and ragged edges.

use std::cell::RefCell;

/// Directions remembered: neighbouring places ask for the same few corners again and again.
const REMEMBERED: usize = 1024;

thread_local! {
    /// Directions by the bits they come from, as (bits, cosine, sine).
    static DIRECTIONS: RefCell<Vec<(u32, f64, f64)>> = RefCell::new(vec![(0, 1.0, 0.0); REMEMBERED]);
}

/// Cosine and sine of the direction at a lattice point.
fn direction(x: i64, y: i64, seed: u64) -> (f64, f64) {
    let bits = hash(x, y, seed);
    DIRECTIONS.with_borrow_mut(|known| {
        let slot = &mut known[bits as usize % REMEMBERED];
        if slot.0 != bits {
            let angle = share(bits) * std::f64::consts::TAU;
            *slot = (bits, angle.cos(), angle.sin());
        }
        (slot.1, slot.2)
    })
}

/// Mixes lattice coordinates and a seed into 32 well-spread bits.
fn hash(x: i64, y: i64, seed: u64) -> u32 {
    let mut h = seed ^ (x as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ (y as u64).wrapping_mul(0xC2B2_AE3D_27D4_EB4F);
    h = (h ^ (h >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    h = (h ^ (h >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((h ^ (h >> 31)) >> 32) as u32
}

/// Bits as a value in 0 to 1.
fn share(bits: u32) -> f64 {
    f64::from(bits) / f64::from(u32::MAX)
}

/// A value in 0 to 1 for a lattice point.
pub fn chance(x: i64, y: i64, seed: u64) -> f64 {
    share(hash(x, y, seed))
}

/// One octave of gradient noise, about -1 to 1, wavelength 1.
fn octave(x: f64, y: f64, seed: u64) -> f64 {
    let (x0, y0) = (x.floor(), y.floor());
    let (fx, fy) = (x - x0, y - y0);
    let fade = |t: f64| t * t * t * (t * (t * 6.0 - 15.0) + 10.0);
    let corner = |dx: i64, dy: i64| {
        let (cos, sin) = direction(x0 as i64 + dx, y0 as i64 + dy, seed);
        cos * (fx - dx as f64) + sin * (fy - dy as f64)
    };
    let (u, v) = (fade(fx), fade(fy));
    let south = corner(0, 0) * (1.0 - u) + corner(1, 0) * u;
    let north = corner(0, 1) * (1.0 - u) + corner(1, 1) * u;
    (south * (1.0 - v) + north * v) * std::f64::consts::SQRT_2
}

/// Fractal noise at a place: `octaves` layers, each half the wavelength and half the height of the one before.
/// `wave_m` is the longest wavelength in metres; the result is about -1 to 1.
pub fn fractal(x_m: f64, y_m: f64, wave_m: f64, octaves: u32, seed: u64) -> f64 {
    let (mut sum, mut scale, mut height, mut total) = (0.0, 1.0 / wave_m, 1.0, 0.0);
    for layer in 0..octaves {
        sum += height * octave(x_m * scale, y_m * scale, seed.wrapping_add(u64::from(layer) * 7919));
        total += height;
        scale *= 2.03;
        height *= 0.5;
    }
    sum / total
}
