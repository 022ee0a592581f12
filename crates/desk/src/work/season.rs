//! What a season finds on the ground for a lek: a picture of every cell's worth, why it is short, and which ground could mend it.

use super::courses::failed;
use super::mend;
use super::picture::{Cut, Png, pack, place};
use super::shapes::Marches;
use crate::answers::Start;
use crate::api::edit::{Problem, ProblemFault};
use crate::api::ground::{CouldMend, Loss, March, Picture, SeasonGround};
use guidance::{Row, Unknown};
use habitat::figures::{REACH_KEYS, reach_of};
use habitat::ledger::need_ha;
use habitat::reach::{CUT, sigma_m};
use habitat::{Assessed, Cause, Feature, Season, Stand, say};
use std::collections::{BTreeMap, BTreeSet};

/// Places told that could mend a season, on the holding and beyond its march.
const TOLD: [usize; 2] = [8, 4];

/// A season of a lek on the ground of a year.
pub struct Question<'a> {
    /// Where the survey stands.
    pub start: &'a Start,
    /// The year worked out.
    pub year: &'a Assessed,
    /// Place of the lek in the ledger.
    pub lek: usize,
    /// Season.
    pub season: Season,
}

/// The place of a lek in the ledger.
///
/// # Errors
/// That there is none of that id.
pub fn lek(start: &Start, id: &str) -> Result<usize, Problem> {
    let found = start.base.assessment.leks.iter().position(|l| l.id == id);
    found.ok_or_else(|| Problem::not_found("The plan has no lek of that id"))
}

/// The season of a key.
///
/// # Errors
/// That there is none of that key, with those there are.
pub fn season(key: &str) -> Result<Season, Problem> {
    Season::ALL.into_iter().find(|s| s.key() == key).ok_or_else(|| {
        let needed = Season::ALL.map(Season::key).join(", ");
        let fault = ProblemFault { at: "season".into(), needed: format!("one of {needed}"), found: key.to_string(), hint: String::new() };
        Problem::bad_request("There is no such season", vec![fault])
    })
}

/// The hue of a season. Strength tells how much is found, so that the picture reads in greys; the hue only says which season is looked
/// at. Cock's ink for display, hen's russet for laying and nest, moss for broods, blaeberry for autumn, peat for winter, burn water under snow.
fn hue(season: Season) -> [u8; 3] {
    match season {
        Season::Display => [0x1d, 0x25, 0x33],
        Season::PreLaying | Season::Nest => [0x8c, 0x45, 0x24],
        Season::Brood => [0x3f, 0x55, 0x2a],
        Season::Autumn => [0x45, 0x3a, 0x5e],
        Season::Winter => [0x43, 0x35, 0x2b],
        Season::Snowbound => [0x2c, 0x55, 0x6e],
    }
}

impl Question<'_> {
    fn at(&self) -> (f64, f64) {
        let [east, north] = self.year.assessment.leks[self.lek].ground.at;
        (east, north)
    }

    /// Reach of the season by the middle figure, metres: 95 % of what counts lies inside.
    pub fn reach_m(&self) -> f64 {
        self.year.reach_m[reach_of(self.season)][1]
    }

    /// Where ground ceases to count at all, metres from the lek.
    fn end_m(&self) -> f64 {
        sigma_m(self.reach_m()) * CUT
    }

    fn cut(&self) -> Option<Cut> {
        Cut::round(&self.year.layout.frame, self.at(), self.end_m())
    }

    /// Value of every cell that counts, 0 to 1, row by row of [`Question::cut`]; `NaN` where nothing is mapped or ground is out of reach.
    pub fn values(&self) -> Option<(ground::Frame, Vec<f32>)> {
        let cut = self.cut()?;
        let layout = &self.year.layout;
        let frame = cut.frame(&layout.frame);
        let facets = self.year.middle().values(self.season);
        let (at, end_m) = (self.at(), self.end_m());
        let value = |i: usize| {
            let (col, row) = (i % cut.cols, i / cut.cols);
            let (x, y) = frame.centre(col, row);
            if (x - at.0).hypot(y - at.1) > end_m {
                return f32::NAN;
            }
            let facet = layout.facet_of[layout.frame.at(cut.col + col, cut.row + row)];
            facets.get(facet as usize).copied().unwrap_or(f32::NAN)
        };
        Some((frame, (0..frame.len()).map(value).collect()))
    }

    /// The picture: clear where nothing is found, stronger where the season finds more.
    pub fn png(&self) -> Option<Png> {
        let (frame, values) = self.values()?;
        let [r, g, b] = hue(self.season);
        let pixels: Vec<u8> = values.iter().flat_map(|v| [r, g, b, if v.is_nan() { 0 } else { (v.clamp(0.0, 1.0) * 255.0).round() as u8 }]).collect();
        pack(&frame, &pixels)
    }

    /// Where the picture lies.
    fn picture(&self) -> Picture {
        let frame = &self.year.layout.frame;
        self.cut().map_or(Picture { extent: [0.0; 4], size: [0, 0] }, |cut| place(&cut.frame(frame)))
    }

    /// The season in words and figures.
    ///
    /// # Errors
    /// A guidance figure that is missing.
    pub fn told(&self) -> Result<SeasonGround, Problem> {
        let ledger = &self.year.assessment.leks[self.lek].seasons[self.season as usize];
        let (could_mend, rows) = self.could_mend().map_err(failed)?;
        let mut keys = self.keys();
        keys.extend(rows);
        let losses = ledger.losses.iter().map(|l| Loss { what: say::cause(l.cause, self.season).into(), ha: l.ha }).collect();
        Ok(SeasonGround {
            picture: self.picture(),
            reach_m: self.reach_m(),
            words: sentence(&ledger.words),
            losses,
            could_mend,
            keys,
        })
    }

    /// Surveyed ground held back by something that work can change, by what the greatest such thing costs; ground the option works already is
    /// left out, and what is less than a hundredth of the need. With the keys of the guidance that say what work mends it.
    fn could_mend(&self) -> Result<(Vec<CouldMend>, BTreeSet<String>), Unknown> {
        let mid = self.year.middle();
        let target = f64::from(self.year.assessment.leks[self.lek].target_cocks);
        let least = 0.01 * need_ha(self.season, target, &self.year.middle);
        let surveyed = self.start.base.state.stands.len();
        let mut most: BTreeMap<(&str, &str), (f64, Cause, &Stand, &Row)> = BTreeMap::new();
        for (cause, by_stand) in mid.by_stand(&self.year.reaches[self.lek], self.season) {
            for (stand, ha) in self.year.state.stands.iter().zip(by_stand).take(surveyed) {
                if ha < least || most.get(&(layer(stand), stand.id.as_str())).is_some_and(|(known, ..)| *known >= ha) {
                    continue;
                }
                let Some(work) = mend::row(cause, self.season, stand, &self.start.guidance, self.start.holding.about.country) else { continue };
                most.insert((layer(stand), stand.id.as_str()), (ha, cause, stand, work));
            }
        }
        let marches = Marches::of(&self.start.holding, &self.start.guidance)?;
        let one = |(ha, cause, stand, work)| (self.one(ha, cause, stand, work, &marches), work.key.as_str());
        let mut told: Vec<(CouldMend, &str)> = most.into_values().map(one).collect();
        // What a neighbour holds comes last: nothing can be done there without him.
        let neighbours = |one: &CouldMend| one.march == March::Outside;
        told.sort_by(|(a, _), (b, _)| neighbours(a).cmp(&neighbours(b)).then(b.ha.total_cmp(&a.ha)).then_with(|| a.id.cmp(&b.id)));
        let mut left = TOLD;
        told.retain(|(one, _)| {
            let left = &mut left[usize::from(neighbours(one))];
            let tell = *left > 0;
            *left = left.saturating_sub(1);
            tell
        });
        let rows = told.iter().map(|(_, row)| row.to_string()).collect();
        Ok((told.into_iter().map(|(one, _)| one).collect(), rows))
    }

    fn one(&self, ha: f64, cause: Cause, stand: &Stand, work: &Row, marches: &Marches) -> CouldMend {
        CouldMend {
            layer: layer(stand).into(),
            id: stand.id.clone(),
            name: say::called(&stand.name, &stand.id, &self.year.state),
            march: marches.side(&stand.feature.shape(&self.start.holding).clone().into()),
            ha,
            why: say::cause(cause, self.season).into(),
            kinds: mend::kinds(work).map(ToString::to_string).collect(),
        }
    }

    /// The guidance figures of the season among those the assessment rests on.
    fn keys(&self) -> Vec<String> {
        let own = format!("season.{}.", self.season.key());
        let reach = REACH_KEYS[reach_of(self.season)];
        let need = format!("need.{}", self.season.key());
        let all = &self.start.base.assessment.evidence;
        all.iter().filter(|k| k.starts_with(&own) || *k == reach || k.starts_with(&need)).cloned().collect()
    }
}

/// The layer a surveyed stand is of.
fn layer(stand: &Stand) -> &'static str {
    if matches!(stand.feature, Feature::Wood(_)) { "woods" } else { "patches" }
}

/// A clause as a sentence.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first: String = letters.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    format!("{first}{}.", letters.as_str().trim_end_matches('.'))
}
