//! Stock: head by parcel, class and month, in a column a month, or in a row a month, or the same all year.

use super::points::Known;
use super::{Ids, Reading, Row, Values};
use crate::import::field::MONTHS;
use crate::import::value::month_word;
use crate::model::{Holding, Stock, StockClass};
use crate::words::Word;

/// More head than this in one parcel is a slip.
const HEAD_MAX: f64 = 100_000.0;

pub(super) fn stock(rows: &[Row], reading: &mut Reading<'_>, ids: &mut Ids, holding: &Holding) -> Vec<Stock> {
    let parcels = Known::new("parcel", holding.parcels.iter().map(|p| (p.id.as_str(), p.name.as_str())));
    let mut all: Vec<Stock> = Vec::new();
    let mut told: Vec<[bool; 12]> = Vec::new();
    for row in rows {
        let mut values = reading.row(row, None);
        let v = &mut values;
        let parcel = parcels.id(v, "parcel");
        if !v.has("class") {
            v.fault("class", "a class of stock", "");
        }
        let class = class(v);
        let head = head(v);
        let (Some(parcel), Some(class), Some(head)) = (parcel, class, head) else { continue };
        let at = match all.iter().position(|s| s.parcel == parcel && s.class == class) {
            Some(at) => at,
            None => {
                let Some(id) = ids.next(v) else { continue };
                all.push(Stock { id, parcel, class, head: [0.0; 12] });
                told.push([false; 12]);
                all.len() - 1
            }
        };
        for (month, number) in head.iter().enumerate().filter_map(|(m, n)| n.map(|n| (m, n))) {
            if told[at][month] {
                v.fault("parcel", "each month of a parcel's class once", format!("{} comes twice", MONTHS[month].1));
                break;
            }
            told[at][month] = true;
            all[at].head[month] = number;
        }
    }
    all
}

/// The class of stock: its own word, or the one class that the words of the text name (`Swaledale ewes`).
fn class(v: &mut Values<'_, '_>) -> Option<StockClass> {
    let text = v.text("class");
    let mut named: Vec<StockClass> = text.split(|c: char| !c.is_alphanumeric()).filter_map(StockClass::from_word).collect();
    named.dedup();
    match (StockClass::from_word(&text), &named[..]) {
        (None, [only]) => {
            v.note(format!("`{text}` was taken for {}", only.word()));
            Some(*only)
        }
        // The word itself, or the fault that says which words there are.
        _ => v.word("class"),
    }
}

/// Head by month, as far as the row tells it; `None` after a fault.
fn head(v: &mut Values<'_, '_>) -> Option<[Option<f32>; 12]> {
    let mut head = [None; 12];
    let mut any = false;
    for (at, (short, _)) in MONTHS.iter().enumerate() {
        if v.has(short) {
            head[at] = Some(v.number(short, 0.0, HEAD_MAX)? as f32);
            any = true;
        }
    }
    if any {
        return Some(head);
    }
    if !v.has("head") {
        v.fault("head", "head of stock: a column `head`, or a column for each month", "");
        return None;
    }
    let number = v.number("head", 0.0, HEAD_MAX)? as f32;
    let months = v.text("month");
    let span = if months.is_empty() {
        v.note("no month is given; the head were taken to be there all year");
        0..12
    } else if let Some(span) = span(&months) {
        span
    } else {
        v.fault("month", "a month, such as `May`, or two, such as `May-Oct`", "");
        return None;
    };
    for month in span {
        head[month % 12] = Some(number);
    }
    Some(head)
}

/// The months of `May`, `5`, `May-Oct` or `Nov to Feb`, counted from 0; the end may lie beyond the year's.
fn span(text: &str) -> Option<std::ops::Range<usize>> {
    let month = |part: &str| {
        let part = part.trim();
        part.parse::<u32>().ok().filter(|m| (1..=12).contains(m)).or_else(|| month_word(part)).map(|m| m as usize - 1)
    };
    let text = text.replace(" to ", "-").replace('\u{2013}', "-");
    match text.split_once('-') {
        None => month(&text).map(|m| m..m + 1),
        Some((from, to)) => {
            let (from, to) = (month(from)?, month(to)?);
            Some(from..if to < from { to + 13 } else { to + 1 })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::span;

    #[test]
    fn months_and_spans_are_read() {
        assert_eq!(span("May"), Some(4..5));
        assert_eq!(span("5"), Some(4..5));
        assert_eq!(span("May-Oct"), Some(4..10));
        assert_eq!(span("Nov to Feb"), Some(10..14));
        assert_eq!(span("lambing"), None);
    }
}
