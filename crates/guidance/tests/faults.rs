//! What the loader refuses: one faulty row or file at a time, and then all at once.

use guidance::{Country, Fault, Grade, Guidance, Value, Why};

const HEADER: &str = "key,x,value,unit,low,high,spread,source,locator,grade,country,edition,valid_from,valid_to,waits,note";
const SOURCES: &str = "source,kind,authors,year,title,container,read_status,note
practice,practice,common practice,,,no source,none,
memory,memory,from memory,,,,memory,
assumption,assumption,assumption,,,,none,
someone2001,article,Someone,2001,On birds,Journal 1:1-2,abstract,
page2002,web,A body,2002,,page,page,
unread2003,article,Unread,2003,,Journal 3,memory,
";

fn read(table: &str) -> Result<Guidance, Vec<Fault>> {
    Guidance::from_texts(&[("bibliography.csv", SOURCES), ("edition.txt", "2026-11\n"), ("some.csv", table)])
}

fn rows(rows: &[&str]) -> String {
    format!("{HEADER}\n{}\n", rows.join("\n"))
}

#[test]
fn a_sound_row_is_read_whole() {
    let text = rows(&["a.key,,54,percent,,6,se,someone2001,abstract,published,Scotland,2001,2001-02-03,2020-12-31,birds,\"a note, quoted\""]);
    let tables = read(&text).expect("sound");
    let row = tables.row("a.key", Country::Scotland).expect("held");
    assert_eq!((&row.value, row.unit.as_str(), row.low, row.high), (&Value::Number(54.0), "percent", None, Some(6.0)));
    assert_eq!((row.grade, row.locator.as_str(), row.note.as_str(), row.waits.as_str()), (Grade::Published, "abstract", "a note, quoted", "birds"));
    assert_eq!((row.file.as_str(), row.line), ("some.csv", 2));
    let day = |y, m, d| chrono::NaiveDate::from_ymd_opt(y, m, d).expect("a day");
    let force = [(2001, 2, 2, false), (2001, 2, 3, true), (2020, 12, 31, true), (2021, 1, 1, false)];
    assert!(force.into_iter().all(|(y, m, d, expected)| row.in_force(day(y, m, d)) == expected));
    assert_eq!(tables.edition(), "2026-11");
}

#[test]
fn every_kind_of_faulty_row_is_refused_at_its_column() {
    let cases = [
        ("key", "Key.one,,1,m,,,none,practice,p,practice,GB,,,,,"),
        ("key", "key,,1,m,,,none,practice,p,practice,GB,,,,,"),
        ("key", "a..b,,1,m,,,none,practice,p,practice,GB,,,,,"),
        ("key", "a.b c,,1,m,,,none,practice,p,practice,GB,,,,,"),
        ("key", ",,1,m,,,none,practice,p,practice,GB,,,,,"),
        ("x", "a.b,one,1,m,,,none,practice,p,practice,GB,,,,,"),
        ("x", "a.b,1,word,text,,,none,practice,p,practice,GB,,,,,"),
        ("value", "a.b,,,m,,,none,practice,p,practice,GB,,,,,"),
        ("value", "a.b,,about 3,m,,,none,practice,p,practice,GB,,,,,"),
        ("value", "a.b,,\"1,200\",m,,,none,practice,p,practice,GB,,,,,"),
        ("value", "a.b,,NaN,m,,,none,practice,p,practice,GB,,,,,"),
        ("value", "a.b,,inf,coefficient,,,none,practice,p,practice,GB,,,,,"),
        ("value", "a.b,,-1,m,,,none,practice,p,practice,GB,,,,,"),
        ("value", "a.b,,101,percent,,,none,practice,p,practice,GB,,,,,"),
        ("value", "a.b,,03-32,date,,,none,practice,p,practice,GB,,,,,"),
        ("value", "a.b,,3-5,date,,,none,practice,p,practice,GB,,,,,"),
        ("value", "a.b,,15 March,date,,,none,practice,p,practice,GB,,,,,"),
        ("value", "a.b,,,text,,,none,practice,p,practice,GB,,,,,"),
        ("value", "a.b,,0,m,,1,cv,practice,p,practice,GB,,,,,"),
        ("unit", "a.b,,1,,,,none,practice,p,practice,GB,,,,,"),
        ("unit", "a.b,,1,furlong,,,none,practice,p,practice,GB,,,,,"),
        ("low", "a.b,,1,m,2,3,range,practice,p,practice,GB,,,,,"),
        ("high", "a.b,,1,m,0,0.5,uniform,practice,p,practice,GB,,,,,"),
        ("low", "a.b,,1,m,,3,range,practice,p,practice,GB,,,,,"),
        ("high", "a.b,,1,m,0,,ci95,practice,p,practice,GB,,,,,"),
        ("high", "a.b,,90,percent,80,110,ci95,practice,p,practice,GB,,,,,"),
        ("low", "a.b,,1,m,0,,none,practice,p,practice,GB,,,,,"),
        ("low", "a.b,,1,m,0,1,sd,practice,p,practice,GB,,,,,"),
        ("high", "a.b,,1,m,,0,se,practice,p,practice,GB,,,,,"),
        ("high", "a.b,,1,m,,many,sd,practice,p,practice,GB,,,,,"),
        ("spread", "a.b,,1,m,,,about,practice,p,practice,GB,,,,,"),
        ("spread", "a.b,,1,m,,,,practice,p,practice,GB,,,,,"),
        ("spread", "a.b,,word,text,,1,sd,practice,p,practice,GB,,,,,"),
        ("source", "a.b,,1,m,,,none,,p,practice,GB,,,,,"),
        ("source", "a.b,,1,m,,,none,someone2002,p,published,GB,,,,,"),
        ("locator", "a.b,,1,m,,,none,practice,,practice,GB,,,,,"),
        ("grade", "a.b,,1,m,,,none,practice,p,,GB,,,,,"),
        ("grade", "a.b,,1,m,,,none,practice,p,certain,GB,,,,,"),
        ("grade", "a.b,,1,m,,,none,practice,p,published,GB,,,,,"),
        ("grade", "a.b,,1,m,,,none,practice,p,guidance,GB,,,,,"),
        ("grade", "a.b,,1,m,,,none,practice,p,memory,GB,,,,,"),
        ("grade", "a.b,,1,m,,,none,practice,p,assumption,GB,,,,,"),
        ("grade", "a.b,,1,m,,,none,memory,p,guidance,GB,,,,,"),
        ("grade", "a.b,,1,m,,,none,assumption,p,published,GB,,,,,"),
        ("grade", "a.b,,1,m,,,none,assumption,p,practice,GB,,,,,"),
        ("grade", "a.b,,1,m,,,none,someone2001,p,practice,GB,,,,,"),
        ("grade", "a.b,,1,m,,,none,page2002,p,published,GB,,,,,"),
        ("grade", "a.b,,1,m,,,none,unread2003,p,published,GB,,,,,"),
        ("grade", "a.b,,1,m,,,none,unread2003,p,guidance,GB,,,,,"),
        ("country", "a.b,,1,m,,,none,practice,p,practice,,,,,,"),
        ("country", "a.b,,1,m,,,none,practice,p,practice,Ireland,,,,,"),
        ("country", "a.b,,1,m,,,none,practice,p,practice,scotland,,,,,"),
        ("valid_from", "a.b,,1,m,,,none,practice,p,practice,GB,,2026,,,"),
        ("valid_to", "a.b,,1,m,,,none,practice,p,practice,GB,,,1 May 2026,,"),
        ("valid_to", "a.b,,1,m,,,none,practice,p,practice,GB,,2026-02-01,2026-01-01,,"),
        ("waits", "a.b,,1,m,,,none,practice,p,practice,GB,,,,later,"),
        ("", "a.b,,1,m,,,none,practice,p,practice,GB,,,,"),
        ("", "a.b,,1,m,,,none,practice,p,practice,GB,,,,,a note, unquoted"),
    ];
    for (column, row) in cases {
        let faults = read(&rows(&[row])).expect_err(row);
        assert_eq!(faults.len(), 1, "{row}: {faults:?}");
        assert_eq!((faults[0].column.as_str(), faults[0].row, faults[0].file.as_str()), (column, 2, "some.csv"), "{row}: {}", faults[0]);
        assert!(!faults[0].needed.is_empty() && !faults[0].found.is_empty() && !faults[0].hint.is_empty(), "{row}: {:?}", faults[0]);
    }
}

#[test]
fn rows_that_do_not_go_together_are_refused() {
    let one = "a.b,,1,m,,,none,practice,p,practice,GB,,,,,";
    let point = "a.b,1,1,m,,,none,practice,p,practice,GB,,,,,";
    let cases = [
        ("key", [one, one], "the same fact twice"),
        ("key", [point, "a.b,1.0,2,m,,,none,practice,p,practice,GB,,,,,"], "the same point twice"),
        ("x", [one, "a.b,2,2,m,,,none,practice,p,practice,GB,,,,,"], "a value and a point"),
        ("unit", [one, "a.b,,1,km,,,none,practice,p,practice,Wales,,,,,"], "two units"),
        ("waits", [one, "a.b,,1,m,,,none,practice,p,practice,Wales,,,,birds,"], "used and waiting"),
    ];
    for (column, both, what) in cases {
        let faults = read(&rows(&both)).expect_err(what);
        assert_eq!((faults.len(), faults[0].column.as_str(), faults[0].row), (1, column, 3), "{what}: {faults:?}");
    }
    let zeros = rows(&["a.b,0,1,m,,,none,practice,p,practice,GB,,,,,", "a.b,-0,1,m,,,none,practice,p,practice,GB,,,,,"]);
    assert!(read(&zeros).is_err(), "0 and -0 are the same point");
    let sound = rows(&[point, "a.b,2,1,m,,,none,practice,p,practice,GB,,,,,", "a.b,1,1,m,,,none,practice,p,practice,Wales,,,,,"]);
    assert!(read(&sound).is_ok(), "a curve with another one for a country");
}

#[test]
fn faulty_files_are_refused() {
    let edition = ("edition.txt", "2026-11");
    let sources = ("bibliography.csv", SOURCES);
    let cases: [(&str, &[(&str, &str)]); 9] = [
        ("bibliography.csv", &[edition]),
        ("edition.txt", &[sources]),
        ("edition.txt", &[sources, ("edition.txt", " \n")]),
        ("edition.txt", &[sources, ("edition.txt", "2026-10\n2026-11\n")]),
        ("t.csv", &[sources, edition, ("t.csv", "")]),
        ("t.csv", &[sources, edition, ("t.csv", "key,value\na.b,1\n")]),
        ("bibliography.csv", &[("bibliography.csv", "source,kind\n"), edition]),
        ("bibliography.csv", &[("bibliography.csv", "source,kind,authors,year,title,container,read_status,note\nA B,article,A,,,,abstract,\n"), edition]),
        ("bibliography.csv", &[("bibliography.csv", "source,kind,authors,year,title,container,read_status,note\na,rumour,A,,,,abstract,\n"), edition]),
    ];
    for (file, texts) in cases {
        let faults = Guidance::from_texts(texts).expect_err(file);
        assert_eq!((faults.len(), faults[0].file.as_str()), (1, file), "{faults:?}");
    }
    let twice = format!("{SOURCES}practice,practice,again,,,,none,\n");
    let faults = Guidance::from_texts(&[("bibliography.csv", &twice), edition]).expect_err("a source twice");
    assert_eq!((faults.len(), faults[0].row, faults[0].column.as_str()), (1, 8, "source"));
}

#[test]
fn all_faults_of_all_files_are_told_at_once_in_order_of_place() {
    let one = rows(&["a.b,,x,m,,,none,nobody,,practice,GB,,,,,", "c.d,,1,m,,,none,practice,p,practice,GB,,,,,", "c.d,,1,m,,,none,practice,p,practice,GB,,,,,"]);
    let two = rows(&["e.f,,1,m,,,none,practice,p,practice,Mars,,,,,"]);
    let faults = Guidance::from_texts(&[("z.csv", &two), ("bibliography.csv", SOURCES), ("b.csv", &one)]).expect_err("faulty");
    let places: Vec<(&str, usize, &str)> = faults.iter().map(|fault| (fault.file.as_str(), fault.row, fault.column.as_str())).collect();
    let expected =
        [("b.csv", 2, "locator"), ("b.csv", 2, "source"), ("b.csv", 2, "value"), ("b.csv", 4, "key"), ("edition.txt", 0, ""), ("z.csv", 2, "country")];
    assert_eq!(places, expected);
    let text = faults[2].to_string();
    assert!(text.starts_with("b.csv line 2, column `value`: needed a number of at least 0 [m], found `x`\n  hint: "), "{text}");
}

#[test]
fn a_mark_at_the_head_of_the_file_and_carriage_returns_do_no_harm() {
    let text = format!("\u{feff}{}", rows(&["a.b,,1,m,,,none,practice,p,practice,GB,,,,,"]).replace('\n', "\r\n"));
    assert!(read(&text).is_ok());
}

#[test]
fn what_is_asked_for_in_vain_says_why_and_what_is_near() {
    let text = rows(&[
        "lek.radius_m,,1,m,,,none,practice,p,practice,GB,,,,,",
        "lek.first,,03-15,date,,,none,practice,p,practice,GB,,,,,",
        "lek.sward,,short,text,,,none,practice,p,practice,GB,,,,,",
        "lek.curve,0,1,m,,,none,practice,p,practice,GB,,,,,",
        "lek.scottish,,1,m,,,none,practice,p,practice,Scotland,,,,,",
        "lek.both,,1,m,,,none,practice,p,practice,GB,,,,,",
        "lek.both,,2,m,,,none,practice,p,practice,Wales,,,,,",
    ]);
    let tables = read(&text).expect("sound");
    let gb = Country::GB;
    assert_eq!(tables.number("lek.both", Country::Wales).ok(), Some(2.0));
    assert_eq!(tables.number("lek.both", Country::England).ok(), Some(1.0));
    assert_eq!(tables.month_day("lek.first", gb).ok(), Some((3, 15)));
    assert_eq!(tables.text("lek.sward", gb).ok(), Some("short"));
    assert_eq!(tables.under("lek.").count(), 7);
    assert_eq!(tables.under("lek.c").count(), 1);
    let cases = [
        (tables.number("lek.radius", gb).err(), Why::NoKey),
        (tables.number("lek.first", gb).err(), Why::NotNumber),
        (tables.number("lek.curve", gb).err(), Why::IsCurve),
        (tables.number("lek.scottish", Country::Wales).err(), Why::NoCountry),
        (tables.text("lek.both", gb).err(), Why::NotText),
        (tables.month_day("lek.both", gb).err(), Why::NotDate),
        (tables.curve("lek.both", gb).err(), Why::NotCurve),
        (tables.explain("lek.radios_m").err(), Why::NoKey),
    ];
    for (unknown, why) in cases {
        let unknown = unknown.unwrap_or_else(|| panic!("{why:?} expected"));
        assert_eq!(unknown.why, why, "{unknown}");
        assert_eq!(unknown.near.first().map(String::as_str), (why == Why::NoKey).then_some("lek.radius_m"));
    }
    assert_eq!(tables.number("lek.radius", gb).expect_err("unknown").to_string().lines().count(), 2);
}
