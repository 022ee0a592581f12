//! What the works cost and bring in, in words: to the penny, with what every rate stands on.

use super::{Telling, things};
use crate::words;
use ::works::account::{Account, Claim, Flow, Line, NotClaimed, PerUnit, Rate, Standing, Worth};
use ::works::money::Pence;
use guidance::{Country, Grade};
use serde::Serialize;

/// The account of the works as printed. Money is pounds and pence; three figures are low, usual and high.
#[derive(Clone, Debug, Serialize)]
pub struct MoneyText {
    /// Whether there is a chart of the years.
    pub drawn: bool,
    /// Year by year.
    pub years: Vec<YearText>,
    /// All years together.
    pub total: YearText,
    /// What the sums are without, a sentence each.
    pub without: Vec<String>,
    /// What it is worth now and comes to: worth, the falling rates, the lowest point, payback, a sentence each.
    pub said: Vec<String>,
    /// Present value of costs, of income, of both, and the equal amount a year: name and three figures.
    pub worth: Vec<(&'static str, [String; 3])>,
    /// Costs for a unit gained.
    pub units: Vec<UnitText>,
    /// By measure, in the order of the account.
    pub measures: Vec<MeasureText>,
    /// The rates most money goes by.
    pub moved: Vec<MovedText>,
    /// Payments to claim.
    pub claims: Vec<ClaimText>,
    /// What those payments ask for.
    pub terms: Vec<TermsText>,
    /// Payments that are not claimed, a sentence each.
    pub not_claimed: Vec<String>,
    /// Every rate, numbered from 1.
    pub rates: Vec<RateText>,
    /// Own rates no line uses, a sentence each.
    pub own_unused: Vec<String>,
    /// What must be said of the account as a whole.
    pub says: Vec<String>,
}

/// A year of the account.
#[derive(Clone, Debug, Serialize)]
pub struct YearText {
    /// The year; `all` for the sum.
    pub year: String,
    /// What goes out: usual, low and high in brackets.
    pub cost: String,
    /// What comes in.
    pub income: String,
    /// Usual income less cost.
    pub net: String,
    /// Usual net of this year and all before it.
    pub balance: String,
}

/// Cost for a unit gained.
#[derive(Clone, Debug, Serialize)]
pub struct UnitText {
    /// What is gained.
    pub what: &'static str,
    /// How much of it.
    pub gain: String,
    /// Present cost for one: least, usual, most; `-` where it cannot be told.
    pub cost: [String; 3],
    /// The same with income taken off.
    pub less_income: [String; 3],
    /// Why a figure is missing; empty where none is.
    pub why: String,
}

/// What a measure costs and brings in.
#[derive(Clone, Debug, Serialize)]
pub struct MeasureText {
    /// Its number on the maps, from 1; 0 where it has none.
    pub number: usize,
    /// What it is called.
    pub called: String,
    /// What goes out.
    pub cost: String,
    /// What comes in.
    pub income: String,
}

/// A rate moved to its low and its high.
#[derive(Clone, Debug, Serialize)]
pub struct MovedText {
    /// What for.
    pub what: String,
    /// Which way its money goes.
    pub flow: &'static str,
    /// Numbers of the rates.
    pub rates: Vec<usize>,
    /// The rate in words.
    pub rate: String,
    /// Usual money that hangs on it.
    pub size: String,
    /// Worth now with it at its low and at its high; empty where no spread is known.
    pub net: Vec<String>,
}

/// A payment to claim: one item for one measure, all years together.
#[derive(Clone, Debug, Serialize)]
pub struct ClaimText {
    /// What is paid for.
    pub item: String,
    /// What its measure is called.
    pub called: String,
    /// First and last year.
    pub years: String,
    /// How much a year.
    pub quantity: String,
    /// The rate, pounds; `no rate` where none is known.
    pub rate: String,
    /// Number of the rate.
    pub note: usize,
    /// All years together.
    pub sum: String,
}

/// What a payment asks for.
#[derive(Clone, Debug, Serialize)]
pub struct TermsText {
    /// What it is called.
    pub title: String,
    /// Conditions, as far as they were read.
    pub condition: String,
    /// What would prove it.
    pub evidence: String,
    /// Where that was read.
    pub stands: Stands,
}

/// Where a figure comes from, in words that are never empty.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stands {
    /// Source with the place in it, or that there is none.
    pub source: String,
    /// Edition, or that none is recorded.
    pub edition: String,
    /// Where it holds.
    pub country: String,
    /// How far to trust it.
    pub grade: &'static str,
}

/// A rate, numbered.
#[derive(Clone, Debug, Serialize)]
pub struct RateText {
    /// Number, from 1.
    pub number: usize,
    /// What is paid by it.
    pub what: String,
    /// The rate in words.
    pub rate: String,
    /// What must be said of it: what it stands on, how old it is.
    pub says: String,
    /// Where it comes from.
    pub stands: Stands,
}

impl Stands {
    /// Of a source, an edition (empty where none is recorded), a country and a grade.
    pub(super) fn new(source: String, edition: &str, country: Country, grade: Grade) -> Stands {
        let source = words::no_source(grade).map_or(source, str::to_owned);
        let edition = if edition.is_empty() { "no edition recorded".to_owned() } else { edition.to_owned() };
        Stands { source, edition, country: country.in_words().to_owned(), grade: words::grade(grade) }
    }

    /// Of a rate; of none where none is known.
    fn of(rate: Option<&Rate>) -> Stands {
        match rate {
            Some(rate) => match rate.grade {
                Some(grade) => Stands::new(rate.source.clone(), &rate.edition, rate.country, grade),
                None => {
                    let note = if rate.source.is_empty() { "no note of where it is from".to_owned() } else { rate.source.clone() };
                    Stands { source: note, edition: "your own".into(), country: "your own".into(), grade: Standing::Own.in_words() }
                }
            },
            None => Stands { source: "none known: put your own in".into(), edition: "none".into(), country: "none".into(), grade: "none" },
        }
    }
}

impl Telling<'_> {
    /// The account in words; otherwise why there is none. `number` tells the number of a measure on the maps.
    ///
    /// # Errors
    /// Why there is no account, in words.
    pub fn money(&self, number: &dyn Fn(&str) -> usize) -> Result<MoneyText, String> {
        let a = self.works.account.as_ref().map_err(|why| self.words(&format!("Money: not told: {why}")))?;
        if a.lines.is_empty() {
            return Err("Money: no cost and no income of these measures is known.".into());
        }
        let rates = Numbered::of(a);
        Ok(MoneyText {
            drawn: a.years.iter().any(|y| y.cost[1] != Pence(0) || y.income[1] != Pence(0)),
            years: a.years.iter().map(|y| year(y.year.to_string(), y.cost, y.income, y.net[1], y.balance)).collect(),
            total: year("all".into(), a.totals.cost, a.totals.income, a.totals.net[1], a.totals.net[1]),
            without: self.without(a),
            said: said(a),
            worth: vec![
                ("Present value of the costs", a.worth.cost.map(|p| p.to_string())),
                ("Present value of the income", a.worth.income.map(|p| p.to_string())),
                ("Worth now: worst, usual, best", a.worth.net.map(|p| p.to_string())),
                ("Worth now at the Treasury's falling rates", a.worth_falling.net.map(|p| p.to_string())),
                ("The same each year", a.worth.equal_annual.map(|p| p.to_string())),
            ],
            units: [("usable hectare gained", &a.per_usable_ha), ("need met", &a.per_gain)].into_iter().filter_map(|(what, per)| Some(unit(what, per.as_ref()?))).collect(),
            measures: self.by_measure(a, number),
            moved: self.moved(a, &rates),
            claims: self.claims(a, &rates),
            terms: a.terms.values().map(|t| TermsText {
                title: t.title.clone(),
                condition: t.condition.clone(),
                evidence: t.evidence.clone(),
                stands: Stands::new(t.source.clone(), &t.edition, t.country, t.grade),
            }).collect(),
            not_claimed: a.not_claimed.iter().map(|n| self.not_claimed(n)).collect(),
            rates: rates.0.iter().enumerate().map(|(i, lines)| self.rate(i + 1, lines)).collect(),
            own_unused: a.own_unused.iter().map(|own| self.words(&format!("Own rate for {} not used: {}.", own.item, own.why))).collect(),
            says: a.says.iter().map(|line| self.words(line)).collect(),
        })
    }

    /// What the sums are without: lines no rate is known for, those of one item together.
    fn without(&self, a: &Account) -> Vec<String> {
        let mut items: Vec<(Flow, &str, Vec<String>)> = Vec::new();
        for line in a.lines.iter().filter(|line| line.pence.is_none()) {
            let of = format!("{} {} of {}", line.quantity, line.unit, self.measure(&line.measure));
            match items.iter_mut().find(|(flow, item, _)| *flow == line.flow && *item == line.item) {
                Some((_, _, all)) => all.push(of),
                None => items.push((line.flow, &line.item, vec![of])),
            }
        }
        let sums = |flow: Flow| if flow == Flow::Cost { "Costs are" } else { "Income is" };
        items.iter().map(|(flow, item, of)| format!("{} without {}, no rate known: {}.", sums(*flow), self.words(item), of.join(", "))).collect()
    }

    fn by_measure(&self, a: &Account, number: &dyn Fn(&str) -> usize) -> Vec<MeasureText> {
        let mut ids: Vec<&str> = Vec::new();
        a.lines.iter().for_each(|line| if !ids.contains(&line.measure.as_str()) { ids.push(&line.measure) });
        let mut out: Vec<MeasureText> = ids.into_iter().map(|id| {
            let of = |flow: Flow| {
                let lines: Vec<&Line> = a.lines.iter().filter(|line| line.measure == id && line.flow == flow).collect();
                let sum = lines.iter().filter_map(|line| line.pence).fold([Pence(0); 3], |sum, p| std::array::from_fn(|i| sum[i] + p[i]));
                match lines.iter().filter(|line| line.pence.is_none()).count() {
                    0 => three(sum),
                    unknown if unknown == lines.len() => "no rate known".to_owned(),
                    unknown => format!("{}, without {}", three(sum), things(unknown, "line of no rate")),
                }
            };
            MeasureText { number: number(id), called: self.measure(id), cost: of(Flow::Cost), income: of(Flow::Income) }
        }).collect();
        out.sort_by_key(|m| m.number);
        out
    }

    fn moved(&self, a: &Account, rates: &Numbered) -> Vec<MovedText> {
        let told = |m: &::works::account::Moved| MovedText {
            what: self.words(&m.items.join(", ")),
            flow: flow(m.flow),
            rates: rates.numbers(|line| line.flow == m.flow && line.rate.as_ref().is_some_and(|r| r.key == m.key)),
            rate: in_words(m.gbp, &m.unit_words),
            size: m.size.to_string(),
            net: if m.fixed { vec![] } else { m.net.iter().map(Pence::to_string).collect() },
        };
        a.sensitivity.iter().map(told).collect()
    }

    fn claims(&self, a: &Account, rates: &Numbered) -> Vec<ClaimText> {
        let mut groups: Vec<Vec<&Claim>> = Vec::new();
        let same = |x: &Claim, y: &Claim| (&x.payment, &x.measure, &x.item, &x.rate_key, x.rate_gbp, x.quantity) == (&y.payment, &y.measure, &y.item, &y.rate_key, y.rate_gbp, y.quantity);
        for claim in &a.claims {
            match groups.iter_mut().find(|group| same(group[0], claim)) {
                Some(group) => group.push(claim),
                None => groups.push(vec![claim]),
            }
        }
        let told = |group: &Vec<&Claim>| {
            let (first, last) = (group[0], group[group.len() - 1]);
            let sum = group.iter().map(|c| c.pence).try_fold(Pence(0), |sum, p| p.map(|p| sum + p));
            ClaimText {
                item: self.words(&first.item),
                called: self.measure(&first.measure),
                years: if first.year == last.year { first.year.to_string() } else { format!("{} to {}", first.year, last.year) },
                quantity: format!("{} {}", first.quantity, first.unit),
                rate: first.rate_gbp.map_or_else(|| "no rate".to_owned(), |r| format!("{r:.2}")),
                note: rates.numbers(|line| line.flow == Flow::Income && line.item == first.item && line.measure == first.measure && line.rate.as_ref().map_or("", |r| r.key.as_str()) == first.rate_key).first().copied().unwrap_or(0),
                sum: sum.map_or_else(|| "-".to_owned(), |p| p.to_string()),
            }
        };
        groups.iter().map(told).collect()
    }

    fn not_claimed(&self, n: &NotClaimed) -> String {
        // A quantity is no place, though its digits may look like one.
        format!("{} for {}, {} {}: {}.", self.words(&n.item), self.measure(&n.measure), n.quantity, n.unit, self.words(n.why.trim_end_matches('.')))
    }

    fn rate(&self, number: usize, lines: &[&Line]) -> RateText {
        let rate = lines.first().and_then(|line| line.rate.as_ref());
        let mut items: Vec<String> = Vec::new();
        lines.iter().for_each(|line| if !items.contains(&line.item) { items.push(line.item.clone()) });
        let years = || lines.iter().flat_map(|line| &line.parts).map(|part| part.year);
        let says = match (rate, years().min(), years().max()) {
            (Some(rate), Some(first), Some(last)) => rate.says(first, last).join("; "),
            _ => "no rate known".to_owned(),
        };
        RateText {
            number,
            what: self.words(&items.join("; ")),
            rate: rate.map_or_else(|| "no rate known".to_owned(), |r| in_words(r.gbp, &r.unit_words)),
            says,
            stands: self.scrubbed(Stands::of(rate)),
        }
    }

    /// The note of an own rate is the user's words.
    fn scrubbed(&self, stands: Stands) -> Stands {
        Stands { source: self.words(&stands.source), ..stands }
    }
}

/// The lines of an account by their rate: rates by first use, then what no rate is known for.
struct Numbered<'a>(Vec<Vec<&'a Line>>);

impl<'a> Numbered<'a> {
    fn of(a: &'a Account) -> Self {
        let mut groups: Vec<Vec<&Line>> = Vec::new();
        let same = |x: &Line, y: &Line| match (&x.rate, &y.rate) {
            (Some(x), Some(y)) => x == y,
            (None, None) => true,
            _ => false,
        };
        for line in &a.lines {
            match groups.iter_mut().find(|group| same(group[0], line)) {
                Some(group) => group.push(line),
                None => groups.push(vec![line]),
            }
        }
        groups.sort_by_key(|group| group[0].rate.is_none());
        Numbered(groups)
    }

    /// Numbers of the rates some lines go by.
    fn numbers(&self, is: impl Fn(&Line) -> bool) -> Vec<usize> {
        (1..).zip(&self.0).filter(|(_, group)| group.iter().any(|line| is(line))).map(|(number, _)| number).collect()
    }
}

/// Usual pounds and pence, low and high in brackets where they differ.
pub fn three(pence: [Pence; 3]) -> String {
    if pence[0] == pence[2] { pence[1].to_string() } else { format!("{} ({} to {})", pence[1], pence[0], pence[2]) }
}

fn year(year: String, cost: [Pence; 3], income: [Pence; 3], net: Pence, balance: Pence) -> YearText {
    YearText { year, cost: three(cost), income: three(income), net: net.to_string(), balance: balance.to_string() }
}

fn flow(flow: Flow) -> &'static str {
    match flow {
        Flow::Cost => "cost",
        Flow::Income => "income",
    }
}

/// A rate with its low and high: `9.80 GBP per m (8.00 to 11.00)`.
fn in_words(gbp: [f64; 3], unit: &str) -> String {
    let spread = if gbp[0] == gbp[2] { ", no spread known".to_owned() } else { format!(" ({:.2} to {:.2})", gbp[0], gbp[2]) };
    format!("{:.2} {unit}{spread}", gbp[1])
}

fn unit(what: &'static str, per: &PerUnit) -> UnitText {
    let each = |three: [Option<Pence>; 3]| three.map(|p| p.map_or_else(|| "-".to_owned(), |p| p.to_string()));
    let [low, usual, high] = per.gain;
    UnitText { what, gain: format!("{usual:.2} ({low:.2} to {high:.2})"), cost: each(per.cost), less_income: each(per.cost_less_income), why: per.why.clone() }
}

/// What it is worth now, a sentence each.
fn said(a: &Account) -> Vec<String> {
    let mut out = vec![worth(&a.worth), format!("At the Treasury's falling rates {} ({}).", a.worth_falling.net[1], a.worth_falling.convention)];
    out.extend(a.low.as_ref().filter(|low| low.balance < Pence(0)).map(|low| format!("The purse is lowest at the end of {}: {} must be found beforehand.", low.year, -low.balance)));
    out.push(a.payback.map_or_else(|| "By these rates it never pays back.".to_owned(), |year| format!("It has paid back for good in {year}.")));
    out
}

fn worth(w: &Worth) -> String {
    let (worst, best, years) = (w.net[0], w.net[2], things(w.years as usize, "year"));
    format!("Worth now {} ({worst} at the worst, {best} at the best), the same as {} each year for {years}: {}.", w.net[1], w.equal_annual[1], w.convention)
}
