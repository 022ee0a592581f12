//! Mixes of trees to plant: species with their shares of the stems.

use super::Fault;
use super::facts::Facts;
use crate::rules::Context;
use guidance::Unknown;
use holding::{Tree, Word};

/// Share of the stems that the shares of a mix may miss of a hundred, percent.
const SLACK_PCT: f64 = 1.0;

/// The usual native mix: the middles of the published ranges, scaled to the whole.
pub const USUAL: [(Tree, &str); 6] = [
    (Tree::Birch, "woods.mix.downy_birch"),
    (Tree::Rowan, "woods.mix.rowan"),
    (Tree::Hawthorn, "woods.mix.hawthorn"),
    (Tree::Willow, "woods.mix.willow"),
    (Tree::Alder, "woods.mix.alder"),
    (Tree::Juniper, "woods.mix.juniper"),
];

/// Species and shares 0 to 1 of fact `mix`, as given (scaled to the whole) or usual.
///
/// # Errors
/// A usual share the tables lack.
pub fn shares(context: &Context, facts: &Facts) -> Result<Vec<(Tree, f64)>, Unknown> {
    let given: Vec<(Tree, f64)> = facts
        .table("mix")
        .unwrap_or_default()
        .into_iter()
        .filter_map(|(word, pct)| Tree::from_word(&word).map(|t| (t, pct)).filter(|(_, p)| *p > 0.0))
        .collect();
    let rows = if given.is_empty() {
        USUAL.iter().map(|(tree, key)| context.number(key).map(|pct| (*tree, pct))).collect::<Result<Vec<_>, _>>()?
    } else {
        given
    };
    let sum: f64 = rows.iter().map(|r| r.1).sum();
    Ok(rows.into_iter().map(|(tree, pct)| (tree, pct / sum)).collect())
}

/// What is wrong with a mix as given.
pub fn faults(facts: &Facts) -> Vec<Fault> {
    let Some(rows) = facts.table("mix") else { return vec![] };
    let mut faults = Vec::new();
    let mut seen = Vec::new();
    for (word, pct) in &rows {
        match Tree::from_word(word) {
            None => faults.push(fault(format!("`{word}`"), format!("species out of {}", Tree::all_words()))),
            Some(tree) if seen.contains(&tree) => faults.push(fault(format!("{} twice", tree.word()), "each species once".to_string())),
            Some(tree) => seen.push(tree),
        }
        if *pct < 0.0 {
            faults.push(fault(format!("{pct} percent of {word}"), "shares from 0 to 100 percent".to_string()));
        }
    }
    let sum: f64 = rows.iter().map(|r| r.1).sum();
    if (sum - 100.0).abs() > SLACK_PCT {
        faults.push(fault(format!("shares that come to {sum} percent"), "shares that come to 100 percent of the stems".to_string()));
    }
    faults
}

fn fault(found: String, needed: String) -> Fault {
    Fault { at: "mix".to_string(), found, needed, hint: "for example --fact mix=\"birch 40, rowan 20, willow 25, hawthorn 15\"".to_string() }
}
