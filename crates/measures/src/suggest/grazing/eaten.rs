//! What stock take of each plant in each parcel, by the grazing of the years ahead, and how that changes with head.

use crate::rules::Context;
use guidance::Unknown;
use habitat::Class;
use habitat::ahead::course::{Place, Processes};
use habitat::ahead::{Head, Programme, Variant};
use habitat::state::Stand;
use holding::{Holding, Parcel, Plant, Stock, StockClass};

/// A stand smaller than this in a parcel is an edge of the map, and not looked at, hectares.
const LEAST_HA: f32 = 0.05;
/// Head added to see what more stock would eat.
const STEP: f64 = 5.0;

/// Plants with a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Eaten {
    /// Shoots of heather past its first years.
    Heather,
    /// Shoots of young heather.
    YoungHeather,
    /// The year's growth of blaeberry and other berries.
    Blaeberry,
    /// All forage of an in-bye field.
    Field,
}

impl Eaten {
    /// All of them.
    pub const ALL: [Eaten; 4] = [Eaten::Heather, Eaten::YoungHeather, Eaten::Blaeberry, Eaten::Field];

    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Eaten::Heather => "heather",
            Eaten::YoungHeather => "young heather",
            Eaten::Blaeberry => "blaeberry",
            Eaten::Field => "field grass",
        }
    }
}

/// Head by parcel, class (in the order given) and month.
pub type Heads = Vec<Vec<[f64; 12]>>;

/// Shares eaten by parcel and plant; `None` where the plant is not there.
pub type Shares = Vec<[Option<f64>; 4]>;

/// The grazing of the surveyed ground under any stock.
pub struct Table<'a> {
    holding: &'a Holding,
    /// Classes of stock, in the order of [`Heads`].
    pub classes: Vec<StockClass>,
    processes: Processes,
    stands: Vec<Stand>,
    places: Vec<Place>,
    young_yr: f64,
}

impl<'a> Table<'a> {
    /// Read the processes and lay the surveyed stands on their parcels.
    ///
    /// # Errors
    /// A figure the tables lack.
    pub fn of(c: &Context<'a>, classes: Vec<StockClass>) -> Result<Table<'a>, Unknown> {
        let (processes, _) = Processes::read(c.guidance, c.holding.about.country)?;
        let variant = Variant::of(c.assessed, c.holding, c.guidance, &Programme::default())?;
        let young_yr = c.number("utilisation.heather.young_age")?;
        Ok(Table { holding: c.holding, classes, processes, stands: variant.stands, places: variant.places, young_yr })
    }

    /// Head as surveyed.
    pub fn surveyed(&self) -> Heads {
        let of = |p: &Parcel, class: StockClass| {
            let mut all = [0.0; 12];
            for s in self.holding.stock.iter().filter(|s| s.parcel == p.id && s.class == class) {
                all.iter_mut().zip(s.head).for_each(|(sum, head)| *sum += f64::from(head));
            }
            all
        };
        self.holding.parcels.iter().map(|p| self.classes.iter().map(|k| of(p, *k)).collect()).collect()
    }

    /// The stock as the processes count it: other classes as surveyed, these as told.
    fn head(&self, heads: &Heads) -> Head {
        let mut bare = Holding { parcels: self.holding.parcels.clone(), ..Holding::default() };
        bare.stock = self.holding.stock.iter().filter(|s| !self.classes.contains(&s.class)).cloned().collect();
        for (p, by_class) in self.holding.parcels.iter().zip(heads) {
            for (class, head) in self.classes.iter().zip(by_class) {
                bare.stock.push(Stock { id: String::new(), parcel: p.id.clone(), class: *class, head: head.map(|h| h as f32) });
            }
        }
        Head::of(&bare)
    }

    /// Shares eaten in the first year under some stock: of heather and blaeberry on the stand where most is eaten, of a field's forage over all of it.
    pub fn shares(&self, heads: &Heads) -> Shares {
        let all = self.processes.start(self.stands.clone(), &self.places, &self.head(heads));
        let mut out: Shares = vec![[None; 4]; self.holding.parcels.len()];
        let mut field = vec![(0.0f64, 0.0f64); out.len()];
        for m in &all {
            let Some(p) = m.place.parcel.filter(|_| m.place.area_ha >= LEAST_HA) else { continue };
            let covers = &m.stand.covers;
            let mut most = |plant: Eaten, share: f32| {
                let slot = &mut out[p][plant as usize];
                *slot = Some(slot.map_or(f64::from(share), |s: f64| s.max(f64::from(share))));
            };
            if covers[Plant::Heather as usize] > 0.0 {
                let young = m.heath.known && f64::from(m.heath.age_yr) < self.young_yr;
                most(if young { Eaten::YoungHeather } else { Eaten::Heather }, m.grazed.heather);
            }
            if covers[Plant::Blaeberry as usize] > 0.0 {
                most(Eaten::Blaeberry, m.grazed.blaeberry);
            }
            if m.stand.class == Class::InByeGrass {
                let ha = f64::from(m.place.area_ha);
                field[p].0 += ha * f64::from(m.grazed.eaten_t_per_ha);
                field[p].1 += ha * f64::from(m.grazed.grown_t_per_ha);
            }
        }
        for (slot, (eaten, grown)) in out.iter_mut().zip(field) {
            slot[Eaten::Field as usize] = (grown > 0.0).then(|| eaten / grown);
        }
        out
    }

    /// What one more head of each class in each month would eat more, by month, parcel, class and plant.
    pub fn slopes(&self, heads: &Heads, at: &Shares) -> Vec<Vec<Vec<[f64; 4]>>> {
        let lead = 0;
        (0..12)
            .map(|month| {
                let mut more = heads.clone();
                more.iter_mut().for_each(|p| p[lead][month] += STEP);
                let then = self.shares(&more);
                let need: Vec<f64> = self.classes.iter().map(|k| self.need_t(*k, month)).collect();
                then.iter()
                    .zip(at)
                    .map(|(t, a)| {
                        let per_head: [f64; 4] = std::array::from_fn(|i| t[i].zip(a[i]).map_or(0.0, |(t, a)| (t - a).max(0.0) / STEP));
                        need.iter().map(|n| per_head.map(|s| s * n / need[lead])).collect()
                    })
                    .collect()
            })
            .collect()
    }

    /// A head of a class on a parcel of its own.
    fn alone(class: StockClass) -> Head {
        let parcel = Parcel::new("one", geo_types::MultiPolygon(vec![]));
        let stock = Stock { id: String::new(), parcel: "one".into(), class, head: [1.0; 12] };
        Head::of(&Holding { parcels: vec![parcel], stock: vec![stock], ..Holding::default() })
    }

    /// Need of a head in a month, tonnes of dry matter.
    pub fn need_t(&self, class: StockClass, month: usize) -> f64 {
        f64::from(self.processes.grazing().need_t(&Table::alone(class), 0, month))
    }

    /// Ewes or their equal of a head, by its need over the year.
    pub fn ewes(&self, class: StockClass) -> f64 {
        let year = |class| (0..12).map(|m| self.need_t(class, m)).sum::<f64>();
        year(class) / year(StockClass::HillEwe).max(1e-12)
    }
}
