//! In-bye fields: stubble, roots, late-cut meadow, rush cut in turn, weedy patches.

use super::facts::Facts;
use super::place::{not_there, parcel, parcel_of};
use super::{Cost, Entry, Fact, Fault, Form, Quantity, Unpriced, Usual, cost, cut, year_of};
use crate::rules::Context;
use crate::rules::places::hectares;
use geo_types::MultiPolygon;
use guidance::Unknown;
use habitat::ahead::{Doing, Programme, Work};
use holding::{Holding, Measure, Stubble};

const FACTS: &[Fact] = &[
    Fact {
        name: "work",
        what: "stubble left over winter, roots, late-cut meadow, rush cut in turn, or a weedy patch",
        form: Form::OneOf(&["stubble", "roots", "meadow", "rush", "weedy"]),
        usual: Usual::MustBeGiven,
    },
    Fact {
        name: "share_pct",
        what: "share of the rush cut each year, percent; for rush only, for the rest draw the area",
        form: Form::Number { from: 1.0, to: 100.0 },
        usual: Usual::Key("arable.rush.share_per_year"),
    },
    Fact {
        name: "cut_height_cm",
        what: "height a meadow is cut to, cm",
        form: Form::Number { from: 2.0, to: 30.0 },
        usual: Usual::Key("arable.hay.cut_height"),
    },
    Fact {
        name: "parcel",
        what: "field, by id or name: the whole of it where no area is drawn",
        form: Form::Text,
        usual: Usual::MayBeLeftOut,
    },
    Fact { name: "years", what: "years it is done and paid for", form: Form::Number { from: 1.0, to: 60.0 }, usual: Usual::Key("kind.years") },
];

/// The kind.
pub static ENTRY: Entry = Entry {
    key: "inbye",
    title: "In-bye field managed for grouse",
    explain: "Fields near leks feed grouse in autumn and winter and broods in summer. Stubble of oats or barley left over winter, best \
{arable.stubble.size} within {arable.stubble.lek_distance_max} of a lek and left until {arable.oats.keep_until}; roots sown {arable.roots.sow_first} to \
{arable.roots.sow_last}, {arable.roots.size}, part left uneaten to {arable.roots.keep_until} (common practice: {practice.inbye.roots}); a weedy patch of {arable.weedy.size}; a meadow not cut before \
{arable.meadow.cut_first_broods} and then from the middle outwards; rush cut {arable.rush.cut_first} to {arable.rush.cut_last}, no more than \
{arable.rush.share_per_year} a year, tussocks left for nests. Each is done every year. It goes on land already farmed: never on old meadow, flush or \
species-rich ground, which ploughing or seeding destroys. Money: machine hours of sowing and of cutting rush, at the rate of cutting heather, for the years \
counted; seed, fertiliser and the crop or hay forgone are not counted, stubble left and a meadow cut later cost no machine more; undiscounted.",
    facts: FACTS,
    cautions: &["caution.overhead_line", "caution.lone_work", "caution.ticks"],
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
    let (work, said) = (facts.word("work"), facts.word("parcel"));
    if !said.is_empty() && parcel(context, &said).is_none() {
        faults.push(not_there("parcel", &said, context.holding.parcels.iter().map(|p| (p.id.as_str(), p.name.as_str()))));
    } else if hectares(&area(context, measure)) <= 0.0 {
        faults.push(Fault {
            at: "area".into(),
            found: "nothing".into(),
            needed: "an area, or a field by its id or name".into(),
            hint: "give it with --on FIELD, --area FILE.geojson or --fact parcel=FIELD".into(),
        });
    }
    if facts.has("share_pct") && !work.is_empty() && work != "rush" {
        faults.push(Fault {
            at: "share_pct".into(),
            found: format!("a share for {work}"),
            needed: "a share for rush only".into(),
            hint: "draw the part of the field that is worked and leave share_pct out".into(),
        });
    }
    faults
}

/// What was drawn, else the whole field named.
fn area(context: &Context, measure: &Measure) -> MultiPolygon<f64> {
    if hectares(&measure.shape) > 0.0 {
        return measure.shape.clone();
    }
    let said = Facts::of(context, measure, FACTS).word("parcel");
    parcel(context, &said).map_or_else(|| MultiPolygon(vec![]), |p| p.shape.clone())
}

fn quantities(context: &Context, measure: &Measure) -> Result<Vec<Quantity>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let ha = hectares(&area(context, measure));
    let what = match facts.word("work").as_str() {
        "stubble" => "stubble left",
        "roots" => "roots sown",
        "meadow" => "meadow cut late",
        "rush" => "rush ground",
        _ => "weedy patch",
    };
    let mut out = vec![Quantity { what: what.into(), amount: ha, unit: "ha" }];
    if facts.word("work") == "rush" {
        out.push(Quantity { what: "rush cut each year".into(), amount: ha * facts.number("share_pct")? / 100.0, unit: "ha" });
    }
    out.push(Quantity { what: "years".into(), amount: facts.number("years")?, unit: "years" });
    Ok(out)
}

fn works(context: &Context, measure: &Measure, programme: &mut Programme) -> Result<(), Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let doing = match facts.word("work").as_str() {
        "stubble" => Doing::Crop { left: Stubble::Left },
        "roots" | "weedy" => Doing::Crop { left: Stubble::Roots },
        "meadow" => Doing::Mow { height_cm: facts.number("cut_height_cm")? as f32 },
        "rush" => Doing::CutRush { share: (facts.number("share_pct")? / 100.0) as f32 },
        _ => return Ok(()),
    };
    let work = Work { id: measure.id.clone(), year: year_of(context, measure), every: Some(1), area: area(context, measure), doing };
    programme.works.push(work);
    Ok(())
}

/// A field of which at least half is sown or left in stubble is put down as such.
fn features(context: &Context, measure: &Measure, holding: &mut Holding) -> Result<(), Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let left = match facts.word("work").as_str() {
        "stubble" => Stubble::Left,
        "roots" | "weedy" => Stubble::Roots,
        _ => return Ok(()),
    };
    let area = area(context, measure);
    let Some(id) = parcel_of(context, &facts.word("parcel"), measure).map(|p| p.id.clone()) else { return Ok(()) };
    for field in holding.parcels.iter_mut().filter(|p| p.id == id) {
        if 2.0 * hectares(&cut::shared(&field.shape, &area)) >= hectares(&field.shape) {
            field.stubble = Some(left);
        }
    }
    Ok(())
}

fn harm(context: &Context, measure: &Measure) -> Result<Vec<String>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    Ok(match facts.word("work").as_str() {
        "stubble" => vec!["fodder and an early crop are given up; rats and deer come to grain".to_string()],
        "roots" | "weedy" => {
            vec!["ploughing destroys old grassland for good and bare soil washes off in winter; weeds seed into the next crop".to_string()]
        }
        "meadow" => vec![format!("late hay is poorer; cut before {} it kills broods that are still in it", context.words("arable.meadow.cut_first_broods")?)],
        "rush" => vec![
            "rush is nest cover and brood cover: what is cut gives none next spring".to_string(),
            format!("cut after {} it may destroy nests", context.words("arable.rush.cut_last")?),
        ],
        _ => vec![],
    })
}

fn costs(context: &Context, measure: &Measure) -> Result<Vec<Cost>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let (ha, years) = (hectares(&area(context, measure)), facts.number("years")?);
    let day = context.number("kind.day_hours")?;
    let line = |what: &str, hours: [f64; 3]| cost::line_yearly(context, format!("{what}, {years:.0} years"), hours, years, "tractor hours", "cost.market.tractor");
    Ok(match facts.word("work").as_str() {
        "roots" | "weedy" => vec![line("preparing and sowing", cost::spread(context, "workrate.sow_patch")?.map(|d| d * ha * day))?],
        "rush" => {
            let cut = ha * facts.number("share_pct")? / 100.0;
            let [low, usual, high] = cost::spread(context, "workrate.heather_cut.tractor")?;
            // A quick day's work makes few hours.
            vec![line("cutting rush", [high, usual, low].map(|per_day| cut / per_day * day))?]
        }
        _ => vec![],
    })
}

/// Seed, and what the ground would else have yielded.
fn unpriced(context: &Context, measure: &Measure) -> Result<Vec<Unpriced>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let what = match facts.word("work").as_str() {
        "roots" | "weedy" => "seed and fertiliser",
        "stubble" => "crop or fodder given up",
        "meadow" => "hay of less worth",
        _ => return Ok(vec![]),
    };
    let due = cost::yearly([hectares(&area(context, measure)); 3], facts.number("years")?);
    Ok(vec![Unpriced { what, unit: "ha", rate_unit: "gbp_per_ha", due }])
}

fn window(context: &Context, measure: &Measure) -> Result<String, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    Ok(match facts.word("work").as_str() {
        "stubble" => format!("Leave from harvest until {}.", context.words("arable.oats.keep_until")?),
        "roots" | "weedy" => format!(
            "Sow {} to {}; leave part until {}.",
            context.words("arable.roots.sow_first")?,
            context.words("arable.roots.sow_last")?,
            context.words("arable.roots.keep_until")?
        ),
        "meadow" => format!(
            "Cut not before {}, for late broods {}, from the middle outwards.",
            context.words("arable.meadow.cut_first_broods")?,
            context.words("arable.meadow.cut_first_broods_late")?
        ),
        _ => format!("Cut {} to {}.", context.words("arable.rush.cut_first")?, context.words("arable.rush.cut_last")?),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::tests::{measure, with};
    use crate::rules::fixture::{moor, rect};
    use holding::Parcel;
    use serde_json::json;

    /// The moor with a field of four hectares.
    fn field() -> Holding {
        let mut h = moor();
        let mut f = Parcel::new("F1", rect(0.0, 0.0, 200.0, 200.0));
        f.name = "Low Field".to_string();
        h.parcels = vec![f];
        h
    }

    #[test]
    fn a_whole_field_by_name_and_half_of_it_drawn() {
        with(&field(), |c| {
            let m = measure("inbye", MultiPolygon(vec![]), &[("work", json!("stubble")), ("parcel", json!("low field"))]);
            assert!(faults(c, &m).is_empty());
            assert_eq!(quantities(c, &m).unwrap()[0].amount, 4.0);
            let mut after = c.holding.clone();
            features(c, &m, &mut after).unwrap();
            assert_eq!(after.parcels[0].stubble, Some(Stubble::Left));
            assert!(costs(c, &m).unwrap().is_empty());
            let part = measure("inbye", rect(0.0, 0.0, 200.0, 50.0), &[("work", json!("roots"))]);
            let mut after = c.holding.clone();
            features(c, &part, &mut after).unwrap();
            assert_eq!(after.parcels[0].stubble, None, "a quarter is not the field");
            // One hectare, 2 days a hectare of 8 hours at 57.5 GBP, ten years.
            assert_eq!(costs(c, &part).unwrap()[0].gbp[1], 2.0 * 8.0 * 57.5 * 10.0);
        });
    }

    #[test]
    fn rush_is_cut_by_share_and_only_rush() {
        with(&field(), |c| {
            let m = measure("inbye", rect(0.0, 0.0, 100.0, 100.0), &[("work", json!("rush")), ("share_pct", json!(25)), ("years", json!(9))]);
            let mut programme = Programme::default();
            works(c, &m, &mut programme).unwrap();
            assert_eq!((programme.works[0].every, &programme.works[0].doing), (Some(1), &Doing::CutRush { share: 0.25 }));
            // A quarter hectare a year at 2.25 ha a day of 8 hours is one hour; nine years.
            let line = &costs(c, &m).unwrap()[0];
            assert!((line.amount - 8.0).abs() < 1e-9 && line.gbp[0] < line.gbp[1] && line.gbp[1] < line.gbp[2], "{line:?}");
            let wrong = measure("inbye", rect(0.0, 0.0, 100.0, 100.0), &[("work", json!("meadow")), ("share_pct", json!(25)), ("parcel", json!("gone"))]);
            assert_eq!(faults(c, &wrong).len(), 2);
        });
    }
}
