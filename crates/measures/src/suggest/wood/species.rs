//! Which trees a place wants: the usual native mix without those off their site.

use crate::kind::mix::USUAL;
use crate::rules::Context;
use crate::rules::on_measures::planting_off_site::site_of;
use guidance::Unknown;
use holding::{Tree, Word};

/// Shares are rounded to this many percent.
const STEP_PCT: f64 = 5.0;

/// The mix for ground of an altitude and wetness: species with percent of the stems, in steps of five, sum 100. Exposed ground, where the
/// altitude is unknown or high, gets the same species: their ceilings already speak of it.
///
/// # Errors
/// A figure the tables lack.
pub fn mix(c: &Context, altitude_m: Option<f64>, wetness: f64) -> Result<Vec<(Tree, f64)>, Unknown> {
    let (wet_from, wet_moisture) = (c.number("rule.planting.wet_from")?, c.number("rule.planting.wet_moisture")?);
    let (dry_from, dry_moisture) = (c.number("rule.planting.dry_from")?, c.number("rule.planting.dry_moisture")?);
    let most = c.number("planting.composition.primary_max")?;
    let mut rows: Vec<(Tree, f64)> = Vec::new();
    for (tree, key) in USUAL {
        let Some((ceiling, moisture)) = site_of(tree) else { continue };
        let (ceiling_m, moisture) = (c.number(ceiling)?, c.number(moisture)?);
        let too_high = altitude_m.is_some_and(|m| m > ceiling_m);
        let too_wet = wetness >= wet_from && moisture <= wet_moisture;
        let too_dry = wetness <= dry_from && moisture >= dry_moisture;
        if !(too_high || too_wet || too_dry) {
            rows.push((tree, c.number(key)?));
        }
    }
    if rows.is_empty() {
        // Nothing of the mix bears the place; the hardiest stands in, and the rules say so.
        rows.push((Tree::Birch, 100.0));
    }
    Ok(rounded(rows, most))
}

/// Scale to a hundred, hold the first species to its greatest share, round to steps, and let the largest take the rest.
fn rounded(rows: Vec<(Tree, f64)>, most: f64) -> Vec<(Tree, f64)> {
    let sum: f64 = rows.iter().map(|r| r.1).sum();
    let mut out: Vec<(Tree, f64)> = rows.iter().map(|(t, p)| (*t, 100.0 * p / sum)).collect();
    let largest = (0..out.len()).max_by(|a, b| out[*a].1.total_cmp(&out[*b].1)).unwrap_or(0);
    if out.len() > 1 && out[largest].1 > most {
        let rest = 100.0 - out[largest].1;
        for (i, row) in out.iter_mut().enumerate() {
            row.1 = if i == largest { most } else { row.1 * (100.0 - most) / rest };
        }
    }
    for row in &mut out {
        row.1 = ((row.1 / STEP_PCT).round() * STEP_PCT).max(STEP_PCT);
    }
    let sum: f64 = out.iter().map(|r| r.1).sum();
    out[largest].1 += 100.0 - sum;
    out
}

/// A mix as the fact `mix` holds it.
pub fn table(mix: &[(Tree, f64)]) -> serde_json::Value {
    mix.iter().map(|(t, p)| (t.word().to_string(), serde_json::Value::from(*p))).collect::<serde_json::Map<_, _>>().into()
}
