//! A small invented holding with a ledger written by hand, from which every part of a hand-over can be made.
#![allow(clippy::panic, dead_code, reason = "each test file uses a part of it")]

pub mod whole;

use birds::after::{self, Work};
use birds::counts::YearTable;
use birds::network::{Dispersal, Patch, network};
use birds::project::birds as project;
use birds::project::rates::Rates;
use birds::trend::table::Table;
use birds::trend::trend;
use birds::trend::words::Words;
use chrono::NaiveDate;
use geo_types::{Geometry, LineString, MultiPolygon, Point, Polygon, polygon};
use ground::{Frame, Grid};
use guidance::{Grade, Guidance};
use habitat::*;
use handover::{LekCounts, Output, Pack, YearCount};
use holding::model::{Patch as Ground, *};
use measures::rules::Context;
use measures::{Finding, Severity};

pub const WEST: f64 = 384_000.0;
pub const SOUTH: f64 = 529_000.0;

/// Everything a pack borrows.
pub struct Parts {
    pub holding: Holding,
    pub assessment: Assessment,
    pub pictures: Pictures,
    pub findings: Vec<Finding>,
    pub guidance: Guidance,
    pub counts: Vec<LekCounts>,
}

impl Parts {
    pub fn pack(&self, show_leks: bool) -> Pack<'_> {
        Pack {
            holding: &self.holding,
            assessment: &self.assessment,
            pictures: &self.pictures,
            findings: &self.findings,
            guidance: &self.guidance,
            counts: &self.counts,
            option: None,
            spring: None,
            works: None,
            pages: false,
            show_leks,
            today: day(2026, 11, 2),
        }
    }

    pub fn write(&self, show_leks: bool) -> Vec<Output> {
        self.pack(show_leks).write().expect("a hand-over")
    }

    /// With the pages, which take by far the longest to set.
    #[allow(dead_code, reason = "only some suites look at paper")]
    pub fn on_paper(&self, show_leks: bool) -> Vec<Output> {
        // Field sheets call for figures the small tables here do not hold.
        let tables = Guidance::load().expect("the tables");
        Pack { pages: true, guidance: &tables, ..self.pack(show_leks) }.write().expect("a hand-over")
    }
}

/// The works of an option of some parts with real tables: the usual crews, from the plan's day to the end of the so-manieth year.
pub fn works(parts: &Parts, base: &Assessed, option: u32, years: u32, show_leks: bool) -> handover::Works {
    let context = Context::new(&parts.holding, &parts.guidance, base);
    let settings = works::tasks::Settings::years(parts.holding.about.as_at.expect("a day"), years);
    let hands = works::tasks::Hands::of(&context, None).expect("crews");
    let asked = handover::Asked { option, settings, hands, own_rates: vec![], late_days: 30, gain: None, usable_ha: None };
    handover::Works::new(context, asked, &handover::secrecy::Secrecy::new(&parts.holding, show_leks)).expect("works")
}

/// The birds of a holding with real tables: counts of fifteen springs, two summers of broods, ten years ahead under an option that gives more young,
/// and work done at the first lek.
pub fn spring(holding: &Holding, guidance: &Guidance) -> handover::Spring {
    let country = holding.about.country;
    let drawn = trend(&Table::of_years(&YearTable::of_plan(holding, guidance, |_| None).expect("years")), &birds::trend::Ask::usual(guidance, country).expect("figures"));
    let draws = guidance.draws(1, 8, country);
    let leks: Vec<project::Lek> = holding.leks.iter().map(|l| project::Lek { id: l.id.clone(), name: l.name.clone(), cocks: 7 }).collect();
    let ground = |brood: f64| project::LekGround { brood: vec![vec![0.5; 8], vec![brood; 8]], winter: vec![vec![0.8; 8]; 2], snowbound: vec![vec![0.5; 8]; 2], suitable_ha: vec![300.0; 2], fence_deaths: vec![project::Deaths::default(); 2] };
    let course = |option: Option<u32>, brood: f64| project::Course { option, title: option.map_or("as now".into(), |n| format!("option {n}")), leks: leks.iter().map(|_| ground(brood)).collect() };
    let ask = project::Ask { leks: &leks, years: &[0, 5], courses: &[course(None, 0.5), course(Some(1), 0.9)], horizon: 10, seed: 1, neighbours: project::Neighbours::AsNow };
    let (middle, rates) = (Rates::of(guidance, country).expect("rates"), Rates::drawn(guidance, country, 1, 8).expect("rates"));
    let patches: Vec<Patch> = holding.leks.iter().map(|l| Patch { id: l.id.clone(), name: l.name.clone(), east_m: l.at.x(), north_m: l.at.y(), weight: 7.0 + l.at.x().rem_euclid(4.0), proposed: false }).collect();
    let dispersal = Dispersal::of(guidance, country).expect("moves");
    let network = network(&patches, &dispersal, &Dispersal::drawn(guidance, country, 1, 8).expect("moves")).expect("a network");
    let figures = birds::visits::of_every_lek(holding, guidance, |_| None).expect("figures");
    let work = Work { id: "wood-round-tops".into(), what: "Plant a wood (by the old green)".into(), first: 2018, done: 2019, shows_after_years: 3.0, away_m: 447.0 };
    let worked = holding.leks.iter().zip(figures).enumerate().map(|(i, (l, figures))| after::Lek { name: l.name.clone(), figures, works: if i == 0 { vec![work.clone()] } else { vec![] }, expected: None }).collect::<Vec<_>>();
    let how = after::Ask { level: 0.9, power: 0.8, years_min: 3, visits_min: 2, leks_min: 3, scatter: None };
    handover::Spring {
        verdict: drawn.as_ref().map(|t| Words::of(guidance, country).expect("words").verdict(t)).unwrap_or_default(),
        trend: drawn,
        found: birds::found::found(holding, guidance, &draws, |_| None, 0.9).expect("what was found"),
        question: birds::power::Question::usual(guidance, country).expect("figures"),
        ahead: Ok(handover::spring::Ahead {
            projection: project::project(&ask, &middle, &rates).expect("numbers ahead"),
            held: "Were the ground to stay, 14 cocks would be 12.".into(),
            limits: vec!["Cold Rig was last counted at NY 84512 29377.".into()],
            ground_keys: vec!["reach.brood_m"],
        }),
        network: Some(handover::spring::Linked { network, dispersal, later: vec![(Some(1), 10, 1.25)] }),
        after: Some((after::read_out(&worked, &how), how)),
    }
}

/// Two visits a spring to both leks from 2012 on, none in 2020, and broods of two summers.
pub fn counted(holding: &mut Holding) {
    for year in (2012..=2026).filter(|y| *y != 2020) {
        for (i, lek) in holding.leks.iter().enumerate() {
            for (visit, (month, date)) in [(4, 8), (4, 29)].into_iter().enumerate() {
                let cocks = (9 - (year - 2012) / 3 + (year * 7 + visit as i32 * 3 + i as i32 * 2) % 3) as u32;
                holding.visits.push(Visit { id: format!("{}-{year}-{visit}", lek.id), lek: lek.id.clone(), date: day(year, month, date), cocks: Some(cocks), ..Visit::default() });
            }
        }
    }
    for (year, hens, young) in [(2024, 14, 20), (2025, 9, 4)] {
        holding.broods.push(BroodCount { id: format!("b{year}"), date: day(year, 8, 10), hens: Some(hens), hens_with_brood: Some(hens / 2), young: Some(young), ..BroodCount::default() });
    }
}

pub fn day(y: i32, m: u32, d: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(y, m, d).expect("a day")
}

pub fn file<'a>(outputs: &'a [Output], name: &str) -> &'a [u8] {
    &outputs.iter().find(|o| o.name == name).unwrap_or_else(|| panic!("{name} is written")).bytes
}

pub fn block(w: f64, s: f64, e: f64, n: f64) -> Polygon<f64> {
    polygon![(x: WEST + w, y: SOUTH + s), (x: WEST + e, y: SOUTH + s), (x: WEST + e, y: SOUTH + n), (x: WEST + w, y: SOUTH + n)]
}

fn area(w: f64, s: f64, e: f64, n: f64) -> MultiPolygon<f64> {
    MultiPolygon(vec![block(w, s, e, n)])
}

fn line(points: &[(f64, f64)]) -> geo_types::MultiLineString<f64> {
    one_line(LineString::from(points.iter().map(|(x, y)| (WEST + x, SOUTH + y)).collect::<Vec<_>>()))
}

/// A grid over the holding and some ground round it.
fn grid(value: impl Fn(f64, f64) -> f32) -> Grid<f32> {
    let frame = Frame::square(WEST - 500.0, SOUTH + 2500.0, 20.0, 150, 150);
    let cells = (0..frame.len()).map(|i| {
        let (x, y) = frame.centre(i % frame.cols, i / frame.cols);
        value(x - WEST, y - SOUTH)
    });
    Grid::from_cells(frame, cells.collect()).expect("cells fit")
}

pub fn lek_places() -> [Point<f64>; 2] {
    [Point::new(WEST + 512.0, SOUTH + 377.0), Point::new(WEST + 1433.0, SOUTH + 1289.0)]
}

pub fn holding() -> Holding {
    let mut h = Holding { boundary: Some(area(0.0, 0.0, 2000.0, 1900.0)), ..Holding::default() };
    h.about.name = "Cold Rig and Fallow Sike".into();
    h.about.as_at = Some(day(2026, 10, 20));
    h.about.heights_source = "Invented.".into();
    h.parcels.push(Parcel { name: "High Out".into(), ..Parcel::new("pa1", area(0.0, 600.0, 2000.0, 1900.0)) });
    let mut heath = Ground { name: "Long heather".into(), height_cm: Some(42.0), ..Ground::new("p1", area(0.0, 600.0, 900.0, 1900.0)) };
    heath.covers.set(Plant::Heather, 70.0);
    let mut grass = Ground { name: "White grass".into(), ..Ground::new("p2", area(900.0, 600.0, 1600.0, 1900.0)) };
    grass.covers.set(Plant::SedgeGrass, 80.0);
    let bog = Ground { name: "Wet moss".into(), phase1: Some("E1.6".into()), ..Ground::new("p3", area(0.0, 0.0, 2000.0, 600.0)) };
    h.patches = vec![heath, grass, bog];
    h.woods.push(Wood {
        name: "Dark Side".into(),
        stems: vec![Stems { tree: Tree::Spruce, stems_per_ha: 2400.0, height_m: Some(14.0), age_yr: None }],
        ..Wood::new("w1", area(1600.0, 600.0, 2000.0, 1900.0))
    });
    let [a, b] = lek_places();
    h.leks = vec![Lek::new("L1", "Cold Rig", a), Lek::new("L2", "Fallow Top", b)];
    h.fences.push(Fence { kind: FenceKind::Deer, ..Fence::new("f1", line(&[(1600.0, 600.0), (1600.0, 1900.0)])) });
    h.fences.push(Fence { marking: Marking::Bamboo, ..Fence::new("f2", line(&[(0.0, 600.0), (1600.0, 600.0)])) });
    h.ditches.push(Ditch::new("d1", line(&[(200.0, 100.0), (800.0, 500.0)])));
    h.watercourses.push(Watercourse::new("wc1", line(&[(0.0, 550.0), (600.0, 480.0), (1400.0, 520.0), (2000.0, 300.0)])));
    h.tracks.push(Track::new("t1", line(&[(1000.0, 0.0), (1050.0, 900.0), (900.0, 1900.0)])));
    h.buildings.push(Building::new("b1", area(1040.0, 60.0, 1070.0, 80.0)));
    h.areas.push(Area::new("a1", area(100.0, 1500.0, 500.0, 1800.0)));
    h.heights = Some(grid(|x, y| 300.0 + (x / 300.0).sin() as f32 * 25.0 + (y / 20.0) as f32));
    h
}

pub fn spread(p50: f64) -> Quantiles {
    Quantiles { p10: p50 * 0.7, p50, p90: p50 * 1.35 }
}

pub fn ledger(id: &str, name: &str, at: Point<f64>) -> LekLedger {
    let supply = [30.0, 44.0, 18.0, 9.5, 60.0, 75.0, 4.0];
    let seasons = Season::ALL.into_iter().zip(supply).map(|(season, ha)| {
        let short = if ha < 20.0 { 186 } else { 4 };
        SeasonLedger {
            season,
            supply_ha: spread(ha),
            need_ha: spread(20.0),
            margin: spread(ha / 20.0),
            missing_ha: spread((20.0 - ha).max(0.0)),
            short_fraction: f64::from(short) / 200.0,
            short_draws: short as usize,
            shortfall_ha: (20.0 - ha).max(0.0),
            losses: vec![
                Loss { cause: Cause::TooTall, ha: 7.0, stands: vec![StandPart { id: "p1".into(), name: "Long heather".into(), ha: 5.0 }] },
                Loss { cause: Cause::Unmapped, ha: 1.0, stands: vec![StandPart { id: String::new(), name: String::new(), ha: 1.0 }] },
            ],
            words: format!("{} ground gives {ha} ha of the 20 ha needed.", season.name()),
        }
    });
    LekLedger {
        id: id.into(),
        name: name.into(),
        cocks: Some(7),
        counted: Some(2026),
        target_cocks: 10,
        seasons: seasons.collect(),
        pinch: Season::Snowbound,
        pinch_draws: 171,
        words: "Under lying snow the ground is short in 186 of 200 draws, by about 16 ha.".into(),
        composition: vec![
            row("closed conifer", "conifer", 1000.0, Some(29.0), "percent", Standing::LikeLost),
            row("distance to heather", "heather", 0.0, Some(140.0), "m", Standing::LikeOccupied),
            row("native wood, mean age", "age", 1500.0, None, "years", Standing::Unknown),
        ],
        ground: LekGround {
            at: [at.x(), at.y()],
            altitude_m: Some(327.4),
            slope_deg: Some(3.2),
            sward_cm: Some(14.0),
            radius_m: 50.0,
            view_disc: Some(0.62),
            view_horizon: Some(0.55),
            bare_disc: Some(0.8),
            bare_horizon: Some(0.7),
            view_m: 300.0,
            wood_m: Some(631.0),
            fence_m: Some(223.0),
            way_m: Some(508.0),
            heather_m: None,
        },
        unmapped_share: 0.12,
    }
}

fn row(what: &str, key: &'static str, radius_m: f64, value: Option<f64>, unit: &'static str, standing: Standing) -> CompositionRow {
    CompositionRow {
        what: what.into(),
        key,
        radius_m,
        value,
        unit,
        occupied: Some("6".into()),
        lost: Some("29".into()),
        standing,
        source: vec!["lek.conifer".into()],
    }
}

pub fn finding(rule: &'static str, severity: Severity, what: &str, geometry: Geometry<f64>) -> Finding {
    Finding {
        rule,
        measure: None,
        what: what.into(),
        severity,
        place: "lek Cold Rig".into(),
        lek: Some("L1".into()),
        geometry,
        value: "45 m".into(),
        needed: "100 m or more".into(),
        why: "Birds hit wires they cannot see.".into(),
        hint: "Mark or move it.".into(),
        source: vec!["lek.fence".into(), "lek.rule".into()],
        grade: Grade::Practice,
        secret: vec![],
        edition: "2026".into(),
    }
}

pub const BIBLIOGRAPHY: &str = "source,kind,authors,year,title,container,read_status,note
assumption,assumption,assumption of this program,,,,none,
practice,practice,common practice,,,no source,none,
elder2020,article,\"Elder, A., Ash, B. & Rowan, C.\",2020,\"An invented study <of> \"\"leks\"\"\",Journal of Invention 1: 1-2,abstract,
";
pub const TABLE: &str = "key,x,value,unit,low,high,spread,source,locator,grade,country,edition,valid_from,valid_to,waits,note
lek.conifer,,6,percent,4,9,range,elder2020,table 2,published,GB,2020,,,,
lek.fence,,100,m,,,none,practice,\"common practice, no source\",practice,GB,,,,,
lek.rule,,0.5,ratio,,,none,assumption,assumption,assumption,GB,,,,,
lek.curve,0,0.1,ratio,,,none,elder2020,figure 1,published,GB,2020,,,,
lek.curve,10,0.9,ratio,,,none,elder2020,figure 1,published,GB,2020,,,,
caution.weather,,\"hill weather: tell somebody where you go, and turn back early\",text,,,none,practice,\"common practice, no source\",practice,GB,,,,,
";

pub fn parts() -> Parts {
    let holding = holding();
    let [a, b] = lek_places();
    let assessment = Assessment {
        schema: "ledger/1",
        plan: holding.about.name.clone(),
        cell_m: 10.0,
        draws: 200,
        seed: 1,
        guidance_edition: "test".into(),
        leks: vec![ledger("L1", "Cold Rig", a), ledger("L2", "Fallow Top", b)],
        evidence: vec!["lek.conifer".into(), "lek.curve".into()],
        notes: vec!["Covers of Wet moss were taken from its class.".into()],
    };
    let value = Season::ALL
        .into_iter()
        .enumerate()
        .map(|(i, s)| (s, grid(move |x, y| if x < -200.0 { f32::NAN } else { (((x + 150.0 * i as f64) / 400.0).sin() * 0.4 + y / 4000.0 + 0.3) as f32 })))
        .collect();
    let view = |p: Point<f64>| {
        let frame = Frame::square(p.x() - 305.0, p.y() + 305.0, 10.0, 61, 61);
        let cells = (0..frame.len()).map(|i| if (i % 61 + i / 61) % 40 < 20 { 1.0 } else { 0.2 }).collect();
        Grid::from_cells(frame, cells)
    };
    let findings = vec![
        finding("fence_near_lek", Severity::Must, "deer fence f1 45 m from Cold Rig is not marked", Geometry::LineString(LineString::from(vec![(a.x() - 40.0, a.y()), (a.x() + 40.0, a.y() + 30.0)]))),
        finding("counts_old", Severity::Should, "count of lek Fallow Top is old", Geometry::Point(b)),
        Finding { place: "Dark Side".into(), lek: None, value: "38 %".into(), ..finding("hard_edge", Severity::Consider, "edge of Dark Side is a wall of trees", Geometry::Polygon(block(1600.0, 600.0, 2000.0, 1900.0))) },
    ];
    let years = |n: i32| (0..n).map(|i| YearCount { year: 2015 + i, cocks: (i % 4 != 2).then_some((5 + i * 3 % 7) as u32), seen: (i == 2).then_some(6), why: if i == 2 { "begun 75 minutes after sunrise, more than 60".into() } else { String::new() } }).collect();
    Parts {
        holding,
        assessment,
        pictures: Pictures { value, view: vec![view(a), view(b)] },
        findings,
        guidance: Guidance::from_texts(&[("bibliography.csv", BIBLIOGRAPHY), ("edition.txt", "test"), ("lek.csv", TABLE)]).expect("tables"),
        counts: vec![LekCounts { lek: "L1".into(), years: years(12) }],
    }
}
