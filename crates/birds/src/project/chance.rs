//! Streams of chance that options share.
//!
//! A number hangs on the seed, the draw, the year, the lek and what is drawn, and on nothing else: two options meet the same luck, and a lek
//! more or less never changes another's. Numbers of birds are drawn by the inverse of their distribution, which never falls when
//! the mean rises, so that on the same luck more birds or better odds never leave fewer.

use guidance::draws::mixed;
use statrs::distribution::{ContinuousCDF, Normal};

/// Most birds drawn at one go: the least probability stays far above the smallest number held.
const GO: u32 = 64;

/// A place in the stream.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stream(u64);

impl Stream {
    /// The stream of a seed.
    pub fn of(seed: u64) -> Stream {
        Stream(mixed(seed))
    }

    /// The stream under a number, such as a draw or a year.
    pub fn at(self, number: u64) -> Stream {
        Stream(mixed(self.0 ^ mixed(number)))
    }

    /// The stream under a name, such as that of a lek or of what is drawn.
    pub fn named(self, name: &str) -> Stream {
        self.at(name.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)))
    }

    /// A number between 0 and 1, both excluded.
    pub fn uniform(self) -> f64 {
        ((self.0 >> 12) as f64 + 0.5) / (1_u64 << 52) as f64
    }

    /// A standard normal number.
    pub fn normal(self) -> f64 {
        Normal::standard().inverse_cdf(self.uniform())
    }

    /// How many of `birds` meet what each meets with the chance `share`.
    pub fn of_birds(self, birds: u32, share: f64) -> u32 {
        if share <= 0.0 || birds == 0 {
            return 0;
        }
        if share >= 1.0 {
            return birds;
        }
        (0..birds.div_ceil(GO)).map(|go| binomial((birds - go * GO).min(GO), share, self.at(u64::from(go)).uniform())).sum()
    }

    /// A count with that mean (Poisson).
    pub fn count(self, mean: f64) -> u32 {
        let (mut left, mut go, mut sum) = (mean, 0, 0);
        while left > 0.0 {
            sum += poisson(left.min(f64::from(GO)), self.at(go).uniform());
            left -= f64::from(GO);
            go += 1;
        }
        sum
    }
}

/// Least number that a share `u` of binomial draws does not exceed.
fn binomial(n: u32, p: f64, u: f64) -> u32 {
    let odds = p / (1.0 - p);
    let mut mass = (1.0 - p).powi(n as i32);
    let mut below = mass;
    let mut k = 0;
    while below < u && k < n {
        mass *= odds * f64::from(n - k) / f64::from(k + 1);
        below += mass;
        k += 1;
    }
    k
}

/// Least number that a share `u` of Poisson draws does not exceed.
fn poisson(mean: f64, u: f64) -> u32 {
    let mut mass = (-mean).exp();
    let mut below = mass;
    let mut k = 0;
    // Past the mean, masses too small to move the sum end it.
    while below < u && (mass > f64::EPSILON / 1024.0 || f64::from(k) < mean) {
        k += 1;
        mass *= mean / f64::from(k);
        below += mass;
    }
    k
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{Binomial, DiscreteCDF, Poisson};

    /// Quantiles of statrs 0.19.
    #[test]
    fn counts_are_the_inverse_of_their_distributions() {
        for (n, p) in [(1, 0.3), (7, 0.7), (40, 0.02), (64, 0.93)] {
            let exact = Binomial::new(p, n).unwrap();
            for u in [0.001, 0.1, 0.37, 0.5, 0.81, 0.999] {
                assert_eq!(u64::from(binomial(n as u32, p, u)), exact.inverse_cdf(u), "{n} {p} {u}");
            }
        }
        for mean in [0.05, 1.3, 9.0, 60.0] {
            let exact = Poisson::new(mean).unwrap();
            for u in [0.001, 0.1, 0.37, 0.5, 0.81, 0.999] {
                let k = poisson(mean, u);
                let low = if k == 0 { 0.0 } else { exact.cdf(u64::from(k) - 1) };
                assert!(low < u && u <= exact.cdf(u64::from(k)) + 1e-12, "{mean} {u}: {k}");
            }
        }
    }

    #[test]
    fn many_birds_keep_mean_and_spread() {
        let n = 4000;
        let of = |what: &dyn Fn(Stream) -> u32| -> (f64, f64) {
            let all: Vec<f64> = (0..n).map(|i| f64::from(what(Stream::of(3).at(i)))).collect();
            let mean = all.iter().sum::<f64>() / n as f64;
            (mean, all.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / n as f64)
        };
        let (mean, variance) = of(&|s| s.of_birds(300, 0.7));
        assert!((mean - 210.0).abs() < 4.0 * (63.0 / n as f64).sqrt() && (variance / 63.0 - 1.0).abs() < 0.1, "{mean} {variance}");
        let (mean, variance) = of(&|s| s.count(150.0));
        assert!((mean - 150.0).abs() < 4.0 * (150.0 / n as f64).sqrt() && (variance / 150.0 - 1.0).abs() < 0.1, "{mean} {variance}");
    }

    #[test]
    fn more_birds_or_better_odds_never_leave_fewer() {
        for i in 0..200 {
            let s = Stream::of(9).at(i);
            let by_n: Vec<u32> = (0..200).map(|n| s.of_birds(n, 0.6)).collect();
            assert!(by_n.windows(2).all(|w| w[0] <= w[1] && w[1] <= w[0] + 1), "{by_n:?}");
            let by_p: Vec<u32> = (0..=50).map(|k| s.of_birds(90, f64::from(k) / 50.0)).collect();
            assert!(by_p.windows(2).all(|w| w[0] <= w[1]) && by_p[50] == 90, "{by_p:?}");
            let by_mean: Vec<u32> = (0..300).map(|k| s.count(f64::from(k) / 2.0)).collect();
            assert!(by_mean.windows(2).all(|w| w[0] <= w[1]), "{by_mean:?}");
        }
    }

    #[test]
    fn streams_do_not_hang_together() {
        let n = 2000;
        let of = |name: &str, year: u64| -> Vec<f64> { (0..n).map(|d| Stream::of(1).at(d).at(year).named(name).uniform() - 0.5).collect() };
        let one = of("L1", 3);
        assert!(one.iter().sum::<f64>().abs() / (n as f64) < 0.03);
        for other in [of("L2", 3), of("L1", 4)] {
            let r = one.iter().zip(&other).map(|(a, b)| a * b).sum::<f64>() / n as f64 * 12.0;
            assert!(r.abs() < 0.1, "{r}");
        }
    }
}
