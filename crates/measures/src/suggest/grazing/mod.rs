//! Where the flock goes, month by month: on the hill up to what its plants bear and black grouse suit, in the fields up to their room, the
//! rest kept away for money.
//!
//! A linear program ([`crate::solve::stock`]) over parcels, months and classes of sheep. What stock eat is not linear: the shares of heather, blaeberry and
//! field grass come from the grazing of the years ahead ([`habitat::ahead::grazing`]), laid straight about a plan, solved, and laid anew about the answer
//! until it stands. The limits are those of the rules; each comes back with its price. Head is then rounded to whole animals, and the shares of the rounded
//! plan are taken from the processes again.
//!
//! Sheep are hefted: no more of a class stand on a hill parcel in a month than stand there now. Fields take no more at once than at their busiest month now,
//! meadows none more while the hay grows, arable none more at all. Cattle, ponies and deer stay as they are.

pub mod eaten;
pub mod words;

use super::Suggested;
use super::design::{Horizon, gain, together};
use crate::kind::{self, Quantity, grazing::WEEKS_A_MONTH};
use crate::rules::Context;
use crate::solve::linear::{LinearError, Relation};
use crate::solve::stock::{self, Cell, LimitKind, Stock, StockPlan, StockRow};
use chrono::Datelike;
use eaten::{Eaten, Heads, Shares, Table};
use geo::{Area, Distance, Euclidean};
use guidance::Unknown;
use habitat::ahead::trial::Trials;
use habitat::assess::AssessError;
use holding::{Extra, Measure, Parcel, ParcelKind, StockClass, Word};
use serde::Serialize;
use serde_json::json;
use words::MONTHS;

/// Classes the program moves.
const SHEEP: [StockClass; 3] = [StockClass::HillEwe, StockClass::HeavyEwe, StockClass::Hogg];
/// Months of summer and winter stocking, as the survey counts them, January 0.
const SUMMER: [usize; 5] = [4, 5, 6, 7, 8];
const WINTER: [usize; 5] = [10, 11, 0, 1, 2];
/// Months in which hay grows, January 0.
const HAY: [usize; 5] = [3, 4, 5, 6, 7];
/// Rounds of laying straight and solving.
const ROUNDS: usize = 12;
/// A plan that keeps every share within this of its limit stands.
const STANDS: f64 = 5e-4;
/// Pounds a whole share broken costs: more than any flock's keep, so that limits give way only where nothing else can.
const HARD_GBP: f64 = 1e7;

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Ask {
    /// Greatest share of heather shoots eaten, past the first years and in them, and of blaeberry; 0 to 1.
    pub heather: f64,
    /// Of young heather.
    pub young_heather: f64,
    /// Of blaeberry.
    pub blaeberry: f64,
    /// Of the forage of a field; where more goes now, no more than now.
    pub field: f64,
    /// Most sheep or their equal a hectare on hill near leks in summer and winter; `None`: only what plants bear.
    pub stocking: Option<[f64; 2]>,
    /// Least of them in summer, where so many stand now, so that the sward does not turn rank.
    pub floor: f64,
    /// Pounds a head and week kept away.
    pub away_gbp: f64,
    /// Pounds a head and month a sheep in a field costs beyond one on the hill.
    pub field_gbp: f64,
}

impl Ask {
    /// What is usually asked for.
    ///
    /// # Errors
    /// A figure the tables lack.
    pub fn usual(c: &Context) -> Result<Ask, Unknown> {
        Ok(Ask {
            heather: c.number("utilisation.heather.limit_old")? / 100.0,
            young_heather: c.number("utilisation.heather.limit_young")? / 100.0,
            blaeberry: c.number("ahead.blaeberry.limit")? / 100.0,
            field: c.number("production.plynlimon.utilisation_improved")? / 100.0,
            stocking: Some([c.number("stocking.black_grouse.summer_max")?, c.number("stocking.black_grouse.winter_max")?]),
            floor: c.number("design.grazing.floor")?,
            away_gbp: c.number("cost.market.away_wintering")?,
            field_gbp: c.number("design.grazing.field_cost")?,
        })
    }

    fn limit(&self, plant: Eaten) -> f64 {
        match plant {
            Eaten::Heather => self.heather,
            Eaten::YoungHeather => self.young_heather,
            Eaten::Blaeberry => self.blaeberry,
            Eaten::Field => self.field,
        }
    }
}

/// Why there is no plan.
#[derive(Debug, thiserror::Error)]
pub enum GrazingError {
    /// The plan has no sheep.
    #[error("no sheep on any parcel; needed: head by parcel, class and month. Hint: greyhen import FILE stock STOCK.csv")]
    NoSheep,
    /// A figure is missing.
    #[error(transparent)]
    Guidance(#[from] Unknown),
    /// The program cannot be solved.
    #[error(transparent)]
    Linear(#[from] LinearError),
    /// The years ahead cannot be told.
    #[error(transparent)]
    Ahead(#[from] AssessError),
}

/// What is eaten of a plant in a parcel.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Used {
    /// The parcel.
    pub parcel: String,
    /// The plant.
    pub plant: Eaten,
    /// Greatest share.
    pub limit: f64,
    /// Share now.
    pub now: f64,
    /// Share under the plan of whole animals, by the processes.
    pub then: f64,
}

/// A plan.
pub struct Design {
    /// One measure for every parcel and class whose head changes.
    pub suggested: Vec<Suggested>,
    /// Pounds a year: away-keep and fields.
    pub gbp_a_year: f64,
    /// The same before head was rounded: no plan within the straightened limits costs less.
    pub bound_gbp_a_year: f64,
    /// What is eaten, where a limit speaks.
    pub used: Vec<Used>,
    /// Sheep kept away, head-weeks a year.
    pub away_weeks: f64,
    /// What it adds to the needs met, lek-season-years.
    pub needs: f64,
    /// What limits are worth, in words, the dearest first.
    pub prices: Vec<String>,
    /// What must be known besides, in words.
    pub notes: Vec<String>,
}

/// Plan the flock's year.
///
/// # Errors
/// [`GrazingError`].
pub fn suggest(c: &Context, ask: &Ask) -> Result<Design, GrazingError> {
    let h = c.holding;
    let classes: Vec<StockClass> = SHEEP.into_iter().filter(|k| h.stock.iter().any(|s| s.class == *k && s.head.iter().any(|n| *n > 0.0))).collect();
    if classes.is_empty() {
        return Err(GrazingError::NoSheep);
    }
    let table = Table::of(c, classes)?;
    let farm = Farm::of(c, ask, &table)?;
    let mut tight = vec![[0.0; 4]; h.parcels.len()];
    let mut at = farm.now.clone();
    let (mut plan, mut whole, mut shares) = farm.settle(&table, ask, &mut at, &tight)?;
    // Rounding down to whole animals may free a field of none and a limit of little: where it breaks one, that limit is drawn tighter.
    for _ in 0..4 {
        let mut broken = false;
        for (p, (of, eaten)) in farm.limits.iter().zip(&shares).enumerate() {
            for i in 0..4 {
                if let Some((limit, share)) = of[i].zip(eaten[i]).filter(|(limit, share)| share > &(limit + STANDS)) {
                    tight[p][i] += share - limit;
                    broken = true;
                }
            }
        }
        if !broken {
            break;
        }
        (plan, whole, shares) = farm.settle(&table, ask, &mut at, &tight)?;
    }
    farm.told(c, ask, &table, &plan, &whole, &shares)
}

/// The holding as the program sees it.
struct Farm<'a> {
    parcels: &'a [Parcel],
    classes: Vec<StockClass>,
    /// Head as surveyed.
    now: Heads,
    /// Shares eaten as surveyed.
    shares_now: Shares,
    /// Limits by parcel and plant, where one speaks.
    limits: Vec<[Option<f64>; 4]>,
    /// The most head by parcel, class and month; `None`: within the room of the parcel.
    most: Vec<Vec<[Option<f64>; 12]>>,
    /// Room of a parcel by month, ewes or their equal.
    room: Vec<[f64; 12]>,
    /// Ewes or their equal of a head, by class.
    ewes: Vec<f64>,
    /// Ewes or their equal of the classes that stay, by parcel and month.
    others: Vec<[f64; 12]>,
    /// Whether a parcel's stocking is held to what suits black grouse.
    held: Vec<bool>,
    notes: Vec<String>,
}

fn is_hill(p: &Parcel) -> bool {
    matches!(p.kind, ParcelKind::Hill | ParcelKind::Common | ParcelKind::Rough)
}

fn is_field(p: &Parcel) -> bool {
    matches!(p.kind, ParcelKind::InByePasture | ParcelKind::InByeMeadow)
}

fn name(p: &Parcel) -> &str {
    if p.name.is_empty() { &p.id } else { &p.name }
}

fn ha(p: &Parcel) -> f64 {
    p.shape.unsigned_area() / 1e4
}

impl<'a> Farm<'a> {
    fn of(c: &Context<'a>, ask: &Ask, table: &Table) -> Result<Farm<'a>, Unknown> {
        let h = c.holding;
        let classes = table.classes.clone();
        let now = table.surveyed();
        let shares_now = table.shares(&now);
        let bare: Heads = now.iter().map(|p| p.iter().map(|_| [0.0; 12]).collect()).collect();
        let without = table.shares(&bare);
        let mut notes = Vec::new();
        let mut limits = vec![[None; 4]; h.parcels.len()];
        for (p, parcel) in h.parcels.iter().enumerate() {
            for plant in Eaten::ALL {
                let i = plant as usize;
                let (Some(share), Some(alone)) = (shares_now[p][i], without[p][i]) else { continue };
                let mut limit = ask.limit(plant);
                if plant == Eaten::Field {
                    if !is_field(parcel) {
                        continue;
                    }
                    limit = limit.max(share);
                } else if !is_hill(parcel) {
                    continue;
                }
                if alone > limit {
                    notes.push(format!(
                        "Cattle, ponies and deer alone eat {:.0} % of the {} of {}, over the {:.0} % it bears: moving sheep cannot mend that.",
                        100.0 * alone,
                        plant.word(),
                        name(parcel),
                        100.0 * limit
                    ));
                    limit = alone;
                }
                limits[p][i] = Some(limit);
            }
        }
        let ewes: Vec<f64> = classes.iter().map(|k| table.ewes(*k)).collect();
        let mut others = vec![[0.0; 12]; h.parcels.len()];
        for s in h.stock.iter().filter(|s| !classes.contains(&s.class)) {
            if let Some(p) = h.parcels.iter().position(|p| p.id == s.parcel) {
                let each = table.ewes(s.class);
                others[p].iter_mut().zip(s.head).for_each(|(sum, n)| *sum += each * f64::from(n));
            }
        }
        let sheep = |p: usize, m: usize| (0..classes.len()).map(|k| ewes[k] * now[p][k][m]).sum::<f64>();
        let mut room = vec![[0.0; 12]; h.parcels.len()];
        let mut most = vec![vec![[None; 12]; classes.len()]; h.parcels.len()];
        for (p, parcel) in h.parcels.iter().enumerate() {
            let busiest = (0..12).map(|m| sheep(p, m) + others[p][m]).fold(0.0, f64::max);
            for m in 0..12 {
                let grows = parcel.kind == ParcelKind::InByeMeadow && HAY.contains(&m);
                let open = is_field(parcel) && !grows;
                room[p][m] = if open { (busiest - others[p][m]).max(sheep(p, m)) } else { sheep(p, m) };
                for (k, most) in most[p].iter_mut().enumerate() {
                    most[m] = (!open).then_some(now[p][k][m]);
                }
            }
        }
        let reach_m = c.number("reach.brood_m")?;
        let near = |p: &Parcel| (0..c.leks().len()).any(|l| Euclidean.distance(&c.lek_at(l), &p.shape) <= reach_m);
        let held = h.parcels.iter().map(|p| is_hill(p) && near(p)).collect();
        Ok(Farm { parcels: &h.parcels, classes, now, shares_now, limits, most, room, ewes, others, held, notes })
    }

    /// Solve about a plan, lay straight about the answer, until the shares stand; then round.
    fn settle(&self, table: &Table, ask: &Ask, at: &mut Heads, tight: &[[f64; 4]]) -> Result<(StockPlan, Heads, Shares), GrazingError> {
        let mut plan = self.pose(table, ask, at, tight).solve()?;
        for _ in 1..ROUNDS {
            let next = self.heads(&plan);
            let moved = next.iter().flatten().flatten().zip(at.iter().flatten().flatten()).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            // Half way where it swings, the whole way else.
            *at = next;
            if moved < 0.5 {
                break;
            }
            plan = self.pose(table, ask, at, tight).solve()?;
        }
        let whole: Heads = self.heads(&plan).into_iter().map(|p| p.into_iter().map(|k| k.map(|n| (n + 1e-6).floor())).collect()).collect();
        let shares = table.shares(&whole);
        Ok((plan, whole, shares))
    }

    fn heads(&self, plan: &StockPlan) -> Heads {
        let of = |p: usize, k: usize| std::array::from_fn(|m| plan.head[p][m][k]);
        (0..self.parcels.len()).map(|p| (0..self.classes.len()).map(|k| of(p, k)).collect()).collect()
    }

    /// The linear program about a plan.
    fn pose(&self, table: &Table, ask: &Ask, at: &Heads, tight: &[[f64; 4]]) -> Stock {
        let shares = table.shares(at);
        let slopes = table.slopes(at, &shares);
        let months = MONTHS.iter().map(|m| (*m).to_string()).collect();
        let week = ask.away_gbp * WEEKS_A_MONTH;
        let classes = self
            .classes
            .iter()
            .enumerate()
            .map(|(k, class)| stock::StockClass {
                name: class.word().replace('_', " "),
                lsu_per_head: self.ewes[k],
                head: (0..12).map(|m| self.now.iter().map(|p| p[k][m]).sum()).collect(),
                away_gbp_per_head_month: vec![week; 12],
                away_limit_head: vec![f64::INFINITY; 12],
            })
            .collect();
        let mut out = Stock {
            parcels: self
                .parcels
                .iter()
                .enumerate()
                .map(|(p, parcel)| stock::Parcel { name: name(parcel).to_string(), ceiling_lsu: self.room[p].to_vec(), change_limit_lsu: None })
                .collect(),
            months,
            classes,
            ..Stock::default()
        };
        for (p, parcel) in self.parcels.iter().enumerate() {
            for m in 0..12 {
                for k in 0..self.classes.len() {
                    let cell = Cell { parcel: p, month: m, class: k };
                    if let Some(most) = self.most[p][k][m] {
                        out.head_limits.push((cell, most));
                    }
                    if is_field(parcel) {
                        out.benefit_per_head_month.push((cell, -ask.field_gbp));
                    }
                }
            }
            let all = |of: &dyn Fn(usize, usize) -> f64| -> Vec<(Cell, f64)> {
                let cells = (0..12).flat_map(|m| (0..self.classes.len()).map(move |k| (m, k)));
                cells.map(|(month, class)| (Cell { parcel: p, month, class }, of(month, class))).filter(|(_, a)| *a > 0.0).collect()
            };
            for plant in Eaten::ALL {
                let i = plant as usize;
                let (Some(limit), Some(share)) = (self.limits[p][i], shares[p][i]) else { continue };
                let terms = all(&|m, k| slopes[m][p][k][i]);
                let there: f64 = terms.iter().map(|(cell, a)| a * at[p][cell.class][cell.month]).sum();
                out.rows.push(StockRow {
                    name: format!("{} of {}", plant.word(), name(parcel)),
                    terms,
                    relation: Relation::AtMost,
                    limit: limit - tight[p][i] - share + there,
                    breach_gbp_per_unit: Some(HARD_GBP),
                });
            }
            let ewes = |months: &[usize; 5]| {
                let months = *months;
                all(&move |m, k| if months.contains(&m) { self.ewes[k] / 5.0 } else { 0.0 })
            };
            let stay = |months: &[usize; 5]| months.iter().map(|m| self.others[p][*m]).sum::<f64>() / 5.0;
            if let Some([summer, winter]) = ask.stocking.filter(|_| self.held[p]) {
                for (word, months, most) in [("summer", &SUMMER, summer), ("winter", &WINTER, winter)] {
                    out.rows.push(StockRow {
                        name: format!("{word} stocking of {}", name(parcel)),
                        terms: ewes(months),
                        relation: Relation::AtMost,
                        limit: (most * ha(parcel) - stay(months)).max(0.0),
                        breach_gbp_per_unit: None,
                    });
                }
            }
            if is_hill(parcel) {
                let now: f64 = SUMMER.iter().map(|m| (0..self.classes.len()).map(|k| self.ewes[k] * self.now[p][k][*m]).sum::<f64>()).sum::<f64>() / 5.0;
                out.rows.push(StockRow {
                    name: format!("summer sward of {}", name(parcel)),
                    terms: ewes(&SUMMER),
                    relation: Relation::AtLeast,
                    limit: (ask.floor * ha(parcel) - stay(&SUMMER)).clamp(0.0, now),
                    // Twice a summer's keep: a rank sward is worth avoiding, but not at any price.
                    breach_gbp_per_unit: Some(2.0 * 5.0 * week),
                });
            }
        }
        out
    }

    /// The plan as measures and words.
    fn told(&self, c: &Context, ask: &Ask, table: &Table, plan: &StockPlan, whole: &Heads, shares: &Shares) -> Result<Design, GrazingError> {
        let mut used = Vec::new();
        for (p, parcel) in self.parcels.iter().enumerate() {
            for plant in Eaten::ALL {
                let i = plant as usize;
                if let (Some(limit), Some(now), Some(then)) = (self.limits[p][i], self.shares_now[p][i], shares[p][i]) {
                    used.push(Used { parcel: name(parcel).to_string(), plant, limit, now, then });
                }
            }
        }
        let away = self.away(whole);
        let mut suggested = Vec::new();
        for (p, parcel) in self.parcels.iter().enumerate() {
            for k in 0..self.classes.len() {
                suggested.extend(self.measure(c, parcel, p, k, whole, &away, &used)?);
            }
        }
        let measures: Vec<&Measure> = suggested.iter().map(|s: &Suggested| &s.measure).collect();
        let needs = if measures.is_empty() {
            0.0
        } else {
            let horizon = Horizon::read(c)?;
            let trials = Trials::new(c.assessed, c.holding, c.guidance, Vec::new(), &horizon.years)?;
            let (with, programme) = together(c, &measures)?;
            gain(&horizon.terms(&trials.now, &trials.need), &trials.whole(&with, &programme)?)
        };
        let weeks = away.iter().flatten().flatten().sum::<f64>() * WEEKS_A_MONTH;
        let field = |heads: &Heads| {
            self.parcels.iter().zip(heads).filter(|(p, _)| is_field(p)).flat_map(|(_, by)| by.iter().flatten()).sum::<f64>() * ask.field_gbp
        };
        let mut notes = self.notes.clone();
        for price in plan.prices.iter().filter(|p| p.breach > 1e-6 && p.name.starts_with("summer sward")) {
            notes.push(format!("Fewer sheep stand in summer than keep the {} from turning rank; {:.0} ewes short on the summer's mean.", price.name.replace("summer sward", "sward"), price.breach));
        }
        Ok(Design {
            suggested,
            gbp_a_year: weeks * ask.away_gbp + field(whole) - field(&self.now),
            bound_gbp_a_year: -plan.value - plan.breach_gbp - field(&self.now),
            used,
            away_weeks: weeks,
            needs,
            prices: self.prices(ask, table, plan, whole),
            notes,
        })
    }

    /// Sheep kept away, by the hill parcel they would stand on: what is off the hill and in no field.
    fn away(&self, whole: &Heads) -> Heads {
        let mut out: Heads = whole.iter().map(|p| p.iter().map(|_| [0.0; 12]).collect()).collect();
        for k in 0..self.classes.len() {
            for m in 0..12 {
                let all = |heads: &Heads| heads.iter().map(|p| p[k][m]).sum::<f64>();
                let mut left = all(&self.now) - all(whole);
                for p in 0..self.parcels.len() {
                    let gone = (self.now[p][k][m] - whole[p][k][m]).clamp(0.0, left.max(0.0));
                    out[p][k][m] = gone;
                    left -= gone;
                }
            }
        }
        out
    }

    #[allow(clippy::too_many_arguments, reason = "one parcel and class of a plan")]
    fn measure(&self, c: &Context, parcel: &Parcel, p: usize, k: usize, whole: &Heads, away: &Heads, used: &[Used]) -> Result<Option<Suggested>, Unknown> {
        let (now, then, away) = (&self.now[p][k], &whole[p][k], &away[p][k]);
        if now.iter().zip(then).all(|(n, t)| (n - t).abs() < 0.5) {
            return Ok(None);
        }
        let class = self.classes[k];
        let stands: [f64; 12] = std::array::from_fn(|m| then[m] + away[m]);
        let (head, gone) = (words::months(&stands, |m| (stands[m] - now[m]).abs() >= 0.5), words::months(away, |m| away[m] > 0.0));
        let mut facts: Extra = [("parcel".to_string(), json!(parcel.id)), ("class".to_string(), json!(class.word()))].into_iter().collect();
        let mut parts = Vec::new();
        for (fact, table, word) in [("head", head, "stand there"), ("away", gone, "are kept away")] {
            if table.as_object().is_some_and(|t| !t.is_empty()) {
                parts.push(format!("{word}: {}", words::said(&table)));
                facts.insert(fact.to_string(), table);
            }
        }
        let measure = Measure {
            id: format!("graze {} {}", parcel.id, class.word()),
            kind: "grazing".to_string(),
            year: c.today.map(|d| d.year() + 1),
            facts,
            ..Measure::default()
        };
        let entry = kind::find("grazing").unwrap_or(kind::all()[0]);
        let eaten: Vec<String> = used
            .iter()
            .filter(|u| u.parcel == name(parcel))
            .map(|u| format!("{} eaten {:.0} % now, {:.0} % then, {:.0} % at most", u.plant.word(), 100.0 * u.now, 100.0 * u.then, 100.0 * u.limit))
            .collect();
        let why = format!("{} of {} that {}{}", class.word().replace('_', " "), name(parcel), parts.join("; that "), if eaten.is_empty() { String::new() } else { format!(" ({})", eaten.join("; ")) });
        let figures: Vec<Quantity> = (entry.quantities)(c, &measure)?.into_iter().filter(|q| q.amount != 0.0).collect();
        Ok(Some(Suggested { why, gbp: kind::cost::total(&(entry.costs)(c, &measure)?), figures, measure }))
    }

    /// What limits are worth, in words.
    fn prices(&self, ask: &Ask, table: &Table, plan: &StockPlan, whole: &Heads) -> Vec<String> {
        let mut out: Vec<(f64, String)> = Vec::new();
        let shares = table.shares(whole);
        let slopes = table.slopes(whole, &shares);
        let ewe = 0;
        for (p, parcel) in self.parcels.iter().enumerate() {
            let price = |what: &str| plan.price(&format!("{what} of {}", name(parcel))).filter(|x| x.kind == LimitKind::Row).map_or(0.0, |x| x.price.abs());
            // A week of a hundred ewes off the hill, by what it frees of each limit.
            let mut weeks = [0.0; 12];
            let season = [("summer", SUMMER, price("summer stocking")), ("winter", WINTER, price("winter stocking"))];
            for plant in Eaten::ALL {
                let worth = price(plant.word());
                if worth <= 0.0 {
                    continue;
                }
                let hundredth = 0.01 * worth;
                out.push((
                    hundredth,
                    format!(
                        "The {} of {} is the limit: were one part in a hundred more of it fit to be eaten ({:.0} % instead of {:.0} %), it would save about £{hundredth:.0} a year.",
                        plant.word(),
                        name(parcel),
                        100.0 * self.limits[p][plant as usize].unwrap_or(0.0) + 1.0,
                        100.0 * self.limits[p][plant as usize].unwrap_or(0.0)
                    ),
                ));
                for (m, week) in weeks.iter_mut().enumerate() {
                    *week += worth * slopes[m][p][ewe][plant as usize] * 100.0 / WEEKS_A_MONTH;
                }
            }
            for (word, months, worth) in season {
                if worth <= 0.0 {
                    continue;
                }
                let tenth = worth * 0.1 * ha(parcel);
                out.push((
                    tenth,
                    format!("{} is held to what suits black grouse in {word}: a tenth of a sheep a hectare more there would save about £{tenth:.0} a year.", name(parcel)),
                ));
                for m in months {
                    weeks[m] += worth * self.ewes[ewe] / 5.0 * 100.0 / WEEKS_A_MONTH;
                }
            }
            let best = (0..12).max_by(|a, b| weeks[*a].total_cmp(&weeks[*b])).unwrap_or(0);
            if weeks[best] > 0.005 && is_hill(parcel) {
                let class = self.classes[ewe].word().replace('_', " ");
                out.push((
                    weeks[best],
                    format!(
                        "One more week off {} for a hundred {class}s is worth most in {}, about £{:.0} against £{:.0} of keep; in {} it is worth £{:.0}.",
                        name(parcel),
                        LONG[best],
                        weeks[best],
                        100.0 * ask.away_gbp,
                        LONG[3],
                        weeks[3]
                    ),
                ));
            }
        }
        for (m, short) in MONTHS.iter().enumerate() {
            // Room in the fields, where it is what stands between the hill and a lorry.
            let (mut worth, mut fields) = (0.0f64, Vec::new());
            for parcel in self.parcels.iter().filter(|p| is_field(p)) {
                if let Some(x) = plan.price(&format!("livestock units in {short}, {}", name(parcel))).filter(|x| x.price > 1e-6) {
                    worth = worth.max(x.price);
                    fields.push(name(parcel));
                }
            }
            if worth > 0.0 {
                let more = fields.len().saturating_sub(2);
                let named = fields.iter().take(2).copied().collect::<Vec<_>>().join(", ") + &if more > 0 { format!(" or {more} others") } else { String::new() };
                out.push((10.0 * worth, format!("Room for ten ewes more in {} ({named}) would save about £{:.0} a year.", LONG[m], 10.0 * worth)));
            }
        }
        out.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
        out.into_iter().map(|(_, words)| words).collect()
    }
}

const LONG: [&str; 12] = ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];
