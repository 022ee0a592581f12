mod linear;
mod stock;

/// Reference answers of the small textbook programs.
fn reference() -> serde_json::Value {
    serde_json::from_str(include_str!("../../../tests/data/lp_ip.json")).unwrap()
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
