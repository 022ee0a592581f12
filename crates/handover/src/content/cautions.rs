//! Cautions for work on the hill, from the tables.

use crate::pack::Pack;
use guidance::{Country, Value};

/// Keys of cautions begin with this.
const PREFIX: &str = "caution.";

/// Title and text of every caution that holds in the plan's country.
pub fn of(pack: &Pack) -> Vec<(String, String)> {
    let here = pack.holding.about.country;
    pack.guidance
        .under(PREFIX)
        .filter(|row| row.country == here || row.country == Country::GB || here == Country::GB)
        .filter_map(|row| match &row.value {
            Value::Text(text) => Some((title(&row.key), text.clone())),
            _ => None,
        })
        .collect()
}

/// `caution.lone_working` becomes `Lone working`.
fn title(key: &str) -> String {
    crate::words::capital(&key.trim_start_matches(PREFIX).replace(['_', '.'], " "))
}
