//! Broken files of counts: each is refused in clear words, or read with word of what was made of it; on a fault nothing
//! of the file goes in.

mod broken;
mod making;

use broken::Then::{self, *};
use broken::{Case, case, judge, run, told};
use holding::Word;
use holding::import::{Kind, Options, Source, read};
use holding::plan::Plan;
use making::*;

/// One row of `lek,date,start,cocks,hens`.
fn row(what: &'static str, row: &str, then: Then) -> Case {
    case(what, Kind::Visits, "v.csv", format!("lek,date,start,cocks,hens\n{row}\n"), then)
}

fn file(what: &'static str, text: &str, then: Then) -> Case {
    case(what, Kind::Visits, "v.csv", text, then)
}

/// One place without a lek's name.
fn place(what: &'static str, east: f64, north: f64, cocks: &str, then: Then) -> Case {
    case(what, Kind::Visits, "v.csv", format!("easting,northing,date,cocks\n{east},{north},2026-04-17,{cocks}\n"), then)
}

fn brood(what: &'static str, row: &str, then: Then) -> Case {
    case(what, Kind::Broods, "b.csv", format!("date,site,hens,broods,young,dogs\n{row}\n"), then)
}

fn utf_16(text: &str) -> Vec<u8> {
    [0xFF, 0xFE].into_iter().chain(text.encode_utf16().flat_map(u16::to_le_bytes)).collect()
}

fn sheet(rows: Vec<Vec<Put>>) -> Vec<u8> {
    let mut all = vec![vec![Put::Text("Lek"), Put::Text("Date"), Put::Text("Males")]];
    all.extend(rows);
    xlsx(&[("Counts", all)])
}

fn refused() -> Vec<Case> {
    vec![
        row("a lek's name with a slip", "Whin Rig,2026-04-17,,5,", Fault(&["line 2", "column `lek`", "a lek of the plan", "`Whin Rig`", "did it mean Whin Rigg?"])),
        row("a lek nobody knows", "Elsewhere,2026-04-17,,5,", Fault(&["line 2", "Elsewhere", "the plan has Whin Rigg"])),
        file("the lek in the first of merged cells only", "lek,date,cocks\nL1,2026-04-17,5\n,2026-04-24,6\nL1,2026-04-30,4\n", Fault(&["line 3", "the lek, by id or name", "write the lek in every row"])),
        file("no column of leks or places", "date,cocks\n2026-04-17,5\n", Fault(&["a column for `lek`, or the places", "--map lek=COLUMN"])),
        file("no column of cocks", "lek,date,birds about\nL1,2026-04-17,5\n", Fault(&["a column for `cocks`", "--map cocks=COLUMN"])),
        row("no day", "L1,,,5,", Fault(&["line 2", "the day of the count", "found nothing"])),
        row("no such day", "L1,30/02/2026,,5,", Fault(&["line 2", "30/02/2026", "there is no such day"])),
        row("month 13", "L1,17/13/2026,,5,", Fault(&["line 2", "17/13/2026", "a day of the calendar"])),
        file("month 13 in a column", "lek,Year,Month,Day,cocks\nL1,2026,13,4,5\n", Fault(&["line 2", "column `Month`", "from 1 to 12", "13"])),
        file("a month misspelt", "lek,Year,Month,Day,cocks\nL1,2026,Arpil,4,5\n", Fault(&["line 2", "column `Month`", "Arpil"])),
        file("a year of two figures in a column", "lek,Year,Month,Day,cocks\nL1,26,4,4,5\n", Fault(&["line 2", "column `Year`", "from 1800"])),
        row("a day in words", "L1,last spring,,5,", Fault(&["line 2", "last spring", "write the day in figures"])),
        row("a day ahead", "L1,2026-06-02,,5,", Fault(&["line 2", "a day up to today, 2026-06-01"])),
        row("a day before any count", "L1,1899-04-17,,5,", Fault(&["line 2", "from 1900 on"])),
        file("days both ways round", "lek,date,cocks\nL1,17/04/2026,5\nL1,04/24/2026,6\n", Fault(&["line 3", "04/24/2026", "month seems to stand first"])),
        row("25 o'clock", "L1,2026-04-17,25:00,5,", Fault(&["line 2", "column `start`", "25:00", "from 0 to 23"])),
        row("75 minutes", "L1,2026-04-17,0675,5,", Fault(&["line 2", "0675", "minutes from 0 to 59"])),
        row("minus three cocks", "L1,2026-04-17,,-3,", Fault(&["line 2", "column `cocks`", "from 0 to 200", "-3"])),
        row("half a cock", "L1,2026-04-17,,5.5,", Fault(&["line 2", "5.5", "whole number"])),
        row("201 cocks", "L1,2026-04-17,,201,", Fault(&["line 2", "201", "from 0 to 200"])),
        row("500 hens", "L1,2026-04-17,,5,500", Fault(&["line 2", "column `hens`", "500"])),
        file("two columns of cocks", "lek,date,males,cock\nL1,2026-04-17,5,6\n", Fault(&["one column for `cocks`", "`males`", "`cock`"])),
        file("an id twice", "id,lek,date,cocks\na,L1,2026-04-17,5\na,L1,2026-04-18,6\n", Fault(&["line 3", "only once", "line 2"])),
        file("more values than columns", "lek,date,cocks\nL1,2026-04-17,5,calm,1\n", Fault(&["line 2", "3 values"])),
        file("headings alone", "lek,date,cocks\n", Fault(&["at least one row"])),
        file("nothing at all", "", Fault(&["0 bytes"])),
        file("a title above the headings", "Dawn counts 2026,,\nlek,date,cocks\nL1,2026-04-17,5\n", Fault(&["`Dawn counts 2026` alone", "delete the rows above"])),
        file("headings in two rows", "lek,date,birds,\n,,cocks,hens\nL1,2026-04-17,5,1\n", Fault(&["a column for `cocks`"])),
        case("a sheet under a table's name", Kind::Visits, "v.csv", sheet(vec![]), Fault(&["a text table"])),
        case("wide text without its mark", Kind::Visits, "v.csv", &utf_16("lek,date,cocks\nL1,2026-04-17,5\n")[2..], Fault(&["a text table", "bytes that are no text"])),
        case("a sheet cut short", Kind::Visits, "v.xlsx", &sheet(vec![])[..900], Fault(&["v.xlsx", "whole"])),
        case("two sheets", Kind::Visits, "v.xlsx", xlsx(&[("Notes", vec![vec![Put::Text("x")]]), ("Counts", vec![vec![Put::Text("lek")]])]), Fault(&["one sheet", "`Notes`, `Counts`", "--layer"])),
        case("a count the sheet made a day of", Kind::Visits, "v.xlsx", sheet(vec![vec![Put::Text("L1"), Put::Text("2026-04-17"), Put::Day(2026, 6, 5)]]), Fault(&["row 2", "a sheet makes a day of `5-6`"])),
        case("a formula never worked out", Kind::Visits, "v.xlsx", sheet_with(sheet(vec![vec![Put::Text("L1"), Put::Text("2026-04-17"), Put::Number(5.0)]]), r#"<c r="C2"><v>5</v></c>"#, r#"<c r="C2"><f>A9+1</f></c>"#), Fault(&["row 2", "A9+1", "in place of the formula"])),
        case("a formula that failed", Kind::Visits, "v.xlsx", sheet(vec![vec![Put::Text("L1"), Put::Day(2026, 4, 17), Put::Formula("=1/0", "#DIV/0!")]]), Fault(&["row 2", "column `Males`", "#DIV/0!"])),
        file("a place too coarse", "grid ref,date,cocks\nNY9131,2026-04-17,5\n", Fault(&["line 2", "square of 1000 m", "too coarse"])),
        file("a place that is no place", "grid ref,date,cocks\nby the gate,2026-04-17,5\n", Fault(&["line 2", "by the gate"])),
        file("places as longitude and latitude off the island", "lon,lat,date,cocks\n12.5,41.9,2026-04-17,5\n", Fault(&["line 2", "grid"])),
        place("easting and northing swapped", 531_000.0, 391_000.0, "5", Fault(&["line 2", "swapped"])),
        place("birds far from any lek", 392_500.0, 532_500.0, "5", Fault(&["line 2", "within 200 m", "birds round NY9232, at most 5 cocks, no lek near", "--make-leks"])),
        place("birds a little way from a lek", 391_350.0, 531_000.0, "5", Fault(&["line 2", "birds round NY9131, at most 5 cocks, lek L1 within 400 m"])),
        brood("more broods than hens", "2025-08-09,,3,4,11,yes", Fault(&["line 2", "column `broods`", "no more hens with broods than hens seen, 3"])),
        brood("half a chick", "2025-08-09,,3,2,4.5,yes", Fault(&["line 2", "column `young`", "4.5"])),
        brood("a brood count of a year", "2025,,3,2,4,yes", Fault(&["line 2", "without its day"])),
        case("broods without counts", Kind::Broods, "b.csv", "date,site\n2025-08-09,Low\n", Fault(&["a column for `hens`, `hens_with_brood` or `young`"])),
        case("a notebook of dawns as broods", Kind::Broods, "b.csv", "lek,date,start,cocks,hens\nLow,2025-04-09,05:10,7,2\n", Fault(&["hens alone are no brood count", "visits"])),
        case("young without a brood", Kind::Broods, "b.csv", "date,hens,with broods,young\n2025-08-09,3,0,4\n", Fault(&["line 2", "no young where no hens with a brood were counted"])),
        case("fewer young than broods", Kind::Broods, "b.csv", "date,hens,with broods,young\n2025-08-09,5,4,3\n", Fault(&["line 2", "a young at least"])),
        case("more broods than hens, in words of its own", Kind::Broods, "b.csv", "date,hens,with broods,young\n2025-08-09,3,9,20\n2025-08-10,1,1,125\n", Fault(&["line 2", "no more hens with broods", "line 3", "no more than 20 young to a hen"])),
        case("young without a hen", Kind::Broods, "b.csv", "date,hens,young\n2025-08-09,0,12\n", Fault(&["line 2", "column `young`", "no young where no hens were counted", "`12`"])),
        case("a thirteenth month in eight figures", Kind::Broods, "b.csv", "date,hens,young\n20261301,3,4\n", Fault(&["line 2", "a day of the calendar", "year, month and day"])),
        case("a thirteenth month", Kind::Broods, "b.csv", "date,hens,young\n2026-13-01,3,4\n", Fault(&["line 2", "a day of the calendar", "there are twelve"])),
        case("a brood far off", Kind::Broods, "b.csv", "date,hens,young,easting,northing\n2025-08-09,3,5,191000,831000\n", Fault(&["line 2", "km off"])),
    ]
}

fn mended() -> Vec<Case> {
    let left_out = |what, text: &str, then| Case { leave_out: true, ..file(what, text, then) };
    vec![
        row("about five", "L1,2026-04-17,,c. 5,", In(1, &["said roughly", "line 2"])),
        row("five or more", "L1,2026-04-17,,5+,", In(1, &["at least so many", "may be too low"])),
        row("five to six", "L1,2026-04-17,,5-6,", In(1, &["the lower was taken"])),
        row("nil", "L1,2026-04-17,,nil,none", In(1, &["read as 0"])),
        row("a dash, a query", "L1,2026-04-17,,-,?", In(1, &["`cocks` for not counted", "line 2"])),
        row("a cross", "L1,2026-04-17,,x,", In(1, &["`cocks` for not counted", "as not counted"])),
        row("the hour that is skipped", "L1,2026-03-29,01:30,5,", In(1, &["clocks went forward", "line 2"])),
        row("very many cocks", "L1,2026-04-17,,90,", In(1, &["many more cocks than the lek was known to hold", "lek L1 on 2026-04-17: 90, none on any other visit"])),
        file("many more than before", "lek,date,cocks\nL1,2026-04-17,7\nL1,2026-04-18,8\nL1,2026-04-19,80\n", In(3, &["lek L1 on 2026-04-19: 80, at most 8 on any other visit"])),
        row("not counted", "L1,2026-04-17,,n/c,", In(1, &["`cocks` for not counted"])),
        row("several", "L1,2026-04-17,,several,", In(1, &["`cocks` that give no number", "as not counted"])),
        row("fewer than five", "L1,2026-04-17,,<5,", In(1, &["give no number"])),
        row("two figures", "L1,2026-04-17,,5 lekking + 2 silent,", In(1, &["give no number"])),
        row("a time in words", "L1,2026-04-17,dawn,5,", In(1, &["give no time", "line 2"])),
        row("midnight", "L1,2026-04-17,00:00,5,", In(1, &["a start at midnight"])),
        row("from and to", "L1,2026-04-17,0545-0630,5,", In(1, &["the first was taken for the start"])),
        row("Greenwich time", "L1,2026-04-17,04:45 GMT,5,", In(1, &["Greenwich time were brought to the clock"])),
        row("an afternoon", "L1,2026-04-17,17:45,5,", In(1, &["begun after noon: lek L1 on 2026-04-17 at 17:45"])),
        row("a day either way", "L1,03/04/2026,,5,", In(1, &["read day first"])),
        row("the month first", "L1,04/17/2026,,5,", In(1, &["read month first"])),
        row("a short year", "L1,12.4.25,,5,", In(1, &["between 1950 and 2049"])),
        row("a year alone", "L1,1987,,5,", In(1, &["only the month or the year"])),
        row("a serial number", "L1,46129,,5,", In(1, &["serial day number"])),
        row("a lek's name in other letters", "WHIN-RIGG,2026-04-17,,5,", In(1, &[])),
        file("a row of totals", "lek,date,cocks\nL1,2026-04-17,5\nL1,2026-04-24,7\nTotal,,12\n", In(2, &["a row of totals", "line 4"])),
        file("a sum without a name", "lek,date,cocks\nL1,2026-04-17,5\nL1,2026-04-24,7\n,,12\n", In(2, &["a row of totals", "line 4"])),
        file("blank rows", "lek,date,cocks\n,,\nL1,2026-04-17,5\n\n,,\nL1,2026-04-24,7\n", In(2, &[])),
        file("a line break in a note", "lek,date,cocks,note\nL1,2026-04-17,5,\"two\nlines\"\nL1,2026-04-24,7,\n", In(2, &[])),
        file("semicolons", "lek;date;cocks;note\nL1;2026-04-17;5;calm, clear\n", In(1, &[])),
        file("tabs", "lek\tdate\tcocks\nL1\t2026-04-17\t5\n", In(1, &[])),
        case("Windows-1252", Kind::Visits, "v.csv", [b"lek,date,cocks,note\nWh\xEFn Rigg,2026-04-17,5,caf\xE9\n".as_slice()].concat(), In(1, &["Windows-1252"])),
        case("wide text", Kind::Visits, "v.csv", utf_16("lek,date,cocks\nL1,2026-04-17,5\n"), In(1, &[])),
        case("days as text in a sheet", Kind::Visits, "v.xlsx", sheet(vec![vec![Put::Text("L1"), Put::Text("17 Apr 2026"), Put::Text("5")]]), In(1, &[])),
        file("wind and rain in words", "lek,date,cocks,wind,rain\nL1,2026-04-17,5,light breeze,mizzle\nL1,2026-04-18,5,10 mph,dry\n", In(2, &["by the Beaufort scale", "no Beaufort force", "rain in other words"])),
        file("a row twice", "lek,date,start,cocks\nL1,2026-04-17,05:10,5\nL1,17/04/2026,0510,5\n", In(1, &["alike in everything", "line 3"])),
        file("one start, two counts", "lek,date,start,cocks\nL1,2026-04-17,05:10,5\nL1,2026-04-17,05:10,6\n", In(2, &["lek, day and start of another visit", "both were kept (line 3)"])),
        file("one day, the same cocks", "lek,date,start,cocks\nL1,2026-04-17,05:10,5\nL1,2026-04-17,,5\n", In(2, &["lek, day and cocks of another visit", "both were kept (line 3)"])),
        file("a named lek and a place elsewhere", "lek,date,cocks,grid ref\nL1,2026-04-17,5,NY 925 325\n", In(1, &["more than 200 m from the lek named", "line 2"])),
        file("a named lek and a place that cannot be read", "lek,date,cocks,grid ref\nL1,2026-04-17,5,top of hill\n", In(1, &[])),
        place("a count of none at no lek", 392_500.0, 532_500.0, "0", In(0, &["1 row left out", "tells of none"])),
        place("a lone cock near a lek", 391_350.0, 531_000.0, "1", In(1, &["a lone cock within 500 m"])),
        place("birds at a lek", 391_150.0, 531_000.0, "5", In(1, &[])),
        Case { make_leks: true, ..place("a lek made", 392_500.0, 532_500.0, "5", In(1, &["new lek NY9232: 1 visit, at most 5 cocks (line 2)"])) },
        Case { leave_out: true, ..place("a lek not made", 392_500.0, 532_500.0, "5", In(0, &["new lek NY9232", "1 row left out: needed a lek of the plan within 200 m"])) },
        left_out(
            "rows that cannot be used",
            "lek,date,start,cocks\nL1,2026-04-17,05:10,5\nL1,,05:10,5\nNowhere,2026-04-18,,5\nL1,2026-04-19,,-1\nL1,2026-04-20,26:00,4\nL1,2030-04-20,,4\nL1,,,9\n",
            In(1, &["2 rows left out: needed the day of the count in column `date` (line 3: nothing; line 8: nothing)", "a lek of the plan, by id or name in column `lek` (line 4: `Nowhere`)", "`-1`", "`26:00`", "up to today"]),
        ),
        brood("a site that is no lek", "2025-08-09,Low Fold,3,2,7,Meg and Fly", In(1, &["no lek of the plan was kept as written"])),
        brood("young without hens", "2025-08-09,,3,0,2,", Fault(&["line 2", "no young where no hens with a brood were counted"])),
        brood("a brood count in May", "2025-05-20,,3,2,7,", In(1, &["outside the season of brood counts, 21 July to 31 August", "left out of the young per hen (line 2)"])),
        row("eleven, two of them small", "L1,2026-04-17,,11 (two small),", In(1, &["marks beside the figure"])),
        brood("nothing counted", "2025-08-09,L1,,,,no", In(1, &["no hens, broods or young"])),
        case("a brood count twice", Kind::Broods, "b.csv", "date,hens,young\n2025-08-09,3,7\n9 Aug 2025,3,7\n", In(1, &["alike in everything", "line 3"])),
        Case { leave_out: true, ..brood("broods that cannot be used", ",L1,3,2,7,", In(0, &["1 row left out"])) },
    ]
}

#[test]
fn every_broken_file_of_counts_is_told_or_mended() {
    let cases: Vec<Case> = [refused(), mended()].into_iter().flatten().collect();
    assert!(cases.len() >= 80, "{}", cases.len());
    judge(&cases);
}

/// A plan file whose import was refused holds what it held, to the byte.
#[test]
fn a_refused_file_leaves_the_plan_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    drop(Plan::create(&path, &holding(), false).unwrap());
    let bytes = std::fs::read(&path).unwrap();
    for case in refused() {
        let mut plan = Plan::open_read_only(&path).unwrap().holding().unwrap();
        let before = plan.clone();
        if let Ok(imported) = run(&case) {
            imported.apply(&mut plan);
        }
        assert_eq!(plan, before, "{}", case.what);
    }
    assert!(std::fs::read(&path).unwrap() == bytes);
}

/// All faults of a file of counts come at once, each with its row and place.
#[test]
fn faults_of_counts_come_together() {
    let csv = "lek,date,start,cocks,hens,easting,northing\nL1,2026-02-30,25:00,-1,500,,\n,2026-04-17,,5,,392500,532500\nNowhere,2027-01-01,,5.5,,,\n";
    let faults = run(&file("", csv, Fault(&[]))).unwrap_err();
    assert_eq!(faults.total, 8, "{faults}");
    assert_eq!(faults.proposed.len(), 1);
    let text = faults.to_string();
    for part in ["line 2, column `date`", "line 2, column `start`", "line 2, column `cocks`", "line 2, column `hens`", "line 3: needed a lek of the plan", "line 4, column `lek`", "line 4, column `date`", "line 4, column `cocks`"] {
        assert!(text.contains(part), "{part} is not in {text}");
    }
}

/// The same file twice adds nothing.
#[test]
fn a_file_that_is_in_already_adds_nothing() {
    let mut plan = holding();
    let source = Source::bytes("v.csv", "lek,date,start,cocks,vantage\nL1,2026-04-17,05:10,c. 5,wall\nL1,2026-04-24,,7,\n");
    read(Kind::Visits, &source, &Options::default(), &plan, guidance()).unwrap().apply(&mut plan);
    let again = read(Kind::Visits, &source, &Options::default(), &plan, guidance()).unwrap();
    assert!(told(&again).contains("that the plan has already, alike in everything, were left out (line 2, line 3)"));
    assert_eq!(again.count, 0);
    assert_eq!(Kind::from_word("brood counts"), Some(Kind::Broods));
}
