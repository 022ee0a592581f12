//! The account of an option of a plan.

use super::cost::{self, Own};
use super::income::income;
use super::line::TooGreat;
use super::payments::Look;
use super::place::place;
use super::reckon::{Given, reckon};
use super::{Account, Ask, PAYMENTS, falling};
use chrono::Datelike;
use guidance::{Country, Unknown};
use holding::Measure;
use measures::kind::{done, find, year_of};
use measures::option::{faults, measures};
use measures::rules::Context;

/// Why there is no account.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Fail {
    /// A figure the tables lack.
    #[error(transparent)]
    Guidance(#[from] Unknown),
    /// An amount too great.
    #[error(transparent)]
    TooGreat(#[from] TooGreat),
    /// The plan has no such option.
    #[error("option {0}: needed an option of the plan, found none of that number\n  hint: add it first: greyhen option FILE add NAME")]
    NoOption(u32),
    /// The plan has no day, so that no year has a number.
    #[error("day of the plan: needed a day that years are counted from, found none\n  hint: say which day the plan stands for")]
    NoDay,
    /// Payments not wanted that there are not.
    #[error("payments not wanted: needed ids of payments, found {}\n  hint: one of {}", .0.join(", "), PAYMENTS.iter().map(|p| p.id).collect::<Vec<_>>().join(", "))]
    NoPayment(Vec<String>),
    /// Sums beyond what pence can hold, or years too far apart.
    #[error(
        "account: needed sums below £100,000,000,000 and years less than a thousand apart, found more\n  hint: look at the quantities, the years and your own rates"
    )]
    Beyond,
}

/// What an option costs and brings in. Years are counted from the plan's day: the account begins with the year after it, and a measure of
/// an earlier year, or of none, falls in that year.
///
/// # Errors
/// [`Fail`].
pub fn of_option(c: &Context, ask: &Ask) -> Result<Account, Fail> {
    let country = c.holding.about.country;
    if !c.holding.options.iter().any(|option| option.number == ask.option) {
        return Err(Fail::NoOption(ask.option));
    }
    let strange: Vec<String> = ask.not_wanted.iter().filter(|id| !PAYMENTS.iter().any(|p| p.id == id.as_str())).cloned().collect();
    if !strange.is_empty() {
        return Err(Fail::NoPayment(strange));
    }
    let base_year = c.today.ok_or(Fail::NoDay)?.year();
    if measures(c, ask.option).iter().any(|(measure, _)| year_of(c, measure) > YEARS_MAX) {
        return Err(Fail::Beyond);
    }
    let mut own = Own::new(ask);
    let mut lines = Vec::new();
    let look = Look::new(c, ask.option)?;
    for ((measure, entry), costs) in look.measures.iter().zip(&look.costs) {
        lines.extend(cost::lines(c, (*measure, *entry), costs, &place(c, measure, entry), base_year, &mut own)?);
    }
    let mut earned = income(&look, ask, base_year, &mut own)?;
    lines.extend(earned.lines);
    let mut says = left_out(c, ask.option);
    if let Some(veil) = c.veil {
        lines = lines.into_iter().map(|line| line.behind(veil)).collect::<Result<_, _>>()?;
        earned.not_claimed.iter_mut().for_each(|n| n.quantity = veil.amount(&n.measure, &n.unit, n.quantity));
        if look.measures.iter().any(|(measure, _)| veil.covers(&measure.id)) {
            says.push("Quantities of measures that would give a lek away, and the money for them, are told to one figure: claim and pay by the exact ones.".to_string());
        }
    }
    says.extend([
        "Prices are those of each rate's year, not raised; money is discounted without inflation.".to_string(),
        "Payments are counted for one agreement, without renewal, in the year the work is done; schemes pay later. This is an advice: what is paid is settled by the scheme; check the rules in force.".to_string(),
    ]);
    says.extend(out_of_place(ask));
    if country == Country::GB {
        says.push("The plan names no country: no payments were looked at.".to_string());
    }
    let given = Given {
        lines,
        first_year: base_year + 1,
        falling: falling(c.guidance, country)?,
        not_claimed: earned.not_claimed,
        terms: earned.terms,
        own_unused: own.unused(),
        says,
        edition: c.guidance.edition().to_string(),
    };
    reckon(given, ask).ok_or(Fail::Beyond)
}

/// Measures whose money does not lie where they are meant for, in words.
fn out_of_place(ask: &Ask) -> Vec<String> {
    let later: Vec<String> = ask.later.iter().map(|(id, years)| format!("{id} by {years}")).collect();
    let cannot: Vec<&str> = ask.cannot.iter().map(String::as_str).collect();
    let said = |words: &str, all: String| (!all.is_empty()).then(|| format!("{words}: {all}."));
    let later = said("Work comes to lie later than meant for, and its money with it, in years", later.join(", "));
    later.into_iter().chain(said("No day is left for the work, its money is counted all the same", cannot.join(", "))).collect()
}

/// The most years ahead a measure may lie.
const YEARS_MAX: u32 = 500;

/// Measures whose money is missing or doubtful, in words.
fn left_out(c: &Context, option: u32) -> Vec<String> {
    let of_option = || c.holding.measures.iter().filter(|measure| measure.option == option);
    let wrong = faults(c, option);
    let said = |words: &str, which: &dyn Fn(&&Measure) -> bool| {
        let ids: Vec<&str> = of_option().filter(|measure| which(measure)).map(|measure| measure.id.as_str()).collect();
        (!ids.is_empty()).then(|| format!("{words}: {}.", ids.join(", ")))
    };
    let unknown = |measure: &&Measure| find(&measure.kind).is_none();
    let faulty = |measure: &&Measure| !unknown(measure) && wrong.iter().any(|fault| fault.measure == measure.id);
    [
        said("Of no known kind, and so without any money here", &unknown),
        said("With faults, so that money may be missing or wrong", &faulty),
        said("Done already; their money is counted all the same, in the year the plan gives them", &|measure| done(measure).is_some()),
    ]
    .into_iter()
    .flatten()
    .collect()
}
