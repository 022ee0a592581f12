//! Counts, trends and numbers ahead against fixtures and published cases. One suite, so that what it stands on is built once.

mod after;
mod calendar;
mod counts;
mod detection;
mod found;
mod matrix;
mod network;
mod power;
mod productivity;
mod projection;
mod sun;
mod trend;
mod visits;
