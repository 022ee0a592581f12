//! Grazing: what stock need, where and on what they take it, and what share of the year's growth is gone.
//!
//! Demand is head times daily intake by class and month (Hill Farming Research Organisation, AFRC 1993, from memory). Each month
//! the stock of a parcel take bites anywhere in it: a kind of forage is taken at a rate in proportion to what is left of it and to
//! its preference, so that over the month a share `1 - exp(-w x)` of each goes, with one `x` for the parcel found so that the sum
//! meets the demand. Preference against grass follows the share of heather in hill-sheep diet by season on ground with as much of
//! one as of the other; blaeberry is taken hardest in autumn (Welch 1998); in-bye grass is sought as much more as the stock it carries
//! in practice eats more of it than of acid grassland. More stock so never lowers the use of any plant
//! within a year. Need that the parcel cannot meet is fed or gone without, and told.

use super::ask::Ask;
use super::course::Moving;
use super::growth::{BERRIES, BOG, GRASS, HEATHER, KINDS};
use super::stock::{CLASSES, Head};
use crate::class::Class;
use guidance::Unknown;

/// Days of a month, mean of the year.
const DAYS: f32 = 365.0 / 12.0;
/// The months of a growing year, April to March.
pub(crate) const YEAR: [usize; 12] = [3, 4, 5, 6, 7, 8, 9, 10, 11, 0, 1, 2];
/// May, when heather and blaeberry begin to grow.
const MAY: usize = 4;
/// October, when blaeberry drops its leaf.
const OCTOBER: usize = 9;

/// What the year's grazing took.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Grazed {
    /// Share of the year's heather shoots eaten, 0 to 1.
    pub heather: f32,
    /// Share of the year's growth of blaeberry and other berries eaten, 0 to 1.
    pub blaeberry: f32,
    /// Share of the year's growth of grass, sedge, rush and herbs eaten, 0 to 1.
    pub grass: f32,
    /// Share of all of the year's forage eaten, 0 to 1.
    pub forage: f32,
    /// Forage grown, tonnes of dry matter a hectare.
    pub grown_t_per_ha: f32,
    /// Forage eaten, tonnes of dry matter a hectare.
    pub eaten_t_per_ha: f32,
    /// Share of the parcel stock's need of the year that the parcel did not meet, 0 to 1.
    pub unmet: f32,
}

/// Figures of grazing.
pub struct Figures {
    /// Need of one head, kilograms of dry matter a day, by class and month.
    need: [[f32; 12]; CLASSES],
    /// Ewe equivalents of one head by class, as the survey counts them.
    ewes: [f32; CLASSES],
    /// Preference by month and kind of forage against grass.
    prefer: [[f32; KINDS]; 12],
    /// Preference for in-bye grass against hill grass.
    sweet: f32,
    /// Greatest share of the forage standing that can be taken in a month.
    most: f32,
    /// Share of standing grass that dies in a month.
    dies: f32,
    /// Share of blaeberry's growth that falls as leaf.
    leaf_fall: f32,
}

impl Figures {
    pub(crate) fn read(r: &mut Ask) -> Result<Self, Unknown> {
        let year = r.number("intake.hill_ewe.year_mean")?;
        let (winter, suckling) = (r.number("intake.hill_ewe.winter")?, r.number("intake.hill_ewe.lactating")?);
        // Winter November to April, May to July with a lamb at foot, the mean of the year between.
        let ewe: [f32; 12] = std::array::from_fn(|m| match m {
            4..=6 => suckling,
            7..=9 => year,
            _ => winter,
        });
        let heavy = r.number("intake.heavy_ewe")?;
        let hind = r.number("intake.red_hind")?;
        let low = 1.0 - r.percent("intake.deer_winter_depression")?;
        let flat = [r.number("intake.hogg")?, r.number("intake.suckler_cow_and_calf")?, r.number("intake.store_cattle")?, r.number("intake.pony")?];
        let need = [
            ewe,
            ewe.map(|e| e * heavy / year),
            [flat[0]; 12],
            [flat[1]; 12],
            [flat[2]; 12],
            [flat[3]; 12],
            std::array::from_fn(|m| if (4..=9).contains(&m) { hind } else { hind * low }),
        ];
        let ewes = [1.0, heavy / year, flat[0] / year, flat[1] / year, flat[2] / year, flat[3] / year, hind / year];
        // A share s of the diet where both stand alike is a preference of s / (1 - s).
        let mut odds = |key: &str| r.percent(key).map(|s| s / (1.0 - s));
        let summer = odds("utilisation.heather_in_sheep_diet.may_aug")?;
        let autumn = odds("utilisation.heather_in_sheep_diet.sep_oct")?;
        let winter = odds("utilisation.heather_in_sheep_diet.nov_mar")?;
        let (berries_autumn, berries_other) = (r.number("ahead.prefer.blaeberry_autumn")?, r.number("ahead.prefer.blaeberry_other")?);
        let bog = r.number("ahead.prefer.bog")?;
        let prefer = std::array::from_fn(|m| {
            let heather = match m {
                4..=7 => summer,
                // April lies between winter and summer as autumn does.
                3 | 8 | 9 => autumn,
                _ => winter,
            };
            let berries = if (8..=10).contains(&m) { berries_autumn } else { berries_other };
            let mut w = [0.0; KINDS];
            (w[GRASS], w[BOG], w[HEATHER], w[BERRIES]) = (1.0, bog, heather, berries);
            w
        });
        // Use at the rates of practice, from head in season, intake and growth: equal exposure to stock would eat equal shares.
        let days = 6.0 * DAYS;
        let mut eaten = |rate: &str, grown: &str| -> Result<f32, Unknown> {
            Ok((r.number(rate)? * year * days / 1000.0 / r.number(grown)?).min(0.95))
        };
        let bent = eaten("stocking.bent_fescue", "production.agrostis_festuca")?;
        let acid = eaten("stocking.acid_grass.ewes", "production.acid_grassland")?;
        Ok(Figures {
            need,
            ewes,
            prefer,
            sweet: (1.0 - bent).ln() / (1.0 - acid).ln(),
            most: r.percent("ahead.eaten_most")?,
            dies: r.percent("ahead.grass.dies")?,
            leaf_fall: r.percent("ahead.blaeberry.leaf_fall")?,
        })
    }

    /// Need of all stock of a parcel in a month (0 January), tonnes of dry matter.
    pub fn need_t(&self, head: &Head, parcel: usize, month: usize) -> f32 {
        head.month(parcel, month).iter().zip(&self.need).map(|(h, n)| h * n[month]).sum::<f32>() * DAYS / 1000.0
    }

    /// Ewes or their equal a hectare of a parcel, summer (May to September) and winter (November to March), as the survey counts.
    pub fn ewes_per_ha(&self, head: &Head, parcel: usize) -> [f32; 2] {
        let ha = head.area_ha(parcel);
        if ha <= 0.0 {
            return [0.0; 2];
        }
        let mean = |months: [usize; 5]| {
            let sum: f32 = months.iter().map(|m| head.month(parcel, *m).iter().zip(&self.ewes).map(|(h, e)| h * e).sum::<f32>()).sum();
            sum / 5.0 / ha
        };
        [mean([4, 5, 6, 7, 8]), mean([10, 11, 0, 1, 2])]
    }

    /// The stands `of` one parcel (or of none) through a growing year, April to March.
    pub(crate) fn year(&self, growth: &super::growth::Figures, all: &mut [Moving], of: &[usize], parcel: Option<usize>, head: &Head) {
        let (mut whole, mut open) = (0.0, 0.0);
        for &i in of {
            let m = &mut all[i];
            m.forage = growth.year(&m.stand, m.shade);
            (m.grown, m.eaten) = ([0.0; KINDS], [0.0; KINDS]);
            whole += m.place.area_ha;
            open += if m.stock_out_yr > 0 { 0.0 } else { m.place.area_ha };
        }
        let ha = parcel.map_or(0.0, |p| head.area_ha(p));
        // Unmapped ground of the parcel feeds its share; ground shut to stock throws its share on the rest.
        let share = if ha > 0.0 && open > 0.0 { (whole / ha).min(1.0).max(open / ha) } else { 0.0 };
        let (mut needed, mut unmet) = (0.0, 0.0);
        for month in YEAR {
            let mut w = [self.sweet; KINDS + 1];
            w[..KINDS].copy_from_slice(&self.prefer[month]);
            let mut reach = [0.0f32; KINDS + 1];
            for &i in of {
                let m = &mut all[i];
                if month == MAY {
                    (m.standing[HEATHER], m.standing[BERRIES]) = (0.0, 0.0);
                }
                let g = growth.month(month, m.place.altitude_m);
                for k in 0..KINDS {
                    let grown = m.forage[k] * g[k];
                    m.grown[k] += grown;
                    m.standing[k] += grown;
                    if m.stock_out_yr == 0 {
                        reach[slot(m, k)] += m.standing[k] * m.place.area_ha;
                    }
                }
            }
            let need = parcel.map_or(0.0, |p| self.need_t(head, p, month)) * share;
            let can = self.most * reach.iter().sum::<f32>();
            let take = need.min(can);
            (needed, unmet) = (needed + need, unmet + (need - take));
            let gone = if take > 0.0 { shares(&reach, &w, take) } else { [0.0; KINDS + 1] };
            for &i in of {
                let m = &mut all[i];
                for k in 0..KINDS {
                    if m.stock_out_yr == 0 {
                        let eaten = m.standing[k] * gone[slot(m, k)];
                        m.eaten[k] += eaten;
                        m.standing[k] -= eaten;
                    }
                }
                m.standing[GRASS] *= 1.0 - self.dies;
                m.standing[BOG] *= 1.0 - self.dies;
                if month == OCTOBER {
                    m.standing[BERRIES] *= 1.0 - self.leaf_fall;
                }
            }
        }
        for &i in of {
            let m = &mut all[i];
            let part = |kinds: &[usize]| {
                let (eaten, grown) = kinds.iter().fold((0.0, 0.0), |(e, g), k| (e + m.eaten[*k], g + m.grown[*k]));
                if grown > 0.0 { (eaten / grown).min(1.0) } else { 0.0 }
            };
            m.field_eaten = part(&[GRASS, BOG, BERRIES]);
            m.grazed = Grazed {
                heather: part(&[HEATHER]),
                blaeberry: part(&[BERRIES]),
                grass: part(&[GRASS, BOG]),
                forage: part(&[GRASS, BOG, HEATHER, BERRIES]),
                grown_t_per_ha: m.grown.iter().sum(),
                eaten_t_per_ha: m.eaten.iter().sum(),
                unmet: if needed > 0.0 { unmet / needed } else { 0.0 },
            };
            m.stand.ewes_per_ha = match parcel {
                Some(p) if m.stock_out_yr == 0 => self.ewes_per_ha(head, p).map(|e| if open > 0.0 { e * (share * ha / open) } else { 0.0 }),
                _ => [0.0; 2],
            };
        }
    }
}

/// Which preference a kind of forage of a stand has: its own, or the last for in-bye grass.
fn slot(m: &Moving, kind: usize) -> usize {
    if kind == GRASS && m.stand.class == Class::InByeGrass { KINDS } else { kind }
}

/// Share of each kind taken when `take` tonnes go out of `reach` (tonnes) by preference `w`: `1 - exp(-w x)`, x found by Newton's
/// steps, which rise to the root from below as the sum is concave.
fn shares<const N: usize>(reach: &[f32; N], w: &[f32; N], take: f32) -> [f32; N] {
    let mut x = 0.0f32;
    for _ in 0..40 {
        let (mut got, mut slope) = (0.0, 0.0);
        for k in 0..N {
            let left = (-w[k] * x).exp();
            got += reach[k] * (1.0 - left);
            slope += reach[k] * w[k] * left;
        }
        if take - got <= 1e-5 * take || slope <= 0.0 {
            break;
        }
        x += (take - got) / slope;
    }
    w.map(|w| 1.0 - (-w * x).exp())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_is_taken_meets_the_demand_and_rises_with_it(reach in prop::array::uniform4(0.01f32..100.0), part in 0.01f32..0.85, more in 1.0f32..1.05) {
            let w = [1.0, 0.5, 0.11, 0.5];
            let take = part * reach.iter().sum::<f32>();
            let a = shares(&reach, &w, take);
            let b = shares(&reach, &w, take * more);
            let got: f32 = a.iter().zip(&reach).map(|(s, r)| s * r).sum();
            prop_assert!((got - take).abs() < 2e-3 * take, "{got} {take}");
            for k in 0..KINDS {
                prop_assert!((0.0..=1.0).contains(&a[k]) && b[k] >= a[k] - 1e-4);
            }
        }
    }
}
