//! The kinds of row a plan holds: for each, its table and how a row becomes a thing of the model and back.

mod area;
mod boundary;
mod brood;
mod building;
mod crew;
mod ditch;
mod fence;
mod field;
mod lek;
mod measure;
mod option;
mod parcel;
mod patch;
mod price;
mod probe;
mod service;
mod stem;
mod stick;
mod stock;
mod track;
mod visit;
mod watercourse;
mod wood;

pub(crate) use boundary::Outline;
pub(crate) use stem::StemRow;

use super::column::{Column, Table};
use super::fault::PlanError;
use super::row::{Draft, Row};
use super::step::Step;
use crate::field::FieldEntry;
use crate::model::*;

/// A kind of row.
pub trait Stored: Sized {
    /// The table of this kind.
    #[doc(hidden)]
    const TABLE: &'static Table;
    /// The id, unique within the kind.
    fn key(&self) -> String;
    /// Read a row whose values have been checked; `None` where it names a thing the check cannot know.
    #[doc(hidden)]
    fn read(row: &Row) -> Option<Self>;
    /// Write the row.
    #[doc(hidden)]
    fn write(&self, row: &mut Draft);
    /// Give rows that are known by their place in a list their place.
    #[doc(hidden)]
    fn number(_rows: &mut [Self]) {}
    /// Write what of these things lies in other tables.
    #[doc(hidden)]
    fn replace_parts(_all: &[Self], _step: &mut Step) -> Result<(), PlanError> {
        Ok(())
    }
    /// Write what of this thing lies in other tables.
    #[doc(hidden)]
    fn put_parts(&self, _step: &mut Step) -> Result<(), PlanError> {
        Ok(())
    }
    /// Take out what of this thing lies in other tables.
    #[doc(hidden)]
    fn remove_parts(_id: &str, _step: &mut Step) -> Result<(), PlanError> {
        Ok(())
    }
}

const ID: Column = Column::text("id", "identity: unique in the table, kept through every edit; where missing, the table's name and `fid`");
const NAME: Column = Column::text("name", "name in use on the ground");
const NOTE: Column = Column::text("note", "free text");
const OTHER: Column = Column::json("other", "attributes that came with the feature and have no column of their own");

/// Every table of the plan, in file order.
pub(crate) const TABLES: [&Table; 23] = [
    Outline::TABLE,
    Parcel::TABLE,
    Patch::TABLE,
    Wood::TABLE,
    StemRow::TABLE,
    Lek::TABLE,
    Visit::TABLE,
    BroodCount::TABLE,
    Fence::TABLE,
    Ditch::TABLE,
    Watercourse::TABLE,
    Track::TABLE,
    Service::TABLE,
    Building::TABLE,
    Area::TABLE,
    Stick::TABLE,
    Probe::TABLE,
    Stock::TABLE,
    PlanOption::TABLE,
    Measure::TABLE,
    HiredCrew::TABLE,
    OwnPrice::TABLE,
    FieldEntry::TABLE,
];
