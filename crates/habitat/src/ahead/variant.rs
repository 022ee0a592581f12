//! The ground cut up for an option: every cell that a work covers goes to a stand of its own, which begins as the surveyed one.
//!
//! Cutting is done on the layout's cells, so works of any shape may overlap. Cells that share a surveyed stand and the works on
//! them form one new stand. It keeps the surveyed stand's identity for its draws: an option never meets other luck than the
//! ground as it is.

use super::course::Place;
use super::work::{Doing, Programme};
use crate::assess::Assessed;
use crate::layout::NO_STAND;
use crate::state::{Feature, Stand, Survey};
use geo::{Area, InteriorPoint};
use ground::{Frame, rasterise};
use guidance::{Guidance, Unknown};
use holding::Holding;
use std::collections::BTreeMap;

/// An option's ground.
#[derive(Clone)]
pub struct Variant {
    /// The surveyed stands, then the new ones.
    pub stands: Vec<Stand>,
    /// Surveyed stand each began as.
    pub origin: Vec<usize>,
    /// Where each lies.
    pub places: Vec<Place>,
    /// Works on each: indices into the programme.
    pub works_on: Vec<Vec<usize>>,
    /// Cells of the new stands: cell and stand.
    pub painted: Vec<(u32, u32)>,
    /// What could not be laid on the ground, in words.
    pub notes: Vec<String>,
}

impl Variant {
    /// Cut up the ground of an assessment for a programme. `holding` is the option's: the woods it plants stand in it under the
    /// identity of the work that plants them.
    ///
    /// # Errors
    /// A guidance figure that is missing.
    pub fn of(base: &Assessed, holding: &Holding, guidance: &Guidance, programme: &Programme) -> Result<Variant, Unknown> {
        let survey = Survey::of(holding, guidance)?;
        let layout = &base.layout;
        let cell_ha = layout.frame.cell_ha();
        let mut stands = base.state.stands.clone();
        let mut places = places(&survey, holding, &stands);
        let mut origin: Vec<usize> = (0..stands.len()).collect();
        let mut works_on: Vec<Vec<usize>> = vec![Vec::new(); stands.len()];
        let mut notes = Vec::new();

        let mut works_at: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
        for (w, work) in programme.works.iter().enumerate() {
            let cells = cells(&layout.frame, &work.area);
            let unmapped = cells.iter().filter(|c| layout.stand_of.cells[**c as usize] == NO_STAND).count();
            if cells.is_empty() {
                notes.push(format!("{} lies outside the ground within reach of the leks, or is smaller than half a cell: it changes nothing in the ledger.", work.id));
            } else if unmapped > 0 {
                notes.push(format!("{:.2} ha of {} lie on unmapped ground and change nothing in the ledger.", unmapped as f64 * cell_ha, work.id));
            }
            for cell in cells {
                works_at.entry(cell).or_default().push(w);
            }
        }
        let mut number: BTreeMap<(u32, Vec<usize>), u32> = BTreeMap::new();
        let mut painted = Vec::new();
        for (cell, works) in works_at {
            let under = layout.stand_of.cells[cell as usize];
            if under == NO_STAND {
                continue;
            }
            let stand = *number.entry((under, works.clone())).or_insert_with(|| {
                let mut stand = stands[under as usize].clone();
                let planted = works.iter().rev().find_map(|w| {
                    let work = &programme.works[*w];
                    matches!(work.doing, Doing::Plant { .. }).then(|| holding.woods.iter().position(|wood| wood.id == work.id)).flatten()
                });
                if let Some(wood) = planted {
                    stand.feature = Feature::Wood(wood);
                    stand.name = if holding.woods[wood].name.is_empty() { holding.woods[wood].id.clone() } else { holding.woods[wood].name.clone() };
                }
                stand.area_ha = 0.0;
                stands.push(stand);
                origin.push(under as usize);
                places.push(Place { area_ha: 0.0, ..places[under as usize] });
                works_on.push(works.clone());
                stands.len() as u32 - 1
            });
            stands[stand as usize].area_ha += cell_ha;
            places[stand as usize].area_ha += cell_ha as f32;
            stands[under as usize].area_ha = (stands[under as usize].area_ha - cell_ha).max(0.0);
            places[under as usize].area_ha = (places[under as usize].area_ha - cell_ha as f32).max(0.0);
            painted.push((cell, stand));
        }
        Ok(Variant { stands, origin, places, works_on, painted, notes })
    }
}

/// Where surveyed stands lie.
pub(super) fn places(survey: &Survey, holding: &Holding, stands: &[Stand]) -> Vec<Place> {
    stands
        .iter()
        .map(|s| {
            let shape = s.feature.shape(holding);
            Place { altitude_m: survey.altitude_m(shape), parcel: survey.parcel_of(shape), area_ha: s.area_ha as f32 }
        })
        .collect()
}

/// Cells whose middle a shape covers; the cell that holds it where it covers none but at least half of one's area.
pub fn cells(frame: &Frame, shape: &geo_types::MultiPolygon<f64>) -> Vec<u32> {
    let mut cells = Vec::new();
    for polygon in &shape.0 {
        rasterise::spans(frame, polygon, |row, from, to| cells.extend((from..to).map(|col| frame.at(col, row) as u32)));
    }
    if cells.is_empty()
        && shape.unsigned_area() >= 0.5 * frame.cell_ha() * 1e4
        && let Some((col, row)) = shape.interior_point().and_then(|p| frame.cell_of(p.x(), p.y()))
    {
        cells.push(frame.at(col, row) as u32);
    }
    cells.sort_unstable();
    cells.dedup();
    cells
}
