//! Steps of axes.

/// The least step of 1, 2 or 5 and noughts that is a length or more.
pub(super) fn step(length: f64) -> f64 {
    let length = length.max(1e-6);
    let unit = 10f64.powf(length.log10().floor());
    [1.0, 2.0, 5.0].map(|s| s * unit).into_iter().find(|s| *s >= length * (1.0 - 1e-9)).unwrap_or(10.0 * unit)
}

#[cfg(test)]
mod tests {
    use super::step;

    #[test]
    fn steps_are_round_and_no_shorter_than_asked() {
        for (length, round) in [(0.3, 0.5), (1.0, 1.0), (1.01, 2.0), (7.0, 10.0), (0.02, 0.02)] {
            assert!((step(length) - round).abs() < 1e-12, "{length}");
        }
    }
}
