//! Woods that are planted, thinned, felled and restocked.
//!
//! Planting begins a wood with open ground under it. Felling opens the ground, which takes the covers of recently felled woodland
//! (the habitat class's defaults) within some years; restocking plants it again in the same year. Closing is the growth of the crowns.

use super::ask::Ask;
use super::covers::{Covers, settle};
use crate::state::Stand;
use guidance::Unknown;
use holding::Plant;

/// Figures of felled ground.
pub struct Figures {
    /// Covers of recently felled broadleaved and conifer woodland.
    felled: [Covers; 2],
    pub(crate) years: f32,
}

/// Felled ground on its way to the covers of its kind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Felled {
    conifer: bool,
    left_yr: f32,
}

impl Figures {
    pub(crate) fn read(r: &mut Ask) -> Result<Self, Unknown> {
        let mut felled = [[0.0; 11]; 2];
        for plant in Plant::ALL {
            let key = plant.key();
            felled[0][plant as usize] = r.percent(&format!("phase1.A4.1.cover.{key}"))?;
            felled[1][plant as usize] = r.percent(&format!("phase1.A4.2.cover.{key}"))?;
        }
        felled.iter_mut().for_each(|c| settle(c, 1.0));
        Ok(Figures { felled, years: r.number("ahead.felled.years")? })
    }

    /// Fell every tree.
    pub(crate) fn fell(&self, s: &mut Stand) -> Felled {
        let conifer = s.trees.iter().any(|t| t.tree.is_plantation_conifer());
        clear(s);
        Felled { conifer, left_yr: self.years }
    }

    /// A year of felled ground; true when it has arrived.
    pub(crate) fn year(&self, f: &mut Felled, covers: &mut Covers) -> bool {
        let part = 1.0 / f.left_yr.max(1.0);
        for (c, to) in covers.iter_mut().zip(&self.felled[f.conifer as usize]) {
            *c += part * (to - *c);
        }
        f.left_yr -= 1.0;
        f.left_yr < 0.5
    }
}

/// Take every tree away.
pub(crate) fn clear(s: &mut Stand) {
    s.trees.clear();
    (s.canopy, s.tree_height_m, s.wood_age_yr, s.open) = (0.0, 0.0, 0.0, 1.0);
}

/// Keep a share of the stems.
pub(crate) fn thin(s: &mut Stand, keep: f32) {
    let keep = keep.clamp(0.0, 1.0);
    if s.trees.is_empty() {
        s.canopy = 1.0 - (1.0 - s.canopy).powf(keep);
    }
    for t in &mut s.trees {
        t.stems_per_ha *= keep;
    }
}
