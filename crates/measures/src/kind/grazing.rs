//! Grazing changed: who grazes where in which month, and what is wintered away.

use super::facts::{Facts, MONTHS, months_of};
use super::place::{not_there, parcel_of};
use super::{Cost, Entry, Fact, Fault, Form, Quantity, Unpriced, Usual, cost, year_of};
use crate::rules::Context;
use crate::rules::places::hectares;
use crate::rules::words::number as figure;
use guidance::{Unknown, Value};
use habitat::ahead::{Programme, StockFrom};
use holding::{Holding, Measure, Parcel, Stock, StockClass, Word};

/// Weeks in a month: a year of 365.25 days has 52.18 weeks.
pub const WEEKS_A_MONTH: f64 = 365.25 / 7.0 / 12.0;

const FACTS: &[Fact] = &[
    Fact {
        name: "parcel",
        what: "parcel grazed, by id or name; left out: the parcel that holds most of the area drawn",
        form: Form::Text,
        usual: Usual::MayBeLeftOut,
    },
    Fact {
        name: "class",
        what: "class of stock",
        form: Form::OneOf(&["hill_ewe", "heavy_ewe", "hogg", "cow", "store", "pony", "red_deer"]),
        usual: Usual::Word("hill_ewe"),
    },
    Fact {
        name: "head",
        what: "head by month or span of months, such as \"Apr-Oct 80, Nov-Mar 20\"; months left out stay as they were",
        form: Form::Table,
        usual: Usual::MayBeLeftOut,
    },
    Fact {
        name: "off_winter_head",
        what: "head wintered away in the off-winter months, taken off the head that would stand there",
        form: Form::Number { from: 0.0, to: 100_000.0 },
        usual: Usual::MayBeLeftOut,
    },
    Fact { name: "off_winter_from", what: "first month away; left out: the usual of the guidance", form: Form::OneOf(&MONTHS), usual: Usual::MayBeLeftOut },
    Fact { name: "off_winter_to", what: "last month away; left out: the usual of the guidance", form: Form::OneOf(&MONTHS), usual: Usual::MayBeLeftOut },
    Fact {
        name: "away",
        what: "head kept away by month or span of months, such as \"Nov-Mar 60\", taken off the head that would stand there",
        form: Form::Table,
        usual: Usual::MayBeLeftOut,
    },
    Fact { name: "years", what: "years the away-keep is paid for", form: Form::Number { from: 1.0, to: 60.0 }, usual: Usual::Key("kind.years") },
];

/// The kind.
pub static ENTRY: Entry = Entry {
    key: "grazing",
    title: "Grazing changed",
    explain: "Head of one class in one parcel by month, in place of what is there now; the other classes stay. On ground for black grouse sheep \
below {stocking.black_grouse.summer_max} in summer and {stocking.black_grouse.winter_max} in winter let heather, blaeberry and seeding grass recover: \
cover, insects and broods gain most in the first years, and after about {structure.undergrazing.fade_years} the sward turns rank, so plan to graze again, \
best in several blocks of about {stocking.block_best}. Stock wintered away, usually {stocking.off_winter.first} to {stocking.off_winter.last}, spares heather \
in its hardest season. It harms by rank swards that waders leave and chicks cannot walk, by pressure on the ground the stock goes to, and by a broken heft \
on unfenced hill. Needs the grazier's agreement and on a common that of all who share it. Money: away-keep by head and week for the years counted; \
stock sold, fencing, feeding and shepherding are not counted; undiscounted.",
    facts: FACTS,
    cautions: &["caution.lone_work", "caution.weather", "caution.atv.record", "caution.atv.kit", "caution.ticks"],
    faults,
    quantities,
    works,
    features,
    harm,
    costs,
    unpriced,
    window,
};

fn faults(context: &Context, measure: &Measure) -> Vec<Fault> {
    let facts = Facts::of(context, measure, FACTS);
    let mut faults = facts.faults();
    let said = facts.word("parcel");
    if parcel_of(context, &said, measure).is_none() {
        faults.push(not_there("parcel", &said, context.holding.parcels.iter().map(|p| (p.id.as_str(), p.name.as_str()))));
    }
    for name in ["head", "away"] {
        let mut told = [false; 12];
        for (words, head) in facts.table(name).unwrap_or_default() {
            let mut fault = |found: String, needed: &str| {
                faults.push(Fault { at: name.into(), found, needed: needed.into(), hint: format!("for example --fact {name}=\"Apr-Oct 80, Nov-Mar 20\"") });
            };
            match months_of(&words) {
                None => fault(format!("`{words}`"), "a month such as May, or a span such as Nov-Mar"),
                Some(months) if months.iter().any(|m| told[*m]) => fault(format!("`{words}`, of which a month was told before"), "each month once"),
                Some(months) => months.iter().for_each(|m| told[*m] = true),
            }
            if head < 0.0 {
                fault(format!("{head} head"), "head from 0 up");
            }
        }
    }
    if let Ok(Some(c)) = change(context, measure) {
        for (words, head) in facts.table("away").unwrap_or_default() {
            let there = |m: usize| c.then[m] + c.away[m];
            let months = months_of(&words).unwrap_or_default();
            if let Some(least) = months.into_iter().map(there).reduce(f64::min).filter(|least| head > *least) {
                faults.push(Fault {
                    at: "away".into(),
                    found: format!("{head} kept away in {words}, where {least} stand"),
                    needed: "no more head than stand there".into(),
                    hint: "give the class that is there with --fact class=..., or its head by month with --fact head=...".into(),
                });
            }
        }
    }
    if let (Ok(Some(c)), Ok(Some(head))) = (change(context, measure), facts.maybe_number("off_winter_head")) {
        let there = c.then.iter().zip(c.away).map(|(then, away)| then + away);
        let most = there.zip(c.window).filter(|(_, away)| *away).map(|(head, _)| head).fold(0.0, f64::max);
        if head > most {
            faults.push(Fault {
                at: "off_winter_head".into(),
                found: format!("{head} wintered away, where at most {most} stand in those months"),
                needed: "no more head than stand there".into(),
                hint: "give the class that is there with --fact class=..., or its head by month with --fact head=...".into(),
            });
        }
    }
    if !facts.has("head") && !facts.has("off_winter_head") && !facts.has("away") {
        faults.push(Fault {
            at: "head".into(),
            found: "nothing that changes".into(),
            needed: "head by month, off_winter_head or away".into(),
            hint: "for example --fact head=\"Apr-Oct 80\" or --fact off_winter_head=60".into(),
        });
    }
    faults
}

/// A month of a fact, or of a date of the guidance, counted from 0.
fn month(context: &Context, facts: &Facts, name: &str, key: &str) -> Result<usize, Unknown> {
    if let Some(at) = MONTHS.iter().position(|m| *m == facts.word(name)) {
        return Ok(at);
    }
    Ok(match context.guidance.row(key, context.holding.about.country)?.value {
        Value::MonthDay(month, _) => month as usize - 1,
        _ => 0,
    })
}

/// What a grazing measure comes to.
struct Change<'a> {
    parcel: &'a Parcel,
    class: StockClass,
    /// Head now, by month.
    now: [f64; 12],
    /// Head after, by month.
    then: [f64; 12],
    /// Head wintered away, by month.
    away: [f64; 12],
    /// The months of wintering away.
    window: [bool; 12],
}

/// The change over what stands there when it begins: the survey, and the measures of the option that come before it.
fn change<'a>(context: &Context<'a>, measure: &Measure) -> Result<Option<Change<'a>>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let (Some(parcel), Some(class)) = (parcel_of(context, &facts.word("parcel"), measure), StockClass::from_word(&facts.word("class"))) else {
        return Ok(None);
    };
    let mut now = [0.0; 12];
    for stock in context.holding.stock.iter().filter(|s| s.parcel == parcel.id && s.class == class) {
        now.iter_mut().zip(stock.head).for_each(|(sum, head)| *sum += f64::from(head));
    }
    let all = &context.holding.measures;
    let place = all.iter().position(|m| m.id == measure.id).unwrap_or(all.len());
    let of_the_option = all.iter().enumerate().filter(|(_, m)| m.option == measure.option && m.kind == ENTRY.key);
    let mut before: Vec<(u32, usize, &Measure)> = of_the_option.map(|(i, m)| (year_of(context, m), i, m)).collect();
    before.retain(|(year, i, _)| (*year, *i) < (year_of(context, measure), place));
    before.sort_by_key(|(year, i, _)| (*year, *i));
    for (_, _, earlier) in before {
        let said = Facts::of(context, earlier, FACTS);
        let there = parcel_of(context, &said.word("parcel"), earlier);
        if there.is_some_and(|p| p.id == parcel.id) && StockClass::from_word(&said.word("class")) == Some(class) {
            now = apply(context, &said, now)?.0;
        }
    }
    let (then, away) = apply(context, &facts, now)?;
    let mut window = [false; 12];
    away_months(context, &facts)?.into_iter().for_each(|m| window[m] = true);
    Ok(Some(Change { parcel, class, now, then, away, window }))
}

/// The months of wintering away, counted from 0.
fn away_months(context: &Context, facts: &Facts) -> Result<Vec<usize>, Unknown> {
    let from = month(context, facts, "off_winter_from", "stocking.off_winter.first")?;
    let to = month(context, facts, "off_winter_to", "stocking.off_winter.last")?;
    Ok((from..=from + (to + 12 - from) % 12).map(|m| m % 12).collect())
}

/// Head by month after the facts of a measure, and head wintered away.
fn apply(context: &Context, facts: &Facts, now: [f64; 12]) -> Result<([f64; 12], [f64; 12]), Unknown> {
    let (mut then, mut away) = (now, [0.0; 12]);
    for (words, head) in facts.table("head").unwrap_or_default() {
        months_of(&words).unwrap_or_default().into_iter().for_each(|m| then[m] = head.max(0.0));
    }
    if let Some(head) = facts.maybe_number("off_winter_head")? {
        for m in away_months(context, facts)? {
            away[m] = head.min(then[m]);
            then[m] -= away[m];
        }
    }
    for (words, head) in facts.table("away").unwrap_or_default() {
        for m in months_of(&words).unwrap_or_default() {
            let more = head.max(0.0).min(then[m]);
            away[m] += more;
            then[m] -= more;
        }
    }
    Ok((then, away))
}

/// Head of the measure's class in its parcel, January first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heads {
    /// Before it.
    pub now: [f64; 12],
    /// After it.
    pub then: [f64; 12],
    /// Kept away.
    pub away: [f64; 12],
}

/// Head by month of a measure; `None` where it names no parcel or class there is.
///
/// # Errors
/// A figure the tables lack.
pub fn heads(context: &Context, measure: &Measure) -> Result<Option<Heads>, Unknown> {
    Ok(change(context, measure)?.map(|c| Heads { now: c.now, then: c.then, away: c.away }))
}

/// Head of a measure kept away, January first.
///
/// # Errors
/// A figure the tables lack.
pub fn away(context: &Context, measure: &Measure) -> Result<[f64; 12], Unknown> {
    Ok(change(context, measure)?.map_or([0.0; 12], |c| c.away))
}

fn quantities(context: &Context, measure: &Measure) -> Result<Vec<Quantity>, Unknown> {
    let Some(c) = change(context, measure)? else { return Ok(vec![]) };
    let class = c.class.word().replace('_', " ");
    let moved = |less: bool| c.now.iter().zip(c.then).map(|(n, t)| if less { n - t } else { t - n }).map(|d| d.max(0.0)).sum::<f64>();
    Ok(vec![
        Quantity { what: "parcel".into(), amount: hectares(&c.parcel.shape), unit: "ha" },
        Quantity { what: format!("{class} taken off"), amount: moved(true), unit: "head-months a year" },
        Quantity { what: format!("{class} put on"), amount: moved(false), unit: "head-months a year" },
        Quantity { what: "away-keep".into(), amount: c.away.iter().sum::<f64>() * WEEKS_A_MONTH, unit: "head-weeks a year" },
    ])
}

/// The change of this class alone; [`crate::option::programme`] adds the classes that stay.
fn works(context: &Context, measure: &Measure, programme: &mut Programme) -> Result<(), Unknown> {
    if let Some(c) = change(context, measure)? {
        let stock = Stock { id: measure.id.clone(), parcel: c.parcel.id.clone(), class: c.class, head: c.then.map(|h| h as f32) };
        programme.stock.push(StockFrom { year: year_of(context, measure), stock });
    }
    Ok(())
}

fn features(context: &Context, measure: &Measure, holding: &mut Holding) -> Result<(), Unknown> {
    if let Some(c) = change(context, measure)? {
        holding.stock.retain(|s| !(s.parcel == c.parcel.id && s.class == c.class));
        if c.then.iter().any(|h| *h > 0.0) {
            holding.stock.push(Stock { id: measure.id.clone(), parcel: c.parcel.id.clone(), class: c.class, head: c.then.map(|h| h as f32) });
        }
    }
    Ok(())
}

fn harm(context: &Context, measure: &Measure) -> Result<Vec<String>, Unknown> {
    let Some(c) = change(context, measure)? else { return Ok(vec![]) };
    let (before, after): (f64, f64) = (c.now.iter().sum(), c.then.iter().sum());
    let mut out = Vec::new();
    if after < before {
        out.push(format!(
            "the sward of {} turns rank after about {}: waders leave tall swards and chicks cannot walk in solid ones",
            super::called(&c.parcel.name, &c.parcel.id),
            context.words("structure.undergrazing.fade_years")?
        ));
        out.push("what is taken off grazes somewhere else: look at where it goes, and at hefts on unfenced hill".to_string());
    }
    if c.then.iter().zip(c.now).any(|(t, n)| *t > n) {
        out.push(format!("more head in {}: shorter swards, trampled nests and more pressure on heather and blaeberry", super::called(&c.parcel.name, &c.parcel.id)));
    }
    if c.away.iter().sum::<f64>() > 0.0 {
        out.push(format!("{} head wintered away need keep elsewhere each year, and come back less hefted", figure(c.away.iter().copied().fold(0.0, f64::max))));
    }
    Ok(out)
}

fn costs(context: &Context, measure: &Measure) -> Result<Vec<Cost>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let Some(c) = change(context, measure)? else { return Ok(vec![]) };
    let weeks = c.away.iter().sum::<f64>() * WEEKS_A_MONTH;
    if weeks <= 0.0 {
        return Ok(vec![]);
    }
    let years = facts.number("years")?;
    Ok(vec![cost::line_yearly(context, format!("away-keep, {years:.0} years"), [weeks; 3], years, "head-weeks", "cost.market.away_wintering")?])
}

/// What stock that is neither there nor kept away would have brought in.
fn unpriced(context: &Context, measure: &Measure) -> Result<Vec<Unpriced>, Unknown> {
    let Some(c) = change(context, measure)? else { return Ok(vec![]) };
    let gone = (0..12).map(|m| c.now[m] - c.then[m] - c.away[m]).fold(0.0, f64::max);
    if gone <= 0.0 {
        return Ok(vec![]);
    }
    let due = cost::yearly([gone; 3], Facts::of(context, measure, FACTS).number("years")?);
    Ok(vec![Unpriced { what: "income of stock taken off", unit: "head", rate_unit: "gbp_each", due }])
}

fn window(context: &Context, _: &Measure) -> Result<String, Unknown> {
    Ok(format!(
        "Change from {}, the usual start of off-wintering; stock back after {}.",
        context.words("schedule.stock_reduction_from")?,
        context.words("stocking.off_winter.last")?
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::tests::{measure, with};
    use crate::rules::fixture::grazed;
    use geo_types::MultiPolygon;
    use serde_json::json;

    #[test]
    fn months_told_change_and_the_rest_stays() {
        // 400 ha with 400 ewes in summer and 200 in winter (November to March).
        with(&grazed(1.0, 0.5), |c| {
            let m = measure("grazing", MultiPolygon(vec![]), &[("parcel", json!("test hill")), ("head", json!({"Jun-Jul": 300}))]);
            assert!(faults(c, &m).is_empty(), "{:?}", faults(c, &m));
            let mut programme = Programme::default();
            works(c, &m, &mut programme).unwrap();
            assert_eq!(programme.stock[0].stock.head, [200.0, 200.0, 200.0, 400.0, 400.0, 300.0, 300.0, 400.0, 400.0, 400.0, 200.0, 200.0]);
            assert_eq!(quantities(c, &m).unwrap()[1].amount, 200.0);
            assert!(costs(c, &m).unwrap().is_empty());
        });
    }

    #[test]
    fn stock_wintered_away_costs_by_head_and_week() {
        with(&grazed(1.0, 0.5), |c| {
            let facts = [("parcel", json!("H")), ("off_winter_head", json!(150)), ("years", json!(5))];
            let m = measure("grazing", MultiPolygon(vec![]), &facts);
            let mut after = c.holding.clone();
            features(c, &m, &mut after).unwrap();
            // Usual: 1 November to 31 March.
            assert_eq!(after.stock[0].head, [50.0, 50.0, 50.0, 400.0, 400.0, 400.0, 400.0, 400.0, 400.0, 400.0, 50.0, 50.0]);
            let line = &costs(c, &m).unwrap()[0];
            // 150 head for five months of 4.348 weeks, five years, 0.95 GBP.
            assert!((line.gbp[1] - 150.0 * 5.0 * 4.348_214 * 5.0 * 0.95).abs() < 0.1, "{line:?}");
        });
    }

    #[test]
    fn slips_are_told() {
        with(&grazed(1.0, 0.5), |c| {
            let away = |head: i32| faults(c, &measure("grazing", MultiPolygon(vec![]), &[("parcel", json!("H")), ("off_winter_head", json!(head))]));
            assert_eq!((away(200).len(), away(201).len()), (0, 1), "200 ewes winter there");
            let m = measure("grazing", MultiPolygon(vec![]), &[("parcel", json!("moon")), ("head", json!({"May-Jul": 10, "Jun": 20, "lambing": 3}))]);
            let found = faults(c, &m);
            assert_eq!(found.len(), 3, "{found:#?}");
            assert!(found[0].hint.contains("Test Hill"));
            assert_eq!(faults(c, &measure("grazing", MultiPolygon(vec![]), &[("parcel", json!("H"))])).len(), 1);
        });
    }
}
