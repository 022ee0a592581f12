//! Where the flock goes, month by month: on the hill up to what its plants bear and black grouse suit, in the fields up to their room, the
//! rest kept away for money.
//!
//! A linear program ([`solve::stock`]) over parcels, months and classes of sheep. What stock eat is not linear: the shares of heather, blaeberry and
//! field grass come from the grazing of the years ahead ([`habitat::ahead::grazing`]), laid straight about a plan, solved, and laid anew about the answer
//! until it stands. The limits are those of the rules; each comes back with its price. Head is then rounded to whole animals, and the shares of the rounded
//! plan are taken from the processes again.
//!
//! Sheep are hefted: no more of a class stand on a hill parcel in a month than stand there now. Fields take no more at once than at their busiest month now;
//! none more in winter, when nothing grows, on meadows none more while the hay grows, and on arable none more at all. Cattle, ponies and deer stay as they are.

pub mod eaten;
pub mod words;

use super::Suggested;
use super::design::{Horizon, gain, together};
use crate::kind::{self, Quantity, grazing::WEEKS_A_MONTH};
use crate::rules::Context;
use solve::linear::{LinearError, Relation};
use solve::stock::{self, Cell, LimitKind, Stock, StockPlan, StockRow};
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
/// Pounds a per cent of a limit broken costs: more than relief by keep does, so that limits give way only where nothing else can.
const HARD_GBP: f64 = 2e4;
/// Shares are posed in per cent, so that the numbers of a program are of one size.
const PERCENT: f64 = 100.0;

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
    let mut settled = farm.settle(&table, ask, &mut at, &tight)?;
    // Rounding down to whole animals may free a field of none and a limit of little: where it breaks one, that limit is drawn tighter.
    for _ in 0..4 {
        let mut broken = false;
        for (p, (of, eaten)) in farm.limits.iter().zip(&settled.shares).enumerate() {
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
        settled = farm.settle(&table, ask, &mut at, &tight)?;
    }
    farm.told(c, ask, &table, &settled)
}

/// A plan about which the straightened limits stand.
struct Settled {
    posed: Stock,
    plan: StockPlan,
    /// Whole animals.
    whole: Heads,
    /// What they eat, by the processes.
    shares: Shares,
}

fn stocking_row(month: usize, parcel: &Parcel) -> String {
    format!("{} stocking of {}", MONTHS[month], name(parcel))
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
        let reach_m = c.number("reach.brood_m")?;
        let near = |p: &Parcel| (0..c.leks().len()).any(|l| Euclidean.distance(&c.lek_at(l), &p.shape) <= reach_m);
        let held: Vec<bool> = h.parcels.iter().map(|p| is_hill(p) && near(p)).collect();
        for (p, parcel) in h.parcels.iter().enumerate().filter(|(p, _)| held[*p]) {
            for (season, months, most) in ask.stocking.iter().flat_map(|[s, w]| [("summer", SUMMER, *s), ("winter", WINTER, *w)]) {
                let stay = months.iter().map(|m| others[p][*m]).sum::<f64>() / months.len() as f64 / ha(parcel).max(1e-9);
                if stay > most {
                    notes.push(format!("On {} cattle, ponies and deer alone are {stay:.1} ewes or their equal a hectare in {season}, over the {most} that suits black grouse.", name(parcel)));
                }
            }
        }
        let mut room = vec![[0.0; 12]; h.parcels.len()];
        let mut most = vec![vec![[None; 12]; classes.len()]; h.parcels.len()];
        for (p, parcel) in h.parcels.iter().enumerate() {
            let busiest = (0..12).map(|m| sheep(p, m) + others[p][m]).fold(0.0, f64::max);
            for m in 0..12 {
                let hay = parcel.kind == ParcelKind::InByeMeadow && HAY.contains(&m);
                let open = is_field(parcel) && !hay && !WINTER.contains(&m);
                room[p][m] = if open { (busiest - others[p][m]).max(sheep(p, m)) } else { sheep(p, m) };
                for (k, most) in most[p].iter_mut().enumerate() {
                    most[m] = (!open).then_some(now[p][k][m]);
                }
            }
        }
        Ok(Farm { parcels: &h.parcels, classes, now, shares_now, limits, most, room, ewes, others, held, notes })
    }

    /// Solve about a plan, lay straight about the answer, until the shares stand; then round.
    fn settle(&self, table: &Table, ask: &Ask, at: &mut Heads, tight: &[[f64; 4]]) -> Result<Settled, GrazingError> {
        let mut posed = self.pose(table, ask, at, tight);
        let mut plan = posed.solve()?;
        for _ in 1..ROUNDS {
            let next = self.heads(&plan);
            let moved = next.iter().flatten().flatten().zip(at.iter().flatten().flatten()).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            *at = next;
            if moved < 0.5 {
                break;
            }
            posed = self.pose(table, ask, at, tight);
            plan = posed.solve()?;
        }
        let whole = self.whole(ask, &plan);
        let shares = table.shares(&whole);
        Ok(Settled { posed, plan, whole, shares })
    }

    /// Whole animals: head rounded down, and what that leaves put back, one by one, where the largest parts were cut off and stocking and
    /// room allow it.
    fn whole(&self, ask: &Ask, plan: &StockPlan) -> Heads {
        let exact = self.heads(plan);
        let mut whole: Heads = exact.iter().map(|p| p.iter().map(|k| k.map(|n| (n + 1e-6).floor())).collect()).collect();
        for m in 0..12 {
            for (k, ewes) in self.classes.iter().enumerate().map(|(k, _)| (k, self.ewes[k])) {
                let all = |heads: &Heads| heads.iter().map(|p| p[k][m]).sum::<f64>();
                let mut left = (all(&exact) + 1e-6).floor() - all(&whole);
                let mut order: Vec<usize> = (0..self.parcels.len()).collect();
                let part = |p: usize| exact[p][k][m] - exact[p][k][m].floor();
                order.sort_by(|a, b| part(*b).total_cmp(&part(*a)).then(a.cmp(b)));
                for p in order {
                    let then = self.sheep(&whole, p, m) + ewes;
                    let fits = then <= self.room[p][m] + 1e-9
                        && self.stocking(ask, p, m).is_none_or(|most| then <= most + 1e-9)
                        && self.most[p][k][m].is_none_or(|most| whole[p][k][m] + 1.0 <= most + 1e-9);
                    if left > 0.5 && fits && part(p) > 1e-6 {
                        whole[p][k][m] += 1.0;
                        left -= 1.0;
                    }
                }
            }
        }
        whole
    }

    /// Ewes or their equal of the sheep on a parcel in a month.
    fn sheep(&self, heads: &Heads, p: usize, m: usize) -> f64 {
        (0..self.classes.len()).map(|k| self.ewes[k] * heads[p][k][m]).sum()
    }

    /// The most sheep that suit black grouse on a parcel in a month, ewes or their equal; `None` where they are not held to it.
    fn stocking(&self, ask: &Ask, p: usize, m: usize) -> Option<f64> {
        let [summer, winter] = ask.stocking.filter(|_| self.held[p])?;
        let most = if SUMMER.contains(&m) { summer } else { Some(winter).filter(|_| WINTER.contains(&m))? };
        Some((most * ha(&self.parcels[p]) - self.others[p][m]).max(0.0))
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
                let terms = all(&|m, k| PERCENT * slopes[m][p][k][i]);
                let there: f64 = terms.iter().map(|(cell, a)| a * at[p][cell.class][cell.month]).sum();
                out.rows.push(StockRow {
                    name: format!("{} of {}", plant.word(), name(parcel)),
                    terms,
                    relation: Relation::AtMost,
                    limit: PERCENT * (limit - tight[p][i] - share) + there,
                    breach_gbp_per_unit: Some(HARD_GBP),
                });
            }
            for m in 0..12 {
                let Some(most) = self.stocking(ask, p, m) else { continue };
                out.rows.push(StockRow {
                    name: stocking_row(m, parcel),
                    terms: all(&|month, k| if month == m { self.ewes[k] } else { 0.0 }),
                    relation: Relation::AtMost,
                    limit: most,
                    breach_gbp_per_unit: None,
                });
            }
            if is_hill(parcel) {
                let mean = |of: &dyn Fn(usize) -> f64| SUMMER.iter().map(|m| of(*m)).sum::<f64>() / SUMMER.len() as f64;
                let (now, stay) = (mean(&|m| self.sheep(&self.now, p, m)), mean(&|m| self.others[p][m]));
                out.rows.push(StockRow {
                    name: format!("summer sward of {}", name(parcel)),
                    terms: all(&|m, k| if SUMMER.contains(&m) { self.ewes[k] / SUMMER.len() as f64 } else { 0.0 }),
                    relation: Relation::AtLeast,
                    limit: (ask.floor * ha(parcel) - stay).clamp(0.0, now),
                    // Twice a summer's keep: a rank sward is worth avoiding, but not at any price.
                    breach_gbp_per_unit: Some(2.0 * 5.0 * week),
                });
            }
        }
        out
    }

    /// The plan as measures and words.
    fn told(&self, c: &Context, ask: &Ask, table: &Table, settled: &Settled) -> Result<Design, GrazingError> {
        let Settled { plan, whole, shares, .. } = settled;
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
            prices: self.prices(ask, table, settled)?,
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
        let changed = |m: usize| (then[m] - now[m]).abs() >= 0.5;
        let mut facts: Extra = [("parcel".to_string(), json!(parcel.id)), ("class".to_string(), json!(class.word()))].into_iter().collect();
        let mut why = format!(
            "{}s on {}: {} in place of {}",
            class.word().replace('_', " "),
            name(parcel),
            words::said(&words::months(then, changed)),
            words::said(&words::months(now, changed))
        );
        if away.iter().any(|n| *n > 0.0) {
            why += &format!("; kept away {}", words::said(&gone));
        }
        for (fact, table) in [("head", head), ("away", gone)] {
            if table.as_object().is_some_and(|t| !t.is_empty()) {
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
        if !eaten.is_empty() {
            why += &format!(" ({})", eaten.join("; "));
        }
        let figures: Vec<Quantity> = (entry.quantities)(c, &measure)?.into_iter().filter(|q| q.amount != 0.0).collect();
        Ok(Some(Suggested { why, gbp: kind::cost::total(&(entry.costs)(c, &measure)?), figures, measure }))
    }

    /// What limits are worth, in words: every one is moved and the program solved again.
    fn prices(&self, ask: &Ask, table: &Table, settled: &Settled) -> Result<Vec<String>, GrazingError> {
        let Settled { posed, plan, whole, shares } = settled;
        let binds = |name: &str| plan.price(name).is_some_and(|x| x.kind == LimitKind::Row && x.price.abs() > 1e-6);
        // Pounds a year less when rows are looser by so much.
        let saves = |looser: &dyn Fn(&str) -> f64| -> Result<f64, GrazingError> {
            let mut moved = posed.clone();
            moved.rows.iter_mut().for_each(|r| r.limit += looser(&r.name));
            Ok(moved.solve()?.value - plan.value)
        };
        let mut out: Vec<(f64, String)> = Vec::new();
        let mut tell = |gbp: f64, words: String| {
            if gbp >= 0.5 {
                out.push((gbp, words));
            }
        };
        let slopes = table.slopes(whole, shares);
        let lead = 0;
        let ewe = self.classes[lead].word().replace('_', " ");
        for (p, parcel) in self.parcels.iter().enumerate() {
            let plant_row = |plant: Eaten| format!("{} of {}", plant.word(), name(parcel));
            for plant in Eaten::ALL.into_iter().filter(|plant| binds(&plant_row(*plant))) {
                let gbp = saves(&|row| if row == plant_row(plant) { 1.0 } else { 0.0 })?;
                let limit = 100.0 * self.limits[p][plant as usize].unwrap_or(0.0);
                tell(gbp, format!("The {} of {} is a limit: were it fit to be eaten to {:.0} % instead of {limit:.0} %, about £{gbp:.0} a year would be saved.", plant.word(), name(parcel), limit + 1.0));
            }
            for (season, months) in [("summer", SUMMER), ("winter", WINTER)] {
                let rows: Vec<String> = months.iter().map(|m| stocking_row(*m, parcel)).collect();
                if rows.iter().any(|r| binds(r)) {
                    let gbp = saves(&|row| if rows.iter().any(|r| r == row) { 0.1 * ha(parcel) } else { 0.0 })?;
                    tell(gbp, format!("{} is held in {season} to what suits black grouse: a tenth of a sheep a hectare more would save about £{gbp:.0} a year.", name(parcel)));
                }
            }
            // A week of a hundred off the hill, by what it frees of every limit of the parcel.
            let week = 100.0 / WEEKS_A_MONTH;
            let mut weeks = [0.0; 12];
            if is_hill(parcel) && (Eaten::ALL.iter().any(|plant| binds(&plant_row(*plant))) || (0..12).any(|m| binds(&stocking_row(m, parcel)))) {
                for (m, gbp) in weeks.iter_mut().enumerate() {
                    *gbp = saves(&|row| {
                        if row == stocking_row(m, parcel) {
                            return week * self.ewes[lead];
                        }
                        let plant = Eaten::ALL.into_iter().find(|plant| row == plant_row(*plant));
                        plant.map_or(0.0, |plant| week * PERCENT * slopes[m][p][lead][plant as usize])
                    })?;
                }
            }
            let best = (0..12).max_by(|a, b| weeks[*a].total_cmp(&weeks[*b])).unwrap_or(0);
            let april = if best == APRIL { String::new() } else { format!("; in April it is worth £{:.0}", weeks[APRIL].max(0.0)) };
            tell(
                weeks[best],
                format!("One more week off {} for a hundred {ewe}s is worth most in {}, about £{:.0} against £{:.0} of keep{april}.", name(parcel), LONG[best], weeks[best], 100.0 * ask.away_gbp),
            );
        }
        let mut fewer = posed.clone();
        if fewer.classes[lead].head.iter().all(|n| *n >= 10.0) {
            fewer.classes[lead].head.iter_mut().for_each(|n| *n -= 10.0);
            let gbp = fewer.solve()?.value - plan.value;
            tell(gbp, format!("Ten {ewe}s fewer the year round would save about £{gbp:.0} a year of keep and field; what they would have earned is not counted."));
        }
        out.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
        Ok(out.into_iter().map(|(_, words)| words).collect())
    }
}

/// April, by its place in the year.
const APRIL: usize = 3;
const LONG: [&str; 12] = ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::tests::with;
    use crate::rules::fixture::grazed;

    /// 400 ha with a lek and 400 hill ewes the year round; the plants bear all. By hand: summer stocking of 1.0 is under 1.1; of the 400 in winter 0.5 x 400 = 200 may
    /// stay, so 200 are away in five months of 4.348 weeks: 4,348 head-weeks at 0.95 GBP.
    #[test]
    fn one_hill_without_fields_sends_the_winter_surplus_away() {
        with(&grazed(1.0, 1.0), |c| {
            let bears_all = Ask { heather: 1.0, young_heather: 1.0, blaeberry: 1.0, ..Ask::usual(c).unwrap() };
            let d = suggest(c, &bears_all).unwrap();
            assert!((d.away_weeks - 200.0 * 5.0 * WEEKS_A_MONTH).abs() < 1e-6, "{}", d.away_weeks);
            assert!((d.gbp_a_year - 0.95 * d.away_weeks).abs() < 1e-6 && (d.gbp_a_year - d.bound_gbp_a_year).abs() < 0.01);
            assert_eq!(d.suggested.len(), 1);
            assert_eq!(d.suggested[0].measure.facts["away"], json!({"Jan-Mar": 200, "Nov-Dec": 200}));
            assert!(d.prices.iter().any(|p| p.contains("Test Hill is held in winter")), "{:?}", d.prices);
            // A flock the hill bears stays where it is, for nothing.
            let all = Ask { stocking: None, ..bears_all };
            let d = suggest(c, &all).unwrap();
            assert!(d.suggested.is_empty() && d.gbp_a_year.abs() < 1e-6 && d.prices.is_empty());
        });
    }
}
