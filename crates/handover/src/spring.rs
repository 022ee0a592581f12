//! The birds as they are handed over: what was counted, how numbers ran, what lies ahead, what leks are to each other.

use birds::after::{Ask, ReadOut};
use birds::found::Found;
use birds::network::{Dispersal, Network};
use birds::power::Question;
use birds::project::birds::Projection;
use birds::trend::{NoTrend, Trend};

/// What is handed over of the birds.
pub struct Spring {
    /// The trend of the counts, or why there is none.
    pub trend: Result<Trend, NoTrend>,
    /// The verdict on it, in words; empty where there is none.
    pub verdict: String,
    /// Figures of leks and years, and broods.
    pub found: Found,
    /// What the counting is judged by; its certainty is that of the limits of what was found too.
    pub question: Question,
    /// Numbers ahead, as now and under the options compared, or why there are none.
    pub ahead: Result<Ahead, String>,
    /// The leks as a network; `None` where fewer than two are known.
    pub network: Option<Linked>,
    /// Before and after at leks whose ground was worked, and how to read them.
    pub after: Option<(Vec<ReadOut>, Ask)>,
}

/// Numbers ahead.
pub struct Ahead {
    /// The projection, as now first.
    pub projection: Projection,
    /// What the birds' own figures make of ground that stays as it is, in words.
    pub held: String,
    /// What limits the answer on this plan, in words.
    pub limits: Vec<String>,
    /// Guidance keys of the ground of leks, beside those of the projection.
    pub ground_keys: Vec<&'static str>,
}

/// The leks as a network.
pub struct Linked {
    /// The network.
    pub network: Network,
    /// How far birds move, at the middle of every figure.
    pub dispersal: Dispersal,
    /// What courses make of the capacity by hens in the last year told: course, year, times that of the ground as surveyed.
    pub later: Vec<(Option<u32>, u32, f64)>,
}
