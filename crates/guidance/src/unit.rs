//! The closed list of units: a unit the tables use must stand here.

/// A unit of the tables.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// The word the tables use.
    pub word: &'static str,
    /// The unit as it stands after a number on a page.
    pub symbol: &'static str,
    /// Least value that makes sense.
    pub min: f64,
    /// Greatest value that makes sense.
    pub max: f64,
}

const fn any(word: &'static str, symbol: &'static str) -> Unit {
    Unit { word, symbol, min: f64::NEG_INFINITY, max: f64::INFINITY }
}

const fn positive(word: &'static str, symbol: &'static str) -> Unit {
    Unit { word, symbol, min: 0.0, max: f64::INFINITY }
}

const fn bounded(word: &'static str, symbol: &'static str, max: f64) -> Unit {
    Unit { word, symbol, min: 0.0, max }
}

/// Every unit, by group.
pub const UNITS: &[Unit] = &[
    // Words and dates.
    any("text", ""),
    any("date", ""),
    // Shares, ratios, scores.
    bounded("percent", "%", 100.0),
    bounded("fraction", "", 1.0),
    bounded("score", "", 1.0),
    positive("weight", ""),
    positive("ratio", ""),
    any("coefficient", ""),
    any("percent_change", "%"),
    any("percent_per_year", "% a year"),
    any("percent_per_100m", "% per 100 m"),
    positive("percent_cover", "% cover"),
    // Counts.
    positive("count", ""),
    positive("birds", "birds"),
    positive("cocks", "cocks"),
    positive("hens", "hens"),
    positive("leks", "leks"),
    positive("eggs", "eggs"),
    positive("chicks_per_hen", "chicks per hen"),
    positive("hens_per_cock", "hens per cock"),
    positive("cocks_per_hen", "cocks per hen"),
    positive("people", "people"),
    positive("visits", "visits"),
    positive("per_year", "a year"),
    positive("per_km_per_year", "per km a year"),
    positive("per_km_per_month", "per km a month"),
    positive("birds_per_km2", "birds per km²"),
    positive("cocks_per_km2", "cocks per km²"),
    positive("hens_per_km2", "hens per km²"),
    positive("deer_per_km2", "deer per km²"),
    positive("per_ha", "per ha"),
    // Lengths, areas, volumes, angles.
    positive("mm", "mm"),
    any("cm", "cm"),
    positive("m", "m"),
    positive("km", "km"),
    positive("m2", "m²"),
    positive("ha", "ha"),
    positive("km2", "km²"),
    positive("m3", "m³"),
    bounded("deg", "°", 90.0),
    positive("m_per_ha", "m per ha"),
    positive("m2_per_ha", "m² per ha"),
    positive("cm_per_year", "cm a year"),
    positive("m_per_year", "m a year"),
    // Times.
    positive("minutes", "min"),
    positive("hours", "h"),
    positive("days", "days"),
    positive("weeks", "weeks"),
    positive("months", "months"),
    any("years", "years"),
    positive("days_per_100m", "days per 100 m"),
    positive("minutes_per_100m", "min per 100 m"),
    positive("km_per_h", "km/h"),
    // Weather and ground.
    positive("deg_c_per_100m", "°C per 100 m"),
    positive("m_per_s", "m/s"),
    positive("mph", "mph"),
    bounded("beaufort", "Beaufort", 12.0),
    positive("psi", "psi"),
    positive("kpa", "kPa"),
    positive("t", "t"),
    bounded("ellenberg", "(Ellenberg scale)", 12.0),
    // Stock, deer and forage.
    positive("lu", "LU"),
    positive("lu_per_kg", "LU per kg"),
    positive("lu_per_ha", "LU per ha"),
    positive("sheep_per_ha", "sheep per ha"),
    positive("cattle_per_ha", "cattle per ha"),
    positive("grazing_days_per_ha_per_year", "grazing days per ha a year"),
    positive("kg", "kg"),
    positive("kg_dm_per_day", "kg dry matter a day"),
    positive("kg_dm_per_year", "kg dry matter a year"),
    positive("t_dm_per_year", "t dry matter a year"),
    positive("t_dm_per_ha_per_year", "t dry matter per ha a year"),
    positive("g_per_m2", "g per m²"),
    positive("percent_liveweight_per_day", "% of liveweight a day"),
    // Trees.
    positive("stems_per_ha", "stems per ha"),
    positive("trees_per_ha", "trees per ha"),
    positive("yield_class", "m³ per ha a year"),
    // Work in a day.
    positive("m_per_day", "m a day"),
    positive("ha_per_day", "ha a day"),
    positive("trees_per_person_day", "trees per person a day"),
    positive("points_per_day", "points a day"),
    positive("dams_per_day", "dams a day"),
    positive("leks_per_day", "leks a day"),
    positive("mounds_per_day", "mounds a day"),
    positive("days_per_ha", "days per ha"),
    // Money.
    positive("gbp", "GBP"),
    positive("gbp_each", "GBP each"),
    positive("gbp_per_m", "GBP per m"),
    positive("gbp_per_m2", "GBP per m²"),
    positive("gbp_per_ha", "GBP per ha"),
    positive("gbp_per_ha_per_year", "GBP per ha a year"),
    positive("gbp_per_100m_per_year", "GBP per 100 m a year"),
    positive("gbp_per_day", "GBP a day"),
    positive("gbp_per_hour", "GBP an hour"),
    positive("gbp_per_head_per_week", "GBP per head a week"),
    positive("gbp_per_year", "GBP a year"),
];

impl Unit {
    /// The unit a word of the tables means.
    pub fn from_word(word: &str) -> Option<&'static Unit> {
        UNITS.iter().find(|unit| unit.word == word)
    }

    /// Whether a number may lie outside of the unit's bounds.
    pub fn holds(&self, number: f64) -> bool {
        number.is_finite() && self.min <= number && number <= self.max
    }
}
