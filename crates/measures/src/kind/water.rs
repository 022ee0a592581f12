//! Water brought back: ditches blocked with dams, scrapes dug for chick insects.
//!
//! Dams themselves are in [`super::dams`]. Sources: broods choose wet flushes; dams from the schemes named there; blocking six
//! years old brought back about half of the water table (Holden and others 2011); how far wetting reaches is assumed; scrapes
//! are practice from memory.

use super::dams::{self, DamType, Plan};
use super::facts::Facts;
use super::place::{no_area, not_there};
use super::{Cost, Entry, Fact, Fault, Form, Quantity, Usual, all_priced, cost, year_of};
use crate::rules::Context;
use crate::rules::places::{hectares, metres};
use geo::Intersects;
use geo_types::{LineString, MultiLineString, MultiPolygon};
use ground::buffer;
use guidance::{Country, Unknown};
use habitat::ahead::{Doing, Programme, Work};
use holding::{AreaKind, Ditch, Holding, Measure};

const FACTS: &[Fact] = &[
    Fact {
        name: "work",
        what: "block a whole ditch, dam only the stretch along the line drawn, or dig scrapes on the area drawn",
        form: Form::OneOf(&["block", "dam", "scrape"]),
        usual: Usual::MustBeGiven,
    },
    Fact { name: "ditch", what: "ditch to block or dam, by id", form: Form::Text, usual: Usual::MayBeLeftOut },
    Fact {
        name: "spacing_m",
        what: "distance between dams, m; left out: by the fall of the ground",
        form: Form::Number { from: 1.0, to: 200.0 },
        usual: Usual::MayBeLeftOut,
    },
    Fact { name: "scrape_m2", what: "size of one scrape, m²", form: Form::Number { from: 1.0, to: 5000.0 }, usual: Usual::Key("water.scrape.area") },
    Fact { name: "per_ha", what: "scrapes on a hectare", form: Form::Number { from: 0.1, to: 50.0 }, usual: Usual::Key("water.scrape.per_ha") },
];

/// Figures only the text below names.
pub const NAMED: &[&str] = &[
    "water.dam.repair_year",
    "water.dam.repair_share",
    "water.table.blocked",
    "water.table.drained",
    "water.table.intact",
    "water.scrape.edge_slope",
];

/// The kind.
pub static ENTRY: Entry = Entry {
    key: "water",
    title: "Ditch blocked or scrapes dug",
    explain: "Wet flushes and bog breed the insects chicks live on, and ditches take that water away. Dams stand one for each {water.dam.fall} of fall, never \
nearer than {water.dam.clamp_low} nor farther than {water.dam.clamp_high}; heights come from the height model, smoothed so that the ditch never runs uphill, \
and say which way it runs. Without heights dams stand {water.dam.spacing_mean} apart. Peat dams by hand in ditches up to {water.peat_dam.hand.width_max} wide and \
{water.peat_dam.hand.depth_max} deep, by excavator up to {water.peat_dam.excavator.width_max} and {water.peat_dam.excavator.depth_max}, plastic piling up to \
{water.piling.width_max}; where the ditch falls by more than {water.peat_dam.slope_max} timber or stone, {water.timber_dam.spacing} apart, and above \
{water.machine.slope_max} it is left. On ground with less than {water.ypp.peat_min} of peat, or cut to the mineral, heather bales up to {water.bale.width} wide, \
else timber or stone. A peat dam fills the ditch to {water.dam.above_top} above its top over {water.dam.length_widths} ditch widths; mend dams that fail by year \
{water.dam.repair_year}, and all of them where more than {water.dam.repair_share} do.\n\n\
Left open: ditches marked to keep running, and stretches within {water.keep.building} of a building, {water.keep.track} of a track or {water.keep.boundary} of the \
boundary, on historic ground, water supplies or ground the owner keeps out (distances assumed). Water each dam turns out is followed {water.check.flow} down the \
height model; where it comes to a building or a neighbour the measure is refused, where it comes to a track it is told.\n\n\
Ground wetted: in blanket peat {water.reach.blanket_peat.up} up and {water.reach.blanket_peat.down} down the slope, in peaty gley {water.reach.peaty_gley}, in clay \
{water.reach.clay_gley} (assumed; peat lies where a probe or a moor stand says so). Slow: water stood {water.table.blocked} below the surface six years after \
blocking, {water.table.drained} where drained, {water.table.intact} where intact.\n\n\
Scrapes: about {water.scrape.per_ha} of {water.scrape.area}, {water.scrape.depth} deep, edges {water.scrape.edge_slope} or flatter, in dry weather; not on sound bog, \
species-rich flush or archaeology. Work {water.season.first} to {water.season.last}, near leks to {water.season.last_near_leks}; scrapes {water.scrape.first} to \
{water.scrape.last}. Money: market rates, undiscounted; carriage to far sites is not counted. Consent may be needed: check the code in force.",
    facts: FACTS,
    cautions: &["caution.excavator", "caution.excavator.people", "caution.excavator.edge_depths", "caution.buried", "caution.lone_work", "caution.weather", "caution.overhead_line", "law.text.protected_species"],
    faults,
    quantities,
    works,
    features,
    harm,
    costs,
    unpriced: all_priced,
    window,
};

/// The ditch a measure speaks of.
fn ditch_of<'a>(c: &Context<'a>, measure: &Measure) -> Option<&'a Ditch> {
    let said = Facts::of(c, measure, FACTS).word("ditch");
    c.holding.ditches.iter().find(|d| d.id == said)
}

/// Whether the measure digs scrapes.
fn scrapes(c: &Context, measure: &Measure) -> bool {
    Facts::of(c, measure, FACTS).word("work") == "scrape"
}

/// The dams of a measure; `None` where it digs scrapes or names no ditch there is.
///
/// # Errors
/// A figure the tables lack.
pub fn plan(c: &Context, measure: &Measure) -> Result<Option<Plan>, Unknown> {
    let facts = Facts::of(c, measure, FACTS);
    let Some(ditch) = ditch_of(c, measure).filter(|_| !scrapes(c, measure)) else { return Ok(None) };
    let only = (facts.word("work") == "dam").then_some(&measure.line);
    dams::plan(c, ditch, only, facts.maybe_number("spacing_m")?).map(Some)
}

fn faults(c: &Context, measure: &Measure) -> Vec<Fault> {
    let facts = Facts::of(c, measure, FACTS);
    let mut faults = facts.faults();
    if scrapes(c, measure) {
        faults.extend(no_area(measure, "the ground to dig scrapes on"));
        faults.extend(c.holding.areas.iter().filter(|a| a.shape.intersects(&measure.shape)).filter_map(|a| {
            let what = match a.kind {
                AreaKind::Historic => "historic ground",
                AreaKind::SpeciesRich => "species-rich ground",
                AreaKind::NoGo => "ground the owner keeps out",
                _ => return None,
            };
            Some(Fault {
                at: "shape".into(),
                found: format!("scrapes on {what}, {}", super::called(&a.name, &a.id)),
                needed: "scrapes clear of historic and species-rich ground and of ground kept out".into(),
                hint: "draw the area round it".into(),
            })
        }));
        return faults;
    }
    let Some(ditch) = ditch_of(c, measure) else {
        faults.push(not_there("ditch", &facts.word("ditch"), c.holding.ditches.iter().map(|d| (d.id.as_str(), ""))));
        return faults;
    };
    let fault = |at: &str, found: String, needed: &str, hint: &str| Fault { at: at.into(), found, needed: needed.into(), hint: hint.into() };
    if let Some(why) = dams::barred(ditch) {
        faults.push(fault("ditch", format!("ditch {}: {why}", ditch.id), "an open ditch that may be blocked", "choose another, or correct the survey"));
        return faults;
    }
    if facts.word("work") == "dam" && measure.line.0.is_empty() {
        faults.push(fault("line", "no line".into(), "the stretch to dam, drawn along the ditch", "draw it, or use work=block for the whole ditch"));
    }
    if let (Ok(Some(apart)), Ok(most)) = (facts.maybe_number("spacing_m"), c.number("water.dam.spacing_max"))
        && apart > most
    {
        faults.push(fault("spacing_m", format!("{apart} m"), &format!("at most {most} m"), "leave it out: dams then stand by the fall of the ground"));
    }
    if let Ok(Some(plan)) = plan(c, measure) {
        if plan.runs.is_empty() {
            let why: Vec<&str> = plan.open.iter().map(|o| o.why.as_str()).collect();
            let why = if why.is_empty() { "the line lies nowhere along it".to_string() } else { why.join("; ") };
            faults.push(fault("ditch", format!("ditch {}: no stretch is left to block ({why})", ditch.id), "a stretch clear of all that", "choose another ditch"));
        }
        for spill in plan.spills.iter().filter(|s| s.onto != dams::flow::Onto::Track) {
            faults.push(fault("ditch", spill.words(), "water that comes to no building and no neighbour", "dam only the stretch above it: work=dam with a line, or lead the water off first"));
        }
    }
    faults
}

/// Scrapes: how many, square metres, cubic metres dug at most.
fn scraped(c: &Context, measure: &Measure) -> Result<[f64; 3], Unknown> {
    let facts = Facts::of(c, measure, FACTS);
    let ha = hectares(&measure.shape);
    let many = if ha > 0.0 { (ha * facts.number("per_ha")?).round().max(1.0) } else { 0.0 };
    let m2 = many * facts.number("scrape_m2")?;
    Ok([many, m2, m2 * c.number("water.scrape.depth")? / 100.0])
}

fn quantities(c: &Context, measure: &Measure) -> Result<Vec<Quantity>, Unknown> {
    let one = |what: &str, amount: f64, unit: &'static str| Quantity { what: what.into(), amount, unit };
    if scrapes(c, measure) {
        let [many, m2, m3] = scraped(c, measure)?;
        return Ok(vec![one("scrapes", many, "scrapes"), one("scraped", m2, "m²"), one("spoil at most", m3, "m³"), one("ground", hectares(&measure.shape), "ha")]);
    }
    let Some(plan) = plan(c, measure)? else { return Ok(Vec::new()) };
    quantities_of(c, &plan)
}

/// The quantities of planned dams.
///
/// # Errors
/// A figure the tables lack.
pub fn quantities_of(c: &Context, plan: &Plan) -> Result<Vec<Quantity>, Unknown> {
    let mut out: Vec<Quantity> = DamType::BUILT
        .iter()
        .map(|kind| (kind, plan.count(*kind)))
        .filter(|(_, n)| *n > 0)
        .map(|(kind, n)| Quantity { what: kind.words().into(), amount: n as f64, unit: "dams" })
        .collect();
    let [width_cm, depth_cm] = plan.size_cm;
    let peat = plan.count(DamType::HandPeat) + plan.count(DamType::MachinePeat);
    if peat > 0 {
        out.push(Quantity { what: "peat in dams".into(), amount: peat as f64 * dams::peat_m3(c, width_cm, depth_cm)?, unit: "m³" });
    }
    let piling = plan.count(DamType::Piling);
    if piling > 0 {
        let section_m2 = width_cm * depth_cm / 1e4;
        out.push(Quantity { what: "piling".into(), amount: piling as f64 * section_m2 * c.number("water.piling.area_ratio")?, unit: "m²" });
    }
    out.push(Quantity { what: "ditch blocked".into(), amount: plan.length_m(), unit: "m" });
    let open: f64 = plan.open.iter().map(|o| o.length_m).sum();
    if open > 0.0 {
        out.push(Quantity { what: "ditch left open".into(), amount: open, unit: "m" });
    }
    out.push(Quantity { what: "ground wetted".into(), amount: plan.wetted_ha(), unit: "ha" });
    Ok(out)
}

fn works(c: &Context, measure: &Measure, programme: &mut Programme) -> Result<(), Unknown> {
    let (area, doing) = if scrapes(c, measure) {
        (measure.shape.clone(), Doing::Scrape)
    } else {
        (plan(c, measure)?.map_or(MultiPolygon(vec![]), |p| p.wetted), Doing::Wet)
    };
    if !area.0.is_empty() {
        programme.works.push(Work { id: measure.id.clone(), year: year_of(c, measure), every: None, area, doing });
    }
    Ok(())
}

/// The dammed runs become the ditch, blocked; what stays open becomes a ditch of its own with the measure's id behind.
fn features(c: &Context, measure: &Measure, holding: &mut Holding) -> Result<(), Unknown> {
    let Some(plan) = plan(c, measure)?.filter(|p| !p.runs.is_empty()) else { return Ok(()) };
    let said = Facts::of(c, measure, FACTS).word("ditch");
    let Some(at) = holding.ditches.iter().position(|d| d.id == said) else { return Ok(()) };
    let lines = plan.lines();
    let rest = rest_of(&holding.ditches[at].shape, &lines, c.number("fence.snap")?);
    if !rest.0.is_empty() {
        let open = Ditch { id: format!("{said}.{}", measure.id), shape: rest, ..holding.ditches[at].clone() };
        holding.ditches.insert(at + 1, open);
        holding.ditches[at].shape = lines;
    }
    holding.ditches[at].blocked = true;
    Ok(())
}

/// What of a line lies off the stretches worked.
fn rest_of(line: &MultiLineString<f64>, worked: &MultiLineString<f64>, snap_m: f64) -> MultiLineString<f64> {
    let flat = buffer::Style { cap: buffer::Cap::Flat, ..buffer::Style::default() };
    let rest = ground::quick::lines_outside(&buffer::along_lines(worked, snap_m, flat), line);
    MultiLineString(rest.0.into_iter().filter(|l: &LineString<f64>| metres(&MultiLineString(vec![l.clone()])) >= 1.0).collect())
}

fn harm(c: &Context, measure: &Measure) -> Result<Vec<String>, Unknown> {
    let mut out = Vec::new();
    let touched = |shape: &MultiPolygon<f64>, out: &mut Vec<String>| {
        for a in c.holding.areas.iter().filter(|a| a.shape.intersects(shape)) {
            let name = super::called(&a.name, &a.id);
            match a.kind {
                AreaKind::Sssi | AreaKind::European => out.push(format!("Touches protected ground ({name}): consent before any digging; check the code in force.")),
                AreaKind::WaterSupply => out.push(format!("Touches a water supply ({name}): talk to whoever drinks it first.")),
                AreaKind::Historic => out.push(format!("Touches historic ground ({name}): wetting and digging may need consent.")),
                _ => {}
            }
        }
    };
    let services = |shape: &MultiPolygon<f64>| c.holding.services.iter().any(|s| s.shape.intersects(shape));
    if scrapes(c, measure) {
        touched(&measure.shape, &mut out);
        if services(&measure.shape) {
            out.push("A service crosses the ground to be dug: get its plans and keep clear.".into());
        }
        let on_flush = c.stands().iter().any(|s| s.flush && c.shape(s).intersects(&measure.shape));
        if on_flush {
            out.push("Lies on a flush: look for rare plants first and scrape beside them, not through them.".into());
        }
        out.push("Spoil left in heaps gives foxes and crows a perch: spread it thin. Stock may poach soft edges.".into());
        return Ok(out);
    }
    let Some(plan) = plan(c, measure)? else { return Ok(out) };
    touched(&plan.wetted, &mut out);
    if services(&plan.wetted) {
        out.push("A service crosses the ditch: get its plans before digging.".into());
    }
    for spill in &plan.spills {
        out.push(format!("{}{}.", spill.words()[..1].to_uppercase(), &spill.words()[1..]));
    }
    if plan.short_pools > 0 {
        out.push(format!("On {} of its dams the pool does not reach the foot of the dam above: water will run between them and may cut the bed.", plan.short_pools));
    }
    let (deep_cm, slide_deg) = (100.0 * c.number("water.slide.peat_depth")?, c.number("water.slide.slope")?);
    let deep = plan.peat_cm.map_or(plan.soil == dams::Soil::BlanketPeat, |cm| cm > deep_cm);
    if deep && plan.steepest_deg > slide_deg {
        out.push(format!(
            "Peat deeper than {deep_cm:.0} cm on {:.0} degrees, steeper than {slide_deg:.1}: have the risk of a peat slide looked at before water is held there.",
            plan.steepest_deg
        ));
    }
    if !plan.by_heights {
        out.push("No heights along the ditch: dams stand evenly, and neither slope nor the way the water takes was looked at.".into());
    }
    if plan.peat_cm.is_none() && plan.count(DamType::HandPeat) + plan.count(DamType::MachinePeat) > 0 {
        out.push(format!(
            "No peat probe within {} of the ditch: probe before work; where peat is under {} or the bed is mineral, peat dams fail and timber or stone is needed.",
            c.words("water.probe.near")?,
            c.words("water.ypp.peat_min")?
        ));
    }
    if plan.size_assumed {
        out.push("Width or depth of the ditch was not measured; that of a usual moor grip is taken. Measure before ordering.".into());
    }
    out.push("Pools and soft ground can drown lambs and chicks and bog stock and vehicles: batter the edges, tell whoever gathers the hill.".into());
    out.push("Stock graze wetted ground less, and drier plants beside the ditch give way over years.".into());
    Ok(out)
}

fn costs(c: &Context, measure: &Measure) -> Result<Vec<Cost>, Unknown> {
    if scrapes(c, measure) {
        let [_, m2, _] = scraped(c, measure)?;
        return Ok(vec![cost::line(c, "scrapes dug", m2, "m²", "cost.market.scrape")?]);
    }
    plan(c, measure)?.map_or(Ok(Vec::new()), |plan| costs_of(c, &plan))
}

/// The costs of planned dams.
///
/// # Errors
/// A figure the tables lack.
pub fn costs_of(c: &Context, plan: &Plan) -> Result<Vec<Cost>, Unknown> {
    let mut out = Vec::new();
    for kind in DamType::BUILT {
        if let (n @ 1.., Some(key)) = (plan.count(kind), kind.cost_key()) {
            out.push(cost::line(c, kind.words(), n as f64, "dams", key)?);
        }
    }
    Ok(out)
}

fn window(c: &Context, measure: &Measure) -> Result<String, Unknown> {
    if scrapes(c, measure) {
        return Ok(format!("{} to {}, on dry ground", c.words("water.scrape.first")?, c.words("water.scrape.last")?));
    }
    let mut words = format!(
        "{} to {}; within {} of a lek stop by {}; not in hard frost or on ground full of snowmelt. Work from the top down.",
        c.words("water.season.first")?,
        c.words("water.season.last")?,
        c.words("window.fence_work.lek_distance")?,
        c.words("water.season.last_near_leks")?
    );
    match c.holding.about.country {
        Country::England | Country::Wales => words.push_str(&format!(
            " Where the ditch counts as a watercourse, consent first: about {} and {} a structure; the grip-blocking option also wants a letter on flood risk. Check the code in force.",
            c.words("water.consent.months")?,
            c.words("water.consent.fee")?
        )),
        Country::Scotland => words.push_str(&format!(
            " Environmental authorisations apply (new rules from {} 2025): ask where a natural burn is near or the channel is wide. Check the code in force.",
            c.words("water.consent.environmental_authorisations")?
        )),
        Country::GB => words.push_str(" A consent may be needed where the ditch counts as a watercourse. Check the code in force."),
    }
    Ok(words)
}

/// The measure that blocks a ditch.
pub fn block(ditch: &Ditch) -> Measure {
    Measure {
        id: format!("block-{}", ditch.id),
        kind: ENTRY.key.into(),
        line: ditch.shape.clone(),
        facts: [("work".to_string(), "block".into()), ("ditch".to_string(), ditch.id.clone().into())].into_iter().collect(),
        ..Measure::default()
    }
}
