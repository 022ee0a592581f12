//! Places that lie together: each within a distance of another of its group.

use geo::{Distance, Euclidean};
use geo_types::Point;
use std::collections::HashMap;

/// A square of a grid laid over places, so that only neighbours are compared.
pub(super) fn square(at: Point<f64>, side_m: f64) -> (i64, i64) {
    ((at.x() / side_m).floor() as i64, (at.y() / side_m).floor() as i64)
}

/// The nine squares on and round a place.
pub(super) fn squares_round(at: Point<f64>, side_m: f64) -> impl Iterator<Item = (i64, i64)> {
    let (x, y) = square(at, side_m);
    (-1..=1).flat_map(move |dx| (-1..=1).map(move |dy| (x + dx, y + dy)))
}

/// Groups of places, by their numbers, in the order of their first places.
pub(super) fn groups(places: &[Point<f64>], within_m: f64) -> Vec<Vec<usize>> {
    let side_m = within_m.max(1.0);
    let mut of_square: HashMap<(i64, i64), Vec<usize>> = HashMap::new();
    let mut leader: Vec<usize> = (0..places.len()).collect();
    for (at, place) in places.iter().enumerate() {
        for square in squares_round(*place, side_m) {
            for other in of_square.get(&square).into_iter().flatten() {
                if Euclidean.distance(place, &places[*other]) <= within_m {
                    let (a, b) = (find(&mut leader, at), find(&mut leader, *other));
                    leader[a.max(b)] = a.min(b);
                }
            }
        }
        // A place met before stands for all that lie on it.
        let here = of_square.entry(square(*place, side_m)).or_default();
        if !here.iter().any(|other| places[*other] == *place) {
            here.push(at);
        }
    }
    let mut groups: Vec<Vec<usize>> = Vec::new();
    let mut number: HashMap<usize, usize> = HashMap::new();
    for at in 0..places.len() {
        let lead = find(&mut leader, at);
        let group = *number.entry(lead).or_insert_with(|| {
            groups.push(Vec::new());
            groups.len() - 1
        });
        groups[group].push(at);
    }
    groups
}

fn find(leader: &mut [usize], mut at: usize) -> usize {
    while leader[at] != at {
        leader[at] = leader[leader[at]];
        at = leader[at];
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against a comparison of every place with every other.
    #[test]
    fn groups_are_those_of_plain_comparison() {
        let mut seed = 11_u64;
        let mut next = || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (seed >> 40) as f64 / f64::from(1 << 24) * 4_000.0
        };
        let places: Vec<Point<f64>> = (0..150).map(|_| Point::new(next(), next())).collect();
        let mut group: Vec<usize> = (0..places.len()).collect();
        for a in 0..places.len() {
            for b in 0..a {
                if Euclidean.distance(&places[a], &places[b]) <= 200.0 && group[a] != group[b] {
                    let (from, to) = (group[a].max(group[b]), group[a].min(group[b]));
                    group.iter_mut().filter(|g| **g == from).for_each(|g| *g = to);
                }
            }
        }
        let found = groups(&places, 200.0);
        assert!(found.len() > 5 && found.iter().any(|g| g.len() > 3));
        for members in &found {
            assert!(members.iter().all(|m| group[*m] == group[members[0]]));
        }
        let distinct: std::collections::HashSet<usize> = group.into_iter().collect();
        assert_eq!(found.len(), distinct.len());
    }
}
