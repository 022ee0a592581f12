//! A table as cells by column, each row with its line.

use std::collections::BTreeMap;

use crate::fault::Fault;

/// One line of a table.
pub(super) struct Line<'a> {
    pub(super) file: &'a str,
    pub(super) number: usize,
    cells: BTreeMap<&'static str, String>,
}

impl Line<'_> {
    /// The trimmed cell of `column`; empty where the column is not there.
    pub(super) fn cell(&self, column: &str) -> &str {
        self.cells.get(column).map_or("", String::as_str)
    }

    /// A fault of this line with the cell as what was found.
    pub(super) fn fault(&self, column: &str, needed: impl Into<String>, hint: impl Into<String>) -> Fault {
        let cell = self.cell(column);
        let found = if cell.is_empty() { "nothing".to_owned() } else { format!("`{cell}`") };
        Fault { file: self.file.to_owned(), row: self.number, column: column.to_owned(), needed: needed.into(), found, hint: hint.into() }
    }
}

/// The lines of a table whose header must be exactly `columns`; a faulty header or line is told and left out.
pub(super) fn read<'a>(file: &'a str, text: &str, columns: &[&'static str], faults: &mut Vec<Fault>) -> Vec<Line<'a>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
    let header = reader.headers().cloned().unwrap_or_default();
    if header.iter().ne(columns.iter().copied()) {
        faults.push(Fault {
            file: file.to_owned(),
            row: 1,
            column: String::new(),
            needed: format!("the header `{}`", columns.join(",")),
            found: format!("`{}`", header.iter().collect::<Vec<_>>().join(",")),
            hint: "keep the columns in this order, none more and none fewer".to_owned(),
        });
        return Vec::new();
    }
    let mut lines = Vec::new();
    for record in reader.records() {
        match record {
            Ok(record) => {
                let number = record.position().map_or(0, |position| position.line() as usize);
                if record.len() == columns.len() {
                    let cells = columns.iter().copied().zip(record.iter().map(str::to_owned)).collect();
                    lines.push(Line { file, number, cells });
                } else {
                    faults.push(cell_count(file, number, columns.len(), record.len()));
                }
            }
            Err(error) => faults.push(Fault {
                file: file.to_owned(),
                row: error.position().map_or(0, |position| position.line() as usize),
                column: String::new(),
                needed: "a line of comma-separated text".to_owned(),
                found: error.to_string(),
                hint: "save the table as UTF-8 with commas".to_owned(),
            }),
        }
    }
    lines
}

fn cell_count(file: &str, row: usize, needed: usize, found: usize) -> Fault {
    Fault {
        file: file.to_owned(),
        row,
        column: String::new(),
        needed: format!("{needed} cells"),
        found: format!("{found}"),
        hint: "put a text that holds a comma in double quotes".to_owned(),
    }
}
