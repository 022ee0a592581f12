//! Heather cut or burnt in small patches, for a mosaic of ages that keeps tall heather for nests.

use super::facts::Facts;
use super::place::no_area;
use super::{Cost, Due, Entry, Fact, Fault, Form, Quantity, Usual, all_priced, cost, times, year_of};
use crate::rules::Context;
use crate::rules::places::hectares;
use crate::rules::words::number as figure;
use guidance::{Country, Unknown};
use habitat::ahead::{Doing, Programme, Work};
use holding::{Holding, Measure};

const FACTS: &[Fact] = &[
    Fact { name: "work", what: "cut or burn", form: Form::OneOf(&["cut", "burn"]), usual: Usual::Word("cut") },
    Fact {
        name: "height_cm",
        what: "height of the stubble left by cutting, cm",
        form: Form::Number { from: 1.0, to: 50.0 },
        usual: Usual::Key("heather.cutting.height"),
    },
    Fact { name: "patch_no", what: "number of the patch in the rotation", form: Form::Text, usual: Usual::MayBeLeftOut },
    Fact {
        name: "every",
        what: "cut or burnt again every so many years; left out: once",
        form: Form::Number { from: 1.0, to: 60.0 },
        usual: Usual::MayBeLeftOut,
    },
    Fact { name: "machine", what: "machine that cuts", form: Form::OneOf(&["tractor", "tracked"]), usual: Usual::Word("tractor") },
    Fact { name: "years", what: "years a repeated work is paid for", form: Form::Number { from: 1.0, to: 60.0 }, usual: Usual::Key("kind.years") },
];

/// The kind.
pub static ENTRY: Entry = Entry {
    key: "heather",
    title: "Heather cut or burnt in patches",
    explain: "Small patches, about {heather.patch.size} each or strips about {heather.patch.strip_width} wide, cut or burnt in turn so that ages stand \
side by side and no more than about {heather.patch.share_5_years} of a block goes in five years. It is for even-aged heather of {heather.burn_height} or \
more, never where it is the nest cover there is: each block of {structure.heather.block} keeps a mean of {structure.heather.block_mean_min} with parts \
above {structure.heather.tall} and below {structure.heather.short}. Cutting leaves about {heather.cutting.height} and the moss; it comes back best from \
stands about {heather.regeneration.best} old. Kept off: woodland and its edge, scrub, young trees, juniper, bog and deep peat, steep ground, {heather.burning.watercourse_margin} and \
more along watercourses. Cutting is the first choice; burning needs the season, the notice and in much of the country a licence: check the code in force. \
It can harm nests, moss and reptiles, and fire that gets away harms all. Money: machine or crew by the hectare, each time it is done within the years \
counted; undiscounted.",
    facts: FACTS,
    cautions: &["caution.burning", "caution.lone_work", "caution.weather", "caution.atv.record", "caution.atv.kit", "caution.ticks"],
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
    let mut faults = Facts::of(context, measure, FACTS).faults();
    faults.extend(no_area(measure, "the outline of the patch"));
    faults
}

fn every(facts: &Facts) -> Result<Option<u32>, Unknown> {
    Ok(facts.maybe_number("every")?.map(|v| v.round() as u32))
}

fn quantities(context: &Context, measure: &Measure) -> Result<Vec<Quantity>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let what = if facts.word("work") == "burn" { "heather burnt" } else { "heather cut" };
    let (patches, times) = (measure.shape.0.len() as f64, times(every(&facts)?, facts.number("years")?));
    let mut out = vec![Quantity { what: what.into(), amount: hectares(&measure.shape), unit: "ha" }];
    // One patch, worked once, needs no telling.
    if patches > 1.0 {
        out.push(Quantity { what: "in".into(), amount: patches, unit: "patches" });
    }
    if times > 1.0 {
        out.push(Quantity { what: "done within the years counted".into(), amount: times, unit: "times" });
    }
    Ok(out)
}

fn works(context: &Context, measure: &Measure, programme: &mut Programme) -> Result<(), Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let doing = match facts.word("work").as_str() {
        "burn" => Doing::BurnHeather,
        _ => Doing::CutHeather { height_cm: facts.number("height_cm")? as f32 },
    };
    let work = Work { id: measure.id.clone(), year: year_of(context, measure), every: every(&facts)?, area: measure.shape.clone(), doing };
    programme.works.push(work);
    Ok(())
}

/// Nothing is built.
fn features(_: &Context, _: &Measure, _: &mut Holding) -> Result<(), Unknown> {
    Ok(())
}

fn harm(context: &Context, measure: &Measure) -> Result<Vec<String>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let mut out = vec![format!(
        "{} ha give no nest cover or winter heather until they stand above {} again",
        figure(hectares(&measure.shape)),
        context.words("structure.heather.tall")?
    )];
    if facts.word("work") == "burn" {
        out.push("fire takes moss, lichen, seedlings and slow animals, dries peat, and may get away into woods and neighbours' ground".to_string());
    } else {
        out.push("a low cut strips moss, and machines rut wet peat; brash of tall heather smothers what should come back".to_string());
    }
    Ok(out)
}

fn costs(context: &Context, measure: &Measure) -> Result<Vec<Cost>, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    let times = times(every(&facts)?, facts.number("years")?);
    let (what, rate) = match (facts.word("work").as_str(), facts.word("machine").as_str()) {
        ("burn", _) => ("burning crew", "cost.market.muirburn"),
        (_, "tracked") => ("cutting with a tracked machine", "cost.market.heather_cut_tracked"),
        _ => ("cutting with a tractor", "cost.market.heather_cut_tractor"),
    };
    let what = if times > 1.0 { format!("{what}, {times:.0} times") } else { what.to_string() };
    let (ha, apart) = (hectares(&measure.shape), every(&facts)?.unwrap_or(0));
    let due = (0..times as u32).map(|time| Due { after_yr: time * apart, amount: [ha; 3] }).collect();
    Ok(vec![Cost { due, ..cost::line(context, what, ha * times, "ha", rate)? }])
}

fn window(context: &Context, measure: &Measure) -> Result<String, Unknown> {
    let facts = Facts::of(context, measure, FACTS);
    if facts.word("work") != "burn" {
        return Ok(format!(
            "Cut {} to {}, near leks by {}.",
            context.words("heather.cutting.first")?,
            context.words("heather.cutting.last")?,
            context.words("heather.cutting.last_near_leks")?
        ));
    }
    let season = match context.holding.about.country {
        Country::GB => "in the season of the country".to_string(),
        Country::Scotland => format!(
            "{} to {} under the old season, {} to {} under the new one ({}), with {} notice",
            context.words("law.muirburn.old_season.first")?,
            context.words("law.muirburn.old_season.last")?,
            context.words("law.muirburn.new_season.first")?,
            context.words("law.muirburn.new_season.last")?,
            context.words("law.muirburn.licensing_start")?,
            context.words("law.muirburn.notice_days")?,
        ),
        _ => format!("{} to {} in the uplands ({})", context.words("law.burning.upland.first")?, context.words("law.burning.upland.last")?, context.words("law.burning.night")?),
    };
    Ok(format!("Burn {season}. Check the code in force."))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::tests::{measure, with};
    use crate::rules::fixture::{moor, rect};
    use serde_json::json;

    #[test]
    fn a_rotation_is_repeated_and_paid_each_time() {
        with(&moor(), |c| {
            let m = measure("heather", rect(100.0, 100.0, 200.0, 150.0), &[("every", json!(4)), ("years", json!(10))]);
            assert!(faults(c, &m).is_empty());
            let mut programme = Programme::default();
            works(c, &m, &mut programme).unwrap();
            assert_eq!((programme.works[0].every, &programme.works[0].doing), (Some(4), &Doing::CutHeather { height_cm: 7.5 }));
            // Years 1, 5 and 9 of ten; half a hectare at 120, 160 and 200 GBP.
            assert_eq!(costs(c, &m).unwrap()[0].gbp, [180.0, 240.0, 300.0]);
        });
    }

    #[test]
    fn burning_tells_the_season_of_the_country() {
        let m = measure("heather", rect(100.0, 100.0, 200.0, 150.0), &[("work", json!("burn"))]);
        for (country, says) in [(Country::England, "15 April"), (Country::Wales, "31 March"), (Country::Scotland, "notice"), (Country::GB, "season of the country")] {
            let mut h = moor();
            h.about.country = country;
            let text = with(&h, |c| window(c, &m).unwrap());
            assert!(text.contains(says) && text.contains("code in force"), "{country}: {text}");
        }
        with(&moor(), |c| assert_eq!(costs(c, &m).unwrap()[0].rate, "cost.market.muirburn"));
    }
}
