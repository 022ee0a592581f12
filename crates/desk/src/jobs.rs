//! Questions that may take a while: a few are worked on side by side, the others wait their turn; each tells how far it is, can be stopped,
//! and keeps its answer for a while.

use crate::answers::{Answer, Progress};
use crate::api::ask::{Ask, Job, JobFile, JobState};
use crate::api::edit::Problem;
use crate::api::live::ToPage;
use crate::hints::for_a_page;
use crate::snapshot::Snapshot;
use crate::state::{Desk, held};
use std::collections::{BTreeMap, VecDeque};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// Jobs worked on at a time.
const AT_ONCE: usize = 2;
/// Jobs that may wait.
const WAITING_MAX: usize = 50;
/// Jobs that are over and still told.
const KEPT: usize = 30;
/// Of those, jobs whose files are kept: files are large.
const FILES_KEPT: usize = 4;
/// News of one job are no nearer together than this, unless its state changes.
const NEWS_APART: Duration = Duration::from_millis(150);

/// A file of a job: its name and what is in it.
pub type File = (String, Vec<u8>);

/// The jobs of a run.
#[derive(Default)]
pub struct Jobs(Mutex<Queue>);

#[derive(Default)]
struct Queue {
    last: u64,
    all: BTreeMap<u64, Entry>,
    waiting: VecDeque<u64>,
    /// Threads at work, those whose job was stopped among them.
    working: usize,
}

struct Entry {
    job: Job,
    /// What it is asked of; let go when it is over.
    of: Option<Arc<Snapshot>>,
    began: Option<Instant>,
    told: Option<Instant>,
    stopped: Arc<AtomicBool>,
    files: Arc<Vec<File>>,
}

impl Entry {
    /// The job as it stands now.
    fn seen(&self) -> Job {
        let running = self.began.filter(|_| self.job.state == JobState::Working);
        Job { seconds: running.map_or(self.job.seconds, |began| began.elapsed().as_secs_f64()), ..self.job.clone() }
    }

    /// The job as it is told to every page: the document may be large, and whoever wants it asks for it.
    fn news(&self) -> ToPage {
        ToPage::Job(Job { answer: None, ..self.seen() })
    }

    fn is_over(&self) -> bool {
        !matches!(self.job.state, JobState::Waiting | JobState::Working)
    }

    /// It is over, in this state.
    fn end(&mut self, state: JobState) {
        self.job.seconds = self.seen().seconds;
        self.job.state = state;
        self.job.now = String::new();
        self.of = None;
    }
}

impl Jobs {
    /// Take a question up, asked of the plan as it is now.
    ///
    /// # Errors
    /// Where too many wait already.
    pub fn ask(desk: &Arc<Desk>, ask: Ask) -> Result<Job, Problem> {
        let mut queue = held(&desk.jobs.0);
        let of = desk.snapshot();
        if queue.waiting.len() >= WAITING_MAX {
            return Err(Problem::new("taken", format!("{WAITING_MAX} questions wait already: stop some, or wait until they are answered")));
        }
        queue.last += 1;
        let id = queue.last;
        let job = Job {
            id,
            ask,
            state: JobState::Waiting,
            now: String::new(),
            seconds: 0.0,
            version: of.version,
            faults: vec![],
            answer: None,
            measures: 0,
            files: vec![],
        };
        let entry = Entry { job, of: Some(of), began: None, told: None, stopped: Arc::default(), files: Arc::default() };
        let seen = entry.seen();
        desk.tell(entry.news());
        queue.all.insert(id, entry);
        queue.waiting.push_back(id);
        if queue.working < AT_ONCE {
            queue.working += 1;
            let desk = desk.clone();
            std::thread::spawn(move || work(&desk));
        }
        Ok(seen)
    }

    /// A job as it stands.
    ///
    /// # Errors
    /// Where there is none of that number any more.
    pub fn get(&self, id: u64) -> Result<Job, Problem> {
        held(&self.0).all.get(&id).map(Entry::seen).ok_or_else(|| unknown(id))
    }

    /// Every job that is kept, newest first, without its document.
    pub fn all(&self) -> Vec<Job> {
        held(&self.0).all.values().rev().map(|entry| Job { answer: None, ..entry.seen() }).collect()
    }

    /// The files of a job.
    ///
    /// # Errors
    /// Where there is none of that number any more.
    pub fn files(&self, id: u64) -> Result<Arc<Vec<File>>, Problem> {
        held(&self.0).all.get(&id).map(|entry| entry.files.clone()).ok_or_else(|| unknown(id))
    }

    /// Stop a job: what comes of it is thrown away. One that is over stays as it is.
    ///
    /// # Errors
    /// Where there is none of that number any more.
    pub fn stop(desk: &Desk, id: u64) -> Result<Job, Problem> {
        let mut queue = held(&desk.jobs.0);
        queue.waiting.retain(|waiting| *waiting != id);
        let entry = queue.all.get_mut(&id).ok_or_else(|| unknown(id))?;
        if !entry.is_over() {
            entry.stopped.store(true, Ordering::Relaxed);
            entry.end(JobState::Stopped);
            desk.tell(entry.news());
        }
        Ok(entry.seen())
    }

    /// Stop and forget all of them: they were asked of another plan.
    pub fn forget(desk: &Desk) {
        let mut queue = held(&desk.jobs.0);
        queue.waiting.clear();
        for entry in queue.all.values_mut().filter(|entry| !entry.is_over()) {
            entry.stopped.store(true, Ordering::Relaxed);
            entry.end(JobState::Stopped);
            desk.tell(entry.news());
        }
        queue.all.clear();
        held(&desk.offers).clear();
    }
}

fn unknown(id: u64) -> Problem {
    Problem::not_found(format!("There is no job {id} any more"))
}

/// Work on one job after the other until none waits, on threads of their own: a question of the page never waits in line behind them.
fn work(desk: &Arc<Desk>) {
    let threads = rayon::ThreadPoolBuilder::new().build();
    loop {
        let next = {
            let mut queue = held(&desk.jobs.0);
            match queue.begin() {
                Some(next) => next,
                None => {
                    queue.working -= 1;
                    return;
                }
            }
        };
        desk.tell(next.news);
        let told = Told { desk, id: next.id, stopped: next.stopped.clone() };
        let caught = || catch_unwind(AssertUnwindSafe(|| answer(desk, &next.ask, &next.of, &told)));
        let answered = threads.as_ref().map_or_else(|_| caught(), |threads| threads.install(caught));
        let answered = answered.unwrap_or_else(|_| Err(vec!["the work broke off: a fault of the program, not of the plan".to_string()]));
        finish(desk, next.id, &next.ask, answered);
    }
}

/// A job that begins.
struct Next {
    id: u64,
    ask: Ask,
    of: Arc<Snapshot>,
    stopped: Arc<AtomicBool>,
    news: ToPage,
}

impl Queue {
    /// The next job that waits, begun.
    fn begin(&mut self) -> Option<Next> {
        while let Some(id) = self.waiting.pop_front() {
            let Some(entry) = self.all.get_mut(&id) else { continue };
            let Some(of) = entry.of.clone() else { continue };
            entry.began = Some(Instant::now());
            entry.job.state = JobState::Working;
            return Some(Next { id, ask: entry.job.ask.clone(), of, stopped: entry.stopped.clone(), news: entry.news() });
        }
        None
    }

    /// Let go of the oldest that are over; gives their numbers.
    fn tidy(&mut self) -> Vec<u64> {
        let over: Vec<u64> = self.all.iter().rev().filter(|(_, entry)| entry.is_over()).map(|(id, _)| *id).collect();
        let with_files = over.iter().filter(|id| self.all.get(id).is_some_and(|entry| !entry.files.is_empty()));
        for id in with_files.skip(FILES_KEPT).copied().collect::<Vec<_>>() {
            if let Some(entry) = self.all.get_mut(&id) {
                entry.files = Arc::default();
                entry.job.files.clear();
            }
        }
        let gone: Vec<u64> = over.into_iter().skip(KEPT).collect();
        gone.iter().for_each(|id| drop(self.all.remove(id)));
        gone
    }
}

fn answer(desk: &Desk, ask: &Ask, of: &Snapshot, told: &Told) -> Result<Answer, Vec<String>> {
    told.now("working out the year");
    let start = of.start().map_err(|lacks| match lacks.faults.is_empty() {
        true => vec![lacks.title],
        false => lacks.faults.into_iter().map(|fault| fault.found).collect(),
    })?;
    desk.answers.answer(ask, &start, told).map_err(|trouble| trouble.0)
}

fn finish(desk: &Desk, id: u64, ask: &Ask, answered: Result<Answer, Vec<String>>) {
    let mut queue = held(&desk.jobs.0);
    let Some(entry) = queue.all.get_mut(&id).filter(|entry| !entry.is_over()) else { return };
    match answered {
        Ok(Answer { document, measures, files }) => {
            entry.job.answer = Some(document);
            entry.job.measures = measures.len();
            entry.job.files = files.iter().map(|(name, bytes)| JobFile { name: name.clone(), bytes: bytes.len() }).collect();
            entry.files = Arc::new(files);
            if !measures.is_empty() {
                held(&desk.offers).insert(id, (ask.clone(), measures));
            }
            entry.end(JobState::Done);
        }
        Err(faults) => {
            entry.job.faults = faults.iter().map(|fault| for_a_page(fault)).collect();
            entry.end(JobState::Failed);
        }
    }
    desk.tell(entry.news());
    let gone = queue.tidy();
    let mut offers = held(&desk.offers);
    gone.iter().for_each(|id| drop(offers.remove(id)));
}

/// How a job tells how far it is.
struct Told<'a> {
    desk: &'a Desk,
    id: u64,
    stopped: Arc<AtomicBool>,
}

impl Progress for Told<'_> {
    fn now(&self, words: &str) {
        let mut queue = held(&self.desk.jobs.0);
        let Some(entry) = queue.all.get_mut(&self.id).filter(|entry| entry.job.state == JobState::Working) else { return };
        if entry.job.now == words {
            return;
        }
        entry.job.now = words.to_string();
        if entry.told.is_none_or(|at| at.elapsed() >= NEWS_APART) {
            entry.told = Some(Instant::now());
            self.desk.tell(entry.news());
        }
    }

    fn stopped(&self) -> bool {
        self.stopped.load(Ordering::Relaxed)
    }
}
