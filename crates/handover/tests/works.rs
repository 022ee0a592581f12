//! The works of an option handed over: numbers with their sources, sums that agree to the penny, the board of months, and no lek given away.

#![allow(clippy::panic, reason = "a test may stop")]

mod common;

use common::*;
use geo_types::{LineString, MultiLineString, MultiPolygon};
use guidance::Guidance;
use habitat::{Assessed, Settings};
use handover::chart::board;
use handover::content::works::{Telling, three};
use handover::content::{self, Content};
use handover::secrecy::Secrecy;
use handover::svg::text_width_mm;
use handover::{Asked, Pack, Planned, Works};
use holding::model::{Measure, PlanOption};
use measures::rules::Context;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use works::account::{Account, Flow, OwnRate};
use works::money::Pence;
use works::tasks::Hands;

/// Everything a pack with works borrows.
struct Whole {
    parts: Parts,
    base: Assessed,
}

fn measure(id: &str, kind: &str, facts: &[(&str, Value)]) -> Measure {
    Measure { id: id.into(), option: 1, kind: kind.into(), year: Some(2028), facts: facts.iter().map(|(n, v)| ((*n).into(), v.clone())).collect(), ..Measure::default() }
}

/// A plan with six kinds of measure, and `more` small woods besides.
fn whole(more: usize) -> Whole {
    let mut parts = parts();
    parts.guidance = Guidance::load().expect("the tables");
    let h = &mut parts.holding;
    h.about.country = guidance::Country::England;
    h.options = vec![PlanOption { number: 1, name: "All kinds".into(), note: String::new() }];
    let area = |w, s, e, n| MultiPolygon(vec![block(w, s, e, n)]);
    let near = MultiLineString(vec![LineString::from(vec![(lek_places()[0].x() - 211.0, SOUTH + 600.0), (lek_places()[0].x() + 211.0, SOUTH + 600.0)])]);
    h.measures = vec![
        Measure { shape: area(1010.0, 620.0, 1190.0, 760.0), ..measure("wood-far", "wood", &[("stems_per_ha", json!(1100)), ("fence", json!("stock"))]) },
        measure("graze-1", "grazing", &[("parcel", json!("pa1")), ("head", json!({"Nov-Mar": 10}))]),
        Measure { shape: area(100.0, 1500.0, 300.0, 1600.0), ..measure("heather-1", "heather", &[]) },
        measure("water-1", "water", &[("ditch", json!("d1")), ("work", json!("block"))]),
        Measure { line: near, ..measure("fence-cut", "fence", &[("work", json!("mark")), ("fence", json!("f2"))]) },
        measure("mow-the-old-green", "lek_care", &[("lek", json!("L1")), ("work", json!("short"))]),
    ];
    for i in 0..more {
        let (row, column) = ((i / 25) as f64, (i % 25) as f64);
        let (w, s) = (20.0 + 34.0 * column, 620.0 + 60.0 * row);
        h.measures.push(Measure { shape: area(w, s, w + 20.0, s + 40.0), year: Some(2027 + (i % 4) as i32), ..measure(&format!("copse-{i}"), "wood", &[("stems_per_ha", json!(1100))]) });
    }
    let base = habitat::assess(&parts.holding, &parts.guidance, Settings { draws: 4, seed: 1, cell_m: Some(50.0) }).expect("a year");
    parts.assessment = base.assessment.clone();
    parts.pictures = base.pictures();
    Whole { parts, base }
}

impl Whole {
    fn planned(&self) -> Planned<'_> {
        Planned::new((&self.parts.holding, &Secrecy::new(&self.parts.holding, false)), &self.parts.guidance, &self.base, 1, &[]).expect("an option")
    }

    fn works(&self, own_rates: Vec<OwnRate>, show_leks: bool) -> Works {
        let context = Context::new(&self.parts.holding, &self.parts.guidance, &self.base);
        let asked = Asked {
            option: 1,
            settings: works::tasks::Settings::years(day(2027, 1, 4), 5),
            hands: Hands::of(&context, None).expect("crews"),
            own_rates,
            late_days: 30,
            gain: Some([0.1, 0.2, 0.4]),
            usable_ha: Some([-1.0, 5.0, 9.0]),
        };
        Works::new(context, asked, &Secrecy::new(&self.parts.holding, show_leks)).expect("works")
    }

    /// The pack's words, with and without lek places.
    fn content(&self, works: &Works, show_leks: bool) -> (Content, Vec<[Pence; 3]>) {
        let mut planned = self.planned();
        planned.price(account(works));
        let costs = planned.jobs.iter().map(|j| Planned::gbp(j).map(|v| Pence::nearest(v).expect("pence"))).collect();
        let pack = Pack { option: Some(&planned), works: Some(works), ..self.parts.pack(show_leks) };
        (content::of(&pack), costs)
    }
}

fn account(works: &Works) -> &Account {
    works.account.as_ref().expect("an account")
}

/// Where something comes from is told wholly, or it is told that it comes from nowhere.
fn stands(of: &Value, what: &str) {
    for field in ["source", "edition", "country", "grade"] {
        assert!(of["stands"][field].as_str().is_some_and(|s| !s.trim().is_empty()), "{what} tells no {field}: {of:#}");
    }
}

#[test]
fn no_window_rate_or_limit_stands_without_source_edition_and_country() {
    let whole = whole(0);
    let works = whole.works(vec![], false);
    let (content, _) = whole.content(&works, false);
    let told = serde_json::to_value(&content).expect("data");
    let (works_told, money) = (&told["works"], &told["works"]["money"]);
    let list = |value: &Value| value.as_array().expect("a list").clone();
    for (of, rows) in [("a figure", &works_told["figures"]), ("a rate", &money["rates"]), ("a payment", &money["terms"])] {
        assert!(!list(rows).is_empty(), "{of}");
        list(rows).iter().for_each(|row| stands(row, of));
    }
    // Every row that prints a rate names one of them, and every task the figures its season, days and waits go by.
    let rates = list(&money["rates"]).len() as u64;
    let known = |note: &Value| (1..=rates).contains(&note.as_u64().expect("a number"));
    assert!(!list(&money["claims"]).is_empty() && list(&money["claims"]).iter().all(|c| known(&c["note"])), "{money:#}");
    assert!(!list(&money["moved"]).is_empty() && list(&money["moved"]).iter().all(|m| !list(&m["rates"]).is_empty() && list(&m["rates"]).iter().all(known)));
    let numbered = |key: &str| content.works.iter().flat_map(|w| &w.figures).any(|f| f.key == key);
    let tasks = &content.works.as_ref().expect("works").tasks;
    assert!(tasks.len() > 10);
    for task in tasks {
        assert!(task.keys.iter().all(|key| numbered(key)), "{task:#?}");
        let dated = task.lines.iter().any(|l| (l.starts_with("when: ") && l.contains(|c: char| c.is_ascii_digit())) || l.contains("nesting season"));
        assert!(!dated || !task.notes.is_empty(), "a season without a figure: {task:#?}");
    }
    assert_eq!(list(&works_told["discount"]).len(), 5, "what money is discounted by");
    // All of it stands among the figures behind the plan.
    let behind = |key: &str| content.evidence.iter().any(|e| e.key == key);
    for key in works.figures(&whole.parts.guidance, guidance::Country::England).iter().map(|row| row.key.as_str()).chain(account(&works).lines.iter().filter_map(|l| l.rate.as_ref()).map(|r| r.key.as_str())) {
        assert!(behind(key), "{key} is not among the figures behind this plan");
    }
}

#[test]
fn the_pages_add_up_to_the_account_to_the_penny_whether_leks_are_shown_or_not() {
    let whole = whole(0);
    let own = account(&whole.works(vec![], false)).lines.iter().filter(|l| l.flow == Flow::Cost && l.measure == "wood-far").find_map(|l| Some((l.item.clone(), l.rate.clone()?))).expect("a priced line");
    let own = OwnRate { item: own.0, gbp: 1.37, unit: own.1.unit, note: "quoted".into() };
    for (own, show) in [(vec![], false), (vec![], true), (vec![own], false)] {
        let works = whole.works(own.clone(), show);
        let (content, costs) = whole.content(&works, show);
        let a = account(&works);
        let sum = costs.iter().fold([Pence(0); 3], |sum, c| std::array::from_fn(|i| sum[i] + c[i]));
        assert_eq!(sum, a.totals.cost);
        let money = content.works.as_ref().and_then(|w| w.money.as_ref()).expect("money");
        assert_eq!((money.total.cost.as_str(), money.total.income.as_str()), (three(a.totals.cost).as_str(), three(a.totals.income).as_str()));
        assert_eq!(money.years.last().map(|y| &y.balance), Some(&a.totals.net[1].to_string()), "the last balance is the whole net");
        let jobs: Vec<_> = content.option.iter().flat_map(|o| &o.kinds).flat_map(|k| &k.jobs).collect();
        for (job, cost) in jobs.iter().zip(&costs) {
            assert!(job.costs.is_empty() || job.cost.starts_with(&three(*cost)), "{} is not {}", job.cost, three(*cost));
            let own = money.measures.iter().find(|m| m.number == job.number);
            assert!(own.is_some_and(|m| m.cost.starts_with(&three(*cost)) && m.called == job.id) || job.costs.is_empty(), "{job:#?} {own:#?}");
        }
        let said = content.option.as_ref().map_or("", |o| o.tables);
        assert_eq!((said.is_empty(), said.contains("own rates")), (false, !own.is_empty()));
        let stands = money.rates.iter().any(|r| r.stands.grade == "your own rate" && r.stands.source == "quoted" && r.rate.starts_with("1.37"));
        assert_eq!(stands, !own.is_empty());
    }
    // Without works the measures cost what the tables say.
    let planned = whole.planned();
    let content = content::of(&Pack { option: Some(&planned), ..whole.parts.pack(false) });
    assert!(content.works.is_none() && content.option.is_some_and(|o| o.tables.is_empty() && !o.kinds.iter().any(|k| k.cost.contains('.'))));
}

#[test]
fn works_and_board_give_no_withheld_lek_away_and_without_a_day_there_is_no_account() {
    let mut whole = whole(0);
    let works = whole.works(vec![], false);
    let (content, _) = whole.content(&works, false);
    let secrecy = Secrecy::new(&whole.parts.holding, false);
    let sheets = board::board(&works, &Telling::of(&works, &secrecy), "Works").concat();
    let told = serde_json::to_string(&content.works).expect("data") + &sheets;
    for name in ["mow-the-old-green", "fence-cut"] {
        assert!(!told.contains(name), "{name}");
    }
    let of_leks = serde_json::to_string(&content.works.as_ref().and_then(|w| w.money.as_ref())).expect("data") + &sheets;
    assert!(["Fallow Top", "Cold Rig"].iter().all(|lek| !of_leks.contains(lek)), "money and board name no lek: {of_leks}");
    assert!(sheets.contains("Lek places are withheld."));
    whole.parts.holding.about.as_at = None;
    let works = whole.works(vec![], false);
    let planned = whole.planned();
    let content = content::of(&Pack { option: Some(&planned), works: Some(&works), ..whole.parts.pack(false) });
    let told = content.works.expect("works");
    assert!(told.money.is_none() && told.no_money.contains("day of the plan"), "{}", told.no_money);
}

/// Numbers that stand by the bars of a sheet: baseline, middle, words.
fn numbers(svg: &str) -> Vec<(String, f64, String)> {
    let of = |line: &str, name: &str| Some(line.split_once(&format!(" {name}=\""))?.1.split('"').next()?.to_owned());
    let told = svg.lines().filter(|l| l.starts_with("<text") && l.contains(r#"font-size="2.6""#) && l.contains("bold"));
    told.filter_map(|l| Some((of(l, "y")?, of(l, "x")?.parse().ok()?, l.split_once('>')?.1.split('<').next()?.to_owned()))).collect()
}

/// The numbers of runs such as `4 to 9, 12`.
fn of_runs(words: &str) -> Vec<usize> {
    let number = |n: &str| n.parse::<usize>().expect("a number");
    words.split(", ").flat_map(|run| run.split_once(" to ").map_or_else(|| number(run)..=number(run), |(a, b)| number(a)..=number(b))).collect()
}

#[test]
fn every_task_has_its_number_on_the_board_and_no_two_numbers_meet() {
    for more in [0, 25] {
        let whole = whole(more);
        let works = whole.works(vec![], false);
        let secrecy = Secrecy::new(&whole.parts.holding, false);
        let sheets = board::board(&works, &Telling::of(&works, &secrecy), "");
        assert_eq!(sheets.len(), board::sheets(&works));
        let all = works.made.on_days().count();
        let told: BTreeSet<usize> = sheets.iter().flat_map(|s| numbers(s)).flat_map(|(_, _, words)| of_runs(&words)).collect();
        assert!(all > 5 * more && told == (1..=all).collect(), "{all} tasks, told {told:?}");
        for svg in &sheets {
            assert!(svg.contains("h-shut") && !svg.contains("NaN"));
            let mut on = numbers(svg);
            on.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
            let half = |words: &str| text_width_mm(words, 2.6) / 2.0;
            for pair in on.windows(2).filter(|p| p[0].0 == p[1].0) {
                assert!(pair[1].1 - pair[0].1 > half(&pair[0].2) + half(&pair[1].2), "{pair:?} meet");
            }
            assert!(on.iter().all(|(_, x, words)| x - half(words) >= 50.0 && x + half(words) <= board::WIDTH_MM), "numbers stay on the months");
            let height: f64 = svg.split_once("height=\"").and_then(|(_, rest)| rest.split("mm").next()?.parse().ok()).expect("a height");
            assert!(height <= 172.0, "a sheet of {height} mm does not fit A4 on its side");
        }
    }
}
