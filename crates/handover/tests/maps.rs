//! Sheets read back from their pictures: scale, grid, legend, names that keep clear of one another, site maps; on the demonstration
//! holding and on odd ones.

#![allow(clippy::panic, reason = "a test may stop")]

mod common;

use common::*;
use geo_types::{LineString, MultiLineString, MultiPolygon, polygon};
use guidance::Guidance;
use habitat::{Assessed, Settings};
use handover::map::sites::{self, Site};
use handover::map::{Scene, Sheet};
use handover::placed::{self, Placed};
use handover::secrecy::Secrecy;
use handover::svg::Type;
use handover::{Pack, Planned};
use holding::Holding;
use holding::model::{Measure, Parcel, PlanOption};
use serde_json::json;
use std::collections::BTreeSet;

/// A plan with an option and all that sheets are drawn from.
struct Whole {
    parts: Parts,
    base: Assessed,
}

/// What sheets of an option are drawn from, given to `with`.
struct Drawn<'a> {
    scene: Scene<'a>,
    planned: &'a Planned<'a>,
    placed: &'a [Placed],
    sites: Vec<Site>,
    pack: &'a Pack<'a>,
}

impl Whole {
    fn of(holding: Holding) -> Self {
        let mut parts = parts();
        parts.holding = holding;
        parts.guidance = Guidance::load().expect("the tables");
        parts.findings = vec![];
        parts.counts = vec![];
        let base = habitat::assess(&parts.holding, &parts.guidance, Settings { draws: 2, seed: 1, cell_m: Some(50.0) }).expect("a year");
        parts.assessment = base.assessment.clone();
        parts.pictures = base.pictures();
        Self { parts, base }
    }

    fn draw<T>(&self, show_leks: bool, with: impl Fn(&Drawn) -> T) -> T {
        let planned = Planned::new((&self.parts.holding, &Secrecy::new(&self.parts.holding, false)), &self.parts.guidance, &self.base, 1, &[]).expect("an option");
        let pack = Pack { option: Some(&planned), findings: &planned.findings, ..self.parts.pack(show_leks) };
        let secrecy = pack.secrecy();
        let public = secrecy.public(&self.parts.holding);
        let placed = placed::of(&pack, &planned, &secrecy);
        let scene = Scene::new(&public, &secrecy).expect("ground");
        let sites = sites::of(&planned, &placed, &pack);
        with(&Drawn { scene, planned: &planned, placed: &placed, sites, pack: &pack })
    }
}

impl Drawn<'_> {
    fn members(&self) -> Vec<usize> {
        (0..self.planned.jobs.len()).collect()
    }

    fn site(&self, site: &Site) -> Sheet {
        self.scene.site(self.planned, self.placed, site, sites::WIDE_MM, sites::HIGH_MM)
    }

    fn year(&self, width_mm: f64, height_mm: f64) -> Sheet {
        self.scene.year_map(self.planned, self.placed, &self.members(), width_mm, height_mm)
    }

    /// Every sheet, with what it is called.
    fn sheets(&self) -> Vec<(String, Sheet)> {
        let kinds: BTreeSet<&str> = self.planned.jobs.iter().map(|j| j.entry.key).collect();
        let mut out = vec![
            ("ground".to_owned(), self.scene.ground(174.0, 238.0)),
            ("measures".to_owned(), self.scene.measures(self.planned, self.placed, None, 174.0, 230.0)),
            ("season".to_owned(), self.scene.season(&self.pack.pictures.value[0].1, 174.0, 238.0)),
            ("findings".to_owned(), self.scene.findings(&self.pack.ordered_findings(), 174.0, 238.0)),
            ("year on A4".to_owned(), self.year(269.0, 178.0)),
            ("year on A3".to_owned(), self.year(392.0, 265.0)),
        ];
        out.extend(kinds.into_iter().map(|k| (k.to_owned(), self.scene.measures(self.planned, self.placed, Some(k), 174.0, 112.0))));
        out.extend(self.sites.iter().map(|s| (s.name.clone(), self.site(s))));
        out
    }
}

/// An attribute of an element.
fn attribute<'a>(line: &'a str, name: &str) -> &'a str {
    line.split(&format!(" {name}=\"")).nth(1).unwrap_or_else(|| panic!("{name} in {line}")).split('"').next().expect("a value")
}

fn number(line: &str, name: &str) -> f64 {
    attribute(line, name).parse().expect("a number")
}

/// The words of a text element.
fn words(line: &str) -> &str {
    line.split('>').nth(1).expect("words").split('<').next().expect("words")
}

/// The elements of a named group.
fn group<'a>(svg: &'a str, name: &str) -> Vec<&'a str> {
    svg.lines().skip_while(|l| *l != format!("<g id=\"{name}\">")).skip(1).take_while(|l| *l != "</g>").collect()
}

/// The box of a text element by the widths of the face: left, top, right, bottom.
fn text_box(line: &str) -> [f64; 4] {
    let size = number(line, "font-size");
    let look = if line.contains("font-weight=\"bold\"") { Type::plain(size).bold() } else { Type::plain(size) };
    let plain = words(line).replace("&amp;", "&").replace("&lt;", "<").replace("&gt;", ">").replace("&#39;", "'").replace("&quot;", "\"");
    let (x, y, wide) = (number(line, "x"), number(line, "y"), look.width_mm(&plain));
    let left = match attribute(line, "text-anchor") {
        "start" => x,
        "middle" => x - wide / 2.0,
        _ => x - wide,
    };
    // Capitals stand 0.66 high and few letters hang more than 0.2 below: Libertinus Serif.
    [left, y - size * 0.66, left + wide, y + size * 0.2]
}

/// The frame of a sheet: left, top, right, bottom.
fn frame(svg: &str) -> [f64; 4] {
    let line = svg.lines().find(|l| l.starts_with("<rect") && l.contains("fill=\"none\"") && l.contains("stroke-width=\".35\"")).expect("a frame");
    let (x, y) = (number(line, "x"), number(line, "y"));
    [x, y, x + number(line, "width"), y + number(line, "height")]
}

/// The boxes of flags: paths of a closed box with a cotton fill.
fn flags(svg: &str) -> Vec<[f64; 4]> {
    let of = |l: &str| {
        let data = attribute(l, "d").to_owned();
        let numbers: Vec<f64> = data.replace(['M', 'H', 'V', 'Z'], " ").split_whitespace().map(|n| n.parse().expect("a number")).collect();
        [numbers[0], numbers[1], numbers[2], numbers[3]]
    };
    let boxed = |l: &&str| l.starts_with("<path") && attribute(l, "d").matches('H').count() == 2 && attribute(l, "d").matches('V').count() == 1 && l.contains("fill=\"#fbfaf4\" stroke");
    // The one in the legend is no number of the map.
    svg.split("<g id=\"grid-figures\">").next().expect("a map").lines().filter(boxed).map(of).collect()
}

fn overlap(a: &[f64; 4], b: &[f64; 4]) -> bool {
    a[0] < b[2] - 0.02 && b[0] < a[2] - 0.02 && a[1] < b[3] - 0.02 && b[1] < a[3] - 0.02
}

/// No text lies on another or leaves the picture; names on the map keep inside its frame and off the flags.
fn assert_clear(what: &str, sheet: &Sheet) {
    let svg = &sheet.svg;
    let texts: Vec<(&str, [f64; 4])> = svg.lines().filter(|l| l.starts_with("<text")).map(|l| (words(l), text_box(l))).collect();
    let (wide, high) = size(svg);
    for (i, (word, a)) in texts.iter().enumerate() {
        assert!(a[0] >= -0.01 && a[1] >= -0.01 && a[2] <= wide + 0.01 && a[3] <= high + 0.01, "{what}: `{word}` leaves the sheet: {a:?}");
        for (other, b) in &texts[..i] {
            assert!(!overlap(a, b), "{what}: `{word}` lies on `{other}`: {a:?} {b:?}");
        }
    }
    let [left, top, right, bottom] = frame(svg);
    let flags = flags(svg);
    for (i, a) in flags.iter().enumerate() {
        assert!(a[0] >= left && a[1] >= top && a[2] <= right && a[3] <= bottom, "{what}: a number leaves the frame: {a:?}");
        assert!(flags[..i].iter().all(|b| !overlap(a, b)), "{what}: a number lies on another: {a:?}");
    }
    let on_map: Vec<_> = svg.split("<g id=\"grid-figures\">").next().expect("a map").lines().filter(|l| l.starts_with("<text")).collect();
    for line in on_map {
        let a = text_box(line);
        assert!(a[0] >= left && a[1] >= top && a[2] <= right && a[3] <= bottom, "{what}: `{}` leaves the frame", words(line));
        let own = |b: &[f64; 4]| a[0] >= b[0] && a[2] <= b[2] && a[1] >= b[1] && a[3] <= b[3];
        let lying = flags.iter().filter(|b| overlap(&a, b) && !own(b)).count();
        assert_eq!(lying, 0, "{what}: `{}` lies on a number", words(line));
    }
    for (i, a) in sheet.written.iter().enumerate() {
        assert!(sheet.written[..i].iter().all(|b| !overlap(a, b)), "{what}: boxes overlap");
    }
}

fn size(svg: &str) -> (f64, f64) {
    let view: Vec<f64> = attribute(svg.lines().next().expect("a line"), "viewBox").split(' ').map(|n| n.parse().expect("a number")).collect();
    (view[2], view[3])
}

/// The scale printed, its bar and the scale of the sheet are one.
fn assert_to_scale(what: &str, sheet: &Sheet) {
    let printed = sheet.svg.lines().filter(|l| l.starts_with("<text")).map(words).find(|w| w.starts_with("1:")).unwrap_or_else(|| panic!("{what}: no scale"));
    let (ratio, paper) = printed[2..].split_once(" on ").expect("a scale on a paper");
    assert_eq!(ratio.replace(',', "").parse::<f64>().expect("a ratio"), sheet.scale, "{what}");
    let (wide, high) = size(&sheet.svg);
    assert_eq!(paper, if wide.max(high) <= 297.0 { "A4" } else { "A3" }, "{what}");
    let bar = group(&sheet.svg, "scale-bar");
    let parts: Vec<(f64, f64)> = bar.iter().filter(|l| l.starts_with("<rect")).map(|l| (number(l, "x"), number(l, "width"))).collect();
    let long_mm = parts[3].0 + parts[3].1 - parts[0].0;
    let said = words(bar.iter().rfind(|l| l.starts_with("<text")).expect("a length"));
    let (value, unit) = said.split_once(' ').expect("a unit");
    let metres = value.parse::<f64>().expect("a length") * if unit == "km" { 1000.0 } else { 1.0 };
    assert!((long_mm * sheet.scale / 1000.0 - metres).abs() <= 0.02 * sheet.scale / 1000.0, "{what}: {long_mm} mm say {said} at 1:{}", sheet.scale);
}

fn square(id: &str, kind: &str, west: f64, south: f64, side: f64) -> Measure {
    let shape = MultiPolygon(vec![polygon![(x: west, y: south), (x: west + side, y: south), (x: west + side, y: south + side), (x: west, y: south + side)]]);
    Measure { id: id.into(), option: 1, kind: kind.into(), year: Some(2028), shape, ..Measure::default() }
}

/// The small holding with a few measures, some near each other, one far, one without a place, one tied to a lek.
fn small() -> Holding {
    let mut h = common::holding();
    h.options = vec![PlanOption { number: 1, name: "Some".into(), note: String::new() }];
    let lek_care = Measure { id: "lek-1".into(), option: 1, kind: "lek_care".into(), year: Some(2028), facts: [("lek".to_owned(), json!("L1"))].into(), ..Measure::default() };
    let ditch = Measure { line: MultiLineString(vec![LineString::from(vec![(WEST + 1200.0, SOUTH + 100.0), (WEST + 1450.0, SOUTH + 150.0)])]), ..square("water-1", "water", 0.0, 0.0, 0.0) };
    h.measures = vec![
        square("wood-1", "wood", WEST + 1100.0, SOUTH + 200.0, 60.0),
        square("wood-2", "wood", WEST + 1300.0, SOUTH + 230.0, 60.0),
        square("heather-1", "heather", WEST + 60.0, SOUTH + 1700.0, 50.0),
        Measure { shape: MultiPolygon(vec![]), ..ditch },
        lek_care,
        Measure { shape: MultiPolygon(vec![]), ..square("nowhere", "heather", 0.0, 0.0, 1.0) },
    ];
    h
}

/// The demonstration holding with measures of every sort of place, and so many of them.
fn demonstration(measures: usize) -> Holding {
    let mut h = demo::holding(1);
    h.options = vec![PlanOption { number: 1, name: "Many".into(), note: String::new() }];
    let [w, s, e, n] = handover::map::view::extent(&h).expect("ground");
    h.measures = (0..measures)
        .map(|i| {
            // Spread evenly but not in rows: steps of the golden ratio and of a seventh.
            let (x, y) = ((i as f64 * 0.618_034).fract(), (i as f64 / 7.0 + i as f64 * 0.001).fract());
            square(&format!("m{i}"), ["heather", "wood", "heather"][i % 3], w + (0.1 + 0.75 * x) * (e - w), s + (0.1 + 0.75 * y) * (n - s), 40.0 + 7.0 * (i % 9) as f64)
        })
        .collect();
    h
}

#[test]
fn distances_on_paper_are_those_on_the_ground() {
    let whole = Whole::of(small());
    whole.draw(true, |d| {
        for (what, sheet) in d.sheets() {
            assert_to_scale(&what, &sheet);
        }
        // The edge of the holding is 2,000 by 1,900 m.
        for sheet in [d.scene.ground(174.0, 238.0), d.year(392.0, 265.0)] {
            let edge = sheet.svg.lines().find(|l| l.contains("stroke-dasharray=\"3.2 .7 .7 .7\"")).expect("an edge");
            let corners: Vec<(f64, f64)> = attribute(edge, "d").trim_start_matches('M').trim_end_matches('Z').split('L').map(|c| c.split_once(' ').expect("a corner")).map(|(x, y)| (x.parse().expect("x"), y.parse().expect("y"))).collect();
            let span = |of: &dyn Fn(&(f64, f64)) -> f64| corners.iter().map(of).fold(f64::MIN, f64::max) - corners.iter().map(of).fold(f64::MAX, f64::min);
            let m = sheet.scale / 1000.0;
            assert!((span(&|c| c.0) * m - 2000.0).abs() < 0.02 * m && (span(&|c| c.1) * m - 1900.0).abs() < 0.02 * m, "{corners:?} at 1:{}", sheet.scale);
        }
        assert_eq!(d.scene.ground(174.0, 238.0).scale, 15_000.0);
    });
}

#[test]
fn names_and_numbers_keep_clear_of_one_another() {
    let whole = Whole::of(demonstration(60));
    for show in [false, true] {
        whole.draw(show, |d| {
            for (what, sheet) in d.sheets() {
                assert_clear(&what, &sheet);
                assert!(sheet.homeless.is_empty(), "{what}: {:?}", sheet.homeless);
            }
        });
    }
}

#[test]
fn two_hundred_measures_and_long_names_stay_readable() {
    let mut h = demonstration(200);
    for (i, parcel) in h.parcels.iter_mut().enumerate() {
        parcel.name = format!("The Far Allotment beyond the Old Sheepfold Wall of Parcel {i} & <b>more</b>");
    }
    let whole = Whole::of(h);
    whole.draw(true, |d| {
        for (what, sheet) in d.sheets() {
            assert_clear(&what, &sheet);
            assert!(!sheet.svg.contains("<b>"));
            if !sheet.homeless.is_empty() {
                assert!(sheet.svg.contains("No room was left on the map for the number of:"), "{what}");
            }
        }
        assert!(d.scene.measures(d.planned, d.placed, None, 174.0, 230.0).homeless.is_empty(), "every number stands on the full sheet");
        let on: Vec<usize> = d.sites.iter().flat_map(|s| s.members.clone()).collect();
        assert_eq!(on.len(), 200);
    });
}

#[test]
fn the_year_map_has_nothing_small() {
    let whole = Whole::of(small());
    whole.draw(false, |d| {
        for (wide, high) in [(269.0, 178.0), (392.0, 265.0), (174.0, 230.0)] {
            let sheet = d.year(wide, high);
            let least = sheet.svg.lines().filter(|l| l.starts_with("<text") && !l.contains(">7<")).map(|l| number(l, "font-size")).fold(f64::MAX, f64::min);
            assert!(least >= 3.0, "{least} mm on {wide} by {high}");
            assert_clear("year", &sheet);
        }
    });
}

#[test]
fn a_legend_tells_of_what_is_on_the_sheet_alone() {
    let legend = |sheet: &Sheet| group(&sheet.svg, "legend").into_iter().filter(|l| l.starts_with("<text") && !l.contains(">7<")).map(words).map(str::to_owned).collect::<Vec<_>>();
    let whole = Whole::of(small());
    whole.draw(true, |d| {
        let ground = legend(&d.scene.ground(174.0, 238.0));
        for there in ["heather and berry heath", "plantation conifers", "deer fence", "fence marked for birds", "open ditch", "track", "building", "lek", "edge of the holding"] {
            assert!(ground.contains(&there.to_owned()), "{there} in {ground:?}");
        }
        for not_there in ["overhead line", "blocked ditch", "wall", "bracken", "path", "road", "lek in this square"] {
            assert!(!ground.contains(&not_there.to_owned()), "{not_there} in {ground:?}");
        }
        // The site of the far corner has no fence, no building and no track in view.
        let far = d.sites.iter().find(|s| s.members.iter().any(|i| d.planned.jobs[*i].measure.id == "heather-1")).expect("a site");
        let entries = legend(&d.site(far));
        assert!(entries.contains(&"Heather cut or burnt in patches".to_owned()) && entries.contains(&"protected or kept out of".to_owned()), "{entries:?}");
        assert!(!["Ragged native wood", "building", "deer fence", "track", "access point"].iter().any(|w| entries.contains(&(*w).to_owned())), "{entries:?}");
    });
}

#[test]
fn every_measure_is_on_one_site_map_or_said_to_be_on_none() {
    let whole = Whole::of(small());
    for show in [false, true] {
        whole.draw(show, |d| {
            let mut all: Vec<usize> = d.sites.iter().flat_map(|s| s.members.clone()).collect();
            let left: Vec<_> = sites::left_out(d.planned, d.placed);
            all.extend(left.iter().map(|l| l.job));
            all.sort_unstable();
            assert_eq!(all, d.members(), "each once");
            assert_eq!(sites::of(d.planned, d.placed, d.pack), d.sites, "the same every time");
            let id = |i: &usize| d.planned.jobs[*i].measure.id.as_str();
            let with = |name: &str| d.sites.iter().find(|s| s.members.iter().any(|i| id(i) == name)).map(|s| s.members.iter().map(id).collect::<BTreeSet<_>>());
            assert_eq!(with("wood-1").expect("a site"), BTreeSet::from(["wood-1", "wood-2", "water-1"]));
            assert_eq!(with("heather-1").expect("a site"), BTreeSet::from(["heather-1"]));
            assert!(left.iter().any(|l| id(&l.job) == "nowhere" && l.why == "no place is known"), "{left:?}");
            assert_eq!(left.iter().any(|l| id(&l.job) == "lek-1" && l.why.contains("place withheld")), !show, "{left:?}");
            for site in &d.sites {
                let sheet = d.site(site);
                assert!((2500.0..=sites::SCALE).contains(&sheet.scale) || site.members.iter().any(|i| id(i) == "lek-1"), "{} 1:{}", site.name, sheet.scale);
                assert!(sheet.svg.contains(&site.reference) && site.reference.len() == "NY 8451 2937".len(), "{}", site.reference);
                let access = site.access.as_ref().expect("a track");
                // The track nearest to a point, by hand: it runs from (1000, 0) over (1050, 900) to (900, 1900).
                assert!(sheet.svg.contains(&access.reference) && access.way == "track");
            }
            let wet = d.sites.iter().find(|s| s.members.iter().any(|i| id(i) == "water-1")).expect("a site");
            assert_eq!(wet.steep_deg, Some(whole.parts.guidance.number("water.machine.slope_max", whole.parts.holding.about.country).expect("a figure")));
            // The nearer wood begins 1100 m east at 200 to 260 m north, where the track lies at 1014.4: 85.5 m.
            assert!((wet.access.as_ref().expect("a track").away_m - 85.5).abs() < 1.0, "{:?}", wet.access);
            assert_eq!(wet.mind.len(), 2);
        });
    }
}

#[test]
fn site_maps_tell_nothing_of_withheld_leks() {
    let whole = Whole::of(small());
    let words_of = |show: bool| whole.draw(show, |d| d.sites.iter().map(|s| d.site(s).svg).collect::<String>());
    let (withheld, shown) = (words_of(false), words_of(true));
    assert!(!withheld.contains("h-withheld") && !withheld.contains("Cold Rig") && !withheld.contains("Fallow Top"));
    assert!(withheld.contains("Lek places are withheld: none is drawn.") && shown.contains("This sheet shows lek places: keep it close."));
    // Nor do names of ways and burns that speak of one.
    let mut named = small();
    named.tracks[0].name = "Track to Cold Rig".into();
    named.watercourses[0].name = "Lek Sike".into();
    let telling = Whole::of(named);
    let names = |show: bool| telling.draw(show, |d| d.sites.iter().map(|s| d.site(s).svg).collect::<String>());
    assert!(!names(false).contains("Cold Rig") && !names(false).contains("Lek Sike") && names(true).contains("Track to Cold Rig"));
    // Moving the leks about in their squares changes no site map.
    let moved = |dx: f64, dy: f64| {
        let mut h = small();
        h.leks[0].at = geo_types::Point::new(WEST + 512.0 + dx, SOUTH + 377.0 + dy);
        Whole::of(h).draw(false, |d| d.sites.iter().map(|s| d.site(s).svg).collect::<String>())
    };
    assert_eq!(moved(0.0, 0.0), moved(30.0, -20.0));
    let year = whole.draw(false, |d| d.year(269.0, 178.0).svg);
    assert!(year.contains("h-withheld") && year.contains("place withheld") && year.contains("Lek places are withheld"));
}

#[test]
fn lines_overhead_are_drawn_above_the_work_and_named() {
    let mut h = small();
    let line = MultiLineString(vec![LineString::from(vec![(WEST + 1000.0, SOUTH + 210.0), (WEST + 1500.0, SOUTH + 250.0)])]);
    h.services.push(holding::model::Service { kind: "overhead line, 11 kV".into(), ..holding::model::Service::new("s1", line) });
    Whole::of(h).draw(false, |d| {
        let sheet = d.site(&d.sites[0]);
        let (work, service) = (sheet.svg.find("url(#h-do-plant)").expect("work"), sheet.svg.find("stroke-dasharray=\"0 5\"").expect("a line"));
        assert!(service > work && sheet.svg.contains(">overhead line, 11 kV</text>"));
        assert!(sheet.svg.contains("Only lines and pipes the plan knows are drawn"));
    });
    Whole::of(small()).draw(false, |d| assert!(d.site(&d.sites[0]).svg.contains("The plan knows no line or pipe: ask")));
}

#[test]
fn odd_holdings_have_their_sheets_too() {
    let without_heights = Holding { heights: None, ..small() };
    let without_edge = Holding { boundary: None, ..small() };
    let mut one = small();
    one.measures.truncate(1);
    let mut abroad = small();
    abroad.about.epsg = 25830;
    let bare = Holding { parcels: vec![Parcel::new("p", MultiPolygon(vec![block(0.0, 0.0, 1500.0, 700.0)]))], woods: vec![], fences: vec![], tracks: vec![], watercourses: vec![], buildings: vec![], boundary: None, heights: None, ..small() };
    for (what, holding) in [("no heights", without_heights), ("no edge", without_edge), ("one measure", one), ("another plane", abroad), ("hardly surveyed", bare)] {
        let whole = Whole::of(holding);
        whole.draw(false, |d| {
            for (name, sheet) in d.sheets() {
                let what = format!("{what}, {name}");
                assert_clear(&what, &sheet);
                assert_to_scale(&what, &sheet);
                assert_eq!(sheet.svg.contains("National grid"), whole.parts.holding.about.epsg == 27700, "{what}");
                assert!(!sheet.svg.contains("NaN") && !sheet.svg.contains("inf"), "{what}");
            }
            let svg = d.site(&d.sites[0]).svg;
            assert_eq!(svg.contains("Steepness is not drawn"), whole.parts.holding.heights.is_none(), "{what}");
            assert_eq!(svg.contains("The plan has no road or track."), whole.parts.holding.tracks.is_empty(), "{what}");
        });
    }
    let nowhere = Holding::default();
    assert!(Scene::new(&nowhere, &Secrecy::new(&nowhere, false)).is_none(), "nothing gives it an extent");
}
