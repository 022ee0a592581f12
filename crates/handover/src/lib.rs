//! What is handed over: the plan on paper, the ledger as a workbook, and a geographic copy of the results.
//!
//! - [`pack`]: what goes in, what comes out
//! - [`content`]: what it says, in words and figures
//! - [`planned`]: an option with its measures and the years ahead, where one is handed over
//! - [`works`]: its tasks on days and its money, where they are handed over
//! - [`spring`]: the birds, where they are handed over
//! - [`secrecy`], [`placed`]: where leks and measures may be shown and where not
//! - [`map`], [`chart`]: pictures, drawn with [`svg`] and [`raster`]
//! - `pdf` (feature `pdf`): pages; `dawns`: the dawns of a spring on paper
//! - [`workbook`]: the ledger, the jobs of a contractor and the claims as workbooks
//! - [`copy`]: the results and the measures as GeoPackages
//! - [`waypoints`]: the measures for a handheld; [`manifest`]: the list of all files
//! - `kitchen`, `contractor` (feature `pdf`): the works on paper, for who has them done and for who does them; `sheet`: what both say
//! - [`monitoring`]: field sheets, to be written on and brought back into the plan

#![cfg_attr(test, allow(clippy::unwrap_used, reason = "a test may stop"))]

pub mod chart;
pub mod content;
#[cfg(feature = "pdf")]
pub mod contractor;
pub mod copy;
#[cfg(feature = "pdf")]
pub mod dawns;
pub mod manifest;
#[cfg(feature = "pdf")]
pub mod kitchen;
pub mod map;
pub mod monitoring;
pub mod pack;
#[cfg(feature = "pdf")]
pub mod pdf;
pub mod pictures;
pub mod placed;
pub mod planned;
pub mod raster;
pub mod secrecy;
mod shown;
#[cfg(feature = "pdf")]
mod sheet;
pub mod spring;
pub mod svg;
mod telling;
pub mod waypoints;
pub mod words;
pub mod workbook;
pub mod works;

pub use pack::{Fault, LekCounts, Output, Pack, YearCount};
pub use planned::{Frontier, FrontierPoint, Next, Planned};
pub use spring::Spring;
pub use works::{Asked, NoWorks, Works};
