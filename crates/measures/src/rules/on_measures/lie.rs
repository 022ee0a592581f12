//! How the ground lies under a measure: peat by the probes, slope and altitude by the height model, what is near.

use super::seen::OnMeasures;
use crate::kind::cut::shared;
use crate::rules::places;
use geo::{Distance, Euclidean, InteriorPoint, Intersects};
use geo_types::{MultiLineString, MultiPolygon, Point};
use guidance::Unknown;
use habitat::layout::NO_STAND;
use holding::Probe;

/// What the probes say of a piece of ground.
pub struct Peat<'a> {
    /// Probes on it or within reach of it that found more than the limit, deepest first.
    pub deep: Vec<&'a Probe>,
    /// Ground nearer to such a probe than to any other, within its reach.
    pub piece: MultiPolygon<f64>,
    /// Hectares no probe speaks for.
    pub unprobed_ha: f64,
    /// Hectares in all.
    pub ha: f64,
}

/// Cells ground is looked at by under a measure, at most, each way.
const CELLS: f64 = 100.0;

/// Hold an area against a limit of peat depth. A probe speaks for ground within `rule.probe.reach`; between probes the nearest speaks.
///
/// # Errors
/// A figure the tables lack.
pub fn peat<'a>(o: &OnMeasures<'a>, area: &MultiPolygon<f64>, limit_cm: f64) -> Result<Peat<'a>, Unknown> {
    let reach_m = o.number("rule.probe.reach")?;
    let ha = places::hectares(area);
    let probes: Vec<&Probe> =
        o.holding().probes.iter().filter(|p| p.depth_cm.is_finite() && Euclidean.distance(&p.at, area) <= reach_m).collect();
    let mut peat = Peat { deep: Vec::new(), piece: MultiPolygon(vec![]), unprobed_ha: ha, ha };
    let Some(frame) = frame_of(area) else { return Ok(peat) };
    let (mut cells, mut spoken, mut inside, mut said) = (Vec::new(), 0usize, 0usize, vec![false; probes.len()]);
    for row in 0..frame.rows {
        for col in 0..frame.cols {
            let (x, y) = frame.centre(col, row);
            let at = Point::new(x, y);
            if !area.intersects(&at) {
                continue;
            }
            inside += 1;
            let near = probes.iter().enumerate().map(|(i, p)| (i, Euclidean.distance(&at, &p.at))).filter(|(_, d)| *d <= reach_m);
            let Some((i, _)) = near.min_by(|a, b| a.1.total_cmp(&b.1)) else { continue };
            spoken += 1;
            if f64::from(probes[i].depth_cm) > limit_cm {
                said[i] = true;
                cells.push(frame.at(col, row));
            }
        }
    }
    if inside > 0 {
        peat.unprobed_ha = ha * (inside - spoken) as f64 / inside as f64;
        peat.piece = shared(area, &places::of_cells(&frame, cells));
    }
    peat.deep = probes.iter().zip(said).filter(|(_, s)| *s).map(|(p, _)| *p).collect();
    peat.deep.sort_by(|a, b| b.depth_cm.total_cmp(&a.depth_cm));
    Ok(peat)
}

/// Square cells over an area.
fn frame_of(area: &MultiPolygon<f64>) -> Option<ground::Frame> {
    let b = geo::BoundingRect::bounding_rect(area)?;
    let cell_m = (b.width().max(b.height()) / CELLS).max(1.0);
    (b.width() > 0.0 && b.height() > 0.0 && b.width().is_finite() && b.height().is_finite())
        .then(|| ground::Frame::covering(b.min().x, b.min().y, b.max().x, b.max().y, cell_m))
}

/// Cells of the assessment whose middle lies on an area.
pub fn cells(o: &OnMeasures, area: &MultiPolygon<f64>) -> Vec<usize> {
    let frame = &o.context.assessed.layout.frame;
    let mut cells = Vec::new();
    for polygon in &area.0 {
        ground::rasterise::spans(frame, polygon, |row, from, to| cells.extend((from..to).map(|col| frame.at(col, row))));
    }
    cells.sort_unstable();
    cells.dedup();
    cells
}

/// The steep part of an area: the cells above a slope, its steepest slope in degrees; `None` where no height is known.
pub fn steep(o: &OnMeasures, area: &MultiPolygon<f64>, over_deg: f64) -> Option<(MultiPolygon<f64>, f64)> {
    let layout = &o.context.assessed.layout;
    let slope = layout.slope.as_ref()?;
    let mine: Vec<(usize, f64)> = cells(o, area).into_iter().map(|i| (i, f64::from(slope.cells[i]))).filter(|(_, s)| s.is_finite()).collect();
    let steepest = mine.iter().map(|m| m.1).fold(None, |most: Option<f64>, s| Some(most.map_or(s, |m| m.max(s))))?;
    let over: Vec<usize> = mine.iter().filter(|m| m.1 > over_deg).map(|m| m.0).collect();
    Some((shared(area, &places::of_cells(&layout.frame, over)), steepest))
}

/// Mean altitude of an area by the height model, metres.
pub fn altitude_m(o: &OnMeasures, area: &MultiPolygon<f64>) -> Option<f64> {
    let heights = o.context.assessed.layout.heights.as_ref()?;
    let all: Vec<f64> = cells(o, area).into_iter().map(|i| f64::from(heights.cells[i])).filter(|h| h.is_finite()).collect();
    if !all.is_empty() {
        return Some(all.iter().sum::<f64>() / all.len() as f64);
    }
    let at = area.interior_point()?;
    heights.at_point(at.x(), at.y()).map(f64::from).filter(|h| h.is_finite())
}

/// Mean wetness of the surveyed ground under an area, 0 dry to 1 standing water; `None` on unmapped ground.
pub fn wetness(o: &OnMeasures, area: &MultiPolygon<f64>) -> Option<f64> {
    let layout = &o.context.assessed.layout;
    let all: Vec<f64> = cells(o, area)
        .into_iter()
        .map(|i| layout.stand_of.cells[i])
        .filter(|s| *s != NO_STAND)
        .map(|s| f64::from(o.context.stands()[s as usize].wetness))
        .collect();
    (!all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64)
}

/// The part of an area within a distance of lines.
pub fn near_lines(area: &MultiPolygon<f64>, lines: &MultiLineString<f64>, within_m: f64) -> MultiPolygon<f64> {
    shared(area, &ground::buffer::along_lines(lines, within_m, ground::buffer::Style::default()))
}

/// The part of an area on another or within a distance of it.
pub fn near_area(area: &MultiPolygon<f64>, other: &MultiPolygon<f64>, within_m: f64) -> MultiPolygon<f64> {
    let round = if within_m > 0.0 { ground::buffer::around_area(other, within_m, ground::buffer::Style::default()) } else { other.clone() };
    shared(area, &round)
}

/// What a feature is called: its name, else its id.
pub fn called<'s>(name: &'s str, id: &'s str) -> &'s str {
    if name.is_empty() { id } else { name }
}

/// Hectares of small ground in words: two places below one hectare.
pub fn ha(ha: f64) -> String {
    match ha {
        h if h < 0.005 => "under 0.01 ha".to_string(),
        h if h < 0.995 => format!("{h:.2} ha"),
        h => crate::rules::words::hectares(h),
    }
}
