//! The ledger, the years ahead and what was published of them. One suite, so that what it stands on is built once.

mod ahead;
mod ahead_processes;
mod ahead_published;
mod ledger;
mod lek_view;
mod live;
mod page;
mod published;
mod scene;
mod seasons;
mod trial;
mod wood_share;
