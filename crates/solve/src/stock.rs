//! Where the flock and herd go, month by month: a linear program over parcels, months and classes of stock.
//!
//! The stock is what the holding has: each head stands in some parcel or is kept away, and away costs money. Limits are
//! ceilings of parcels, the most a parcel's stocking may change between months, and any linear row of the caller (the
//! share of a plant eaten, a target height, a scheme's yearly figure). Each limit comes back with its price, so that a
//! week more off the hill can be put into pounds.

use super::linear::{LinearError, Optimum, Program, Relation, Sense};
use serde::Serialize;

/// One parcel, one month, one class of stock, by their places in the lists of [`Stock`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Cell {
    /// Place in [`Stock::parcels`].
    pub parcel: usize,
    /// Place in [`Stock::months`].
    pub month: usize,
    /// Place in [`Stock::classes`].
    pub class: usize,
}

/// A class of stock.
#[derive(Clone, Debug)]
pub struct StockClass {
    /// Its name, such as `ewes`.
    pub name: String,
    /// Livestock units per head.
    pub lsu_per_head: f64,
    /// Head on the holding in each month.
    pub head: Vec<f64>,
    /// Pounds per head and month kept away, in each month.
    pub away_gbp_per_head_month: Vec<f64>,
    /// The most head that can be away, in each month; infinity for no end.
    pub away_limit_head: Vec<f64>,
}

/// A limit over a parcel and month.
#[derive(Clone, Debug)]
pub struct Parcel {
    /// Its name.
    pub name: String,
    /// The most livestock units in each month; infinity for no end.
    pub ceiling_lsu: Vec<f64>,
    /// The most that the livestock units may change from one month to the next; `None` for no limit.
    pub change_limit_lsu: Option<f64>,
}

/// A linear row of the caller.
#[derive(Clone, Debug)]
pub struct StockRow {
    /// Its name; its price comes back under it.
    pub name: String,
    /// Factors per head.
    pub terms: Vec<(Cell, f64)>,
    /// How the sum stands to the limit.
    pub relation: Relation,
    /// The limit.
    pub limit: f64,
    /// Pounds per unit by which the row may be broken; `None` where it must hold.
    pub breach_gbp_per_unit: Option<f64>,
}

/// The whole question.
#[derive(Clone, Debug, Default)]
pub struct Stock {
    /// Parcels.
    pub parcels: Vec<Parcel>,
    /// Names of the months, in order.
    pub months: Vec<String>,
    /// Classes of stock.
    pub classes: Vec<StockClass>,
    /// Weighted benefit in pounds (or the caller's one unit of worth) per head and month; cells not named are worth nought.
    pub benefit_per_head_month: Vec<(Cell, f64)>,
    /// Cells where at most so many head may stand; nought closes the cell.
    pub head_limits: Vec<(Cell, f64)>,
    /// Further rows.
    pub rows: Vec<StockRow>,
    /// Whether the last month is followed by the first for the change limits.
    pub year_repeats: bool,
}

/// What sort of limit a price belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LimitKind {
    /// Head on the holding in a month.
    Flock,
    /// Ceiling of a parcel in a month.
    Ceiling,
    /// Change of a parcel from month to month.
    Change,
    /// Head limit of a cell.
    Head,
    /// Most head away.
    Away,
    /// A row of the caller.
    Row,
}

/// A limit's price.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Price {
    /// The limit's name.
    pub name: String,
    /// What sort it is.
    pub kind: LimitKind,
    /// The limit.
    pub limit: f64,
    /// Change of the value for one unit more of the limit.
    pub price: f64,
    /// How far the limit is broken (soft rows only).
    pub breach: f64,
}

/// The best plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StockPlan {
    /// Benefit less all costs.
    pub value: f64,
    /// Weighted benefit.
    pub benefit: f64,
    /// Pounds for stock kept away.
    pub away_gbp: f64,
    /// Pounds for broken soft rows.
    pub breach_gbp: f64,
    /// Head by parcel, month and class.
    pub head: Vec<Vec<Vec<f64>>>,
    /// Head away by month and class.
    pub away_head: Vec<Vec<f64>>,
    /// Every limit with its price.
    pub prices: Vec<Price>,
}

impl StockPlan {
    /// The price of the limit with this name.
    pub fn price(&self, name: &str) -> Option<&Price> {
        self.prices.iter().find(|p| p.name == name)
    }
}

/// The program and where each part of it stands.
struct Posed {
    program: Program,
    away: Vec<Vec<usize>>,
    breach: Vec<Option<usize>>,
    /// Row number and kind of each priced row.
    rows: Vec<(usize, LimitKind)>,
}

impl Stock {
    /// The plan with the greatest value, with the price of each limit.
    ///
    /// # Errors
    /// [`LinearError`]: lists that do not fit together (all faults at once), limits that cannot be met together (named),
    /// or no settled answer.
    pub fn solve(&self) -> Result<StockPlan, LinearError> {
        self.check()?;
        let posed = self.pose();
        let best = posed.program.solve()?;
        Ok(self.read(&posed, &best))
    }

    fn column(&self, cell: Cell) -> usize {
        (cell.parcel * self.months.len() + cell.month) * self.classes.len() + cell.class
    }

    fn cells(&self) -> impl Iterator<Item = Cell> + '_ {
        let (months, classes) = (self.months.len(), self.classes.len());
        (0..self.parcels.len()).flat_map(move |parcel| (0..months).flat_map(move |month| (0..classes).map(move |class| Cell { parcel, month, class })))
    }

    fn check(&self) -> Result<(), LinearError> {
        let mut faults = Vec::new();
        let months = self.months.len();
        for c in &self.classes {
            for (what, list) in [("head", &c.head), ("cost of away-keep", &c.away_gbp_per_head_month), ("limit of away-keep", &c.away_limit_head)] {
                if list.len() != months {
                    faults.push(format!("{} of '{}' has {} months: needed {months}", what, c.name, list.len()));
                } else if let Some(v) = list.iter().find(|v| v.is_nan() || **v < 0.0) {
                    faults.push(format!("{} of '{}' is {v}: needed nought or more", what, c.name));
                }
            }
            if !(c.lsu_per_head.is_finite() && c.lsu_per_head > 0.0) {
                faults.push(format!("'{}' has {} livestock units per head: needed more than nought", c.name, c.lsu_per_head));
            }
        }
        for p in &self.parcels {
            if p.ceiling_lsu.len() != months {
                faults.push(format!("ceiling of '{}' has {} months: needed {months}", p.name, p.ceiling_lsu.len()));
            } else if let Some(v) = p.ceiling_lsu.iter().find(|v| v.is_nan() || **v < 0.0) {
                faults.push(format!("ceiling of '{}' is {v} livestock units: needed nought or more", p.name));
            }
            if let Some(v) = p.change_limit_lsu.filter(|v| v.is_nan() || *v < 0.0) {
                faults.push(format!("change limit of '{}' is {v} livestock units: needed nought or more", p.name));
            }
        }
        let inside = |c: &Cell| c.parcel < self.parcels.len() && c.month < months && c.class < self.classes.len();
        let named = (self.benefit_per_head_month.iter().map(|(c, v)| (c, *v, "a benefit")))
            .chain(self.head_limits.iter().map(|(c, v)| (c, *v, "a head limit")))
            .chain(self.rows.iter().flat_map(|r| r.terms.iter().map(|(c, v)| (c, *v, r.name.as_str()))));
        for (cell, value, what) in named {
            if !inside(cell) {
                faults.push(format!("{what} names parcel {}, month {}, class {}: there is no such cell", cell.parcel, cell.month, cell.class));
            } else if value.is_nan() {
                faults.push(format!("{what} has a value that is not a number"));
            }
        }
        for r in self.rows.iter().filter(|r| r.breach_gbp_per_unit.is_some_and(|g| g.is_nan() || g < 0.0)) {
            faults.push(format!("row '{}' has a price per unit broken that is not nought or more", r.name));
        }
        if faults.is_empty() { Ok(()) } else { Err(LinearError::Faulty(faults)) }
    }

    fn pose(&self) -> Posed {
        let mut program = Program::new(Sense::Maximise);
        let mut rows = Vec::new();
        for cell in self.cells() {
            program.variable(format!("{} in {}, {}", self.classes[cell.class].name, self.months[cell.month], self.parcels[cell.parcel].name), 0.0, f64::INFINITY, 0.0);
        }
        for (cell, worth) in &self.benefit_per_head_month {
            program.variables[self.column(*cell)].worth += worth;
        }
        let mut away = vec![vec![0; self.classes.len()]; self.months.len()];
        for (m, month) in self.months.iter().enumerate() {
            for (k, class) in self.classes.iter().enumerate() {
                let slack = program.variable(format!("{} away in {month}", class.name), 0.0, f64::INFINITY, -class.away_gbp_per_head_month[m]);
                away[m][k] = slack;
                let mut terms: Vec<(usize, f64)> = (0..self.parcels.len()).map(|parcel| (self.column(Cell { parcel, month: m, class: k }), 1.0)).collect();
                terms.push((slack, 1.0));
                rows.push((program.row(format!("{} on the holding in {month}", class.name), terms, Relation::Equal, class.head[m]), LimitKind::Flock));
                if class.away_limit_head[m].is_finite() {
                    let name = format!("{} away in {month}, at most", class.name);
                    rows.push((program.row(name, vec![(slack, 1.0)], Relation::AtMost, class.away_limit_head[m]), LimitKind::Away));
                }
            }
        }
        for (cell, head) in self.head_limits.iter().filter(|(_, head)| head.is_finite()) {
            let name = format!("{}, at most", program.variables[self.column(*cell)].name);
            rows.push((program.row(name, vec![(self.column(*cell), 1.0)], Relation::AtMost, *head), LimitKind::Head));
        }
        for (p, parcel) in self.parcels.iter().enumerate() {
            let units = |month: usize, turn: f64| {
                let all = self.classes.iter().enumerate();
                all.map(move |(class, c)| (self.column(Cell { parcel: p, month, class }), turn * c.lsu_per_head))
            };
            for (m, month) in self.months.iter().enumerate().filter(|(m, _)| parcel.ceiling_lsu[*m].is_finite()) {
                let name = format!("livestock units in {month}, {}", parcel.name);
                rows.push((program.row(name, units(m, 1.0).collect(), Relation::AtMost, parcel.ceiling_lsu[m]), LimitKind::Ceiling));
            }
            let Some(limit) = parcel.change_limit_lsu.filter(|l| l.is_finite()) else { continue };
            let count = self.months.len();
            let last = if self.year_repeats && count > 1 { count } else { count.saturating_sub(1) };
            for m in 0..last {
                let next = (m + 1) % count;
                for (word, turn) in [("rise", 1.0), ("fall", -1.0)] {
                    let name = format!("{word} from {} to {}, {}", self.months[m], self.months[next], parcel.name);
                    let terms = units(next, turn).chain(units(m, -turn)).collect();
                    rows.push((program.row(name, terms, Relation::AtMost, limit), LimitKind::Change));
                }
            }
        }
        let mut breach = Vec::new();
        for r in &self.rows {
            let mut terms: Vec<(usize, f64)> = r.terms.iter().map(|(cell, a)| (self.column(*cell), *a)).collect();
            let slack = r.breach_gbp_per_unit.map(|gbp| program.variable(format!("'{}' broken by", r.name), 0.0, f64::INFINITY, -gbp));
            if let Some(s) = slack {
                match r.relation {
                    Relation::AtMost => terms.push((s, -1.0)),
                    Relation::AtLeast => terms.push((s, 1.0)),
                    Relation::Equal => {
                        let under = program.variable(format!("'{}' short by", r.name), 0.0, f64::INFINITY, program.variables[s].worth);
                        terms.extend([(s, -1.0), (under, 1.0)]);
                    }
                }
            }
            breach.push(slack);
            rows.push((program.row(r.name.clone(), terms, r.relation, r.limit), LimitKind::Row));
        }
        Posed { program, away, breach, rows }
    }

    fn read(&self, posed: &Posed, best: &Optimum) -> StockPlan {
        let mut head = vec![vec![vec![0.0; self.classes.len()]; self.months.len()]; self.parcels.len()];
        for cell in self.cells() {
            head[cell.parcel][cell.month][cell.class] = best.amounts[self.column(cell)].max(0.0);
        }
        let worth = |v: usize| posed.program.variables[v].worth * best.amounts[v];
        let cells: usize = self.parcels.len() * self.months.len() * self.classes.len();
        let benefit: f64 = (0..cells).map(worth).sum();
        let away_gbp: f64 = posed.away.iter().flatten().map(|v| -worth(*v)).sum();
        let own = posed.rows.len() - self.rows.len();
        let prices = (posed.rows.iter().enumerate())
            .map(|(i, (row, kind))| {
                let slack = i.checked_sub(own).and_then(|k| posed.breach[k]);
                let r = &posed.program.rows[*row];
                let broken = slack.map_or(0.0, |s| {
                    let under = if r.relation == Relation::Equal { best.amounts[s + 1] } else { 0.0 };
                    best.amounts[s].max(0.0) + under.max(0.0)
                });
                Price { name: r.name.clone(), kind: *kind, limit: r.limit, price: best.row_prices[*row], breach: broken }
            })
            .collect();
        StockPlan {
            value: best.value,
            benefit,
            away_gbp,
            breach_gbp: benefit - away_gbp - best.value,
            head,
            away_head: posed.away.iter().map(|m| m.iter().map(|v| best.amounts[*v].max(0.0)).collect()).collect(),
            prices,
        }
    }
}
