//! Designs on the invented demonstration. One suite, so that its slow parts share the cores.

#![allow(clippy::panic, reason = "a test may stop")]

mod grazing;
mod heather;
mod wood;
