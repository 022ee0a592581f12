//! What a hand-over says, in words and figures ready to print. Paper and workbook are both made from this.

mod cautions;
mod evidence;
mod found;
mod job;
mod lek;
pub mod option;
pub mod spring;
pub mod works;

pub use evidence::{Evidence, Reference};
pub use found::FindingText;
pub(crate) use found::next_visit;
pub use job::Headline;
pub use lek::{CompositionText, CostText, Fact, LekText, SeasonText};
pub use option::OptionText;
pub use spring::SpringText;
pub use works::WorksText;

use crate::pack::Pack;
use crate::secrecy::Secrecy;
use crate::words;
use geo::Area;
use serde::Serialize;

/// The whole hand-over in words.
#[derive(Clone, Debug, Serialize)]
pub struct Content {
    /// Name of the holding.
    pub name: String,
    /// Its size, in words; empty without a boundary.
    pub area: String,
    /// Country in words.
    pub country: String,
    /// The day the plan stands for.
    pub as_at: String,
    /// The day it was printed.
    pub today: String,
    /// Edition of the figures.
    pub edition: String,
    /// How the figures were drawn, in words.
    pub draws: String,
    /// Number of draws.
    pub n_draws: usize,
    /// Where the heights come from; empty without heights.
    pub heights: String,
    /// True when lek places are withheld.
    pub withheld: bool,
    /// What is done about lek places, in words.
    pub secrecy: String,
    /// The job, paragraph by paragraph.
    pub job: Vec<String>,
    /// One headline a lek.
    pub headlines: Vec<Headline>,
    /// Leks in full.
    pub leks: Vec<LekText>,
    /// Findings, numbered from 1.
    pub findings: Vec<FindingText>,
    /// What to measure on the next visit.
    pub next_visit: Vec<String>,
    /// What had to be assumed about the survey.
    pub notes: Vec<String>,
    /// Figures used.
    pub evidence: Vec<Evidence>,
    /// Sources of those figures.
    pub references: Vec<Reference>,
    /// Cautions: title and text.
    pub cautions: Vec<(String, String)>,
    /// Season maps: name and months.
    pub season_maps: Vec<(String, String)>,
    /// The pinch season drawn large: its name; empty without leks.
    pub pinch_map: String,
    /// Whether there is ground to draw.
    pub maps: bool,
    /// Year-sheet pictures, one a page.
    pub year_sheets: usize,
    /// The option handed over with the plan.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub option: Option<OptionText>,
    /// The works of that option.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub works: Option<WorksText>,
    /// The birds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spring: Option<SpringText>,
}

/// Puts a pack into words.
pub fn of(pack: &Pack) -> Content {
    let secrecy = pack.secrecy();
    let about = &pack.holding.about;
    let a = pack.assessment;
    let hectares = pack.holding.boundary.as_ref().map(|b| b.unsigned_area() / 10_000.0);
    let findings = found::of(pack, &secrecy);
    let (evidence, references) = evidence::of(pack);
    Content {
        name: if about.name.trim().is_empty() { "Unnamed holding".to_owned() } else { about.name.clone() },
        area: hectares.map(|ha| format!("{} ha", words::grouped(ha))).unwrap_or_default(),
        country: about.country.in_words().to_owned(),
        as_at: words::day(about.as_at.unwrap_or(pack.today)),
        today: words::day(pack.today),
        edition: a.guidance_edition.clone(),
        draws: format!("{} draws, seed {}, cells of {} m", a.draws, a.seed, a.cell_m),
        n_draws: a.draws,
        heights: pack.holding.heights.as_ref().map(|_| about.heights_source.clone()).unwrap_or_default(),
        withheld: secrecy.withheld(),
        secrecy: secrecy_in_words(pack, &secrecy),
        job: job::paragraphs(pack, hectares, &findings),
        headlines: job::headlines(pack, &secrecy),
        leks: a.leks.iter().enumerate().map(|(i, ledger)| lek::of(pack, &secrecy, i, ledger)).collect(),
        next_visit: found::next_visit(pack, &secrecy),
        findings,
        notes: a.notes.iter().map(|n| secrecy.words(n)).collect(),
        evidence,
        references,
        cautions: cautions::of(pack),
        season_maps: pack.pictures.value.iter().map(|(s, _)| (words::capital(s.name()), s.months().to_owned())).collect(),
        pinch_map: job::pinch(pack).map(|s| words::capital(s.name())).unwrap_or_default(),
        maps: crate::map::view::extent(pack.holding).is_some(),
        year_sheets: crate::chart::year_sheet::pages(a.leks.len()),
        option: option::of(pack, &secrecy),
        works: works::of(pack, &secrecy),
        spring: spring::of(pack, &secrecy),
    }
}

/// The season drawn large: the worst pinch of all leks.
pub fn pinch(pack: &Pack) -> Option<habitat::Season> {
    job::pinch(pack)
}

fn secrecy_in_words(pack: &Pack, secrecy: &Secrecy) -> String {
    if pack.holding.leks.is_empty() {
        String::new()
    } else if secrecy.withheld() {
        "Lek places are withheld: each lek is given only as the kilometre square it lies in, distances from it and shares round it are given in bands, \
         sight-line maps are left out, and vegetation and woods inside those squares are not drawn or copied in detail. The keeper of the plan holds the places."
            .to_owned()
    } else {
        "This copy shows where leks are. Keep it close: birds at a lek are easily disturbed, and disturbing them on purpose or \
         without care may break the law."
            .to_owned()
    }
}
