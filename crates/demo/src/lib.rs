//! The invented demonstration holding: an upland farm made from a seed, with faults an adviser would know.
//!
//! Nothing in it is a real place, person or farm. The same seed gives the same holding, byte for byte.

mod cover;
mod dawns;
mod drainage;
mod files;
mod noise;
mod patches;
mod pieces;
mod places;
mod readings;
mod relief;
mod site;
mod story;
mod terrain;
mod tiling;
mod trees;
mod water;
mod works;

use chrono::NaiveDate;
use holding::{About, Country, Holding, Parcel};
use site::Site;
pub use files::field_files;
pub use story::story;
use tiling::{Finish, Tiling};

/// The invented holding for a seed.
pub fn holding(seed: u64) -> Holding {
    let heights = terrain::heights(seed);
    let relief = relief::Relief::of(&heights);
    let leks = places::lek_cells(&relief);
    let parcel_cells = places::divide(&relief, seed);
    let sites = cover::sites(&relief, &parcel_cells, leks);
    let covers = cover::classify(&relief, &parcel_cells, &sites, seed);
    let made = pieces::pieces(&relief, &parcel_cells, &covers, seed);
    let site = Site { relief: &relief, sites: &sites, labels: &made.labels, pieces: &made.list };
    let parcel = |label: u32| if label == 0 { 0 } else { made.list[label as usize - 1].parcel };
    let finish = |a: u32, b: u32| match (parcel(a), parcel(b)) {
        (0, 0) => Finish::Broad,
        (0, _) | (_, 0) => Finish::Flowing,
        (p, q) if p == q => Finish::Flowing,
        _ => Finish::Straight,
    };
    let mut tiling = Tiling::new(relief.frame, &made.labels, &finish);
    let patches = patches::record(&made.list, &mut tiling, &relief, leks.low, seed);
    Holding {
        about: about(),
        boundary: Some(tiling.outline(&site.labels_of(|p| p.parcel > 0))),
        parcels: parcels(&site, &mut tiling),
        woods: trees::woods(&site, &mut tiling),
        leks: dawns::leks(&site),
        visits: dawns::visits(seed),
        broods: Vec::new(),
        fences: works::fences(&site, &mut tiling),
        ditches: water::ditches(&site),
        watercourses: water::courses(&site),
        tracks: works::tracks(&site),
        services: works::services(),
        buildings: works::buildings(),
        areas: works::areas(&site, &mut tiling),
        sticks: readings::sticks(&site, &patches, seed),
        probes: readings::probes(&site, seed),
        stock: readings::stock(),
        options: vec![],
        measures: vec![],
        patches,
        crews: vec![],
        rates: vec![],
        heights: Some(heights),
    }
}

fn about() -> About {
    About {
        name: "Harkenshaw (invented)".to_string(),
        country: Country::England,
        as_at: NaiveDate::from_ymd_opt(2026, 6, 15),
        heights_source: "made from a seed for this demonstration; no such ground exists".to_string(),
        note: "An invented holding. Names, counts, stock and ground are made up.".to_string(),
        ..About::default()
    }
}

fn parcels(site: &Site, tiling: &mut Tiling) -> Vec<Parcel> {
    (1..)
        .zip(places::parcels())
        .map(|(number, plan)| {
            let mut parcel = Parcel::new(plan.id, tiling.outline(&site.labels_of(|p| p.parcel == number)));
            parcel.name = plan.name.to_string();
            parcel.kind = plan.kind;
            parcel.stubble = plan.stubble;
            parcel
        })
        .collect()
}
