//! What an option costs and brings in, on the screen and for programs.

use super::Told;
use crate::talk;
use ::works::account::{self, Account, Line, OwnRate, Worth};
use ::works::money::Pence;
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
    let all = std::iter::once(["item", "rate", "unit", "note"].map(str::to_string)).chain(rows);
    let written: Result<(), _> = all.map(|row| table.write_record(row)).collect();
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
        let a = match &self.works.account {
            Ok(a) => a,
            Err(why) => return talk::wrapped(&format!("Money: not told: {why}"), WIDTH, ""),
        };
        if a.lines.is_empty() {
            return talk::wrapped("Money: no cost and no income of these measures is known.", WIDTH, "");
        }
        let mut out = vec!["Money by year: usual (low to high); balance of what came in and went out so far".to_string()];
        let three = |p: [Pence; 3]| if p[0] == p[2] { p[1].to_string() } else { format!("{} ({} to {})", p[1], p[0], p[2]) };
        let mut rows: Vec<Vec<String>> = a.years.iter().map(|y| vec![y.year.to_string(), three(y.cost), three(y.income), y.balance.to_string()]).collect();
        rows.push(vec!["all".into(), three(a.totals.cost), three(a.totals.income), a.totals.net[1].to_string()]);
        out.push(talk::table(&["year", "costs", "income", "balance"], &rows, &[1, 2, 3]));
        let mut said = a.totals.without.iter().map(|without| format!("Without {without}.")).collect::<Vec<_>>();
        said.push(worth(&a.worth));
        said.push(format!("At the Treasury's falling rates {}.", a.worth_falling.net[1]));
        said.extend(a.low.as_ref().filter(|low| low.balance < Pence(0)).map(|low| format!("The purse is lowest at the end of {}: {} must be found beforehand.", low.year, -low.balance)));
        said.push(a.payback.map_or("By these rates it never pays back.".to_string(), |year| format!("It has paid back for good in {year}.")));
        out.extend(said.iter().map(|line| self.listed_words(line)));
        let moved: Vec<Vec<String>> = (a.sensitivity.iter())
            .map(|m| {
                let range = if m.fixed { format!("{:.2}, no spread known", m.gbp[1]) } else { format!("{:.2} ({:.2} to {:.2})", m.gbp[1], m.gbp[0], m.gbp[2]) };
                let net = if m.fixed { "-".to_string() } else { format!("{} to {}", m.net[0], m.net[1]) };
                vec![self.words(&m.items.join(", ")), format!("{range} {}", m.unit_words), m.size.to_string(), net]
            })
            .collect();
        if !moved.is_empty() {
            out.push("\nWhat it hangs on: the rates most money goes by, and the worth now with each at its low and its high".to_string());
            out.push(talk::table(&["for", "rate, £", "money", "worth now"], &moved, &[2, 3]));
        }
        out.extend(self.claims(a));
        let assumed: Vec<String> = a.lines.iter().filter(|line| !line.says.is_empty()).map(|line| self.stands(line)).collect();
        if !assumed.is_empty() {
            out.push("\nWhat the rates stand on".to_string());
            let mut once: Vec<String> = Vec::new();
            assumed.into_iter().for_each(|line| if !once.contains(&line) { once.push(line) });
            out.extend(once.iter().map(|line| self.listed_words(line)));
        }
        out.extend(a.own_unused.iter().map(|own| self.listed_words(&format!("Own rate for {} not used: {}", own.item, own.why))));
        out.push(String::new());
        out.extend(a.says.iter().map(|line| talk::wrapped(&self.words(line), WIDTH, "")));
        out.join("\n")
    }

    /// Payments claimed by measure, and those that are not.
    fn claims(&self, a: &Account) -> Vec<String> {
        let mut out = Vec::new();
        if !a.claims.is_empty() {
            out.push("\nPayments to claim, if the scheme takes the ground; what each asks for and what proves it is in the JSON".to_string());
            let mut rows: Vec<Vec<String>> = Vec::new();
            let mut of: Vec<(&str, &str)> = Vec::new();
            for claim in &a.claims {
                let key = (claim.payment.as_str(), claim.measure.as_str());
                if of.contains(&key) {
                    continue;
                }
                of.push(key);
                let all: Vec<_> = a.claims.iter().filter(|c| (c.payment.as_str(), c.measure.as_str()) == key).collect();
                let years = if all.len() == 1 { claim.year.to_string() } else { format!("{}-{}", claim.year, all[all.len() - 1].year) };
                let sum = all.iter().map(|c| c.pence).try_fold(Pence(0), |sum, p| p.map(|p| sum + p));
                let rate = claim.rate_gbp.map_or("no rate".to_string(), |r| format!("{r:.2}"));
                rows.push(vec![self.words(&claim.item), talk::name(&self.telling.measure(&claim.measure)), years, format!("{} {}", claim.quantity, claim.unit), rate, sum.map_or("-".to_string(), |p| p.to_string())]);
            }
            let more = rows.len().saturating_sub(TOLD);
            rows.truncate(TOLD);
            out.push(talk::table(&["payment", "measure", "years", "a year", "rate", "in all"], &rows, &[3, 4, 5]));
            out.extend((more > 0).then(|| format!("and {more} more in the JSON")));
        }
        if !a.not_claimed.is_empty() {
            out.push("\nNot claimed".to_string());
            let line = |n: &account::NotClaimed| self.listed_words(&format!("{} for {}, {} {}: {}.", n.item, talk::name(&self.telling.measure(&n.measure)), n.quantity, n.unit, n.why.trim_end_matches('.')));
            out.extend(a.not_claimed.iter().take(TOLD).map(line));
            let more = a.not_claimed.len().saturating_sub(TOLD);
            out.extend((more > 0).then(|| format!("and {more} more in the JSON")));
        }
        out
    }

    /// What a line's rate stands on.
    fn stands(&self, line: &Line) -> String {
        format!("{}: {}.", line.item, line.says.join("; "))
    }

    fn listed_words(&self, line: &str) -> String {
        format!("- {}", talk::wrapped(&self.words(line), WIDTH - 2, "  ").trim_start())
    }
}

fn worth(w: &Worth) -> String {
    format!(
        "Worth now {} ({} at the worst, {} at the best), the same as {} each year for {}: {}.",
        w.net[1],
        w.net[0],
        w.net[2],
        w.equal_annual[1],
        talk::number(w.years as usize, "year"),
        w.convention
    )
}
