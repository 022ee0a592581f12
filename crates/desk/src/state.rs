//! What every request shares.

use crate::answers::Answers;
use crate::api::live::ToPage;
use crate::snapshot::Snapshot;
use crate::work::Work;
use std::sync::{Arc, RwLock};
use tokio::sync::broadcast;

/// The desk: the plan that is open, who answers questions of it, and who listens.
pub struct Desk {
    now: RwLock<Arc<Snapshot>>,
    /// Who answers questions.
    pub answers: Arc<dyn Answers>,
    /// What is worked out and kept.
    pub work: Work,
    news: broadcast::Sender<ToPage>,
}

impl Desk {
    /// The plan as it is now.
    pub fn snapshot(&self) -> Arc<Snapshot> {
        self.now.read().unwrap_or_else(std::sync::PoisonError::into_inner).clone()
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
