//! What is worked out for the page: the year sheet, the ground and its pictures, measures with what they come to, strokes of the pen.
//!
//! Everything here is asked of a [`Start`](crate::answers::Start) and knows no request. What takes long is kept: the years ahead of an option
//! ([`courses`]), the ground on which strokes are tried ([`stroke`]).

pub mod courses;
pub mod ground;
pub mod looks;
pub mod measures;
pub mod mend;
pub mod picture;
pub mod relief;
pub mod season;
pub mod shapes;
pub mod sheet;
pub mod stroke;

use crate::answers::Start;
use crate::api::edit::Problem;
use crate::snapshot::Snapshot;
use ::measures::Finding;
use courses::{Courses, lock};
use habitat::Assessed;
use picture::Png;
use std::sync::{Arc, Mutex};
use stroke::Strokes;

/// What is kept between requests.
#[derive(Default)]
pub struct Work {
    /// Years ahead by option.
    pub courses: Courses,
    /// Strokes of the pen.
    pub strokes: Strokes,
    /// The relief of a survey.
    relief: Mutex<Option<(u64, Arc<Png>)>>,
    /// Findings on the ground as surveyed, and the survey.
    found: Mutex<Option<FoundOn>>,
}

/// A year as surveyed, and what the rules find on it.
type FoundOn = (Arc<Assessed>, Arc<Vec<Finding>>);

impl Work {
    /// Findings of the rules on the ground as surveyed.
    ///
    /// # Errors
    /// A figure that is missing.
    pub fn found(&self, start: &Start) -> Result<Arc<Vec<Finding>>, Problem> {
        let mut kept = lock(&self.found);
        if let Some((_, found)) = kept.as_ref().filter(|(base, _)| Arc::ptr_eq(base, &start.base)) {
            return Ok(found.clone());
        }
        let found = Arc::new(courses::found(start)?);
        *kept = Some((start.base.clone(), found.clone()));
        Ok(found)
    }

    /// The relief of a plan.
    ///
    /// # Errors
    /// That it has no heights.
    pub fn relief(&self, plan: &Snapshot) -> Result<Arc<Png>, Problem> {
        let mut kept = lock(&self.relief);
        if let Some((_, png)) = kept.as_ref().filter(|(survey, _)| *survey == plan.survey) {
            return Ok(png.clone());
        }
        let png = plan.holding.heights.as_ref().and_then(relief::veil).map(Arc::new);
        let png = png.ok_or_else(|| Problem::not_found("The plan has no height model"))?;
        *kept = Some((plan.survey, png.clone()));
        Ok(png)
    }
}
