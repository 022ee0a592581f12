//! The socket every page keeps open: it hears what happens, and its pen is answered.
//!
//! One stroke of a page is worked out at a time; of those that come meanwhile the newest alone waits.

use crate::Desk;
use crate::api::edit::{Edited, ProblemFault, Touched};
use crate::api::live::{FromPage, ToPage};
use crate::work::stroke::Stroke;
use axum::extract::State;
use axum::extract::ws::{Message, WebSocket, WebSocketUpgrade};
use axum::response::Response;
use std::future::Future;
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use tokio::sync::broadcast::error::RecvError;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// Longest message a page may send, bytes.
const MESSAGE_MAX: usize = 256 << 10;

/// The routes of this file.
pub fn routes() -> OpenApiRouter<Arc<Desk>> {
    OpenApiRouter::new().routes(routes!(live))
}

/// The socket: the page sends `FromPage`, the desk `ToPage`.
#[utoipa::path(get, path = "/api/live", tag = "live", responses((status = 101, description = "A websocket")))]
async fn live(State(desk): State<Arc<Desk>>, socket: WebSocketUpgrade) -> Response {
    socket.max_message_size(MESSAGE_MAX).max_frame_size(MESSAGE_MAX).on_upgrade(move |socket| page(desk, socket))
}

type Answering = Pin<Box<dyn Future<Output = Option<ToPage>> + Send>>;

async fn page(desk: Arc<Desk>, mut socket: WebSocket) {
    static PAGES: AtomicU64 = AtomicU64::new(1);
    let page = PAGES.fetch_add(1, Ordering::Relaxed);
    let mut news = desk.news();
    let mut stopped = desk.stopped();
    let mut under_way: Option<Answering> = None;
    let mut waiting: Option<Stroke> = None;
    loop {
        let answer = async {
            match under_way.as_mut() {
                Some(answering) => answering.await,
                None => std::future::pending().await,
            }
        };
        let say = tokio::select! {
            _ = stopped.wait_for(|stopped| *stopped) => break,
            heard = news.recv() => match heard {
                Ok(news) => Some(news),
                Err(RecvError::Lagged(_)) => Some(all_anew(&desk)),
                Err(RecvError::Closed) => break,
            },
            answered = answer => {
                under_way = waiting.take().map(|stroke| begin(&desk, stroke));
                answered
            },
            message = socket.recv() => match message {
                Some(Ok(Message::Text(text))) => match serde_json::from_str(&text) {
                    Ok(FromPage::Stroke { stroke, year, measure }) => {
                        let stroke = Stroke { page, stroke, year, measure };
                        if under_way.is_none() { under_way = Some(begin(&desk, stroke)); } else { waiting = Some(stroke); }
                        None
                    }
                    Ok(FromPage::Lifted {}) => {
                        (under_way, waiting) = (None, None);
                        None
                    }
                    Err(error) => Some(trouble(0, error.to_string())),
                },
                Some(Ok(Message::Close(_)) | Err(_)) | None => break,
                Some(Ok(_)) => None,
            },
        };
        if let Some(say) = say {
            let Ok(text) = serde_json::to_string(&say) else { continue };
            if socket.send(Message::Text(text.into())).await.is_err() {
                break;
            }
        }
    }
}

/// Begin to answer a stroke.
fn begin(desk: &Arc<Desk>, stroke: Stroke) -> Answering {
    let desk = desk.clone();
    desk.work.courses.give_way();
    Box::pin(async move {
        let number = stroke.stroke;
        let now = desk.snapshot();
        let start = tokio::task::spawn_blocking(move || now.start()).await;
        match start {
            Ok(Ok(start)) => desk.work.strokes.answer(start, stroke).await,
            Ok(Err(problem)) => Some(ToPage::Trouble { stroke: number, faults: problem.faults }),
            Err(_) => Some(trouble(number, "the desk could not answer this stroke".into())),
        }
    })
}

fn trouble(stroke: u64, found: String) -> ToPage {
    ToPage::Trouble { stroke, faults: vec![ProblemFault { found, ..ProblemFault::default() }] }
}

/// Told to a page that missed news: everything may have changed.
fn all_anew(desk: &Desk) -> ToPage {
    let touched = vec![Touched::Measures, Touched::Options, Touched::Survey, Touched::Birds, Touched::About];
    ToPage::Changed(Edited { version: desk.snapshot().version, label: "several changes".into(), ids: vec![], touched, others: 0, notes: vec![] })
}
