//! Feathering and restructuring of conifer woods: the hard edge opened in steps, stands thinned, rides opened, felled, restocked.

use super::cut::{on_woods, opened, piece_id, shared, take_out};
use super::facts::Facts;
use super::place::union;
use super::{Cost, Entry, Fact, Fault, Form, Quantity, Usual, all_priced, calendar_year, cost, mix, year_of};
use crate::rules::Context;
use crate::rules::places::hectares;
use crate::rules::words::number as figure;
use geo_types::MultiPolygon;
use ground::quick;
use guidance::{Country, Unknown};
use habitat::ahead::{Doing, Programme, Work};
use holding::{Holding, Measure, Stems, Tree, Wood, Word};

const FACTS: &[Fact] = &[
    Fact {
        name: "work",
        what: "feather a band inside the edge, thin, open a ride, fell and leave open, or fell and restock",
        form: Form::OneOf(&["feather", "thin", "ride", "fell", "restock"]),
        usual: Usual::MustBeGiven,
    },
    Fact {
        name: "keep_pct",
        what: "stems kept when feathering or thinning, percent",
        form: Form::Number { from: 0.0, to: 95.0 },
        usual: Usual::Key("kind.conifer_edge.keep"),
    },
    Fact {
        name: "width_m",
        what: "width of the feathered band, or of a ride drawn as a line, m; left out: the usual of the guidance",
        form: Form::Number { from: 2.0, to: 500.0 },
        usual: Usual::MayBeLeftOut,
    },
    Fact {
        name: "mix",
        what: "species restocked with their percent of the stems; left out: the usual native mix of the guidance",
        form: Form::Table,
        usual: Usual::MayBeLeftOut,
    },
    Fact {
        name: "stems_per_ha",
        what: "trees restocked, by the hectare of the area, gaps counted in",
        form: Form::Number { from: 20.0, to: 5000.0 },
        usual: Usual::Key("kind.wood.stems"),
    },
    Fact {
        name: "open_pct",
        what: "open ground left when restocking, percent",
        form: Form::Number { from: 0.0, to: 95.0 },
        usual: Usual::Key("practice.wood.open_min"),
    },
];

/// The kind.
pub static ENTRY: Entry = Entry {
    key: "conifer_edge",
    title: "Conifer edge feathered or restructured",
    explain: "Closed conifers with a straight, solid edge shade out heather and blaeberry and shelter what hunts the birds; most use of plantations is \
within {woods.use.most_within} of the edge. Feathering keeps about {kind.conifer_edge.keep} of the stems in a band about {kind.conifer_edge.feather} \
wide inside the edge, with gaps and single trees; thinning does so all over; a ride opens a strip about {kind.conifer_edge.ride} wide; felling leaves \
the ground open; restocking plants a native mix with more than {practice.wood.open_min} left open. Only the part of the drawn area that lies on a wood \
of the plan is worked; a feathered band is cut to it, a ride may be drawn as a line. It harms by windblow in exposed and shallow-rooted stands, by brash \
that lies for years and by machines on soft ground. Felling needs leave in all three countries unless the trees are small or few: check the code in \
force. Money: workers with saws felling young trees to waste and, when restocking, trees and planting; sale of timber, harvesters, roads and extraction are \
not counted; undiscounted.",
    facts: FACTS,
    cautions: &[
        "caution.chainsaw",
        "caution.lone_work",
        "caution.overhead_line",
        "caution.weather",
        "caution.atv.kit",
        "caution.ticks",
    ],
    faults,
    quantities,
    works,
    features,
    harm,
    costs,
    unpriced: all_priced,
    window,
};

fn faults(context: &Context, measure: &Measure) -> Vec<Fault> {
    let facts = Facts::of(context, measure, FACTS);
    let mut faults = facts.faults();
    faults.extend(mix::faults(&facts));
    let drawn = hectares(&measure.shape) > 0.0 || (facts.word("work") == "ride" && !measure.line.0.is_empty());
    let hint = "give it with --area FILE.geojson, or --on and the id of a wood; a ride may be imported as a line";
    if !drawn {
        let found = if measure.line.0.is_empty() { "nothing" } else { "a line" };
        faults.push(Fault { at: "area".into(), found: found.into(), needed: "an area on a wood (a line for a ride)".into(), hint: hint.into() });
    } else if worked(context, measure).is_ok_and(|area| hectares(&area) <= 0.0) {
        faults.push(Fault { at: "area".into(), found: "no wood of the plan under it".into(), needed: "an area on a wood".into(), hint: hint.into() });
    }
    faults
}

/// The ground worked: what was drawn, cut to the woods, and for feathering to the band inside their edges.
fn worked(context: &Context, measure: &Measure) -> Result<MultiPolygon<f64>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let work = facts.word("work");
    let given = facts.maybe_number("width_m")?;
    let drawn = match work.as_str() {
        "ride" if !measure.line.0.is_empty() => {
            let width = given.map_or_else(|| context.number("kind.conifer_edge.ride"), Ok)?;
            quick::round_lines(&measure.line, width / 2.0)
        }
        _ => measure.shape.clone(),
    };
    let parts = on_woods(context.holding, &drawn);
    if work != "feather" {
        return Ok(union(parts.into_iter().map(|(_, part)| part)));
    }
    let width = given.map_or_else(|| context.number("kind.conifer_edge.feather"), Ok)?;
    Ok(union(parts.into_iter().map(|(wood, part)| quick::difference(&part, &quick::grown(&wood.shape, -width)))))
}

/// Trees restocked, by species.
fn restocked(context: &Context, measure: &Measure) -> Result<Vec<(Tree, f64)>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    if facts.word("work") != "restock" {
        return Ok(vec![]);
    }
    let per_ha = facts.number("stems_per_ha")?;
    Ok(mix::shares(context, &facts)?.into_iter().map(|(tree, share)| (tree, share * per_ha)).collect())
}

fn quantities(context: &Context, measure: &Measure) -> Result<Vec<Quantity>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let area = worked(context, measure)?;
    let ha = hectares(&area);
    let what = match facts.word("work").as_str() {
        "feather" => "edge feathered",
        "thin" => "wood thinned",
        "ride" => "ride opened",
        "restock" => "wood felled and restocked",
        _ => "wood felled",
    };
    let mut out = vec![Quantity { what: what.into(), amount: ha, unit: "ha" }];
    let stood: f64 = on_woods(context.holding, &area)
        .iter()
        .map(|(wood, part)| hectares(part) * wood.stems.iter().map(|s| f64::from(s.stems_per_ha)).sum::<f64>())
        .sum();
    let kept = if matches!(facts.word("work").as_str(), "feather" | "thin") { facts.number("keep_pct")? / 100.0 } else { 0.0 };
    out.push(Quantity { what: "trees felled".into(), amount: (stood * (1.0 - kept)).round(), unit: "trees" });
    for (tree, per_ha) in restocked(context, measure)? {
        out.push(Quantity { what: tree.word().replace('_', " "), amount: (per_ha * ha).round(), unit: "trees" });
    }
    Ok(out)
}

fn works(context: &Context, measure: &Measure, programme: &mut Programme) -> Result<(), Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let area = worked(context, measure)?;
    let doing = match facts.word("work").as_str() {
        "feather" | "thin" => Doing::Thin { keep: (facts.number("keep_pct")? / 100.0) as f32 },
        "restock" => Doing::Restock {
            stems: restocked(context, measure)?.into_iter().map(|(tree, per_ha)| (tree, per_ha as f32)).collect(),
            open: (facts.number("open_pct")? / 100.0) as f32,
        },
        "ride" | "fell" => Doing::Fell,
        _ => return Ok(()),
    };
    programme.works.push(Work { id: measure.id.clone(), year: year_of(context, measure), every: None, area, doing });
    Ok(())
}

fn features(context: &Context, measure: &Measure, holding: &mut Holding) -> Result<(), Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let work = facts.word("work");
    let area = worked(context, measure)?;
    let pieces = take_out(holding, &area);
    let several = pieces.len() > 1;
    if work == "feather" {
        // What stays behind the band no longer ends in a wall of trees.
        let whole: Vec<String> = pieces.iter().map(|p| p.id.clone()).collect();
        holding.woods.iter_mut().filter(|w| whole.contains(&w.id)).for_each(|w| w.feathered_edge = Some(true));
    }
    let keep = (facts.number("keep_pct")? / 100.0) as f32;
    for old in pieces {
        let id = piece_id(&measure.id, &old.id, several);
        match work.as_str() {
            "feather" | "thin" => {
                let stems = old.stems.iter().map(|s| Stems { stems_per_ha: s.stems_per_ha * keep, ..*s }).collect();
                let feathered_edge = if work == "feather" { Some(true) } else { old.feathered_edge };
                holding.woods.push(Wood { id, stems, canopy_pct: old.canopy_pct.map(|c| c * keep), feathered_edge, ..old });
            }
            "restock" => {
                let mut wood = Wood::new(id, old.shape.clone());
                wood.name = old.name.clone();
                wood.planted = calendar_year(context, measure);
                wood.open_pct = Some(facts.number("open_pct")? as f32);
                wood.feathered_edge = Some(true);
                let stems = restocked(context, measure)?;
                wood.stems = stems.into_iter().map(|(tree, n)| Stems { tree, stems_per_ha: n as f32, height_m: None, age_yr: None }).collect();
                wood.ground_phase1 = old.ground_phase1.clone();
                wood.ground_covers = old.ground_covers;
                holding.woods.push(wood);
            }
            _ => holding.patches.push(opened(id, &old)),
        }
    }
    Ok(())
}

fn harm(context: &Context, measure: &Measure) -> Result<Vec<String>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let mut out = match facts.word("work").as_str() {
        "feather" | "thin" => vec![format!(
            "with {} of the stems left the stand may blow down, most where it is exposed, wet or never thinned before",
            super::words_pct(facts.number("keep_pct")?)
        )],
        "ride" => vec!["a ride that runs with the wind lets it into the stand".to_string()],
        _ => vec!["a freshly felled edge exposes the trees behind it to wind".to_string()],
    };
    out.push("brash lies for years, hides heather and hinders chicks; machines rut soft ground and silt runs to water".to_string());
    let heavy = shared(&worked(context, measure)?, &union(context.holding.areas.iter().map(|a| a.shape.clone())));
    if hectares(&heavy) > 0.0 {
        out.push(format!("{} ha of it lies in a protected or no-go area", figure(hectares(&heavy))));
    }
    Ok(out)
}

fn costs(context: &Context, measure: &Measure) -> Result<Vec<Cost>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let ha = hectares(&worked(context, measure)?);
    let (what, days) = match facts.word("work").as_str() {
        "" => return Ok(vec![]),
        "feather" | "thin" => ("felling to waste, thinning", cost::spread(context, "kind.conifer_edge.thin_days")?),
        _ => ("felling to waste", cost::spread(context, "kind.conifer_edge.fell_days")?),
    };
    let mut out = vec![cost::line_of(context, what, days.map(|d| d * ha), "worker days", "cost.market.worker")?];
    let trees: f64 = restocked(context, measure)?.iter().map(|(_, per_ha)| (per_ha * ha).round()).sum();
    if trees > 0.0 {
        if context.holding.about.country == Country::England {
            out.push(cost::line(context, "trees, supplied and planted", trees, "trees", "cost.england.te4_tree")?);
        } else {
            let tree = cost::rate(context, &[(Country::Wales, "cost.wales.transplant")], "cost.market.tree");
            out.push(cost::line(context, "trees", trees, "trees", tree)?);
            out.push(cost::line(context, "planting", trees, "trees", "cost.market.plant_labour")?);
        }
    }
    Ok(out)
}

fn window(context: &Context, _: &Measure) -> Result<String, Unknown> {
    Ok(format!(
        "Outside the nesting season, {} to {}; keep clear of leks {} to {}. Felling leave first, and check the code in force.",
        context.words("window.forestry_nesting.first")?,
        context.words("window.forestry_nesting.last")?,
        context.words("window.lek_quiet.first")?,
        context.words("window.lek_quiet.last")?,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::tests::{measure, with};
    use crate::rules::fixture::{line, moor, rect, wood};
    use serde_json::json;

    /// The moor with four hectares of spruce in its north-east corner.
    fn spruce() -> Holding {
        let mut h = moor();
        h.woods.push(wood("W1", rect(1600.0, 1600.0, 1800.0, 1800.0), Tree::Spruce, 8.0, 90.0, 2000));
        h
    }

    #[test]
    fn a_feathered_band_lies_inside_the_edge_and_in_the_area_drawn() {
        with(&spruce(), |c| {
            // Drawn over the southern half of the wood and far beyond it: band of 20 m on three sides.
            let m = measure("conifer_edge", rect(1500.0, 1500.0, 1900.0, 1700.0), &[("work", json!("feather")), ("width_m", json!(20)), ("keep_pct", json!(25))]);
            assert!(faults(c, &m).is_empty());
            // 200 x 20 m along the south and 80 x 20 m on each side.
            let ha = hectares(&worked(c, &m).unwrap());
            assert!((ha - 0.72).abs() < 1e-6, "{ha}");
            let q = quantities(c, &m).unwrap();
            assert_eq!(q[1].amount, (0.72 * 1600.0 * 0.75f64).round());
            let mut programme = Programme::default();
            works(c, &m, &mut programme).unwrap();
            assert_eq!(programme.works[0].doing, Doing::Thin { keep: 0.25 });
            let mut after = c.holding.clone();
            features(c, &m, &mut after).unwrap();
            assert_eq!(after.woods.len(), 2);
            assert_eq!(after.woods[0].feathered_edge, Some(true));
            assert!((hectares(&after.woods[0].shape) - 3.28).abs() < 1e-6);
            assert_eq!((after.woods[1].id.as_str(), after.woods[1].stems[0].stems_per_ha), ("M1", 400.0));
        });
    }

    #[test]
    fn a_ride_drawn_as_a_line_is_felled_and_becomes_open_ground() {
        with(&spruce(), |c| {
            let mut m = measure("conifer_edge", MultiPolygon(vec![]), &[("work", json!("ride")), ("width_m", json!(20))]);
            m.line = line(&[(1500.0, 1700.0), (1900.0, 1700.0)]);
            assert!(faults(c, &m).is_empty());
            let mut after = c.holding.clone();
            features(c, &m, &mut after).unwrap();
            assert!((hectares(&after.woods[0].shape) - 3.6).abs() < 1e-6);
            assert!((hectares(&after.patches.last().unwrap().shape) - 0.4).abs() < 1e-6);
        });
    }

    #[test]
    fn restocking_replaces_the_wood_and_open_moor_has_nothing_to_fell() {
        with(&spruce(), |c| {
            let m = measure("conifer_edge", rect(1600.0, 1600.0, 1800.0, 1800.0), &[("work", json!("restock")), ("mix", json!({"birch": 100})), ("stems_per_ha", json!(500))]);
            let mut after = c.holding.clone();
            features(c, &m, &mut after).unwrap();
            assert_eq!(after.woods.len(), 1);
            assert_eq!((after.woods[0].planted, after.woods[0].stems[0].tree), (Some(2027), Tree::Birch));
            let lines = costs(c, &m).unwrap();
            assert_eq!(lines.iter().map(|l| l.rate.as_str()).collect::<Vec<_>>(), ["cost.market.worker", "cost.market.tree", "cost.market.plant_labour"]);
            assert_eq!(lines[1].amount, 2000.0);
            let off = measure("conifer_edge", rect(100.0, 100.0, 200.0, 200.0), &[("work", json!("fell"))]);
            assert_eq!(faults(c, &off)[0].found, "no wood of the plan under it");
        });
    }
}
