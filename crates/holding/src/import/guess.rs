//! Which column is which field: guessed from names, or told; always shown.

use super::fault::{Faults, ImportFault};
use super::field::{Field, Holds, fields};
use super::kind::Kind;
use super::place::place_fields;
use super::table::Table;
use super::unit::Unit;
use std::fmt;

/// One instruction of `--map field=column[:unit]`; the column `-` leaves the field out.
#[derive(Clone, Debug, PartialEq)]
pub struct MapTo {
    /// Field.
    pub field: String,
    /// Column, or `-`.
    pub column: String,
    /// Unit of the column's figures.
    pub unit: Option<Unit>,
}

impl MapTo {
    /// Read `field=column[:unit]`. A colon is part of the column's name unless a unit follows it.
    ///
    /// Errors: in words, where there is no `=` or nothing on one side of it.
    pub fn from_text(text: &str) -> Result<Self, String> {
        let wrong = || format!("needed `field=column` or `field=column:unit`, found `{text}`");
        let (field, column) = text.split_once('=').ok_or_else(wrong)?;
        let (column, unit) = match column.rsplit_once(':') {
            Some((before, word)) if Unit::from_word(word).is_some() => (before, Unit::from_word(word)),
            _ => (column, None),
        };
        if field.trim().is_empty() || column.trim().is_empty() {
            return Err(wrong());
        }
        Ok(Self { field: field.trim().to_owned(), column: column.trim().to_owned(), unit })
    }
}

/// How a column was found for a field, surest last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sure {
    /// A name much like it.
    Near,
    /// Another name used for it.
    Synonym,
    /// The field's own name.
    Exact,
    /// Told by `--map`.
    Told,
}

impl Sure {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Sure::Near => "a guess from a name much like it",
            Sure::Synonym => "another name for it",
            Sure::Exact => "its own name",
            Sure::Told => "as told",
        }
    }
}

/// One field with its column.
#[derive(Clone, Debug, PartialEq)]
pub struct Matched {
    /// Field.
    pub field: String,
    /// Column, as the file writes it.
    pub column: String,
    /// Unit the figures are taken in; `None` where the field has none, or each figure says its own.
    pub unit: Option<Unit>,
    /// How it was found.
    pub sure: Sure,
    /// The column's number in the table.
    pub(super) at: usize,
}

impl Matched {
    /// The column's number in the file, from 0.
    pub fn column_number(&self) -> usize {
        self.at
    }
}

/// How the columns of a source were understood.
#[derive(Clone, Debug, PartialEq)]
pub struct Mapping {
    /// Kind.
    pub kind: Kind,
    /// File.
    pub file: String,
    /// Layer or sheet.
    pub layer: Option<String>,
    /// Where the geometry comes from and in which coordinate system, in words.
    pub geometry: String,
    /// Fields with their columns.
    pub matched: Vec<Matched>,
    /// Columns kept as they came.
    pub extra: Vec<String>,
    /// Fields no column was found for.
    pub absent: Vec<String>,
    /// Every column of the file, in its order.
    pub columns: Vec<String>,
}

impl Mapping {
    /// The column of a field.
    pub fn of(&self, field: &str) -> Option<&Matched> {
        self.matched.iter().find(|m| m.field == field)
    }
}

impl fmt::Display for Mapping {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} from {}", crate::Word::word(self.kind), self.file)?;
        if let Some(layer) = &self.layer {
            write!(f, ", layer `{layer}`")?;
        }
        writeln!(f)?;
        if !self.geometry.is_empty() {
            writeln!(f, "  geometry: {}", self.geometry)?;
        }
        for m in &self.matched {
            let unit = m.unit.map(|u| format!(" in {}", u.sign())).unwrap_or_default();
            writeln!(f, "  {} <- column `{}`{unit} ({})", m.field, m.column, m.sure.words())?;
        }
        if !self.extra.is_empty() {
            writeln!(f, "  kept as they came: {}", self.extra.join(", "))?;
        }
        Ok(())
    }
}

/// A column name in plain words, with the unit it carries.
#[derive(Clone, Debug, PartialEq)]
struct Plain {
    words: String,
    unit: Option<Unit>,
}

/// `Mean height (cm)`, `meanHeight_cm` and `MEAN HEIGHT CM` are all `mean height` in centimetres.
fn plain(name: &str) -> Plain {
    let mut spaced = String::new();
    let mut lower_before = false;
    for c in name.chars() {
        if c.is_uppercase() && lower_before {
            spaced.push(' ');
        }
        lower_before = c.is_lowercase();
        match c {
            '%' => spaced.push_str(" % "),
            c if c.is_alphanumeric() => spaced.extend(c.to_lowercase()),
            _ => spaced.push(' '),
        }
    }
    let mut words: Vec<&str> = spaced.split_whitespace().collect();
    let mut unit = None;
    if let [.., "per", "ha"] | [.., "stems", "ha"] = words[..]
        && words.len() > 2
    {
        words.truncate(words.len() - 2);
        unit = Some(Unit::PerHectare);
        if words.last() == Some(&"stems") && words.len() > 1 {
            words.pop();
        }
    } else if let Some(at) = words.iter().rposition(|w| unit_word(w))
        && words.len() > 1
        && (at == words.len() - 1 || at == 0 || words[at] == "%")
    {
        unit = Unit::from_word(words[at]);
        words.remove(at);
    }
    Plain { words: words.join(" "), unit }
}

/// Words that, last in a column's name, are a unit; `in`, `ins`, `year` and `share` are more often words.
fn unit_word(word: &str) -> bool {
    Unit::from_word(word).is_some_and(|u| !matches!(u, Unit::Year | Unit::Fraction)) && !matches!(word, "in" | "ins" | "foot" | "pc" | "perc")
        || matches!(word, "fraction" | "proportion" | "inches")
}

/// Name and unit of a field as a column would carry it.
fn field_plain(field: &Field) -> Plain {
    let mut own = plain(&field.name);
    own.unit = field.unit();
    own
}

fn without_cover(words: &str) -> String {
    words.split(' ').filter(|w| !matches!(*w, "cover" | "of" | "percent" | "pct")).collect::<Vec<_>>().join(" ")
}

fn tight(words: &str) -> String {
    words.replace(' ', "")
}

/// How well a column's name fits a field.
fn fit(column: &str, field: &Field) -> Option<Sure> {
    let mut theirs = plain(column);
    let ours = field_plain(field);
    let percent = matches!(field.holds, Holds::Cover);
    if percent {
        theirs.words = without_cover(&theirs.words);
    }
    // A column in a unit of another dimension is another thing: `height %` is no height.
    if let (Some(unit), Some(to)) = (theirs.unit, field.unit())
        && !unit.stands_for(to)
    {
        return None;
    }
    let flat = tight(&theirs.words);
    if flat.is_empty() {
        return None;
    }
    if column.trim().eq_ignore_ascii_case(&field.name) || flat == tight(&ours.words) {
        return Some(Sure::Exact);
    }
    if field.accepts.iter().any(|a| tight(a) == flat) {
        return Some(Sure::Synonym);
    }
    // Some formats cut names at ten characters.
    let raw = column.trim().to_lowercase();
    if raw.len() == 10 && field.name.len() > 10 && field.name.starts_with(&raw) {
        return Some(Sure::Near);
    }
    let near = |word: &str| word.len() >= 6 && flat.len() >= 5 && one_slip(word, &flat);
    (near(&tight(&ours.words)) || field.accepts.iter().any(|a| near(&tight(a)))).then_some(Sure::Near)
}

/// Whether two words differ by one letter added, left out or changed.
fn one_slip(a: &str, b: &str) -> bool {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    if a.len().abs_diff(b.len()) > 1 {
        return false;
    }
    let same = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
    let tail = |skip_a: usize, skip_b: usize| a[(same + skip_a).min(a.len())..] == b[(same + skip_b).min(b.len())..];
    a != b && (tail(1, 1) || tail(1, 0) || tail(0, 1))
}

/// Find the columns of a kind's fields.
///
/// Every column goes to at most one field and the other way round; the surest fit wins. Two columns that fit one
/// field equally well are a fault, as is a required field without a column, and an instruction that names no
/// field or column.
pub(super) fn guess(kind: Kind, table: &Table, told: &[MapTo], taken: &[usize], file: &str) -> Result<Mapping, Faults> {
    let mut fields = fields(kind);
    // A column `Lek` is the lek's name, but beside a column `Name` it is its id.
    if kind == Kind::Leks && table.columns.iter().any(|c| column_words(c) == "name") {
        fields.iter_mut().filter(|f| f.name == "id").for_each(|id| id.accepts.push("lek".to_owned()));
    }
    let mut faults = Faults::new();
    let mut matched: Vec<Matched> = Vec::new();
    let mut left_out: Vec<&str> = Vec::new();
    for map in told.iter().filter(|m| !place_fields(&m.field)) {
        match tell(map, kind, &fields, table) {
            Ok(Some(found)) => matched.push(found),
            Ok(None) => left_out.push(&map.field),
            Err(fault) => faults.push(*fault),
        }
    }
    let mut fits: Vec<(Sure, usize, usize)> = Vec::new();
    for (f, field) in fields.iter().enumerate() {
        if left_out.iter().any(|name| same_name(name, &field.name)) || matched.iter().any(|m| m.field == field.name) {
            continue;
        }
        for (c, column) in table.columns.iter().enumerate() {
            if taken.contains(&c) || matched.iter().any(|m| m.at == c && m.sure == Sure::Told) {
                continue;
            }
            fits.extend(fit(column, field).map(|sure| (sure, f, c)));
        }
    }
    fits.sort_by_key(|(sure, f, c)| (std::cmp::Reverse(*sure), *f, *c));
    for &(sure, f, c) in &fits {
        let field = &fields[f];
        if matched.iter().any(|m| m.field == field.name || m.at == c) {
            continue;
        }
        let rivals: Vec<&str> = fits
            .iter()
            .filter(|(s, g, d)| *s == sure && *g == f && *d != c && !matched.iter().any(|m| m.at == *d))
            .map(|(_, _, d)| table.columns[*d].as_str())
            .collect();
        if !rivals.is_empty() && sure < Sure::Exact {
            if field.required || sure == Sure::Synonym {
                faults.push(
                    ImportFault::new(
                        format!("one column for `{}`", field.name),
                        format!("`{}` and `{}`", table.columns[c], rivals.join("`, `")),
                    )
                    .hint(format!("say which: {}", map_words(&field.name, &table.columns[c], None))),
                );
            }
            // Leave the rivals out of the guess, so that one fault is said once.
            matched.push(Matched { field: field.name.clone(), column: table.columns[c].clone(), unit: None, sure, at: c });
            continue;
        }
        let unit = plain(&table.columns[c]).unit.or(own_name_unit(&table.columns[c], field));
        matched.push(Matched { field: field.name.clone(), column: table.columns[c].clone(), unit, sure, at: c });
    }
    for field in fields.iter().filter(|f| f.required && !matched.iter().any(|m| m.field == f.name)) {
        let columns = table.columns.join("`, `");
        faults.push(
            ImportFault::new(
                format!("a column for `{}`", field.name),
                if columns.is_empty() { "no columns".to_owned() } else { format!("columns `{columns}`") },
            )
            .hint(format!("name it with `--map {}=COLUMN`", field.name)),
        );
    }
    matched.sort_by_key(|m| fields.iter().position(|f| f.name == m.field));
    let extra = (0..table.columns.len())
        .filter(|c| !taken.contains(c) && !matched.iter().any(|m| m.at == *c))
        .map(|c| table.columns[c].clone())
        .collect();
    let absent = fields.iter().map(|f| f.name.clone()).filter(|n| !matched.iter().any(|m| m.field == *n)).collect();
    let mapping = Mapping { kind, file: file.to_owned(), layer: table.layer.clone(), geometry: String::new(), matched, extra, absent, columns: table.columns.clone() };
    if faults.is_empty() {
        return Ok(mapping);
    }
    faults.mapping = Some(Box::new(mapping));
    Err(faults)
}

/// An instruction as it is typed: quoted where the column's name would not stand as one word.
pub(super) fn map_words(field: &str, column: &str, unit: Option<Unit>) -> String {
    let said = unit.map(|u| format!(":{}", u.sign())).unwrap_or_default();
    let plain = column.chars().all(|c| c.is_alphanumeric() || matches!(c, '_' | '-' | '.'));
    if plain { format!("`--map {field}={column}{said}`") } else { format!("`--map '{field}={}{said}'`", column.replace('\'', "'\\''")) }
}

fn same_name(a: &str, b: &str) -> bool {
    a.eq_ignore_ascii_case(b)
}

/// A column that bears the field's own full name is in the field's own unit, though cut short (`heather_ag`).
fn own_name_unit(column: &str, field: &Field) -> Option<Unit> {
    let says_unit = matches!(field.holds, Holds::Length(_) | Holds::Percent);
    (says_unit && column.trim().eq_ignore_ascii_case(&field.name)).then(|| field.unit()).flatten()
}

fn tell(map: &MapTo, kind: Kind, fields: &[Field], table: &Table) -> Result<Option<Matched>, Box<ImportFault>> {
    let Some(field) = fields.iter().find(|f| same_name(&f.name, &map.field)) else {
        let names: Vec<&str> = fields.iter().map(|f| f.name.as_str()).collect();
        return Err(Box::new(
            ImportFault::new(format!("a field of {}", crate::Word::word(kind)), format!("`{}` in `--map`", map.field))
                .hint(format!("the fields are {}", names.join(", "))),
        ));
    };
    if map.column == "-" {
        return Ok(None);
    }
    let at = column_named(table, &map.column)?;
    if let (Some(unit), Some(to)) = (map.unit, field.unit())
        && !unit.stands_for(to)
    {
        return Err(Box::new(
            ImportFault::new(format!("a unit for `{}` such as {}", field.name, to.sign()), format!("`{}` in `--map`", unit.sign()))
                .hint(map_words(&field.name, &map.column, Some(to))),
        ));
    }
    let column = table.columns[at].clone();
    let unit = map.unit.or(plain(&column).unit).or(own_name_unit(&column, field));
    let unit = unit.filter(|u| field.unit().is_none_or(|to| u.stands_for(to)));
    Ok(Some(Matched { field: field.name.clone(), column, unit, sure: Sure::Told, at }))
}

/// The column of that name, whatever its case.
pub(super) fn column_named(table: &Table, name: &str) -> Result<usize, Box<ImportFault>> {
    let exact = table.columns.iter().position(|c| c == name);
    exact.or_else(|| table.columns.iter().position(|c| c.trim().eq_ignore_ascii_case(name.trim()))).ok_or_else(|| {
        Box::new(
            ImportFault::new(format!("a column `{name}`, as `--map` says"), format!("columns `{}`", table.columns.join("`, `")))
                .hint("write the column as the file does"),
        )
    })
}

/// Plain words of a column name, for readers of coordinates.
pub(super) fn column_words(name: &str) -> String {
    tight(&plain(name).words)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn find(kind: Kind, name: &str) -> Field {
        fields(kind).into_iter().find(|f| f.name == name).unwrap()
    }

    #[test]
    fn names_are_understood_with_their_units() {
        assert_eq!(plain("Mean height (cm)"), Plain { words: "mean height".into(), unit: Some(Unit::Centimetre) });
        assert_eq!(plain("meanHeight_m"), Plain { words: "mean height".into(), unit: Some(Unit::Metre) });
        assert_eq!(plain("% heather").unit, Some(Unit::Percent));
        assert_eq!(plain("birch stems/ha"), Plain { words: "birch".into(), unit: Some(Unit::PerHectare) });
        let height = find(Kind::Sticks, "height_cm");
        for (column, sure) in [
            ("height_cm", Sure::Exact), ("Height (cm)", Sure::Exact), ("ht_m", Sure::Synonym), ("Sward height", Sure::Synonym),
            ("heigt_cm", Sure::Near),
        ] {
            assert_eq!(fit(column, &height), Some(sure), "{column}");
        }
        assert_eq!(fit("height %", &height), None);
        let heather = find(Kind::Patches, "heather");
        assert_eq!(fit("Heather cover %", &heather), Some(Sure::Exact));
        assert_eq!(fit("calluna_pct", &heather), Some(Sure::Synonym));
        assert_eq!(fit("heather_age", &heather), None);
        assert_eq!(fit("heather_ag", &find(Kind::Patches, "heather_age_yr")), Some(Sure::Near));
    }

    #[test]
    fn instructions_are_read() {
        let map = MapTo::from_text("height_cm=Ht:mm").unwrap();
        assert_eq!((map.field.as_str(), map.column.as_str(), map.unit), ("height_cm", "Ht", Some(Unit::Millimetre)));
        assert_eq!(MapTo::from_text("name=a:b").unwrap().column, "a:b");
        assert!(MapTo::from_text("height").is_err());
        assert!(MapTo::from_text("=x").is_err());
    }
}
