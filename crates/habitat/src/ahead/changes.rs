//! Differences between two forecasts told as changes: what surely gains or loses, from which year to which.

use super::forecast::Difference;
use crate::season::Season;

/// Median differences of the margin below this show as nothing in two decimals, and are not put into words.
pub const SHOWS: f64 = 0.005;

/// Which way a difference surely points.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// The second gives more.
    Better,
    /// The second gives less.
    Worse,
}

impl Difference {
    /// Which way it points, where its interval lies wholly above or below zero.
    pub fn way(&self) -> Option<Way> {
        match (self.margin.p10 > 0.0, self.margin.p90 < 0.0) {
            (true, _) => Some(Way::Better),
            (_, true) => Some(Way::Worse),
            _ => None,
        }
    }
}

/// A change of one season of one lek that is sure and large enough to show, over years told that follow each other.
#[derive(Clone, Debug, PartialEq)]
pub struct Change<'a> {
    /// Identity of the lek.
    pub lek: &'a str,
    /// Season.
    pub season: Season,
    /// Which way.
    pub way: Way,
    /// First year told of it.
    pub from: u32,
    /// Last year told of it; `None` where it lasts to the end.
    pub to: Option<u32>,
    /// The largest median difference in those years.
    pub most: f64,
}

impl Change<'_> {
    /// In words: `brood ground year 8 to 20 (-0.21 at most)`.
    pub fn words(&self) -> String {
        let what = match (self.season, self.way) {
            (Season::Brood, Way::Worse) => "brood ground",
            (Season::Nest, Way::Worse) => "nest cover",
            (season, _) => season.name(),
        };
        format!("{what} {} ({:+.2} at most)", self.when(), self.most)
    }

    /// When, in words: `from year 8`, `year 2 to 5`.
    pub fn when(&self) -> String {
        match self.to {
            None => format!("from year {}", self.from),
            Some(to) if to == self.from => format!("in year {to}"),
            Some(to) => format!("year {} to {to}", self.from),
        }
    }
}

/// Sure changes that show, lek by lek in the order given and season by season. Differences of a lek and season stand in the order of their years.
pub fn changes<'a>(leks: &[&'a str], differences: &[Difference]) -> Vec<Change<'a>> {
    let mut out = Vec::new();
    for lek in leks {
        for season in Season::ALL {
            let mut open: Option<Change> = None;
            for d in differences.iter().filter(|d| d.lek == *lek && d.season == season) {
                let now = d.way().filter(|_| d.margin.p50.abs() >= SHOWS);
                if open.as_ref().map(|c| c.way) != now {
                    out.extend(open.take());
                    open = now.map(|way| Change { lek, season, way, from: d.year, to: None, most: d.margin.p50 });
                }
                if let Some(change) = &mut open {
                    change.to = Some(d.year);
                    if d.margin.p50.abs() > change.most.abs() {
                        change.most = d.margin.p50;
                    }
                }
            }
            out.extend(open.map(|c| Change { to: None, ..c }));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outcome::Quantiles;

    #[test]
    fn sure_years_that_follow_each_other_are_one_change() {
        let d = |year: u32, low: f64, mid: f64, high: f64| Difference {
            year,
            lek: "A".into(),
            season: Season::Brood,
            margin: Quantiles { p10: low, p50: mid, p90: high },
            unpaired: Quantiles::default(),
            better_fraction: 0.0,
            worse_fraction: 0.0,
        };
        // Sure gain in years 1 and 2, nothing sure in 3, a gain too small to show in 5, sure loss from 8 on.
        let all = [d(1, 0.1, 0.2, 0.3), d(2, 0.2, 0.4, 0.5), d(3, -0.1, 0.1, 0.2), d(5, 0.001, 0.002, 0.003), d(8, -0.3, -0.2, -0.1), d(10, -0.5, -0.4, -0.3)];
        let told = changes(&["A"], &all);
        let brief: Vec<(Way, String, f64)> = told.iter().map(|c| (c.way, c.when(), c.most)).collect();
        assert_eq!(brief, [(Way::Better, "year 1 to 2".to_string(), 0.4), (Way::Worse, "from year 8".to_string(), -0.4)]);
        assert!(changes(&["B"], &all).is_empty());
    }
}
