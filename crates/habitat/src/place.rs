//! What a place is worth to a season: how far it lies from the other things the season needs, from people,
//! from the wood edge, and how high and steep it is. Every term runs 0 to 1.

use crate::figures::Figures;
use crate::layout::{ALTITUDE, COVER, DEPTH, DIMS, FLUSH, SLOPE, TREES, WAYS};
use crate::season::Season;

/// The term of one dimension in one season, at a value of that dimension (metres or degrees).
pub fn term(dim: usize, value: f32, season: Season, f: &Figures) -> f32 {
    let s = &f.season[season as usize];
    let fading = |far: f32, scale_m: f32| far + (1.0 - far) * (-value / scale_m).exp();
    match dim {
        DEPTH => (-value / f.wood_depth_m).exp(),
        FLUSH => fading(s.far_flush, f.scale_m[1]),
        COVER => fading(s.far_cover, f.scale_m[0]),
        TREES => fading(s.far_tree, f.scale_m[2]),
        // Whole loss within the flushing distance, gone at twice that.
        WAYS => 1.0 - f.disturbed_loss * (2.0 - value / f.flush_m).clamp(0.0, 1.0),
        ALTITUDE => {
            let [none_below, from, to, none_above] = f.altitude_m;
            ((value - none_below) / (from - none_below).max(1.0)).clamp(0.0, 1.0)
                * ((none_above - value) / (none_above - to).max(1.0)).clamp(0.0, 1.0)
        }
        SLOPE => {
            let [to, none] = f.slope_deg;
            ((none - value) / (none - to).max(1.0)).clamp(0.0, 1.0)
        }
        _ => 1.0,
    }
}

/// The product of all terms at the values of one cell.
pub fn worth(values: &[f32; DIMS], season: Season, f: &Figures) -> f32 {
    (0..DIMS).map(|d| term(d, values[d], season, f)).product()
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidance::{Country, Guidance};
    use proptest::prelude::*;
    use std::sync::OnceLock;

    fn figures() -> &'static Figures {
        static FIGURES: OnceLock<Figures> = OnceLock::new();
        FIGURES.get_or_init(|| Figures::middle(&Guidance::load().unwrap(), Country::GB).unwrap())
    }

    proptest! {
        /// Use falls with depth inside a wood (SNH report 545; White 2015) and with distance from flush, cover and trees.
        #[test]
        fn terms_fall_with_distance_and_stay_in_range(a in 0.0f32..2000.0, b in 0.0f32..2000.0, s in 0usize..7) {
            let f = figures();
            let (near, far) = (a.min(b), a.max(b));
            for dim in [DEPTH, FLUSH, COVER, TREES] {
                let (n, x) = (term(dim, near, Season::ALL[s], f), term(dim, far, Season::ALL[s], f));
                prop_assert!(x <= n && (0.0..=1.0).contains(&x) && n <= 1.0);
            }
            prop_assert!(term(WAYS, near, Season::ALL[s], f) <= term(WAYS, far, Season::ALL[s], f));
        }
    }

    #[test]
    fn four_fifths_of_use_lies_within_six_hundred_metres_of_the_edge() {
        // SNH Commissioned Report 545: 78 % within 600 m; White 2015: most within 300 m.
        let f = figures();
        let share = |to: usize| {
            let part = |m: usize| (0..m).map(|d| term(DEPTH, d as f32 + 0.5, Season::Brood, f)).sum::<f32>();
            part(to) / part(20_000)
        };
        assert!((share(600) - 0.78).abs() < 0.01, "{}", share(600));
        assert!(share(300) > 0.5);
    }
}
