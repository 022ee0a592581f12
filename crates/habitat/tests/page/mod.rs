//! Curves printed in `docs/years-ahead.md`, held to what is computed.

/// Asserts that the row of a name in the page's tables has these figures, to the last place printed.
pub fn assert_told(name: &str, figures: &[f64]) {
    let page = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/years-ahead.md")).unwrap();
    let start = format!("| {name} |");
    let row = page.lines().find(|l| l.starts_with(&start)).unwrap_or_else(|| panic!("docs/years-ahead.md has no row `{name}`"));
    let printed: Vec<f64> = row[start.len()..].split('|').filter_map(|c| c.trim().parse().ok()).collect();
    let told = printed.len() == figures.len() && printed.iter().zip(figures).all(|(p, f)| (p - f).abs() < 0.0051);
    assert!(told, "docs/years-ahead.md, row `{name}`: {printed:?} printed, {figures:.2?} computed");
}
