//! Months and prices in plain words.

use serde_json::{Map, Value, json};

/// Short names of the months, as facts write them.
pub const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// Head by months as a fact writes it: runs of months with the same head in one, only the months asked for.
pub fn months(head: &[f64; 12], told: impl Fn(usize) -> bool) -> Value {
    let mut out = Map::new();
    let mut m = 0;
    while m < 12 {
        if !told(m) {
            m += 1;
            continue;
        }
        let from = m;
        while m + 1 < 12 && told(m + 1) && head[m + 1] == head[from] {
            m += 1;
        }
        let name = if m == from { MONTHS[from].to_string() } else { format!("{}-{}", MONTHS[from], MONTHS[m]) };
        let whole = head[from].round();
        out.insert(name, if (head[from] - whole).abs() < 1e-9 { json!(whole as i64) } else { json!(head[from]) });
        m += 1;
    }
    Value::Object(out)
}

/// The same in a sentence: `Jan-Mar 40, Nov 60`.
pub fn said(table: &Value) -> String {
    let rows = table.as_object().into_iter().flatten().map(|(m, v)| format!("{m} {v}"));
    rows.collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_of_months_are_told_in_one() {
        let mut head = [10.0; 12];
        head[3] = 7.0;
        head[10] = 4.0;
        head[11] = 4.0;
        let table = months(&head, |m| !(5..=9).contains(&m));
        assert_eq!(table, json!({"Jan-Mar": 10, "Apr": 7, "May": 10, "Nov-Dec": 4}));
        assert_eq!(said(&table), "Jan-Mar 10, Apr 7, May 10, Nov-Dec 4");
    }
}
