//! The fewest mornings of one window, were all of its mornings alike and the other window not there.
//!
//! The leks are shared out to tours of the bases so that no base sends out more than it can on the mornings; which tour is on which
//! morning is left open. What comes of it is a lower bound for the window, level by level: visits missed, mornings, outings,
//! minutes of travelling. Where its tours can be put on mornings ([`super::mornings`]) it is the best there is.

use super::choose::{Choice, Means, Tag};
use super::crew;
use super::tour::{Set, Tours};

/// Visits missed, mornings, outings, minutes of travelling: the less the better, the first before the next.
pub(super) type Levels = [i64; 4];

/// What came of a window.
#[derive(Clone, Debug)]
pub(super) struct Counted {
    pub(super) levels: Levels,
    /// No plan of the window is below.
    pub(super) bound: Levels,
    /// Base and leks of each tour.
    pub(super) tours: Vec<(usize, Set)>,
}

struct Model {
    choice: Choice,
    tours: Vec<(usize, Set)>,
    travel: Vec<i64>,
    leks: usize,
}

impl Model {
    const MISSED: usize = 0;
    const OUTINGS: usize = 1;
    const BASES: usize = 2;

    fn of(tours: &Tours) -> Self {
        let bases = tours.of_base.len();
        let reached = tours.reached();
        let leks: Vec<usize> = (0..Set::BITS as usize).filter(|lek| reached >> lek & 1 == 1).collect();
        let mut choice = Choice::default();
        for _ in 0..Self::BASES + bases {
            choice.program.row(leks.len() as f64, false);
        }
        let rows: Vec<usize> = leks.iter().map(|_| choice.program.row(1.0, true)).collect();
        let mut model = Self { choice, tours: vec![], travel: vec![], leks: leks.len() };
        for (base, sets) in tours.of_base.iter().enumerate() {
            for (set, orders) in sets {
                let met = leks.iter().zip(&rows).filter(|(lek, _)| set >> **lek & 1 == 1).map(|(_, row)| (*row, 1.0));
                let entries: Vec<_> = [(Self::OUTINGS, 1.0), (Self::BASES + base, 1.0)].into_iter().chain(met).collect();
                model.choice.push(Tag::Visits(u128::from(*set), base), &entries);
                model.tours.push((base, *set));
                model.travel.push(orders.iter().map(|tour| i64::from(tour.travel_min)).min().unwrap_or_default());
            }
        }
        for (lek, row) in leks.iter().zip(rows) {
            model.choice.push(Tag::Visits(1 << lek, usize::MAX), &[(Self::MISSED, 1.0), (row, 1.0)]);
        }
        model
    }

    /// A cost for each tour and for each missed visit.
    fn cost(&self, tour: impl Fn(usize) -> i64, missed: i64) -> Vec<i64> {
        (0..self.tours.len()).map(tour).chain((0..self.leks).map(|_| missed)).collect()
    }

    fn allow(&mut self, missed: i64, outings: i64, by_base: &[usize]) {
        let needed = &mut self.choice.program.needed;
        needed[Self::MISSED] = missed as f64;
        needed[Self::OUTINGS] = outings as f64;
        for (row, most) in needed[Self::BASES..].iter_mut().zip(by_base) {
            *row = *most as f64;
        }
    }
}

/// The bound of a window. `there`: how many can go out, by morning and base. `means` is shared.
pub(super) fn count(tours: &Tours, there: &[Vec<usize>], means: &mut Means) -> Counted {
    let mut model = Model::of(tours);
    let leks = model.leks as i64;
    let all = crew::most(there, there.len()).pop().unwrap_or_else(|| vec![0; tours.of_base.len()]);
    model.allow(leks, leks, &all);
    let nothing: Vec<usize> = (model.tours.len()..model.tours.len() + model.leks).collect();
    let first = model.choice.search(&model.cost(|_| 0, 1), Some((nothing, leks)), means);
    let mut proven = first.is_proven();
    let mut bound = [first.bound, 0, 0, 0];
    let Some((mut chosen, missed)) = first.best else { return Counted { levels: bound, bound, tours: vec![] } };
    let mut mornings = there.len() as i64;
    for n in 0..=there.len() {
        let (mut found, mut sure) = (Vec::new(), true);
        for by_base in crew::most(there, n) {
            model.allow(missed, leks, &by_base);
            let answer = model.choice.search(&model.cost(|_| 1, 0), None, means);
            sure &= answer.is_proven();
            found.extend(answer.best.map(|(chosen, outings)| (outings, answer.bound, by_base, chosen)));
        }
        bound[1] = if proven { n as i64 } else { bound[1] };
        proven &= sure;
        let Some(outings) = found.iter().map(|f| f.0).min() else { continue };
        bound[2] = if proven { outings } else { 0 };
        mornings = n as i64;
        let (mut least, mut floor) = (i64::MAX, i64::MAX);
        for (_, _, by_base, begin) in found.into_iter().filter(|f| f.0 == outings) {
            model.allow(missed, outings, &by_base);
            let cost = model.cost(|tour| model.travel[tour], 0);
            let known = begin.iter().map(|c| cost[*c]).sum();
            let answer = model.choice.search(&cost, Some((begin, known)), means);
            floor = floor.min(answer.bound);
            if let Some((best, travel)) = answer.best.filter(|(_, travel)| *travel < least) {
                (chosen, least) = (best, travel);
            }
        }
        bound[3] = if proven { floor } else { 0 };
        break;
    }
    let taken: Vec<usize> = chosen.into_iter().filter(|c| *c < model.tours.len()).collect();
    let travel = taken.iter().map(|c| model.travel[*c]).sum();
    Counted { levels: [missed, mornings, taken.len() as i64, travel], bound, tours: taken.iter().map(|c| model.tours[*c]).collect() }
}
