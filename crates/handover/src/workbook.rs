//! The ledger as a workbook: figures as numbers, so that they can be worked with, and the same words as on paper. Beside it the jobs for
//! a contractor ([`contractor`]) and the claims ([`claims`]).
//!
//! Every text is written as text: a name that begins like a formula stays a name.

pub mod claims;
pub mod contractor;
mod option;
mod spring;

use crate::content::Content;
use crate::pack::Pack;
use crate::secrecy::Secrecy;
use crate::svg::palette::{INK, LICHEN};
use chrono::{Datelike, NaiveDate};
use habitat::{Quantiles, Season};
use works::money::Pence;
use rust_xlsxwriter::{Color, DocProperties, ExcelDateTime, Format, FormatAlign, Workbook, Worksheet, XlsxError};

/// Paper, by the numbers the format gives sizes (ECMA-376 part 1, 18.3.1.63, `paperSize`).
const A3: u8 = 8;
const A4: u8 = 9;

/// A cell.
enum Cell {
    Text(String),
    Number(f64),
    /// An amount of something, with as many decimals as it has, four at most.
    Amount(f64),
    /// Money.
    Money(Pence),
    /// A day.
    Day(NaiveDate),
}

fn t(text: impl Into<String>) -> Cell {
    Cell::Text(text.into())
}

/// A whole number.
fn n(number: usize) -> Cell {
    Cell::Number(number as f64)
}

/// A figure where there is one.
fn some(value: Option<f64>, cell: fn(f64) -> Cell) -> Cell {
    value.map_or_else(|| t(""), cell)
}

fn quantiles(q: &Quantiles) -> [Cell; 3] {
    [q.p10, q.p50, q.p90].map(Cell::Number)
}

/// A sheet: its name, heads with widths in characters, and rows.
struct Sheet {
    name: &'static str,
    heads: Vec<(String, f64)>,
    rows: Vec<Vec<Cell>>,
}

fn heads(list: &[(&str, f64)]) -> Vec<(String, f64)> {
    list.iter().map(|(name, width)| ((*name).to_owned(), *width)).collect()
}

/// The bytes of the workbook.
///
/// # Errors
/// What the writer says.
pub fn of(pack: &Pack, content: &Content) -> Result<Vec<u8>, String> {
    write(pack, content).map_err(|e| e.to_string())
}

fn write(pack: &Pack, content: &Content) -> Result<Vec<u8>, XlsxError> {
    let mut sheets = vec![
        about(content),
        year_sheet(pack),
        ledger(pack, content),
        losses(pack, &pack.secrecy()),
        surroundings(content),
        grounds(content),
        counts(pack),
        findings(content),
        next_visit(content),
        figures(content),
        sources(content),
    ];
    if let (Some(planned), Some(text)) = (pack.option, &content.option) {
        let at = sheets.len() - 2;
        sheets.splice(at..at, option::sheets(pack, planned, text));
    }
    if let Some(spring) = pack.spring {
        let at = sheets.len() - 2;
        sheets.splice(at..at, spring::sheets(pack, spring));
    }
    book(&content.name, pack.today, &sheets)
}

/// A workbook of sheets, made on a day.
fn book(title: &str, day: NaiveDate, sheets: &[Sheet]) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    book.set_properties(&DocProperties::new().set_title(title).set_creation_datetime(&date(day)?));
    for sheet in sheets {
        fill(book.add_worksheet(), sheet)?;
    }
    book.save_to_buffer()
}

/// A day as the format counts it.
fn date(day: NaiveDate) -> Result<ExcelDateTime, XlsxError> {
    ExcelDateTime::from_ymd(u16::try_from(day.year()).unwrap_or(1900), u8::try_from(day.month()).unwrap_or(1), u8::try_from(day.day()).unwrap_or(1))
}

/// Number format of an amount: none, two or four decimals, as it has.
fn decimals(value: f64) -> &'static str {
    match (value.fract() == 0.0, (value * 100.0 - (value * 100.0).round()).abs() < 1e-6) {
        (true, _) => "#,##0",
        (_, true) => "#,##0.00",
        _ => "#,##0.0000",
    }
}

/// Letters that go on a line of a column of a width in characters: fonts that stand in for the workbook's own run wider.
const LINE_SHARE: f64 = 0.92;
/// Characters the gap before a text takes.
const INDENT: f64 = 1.0;
/// Height of a line and the most a row may have, points.
const LINE_PT: f64 = 15.0;
const MOST_PT: f64 = 400.0;
/// Characters that fit across a landscape A4 page at full size; more go on A3.
const A4_CHARACTERS: f64 = 145.0;

/// Lines a text takes in a column, words kept whole.
fn lines(text: &str, width: f64, bold: bool) -> usize {
    let room = ((width - INDENT) * LINE_SHARE * if bold { 0.9 } else { 1.0 }).max(1.0) as usize;
    let paragraph = |part: &str| {
        let (mut lines, mut used) = (1, 0);
        for word in part.split(' ') {
            let long = word.chars().count();
            if used > 0 && used + 1 + long > room {
                lines += 1;
                used = 0;
            }
            used += long + usize::from(used > 0);
            lines += used.saturating_sub(1) / room;
            used = if used > room { (used - 1) % room + 1 } else { used };
        }
        lines
    };
    text.split('\n').map(paragraph).sum()
}

/// The height of a row whose longest cell has a number of lines, points.
fn height(lines: usize) -> f64 {
    (lines.max(1) as f64 * LINE_PT + 2.0).min(MOST_PT)
}

fn fill(page: &mut Worksheet, sheet: &Sheet) -> Result<(), XlsxError> {
    let colour = |hex: &str| Color::RGB(u32::from_str_radix(hex.trim_start_matches('#'), 16).unwrap_or(0));
    let head = Format::new().set_bold().set_indent(1).set_align(FormatAlign::Left).set_font_color(colour(INK)).set_background_color(colour(LICHEN)).set_text_wrap().set_align(FormatAlign::Top);
    let body = Format::new().set_text_wrap().set_indent(1).set_align(FormatAlign::Left).set_align(FormatAlign::Top);
    let number = Format::new().set_num_format("0.00").set_align(FormatAlign::Top);
    let whole = Format::new().set_num_format("0").set_align(FormatAlign::Top);
    let money = Format::new().set_num_format("#,##0.00").set_align(FormatAlign::Top);
    let day = Format::new().set_num_format("d mmm yyyy").set_align(FormatAlign::Top).set_align(FormatAlign::Left).set_indent(1);
    page.set_name(sheet.name)?;
    for (col, (name, width)) in (0u16..).zip(&sheet.heads) {
        page.set_column_width(col, *width)?;
        page.write_string_with_format(0, col, name, &head)?;
    }
    page.set_row_height(0, height(sheet.heads.iter().map(|(name, width)| lines(name, *width, true)).max().unwrap_or(1)))?;
    for (row, cells) in (1u32..).zip(&sheet.rows) {
        let tall = cells.iter().zip(&sheet.heads).map(|(cell, (_, width))| match cell {
            Cell::Text(text) => lines(text, *width, false),
            _ => 1,
        });
        page.set_row_height(row, height(tall.max().unwrap_or(1)))?;
        for (col, cell) in (0u16..).zip(cells) {
            match cell {
                Cell::Text(text) if text.is_empty() => {}
                Cell::Text(text) => {
                    // A cell holds at most 32,767 letters; what turns a line would show other words than the cell holds.
                    let short: String = text.chars().filter(|c| !holding::words::turns(*c)).take(32_000).collect();
                    page.write_string_with_format(row, col, short, &body)?;
                }
                Cell::Number(value) if value.is_finite() => {
                    let format = if value.fract() == 0.0 { &whole } else { &number };
                    page.write_number_with_format(row, col, *value, format)?;
                }
                Cell::Amount(value) if value.is_finite() => {
                    page.write_number_with_format(row, col, *value, &Format::new().set_num_format(decimals(*value)).set_align(FormatAlign::Top))?;
                }
                Cell::Money(pence) => {
                    page.write_number_with_format(row, col, pence.gbp(), &money)?;
                }
                Cell::Day(on) => {
                    page.write_datetime_with_format(row, col, date(*on)?, &day)?;
                }
                Cell::Number(_) | Cell::Amount(_) => {}
            }
        }
    }
    page.set_freeze_panes(1, 0)?;
    page.set_landscape();
    page.set_print_fit_to_pages(1, 0);
    page.set_paper_size(if sheet.heads.iter().map(|(_, width)| width).sum::<f64>() > A4_CHARACTERS { A3 } else { A4 });
    page.set_margins(0.4, 0.4, 0.5, 0.6, 0.3, 0.3);
    page.set_repeat_rows(0, 0)?;
    page.set_footer("&L&A&RPage &P of &N");
    let last = u16::try_from(sheet.heads.len()).ok().and_then(|n| n.checked_sub(1));
    if let Some(last) = last.filter(|_| !sheet.rows.is_empty()) {
        page.autofilter(0, 0, sheet.rows.len() as u32, last)?;
    }
    Ok(())
}

fn about(c: &Content) -> Sheet {
    let line = |what: &str, value: &str| vec![t(what), t(value)];
    let mut rows = vec![
        line("Holding", &c.name),
        line("Area", &c.area),
        line("Country", &c.country),
        line("As at", &c.as_at),
        line("Printed", &c.today),
        line("Figures, edition", &c.edition),
        line("Draws", &c.draws),
        line("Heights", &c.heights),
        line("Lek places", &c.secrecy),
        line("What this is", "This advises; it does not license. Consents and work follow the law and codes in force and the people licensed to judge them."),
    ];
    rows.extend(c.job.iter().map(|p| line("The job", p)));
    rows.extend(c.notes.iter().map(|n| line("Assumed", n)));
    rows.extend(c.cautions.iter().map(|(title, text)| vec![t(format!("Caution: {title}")), t(text.clone())]));
    Sheet { name: "About", heads: heads(&[("What", 26.0), ("", 110.0)]), rows }
}

/// What a workbook of an option is, when and from what it was made.
fn about_option(c: &Content, what: &str) -> Sheet {
    let line = |what: &str, value: &str| vec![t(what), t(value)];
    let option = c.option.as_ref();
    let rows = vec![
        line("What this is", what),
        line("Plan", &c.name),
        line("Option", option.map_or("", |o| &o.name)),
        line("Note", option.map_or("", |o| &o.note)),
        line("As at", &c.as_at),
        line("Printed", &c.today),
        line("Guidance, edition", &c.edition),
        line("Lek places", if c.withheld { "withheld: what would tell one is given as its kilometre square, its quantities to one figure" } else { "shown: keep this close" }),
        line("Before work", "This advises; it does not license. Consents and work follow the law and codes in force and the people licensed to judge them: check the code in force."),
    ];
    Sheet { name: "About", heads: heads(&[("What", 26.0), ("", 110.0)]), rows }
}

fn year_sheet(pack: &Pack) -> Sheet {
    let mut names = heads(&[("Lek", 24.0), ("Pinch", 14.0)]);
    for season in Season::ALL {
        names.push((format!("{}: gives over need, middle", season.name()), 12.0));
        names.push((format!("{}: draws short", season.name()), 12.0));
    }
    let rows = pack
        .assessment
        .leks
        .iter()
        .map(|lek| {
            let mut row = vec![t(&lek.name), t(lek.pinch.name())];
            for season in Season::ALL {
                let found = lek.seasons.iter().find(|s| s.season == season);
                row.push(found.map_or(t(""), |s| Cell::Number(s.margin.p50)));
                row.push(found.map_or(t(""), |s| Cell::Number(s.short_draws as f64)));
            }
            row
        })
        .collect();
    Sheet { name: "Year sheet", heads: names, rows }
}

fn ledger(pack: &Pack, c: &Content) -> Sheet {
    let mut names = heads(&[("Lek", 24.0), ("Season", 13.0), ("Months", 12.0)]);
    for figure in ["Gives, ha", "Needs, ha", "Gives over need"] {
        names.extend(["one draw in ten is lower", "middle", "one draw in ten is higher"].map(|q| (format!("{figure}: {q}"), 11.0)));
    }
    names.extend(heads(&[("Draws short", 10.0), ("of", 7.0), ("Shortfall, ha", 11.0), ("State", 13.0), ("Pinch", 8.0), ("In words", 60.0)]));
    let mut rows = vec![];
    for (lek, words) in pack.assessment.leks.iter().zip(&c.leks) {
        for (s, said) in lek.seasons.iter().zip(&words.seasons) {
            let mut row = vec![t(&lek.name), t(s.season.name()), t(s.season.months())];
            row.extend([s.supply_ha, s.need_ha, s.margin].iter().flat_map(quantiles));
            row.extend([s.short_draws as f64, pack.assessment.draws as f64, s.shortfall_ha].map(Cell::Number));
            row.extend([t(said.state), t(if said.pinch { "pinch" } else { "" }), t(&said.words)]);
            rows.push(row);
        }
    }
    Sheet { name: "Ledger", heads: names, rows }
}

fn losses(pack: &Pack, secrecy: &Secrecy) -> Sheet {
    let mut rows = vec![];
    for lek in &pack.assessment.leks {
        for s in &lek.seasons {
            for loss in &s.losses {
                let stands: Vec<String> = loss.stands.iter().map(|p| format!("{} ({} ha)", if p.name.is_empty() { &p.id } else { &p.name }, crate::words::hectares(p.ha))).collect();
                rows.push(vec![t(&lek.name), t(s.season.name()), t(crate::words::cause(loss.cause)), Cell::Number(loss.ha), t(secrecy.words(&stands.join(", ")))]);
            }
        }
    }
    Sheet { name: "What costs most", heads: heads(&[("Lek", 24.0), ("Season", 13.0), ("What is wrong", 36.0), ("Usable ha", 11.0), ("Mostly on", 58.0)]), rows }
}

fn surroundings(c: &Content) -> Sheet {
    let rows = c
        .leks
        .iter()
        .flat_map(|lek| lek.composition.iter().map(|r| vec![t(&lek.name), t(&r.what), t(&r.value), t(&r.occupied), t(&r.lost), t(r.standing), t(&r.source)]))
        .collect();
    let heads = heads(&[("Lek", 24.0), ("What", 40.0), ("Here", 16.0), ("Leks that hold", 16.0), ("Leks lost", 16.0), ("Here is", 22.0), ("Source", 36.0)]);
    Sheet { name: "Surroundings", heads, rows }
}

fn grounds(c: &Content) -> Sheet {
    let rows = c.leks.iter().flat_map(|lek| lek.ground.iter().map(|f| vec![t(&lek.name), t(&lek.reference), t(f.what), t(&f.value)])).collect();
    Sheet { name: "Display grounds", heads: heads(&[("Lek", 24.0), ("Reference", 16.0), ("What", 40.0), ("Here", 20.0)]), rows }
}

fn counts(pack: &Pack) -> Sheet {
    let name = |id: &str| pack.holding.leks.iter().find(|l| l.id == id).map_or_else(|| id.to_owned(), |l| l.name.clone());
    let rows = pack
        .counts
        .iter()
        .flat_map(|c| {
            c.years.iter().map(|y| {
                let figure = |n: Option<u32>| n.map_or_else(|| t(""), |n| Cell::Number(f64::from(n)));
                vec![t(name(&c.lek)), Cell::Number(f64::from(y.year)), figure(y.cocks), figure(y.seen), t(y.not_valid())]
            })
        })
        .collect();
    Sheet { name: "Counts", heads: heads(&[("Lek", 24.0), ("Year", 8.0), ("Cocks", 8.0), ("Seen on other visits", 12.0), ("Note", 70.0)]), rows }
}

fn findings(c: &Content) -> Sheet {
    let rows = c
        .findings
        .iter()
        .map(|f| {
            let trust = [f.grade, &f.edition].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(", ");
            let words = [f.severity, &f.what, &f.place, &f.value, &f.needed, &f.why, &f.hint, &f.source, &trust, f.rule];
            std::iter::once(Cell::Number(f.number as f64)).chain(words.into_iter().map(t)).collect()
        })
        .collect();
    let heads = heads(&[
        ("Number", 8.0),
        ("Weight", 9.0),
        ("What", 26.0),
        ("Where", 24.0),
        ("Here", 32.0),
        ("Needed", 24.0),
        ("Why", 30.0),
        ("What to do", 40.0),
        ("Source", 20.0),
        ("Weakest figure, edition", 15.0),
        ("Rule", 20.0),
    ]);
    Sheet { name: "Findings", heads, rows }
}

fn next_visit(c: &Content) -> Sheet {
    Sheet { name: "Next visit", heads: heads(&[("What to measure", 110.0)]), rows: c.next_visit.iter().map(|line| vec![t(line)]).collect() }
}

fn figures(c: &Content) -> Sheet {
    let rows = c.evidence.iter().map(|e| [&e.table, &e.key, &e.value, &e.spread, &e.source, e.grade, &e.edition].into_iter().map(t).collect()).collect();
    let heads = heads(&[("Table", 16.0), ("Figure", 38.0), ("Value", 44.0), ("Spread", 18.0), ("Source and place", 40.0), ("Grade", 22.0), ("Edition", 10.0)]);
    Sheet { name: "Figures", heads, rows }
}

fn sources(c: &Content) -> Sheet {
    let rows = c.references.iter().map(|r| vec![t(&r.key), t(&r.reference), t(&r.read)]).collect();
    Sheet { name: "Sources", heads: heads(&[("Key", 24.0), ("Reference", 80.0), ("Read", 38.0)]), rows }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_as_tall_as_their_words() {
        assert_eq!(lines("short", 10.0, false), 1);
        assert_eq!(lines("four words of text here", 11.0, false), 3, "9 letters a line: four, words of, text here");
        assert_eq!(lines("a_key_longer_than_its_column", 11.0, false), 4);
        assert_eq!(lines("one\ntwo", 10.0, false), 2);
        assert_eq!(height(3), 47.0);
        assert_eq!(height(1000), MOST_PT);
    }

    #[test]
    fn an_amount_has_the_decimals_it_needs() {
        assert_eq!([3.0, 0.1 + 0.2, 12.34, 1.2345].map(decimals), ["#,##0", "#,##0.00", "#,##0.00", "#,##0.0000"]);
    }
}
