//! The tables built into the program.

use guidance::Guidance;

fn tables() -> Guidance {
    Guidance::load().unwrap_or_else(|faults| {
        let all: Vec<String> = faults.iter().map(ToString::to_string).collect();
        panic!("{} faults in the tables:\n{}", all.len(), all.join("\n"))
    })
}

#[test]
fn every_table_is_sound() {
    let tables = tables();
    assert!(tables.rows().count() > 1500, "{} rows", tables.rows().count());
    assert!(!tables.edition().is_empty());
}
