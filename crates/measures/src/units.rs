//! Livestock units by named set.
//!
//! Three sets are in use and differ: a hill ewe is 0.08 in the English one and 0.15 in the Scottish. A total carries the name
//! of its set, an animal the set does not name is refused, and totals of two sets are never added. Sources: Countryside
//! Stewardship Higher Tier manual, Annex 8C (2023); Entry Level Stewardship Handbook 2013, Table 13 with its footnotes on breed
//! size and other ruminants; Scottish Statutory Instrument 2004/70, schedule 1, which gives units a hectare to two decimals.

use guidance::{Country, Guidance, Unknown};
use holding::StockClass;
use std::fmt;

/// A published set of coefficients.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum UnitSet {
    /// England, in use now.
    England2023,
    /// England, Entry Level Stewardship 2013, superseded.
    Els2013,
    /// Scotland, in the manner of the European rules.
    Scotland2004,
}

/// An animal a set may name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Animal {
    /// Suckler, dairy or beef cow.
    Cow,
    /// Cattle over two years.
    CattleOver2Years,
    /// Cattle from six (Scotland: heifers from eight) months to two years.
    CattleToTwoYears,
    /// Lowland or heavy ewe with her lambs.
    HeavyEwe,
    /// Hill or light ewe with her lambs.
    HillEwe,
    /// Hogg, teg, or store lamb.
    Hogg,
    /// Ram, or teg over six months in the set of 2013.
    Ram,
    /// Horse.
    Horse,
    /// Pony or donkey.
    Pony,
    /// Goat.
    Goat,
    /// Red deer hind over 27 months, farmed.
    Hind,
    /// Deer from 6 to 27 months, farmed.
    YoungDeer,
    /// Alpaca.
    Alpaca,
    /// Llama.
    Llama,
}

/// Size of breed; only the set of 2013 corrects for it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Breed {
    /// As usual.
    #[default]
    Usual,
    /// Large.
    Large,
    /// Small.
    Small,
}

/// Livestock units of a set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lu {
    /// The set they were counted by.
    pub set: UnitSet,
    /// How many.
    pub units: f64,
}

/// Why units cannot be given.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NoUnits {
    /// A figure the tables lack.
    #[error(transparent)]
    Guidance(#[from] Unknown),
    /// The set does not name the animal.
    #[error("{set} does not name {animal:?}; needed: an animal of that set. Hint: use the set of the scheme applied for, and never borrow from another")]
    NotInSet {
        /// The set.
        set: UnitSet,
        /// The animal.
        animal: Animal,
    },
    /// The set does not correct for breed size.
    #[error("{0} does not correct for the size of breeds; needed: the usual breed. Hint: only the set of 2013 does")]
    NoBreeds(UnitSet),
    /// The set has no rule by liveweight.
    #[error("{0} has no rule by liveweight; needed: an animal it names. Hint: only the set of 2013 counts other ruminants by weight")]
    NoWeights(UnitSet),
    /// Two sets were to be added.
    #[error("units by {0} and by {1} cannot be added; needed: one set. Hint: count all stock by one set")]
    Mixed(UnitSet, UnitSet),
}

/// Coefficients are counted in whole parts of this, so that sums of published decimals are exact.
const PARTS: f64 = 1e6;

impl fmt::Display for UnitSet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            UnitSet::England2023 => "the English set (Annex 8C, 2023)",
            UnitSet::Els2013 => "the English set of 2013 (superseded)",
            UnitSet::Scotland2004 => "the Scottish set (SSI 2004/70)",
        })
    }
}

impl UnitSet {
    /// The set in use in a country; Great Britain and Wales have none of their own here and use the English.
    pub fn of(country: Country) -> UnitSet {
        if country == Country::Scotland { UnitSet::Scotland2004 } else { UnitSet::England2023 }
    }

    fn country(self) -> Country {
        if self == UnitSet::Scotland2004 { Country::Scotland } else { Country::England }
    }

    fn key(self, animal: Animal) -> Option<&'static str> {
        use Animal as A;
        Some(match (self, animal) {
            (UnitSet::England2023, A::Cow | A::CattleOver2Years) => "lu.england.cattle_over_2_years",
            (UnitSet::England2023, A::CattleToTwoYears) => "lu.england.cattle_6_months_2_years",
            (UnitSet::England2023, A::HeavyEwe | A::Ram) => "lu.england.heavy_sheep",
            (UnitSet::England2023, A::HillEwe | A::Hogg) => "lu.england.light_sheep",
            (UnitSet::England2023, A::Horse) => "lu.england.horse",
            (UnitSet::England2023, A::Pony) => "lu.england.pony_or_donkey",
            (UnitSet::England2023, A::Goat) => "lu.england.goat",
            (UnitSet::Els2013, A::Cow) => "lu.els2013.cow",
            (UnitSet::Els2013, A::CattleOver2Years) => "lu.els2013.cattle_over_2_years",
            (UnitSet::Els2013, A::CattleToTwoYears) => "lu.els2013.cattle_6_months_2_years",
            (UnitSet::Els2013, A::HeavyEwe) => "lu.els2013.lowland_ewe",
            (UnitSet::Els2013, A::HillEwe) => "lu.els2013.hill_ewe",
            (UnitSet::Els2013, A::Hogg) => "lu.els2013.store_lamb",
            (UnitSet::Els2013, A::Ram) => "lu.els2013.ram_or_teg",
            (UnitSet::Els2013, A::Horse) => "lu.els2013.horse",
            (UnitSet::Els2013, A::Pony) => "lu.els2013.pony",
            (UnitSet::Scotland2004, A::Cow) => "lu.scotland.suckler_cow",
            (UnitSet::Scotland2004, A::CattleToTwoYears) => "lu.scotland.heifer",
            (UnitSet::Scotland2004, A::HillEwe | A::HeavyEwe) => "lu.scotland.breeding_ewe",
            (UnitSet::Scotland2004, A::Goat) => "lu.scotland.breeding_goat",
            (UnitSet::Scotland2004, A::Hind) => "lu.scotland.hind",
            (UnitSet::Scotland2004, A::YoungDeer) => "lu.scotland.deer_young",
            (UnitSet::Scotland2004, A::Alpaca) => "lu.scotland.alpaca",
            (UnitSet::Scotland2004, A::Llama) => "lu.scotland.llama",
            _ => return None,
        })
    }

    /// Units of one animal.
    ///
    /// # Errors
    /// An animal the set does not name, a breed size it does not correct for, or a figure the tables lack.
    pub fn coefficient(self, guidance: &Guidance, animal: Animal, breed: Breed) -> Result<f64, NoUnits> {
        let key = self.key(animal).ok_or(NoUnits::NotInSet { set: self, animal })?;
        let usual = guidance.number(key, self.country())?;
        let by_percent = match (breed, self) {
            (Breed::Usual, _) => return Ok(usual),
            (Breed::Large, UnitSet::Els2013) => guidance.number("lu.els2013.large_breed", self.country())?,
            (Breed::Small, UnitSet::Els2013) => guidance.number("lu.els2013.small_breed", self.country())?,
            _ => return Err(NoUnits::NoBreeds(self)),
        };
        Ok((usual * PARTS).round() * (100.0 + by_percent) / (100.0 * PARTS))
    }

    /// Units of a flock or herd.
    ///
    /// # Errors
    /// As [`UnitSet::coefficient`].
    pub fn total(self, guidance: &Guidance, stock: &[(Animal, f64)]) -> Result<Lu, NoUnits> {
        let mut parts = 0.0;
        for (animal, head) in stock {
            parts += (self.coefficient(guidance, *animal, Breed::Usual)? * PARTS).round() * head;
        }
        Ok(Lu { set: self, units: parts / PARTS })
    }

    /// Units of other ruminants by their liveweight; only the set of 2013 has a rule for them.
    ///
    /// # Errors
    /// Another set, or a figure the tables lack.
    pub fn ruminants(self, guidance: &Guidance, head: f64, liveweight_kg: f64) -> Result<Lu, NoUnits> {
        if self != UnitSet::Els2013 {
            return Err(NoUnits::NoWeights(self));
        }
        let per_kg = guidance.number("lu.ruminant_per_kg", self.country())?;
        Ok(Lu { set: self, units: head * liveweight_kg * per_kg })
    }
}

/// The animal of a class of stock; `None` for wild deer, which no set counts.
pub fn animal_of(class: StockClass) -> Option<Animal> {
    Some(match class {
        StockClass::HillEwe => Animal::HillEwe,
        StockClass::HeavyEwe => Animal::HeavyEwe,
        StockClass::Hogg => Animal::Hogg,
        StockClass::Cow => Animal::Cow,
        StockClass::Store => Animal::CattleToTwoYears,
        StockClass::Pony => Animal::Pony,
        StockClass::RedDeer => return None,
    })
}

impl Lu {
    /// With units of the same set.
    ///
    /// # Errors
    /// Units of another set.
    pub fn plus(self, other: Lu) -> Result<Lu, NoUnits> {
        if self.set != other.set {
            return Err(NoUnits::Mixed(self.set, other.set));
        }
        Ok(Lu { units: self.units + other.units, ..self })
    }

    /// Units a hectare, to two decimals as the rules give them.
    pub fn per_ha_stated(self, ha: f64) -> f64 {
        if ha > 0.0 { (100.0 * self.units / ha).round() / 100.0 } else { 0.0 }
    }
}

/// Units month by month, January first, of so many head of one animal a month.
///
/// # Errors
/// As [`UnitSet::coefficient`].
pub fn by_month(set: UnitSet, guidance: &Guidance, animal: Animal, head: &[f64; 12]) -> Result<[f64; 12], NoUnits> {
    let parts = (set.coefficient(guidance, animal, Breed::Usual)? * PARTS).round();
    Ok(head.map(|h| parts * h / PARTS))
}

/// Mean units over a year of units kept for so many days of it.
pub fn year_mean(units: f64, days: f64, days_in_year: f64) -> f64 {
    units * days / days_in_year
}
