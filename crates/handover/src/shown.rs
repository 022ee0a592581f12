//! The measures of an option as files that are not paper tell them: what may be shown of their places beside their words.

use crate::content::Content;
use crate::content::option::{JobText, placed};
use crate::content::works::TaskText;
use crate::pack::Pack;
use crate::placed::Placed;
use crate::planned::Job;
use crate::secrecy::Secrecy;
use geo::{Area, CoordsIter, Euclidean, Length};
use geo_types::{Geometry, Point};

/// A measure.
pub struct Shown<'a> {
    /// As planned.
    pub job: &'a Job,
    /// How it may be shown.
    pub place: Placed,
    /// In words.
    pub said: &'a JobText,
}

/// The measures of the option of a pack, by number; none without an option.
pub fn of<'a>(pack: &'a Pack, content: &'a Content) -> Vec<Shown<'a>> {
    let said = content.option.iter().flat_map(|option| &option.kinds).flat_map(|kind| &kind.jobs);
    let jobs = pack.option.iter().flat_map(|planned| &planned.jobs);
    jobs.zip(placed(pack, &pack.secrecy())).zip(said).map(|((job, place), said)| Shown { job, place, said }).collect()
}

impl Shown<'_> {
    /// Area of what is shown, square metres; `None` where it is no area.
    pub fn area_m2(&self) -> Option<f64> {
        let area = self.place.shape.unsigned_area();
        (area > 0.0).then_some(area)
    }

    /// Length of the lines shown, metres; `None` where it is no line.
    pub fn length_m(&self) -> Option<f64> {
        match &self.place.shape {
            Geometry::LineString(line) => Some(Euclidean.length(line)),
            Geometry::MultiLineString(lines) => Some(Euclidean.length(lines)),
            _ => None,
        }
        .filter(|long| *long > 0.0)
    }

    /// A spot of what is shown; `None` where the measure has no place.
    pub fn spot(&self) -> Option<Point<f64>> {
        self.place.shape.coords_iter().next()?;
        Secrecy::spot(&self.place.shape)
    }

    /// What was done to the shape, in words.
    pub fn shape_words(&self) -> &'static str {
        match (self.place.shape.coords_iter().next(), self.place.kept_back) {
            (None, _) => "no place",
            (_, "") => "as planned",
            (_, kept_back) => kept_back,
        }
    }

    /// Its tasks.
    pub fn tasks<'c>(&self, content: &'c Content) -> impl Iterator<Item = &'c TaskText> {
        let number = self.said.number;
        content.works.iter().flat_map(|works| &works.tasks).filter(move |task| task.measures.contains(&number))
    }
}
