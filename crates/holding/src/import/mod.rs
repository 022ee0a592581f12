//! Getting data in: every kind of feature out of every open format, with all faults of a file at once.
//!
//! The way of a file: its bytes ([`source`]) become a table ([`format`]); rows without geometry get one from their
//! columns ([`place`]); coordinates are brought into the plan's system ([`crs`]); columns are matched to fields
//! ([`guess`]); and each row becomes a feature ([`build`]). Nothing touches the holding before the whole file has
//! been read without a fault; then [`Imported::apply`] puts it in.
//!
//! What is not surveyed stays unrecorded: the usual covers of a habitat class are filled in when the ground is
//! assessed, not here, so that what was measured is never mistaken for what was assumed.

#![allow(clippy::result_large_err, reason = "a fault ends the reading of a file, so its size costs nothing")]

mod build;
mod crs;
mod drawn;
mod fault;
mod features;
mod field;
mod format;
mod geometry;
mod guess;
mod kind;
mod limit;
mod look;
mod note;
mod place;
mod proposed;
mod reading;
mod remark;
pub mod said;
mod scale;
mod source;
mod table;
mod unit;
mod value;

pub use crs::in_degrees;
pub use drawn::{DrawnShape, drawn};
pub use fault::{Faults, ImportFault};
pub use features::{Features, Mode};
pub use field::{Field, Holds, fields};
pub use guess::{MapTo, Mapping, Matched, Sure};
pub use kind::{Form, Kind};
pub use look::{Looked, look};
pub use note::{LeftOut, Note, Notes};
pub use proposed::ProposedLek;
pub use source::Source;
pub use unit::Unit;

use crate::model::{Holding, Lek};
use build::{Counting, Ids};
use chrono::NaiveDate;
use guidance::Guidance;
use remark::Many;
use reading::{Reading, month_first_columns, share_columns};
use scale::Scales;
use source::{Format, format_of};
use table::{Shape, Table};

/// What the person says beside the file.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// Which column is which field, where the guess is wrong or unsure.
    pub map: Vec<MapTo>,
    /// Which layer or sheet, where the file has several.
    pub layer: Option<String>,
    /// EPSG number of the file's coordinates, where the file does not say or says it wrongly.
    pub epsg: Option<u32>,
    /// Whether the features join what is there or take its place.
    pub mode: Mode,
    /// Counts: the day it is; a count after it is a fault. `None`: the future is not judged.
    pub today: Option<NaiveDate>,
    /// Visits: make the leks that the places of the file put forward.
    pub make_leks: bool,
    /// Counts: leave out rows that cannot be used, and say how many and why, in place of refusing the file.
    pub leave_out: bool,
}

/// A file read whole and without fault, ready to go into the holding.
#[derive(Clone, Debug, PartialEq)]
pub struct Imported {
    /// The features.
    pub features: Features,
    /// How the columns were understood.
    pub mapping: Mapping,
    /// What was taken for granted or mended.
    pub notes: Notes,
    /// How many rows go in.
    pub count: usize,
    /// Counts: rows that do not, by reason.
    pub left_out: Vec<LeftOut>,
    /// Visits: leks put forward for the places of the file; those with an id go in with the visits.
    pub proposed: Vec<ProposedLek>,
    made: Vec<Lek>,
    mode: Mode,
}

impl Imported {
    /// Put the features into the holding they were read for.
    pub fn apply(self, holding: &mut Holding) {
        holding.leks.extend(self.made);
        self.features.apply(holding, self.mode);
    }
}

/// Read a file of one kind for a holding.
///
/// `holding` gives the coordinate system, the ground the plan covers, the ids that are taken, and the leks and
/// parcels that visits and stock speak of; it is not changed. `guidance` gives cover scales and habitat classes.
///
/// Errors: every fault of the file, each with its place.
pub fn read(kind: Kind, source: &Source, options: &Options, holding: &Holding, guidance: &Guidance) -> Result<Imported, Faults> {
    read_table(kind, source, options)
        .and_then(|mut table| understand(kind, &mut table, source, options, holding, guidance))
        .map_err(|faults| faults.located(&source.name, options.layer.as_deref()))
}

fn read_table(kind: Kind, source: &Source, options: &Options) -> Result<Table, Faults> {
    let bytes = source.load()?;
    let layer = options.layer.as_deref();
    match format_of(&source.name, &bytes)? {
        Format::Csv => format::csv::read(&bytes),
        Format::GeoJson => format::geojson::read(&bytes),
        Format::GeoPackage => format::geopackage::read(source, bytes, layer, kind),
        Format::Shapefile => format::shapefile::read_loose(source, &bytes),
        Format::ShapefileZip => format::shapefile::read_zip(&bytes, layer, kind),
        Format::FlatGeobuf => format::flatgeobuf::read(&bytes),
        Format::Xlsx => format::xlsx::read(&bytes, layer, kind),
        Format::Gpx => format::gpx::read(&bytes, kind),
    }
}

fn understand(
    kind: Kind,
    table: &mut Table,
    source: &Source,
    options: &Options,
    holding: &Holding,
    guidance: &Guidance,
) -> Result<Imported, Faults> {
    if table.rows.is_empty() {
        return Err(ImportFault::new("at least one row", "none").into());
    }
    let told = options.map.iter().any(|m| place::place_fields(&m.field));
    let mut taken = Vec::new();
    let mut geometry = String::new();
    let mut faults = Faults::new();
    if told || !table.has_shapes() {
        match place::place(table, kind, &options.map, options.epsg.unwrap_or(holding.about.epsg)) {
            Ok(placed) => {
                taken = placed.taken;
                geometry = format!("{}; ", placed.words);
            }
            Err(more) => faults.extend(more),
        }
    }
    let places = kind.form() != Form::None;
    if places && faults.is_empty() {
        match crs::to_plan(table, options.epsg, holding, kind) {
            Ok(words) => geometry.push_str(&words),
            Err(more) => faults.extend(more),
        }
    }
    let mut mapping = match guess::guess(kind, table, &options.map, &taken, &source.name) {
        Ok(mapping) if faults.is_empty() => mapping,
        Ok(mapping) => {
            faults.mapping = Some(Box::new(mapping));
            return Err(faults);
        }
        Err(more) => {
            faults.extend(more);
            return Err(faults);
        }
    };
    mapping.geometry = geometry;
    let fields = fields(kind);
    let rows = std::mem::take(&mut table.rows);
    let mut reading = Reading {
        mapping: &mapping,
        columns: &table.columns,
        fields: &fields,
        scales: Scales::new(guidance, holding.about.country),
        faults,
        notes: std::mem::take(&mut table.notes),
        shares: share_columns(&mapping, &fields, &rows),
        unclear: Vec::new(),
        month_first: month_first_columns(&mapping, &fields, &rows),
        left_out: Vec::new(),
        proposed: Vec::new(),
        made: Vec::new(),
    };
    // Of counts a place matters only where no lek is named: they are looked at row by row.
    if places && kind.form() != Form::PointOrNone {
        let ground = if kind == Kind::Boundary { crs::heights_ground(holding) } else { crs::plan_ground(holding) };
        crs::near_plan(&rows, holding, ground, &mut reading.notes, &mut reading.faults);
    } else if !places && rows.iter().any(|r| matches!(r.shape, Shape::Is(_))) {
        reading.notes.file("the file's geometry is not needed for this kind and was left out");
    }
    let there = match options.mode {
        Mode::Add => features::ids(holding, kind).into_iter().map(str::to_owned).collect(),
        Mode::Replace => Vec::new(),
    };
    let mut ids = Ids::new(kind, there);
    if let Some(at) = mapping.of("id").map(|m| m.at) {
        ids.keep_clear(rows.iter().map(|row| row.cells[at].shown()));
    }
    let figure = |key| guidance.number(key, holding.about.country).ok();
    let month_day = |key| guidance.month_day(key, holding.about.country).ok();
    let counting = Counting {
        today: options.today,
        mode: options.mode,
        make_leks: options.make_leks,
        leave_out: options.leave_out,
        young_most: figure("counts.brood.young_most").unwrap_or(f64::INFINITY),
        brood_season: month_day("counts.brood.first").zip(month_day("counts.brood.last")).map(|(first, last)| [first, last]),
        same_lek_m: figure("counts.same_lek_distance").unwrap_or(0.0),
        lone_bird_m: figure("counts.lone_bird_distance").unwrap_or(0.0),
    };
    let features = build::build(kind, &rows, &mut reading, &mut ids, holding, &counting);
    let Reading { mut faults, mut notes, left_out, proposed, made, .. } = reading;
    if !faults.is_empty() {
        faults.mapping = Some(Box::new(mapping));
        faults.proposed = proposed;
        return Err(faults);
    }
    let many = figure("counts.many_birds.lek").zip(figure("counts.many_birds.times")).map(|(cocks, times)| Many { cocks, times });
    remark::remark(&features, holding, options.mode, counting.same_lek_m, many, &mut notes);
    let count = match &features {
        Features::Visits(new) => new.len(),
        Features::Broods(new) => new.len(),
        _ => rows.len(),
    };
    Ok(Imported { features, mapping, notes, count, left_out, proposed, made, mode: options.mode })
}
