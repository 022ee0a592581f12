//! The exact path: values cell by cell, without facets or bands. Slow; it exists to hold the facets to account.

use crate::assess::{AssessError, Assessed};
use crate::drawn::Drawn;
use crate::figures::reach_of;
use crate::layout::{DIMS, Layout, NO_STAND};
use crate::ledger::{SEASONS, errors};
use crate::place;
use crate::reach::{CUT, Site, sigma_m};
use crate::season::{self, Season};
use guidance::Guidance;
use holding::Holding;

/// Supply of every lek and season in one draw, usable hectares, from every cell by its own distances and from the
/// draw's own kernel width (no nodes). `[lek][season]`.
///
/// # Errors
/// As [`crate::assess()`].
pub fn supply(holding: &Holding, guidance: &Guidance, done: &Assessed, draw: usize) -> Result<Vec<[f64; SEASONS]>, AssessError> {
    let widest = done.reach_m.iter().flatten().map(|r| sigma_m(*r) * CUT).fold(0.0, f64::max);
    let limits = crate::assess::limits(guidance, holding.about.country, &done.middle)?;
    let layout = Layout::lay(holding, &done.state, done.assessment.cell_m, widest, &limits, true).ok_or(AssessError::NothingMapped)?;
    let near = layout.near.as_deref().unwrap_or_default();
    let f = &done.figures[draw];
    let all = errors(&done.state, done.settings.seed, done.settings.draws);
    let stands: Vec<[f32; SEASONS]> = done
        .state
        .stands
        .iter()
        .zip(&all)
        .map(|(s, e)| {
            let d = Drawn::of(s, e[draw], f, &done.age);
            std::array::from_fn(|s| season::offer(Season::ALL[s], &d, f).value(f.season[s].weight_food, f.season[s].weight_cover))
        })
        .collect();
    let sites: Vec<Site> = holding
        .leks
        .iter()
        .zip(&done.assessment.leks)
        .map(|(l, a)| Site { east_m: l.at.x(), north_m: l.at.y(), cocks: a.cocks.unwrap_or(1).max(1) as f32 })
        .collect();
    let mut out = vec![[0.0; SEASONS]; sites.len()];
    for (s, season) in Season::ALL.iter().enumerate() {
        let sigma = sigma_m(f.reach_m[reach_of(*season)] as f64);
        let kernel = |site: &Site, x: f64, y: f64| {
            let d2 = (x - site.east_m).powi(2) + (y - site.north_m).powi(2);
            if d2 <= (CUT * sigma).powi(2) { (-0.5 * d2 / (sigma * sigma)).exp() } else { 0.0 }
        };
        let mut mapped = vec![0.0; sites.len()];
        let mut open = vec![(0.0, 0.0); sites.len()];
        let mut inside = vec![0.0; sites.len()];
        let mut bare = vec![0.0; sites.len()];
        for row in 0..layout.frame.rows {
            for col in 0..layout.frame.cols {
                let (x, y) = layout.frame.centre(col, row);
                let i = layout.frame.at(col, row);
                let claims: f64 = sites.iter().map(|t| t.cocks as f64 * kernel(t, x, y)).sum();
                for (l, site) in sites.iter().enumerate() {
                    let k = kernel(site, x, y);
                    if k <= 0.0 {
                        continue;
                    }
                    inside[l] += k * layout.frame.cell_ha();
                    let weight = k * (site.cocks as f64 * k / claims) * layout.frame.cell_ha();
                    match layout.stand_of.cells[i] {
                        NO_STAND => bare[l] += weight,
                        stand => {
                            let values: [f32; DIMS] = std::array::from_fn(|d| near[d][i]);
                            let v = stands[stand as usize][s] * place::worth(&values, *season, f);
                            mapped[l] += weight * v as f64;
                            if !layout.is_wood[stand as usize] {
                                open[l].0 += weight * v as f64;
                                open[l].1 += weight;
                            }
                        }
                    }
                }
            }
        }
        let whole = 2.0 * std::f64::consts::PI * sigma * sigma * (1.0 - (-CUT * CUT / 2.0).exp()) / 1e4;
        for l in 0..sites.len() {
            let unmapped = bare[l] + (whole - inside[l]).max(0.0);
            let mean = if open[l].1 > 0.0 { open[l].0 / open[l].1 } else { 0.0 };
            out[l][s] = mapped[l] + mean * f.unmapped as f64 * unmapped;
        }
    }
    Ok(out)
}
