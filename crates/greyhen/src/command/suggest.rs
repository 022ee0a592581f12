//! `greyhen suggest`: measures of a kind put forward, and laid in an option.

use super::course::Start;
use super::measure::{MONEY, gbp_json, gbp_words, new_id};
use crate::fail::Fail;
use crate::{Draws, Ended, PlanFile, talk};
use desk::Progress;
use desk::api::ask::LOOKS_S;
use geo::{BoundingRect, Centroid};
use holding::Measure;
use measures::kind;
use measures::rules::Context;
use measures::secrecy::to_one_figure;
use measures::suggest::{LeftOut, Suggested, fence, grazing, heather, water, wood};
use serde_json::{Value, json};
use std::cell::OnceCell;
use std::ops::RangeInclusive;
use std::path::Path;
use std::time::{Duration, Instant};

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  greyhen suggest hill.gpkg wood                       put woods forward and leave the plan as it is
  greyhen suggest hill.gpkg wood --option 1 --ha 12    lay them in option 1
  greyhen suggest hill.gpkg fence --option 1 --most 3
  greyhen suggest hill.gpkg heather --tracked          a rotation of small cut patches over ten years
  greyhen suggest hill.gpkg grazing --plants-only      where the flock goes by month, held to what plants bear

Woods and heather are chosen with a bound: the gap says how much better any other choice among the outlines tried could be. Check the option after:
greyhen check hill.gpkg --option 1. It advises; it does not license.")]
pub struct Suggest {
    #[command(flatten)]
    plan: PlanFile,
    #[command(flatten)]
    question: Question,
    #[command(flatten)]
    draws: Draws,
    /// Give outlines and lines in the JSON; they may show where leks lie
    #[arg(long)]
    show_leks: bool,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// What is put forward, and within which limits.
#[derive(clap::Args)]
pub struct Question {
    /// What is put forward: wood, heather (a rotation of patches), grazing (the flock's year), water (ditches to block), fence (taken down, marked, moved)
    #[arg(value_name = "KIND", value_parser = KINDS)]
    pub kind: String,
    /// The option to lay the measures in; left out, the plan stays as it is
    #[arg(long, value_name = "N")]
    pub option: Option<u32>,
    /// The most ground in all, hectares (wood)
    #[arg(long, value_name = "HA", value_parser = above_nought)]
    pub ha: Option<f64>,
    /// The most money, pounds at the usual rates (wood, water, fence)
    #[arg(long, value_name = "GBP", value_parser = above_nought)]
    pub budget: Option<f64>,
    /// Least and greatest size of a wood or heather patch, hectares, such as 1-5
    #[arg(long, value_name = "FROM-TO", value_parser = range)]
    pub size: Option<(f64, f64)>,
    /// Least and greatest shape index of a wood (1 a circle), such as 1.3-2.2
    #[arg(long, value_name = "FROM-TO", value_parser = range)]
    pub shape: Option<(f64, f64)>,
    /// Let woods stand on in-bye fields too (wood)
    #[arg(long)]
    pub fields: bool,
    /// Years planned (heather)
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(i64::from(*YEARS.start())..=i64::from(*YEARS.end())))]
    pub years: Option<u32>,
    /// Cut with a tracked machine, which goes on steeper ground than a tractor (heather)
    #[arg(long, conflicts_with = "burn")]
    pub tracked: bool,
    /// Burn instead of cutting; licences, seasons and trained people: check the code in force (heather)
    #[arg(long)]
    pub burn: bool,
    /// Hold sheep to what heather, blaeberry and fields bear, not to the stocking that suits black grouse (grazing)
    #[arg(long)]
    pub plants_only: bool,
    /// The most measures laid (water, fence)
    #[arg(long, value_name = "N")]
    pub most: Option<usize>,
    /// Seconds the choice among woods or heather patches may take
    #[arg(long, value_name = "S", default_value_t = LOOKS_S, value_parser = above_nought)]
    pub seconds: f64,
}

/// Kinds that are put forward.
const KINDS: [&str; 5] = ["wood", "heather", "grazing", "water", "fence"];
/// Years of heather planned at least and at most.
const YEARS: RangeInclusive<u32> = 1..=30;

/// Prices of limits told in words.
const PRICES: usize = 8;

/// A number above nought as it is typed.
pub fn above_nought(text: &str) -> Result<f64, String> {
    text.trim().parse().ok().filter(|v: &f64| v.is_finite() && *v > 0.0).ok_or_else(|| "needed a number above 0".to_string())
}

fn range(text: &str) -> Result<(f64, f64), String> {
    let needed = || "needed two numbers above 0, the second not less, such as 1-5".to_string();
    let (a, b) = text.split_once('-').ok_or_else(needed)?;
    let (a, b) = (above_nought(a).map_err(|_| needed())?, above_nought(b).map_err(|_| needed())?);
    if a <= b { Ok((a, b)) } else { Err(needed()) }
}

/// Tells when so many seconds are over, counted from when it is first asked, as a choice begins long after its command; or that nobody
/// waits for it.
fn over(seconds: f64, progress: &dyn Progress) -> impl Fn() -> bool {
    let began = OnceCell::new();
    let limit = Duration::from_secs_f64(seconds.min(1e6));
    move || progress.stopped() || began.get_or_init(Instant::now).elapsed() > limit
}

/// What is put forward, and how good it is known to be.
pub struct Put {
    pub suggested: Vec<Suggested>,
    left_out: Vec<LeftOut>,
    /// Value, bound and gap of a choice; `None` where measures are ranked one by one.
    bound: Option<Value>,
    /// In words, before the list.
    words: Vec<String>,
    /// A table after the words; may be empty.
    table: String,
    /// More for programs, by name.
    more: Vec<(&'static str, Value)>,
}

impl Put {
    /// Measures ranked one by one.
    fn ranked(suggested: Vec<Suggested>, left_out: Vec<LeftOut>, words: &str) -> Put {
        Put { suggested, left_out, bound: None, words: vec![words.to_string()], table: String::new(), more: Vec::new() }
    }
}

impl Suggest {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let working = talk::Working::on("reading the plan");
        let start = Start::read(&self.plan.path, &self.draws, &working)?;
        let put = self.question.answer(&start, &working)?;
        if self.question.option.is_some() && !put.suggested.is_empty() {
            working.now("saving");
            lay(&self.plan.path, &start, &put.suggested)?;
        }
        drop(working);
        if self.json {
            talk::print_json(&self.question.json(&start, &put, self.show_leks));
        } else {
            talk::print(&self.question.text(&start, &put));
        }
        Ok(Ended::Well)
    }
}

impl Question {
    /// As the desk asks it; what it does not say is as usual.
    pub fn asked(of: &desk::api::ask::Suggest) -> Result<Question, Fail> {
        let desk::api::ask::Suggest { kind, option, ha, budget_gbp, years, most, tracked, seconds } = of;
        let mut faults = Vec::new();
        if !KINDS.contains(&kind.as_str()) {
            faults.push(format!("kind: `{kind}`; needed: one of {}", KINDS.join(", ")));
        }
        for (what, value) in [("ha", ha), ("budget_gbp", budget_gbp), ("seconds", seconds)] {
            faults.extend(value.and_then(|v| crate::answers::above_nought(what, v).err()).iter().flat_map(Fail::lines));
        }
        if let Some(years) = years.filter(|y| !YEARS.contains(y)) {
            faults.push(format!("years: {years}; needed: {} to {}", YEARS.start(), YEARS.end()));
        }
        if !faults.is_empty() {
            return Err(Fail::all(faults));
        }
        Ok(Question {
            kind: kind.clone(),
            option: Some(*option),
            ha: *ha,
            budget: *budget_gbp,
            size: None,
            shape: None,
            fields: false,
            years: *years,
            tracked: *tracked,
            burn: false,
            plants_only: false,
            most: *most,
            seconds: seconds.unwrap_or(LOOKS_S),
        })
    }

    /// Measures of the kind, under ids that are free in the plan and meant for the option: what is shown is what would be laid.
    pub fn answer(&self, start: &Start, progress: &dyn Progress) -> Result<Put, Fail> {
        start.has(self.option.as_slice())?;
        self.fits(start)?;
        let context = start.context();
        let mut put = match self.kind.as_str() {
            "wood" => self.wood(start, progress)?,
            "heather" => self.heather(start, progress)?,
            "grazing" => self.grazing(&context, progress)?,
            "water" => {
                talk::step(progress, "looking at ditches")?;
                let none = "No ditch is mapped. Bring them in: greyhen import FILE ditches SOURCE.";
                let words = if start.holding.ditches.is_empty() { none } else { "Ditches to block, most wetted brood ground for the money first." };
                Put::ranked(water::suggest(&context)?, water::left_out(&context)?, words)
            }
            _ => {
                talk::step(progress, "looking at fences")?;
                let none = "No fence is mapped. Bring them in: greyhen import FILE fences SOURCE.";
                let ranked = "Fences, most deaths avoided for the money first; low to high, as few or as many as the figures allow.";
                Put::ranked(fence::suggest(&context)?, fence::left_out(&context)?, if start.holding.fences.is_empty() { none } else { ranked })
            }
        };
        if matches!(self.kind.as_str(), "water" | "fence") {
            self.afforded(&mut put.suggested);
        }
        let mut taken: Vec<String> = start.holding.measures.iter().map(|m| m.id.clone()).collect();
        for s in &mut put.suggested {
            s.measure.id = new_id(&s.measure.kind, &taken);
            s.measure.option = self.option.unwrap_or(0);
            taken.push(s.measure.id.clone());
        }
        Ok(put)
    }

    /// Refuse what does not go together: options of another kind, and a second design of a kind in one option, which would be laid over the first.
    fn fits(&self, start: &Start) -> Result<(), Fail> {
        let told: [(&str, bool, &[&str]); 10] = [
            ("--ha", self.ha.is_some(), &["wood"]),
            ("--budget", self.budget.is_some(), &["wood", "water", "fence"]),
            ("--size", self.size.is_some(), &["wood", "heather"]),
            ("--shape", self.shape.is_some(), &["wood"]),
            ("--fields", self.fields, &["wood"]),
            ("--years", self.years.is_some(), &["heather"]),
            ("--tracked", self.tracked, &["heather"]),
            ("--burn", self.burn, &["heather"]),
            ("--plants-only", self.plants_only, &["grazing"]),
            ("--most", self.most.is_some(), &["water", "fence"]),
        ];
        let kind = self.kind.as_str();
        let mut faults: Vec<String> = told
            .iter()
            .filter(|(_, given, kinds)| *given && !kinds.contains(&kind))
            .map(|(flag, _, kinds)| format!("{flag}: says nothing for {kind}; needed: leave it out. Hint: it is for {}", kinds.join(", ")))
            .collect();
        if let Some(n) = self.option {
            let there = start.holding.measures.iter().filter(|m| m.option == n && m.kind == kind).count();
            if there > 0 {
                faults.push(format!(
                    "{} holds {} of the kind {kind} already, and these would be laid over them; needed: an option without. Hint: greyhen measure FILE drop ID, or greyhen option FILE add NAME",
                    start.called(Some(n)),
                    talk::number(there, "measure")
                ));
            }
        }
        if faults.is_empty() { Ok(()) } else { Err(Fail::all(faults)) }
    }

    fn wood(&self, start: &Start, progress: &dyn Progress) -> Result<Put, Fail> {
        let context = &start.context();
        let mut ask = wood::Ask::usual(context)?;
        ask.area_ha = self.ha.unwrap_or(ask.area_ha);
        ask.budget_gbp = self.budget;
        ask.form.size_ha = self.size.unwrap_or(ask.form.size_ha);
        ask.form.shape = self.shape.unwrap_or(ask.form.shape);
        ask.fields = self.fields;
        ask.seed = start.base.settings.seed;
        talk::step(progress, "growing outlines, trying each against the years ahead, and choosing")?;
        let design = wood::suggest(context, &ask, &over(self.seconds, progress)).map_err(Fail::one)?;
        let c = &design.chosen;
        let mut words = vec![format!(
            "{} of {} outlines tried on {:.0} ha of free ground: {:.1} ha of at most {:.1}{}.",
            c.chosen.len(),
            design.tried,
            design.free_ha,
            c.area_ha,
            ask.area_ha,
            self.budget.map_or(String::new(), |b| format!(", {} of at most {}", gbp_words([c.cost_gbp; 3]), gbp_words([b; 3])))
        )];
        words.push(format!(
            "Needs met over thirty years, nearer years more: {:.2} as now, {:.2} with them, of {:.2}; no choice among these outlines reaches more than {:.2} \
            (gap {:.2} %, {:.1} % of the gain; {}).",
            c.before,
            c.objective,
            design.best_value,
            c.upper_bound,
            100.0 * c.gap,
            100.0 * c.gap_of_gain,
            c.status.word()
        ));
        words.push("One unit is one season of one lek met for one year. The sum takes woods one by one, at the middle of every figure; the sum of them together comes from comparing the option with as now.".to_string());
        let barred: Vec<String> = design.barred.iter().map(|(why, ha)| format!("{why} {ha:.0} ha")).collect();
        words.push(format!("Kept off: {}.", barred.join("; ")));
        let bound = json!({
            "objective": c.objective, "before": c.before, "upper_bound": c.upper_bound, "gap": c.gap, "gap_of_gain": c.gap_of_gain,
            "status": c.status.word(), "tried": design.tried, "area_ha": c.area_ha, "gbp": c.cost_gbp,
        });
        Ok(Put { suggested: design.suggested, left_out: Vec::new(), bound: Some(bound), words, table: String::new(), more: Vec::new() })
    }

    fn heather(&self, start: &Start, progress: &dyn Progress) -> Result<Put, Fail> {
        let context = start.context();
        let work = match (self.burn, self.tracked) {
            (true, _) => heather::Work::Burn,
            (_, true) => heather::Work::CutTracked,
            _ => heather::Work::Cut,
        };
        let mut ask = heather::Ask::usual(&context, work)?;
        ask.size_ha = self.size.unwrap_or(ask.size_ha);
        ask.years = self.years.unwrap_or(ask.years);
        ask.seed = start.base.settings.seed;
        // Ground the same option plants is as good as wooded.
        ask.woods = start.holding.measures.iter().filter(|m| Some(m.option) == self.option && m.kind == "wood").map(|m| m.shape.clone()).collect();
        talk::step(progress, "laying patches, trying each against the years ahead, and choosing")?;
        let d = heather::suggest(&context, &ask, &over(self.seconds, progress)).map_err(Fail::one)?;
        let worked: f64 = d.area_ha.iter().sum();
        let mut words = vec![format!(
            "{} of {} patches on {:.0} ha of heather that may be worked, of {:.0} ha in all: {worked:.1} ha in {}, at most {:.1} ha a year.",
            d.suggested.len(),
            d.tried,
            d.free_ha,
            d.heather_ha,
            talk::number(ask.years as usize, "year"),
            d.cap_ha
        )];
        words.push(format!(
            "Worth {:.2}, of which {:+.2} needs met, one by one, and the rest {} for every hectare brought into the rotation, an assumption. No choice of these patches is worth more \
            than {:.2} (gap {:.2} %; {}). One unit is one season of one lek met for one year, over thirty years, nearer years more.",
            d.objective,
            d.needs,
            ask.worth_per_ha,
            d.upper_bound,
            100.0 * d.gap,
            d.status.word()
        ));
        let barred: Vec<String> = d.barred.iter().map(|(why, ha)| format!("{why} {ha:.0} ha")).collect();
        if !barred.is_empty() {
            words.push(format!("Kept off: {}.", barred.join("; ")));
        }
        let of = |now: f64, then: f64| format!("{now:.0} > {then:.0}");
        let rows: Vec<Vec<String>> = d
            .blocks
            .iter()
            .filter(|b| b.worked_ha >= 0.05)
            .map(|b| {
                let (now, then) = (&b.now, &b.then);
                let heights = [of(now.mean_cm, then.mean_cm), of(100.0 * now.long, 100.0 * then.long), of(100.0 * now.short, 100.0 * then.short)];
                [b.name.clone(), format!("{:.0}", b.heather_ha), format!("{:.1}", b.worked_ha)].into_iter().chain(heights).collect()
            })
            .collect();
        let table = if rows.is_empty() {
            String::new()
        } else {
            format!(
                "{}\nNow > in year {}, the plan done; long and short by the heights of docs/rules.md, heather_one_age.",
                talk::table(&["", "heather ha", "worked ha", "mean cm", "long %", "short %"], &rows, &[1, 2, 3, 4, 5]),
                d.then_year
            )
        };
        let left: Vec<&heather::BlockTold> = d.blocks.iter().filter(|b| !b.left.is_empty()).collect();
        let left_out = left.iter().map(|b| LeftOut { id: b.name.clone(), why: format!("{} ha of heather: {}", b.heather_ha.round(), b.left) }).collect();
        let bound = json!({
            "objective": d.objective, "upper_bound": d.upper_bound, "gap": d.gap, "status": d.status.word(), "tried": d.tried, "area_ha": worked, "needs": d.needs,
        });
        let more = vec![("blocks", json!(d.blocks)), ("area_ha_by_year", json!(d.area_ha))];
        Ok(Put { suggested: d.suggested, left_out, bound: Some(bound), words, table, more })
    }

    fn grazing(&self, context: &Context, progress: &dyn Progress) -> Result<Put, Fail> {
        let mut ask = grazing::Ask::usual(context)?;
        if self.plants_only {
            ask.stocking = None;
        }
        talk::step(progress, "finding where the flock goes, month by month")?;
        let d = grazing::suggest(context, &ask).map_err(Fail::one)?;
        let gbp = |v: f64| gbp_words([v; 3]);
        let mut words = vec![format!(
            "The flock's year within what plants bear{}: {} a year for keep and fields, {:.0} head-weeks away; no plan within the same limits costs less than {} (the difference \
            is whole animals). It adds {:+.2} to the needs met: one unit is one season of one lek met for one year, over thirty years, nearer years more.",
            if self.plants_only { "" } else { " and black grouse suits" },
            gbp(d.gbp_a_year),
            d.away_weeks,
            gbp(d.bound_gbp_a_year),
            d.needs
        )];
        words.extend(d.prices.iter().take(PRICES).cloned());
        if d.prices.len() > PRICES {
            words.push(format!("... and {} limits of less worth.", d.prices.len() - PRICES));
        }
        words.extend(d.notes.iter().map(|n| format!("Note: {n}")));
        let bound = json!({"objective": -d.gbp_a_year, "upper_bound": -d.bound_gbp_a_year, "gap": (d.gbp_a_year - d.bound_gbp_a_year).max(0.0) / d.gbp_a_year.abs().max(1.0)});
        let more = vec![("used", json!(d.used)), ("prices", json!(d.prices)), ("needs", json!(d.needs)), ("away_head_weeks", json!(d.away_weeks))];
        Ok(Put { suggested: d.suggested, left_out: Vec::new(), bound: Some(bound), words, table: String::new(), more })
    }

    /// The first of a ranking, as many as asked for and as the money allows.
    fn afforded(&self, suggested: &mut Vec<Suggested>) {
        suggested.truncate(self.most.unwrap_or(usize::MAX));
        if let Some(budget) = self.budget {
            let mut spent = 0.0;
            suggested.retain(|s| {
                let fits = spent + s.gbp[1] <= budget;
                spent += if fits { s.gbp[1] } else { 0.0 };
                fits
            });
        }
    }

    /// For programs.
    pub fn json(&self, start: &Start, put: &Put, show_leks: bool) -> Value {
        let measures: Vec<Value> = put.suggested.iter().map(|s| told(s, show_leks)).collect();
        let mut value = json!({
            "schema": "greyhen.suggest/1", "plan": start.holding.about.name, "kind": self.kind, "option": self.option, "leks_shown": show_leks,
            "guidance_edition": start.base.assessment.guidance_edition, "money": MONEY, "measures": measures,
            "left_out": put.left_out, "notes": put.words, "objective": null, "upper_bound": null, "gap": null,
        });
        if let (Some(Value::Object(bound)), Some(all)) = (&put.bound, value.as_object_mut()) {
            all.extend(bound.clone());
        }
        for (name, more) in &put.more {
            value[name] = more.clone();
        }
        value
    }

    fn text(&self, start: &Start, put: &Put) -> String {
        let mut out: Vec<String> = put.words.iter().map(|w| talk::wrapped(w, 96, "")).collect();
        if !put.table.is_empty() {
            out.push(put.table.clone());
        }
        out.push(String::new());
        if put.suggested.is_empty() {
            out.push(format!("Nothing of the kind {} is put forward.", self.kind));
        }
        for s in &put.suggested {
            out.push(talk::wrapped(&one(s), 94, "    ").trim_start().to_string());
        }
        if !put.left_out.is_empty() {
            out.push(String::new());
            out.extend(put.left_out.iter().map(|l| talk::wrapped(&format!("left out: {}, as {}", talk::name(&l.id), l.why), 94, "    ").trim_start().to_string()));
        }
        out.push(String::new());
        match self.option {
            Some(n) if !put.suggested.is_empty() => out.push(format!("Laid in {}.", start.called(Some(n)))),
            _ => out.push("The plan is as it was. --option N lays them in an option.".to_string()),
        }
        out.push(talk::wrapped(MONEY, 96, ""));
        if let Some(entry) = kind::find(&self.kind).filter(|_| !put.suggested.is_empty()) {
            let cautions = entry.cautioned(&start.guidance, start.holding.about.country).unwrap_or_default();
            out.extend(cautions.iter().map(|w| talk::wrapped(&format!("Mind: {w}"), 96, "")));
        }
        out.join("\n")
    }
}

/// Lay measures in their option.
pub fn lay(path: &Path, start: &Start, suggested: &[Suggested]) -> Result<(), Fail> {
    super::take(path, &start.holding)?.step("laying measures put forward", |step| suggested.iter().try_for_each(|s| step.put(&s.measure)))?;
    Ok(())
}

/// A measure put forward, for a terminal.
pub fn one(s: &Suggested) -> String {
    let work = s.measure.facts.get("work").and_then(Value::as_str).map_or(String::new(), |w| format!(" ({w})"));
    let figures: Vec<String> = s.figures.iter().map(|q| format!("{} {:.2} {}", q.what, q.amount, q.unit).trim_end().to_string()).collect();
    format!("{}{work}: {}; {}; {}", talk::name(&s.measure.id), gbp_words(s.gbp), s.why, figures.join(", "))
}

/// A measure put forward in a few words: what, what it costs, the first of its reasons.
pub fn brief(s: &Suggested) -> String {
    let why = s.why.split(": ").next().unwrap_or_default().split(". ").next().unwrap_or_default();
    format!("{}, {}: {why}", talk::name(&s.measure.id), gbp_words(s.gbp))
}

/// A measure put forward, for programs.
pub fn told(s: &Suggested, places: bool) -> Value {
    let m = &s.measure;
    // How much of a fence lies within a ring of a lek, to the metre or the pound, would tell where the lek is.
    let coarse = !places && matches!(m.kind.as_str(), "fence" | "lek_care");
    let round = |v: f64| if coarse { to_one_figure(v) } else { v };
    let figures: Vec<Value> = s.figures.iter().map(|q| json!({"what": q.what, "amount": round(q.amount), "unit": q.unit})).collect();
    json!({
        "id": m.id, "kind": m.kind, "option": m.option, "year": m.year, "facts": m.facts, "why": if places { s.why.clone() } else { String::new() },
        "gbp": gbp_json(s.gbp.map(round)), "figures": figures, "square_km": square(m), "geometry": if places { geometry(m) } else { Value::Null },
    })
}

/// The kilometre square of a measure, south-west corner in kilometres.
fn square(m: &Measure) -> Value {
    let at = m.shape.centroid().or_else(|| m.line.bounding_rect().map(|b| geo::Point::from(b.center())));
    at.map_or(Value::Null, |p| json!([(p.x() / 1000.0).floor(), (p.y() / 1000.0).floor()]))
}

/// Outline or line in the plan's plane, metres.
fn geometry(m: &Measure) -> Value {
    let ring = |l: &geo::LineString<f64>| l.0.iter().map(|c| json!([c.x, c.y])).collect::<Vec<_>>();
    if m.shape.0.is_empty() {
        json!({"type": "MultiLineString", "coordinates": m.line.0.iter().map(ring).collect::<Vec<_>>()})
    } else {
        let polygon = |p: &geo::Polygon<f64>| std::iter::once(p.exterior()).chain(p.interiors()).map(ring).collect::<Vec<_>>();
        json!({"type": "MultiPolygon", "coordinates": m.shape.0.iter().map(polygon).collect::<Vec<_>>()})
    }
}
