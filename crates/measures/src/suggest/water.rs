//! Which ditches to block first: ground wetted near broods, for the money.
//!
//! Every hectare wetted counts by how much brood ground it is to the leks (the weight of the brood season's reach there, as in
//! the ledger); ditches are ranked by that over the usual cost.

use super::{LeftOut, Suggested};
use crate::kind::dams::{self, Plan};
use crate::kind::{Quantity, cost, water};
use crate::rules::{Context, places};
use geo_types::Coord;
use ground::rasterise;
use guidance::Unknown;
use habitat::Season;
use habitat::figures::reach_of;
use habitat::reach::NODES;
use holding::Ditch;

/// Ditches to block, best first.
///
/// # Errors
/// A figure the tables lack.
pub fn suggest(c: &Context) -> Result<Vec<Suggested>, Unknown> {
    Ok(sorted(c)?.0)
}

/// Ditches nothing is put forward for, and why.
///
/// # Errors
/// A figure the tables lack.
pub fn left_out(c: &Context) -> Result<Vec<LeftOut>, Unknown> {
    Ok(sorted(c)?.1)
}

/// Ditches put forward, best first, and those left out with their reasons, in the order of the survey.
///
/// # Errors
/// A figure the tables lack.
pub fn sorted(c: &Context) -> Result<(Vec<Suggested>, Vec<LeftOut>), Unknown> {
    let weights = BroodGround::of(c);
    let (mut good, mut out) = (Vec::new(), Vec::new());
    for ditch in &c.holding.ditches {
        let leave = |why: String| LeftOut { id: ditch.id.clone(), why };
        if let Some(why) = dams::barred(ditch) {
            out.push(leave(why));
            continue;
        }
        let plan = dams::plan(c, ditch, None, None)?;
        if plan.runs.is_empty() {
            let why: Vec<&str> = plan.open.iter().map(|o| o.why.as_str()).collect();
            out.push(leave(if why.is_empty() { "it has no line".into() } else { format!("no stretch is left to block: {}", why.join("; ")) }));
            continue;
        }
        if let Some(spill) = plan.spills.first() {
            let more = if plan.spills.len() > 1 { format!(", and {} dams more", plan.spills.len() - 1) } else { String::new() };
            out.push(leave(format!("{}{more}: block only the stretch above it, or lead the water off first", spill.words())));
            continue;
        }
        let brood_ha = weights.weighted_ha(c, &plan);
        if brood_ha <= 0.0 {
            out.push(leave(format!("it wets {:.2} ha, none of it within brood reach of a lek", plan.wetted_ha())));
            continue;
        }
        good.push(put_forward(c, ditch, &plan, brood_ha)?);
    }
    good.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.measure.id.cmp(&b.0.measure.id)));
    Ok((good.into_iter().map(|(s, _)| s).collect(), out))
}

/// The suggestion of a ditch, and brood hectares a pound.
fn put_forward(c: &Context, ditch: &Ditch, plan: &Plan, brood_ha: f64) -> Result<(Suggested, f64), Unknown> {
    let gbp = cost::total(&water::costs_of(c, plan)?);
    let per_gbp = if gbp[1] > 0.0 { brood_ha / gbp[1] } else { 0.0 };
    let mut figures = vec![
        Quantity { what: "ground wetted, by its weight as brood ground".into(), amount: brood_ha, unit: "ha" },
        Quantity { what: "the same for £1,000".into(), amount: 1000.0 * per_gbp, unit: "ha" },
    ];
    figures.extend(water::quantities_of(c, plan)?);
    let [width_cm, depth_cm] = plan.size_cm;
    let flush = c.stands().iter().find(|s| s.flush && geo::Intersects::intersects(c.shape(s), &plan.wetted));
    let through = flush.map_or(String::new(), |s| format!(" It wets the flush {}.", c.stand_name(s)));
    let dams = plan.dams().count();
    let why = format!(
        "Ditch {}, {width_cm:.0} cm wide and {depth_cm:.0} deep{} in {}: {dams} dams on {:.0} m wet {:.2} ha, {:.0} m² of it by its weight as brood ground.{through}",
        ditch.id,
        if plan.size_assumed { " (part assumed)" } else { "" },
        plan.soil.words(),
        plan.length_m(),
        plan.wetted_ha(),
        1e4 * brood_ha,
    );
    Ok((Suggested { measure: water::block(ditch), why, gbp, figures }, per_gbp))
}

/// How much a hectare counts as brood ground, by facet.
struct BroodGround {
    per_ha: Vec<f64>,
}

impl BroodGround {
    /// The brood season's weights of all leks, a hectare.
    fn of(c: &Context) -> BroodGround {
        let layout = &c.assessed.layout;
        let mut ha = vec![0.0; layout.facets.len()];
        for facet in layout.facet_of.iter().filter(|f| **f != u32::MAX) {
            ha[*facet as usize] += layout.frame.cell_ha();
        }
        let middle = reach_of(Season::Brood) * NODES + 1;
        let mut weight = vec![0.0; layout.facets.len()];
        for reach in &c.assessed.reaches {
            for (facet, weights) in reach.facets.iter().zip(&reach.weights) {
                weight[*facet as usize] += f64::from(weights[middle]);
            }
        }
        BroodGround { per_ha: weight.iter().zip(&ha).map(|(w, a)| if *a > 0.0 { w / a } else { 0.0 }).collect() }
    }

    fn at(&self, c: &Context, at: Coord<f64>) -> f64 {
        let layout = &c.assessed.layout;
        let Some((col, row)) = layout.frame.cell_of(at.x, at.y) else { return 0.0 };
        match layout.facet_of[layout.frame.at(col, row)] {
            u32::MAX => 0.0,
            facet => self.per_ha.get(facet as usize).copied().unwrap_or(0.0),
        }
    }

    /// Hectares wetted, each by its weight: the mean weight along the ditch, metre by metre, over the ground wetted.
    fn weighted_ha(&self, c: &Context, plan: &Plan) -> f64 {
        let frame = &c.assessed.layout.frame;
        let (mut sum, mut long) = (0.0, 0.0);
        for line in &plan.lines().0 {
            rasterise::along(frame, line, |col, row, m| {
                let (x, y) = frame.centre(col, row);
                sum += m * self.at(c, Coord { x, y });
            });
            long += places::metres(&holding::one_line(line.clone()));
        }
        if long > 0.0 { plan.wetted_ha() * sum / long } else { 0.0 }
    }
}
