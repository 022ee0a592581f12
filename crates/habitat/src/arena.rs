//! The display ground itself: sward, slope, view, and what stands too near.
//!
//! The view is taken from the eye of a displaying bird, standing on the ground, over the height model with the
//! vegetation and trees of the survey on it; trees let light through by their canopy cover.

use crate::layout::{Layout, NO_STAND};
use crate::outcome::LekGround;
use crate::state::State;
use geo::{Distance, Euclidean};
use geo_types::Point;
use ground::sight::{Obstacles, Sight, View, view};
use ground::{Frame, Grid};
use guidance::{Country, Guidance, Unknown};
use holding::{Holding, Lek, Plant};

/// Guidance keys of this room's lek figures.
pub const KEYS: [&str; 7] = [
    "lek.radius_m",
    "lek.eye_m",
    "lek.view_m",
    "lek.target_m",
    "lek.sward_opacity",
    "lek.opacity_step_m",
    "lek.heather_cover",
];

/// Judge the display ground of one lek; also the share in sight round it, where heights exist.
pub fn judge(
    holding: &Holding,
    layout: &Layout,
    state: &State,
    lek: &Lek,
    guidance: &Guidance,
    country: Country,
) -> Result<(LekGround, Option<Grid<f32>>), Unknown> {
    let [radius, _, view_m, _, _, _, heather] = figures(guidance, country)?;
    let radius_m = lek.radius_m.unwrap_or(radius);
    let at = (lek.at.x(), lek.at.y());
    let mean = |value: &dyn Fn(usize) -> Option<f64>| {
        let (mut sum, mut n) = (0.0, 0usize);
        each_near(&layout.frame, at, radius_m, |i| {
            if let Some(v) = value(i) {
                sum += v;
                n += 1;
            }
        });
        (n > 0).then(|| sum / n as f64)
    };
    let stand = |i: usize| {
        let s = layout.stand_of.cells[i];
        (s != NO_STAND).then(|| &state.stands[s as usize])
    };
    let finite = |g: &Option<std::sync::Arc<Grid<f32>>>, i: usize| g.as_ref().map(|g| g.cells[i] as f64).filter(|v| v.is_finite());
    let nearest = |shapes: &mut dyn Iterator<Item = f64>| shapes.reduce(f64::min).filter(|d| d.is_finite());
    let p = Point::new(at.0, at.1);
    let sights = Outlook::of(layout, state, lek, guidance, country)?.and_then(|o| Some((o.bare()?, o.view()?)));
    let ground = LekGround {
        at: [at.0, at.1],
        altitude_m: layout.heights.as_ref().and_then(|h| h.at_point(at.0, at.1)).map(f64::from).filter(|v| v.is_finite()),
        slope_deg: mean(&|i| finite(&layout.slope, i)),
        sward_cm: mean(&|i| stand(i).map(|s| s.height_cm as f64)),
        radius_m,
        view_disc: sights.as_ref().and_then(|s| known(s.1.disc_open)),
        view_horizon: sights.as_ref().and_then(|s| known(s.1.horizon_open)),
        bare_disc: sights.as_ref().and_then(|s| known(s.0.disc_open)),
        bare_horizon: sights.as_ref().and_then(|s| known(s.0.horizon_open)),
        view_m,
        wood_m: nearest(&mut holding.woods.iter().map(|w| Euclidean.distance(&p, &w.shape))),
        fence_m: nearest(&mut holding.fences.iter().map(|w| Euclidean.distance(&p, &w.shape))),
        way_m: nearest(&mut holding.tracks.iter().map(|w| Euclidean.distance(&p, &w.shape))),
        heather_m: nearest(&mut holding.patches.iter().zip(&state.stands).filter(|(_, s)| s.covers[Plant::Heather as usize] as f64 * 100.0 >= heather).map(|(p0, _)| Euclidean.distance(&p, &p0.shape))),
    };
    Ok((ground, sights.map(|s| s.1.share)))
}

/// The figures of [`KEYS`], in their order.
fn figures(guidance: &Guidance, country: Country) -> Result<[f64; KEYS.len()], Unknown> {
    let mut out = [0.0; KEYS.len()];
    for (figure, key) in out.iter_mut().zip(KEYS) {
        *figure = guidance.number(key, country)?;
    }
    Ok(out)
}

/// A share that could be worked out.
pub(crate) fn known(share: f64) -> Option<f64> {
    share.is_finite().then_some(share)
}

/// The ground round a lek with what stands on it, before it is looked over.
pub(crate) struct Outlook {
    at: (f64, f64),
    ground: Grid<f32>,
    top: Grid<f32>,
    opacity: Grid<f32>,
    opacity_path_m: f64,
    sight: Sight,
}

impl Outlook {
    /// Of a lek; `None` without heights there.
    pub(crate) fn of(layout: &Layout, state: &State, lek: &Lek, guidance: &Guidance, country: Country) -> Result<Option<Outlook>, Unknown> {
        let [_, eye_m, view_m, target_m, sward_opacity, opacity_path_m, _] = figures(guidance, country)?;
        let (at, reach_m) = ((lek.at.x(), lek.at.y()), view_m + 20.0);
        let window = layout.heights.as_ref().and_then(|h| ground::resample::clip(h, at.0 - reach_m, at.1 - reach_m, at.0 + reach_m, at.1 + reach_m));
        Ok(window.map(|ground| {
            let (top, opacity) = cover(layout, state, &ground.frame, sward_opacity as f32);
            Outlook { at, ground, top, opacity, opacity_path_m, sight: Sight::new(eye_m, target_m, view_m) }
        }))
    }

    /// Whether what stands round the same lek is the same, cell by cell.
    pub(crate) fn same_cover(&self, other: &Outlook) -> bool {
        self.at == other.at && self.ground.frame == other.ground.frame && self.top.cells == other.top.cells && self.opacity.cells == other.opacity.cells
    }

    /// What is seen over the bare ground.
    fn bare(&self) -> Option<View> {
        view(&self.ground, self.at, &self.sight, None).ok()
    }

    /// What is seen with what stands there.
    pub(crate) fn view(&self) -> Option<View> {
        view(&self.ground, self.at, &self.sight, Some(Obstacles { top_m: &self.top, opacity: &self.opacity, opacity_path_m: self.opacity_path_m })).ok()
    }
}

/// Height and opacity of what stands on each cell of a window of the layout.
fn cover(layout: &Layout, state: &State, frame: &Frame, sward_opacity: f32) -> (Grid<f32>, Grid<f32>) {
    let (mut top, mut opacity) = (Grid::filled(*frame, 0.0f32), Grid::filled(*frame, 0.0f32));
    for row in 0..frame.rows {
        for col in 0..frame.cols {
            let (x, y) = frame.centre(col, row);
            let Some(s) = layout.stand_of.at_point(x, y).filter(|s| *s != NO_STAND) else { continue };
            let s = &state.stands[s as usize];
            let i = frame.at(col, row);
            (top.cells[i], opacity.cells[i]) = if s.wooded && s.tree_height_m > s.height_cm / 100.0 {
                (s.tree_height_m, s.canopy * (1.0 - s.open))
            } else {
                (s.height_cm / 100.0, sward_opacity)
            };
        }
    }
    (top, opacity)
}

/// Visit the cells within a radius of a point, at least the one that holds it.
fn each_near(frame: &Frame, at: (f64, f64), radius_m: f64, mut visit: impl FnMut(usize)) {
    let Some((c0, r0)) = frame.cell_of(at.0, at.1) else { return };
    let reach = (radius_m / frame.dx_m).ceil() as usize;
    for r in r0.saturating_sub(reach)..=(r0 + reach).min(frame.rows - 1) {
        for c in c0.saturating_sub(reach)..=(c0 + reach).min(frame.cols - 1) {
            let (x, y) = frame.centre(c, r);
            if (x - at.0).hypot(y - at.1) <= radius_m || (c, r) == (c0, r0) {
                visit(frame.at(c, r));
            }
        }
    }
}
