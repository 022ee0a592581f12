//! What goes into a hand-over and what comes out.

use crate::planned::Planned;
use crate::secrecy::Secrecy;
use crate::spring::Spring;
use chrono::NaiveDate;
use guidance::Guidance;
use habitat::{Assessment, Pictures};
use holding::Holding;
use measures::Finding;

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
    /// File name without folder.
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
    /// The tables lack a figure the pages call for.
    #[error(transparent)]
    Figure(#[from] guidance::Unknown),
    /// The parts do not belong together.
    #[error("the ledger does not belong to this plan: lek `{0}` is not in it\n  hint: assess the plan again")]
    Mismatch(String),
}

/// The plan on paper, the workbook, the geographic copy.
const FILES: [&str; 3] = ["plan.pdf", "ledger.xlsx", "results.gpkg"];

/// Names of the files a hand-over writes, without folder. `pages`: with the plan on paper, where the page engine is built in.
pub fn names(pages: bool) -> &'static [&'static str] {
    if pages && cfg!(feature = "pdf") { &FILES } else { &FILES[1..] }
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

    /// Writes the hand-over: the plan on paper (where it is asked for and the page engine is built in), the workbook, the geographic copy.
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
        let mut outputs = vec![];
        let content = crate::content::of(self);
        #[cfg(feature = "pdf")]
        if self.pages {
            let pictures = crate::pictures::of(self, &content);
            let bytes = crate::pdf::set(&content, pictures, self.today).map_err(Fault::Pages)?;
            outputs.push(Output { name: FILES[0].into(), bytes });
        }
        outputs.push(Output { name: FILES[1].into(), bytes: crate::workbook::of(self, &content).map_err(Fault::Workbook)? });
        outputs.push(Output { name: FILES[2].into(), bytes: crate::copy::of(self, &content).map_err(Fault::Copy)? });
        Ok(outputs)
    }
}
