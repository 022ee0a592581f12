//! The pictures of the pages, by file name.

use crate::chart::{birds_ahead, birds_change, board, broods, counts, frontier, money, network, paired, split, trend, variance, year_sheet, years_ahead};
use crate::content::works::Telling;
use crate::content::{self, Content};
use crate::map::Scene;
use crate::pack::Pack;
use crate::spring::Spring;
use holding::Holding;

/// Width of the text on a page, millimetres.
pub const TEXT_MM: f64 = 174.0;
/// Height a full-page map may take, millimetres.
pub const SHEET_MM: f64 = 238.0;
/// Height of the curves of one lek, millimetres.
pub const AHEAD_MM: f64 = 196.0;
/// Height of the map of one kind of measure, millimetres.
pub const KIND_MM: f64 = 112.0;

/// The same where the measures are many, and told in a table that runs over the page.
pub const MANY_MM: f64 = 158.0;

/// Height of the money by year, millimetres.
pub const MONEY_MM: f64 = 78.0;
/// Height of the trend, millimetres.
pub const TREND_MM: f64 = 100.0;
/// Height of the map of the network, millimetres.
pub const NETWORK_MM: f64 = 132.0;

/// Draws every picture the pages call for.
pub fn of(pack: &Pack, content: &Content) -> Vec<(String, String)> {
    let mut out: Vec<(String, String)> = vec![];
    let a = pack.assessment;
    for page in 0..content.year_sheets {
        out.push((format!("year-sheet-{page}.svg"), year_sheet::draw(&a.leks, a.draws, page, TEXT_MM)));
    }
    for (i, lek) in a.leks.iter().enumerate() {
        let chart = pack.counts.iter().find(|c| c.lek == lek.id).and_then(|c| counts::draw(c, TEXT_MM, 46.0));
        out.extend(chart.map(|svg| (format!("counts-{i}.svg"), svg)));
    }
    let secrecy = pack.secrecy();
    if let (Some(planned), Some(text)) = (pack.option, &content.option) {
        out.push(("paired-met.svg".into(), paired::met(planned, text, TEXT_MM)));
        for lek in 0..a.leks.len() {
            out.push((format!("paired-{lek}.svg"), paired::lek(planned, lek, TEXT_MM)));
            out.push((format!("ahead-{lek}.svg"), years_ahead::draw(planned, lek, TEXT_MM, AHEAD_MM)));
        }
        out.extend(planned.frontier.as_ref().and_then(|f| frontier::draw(f, TEXT_MM, 78.0)).map(|svg| ("frontier.svg".into(), svg)));
    }
    if let Some(works) = pack.works.filter(|_| content.works.is_some()) {
        let boards = board::board(works, &Telling::of(works, &secrecy), "");
        out.extend(boards.into_iter().enumerate().map(|(i, svg)| (format!("board-{i}.svg"), svg)));
        out.extend(works.account.iter().filter_map(|a| money::draw(&a.years, TEXT_MM, MONEY_MM)).map(|svg| ("money.svg".into(), svg)));
    }
    let public = secrecy.public(pack.holding);
    out.extend(pack.spring.map(|spring| birds(pack, spring, &public)).unwrap_or_default());
    let Some(scene) = Scene::new(&public, &secrecy) else { return out };
    if let (Some(planned), Some(text)) = (pack.option, &content.option) {
        let placed = content::option::placed(pack, &secrecy);
        if text.map {
            out.push(("measures.svg".into(), scene.measures(planned, &placed, None, TEXT_MM, SHEET_MM - 8.0).svg));
        }
        for kind in text.kinds.iter().filter(|k| k.map) {
            out.push((format!("measures-{}.svg", kind.key), scene.measures(planned, &placed, Some(kind.key), TEXT_MM, if kind.many { MANY_MM } else { KIND_MM }).svg));
        }
    }
    out.push(("locator.svg".into(), scene.locator(TEXT_MM, 120.0)));
    out.push(("ground.svg".into(), scene.ground(TEXT_MM, SHEET_MM).svg));
    for (i, (season, grid)) in pack.pictures.value.iter().enumerate() {
        let grid = &*secrecy.grid(pack.holding, grid);
        out.push((format!("season-{i}.svg"), scene.season_small(grid, 56.0)));
        if content::pinch(pack) == Some(*season) {
            out.push(("pinch.svg".into(), scene.season(grid, TEXT_MM, SHEET_MM).svg));
        }
    }
    out.push(("value-key.svg".into(), scene.value_key(56.0)));
    if !pack.findings.is_empty() {
        out.push(("findings.svg".into(), scene.findings(&pack.ordered_findings(), TEXT_MM, SHEET_MM).svg));
    }
    for (i, ledger) in a.leks.iter().enumerate() {
        let place = pack.holding.leks.iter().position(|l| l.id == ledger.id);
        let seen = pack.pictures.view.get(i).and_then(Option::as_ref);
        let sheet = place.zip(seen).and_then(|(lek, grid)| scene.sight(lek, grid, 84.0));
        out.extend(sheet.map(|s| (format!("sight-{i}.svg"), s.svg)));
    }
    out
}

/// The pictures of the birds.
fn birds(pack: &Pack, spring: &Spring, public: &Holding) -> Vec<(String, String)> {
    let secrecy = pack.secrecy();
    let mut out: Vec<(String, String)> = vec![];
    let mut add = |name: &str, svg: Option<String>| out.extend(svg.map(|svg| (name.to_owned(), svg)));
    if let Ok(t) = &spring.trend {
        add("trend.svg", trend::draw(t, TEXT_MM, TREND_MM));
        add("split.svg", split::draw(t, TEXT_MM));
    }
    add("broods.svg", broods::draw(&spring.found.summers, &spring.found.break_even, spring.question.level, TEXT_MM));
    if let Ok(ahead) = &spring.ahead {
        let p = &ahead.projection;
        let option = pack.option.map(|o| o.number);
        let name = content::spring::course(pack, &secrecy, option);
        add("birds-ahead.svg", birds_ahead::all(p, option, &name, TEXT_MM));
        for page in 0..birds_ahead::pages(p) {
            add(&format!("birds-leks-{page}.svg"), birds_ahead::leks(p, option, &name, page, TEXT_MM));
        }
        add("birds-change.svg", birds_change::draw(p, |n| content::spring::course(pack, &secrecy, Some(n)), TEXT_MM));
        add("variance.svg", Some(variance::draw(&p.growth, TEXT_MM)));
    }
    add("network.svg", spring.network.as_ref().and_then(|n| network::draw(n, public, &secrecy, TEXT_MM, NETWORK_MM)));
    out
}
