//! The payments the tables know conditions of, and which measures earn them.
//!
//! Rates are rows of `guidance/costs.csv` (newest first), titles, conditions, evidence, lengths and exclusions rows of
//! `guidance/earns.csv`. Only what can be seen from the plan is looked at here; everything else is told as a condition. A payment that the
//! ground would earn without the measure is not the measure's: it is told and not counted.

mod field;
mod item;
mod moor;
mod wood;

use geo_types::MultiPolygon;
use guidance::{Country, Unknown};
use habitat::ahead::StockFrom;
use holding::Measure;
use measures::kind::facts::Facts;
use measures::kind::{Cost, Entry};
use measures::option::{measures, programme};
use measures::rules::Context;

/// A payment of a scheme.
pub struct Payment {
    /// Stable id, as in `earns.{id}.title`.
    pub id: &'static str,
    /// Where it is paid.
    pub country: Country,
    /// What it is made of.
    pub parts: &'static [PaymentPart],
    /// What of an option earns it.
    pub(super) earned: fn(&Look) -> Result<Found, Unknown>,
}

/// One part of a payment.
pub struct PaymentPart {
    /// Which, in words; empty where there is one alone.
    pub what: &'static str,
    /// Guidance keys of its rate, newest first; none where no rate was read.
    pub rates: &'static [&'static str],
    /// Unit of the rate, a word of guidance's list.
    pub unit: &'static str,
    /// Years after the measure's first in which it is first paid.
    pub after_yr: u32,
    /// How long it is paid.
    pub span: Span,
}

/// How long a part of a payment is paid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Span {
    /// Once.
    Once,
    /// Every year of the agreement (`earns.{id}.years`).
    Agreement,
    /// Every year for as many as a guidance key says.
    Years(&'static str),
}

/// An option as payments look at it.
pub struct Look<'a> {
    /// The plan.
    pub c: &'a Context<'a>,
    /// The measures of the option, with their kinds.
    pub measures: Vec<(&'a Measure, &'static Entry)>,
    /// Cost lines of each.
    pub costs: Vec<Vec<Cost>>,
    /// Stock from each year in which a parcel changes.
    pub stock: Vec<StockFrom>,
}

/// A payment a measure earns.
pub struct Earned {
    /// The measure, as its place in [`Look::measures`].
    pub at: usize,
    /// The ground it is paid for, where it is paid for ground.
    pub ground: Option<MultiPolygon<f64>>,
    /// How much.
    pub quantity: f64,
    /// Unit in words.
    pub unit: &'static str,
    /// First year, counted from the plan's day.
    pub from: u32,
    /// The most years in a row it is earned.
    pub years: u32,
}

/// A payment a measure does not earn, worth telling.
pub struct Refused {
    /// The measure, as its place in [`Look::measures`].
    pub at: usize,
    /// How much.
    pub quantity: f64,
    /// Unit in words.
    pub unit: &'static str,
    /// Why, in words.
    pub why: String,
}

/// What was found of a payment.
#[derive(Default)]
pub struct Found {
    /// By whom it is earned.
    pub earned: Vec<Earned>,
    /// By whom not, where that is worth telling.
    pub refused: Vec<Refused>,
}

impl Found {
    /// With no more earned than so many hectares in all, those of the first measures first; what lies over is told.
    fn at_most(mut self, hectares: f64, why: &str) -> Found {
        let mut left = hectares;
        for earned in &mut self.earned {
            let over = earned.quantity - left;
            if over > 0.0 {
                self.refused.push(Refused { at: earned.at, quantity: over, unit: "ha", why: why.to_string() });
                earned.quantity = left;
            }
            left -= earned.quantity;
        }
        self
    }
}

impl<'a> Look<'a> {
    /// Of an option.
    ///
    /// # Errors
    /// A figure the tables lack.
    pub fn new(c: &'a Context<'a>, option: u32) -> Result<Look<'a>, Unknown> {
        let measures = measures(c, option);
        let costs = measures.iter().map(|(measure, entry)| (entry.costs)(c, measure)).collect::<Result<_, _>>()?;
        let grazed = measures.iter().any(|(_, entry)| entry.key == "grazing");
        let stock = if grazed { programme(c, option)?.stock } else { vec![] };
        Ok(Look { c, measures, costs, stock })
    }

    /// Facts of a measure.
    fn facts(&self, at: usize) -> Facts<'a> {
        let (measure, entry) = self.measures[at];
        Facts::of(self.c, measure, entry.facts)
    }

    /// The measures of a kind, as places in the list.
    fn of_kind(&self, kind: &str) -> impl Iterator<Item = usize> {
        let found: Vec<usize> = (0..self.measures.len()).filter(|at| self.measures[*at].1.key == kind).collect();
        found.into_iter()
    }
}

const fn yearly(rates: &'static [&'static str]) -> PaymentPart {
    PaymentPart { what: "", rates, unit: "gbp_per_ha_per_year", after_yr: 0, span: Span::Agreement }
}

const fn once(rates: &'static [&'static str], unit: &'static str) -> PaymentPart {
    PaymentPart { what: "", rates, unit, after_yr: 0, span: Span::Once }
}

const fn planted(rates: &'static [&'static str]) -> PaymentPart {
    PaymentPart { what: "planting", ..once(rates, "gbp_per_ha") }
}

const fn maintained(rates: &'static [&'static str]) -> PaymentPart {
    PaymentPart { what: "maintenance", after_yr: 1, span: Span::Years("payment.scotland.wood.maintenance_years"), ..yearly(rates) }
}

/// Every payment, by country.
pub static PAYMENTS: &[Payment] = &[
    Payment {
        id: "upl1",
        country: Country::England,
        parts: &[yearly(&["payment.england.upl1.sfi26", "payment.england.upl1.sfi24"])],
        earned: |look| moor::level(look, "stocking.england.moderate"),
    },
    Payment {
        id: "upl2",
        country: Country::England,
        parts: &[yearly(&["payment.england.upl2.sfi24"])],
        earned: |look| moor::level(look, "stocking.england.low"),
    },
    Payment {
        id: "upl3",
        country: Country::England,
        parts: &[yearly(&["payment.england.upl3.sfi24"])],
        earned: |look| moor::level(look, "stocking.england.limited"),
    },
    Payment {
        id: "upl4",
        country: Country::England,
        parts: &[yearly(&["payment.england.upl4.sfi24"])],
        earned: |look| moor::cattle(look, "stocking.cattle_share.upl4"),
    },
    Payment {
        id: "upl8",
        country: Country::England,
        parts: &[yearly(&["payment.england.upl8.sfi26", "payment.england.upl8.sfi24"])],
        earned: |look| moor::empty(look, "stocking.removal_months.short"),
    },
    Payment {
        id: "cup8",
        country: Country::England,
        parts: &[yearly(&["payment.england.cup8"])],
        earned: |look| moor::level(look, "stocking.england.moderate"),
    },
    Payment {
        id: "cup12",
        country: Country::England,
        parts: &[yearly(&["payment.england.cup12"])],
        earned: |look| moor::empty(look, "stocking.removal_months.short"),
    },
    Payment {
        id: "cup13",
        country: Country::England,
        parts: &[yearly(&["payment.england.cup13"])],
        earned: |look| moor::empty(look, "stocking.removal_months.middle"),
    },
    Payment { id: "up1", country: Country::England, parts: &[yearly(&["payment.england.up1"])], earned: field::rush },
    Payment {
        id: "up2",
        country: Country::England,
        parts: &[yearly(&["payment.england.up2", "payment.england.up2_before"])],
        earned: field::rush_for_birds,
    },
    Payment { id: "ahw7", country: Country::England, parts: &[yearly(&["payment.england.ahw7"])], earned: field::stubble_to_summer },
    Payment {
        id: "te4",
        country: Country::England,
        parts: &[once(&["cost.england.te4_tree"], "gbp_each")],
        earned: |look| item::built(look, &[("wood", "cost.england.te4_tree")]),
    },
    Payment {
        id: "te5",
        country: Country::England,
        parts: &[once(&["cost.england.te5_shelter"], "gbp_each")],
        earned: |look| item::built(look, &[("wood", "cost.england.te5_shelter")]),
    },
    Payment {
        id: "fg1",
        country: Country::England,
        parts: &[once(&["cost.england.fg1_post_wire", "cost.england.fg1_post_wire_before"], "gbp_per_m")],
        earned: item::post_and_wire,
    },
    Payment {
        id: "fg2",
        country: Country::England,
        parts: &[once(&["cost.england.fg2_sheep_net", "cost.england.fg2_sheep_net_before"], "gbp_per_m")],
        earned: |look| item::built(look, &[("wood", "cost.england.fg2_sheep_net"), ("fence", "cost.market.stock_fence")]),
    },
    Payment {
        id: "fg9",
        country: Country::England,
        parts: &[once(&["cost.england.fg9_deer"], "gbp_per_m")],
        earned: |look| item::built(look, &[("wood", "cost.england.fg9_deer"), ("fence", "cost.market.deer_fence")]),
    },
    Payment { id: "wn1", country: Country::England, parts: &[once(&["cost.england.wn1_block"], "gbp_each")], earned: item::dams },
    Payment {
        id: "fgs_upland_birch",
        country: Country::Scotland,
        parts: &[planted(&["payment.scotland.wood.upland_birch.initial"]), maintained(&["payment.scotland.wood.upland_birch.maintenance"])],
        earned: wood::upland_birch,
    },
    Payment {
        id: "fgs_low_density",
        country: Country::Scotland,
        parts: &[planted(&["payment.scotland.wood.low_density.initial"]), maintained(&["payment.scotland.wood.low_density.maintenance"])],
        earned: wood::low_density,
    },
    Payment {
        id: "fgs_scots_pine",
        country: Country::Scotland,
        parts: &[planted(&["payment.scotland.wood.scots_pine.initial"]), maintained(&["payment.scotland.wood.scots_pine.maintenance"])],
        earned: wood::scots_pine,
    },
    Payment {
        id: "fgs_top_up",
        country: Country::Scotland,
        parts: &[once(&["payment.scotland.top_up_2025"], "gbp_per_ha")],
        earned: wood::topped_up,
    },
    Payment {
        id: "fgs_deer_fence",
        country: Country::Scotland,
        parts: &[once(
            &["payment.scotland.deer_fence_2023_high_cost", "payment.scotland.deer_fence_2019", "payment.scotland.deer_fence_before_2019"],
            "gbp_per_m",
        )],
        earned: wood::deer_fence,
    },
    Payment { id: "fgs_marking", country: Country::Scotland, parts: &[once(&[], "gbp_per_m")], earned: item::marked },
    Payment { id: "aecs_stubble", country: Country::Scotland, parts: &[yearly(&[])], earned: |look| field::stubble(look, "arable.stubble.area_max") },
    Payment { id: "sfs_woodland", country: Country::Wales, parts: &[yearly(&["payment.wales.sfs2026.woodland"])], earned: wood::any },
    Payment {
        id: "wales_tree",
        country: Country::Wales,
        parts: &[once(&["cost.wales.transplant"], "gbp_each")],
        earned: |look| item::built(look, &[("wood", "cost.wales.transplant")]),
    },
    Payment {
        id: "wales_stock_net",
        country: Country::Wales,
        parts: &[once(&["cost.wales.stock_net", "cost.wales.rate_2023.stock_net"], "gbp_per_m")],
        earned: |look| item::built(look, &[("wood", "cost.wales.stock_net"), ("fence", "cost.market.stock_fence")]),
    },
    Payment {
        id: "wales_post_wire",
        country: Country::Wales,
        parts: &[once(&["cost.wales.post_wire", "cost.wales.rate_2023.post_wire"], "gbp_per_m")],
        earned: item::post_and_wire,
    },
];
