//! The answer while the pen moves: what the measure under it would change.
//!
//! Strokes are tried at the middle of every figure on the year the page shows ([`habitat::ahead::trial`]). The ground they are tried on takes a
//! while to lay out, so a thread of its own keeps it from stroke to stroke; it is laid out anew when the survey or the year changes. Of the
//! strokes that wait, the newest of each page alone is answered.
//!
//! **What is added up.** Supply without the stroke is that of the option as the plan has it, worked out whole at the middle of every figure. A
//! stroke that changes one place is tried on the ground as it goes on by itself and its difference added, which is what the option gives as far
//! as its other measures lie apart from it. A measure that moves stock, or does different things in several places, is worked out whole together
//! with the option's others.

use super::courses::{context, failed, known, lock};
use super::shapes::{area_ha, length_m};
use crate::answers::Start;
use crate::api::edit::{MeasureDraft, Problem, ProblemFault};
use crate::api::live::ToPage;
use crate::session::{of_measure, understood};
use guidance::Unknown;
use habitat::Assessed;
use habitat::ahead::Programme;
use habitat::ahead::trial::{Place, Recipe, Trials};
use habitat::ahead::variant::cells;
use habitat::layout::NO_STAND;
use holding::{Holding, Measure};
use measures::kind::{Entry, cost};
use measures::option;
use measures::rules::Context;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex};
use std::time::Instant;
use tokio::sync::oneshot;

/// Recipes a trial ground takes up before it is laid out anew: each keeps the stands it made.
const RECIPES_MOST: usize = 64;

/// Supply of leks and seasons, usable hectares.
type Supply = Vec<[f64; 7]>;

/// A stroke of a page.
#[derive(Clone, Debug)]
pub struct Stroke {
    /// Which page drew it; its own newest stroke alone is answered.
    pub page: u64,
    /// Its number.
    pub stroke: u64,
    /// Years ahead.
    pub year: u32,
    /// The measure as it would be.
    pub measure: MeasureDraft,
}

struct Asked {
    start: Start,
    stroke: Stroke,
    since: Instant,
    back: oneshot::Sender<ToPage>,
}

/// Who answers strokes. Begins its thread when the first one comes, and ends it when it is dropped.
#[derive(Default)]
pub struct Strokes {
    to: Mutex<Option<Sender<Asked>>>,
}

impl Strokes {
    /// Answer a stroke on a version of the plan; `None` where a newer one of the same page came meanwhile.
    pub async fn answer(&self, start: Start, stroke: Stroke) -> Option<ToPage> {
        let (back, answer) = oneshot::channel();
        self.send(Asked { start, stroke, since: Instant::now(), back });
        answer.await.ok()
    }

    /// As [`Strokes::answer`], for a thread that may wait.
    pub fn answer_blocking(&self, start: Start, stroke: Stroke) -> Option<ToPage> {
        let (back, answer) = oneshot::channel();
        self.send(Asked { start, stroke, since: Instant::now(), back });
        answer.blocking_recv().ok()
    }

    fn send(&self, asked: Asked) {
        let mut to = lock(&self.to);
        let begun = to.get_or_insert_with(begin);
        // A thread that fell takes its ear with it: the next stroke begins another.
        if let Err(back) = begun.send(asked) {
            let again = begin();
            let _ = again.send(back.0);
            *to = Some(again);
        }
    }
}

fn begin() -> Sender<Asked> {
    let (to, from) = channel();
    std::thread::spawn(move || serve(&from));
    to
}

/// The newest stroke of every page that waits; waits for one where none does. `None` when nobody can ask any more.
fn newest(from: &Receiver<Asked>, waiting: &mut Vec<Asked>) -> Option<Asked> {
    if waiting.is_empty() {
        waiting.push(from.recv().ok()?);
    }
    while let Ok(asked) = from.try_recv() {
        waiting.retain(|w| w.stroke.page != asked.stroke.page);
        waiting.push(asked);
    }
    Some(waiting.remove(0))
}

fn serve(from: &Receiver<Asked>) {
    let mut waiting = Vec::new();
    while let Some(first) = newest(from, &mut waiting) {
        let (start, year) = (first.start.clone(), first.stroke.year);
        match Trials::new(&start.base, &start.holding, &start.guidance, Vec::new(), &[year]) {
            Ok(trials) => serve_on(&start.base, Tried { trials, recipes: Vec::new(), whole: Vec::new(), before: None }, first, from, &mut waiting),
            Err(unknown) => {
                let _ = first.back.send(trouble(first.stroke.stroke, failed(unknown)));
            }
        }
    }
}

/// Answer strokes on one ground, as long as they are meant for it; what is not waits.
fn serve_on(base: &Arc<Assessed>, mut ground: Tried, first: Asked, from: &Receiver<Asked>, waiting: &mut Vec<Asked>) {
    let mut next = Some(first);
    while let Some(asked) = next.take().or_else(|| newest(from, waiting)) {
        let elsewhere = !Arc::ptr_eq(&asked.start.base, base) || ground.trials.years != [asked.stroke.year];
        if elsewhere || ground.recipes.len() >= RECIPES_MOST {
            waiting.insert(0, asked);
            return;
        }
        let answer = ground.answer(&asked.start, &asked.stroke, asked.since);
        // A page that went away hears nothing.
        let _ = asked.back.send(answer.unwrap_or_else(|problem| trouble(asked.stroke.stroke, problem)));
    }
}

fn trouble(stroke: u64, problem: Problem) -> ToPage {
    let title = ProblemFault { found: problem.title, ..ProblemFault::default() };
    ToPage::Trouble { stroke, faults: if problem.faults.is_empty() { vec![title] } else { problem.faults } }
}

/// The ground strokes are tried on.
struct Tried<'a> {
    trials: Trials<'a>,
    /// Recipes taken up, their areas left out.
    recipes: Vec<Recipe>,
    /// Supply with sets of measures together.
    whole: Vec<(Vec<Measure>, Supply)>,
    /// The measure under the pen as the plan has it, and what it changes by itself; as [`Tried::changed`].
    before: Option<(Measure, Option<Supply>)>,
}

/// What a measure does, as a trial takes it.
enum Effect {
    /// Nothing the ledger sees.
    None,
    /// One thing on the cells of one place.
    Local(Place),
    /// More than that.
    Whole,
}

impl Effect {
    /// What the sheet cannot show of it, in words.
    fn note(&self, c: &Context) -> Option<String> {
        match self {
            Effect::None => Some("This work changes nothing in the ledger of the ground; what it does for the birds is told by its findings.".into()),
            Effect::Whole => None,
            Effect::Local(place) if place.cells.is_empty() => {
                Some("It lies outside the ground within reach of the leks, or is smaller than half a cell: it changes nothing in the ledger.".into())
            }
            Effect::Local(place) => {
                let layout = &c.assessed.layout;
                let unmapped = place.cells.iter().filter(|cell| layout.stand_of.cells[**cell as usize] == NO_STAND).count();
                (unmapped > 0).then(|| format!("{:.2} ha of it lie on unmapped ground and change nothing in the ledger.", unmapped as f64 * layout.frame.cell_ha()))
            }
        }
    }
}

impl Tried<'_> {
    fn answer(&mut self, start: &Start, stroke: &Stroke, since: Instant) -> Result<ToPage, Problem> {
        let draft = &stroke.measure;
        known(&start.holding, Some(draft.option))?;
        let before = start.holding.measures.iter().find(|m| draft.id.as_ref() == Some(&m.id));
        let mut faults = Vec::new();
        let (measure, told, notes) = understood(draft, before, &start.holding, &mut faults);
        let Some((measure, entry)) = measure else { return Err(Problem::bad_request("The measure cannot be read", faults)) };
        let c = context(start);
        let laid: Vec<&Measure> = start.holding.measures.iter().filter(|m| m.option == draft.option).collect();
        let others: Vec<&Measure> = laid.iter().copied().filter(|m| m.id != measure.id).collect();
        let effect = self.effect(&c, &measure, entry).map_err(failed)?;
        // Of a draft that cannot be read its faults say enough.
        let note = effect.note(&c).filter(|_| faults.is_empty()).into_iter().chain(notes).reduce(|a, b| format!("{a} {b}"));
        let (without, with) = self.both(&c, &laid, &others, &measure, effect).map_err(failed)?;
        let costs = (entry.costs)(&c, &measure).map_err(failed)?;
        faults.extend((entry.faults)(&c, &measure).into_iter().filter(|f| !told.contains(&f.at)).map(of_measure));
        Ok(ToPage::Stroked {
            stroke: stroke.stroke,
            supply_ha: with,
            without_ha: without,
            need_ha: self.trials.need.clone(),
            area_ha: area_ha(&measure),
            length_m: length_m(&measure),
            gbp: cost::total(&costs)[1],
            note,
            faults,
            took_ms: since.elapsed().as_secs_f64() * 1e3,
        })
    }

    /// Supply of the option as it is laid, and with the measure in place of the one of its id.
    fn both(&mut self, c: &Context, laid: &[&Measure], others: &[&Measure], measure: &Measure, effect: Effect) -> Result<(Supply, Supply), Unknown> {
        let was = self.was(c, laid.iter().find(|m| m.id == measure.id).copied())?;
        let (Some(was), Some(changed)) = (was, self.changed(effect)?) else {
            let together: Vec<&Measure> = others.iter().copied().chain([measure]).collect();
            return Ok((self.all(c, laid, true)?, self.all(c, &together, false)?));
        };
        let rest = self.all(c, others, true)?;
        Ok((sum(&rest, &was), sum(&rest, &changed)))
    }

    /// What the measure under the pen changes by itself as the plan has it, worked out at its first stroke; as [`Tried::changed`].
    fn was(&mut self, c: &Context, before: Option<&Measure>) -> Result<Option<Supply>, Unknown> {
        let Some(measure) = before else { return self.changed(Effect::None) };
        if let Some((_, changed)) = self.before.as_ref().filter(|(of, _)| of == measure) {
            return Ok(changed.clone());
        }
        let effect = measures::kind::find(&measure.kind).map_or(Ok(Effect::None), |entry| self.effect(c, measure, entry))?;
        let changed = self.changed(effect)?;
        self.before = Some((measure.clone(), changed.clone()));
        Ok(changed)
    }

    /// What is changed by itself; `None` where it does more than one thing on one place.
    fn changed(&mut self, effect: Effect) -> Result<Option<Supply>, Unknown> {
        let tried = match effect {
            Effect::Whole => return Ok(None),
            Effect::Local(place) => self.trials.effects(&[place])?.pop().and_then(|mut years| years.pop()),
            Effect::None => None,
        };
        Ok(Some(tried.unwrap_or_else(|| vec![[0.0; 7]; self.trials.need.len()])))
    }

    fn effect(&mut self, c: &Context, measure: &Measure, entry: &Entry) -> Result<Effect, Unknown> {
        let mut programme = Programme::default();
        (entry.works)(c, measure, &mut programme)?;
        if programme.works.is_empty() && programme.stock.is_empty() {
            return Ok(Effect::None);
        }
        let bare = |w: &habitat::ahead::Work| habitat::ahead::Work { id: String::new(), area: geo_types::MultiPolygon(vec![]), ..w.clone() };
        let recipe: Recipe = programme.works.iter().take(1).map(bare).collect();
        if !programme.stock.is_empty() || programme.works.iter().any(|w| bare(w) != recipe[0]) {
            return Ok(Effect::Whole);
        }
        let mut on: Vec<u32> = programme.works.iter().flat_map(|w| cells(&c.assessed.layout.frame, &w.area)).collect();
        on.sort_unstable();
        on.dedup();
        let recipe = match self.recipes.iter().position(|r| *r == recipe) {
            Some(known) => known,
            None => {
                self.recipes.push(recipe.clone());
                let new = self.trials.add(recipe);
                // The pen may go anywhere: better one wait now than one at every patch it comes to.
                self.trials.ready_everywhere(new)?;
                new
            }
        };
        Ok(Effect::Local(Place { cells: on, recipe }))
    }

    /// Supply with a set of measures; `keep` where it will be asked for again.
    fn all(&mut self, c: &Context, set: &[&Measure], keep: bool) -> Result<Supply, Unknown> {
        let now = self.trials.now.first().cloned().unwrap_or_default();
        if set.is_empty() {
            return Ok(now);
        }
        if let Some((_, known)) = self.whole.iter().find(|(of, _)| of.iter().eq(set.iter().copied())) {
            return Ok(known.clone());
        }
        let option = set[0].option;
        let measures: Vec<Measure> = set.iter().copied().cloned().collect();
        let only = Holding { measures: measures.clone(), ..c.holding.clone() };
        let c = Context { holding: &only, ..*c };
        let changed = self.trials.whole(&option::holding_with(&c, option)?, &option::programme(&c, option)?)?.pop();
        let supply = changed.map_or(now.clone(), |changed| sum(&now, &changed));
        if keep {
            // One option at a time is drawn on: what was drawn on before goes.
            if self.whole.len() >= WHOLE_KEPT {
                self.whole.clear();
            }
            self.whole.push((measures, supply.clone()));
        }
        Ok(supply)
    }
}

/// Sets of measures whose supply is kept.
const WHOLE_KEPT: usize = 16;

fn sum(a: &Supply, b: &Supply) -> Supply {
    a.iter().zip(b).map(|(a, b)| std::array::from_fn(|s| a[s] + b[s])).collect()
}
