//! Open ground within brood reach of a lek, as the sward rules see it.

use super::places;
use super::{Context, Rule, Said};
use crate::finding::Finding;
use geo_types::MultiPolygon;
use guidance::Unknown;
use habitat::state::Origin;
use habitat::{Class, Feature, Stand, sward};

/// A stand of open ground, cut to the brood reach of its nearest lek.
pub struct BroodStand<'a> {
    /// The stand.
    pub stand: &'a Stand,
    /// Index of the nearest lek.
    pub lek: usize,
    /// The part within reach, display ground left out.
    pub piece: MultiPolygon<f64>,
    /// Hectares of that part.
    pub ha: f64,
}

/// Part of a stand's sward above a height, 0 to 1, its heights taken as normally spread.
pub fn share_above(stand: &Stand, level_cm: f64) -> f64 {
    let level = level_cm as f32;
    sward::share_past(stand.height_cm, stand.height_sd_cm, level - 0.5, level + 0.5) as f64
}

/// Surveyed moor and rough grass within brood reach that `wanted` picks.
///
/// # Errors
/// A missing figure.
pub fn stands<'a>(c: &Context<'a>, wanted: impl Fn(&Stand) -> bool) -> Result<Vec<BroodStand<'a>>, Unknown> {
    let reach_m = c.number("reach.brood_m")?;
    let mut out = Vec::new();
    for stand in c.stands() {
        let open = matches!(stand.feature, Feature::Patch(_)) && matches!(stand.class, Class::Moor | Class::RoughGrass);
        let surveyed = stand.height_from <= Origin::Class && stand.covers_from <= Origin::Class;
        if !(open && surveyed && wanted(stand)) {
            continue;
        }
        let Some((lek, _)) = c.nearest_lek(c.shape(stand)).filter(|(_, d)| *d < reach_m) else { continue };
        let at = c.lek_at(lek);
        let near = places::area_inside(c.shape(stand), &places::disc(at, reach_m));
        let piece = ground::quick::difference(&near, &MultiPolygon(vec![places::disc(at, c.leks()[lek].ground.radius_m)]));
        let ha = places::hectares(&piece);
        if ha > 0.0 {
            out.push(BroodStand { stand, lek, piece, ha });
        }
    }
    Ok(out)
}

/// What a sward rule says of the ground of one lek.
pub struct Uniform {
    /// What the sward is: `short`, `tall`.
    pub is: &'static str,
    /// What is needed.
    pub needed: String,
    /// Why.
    pub why: &'static str,
    /// What to do.
    pub hint: &'static str,
}

/// One finding a lek over the stands picked, where they reach `least_ha` together.
pub fn findings(c: &Context, rule: &Rule, picked: Vec<BroodStand>, least_ha: f64, told: &Uniform) -> Vec<Finding> {
    let mut found = Vec::new();
    for lek in 0..c.leks().len() {
        let mut mine: Vec<&BroodStand> = picked.iter().filter(|b| b.lek == lek).collect();
        mine.sort_by(|a, b| b.ha.total_cmp(&a.ha));
        let ha: f64 = mine.iter().map(|b| b.ha).sum();
        if mine.is_empty() || ha < least_ha {
            continue;
        }
        let names: Vec<String> = mine.iter().map(|b| c.stand_name(b.stand)).collect();
        let mean_cm = mine.iter().map(|b| b.ha * b.stand.height_cm as f64).sum::<f64>() / ha;
        let guessed: f64 = mine.iter().filter(|b| b.stand.height_from == Origin::Class).map(|b| b.ha).sum();
        let guess = if guessed > 0.0 { format!("; {} of it judged from the habitat class, not measured", habitat::say::hectares(guessed)) } else { String::new() };
        let lek_name = c.lek_name(lek);
        let list = super::words::list(&names);
        found.push(c.finding(
            rule,
            Said {
                lek: Some(lek),
                severity: None,
                what: format!("the sward is {} all over in brood ground of {lek_name}", told.is),
                place: format!("{list}, near {lek_name}"),
                geometry: places::together(mine.iter().map(|b| b.piece.clone()), c.lek_at(lek)),
                value: format!("{} uniformly {}, mean {mean_cm:.0} cm, on {list}{guess}", habitat::say::hectares(ha), told.is),
                needed: told.needed.clone(),
                why: told.why.into(),
                hint: told.hint.into(),
                secret: c.names_kept_back(mine.iter().map(|b| b.stand)),
            },
        ));
    }
    found
}
