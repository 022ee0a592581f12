//! Fields and kept ground: meadows cut late, rush cut in turn, a crop left over winter, ground kept short, trees cleared.
//!
//! A late cut falls after the brood season: the sward of the next spring starts without litter. Cut rush is back in three years
//! (common practice, no source). A crop stands with the covers of arable ground (the habitat class's defaults) in each year it is grown, and
//! the ground goes back to what it was when it is not. Ground kept short never passes its height.

use super::ask::Ask;
use super::covers::{Covers, set, settle};
use guidance::Unknown;
use holding::{Plant, Stubble};

/// Figures of fields.
pub struct Figures {
    arable: Covers,
    arable_cm: [f32; 2],
    rush_yr: f32,
}

/// What lies under a crop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ploughed {
    covers: Covers,
    stubble: Option<Stubble>,
}

impl Figures {
    pub(crate) fn read(r: &mut Ask) -> Result<Self, Unknown> {
        let mut arable = [0.0; 11];
        for plant in Plant::ALL {
            arable[plant as usize] = r.percent(&format!("phase1.J1.1.cover.{}", plant.key()))?;
        }
        settle(&mut arable, 1.0);
        Ok(Figures {
            arable,
            arable_cm: [r.number("phase1.J1.1.height_cm")?, r.number("phase1.J1.1.height_sd_cm")?],
            rush_yr: r.number("ahead.rush.regrowth")?,
        })
    }

    /// Sow: covers of a crop, and what stood before.
    pub(crate) fn sow(&self, covers: &mut Covers, stubble: &mut Option<Stubble>, left: Stubble) -> Ploughed {
        let before = Ploughed { covers: *covers, stubble: *stubble };
        *covers = self.arable;
        *stubble = Some(left);
        before
    }

    /// Height of a crop and its spread, centimetres.
    pub(crate) fn crop_cm(&self) -> (f32, f32) {
        (self.arable_cm[0], self.arable_cm[1])
    }

    /// Cut a share of the rush; the cover of rush to grow back to is kept by the caller.
    pub(crate) fn cut_rush(&self, covers: &mut Covers, share: f32) {
        let left = covers[Plant::Rush as usize] * (1.0 - share.clamp(0.0, 1.0));
        set(covers, Plant::Rush, left, &[Plant::SedgeGrass, Plant::Herbs]);
    }

    /// A year of regrowth towards the cover of rush before any cut.
    pub(crate) fn regrow_rush(&self, covers: &mut Covers, full: f32) {
        let now = covers[Plant::Rush as usize];
        if now < full {
            set(covers, Plant::Rush, (now + full / self.rush_yr).min(full), &[Plant::SedgeGrass, Plant::Herbs]);
        }
    }
}

impl Ploughed {
    /// Put back what was there.
    pub(crate) fn undo(&self, covers: &mut Covers, stubble: &mut Option<Stubble>) {
        *covers = self.covers;
        *stubble = self.stubble;
    }
}
