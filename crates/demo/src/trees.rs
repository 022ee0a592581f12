//! Woods: the conifer block, the young native wood, the old gill birches, the thorn bank.

use crate::cover::Cover;
use crate::site::Site;
use crate::tiling::Tiling;
use holding::{Covers, Plant, Stems, Tree, Wood};

/// The woods of the holding.
pub fn woods(site: &Site, tiling: &mut Tiling) -> Vec<Wood> {
    let stems = |list: &[(Tree, f32, f32, f32)]| {
        list.iter().map(|&(tree, per_ha, height, age)| Stems { tree, stems_per_ha: per_ha, height_m: Some(height), age_yr: Some(age) }).collect::<Vec<_>>()
    };
    let mut out = Vec::new();
    let mut add = |cover: Cover, name: &str, edit: &dyn Fn(&mut Wood)| {
        let labels = site.labels_with(cover);
        if !labels.is_empty() {
            let mut wood = Wood::new(format!("N{:02}", out.len() + 1), tiling.outline(&labels));
            wood.name = name.to_string();
            edit(&mut wood);
            out.push(wood);
        }
    };
    add(Cover::Conifer, "Mirkhope Plantation", &|wood| {
        wood.planted = Some(1978);
        wood.stems = stems(&[(Tree::Spruce, 1_650.0, 19.0, 48.0), (Tree::PlantedPine, 150.0, 15.0, 48.0)]);
        wood.canopy_pct = Some(94.0);
        wood.open_pct = Some(3.0);
        wood.ground_phase1 = Some("A1.2.2".to_string());
        wood.feathered_edge = Some(false);
    });
    add(Cover::YoungWood, "Peat Road Wood", &|wood| {
        wood.planted = Some(2019);
        wood.stems = stems(&[(Tree::Birch, 520.0, 2.3, 7.0), (Tree::Rowan, 260.0, 1.9, 7.0), (Tree::Willow, 220.0, 1.7, 7.0), (Tree::Hawthorn, 130.0, 1.2, 7.0)]);
        wood.open_pct = Some(32.0);
        wood.ground_phase1 = Some("B1.1".to_string());
        wood.feathered_edge = Some(true);
        let mut covers = Covers::default();
        covers.set(Plant::SedgeGrass, 66.0);
        covers.set(Plant::Herbs, 11.0);
        covers.set(Plant::Heather, 8.0);
        wood.ground_covers = covers;
    });
    add(Cover::GillWood, "Thrummel Gill", &|wood| {
        wood.planted = Some(1932);
        wood.stems = stems(&[(Tree::Birch, 210.0, 9.5, 70.0), (Tree::Rowan, 60.0, 8.0, 60.0), (Tree::Alder, 45.0, 9.0, 60.0), (Tree::Willow, 40.0, 5.0, 35.0)]);
        wood.canopy_pct = Some(42.0);
        wood.open_pct = Some(45.0);
        wood.feathered_edge = Some(true);
    });
    add(Cover::Thorns, "Sike thorns", &|wood| {
        wood.planted = Some(1965);
        wood.stems = stems(&[(Tree::Hawthorn, 150.0, 3.6, 50.0), (Tree::Willow, 40.0, 3.0, 30.0)]);
        wood.open_pct = Some(60.0);
        wood.feathered_edge = Some(true);
    });
    out
}
