//! `greyhen new`: a plan from a boundary and a height model.

use crate::fail::Fail;
use crate::{Ended, talk};
use geo::{Area, BoundingRect};
use ground::{Frame, heights, resample};
use guidance::Country;
use holding::import::{self, Kind, MapTo, Options, Source};
use holding::plan::Plan;
use holding::{About, Holding};
use std::path::PathBuf;

/// Arguments.
#[derive(clap::Args)]
pub struct New {
    /// The plan file to make, such as hill.gpkg
    #[arg(value_name = "FILE")]
    path: PathBuf,
    /// Boundary of the holding: GeoPackage, GeoJSON, zipped Shapefile, FlatGeobuf or GPX
    #[arg(long, value_name = "FILE")]
    boundary: PathBuf,
    /// Height models: GeoTIFF, ESRI ASCII grid, XYZ, or zips of them; several are joined
    #[arg(long, value_name = "FILE", num_args = 1..)]
    heights: Vec<PathBuf>,
    /// Name of the holding; the file's name when left out
    #[arg(long)]
    name: Option<String>,
    /// Country whose codes apply: GB, England, Scotland, Wales
    #[arg(long, default_value = "GB")]
    country: Country,
    /// EPSG number of the plan's coordinates (projected, metres)
    #[arg(long, default_value_t = 27700)]
    epsg: u32,
    /// Cell of the plan's grids, metres
    #[arg(long, default_value_t = 10.0, allow_negative_numbers = true, value_name = "METRES")]
    cell: f64,
    /// Ground kept round the boundary, metres
    #[arg(long, default_value_t = 2000.0, allow_negative_numbers = true, value_name = "METRES")]
    margin: f64,
    /// The day the plan stands for, YYYY-MM-DD; today when left out
    #[arg(long, value_name = "DATE")]
    as_at: Option<chrono::NaiveDate>,
    /// Which layer of the boundary file
    #[arg(long)]
    layer: Option<String>,
    /// Column of a field, as field=column
    #[arg(long, value_name = "FIELD=COLUMN", value_parser = MapTo::from_text)]
    map: Vec<MapTo>,
    /// Replace a plan that is there
    #[arg(long)]
    force: bool,
}

impl New {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        if !(1.0..=100.0).contains(&self.cell) {
            return Err(Fail::one(format!("--cell is {}; needed: 1 to 100 metres", self.cell)));
        }
        if !(0.0..=20_000.0).contains(&self.margin) {
            return Err(Fail::one(format!("--margin is {}; needed: 0 to 20000 metres", self.margin)));
        }
        if import::in_degrees(self.epsg) {
            return Err(Fail::one(format!(
                "--epsg {} counts in degrees; needed: a projected system in metres, such as 27700. Hint: leave --epsg out; a boundary in longitude and latitude is brought over",
                self.epsg
            )));
        }
        let inputs: Vec<PathBuf> = self.heights.iter().chain([&self.boundary]).cloned().collect();
        super::not_an_input(&self.path, &inputs)?;
        let guidance = super::tables()?;
        let stem = || self.path.file_stem().map_or_else(String::new, |s| s.to_string_lossy().into_owned());
        let mut holding = Holding {
            about: About {
                name: self.name.clone().unwrap_or_else(stem),
                country: self.country,
                epsg: self.epsg,
                cell_m: self.cell,
                as_at: Some(self.as_at.unwrap_or_else(|| chrono::Local::now().date_naive())),
                ..About::default()
            },
            ..Holding::default()
        };
        let working = talk::Working::on("reading the boundary");
        let options = Options { map: self.map.clone(), layer: self.layer.clone(), ..Options::default() };
        let read = import::read(Kind::Boundary, &Source::path(&self.boundary), &options, &holding, &guidance)
            .map_err(|faults| Fail::file_faults(&faults).ending("No plan was made."))?;
        let mut notes: Vec<String> = read.notes.0.iter().map(|n| n.to_string()).collect();
        read.apply(&mut holding);
        let Some((boundary, b)) = holding.boundary.as_ref().and_then(|s| Some((s, s.bounding_rect()?))) else {
            return Err(Fail::one(format!("{}: needed an outline, found none", self.boundary.display())));
        };
        let area_ha = boundary.unsigned_area() / 1e4;
        if !self.heights.is_empty() {
            working.now("reading the heights");
            let model = heights::read(&self.heights)?;
            notes.extend(model.notes.iter().cloned());
            if let Some(epsg) = model.epsg.filter(|e| *e != self.epsg) {
                return Err(Fail::one(format!(
                    "{}: the heights are in EPSG:{epsg}; needed: EPSG:{}, the plan's. Hint: warp the grid first, or make the plan with --epsg {epsg}",
                    self.heights[0].display(),
                    self.epsg
                )));
            }
            let m = self.margin;
            let frame = Frame::covering(b.min().x - m, b.min().y - m, b.max().x + m, b.max().y + m, self.cell);
            let grid = resample::resample(&model.grid, frame);
            let missing = grid.cells.iter().filter(|v| v.is_nan()).count();
            if missing == grid.cells.len() {
                return Err(Fail::one(format!(
                    "{}: no height lies within {m:.0} m of the boundary; needed: heights that cover E {:.0} to {:.0}, N {:.0} to {:.0}. Hint: other tiles, or another coordinate system",
                    self.heights[0].display(), b.min().x, b.max().x, b.min().y, b.max().y
                )));
            }
            if missing > 0 {
                notes.push(format!("heights are missing on {:.1} % of the plan's ground", 100.0 * missing as f64 / grid.cells.len() as f64));
            }
            let names: Vec<String> = self.heights.iter().filter_map(|p| Some(p.file_name()?.to_string_lossy().into_owned())).collect();
            holding.about.heights_source = format!("{}, {} m cells", names.join(", "), model.grid.frame.dx_m);
            holding.heights = Some(grid);
        }
        working.now("writing the plan");
        let mut plan = Plan::create(&self.path, &holding, self.force)?;
        plan.set_guidance_edition(guidance.edition())?;
        drop(working);
        talk::print(&format!("Written: {} ({}, {area_ha:.0} ha)", self.path.display(), holding.about.name));
        for note in notes {
            talk::print(&format!("  note: {note}"));
        }
        talk::print(&format!("Next: greyhen import {} patches VEGETATION, then leks, woods, sticks, visits.", self.path.display()));
        Ok(Ended::Well)
    }
}
