//! When works can be done: tasks on days, with closed seasons, crews, what waits for what, and what happens when one is late.
//!
//! `docs/programme.md` says what a programme respects, what it is judged by, how its bound is found and how a slip is told.
//!
//! - [`Ask`], [`Task`], [`Crew`], [`Calendar`], [`Window`]: the question
//! - [`schedule`]: the programme, with its bound: [`Schedule`], [`Planned`], [`Objective`]
//! - [`Impossible`], [`Reason`]: what cannot be done, and why
//! - [`slip`]: what comes of a task being late
//! - [`critical_path`]: steps without seasons or crews

mod ask;
mod better;
mod board;
mod bound;
mod calendar;
mod exact;
mod grid;
mod impossible;
mod layout;
mod make;
mod order;
mod path;
mod pattern;
mod record;
mod slip;
mod smith;
mod window;

pub use ask::{After, Ask, Deadline, Fault, HORIZON_MAX_DAYS, Lag, Need, Stretch, Task, WAYS_MAX};
pub use calendar::{Calendar, Crew, Days, Weekdays};
pub use impossible::{Impossible, Reason};
pub use layout::Objective;
pub use make::{Limit, schedule};
pub use path::{CriticalPath, PathFault, Step, StepTimes, critical_path};
pub use record::{Planned, Schedule};
pub use slip::{Late, Moved, Slip, slip};
pub use window::{MonthDay, Window, open};
