//! What ground is to the eye, and one line of facts about it. Now and in years ahead it is read from the same stand state, so that
//! a wood that grows changes its look and nothing else does.
//!
//! The groups are those of the printed maps: what leads by cover gives the look. They are a matter of drawing; nothing is worked
//! out of them.

use habitat::state::Origin;
use habitat::{Class, Stand};
use holding::{Plant, Tree};

/// Share of the stems from which one sort of tree leads alone; between, a wood is mixed. A matter of drawing.
const LEADS: f32 = 0.75;

/// What a stand is to the eye.
pub fn of(stand: &Stand) -> &'static str {
    if stand.wooded {
        return of_wood(stand);
    }
    match stand.class {
        _ if stand.flush => "flush",
        Class::NativeWood => "scrub",
        Class::YoungConifer | Class::ClosedConifer if !stand.trees.is_empty() => "conifer",
        _ => by_covers(&stand.covers),
    }
}

fn of_wood(stand: &Stand) -> &'static str {
    let stems: f32 = stand.trees.iter().map(|t| t.stems_per_ha).sum();
    let needles: f32 = stand.trees.iter().filter(|t| needled(t.tree)).map(|t| t.stems_per_ha).sum();
    let share = if stems > 0.0 { needles / stems } else { 0.0 };
    let too_young_to_bear = stems > 0.0 && stand.trees.iter().all(|t| !t.bears);
    match share {
        _ if too_young_to_bear && stand.class != Class::ClosedConifer => "young",
        s if s >= LEADS => "conifer",
        s if s > 1.0 - LEADS => "mixed",
        _ => "broadleaf",
    }
}

fn needled(tree: Tree) -> bool {
    matches!(tree, Tree::ScotsPine | Tree::Larch | Tree::Spruce | Tree::PlantedPine)
}

/// The look of open ground by what leads; heath is called by the leading one of heather and berries.
fn by_covers(covers: &[f32; 11]) -> &'static str {
    let c = |plants: &[Plant]| plants.iter().map(|p| covers[*p as usize]).sum::<f32>();
    let berries = c(&[Plant::Blaeberry, Plant::OtherBerries]);
    let heath = if berries > c(&[Plant::Heather]) { "blaeberry" } else { "heather" };
    let groups = [
        (heath, c(&[Plant::Heather]) + berries),
        ("bog", c(&[Plant::CottonGrass, Plant::Moss])),
        ("rush", c(&[Plant::Rush])),
        ("grass", c(&[Plant::SedgeGrass])),
        ("flush", c(&[Plant::Herbs])),
        ("bracken", c(&[Plant::Bracken])),
        ("crop", c(&[Plant::Crop])),
        ("bare", c(&[Plant::Bare])),
    ];
    let lead = groups.into_iter().filter(|(_, cover)| *cover > 0.0).reduce(|best, next| if next.1 > best.1 { next } else { best });
    lead.map_or("other", |(look, _)| look)
}

/// One line of facts about a stand: its trees, or its plants, and how tall it is.
pub fn words(stand: &Stand) -> String {
    let mut parts = if stand.wooded { trees(stand) } else { plants(stand) };
    if stand.flush {
        parts.insert(0, "wet flush".to_string());
    }
    if stand.covers_from == Origin::Coarse {
        parts.push("from coarse land cover, not walked".to_string());
    }
    if parts.is_empty() { "nothing recorded".to_string() } else { parts.join(", ") }
}

/// What there is most of, each with how much: three by name, or two and how many others where there are more than that.
fn leading<'a>(all: impl Iterator<Item = (&'a str, f32)>, others: &str, unit: &str) -> Vec<String> {
    let mut all: Vec<(&str, f32)> = all.collect();
    all.sort_by(|a, b| b.1.total_cmp(&a.1));
    let rest = if all.len() > 3 { all.split_off(2) } else { vec![] };
    let mut parts: Vec<String> = all.into_iter().map(|(key, much)| format!("{} {much:.0} {unit}", key.replace('_', " "))).collect();
    if !rest.is_empty() {
        parts.push(format!("{} other {others} {:.0} {unit}", rest.len(), rest.iter().map(|(_, much)| much).sum::<f32>()));
    }
    parts
}

fn trees(stand: &Stand) -> Vec<String> {
    let mut parts = leading(stand.trees.iter().map(|t| (t.tree.key(), t.stems_per_ha)), "kinds", "stems/ha");
    if stand.tree_height_m > 0.0 {
        parts.push(format!("{:.1} m tall", stand.tree_height_m));
    }
    parts.push(format!("{:.0} % under crowns", 100.0 * stand.canopy));
    parts
}

fn plants(stand: &Stand) -> Vec<String> {
    let there = Plant::ALL.into_iter().map(|p| (p.key(), 100.0 * stand.covers[p as usize])).filter(|(_, percent)| *percent >= 0.5);
    let mut parts = leading(there, "plants", "%");
    if stand.height_cm > 0.0 {
        parts.push(format!("{:.0} cm", stand.height_cm));
    }
    parts
}
