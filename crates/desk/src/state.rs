//! What every request shares.

use crate::answers::Answers;
use crate::jobs::Jobs;
use crate::api::ask::Ask;
use crate::api::edit::{Edited, Problem, Touched};
use crate::api::live::ToPage;
use crate::field::Field;
use crate::session::{Writer, told};
use crate::snapshot::Snapshot;
use crate::uploads::Uploads;
use crate::work::Work;
use guidance::Guidance;
use holding::plan::{History, Plan};
use holding::{Holding, Measure, PlanError};
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError, RwLock};
use tokio::sync::{broadcast, watch};

/// News that a slow page may leave unheard before it is told to look at the plan anew.
const NEWS_KEPT: usize = 256;

/// The desk: the plan that is open, who answers questions of it, and who listens.
pub struct Desk {
    now: RwLock<Arc<Snapshot>>,
    file: RwLock<OpenFile>,
    pub(crate) writer: Mutex<Writer>,
    /// The folder whose plans can be opened; nothing outside it is.
    pub folder: PathBuf,
    /// Who answers questions.
    pub answers: Arc<dyn Answers>,
    /// What is worked out and kept.
    pub work: Work,
    /// Questions that take a while.
    pub jobs: Jobs,
    /// Files that pages sent.
    pub uploads: Uploads,
    /// Measures put forward by jobs that are done, by the job's number, with what was asked: an edit `lay` takes them from here.
    pub offers: Mutex<HashMap<u64, (Ask, Vec<Measure>)>>,
    /// What the desk can be asked, for programs.
    pub(crate) document: OnceLock<serde_json::Value>,
    /// The field page, where the desk was started with it.
    pub(crate) field: OnceLock<Arc<Field>>,
    news: broadcast::Sender<ToPage>,
    stop: watch::Sender<bool>,
}

/// How the plan's file was opened.
#[derive(Clone, Debug, Default)]
pub struct OpenFile {
    /// Where it is; empty: no plan is open.
    pub path: PathBuf,
    /// Whether it can be written.
    pub writable: bool,
    /// What should be told about how it was opened.
    pub notice: Option<String>,
    /// Definition of its coordinates, well-known text.
    pub projection: String,
    /// What can be taken back and done again.
    pub history: History,
}

impl OpenFile {
    /// Name of the file, without its folder.
    pub fn name(&self) -> String {
        self.path.file_name().unwrap_or_default().to_string_lossy().into_owned()
    }
}

/// What a lock holds, also after a request that held it failed: what is changed under a lock is changed in one go, at the end.
pub(crate) fn held<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Desk {
    /// A desk without a plan, whose plans are in a folder.
    pub fn new(folder: impl Into<PathBuf>, guidance: Arc<Guidance>, answers: Arc<dyn Answers>) -> Desk {
        let empty = Snapshot::first(Holding::default(), guidance);
        Desk {
            writer: Mutex::new(Writer::new(empty.version)),
            now: RwLock::new(Arc::new(empty)),
            file: RwLock::default(),
            folder: folder.into(),
            answers,
            work: Work::default(),
            jobs: Jobs::default(),
            uploads: Uploads::default(),
            offers: Mutex::default(),
            document: OnceLock::new(),
            field: OnceLock::new(),
            news: broadcast::channel(NEWS_KEPT).0,
            stop: watch::Sender::new(false),
        }
    }

    /// Open a plan in place of the one that is open; for reading only, where it cannot be written. Every page is told.
    ///
    /// # Errors
    /// Why it cannot be read. The plan that was open stays, unless its file was moved away.
    pub fn open(&self, path: &Path) -> Result<(), Problem> {
        let mut writer = held(&self.writer);
        // Closed and opened again, the file would not be locked in between; it is as it is anyway.
        if writer.is_of(path) {
            return Ok(());
        }
        writer.let_go_of_moved();
        let (plan, trouble) = match Plan::open(path) {
            Ok(plan) => (plan, None),
            Err(error @ (PlanError::Taken { .. } | PlanError::Newer { .. } | PlanError::NotWritable { .. })) => {
                (Plan::open_read_only(path).map_err(told)?, Some(error.to_string()))
            }
            Err(error) => return Err(told(error)),
        };
        let holding = plan.holding().map_err(|faults| told(PlanError::Faults(faults)))?;
        let file = OpenFile {
            path: path.to_path_buf(),
            writable: plan.is_writable(),
            notice: trouble.or_else(|| plan.notice().map(str::to_string)),
            projection: plan.system().map_err(told)?,
            history: if plan.is_writable() { plan.history().map_err(told)? } else { History::default() },
        };
        let before = self.snapshot();
        let now = before.next(holding, true);
        let name = file.name();
        writer.take(plan, now.version);
        self.set(now, Some(file));
        // Before anybody can lay on this plan what was put forward on the other.
        Jobs::forget(self);
        drop(writer);
        let touched = vec![Touched::Measures, Touched::Options, Touched::Survey, Touched::Birds, Touched::About];
        let label = format!("{name} opened");
        self.tell(ToPage::Changed(Edited { version: before.version + 1, label, ids: vec![], touched, others: 0, notes: vec![] }));
        Ok(())
    }

    /// The plan as it is now.
    pub fn snapshot(&self) -> Arc<Snapshot> {
        self.now.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// How the plan's file was opened.
    pub fn file(&self) -> OpenFile {
        self.file.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Put the next version in place; the writer's lock is held.
    pub(crate) fn set(&self, now: Snapshot, file: Option<OpenFile>) {
        if let Some(file) = file {
            *self.file.write().unwrap_or_else(PoisonError::into_inner) = file;
        }
        *self.now.write().unwrap_or_else(PoisonError::into_inner) = Arc::new(now);
    }

    /// Note what can be taken back now; the writer's lock is held.
    pub(crate) fn set_history(&self, history: History) {
        self.file.write().unwrap_or_else(PoisonError::into_inner).history = history;
    }

    /// Let the pages go: the desk is about to end.
    pub fn stop(&self) {
        self.stop.send_replace(true);
    }

    /// Hear when the desk is about to end.
    pub fn stopped(&self) -> watch::Receiver<bool> {
        self.stop.subscribe()
    }

    /// Hear what happens.
    pub fn news(&self) -> broadcast::Receiver<ToPage> {
        self.news.subscribe()
    }

    /// Tell every page.
    pub fn tell(&self, news: ToPage) {
        // Nobody listening is no fault.
        let _ = self.news.send(news);
    }
}
