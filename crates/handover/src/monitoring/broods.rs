//! The sheet of a ground walk for broods, one for the leks of a kilometre square.
//!
//! Blocks are squares of the kilometre grid: about the hundred hectares that counts with dogs walk, and no finer than a withheld lek is told.

use super::sources::Sources;
use super::{Column, day_of_year, named};
use crate::map::Scene;
use crate::pack::{Fault, Pack};
use crate::raster;
use crate::secrecy::{SQUARE_M, Secrecy};
use birds::found::{brood_season, hens_needed, in_season};
use chrono::Datelike;
use geo::{Area, BoundingRect, Contains, Intersects};
use geo_types::{Coord, MultiPolygon, Point, Rect};
use ground::Grid;
use ground::overlay::{distance_to_area_m, intersection};
use habitat::Season;
use serde::Serialize;
use std::collections::BTreeMap;

/// Years of counts printed beside.
const YEARS: usize = 4;
/// Ground of the holding a square must have to be walked as a block, hectares.
const BLOCK_LEAST_HA: f64 = 5.0;
/// Lines are told to so many metres.
const ROUND_M: f64 = 10.0;

/// The table to write in, and the columns of the file it becomes. What has no column of its own in a plan is kept beside the count.
pub const COLUMNS: [Column; 17] = [
    Column { head: "Lek", goes: "lek", mm: 17.0 },
    Column { head: "Date", goes: "date", mm: 17.0 },
    Column { head: "Block", goes: "block", mm: 14.0 },
    Column { head: "Start", goes: "start", mm: 13.0 },
    Column { head: "End", goes: "end", mm: 13.0 },
    Column { head: "Hens", goes: "hens", mm: 11.0 },
    Column { head: "… with brood", goes: "hens_with_brood", mm: 24.0 },
    Column { head: "Young, all", goes: "young", mm: 13.0 },
    Column { head: "¼ grown", goes: "young_1q", mm: 12.5 },
    Column { head: "½", goes: "young_2q", mm: 12.5 },
    Column { head: "¾", goes: "young_3q", mm: 12.5 },
    Column { head: "full", goes: "young_4q", mm: 12.5 },
    Column { head: "Not sexed", goes: "unsexed", mm: 14.0 },
    Column { head: "Place, grid ref.", goes: "grid_ref", mm: 25.0 },
    Column { head: "Sward, cm", goes: "sward", mm: 14.0 },
    Column { head: "Dogs", goes: "dogs", mm: 11.0 },
    Column { head: "Notes", goes: "note", mm: 0.0 },
];

/// What the sheets say.
#[derive(Debug, Serialize)]
pub struct Broods {
    columns: Vec<Column>,
    rules: Vec<String>,
    /// What so many hens tell.
    tells: String,
    past: Vec<String>,
    grounds: Vec<Ground>,
    sources: Vec<String>,
}

/// The brood ground of the leks of one square.
#[derive(Debug, Serialize)]
struct Ground {
    leks: String,
    /// What stands in the column `lek` of the file; empty where it is one of several.
    id: String,
    /// Block, what of it is the holding's, what of that is good for broods.
    blocks: Vec<[String; 3]>,
    map: Option<String>,
}

/// The sheets, with their maps by file name.
///
/// # Errors
/// A figure that guidance does not hold.
pub fn of(pack: &Pack, secrecy: &Secrecy, scene: Option<&Scene>) -> Result<(Broods, Vec<(String, String)>), Fault> {
    let (guidance, country) = (pack.guidance, pack.holding.about.country);
    let mut sources = Sources::new(guidance, country);
    let (most, blocks_from) = sources.number("monitoring.brood.blocks")?;
    let (reach_m, reach_from) = sources.number("reach.brood_m")?;
    let rules = rules(pack, &mut sources, &blocks_from, &reach_from)?;
    let (least, from) = sources.number("counts.brood.hens_least")?;
    let points: Vec<String> = hens_needed(guidance, country)?.iter().map(|(hens, percent)| format!("{hens:.0} hens ±{percent:.0}")).collect();
    let error_from = sources.mark(&["counts.brood.standard_error"])?;
    let tells = format!("Fewer than {least:.0} hens in a summer, all blocks together, tell nothing {from}. A share of hens with a brood of one half is known to: {} points (standard error) {error_from}.", points.join(", "));
    let (mut grounds, mut pictures) = (vec![], vec![]);
    for (i, (leks, blocks)) in blocks(pack, secrecy, reach_m, most as usize).into_iter().enumerate() {
        let outlined: Vec<(String, MultiPolygon<f64>)> = blocks.iter().map(|b| (b.name.clone(), MultiPolygon(vec![b.square.to_polygon()]))).collect();
        let map = scene.filter(|_| !blocks.is_empty()).map(|scene| (format!("blocks-{i}.svg"), scene.field(&outlined, &[], 84.0, 70.0).svg));
        let names: Vec<String> = leks.iter().map(|l| named(pack.holding.leks[*l].called())).collect();
        let id = if let [one] = leks[..] { named(&pack.holding.leks[one].id) } else { String::new() };
        let blocks = blocks.iter().map(|b| [b.name.clone(), format!("{:.0} ha", b.ha), b.good.clone()]).collect();
        grounds.push(Ground { leks: crate::words::list(&names), id, blocks, map: map.as_ref().map(|(name, _)| name.clone()) });
        pictures.extend(map);
    }
    Ok((Broods { columns: COLUMNS.to_vec(), rules, tells, past: past(pack)?, grounds, sources: sources.into_list() }, pictures))
}

fn rules(pack: &Pack, sources: &mut Sources, blocks_from: &str, reach_from: &str) -> Result<Vec<String>, Fault> {
    let [first, last] = brood_season(pack.guidance, pack.holding.about.country)?;
    let season = sources.mark(&["counts.brood.first", "counts.brood.last"])?;
    let ((block_ha, _), (lines, _)) = (sources.number("monitoring.brood.block")?, sources.number("monitoring.brood.lines")?);
    let walked = sources.mark(&["monitoring.brood.block", "monitoring.brood.lines"])?;
    let apart_m = ((block_ha * 10_000.0).sqrt() / lines / ROUND_M).round() * ROUND_M;
    Ok(vec![
        format!("From {} to {} {season}: counts outside these days are kept and left out of young per hen.", day_of_year(first), day_of_year(last)),
        format!("Walk every block once, in lines about {apart_m:.0} m apart: {lines:.0} to a block of {block_ha:.0} ha {walked}. Blocks: kilometre squares best for broods, within reach of the lek {reach_from}, up to so many {blocks_from}."),
        sources.sentence("monitoring.brood.dogs")?,
        sources.sentence("monitoring.brood.weather")?,
        "A line each time hens are found, and one with noughts for a block where none were. Ask the holder first; gates as found; keep off stock with young.".to_owned(),
    ])
}

/// Hens and young of the last summers, counted in season.
fn past(pack: &Pack) -> Result<Vec<String>, Fault> {
    let season = brood_season(pack.guidance, pack.holding.about.country)?;
    let mut years: BTreeMap<i32, (u32, u32)> = BTreeMap::new();
    for count in pack.holding.broods.iter().filter(|c| in_season(c, season)) {
        let sum = years.entry(count.date.year()).or_default();
        *sum = (sum.0.saturating_add(count.hens.unwrap_or(0)), sum.1.saturating_add(count.young.unwrap_or(0)));
    }
    let told = years.iter().rev().take(YEARS).map(|(year, (hens, young))| format!("{year}: {hens} hens, {young} young"));
    Ok(told.collect())
}

/// A square to walk.
struct Block {
    name: String,
    square: Rect<f64>,
    ha: f64,
    good: String,
}

/// The leks of each kilometre square, with the blocks within reach of its middle that are nearest to it of all such middles, best first.
fn blocks(pack: &Pack, secrecy: &Secrecy, reach_m: f64, most: usize) -> Vec<(Vec<usize>, Vec<Block>)> {
    let corner = |v: f64| (v / SQUARE_M).floor() * SQUARE_M;
    let mut grounds: Vec<(Point<f64>, Vec<usize>)> = vec![];
    for (i, lek) in pack.holding.leks.iter().enumerate() {
        let middle = Point::new(corner(lek.at.x()) + SQUARE_M / 2.0, corner(lek.at.y()) + SQUARE_M / 2.0);
        match grounds.iter_mut().find(|(known, _)| *known == middle) {
            Some((_, leks)) => leks.push(i),
            None => grounds.push((middle, vec![i])),
        }
    }
    let middles: Vec<Point<f64>> = grounds.iter().map(|g| g.0).collect();
    let value = pack.pictures.value.iter().find(|(season, _)| *season == Season::Brood).map(|(_, grid)| secrecy.grid(pack.holding, grid));
    let own = |middle: &Point<f64>| {
        let wide = (reach_m / SQUARE_M).ceil() as i64;
        let around = (-wide..=wide).flat_map(|dx| (-wide..=wide).map(move |dy| (dx, dy)));
        let mut found: Vec<(f64, Block)> = around
            .filter_map(|(dx, dy)| {
                let low = Coord { x: corner(middle.x()) + dx as f64 * SQUARE_M, y: corner(middle.y()) + dy as f64 * SQUARE_M };
                let square = Rect::new(low, Coord { x: low.x + SQUARE_M, y: low.y + SQUARE_M });
                let away = |from: &Point<f64>| (from.x() - low.x - SQUARE_M / 2.0).hypot(from.y() - low.y - SQUARE_M / 2.0);
                let nearest = middles.iter().min_by(|a, b| away(a).total_cmp(&away(b)))?;
                let within = distance_to_area_m(middle.0, &MultiPolygon(vec![square.to_polygon()])) <= reach_m;
                (within && nearest == middle).then(|| block(pack, secrecy, square, value.as_deref()))?
            })
            .collect();
        found.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.name.cmp(&b.1.name)));
        found.truncate(most);
        found.into_iter().map(|(_, block)| block).collect()
    };
    grounds.iter().map(|(middle, leks)| (leks.clone(), own(middle))).collect()
}

/// A square as a block, with its worth; `None` where hardly any of it is the holding's.
fn block(pack: &Pack, secrecy: &Secrecy, square: Rect<f64>, value: Option<&Grid<f32>>) -> Option<(f64, Block)> {
    let whole = MultiPolygon(vec![square.to_polygon()]);
    let held = match &pack.holding.boundary {
        Some(boundary) if boundary.bounding_rect().is_some_and(|r| r.intersects(&square)) => intersection(boundary, &whole),
        Some(_) => return None,
        None => whole,
    };
    let ha = held.unsigned_area() / 10_000.0;
    let worth_ha = value.map(|grid| worth_ha(grid, &held));
    let name = secrecy.grid_reference(square.min().into(), 4);
    let good = worth_ha.map_or_else(|| "not valued".to_owned(), |good| secrecy.share(good / ha.max(1e-9)));
    (ha >= BLOCK_LEAST_HA).then(|| (worth_ha.unwrap_or(ha), Block { name, square, ha, good }))
}

/// Worth of ground to broods: value times area of the cells whose middles lie in a shape, hectares.
fn worth_ha(grid: &Grid<f32>, shape: &MultiPolygon<f64>) -> f64 {
    let near = shape.bounding_rect().and_then(|r| raster::cut(grid, [r.min().x, r.min().y, r.max().x, r.max().y]));
    let Some(near) = near else { return 0.0 };
    let f = near.frame;
    let cells = (0..f.len()).map(|i| (f.centre(i % f.cols, i / f.cols), f64::from(near.get(i % f.cols, i / f.cols))));
    let sum: f64 = cells.filter(|((x, y), value)| value.is_finite() && shape.contains(&Point::new(*x, *y))).map(|(_, value)| value).sum();
    sum * f.dx_m * f.dy_m / 10_000.0
}
