//! `greyhen counts FILE import`: a file of dawn visits or brood counts into a plan.

use super::super::import::How;
use crate::Ended;
use crate::fail::Fail;
use holding::import::Kind;
use std::path::{Path, PathBuf};

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen counts hill.gpkg import notebook.xlsx                 dawn visits
  greyhen counts hill.gpkg import notebook.xlsx --show-guess    how it would be understood; changes nothing
  greyhen counts hill.gpkg import places.csv --make-leks        make the leks that places of birds put forward
  greyhen counts hill.gpkg import august.csv --broods           brood counts")]
pub struct Import {
    /// The file: CSV, XLSX, or any other format that `import` reads; one row a visit or count
    #[arg(value_name = "SOURCE")]
    source: PathBuf,
    /// The rows are brood counts of late summer, not dawn visits
    #[arg(long)]
    broods: bool,
    #[command(flatten)]
    how: How,
}

impl Import {
    /// Run it.
    pub fn run(&self, path: &Path) -> Result<Ended, Fail> {
        super::no_table(path, "import")?;
        self.how.take_in(path, if self.broods { Kind::Broods } else { Kind::Visits }, &self.source, None)
    }
}
