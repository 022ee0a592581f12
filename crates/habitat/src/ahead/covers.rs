//! Bookkeeping of covers: what one plant gains another loses, and all of them never exceed the ground.

use holding::Plant;

/// Covers of the plant groups, fractions of ground, in the order of [`Plant::ALL`].
pub type Covers = [f32; 11];

/// Raise or lower the cover of a plant by `delta`, fraction of ground. A gain takes open room first and then from the
/// partners in proportion to their covers; a loss goes to the partners likewise (to the first of them where none has any).
/// Every cover stays at or above zero and the sum does not pass one if it did not before.
pub fn shift(c: &mut Covers, plant: Plant, delta: f32, partners: &[Plant]) {
    let held: f32 = partners.iter().map(|p| c[*p as usize]).sum();
    if delta > 0.0 {
        let room = (1.0 - c.iter().sum::<f32>()).max(0.0).min(delta);
        let taken = (delta - room).min(held).max(0.0);
        if taken > 0.0 {
            for p in partners {
                c[*p as usize] *= 1.0 - taken / held;
            }
        }
        c[plant as usize] += room + taken;
    } else {
        let lost = (-delta).min(c[plant as usize]);
        c[plant as usize] -= lost;
        if held > 0.0 {
            for p in partners {
                c[*p as usize] *= 1.0 + lost / held;
            }
        } else if let Some(p) = partners.first() {
            c[*p as usize] += lost;
        }
    }
}

/// Set a cover by [`shift`].
pub fn set(c: &mut Covers, plant: Plant, to: f32, partners: &[Plant]) {
    let delta = to - c[plant as usize];
    shift(c, plant, delta, partners);
}

/// Hold every cover in [0, 1] and their sum at or below `most`: one, or what the survey recorded where layers overlap.
pub fn settle(c: &mut Covers, most: f32) {
    for x in c.iter_mut() {
        *x = x.clamp(0.0, 1.0);
    }
    let sum: f32 = c.iter().sum();
    if sum > most {
        for x in c.iter_mut() {
            *x *= most / sum;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn nothing_is_made_or_lost(mut c in prop::array::uniform11(0.0f32..0.09), delta in -0.5f32..0.5) {
            let before: f32 = c.iter().sum();
            shift(&mut c, Plant::Heather, delta, &[Plant::Bare, Plant::SedgeGrass]);
            let after: f32 = c.iter().sum();
            prop_assert!(c.iter().all(|x| *x >= 0.0) && after <= 1.0 + 1e-5);
            // A gain may fill open room; a loss is passed on in whole.
            prop_assert!(after >= before - 1e-5 && (delta > 0.0 || after <= before + 1e-5));
        }
    }
}
