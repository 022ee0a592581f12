//! How ground is drawn: a colour and a hatch for every look of vegetation and wood.

use crate::svg::hatch::Hatch;
use crate::svg::palette::{BENT, LICHEN, LING};
use holding::model::{Covers, Patch, Plant, Wood};

/// A look of ground, as the map legend lists it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Look {
    /// Heather, blaeberry and other dwarf shrubs lead.
    Heath,
    /// Cotton-grass and bog-moss lead.
    Bog,
    /// Rush leads.
    Rush,
    /// Grass and sedge lead.
    Grass,
    /// Herbs lead, or a wet flush.
    Flush,
    /// Bracken leads.
    Bracken,
    /// Crop, stubble or roots.
    Crop,
    /// Bare ground and rock.
    Bare,
    /// Nobody has said.
    Unknown,
    /// Wood of mostly dark plantation conifers.
    Conifer,
    /// Any other wood.
    Native,
}

impl Look {
    /// All looks in legend order.
    pub const ALL: [Look; 11] = [
        Look::Heath,
        Look::Bog,
        Look::Rush,
        Look::Grass,
        Look::Flush,
        Look::Bracken,
        Look::Crop,
        Look::Bare,
        Look::Native,
        Look::Conifer,
        Look::Unknown,
    ];

    /// The words of the legend.
    pub fn words(self) -> &'static str {
        match self {
            Look::Heath => "heather and berry heath",
            Look::Bog => "cotton-grass and bog",
            Look::Rush => "rush",
            Look::Grass => "grass and sedge",
            Look::Flush => "herbs and wet flush",
            Look::Bracken => "bracken",
            Look::Crop => "crop, stubble, roots",
            Look::Bare => "bare ground, rock",
            Look::Unknown => "vegetation not recorded",
            Look::Conifer => "plantation conifers",
            Look::Native => "other wood and scrub",
        }
    }

    /// Ground colour and the hatch over it.
    pub fn paint(self) -> (&'static str, Hatch) {
        match self {
            Look::Heath => (LING, Hatch::Heath),
            Look::Bog => ("#d3d9d4", Hatch::Bog),
            Look::Rush => ("#cfcf9f", Hatch::Rush),
            Look::Grass => (BENT, Hatch::Grass),
            Look::Flush => ("#dde6cf", Hatch::Flush),
            Look::Bracken => ("#d9b891", Hatch::Bracken),
            Look::Crop => ("#eadfc9", Hatch::Crop),
            Look::Bare => ("#e6e3de", Hatch::Bare),
            Look::Unknown => ("#f4f2ec", Hatch::Unmapped),
            Look::Conifer => ("#8b9a78", Hatch::Spires),
            Look::Native => (LICHEN, Hatch::Crowns),
        }
    }
}

/// The look of a patch: by its covers where any was recorded, else by its Phase 1 class.
pub fn of_patch(patch: &Patch) -> Look {
    if patch.flush {
        return Look::Flush;
    }
    by_covers(&patch.covers).or_else(|| patch.phase1.as_deref().and_then(by_class)).unwrap_or(Look::Unknown)
}

/// The look of a wood: by the kind most of its stems are of.
pub fn of_wood(wood: &Wood) -> Look {
    let total: f32 = wood.stems.iter().map(|s| s.stems_per_ha).sum();
    let dark: f32 = wood.stems.iter().filter(|s| s.tree.is_plantation_conifer()).map(|s| s.stems_per_ha).sum();
    if total > 0.0 && dark > total / 2.0 { Look::Conifer } else { Look::Native }
}

fn by_covers(covers: &Covers) -> Option<Look> {
    let sum = |plants: &[Plant]| plants.iter().filter_map(|p| covers.of(*p)).sum::<f32>();
    let looks = [
        (Look::Heath, sum(&[Plant::Heather, Plant::Blaeberry, Plant::OtherBerries])),
        (Look::Bog, sum(&[Plant::CottonGrass, Plant::Moss])),
        (Look::Rush, sum(&[Plant::Rush])),
        (Look::Grass, sum(&[Plant::SedgeGrass])),
        (Look::Flush, sum(&[Plant::Herbs])),
        (Look::Bracken, sum(&[Plant::Bracken])),
        (Look::Crop, sum(&[Plant::Crop])),
        (Look::Bare, sum(&[Plant::Bare])),
    ];
    looks.into_iter().filter(|(_, cover)| *cover > 0.0).reduce(|best, next| if next.1 > best.1 { next } else { best }).map(|(look, _)| look)
}

/// Letters of the Phase 1 habitat classification (JNCC 2010), coarsely.
fn by_class(class: &str) -> Option<Look> {
    let class = class.trim().to_ascii_uppercase();
    let starts = |list: &[&str]| list.iter().any(|s| class.starts_with(s));
    Some(match () {
        () if starts(&["A1.2", "A1.3"]) => Look::Conifer,
        () if starts(&["A"]) => Look::Native,
        () if starts(&["B5"]) => Look::Rush,
        () if starts(&["B"]) => Look::Grass,
        () if starts(&["C1"]) => Look::Bracken,
        () if starts(&["C"]) => Look::Flush,
        () if starts(&["D"]) => Look::Heath,
        () if starts(&["E2"]) => Look::Flush,
        () if starts(&["E4", "H", "I"]) => Look::Bare,
        () if starts(&["E"]) => Look::Bog,
        () if starts(&["J1"]) => Look::Crop,
        () => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo_types::MultiPolygon;

    #[test]
    fn what_was_measured_beats_the_class() {
        let mut patch = Patch::new("p", MultiPolygon(vec![]));
        assert_eq!(of_patch(&patch), Look::Unknown);
        patch.phase1 = Some("B5".into());
        assert_eq!(of_patch(&patch), Look::Rush);
        patch.covers.set(Plant::Heather, 30.0);
        patch.covers.set(Plant::Blaeberry, 20.0);
        patch.covers.set(Plant::SedgeGrass, 40.0);
        assert_eq!(of_patch(&patch), Look::Heath);
        patch.flush = true;
        assert_eq!(of_patch(&patch), Look::Flush);
    }
}
