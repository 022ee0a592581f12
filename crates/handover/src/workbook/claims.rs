//! The workbook of the grant officer: what is claimed and what is not, costs by year, totals, rates. Amounts are exact to the penny and
//! plain values: no formula stands in it.

use super::{Cell, Sheet, book, heads, n, some, t};
use crate::content::Content;
use crate::content::works::Telling;
use crate::pack::Pack;
use crate::shown::{self, Shown};
use crate::words;
use ::works::account::{Account, Claim, Flow, Line, PerUnit, Rate, Worth};
use ::works::money::Pence;

/// What the sheets are told with.
struct Told<'a> {
    account: &'a Account,
    shown: Vec<Shown<'a>>,
    telling: Telling<'a>,
    planned: &'a crate::Planned<'a>,
}

/// The bytes of the workbook.
///
/// # Errors
/// What the writer says.
pub fn of(pack: &Pack, content: &Content) -> Result<Vec<u8>, String> {
    let (Some(works), Some(planned)) = (pack.works, pack.option) else { return Err("no works".into()) };
    let account = works.account.as_ref().map_err(Clone::clone)?;
    let secrecy = pack.secrecy();
    let told = Told { account, shown: shown::of(pack, content), telling: Telling::of(works, &secrecy), planned };
    let mut about = super::about_option(content, "What the option earns and costs, for the grant officer and whoever pays. What is paid is settled by the scheme.");
    about.rows.extend(account.says.iter().map(|said| vec![t("To be said"), t(told.words(said))]));
    about.rows.extend(account.own_unused.iter().map(|own| vec![t("Own rate not used"), t(told.words(&format!("{}: {}", own.item, own.why)))]));
    let sheets = [told.claims(), told.by_year(), told.by_payment(), told.not_claimed(), told.costs(), told.totals(), told.rates(), about];
    book(&format!("{}: claims and costs", content.name), pack.today, &sheets).map_err(|e| e.to_string())
}

/// Money where it is known.
fn money(pence: Option<Pence>) -> Cell {
    pence.map_or_else(|| t(""), Cell::Money)
}

/// The columns that tell a measure.
const MEASURE: [(&str, f64); 3] = [("Measure", 9.0), ("Identity", 18.0), ("Place", 30.0)];

fn with_measure(before: &[(&str, f64)], after: &[(&str, f64)]) -> Vec<(String, f64)> {
    heads(&[before, &MEASURE, after].concat())
}

impl Told<'_> {
    fn words(&self, text: &str) -> String {
        self.telling.words(text)
    }

    /// A measure: its number, what it is called, its place as it may be told.
    fn measure(&self, id: &str) -> [Cell; 3] {
        let at = self.planned.jobs.iter().position(|j| j.measure.id == id).and_then(|i| self.shown.get(i));
        [at.map_or_else(|| t(""), |s| n(s.said.number)), t(self.telling.measure(id)), t(at.map_or("", |s| &s.said.place))]
    }

    /// The rate a claim is reckoned with.
    fn rate_of(&self, claim: &Claim) -> Option<&Rate> {
        let same = |line: &&Line| {
            let at = line.parts.iter().any(|part| part.year == claim.year);
            line.flow == Flow::Income && line.measure == claim.measure && line.payment.as_deref() == Some(&claim.payment) && line.item == claim.item && at
        };
        self.account.lines.iter().filter(same).filter_map(|line| line.rate.as_ref()).find(|rate| rate.key == claim.rate_key)
    }

    fn claims(&self) -> Sheet {
        let row = |claim: &Claim| {
            let rate = self.rate_of(claim);
            let mut row = vec![Cell::Number(f64::from(claim.year)), t(&claim.payment), t(self.words(&claim.item))];
            row.extend(self.measure(&claim.measure));
            row.extend([Cell::Amount(claim.quantity), t(&claim.unit), some(claim.rate_gbp, Cell::Amount), money(claim.pence)]);
            row.push(t(rate.map_or_else(String::new, |r| self.words(&r.source))));
            row.push(t(claim.standing.map_or("no rate known", ::works::account::Standing::in_words)));
            row.push(t(rate.and_then(|r| r.grade).map_or("", words::grade)));
            row.extend([t(self.words(&claim.evidence)), t(self.words(&claim.condition)), t(claim.grade.map_or("", words::grade)), t(self.words(&claim.says.join("; ")))]);
            row
        };
        let heads = with_measure(
            &[("Year", 8.0), ("Payment", 16.0), ("Item", 34.0)],
            &[
                ("Quantity", 11.0),
                ("Unit", 10.0),
                ("Rate, £ a unit", 10.0),
                ("Amount, £", 12.0),
                ("Source of the rate", 36.0),
                ("Standing", 20.0),
                ("Grade of the rate", 16.0),
                ("Evidence needed", 44.0),
                ("Conditions, as far as read", 44.0),
                ("Grade of these", 16.0),
                ("To be said", 40.0),
            ],
        );
        Sheet { name: "Claims", heads, rows: self.account.claims.iter().map(row).collect() }
    }

    fn by_year(&self) -> Sheet {
        let row = |year: &::works::account::YearSum| {
            let claims = self.account.claims.iter().filter(|c| c.year == year.year);
            let (known, unknown): (Vec<&Claim>, Vec<&Claim>) = claims.partition(|c| c.pence.is_some());
            let claimed: Pence = known.iter().filter_map(|c| c.pence).sum();
            vec![Cell::Number(f64::from(year.year)), n(known.len()), Cell::Money(claimed), n(unknown.len()), Cell::Money(year.cost[1]), Cell::Money(year.net[1]), Cell::Money(year.balance)]
        };
        let heads = heads(&[("Year", 10.0), ("Claims", 10.0), ("Claimed, £", 16.0), ("Claims without a rate", 12.0), ("Costs, £", 16.0), ("Income less costs, £", 16.0), ("Balance so far, £", 16.0)]);
        Sheet { name: "By year", heads, rows: self.account.years.iter().map(row).collect() }
    }

    fn by_payment(&self) -> Sheet {
        let mut payments: Vec<&str> = vec![];
        for claim in &self.account.claims {
            if !payments.contains(&claim.payment.as_str()) {
                payments.push(&claim.payment);
            }
        }
        let row = |payment: &&str| {
            let of: Vec<&Claim> = self.account.claims.iter().filter(|c| c.payment == *payment).collect();
            let sum: Pence = of.iter().filter_map(|c| c.pence).sum();
            let terms = self.account.terms.get(*payment);
            let (first, last) = (of.iter().map(|c| c.year).min(), of.iter().map(|c| c.year).max());
            let year = |y: Option<i32>| some(y.map(f64::from), Cell::Number);
            let text = |of: fn(&::works::account::Terms) -> &String| t(terms.map_or_else(String::new, |terms| self.words(of(terms))));
            vec![t(*payment), text(|x| &x.title), n(of.len()), year(first), year(last), Cell::Money(sum), n(of.iter().filter(|c| c.pence.is_none()).count()), text(|x| &x.evidence), text(|x| &x.condition), t(terms.map_or("", |x| words::grade(x.grade))), text(|x| &x.source)]
        };
        let heads = heads(&[
            ("Payment", 16.0),
            ("What for", 34.0),
            ("Claims", 9.0),
            ("First year", 9.0),
            ("Last year", 9.0),
            ("Claimed, £", 14.0),
            ("Claims without a rate", 12.0),
            ("Evidence needed", 44.0),
            ("Conditions, as far as read", 44.0),
            ("Grade of these", 16.0),
            ("Where they were read", 36.0),
        ]);
        Sheet { name: "By payment", heads, rows: payments.iter().map(row).collect() }
    }

    fn not_claimed(&self) -> Sheet {
        let row = |x: &::works::account::NotClaimed| {
            let mut row = vec![t(&x.payment), t(self.words(&x.item))];
            row.extend(self.measure(&x.measure));
            row.extend([Cell::Amount(x.quantity), t(&x.unit), t(self.words(&x.why)), t(x.instead.join(", "))]);
            row
        };
        let heads = with_measure(&[("Payment", 16.0), ("Item", 34.0)], &[("Quantity", 11.0), ("Unit", 10.0), ("Why", 60.0), ("Claimed instead", 24.0)]);
        Sheet { name: "Not claimed", heads, rows: self.account.not_claimed.iter().map(row).collect() }
    }

    fn costs(&self) -> Sheet {
        let costs = self.account.lines.iter().filter(|line| line.flow == Flow::Cost);
        let mut parts: Vec<_> = costs.flat_map(|line| line.parts.iter().map(move |part| (line, part))).collect();
        parts.sort_by_key(|(_, part)| part.year);
        let row = |(line, part): &(&Line, &::works::account::Part)| {
            let rate = line.rate.as_ref();
            let mut row = vec![Cell::Number(f64::from(part.year)), t(self.words(&line.item))];
            row.extend(self.measure(&line.measure));
            row.extend([Cell::Amount(part.quantity[1]), t(&line.unit), some(rate.map(|r| r.gbp[1]), Cell::Amount)]);
            row.extend([1, 0, 2].map(|i| money(part.pence.map(|p| p[i]))));
            row.extend([t(rate.map_or_else(|| "no rate known".to_owned(), |r| self.words(&r.source))), t(rate.map_or("", |r| grade(r))), t(rate.map_or("", |r| &r.edition)), t(rate.map_or("", |r| r.country.in_words())), t(self.words(&line.says.join("; ")))]);
            row
        };
        let heads = with_measure(
            &[("Year", 8.0), ("Item", 34.0)],
            &[
                ("Quantity", 11.0),
                ("Unit", 10.0),
                ("Rate, £ a unit", 10.0),
                ("Amount, £", 12.0),
                ("Low, £", 12.0),
                ("High, £", 12.0),
                ("Source of the rate", 36.0),
                ("Grade", 16.0),
                ("Edition", 12.0),
                ("Country", 14.0),
                ("To be said", 40.0),
            ],
        );
        Sheet { name: "Costs", heads, rows: parts.iter().map(row).collect() }
    }

    fn totals(&self) -> Sheet {
        let a = self.account;
        let three = |what: &str, pence: [Pence; 3], said: String| {
            let [low, usual, high] = pence.map(Cell::Money);
            vec![t(what), low, usual, high, t(said)]
        };
        let one = |what: &str, usual: Cell, said: String| vec![t(what), t(""), usual, t(""), t(said)];
        let undiscounted = || "undiscounted".to_owned();
        let mut rows = vec![
            three("Costs", a.totals.cost, undiscounted()),
            three("Income", a.totals.income, undiscounted()),
            three("Income less costs: worst, usual, best", a.totals.net, undiscounted()),
        ];
        rows.extend(a.totals.without.iter().map(|without| one("The sums are without", t(""), self.words(without))));
        rows.extend(worth("Worth now", &a.worth));
        rows.extend(worth("Worth now at the Treasury's falling rates", &a.worth_falling));
        rows.extend(a.low.as_ref().map(|low| one("Lowest balance", Cell::Money(low.balance), format!("at the end of {}, usual rates, undiscounted; below nought it must be found beforehand", low.year))));
        let payback = a.payback.map_or_else(|| "by these rates it never pays back".to_owned(), |year| format!("it has paid back for good in {year}, usual rates, undiscounted"));
        rows.push(one("Payback", some(a.payback.map(f64::from), Cell::Number), payback));
        rows.extend(a.per_usable_ha.iter().flat_map(|unit| per_unit("usable hectare gained", "hectares", unit)));
        rows.extend(a.per_gain.iter().flat_map(|unit| per_unit("need met", "needs", unit)));
        for m in &a.sensitivity {
            let rate = format!("{} {} ({} to {}); {} hangs on it", m.gbp[1], m.unit_words, m.gbp[0], m.gbp[2], m.size);
            let said = if m.fixed { format!("{rate}; no spread known") } else { format!("{rate}; low: the rate at its low; high: the rate at its high") };
            let ends = if m.fixed { [None, None] } else { m.net.map(Some) };
            let what = self.words(&format!("Worth now with the rate moved: {}", m.items.join(", ")));
            rows.push(vec![t(what), money(ends[0]), Cell::Money(a.worth.net[1]), money(ends[1]), t(self.words(&said))]);
        }
        let heads = heads(&[("What", 50.0), ("Low, £", 16.0), ("Usual, £", 16.0), ("High, £", 16.0), ("In words", 70.0)]);
        Sheet { name: "Totals", heads, rows }
    }

    fn rates(&self) -> Sheet {
        let mut once: Vec<&Rate> = vec![];
        for rate in self.account.lines.iter().filter_map(|line| line.rate.as_ref()) {
            if !once.contains(&rate) {
                once.push(rate);
            }
        }
        let day = |on: Option<chrono::NaiveDate>| on.map_or_else(|| t(""), Cell::Day);
        let row = |r: &&Rate| {
            let mut row = vec![t(self.words(&r.key))];
            row.extend([1, 0, 2].map(|i| Cell::Amount(r.gbp[i])));
            row.extend([t(&r.unit_words), t(self.words(&r.source)), t(grade(r)), t(&r.edition), t(r.country.in_words()), day(r.valid_from), day(r.valid_to), t(r.standing.in_words()), t(self.words(&r.note))]);
            row
        };
        let heads = heads(&[
            ("Rate", 34.0),
            ("Usual, £", 11.0),
            ("Low, £", 11.0),
            ("High, £", 11.0),
            ("Unit", 14.0),
            ("Source", 44.0),
            ("Grade", 18.0),
            ("Edition", 14.0),
            ("Country", 14.0),
            ("Holds from", 13.0),
            ("Holds until", 13.0),
            ("Standing", 24.0),
            ("Note", 40.0),
        ]);
        Sheet { name: "Rates", heads, rows: once.iter().map(row).collect() }
    }
}

/// The grade of a rate in words.
fn grade(rate: &Rate) -> &'static str {
    rate.grade.map_or("your own", words::grade)
}

fn worth(what: &str, w: &Worth) -> Vec<Vec<Cell>> {
    let row = |part: &str, pence: [Pence; 3]| {
        let [low, usual, high] = pence.map(Cell::Money);
        vec![t(format!("{what}: {part}")), low, usual, high, t(&w.convention)]
    };
    vec![row("income less costs", w.net), row("costs", w.cost), row("income", w.income), row("the same amount at the end of each year", w.equal_annual)]
}

fn per_unit(what: &str, unit: &str, u: &PerUnit) -> Vec<Vec<Cell>> {
    let [low, usual, high] = u.gain.map(Cell::Number);
    let row = |part: &str, pence: [Option<Pence>; 3]| {
        let [least, usual, most] = pence.map(money);
        vec![t(format!("Cost now for one {what}{part}: least, usual, most")), least, usual, most, t(&u.why)]
    };
    vec![vec![t(format!("Gained, {unit}")), low, usual, high, t("against as now, in the last of the years compared; not money")], row("", u.cost), row(", income taken off", u.cost_less_income)]
}
