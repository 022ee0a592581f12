//! The job in this holding: one paragraph from the figures, and a headline for every lek.

use super::found::FindingText;
use crate::pack::Pack;
use crate::secrecy::Secrecy;
use crate::words;
use habitat::{LekLedger, Season, SeasonLedger};
use serde::Serialize;

/// A lek in one line.
#[derive(Clone, Debug, Serialize)]
pub struct Headline {
    /// The lek's name.
    pub lek: String,
    /// The pinch season.
    pub season: String,
    /// How things stand there, in a word.
    pub state: String,
    /// `186 of 200`.
    pub draws: String,
    /// Shortfall in words; empty where there is none.
    pub shortfall: String,
    /// The sentence of the ledger.
    pub words: String,
}

/// The ledger of a lek's pinch season.
fn pinch_of(lek: &LekLedger) -> Option<&SeasonLedger> {
    lek.seasons.iter().find(|s| s.season == lek.pinch)
}

/// The pinch season of the lek that is worst off.
pub fn pinch(pack: &Pack) -> Option<Season> {
    let leks = &pack.assessment.leks;
    leks.iter().filter_map(pinch_of).min_by(|a, b| a.margin.p50.total_cmp(&b.margin.p50)).map(|s| s.season)
}

/// One headline a lek.
pub fn headlines(pack: &Pack, secrecy: &Secrecy) -> Vec<Headline> {
    let draws = pack.assessment.draws;
    pack.assessment
        .leks
        .iter()
        .filter_map(|lek| {
            let season = pinch_of(lek)?;
            let short = season.shortfall_ha;
            Some(Headline {
                lek: lek.name.clone(),
                season: season.season.name().to_owned(),
                state: words::often(season).to_owned(),
                draws: format!("{} of {draws}", season.short_draws),
                shortfall: if short > 0.0 { format!("about {} ha", words::hectares(short)) } else { String::new() },
                words: secrecy.words(&lek.words),
            })
        })
        .collect()
}

/// The job in words.
pub fn paragraphs(pack: &Pack, hectares: Option<f64>, findings: &[FindingText]) -> Vec<String> {
    let a = pack.assessment;
    let name = if pack.holding.about.name.trim().is_empty() { "This holding" } else { &pack.holding.about.name };
    let size = hectares.map(|ha| format!(", {} ha,", words::grouped(ha))).unwrap_or_default();
    if a.leks.is_empty() {
        return vec![format!(
            "{name}{size} has no lek on the plan, so there is no ledger of the bird's year. Walk the open ground round dawn in April, enter any lek \
             that is found, and assess again. {}",
            findings_in_words(findings)
        )];
    }
    let mut out = vec![format!("{name}{size} holds {}. {}", words::things(a.leks.len(), "lek", "leks"), cocks_in_words(&a.leks))];
    let mut short: Vec<(Season, usize)> = vec![];
    for season in Season::ALL {
        let n = a.leks.iter().flat_map(|l| &l.seasons).filter(|s| s.season == season && s.short_fraction >= 0.5).count();
        if n > 0 {
            short.push((season, n));
        }
    }
    if short.is_empty() {
        out.push("No season of the bird's year is short in half of the draws or more at any lek: the job is to keep what is there.".to_owned());
    } else {
        out.push(format!("The bird's year is only as good as its worst season. {} The job is to mend the pinch of each lek first, below, and to keep the seasons that have enough.", shortages(&short, a.leks.len())));
    }
    out.push(findings_in_words(findings));
    out
}

/// Which seasons are short, and at how many of the leks.
fn shortages(short: &[(Season, usize)], leks: usize) -> String {
    let names: Vec<String> = short.iter().map(|(s, _)| s.name().to_owned()).collect();
    let every = short.iter().all(|(_, n)| *n == leks);
    let all = short.len() == Season::ALL.len();
    let some = words::count(short.len());
    let is = if short.len() == 1 { "is" } else { "are" };
    if leks == 1 || every {
        let place = if leks == 1 { "" } else { " at every lek" };
        return if all {
            format!("Each of the seven seasons is short{place} in at least half of the draws.")
        } else {
            format!("Of the seven, {some} {is} short{place} in at least half of the draws: {}.", words::list(&names))
        };
    }
    let place = |n: usize| if n == leks { "every lek".to_owned() } else { words::things(n, "lek", "leks") };
    let parts: Vec<String> = short.iter().map(|(s, n)| format!("{} at {}", s.name(), place(*n))).collect();
    let who = if all { "Each of the seven seasons is".to_owned() } else { format!("Of the seven, {some} {is}") };
    format!("{who} short at one lek or more, in at least half of the draws there: {}.", words::list(&parts))
}

fn cocks_in_words(leks: &[LekLedger]) -> String {
    let counted: Vec<&LekLedger> = leks.iter().filter(|l| l.cocks.is_some()).collect();
    let cocks: u32 = counted.iter().filter_map(|l| l.cocks).sum();
    let years: Vec<i32> = counted.iter().filter_map(|l| l.counted).collect();
    let Some((first, last)) = years.iter().min().zip(years.iter().max()) else {
        return "No lek has a valid count yet.".to_owned();
    };
    let when = if first == last { format!("in {last}") } else { format!("at the latest counts ({first} to {last})") };
    let never = leks.len() - counted.len();
    let rest = if never > 0 { format!("; {} without a valid count", words::things(never, "lek is", "leks are")) } else { String::new() };
    format!("{cocks} {} counted {when}{rest}.", if cocks == 1 { "cock was" } else { "cocks were" })
}

fn findings_in_words(findings: &[FindingText]) -> String {
    if findings.is_empty() {
        return "The rules found nothing wrong with what is there.".to_owned();
    }
    let parts: Vec<String> = ["must", "should", "consider"]
        .into_iter()
        .filter_map(|severity| {
            let n = findings.iter().filter(|f| f.severity == severity).count();
            (n > 0).then(|| format!("{} marked \"{severity}\"", words::count(n)))
        })
        .collect();
    format!("The rules found {}: {}.", words::things(findings.len(), "thing", "things"), words::list(&parts))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shortages_are_said_by_season_and_number_of_leks() {
        let all: Vec<(Season, usize)> = Season::ALL.into_iter().enumerate().map(|(i, s)| (s, if i == 0 { 3 } else { 1 })).collect();
        let said = shortages(&all, 3);
        assert!(said.starts_with("Each of the seven seasons is short at one lek or more, in at least half of the draws there: display at every lek, "), "{said}");
        assert!(said.ends_with("at one lek."), "{said}");
        assert_eq!(shortages(&[(Season::Nest, 2)], 3), "Of the seven, one is short at one lek or more, in at least half of the draws there: nest at two leks.");
        assert_eq!(shortages(&[(Season::Nest, 1), (Season::Brood, 1)], 1), "Of the seven, two are short in at least half of the draws: nest and brood.");
        assert_eq!(shortages(&[(Season::Nest, 3)], 3), "Of the seven, one is short at every lek in at least half of the draws: nest.");
        assert_eq!(shortages(&Season::ALL.map(|s| (s, 1)), 1), "Each of the seven seasons is short in at least half of the draws.");
    }
}
