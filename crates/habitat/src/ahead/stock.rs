//! Stock: head by parcel, class and month, now and as an option changes it.

use super::work::StockFrom;
use geo::Area;
use holding::{Holding, StockClass};

/// Number of classes of stock.
pub const CLASSES: usize = 7;

/// Classes in the order head is kept.
pub const CLASS: [StockClass; CLASSES] = [
    StockClass::HillEwe,
    StockClass::HeavyEwe,
    StockClass::Hogg,
    StockClass::Cow,
    StockClass::Store,
    StockClass::Pony,
    StockClass::RedDeer,
];

fn place_of(class: StockClass) -> usize {
    CLASS.iter().position(|c| *c == class).unwrap_or(0)
}

/// Head by parcel, class and month.
#[derive(Clone, Debug, PartialEq)]
pub struct Head {
    /// By parcel of the holding: head by class (in the order of [`CLASS`]) and month, January first.
    by_parcel: Vec<[[f32; 12]; CLASSES]>,
    /// Area of each parcel, hectares.
    ha: Vec<f32>,
}

impl Head {
    /// The present stock. Stock of a parcel that is not there is left out.
    pub fn of(holding: &Holding) -> Head {
        let mut by_parcel = vec![[[0.0; 12]; CLASSES]; holding.parcels.len()];
        for s in &holding.stock {
            if let Some(p) = parcel_of(holding, &s.parcel) {
                add(&mut by_parcel[p], s.class, &s.head);
            }
        }
        let ha = holding.parcels.iter().map(|p| (p.shape.unsigned_area() / 1e4) as f32).collect();
        Head { by_parcel, ha }
    }

    /// The stock of a year: hand it every change whose year has come. In a parcel with changes the latest year among them
    /// rules, and what stands in the changes of that year is all the stock the parcel has; other parcels keep theirs.
    pub fn with(&self, changes: &[&StockFrom], holding: &Holding) -> Head {
        let mut out = self.clone();
        for (p, head) in out.by_parcel.iter_mut().enumerate() {
            let here = || changes.iter().filter(|c| parcel_of(holding, &c.stock.parcel) == Some(p));
            let Some(latest) = here().map(|c| c.year).max() else { continue };
            *head = [[0.0; 12]; CLASSES];
            for c in here().filter(|c| c.year == latest) {
                add(head, c.stock.class, &c.stock.head);
            }
        }
        out
    }

    /// Head of a class in a parcel (index into `holding.parcels`) in a month, 0 January to 11; nothing where there is no such.
    pub fn head(&self, parcel: usize, class: StockClass, month: usize) -> f32 {
        self.by_parcel.get(parcel).and_then(|h| h[place_of(class)].get(month)).copied().unwrap_or(0.0)
    }

    /// Head of every class in a parcel in a month, in the order of [`CLASS`].
    pub(crate) fn month(&self, parcel: usize, month: usize) -> [f32; CLASSES] {
        self.by_parcel.get(parcel).map_or([0.0; CLASSES], |h| std::array::from_fn(|c| h[c][month]))
    }

    /// Area of a parcel, hectares.
    pub fn area_ha(&self, parcel: usize) -> f32 {
        self.ha.get(parcel).copied().unwrap_or(0.0)
    }

    /// Every head times a factor: for trials of other rates.
    pub fn scaled(&self, factor: f32) -> Head {
        let mut out = self.clone();
        out.by_parcel.iter_mut().flatten().flatten().for_each(|h| *h *= factor);
        out
    }
}

fn parcel_of(holding: &Holding, id: &str) -> Option<usize> {
    holding.parcels.iter().position(|p| p.id == id)
}

fn add(head: &mut [[f32; 12]; CLASSES], class: StockClass, months: &[f32; 12]) {
    for (h, m) in head[place_of(class)].iter_mut().zip(months) {
        *h += m;
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop")]
    use super::*;
    use geo_types::{LineString, MultiPolygon, Polygon};
    use holding::{Parcel, Stock};

    fn stock(parcel: &str, class: StockClass, head: f32) -> Stock {
        Stock { id: format!("{parcel}{class:?}"), parcel: parcel.into(), class, head: [head; 12] }
    }

    #[test]
    fn the_latest_change_of_a_parcel_is_all_its_stock() {
        let mut h = Holding::default();
        let square = MultiPolygon(vec![Polygon::new(LineString::from(vec![(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)]), vec![])]);
        for id in ["a", "b"] {
            h.parcels.push(Parcel { id: id.into(), name: String::new(), kind: Default::default(), shape: square.clone(), stubble: None, extra: Default::default() });
        }
        h.stock = vec![stock("a", StockClass::HillEwe, 10.0), stock("b", StockClass::HillEwe, 7.0)];
        let now = Head::of(&h);
        let first = StockFrom { year: 1, stock: stock("a", StockClass::Cow, 3.0) };
        let later = StockFrom { year: 4, stock: stock("a", StockClass::HillEwe, 2.0) };
        let y1 = now.with(&[&first], &h);
        assert_eq!((y1.head(0, StockClass::Cow, 5), y1.head(0, StockClass::HillEwe, 5), y1.head(1, StockClass::HillEwe, 5)), (3.0, 0.0, 7.0));
        let y4 = now.with(&[&first, &later], &h);
        assert_eq!((y4.head(0, StockClass::Cow, 5), y4.head(0, StockClass::HillEwe, 5)), (0.0, 2.0));
        assert_eq!((now.area_ha(0), now.head(9, StockClass::Cow, 0)), (1.0, 0.0));
    }
}
