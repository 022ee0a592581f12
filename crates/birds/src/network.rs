//! Leks as patches that birds move between: which lek, or which new ground, matters most to the whole.
//!
//! Metapopulation capacity after Hanski & Ovaskainen 2000 (Nature 404: 755-758; from memory), in the form with nothing on the diagonal: the leading
//! eigenvalue of `m_ij = k(d_ij) w_i w_j` for `i != j`, `m_ii = 0`. With `x` its eigenvector of unit length, patch `i` gives
//! `x_i^2` of it; what is lost when the patch goes is larger, as its neighbours lose by it too, and both are told. A lone lek
//! has no capacity in this form: it says how leks hold each other up, not whether one lasts by itself.
//!
//! `w` is cocks, or suitable hectares times their value: one kind for all patches. `k(d) = exp(-d / mean)` is the kernel of that paper, the mean move
//! of first-year birds for `1/alpha`. Hens carry the network; first-year hens go far. Cocks are told beside them: most move
//! hardly at all, a share goes far, and their kernel is that mixture.

use guidance::{Country, Guidance, Unknown};
use habitat::Quantiles;
use habitat::assess::quantiles;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::fmt;

/// Keys read, for the evidence of an answer.
pub const KEYS: [&str; 7] = [
    "dispersal.hens.mean",
    "dispersal.hens.max",
    "dispersal.cocks.mean",
    "dispersal.cocks.max",
    "dispersal.cocks.some_first_year",
    "dispersal.cocks.emigrating_share",
    "dispersal.gap_barrier",
];
/// The form of the capacity, in words.
pub const VARIANT: &str = "leading eigenvalue of exp(-distance / mean move) x weight x weight between leks, nothing on the diagonal (Hanski & Ovaskainen 2000)";
/// Residual of the eigenvector, beside the eigenvalue, at which it is found.
const RESIDUAL: f64 = 1e-14;

/// A lek, or ground proposed for one.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Patch {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Easting, metres.
    pub east_m: f64,
    /// Northing, metres.
    pub north_m: f64,
    /// Cocks, or suitable hectares times their value.
    pub weight: f64,
    /// Not there yet.
    pub proposed: bool,
}

/// How far birds move.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Dispersal {
    /// Mean move of first-year hens, km.
    pub hens_km: f64,
    /// Farthest move known of hens, km.
    pub hens_most_km: f64,
    /// Mean move of first-year cocks that stay near, km.
    pub cocks_km: f64,
    /// Farthest move of those, km.
    pub cocks_most_km: f64,
    /// Mean move of the cocks that go far, km.
    pub far_cocks_km: f64,
    /// Share of cocks that go far.
    pub far_cocks_share: f64,
    /// A gap without birds that has stopped them, km.
    pub barrier_km: f64,
}

/// Which birds carry a network.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sex {
    /// First-year hens.
    Hens,
    /// First-year cocks.
    Cocks,
}

impl Dispersal {
    /// The middle of every figure.
    ///
    /// # Errors
    /// A key that guidance does not hold.
    pub fn of(guidance: &Guidance, country: Country) -> Result<Dispersal, Unknown> {
        Dispersal::read(|key| guidance.number(key, country))
    }

    /// One set a draw.
    ///
    /// # Errors
    /// A key that guidance does not hold.
    pub fn drawn(guidance: &Guidance, country: Country, seed: u64, draws: usize) -> Result<Vec<Dispersal>, Unknown> {
        let all = guidance.draws(seed, draws, country);
        (0..draws).map(|d| Dispersal::read(|key| Ok(all.of(key)?[d]))).collect()
    }

    fn read(number: impl Fn(&str) -> Result<f64, Unknown>) -> Result<Dispersal, Unknown> {
        Ok(Dispersal {
            hens_km: number("dispersal.hens.mean")?,
            hens_most_km: number("dispersal.hens.max")?,
            cocks_km: number("dispersal.cocks.mean")?,
            cocks_most_km: number("dispersal.cocks.max")?,
            far_cocks_km: number("dispersal.cocks.some_first_year")?,
            far_cocks_share: number("dispersal.cocks.emigrating_share")? / 100.0,
            barrier_km: number("dispersal.gap_barrier")?,
        })
    }

    /// What a distance leaves of the exchange of birds, one at no distance.
    pub fn kernel(&self, sex: Sex, km: f64) -> f64 {
        match sex {
            Sex::Hens => (-km / self.hens_km).exp(),
            Sex::Cocks => (1.0 - self.far_cocks_share) * (-km / self.cocks_km).exp() + self.far_cocks_share * (-km / self.far_cocks_km).exp(),
        }
    }

    fn isolation(&self, nearest_km: Option<f64>) -> Isolation {
        match nearest_km {
            None => Isolation::Alone,
            Some(km) if km <= self.cocks_most_km => Isolation::Joined,
            Some(km) if km <= self.hens_km => Isolation::Hens,
            Some(km) if km <= self.hens_most_km => Isolation::FewHens,
            Some(km) if km <= self.barrier_km => Isolation::Far,
            Some(_) => Isolation::CutOff,
        }
    }
}

/// How far the nearest other lek is, in terms of the birds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Isolation {
    /// Within the move of most young cocks.
    Joined,
    /// Within the mean move of young hens.
    Hens,
    /// Within the farthest move known of hens.
    FewHens,
    /// Beyond any move known.
    Far,
    /// Beyond a gap that has stopped birds.
    CutOff,
    /// No other lek is known.
    Alone,
}

impl Isolation {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Isolation::Joined => "within reach of young cocks and hens from the next lek",
            Isolation::Hens => "within the usual move of young hens from the next lek; few cocks come so far",
            Isolation::FewHens => "only the young hens that go farthest reach it from the next lek",
            Isolation::Far => "farther from the next lek than any move read of",
            Isolation::CutOff => "beyond a gap such as has stopped birds from settling",
            Isolation::Alone => "no other lek with birds is known",
        }
    }
}

/// A network under one kernel.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Capacity {
    /// Metapopulation capacity, weight squared.
    pub lambda: f64,
    /// Share each patch gives, in order; all nothing where the capacity is nothing.
    pub shares: Vec<f64>,
}

/// What one lek is to the network of one sex.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LekPart {
    /// Share of the capacity it gives, over the draws.
    pub share: Quantiles,
    /// Part of the capacity that goes when it goes, at the middle of every figure.
    pub loss: f64,
}

/// What one lek is to the whole.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LekInNetwork {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Its weight.
    pub weight: f64,
    /// By hens.
    pub hens: LekPart,
    /// By cocks.
    pub cocks: LekPart,
    /// The nearest other lek and how far it is, km.
    pub nearest: Option<(String, f64)>,
    /// What that means to birds.
    pub isolation: Isolation,
}

/// What proposed ground would add.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ProposedGround {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Its weight.
    pub weight: f64,
    /// Capacity with it alone added, over that of the leks, less one, by hens, over the draws; `None` where the leks have none.
    pub hens_gain: Option<Quantiles>,
    /// The same by cocks.
    pub cocks_gain: Option<Quantiles>,
    /// The nearest lek and how far it is, km.
    pub nearest: Option<(String, f64)>,
    /// What that means to birds.
    pub isolation: Isolation,
}

/// The leks as a network.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Network {
    /// The form of the capacity, in words.
    pub variant: &'static str,
    /// Capacity by hens, weight squared, at the middle of every figure.
    pub hens_capacity: f64,
    /// The same by cocks.
    pub cocks_capacity: f64,
    /// Each lek.
    pub leks: Vec<LekInNetwork>,
    /// Each piece of proposed ground.
    pub proposed: Vec<ProposedGround>,
    /// Guidance keys it rests on.
    pub evidence: Vec<&'static str>,
}

/// One thing wrong with the patches.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub struct PatchFault {
    /// The patch.
    pub place: String,
    /// What is needed.
    pub needed: &'static str,
    /// What is there.
    pub found: String,
}

impl fmt::Display for PatchFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the network cannot be laid: {}: needed {}, found {}", self.place, self.needed, self.found)
    }
}

/// Distance of two patches, km.
fn km(a: &Patch, b: &Patch) -> f64 {
    (a.east_m - b.east_m).hypot(a.north_m - b.north_m) / 1000.0
}

/// The capacity of patches under a kernel of distance in km.
pub fn capacity(patches: &[&Patch], kernel: impl Fn(f64) -> f64) -> Capacity {
    let n = patches.len();
    let mut m = vec![0.0; n * n];
    for i in 0..n {
        for j in 0..i {
            let exchange = kernel(km(patches[i], patches[j])) * patches[i].weight * patches[j].weight;
            m[i * n + j] = exchange;
            m[j * n + i] = exchange;
        }
    }
    let (lambda, x) = leading(&m, n);
    Capacity { lambda, shares: x.iter().map(|v| if lambda > 0.0 { v * v } else { 0.0 }).collect() }
}

/// The network of leks, and what each piece of proposed ground would add to it. `middle` holds the middle of every figure, `drawn` one set a draw.
///
/// # Errors
/// Everything that is wrong with the patches.
pub fn network(patches: &[Patch], middle: &Dispersal, drawn: &[Dispersal]) -> Result<Network, Vec<PatchFault>> {
    let faults = faults(patches);
    if !faults.is_empty() {
        return Err(faults);
    }
    let leks: Vec<&Patch> = patches.iter().filter(|p| !p.proposed).collect();
    let of = |patches: &[&Patch], d: &Dispersal, sex: Sex| capacity(patches, |km| d.kernel(sex, km));
    let [hens, cocks] = [Sex::Hens, Sex::Cocks].map(|sex| {
        let whole = of(&leks, middle, sex);
        let by_draw: Vec<Capacity> = drawn.par_iter().map(|d| of(&leks, d, sex)).collect();
        let part = |i: usize| -> LekPart {
            let rest: Vec<&Patch> = leks.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, p)| *p).collect();
            let loss = if whole.lambda > 0.0 { 1.0 - of(&rest, middle, sex).lambda / whole.lambda } else { 0.0 };
            let shares: Vec<f64> = by_draw.iter().map(|c| c.shares[i]).collect();
            let share = if shares.is_empty() { Quantiles { p10: whole.shares[i], p50: whole.shares[i], p90: whole.shares[i] } } else { quantiles(&shares) };
            LekPart { share, loss }
        };
        let parts: Vec<LekPart> = (0..leks.len()).into_par_iter().map(part).collect();
        (whole, by_draw, parts)
    });
    let nearest = |patch: &Patch| {
        let other = leks.iter().filter(|l| l.id != patch.id).map(|l| (l.id.clone(), km(l, patch)));
        other.min_by(|a, b| a.1.total_cmp(&b.1))
    };
    let gain = |patch: &Patch, sex: Sex, (whole, by_draw, _): &(Capacity, Vec<Capacity>, Vec<LekPart>)| {
        let with: Vec<&Patch> = leks.iter().copied().chain([patch]).collect();
        let one = |d: &Dispersal, without: f64| of(&with, d, sex).lambda / without - 1.0;
        let gains: Vec<f64> = drawn.par_iter().zip(by_draw).map(|(d, c)| one(d, c.lambda)).chain(drawn.is_empty().then(|| one(middle, whole.lambda))).collect();
        (whole.lambda > 0.0).then(|| quantiles(&gains))
    };
    Ok(Network {
        variant: VARIANT,
        hens_capacity: hens.0.lambda,
        cocks_capacity: cocks.0.lambda,
        leks: leks
            .iter()
            .enumerate()
            .map(|(i, lek)| {
                let nearest = nearest(lek);
                let isolation = middle.isolation(nearest.as_ref().map(|n| n.1));
                LekInNetwork { id: lek.id.clone(), name: lek.name.clone(), weight: lek.weight, hens: hens.2[i], cocks: cocks.2[i], nearest, isolation }
            })
            .collect(),
        proposed: patches
            .iter()
            .filter(|p| p.proposed)
            .map(|p| {
                let nearest = nearest(p);
                let isolation = middle.isolation(nearest.as_ref().map(|n| n.1));
                let (hens_gain, cocks_gain) = (gain(p, Sex::Hens, &hens), gain(p, Sex::Cocks, &cocks));
                ProposedGround { id: p.id.clone(), name: p.name.clone(), weight: p.weight, hens_gain, cocks_gain, nearest, isolation }
            })
            .collect(),
        evidence: KEYS.to_vec(),
    })
}

fn faults(patches: &[Patch]) -> Vec<PatchFault> {
    let mut out = Vec::new();
    let mut seen = BTreeSet::new();
    for p in patches {
        let place = if p.name.is_empty() { p.id.clone() } else { p.name.clone() };
        if !seen.insert(&p.id) {
            out.push(PatchFault { place: place.clone(), needed: "each patch once", found: format!("`{}` again", p.id) });
        }
        if !(p.weight.is_finite() && p.weight >= 0.0) {
            out.push(PatchFault { place: place.clone(), needed: "a weight from nothing up", found: p.weight.to_string() });
        }
        if !(p.east_m.is_finite() && p.north_m.is_finite()) {
            out.push(PatchFault { place, needed: "a place in metres", found: format!("{}, {}", p.east_m, p.north_m) });
        }
    }
    if patches.iter().all(|p| p.proposed) {
        out.push(PatchFault { place: "the leks".to_string(), needed: "at least one lek that is there", found: "none".to_string() });
    }
    out
}

/// Leading eigenvalue of a symmetric matrix without negative cells, and its vector of unit length, by Lanczos steps with every vector kept at right
/// angles to all before it. The start leans on every patch alike, so that no part of a network that falls apart is missed.
fn leading(m: &[f64], n: usize) -> (f64, Vec<f64>) {
    let mut basis: Vec<Vec<f64>> = Vec::new();
    let mut next = vec![1.0 / (n.max(1) as f64).sqrt(); n];
    let (mut diagonal, mut beside) = (Vec::new(), Vec::new());
    for k in 0..n {
        basis.push(next);
        let q = &basis[k];
        next = m.chunks(n).map(|row| dot(row, q)).collect();
        diagonal.push(dot(&next, q));
        for _ in 0..2 {
            for b in &basis {
                let along = dot(&next, b);
                next.iter_mut().zip(b).for_each(|(x, y)| *x -= along * y);
            }
        }
        let size = dot(&next, &next).sqrt();
        let done = k + 1 == n || size <= RESIDUAL * diagonal.iter().fold(0.0, |a: f64, d| a.max(d.abs()));
        if done || k % 4 == 3 {
            let (lambda, part) = top_of_tridiagonal(&diagonal, &beside);
            if done || size * part[k].abs() <= RESIDUAL * lambda {
                let x = (0..n).map(|i| basis.iter().zip(&part).map(|(b, p)| b[i] * p).sum::<f64>().abs()).collect();
                return (lambda.max(0.0), x);
            }
        }
        beside.push(size);
        next.iter_mut().for_each(|x| *x /= size);
    }
    (0.0, vec![0.0; n])
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Largest eigenvalue of a symmetric tridiagonal matrix by bisection on the number of eigenvalues above, and its vector by the factors from both ends
/// that meet where they leave least.
fn top_of_tridiagonal(a: &[f64], b: &[f64]) -> (f64, Vec<f64>) {
    let n = a.len();
    let reach = |i: usize| b.get(i).map_or(0.0, |x| x.abs()) + if i > 0 { b[i - 1].abs() } else { 0.0 };
    let mut high = (0..n).map(|i| a[i] + reach(i)).fold(f64::NEG_INFINITY, f64::max);
    let mut low = a.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let tiny = f64::MIN_POSITIVE.sqrt();
    let held = |x: f64| if x.abs() < tiny { tiny } else { x };
    let from_top = |at: f64| -> Vec<f64> {
        (0..n).fold(Vec::with_capacity(n), |mut d: Vec<f64>, i| {
            d.push(held(a[i] - at - if i > 0 { b[i - 1] * b[i - 1] / d[i - 1] } else { 0.0 }));
            d
        })
    };
    loop {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            break;
        }
        if from_top(middle).iter().any(|d| *d > 0.0) { low = middle } else { high = middle }
    }
    let lambda = low + (high - low) / 2.0;
    let down = from_top(lambda);
    let mut up = vec![0.0; n];
    for i in (0..n).rev() {
        up[i] = held(a[i] - lambda - if i + 1 < n { b[i] * b[i] / up[i + 1] } else { 0.0 });
    }
    let left = |i: usize| (down[i] + up[i] - (a[i] - lambda)).abs();
    let meet = (0..n).fold(0, |best, i| if left(i) < left(best) { i } else { best });
    let mut x = vec![0.0; n];
    x[meet] = 1.0;
    for i in (0..meet).rev() {
        x[i] = -b[i] / down[i] * x[i + 1];
    }
    for i in meet + 1..n {
        x[i] = -b[i - 1] / up[i] * x[i - 1];
    }
    let size = dot(&x, &x).sqrt();
    (lambda, x.iter().map(|v| v / size).collect())
}
