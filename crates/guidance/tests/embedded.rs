//! The tables built into the program.

use std::collections::BTreeSet;

use guidance::{Country, Grade, Guidance, Kind, Value};

fn tables() -> Guidance {
    Guidance::load().unwrap_or_else(|faults| {
        let all: Vec<String> = faults.iter().map(ToString::to_string).collect();
        panic!("{} faults in the tables:\n{}", all.len(), all.join("\n"))
    })
}

#[test]
fn every_table_is_sound() {
    let tables = tables();
    assert!(tables.rows().count() > 3000, "{} rows", tables.rows().count());
    assert_eq!(tables.edition().len(), "2026-11".len());
}

#[test]
fn every_row_says_where_it_comes_from() {
    let tables = tables();
    for row in tables.rows() {
        let place = format!("{} line {}", row.file, row.line);
        assert!(!row.locator.is_empty() && !row.unit.is_empty(), "{place}");
        let source = tables.source(&row.source).unwrap_or_else(|| panic!("{place}"));
        assert!(!source.reference().is_empty(), "{place}");
    }
}

#[test]
fn every_source_is_used() {
    let tables = tables();
    let used: BTreeSet<&str> = tables.rows().map(|row| row.source.as_str()).collect();
    let idle: Vec<&str> = tables.sources().map(|source| source.key.as_str()).filter(|key| !used.contains(key)).collect();
    assert!(idle.is_empty(), "no row is from {idle:?}: take them out of the bibliography");
}

#[test]
fn a_weak_grade_says_so_in_words() {
    let tables = tables();
    for row in tables.rows() {
        let said = tables.explain(&row.key).unwrap().statements.into_iter().map(|statement| statement.grade).collect::<Vec<_>>().join(" ");
        let word = match row.grade {
            Grade::Practice => "common practice, no source",
            Grade::Memory => "from memory",
            Grade::Assumption => "assumption",
            Grade::Published | Grade::Guidance => "read in",
        };
        assert!(said.contains(word), "{}: {said}", row.key);
    }
}

#[test]
fn laws_schemes_and_dates_bid_the_reader_check_the_code_in_force() {
    let tables = tables();
    for row in tables.rows() {
        let official = matches!(tables.source(&row.source).map(|source| source.kind), Some(Kind::Law | Kind::Scheme | Kind::Standard));
        if official || matches!(row.value, Value::MonthDay(..)) {
            assert!(tables.explain(&row.key).unwrap().statements.iter().any(|statement| statement.check.is_some()), "{}", row.key);
        }
    }
}

/// Figures of Warren et al. 2020, Bird Study 66:494-502 (abstract), Calladine et al. 2002, Journal of Applied Ecology 39:772-780
/// (abstract) and Baines & Andrew 2003, Biological Conservation 110:169-176 (abstract), held against slips of the pen.
#[test]
fn published_figures_stand_as_they_were_read() {
    let tables = tables();
    let cases = [
        ("composition.conifer_1km.retained", 6.0),
        ("composition.conifer_1km.lost", 29.0),
        ("composition.rough_grass_1km.retained", 53.0),
        ("composition.rough_grass_1km.lost", 32.0),
        ("stocking.black_grouse.summer_max", 1.1),
        ("stocking.black_grouse.winter_max", 0.5),
        ("fence.strikes.deer.black_grouse", 1.3),
        ("fence.marking_cut.black_grouse", 91.0),
    ];
    for (key, value) in cases {
        assert_eq!(tables.number(key, Country::Scotland).unwrap(), value, "{key}");
        assert_eq!(tables.row(key, Country::Scotland).unwrap().grade, Grade::Published, "{key}");
    }
}

#[test]
fn an_explanation_can_be_followed_to_the_source() {
    let tables = tables();
    let explanation = tables.explain("rates.hens_with_broods.less_grazing").unwrap();
    let statement = &explanation.statements[0];
    assert_eq!((statement.value.as_str(), statement.spread.as_str()), ("54 %", "standard error 6 %"));
    assert_eq!(statement.reference, "Calladine, Baines & Warren (2002). Journal of Applied Ecology 39:772-780");
    assert_eq!(statement.locator, "abstract");
    assert!(statement.grade.contains("published study") && statement.check.is_none());
    let season = &tables.explain("law.burning.upland.first").unwrap().statements;
    assert_eq!(season.iter().map(|s| (s.country.as_str(), s.value.as_str())).collect::<Vec<_>>(), [("England", "1 October"), ("Wales", "1 October")]);
}

#[test]
fn default_covers_of_a_habitat_class_make_no_more_than_the_ground_there_is() {
    let tables = tables();
    let codes: BTreeSet<&str> = tables.under("phase1.").filter_map(|row| row.key.strip_prefix("phase1.")?.strip_suffix(".name")).collect();
    assert!(codes.len() > 90, "{} classes", codes.len());
    let groups =
        ["heather", "blaeberry", "other_berries", "cotton_grass", "rush", "sedge_grass", "herbs", "bracken", "moss", "bare", "crop"];
    for code in codes {
        let number = |end: &str| tables.number(&format!("phase1.{code}.{end}"), Country::GB).unwrap_or_else(|unknown| panic!("{unknown}"));
        let total: f64 = groups.iter().map(|group| number(&format!("cover.{group}"))).sum();
        assert!(total <= 100.0, "{code}: {total} %");
        assert!(code.starts_with(['G', 'J']) || total >= 95.0, "{code}: {total} %");
        assert!(number("height_cm") >= 0.0 && number("height_sd_cm") >= 0.0 && number("wetness") <= 1.0, "{code}");
    }
}

#[test]
fn two_hundred_draws_of_everything_can_be_had() {
    let tables = tables();
    for country in Country::ALL {
        let draws = tables.draws(1, 200, country);
        for row in tables.rows().filter(|row| row.x.is_none() && matches!(row.value, Value::Number(_))) {
            if let Ok(values) = draws.of(&row.key) {
                assert!(values.len() == 200 && values.iter().all(|value| value.is_finite()), "{}", row.key);
            }
        }
    }
}

#[test]
fn what_is_found_is_the_countrys_own_row_or_that_of_great_britain() {
    let tables = tables();
    for country in Country::ALL {
        for key in tables.rows().map(|row| row.key.as_str()).chain(["season.brood.fooood", ""]) {
            let of = |wanted: Country| tables.rows_of(key).filter(|row| row.country == wanted).map(|row| (row.x.is_none(), &row.file, row.line)).collect::<Vec<_>>();
            let wanted = match [of(country), of(Country::GB)].into_iter().find(|rows| !rows.is_empty()).as_deref() {
                Some([(true, file, line)]) => Some((*file, *line)),
                _ => None,
            };
            assert_eq!(tables.find(key, country).map(|row| (&row.file, row.line)), wanted, "{key} in {country:?}");
            assert_eq!(tables.row(key, country).ok().map(|row| (&row.file, row.line)), wanted, "{key} in {country:?}");
        }
    }
}
