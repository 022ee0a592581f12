//! The measures of an option as a GeoPackage of their own: shape, what, when, money to the penny, and as plain tables their tasks, the lines of
//! the account and the claims. Where places are withheld, a measure that would give a lek away is the lek's kilometre square.

use super::store::{Feature, Store, Table};
use super::{columns, real, text};
use crate::content::works::{TaskText, Telling};
use crate::content::{Content, OptionText};
use crate::pack::Pack;
use crate::shown::{self, Shown};
use crate::words;
use ::works::account::{Account, Claim, Flow, Line, Part};
use ::works::money::Pence;
use geo_types::Geometry;
use rusqlite::types::Value;

/// The bytes of the copy.
///
/// # Errors
/// What the store says, or that there is no option.
pub fn of(pack: &Pack, content: &Content) -> Result<Vec<u8>, String> {
    let sql = |e: rusqlite::Error| e.to_string();
    let option = content.option.as_ref().ok_or("no option")?;
    let store = Store::new(pack.holding.about.epsg, pack.today).map_err(sql)?;
    let shown = shown::of(pack, content);
    let account = pack.works.and_then(|works| works.account.as_ref().ok());
    measures(&store, content, option, &shown, account)?;
    if let (Some(works), Some(told)) = (pack.works, &content.works) {
        let secrecy = pack.secrecy();
        let telling = Telling::of(works, &secrecy);
        tasks(&store, &told.tasks).map_err(sql)?;
        if let Some(account) = account {
            account_lines(&store, account, &shown, &telling).map_err(sql)?;
            claims(&store, account, &shown, &telling).map_err(sql)?;
        }
    }
    about(&store, content, option, account.is_some()).map_err(sql)?;
    store.bytes().map_err(sql)
}

fn integer(value: impl TryInto<i64>) -> Value {
    value.try_into().map_or(Value::Null, Value::Integer)
}

fn maybe(value: Option<f64>) -> Value {
    value.map_or(Value::Null, real)
}

fn pence(value: Option<Pence>) -> Value {
    value.map_or(Value::Null, |pence| Value::Integer(pence.0))
}

/// What the account says of a measure.
#[derive(Default)]
struct Money {
    cost: [Pence; 3],
    income: Pence,
    /// What no rate is known for.
    without: Vec<String>,
}

/// The sums of the lines of a measure.
fn sums(account: &Account, measure: &str) -> Money {
    let mut out = Money::default();
    for line in account.lines.iter().filter(|line| line.measure == measure) {
        match (line.pence, line.flow) {
            (Some(pence), Flow::Cost) => out.cost = std::array::from_fn(|i| out.cost[i] + pence[i]),
            (Some(pence), Flow::Income) => out.income += pence[1],
            (None, _) => out.without.push(line.item.clone()),
        }
    }
    out
}

fn measures(store: &Store, content: &Content, option: &OptionText, shown: &[Shown], account: Option<&Account>) -> Result<(), String> {
    let table = Table {
        name: "measures",
        title: "Measures",
        meaning: format!(
            "Measures of {}, numbered as on paper. Money in pence, undiscounted; income as claimed. area_m2 and length_m are those of the shape that is shown.",
            option.name
        ),
        columns: columns(&[
            ("number", "INTEGER"),
            ("id", "TEXT"),
            ("kind", "TEXT"),
            ("title", "TEXT"),
            ("place", "TEXT"),
            ("reference", "TEXT"),
            ("year", "INTEGER"),
            ("what", "TEXT"),
            ("how_much", "TEXT"),
            ("time_of_year", "TEXT"),
            ("area_m2", "REAL"),
            ("length_m", "REAL"),
            ("cost_pence_low", "INTEGER"),
            ("cost_pence", "INTEGER"),
            ("cost_pence_high", "INTEGER"),
            ("income_pence", "INTEGER"),
            ("money_without", "TEXT"),
            ("first_day", "DATE"),
            ("last_day", "DATE"),
            ("can_harm", "TEXT"),
            ("findings", "TEXT"),
            ("shape", "TEXT"),
        ]),
    };
    let row = |s: &Shown| -> Feature {
        let (job, said) = (s.job, s.said);
        let found: Vec<String> = said.findings.iter().map(|(weight, what)| format!("{weight}: {what}")).collect();
        let money = account.map(|account| sums(account, &job.measure.id));
        let days = |of: fn(&TaskText) -> chrono::NaiveDate| s.tasks(content).map(of).collect::<Vec<_>>();
        let day = |on: Option<&chrono::NaiveDate>| on.map_or(Value::Null, |on| text(&on.to_string()));
        let mut row = vec![integer(said.number), text(&said.id), text(job.entry.key), text(said.title), text(&said.place), text(&s.place.reference)];
        row.push(job.year.map_or(Value::Null, integer));
        row.extend([text(&said.what), text(&said.quantities.join("; ")), text(&said.window), maybe(s.area_m2()), maybe(s.length_m())]);
        row.extend([0, 1, 2].map(|i| pence(money.as_ref().map(|m| m.cost[i]))));
        row.push(pence(money.as_ref().map(|m| m.income)));
        row.push(text(&money.map(|m| m.without.join("; ")).unwrap_or_default()));
        row.extend([day(days(|task| task.first).iter().min()), day(days(|task| task.last).iter().max())]);
        row.extend([text(&said.harm.join(" ")), text(&found.join("; ")), text(s.shape_words())]);
        let shape: Geometry<f64> = s.place.shape.clone();
        (shape, row)
    };
    store.features(&table, "GEOMETRY", &shown.iter().map(row).collect::<Vec<_>>())
}

fn tasks(store: &Store, tasks: &[TaskText]) -> rusqlite::Result<()> {
    let table = Table {
        name: "tasks",
        title: "Tasks",
        meaning: "Tasks of the measures on days, by first day; measures are numbers of the table measures.".into(),
        columns: columns(&[
            ("number", "INTEGER"),
            ("id", "TEXT"),
            ("measures", "TEXT"),
            ("stage", "TEXT"),
            ("what", "TEXT"),
            ("first_day", "DATE"),
            ("last_day", "DATE"),
            ("days", "INTEGER"),
            ("days_in_words", "TEXT"),
            ("who", "TEXT"),
        ]),
    };
    let row = |task: &TaskText| {
        let measures: Vec<String> = task.measures.iter().map(ToString::to_string).collect();
        vec![
            integer(task.number),
            text(&task.id),
            text(&measures.join(", ")),
            text(task.stage),
            text(&task.what),
            text(&task.first.to_string()),
            text(&task.last.to_string()),
            integer(task.worked),
            text(&task.days),
            text(&task.crews.join(", ")),
        ]
    };
    store.attributes(&table, &tasks.iter().map(row).collect::<Vec<_>>())
}

/// The number of the measure of an id.
fn number(shown: &[Shown], id: &str) -> Value {
    shown.iter().find(|s| s.job.measure.id == id).map_or(Value::Null, |s| integer(s.said.number))
}

fn account_lines(store: &Store, account: &Account, shown: &[Shown], telling: &Telling) -> rusqlite::Result<()> {
    let table = Table {
        name: "account_lines",
        title: "Lines of the account",
        meaning: "What is paid and what comes in, a row a line and year, in pence; empty where no rate is known.".into(),
        columns: columns(&[
            ("flow", "TEXT"),
            ("item", "TEXT"),
            ("measure", "INTEGER"),
            ("year", "INTEGER"),
            ("quantity", "REAL"),
            ("unit", "TEXT"),
            ("rate_gbp", "REAL"),
            ("rate_key", "TEXT"),
            ("pence_low", "INTEGER"),
            ("pence", "INTEGER"),
            ("pence_high", "INTEGER"),
        ]),
    };
    let row = |line: &Line, part: &Part| {
        let flow = if line.flow == Flow::Cost { "cost" } else { "income" };
        let mut row = vec![text(flow), text(&telling.words(&line.item)), number(shown, &line.measure), integer(part.year), real(part.quantity[1]), text(&line.unit)];
        row.extend([maybe(line.rate.as_ref().map(|r| r.gbp[1])), text(&line.rate.as_ref().map_or_else(String::new, |r| telling.words(&r.key)))]);
        row.extend([0, 1, 2].map(|i| pence(part.pence.map(|p| p[i]))));
        row
    };
    store.attributes(&table, &account.lines.iter().flat_map(|line| line.parts.iter().map(move |part| row(line, part))).collect::<Vec<_>>())
}

fn claims(store: &Store, account: &Account, shown: &[Shown], telling: &Telling) -> rusqlite::Result<()> {
    let table = Table {
        name: "claims",
        title: "Claims",
        meaning: "What is claimed of schemes, a row a payment, measure and year. What is paid is settled by the scheme.".into(),
        columns: columns(&[
            ("year", "INTEGER"),
            ("payment", "TEXT"),
            ("item", "TEXT"),
            ("measure", "INTEGER"),
            ("quantity", "REAL"),
            ("unit", "TEXT"),
            ("rate_gbp", "REAL"),
            ("pence", "INTEGER"),
            ("standing", "TEXT"),
            ("grade", "TEXT"),
            ("evidence", "TEXT"),
            ("condition", "TEXT"),
            ("says", "TEXT"),
        ]),
    };
    let row = |c: &Claim| {
        let words = |said: &str| text(&telling.words(said));
        vec![
            integer(c.year),
            text(&c.payment),
            words(&c.item),
            number(shown, &c.measure),
            real(c.quantity),
            text(&c.unit),
            maybe(c.rate_gbp),
            pence(c.pence),
            text(c.standing.map_or("no rate known", ::works::account::Standing::in_words)),
            text(c.grade.map_or("", words::grade)),
            words(&c.evidence),
            words(&c.condition),
            words(&c.says.join("; ")),
        ]
    };
    store.attributes(&table, &account.claims.iter().map(row).collect::<Vec<_>>())
}

fn about(store: &Store, content: &Content, option: &OptionText, money: bool) -> rusqlite::Result<()> {
    let table = Table {
        name: "about",
        title: "About these measures",
        meaning: "What the measures were made from, by key.".into(),
        columns: columns(&[("key", "TEXT NOT NULL"), ("value", "TEXT")]),
    };
    let rows = [
        ("plan", content.name.as_str()),
        ("option", &option.name),
        ("as_at", &content.as_at),
        ("printed", &content.today),
        ("guidance_edition", &content.edition),
        ("lek_places", if content.withheld { "withheld" } else { "shown" }),
        ("money", if money { "in the tables, undiscounted" } else { "not told" }),
        ("before_work", "This advises; it does not license. Check the code in force."),
    ];
    store.attributes(&table, &rows.map(|(key, value)| vec![text(key), text(value)]))
}
