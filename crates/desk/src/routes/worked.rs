//! Handing what takes a while to threads that may wait.

use super::edits::blocking;
use crate::answers::Start;
use crate::api::edit::Problem;
use crate::state::Desk;
use crate::work::picture::Png;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use std::sync::Arc;
use utoipa::IntoParams;

/// An option and a year.
#[derive(Clone, Copy, Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct OptionYear {
    /// The option; left out: as now, nothing done.
    #[param(minimum = 1)]
    pub option: Option<u32>,
    /// Years ahead; left out: as surveyed.
    #[param(maximum = 30)]
    #[serde(default)]
    pub year: u32,
}

/// An option.
#[derive(Clone, Copy, Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct OfOption {
    /// The option.
    #[param(minimum = 1)]
    pub option: Option<u32>,
}

/// Work something out on a thread that may wait.
///
/// # Errors
/// What the work itself refuses.
pub async fn worked<T: Send + 'static>(desk: &Arc<Desk>, work: impl FnOnce(&Desk) -> Result<T, Problem> + Send + 'static) -> Result<T, Problem> {
    let desk = desk.clone();
    blocking(move || work(&desk)).await
}

/// The newest version of the plan, ready to be asked.
///
/// # Errors
/// What the plan lacks for a ledger.
pub fn newest(desk: &Desk) -> Result<(u64, Start), Problem> {
    let snapshot = desk.snapshot();
    Ok((snapshot.version, snapshot.start()?))
}

impl IntoResponse for Png {
    fn into_response(self) -> Response {
        ([(header::CONTENT_TYPE, "image/png")], self.bytes).into_response()
    }
}
