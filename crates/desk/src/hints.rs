//! Faults of the rooms below, as a page tells them.

/// Marks before a hint.
const MARKS: [&str; 4] = ["\n  hint: ", ". Hint: ", " Hint: ", "; hint: "];

/// Whether a hint is to type something.
pub fn typed(hint: &str) -> bool {
    hint.contains("greyhen ") || hint.contains("--")
}

/// A fault without its hint, where the hint is to type something: nobody types on a page.
pub fn for_a_page(line: &str) -> String {
    let at = MARKS.iter().filter_map(|mark| Some((line.find(mark)?, mark.len()))).min();
    match at {
        Some((at, length)) if typed(&line[at + length..]) => line[..at].to_string(),
        _ => line.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::for_a_page;

    #[test]
    fn only_hints_that_are_typed_go() {
        assert_eq!(for_a_page("option 7: not in the plan; needed: an option. Hint: add one: greyhen option FILE add NAME"), "option 7: not in the plan; needed: an option");
        assert_eq!(for_a_page("row 3: needed a number\n  hint: leave --epsg out"), "row 3: needed a number");
        assert_eq!(for_a_page("row 3: needed a number. Hint: such as 12"), "row 3: needed a number. Hint: such as 12");
    }
}
