//! Water: after a ditch is blocked or a pool dug the ground grows wetter, and bog plants follow over years.
//!
//! Blocking brings the water table part of the way back in six years (Holden 2011: -11.5 cm drained, -8.9 blocked, -5.8 intact).
//! Heather peaked eight years after draining and the loss of bog-moss took some twenty to show (Stewart & Lance 1992); the reverse
//! is taken to be as slow: cotton-grass within the shorter time, bog-moss within the longer. They go as far towards the covers of
//! blanket bog as the water has come back.

use super::ask::Ask;
use super::covers::{Covers, set};
use crate::state::Stand;
use guidance::Unknown;
use holding::Plant;

/// Figures of water.
pub struct Figures {
    /// Share of the way back to intact.
    back: f32,
    years: f32,
    /// Years of cotton-grass and of bog-moss.
    plants_yr: [f32; 2],
    /// Covers of blanket bog: cotton-grass, bog-moss; its wetness.
    bog: [f32; 2],
    intact: f32,
    /// Share of ground that scrapes turn into open water.
    pools: f32,
    flush: f32,
}

/// Water of a stand on its way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wetted {
    /// Years since the ditch was blocked.
    years: f32,
    /// Wetness before.
    from: f32,
    /// Covers of cotton-grass and bog-moss before.
    had: [f32; 2],
}

/// Bog plants take ground from grass first.
const PARTNERS: [Plant; 5] = [Plant::SedgeGrass, Plant::Bare, Plant::Herbs, Plant::Bracken, Plant::Heather];

impl Figures {
    pub(crate) fn read(r: &mut Ask) -> Result<Self, Unknown> {
        let (intact, blocked, drained) = (r.number("water.table.intact")?, r.number("water.table.blocked")?, r.number("water.table.drained")?);
        Ok(Figures {
            back: (blocked - drained) / (intact - drained),
            years: r.number("ahead.water.years")?,
            plants_yr: [r.number("water.vegetation.calluna_peak")?, r.number("water.vegetation.sphagnum_loss")?],
            bog: [r.percent("phase1.E1.6.1.cover.cotton_grass")?, r.percent("phase1.E1.6.1.cover.moss")?],
            intact: r.number("phase1.E1.6.1.wetness")?,
            pools: r.number("water.scrape.area")? * r.number("water.scrape.per_ha")? / 10_000.0,
            flush: r.number("site.flush.least_wetness")?,
        })
    }

    pub(crate) fn wet(&self, s: &Stand) -> Wetted {
        Wetted { years: 0.0, from: s.wetness, had: [s.covers[Plant::CottonGrass as usize], s.covers[Plant::Moss as usize]] }
    }

    /// Dig pools: open water in clusters, and wet edges at once.
    pub(crate) fn scrape(&self, s: &mut Stand) {
        let water = s.covers[Plant::Bare as usize] + self.pools;
        set(&mut s.covers, Plant::Bare, water, &[Plant::SedgeGrass, Plant::Rush, Plant::Moss, Plant::Heather]);
        s.wetness = s.wetness.max(self.flush);
        s.flush = true;
    }

    /// A year after the blocking.
    pub(crate) fn year(&self, w: &mut Wetted, wetness: &mut f32, covers: &mut Covers) {
        w.years += 1.0;
        *wetness = wetness.max(w.from + self.back * (self.intact - w.from).max(0.0) * (w.years / self.years).min(1.0));
        for (i, plant) in [Plant::CottonGrass, Plant::Moss].into_iter().enumerate() {
            let to = w.had[i] + self.back * (self.bog[i] - w.had[i]).max(0.0) * (w.years / self.plants_yr[i]).min(1.0);
            if covers[plant as usize] < to {
                set(covers, plant, to, &PARTNERS);
            }
        }
    }
}
