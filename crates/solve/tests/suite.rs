//! Textbook programs, seeded cases against enumeration, and bounds.
#![allow(clippy::unwrap_used)]

mod choose;
mod linear;
mod rotation;
mod stock;

/// Reference answers of the small textbook programs.
fn reference() -> serde_json::Value {
    serde_json::from_str(include_str!("data/lp_ip.json")).unwrap()
}

fn numbers(v: &serde_json::Value) -> Vec<f64> {
    v.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
}

fn table(v: &serde_json::Value) -> Vec<Vec<f64>> {
    v.as_array().map(|rows| rows.iter().map(numbers).collect()).unwrap_or_default()
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-6 * b.abs().max(1.0)
}

/// Seeded numbers for made-up cases.
struct Made(u64);

impl Made {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, a: f64, b: f64) -> f64 {
        a + (b - a) * self.next()
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() * n as f64) as usize
    }
}
