//! The ledger in words.

use crate::outcome::{Cause, Loss, SeasonLedger};
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

/// One sentence on a season of a lek: whether and by how much it is short, and what would mend most of it.
pub fn season(ledger: &SeasonLedger, draws: usize, state: &State) -> String {
    let what = ground(ledger.season);
    let of = if draws == 1 { "the one draw".to_string() } else { format!("{} of {draws} draws", ledger.short_draws) };
    let mut out = if ledger.short_draws == 0 {
        let all = if draws == 1 { "the one draw".to_string() } else { format!("all {draws} draws") };
        format!("{what} is enough in {all} (supply {:.1} times need)", ledger.margin.p50)
    } else {
        let there = if draws == 1 { "" } else { "in those " };
        format!("{what} is short in {of}, {there}by about {}", hectares(ledger.shortfall_ha))
    };
    // What would mend it is of interest where it is short more than now and then.
    if let Some(loss) = ledger.losses.first().filter(|_| ledger.short_fraction >= 0.05) {
        out.push_str("; ");
        out.push_str(&mend(loss, ledger.season, state));
    }
    out
}

/// What is wrong with ground, in a few words.
pub fn cause(cause: Cause, season: Season) -> &'static str {
    match cause {
        Cause::Food => match season {
            Season::Snowbound => "too few catkins, buds and berries above the snow",
            Season::Brood => "too few insects and herbs",
            Season::PreLaying => "too little cotton-grass and other spring food",
            _ => "too little of the season's food plants",
        },
        Cause::TooShort => "too short a sward",
        Cause::TooTall => "too tall a sward",
        Cause::Uniform => "a sward without short and tall side by side",
        Cause::ClosedWood => "closed or old wood",
        Cause::Far if season == Season::Brood => "distance from flush and cover",
        Cause::Far => "distance between food and cover",
        Cause::Disturbed => "people on near-by ways",
        Cause::Site => "ground too high, low or steep",
        Cause::Unmapped => "ground nobody has mapped",
    }
}

/// A loss in words: what is wrong, what putting it right everywhere would add, and where most of it lies.
fn mend(loss: &Loss, season: Season, state: &State) -> String {
    let what = match loss.cause {
        Cause::TooShort | Cause::TooTall => format!("{}{}", cause(loss.cause, season), heights(loss, state)),
        Cause::Unmapped => return format!("mapping the rest of the ground within reach matters most: it may hold about {} more", hectares(loss.ha)),
        other => cause(other, season).to_string(),
    };
    let places = places(loss, state);
    let most = if places.is_empty() { String::new() } else { format!(", most of it on {places}") };
    format!("what costs it most is {what}: put right everywhere within reach, that would give about {} more{most}", hectares(loss.ha))
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

/// A stand by its name, and by its id where another bears the same name.
pub fn called(name: &str, id: &str, state: &State) -> String {
    let shared = state.stands.iter().filter(|s| s.name == name).count() > 1;
    if shared { format!("{name} ({id})") } else { name.to_string() }
}

/// Where a loss lies: its stands.
fn places(loss: &Loss, state: &State) -> String {
    let names: Vec<String> = loss.stands.iter().map(|part| called(&part.name, &part.id, state)).collect();
    match names.as_slice() {
        [] => String::new(),
        [a] => a.clone(),
        [a, b] => format!("{a} and {b}"),
        [a, b, c, ..] => format!("{a}, {b} and {c}"),
    }
}
