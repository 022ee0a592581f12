//! Trees: height by species and exposure, crowns, canopy, survival after planting, and first catkins, berries or cones.
//!
//! `H = A (1 - exp(-k t))^p`, A between a sheltered and an exposed figure by altitude; a surveyed tree carries the ratio of its height
//! to the curve along (the anamorphic form: `H2 = H1 ((1 - exp(-k t2)) / (1 - exp(-k t1)))^p`). Crowns are as wide as a share of the
//! height, and overlap at random: canopy `1 - exp(-N a)` (Crookston & Stage 1999, from memory). A judged canopy keeps its ratio to
//! the computed overlap. Young trees of the plan die back to what upland planting keeps, with the usual beating up in the first two
//! years; where stock walk among trees they can reach, the trees stand still and are lost.

use super::ask::Ask;
use crate::state::{Stand, Trees};
use guidance::Unknown;
use holding::Tree;

/// Figures of trees.
pub struct Figures {
    species: [Species; 12],
    power: f32,
    altitude_m: [f32; 2],
    /// Share of planted stems alive when the planting has settled.
    kept: f32,
    settled_yr: f32,
    plant_m: f32,
    reach_m: f32,
    browsed_loss: f32,
    browsed_from: f32,
    light_crowned: f32,
}

#[derive(Clone, Copy, Default)]
struct Species {
    sheltered_m: f32,
    exposed_m: f32,
    rate: f32,
    crown: f32,
    fruit_yr: f32,
}

/// One species of a stand's trees on its way, beside [`Trees`].
#[derive(Clone, Copy, Debug)]
pub struct Stem {
    /// Surveyed height over the curve's.
    ratio: f32,
    /// Years to add to the age where the survey gives a height but no age.
    older_yr: f32,
    /// Planted by the plan.
    planned: bool,
}

/// Height at an age: `greatest (1 - exp(-rate age))^power`, metres.
pub(crate) fn height_m(greatest_m: f32, rate: f32, power: f32, age_yr: f32) -> f32 {
    greatest_m * (1.0 - (-rate * age_yr).exp()).powf(power)
}

/// Crown area on a hectare over its ground, for stems a hectare with crowns of a width, metres.
pub(crate) fn overlap(stems_per_ha: f32, crown_m: f32) -> f32 {
    stems_per_ha * std::f32::consts::PI * crown_m * crown_m / 4.0 / 10_000.0
}

/// Canopy of crowns that overlap at random, fraction of ground.
pub fn canopy(stems_per_ha: f32, crown_m: f32) -> f32 {
    1.0 - (-overlap(stems_per_ha, crown_m)).exp()
}

impl Figures {
    pub(crate) fn read(r: &mut Ask) -> Result<Self, Unknown> {
        let mut species = [Species::default(); 12];
        for tree in Tree::ALL {
            let key = tree.key();
            species[tree as usize] = Species {
                sheltered_m: r.number(&format!("tree.height.{key}.sheltered"))?,
                exposed_m: r.number(&format!("tree.height.{key}.exposed"))?,
                rate: r.number(&format!("tree.height.{key}.rate"))?,
                crown: r.number(&format!("tree.crown.{key}"))?,
                fruit_yr: r.number(&format!("tree.first_fruit.{key}"))?,
            };
        }
        let alive = r.percent("planting.survival.upland")?;
        let beaten_up = (r.percent("planting.beat_up.year_1")? + r.percent("planting.beat_up.year_2")?).min(1.0 - alive);
        Ok(Figures {
            species,
            power: r.number("tree.height.power")?,
            altitude_m: [r.number("tree.exposure.sheltered_below_m")?, r.number("tree.exposure.exposed_above_m")?],
            kept: alive + beaten_up * alive,
            settled_yr: r.number("ahead.trees.settled_years")?,
            plant_m: r.number("planting.stock_size.small")? / 100.0,
            reach_m: r.number("planting.leader_free.sheep")?,
            browsed_loss: r.percent("ahead.trees.browsed_loss")?,
            browsed_from: r.number("ahead.trees.browsed_from")?,
            light_crowned: r.number("ahead.shade.light_crowned")?,
        })
    }

    fn greatest_m(&self, tree: Tree, altitude_m: Option<f32>) -> f32 {
        let [low, high] = self.altitude_m;
        let exposed = altitude_m.map_or(0.5, |a| ((a - low) / (high - low)).clamp(0.0, 1.0));
        let s = &self.species[tree as usize];
        s.sheltered_m + (s.exposed_m - s.sheltered_m) * exposed
    }

    /// Height of a tree of the curve at an age and altitude (half way between sheltered and exposed where unknown), metres.
    pub fn height_m(&self, tree: Tree, age_yr: f32, altitude_m: Option<f32>) -> f32 {
        height_m(self.greatest_m(tree, altitude_m), self.species[tree as usize].rate, self.power, age_yr)
    }

    /// Ties of surveyed trees to the curve.
    pub(crate) fn start(&self, s: &Stand, altitude_m: Option<f32>) -> Vec<Stem> {
        s.trees
            .iter()
            .map(|t| {
                let curve = self.height_m(t.tree, t.age_yr, altitude_m);
                if t.age_yr >= 1.0 && curve > 0.0 {
                    Stem { ratio: t.height_m / curve, older_yr: 0.0, planned: false }
                } else {
                    let part = (t.height_m / self.greatest_m(t.tree, altitude_m)).clamp(0.0, 0.99);
                    let age = -(1.0 - part.powf(1.0 / self.power)).ln() / self.species[t.tree as usize].rate;
                    Stem { ratio: 1.0, older_yr: (age - t.age_yr).max(0.0), planned: false }
                }
            })
            .collect()
    }

    /// Ratio of the surveyed canopy's overlap to the computed one.
    pub(crate) fn judged(&self, s: &Stand) -> f32 {
        let computed = self.overlap(s);
        if computed > 0.0 { -(1.0 - s.canopy.clamp(0.0, 0.99)).ln() / computed } else { 1.0 }
    }

    fn overlap(&self, s: &Stand) -> f32 {
        s.trees.iter().map(|t| overlap(t.stems_per_ha, t.height_m * self.species[t.tree as usize].crown)).sum()
    }

    /// Plant stems (a hectare of the whole outline).
    pub(crate) fn plant(&self, s: &mut Stand, stems: &[(Tree, f32)], paths: &mut Vec<Stem>) {
        s.trees.clear();
        paths.clear();
        for (tree, stems_per_ha) in stems.iter().filter(|(_, n)| *n > 0.0) {
            s.trees.push(Trees { tree: *tree, stems_per_ha: *stems_per_ha, height_m: self.plant_m, age_yr: 0.0, canopy: 0.0, bears: false });
            paths.push(Stem { ratio: 1.0, older_yr: 0.0, planned: true });
        }
    }

    /// A year of growth. `stock` is ewes a hectare among the trees, nothing where they are kept out.
    pub(crate) fn year(&self, s: &mut Stand, paths: &[Stem], stock: f32, altitude_m: Option<f32>) {
        for (t, p) in s.trees.iter_mut().zip(paths) {
            t.age_yr += 1.0;
            if p.planned && t.age_yr <= self.settled_yr {
                t.stems_per_ha *= self.kept.powf(1.0 / self.settled_yr);
            }
            if p.planned && stock > 0.0 && t.height_m < self.reach_m {
                t.stems_per_ha *= 1.0 - self.browsed_loss * (stock / self.browsed_from).min(1.0);
            } else {
                t.height_m = t.height_m.max(p.ratio * self.height_m(t.tree, t.age_yr + p.older_yr, altitude_m));
            }
        }
    }

    /// Canopy, bearing, mean height from the trees as they stand; `judged` as at the start.
    pub(crate) fn write(&self, s: &mut Stand, judged: f32) {
        if s.trees.is_empty() {
            return;
        }
        let mut bare = 1.0;
        for t in &mut s.trees {
            t.canopy = canopy(t.stems_per_ha, t.height_m * self.species[t.tree as usize].crown);
            t.bears = t.age_yr >= self.species[t.tree as usize].fruit_yr;
            bare *= 1.0 - t.canopy;
        }
        let computed = 1.0 - bare;
        s.canopy = 1.0 - bare.powf(judged);
        if computed > 0.0 {
            for t in &mut s.trees {
                t.canopy *= (s.canopy / computed).min(1.0 / t.canopy.max(1e-6));
            }
        }
        let stems: f32 = s.trees.iter().map(|t| t.stems_per_ha).sum();
        s.tree_height_m = if stems > 0.0 { s.trees.iter().map(|t| t.stems_per_ha * t.height_m).sum::<f32>() / stems } else { 0.0 };
    }

    /// Shade under the trees, 0 to 1: their canopy, light crowns counting in part.
    pub(crate) fn shade(&self, s: &Stand) -> f32 {
        let all: f32 = s.trees.iter().map(|t| t.canopy).sum();
        if all <= 0.0 {
            return s.canopy * self.light_crowned;
        }
        let dense: f32 = s.trees.iter().map(|t| t.canopy * if t.tree.is_plantation_conifer() { 1.0 } else { self.light_crowned }).sum();
        s.canopy * dense / all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The overlap formula against the values and the simulation kept with the checks (three stands of crowns placed at random on a
    /// torus, 120 draws; `1 - exp(-N a)` to ten digits).
    #[test]
    fn canopy_is_the_random_overlap_of_crowns() {
        for (stems, radius_m, exact, simulated, error) in [
            (100.0, 2.0, 0.118_088_6, 0.118_270_8, 0.001_04),
            (250.0, 2.0, 0.269_597_3, 0.270_519_5, 0.001_236),
            (400.0, 2.5, 0.544_061_9, 0.542_135_1, 0.001_892),
        ] {
            let got = canopy(stems, 2.0 * radius_m);
            assert!((got - exact).abs() < 1e-6, "{got} {exact}");
            assert!((got - simulated).abs() < 3.0 * error);
        }
    }

    /// The curve itself: heights in feet of the Loblolly pine of R's own data by the fit of R 4.2.2 (A 76.93, k 0.0827, p 1.847).
    #[test]
    fn the_curve_is_that_of_the_reference_fit() {
        for (age, want) in [(1.0, 0.713_663), (5.0, 10.406_779), (10.0, 26.579_77), (25.0, 59.911_58), (50.0, 74.670_49)] {
            let got = height_m(76.933_526, 0.082_658_86, 1.846_938_4, age);
            assert!((got - want).abs() < 1e-4 * want, "{age}: {got} {want}");
        }
    }

    /// The anamorphic form: k 0.045, p 1.35, 5 m at 15 years; heights by an independent program.
    #[test]
    fn a_surveyed_height_runs_along_the_anamorphic_curve() {
        let curve = |t: f32| height_m(1.0, 0.045, 1.35, t);
        for (age, want) in [(5.0, 1.502_868_3), (10.0, 3.319_367_3), (20.0, 6.460_2), (30.0, 8.714_877), (60.0, 11.896_189)] {
            let got = 5.0 / curve(15.0) * curve(age);
            assert!((got - want).abs() < 2e-5 * want, "{age}: {got} {want}");
        }
    }
}
