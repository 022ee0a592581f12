//! Fences taken down, marked, moved or put up.
//!
//! Strikes are in [`super::strikes`]. Sources: posts and strainers from the English fencing items, markers from the Scottish
//! schemes for enhancing fences; costs are market rates from memory; how long fences and marking last is practice.

use super::facts::Facts;
use super::place::not_there;
use super::strikes::{self, Spread};
use super::{Cost, Entry, Fact, Fault, Form, Quantity, Unpriced, Usual, called, cost};
use crate::rules::Context;
use crate::rules::places::{line_inside, metres};
use geo::Intersects;
use geo_types::{LineString, MultiLineString};
use ground::buffer;
use guidance::Unknown;
use habitat::ahead::Programme;
use holding::{Fence, FenceKind, Holding, Marking, Measure, ParcelKind};

const FACTS: &[Fact] = &[
    Fact {
        name: "work",
        what: "take a fence down, mark it, move it (to the line drawn, from the stretch the line cuts off) or put a new one up (on the line drawn)",
        form: Form::OneOf(&["remove", "mark", "move", "new"]),
        usual: Usual::MustBeGiven,
    },
    Fact { name: "fence", what: "fence worked on, by id or name; none for a new one", form: Form::Text, usual: Usual::MayBeLeftOut },
    Fact {
        name: "kind",
        what: "kind of the new fence; left out: stock, or that of the fence moved",
        form: Form::OneOf(&["stock", "deer", "wire"]),
        usual: Usual::MayBeLeftOut,
    },
    Fact {
        name: "marking",
        what: "marking; left out: netting where a fence is marked, none on a new one, as it was on one moved",
        form: Form::OneOf(&["none", "netting", "bamboo", "pales"]),
        usual: Usual::MayBeLeftOut,
    },
    Fact { name: "gates", what: "gates, stiles and water gates in a new fence", form: Form::Number { from: 0.0, to: 200.0 }, usual: Usual::MayBeLeftOut },
    Fact { name: "height_m", what: "height of a new fence, m; left out: the least the schemes ask for", form: Form::Number { from: 0.5, to: 3.0 }, usual: Usual::MayBeLeftOut },
];

/// Figures only the text below names.
pub const NAMED: &[&str] = &["fence.gate_interval"];

/// The kind.
pub static ENTRY: Entry = Entry {
    key: "fence",
    title: "Fence taken down, marked, moved or put up",
    explain: "Grouse fly low and fast and do not see wire. Expected deaths a year are length times {fence.strikes.deer.black_grouse} on deer fences \
(from {fence.strikes.native_pinewood.black_grouse_year} to {fence.strikes.deer.black_grouse_high}; on stock and wire fences {fence.strikes.stock.black_grouse}, which \
nobody measured), times a share that is full near a lek and none far off (assumed), times {fence.fatal_share.black_grouse} of strikes that kill. Orange netting cut \
strikes by {fence.marking_cut.black_grouse}; canes and pales were not measured for black grouse and are taken at {fence.marking_cut.unmeasured}. Walls count nothing.\n\n\
The stretch worked is the part of the fence within {fence.snap} of the line drawn, or all of it where no line is drawn. A fence is moved to the line drawn: the stretch \
between its two ends comes down. A fence taken down no longer holds stock; one march, common or grant fence needs others' consent. A new fence strikes birds from its first \
day: keep it {disturbance.new_track_fence_distance} from leks, or mark it. Posts at most {fence.stake_spacing_max} apart, strainers {fence.strainer_spacing.mild_steel}, a \
gate each {fence.gate_interval} or so.\n\n\
Marking lasts {fence.life.marking_netting} (netting), {fence.life.marking_bamboo} (bamboo), {fence.life.marking_pales} (pales). Work {window.fence_work.first} to \
{window.fence_work.last} within {window.fence_work.lek_distance} of a lek. Money: market rates, undiscounted.",
    facts: FACTS,
    cautions: &["caution.lone_work", "caution.atv.kit", "caution.buried", "caution.overhead_line", "caution.weather", "law.text.common", "law.text.access"],
    faults,
    quantities,
    works,
    features,
    harm,
    costs,
    unpriced,
    window,
};

/// What a measure does to fences, read from its facts.
struct Job<'a> {
    work: String,
    /// The fence worked on.
    fence: Option<&'a Fence>,
    /// The stretch of it that is worked.
    old: MultiLineString<f64>,
    /// What is left of it.
    rest: MultiLineString<f64>,
    /// The line of the new fence.
    new: MultiLineString<f64>,
    kind: FenceKind,
    marking: Marking,
}

/// The fence of an id or a name; ids come first.
fn find<'a>(c: &Context<'a>, said: &str) -> Option<&'a Fence> {
    let all = &c.holding.fences;
    all.iter().find(|f| f.id == said).or_else(|| all.iter().find(|f| !f.name.is_empty() && f.name.eq_ignore_ascii_case(said)))
}

fn kind_of(word: &str) -> Option<FenceKind> {
    Some(match word {
        "stock" => FenceKind::Stock,
        "deer" => FenceKind::Deer,
        "wire" => FenceKind::Wire,
        _ => return None,
    })
}

fn marking_of(word: &str) -> Option<Marking> {
    Some(match word {
        "none" => Marking::None,
        "netting" => Marking::Netting,
        "bamboo" => Marking::Bamboo,
        "pales" => Marking::Pales,
        _ => return None,
    })
}

fn job<'a>(c: &Context<'a>, measure: &Measure) -> Result<Job<'a>, Unknown> {
    let facts = Facts::of(c, measure, FACTS);
    let work = facts.word("work");
    let fence = if work == "new" { None } else { find(c, &facts.word("fence")) };
    let none = || MultiLineString(vec![]);
    let drawn = metres(&measure.line) > 0.0;
    let (old, rest) = match fence {
        None => (none(), none()),
        Some(f) if !drawn => (f.shape.clone(), none()),
        Some(f) if work == "move" => cut_off(&f.shape, &measure.line),
        Some(f) => along(&f.shape, &measure.line, c.number("fence.snap")?),
    };
    let was = fence.map(|f| f.marking);
    let marking = marking_of(&facts.word("marking")).unwrap_or(match work.as_str() {
        "mark" => Marking::Netting,
        _ => was.unwrap_or(Marking::None),
    });
    Ok(Job {
        kind: kind_of(&facts.word("kind")).or(fence.map(|f| f.kind).filter(|_| work != "new")).unwrap_or(FenceKind::Stock),
        new: if work == "new" || work == "move" { measure.line.clone() } else { none() },
        work,
        fence,
        old,
        rest,
        marking,
    })
}

/// The part of a fence along a drawn line, and the rest of it.
fn along(fence: &MultiLineString<f64>, line: &MultiLineString<f64>, snap_m: f64) -> (MultiLineString<f64>, MultiLineString<f64>) {
    let flat = buffer::Style { cap: buffer::Cap::Flat, ..buffer::Style::default() };
    let near = buffer::along_lines(line, snap_m, flat);
    let rest = ground::quick::lines_outside(&near, fence);
    (line_inside(fence, &near), MultiLineString(rest.0.into_iter().filter(|l| metres(&MultiLineString(vec![l.clone()])) >= 1.0).collect()))
}

/// The stretch of a fence between the places nearest to the ends of a new line, and the rest; all of it where both ends are
/// nearest to one place or to different pieces. Of a ring the shorter way round.
fn cut_off(fence: &MultiLineString<f64>, line: &MultiLineString<f64>) -> (MultiLineString<f64>, MultiLineString<f64>) {
    use super::dams::profile::{length, stretch};
    let whole = || (fence.clone(), MultiLineString(vec![]));
    let (Some(a), Some(b)) = (line.0.first().and_then(|l| l.0.first()), line.0.last().and_then(|l| l.0.last())) else { return whole() };
    let foot = |at: &geo_types::Coord<f64>| {
        let feet = fence.0.iter().enumerate().filter_map(|(i, l)| nearest(l, *at).map(|(far, x)| (far, i, x)));
        feet.min_by(|p, q| p.0.total_cmp(&q.0))
    };
    let (Some((_, i, x0)), Some((_, j, x1))) = (foot(a), foot(b)) else { return whole() };
    let (from, to) = (x0.min(x1), x0.max(x1));
    if i != j || to - from < 1.0 {
        return whole();
    }
    let part = &fence.0[i];
    let long = length(part);
    let (middle, ends) = (stretch(part, from, to), [stretch(part, 0.0, from), stretch(part, to, long)]);
    let ends: Vec<LineString<f64>> = ends.into_iter().filter(|l| length(l) >= 1.0).collect();
    let others = fence.0.iter().enumerate().filter(|(k, _)| *k != i).map(|(_, l)| l.clone());
    let ring = part.0.first() == part.0.last();
    if ring && long - (to - from) < to - from {
        return (MultiLineString(ends), MultiLineString(std::iter::once(middle).chain(others).collect()));
    }
    (MultiLineString(vec![middle]), MultiLineString(ends.into_iter().chain(others).collect()))
}

/// Distance of a place from a line, and how far along the line the nearest point lies.
fn nearest(line: &LineString<f64>, at: geo_types::Coord<f64>) -> Option<(f64, f64)> {
    let mut x = 0.0;
    let mut best: Option<(f64, f64)> = None;
    for l in line.lines() {
        let long = l.dx().hypot(l.dy());
        if long > 0.0 {
            let t = (((at.x - l.start.x) * l.dx() + (at.y - l.start.y) * l.dy()) / (long * long)).clamp(0.0, 1.0);
            let far = (l.start.x + t * l.dx() - at.x).hypot(l.start.y + t * l.dy() - at.y);
            if best.is_none_or(|b| far < b.0) {
                best = Some((far, x + t * long));
            }
        }
        x += long;
    }
    best
}

fn faults(c: &Context, measure: &Measure) -> Vec<Fault> {
    let facts = Facts::of(c, measure, FACTS);
    let mut faults = facts.faults();
    let fault = |at: &str, found: String, needed: &str, hint: &str| Fault { at: at.into(), found, needed: needed.into(), hint: hint.into() };
    let Ok(job) = job(c, measure) else { return faults };
    if job.work.is_empty() {
        return faults;
    }
    if job.work != "new" && job.fence.is_none() {
        faults.push(not_there("fence", &facts.word("fence"), c.holding.fences.iter().map(|f| (f.id.as_str(), f.name.as_str()))));
    }
    if (job.work == "new" || job.work == "move") && metres(&job.new) <= 0.0 {
        faults.push(fault("line", "no line".into(), "the line of the new fence", "draw it, or import it"));
    }
    let Some(fence) = job.fence else { return faults };
    let name = called(&fence.name, &fence.id);
    if metres(&job.old) < 1.0 && metres(&fence.shape) > 0.0 {
        faults.push(fault("line", format!("the line lies nowhere along {name}"), "a line along the fence, or none for all of it", "draw it on the fence"));
    }
    if fence.kind == FenceKind::Wall {
        faults.push(fault("fence", format!("{name} is a wall"), "a fence", "walls strike no birds and give cover: leave it"));
    }
    if job.work == "mark" && matches!(job.marking, Marking::None | Marking::Unknown) {
        faults.push(fault("marking", "none".into(), "netting, bamboo or pales", "leave it out for netting, the only marking measured for black grouse"));
    }
    if job.work == "mark" && fence.marking == job.marking {
        faults.push(fault("fence", format!("{name} is marked so already"), "a fence not yet marked so", "correct the survey if that is not so"));
    }
    faults
}

/// Posts, strainers and markers of so many metres of fence.
fn hardware(c: &Context, long_m: f64, posts: bool, marking: Marking, out: &mut Vec<Quantity>) -> Result<(), Unknown> {
    let mut add = |what: &str, amount: f64, unit: &'static str| out.push(Quantity { what: what.into(), amount, unit });
    if posts && long_m > 0.0 {
        add("posts, at least", (long_m / c.number("fence.stake_spacing_max")?).ceil() + 1.0, "posts");
        add("strainers, at least", (long_m / c.number("fence.strainer_spacing.mild_steel")?).ceil() + 1.0, "posts");
    }
    match marking {
        Marking::Netting => add("orange netting", long_m * c.number("fence.marking.netting_width")?, "m²"),
        Marking::Bamboo => add("bamboo canes", (1000.0 * long_m / c.number("fence.marking.bamboo_spacing")?).ceil(), "canes"),
        Marking::Pales => add("pales", (1000.0 * long_m / c.number("fence.marking.pale_spacing")?).ceil(), "pales"),
        Marking::None | Marking::Unknown => {}
    }
    Ok(())
}

fn quantities(c: &Context, measure: &Measure) -> Result<Vec<Quantity>, Unknown> {
    let job = job(c, measure)?;
    let (old_m, new_m) = (metres(&job.old), metres(&job.new));
    let mut out = Vec::new();
    let mut add = |what: &str, amount: f64| out.push(Quantity { what: what.into(), amount, unit: "m" });
    match job.work.as_str() {
        "remove" => add("fence taken down", old_m),
        "mark" => add("fence marked", old_m),
        "move" => {
            add("fence taken down", old_m);
            add("fence put up", new_m);
        }
        "new" => add("fence put up", new_m),
        _ => return Ok(out),
    }
    match job.work.as_str() {
        "mark" => hardware(c, old_m, false, job.marking, &mut out)?,
        "move" | "new" => hardware(c, new_m, true, job.marking, &mut out)?,
        _ => {}
    }
    let saved = before(c, &job)?.less(after(c, &job)?);
    out.push(Quantity { what: "black grouse deaths avoided".into(), amount: saved.usual, unit: "a year" });
    Ok(out)
}

/// Deaths a year on the stretch worked as it stands.
fn before(c: &Context, job: &Job) -> Result<Spread, Unknown> {
    job.fence.map_or(Ok(Spread::default()), |f| strikes::deaths_on(c, &job.old, f.kind, f.marking))
}

/// Deaths a year once the work is done.
fn after(c: &Context, job: &Job) -> Result<Spread, Unknown> {
    match (job.work.as_str(), job.fence) {
        ("mark", Some(f)) => strikes::deaths_on(c, &job.old, f.kind, job.marking),
        ("move" | "new", _) => strikes::deaths_on(c, &job.new, job.kind, job.marking),
        _ => Ok(Spread::default()),
    }
}

/// Deaths a year on the stretches a measure works, before and after it.
///
/// # Errors
/// A figure the tables lack.
pub fn deaths(c: &Context, measure: &Measure) -> Result<[Spread; 2], Unknown> {
    let job = job(c, measure)?;
    Ok([before(c, &job)?, after(c, &job)?])
}

/// How long a marking lasts, years; `None` where there is none.
fn marking_life_yr(c: &Context, marking: Marking) -> Result<Option<f64>, Unknown> {
    let key = match marking {
        Marking::Netting => "fence.life.marking_netting",
        Marking::Bamboo => "fence.life.marking_bamboo",
        Marking::Pales => "fence.life.marking_pales",
        Marking::None | Marking::Unknown => return Ok(None),
    };
    c.number(key).map(Some)
}

/// A measure some years after its work, as it stands on the fences: marking that it put up is gone once it has lasted its time, since it is paid for once.
/// `None` where nothing of it is left on any fence, or never was.
///
/// # Errors
/// A figure the tables lack.
pub fn worn(c: &Context, measure: &Measure, years: f64) -> Result<Option<Measure>, Unknown> {
    let marks = measure.kind == "fence" && Facts::of(c, measure, FACTS).word("work") == "mark";
    let (fact, marking) = match measure.kind.as_str() {
        "fence" if marks || measure.facts.contains_key("marking") => ("marking", job(c, measure)?.marking),
        // A fence moved keeps what it was marked with.
        "fence" => ("marking", Marking::None),
        "wood" => ("fence_marking", marking_of(&super::wood::fence_marking(c, measure)).unwrap_or_default()),
        _ => return Ok(None),
    };
    if marking_life_yr(c, marking)?.is_none_or(|life| years < life) {
        return Ok(Some(measure.clone()));
    }
    if marks {
        return Ok(None);
    }
    let mut bare = measure.clone();
    bare.facts.insert(fact.to_string(), "none".into());
    Ok(Some(bare))
}

/// Fences do nothing to the ground by themselves: stock kept off or let on is the work of the kind `grazing`.
fn works(_: &Context, _: &Measure, _: &mut Programme) -> Result<(), Unknown> {
    Ok(())
}

fn features(c: &Context, measure: &Measure, holding: &mut Holding) -> Result<(), Unknown> {
    let job = job(c, measure)?;
    let height_m = Facts::of(c, measure, FACTS).maybe_number("height_m")?;
    if let Some(old) = job.fence
        && let Some(at) = holding.fences.iter().position(|f| f.id == old.id)
    {
        // Other measures may have taken sections of the same fence before: only what still stands is cut.
        let standing = holding.fences[at].shape.clone();
        let whole = job.rest.0.is_empty();
        let rest = if whole { job.rest } else { along(&standing, &job.old, c.number("fence.snap")?).1 };
        let piece = |shape: &MultiLineString<f64>| Fence { id: format!("{}.{}", old.id, measure.id), shape: shape.clone(), ..old.clone() };
        let added = match job.work.as_str() {
            "mark" => Some(Fence { marking: job.marking, ..piece(if whole { &standing } else { &job.old }) }),
            "move" => Some(Fence {
                marking: job.marking,
                kind: job.kind,
                height_m: height_m.map(|h| h as f32).or(old.height_m),
                ..piece(&job.new)
            }),
            _ => None,
        };
        if rest.0.is_empty() {
            match added {
                // The whole fence: it keeps its id.
                Some(new) => holding.fences[at] = Fence { id: old.id.clone(), ..new },
                None => drop(holding.fences.remove(at)),
            }
        } else {
            holding.fences[at].shape = rest;
            if let Some(new) = added {
                holding.fences.insert(at + 1, new);
            }
        }
    } else if job.work == "new" && metres(&job.new) > 0.0 {
        let usual_m = match job.kind {
            FenceKind::Deer => deer_height_m(c)?,
            _ => c.number("fence.stock.net_height_min").ok(),
        };
        let mut fence = Fence::new(measure.id.clone(), job.new);
        (fence.kind, fence.marking) = (job.kind, job.marking);
        fence.height_m = height_m.or(usual_m).map(|h| h as f32);
        holding.fences.push(fence);
    }
    Ok(())
}

/// Least height of a deer fence against red deer, where the country's tables have one.
fn deer_height_m(c: &Context) -> Result<Option<f64>, Unknown> {
    Ok(c.number("fence.deer.height_red").ok())
}

fn harm(c: &Context, measure: &Measure) -> Result<Vec<String>, Unknown> {
    let job = job(c, measure)?;
    let mut out = Vec::new();
    let say = |s: Spread| format!("{:.2} ({:.2} to {:.2})", s.usual, s.low, s.high);
    if matches!(job.work.as_str(), "new" | "move") {
        let basis = if strikes::measured(job.kind) { "" } else { "; the rate for such fences is assumed" };
        out.push(format!("The new fence is expected to kill {} black grouse a year{basis}.", say(after(c, &job)?)));
        let near_m = c.number("disturbance.new_track_fence_distance")?;
        if let Some((lek, far)) = c.nearest_lek(&job.new).filter(|(_, far)| *far < near_m) {
            out.push(format!("It comes within {} of {}; common practice keeps new fences {near_m:.0} m away.", crate::rules::words::metres(far), c.lek_name(lek)));
        }
        if job.marking == Marking::None {
            out.push("It is not marked: birds strike a new fence from its first day.".into());
        }
        if c.holding.tracks.iter().any(|t| t.shape.intersects(&job.new)) {
            out.push("It crosses a track or path: a gate is needed, and rights of access are kept.".into());
        }
    }
    if matches!(job.work.as_str(), "remove" | "move") {
        let between: Vec<&str> = c
            .holding
            .parcels
            .iter()
            .filter(|p| p.shape.intersects(&job.old))
            .map(|p| called(&p.name, &p.id))
            .collect();
        let which = if between.is_empty() { String::new() } else { format!(" ({})", crate::rules::words::list(&between)) };
        out.push(format!("Stock are no longer held along the old line{which}: see that grazing still works, and that young trees behind it no longer need it."));
    }
    let common = c.holding.parcels.iter().any(|p| p.kind == ParcelKind::Common && (p.shape.intersects(&job.old) || p.shape.intersects(&job.new)));
    if common {
        out.push("Common ground: consent of the commoners and of the authority may be needed. Check the code in force.".into());
    }
    if job.work == "mark" {
        let life = match job.marking {
            Marking::Bamboo => c.words("fence.life.marking_bamboo")?,
            Marking::Pales => c.words("fence.life.marking_pales")?,
            _ => c.words("fence.life.marking_netting")?,
        };
        out.push(format!("Marking catches wind and snow and loads the fence: check posts first. It lasts about {life}, then it must be renewed or the strikes come back."));
        if matches!(job.marking, Marking::Bamboo | Marking::Pales) {
            out.push("Canes and pales were not measured for black grouse; orange netting was.".into());
        }
    }
    Ok(out)
}

/// Guidance key of the cost of marking a metre.
pub fn marking_cost(marking: Marking) -> Option<&'static str> {
    match marking {
        Marking::Netting => Some("cost.market.mark_netting"),
        Marking::Bamboo => Some("cost.market.mark_bamboo"),
        Marking::Pales => Some("cost.market.mark_pales"),
        Marking::None | Marking::Unknown => None,
    }
}

fn costs(c: &Context, measure: &Measure) -> Result<Vec<Cost>, Unknown> {
    let job = job(c, measure)?;
    let (old_m, new_m) = (metres(&job.old), metres(&job.new));
    let mut out = Vec::new();
    if matches!(job.work.as_str(), "remove" | "move") {
        out.push(cost::line(c, "fence taken down and carried off", old_m, "m", "cost.market.fence_removal")?);
    }
    if matches!(job.work.as_str(), "new" | "move") {
        let (what, key) = match job.kind {
            FenceKind::Deer => ("deer fence put up", "cost.market.deer_fence"),
            _ => ("stock fence put up", "cost.market.stock_fence"),
        };
        out.push(cost::line(c, what, new_m, "m", key)?);
    }
    let marked_m = if job.work == "mark" { old_m } else { new_m };
    if let Some(key) = marking_cost(job.marking).filter(|_| job.work != "remove") {
        out.push(cost::line(c, "fence marked", marked_m, "m", key)?);
    }
    Ok(out)
}

fn unpriced(c: &Context, measure: &Measure) -> Result<Vec<Unpriced>, Unknown> {
    let gates = Facts::of(c, measure, FACTS).number("gates")?;
    if gates <= 0.0 {
        return Ok(vec![]);
    }
    Ok(vec![Unpriced { what: "gates, stiles and water gates", unit: "gates", rate_unit: "gbp_each", due: cost::once([gates; 3]) }])
}

fn window(c: &Context, measure: &Measure) -> Result<String, Unknown> {
    let job = job(c, measure)?;
    let near_m = c.number("window.fence_work.lek_distance")?;
    let both = MultiLineString(job.old.0.into_iter().chain(job.new.0).collect());
    let months = format!("{} to {}", c.words("window.fence_work.first")?, c.words("window.fence_work.last")?);
    let far = || format!("at any time; {months} is best, and the only time within {near_m:.0} m of a lek");
    if let Some(veil) = c.veil {
        let near = veil.far_m(&both.into()).is_some_and(|far_m| far_m < near_m);
        return Ok(if near { format!("{months}: a lek may be within {near_m:.0} m") } else { far() });
    }
    Ok(match c.nearest_lek(&both).filter(|(_, far)| *far < near_m) {
        Some((lek, _)) => format!("{months}: within {near_m:.0} m of {}", c.lek_name(lek)),
        None => far(),
    })
}
