//! Every feature of the plan is drawn, by its look, with a line of facts.

use crate::support::{plan, start};
use desk::api::ground::Ground;
use desk::work::courses::Courses;
use desk::work::ground::layers;
use guidance::Guidance;
use holding::Holding;

const LOOKS: [&str; 16] = [
    "heather", "blaeberry", "bog", "rush", "flush", "grass", "bracken", "crop", "scrub", "bare", "other", "conifer", "broadleaf", "mixed", "young", "lek",
];

fn of(h: &Holding) -> Ground {
    layers(h, &Guidance::load().unwrap(), 3).unwrap()
}

#[test]
fn every_feature_is_drawn_once() {
    let h = plan();
    let ground = of(&h);
    let counts: Vec<(&str, usize)> = ground.layers.iter().map(|l| (l.layer.as_str(), l.features.len())).collect();
    let expected = [
        ("patches", h.patches.len()),
        ("woods", h.woods.len()),
        ("areas", h.areas.len()),
        ("parcels", h.parcels.len()),
        ("watercourses", h.watercourses.len()),
        ("ditches", h.ditches.len()),
        ("tracks", h.tracks.len()),
        ("fences", h.fences.len()),
        ("services", h.services.len()),
        ("buildings", h.buildings.len()),
        ("boundary", 1),
        ("probes", h.probes.len()),
        ("sticks", h.sticks.len()),
        ("leks", h.leks.len()),
    ];
    assert_eq!(counts, expected);
    assert!(h.patches.len() > 50 && h.woods.len() > 1 && h.fences.len() > 1 && !h.leks.is_empty());
    for layer in &ground.layers {
        for f in &layer.features {
            assert!(!f.id.is_empty() && !f.name.is_empty() && !f.look.is_empty() && !f.words.is_empty(), "{}: {f:?}", layer.layer);
            assert!(f.geometry["coordinates"].as_array().is_some_and(|c| !c.is_empty()), "{}: {}", layer.layer, f.id);
            if ["patches", "woods"].contains(&layer.layer.as_str()) {
                assert!(LOOKS.contains(&f.look.as_str()), "{}", f.look);
            }
        }
    }
    // The demonstration has heath, bog, grass and both sorts of wood: a classing that lumps all together is none.
    let looks: std::collections::BTreeSet<&str> = ground.layers[..2].iter().flat_map(|l| &l.features).map(|f| f.look.as_str()).collect();
    assert!(looks.len() >= 6, "{looks:?}");
}

#[test]
fn a_plan_without_leks_or_anything_is_drawn_too() {
    let ground = of(&Holding::default());
    assert!(ground.layers.len() == 14 && ground.layers.iter().all(|l| l.features.is_empty()));
}

#[test]
fn hostile_names_pass_as_data() {
    let hostile = ["<b>x</b><script>alert(1)</script>", "=1+1", "\u{202e}txet", "a\r\nb", &"x".repeat(300), "\"},{\"id\":\"", "\u{0}"];
    let mut h = plan();
    for (name, patch) in hostile.iter().zip(&mut h.patches) {
        patch.name = (*name).to_string();
    }
    h.leks[0].name = hostile[0].into();
    h.services[0].kind = hostile[5].into();
    let ground = of(&h);
    for (name, drawn) in hostile.iter().zip(&ground.layers[0].features) {
        assert_eq!(drawn.name, *name);
    }
    let back: Ground = serde_json::from_str(&serde_json::to_string(&ground).unwrap()).unwrap();
    assert_eq!(back.layers[0].features.len(), h.patches.len());
    assert_eq!(back.layers[8].features[0].words, hostile[5]);
    assert_eq!(back.layers[13].features[0].name, hostile[0]);
}

#[test]
fn woods_grow_and_what_is_planted_stands_from_its_year() {
    let start = start();
    let (_, _, course) = Courses::default().under(|| Ok((1, start.clone())), Some(1), 2).unwrap();
    let wood = |year: u32| course.year(year).unwrap().ground.woods.iter().find(|w| w.id == "wood-1").cloned();
    assert!(wood(0).is_none());
    let (young, grown) = (wood(2).unwrap(), wood(30).unwrap());
    assert_eq!(young.look, "young");
    assert!(["broadleaf", "mixed"].contains(&grown.look.as_str()), "{grown:?}");
    assert!(grown.height_m > young.height_m.map(|m| m + 2.0) && grown.crowns > young.crowns, "{young:?} {grown:?}");
    for year in [0, 15, 30] {
        let all = &course.year(year).unwrap().ground;
        assert!(all.woods.iter().chain(&all.patches).all(|s| LOOKS.contains(&s.look.as_str()) && !s.words.is_empty() && !s.id.is_empty()));
        // Every surveyed stand is there once.
        let ids: Vec<&str> = all.patches.iter().map(|p| p.id.as_str()).filter(|id| start.holding.patches.iter().any(|p| p.id == *id)).collect();
        assert_eq!(ids.len(), start.holding.patches.len());
    }
}
