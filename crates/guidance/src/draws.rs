//! Seeded draws of every figure, stratified: a Latin hypercube (McKay, Beckman & Conover 1979), one permutation of strata a key.
//!
//! Each key has a stream of its own, made from the seed and a hash of the key, so that a row more or less in the tables
//! never changes the draws of another key. All points of a curve share the probability of a draw, so a drawn curve is high
//! or low as a whole. Options compared on the same draws differ only by what they do.

use std::collections::BTreeMap;

use rand::Rng;
use rand::SeedableRng;
use rand_pcg::Pcg64;

use crate::country::Country;
use crate::curve::Curve;
use crate::distribution::quantile;
use crate::fault::{Unknown, Why, near};
use crate::row::{Row, Spread, Value};
use crate::unit::Unit;

/// `n` draws of every number and curve that holds in one country.
#[derive(Debug, Clone)]
pub struct Draws {
    n: usize,
    country: Country,
    numbers: BTreeMap<String, Vec<f64>>,
    curves: BTreeMap<String, Vec<(f64, Vec<f64>)>>,
    others: BTreeMap<String, Why>,
}

impl Draws {
    /// Draws from groups of rows: each group shares a key and holds in `country`; a group without rows holds elsewhere only.
    pub(crate) fn new<'a>(seed: u64, n: usize, country: Country, groups: impl Iterator<Item = (&'a str, Vec<&'a Row>)>) -> Draws {
        let mut draws = Draws { n, country, numbers: BTreeMap::new(), curves: BTreeMap::new(), others: BTreeMap::new() };
        for (key, rows) in groups {
            let wide = rows.iter().any(|row| row.spread != Spread::None);
            let strata = if wide { stratified(seed, key, n) } else { vec![0.5; n] };
            let points: Vec<(Option<f64>, Vec<f64>)> = rows.iter().filter_map(|row| Some((row.x, drawn(row, &strata)?))).collect();
            if points.is_empty() {
                draws.others.insert(key.to_owned(), if rows.is_empty() { Why::NoCountry } else { Why::NotNumber });
            } else if points.iter().all(|(x, _)| x.is_some()) {
                let mut curve: Vec<(f64, Vec<f64>)> = points.into_iter().filter_map(|(x, values)| Some((x?, values))).collect();
                curve.sort_by(|a, b| a.0.total_cmp(&b.0));
                draws.curves.insert(key.to_owned(), curve);
            } else {
                draws.numbers.extend(points.into_iter().take(1).map(|(_, values)| (key.to_owned(), values)));
            }
        }
        draws
    }

    /// How many draws there are.
    pub fn n(&self) -> usize {
        self.n
    }

    /// The country the figures hold for.
    pub fn country(&self) -> Country {
        self.country
    }

    /// The draws of `key`, in its unit; all alike where the row has no spread.
    pub fn of(&self, key: &str) -> Result<&[f64], Unknown> {
        self.numbers.get(key).map(Vec::as_slice).ok_or_else(|| self.unknown(key, Why::IsCurve))
    }

    /// The curve of `key` in draw `draw` (counted from 0, wrapping round past the last).
    pub fn curve(&self, key: &str, draw: usize) -> Result<Curve, Unknown> {
        let points = self.curves.get(key).ok_or_else(|| self.unknown(key, Why::NotCurve))?;
        let draw = draw % self.n.max(1);
        Ok(Curve::from_points(points.iter().filter_map(|(x, values)| Some((*x, *values.get(draw)?))).collect()))
    }

    fn unknown(&self, key: &str, if_held: Why) -> Unknown {
        let held = self.numbers.contains_key(key) || self.curves.contains_key(key);
        let why = if held { if_held } else { self.others.get(key).copied().unwrap_or(Why::NoKey) };
        let near = if why == Why::NoKey { near(key, self.numbers.keys().chain(self.curves.keys()).map(String::as_str)) } else { Vec::new() };
        Unknown { key: key.to_owned(), country: self.country, why, near }
    }
}

fn drawn(row: &Row, strata: &[f64]) -> Option<Vec<f64>> {
    let Value::Number(value) = row.value else { return None };
    let unit = Unit::from_word(&row.unit)?;
    Some(strata.iter().map(|&u| quantile(value, row.low, row.high, row.spread, unit, u)).collect())
}

/// One probability in each of `n` equal strata of (0, 1), in shuffled order; the same for the same seed, key and `n`.
fn stratified(seed: u64, key: &str, n: usize) -> Vec<f64> {
    let mut stream = Pcg64::seed_from_u64(mixed(seed ^ mixed(fnv1a(key))));
    let mut order: Vec<usize> = (0..n).collect();
    for i in (1..n).rev() {
        let below = ((u128::from(stream.next_u64()) * (i as u128 + 1)) >> 64) as usize;
        order.swap(i, below);
    }
    order.into_iter().map(|stratum| (stratum as f64 + open_unit(stream.next_u64())) / n as f64).collect()
}

/// A number between 0 and 1, both excluded, from the upper 52 bits.
fn open_unit(bits: u64) -> f64 {
    ((bits >> 12) as f64 + 0.5) / (1_u64 << 52) as f64
}

/// FNV-1a hash of 64 bits (Fowler, Noll & Vo): the same on every machine and in every version of the compiler.
fn fnv1a(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

/// Finaliser of splitmix64 (Steele, Lea & Flood 2014): spreads every bit over all.
pub fn mixed(mut bits: u64) -> u64 {
    bits = bits.wrapping_add(0x9e37_79b9_7f4a_7c15);
    bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    bits ^ (bits >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_stratum_is_met_once() {
        for (seed, n) in [(0, 1), (1, 7), (2, 200), (u64::MAX, 200)] {
            let mut strata: Vec<usize> = stratified(seed, "a.key", n).into_iter().map(|u| (u * n as f64) as usize).collect();
            strata.sort_unstable();
            assert_eq!(strata, (0..n).collect::<Vec<_>>(), "seed {seed}");
        }
    }

    #[test]
    fn keys_and_seeds_have_streams_of_their_own() {
        let n = 2000;
        let mean = 0.5;
        let correlation = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| (x - mean) * (y - mean)).sum::<f64>() / n as f64 * 12.0;
        let one = stratified(7, "a.key", n);
        for other in [stratified(7, "a.kez", n), stratified(8, "a.key", n), stratified(7, "b", n)] {
            let r = correlation(&one, &other);
            assert!(r.abs() < 0.1, "correlation {r}");
        }
    }

    #[test]
    fn hash_is_the_published_one() {
        // Test vectors of the authors' page on the hash: "" and "a" (from memory).
        assert_eq!(fnv1a(""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv1a("a"), 0xaf63_dc4c_8601_ec8c);
    }
}
