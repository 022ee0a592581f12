//! What goes into a hand-over and what comes out.

use crate::content::Content;
use crate::planned::Planned;
use crate::secrecy::Secrecy;
use crate::spring::Spring;
use crate::works::Works;
use chrono::NaiveDate;
use guidance::Guidance;
use habitat::{Assessment, Pictures};
use holding::Holding;
use measures::Finding;
use rayon::prelude::*;

/// Everything a hand-over is made from.
pub struct Pack<'a> {
    /// The plan.
    pub holding: &'a Holding,
    /// Its ledger.
    pub assessment: &'a Assessment,
    /// Grids behind the ledger.
    pub pictures: &'a Pictures,
    /// What the rules found.
    pub findings: &'a [Finding],
    /// The tables of figures.
    pub guidance: &'a Guidance,
    /// Year figures of counts, by lek.
    pub counts: &'a [LekCounts],
    /// An option to hand over with the plan; `None`: the plan as surveyed.
    pub option: Option<&'a Planned<'a>>,
    /// The works of that option; `None`: no days, crews and money by year are handed over.
    pub works: Option<&'a Works>,
    /// What was counted, how numbers ran and what lies ahead of the birds; `None`: nothing is told of them beyond the counts.
    pub spring: Option<&'a Spring>,
    /// Give lek places exactly; otherwise only the kilometre square.
    pub show_leks: bool,
    /// Set the plan on paper, where the page engine is built in.
    pub pages: bool,
    /// The day printed on it.
    pub today: NaiveDate,
}

/// Counts of one lek over the years.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LekCounts {
    /// The lek's id.
    pub lek: String,
    /// Year figures, by year; years may be missing.
    pub years: Vec<YearCount>,
}

/// The figure of one year.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct YearCount {
    /// Year.
    pub year: i32,
    /// Most cocks seen on a valid visit; `None` where no visit was valid.
    pub cocks: Option<u32>,
    /// Most cocks seen on visits that are not valid; `None` where none was made or nobody counted.
    pub seen: Option<u32>,
    /// Why the visit they were seen on is not valid; empty where none was made.
    pub why: String,
}

impl YearCount {
    /// What was seen in a year without a valid visit, and why it does not count; empty in other years.
    pub fn not_valid(&self) -> String {
        match (self.cocks, self.seen, self.why.as_str()) {
            (Some(_), _, _) => String::new(),
            (None, None, "") => "no valid visit".to_owned(),
            (None, None, why) => format!("no valid visit: {why}"),
            (None, Some(seen), "") => format!("{seen} seen, not on a valid visit"),
            (None, Some(seen), why) => format!("{seen} seen, does not count: {why}"),
        }
    }
}

/// One file of a hand-over.
#[derive(Clone, Debug, PartialEq)]
pub struct Output {
    /// File name; with a folder before it where the file goes into one.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Why a hand-over could not be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Fault {
    /// The page engine refused the pages.
    #[error("the pages could not be set: {0}\n  hint: this is a fault of the program, not of the plan")]
    Pages(String),
    /// The workbook could not be written.
    #[error("the workbook could not be written: {0}")]
    Workbook(String),
    /// The geographic copy could not be written.
    #[error("the geographic copy could not be written: {0}")]
    Copy(String),
    /// A place that has no longitude and latitude.
    #[error("the waypoints could not be written: {0}")]
    Waypoints(#[from] holding::grid_ref::OutsideGrid),
    /// The list of the files could not be written.
    #[error("the list of files could not be written: {0}")]
    Manifest(String),
    /// A sheet of works without works.
    #[error("there is no programme of works to put on a sheet: the hand-over has no option, or facts of its measures are wrong\n  hint: hand an option over, and mend what `greyhen check` tells of it")]
    NoWorks,
    /// The tables lack a figure the pages call for.
    #[error(transparent)]
    Figure(#[from] guidance::Unknown),
    /// The parts do not belong together.
    #[error("the ledger does not belong to this plan: lek `{0}` is not in it\n  hint: assess the plan again")]
    Mismatch(String),
}

/// What a file is made from besides the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Need {
    /// Paper is asked for.
    #[cfg(feature = "pdf")]
    Paper,
    /// An option is handed over.
    Option,
    /// Its tasks are on days.
    Works,
    /// What it costs and brings in is known.
    Account,
    /// Longitude and latitude of places.
    Lonlat,
}

/// A need that is not met, with what is to be told of it; nothing where nobody asked for the file.
type Unmet = Option<String>;

impl Need {
    /// What stands against it in a pack; `Ok` where nothing does.
    fn met(self, pack: &Pack) -> Result<(), Unmet> {
        let when = |met: bool, why: Unmet| if met { Ok(()) } else { Err(why) };
        match self {
            #[cfg(feature = "pdf")]
            Need::Paper => when(pack.pages, None),
            Need::Option => when(pack.option.is_some(), None),
            Need::Works => {
                let said = pack.option.map(|_| "the works of the option are not on days; facts of its measures may be wrong".to_owned());
                when(pack.works.is_some(), said)
            }
            Need::Account => match pack.works.map(|works| &works.account) {
                Some(Err(why)) => Err(Some(format!("what the option costs and brings in cannot be told: {why}"))),
                Some(Ok(_)) => Ok(()),
                None => Err(None),
            },
            Need::Lonlat => crate::waypoints::without(pack).map_or(Ok(()), |why| Err(Some(why))),
        }
    }
}

/// A file of a hand-over.
pub(crate) struct File {
    /// Name, with its folder where it goes into one.
    pub(crate) name: &'static str,
    needs: &'static [Need],
    /// For whom.
    pub(crate) whom: &'static str,
    /// What for, as a sentence.
    pub(crate) what: &'static str,
    make: fn(&Pack, &Content) -> Result<Vec<u8>, Fault>,
}

/// The files, in the order they are told. Each is made from the pack and its words; one whose needs are not met is left out.
pub(crate) const FILES: &[File] = &[
    #[cfg(feature = "pdf")]
    File {
        name: "plan.pdf",
        needs: &[Need::Paper],
        whom: "everybody who has a say in the ground",
        what: "The plan on paper: the ground, the ledger of the leks, what the rules found and, with an option, what it does.",
        make: |pack, content| crate::pdf::set(content, crate::pictures::of(pack, content), pack.today).map_err(Fault::Pages),
    },
    #[cfg(feature = "pdf")]
    File {
        name: "kitchen-table.pdf",
        needs: &[Need::Paper, Need::Option, Need::Works],
        whom: "the kitchen table, and who has the works done",
        what: "The first year on two pages: the map, the jobs by month, what not to do when, money, who to ring.",
        make: |pack, _| crate::kitchen::set(pack),
    },
    #[cfg(feature = "pdf")]
    File {
        name: "contractor.pdf",
        needs: &[Need::Paper, Need::Option, Need::Works],
        whom: "the contractor",
        what: "Every job with its place, quantity, days, season and cautions, and maps of the sites. No money.",
        make: |pack, _| crate::contractor::set(pack),
    },
    #[cfg(feature = "pdf")]
    File {
        name: "monitoring.pdf",
        needs: &[Need::Paper],
        whom: "whoever counts and measures",
        what: "Sheets to write on outdoors: dawn counts, stick heights, brood walks.",
        make: |pack, _| crate::monitoring::set(pack),
    },
    File {
        name: "ledger.xlsx",
        needs: &[],
        whom: "the adviser",
        what: "The ledger, the findings and the figures behind them, to work with.",
        make: |pack, content| crate::workbook::of(pack, content).map_err(Fault::Workbook),
    },
    File {
        name: "contractor.xlsx",
        needs: &[Need::Option, Need::Works],
        whom: "the contractor",
        what: "Jobs with places, quantities and days, what they add up to, and what to mind. No money.",
        make: |pack, content| crate::workbook::contractor::of(pack, content).map_err(Fault::Workbook),
    },
    File {
        name: "claims.xlsx",
        needs: &[Need::Option, Need::Works, Need::Account],
        whom: "the grant officer and whoever pays",
        what: "What is claimed with its evidence, what is not and why, what the works cost by year, and the rates behind it.",
        make: |pack, content| crate::workbook::claims::of(pack, content).map_err(Fault::Workbook),
    },
    File {
        name: "calendar.ics",
        needs: &[Need::Option, Need::Works],
        whom: "everybody who does a task",
        what: "Every task on its days, for a calendar.",
        make: |pack, _| Ok(pack.works.map(|works| works.calendar(pack)).unwrap_or_default().into_bytes()),
    },
    File {
        name: "waypoints.gpx",
        needs: &[Need::Option, Need::Lonlat],
        whom: "whoever walks to the work",
        what: "The measures as waypoints and their lines and outlines as tracks, for a handheld.",
        make: |pack, content| crate::waypoints::of(pack, content),
    },
    File {
        name: "gis/measures.gpkg",
        needs: &[Need::Option],
        whom: "whoever draws maps for the works",
        what: "The measures alone: shapes, quantities, tasks, money.",
        make: |pack, content| crate::copy::measures::of(pack, content).map_err(Fault::Copy),
    },
    File {
        name: "gis/results.gpkg",
        needs: &[],
        whom: "whoever draws maps of the ground",
        what: "The leks, the ground season by season, the findings and the ledger.",
        make: |pack, content| crate::copy::of(pack, content).map_err(Fault::Copy),
    },
];

/// The list of all other files.
pub const MANIFEST: &str = "manifest.json";

/// Names of the files a hand-over may write. `pages`: with paper, where the page engine is built in; `option`: with an option.
pub fn names(pages: bool, option: bool) -> Vec<&'static str> {
    let asked = |need: &Need| match need {
        #[cfg(feature = "pdf")]
        Need::Paper => pages,
        Need::Option | Need::Works | Need::Account => option,
        Need::Lonlat => true,
    };
    // Without the page engine nobody asks for paper.
    let _ = pages;
    FILES.iter().filter(|file| file.needs.iter().all(asked)).map(|file| file.name).chain([MANIFEST]).collect()
}

impl Pack<'_> {
    /// What may be said of leks.
    pub fn secrecy(&self) -> Secrecy {
        Secrecy::new(self.holding, self.show_leks)
    }

    /// The findings in the order they are numbered: heaviest first, then by rule and place.
    pub fn ordered_findings(&self) -> Vec<Finding> {
        let mut all = self.findings.to_vec();
        all.sort_by(|a, b| (a.severity, a.rule, &a.place, &a.what).cmp(&(b.severity, b.rule, &b.place, &b.what)));
        all
    }

    /// Files that were asked for and cannot be made, with the reason.
    pub fn left_out(&self) -> Vec<String> {
        let why = |file: &File| file.needs.iter().find_map(|need| need.met(self).err()).flatten();
        FILES.iter().filter_map(|file| Some(format!("{} is left out: {}", file.name, why(file)?))).collect()
    }

    /// Writes the hand-over: every file whose needs are met, and last the list of them.
    ///
    /// The same pack gives the same bytes.
    ///
    /// # Errors
    /// See [`Fault`].
    pub fn write(&self) -> Result<Vec<Output>, Fault> {
        for lek in &self.assessment.leks {
            if !self.holding.leks.iter().any(|l| l.id == lek.id) {
                return Err(Fault::Mismatch(lek.id.clone()));
            }
        }
        let content = crate::content::of(self);
        let wanted: Vec<&File> = FILES.iter().filter(|file| file.needs.iter().all(|need| need.met(self).is_ok())).collect();
        let made = wanted.par_iter().map(|file| Ok(Output { name: file.name.into(), bytes: (file.make)(self, &content)? }));
        let made = made.collect::<Result<Vec<_>, Fault>>();
        #[cfg(feature = "pdf")]
        crate::pdf::forget();
        let mut outputs = made?;
        let bytes = crate::manifest::of(self, &outputs).map_err(|e| Fault::Manifest(e.to_string()))?;
        outputs.push(Output { name: MANIFEST.into(), bytes });
        Ok(outputs)
    }
}
