//! The desk: one plan on a local page, answered while the pen moves.
//!
//! Data flows one way: a request is let in (`guard`), understood (`api`), asked of the one session that holds the plan, which does
//! every edit as one step of the plan file and tells every open page what changed. What takes longer is a job. Nothing here knows
//! how a question of the lower rooms is answered for a terminal: the command line hands its answers in by [`Answers`].

pub mod answers;
pub mod api;
pub mod features;
pub mod field;
mod folder;
pub mod guard;
mod hints;
mod importing;
pub mod jobs;
mod keep;
mod page;
mod place;
mod problem;
pub mod routes;
pub mod search;
pub mod serve;
pub mod session;
pub mod snapshot;
pub mod state;
pub mod uploads;
pub mod work;

pub use answers::{Answer, Answers, Progress, Start, Trouble};
pub use session::Change;
pub use state::Desk;
