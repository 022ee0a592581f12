//! One version of the plan, as every reader of it sees it.

use crate::answers::Start;
use crate::api::edit::Problem;
use guidance::Guidance;
use habitat::Assessed;
use holding::Holding;
use std::sync::{Arc, OnceLock};

/// Draws of the ledger on the page.
pub const DRAWS: usize = 200;

/// Seed of the draws on the page: the command line's own.
pub const SEED: u64 = 1;

/// One version of the plan; never changes.
pub struct Snapshot {
    /// Rises with every edit.
    pub version: u64,
    /// The version at which the survey last changed: what is worked out of the survey alone stays true as long as this does.
    pub survey: u64,
    /// The plan.
    pub holding: Arc<Holding>,
    /// The figures.
    pub guidance: Arc<Guidance>,
    /// The year as surveyed, worked out when it is first asked for; shared by versions with the same survey.
    base: Arc<OnceLock<Result<Arc<Assessed>, Vec<String>>>>,
}

impl Snapshot {
    /// The first version of a run. Versions of a later run are above those of every earlier one, so that a page that outlived its desk is
    /// told so.
    pub fn first(holding: Holding, guidance: Arc<Guidance>) -> Snapshot {
        let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap_or_default();
        // A page counts in whole numbers up to 2^53; milliseconds stay below for ages.
        let version = since.as_millis() as u64;
        Snapshot { version, survey: version, holding: Arc::new(holding), guidance, base: Arc::default() }
    }

    /// The version after an edit.
    pub fn next(&self, holding: Holding, survey_touched: bool) -> Snapshot {
        let version = self.version + 1;
        let (survey, base) = if survey_touched { (version, Arc::default()) } else { (self.survey, self.base.clone()) };
        Snapshot { version, survey, holding: Arc::new(holding), guidance: self.guidance.clone(), base }
    }

    /// The year as surveyed. Takes a while the first time.
    ///
    /// # Errors
    /// What the plan lacks for a ledger, in words.
    pub fn base(&self) -> Result<Arc<Assessed>, Problem> {
        let settings = habitat::Settings { draws: DRAWS, seed: SEED, cell_m: None };
        let work = || habitat::assess(&self.holding, &self.guidance, settings).map(Arc::new).map_err(|error| vec![error.to_string()]);
        self.base.get_or_init(work).clone().map_err(|lacks| Problem::refused("The year cannot be worked out yet", lacks))
    }

    /// What questions are asked of.
    ///
    /// # Errors
    /// What the plan lacks for a ledger.
    pub fn start(&self) -> Result<Start, Problem> {
        Ok(Start { holding: self.holding.clone(), guidance: self.guidance.clone(), base: self.base()? })
    }
}
