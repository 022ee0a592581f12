//! The days that law, leks and guidance leave for a work: what programmes of works keep to, by the same windows the rules hold.

use super::seen::OnMeasures;
use super::when::{self, DAYS, Window};
use super::{burn_season, work_in_season};
use guidance::Unknown;
use holding::Measure;

/// Days of a leap year.
const YEAR: usize = 366;

/// When a work may be done as far as its own nature goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Nature {
    /// Between two dates of the guidance.
    Between([&'static str; 2]),
    /// Burning: in every season that may be in force in the country.
    Burning,
    /// Forestry with saws and machines: outside of the nesting season.
    Forestry,
    /// At any time.
    Any,
}

/// One thing that opens or shuts days.
#[derive(Clone, Debug, PartialEq)]
pub struct Bound {
    /// Its days.
    pub window: Window,
    /// Whether it opens them alone, or shuts them.
    pub opens: bool,
    /// In words, with its days; a lek is not named and its distance not told.
    pub words: String,
    /// Guidance keys of its dates and distances; none for months the measure tells.
    pub keys: Vec<&'static str>,
    /// The lek near by that shuts it, by name, and its distance in metres: secret; `None` behind a veil.
    pub lek: Option<(String, f64)>,
}

/// The days left for a work.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Season {
    /// What opens and shuts days.
    pub bounds: Vec<Bound>,
    /// The days left, in spans of the year; none where no day is left.
    pub left: Vec<Window>,
}

impl Season {
    /// Whether every day of the year is left.
    pub fn all_year(&self) -> bool {
        self.bounds.is_empty()
    }
}

/// The days left for a work of a measure. `own`: whether the month the measure tells binds it too.
///
/// # Errors
/// A figure the tables lack.
pub fn of<'a>(o: &OnMeasures<'a>, measure: &'a Measure, nature: Nature, own: bool) -> Result<Season, Unknown> {
    let mut bounds = Vec::new();
    match nature {
        Nature::Between(keys) => {
            let window = Window::read(o, keys[0], keys[1], o.country())?;
            let from = o.edition_of(keys[0], o.country());
            bounds.push(Bound { window, opens: true, words: format!("done {} ({from})", window.words()), keys: keys.to_vec(), lek: None });
        }
        Nature::Burning => {
            for country in o.countries() {
                for season in burn_season::seasons(o, country)? {
                    let words = format!("burning only {} ({}): check the code in force", season.window.words(), season.from);
                    bounds.push(Bound { window: season.window, opens: true, words, keys: season.keys.to_vec(), lek: None });
                }
            }
        }
        Nature::Forestry => {
            let window = nesting(o)?;
            let words = format!("no forestry work in the nesting season, {}", window.words());
            bounds.push(Bound { window, opens: false, words, keys: work_in_season::NESTING.to_vec(), lek: None });
        }
        Nature::Any => {}
    }
    let place = work_in_season::place_of(o, measure);
    if geo::CoordsIter::coords_count(&place) > 0 {
        bounds.extend(lek_quiet(o, &place)?);
    }
    if own && let Some(months) = when::months(measure) {
        let window = whole_months(&months);
        bounds.push(Bound { window, opens: true, words: format!("the measure says {}", when::words(&months)), keys: vec![], lek: None });
    }
    let left = left(&bounds);
    Ok(Season { bounds, left })
}

/// The display season, where a lek lies near; behind a veil, where one may.
fn lek_quiet(o: &OnMeasures, place: &geo_types::Geometry<f64>) -> Result<Option<Bound>, Unknown> {
    let (lek, is) = match o.context.veil {
        Some(veil) => {
            let near_m = o.number(work_in_season::NEAR)?;
            if veil.far_m(place).is_none_or(|far_m| far_m >= near_m) {
                return Ok(None);
            }
            (None, "may be")
        }
        None => {
            let Some((lek, far_m)) = work_in_season::near(o, place)? else { return Ok(None) };
            (Some((o.context.lek_name(lek), far_m)), "is")
        }
    };
    let window = Window::read(o, work_in_season::DISPLAY[0], work_in_season::DISPLAY[1], o.country())?;
    let words = format!("no work {}: a lek {is} within {}", window.words(), o.context.words(work_in_season::NEAR)?);
    let keys = [&work_in_season::DISPLAY[..], &[work_in_season::NEAR]].concat();
    Ok(Some(Bound { window, opens: false, words, keys, lek }))
}

/// The nesting season: ground is searched before heavy work on any of its days.
///
/// # Errors
/// A date the tables lack.
pub fn nesting(o: &OnMeasures) -> Result<Window, Unknown> {
    Window::read(o, work_in_season::NESTING[0], work_in_season::NESTING[1], o.country())
}

/// From the first day of the first month to the last of the last.
fn whole_months(months: &[usize]) -> Window {
    let (first, last) = (months.first().copied().unwrap_or(0), months.last().copied().unwrap_or(11));
    Window { first: (first as u32 + 1, 1), last: (last as u32 + 1, DAYS[last]) }
}

/// The spans of the year that every bound leaves.
fn left(bounds: &[Bound]) -> Vec<Window> {
    let days: Vec<(u32, u32)> = (0..12).flat_map(|m| (1..=DAYS[m]).map(move |d| (m as u32 + 1, d))).collect();
    let open: Vec<bool> = days.iter().map(|day| bounds.iter().all(|b| b.window.holds(*day) == b.opens)).collect();
    if open.iter().all(|o| *o) {
        return vec![Window { first: days[0], last: days[YEAR - 1] }];
    }
    let begins = (0..YEAR).filter(|d| open[*d] && !open[(d + YEAR - 1) % YEAR]);
    let span = |first: usize| {
        let many = (0..YEAR).take_while(|n| open[(first + n) % YEAR]).count();
        Window { first: days[first], last: days[(first + many - 1) % YEAR] }
    };
    begins.map(span).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::tests::{measure, with};
    use crate::rules::fixture::{moor, rect};
    use guidance::Country;
    use serde_json::json;

    fn days(country: Country, east: f64, kind: &str, facts: &[(&str, serde_json::Value)], nature: Nature) -> String {
        let mut h = moor();
        h.about.country = country;
        h.measures = vec![measure(kind, rect(1000.0 + east, 990.0, 1000.0 + east + 50.0, 1010.0), facts)];
        with(&h, |c| {
            let o = OnMeasures::new(*c, h.measures[0].option, None).unwrap();
            let season = of(&o, o.measures[0], nature, true).unwrap();
            season.left.iter().map(|w| w.words()).collect::<Vec<_>>().join(" and ")
        })
    }

    /// A lek within 750 m shuts March to May (common practice); planting is November to April (from memory).
    #[test]
    fn a_lek_near_by_shuts_the_spring_and_one_farther_off_does_not() {
        let plant = Nature::Between(["window.planting.first", "window.planting.last"]);
        assert_eq!(days(Country::England, 740.0, "wood", &[], plant), "1 November to end of February");
        assert_eq!(days(Country::England, 760.0, "wood", &[], plant), "1 November to 30 April");
        assert_eq!(days(Country::England, 760.0, "wood", &[("month", json!("Mar-Apr"))], plant), "1 March to 30 April");
        assert_eq!(days(Country::England, 740.0, "wood", &[("month", json!("Mar-Apr"))], plant), "");
    }

    /// Heather and Grass etc. Burning (England) Regulations 2021, reg 2: 1 October to 15 April in the uplands; Wales, regulations of 2008: to 31
    /// March; Scotland: both the season of the Act of 2011 and that of the Act of 2024.
    #[test]
    fn burning_keeps_to_the_season_of_the_country() {
        let burn = [("work", json!("burn"))];
        assert_eq!(days(Country::England, 760.0, "heather", &burn, Nature::Burning), "1 October to 15 April");
        assert_eq!(days(Country::Wales, 760.0, "heather", &burn, Nature::Burning), "1 October to 31 March");
        assert_eq!(days(Country::Scotland, 760.0, "heather", &burn, Nature::Burning), "1 October to 31 March");
        assert_eq!(days(Country::Scotland, 740.0, "heather", &burn, Nature::Burning), "1 October to end of February");
    }

    #[test]
    fn forestry_keeps_out_of_the_nesting_season_and_other_work_is_free_far_from_leks() {
        assert_eq!(days(Country::England, 760.0, "lek_care", &[], Nature::Forestry), "1 September to end of February");
        assert_eq!(days(Country::England, 760.0, "heather", &[], Nature::Any), "1 January to 31 December");
        assert_eq!(days(Country::England, 740.0, "heather", &[], Nature::Any), "1 June to end of February");
    }
}
