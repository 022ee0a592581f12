//! A plan begun: from the boundary of the land and a height model.

use crate::import::{self, Faults, Kind, Options, Source};
use crate::model::{About, Holding};
use geo::BoundingRect;
use ground::heights::{self, HeightModel, HeightsError};
use ground::{Frame, resample};
use guidance::{Country, Guidance};
use std::path::PathBuf;

/// Cell of the grids unless another is asked for, metres.
pub const CELL_M: f64 = 10.0;
/// Ground kept round the boundary unless other is asked for, metres.
pub const MARGIN_M: f64 = 2000.0;
/// The national grid.
pub const EPSG: u32 = 27700;

/// What a plan begins with.
#[derive(Clone, Debug)]
pub struct Begin {
    /// Name of the holding.
    pub name: String,
    /// Country whose codes apply.
    pub country: Country,
    /// EPSG number of its coordinates, projected, metres.
    pub epsg: u32,
    /// Cell of its grids, metres.
    pub cell_m: f64,
    /// Ground kept round the boundary, metres.
    pub margin_m: f64,
    /// The day it stands for.
    pub as_at: chrono::NaiveDate,
    /// The boundary.
    pub boundary: Source,
    /// How the boundary's file is read.
    pub options: Options,
    /// Height models with the name each goes by; several are joined.
    pub heights: Vec<(PathBuf, String)>,
}

/// Why a plan cannot begin: all there is against it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CannotBegin {
    /// The boundary's file.
    pub boundary: Faults,
    /// The files of heights.
    pub heights: Vec<HeightsError>,
    /// Anything else, in words.
    pub other: Vec<String>,
}

impl CannotBegin {
    fn one(fault: String) -> CannotBegin {
        CannotBegin { other: vec![fault], ..CannotBegin::default() }
    }
}

/// Make the holding of a new plan, with what to know of it; nothing is written. `say` is told what is done.
///
/// # Errors
/// Every fault of the boundary, of the heights, or of what was asked.
pub fn begin(ask: &Begin, guidance: &Guidance, say: &dyn Fn(&str)) -> Result<(Holding, Vec<String>), CannotBegin> {
    sensible(ask)?;
    let about = About { name: ask.name.clone(), country: ask.country, epsg: ask.epsg, cell_m: ask.cell_m, as_at: Some(ask.as_at), ..About::default() };
    let mut holding = Holding { about, ..Holding::default() };
    say("reading the boundary");
    let boundary = import::read(Kind::Boundary, &ask.boundary, &ask.options, &holding, guidance);
    let model = (!ask.heights.is_empty()).then(|| {
        say("reading the heights");
        model_of(ask)
    });
    let (read, model) = match (boundary, model.transpose()) {
        (Ok(read), Ok(model)) => (read, model),
        (Ok(_), Err(cannot)) => return Err(cannot),
        (Err(boundary), model) => return Err(CannotBegin { boundary, ..model.err().unwrap_or_default() }),
    };
    let mut notes: Vec<String> = read.notes.0.iter().map(ToString::to_string).collect();
    read.apply(&mut holding);
    let Some(bounds) = holding.boundary.as_ref().and_then(BoundingRect::bounding_rect) else {
        return Err(CannotBegin::one(format!("{}: needed an outline, found none", ask.boundary.name)));
    };
    if let (Some(model), Some((_, first))) = (model, ask.heights.first()) {
        notes.extend(model.notes.iter().cloned());
        let (b, m) = (bounds, ask.margin_m);
        let frame = Frame::covering(b.min().x - m, b.min().y - m, b.max().x + m, b.max().y + m, ask.cell_m);
        let grid = resample::resample(&model.grid, frame);
        let missing = grid.cells.iter().filter(|v| v.is_nan()).count();
        if missing == grid.cells.len() {
            return Err(CannotBegin::one(format!(
                "{first}: no height lies within {m:.0} m of the boundary; needed: heights that cover E {:.0} to {:.0}, N {:.0} to {:.0}. Hint: other tiles, or another coordinate system",
                b.min().x, b.max().x, b.min().y, b.max().y
            )));
        }
        if missing > 0 {
            notes.push(format!("heights are missing on {:.1} % of the plan's ground", 100.0 * missing as f64 / grid.cells.len() as f64));
        }
        let names: Vec<&str> = ask.heights.iter().map(|(_, name)| name.as_str()).collect();
        holding.about.heights_source = format!("{}, {} m cells", names.join(", "), model.grid.frame.dx_m);
        holding.heights = Some(grid);
    }
    Ok((holding, notes))
}

/// The heights, in the plan's coordinate system.
fn model_of(ask: &Begin) -> Result<HeightModel, CannotBegin> {
    let model = heights::read(&ask.heights).map_err(|heights| CannotBegin { heights, ..CannotBegin::default() })?;
    match model.epsg.filter(|epsg| *epsg != ask.epsg) {
        None => Ok(model),
        Some(epsg) => Err(CannotBegin::one(format!(
            "{}: the heights are in EPSG:{epsg}; needed: EPSG:{}, the plan's. Hint: warp the grid first, or make the plan with --epsg {epsg}",
            ask.heights.first().map_or("heights", |(_, name)| name),
            ask.epsg
        ))),
    }
}

fn sensible(ask: &Begin) -> Result<(), CannotBegin> {
    let mut faults = Vec::new();
    if !(1.0..=100.0).contains(&ask.cell_m) {
        faults.push(format!("--cell is {}; needed: 1 to 100 metres", ask.cell_m));
    }
    if !(0.0..=20_000.0).contains(&ask.margin_m) {
        faults.push(format!("--margin is {}; needed: 0 to 20000 metres", ask.margin_m));
    }
    if import::in_degrees(ask.epsg) {
        faults.push(format!(
            "--epsg {} counts in degrees; needed: a projected system in metres, such as 27700. Hint: leave --epsg out; a boundary in longitude and latitude is brought over",
            ask.epsg
        ));
    }
    if faults.is_empty() { Ok(()) } else { Err(CannotBegin { other: faults, ..CannotBegin::default() }) }
}
