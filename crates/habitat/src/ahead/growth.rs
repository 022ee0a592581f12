//! Growth of forage: what a stand's plants make in each month of a year.
//!
//! A plant group's growth is its cover times what full cover of it makes on that kind of ground (Waterhouse, Graham & Baikie 1999
//! for grass and heath; Barclay-Estrup 1970 for heather shoots by phase, halved for the uplands; Forrest & Smith 1975 for bog),
//! shared over the months (heather shoots from May to September, grass from April to October) and lowered with altitude in spring
//! and autumn but not in summer (Hunter & Grant 1971). Under trees it falls towards that of birch wood.

use super::ask::Ask;
use crate::class::Class;
use crate::state::Stand;
use guidance::Unknown;
use holding::{Phase, Plant};

/// Number of kinds of forage.
pub const KINDS: usize = 4;
/// Grass, sedge and herbs of mineral and flushed ground.
pub const GRASS: usize = 0;
/// Cotton-grass and rush.
pub const BOG: usize = 1;
/// Shoots of the year of heather.
pub const HEATHER: usize = 2;
/// Growth of the year of blaeberry and other berries.
pub const BERRIES: usize = 3;

/// Altitude the month shares hold for, metres (stated in the rows of the month shares).
const SHARES_AT_M: f32 = 300.0;

/// Figures of growth.
pub struct Figures {
    /// Tonnes of dry matter a hectare of full cover: acid grass, in-bye grass, mosaic and flush, wet rushy pasture, bog, heath, under bracken.
    acid: f32,
    in_bye: f32,
    flush: f32,
    rushy: f32,
    bog: f32,
    heath: f32,
    bracken: f32,
    /// Birch wood over acid grass: growth left under a full canopy.
    under_trees: f32,
    /// Heather shoots by phase, upland.
    shoots: [f32; 4],
    /// Wetness from which ground counts as wet.
    wet_from: f32,
    /// Share of the year's growth by month, grass and heather.
    share: [[f32; 12]; 2],
    /// Share lost for each hundred metres, by month.
    loss: [f32; 12],
}

impl Figures {
    pub(crate) fn read(r: &mut Ask) -> Result<Self, Unknown> {
        let acid = r.number("production.acid_grassland")?;
        let upland = r.number("production.heather_shoots.upland_factor")?;
        let mut shoots = [0.0; 4];
        for (s, key) in shoots.iter_mut().zip(["pioneer", "building", "mature", "degenerate"]) {
            *s = upland * r.number(&format!("production.heather_shoots.{key}"))?;
        }
        let mut share = [[0.0; 12]; 2];
        let curves = [r.curve("production.month_share.grass")?, r.curve("production.month_share.heather")?];
        for (s, c) in share.iter_mut().zip(&curves) {
            for (m, x) in s.iter_mut().enumerate() {
                *x = c.at((m + 1) as f64) as f32 / 100.0;
            }
        }
        let (spring, summer, autumn) =
            (r.percent("production.altitude.loss_spring")?, r.percent("production.altitude.loss_summer")?, r.percent("production.altitude.loss_autumn")?);
        let loss = std::array::from_fn(|m| match m {
            2..=4 => spring,
            5..=7 => summer,
            _ => autumn,
        });
        Ok(Figures {
            acid,
            in_bye: r.number("production.agrostis_festuca")?,
            flush: r.number("production.mosaic_and_flush")?,
            rushy: r.number("production.wet_rushy_pasture")?,
            bog: r.number("production.blanket_bog")?,
            heath: r.number("production.heath")?,
            bracken: r.number("production.bracken")?,
            under_trees: r.number("production.birch_woodland")? / acid,
            shoots,
            wet_from: r.number("site.flush.wetness")?,
            share,
            loss,
        })
    }

    /// Growth of a year at 300 m, tonnes of dry matter a hectare of the stand, by kind. `shade` is 0 in the open, 1 under full canopy;
    /// without a known phase heather grows as the mean of building and mature.
    pub fn year(&self, s: &Stand, shade: f32) -> [f32; KINDS] {
        let c = |p: Plant| s.covers[p as usize];
        let wet = s.wetness >= self.wet_from;
        let grass = match s.class {
            Class::InByeGrass | Class::Arable => self.in_bye,
            Class::Bracken => self.bracken,
            _ if s.flush => self.flush,
            Class::RoughGrass if wet => self.rushy,
            Class::Moor if wet => self.bog,
            _ => self.acid,
        };
        let shoots = match s.phase {
            Some(Phase::Pioneer) => self.shoots[0],
            Some(Phase::Building) => self.shoots[1],
            Some(Phase::Mature) => self.shoots[2],
            Some(Phase::Degenerate) => self.shoots[3],
            None => 0.5 * (self.shoots[1] + self.shoots[2]),
        };
        let light = 1.0 - shade * (1.0 - self.under_trees);
        [
            grass * (c(Plant::SedgeGrass) + c(Plant::Herbs)),
            self.bog * c(Plant::CottonGrass) + self.rushy * c(Plant::Rush),
            shoots * c(Plant::Heather),
            self.heath * (c(Plant::Blaeberry) + c(Plant::OtherBerries)),
        ]
        .map(|t| t * light)
    }

    /// Share of that growth made in a month (0 January), by kind, at an altitude (metres; the middle where unknown).
    pub fn month(&self, month: usize, altitude_m: Option<f32>) -> [f32; KINDS] {
        let height = (1.0 - self.loss[month] * (altitude_m.unwrap_or(SHARES_AT_M) - SHARES_AT_M) / 100.0).clamp(0.0, 2.0);
        let [g, h] = [self.share[0][month] * height, self.share[1][month] * height];
        [g, g, h, h]
    }

    /// Growth of full cover of acid grassland, tonnes a hectare: the sward heights are stated for it.
    pub fn reference(&self) -> f32 {
        self.acid
    }
}
