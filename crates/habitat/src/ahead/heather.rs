//! Heather: age, height, phase and cover, and what a cut or a burn does.
//!
//! Height follows `H = Hmax (1 - exp(-k t))` with Hmax by altitude (sheltered, middle, exposed); cover opens and closes by age as in
//! the life cycle of Watt and Gimingham (pioneer, building, mature, degenerate; covers after Barclay-Estrup & Gimingham 1969).
//! Use by stock slows both and stops them at the use that halves shoot production (Grant 1978); any use slows cover after burning
//! (Palmer 1997). After a cut or burn cover comes back best from stands of six to ten years and ever more slowly from older
//! ones (Miller & Miles 1970). Where neither age nor phase was recorded the stand is taken as uneven-aged: its height grows on, its
//! cover does not open with age.

use super::ask::Ask;
use crate::state::Stand;
use guidance::{Curve, Unknown};
use holding::{Phase, Plant};

/// Figures of heather.
pub struct Figures {
    /// Greatest height, centimetres: sheltered, middle, exposed.
    most_cm: [f32; 3],
    /// Altitudes of sheltered and exposed ground, metres.
    altitude_m: [f32; 2],
    /// Rate of growth in height, a year.
    rate: f32,
    /// First ages of building, mature and degenerate heather, years.
    phase_from: [f32; 3],
    /// Cover by age, as a share of the greatest.
    by_age: Curve,
    /// Age of the greatest cover, years.
    closed_age: f32,
    /// Age of best regeneration, years.
    best_age: f32,
    /// Pace of regeneration at the degenerate age against the best.
    old_pace: f32,
    /// Use at which growth stops.
    pub(crate) heavy: f32,
}

/// Heather of a stand on its way.
#[derive(Clone, Debug)]
pub struct Heath {
    /// Recorded, or known since a cut or burn.
    pub known: bool,
    /// A phase or age stands in the survey.
    recorded: bool,
    /// Age, years.
    pub age_yr: f32,
    /// Age its height is that of, years.
    height_age: f32,
    /// Age its cover is that of, years.
    cover_age: f32,
    /// Pace at which cover comes back since the last cut or burn.
    pace: f32,
    /// Greatest height here, centimetres.
    most_cm: f32,
    /// Cover at the best age in the open, fraction.
    pub ground: f32,
    /// Years since the last cut or burn of the plan.
    pub since_work_yr: Option<u32>,
}

impl Heath {
    /// Take a cover as that of uneven-aged heather.
    pub(crate) fn reset(&mut self, cover: f32) {
        (self.known, self.ground, self.height_age) = (false, cover, 0.0);
    }
}

impl Figures {
    pub(crate) fn read(r: &mut Ask) -> Result<Self, Unknown> {
        let phase_from = [r.number("heather.phase.building.from")?, r.number("heather.phase.mature.from")?, r.number("heather.phase.degenerate.from")?];
        let to = [r.number("heather.phase.pioneer.to")?, r.number("heather.phase.building.to")?, r.number("heather.phase.mature.to")?];
        let pioneer = r.number("heather.phase.pioneer.from")?;
        let canopy = [
            r.number("heather.canopy.pioneer")?,
            r.number("heather.canopy.building")?,
            r.number("heather.canopy.mature")?,
            r.number("heather.canopy.degenerate")?,
        ];
        let most = canopy.iter().copied().fold(0.0, f32::max);
        let points = vec![
            (pioneer, 0.0),
            ((pioneer + to[0]) / 2.0, canopy[0]),
            ((phase_from[0] + to[1]) / 2.0, canopy[1]),
            ((phase_from[1] + to[2]) / 2.0, canopy[2]),
            (phase_from[2], canopy[3]),
        ];
        Ok(Figures {
            most_cm: [r.number("heather.height_max.sheltered")?, r.number("heather.height_max.middle")?, r.number("heather.height_max.exposed")?],
            altitude_m: [r.number("tree.exposure.sheltered_below_m")?, r.number("tree.exposure.exposed_above_m")?],
            rate: r.number("heather.height_rate")?,
            phase_from,
            closed_age: (phase_from[0] + to[1]) / 2.0,
            by_age: Curve::from_points(points.into_iter().map(|(age, c)| (age as f64, (c / most) as f64)).collect()),
            best_age: r.number("heather.regeneration.best")?,
            old_pace: r.number("ahead.heather.regeneration_old")?,
            heavy: r.percent("utilisation.heather.heavy")?,
        })
    }

    /// Greatest height at an altitude, centimetres; middle ground where the altitude is unknown.
    pub fn most_cm(&self, altitude_m: Option<f32>) -> f32 {
        let [low, high] = self.altitude_m;
        let x = altitude_m.map_or(0.5, |a| ((a - low) / (high - low)).clamp(0.0, 1.0));
        let [s, m, e] = self.most_cm;
        if x < 0.5 { s + (m - s) * 2.0 * x } else { m + (e - m) * (2.0 * x - 1.0) }
    }

    /// Height at an age, centimetres.
    pub fn height_cm(&self, most_cm: f32, age_yr: f32) -> f32 {
        most_cm * (1.0 - (-self.rate * age_yr.max(0.0)).exp())
    }

    /// Age at which a height is reached, years; that of nine tenths of the greatest for anything taller.
    fn age_of(&self, most_cm: f32, height_cm: f32) -> f32 {
        -(1.0 - (height_cm / most_cm).clamp(0.0, 0.9)).ln() / self.rate
    }

    /// Phase at an age.
    pub fn phase(&self, age_yr: f32) -> Phase {
        match self.phase_from.iter().filter(|from| age_yr >= **from).count() {
            0 => Phase::Pioneer,
            1 => Phase::Building,
            2 => Phase::Mature,
            _ => Phase::Degenerate,
        }
    }

    fn cover(&self, age_yr: f32) -> f32 {
        self.by_age.at(age_yr as f64) as f32
    }

    /// Heather of a surveyed stand.
    pub(crate) fn start(&self, s: &Stand, altitude_m: Option<f32>) -> Heath {
        let most_cm = self.most_cm(altitude_m);
        let [building, mature, degenerate] = self.phase_from;
        let recorded = s.heather_age_yr.or_else(|| {
            s.phase.map(|p| match p {
                Phase::Pioneer => building / 2.0,
                Phase::Building => (building + mature) / 2.0,
                Phase::Mature => (mature + degenerate) / 2.0,
                Phase::Degenerate => degenerate,
            })
        });
        let age = recorded.unwrap_or_else(|| self.age_of(most_cm, s.height_cm));
        let cover = s.covers[Plant::Heather as usize];
        let open: f32 = 1.0 - s.covers.iter().sum::<f32>() + s.covers[Plant::Bare as usize] + s.covers[Plant::SedgeGrass as usize];
        let ground = match recorded {
            // Young heather closes over bare ground and grass, but not over the rest; old heather has opened from what it once covered.
            Some(age) => (cover / self.cover(age).max(1e-3)).min(if age < self.closed_age { cover + open.max(0.0) } else { 1.0 }),
            None => cover,
        };
        // Where that bound bit, the cover is as old as it looks.
        let mut cover_age = age;
        if recorded.is_some() && ground > 0.0 && ground * self.cover(age) < cover {
            let young = age < self.closed_age;
            let (mut low, mut high) = if young { (0.0, self.closed_age) } else { (self.closed_age, age) };
            for _ in 0..30 {
                let mid = 0.5 * (low + high);
                if (ground * self.cover(mid) < cover) == young { low = mid } else { high = mid }
            }
            cover_age = if young { high } else { low };
        }
        Heath {
            known: recorded.is_some(),
            recorded: recorded.is_some(),
            age_yr: age,
            height_age: age,
            cover_age,
            pace: 1.0,
            most_cm,
            ground,
            since_work_yr: None,
        }
    }

    /// Cut or burn down to a height, centimetres. A cut no lower than the heather stands does nothing.
    pub(crate) fn cut(&self, h: &mut Heath, height_cm: f32) {
        let age = self.age_of(h.most_cm, height_cm);
        if age >= h.height_age {
            return;
        }
        let old = ((h.age_yr - self.best_age) / (self.phase_from[2] - self.best_age)).clamp(0.0, 1.0);
        h.pace = 1.0 - (1.0 - self.old_pace) * old;
        (h.known, h.age_yr, h.height_age, h.cover_age) = (true, 0.0, age, 0.0);
        h.since_work_yr = Some(0);
    }

    /// Keep heather down to a height, centimetres; its cover stays.
    pub(crate) fn trim(&self, h: &mut Heath, height_cm: f32) {
        h.height_age = h.height_age.min(self.age_of(h.most_cm, height_cm));
    }

    /// A year of growth with a share `eaten` of the shoots taken.
    pub(crate) fn year(&self, h: &mut Heath, eaten: f32) {
        let left = (1.0 - eaten / self.heavy).clamp(0.0, 1.0);
        h.age_yr += 1.0;
        h.height_age += left;
        // Cover opens with age whatever stock take; it closes only as far as they leave it.
        let closing = self.cover(h.cover_age + 1.0) >= self.cover(h.cover_age);
        h.cover_age += if closing { left * h.pace } else { 1.0 };
        h.since_work_yr = h.since_work_yr.map(|y| y + 1);
    }

    /// Cover now in the open, fraction of ground.
    pub(crate) fn covered(&self, h: &Heath) -> f32 {
        if h.known { h.ground * self.cover(h.cover_age) } else { h.ground }
    }

    /// Height now by the curve, centimetres.
    pub(crate) fn tall_cm(&self, h: &Heath) -> f32 {
        self.height_cm(h.most_cm, h.height_age)
    }

    /// Put age and phase on the stand, where they were recorded or are known since a cut or burn.
    pub(crate) fn write(&self, h: &Heath, s: &mut Stand) {
        if h.recorded || h.known {
            s.phase = Some(self.phase(h.age_yr));
        }
        if s.heather_age_yr.is_some() || h.since_work_yr.is_some() {
            s.heather_age_yr = Some(h.age_yr);
        }
    }
}
