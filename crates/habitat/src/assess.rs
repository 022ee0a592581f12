//! The main job: from a holding to the bird's-year ledger.

use crate::arena;
use crate::composition::{self, MoorPatches};
use crate::figures::{Figures, REACH_KEYS, reach_of};
use crate::layout::{Layout, Limits};
use crate::ledger::{self, Values};
use crate::losses::Middle;
use crate::outcome::{Assessment, LekLedger, Pictures, Quantiles, SeasonLedger};
use crate::reach::{self, Kernels, NODES, REACHES, Reach, Site};
use crate::say;
use crate::season::Season;
use crate::state::State;
use chrono::Datelike;
use ground::Grid;
use guidance::{Country, Curve, Guidance, Unknown};
use holding::{Holding, Lek};
use rayon::prelude::*;

/// Settings of an assessment.
#[derive(Clone, Copy, Debug)]
pub struct Settings {
    /// Number of draws, at least one.
    pub draws: usize,
    /// Seed.
    pub seed: u64,
    /// Cell of the grids, metres; `None`: the plan's.
    pub cell_m: Option<f64>,
}

impl Default for Settings {
    fn default() -> Self {
        Self { draws: 200, seed: 1, cell_m: None }
    }
}

/// Why a holding cannot be assessed.
#[derive(Debug, thiserror::Error)]
pub enum AssessError {
    /// There is no lek.
    #[error("the plan has no lek; needed: at least one display ground. Hint: import leks, or give the place where birds were last seen")]
    NoLek,
    /// No patch and no wood in the plan, or nothing near any lek: a boundary alone says nothing of the ground.
    #[error("no ground is surveyed within reach of any lek; needed: vegetation patches or woods round the leks. Hint: put them in; where they are in, check that leks and patches use the same grid")]
    NothingMapped,
    /// A setting is out of range.
    #[error("{what} is {found}; needed: {needed}")]
    Setting {
        /// The setting.
        what: &'static str,
        /// Its value.
        found: String,
        /// What it may be.
        needed: &'static str,
    },
    /// A figure is missing from the guidance tables.
    #[error(transparent)]
    Guidance(#[from] Unknown),
}

/// Everything an assessment computed: the answer, and the ground it stands on for rules, maps and later years.
pub struct Assessed {
    /// The answer.
    pub assessment: Assessment,
    /// Stand states.
    pub state: State,
    /// The ground laid out.
    pub layout: Layout,
    /// Ground of every lek.
    pub reaches: Vec<Reach>,
    /// What every cell weighs for every lek.
    pub kernels: Kernels,
    /// Supply by lek, season and draw, usable hectares.
    pub supply: Vec<ledger::Supply>,
    /// Need by lek, season and draw, usable hectares.
    pub need: Vec<ledger::Supply>,
    /// Figures of every draw.
    pub figures: Vec<Figures>,
    /// Figures at the middle of their spreads.
    pub middle: Figures,
    /// Worth of a closing wood by age.
    pub age: Curve,
    /// Widths of the reaches, metres.
    pub reach_m: [[f64; NODES]; REACHES],
    /// Share of the display disc in sight round every lek.
    pub views: Vec<Option<Grid<f32>>>,
    /// Settings used.
    pub settings: Settings,
}

/// Assess a holding.
///
/// # Errors
/// [`AssessError`] when there is no lek, nothing mapped, a setting is out of range or a figure is missing.
pub fn assess(holding: &Holding, guidance: &Guidance, settings: Settings) -> Result<Assessed, AssessError> {
    if holding.leks.is_empty() {
        return Err(AssessError::NoLek);
    }
    if !(1..=100_000).contains(&settings.draws) {
        return Err(AssessError::Setting { what: "the number of draws", found: settings.draws.to_string(), needed: "1 to 100000" });
    }
    let cell_m = settings.cell_m.unwrap_or(holding.about.cell_m);
    if !(1.0..=100.0).contains(&cell_m) {
        return Err(AssessError::Setting { what: "the cell", found: format!("{cell_m} m"), needed: "1 to 100 m" });
    }
    let country = holding.about.country;
    let adapt = |f: Figures| if blaeberry_taken(holding) { f } else { f.without_blaeberry() };
    let middle = adapt(Figures::middle(guidance, country)?);
    let draws = guidance.draws(settings.seed, settings.draws, country);
    let (figures, mut evidence) = Figures::drawn(&draws)?;
    let figures: Vec<Figures> = figures.into_iter().map(adapt).collect();
    let age = guidance.curve("wood.age_score", country)?;
    let reach_m = reach_nodes(guidance, country)?;
    let widest = reach_m.iter().map(|r| reach::sigma_m(r[NODES - 1]) * reach::CUT).fold(0.0, f64::max);

    let state = State::surveyed(holding, guidance)?;
    let limits = limits(guidance, country, &middle)?;
    let layout = Layout::lay(holding, &state, cell_m, widest, &limits, false).filter(|_| !state.stands.is_empty()).ok_or(AssessError::NothingMapped)?;
    let counts: Vec<Option<(i32, u32)>> = holding.leks.iter().map(|l| latest_count(holding, &l.id)).collect();
    let sites: Vec<Site> = holding
        .leks
        .iter()
        .zip(&counts)
        .map(|(l, c)| Site { east_m: l.at.x(), north_m: l.at.y(), cocks: c.map_or(1, |c| c.1.max(1)) as f32 })
        .collect();
    let kernels = Kernels::of(&layout, &sites, &reach_m);
    let reaches = kernels.lay(&layout);
    let errors = ledger::errors(&state, settings.seed, settings.draws);
    let values = Values::of(&state, &layout, &figures, &errors, &age);
    let supply = ledger::supply(&layout, &values, &reaches, &figures, &reach_m);

    let targets: Vec<u32> = holding.leks.iter().map(|l| target_cocks(holding, guidance, l)).collect::<Result<_, _>>()?;
    let need: Vec<ledger::Supply> = targets
        .iter()
        .map(|t| std::array::from_fn(|s| figures.iter().map(|f| ledger::need_ha(Season::ALL[s], *t as f64, f)).collect()))
        .collect();

    let birds: Vec<Birds> = counts.iter().zip(&targets).map(|(c, t)| Birds { cocks: c.map(|c| c.1), counted: c.map(|c| c.0), target: *t }).collect();
    let (leks, views) = ledgers(holding, guidance, &Middle { state: &state, layout: &layout, figures: &middle, age: &age }, &reaches, &supply, &need, &birds)?;

    evidence.extend(state.keys.iter().cloned());
    evidence.extend(arena::KEYS.iter().map(|k| k.to_string()));
    evidence.extend(leks.iter().flat_map(|l| l.composition.iter().flat_map(|r| r.source.clone())));
    evidence.extend(["need.target_cocks".to_string(), "wood.age_score".to_string()]);
    evidence.sort();
    evidence.dedup();
    let mut notes = state.notes.clone();
    if layout.heights.is_none() {
        notes.push("The plan has no height model: slope, altitude and the view from the leks are left out.".to_string());
    }
    let assessment = Assessment {
        schema: "greyhen.assess/1",
        plan: holding.about.name.clone(),
        cell_m,
        draws: settings.draws,
        seed: settings.seed,
        guidance_edition: guidance.edition().to_string(),
        leks,
        evidence,
        notes,
    };
    Ok(Assessed { assessment, state, layout, reaches, kernels, supply, need, figures, middle, age, reach_m, views, settings })
}

/// The birds of a lek.
struct Birds {
    cocks: Option<u32>,
    counted: Option<i32>,
    target: u32,
}

/// By lek: what is seen from it; `None` without heights.
type Views = Vec<Option<Grid<f32>>>;

/// The ledger and the view of every lek, from the supply of its ground.
fn ledgers(
    holding: &Holding,
    guidance: &Guidance,
    mid: &Middle,
    reaches: &[Reach],
    supply: &[ledger::Supply],
    need: &[ledger::Supply],
    birds: &[Birds],
) -> Result<(Vec<LekLedger>, Views), Unknown> {
    let country = holding.about.country;
    let moor = MoorPatches::of(mid.layout, mid.state);
    let leks: Vec<(LekLedger, Option<Grid<f32>>)> = holding
        .leks
        .par_iter()
        .enumerate()
        .map(|(i, lek)| {
            let seasons: Vec<SeasonLedger> = Season::ALL
                .iter()
                .map(|s| season_ledger(*s, &supply[i][*s as usize], &need[i][*s as usize], mid, &reaches[i], birds[i].target))
                .collect();
            let (pinch, pinch_draws) = pinch(&seasons, &supply[i], &need[i]);
            let (ground, view) = arena::judge(holding, mid.layout, mid.state, lek, guidance, country)?;
            let winter = reach_of(Season::Winter) * NODES + 1;
            let mapped: f64 = reaches[i].weights.iter().map(|w| w[winter] as f64).sum();
            let unmapped = reaches[i].unmapped[winter];
            Ok((
                LekLedger {
                    id: lek.id.clone(),
                    name: lek.called().to_string(),
                    cocks: birds[i].cocks,
                    counted: birds[i].counted,
                    target_cocks: birds[i].target,
                    words: format!("The pinch is {}: {}.", pinch.name(), seasons[pinch as usize].words),
                    seasons,
                    pinch,
                    pinch_draws,
                    composition: composition::table(mid.layout, mid.state, (lek.at.x(), lek.at.y()), &moor, guidance, country)?,
                    ground,
                    unmapped_share: unmapped / (mapped + unmapped).max(1e-9),
                },
                view,
            ))
        })
        .collect::<Result<_, Unknown>>()?;
    Ok(leks.into_iter().unzip())
}

/// The season with the least median margin, and in how many draws it is the least.
fn pinch(seasons: &[SeasonLedger], supply: &ledger::Supply, need: &ledger::Supply) -> (Season, usize) {
    let least = seasons.iter().min_by(|a, b| a.margin.p50.total_cmp(&b.margin.p50)).map_or(Season::Display, |s| s.season);
    let draws = (0..supply[0].len())
        .filter(|d| {
            let margin = |s: usize| supply[s][*d] / need[s][*d];
            (0..ledger::SEASONS).all(|s| margin(s) >= margin(least as usize))
        })
        .count();
    (least, draws)
}

impl Assessed {
    /// The same holding at another time or under an option: other stands on an altered layout, the same leks, needs, draws and figures.
    ///
    /// # Errors
    /// A guidance figure that is missing.
    pub fn with(&self, holding: &Holding, guidance: &Guidance, state: State, layout: Layout, supply: Vec<ledger::Supply>) -> Result<Assessed, Unknown> {
        let reaches = self.kernels.lay(&layout);
        let birds: Vec<Birds> =
            self.assessment.leks.iter().map(|l| Birds { cocks: l.cocks, counted: l.counted, target: l.target_cocks }).collect();
        let mid = Middle { state: &state, layout: &layout, figures: &self.middle, age: &self.age };
        let (leks, views) = ledgers(holding, guidance, &mid, &reaches, &supply, &self.need, &birds)?;
        Ok(Assessed {
            assessment: Assessment { leks, ..self.assessment.clone() },
            state,
            layout,
            reaches,
            kernels: self.kernels.clone(),
            supply,
            need: self.need.clone(),
            figures: self.figures.clone(),
            middle: self.middle.clone(),
            age: self.age.clone(),
            reach_m: self.reach_m,
            views,
            settings: self.settings,
        })
    }

    /// The losses' view of the ground.
    pub fn middle(&self) -> Middle<'_> {
        Middle { state: &self.state, layout: &self.layout, figures: &self.middle, age: &self.age }
    }

    /// The pictures maps are drawn from.
    pub fn pictures(&self) -> Pictures {
        let mid = self.middle();
        let value = Season::ALL
            .par_iter()
            .map(|s| {
                let facets = mid.values(*s);
                let cells = self.layout.facet_of.iter().map(|f| facets.get(*f as usize).copied().unwrap_or(f32::NAN)).collect();
                (*s, Grid { frame: self.layout.frame, cells })
            })
            .collect();
        Pictures { value, view: self.views.clone() }
    }
}

/// Whether the local birds take blaeberry: as the plan says, else not in England (Starling 1992).
fn blaeberry_taken(holding: &Holding) -> bool {
    holding.about.blaeberry_taken.unwrap_or(holding.about.country != Country::England)
}

/// Low, middle and high width of every reach, metres.
fn reach_nodes(guidance: &Guidance, country: Country) -> Result<[[f64; NODES]; REACHES], Unknown> {
    let mut out = [[0.0; NODES]; REACHES];
    for (nodes, key) in out.iter_mut().zip(REACH_KEYS) {
        let row = guidance.row(key, country)?;
        let value = guidance.number(key, country)?;
        *nodes = [row.low.unwrap_or(value), value, row.high.unwrap_or(value)];
    }
    Ok(out)
}

/// Limits of the layout, from guidance.
pub(crate) fn limits(guidance: &Guidance, country: Country, middle: &Figures) -> Result<Limits, Unknown> {
    let scale = middle.scale_m.iter().copied().fold(0.0, f32::max) as f64;
    Ok(Limits {
        tall_cm: guidance.number("site.tall_cover.height_cm", country)? as f32,
        tall_share: guidance.number("site.tall_cover.share", country)? as f32,
        food_share: guidance.number("site.tree_food.share", country)? as f32,
        tree_food: middle.tree_food,
        // Five scales away an exponential is as good as gone.
        look_m: 5.0 * scale,
        usual_altitude_m: (middle.altitude_m[1] + middle.altitude_m[2]) / 2.0,
    })
}

/// Cocks the ground of a lek is asked to carry: the plan's own number, else as many as were counted last, at least the usual.
///
/// # Errors
/// The usual number is not in the guidance.
pub fn target_cocks(holding: &Holding, guidance: &Guidance, lek: &Lek) -> Result<u32, Unknown> {
    let usual = guidance.number("need.target_cocks", holding.about.country)? as u32;
    Ok(lek.target_cocks.unwrap_or_else(|| usual.max(latest_count(holding, &lek.id).map_or(0, |(_, cocks)| cocks))))
}

/// Cocks of the latest counted year: the year's highest count. Visits outside the season window are judged by the
/// birds' room; here any count stands.
fn latest_count(holding: &Holding, lek: &str) -> Option<(i32, u32)> {
    let counts = holding.visits.iter().filter(|v| v.lek == lek).filter_map(|v| Some((v.date.year(), v.cocks?)));
    counts.fold(None, |best, (year, cocks)| match best {
        Some((y, c)) if y > year || (y == year && c >= cocks) => Some((y, c)),
        _ => Some((year, cocks)),
    })
}

fn season_ledger(season: Season, supply: &[f64], need: &[f64], mid: &Middle, reach: &Reach, target: u32) -> SeasonLedger {
    let margins: Vec<f64> = supply.iter().zip(need).map(|(s, n)| s / n.max(1e-9)).collect();
    let mut short: Vec<f64> = supply.iter().zip(need).filter(|(s, n)| s < n).map(|(s, n)| n - s).collect();
    short.sort_by(f64::total_cmp);
    let mut out = SeasonLedger {
        season,
        supply_ha: quantiles(supply),
        need_ha: quantiles(need),
        margin: quantiles(&margins),
        missing_ha: missing(supply, need),
        short_fraction: short.len() as f64 / supply.len() as f64,
        short_draws: short.len(),
        shortfall_ha: if short.is_empty() { 0.0 } else { at(&short, 0.5) },
        losses: mid.losses(reach, season, ledger::need_ha(season, target as f64, mid.figures)),
        words: String::new(),
    };
    out.words = say::season(&out, supply.len(), mid.state);
    out
}

/// What is missing, draw by draw.
pub fn missing(supply: &[f64], need: &[f64]) -> Quantiles {
    quantiles(&supply.iter().zip(need).map(|(s, n)| (n - s).max(0.0)).collect::<Vec<_>>())
}

/// Quantile of sorted values, by straight line between ranks.
fn at(sorted: &[f64], q: f64) -> f64 {
    let x = q * (sorted.len() - 1) as f64;
    let (i, t) = (x.floor() as usize, x.fract());
    sorted[i] + t * (sorted[(i + 1).min(sorted.len() - 1)] - sorted[i])
}

/// Tenth, fiftieth and ninetieth percentile.
pub fn quantiles(values: &[f64]) -> Quantiles {
    let mut v = values.to_vec();
    v.sort_by(f64::total_cmp);
    if v.is_empty() {
        return Quantiles::default();
    }
    Quantiles { p10: at(&v, 0.1), p50: at(&v, 0.5), p90: at(&v, 0.9) }
}

#[cfg(test)]
mod tests {
    use super::missing;

    #[test]
    fn a_draw_that_finds_enough_misses_nothing() {
        // Draw by draw 3, 1 and 0 are missing; quantiles lie on straight lines between ranks.
        let told = missing(&[3.0, 5.0, 9.0], &[6.0, 6.0, 6.0]);
        assert!([told.p10 - 0.2, told.p50 - 1.0, told.p90 - 2.6].iter().all(|off| off.abs() < 1e-12), "{told:?}");
        assert_eq!(missing(&[7.0, 8.0], &[6.0, 6.0]).p90, 0.0);
    }
}
