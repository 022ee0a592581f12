//! The birds in words: what was counted and how numbers ran, young, numbers ahead, the network of leks, before and after work.

mod after;
mod ahead;
mod broods;
mod counts;
mod network;
mod trust;

pub use after::AfterText;
pub use ahead::AheadText;
pub use broods::BroodsText;
pub use counts::{CountsText, TrendText};
pub use network::NetworkText;
pub use trust::Trust;

use crate::pack::Pack;
use crate::secrecy::Secrecy;
use crate::spring::Spring;
use holding::Lek;
use serde::Serialize;

/// The birds as printed.
#[derive(Clone, Debug, Serialize)]
pub struct SpringText {
    /// What was counted.
    pub counts: CountsText,
    /// How numbers ran.
    pub trend: TrendText,
    /// Young.
    pub broods: BroodsText,
    /// Numbers ahead; `None` where there are none.
    pub ahead: Option<AheadText>,
    /// Why there are none; empty where there are.
    pub no_ahead: String,
    /// The network; `None` with fewer than two leks.
    pub network: Option<NetworkText>,
    /// Worked leks.
    pub after: Vec<AfterText>,
}

/// Puts the birds of a pack into words; `None` where they are not handed over or the plan has no lek.
pub fn of(pack: &Pack, secrecy: &Secrecy) -> Option<SpringText> {
    let spring = pack.spring.filter(|_| !pack.holding.leks.is_empty())?;
    let about = |keys: &[&str]| trust::of(pack, keys);
    Some(SpringText {
        counts: counts::found(pack, spring, &about),
        trend: counts::trend(spring, secrecy, &about),
        broods: broods::of(spring, &about),
        ahead: spring.ahead.as_ref().ok().map(|a| ahead::of(pack, a, secrecy, &about)),
        no_ahead: spring.ahead.as_ref().err().map(|why| secrecy.words(why)).unwrap_or_default(),
        network: spring.network.as_ref().map(|n| network::of(pack, n, secrecy, &about)),
        after: after::of(spring, secrecy),
    })
}

/// Guidance keys the birds rest on.
pub fn keys(spring: &Spring) -> Vec<&'static str> {
    let ahead = spring.ahead.iter().flat_map(|a| a.projection.evidence.iter().chain(&a.ground_keys));
    let network = spring.network.iter().flat_map(|n| &n.network.evidence);
    [counts::KEYS, counts::TREND_KEYS, broods::KEYS, after::KEYS].into_iter().flatten().chain(ahead).chain(network).copied().collect()
}

/// What the course of a number is called, as it may be told: `option 2, More woods`.
pub fn course(pack: &Pack, secrecy: &Secrecy, option: Option<u32>) -> String {
    option.map_or_else(
        || "as now".to_owned(),
        |n| pack.holding.options.iter().find(|o| o.number == n).filter(|o| !o.name.is_empty()).map_or_else(|| format!("option {n}"), |o| format!("option {n}, {}", secrecy.words(&o.name))),
    )
}

/// What a lek is called; its id where it has no name.
fn lek(pack: &Pack, id: &str) -> String {
    pack.holding.leks.iter().find(|l| l.id == id).map_or(id, Lek::called).to_owned()
}

/// How a table of trust is made from keys.
type About<'a> = dyn Fn(&[&str]) -> Vec<Trust> + 'a;
