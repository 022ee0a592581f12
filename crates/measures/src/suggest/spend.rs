//! What the next pound buys most of, across all kinds of measure: offers from every kind, tried against the years ahead, and the best
//! set of them at rising budgets, each with a bound.
//!
//! An offer's worth is what it adds to the needs met ([`super::design`]); a bird saved at a fence counts as its share of the
//! needs of a lek at the target: seven seasons over the cocks and hens of it, each year it is saved. Effects are added up, as if
//! offers lay apart; the gain told beside each budget is that of all of them together, on every draw.

use super::design::{Horizon, deltas, met_by_draw, together};
use super::wood::{self, DesignError};
use super::{Suggested, fence, heather, water};
use crate::kind::{self, Quantity};
use crate::rules::Context;
use solve::choose::{Candidate, Choice, Chosen, Step};
use solve::pack::Options;
use chrono::Datelike;
use guidance::Unknown;
use habitat::ahead::trial::{BySeason, Place, Trials};
use habitat::ahead::variant::cells;
use habitat::ahead::{Course, Programme, forecast};
use habitat::assess::{AssessError, quantiles};
use habitat::{Quantiles, Season};
use holding::{Extra, Measure, ParcelKind, StockClass, Stubble, Word};
use serde_json::json;

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Ask {
    /// The most money, pounds at the usual rates.
    pub budget_gbp: f64,
    /// Points of the frontier, evenly spread up to the budget.
    pub points: usize,
    /// How woods are designed.
    pub wood: wood::Ask,
    /// How heather is worked.
    pub heather: heather::Ask,
    /// Search settings.
    pub search: Options,
}

/// An offer: a measure with what it costs and changes.
#[derive(Clone, Debug)]
pub struct Offer {
    /// The measure and why.
    pub suggested: Suggested,
    /// What it changes by itself, by year of the horizon, lek and season, usable hectares.
    pub effect: BySeason,
    /// Birds saved a year, where it saves any.
    pub saved_a_year: f64,
    /// What that is worth, in the unit of the needs met.
    pub saved_worth: f64,
}

/// One budget.
#[derive(Clone, Debug)]
pub struct Point {
    /// Money there is, pounds.
    pub budget_gbp: f64,
    /// The choice: offers, value, bound, gap.
    pub chosen: Chosen,
    /// Needs met more than as now, all offers together, on every draw; worth of birds saved left out.
    pub gain: Quantiles,
    /// Birds saved a year.
    pub saved_a_year: f64,
}

/// The answer.
pub struct Spending {
    /// Every offer.
    pub offers: Vec<Offer>,
    /// By rising budget.
    pub points: Vec<Point>,
    /// What to buy first, gain for the pound, until nothing more gains or the money is gone.
    pub next: Vec<Step>,
    /// Value of meeting every need in every year.
    pub best_value: f64,
    /// What could not be offered, in words.
    pub notes: Vec<String>,
}

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum SpendError {
    /// Woods cannot be designed for want of a figure, or a choice cannot be posed.
    #[error(transparent)]
    Design(#[from] DesignError),
    /// The years ahead cannot be told.
    #[error(transparent)]
    Ahead(#[from] AssessError),
    /// A figure is missing.
    #[error(transparent)]
    Guidance(#[from] Unknown),
}

/// Find what money buys most of. `say` is told what is under way; `stop` ends searches early, with the bounds they have by then.
///
/// # Errors
/// [`SpendError`].
pub fn spend(c: &Context, ask: &Ask, say: &dyn Fn(&str), stop: &dyn Fn() -> bool) -> Result<Spending, SpendError> {
    let horizon = Horizon::read(c)?;
    say("letting the ground go on by itself");
    let mut trials = Trials::new(c.assessed, c.holding, c.guidance, Vec::new(), &horizon.years)?;
    let mut notes = Vec::new();
    say("growing and trying woods");
    let (mut offers, exclusive) = woods(c, ask, &mut trials, &mut notes)?;
    say("trying water, fields, grazing and leks");
    let mut measures: Vec<Suggested> = water::suggest(c)?;
    measures.extend(fields(c)?);
    measures.extend(lek_care(c)?);
    measures.extend(off_wintering(c)?);
    say("trying heather");
    offers.extend(heather(c, ask, &mut notes)?);
    for suggested in measures {
        if let Some(effect) = effect(c, &suggested.measure, &mut trials)? {
            offers.push(Offer { suggested, effect, saved_a_year: 0.0, saved_worth: 0.0 });
        }
    }
    offers.extend(fences(c, &horizon)?);
    let terms = horizon.terms(&trials.now, &trials.need);
    let best_value = terms.iter().map(|t| t.weight).sum();
    let choice = Choice {
        candidates: offers
            .iter()
            .map(|o| Candidate { area_ha: area_ha(&o.suggested), cost_gbp: o.suggested.gbp[1], harm: -o.saved_worth, deltas: deltas(&o.effect) })
            .collect(),
        terms,
        exclusive,
        ..Choice::default()
    };
    say("choosing at every budget");
    let points = ask.points.max(1);
    let budgets: Vec<f64> = (1..=points).map(|i| ask.budget_gbp * i as f64 / points as f64).collect();
    let chosen = choice.frontier(&budgets, &ask.search, stop).map_err(DesignError::from)?;
    let next = Choice { budget_gbp: Some(ask.budget_gbp), ..choice.clone() }.next(&[], offers.len()).map_err(DesignError::from)?;
    say("looking ahead under every budget");
    let none = Programme::default();
    let now = forecast(c.assessed, c.holding, c.guidance, Course { holding: c.holding, programme: &none }, &horizon.years)?;
    let base = met_by_draw(&horizon, &now.supply, &c.assessed.need);
    let mut out = Vec::new();
    for (budget_gbp, chosen) in budgets.into_iter().zip(chosen) {
        let picked: Vec<&Measure> = chosen.chosen.iter().map(|i| &offers[*i].suggested.measure).collect();
        let (with, programme) = together(c, &picked)?;
        let then = forecast(c.assessed, c.holding, c.guidance, Course { holding: &with, programme: &programme }, &horizon.years)?;
        let met = met_by_draw(&horizon, &then.supply, &c.assessed.need);
        let gain: Vec<f64> = met.iter().zip(&base).map(|(m, b)| m - b).collect();
        let saved_a_year = chosen.chosen.iter().map(|i| offers[*i].saved_a_year).fold(0.0, |sum, v| sum + v);
        out.push(Point { budget_gbp, chosen, gain: quantiles(&gain), saved_a_year });
    }
    Ok(Spending { offers, points: out, next, best_value, notes })
}

fn area_ha(s: &Suggested) -> f64 {
    use geo::Area;
    s.measure.shape.unsigned_area() / 1e4
}

/// Woods as offers, and which exclude each other.
fn woods(c: &Context, ask: &Ask, trials: &mut Trials, notes: &mut Vec<String>) -> Result<(Vec<Offer>, Vec<Vec<usize>>), SpendError> {
    match wood::tries(c, &ask.wood, trials) {
        Ok(tries) => {
            let offers = tries.tried.iter().map(|t| Offer { suggested: wood::told(c, t, None), effect: t.effect.clone(), saved_a_year: 0.0, saved_worth: 0.0 }).collect();
            Ok((offers, tries.exclusive))
        }
        Err(DesignError::NoRoom { found, .. }) => {
            notes.push(format!("No wood is offered: {found}."));
            Ok((Vec::new(), Vec::new()))
        }
        Err(e) => Err(e.into()),
    }
}

/// What a measure changes by itself; `None` where it does nothing to the ground the ledger sees.
fn effect(c: &Context, measure: &Measure, trials: &mut Trials) -> Result<Option<BySeason>, Unknown> {
    let Some(entry) = kind::find(&measure.kind) else { return Ok(None) };
    let mut programme = Programme::default();
    (entry.works)(c, measure, &mut programme)?;
    if let ([work], true) = (programme.works.as_slice(), programme.stock.is_empty()) {
        let on = cells(&c.assessed.layout.frame, &work.area);
        let recipe = trials.add(vec![work.clone()]);
        return Ok(trials.effects(&[Place { cells: on, recipe }])?.pop());
    }
    if programme.works.is_empty() && programme.stock.is_empty() {
        return Ok(None);
    }
    let (with, programme) = together(c, &[measure])?;
    trials.whole(&with, &programme).map(Some)
}

/// Patches of a heather rotation, each by itself; the rotation they are taken from keeps the limits between them.
fn heather(c: &Context, ask: &Ask, notes: &mut Vec<String>) -> Result<Vec<Offer>, SpendError> {
    match heather::suggest(c, &ask.heather, &|| false) {
        Ok(design) => {
            let offers = design.suggested.into_iter().zip(design.effects);
            Ok(offers.map(|(suggested, effect)| Offer { suggested, effect, saved_a_year: 0.0, saved_worth: 0.0 }).collect())
        }
        Err(DesignError::NoRoom { found, .. }) => {
            notes.push(format!("No heather is offered: {found}."));
            Ok(Vec::new())
        }
        Err(e) => Err(e.into()),
    }
}

/// A measure of a kind with facts, costed.
fn made(c: &Context, kind_key: &str, id: String, shape: geo_types::MultiPolygon<f64>, facts: Extra, why: String) -> Result<Suggested, Unknown> {
    let measure = Measure { id, kind: kind_key.to_string(), year: c.today.map(|d| d.year() + 1), shape, facts, ..Measure::default() };
    let (gbp, figures): ([f64; 3], Vec<Quantity>) = match kind::find(kind_key) {
        Some(entry) => (kind::cost::total(&(entry.costs)(c, &measure)?), (entry.quantities)(c, &measure)?),
        None => ([0.0; 3], Vec::new()),
    };
    Ok(Suggested { measure, why, gbp, figures })
}

/// Stubble left on arable that is ploughed or not told of, meadows cut late.
fn fields(c: &Context) -> Result<Vec<Suggested>, Unknown> {
    let mut out = Vec::new();
    for p in &c.holding.parcels {
        let (work, why) = match (p.kind, p.stubble) {
            (ParcelKind::InByeArable, None | Some(Stubble::Ploughed)) => ("stubble", "seed left over winter; the crop forgone is not counted"),
            (ParcelKind::InByeMeadow, _) => ("meadow", "a sward left standing until broods can fly; hay of less worth is not counted"),
            _ => continue,
        };
        let facts: Extra = [("work".to_string(), json!(work)), ("parcel".to_string(), json!(p.id))].into_iter().collect();
        out.push(made(c, "inbye", format!("{work} {}", p.id), p.shape.clone(), facts, why.to_string())?);
    }
    Ok(out)
}

/// Leks whose sward is taller than suits display, kept short.
fn lek_care(c: &Context) -> Result<Vec<Suggested>, Unknown> {
    let most_cm = c.number("structure.lek.vegetation_max")?;
    let mut out = Vec::new();
    for lek in c.leks().iter().filter(|l| l.ground.sward_cm.is_some_and(|cm| cm > most_cm)) {
        let facts: Extra = [("work".to_string(), json!("short")), ("lek".to_string(), json!(lek.id))].into_iter().collect();
        let why = format!("the sward of the display ground stands taller than {}", c.words("structure.lek.vegetation_max")?);
        out.push(made(c, "lek_care", format!("short {}", lek.id), geo_types::MultiPolygon(vec![]), facts, why)?);
    }
    Ok(out)
}

/// Sheep wintered away from hill parcels that carry more in winter than suits the birds.
fn off_wintering(c: &Context) -> Result<Vec<Suggested>, Unknown> {
    use geo::Area;
    let most = c.number("stocking.black_grouse.winter_max")?;
    let mut out = Vec::new();
    for p in c.holding.parcels.iter().filter(|p| matches!(p.kind, ParcelKind::Hill | ParcelKind::Common | ParcelKind::Rough)) {
        for class in [StockClass::HillEwe, StockClass::HeavyEwe, StockClass::Hogg] {
            let winter = |m: usize| c.holding.stock.iter().filter(|s| s.parcel == p.id && s.class == class).map(|s| f64::from(s.head[m])).sum::<f64>();
            // December stands for the core of the winter.
            let there = winter(11);
            let over = there - most * p.shape.unsigned_area() / 1e4;
            if over < 1.0 {
                continue;
            }
            let facts: Extra =
                [("parcel".to_string(), json!(p.id)), ("class".to_string(), json!(class.word())), ("off_winter_head".to_string(), json!(over.ceil().min(there)))]
                    .into_iter()
                    .collect();
            let why = format!("{there:.0} head winter there, more than {} suits", c.words("stocking.black_grouse.winter_max")?);
            out.push(made(c, "grazing", format!("winter {} {}", p.id, class.word()), p.shape.clone(), facts, why)?);
        }
    }
    Ok(out)
}

/// The best way with every fence section that saves birds.
fn fences(c: &Context, horizon: &Horizon) -> Result<Vec<Offer>, Unknown> {
    let birds = c.number("need.target_cocks")? * (1.0 + c.number("need.hens_per_cock")?);
    let worth = Season::ALL.len() as f64 / birds.max(1.0);
    let none: BySeason = horizon.years.iter().map(|_| vec![[0.0; 7]; c.leks().len()]).collect();
    let mut out = Vec::new();
    for tried in fence::tried(c)? {
        let (Some(mut suggested), Some(best)) = (fence::put_forward(c, &tried), tried.choices.first()) else { continue };
        suggested.measure.year = suggested.measure.year.or(c.today.map(|d| d.year() + 1));
        let years = horizon.discounted(best.years);
        out.push(Offer { suggested, effect: none.clone(), saved_a_year: best.saved.usual, saved_worth: worth * best.saved.usual * years });
    }
    Ok(out)
}
