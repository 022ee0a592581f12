//! The leks of a plan, found by what people call them and by where birds were seen.

use super::cluster::{square, squares_round};
use crate::model::Lek;
use crate::words::loose;
use geo::{Distance, Euclidean};
use geo_types::Point;
use std::collections::HashMap;

/// Names given in a message; the rest are only counted.
const NAMES_SHOWN: usize = 8;
/// Names near a name that are put forward.
const NEAR_SHOWN: usize = 3;
/// Names looked up for near misses; beyond it no name is put forward.
const MISSES_MAX: usize = 50;

/// Leks by id, name and place.
pub(super) struct LekBook<'h> {
    leks: &'h [Lek],
    ids: HashMap<&'h str, usize>,
    names: HashMap<&'h str, Vec<usize>>,
    loose: HashMap<String, Vec<usize>>,
    squares: HashMap<(i64, i64), Vec<usize>>,
    side_m: f64,
    misses: usize,
}

/// What a name stands for.
pub(super) enum Named {
    /// One lek, by its number in the plan.
    One(usize),
    /// Several leks: their ids.
    Several(String),
    /// None; what may be meant, or what there is.
    Unknown(String),
}

impl<'h> LekBook<'h> {
    /// Of a plan's leks, to be found within `reach_m`.
    pub fn new(leks: &'h [Lek], reach_m: f64) -> Self {
        let side_m = reach_m.max(1.0);
        let mut book = Self { leks, ids: HashMap::new(), names: HashMap::new(), loose: HashMap::new(), squares: HashMap::new(), side_m, misses: 0 };
        for (at, lek) in leks.iter().enumerate() {
            book.ids.entry(&lek.id).or_insert(at);
            if !lek.name.is_empty() {
                book.names.entry(&lek.name).or_default().push(at);
            }
            for key in [loose(&lek.id), loose(&lek.name)] {
                let all = book.loose.entry(key).or_default();
                if !all.contains(&at) {
                    all.push(at);
                }
            }
            book.squares.entry(square(lek.at, side_m)).or_default().push(at);
        }
        book.loose.remove("");
        book
    }

    /// The lek of a number.
    pub fn lek(&self, at: usize) -> &'h Lek {
        &self.leks[at]
    }

    /// The lek somebody means by an id or a name: as it is written, else without case, accents, spaces and marks.
    pub fn named(&mut self, said: &str) -> Named {
        if let Some(at) = self.ids.get(said) {
            return Named::One(*at);
        }
        let found = self.names.get(said).or_else(|| self.loose.get(&loose(said)));
        match found.map(Vec::as_slice) {
            Some([one]) => Named::One(*one),
            Some(several) => Named::Several(several.iter().map(|at| self.leks[*at].id.as_str()).collect::<Vec<_>>().join(", ")),
            None => Named::Unknown(self.meant(said)),
        }
    }

    fn called(&self, at: usize) -> &'h str {
        self.leks[at].called()
    }

    /// What may be meant by a name that is not known.
    fn meant(&mut self, said: &str) -> String {
        if self.leks.is_empty() {
            return "import the leks first".to_owned();
        }
        self.misses += 1;
        let key = loose(said);
        let mut near: Vec<(usize, usize)> = Vec::new();
        if self.misses <= MISSES_MAX {
            for (name, leks) in &self.loose {
                let apart = apart(&key, name);
                let within = key.chars().count() >= 4 && (name.contains(&key) || key.contains(name.as_str()) && name.chars().count() >= 4);
                if apart * 4 <= key.chars().count().max(name.chars().count()) || within {
                    near.extend(leks.iter().map(|at| (apart, *at)));
                }
            }
        }
        near.sort_unstable();
        let mut names: Vec<&str> = Vec::new();
        for (_, at) in near {
            if !names.contains(&self.called(at)) && names.len() < NEAR_SHOWN {
                names.push(self.called(at));
            }
        }
        if !names.is_empty() {
            return format!("did it mean {}?", names.join(" or "));
        }
        let shown: Vec<&str> = (0..self.leks.len().min(NAMES_SHOWN)).map(|at| self.called(at)).collect();
        match self.leks.len() - shown.len() {
            0 => format!("the plan has {}", shown.join(", ")),
            more => format!("the plan has {} and {more} more", shown.join(", ")),
        }
    }

    /// The nearest lek within the book's reach, and how far it is, metres.
    pub fn nearest(&self, at: Point<f64>) -> Option<(usize, f64)> {
        squares_round(at, self.side_m)
            .filter_map(|square| self.squares.get(&square))
            .flatten()
            .map(|lek| (*lek, Euclidean.distance(&self.leks[*lek].at, &at)))
            .filter(|(_, apart_m)| *apart_m <= self.side_m)
            .min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)))
    }
}

/// Letters to put in, take out or change to make one word of another (Levenshtein 1966).
fn apart(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut before = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let change = before + usize::from(x != *y);
            before = row[j + 1];
            row[j + 1] = change.min(before + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_apart() {
        assert_eq!([apart("kitten", "sitting"), apart("", "abc"), apart("whinrigg", "whinrigg"), apart("whinrig", "whinrigg")], [3, 3, 0, 1]);
    }

    #[test]
    fn names_are_forgiven_and_near_ones_put_forward() {
        let leks = [
            Lek::new("L1", "Whin Rigg", Point::new(0.0, 0.0)),
            Lek::new("L2", "Creag Dh\u{f9}bh", Point::new(900.0, 0.0)),
            Lek::new("L3", "Long Moss", Point::new(0.0, 900.0)),
            Lek::new("L4", "longmoss", Point::new(5_000.0, 900.0)),
        ];
        let mut book = LekBook::new(&leks, 500.0);
        let mut of = |said: &str| match book.named(said) {
            Named::One(at) => at.to_string(),
            Named::Several(ids) => ids,
            Named::Unknown(hint) => hint,
        };
        assert_eq!([of("L1"), of("l1"), of("WHIN-RIGG"), of("creag dhubh"), of("Long Moss"), of("longmoss")], ["0", "0", "0", "1", "2", "3"]);
        assert_eq!([of("LONG MOSS"), of("Whin Rig"), of("Whin Rigg lek")], ["L3, L4", "did it mean Whin Rigg?", "did it mean Whin Rigg?"]);
        assert_eq!(of("Elsewhere"), "the plan has Whin Rigg, Creag Dh\u{f9}bh, Long Moss, longmoss");
        assert_eq!(book.nearest(Point::new(700.0, 0.0)).map(|n| n.0), Some(1));
        assert_eq!(book.nearest(Point::new(2_000.0, 0.0)), None);
    }
}
