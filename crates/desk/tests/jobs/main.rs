//! Questions that take a while, files brought in, plans of the folder, and finding things: asked as the page asks them.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may stop")]

mod imports;
mod jobs;
mod plans;
mod search;
mod support;
