//! Every row is used by some room or says which room it waits for, and no room asks for a key that is not there.
//!
//! The sources of the other rooms are read as tokens: comments and test modules are left out. A text in them *uses* a row when
//! it is the key, when it names the key in braces, when it is a beginning of the key that ends in a dot, or when it is a pattern such as `tree.height.{species}.rate`
//! whose gaps fit.
//!
//! `MEND_WAITS=1 cargo test -p guidance --test use` empties the `waits` of every row that is used; what is left is told as usual.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use guidance::Guidance;

/// Functions that are handed a key.
const ASKERS: [&str; 8] = ["number", "row", "rows_of", "curve", "of", "text", "month_day", "explain"];
/// Endings of file names, which look like keys.
const FILE_ENDINGS: [&str; 12] = [".csv", ".json", ".svg", ".pdf", ".xlsx", ".gpkg", ".tif", ".txt", ".png", ".md", ".ics", ".gpx"];

#[derive(Debug, Clone, PartialEq)]
enum Token {
    Word(String),
    Text(String),
    Mark(char),
}

struct Text {
    text: String,
    file: PathBuf,
    asked: bool,
}

#[test]
fn every_row_is_used_or_waits_and_every_key_asked_for_is_held() {
    let tables = Guidance::load().unwrap_or_else(|faults| panic!("{} faults: see the test of the tables; the first: {}", faults.len(), faults[0]));
    let texts = texts_of_the_rooms();
    let told_in_words = texts.iter().flat_map(|text| named(&text.text)).map(str::to_owned);
    let patterns: BTreeSet<Vec<String>> = texts.iter().map(|text| text.text.clone()).chain(told_in_words).filter_map(|text| pattern(&text)).collect();
    let mut told = String::new();
    let mend = std::env::var_os("MEND_WAITS").is_some();
    if mend {
        empty_waits(|key| patterns.iter().any(|pattern| fits(pattern, key)));
    }
    for row in tables.rows() {
        let used = patterns.iter().any(|pattern| fits(pattern, &row.key));
        let place = format!("guidance/{} line {}: `{}`", row.file, row.line, row.key);
        match (used, row.waits.is_empty()) {
            (false, true) => writeln!(told, "{place} is used nowhere: write the room it waits for into `waits`, or use it").unwrap(),
            (true, false) if !mend => writeln!(told, "{place} is used, but waits for `{}`: empty its `waits`", row.waits).unwrap(),
            _ => {}
        }
    }
    for text in texts.iter().filter(|text| text.asked) {
        if let Some(pattern) = pattern(&text.text)
            && !tables.rows().any(|row| fits(&pattern, &row.key))
        {
            writeln!(told, "{}: asks for `{}`, which no table holds", text.file.display(), text.text).unwrap();
        }
    }
    assert!(told.is_empty(), "{} to mend:\n{told}", told.lines().count());
}

/// Empties `waits` in the tables of the workspace where `used` says so of the key; other lines are kept as they are.
fn empty_waits(used: impl Fn(&str) -> bool) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join("..").join("guidance");
    for file in sorted(&folder).into_iter().filter(|file| file.extension().is_some_and(|ending| ending == "csv")) {
        let mut reader = csv::Reader::from_path(&file).unwrap();
        let header = reader.headers().unwrap().clone();
        let Some(waits) = header.iter().position(|column| column == "waits") else { continue };
        let mut changed = false;
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(&header).unwrap();
        for record in reader.records() {
            let record = record.unwrap();
            let mend = used(&record[0]) && !record[waits].is_empty();
            changed |= mend;
            writer.write_record(record.iter().enumerate().map(|(i, cell)| if mend && i == waits { "" } else { cell })).unwrap();
        }
        if changed {
            fs::write(&file, writer.into_inner().unwrap()).unwrap();
        }
    }
}

/// Keys in braces within words people read, such as `{structure.heather.tall}`.
fn named(text: &str) -> impl Iterator<Item = &str> {
    text.split('{').skip(1).filter_map(|rest| rest.split_once('}')).map(|(key, _)| key).filter(|key| key.contains('.'))
}

/// The fixed parts of a key or key pattern, or nothing where the text is neither. The last part of a beginning is followed by an
/// empty one, which fits any end.
fn pattern(text: &str) -> Option<Vec<String>> {
    if FILE_ENDINGS.iter().any(|ending| text.ends_with(ending)) || text.contains("{{") {
        return None;
    }
    let mut parts = vec![String::new()];
    let mut gap = false;
    for letter in text.chars() {
        match letter {
            '{' if !gap => gap = true,
            '}' if gap => {
                gap = false;
                parts.push(String::new());
            }
            _ if gap => {}
            _ if letter.is_ascii_alphanumeric() || letter == '_' || letter == '.' => parts.last_mut()?.push(letter),
            _ => return None,
        }
    }
    let begins_well = parts[0].starts_with(|letter: char| letter.is_ascii_lowercase()) && parts[0].contains('.') && !parts[0].contains("..");
    if gap || !begins_well {
        return None;
    }
    if parts.last()?.ends_with('.') {
        parts.push(String::new());
    }
    Some(parts)
}

/// Whether the fixed parts stand in `key` in order, with at least one letter in each gap.
fn fits(parts: &[String], key: &str) -> bool {
    let [first, rest @ ..] = parts else { return false };
    let Some(mut left) = key.strip_prefix(first.as_str()) else { return false };
    let [middle @ .., last] = rest else { return left.is_empty() };
    for part in middle {
        let Some(at) = left.char_indices().skip(1).map(|(at, _)| at).find(|&at| left[at..].starts_with(part.as_str())) else { return false };
        left = &left[at + part.len()..];
    }
    left.len() > last.len() && left.ends_with(last.as_str())
}

fn texts_of_the_rooms() -> Vec<Text> {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let mut texts = Vec::new();
    for room in sorted(&crates).into_iter().filter(|room| !room.ends_with("guidance")) {
        for file in rust_files(&room.join("src")) {
            let source = fs::read_to_string(&file).unwrap();
            let tokens = without_tests(&tokens(&source));
            let file = file.strip_prefix(&crates).unwrap_or(&file).to_owned();
            for (i, token) in tokens.iter().enumerate() {
                if let Token::Text(text) = token {
                    texts.push(Text { text: text.clone(), file: file.clone(), asked: asked(&tokens[..i]) });
                }
            }
        }
    }
    assert!(texts.len() > 100, "only {} texts were found in the sources", texts.len());
    texts
}

/// Whether the tokens before a text hand it to an asker: `number("…"`, `of(&format!("…"`.
fn asked(before: &[Token]) -> bool {
    let mut rest = before;
    let mut take = |wanted: &Token| match rest {
        [front @ .., last] if last == wanted => {
            rest = front;
            true
        }
        _ => false,
    };
    if take(&Token::Mark('(')) && take(&Token::Mark('!')) {
        take(&Token::Word("format".to_owned()));
        take(&Token::Mark('&'));
        if !take(&Token::Mark('(')) {
            return false;
        }
    }
    let called = before.last() == Some(&Token::Mark('('));
    called && matches!(rest.last(), Some(Token::Word(word)) if ASKERS.contains(&word.as_str()))
}

fn sorted(folder: &Path) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> = fs::read_dir(folder).into_iter().flatten().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for path in sorted(folder) {
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|ending| ending == "rs") && !path.ends_with("tests.rs") {
            files.push(path);
        }
    }
    files
}

/// The tokens without what `#[cfg(test)]` stands before.
fn without_tests(tokens: &[Token]) -> Vec<Token> {
    let gate: Vec<Token> = ["#", "[", "cfg", "(", "test", ")", "]"]
        .into_iter()
        .map(|part| if part.len() == 1 { Token::Mark(part.chars().next().unwrap()) } else { Token::Word(part.to_owned()) })
        .collect();
    let mut kept = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        if !tokens[at..].starts_with(&gate) {
            kept.push(tokens[at].clone());
            at += 1;
            continue;
        }
        at += gate.len();
        let mut depth = 0;
        while at < tokens.len() {
            match tokens[at] {
                Token::Mark('{') => depth += 1,
                Token::Mark('}') => depth -= 1,
                _ => {}
            }
            let ends = depth == 0 && matches!(tokens[at], Token::Mark('}' | ';'));
            at += 1;
            if ends {
                break;
            }
        }
    }
    kept
}

/// Words, texts and marks of Rust source; comments and characters are left out.
fn tokens(source: &str) -> Vec<Token> {
    let letters: Vec<char> = source.chars().collect();
    let get = |at: usize| letters.get(at).copied().unwrap_or('\0');
    let mut tokens = Vec::new();
    let mut at = 0;
    while at < letters.len() {
        match get(at) {
            '/' if get(at + 1) == '/' => {
                while at < letters.len() && get(at) != '\n' {
                    at += 1;
                }
            }
            '/' if get(at + 1) == '*' => {
                let mut depth = 1;
                at += 2;
                while at < letters.len() && depth > 0 {
                    match (get(at), get(at + 1)) {
                        ('/', '*') => (depth, at) = (depth + 1, at + 2),
                        ('*', '/') => (depth, at) = (depth - 1, at + 2),
                        _ => at += 1,
                    }
                }
            }
            '"' => {
                let mut text = String::new();
                at += 1;
                while at < letters.len() && get(at) != '"' {
                    if get(at) == '\\' {
                        at += 1;
                    }
                    text.push(get(at));
                    at += 1;
                }
                at += 1;
                tokens.push(Token::Text(text));
            }
            'r' if get(at + 1) == '"' || (get(at + 1) == '#' && matches!(get(at + 2), '#' | '"')) => {
                let hashes = letters[at + 1..].iter().take_while(|letter| **letter == '#').count();
                at += hashes + 2;
                let start = at;
                let closes = |at: usize| get(at) == '"' && (1..=hashes).all(|i| get(at + i) == '#');
                while at < letters.len() && !closes(at) {
                    at += 1;
                }
                tokens.push(Token::Text(letters[start..at].iter().collect()));
                at += hashes + 1;
            }
            '\'' if get(at + 1) == '\\' => {
                at += 3;
                while at < letters.len() && get(at) != '\'' {
                    at += 1;
                }
                at += 1;
            }
            '\'' if get(at + 2) == '\'' => at += 3,
            letter if letter.is_alphanumeric() || letter == '_' => {
                let start = at;
                while get(at).is_alphanumeric() || get(at) == '_' {
                    at += 1;
                }
                tokens.push(Token::Word(letters[start..at].iter().collect()));
            }
            letter => {
                if !letter.is_whitespace() {
                    tokens.push(Token::Mark(letter));
                }
                at += 1;
            }
        }
    }
    tokens
}

#[test]
fn the_reader_of_sources_tells_code_from_the_rest() {
    let source = r##"
        // number("a.comment")
        /* text("a.comment /* nested */") */
        fn used<'a>(c: char) -> bool { c == '"' || c == '\'' || tables.number("a.key", country) && draws.of(&format!("a.{k}.end")) }
        const RAW: &str = r#"a."raw".key"#; let b = write("a.other");
        #[cfg(test)]
        mod tests { fn f() { number("a.test") } }
        fn after() { row("a.last") }
    "##;
    let tokens = without_tests(&tokens(source));
    let found: Vec<(String, bool)> = tokens
        .iter()
        .enumerate()
        .filter_map(|(i, token)| match token {
            Token::Text(text) => Some((text.clone(), asked(&tokens[..i]))),
            _ => None,
        })
        .collect();
    let expected = [("a.key", true), ("a.{k}.end", true), ("a.\"raw\".key", false), ("a.other", false), ("a.last", true)];
    assert_eq!(found, expected.map(|(text, asked)| (text.to_owned(), asked)));
}

#[test]
fn patterns_fit_the_keys_they_name() {
    let cases = [
        ("a.b", "a.b", true),
        ("a.b", "a.b.c", false),
        ("a.", "a.b.c", true),
        ("a.{x}.c", "a.b.c", true),
        ("a.{x}.c", "a..c", false),
        ("a.{x}.c", "a.b.d", false),
        ("a.{x}.cover.{y}", "a.D1.1.cover.herbs", true),
        ("a.{}", "a.b", true),
        ("a.{x}.", "a.b.c", true),
    ];
    for (text, key, expected) in cases {
        assert_eq!(fits(&pattern(text).unwrap(), key), expected, "{text} on {key}");
    }
    for text in ["{x}.b", "plain", "data.json", "two words.", ".3", "A.b"] {
        assert!(pattern(text).is_none(), "{text} is no key");
    }
}
