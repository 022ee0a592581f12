//! The most cocks of each lek in each year: what a trend is taken from.

use crate::visits::{self, YearFigure};
use guidance::{Guidance, Unknown};
use holding::{Holding, Lek};
use serde::Serialize;

/// Leks by years, each entry the most cocks of the lek's visits in that year; `None` where it was not counted.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct YearTable {
    /// Names of leks, one a row.
    pub leks: Vec<String>,
    /// Year of the first column.
    pub first_year: i32,
    /// How many years, one a column.
    pub years: usize,
    /// The entries, row by row.
    pub cocks: Vec<Option<u32>>,
}

impl YearTable {
    /// From counts: lek's number, year, cocks. Counts of the same lek and year are not added: the largest is taken.
    pub fn of(leks: Vec<String>, counts: impl Iterator<Item = (usize, i32, u32)> + Clone) -> Self {
        let (first, last) = counts.clone().fold((i32::MAX, i32::MIN), |(first, last), (_, year, _)| (first.min(year), last.max(year)));
        if last < first {
            return Self { leks, ..Self::default() };
        }
        let years = (last - first) as usize + 1;
        let mut cocks: Vec<Option<u32>> = vec![None; leks.len() * years];
        for (lek, year, count) in counts {
            let entry = &mut cocks[lek * years + (year - first) as usize];
            *entry = (*entry).max(Some(count));
        }
        Self { leks, first_year: first, years, cocks }
    }

    /// Of a plan: each lek's year figures, the most cocks of the visits that count; rows in the plan's order of leks.
    ///
    /// - `place`: longitude and latitude of a lek, degrees, where known; else the hours of its visits are not judged
    ///
    /// Errors: a key that guidance does not hold.
    pub fn of_plan(holding: &Holding, guidance: &Guidance, place: impl Fn(&Lek) -> Option<(f64, f64)>) -> Result<Self, Unknown> {
        Ok(Self::of_figures(holding, &visits::of_every_lek(holding, guidance, place)?))
    }

    /// The same from the year figures of every lek, in the plan's order.
    pub fn of_figures(holding: &Holding, figures: &[Vec<YearFigure>]) -> Self {
        let names = holding.leks.iter().map(|l| l.called().to_string());
        let counts = figures.iter().enumerate().flat_map(|(lek, years)| years.iter().filter_map(move |y| Some((lek, y.year, y.cocks?))));
        Self::of(names.collect(), counts)
    }

    /// The most cocks of a lek in a year.
    pub fn at(&self, lek: usize, year: i32) -> Option<u32> {
        let column = usize::try_from(year - self.first_year).ok().filter(|c| *c < self.years)?;
        self.cocks.get(lek * self.years + column).copied().flatten()
    }

    /// One lek's entries, oldest first.
    pub fn row(&self, lek: usize) -> &[Option<u32>] {
        &self.cocks[lek * self.years..(lek + 1) * self.years]
    }

    /// The years, oldest first.
    pub fn all_years(&self) -> impl Iterator<Item = i32> + use<> {
        let first = self.first_year;
        (0..self.years).map(move |column| first + column as i32)
    }

    /// The mean over the leks counted in a year, and how many there were; `None` where none was.
    pub fn mean(&self, year: i32) -> Option<(f64, usize)> {
        let (sum, leks) = (0..self.leks.len())
            .filter_map(|lek| self.at(lek, year))
            .fold((0_u64, 0), |(sum, leks), cocks| (sum + u64::from(cocks), leks + 1));
        (leks > 0).then(|| (sum as f64 / leks as f64, leks))
    }
}
