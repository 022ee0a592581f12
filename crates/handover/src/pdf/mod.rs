//! The plan on paper. Words and figures reach the page engine as data, never as markup, so that no name can break a page.

mod world;

use chrono::NaiveDate;
use serde::Serialize;
use typst_layout::PagedDocument;

/// The document: how pages look. What they say is in `data.json`, the pictures in files of their own.
const PAGES: &str = include_str!("pages.typ");
/// The pages of an option, and the line of the document they stand in place of.
const OPTION: &str = include_str!("option.typ");
const OPTION_HERE: &str = "// ---- the option\n";
/// The pages of the works, and their line.
const WORKS: &str = include_str!("works.typ");
const WORKS_HERE: &str = "// ---- the works\n";
/// The pages of the birds, and their line.
const BIRDS: &str = include_str!("birds.typ");
const BIRDS_HERE: &str = "// ---- the birds\n";
/// What the sheets to be written on outdoors have in common.
const FIELD: &str = include_str!("field.typ");
/// The sheet of a spring's dawns.
const DAWNS: &str = include_str!("dawns.typ");
/// What the sheets of works have in common.
const SHEET: &str = include_str!("sheet.typ");
/// The sheet for the kitchen table.
const KITCHEN: &str = include_str!("kitchen.typ");
/// The contractor's sheet.
const CONTRACTOR: &str = include_str!("contractor.typ");
/// The field sheets.
const MONITORING: &str = include_str!("monitoring.typ");

/// Sets the pages of `data` with `pictures` (name and SVG) and gives the bytes of the PDF.
///
/// # Errors
/// What the page engine says, in its words: a fault of this program, never of the plan.
pub fn set(data: &impl Serialize, pictures: Vec<(String, String)>, today: NaiveDate) -> Result<Vec<u8>, String> {
    set_as(&PAGES.replacen(OPTION_HERE, OPTION, 1).replacen(WORKS_HERE, WORKS, 1).replacen(BIRDS_HERE, BIRDS, 1), data, pictures, today)
}

/// The same for the sheet of a spring's dawns.
///
/// # Errors
/// As [`set`].
pub fn set_dawns(data: &impl Serialize, pictures: Vec<(String, String)>, today: NaiveDate) -> Result<Vec<u8>, String> {
    set_as(&[FIELD, DAWNS].concat(), data, pictures, today)
}

/// The same for the field sheets.
///
/// # Errors
/// As [`set`].
pub fn set_monitoring(data: &impl Serialize, pictures: Vec<(String, String)>, today: NaiveDate) -> Result<Vec<u8>, String> {
    set_as(&[FIELD, MONITORING].concat(), data, pictures, today)
}

/// The same for the sheet for the kitchen table.
///
/// # Errors
/// As [`set`].
pub fn set_kitchen(data: &impl Serialize, pictures: Vec<(String, String)>, today: NaiveDate) -> Result<Vec<u8>, String> {
    set_as(&[SHEET, KITCHEN].concat(), data, pictures, today)
}

/// The same for the contractor's sheet.
///
/// # Errors
/// As [`set`].
pub fn set_contractor(data: &impl Serialize, pictures: Vec<(String, String)>, today: NaiveDate) -> Result<Vec<u8>, String> {
    set_as(&[SHEET, CONTRACTOR].concat(), data, pictures, today)
}

fn set_as(document: &str, data: &impl Serialize, pictures: Vec<(String, String)>, today: NaiveDate) -> Result<Vec<u8>, String> {
    let mut json = serde_json::to_string(data).map_err(|e| e.to_string())?;
    json.retain(|letter| !holding::words::turns(letter));
    let mut files = vec![("data.json".to_owned(), json.into_bytes())];
    files.extend(pictures.into_iter().map(|(name, svg)| (name, svg.into_bytes())));
    let world = world::Closed::new(document, files, today).ok_or("a picture has no usable name")?;
    let compiled = typst::compile::<PagedDocument>(&world);
    let set = compiled
        .output
        .and_then(|document| typst_pdf::pdf(&document, &typst_pdf::PdfOptions::default()))
        .map_err(|faults| faults.iter().map(|f| f.message.to_string()).collect::<Vec<_>>().join("; "));
    set.map(plainly_marked)
}

/// Gives up what the page engine remembers of pages set, which would grow from plan to plan: once all of a plan's are done, as pages set
/// side by side would lose what they still need.
pub fn forget() {
    comemo::evict(0);
}

/// The marks of a tagged document without `Suspects false`, which is what holds where nothing is said (ISO 32000-1, table 321), and which
/// some readers take for a fault where it is said. Blanks in its place leave every offset as it is.
fn plainly_marked(mut pdf: Vec<u8>) -> Vec<u8> {
    const MARKS: &[u8] = b"/MarkInfo<</Marked true/Suspects false>>";
    const SAID: &[u8] = b"/Suspects false";
    if let Some(at) = pdf.windows(MARKS.len()).rposition(|w| w == MARKS) {
        let from = at + MARKS.len() - 2 - SAID.len();
        pdf[from..from + SAID.len()].fill(b' ');
    }
    pdf
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_the_default_is_left_out_and_nothing_moves() {
        let pdf = plainly_marked(b"1 0 obj<</MarkInfo<</Marked true/Suspects false>>/Lang(en)>>".to_vec());
        assert_eq!(pdf, b"1 0 obj<</MarkInfo<</Marked true               >>/Lang(en)>>");
        assert_eq!(plainly_marked(b"%PDF".to_vec()), b"%PDF");
    }
}
