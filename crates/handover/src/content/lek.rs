//! One lek in words: its seven seasons, what costs most, its display ground, its surroundings.

use crate::pack::{Pack, YearCount};
use crate::secrecy::Secrecy;
use crate::words;
use habitat::{CompositionRow, LekGround, LekLedger, SeasonLedger};
use serde::Serialize;

/// A lek as printed.
#[derive(Clone, Debug, Serialize)]
pub struct LekText {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Grid reference, as finely as it may be given.
    pub reference: String,
    /// Cocks and target in words.
    pub cocks: String,
    /// The sentence on the pinch.
    pub words: String,
    /// The seasons in calendar order.
    pub seasons: Vec<SeasonText>,
    /// What costs most, by season.
    pub costs: Vec<CostText>,
    /// Facts of the display ground.
    pub ground: Vec<Fact>,
    /// Surroundings beside published values.
    pub composition: Vec<CompositionText>,
    /// Unmapped share in words.
    pub unmapped: String,
    /// Years without a valid visit in which something was seen, or a visit was made, and why it does not count.
    pub not_valid: Vec<String>,
    /// Whether there is a chart of counts.
    pub counts: bool,
    /// Whether there is a map of what is in sight.
    pub sight: bool,
    /// Why there is none; empty where there is one.
    pub no_sight: String,
}

/// A season as printed.
#[derive(Clone, Debug, Serialize)]
pub struct SeasonText {
    /// Name.
    pub name: String,
    /// Months.
    pub months: &'static str,
    /// What the ground gives, hectares with spread.
    pub gives: String,
    /// What the birds need.
    pub needs: String,
    /// Supply over need.
    pub margin: String,
    /// Draws short, `186 of 200`.
    pub draws: String,
    /// short, likely short, may be short, enough.
    pub state: &'static str,
    /// Shortfall in words.
    pub shortfall: String,
    /// One sentence.
    pub words: String,
    /// Whether this is the pinch.
    pub pinch: bool,
}

/// What costs a season, as printed.
#[derive(Clone, Debug, Serialize)]
pub struct CostText {
    /// Season, empty where the line above has the same.
    pub season: String,
    /// Cause.
    pub cause: &'static str,
    /// Hectares.
    pub ha: String,
    /// Where mostly.
    pub stands: String,
}

/// A fact: what and how much.
#[derive(Clone, Debug, Serialize)]
pub struct Fact {
    /// What.
    pub what: &'static str,
    /// How much.
    pub value: String,
}

/// A line of the composition table as printed.
#[derive(Clone, Debug, Serialize)]
pub struct CompositionText {
    /// What is measured, with its radius.
    pub what: String,
    /// Value here.
    pub value: String,
    /// At leks that hold.
    pub occupied: String,
    /// At leks that were lost.
    pub lost: String,
    /// Where it stands.
    pub standing: &'static str,
    /// Sources in short.
    pub source: String,
}

/// Puts the ledger of the `i`-th lek into words.
pub fn of(pack: &Pack, secrecy: &Secrecy, i: usize, ledger: &LekLedger) -> LekText {
    let at = pack.holding.leks.iter().find(|l| l.id == ledger.id).map(|l| l.at);
    let seen = pack.pictures.view.get(i).is_some_and(Option::is_some);
    let no_sight = match (secrecy.withheld(), seen) {
        (true, _) => "The map of what is in sight is left out: place withheld.",
        (false, false) => "No map of what is in sight: the plan has no heights round this lek.",
        (false, true) => "",
    };
    LekText {
        id: ledger.id.clone(),
        name: ledger.name.clone(),
        reference: at.map(|p| secrecy.reference(p)).unwrap_or_default(),
        cocks: cocks(pack, ledger),
        not_valid: years(pack, ledger).filter(|y| y.cocks.is_none() && (y.seen.is_some() || !y.why.is_empty())).map(|y| format!("{}: {}.", y.year, y.not_valid())).collect(),
        words: secrecy.words(&ledger.words),
        seasons: ledger.seasons.iter().map(|s| season(pack, secrecy, s, s.season == ledger.pinch)).collect(),
        costs: costs(secrecy, ledger),
        ground: ground(secrecy, &ledger.ground),
        composition: ledger.composition.iter().map(|row| composition(pack, secrecy, row)).collect(),
        unmapped: if ledger.unmapped_share > 0.005 {
            format!("{} of the ground within the widest reach is not mapped; it counts at a low value with a wide spread.", secrecy.share(ledger.unmapped_share))
        } else {
            String::new()
        },
        counts: pack.counts.iter().any(|c| c.lek == ledger.id && !c.years.is_empty()),
        sight: no_sight.is_empty(),
        no_sight: no_sight.to_owned(),
    }
}

/// The counts of a lek.
fn years<'a>(pack: &'a Pack, ledger: &'a LekLedger) -> impl Iterator<Item = &'a YearCount> {
    pack.counts.iter().filter(|c| c.lek == ledger.id).flat_map(|c| &c.years)
}

fn cocks(pack: &Pack, ledger: &LekLedger) -> String {
    let doubt = years(pack, ledger).find(|y| Some(y.year) == ledger.counted && y.cocks.is_none()).map(|y| if y.why.is_empty() { " (not on a valid visit)".to_owned() } else { format!(" (not on a valid visit: {})", y.why) });
    let doubt = doubt.unwrap_or_default();
    let counted = match (ledger.cocks, ledger.counted) {
        (Some(n), Some(year)) => format!("{n} {} in {year}", if n == 1 { "cock" } else { "cocks" }) + &doubt,
        (Some(n), None) => format!("{n} {}", if n == 1 { "cock" } else { "cocks" }),
        (None, _) => "never counted".to_owned(),
    };
    format!("{counted}; needs are worked out for {}", ledger.target_cocks)
}

fn season(pack: &Pack, secrecy: &Secrecy, s: &SeasonLedger, pinch: bool) -> SeasonText {
    SeasonText {
        name: words::capital(s.season.name()),
        months: s.season.months(),
        gives: words::spread(&s.supply_ha, words::hectares),
        needs: words::spread(&s.need_ha, words::hectares),
        margin: words::spread(&s.margin, words::ratio),
        draws: format!("{} of {}", s.short_draws, pack.assessment.draws),
        state: words::often(s),
        shortfall: if s.shortfall_ha > 0.0 { format!("{} ha", words::hectares(s.shortfall_ha)) } else { "none".to_owned() },
        words: secrecy.words(&s.words),
        pinch,
    }
}

/// Up to three costs of every season that is short in one draw in ten or more, and of the pinch.
fn costs(secrecy: &Secrecy, ledger: &LekLedger) -> Vec<CostText> {
    let mut out = vec![];
    for s in ledger.seasons.iter().filter(|s| s.short_fraction >= 0.1 || s.season == ledger.pinch) {
        for (i, loss) in s.losses.iter().filter(|l| l.ha >= 0.05).take(2).enumerate() {
            let stands: Vec<String> = loss
                .stands
                .iter()
                .take(3)
                .map(|p| format!("{} ({} ha)", if p.name.is_empty() { if p.id.is_empty() { "unmapped ground" } else { &p.id } } else { &p.name }, words::hectares(p.ha)))
                .collect();
            out.push(CostText {
                season: if i == 0 { words::capital(s.season.name()) } else { String::new() },
                cause: words::cause(loss.cause),
                ha: words::hectares(loss.ha),
                stands: secrecy.words(&words::list(&stands)),
            });
        }
    }
    out
}

fn ground(secrecy: &Secrecy, g: &LekGround) -> Vec<Fact> {
    let mut facts = vec![];
    let mut add = |what: &'static str, value: Option<String>| {
        facts.push(Fact { what, value: value.unwrap_or_else(|| "not known".to_owned()) });
    };
    let share = |v: f64| secrecy.share(v);
    add("Altitude", g.altitude_m.map(|v| secrecy.altitude(v)));
    add("Slope of the display ground", g.slope_deg.map(|v| secrecy.slope(v)));
    add("Mean vegetation height there", g.sward_cm.map(|v| secrecy.height(v)));
    add("In sight as it is, of the ground around", g.view_disc.map(share));
    add("Horizon open as it is", g.view_horizon.map(share));
    add("In sight were the ground bare", g.bare_disc.map(share));
    add("Horizon open were the ground bare", g.bare_horizon.map(share));
    add("View taken out to", Some(format!("{:.0} m", g.view_m)));
    for (what, metres) in [("Nearest wood", g.wood_m), ("Nearest fence", g.fence_m), ("Nearest track, path or road", g.way_m), ("Nearest heather", g.heather_m)] {
        add(what, metres.map(|m| secrecy.distance(m)));
    }
    facts
}

fn composition(pack: &Pack, secrecy: &Secrecy, row: &CompositionRow) -> CompositionText {
    let unit = if row.unit == "percent" { "%" } else { row.unit };
    let with_unit = |text: &str| if text.is_empty() { String::new() } else { format!("{text} {unit}") };
    let radius = match row.radius_m {
        r if r <= 0.0 => String::new(),
        r if r < 1000.0 => format!(" within {r:.0} m"),
        r => format!(" within {} km", crate::svg::number(r / 1000.0)),
    };
    let what = if row.what.contains("within") { row.what.clone() } else { format!("{}{radius}", row.what) };
    let distance = row.what.to_lowercase().contains("distance");
    let here = |v: f64| match row.unit {
        "m" if distance => secrecy.distance(v),
        "km" if distance => secrecy.distance(v * 1000.0),
        "percent" if secrecy.withheld() => secrecy.share(v / 100.0),
        "km" if secrecy.withheld() => secrecy.length(v),
        _ if v.abs() < 9.95 => with_unit(&format!("{v:.1}")),
        _ => with_unit(&words::grouped(v)),
    };
    CompositionText {
        what: words::capital(&what),
        value: row.value.map_or_else(|| "not known".to_owned(), here),
        occupied: row.occupied.as_deref().map(with_unit).unwrap_or_default(),
        lost: row.lost.as_deref().map(with_unit).unwrap_or_default(),
        standing: words::standing(row.standing),
        source: words::sources(&row.source, pack.guidance),
    }
}
