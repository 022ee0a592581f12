//! Woods, with the stems of each species.

use super::Values;
use super::ground::covers;
use crate::model::{Stems, Tree, Wood};
use crate::words::Word;
use geo_types::MultiPolygon;

/// More stems than this on a hectare is a slip.
const STEMS_MAX: f64 = 100_000.0;
/// A tree taller than this is a slip of the unit, metres.
const TREE_MAX_M: f64 = 80.0;

pub(super) fn wood(id: String, shape: MultiPolygon<f64>, v: &mut Values<'_, '_>) -> Option<Wood> {
    Some(Wood {
        id,
        name: v.text("name"),
        shape,
        planted: v.number("planted", 1500.0, 2200.0).map(|year| year as i32),
        stems: stems(v),
        canopy_pct: v.percent("canopy_pct"),
        open_pct: v.percent("open_pct"),
        ground_phase1: v.phase1("ground_phase1"),
        ground_covers: covers("ground_", v),
        feathered_edge: v.maybe_flag("feathered_edge"),
        extra: v.extra(),
    })
}

/// Stems by species, from a column a species, or from a column of words: `birch 1100, rowan 200`.
fn stems(v: &mut Values<'_, '_>) -> Vec<Stems> {
    let height_m = v.length("tree_height_m", TREE_MAX_M);
    let age_yr = v.number("age_yr", 0.0, 1000.0).map(|a| a as f32);
    let density = v.number("stems_per_ha", 0.0, STEMS_MAX).map(|s| s as f32);
    let mut all: Vec<Stems> = Vec::new();
    for tree in Tree::ALL {
        match v.number(tree.key(), 0.0, STEMS_MAX) {
            Some(number) if number > 0.0 => all.push(Stems { tree, stems_per_ha: number as f32, height_m, age_yr }),
            _ => {}
        }
    }
    let list = v.text("species");
    let parts: Vec<&str> = list.split([',', ';', '+', '/']).map(str::trim).filter(|p| !p.is_empty()).collect();
    for part in &parts {
        let figures_at = part.find(|c: char| c.is_ascii_digit()).unwrap_or(part.len());
        let (word, figures) = part.split_at(figures_at);
        let word = word.trim_end_matches([' ', ':', '=', '(']);
        let own: Option<f32> = figures.trim_end_matches([')', ' ']).trim_end_matches("per ha").trim_end().parse().ok();
        let share = if parts.len() == 1 { density } else { None };
        match (Tree::from_word(word), own.or(share)) {
            (Some(tree), Some(stems)) if f64::from(stems) <= STEMS_MAX && stems >= 0.0 => {
                if all.iter().any(|s| s.tree == tree) {
                    v.fault("species", format!("each species once, but {} comes twice", tree.key()), "");
                } else {
                    all.push(Stems { tree, stems_per_ha: stems, height_m, age_yr });
                }
            }
            (None, _) => v.fault("species", format!("species out of {}", Tree::all_words()), "write them as `birch 1100, rowan 200` (stems per hectare)"),
            (Some(_), _) => v.fault("species", "stems per hectare behind each species", "write them as `birch 1100, rowan 200`"),
        }
    }
    all
}
