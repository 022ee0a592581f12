//! Heather of one height and age over whole blocks.
//!
//! Source: guidance page on moorland: over blocks of some tens of hectares heather keeps a mean height, with long and short parts.
//! A mosaic of ages with some long heather for nests is common practice.

use super::brood_ground::share_above;
use super::{Checked, Context, Rule, Said, places, words};
use crate::finding::Severity;
use geo_types::{Point, Rect};
use habitat::Feature;
use habitat::layout::NO_STAND;
use habitat::state::Origin;
use holding::{Plant, Word};
use std::collections::BTreeMap;

/// The rule.
pub const RULE: Rule = Rule {
    key: "heather_one_age",
    title: "Heather all one height over a block",
    severity: Severity::Should,
    explain: "Cuts the ground within {reach.nesting_m} of the leks into square blocks of {structure.heather.block} (the middle of what the source gives) and judges \
        every block that is heather ground (cover {lek.heather_cover} or more) over at least the part {rule.heather.block_share}. Heather should average \
        {structure.heather.block_mean_min} or more over the block, with parts above {structure.heather.tall} and parts below {structure.heather.short}; as a \
        part counts {rule.heather.part_share} of it or more, from the mean and spread of every patch. Blocks that fail are told of together, by nearest \
        lek.\n\n\
        The heights are from a guidance page; the part is an assumption of this program. Heights of patches without measurements come from phase or habitat \
        class.\n\n\
        Why it matters: hens nest in long heather, broods and displaying cocks want it short, and all eat it; a block of one age gives one of these.\n\n\
        What to do: cut (or burn, where the law and code allow) small patches scattered over the block and leave long heather between; or rest what is too \
        short. Burning is bound by licence, season and peat depth, and is for trained people: check the code in force.",
    keys: &[
        "structure.heather.block",
        "structure.heather.block_mean_min",
        "structure.heather.tall",
        "structure.heather.short",
        "rule.heather.part_share",
        "rule.heather.block_share",
        "lek.heather_cover",
        "reach.nesting_m",
    ],
};

/// A block that fails.
struct Block {
    rect: Rect<f64>,
    lek: usize,
    ha: f64,
    mean_cm: f64,
    low: bool,
    no_long: bool,
    no_short: bool,
    stands: Vec<u32>,
}

/// Find blocks of heather of one height, by lek.
pub fn check(c: &Context) -> Checked {
    let side_m = (c.number("structure.heather.block")? * 1e4).sqrt();
    let mean_min = c.number("structure.heather.block_mean_min")?;
    let (tall_cm, short_cm) = (c.number("structure.heather.tall")?, c.number("structure.heather.short")?);
    let part = c.number("rule.heather.part_share")?;
    let least_ha = c.number("rule.heather.block_share")? * c.number("structure.heather.block")?;
    let cover = c.number("lek.heather_cover")? as f32 / 100.0;
    let reach_m = c.number("reach.nesting_m")?;
    let layout = &c.assessed.layout;
    let heather: Vec<bool> = c
        .stands()
        .iter()
        .map(|s| {
            let surveyed = s.height_from <= Origin::Class && s.covers_from <= Origin::Class;
            matches!(s.feature, Feature::Patch(_)) && surveyed && s.covers[Plant::Heather as usize] >= cover
        })
        .collect();
    // Hectares of every heather stand by block; a cell within reach of two leks counts once.
    let mut blocks: BTreeMap<(i64, i64), BTreeMap<u32, f64>> = BTreeMap::new();
    let mut seen = vec![false; layout.frame.len()];
    for lek in 0..c.leks().len() {
        c.each_cell_within(c.lek_at(lek), reach_m, |i| {
            let stand = layout.stand_of.cells[i];
            if std::mem::replace(&mut seen[i], true) || stand == NO_STAND || !heather[stand as usize] {
                return;
            }
            let (x, y) = layout.frame.centre(i % layout.frame.cols, i / layout.frame.cols);
            let block = ((x / side_m).floor() as i64, (y / side_m).floor() as i64);
            *blocks.entry(block).or_default().entry(stand).or_default() += layout.frame.cell_ha();
        });
    }
    let mut judged = vec![0usize; c.leks().len()];
    let mut failed = Vec::new();
    for ((col, row), stands) in blocks {
        let ha: f64 = stands.values().sum();
        let corner = (col as f64 * side_m, row as f64 * side_m);
        let rect = Rect::new(corner, (corner.0 + side_m, corner.1 + side_m));
        let Some((lek, _)) = c.nearest_lek(&Point::from(rect.center())).filter(|_| ha >= least_ha) else { continue };
        judged[lek] += 1;
        let over = |value: &dyn Fn(u32) -> f64| stands.iter().map(|(s, ha)| ha * value(*s)).sum::<f64>() / ha;
        let mean_cm = over(&|s| c.stands()[s as usize].height_cm as f64);
        let long = over(&|s| share_above(&c.stands()[s as usize], tall_cm));
        let short = over(&|s| 1.0 - share_above(&c.stands()[s as usize], short_cm));
        let block = Block { rect, lek, ha, mean_cm, low: mean_cm < mean_min, no_long: long < part, no_short: short < part, stands: stands.into_keys().collect() };
        if block.low || block.no_long || block.no_short {
            failed.push(block);
        }
    }
    let mut found = Vec::new();
    for (lek, judged) in judged.into_iter().enumerate() {
        let mine: Vec<&Block> = failed.iter().filter(|b| b.lek == lek).collect();
        if mine.is_empty() {
            continue;
        }
        let ha: f64 = mine.iter().map(|b| b.ha).sum();
        let mean_cm = mine.iter().map(|b| b.ha * b.mean_cm).sum::<f64>() / ha;
        let faults = [
            (mine.iter().filter(|b| b.low).count(), format!("a mean under {mean_min:.0} cm")),
            (mine.iter().filter(|b| b.no_long).count(), format!("no long heather over {tall_cm:.0} cm")),
            (mine.iter().filter(|b| b.no_short).count(), format!("no short heather under {short_cm:.0} cm")),
        ];
        let faults: Vec<String> = faults.into_iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{what} in {n}")).collect();
        let pieces = mine.iter().flat_map(|b| {
            let block = b.rect.to_polygon();
            b.stands.iter().map(move |s| places::area_inside(c.shape(&c.stands()[*s as usize]), &block))
        });
        let lek_name = c.lek_name(lek);
        found.push(c.finding(
            &RULE,
            Said {
                lek: Some(lek),
                severity: None,
                what: format!("heather near {lek_name} is all one height"),
                place: format!("{} of {judged} heather blocks near {lek_name}", mine.len()),
                geometry: places::together(pieces, c.lek_at(lek)),
                value: format!(
                    "{} of {} blocks, {} of heather, mean {mean_cm:.0} cm: {}{}",
                    mine.len(),
                    judged,
                    words::hectares(ha),
                    words::list(&faults),
                    one_phase(c, &mine)
                ),
                needed: format!(
                    "in every block of {:.0} ha a mean of {mean_min:.0} cm or more, with parts over {tall_cm:.0} cm and parts under {short_cm:.0} cm",
                    c.number("structure.heather.block")?
                ),
                why: "Hens nest in long heather, broods and cocks use it short, and all eat it; heather of one age gives only one of these.".into(),
                hint: "Make a mosaic: small cuts scattered over the block with long heather left between, or rest what is short. Burning only where licence, \
                    season, peat depth and code allow, by trained people; consent first on protected ground."
                    .into(),
                secret: vec![],
            },
        ));
    }
    Ok(found)
}

/// Words on the phase, where all recorded heather of the blocks is in one.
fn one_phase(c: &Context, blocks: &[&Block]) -> String {
    let mut phases: Vec<_> = blocks.iter().flat_map(|b| &b.stands).filter_map(|s| c.stands()[*s as usize].phase).collect();
    phases.dedup();
    match phases.as_slice() {
        [first, rest @ ..] if rest.iter().all(|p| p == first) => format!("; every patch with a recorded phase is {}", first.word()),
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, moor, run};
    use super::*;

    fn at(height_cm: f32, sd_cm: f32) -> Vec<crate::Finding> {
        let mut h = moor();
        h.patches.iter_mut().for_each(|p| (p.height_cm, p.height_sd_cm) = (Some(height_cm), Some(sd_cm)));
        run(&h, check)
    }

    #[test]
    fn even_heather_is_found_and_a_mosaic_is_not() {
        let f = at(25.0, 4.0);
        assert_eq!(f.len(), 1);
        assert!(f[0].value.contains("a mean under 30 cm") && f[0].value.contains("no long heather"), "{}", f[0].value);
        // Mean 31 with a spread of 10: 18 % above 40, 14 % below 20.
        assert!(at(31.0, 10.0).is_empty());
        // Mean 31 with a spread of 8: 13 % above 40 but 8 % below 20.
        let f = at(31.0, 8.0);
        assert!(f[0].value.contains("no short heather") && !f[0].value.contains("a mean under"), "{}", f[0].value);
    }

    #[test]
    fn ground_without_heather_is_not_judged() {
        let mut h = moor();
        for p in &mut h.patches {
            p.covers.set(Plant::Heather, 5.0);
            p.height_cm = Some(10.0);
        }
        assert!(run(&h, check).is_empty());
    }

    #[test]
    fn a_bare_survey_is_read() {
        assert!(run(&bare(), check).is_empty());
    }
}
