//! What the desk works out, on the demonstration holding.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may stop")]

mod courses;
mod ground;
mod measures;
mod season;
mod sheet;
mod stroke;
mod support;
