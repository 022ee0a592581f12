//! `greyhen new`: a plan from a boundary and a height model.

use crate::fail::Fail;
use crate::{Ended, talk};
use geo::Area;
use guidance::Country;
use holding::begin::{Begin, CELL_M, CannotBegin, EPSG, MARGIN_M, begin};
use holding::import::{MapTo, Options, Source};
use holding::plan::Plan;
use std::path::{Path, PathBuf};

/// Arguments.
#[derive(clap::Args)]
pub struct New {
    /// The plan file to make, such as hill.gpkg
    #[arg(value_name = "FILE")]
    path: PathBuf,
    /// Boundary of the holding: GeoPackage, GeoJSON, zipped Shapefile, FlatGeobuf or GPX
    #[arg(long, value_name = "FILE")]
    boundary: PathBuf,
    /// Height models: GeoTIFF, text grid (.asc), XYZ, or zips of them; several are joined
    #[arg(long, value_name = "FILE", num_args = 1..)]
    heights: Vec<PathBuf>,
    /// Name of the holding; the file's name when left out
    #[arg(long)]
    name: Option<String>,
    /// Country whose codes apply: GB, England, Scotland, Wales
    #[arg(long, default_value = "GB")]
    country: Country,
    /// EPSG number of the plan's coordinates (projected, metres)
    #[arg(long, default_value_t = EPSG)]
    epsg: u32,
    /// Cell of the plan's grids, metres
    #[arg(long, default_value_t = CELL_M, allow_negative_numbers = true, value_name = "METRES")]
    cell: f64,
    /// Ground kept round the boundary, metres
    #[arg(long, default_value_t = MARGIN_M, allow_negative_numbers = true, value_name = "METRES")]
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
        let inputs: Vec<PathBuf> = self.heights.iter().chain([&self.boundary]).cloned().collect();
        super::not_an_input(&self.path, &inputs)?;
        let guidance = super::tables()?;
        let called = |path: &Path| path.file_name().map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned());
        let stem = || self.path.file_stem().map_or_else(String::new, |s| s.to_string_lossy().into_owned());
        let ask = Begin {
            name: self.name.clone().unwrap_or_else(stem),
            country: self.country,
            epsg: self.epsg,
            cell_m: self.cell,
            margin_m: self.margin,
            as_at: self.as_at.unwrap_or_else(|| chrono::Local::now().date_naive()),
            boundary: Source::path(&self.boundary),
            options: Options { map: self.map.clone(), layer: self.layer.clone(), ..Options::default() },
            heights: self.heights.iter().map(|path| (path.clone(), called(path))).collect(),
        };
        let working = talk::Working::on("reading the boundary");
        let (holding, notes) = begin(&ask, &guidance, &|what| working.now(what)).map_err(|CannotBegin { boundary, heights, other }| {
            Fail::file_faults(&boundary).and(heights).and(other).ending("No plan was made.")
        })?;
        working.now("writing the plan");
        let mut plan = Plan::create(&self.path, &holding, self.force)?;
        plan.set_guidance_edition(guidance.edition())?;
        drop(working);
        let area_ha = holding.boundary.as_ref().map_or(0.0, |b| b.unsigned_area() / 1e4);
        talk::print(&format!("Written: {} ({}, {area_ha:.0} ha)", self.path.display(), holding.about.name));
        for note in notes {
            talk::print(&format!("  note: {note}"));
        }
        talk::print(&format!("Next: greyhen import {} patches VEGETATION, then leks, woods, sticks, visits.", self.path.display()));
        Ok(Ended::Well)
    }
}
