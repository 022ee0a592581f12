//! Payments for how moorland is grazed: how few units, how long without stock, how much cattle.

use super::{Earned, Found, Look, Refused};
use guidance::Unknown;
use holding::{Parcel, ParcelKind, Stock, StockClass};
use measures::kind::{place, year_of};
use measures::rules::places::hectares;
use measures::units::{NoUnits, UnitSet, animal_of, by_month};

/// Ground grazed with no more units a hectare than a level at any time of year, and grazed at some.
///
/// # Errors
/// A figure the tables lack.
pub fn level(look: &Look, key: &str) -> Result<Found, Unknown> {
    let most = look.c.number(key)?;
    // A hair is let pass: published units are decimals.
    earned(look, &|units, ha| {
        let all: Vec<f64> = (0..12).map(|m| units.iter().map(|(_, by_month)| by_month[m]).sum()).collect();
        let peak = all.iter().copied().fold(0.0, f64::max);
        peak > 0.0 && peak / ha <= most + 1e-9
    })
}

/// Ground without stock for so many months in a row, and grazed in others.
///
/// # Errors
/// A figure the tables lack.
pub fn empty(look: &Look, key: &str) -> Result<Found, Unknown> {
    let wanted = look.c.number(key)?.round() as usize;
    earned(look, &|units, _| {
        let grazed = |m: usize| units.iter().any(|(_, by_month)| by_month[m % 12] > 0.0);
        (0..12).any(grazed) && (0..12).any(|from| (from..from + wanted).all(|m| !grazed(m)))
    })
}

/// Ground on which cattle and ponies are at least so much of the units, over the year.
///
/// # Errors
/// A figure the tables lack.
pub fn cattle(look: &Look, key: &str) -> Result<Found, Unknown> {
    let least = look.c.number(key)? / 100.0;
    earned(look, &|units, _| {
        let sum = |only: bool| units.iter().filter(|(heavy, _)| *heavy || !only).map(|(_, by_month)| by_month.iter().sum::<f64>()).sum::<f64>();
        sum(false) > 0.0 && sum(true) >= least * sum(false) - 1e-9
    })
}

/// Units by month of each class on a parcel, with whether it is cattle or ponies.
type Units = [(bool, [f64; 12])];

/// Every grazing measure on a hill or common whose parcel meets a condition from its year on, and did not meet it before.
fn earned(look: &Look, met: &dyn Fn(&Units, f64) -> bool) -> Result<Found, Unknown> {
    let mut found = Found::default();
    for at in look.of_kind("grazing") {
        let measure = look.measures[at].0;
        let Some(parcel) = place::parcel_of(look.c, &look.facts(at).word("parcel"), measure) else { continue };
        let ha = hectares(&parcel.shape);
        if !matches!(parcel.kind, ParcelKind::Hill | ParcelKind::Common) || ha <= 0.0 {
            continue;
        }
        let from = year_of(look.c, measure);
        let in_year = |year: u32| -> Result<bool, Unknown> { Ok(met(&units(look, parcel, year)?, ha)) };
        if !in_year(from)? {
            continue;
        }
        if in_year(from - 1)? {
            let why = "the ground meets this as it is stocked before the measure: the measure does not earn it".to_string();
            found.refused.push(Refused { at, quantity: ha, unit: "ha", why });
            continue;
        }
        let most = look.facts(at).number("years")?.floor() as u32;
        let mut years = 0;
        while years < most && in_year(from + years)? {
            years += 1;
        }
        found.earned.push(Earned { at, ground: Some(parcel.shape.clone()), quantity: ha, unit: "ha", from, years });
    }
    Ok(found)
}

/// Units by month on a parcel in a year, by the English set; wild deer count nothing.
fn units(look: &Look, parcel: &Parcel, year: u32) -> Result<Vec<(bool, [f64; 12])>, Unknown> {
    let changed = look.stock.iter().filter(|s| s.stock.parcel == parcel.id && s.year <= year).map(|s| s.year).max();
    let there: Vec<&Stock> = match changed {
        Some(since) => look.stock.iter().filter(|s| s.stock.parcel == parcel.id && s.year == since).map(|s| &s.stock).collect(),
        None => look.c.holding.stock.iter().filter(|s| s.parcel == parcel.id).collect(),
    };
    let mut out = Vec::new();
    for stock in there {
        let Some(animal) = animal_of(stock.class) else { continue };
        let heavy = matches!(stock.class, StockClass::Cow | StockClass::Store | StockClass::Pony);
        match by_month(UnitSet::England2023, look.c.guidance, animal, &stock.head.map(f64::from)) {
            Ok(units) => out.push((heavy, units)),
            Err(NoUnits::Guidance(unknown)) => return Err(unknown),
            // The English set names every class a plan may hold.
            Err(_) => {}
        }
    }
    Ok(out)
}
