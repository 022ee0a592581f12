//! Figures and lists in plain words.

pub use habitat::say::hectares;

/// Metres or kilometres as people say them.
pub fn metres(m: f64) -> String {
    if m >= 1000.0 {
        let km = format!("{:.2}", m / 1000.0);
        format!("{} km", km.trim_end_matches('0').trim_end_matches('.'))
    } else {
        format!("{m:.0} m")
    }
}

/// A share as whole percent.
pub fn percent(fraction: f64) -> String {
    format!("{:.0} %", 100.0 * fraction)
}

/// A figure with two places below one, one place to ten, whole above.
pub fn number(v: f64) -> String {
    if v < 0.995 {
        format!("{v:.2}")
    } else if v < 9.95 {
        format!("{v:.1}")
    } else {
        format!("{v:.0}")
    }
}

/// Names in a sentence: the first few, and how many more.
pub fn list<S: AsRef<str>>(names: &[S]) -> String {
    const SHOWN: usize = 4;
    let names: Vec<&str> = names.iter().map(AsRef::as_ref).collect();
    match names.as_slice() {
        [] => String::new(),
        [a] => a.to_string(),
        [most @ .., last] if names.len() <= SHOWN => format!("{} and {last}", most.join(", ")),
        _ => format!("{} and {} more", names[..SHOWN - 1].join(", "), names.len() - (SHOWN - 1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_and_lengths_read_as_people_say_them() {
        assert_eq!(list(&["A"]), "A");
        assert_eq!(list(&["A", "B"]), "A and B");
        assert_eq!(list(&["A", "B", "C", "D"]), "A, B, C and D");
        assert_eq!(list(&["A", "B", "C", "D", "E"]), "A, B, C and 2 more");
        assert_eq!(metres(2000.0), "2 km");
        assert_eq!(metres(1499.0), "1.5 km");
        assert_eq!(metres(99.6), "100 m");
    }
}
