//! What schemes pay for an option: bids of every payment, shared out on the ground, as lines.

use super::choose::{Bid, share};
use super::claims::{NotClaimed, Terms};
use super::cost::{Own, rated};
use super::line::{Flow, Line, Of, printed};
use super::own::Names;
use super::payments::{Earned, Look, PAYMENTS, Payment, PaymentPart, Span};
use super::place::place;
use super::rate::{self, text};
use super::{Ask, Fail};
use crate::money::Pence;
use guidance::{Grade, Guidance, Unknown};
use measures::rules::Context;
use std::collections::BTreeMap;

/// Income of an option.
#[derive(Default)]
pub struct Income {
    /// One line for each payment, part and measure.
    pub lines: Vec<Line>,
    /// What is not claimed.
    pub not_claimed: Vec<NotClaimed>,
    /// Terms of what is claimed.
    pub terms: BTreeMap<String, Terms>,
}

/// A payment a measure could earn.
struct Offer {
    payment: &'static Payment,
    earned: Earned,
    /// Years each part is paid.
    years: Vec<u32>,
    /// Calendar year of the measure.
    first: i32,
    /// Present worth of all parts, for one unit of the quantity, pounds; a part without a rate counts nothing.
    worth_gbp: f64,
}

impl Offer {
    /// The parts, each with its calendar years.
    fn parts(&self) -> impl Iterator<Item = (&'static PaymentPart, std::ops::Range<i32>)> {
        self.payment.parts.iter().zip(&self.years).map(|(part, years)| {
            let from = self.first + part.after_yr as i32;
            (part, from..from.saturating_add(*years as i32))
        })
    }
}

/// Income of an option.
///
/// # Errors
/// A figure the tables lack, or an amount too great.
pub fn income(look: &Look, ask: &Ask, base_year: i32, own: &mut Own) -> Result<Income, Fail> {
    let c = look.c;
    let mut out = Income::default();
    let mut offers: Vec<Offer> = Vec::new();
    let wanted = |payment: &&Payment| payment.country == c.holding.about.country && !ask.not_wanted.iter().any(|id| id == payment.id);
    for payment in PAYMENTS.iter().filter(wanted) {
        let found = (payment.earned)(look)?;
        let most = payment.parts.iter().map(|part| years(c, payment, part)).collect::<Result<Vec<u32>, _>>()?;
        for earned in found.earned.into_iter().filter(|earned| earned.quantity > 0.0) {
            let first = base_year + earned.from as i32 + ask.years_later(&look.measures[earned.at].0.id);
            let years = most.iter().map(|years| (*years).min(earned.years)).collect();
            offers.push(Offer { payment, years, first, earned, worth_gbp: 0.0 });
        }
        for refused in found.refused {
            let (measure, entry) = look.measures[refused.at];
            out.not_claimed.push(NotClaimed {
                payment: payment.id.to_string(),
                item: text(c.guidance, payment.country, &format!("earns.{}.title", payment.id)),
                measure: measure.id.clone(),
                place: place(c, measure, entry),
                quantity: printed(refused.quantity, refused.unit),
                unit: refused.unit.to_string(),
                instead: vec![],
                why: refused.why,
            });
        }
    }
    // What takes ground is shared out; what is paid by the piece stands by itself.
    let on_ground: Vec<usize> = (0..offers.len()).filter(|i| offers[*i].earned.ground.is_some()).collect();
    for offer in &mut offers {
        offer.worth_gbp = worth(c, ask, base_year, offer, own);
    }
    let bids: Vec<Bid> = on_ground.iter().filter_map(|i| bid(&offers[*i])).collect();
    let got = share(&bids, &|a, b| excludes(c.guidance, &PAYMENTS[a], &PAYMENTS[b]));
    let mut granted: Vec<f64> = offers.iter().map(|offer| offer.earned.quantity).collect();
    for (place_in_list, got) in got.iter().enumerate() {
        let i = on_ground[place_in_list];
        granted[i] = granted[i].min(got.ha);
        if got.lost_to.is_empty() {
            continue;
        }
        let by: Vec<&Offer> = got.lost_to.iter().map(|(b, _)| &offers[on_ground[*b]]).collect();
        let lost = offers[i].earned.quantity - granted[i];
        if printed(lost, offers[i].earned.unit) <= 0.0 {
            continue;
        }
        out.not_claimed.push(not_claimed(c, look, &offers[i], lost, &by));
    }
    for (offer, quantity) in offers.iter().zip(granted).filter(|(_, quantity)| printed(*quantity, "ha") > 0.0) {
        out.terms.entry(offer.payment.id.to_string()).or_insert(terms(c, offer.payment)?);
        out.lines.extend(lines(c, look, offer, quantity, own)?);
    }
    Ok(out)
}

/// Years a part is paid at most.
fn years(c: &Context, payment: &Payment, part: &PaymentPart) -> Result<u32, Unknown> {
    Ok(match part.span {
        Span::Once => 1,
        Span::Agreement => c.guidance.number(&format!("earns.{}.years", payment.id), payment.country)?.round() as u32,
        Span::Years(key) => c.guidance.number(key, payment.country)?.round() as u32,
    })
}

/// Whether the tables say that one payment excludes the other.
fn excludes(guidance: &Guidance, a: &Payment, b: &Payment) -> bool {
    let named = text(guidance, a.country, &format!("earns.{}.excludes", a.id));
    named.split_whitespace().any(|id| id == b.id)
}

fn terms(c: &Context, payment: &Payment) -> Result<Terms, Unknown> {
    let row = |what: &str| c.guidance.row(&format!("earns.{}.{what}", payment.id), payment.country);
    let (title, condition, evidence) = (row("title")?, row("condition")?, row("evidence")?);
    let source = c.guidance.source(&condition.source).map_or_else(|| condition.source.clone(), |source| source.reference());
    let words = guidance::explain::value_in_words;
    Ok(Terms {
        title: words(title),
        condition: words(condition),
        evidence: words(evidence),
        grade: [condition.grade, evidence.grade].into_iter().max().unwrap_or(Grade::Assumption),
        source: format!("{source}; {}", condition.locator),
        edition: condition.edition.clone(),
        country: condition.country,
    })
}

/// Present worth of an offer, for one unit of its quantity, pounds.
fn worth(c: &Context, ask: &Ask, base_year: i32, offer: &Offer, own: &mut Own) -> f64 {
    let mut sum = 0.0;
    for (part, years) in offer.parts() {
        let item = item(c, offer.payment, part);
        let own = own.would_be(&names(offer.payment, part, &item));
        for year in years {
            let rate = own.clone().or_else(|| rate::at(c.guidance, offer.payment.country, part.rates, year));
            let index = usize::try_from(year - base_year - 1).unwrap_or(0);
            sum += rate.map_or(0.0, |rate| rate.gbp[1]) * ask.rates.factor(ask.first.years(index));
        }
    }
    sum
}

fn bid(offer: &Offer) -> Option<Bid> {
    Some(Bid {
        payment: PAYMENTS.iter().position(|p| p.id == offer.payment.id)?,
        ground: offer.earned.ground.clone()?,
        from: offer.first,
        until: offer.parts().map(|(_, years)| years.end).max().unwrap_or(offer.first),
        worth_per_ha: offer.worth_gbp,
    })
}

/// What a part is called.
fn item(c: &Context, payment: &Payment, part: &PaymentPart) -> String {
    let title = text(c.guidance, payment.country, &format!("earns.{}.title", payment.id));
    if part.what.is_empty() { title } else { format!("{title}, {}", part.what) }
}

/// What a part may be called by in own rates. What a thing costs and what is paid for it may have one key: an own rate of that key is the cost's.
fn names<'a>(payment: &'static Payment, part: &'static PaymentPart, item: &'a str) -> Names<'a> {
    let key = part.rates.first().copied().filter(|key| key.split('.').next() == Some("payment")).unwrap_or("");
    Names { key, what: item, id: payment.id, unit: part.unit }
}

fn not_claimed(c: &Context, look: &Look, offer: &Offer, lost: f64, by: &[&Offer]) -> NotClaimed {
    let (measure, entry) = look.measures[offer.earned.at];
    let title = |offer: &Offer| text(c.guidance, offer.payment.country, &format!("earns.{}.title", offer.payment.id));
    let itself = by.iter().all(|other| other.payment.id == offer.payment.id);
    let others: Vec<String> =
        by.iter().map(|other| format!("{} for measure {} ({})", title(other), look.measures[other.earned.at].0.id, worth_in_words(other))).collect();
    let why = if itself {
        format!("the same ground is claimed already: {}", others.join("; "))
    } else {
        format!("it excludes what is claimed on the same ground and worth more: {}; this one {}", others.join("; "), worth_in_words(offer))
    };
    let mut instead: Vec<String> = by.iter().map(|other| other.payment.id.to_string()).collect();
    instead.sort_unstable();
    instead.dedup();
    NotClaimed {
        payment: offer.payment.id.to_string(),
        item: title(offer),
        measure: measure.id.clone(),
        place: place(c, measure, entry),
        quantity: printed(lost, offer.earned.unit),
        unit: offer.earned.unit.to_string(),
        instead,
        why,
    }
}

/// What an offer is worth now a unit, and its years, in words.
fn worth_in_words(offer: &Offer) -> String {
    let last = offer.parts().map(|(_, years)| years.end - 1).max().unwrap_or(offer.first);
    let span = if last > offer.first { format!("{} to {last}", offer.first) } else { offer.first.to_string() };
    let worth = Pence::nearest(offer.worth_gbp).filter(|_| offer.worth_gbp > 0.0);
    worth.map_or_else(|| format!("no rate known, {span}"), |worth| format!("{worth} a hectare now, {span}"))
}

fn lines(c: &Context, look: &Look, offer: &Offer, quantity: f64, own: &mut Own) -> Result<Vec<Line>, Fail> {
    let (measure, entry) = look.measures[offer.earned.at];
    let payment = offer.payment;
    let mut out = Vec::new();
    for (part, years) in offer.parts() {
        let item = item(c, payment, part);
        let due: Vec<(i32, [f64; 3])> = years.map(|year| (year, [quantity; 3])).collect();
        let of = || Of {
            flow: Flow::Income,
            item: item.clone(),
            measure: measure.id.clone(),
            kind: entry.key.to_string(),
            place: place(c, measure, entry),
            payment: Some(payment.id.to_string()),
            unit: offer.earned.unit.to_string(),
        };
        let rates = match own.rate(&names(payment, part, &item)) {
            Some(rate) => vec![(Some(rate), due)],
            None => rated(c, part.rates, &due),
        };
        for (rate, due) in rates {
            out.push(Line::new(of(), &due, rate)?);
        }
    }
    Ok(out)
}
