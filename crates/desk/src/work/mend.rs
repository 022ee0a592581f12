//! Which kinds of measure work on which loss of the ledger.
//!
//! The losses are the ledger's own ([`habitat::losses`]): what one thing put right on a stand would add to a lek's season. The rows
//! `mend.LOSS.SEASON.GROUND` of the guidance say only which work changes that thing; the nearest row that is there holds. They propose
//! nothing: whether a measure may go there is for its rules, and what it truly brings is for the years ahead.
//!
//! Ground too high, low or steep, and ground nobody mapped, no work mends.

use super::looks;
use guidance::{Country, Guidance, Row, Value};
use habitat::{Cause, Class, Season, Stand};

/// What work mends a loss of a stand: the row of the guidance that says so, where there is one.
pub fn row<'a>(cause: Cause, season: Season, stand: &Stand, guidance: &'a Guidance, country: Country) -> Option<&'a Row> {
    let (loss, season, ground) = (word(cause)?, season.key(), ground(stand));
    let keys = [format!("mend.{loss}.{season}.{ground}"), format!("mend.{loss}.{season}"), format!("mend.{loss}.{ground}"), format!("mend.{loss}")];
    // In a wood only what is said of woods.
    let fits = |key: &&String| !stand.wooded || key.ends_with(".wood");
    keys.iter().filter(fits).find_map(|key| guidance.find(key, country))
}

/// The kinds of measure a row names.
pub fn kinds(row: &Row) -> impl Iterator<Item = &str> {
    let Value::Text(text) = &row.value else { return "".split_whitespace() };
    text.split_whitespace()
}

fn word(cause: Cause) -> Option<&'static str> {
    match cause {
        Cause::Food => Some("food"),
        Cause::TooShort => Some("too_short"),
        Cause::TooTall => Some("too_tall"),
        Cause::Uniform => Some("uniform"),
        Cause::ClosedWood => Some("closed_wood"),
        Cause::Far => Some("far"),
        Cause::Disturbed => Some("disturbed"),
        Cause::Site | Cause::Unmapped => None,
    }
}

fn ground(stand: &Stand) -> &'static str {
    match looks::of(stand) {
        _ if stand.wooded => "wood",
        _ if matches!(stand.class, Class::InByeGrass | Class::Arable) => "farmed",
        "heather" | "blaeberry" => "heath",
        "rush" => "rush",
        _ => "open",
    }
}
