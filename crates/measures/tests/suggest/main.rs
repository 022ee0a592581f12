//! Designs on the invented demonstration. One suite, so that its slow parts share the cores.

#![allow(clippy::panic, reason = "a test may stop")]

mod grazing;
mod heather;
mod wood;

/// The invented demonstration, made once.
fn demonstration() -> holding::Holding {
    static MADE: std::sync::OnceLock<holding::Holding> = std::sync::OnceLock::new();
    MADE.get_or_init(|| demo::holding(1)).clone()
}
