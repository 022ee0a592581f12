//! The trend taken apart: what all cocks, the leks in use and the cocks at a lek changed by in a year.

use super::bars::{self, Axis, Bar};
use birds::trend::words::{percent, share};
use birds::trend::{Change, Trend};

/// The chart; `None` where the trend could not be taken apart.
pub fn draw(t: &Trend, width_mm: f64) -> Option<String> {
    if t.split.leks.is_none() && t.split.cocks_a_lek.is_none() {
        return None;
    }
    let bar = |name: &str, c: Change| Bar {
        name: name.to_owned(),
        when: String::new(),
        low: 100.0 * c.lo,
        middle: 100.0 * c.value,
        high: 100.0 * c.hi,
        words: format!("{} a year", percent(c.value)),
    };
    let rows: Vec<Bar> = [("All displaying cocks", Some(t.annual_change)), ("Leks in use", t.split.leks), ("Cocks at a lek in use", t.split.cocks_a_lek)]
        .into_iter()
        .filter_map(|(name, change)| Some(bar(name, change?)))
        .collect();
    let clear = format!("{} limits and the figure: clear of no change", share(t.level));
    let axis = Axis { title: "change in a year, per cent", figure: &bars::signed, clear: &clear, unclear: "on both sides of no change: not told apart" };
    Some(bars::chart(&rows, &axis, width_mm))
}

#[cfg(test)]
mod tests {
    use super::*;
    use birds::trend::table::{Count, Table};
    use birds::trend::trend;
    use crate::chart::sample::usual;

    #[test]
    fn what_changed_is_told_beside_what_did_not() {
        // Every lek holds as many cocks as ever, but half of them fall empty.
        let counts = (0..8).flat_map(|lek| (2000..2012).map(move |year| Count { lek, year, cocks: if year > 2002 + lek as i32 && lek % 2 == 0 { 0 } else { 6 } })).collect();
        let t = trend(&Table::new((0..8).map(|l| format!("L{l}")).collect(), counts), &usual()).unwrap();
        let svg = draw(&t, 174.0).unwrap();
        assert!(svg.contains("Leks in use") && svg.contains("Cocks at a lek in use") && svg.contains("change in a year, per cent"));
        assert!(svg.contains(&format!("{} a year", percent(t.split.leks.unwrap().value))));
        assert!(draw(&Trend { split: birds::trend::Split { leks: None, cocks_a_lek: None, leks_in_use: None }, ..t }, 174.0).is_none());
    }
}
