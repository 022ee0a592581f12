//! birds
