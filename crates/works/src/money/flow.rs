//! How the purse stands from year to year, undiscounted and exact.

use super::pence::Pence;
use serde::{Deserialize, Serialize};

/// When the purse stands lowest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LowPoint {
    /// Place in the list of flows, from 0; the first where several are as low.
    pub year: usize,
    /// What has come in by then, less what has gone out.
    pub balance: Pence,
}

/// What has come in by each year, less what has gone out.
pub fn running(flows: &[Pence]) -> Vec<Pence> {
    let add = |sum: &mut Pence, flow: &Pence| {
        *sum += *flow;
        Some(*sum)
    };
    flows.iter().scan(Pence(0), add).collect()
}

/// The lowest point of the running sum; `None` for no flows. A balance above nought means that nothing need be borrowed.
pub fn low_point(flows: &[Pence]) -> Option<LowPoint> {
    let point = |(year, balance)| LowPoint { year, balance };
    running(flows).into_iter().enumerate().map(point).min_by_key(|low| (low.balance, low.year))
}

/// The year from which the running sum is never again below nought: a later cost that opens the hole anew counts. `None` where it ends
/// below nought, or for no flows.
pub fn payback_year(flows: &[Pence]) -> Option<usize> {
    let sums = running(flows);
    let year = sums.iter().rposition(|sum| *sum < Pence(0)).map_or(0, |last| last + 1);
    (year < sums.len()).then_some(year)
}
