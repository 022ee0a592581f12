//! What an option costs and brings in, on the screen and for programs.

use super::Told;
use crate::talk;
use ::works::account::{self, OwnRate};
use handover::content::works::{ClaimText, MoneyText, MovedText};
use guidance::{Country, Guidance};
use holding::{Holding, OwnPrice};
use serde_json::Value;
use std::path::Path;

const WIDTH: usize = 100;
/// Claims and refused payments told on the screen; all of them are in the JSON.
const TOLD: usize = 12;

/// The user's own rates of a file; everything wrong with it at once.
pub(super) fn own_rates(path: &Path, guidance: &Guidance, country: Country, faults: &mut Vec<String>) -> Vec<OwnRate> {
    match std::fs::read_to_string(path) {
        Ok(text) => understood(&path.display().to_string(), &text, guidance, country, faults),
        Err(e) => {
            faults.push(format!("{}: reading failed: {e}", path.display()));
            vec![]
        }
    }
}

/// The user's own rates of a plan; everything wrong with them at once.
pub(super) fn kept_rates(holding: &Holding, guidance: &Guidance, faults: &mut Vec<String>) -> Vec<OwnRate> {
    let mut table = csv::Writer::from_writer(vec![]);
    let rows = holding.rates.iter().map(|r| [r.item.clone(), r.gbp.to_string(), r.unit.clone(), r.note.clone()]);
    let mut all = std::iter::once(["item", "rate", "unit", "note"].map(str::to_string)).chain(rows);
    let written: Result<(), _> = all.try_for_each(|row| table.write_record(row));
    match written.map_err(|e| e.to_string()).and_then(|()| table.into_inner().map_err(|e| e.to_string())) {
        Ok(bytes) => understood("own rates of the plan", &String::from_utf8_lossy(&bytes), guidance, holding.about.country, faults),
        Err(why) => {
            faults.push(format!("own rates of the plan: {why}"));
            vec![]
        }
    }
}

fn understood(place: &str, text: &str, guidance: &Guidance, country: Country, faults: &mut Vec<String>) -> Vec<OwnRate> {
    account::read_own(place, text, guidance, country).unwrap_or_else(|wrong| {
        faults.extend(wrong.iter().map(ToString::to_string));
        vec![]
    })
}

/// Own rates as a plan keeps them.
pub(super) fn to_keep(rates: &[OwnRate]) -> Vec<OwnPrice> {
    let price = |(n, r): (usize, &OwnRate)| OwnPrice { id: format!("rate-{n}"), item: r.item.clone(), gbp: r.gbp, unit: r.unit.clone(), note: r.note.clone() };
    (1..).zip(rates).map(price).collect()
}

impl Told<'_> {
    pub(super) fn money_json(&self) -> Value {
        let mut value = self.works.account.as_ref().ok().and_then(|a| serde_json::to_value(a).ok()).unwrap_or(Value::Null);
        if self.secrecy.withheld() {
            // Care of a lek is told by the lek's name: where works lie is told of no lek.
            let of_leks = self.works.account.iter().flat_map(|a| &a.lines).filter(|line| line.kind == "lek_care" && !line.place.is_empty());
            let leks: Vec<&str> = of_leks.map(|line| line.place.as_str()).collect();
            self.scrub(&mut value, &leks);
        }
        value
    }

    /// Words of a document as they may be told; `leks` are places that name a lek.
    fn scrub(&self, value: &mut Value, leks: &[&str]) {
        match value {
            Value::String(text) => *text = leks.iter().fold(self.words(text), |text, lek| text.replace(lek, "a lek")),
            Value::Array(all) => all.iter_mut().for_each(|v| self.scrub(v, leks)),
            Value::Object(fields) => fields.values_mut().for_each(|v| self.scrub(v, leks)),
            Value::Null | Value::Bool(_) | Value::Number(_) => {}
        }
    }

    /// Sums by year, worth, what it hangs on, claims.
    pub(super) fn money(&self) -> String {
        let money = match self.telling.money(&|_| 0) {
            Ok(money) => money,
            Err(why) => return talk::wrapped(&why, WIDTH, ""),
        };
        let mut out = vec!["Money by year: usual (low to high); balance of what came in and went out so far".to_string()];
        let rows: Vec<Vec<String>> = money.years.iter().chain([&money.total]).map(|y| vec![y.year.clone(), y.cost.clone(), y.income.clone(), y.balance.clone()]).collect();
        out.push(talk::table(&["year", "costs", "income", "balance"], &rows, &[1, 2, 3]));
        out.extend(money.without.iter().chain(&money.said).map(|line| listed(line)));
        if !money.moved.is_empty() {
            out.push("\nWhat it hangs on: the rates most money goes by, and the worth now with each at its low and its high".to_string());
            let net = |m: &MovedText| if m.net.is_empty() { "-".to_string() } else { m.net.join(" to ") };
            let moved: Vec<Vec<String>> = money.moved.iter().map(|m| vec![m.what.clone(), m.rate.clone(), m.size.clone(), net(m)]).collect();
            out.push(talk::table(&["for", "rate, £", "money", "worth now"], &moved, &[2, 3]));
        }
        out.extend(claims(&money));
        if !money.rates.is_empty() {
            out.push("\nWhat the rates stand on".to_string());
            let mut once: Vec<String> = Vec::new();
            money.rates.iter().map(|r| format!("{}: {}.", r.what, r.says)).for_each(|line| if !once.contains(&line) { once.push(line) });
            out.extend(once.iter().map(|line| listed(line)));
        }
        out.extend(money.own_unused.iter().map(|line| listed(line)));
        out.push(String::new());
        out.extend(money.says.iter().map(|line| talk::wrapped(line, WIDTH, "")));
        out.join("\n")
    }
}

/// Payments claimed by measure, and those that are not.
fn claims(money: &MoneyText) -> Vec<String> {
    let mut out = Vec::new();
    let more = |all: usize| (all > TOLD).then(|| format!("and {} more in the JSON", all - TOLD));
    if !money.claims.is_empty() {
        out.push("\nPayments to claim, if the scheme takes the ground; what each asks for and what proves it is in the JSON".to_string());
        let row = |c: &ClaimText| vec![c.item.clone(), talk::name(&c.called), c.years.clone(), c.quantity.clone(), c.rate.clone(), c.sum.clone()];
        let rows: Vec<Vec<String>> = money.claims.iter().take(TOLD).map(row).collect();
        out.push(talk::table(&["payment", "measure", "years", "a year", "rate", "in all"], &rows, &[3, 4, 5]));
        out.extend(more(money.claims.len()));
    }
    if !money.not_claimed.is_empty() {
        out.push("\nNot claimed".to_string());
        out.extend(money.not_claimed.iter().take(TOLD).map(|line| listed(line)));
        out.extend(more(money.not_claimed.len()));
    }
    out
}

fn listed(line: &str) -> String {
    format!("- {}", talk::wrapped(line, WIDTH - 2, "  ").trim_start())
}
