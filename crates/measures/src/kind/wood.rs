//! Ragged native wood: small blocks with uneven edges, glades and a skirt of scrub, for snow food, cover and brood edges.

use super::facts::Facts;
use super::place::no_area;
use super::{Cost, Due, Entry, Fact, Fault, Form, Quantity, Unpriced, Usual, calendar_year, cost, mix, year_of};
use crate::rules::Context;
use crate::rules::places::{hectares, metres, outlines};
use crate::rules::words::number as figure;
use guidance::{Country, Unknown};
use habitat::ahead::{Doing, Programme, Work};
use holding::{Fence, FenceKind, Holding, Marking, Measure, Stems, Tree, Wood, Word};

const FACTS: &[Fact] = &[
    Fact {
        name: "stems_per_ha",
        what: "trees planted, by the hectare of the whole outline, glades counted in",
        form: Form::Number { from: 20.0, to: 5000.0 },
        usual: Usual::Key("kind.wood.stems"),
    },
    Fact {
        name: "mix",
        what: "species with their percent of the stems; left out: the usual native mix of the guidance",
        form: Form::Table,
        usual: Usual::MayBeLeftOut,
    },
    Fact {
        name: "open_pct",
        what: "open ground inside the outline as glades and gaps, percent",
        form: Form::Number { from: 0.0, to: 95.0 },
        usual: Usual::Key("practice.wood.open_min"),
    },
    Fact {
        name: "scrub_skirt_m",
        what: "width of the band of shrubs along the edge, m",
        form: Form::Number { from: 0.0, to: 100.0 },
        usual: Usual::Key("kind.wood.scrub_skirt"),
    },
    Fact { name: "protection", what: "how the trees are kept from stock and deer", form: Form::OneOf(&["tubes", "fence", "none"]), usual: Usual::Word("tubes") },
    Fact { name: "fence_kind", what: "kind of the fence, where a fence protects", form: Form::OneOf(&["stock", "deer"]), usual: Usual::Word("stock") },
    Fact {
        name: "fence_marking",
        what: "marking of that fence against bird strikes",
        form: Form::OneOf(&["netting", "bamboo", "pales", "none"]),
        usual: Usual::Word("netting"),
    },
    Fact {
        name: "stock_out_yr",
        what: "years stock are kept out, by fence, tubes or off the ground",
        form: Form::Number { from: 0.0, to: 60.0 },
        usual: Usual::Key("planting.sheep_out"),
    },
    Fact { name: "name", what: "name of the wood; left out: the measure's id", form: Form::Text, usual: Usual::MayBeLeftOut },
];

/// The kind.
pub static ENTRY: Entry = Entry {
    key: "wood",
    title: "Ragged native wood",
    explain: "Native trees and shrubs in small blocks, best {practice.wood.block_low} to {practice.wood.block_high} each, with an uneven outline, glades \
and a skirt of scrub: buds, catkins and berries above the snow, cover for winter, and edges for broods. It goes on open ground of little other worth: \
never near a lek or in its view, on deep peat, on flushes, bog or species-rich ground, on good brood ground, over archaeology, under wires or close to \
watercourses. From {woods.gaps_above} up leave gaps; where broods are to be reared once it has grown, keep more than {practice.wood.open_min} of the \
outline open. Common practice plants {practice.wood.species}. The usual mix is the middle of the ranges for upland northern England, scaled to the whole; choose by the ground. The first winter's \
losses, about {planting.beat_up.year_1}, and the second's, about {planting.beat_up.year_2}, are planted again. Left to close, the wood serves to an age of about \
{woods.stand_age_max} and then less: plan to thin. Money: trees, planting and protection, by the country's published rate where one was read, else the market's; \
undiscounted, grants not taken off, upkeep not counted.",
    facts: FACTS,
    cautions: &["caution.lone_work", "caution.weather", "caution.ticks", "caution.overhead_line", "caution.buried", "caution.atv.kit"],
    faults,
    quantities,
    works,
    features,
    harm,
    costs,
    unpriced,
    window,
};

fn faults(context: &Context, measure: &Measure) -> Vec<Fault> {
    let facts = Facts::of(context, measure, FACTS);
    let mut faults = facts.faults();
    faults.extend(mix::faults(&facts));
    faults.extend(no_area(measure, "the outline of the wood"));
    faults
}

/// Trees by species on the whole outline.
fn trees(context: &Context, measure: &Measure) -> Result<Vec<(Tree, f64)>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let all = facts.number("stems_per_ha")? * hectares(&measure.shape);
    Ok(mix::shares(context, &facts)?.into_iter().map(|(tree, share)| (tree, (share * all).round())).collect())
}

fn outline_m(measure: &Measure) -> f64 {
    metres(&outlines(&measure.shape))
}

/// Trees planted again in the first two winters.
fn beating_up(context: &Context, planted: f64) -> Result<f64, Unknown> {
    let share = context.number("planting.beat_up.year_1")? + context.number("planting.beat_up.year_2")?;
    Ok((planted * share / 100.0).round())
}

fn quantities(context: &Context, measure: &Measure) -> Result<Vec<Quantity>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let area = hectares(&measure.shape);
    let trees = trees(context, measure)?;
    let planted: f64 = trees.iter().map(|t| t.1).sum();
    let skirt_m = facts.number("scrub_skirt_m")?;
    let skirt = area - hectares(&ground::quick::grown(&measure.shape, -skirt_m));
    let mut out = vec![
        Quantity { what: "wood".into(), amount: area, unit: "ha" },
        Quantity { what: "open ground within".into(), amount: area * facts.number("open_pct")? / 100.0, unit: "ha" },
        Quantity { what: "scrub skirt".into(), amount: skirt, unit: "ha" },
        Quantity { what: "outline".into(), amount: outline_m(measure), unit: "m" },
    ];
    out.extend(trees.into_iter().map(|(tree, amount)| Quantity { what: tree.word().replace('_', " "), amount, unit: "trees" }));
    out.push(Quantity { what: "beating up".into(), amount: beating_up(context, planted)?, unit: "trees" });
    match facts.word("protection").as_str() {
        "tubes" => out.push(Quantity { what: "tubes and stakes".into(), amount: planted, unit: "tubes" }),
        "fence" => {
            out.push(Quantity { what: format!("{} fence", facts.word("fence_kind")), amount: outline_m(measure), unit: "m" });
            if facts.word("fence_marking") != "none" {
                out.push(Quantity { what: format!("fence marking, {}", facts.word("fence_marking")), amount: outline_m(measure), unit: "m" });
            }
        }
        _ => {}
    }
    Ok(out)
}

fn works(context: &Context, measure: &Measure, programme: &mut Programme) -> Result<(), Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let per_ha = facts.number("stems_per_ha")?;
    let unprotected = facts.word("protection") == "none" && !facts.has("stock_out_yr");
    programme.works.push(Work {
        id: measure.id.clone(),
        year: year_of(context, measure),
        every: None,
        area: measure.shape.clone(),
        doing: Doing::Plant {
            stems: mix::shares(context, &facts)?.into_iter().map(|(tree, share)| (tree, (share * per_ha) as f32)).collect(),
            open: (facts.number("open_pct")? / 100.0) as f32,
            stock_out_yr: if unprotected { 0 } else { facts.number("stock_out_yr")?.round() as u32 },
        },
    });
    Ok(())
}

fn features(context: &Context, measure: &Measure, holding: &mut Holding) -> Result<(), Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let name = facts.word("name");
    let name = if name.is_empty() { measure.id.clone() } else { name };
    let per_ha = facts.number("stems_per_ha")?;
    let mut wood = Wood::new(measure.id.clone(), measure.shape.clone());
    wood.name = name.clone();
    wood.planted = calendar_year(context, measure);
    wood.stems = mix::shares(context, &facts)?
        .into_iter()
        .map(|(tree, share)| Stems { tree, stems_per_ha: (share * per_ha) as f32, height_m: None, age_yr: None })
        .collect();
    wood.open_pct = Some(facts.number("open_pct")? as f32);
    wood.feathered_edge = Some(true);
    holding.woods.push(wood);
    if facts.word("protection") == "fence" {
        let mut fence = Fence::new(measure.id.clone(), outlines(&measure.shape));
        fence.name = format!("round {name}");
        fence.kind = FenceKind::from_word(&facts.word("fence_kind")).unwrap_or_default();
        fence.marking = Marking::from_word(&facts.word("fence_marking")).unwrap_or_default();
        holding.fences.push(fence);
    }
    Ok(())
}

/// Marking of the fence round a planting.
pub(super) fn fence_marking(context: &Context, measure: &Measure) -> String {
    Facts::of(context, measure, FACTS).word("fence_marking")
}

fn harm(context: &Context, measure: &Measure) -> Result<Vec<String>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let mut out = vec![
        format!("{} ha of open ground and what feeds and breeds there go under trees; waders nest away from them", figure(hectares(&measure.shape))),
        format!("closed and not thinned it gives the birds little once it is older than {}", context.words("woods.stand_age_max")?),
        "trees and fence posts give crows and raptors perches, and trees in a lek's view can empty it".to_string(),
    ];
    match facts.word("protection").as_str() {
        "fence" => out.push(format!(
            "{:.0} m of new fence that birds fly into{}",
            outline_m(measure),
            if facts.word("fence_marking") == "none" { ", unmarked" } else { "; marking makes it fewer" }
        )),
        "tubes" => out.push("tubes blow over and litter the hill unless checked each year and taken off in the end".to_string()),
        _ => out.push("without protection stock and deer will eat most of it".to_string()),
    }
    Ok(out)
}

fn costs(context: &Context, measure: &Measure) -> Result<Vec<Cost>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let planted: f64 = trees(context, measure)?.iter().map(|t| t.1).sum();
    let again = beating_up(context, planted)?;
    let all = planted + again;
    // Each winter's losses are planted again in the next.
    let first = (planted * context.number("planting.beat_up.year_1")? / 100.0).round().min(again);
    let due: Vec<Due> = (0..).zip([planted, first, again - first]).map(|(after_yr, trees)| Due { after_yr, amount: [trees; 3] }).collect();
    let mut out = match context.holding.about.country {
        Country::England => {
            vec![Cost { due, ..cost::line(context, "trees, supplied and planted, beating up counted in", all, "trees", "cost.england.te4_tree")? }]
        }
        _ => {
            let tree = cost::rate(context, &[(Country::Wales, "cost.wales.transplant")], "cost.market.tree");
            vec![
                Cost { due: due.clone(), ..cost::line(context, "trees, beating up counted in", all, "trees", tree)? },
                Cost { due, ..cost::line(context, "planting", all, "trees", "cost.market.plant_labour")? },
            ]
        }
    };
    let length = outline_m(measure);
    match facts.word("protection").as_str() {
        "tubes" => {
            let rate = cost::rate(context, &[(Country::England, "cost.england.te5_shelter")], "cost.market.tube_stake_labour");
            out.push(cost::line(context, "tubes and stakes", planted, "tubes", rate)?);
        }
        "fence" => {
            let rate = match facts.word("fence_kind").as_str() {
                "deer" => cost::rate(context, &[(Country::England, "cost.england.fg9_deer")], "cost.market.deer_fence"),
                _ => cost::rate(
                    context,
                    &[(Country::England, "cost.england.fg2_sheep_net"), (Country::Wales, "cost.wales.stock_net")],
                    "cost.market.stock_fence",
                ),
            };
            out.push(cost::line(context, format!("{} fence", facts.word("fence_kind")), length, "m", rate)?);
            let marking = match facts.word("fence_marking").as_str() {
                "netting" => Some("cost.market.mark_netting"),
                "bamboo" => Some("cost.market.mark_bamboo"),
                "pales" => Some("cost.market.mark_pales"),
                _ => None,
            };
            if let Some(rate) = marking {
                out.push(cost::line(context, "marking the fence", length, "m", rate)?);
            }
        }
        _ => {}
    }
    Ok(out)
}

/// Tubes are taken off again when stock come back.
fn unpriced(context: &Context, measure: &Measure) -> Result<Vec<Unpriced>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    if facts.word("protection") != "tubes" {
        return Ok(vec![]);
    }
    let tubes: f64 = trees(context, measure)?.iter().map(|t| t.1).sum();
    let due = vec![Due { after_yr: facts.number("stock_out_yr")?.round() as u32, amount: [tubes; 3] }];
    Ok(vec![Unpriced { what: "tubes taken off", unit: "tubes", rate_unit: "gbp_each", due }])
}

fn window(context: &Context, _: &Measure) -> Result<String, Unknown> {
    Ok(format!(
        "Plant {} to {}, bare-root plants by {}, on the hill best from March once frost is out; keep clear of leks at dawn {} to {}.",
        context.words("window.planting.first")?,
        context.words("window.planting.last")?,
        context.words("planting.bare_root.last")?,
        context.words("window.lek_quiet.first")?,
        context.words("window.lek_quiet.last")?,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::tests::{measure, with};
    use crate::rules::fixture::{moor, rect};
    use serde_json::json;

    /// Two hectares.
    fn block(facts: &[(&str, serde_json::Value)]) -> Measure {
        measure("wood", rect(1500.0, 1500.0, 1600.0, 1700.0), facts)
    }

    #[test]
    fn quantities_follow_the_outline_and_the_mix() {
        with(&moor(), |c| {
            let m = block(&[("stems_per_ha", json!(1000)), ("mix", json!({"birch": 60, "rowan": 40})), ("scrub_skirt_m", json!(10))]);
            assert!(faults(c, &m).is_empty(), "{:?}", faults(c, &m));
            let q = quantities(c, &m).unwrap();
            let of = |what: &str| q.iter().find(|q| q.what == what).map(|q| q.amount).unwrap();
            assert_eq!((of("birch"), of("rowan"), of("tubes and stakes")), (1200.0, 800.0, 2000.0));
            assert!((of("wood") - 2.0).abs() < 1e-9 && (of("outline") - 600.0).abs() < 1e-9);
            // 100 x 200 m less 80 x 180 m.
            assert!((of("scrub skirt") - 0.56).abs() < 1e-6, "{}", of("scrub skirt"));
            // The guidance plants 15 and 7.5 percent again.
            assert_eq!(of("beating up"), 450.0);
        });
    }

    #[test]
    fn the_usual_mix_is_whole_and_the_wood_stands_in_the_plan() {
        with(&moor(), |c| {
            let m = block(&[("protection", json!("fence")), ("name", json!("Gill wood"))]);
            let mut programme = Programme::default();
            works(c, &m, &mut programme).unwrap();
            let Doing::Plant { stems, open, stock_out_yr } = &programme.works[0].doing else { panic!("{programme:?}") };
            let sum: f32 = stems.iter().map(|s| s.1).sum();
            assert!((sum - 650.0).abs() < 0.1 && (*open - 0.4).abs() < 1e-6 && *stock_out_yr == 13, "{sum} {open} {stock_out_yr}");
            assert_eq!(programme.works[0].year, 1);
            let mut after = c.holding.clone();
            features(c, &m, &mut after).unwrap();
            let wood = after.woods.last().unwrap();
            assert_eq!((wood.id.as_str(), wood.name.as_str(), wood.planted), ("M1", "Gill wood", Some(2027)));
            assert_eq!(after.fences.last().map(|f| (f.kind, f.marking)), Some((FenceKind::Stock, Marking::Netting)));
        });
    }

    #[test]
    fn everything_wrong_is_told_at_once() {
        with(&moor(), |c| {
            let m = measure("wood", geo_types::MultiPolygon(vec![]), &[("mix", json!({"birch": 60, "palm": 50})), ("open_pct", json!(120)), ("protection", json!("magic"))]);
            let found = faults(c, &m);
            let at: Vec<&str> = found.iter().map(|f| f.at.as_str()).collect();
            assert_eq!(at, ["open_pct", "protection", "mix", "mix", "area"], "{found:#?}");
        });
    }

    #[test]
    fn the_country_sets_the_rate() {
        let mut england = moor();
        england.about.country = Country::England;
        let m = block(&[("stems_per_ha", json!(1000)), ("mix", json!({"birch": 100}))]);
        let planted = with(&england, |c| costs(c, &m).unwrap());
        // 2,000 trees and 22.5 percent again at 1.72 GBP.
        assert_eq!(planted[0].rate, "cost.england.te4_tree");
        assert!((planted[0].gbp[1] - 2450.0 * 1.72).abs() < 1e-6 && planted[0].gbp[0] == planted[0].gbp[2]);
        let market = with(&moor(), |c| costs(c, &m).unwrap());
        assert!(market.iter().all(|l| l.rate.starts_with("cost.market.") && l.gbp[0] < l.gbp[1] && l.gbp[1] < l.gbp[2]), "{market:#?}");
    }
}
