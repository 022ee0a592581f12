//! The ground layer under a canopy: heather falls with shade, blaeberry is best half way, grass and herbs thin out.
//!
//! Heather's cover rises with light and blaeberry's is best at intermediate light in tall open stands, least in thicket (Parlane 2006,
//! Scots pine, Scotland); the curve of blaeberry over basal area is that of Turtiainen 2016 (Finland), used relative to the blaeberry
//! of the stand and with canopy turned into basal area. As birch closes, heather gives way to blaeberry and then to grass
//! (Hester, Miles & Gimingham 1991). Glades inside the outline stay lit.

use super::ask::Ask;
use guidance::{Curve, Unknown};

/// Figures of the ground layer.
pub struct Figures {
    heather_gone: f32,
    grass_loss: f32,
    berries: Curve,
    full_basal_area: f32,
    pace: f32,
}

/// What light leaves of a plant's cover, relative to the same ground in another light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Light {
    pub(crate) heather: f32,
    pub(crate) berries: f32,
    pub(crate) grass: f32,
}

/// Shade and canopy the ground plants have come to terms with.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Dim {
    pub(crate) shade: f32,
    pub(crate) canopy: f32,
}

impl Figures {
    pub(crate) fn read(r: &mut Ask) -> Result<Self, Unknown> {
        Ok(Figures {
            heather_gone: r.number("ahead.shade.heather_gone")?,
            grass_loss: r.percent("ahead.shade.grass_loss")?,
            berries: r.curve("woods.bilberry_relative")?,
            full_basal_area: r.number("ahead.shade.full_basal_area")?,
            pace: r.percent("ahead.shade.pace")?,
        })
    }

    /// A year towards the light under the trees as they stand.
    pub(crate) fn year(&self, d: &mut Dim, shade: f32, canopy: f32) {
        d.shade += self.pace * (shade - d.shade);
        d.canopy += self.pace * (canopy - d.canopy);
    }

    /// What that light leaves; `open` is the share of glades.
    pub(crate) fn light(&self, d: &Dim, open: f32) -> Light {
        let part = |under: f32, lit: f32| open * lit + (1.0 - open) * under;
        Light {
            heather: part((1.0 - d.shade / self.heather_gone).max(0.0), 1.0),
            berries: part(self.berries.at((d.canopy * self.full_basal_area) as f64) as f32, self.berries.at(0.0) as f32),
            grass: part(1.0 - self.grass_loss * d.shade, 1.0),
        }
    }

    /// Share of a plant's cover now against the start: the ratio of the lights, what was dark counting as nearly so.
    pub(crate) fn ratio(now: f32, start: f32) -> f32 {
        now.max(0.0) / start.max(0.1)
    }
}
