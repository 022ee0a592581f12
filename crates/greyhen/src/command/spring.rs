//! The birds as a hand-over tells them: what was counted, how numbers ran, what lies ahead under the courses handed over.

use super::birds::gather::{self, Settings};
use super::birds::ground;
use super::counts::after;
use super::course::{Start, Under};
use super::place_of;
use crate::fail::Fail;
use birds::counts::YearTable;
use birds::found::found;
use birds::network::Dispersal;
use birds::power::Question;
use birds::project::birds::Neighbours;
use birds::trend::table::Table;
use birds::trend::words::Words;
use birds::trend::{Ask, trend};
use handover::Spring;
use handover::spring::{Ahead, Linked};

/// The birds of a plan under courses looked ahead to, that as now first.
pub fn of(start: &Start, courses: &[Under]) -> Result<Spring, Fail> {
    let (holding, guidance) = (&start.holding, &start.guidance);
    let country = holding.about.country;
    let drawn = trend(&Table::of_years(&YearTable::of_plan(holding, guidance, place_of(holding))?), &Ask::usual(guidance, country)?);
    let words = Words::of(guidance, country)?;
    let question = Question::usual(guidance, country)?;
    let draws = guidance.draws(start.base.settings.seed, start.base.settings.draws, country);
    let mut out = Spring {
        verdict: drawn.as_ref().map(|t| words.verdict(t)).unwrap_or_default(),
        trend: drawn,
        found: found(holding, guidance, &draws, place_of(holding), question.level)?,
        question,
        ahead: Err("There are no birds to follow: no lek of the plan has a count with a cock in it. Dawn counts of one lek that holds birds would do.".to_string()),
        network: None,
        after: after::of_plan(holding, guidance, &start.base)?,
    };
    let horizon = courses.first().and_then(|c| c.forecast.years.last()).map_or(0, |y| y.year);
    if horizon == 0 || !gather::lacking(start)?.is_empty() {
        return Ok(out);
    }
    let ahead = gather::ahead(start, courses, Settings { horizon, neighbours: Neighbours::default() })?;
    let later = ahead.later.iter().filter_map(|l| Some((l.option, l.year, l.hens_ratio?))).collect();
    let dispersal = Dispersal::of(guidance, country)?;
    out.network = ahead.network.map(|network| Linked { network, dispersal, later });
    out.ahead = Ok(Ahead { held: ahead.held.words(), projection: ahead.projection, limits: ahead.limits, ground_keys: ground::KEYS.to_vec() });
    Ok(out)
}
