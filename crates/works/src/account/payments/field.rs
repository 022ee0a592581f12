//! Payments for fields: rough grazing with rush, stubble.

use super::{Earned, Found, Look, Refused};
use geo_types::MultiPolygon;
use guidance::Unknown;
use measures::kind::{place, year_of};
use measures::rules::places::hectares;

/// In-bye measures of a work, with the ground they lie on: what was drawn, else the field named.
fn worked(look: &Look, work: &str) -> Result<Vec<(Earned, f64)>, Unknown> {
    let mut out = Vec::new();
    for at in look.of_kind("inbye").filter(|at| look.facts(*at).word("work") == work) {
        let measure = look.measures[at].0;
        let field = place::parcel_of(look.c, &look.facts(at).word("parcel"), measure);
        let drawn = hectares(&measure.shape) > 0.0;
        let ground = if drawn { measure.shape.clone() } else { field.map_or_else(|| MultiPolygon(vec![]), |f| f.shape.clone()) };
        let (quantity, field_ha) = (hectares(&ground), field.map_or(0.0, |f| hectares(&f.shape)));
        let years = look.facts(at).number("years")?.floor() as u32;
        out.push((Earned { at, quantity, unit: "ha", from: year_of(look.c, measure), years, ground: Some(ground) }, field_ha));
    }
    Ok(out)
}

/// Rush cut in turn on rough grazing.
///
/// # Errors
/// A figure the tables lack.
pub fn rush(look: &Look) -> Result<Found, Unknown> {
    Ok(Found { earned: worked(look, "rush")?.into_iter().map(|(earned, _)| earned).collect(), refused: vec![] })
}

/// Rush cut in turn on fields of the size that rough grazing for birds wants.
///
/// # Errors
/// A figure the tables lack.
pub fn rush_for_birds(look: &Look) -> Result<Found, Unknown> {
    let row = look.c.guidance.row("arable.rough_grazing.parcel", look.c.holding.about.country)?;
    let (least, most) = (row.low.unwrap_or(0.0), row.high.unwrap_or(f64::INFINITY));
    let mut found = Found::default();
    for (earned, field_ha) in worked(look, "rush")? {
        if (least..=most).contains(&field_ha) {
            found.earned.push(earned);
        } else {
            let why = format!("the field has {field_ha:.1} ha; it is paid on fields of {least} to {most} ha");
            found.refused.push(Refused { at: earned.at, quantity: earned.quantity, unit: "ha", why });
        }
    }
    Ok(found)
}

/// Stubble left to mid-summer, as no measure leaves it yet: told and not counted.
///
/// # Errors
/// A figure the tables lack.
pub fn stubble_to_summer(look: &Look) -> Result<Found, Unknown> {
    let until = look.c.words("arable.oats.keep_until")?;
    let why = format!("it is paid for stubble left to mid-summer; this measure leaves it until {until}");
    let all = worked(look, "stubble")?.into_iter().map(|(earned, _)| earned).filter(|earned| earned.quantity > 0.0);
    Ok(Found {
        refused: all.map(|earned| Refused { at: earned.at, quantity: earned.quantity, unit: "ha", why: why.clone() }).collect(),
        earned: vec![],
    })
}

/// Stubble left over winter, no more than so much in all.
///
/// # Errors
/// A figure the tables lack.
pub fn stubble(look: &Look, most: &str) -> Result<Found, Unknown> {
    let earned = worked(look, "stubble")?.into_iter().map(|(earned, _)| earned).collect();
    Ok(Found { earned, refused: vec![] }.at_most(look.c.number(most)?, "more stubble than is paid for in all"))
}
