//! Payments for new woods.

use super::{Earned, Found, Look, Refused};
use guidance::Unknown;
use holding::Tree;
use measures::kind::{mix, year_of};
use measures::rules::places::hectares;

/// A new wood as the options look at it.
struct Planting {
    ha: f64,
    stems_per_ha: f64,
    open_pct: f64,
    /// Smallest block, hectares.
    block_ha: f64,
    shares: Vec<(Tree, f64)>,
}

impl Planting {
    fn share(&self, tree: Tree) -> f64 {
        100.0 * self.shares.iter().filter(|(t, _)| *t == tree).map(|(_, share)| share).sum::<f64>()
    }

    fn most(&self) -> f64 {
        100.0 * self.shares.iter().map(|(_, share)| *share).fold(0.0, f64::max)
    }
}

fn planting(look: &Look, at: usize) -> Result<Planting, Unknown> {
    let (measure, facts) = (look.measures[at].0, look.facts(at));
    Ok(Planting {
        ha: hectares(&measure.shape),
        stems_per_ha: facts.number("stems_per_ha")?,
        open_pct: facts.number("open_pct")?,
        block_ha: measure.shape.0.iter().map(|p| hectares(&geo_types::MultiPolygon(vec![p.clone()]))).fold(f64::INFINITY, f64::min),
        shares: mix::shares(look.c, &facts)?,
    })
}

/// Woods that fit, on their ground. `fits` says what is amiss; a wood that is amiss in more than one thing is of another sort and not told.
fn fitting(look: &Look, fits: &dyn Fn(&Planting) -> Vec<String>) -> Result<Found, Unknown> {
    let mut found = Found::default();
    for at in look.of_kind("wood") {
        let (measure, wood) = (look.measures[at].0, planting(look, at)?);
        if wood.ha <= 0.0 {
            continue;
        }
        let amiss = fits(&wood);
        match amiss.as_slice() {
            [] => found.earned.push(Earned {
                at,
                ground: Some(measure.shape.clone()),
                quantity: wood.ha,
                unit: "ha",
                from: year_of(look.c, measure),
                years: u32::MAX,
            }),
            [one] => found.refused.push(Refused { at, quantity: wood.ha, unit: "ha", why: one.clone() }),
            _ => {}
        }
    }
    Ok(found)
}

fn at_least(found: f64, least: f64, of: &str) -> Option<String> {
    (found < least - 1e-9).then(|| format!("{of} {}, needed at least {least}", rounded(found)))
}

fn at_most(found: f64, most: f64, of: &str) -> Option<String> {
    (found > most + 1e-9).then(|| format!("{of} {}, needed at most {most}", rounded(found)))
}

fn rounded(number: f64) -> f64 {
    (number * 100.0).round() / 100.0
}

/// Native upland birch: dense, little open ground, birch the most of it and never all.
///
/// # Errors
/// A figure the tables lack.
pub fn upland_birch(look: &Look) -> Result<Found, Unknown> {
    let of = |key: &str| look.c.number(key);
    let (stems, open, block) = (of("planting.upland_birch.stems")?, of("planting.upland_birch.open_max")?, of("planting.upland_birch.block_min")?);
    let (one, pine) = (of("planting.upland_birch.one_species_max")?, of("planting.upland_birch.pine_max")?);
    fitting(look, &|wood| {
        let birch = wood.shares.iter().all(|(_, share)| 100.0 * share <= wood.share(Tree::Birch));
        let amiss = [
            at_least(wood.stems_per_ha, stems, "stems planted a hectare"),
            at_most(wood.open_pct, open, "open ground, percent,"),
            at_least(wood.block_ha, block, "smallest block, hectares,"),
            at_most(wood.most(), one, "one species, percent of the stems,"),
            at_most(wood.share(Tree::ScotsPine), pine, "Scots pine, percent of the stems,"),
            (!birch).then(|| "birch is not the most of the stems".to_string()),
        ];
        amiss.into_iter().flatten().collect()
    })
}

/// Native low-density wood, the option for black grouse ground.
///
/// # Errors
/// A figure the tables lack.
pub fn low_density(look: &Look) -> Result<Found, Unknown> {
    let of = |key: &str| look.c.number(key);
    let (stems, open) = (of("planting.low_density.stems_year_5")?, of("planting.low_density.open_max")?);
    let (block, most) = (of("planting.low_density.block_min")?, of("planting.low_density.block_alone_max")?);
    fitting(look, &|wood| {
        let amiss = [
            at_least(wood.stems_per_ha, stems, "stems planted a hectare"),
            at_most(wood.open_pct, open, "open ground, percent,"),
            at_least(wood.block_ha, block, "smallest block, hectares,"),
            at_most(wood.ha, most, "hectares"),
        ];
        amiss.into_iter().flatten().collect()
    })
}

/// Native Scots pine: dense, pine the most of it.
///
/// # Errors
/// A figure the tables lack.
pub fn scots_pine(look: &Look) -> Result<Found, Unknown> {
    let (stems, block) = (look.c.number("planting.native_other.stems")?, look.c.number("planting.native_other.block_min")?);
    fitting(look, &|wood| {
        let pine = wood.share(Tree::ScotsPine) > 0.0 && wood.shares.iter().all(|(_, share)| 100.0 * share <= wood.share(Tree::ScotsPine));
        // A wood that is no pine wood is not told of: two things amiss.
        let none = if pine { vec![] } else { vec![String::new(), String::new()] };
        let amiss = [at_least(wood.stems_per_ha, stems, "stems planted a hectare"), at_least(wood.block_ha, block, "smallest block, hectares,")];
        none.into_iter().chain(amiss.into_iter().flatten()).collect()
    })
}

/// The measures that earn a woodland option.
fn in_an_option(look: &Look) -> Result<Vec<usize>, Unknown> {
    let mut all: Vec<usize> = Vec::new();
    for found in [upland_birch(look)?, low_density(look)?, scots_pine(look)?] {
        all.extend(found.earned.into_iter().map(|earned| earned.at));
    }
    all.sort_unstable();
    all.dedup();
    Ok(all)
}

/// The top-up on woodland options, for the first hectares of the plan.
///
/// # Errors
/// A figure the tables lack.
pub fn topped_up(look: &Look) -> Result<Found, Unknown> {
    let options = in_an_option(look)?;
    let mut found = fitting(look, &|_| vec![])?;
    found.earned.retain(|earned| options.contains(&earned.at));
    Ok(found.at_most(look.c.number("payment.scotland.top_up_2025_area")?, "past the hectares that are topped up"))
}

/// Deer fences round woods that earn a woodland option.
///
/// # Errors
/// A figure the tables lack.
pub fn deer_fence(look: &Look) -> Result<Found, Unknown> {
    let options = in_an_option(look)?;
    let mut found = super::item::built(look, &[("wood", "cost.market.deer_fence")])?;
    found.earned.retain(|earned| options.contains(&earned.at));
    Ok(found)
}

/// Any new wood.
///
/// # Errors
/// A figure the tables lack.
pub fn any(look: &Look) -> Result<Found, Unknown> {
    fitting(look, &|_| vec![])
}
