//! Money, programmes and tasks against published tables, fixtures and plain enumeration. One suite, so that what it stands on is built once.

mod money;
mod path;
mod programme;
mod tasks;
