//! Care of the display ground: kept short, cleared of trees, kept quiet.

use super::cut::{on_woods, opened, piece_id, take_out};
use super::facts::Facts;
use super::place::{lek, not_there};
use super::{Cost, Entry, Fact, Fault, Form, Quantity, Unpriced, Usual, cost, year_of};
use crate::rules::Context;
use crate::rules::places::{disc, hectares};
use geo::Centroid;
use geo_types::{MultiPolygon, Point};
use guidance::Unknown;
use habitat::ahead::{Doing, Programme, Work};
use holding::{Holding, Lek, Measure};

const FACTS: &[Fact] = &[
    Fact {
        name: "work",
        what: "keep the display ground short, clear trees and scrub round it, or keep people and vehicles away",
        form: Form::OneOf(&["short", "clear", "quiet"]),
        usual: Usual::MustBeGiven,
    },
    Fact { name: "lek", what: "lek, by id or name; left out: the one nearest to the area drawn", form: Form::Text, usual: Usual::MayBeLeftOut },
    Fact {
        name: "height_cm",
        what: "height the vegetation is kept at, cm",
        form: Form::Number { from: 1.0, to: 50.0 },
        usual: Usual::Key("structure.lek.vegetation_best"),
    },
    Fact {
        name: "radius_m",
        what: "radius round the lek where no area is drawn, m; left out: the display ground, the distance trees are cleared to, or the distance vehicles keep",
        form: Form::Number { from: 5.0, to: 2000.0 },
        usual: Usual::MayBeLeftOut,
    },
    Fact { name: "years", what: "years a yearly care is paid for", form: Form::Number { from: 1.0, to: 60.0 }, usual: Usual::Key("kind.years") },
];

/// The kind.
pub static ENTRY: Entry = Entry {
    key: "lek_care",
    title: "Lek cared for",
    explain: "Cocks display on short, open ground with a view all round. Short: the display ground is grazed or mown to about \
{structure.lek.vegetation_best}, above {structure.lek.vegetation_max} it is left. Clear: trees and scrub that creep in are taken out within \
{structure.lek.tree_clearance} of the lek. Quiet: no vehicles within {disturbance.vehicle_distance} and no work or walkers near while the birds \
display, {window.lek_quiet.first} to {window.lek_quiet.last}, most of all at dawn. The area is what was drawn, else a round about the lek. Work goes on \
outside those months only; the place of a lek is told to nobody who need not know. It harms little: scrub taken out was cover and food, and machines can \
rut soft ground. Money: mowing at the rate of cutting heather each year, worker days to clear; quiet costs no more than signs and talk, which are not \
counted; undiscounted.",
    facts: FACTS,
    cautions: &["caution.chainsaw", "caution.lone_work", "caution.weather", "caution.atv.kit", "caution.ticks"],
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
    if lek_of(context, measure).is_none() {
        faults.push(not_there("lek", &facts.word("lek"), context.holding.leks.iter().map(|l| (l.id.as_str(), l.name.as_str()))));
    }
    faults
}

/// The lek named, else the one nearest to the middle of the area drawn.
fn lek_of<'a>(context: &Context<'a>, measure: &Measure) -> Option<&'a Lek> {
    let said = Facts::of(context, measure, FACTS).word("lek");
    if !said.is_empty() {
        return lek(context, &said);
    }
    let middle: Point<f64> = measure.shape.centroid()?;
    let far = |l: &Lek| (l.at.x() - middle.x()).hypot(l.at.y() - middle.y());
    context.holding.leks.iter().min_by(|a, b| far(a).total_cmp(&far(b)))
}

/// What was drawn, else a round about the lek.
fn area(context: &Context, measure: &Measure) -> Result<MultiPolygon<f64>, Unknown> {
    if hectares(&measure.shape) > 0.0 {
        return Ok(measure.shape.clone());
    }
    let facts = Facts::of(context, measure, FACTS);
    let Some(lek) = lek_of(context, measure) else { return Ok(MultiPolygon(vec![])) };
    let radius = match (facts.maybe_number("radius_m")?, facts.word("work").as_str()) {
        (Some(radius), _) => radius,
        (None, "clear") => context.number("structure.lek.tree_clearance")?,
        (None, "quiet") => context.number("disturbance.vehicle_distance")?,
        (None, _) => lek.radius_m.map_or_else(|| context.number("lek.radius_m"), Ok)?,
    };
    Ok(MultiPolygon(vec![disc(lek.at, radius)]))
}

fn quantities(context: &Context, measure: &Measure) -> Result<Vec<Quantity>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let area = area(context, measure)?;
    let what = match facts.word("work").as_str() {
        "short" => "ground kept short",
        "clear" => "ground cleared of trees and scrub",
        _ => "ground kept quiet",
    };
    let mut out = vec![Quantity { what: what.into(), amount: hectares(&area), unit: "ha" }];
    match facts.word("work").as_str() {
        "clear" => {
            let wood: f64 = on_woods(context.holding, &area).iter().map(|(_, part)| hectares(part)).sum();
            out.push(Quantity { what: "of it mapped wood".into(), amount: wood, unit: "ha" });
        }
        _ => out.push(Quantity { what: "years".into(), amount: facts.number("years")?, unit: "years" }),
    }
    Ok(out)
}

fn works(context: &Context, measure: &Measure, programme: &mut Programme) -> Result<(), Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let (doing, every) = match facts.word("work").as_str() {
        "short" => (Doing::KeepShort { height_cm: facts.number("height_cm")? as f32 }, Some(1)),
        "clear" => (Doing::ClearTrees, None),
        "quiet" => (Doing::Quiet, Some(1)),
        _ => return Ok(()),
    };
    let work = Work { id: measure.id.clone(), year: year_of(context, measure), every, area: area(context, measure)?, doing };
    programme.works.push(work);
    Ok(())
}

/// Cleared woods become open ground.
fn features(context: &Context, measure: &Measure, holding: &mut Holding) -> Result<(), Unknown> {
    if Facts::of(context, measure, FACTS).word("work") != "clear" {
        return Ok(());
    }
    let pieces = take_out(holding, &area(context, measure)?);
    let several = pieces.len() > 1;
    for old in pieces {
        holding.patches.push(opened(piece_id(&measure.id, &old.id, several), &old));
    }
    Ok(())
}

fn harm(context: &Context, measure: &Measure) -> Result<Vec<String>, Unknown> {
    Ok(match Facts::of(context, measure, FACTS).word("work").as_str() {
        "short" => vec!["short ground gives no nest or cover; machines rut it when wet".to_string()],
        "clear" => vec!["scrub and trees taken out were food in snow and cover: plant as much elsewhere".to_string()],
        "quiet" => vec![format!(
            "people and stock work must go round {} to {}; keep rights of way open",
            context.words("window.lek_quiet.first")?,
            context.words("window.lek_quiet.last")?
        )],
        _ => vec![],
    })
}

fn costs(context: &Context, measure: &Measure) -> Result<Vec<Cost>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let ha = hectares(&area(context, measure)?);
    Ok(match facts.word("work").as_str() {
        "short" => {
            let years = facts.number("years")?;
            vec![cost::line_yearly(context, format!("mowing, {years:.0} years"), [ha; 3], years, "ha", "cost.market.heather_cut_tractor")?]
        }
        "clear" => {
            let days = cost::spread(context, "kind.lek_care.clear_days")?.map(|d| d * ha);
            vec![cost::line_of(context, "clearing by hand", days, "worker days", "cost.market.worker")?]
        }
        _ => vec![],
    })
}

/// Signs and talk where people are to keep away.
fn unpriced(context: &Context, measure: &Measure) -> Result<Vec<Unpriced>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    if facts.word("work") != "quiet" {
        return Ok(vec![]);
    }
    Ok(vec![Unpriced { what: "signs and talk", unit: "years", rate_unit: "gbp_per_year", due: cost::yearly([1.0; 3], facts.number("years")?) }])
}

fn window(context: &Context, measure: &Measure) -> Result<String, Unknown> {
    let (first, last) = (context.words("window.lek_quiet.first")?, context.words("window.lek_quiet.last")?);
    Ok(match Facts::of(context, measure, FACTS).word("work").as_str() {
        "quiet" => format!("Keep quiet {first} to {last}, most of all at dawn."),
        _ => format!(
            "Work {} to {}, never {first} to {last}, when the birds display.",
            context.words("window.cutting.first")?,
            context.words("window.cutting.last")?
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::tests::{measure, with};
    use crate::rules::fixture::{moor, rect, wood};
    use holding::Tree;
    use serde_json::json;

    #[test]
    fn a_round_about_the_lek_is_kept_short_every_year() {
        with(&moor(), |c| {
            let m = measure("lek_care", MultiPolygon(vec![]), &[("work", json!("short")), ("lek", json!("testrigg")), ("radius_m", json!(50)), ("years", json!(4))]);
            assert!(faults(c, &m).is_empty());
            let mut programme = Programme::default();
            works(c, &m, &mut programme).unwrap();
            assert_eq!((programme.works[0].every, &programme.works[0].doing), (Some(1), &Doing::KeepShort { height_cm: 10.0 }));
            // A circle of 50 m is 0.785 ha; four years at 160 GBP a hectare.
            let gbp = costs(c, &m).unwrap()[0].gbp[1];
            assert!((gbp - std::f64::consts::PI * 0.25 * 4.0 * 160.0).abs() < 1.0, "{gbp}");
        });
    }

    #[test]
    fn trees_are_cleared_out_of_the_woods() {
        let mut h = moor();
        h.woods.push(wood("W1", rect(1010.0, 900.0, 1210.0, 1100.0), Tree::Birch, 4.0, 40.0, 2010));
        with(&h, |c| {
            let m = measure("lek_care", MultiPolygon(vec![]), &[("work", json!("clear")), ("lek", json!("L1"))]);
            let mut after = c.holding.clone();
            features(c, &m, &mut after).unwrap();
            let (left, open) = (hectares(&after.woods[0].shape), hectares(&after.patches.last().unwrap().shape));
            assert!((left + open - 4.0).abs() < 1e-6 && open > 0.2 && open < 0.4, "{left} {open}");
            let near = measure("lek_care", rect(1010.0, 900.0, 1210.0, 1100.0), &[("work", json!("clear"))]);
            let mut after = c.holding.clone();
            features(c, &near, &mut after).unwrap();
            assert!(after.woods.is_empty());
        });
    }

    #[test]
    fn an_unknown_lek_is_told() {
        with(&moor(), |c| {
            let found = faults(c, &measure("lek_care", MultiPolygon(vec![]), &[("lek", json!("moon"))]));
            assert_eq!(found.iter().map(|f| f.at.as_str()).collect::<Vec<_>>(), ["work", "lek"]);
            assert!(found[1].hint.contains("Testrigg"));
        });
    }
}
