//! Money, accounts, tasks and programmes against published tables, fixtures, hand reckoning and plain enumeration. One suite, so that what it stands on is built once.

mod account;
mod money;
mod path;
mod programme;
mod tasks;
