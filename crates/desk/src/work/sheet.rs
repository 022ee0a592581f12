//! The year sheet.

use crate::api::year::{LekYear, SeasonCell, SeasonTitle, Spread, YearSheet};
use crate::answers::Start;
use chrono::Datelike;
use habitat::ahead::YearLedger;
use habitat::{Quantiles, Season};

impl From<Quantiles> for Spread {
    fn from(q: Quantiles) -> Spread {
        Spread { p10: q.p10, p50: q.p50, p90: q.p90 }
    }
}

/// The seasons in order, in words.
pub fn titles() -> Vec<SeasonTitle> {
    let title = |s: Season| SeasonTitle { key: s.key().into(), title: s.name().into(), months: s.months().into(), wants: s.wants().into() };
    Season::ALL.into_iter().map(title).collect()
}

/// The sheet of the year as surveyed.
pub fn surveyed(start: &Start, version: u64) -> YearSheet {
    let leks = start.base.assessment.leks.iter().map(|lek| LekYear {
        lek: lek.id.clone(),
        seasons: lek
            .seasons
            .iter()
            .map(|s| SeasonCell {
                season: s.season.key().into(),
                supply_ha: s.supply_ha.into(),
                need_ha: s.need_ha.into(),
                margin: s.margin.into(),
                missing_ha: s.missing_ha.into(),
                short: s.short_fraction,
            })
            .collect(),
        pinch: lek.pinch.key().into(),
    });
    page(start, version, 0, leks.collect())
}

/// The sheet of a year ahead.
pub fn ahead(start: &Start, version: u64, option: Option<u32>, year: &YearLedger) -> YearSheet {
    let leks = year.leks.iter().zip(&start.base.assessment.leks).map(|(lek, now)| LekYear {
        lek: lek.id.clone(),
        seasons: lek
            .seasons
            .iter()
            .zip(&now.seasons)
            .map(|(s, now)| SeasonCell {
                season: s.season.key().into(),
                supply_ha: s.supply_ha.into(),
                need_ha: now.need_ha.into(),
                margin: s.margin.into(),
                missing_ha: s.missing_ha.into(),
                short: s.short_fraction,
            })
            .collect(),
        pinch: lek.pinch.key().into(),
    });
    YearSheet { option, ..page(start, version, year.year, leks.collect()) }
}

fn page(start: &Start, version: u64, year: u32, leks: Vec<LekYear>) -> YearSheet {
    YearSheet {
        version,
        option: None,
        year,
        calendar: start.holding.about.as_at.map(|day| day.year() + year as i32),
        leks,
        seasons: titles(),
        draws: start.base.settings.draws,
        took_ms: 0.0,
    }
}
