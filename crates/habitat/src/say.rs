//! The ledger in words.

use crate::outcome::{Cause, Loss, SeasonLedger, StandPart};
use crate::season::Season;
use crate::state::{Origin, State};

/// Hectares as people say them: whole from ten, one place below.
pub fn hectares(ha: f64) -> String {
    if ha >= 9.95 { format!("{ha:.0} ha") } else { format!("{ha:.1} ha") }
}

/// The ground a season asks for, as a noun.
pub fn ground(season: Season) -> &'static str {
    match season {
        Season::Display => "display-season ground",
        Season::PreLaying => "spring feeding ground",
        Season::Nest => "nesting ground",
        Season::Brood => "brood ground",
        Season::Autumn => "autumn ground",
        Season::Winter => "winter ground",
        Season::Snowbound => "food above snow",
    }
}

/// One sentence on a season of a lek.
pub fn season(ledger: &SeasonLedger, draws: usize, state: &State) -> String {
    let what = ground(ledger.season);
    let mut out = if ledger.short_draws == 0 {
        format!("{what} is enough in all {draws} draws (supply {:.1} times need)", ledger.margin.p50)
    } else {
        format!(
            "{what} is short in {} of {draws} draws, by about {}",
            ledger.short_draws,
            hectares(ledger.shortfall_ha)
        )
    };
    if let Some(loss) = ledger.losses.first() {
        out.push_str("; ");
        out.push_str(&cause(loss, ledger.season, state));
    }
    out
}

/// A loss in words: what is wrong, where most of it lies.
fn cause(loss: &Loss, season: Season, state: &State) -> String {
    let at = places(loss, state);
    let part = if loss.ha > 0.0 { format!(" (about {})", hectares(loss.ha)) } else { String::new() };
    let (what, verb) = match loss.cause {
        Cause::Food => match season {
            Season::Snowbound => ("too few catkins, buds and berries above the snow".to_string(), "are"),
            Season::Brood => ("too few insects and herbs".to_string(), "are"),
            Season::PreLaying => ("too little cotton-grass and other spring food".to_string(), "is"),
            _ => ("too little of the season's food plants".to_string(), "is"),
        },
        Cause::TooShort => (format!("too short a sward{}", heights(loss, state)), "is"),
        Cause::TooTall => (format!("too tall a sward{}", heights(loss, state)), "is"),
        Cause::Uniform => ("a sward without short and tall side by side".to_string(), "is"),
        Cause::ClosedWood => ("closed or old wood".to_string(), "is"),
        Cause::Far if season == Season::Brood => ("distance from flush and cover".to_string(), "is"),
        Cause::Far => ("distance between food and cover".to_string(), "is"),
        Cause::Disturbed => ("people on near-by ways".to_string(), "are"),
        Cause::Site => ("ground too high, low or steep".to_string(), "is"),
        Cause::Unmapped => ("ground nobody has mapped".to_string(), "is"),
    };
    format!("{what}{at} {verb} the largest part{part}")
}

/// Mean heights of the stands named, where they were measured.
fn heights(loss: &Loss, state: &State) -> String {
    let of: Vec<f32> = loss
        .stands
        .iter()
        .filter_map(|p| state.stands.iter().find(|s| s.id == p.id))
        .filter(|s| s.height_from <= Origin::Class)
        .map(|s| s.height_cm)
        .collect();
    match (of.iter().copied().reduce(f32::min), of.iter().copied().reduce(f32::max)) {
        (Some(a), Some(b)) if b - a >= 1.0 => format!(" (mean {a:.0} to {b:.0} cm)"),
        (Some(a), Some(_)) => format!(" (mean {a:.0} cm)"),
        _ => String::new(),
    }
}

/// Where a loss lies: the names of its stands, each with its id where another stand bears the same name.
fn places(loss: &Loss, state: &State) -> String {
    let name = |part: &StandPart| {
        let shared = state.stands.iter().filter(|s| s.name == part.name).count() > 1;
        if shared { format!("{} ({})", part.name, part.id) } else { part.name.clone() }
    };
    let names: Vec<String> = loss.stands.iter().map(name).collect();
    match names.as_slice() {
        [] => String::new(),
        [a] => format!(" on {a}"),
        [a, b] => format!(" on {a} and {b}"),
        [a, b, c, ..] => format!(" on {a}, {b} and {c}"),
    }
}
