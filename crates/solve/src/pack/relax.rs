//! First prices from the linear relaxation: the best that [`super::bound`] could find, had once by the interior point
//! solver. Only its prices are believed, never its value: the bound is taken anew from them.

use super::bound::{Part, Prices};
use crate::linear::{Program, Relation, Sense};

/// Programs of more factors than this are left to the rounds of [`super::bound`].
const LARGEST: usize = 250_000;

/// Prices of the relaxation, and how far each candidate is in; `None` where it is too large or unsettled.
pub(super) fn prices(part: &Part) -> Option<(Prices, Vec<f64>)> {
    let r = part.ready;
    let factors: usize = part.free().iter().map(|c| r.shares[*c].len() + r.uses[*c].len() + r.in_cliques[*c].len() + 1).sum();
    if factors > LARGEST || part.free().is_empty() {
        return None;
    }
    let mut program = Program::new(Sense::Maximise);
    let mut column = vec![usize::MAX; r.n];
    for c in part.free() {
        column[*c] = program.variable("", 0.0, f64::INFINITY, r.worth[*c]);
    }
    let within = |list: &[usize]| -> Vec<(usize, f64)> { list.iter().filter(|c| column[**c] != usize::MAX).map(|c| (column[*c], 1.0)).collect() };
    let mut supply_row = Vec::new();
    for (t, roof) in part.roof().iter().enumerate() {
        let met = program.variable("", f64::NEG_INFINITY, roof.top, r.weight[t]);
        let mut terms = vec![(met, 1.0)];
        terms.extend(r.givers[t].iter().filter(|(c, _)| column[*c] != usize::MAX).map(|(c, e)| (column[*c], -roof.slope * e)));
        supply_row.push(program.row("", terms, Relation::AtMost, roof.rise + roof.slope * roof.share_in));
    }
    let clique_row: Vec<usize> = (part.live_cliques().iter()).map(|k| program.row("", within(&r.cliques[*k]), Relation::AtMost, 1.0)).collect();
    for group in &r.groups {
        let terms = within(group);
        if !terms.is_empty() {
            program.row("", terms, Relation::AtMost, 1.0);
        }
    }
    let mut limits: Vec<Vec<(usize, f64)>> = vec![Vec::new(); r.limits];
    for c in part.free() {
        r.uses[*c].iter().for_each(|(l, u)| limits[*l].push((column[*c], *u)));
    }
    let limit_row: Vec<usize> = limits.into_iter().zip(part.left()).map(|(terms, left)| program.row("", terms, Relation::AtMost, *left)).collect();
    let got = program.interior().ok()?;
    let mut y = Prices::nought(r);
    supply_row.iter().enumerate().for_each(|(t, row)| y.supply[t] = got.row_prices[*row].clamp(0.0, r.weight[t]));
    part.live_cliques().iter().zip(&clique_row).for_each(|(k, row)| y.clique[*k] = got.row_prices[*row].max(0.0));
    limit_row.iter().enumerate().for_each(|(l, row)| y.limit[l] = got.row_prices[*row].max(0.0));
    let mut amount = vec![0.0; r.n];
    part.free().iter().for_each(|c| amount[*c] = got.amounts[column[*c]]);
    Some((y, amount))
}
