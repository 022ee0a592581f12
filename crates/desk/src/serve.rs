//! Listening, on this machine alone, until it is told to stop.

use crate::Desk;
use crate::field::BoundField;
use crate::guard::{Guard, Key, watch};
use crate::page::page;
use crate::routes;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Request};
use axum::middleware::{Next, from_fn, from_fn_with_state};
use std::future::Future;
use std::io;
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;
use tower_http::compression::CompressionLayer;

/// The port that is tried first, so that the page is found at the same place again.
pub const PORT: u16 = 7373;

/// The most a request may carry, bytes, where its route says nothing else.
pub const BODY_MAX: usize = 1 << 20;

/// How long requests under way are waited for at the end.
const PATIENCE: Duration = Duration::from_secs(3);

/// Where and how a desk is reached.
#[derive(Clone, Debug)]
pub struct Address {
    /// Where it listens.
    pub at: SocketAddr,
    /// The key of this run.
    pub key: Key,
}

impl Address {
    /// The address a person opens.
    pub fn to_open(&self) -> String {
        format!("http://{}/?key={}", self.at, self.key.as_str())
    }
}

/// A desk that is bound to its port and not yet answering.
pub struct Bound {
    listener: std::net::TcpListener,
    address: Address,
}

/// Bind a port of this machine: the one that is asked for, or the usual one, or any where that is taken.
///
/// # Errors
/// Where the port that is asked for is taken, or no port can be had.
pub fn bind(port: Option<u16>) -> io::Result<Bound> {
    let at = |port| std::net::TcpListener::bind((Ipv4Addr::LOCALHOST, port));
    let listener = match port {
        Some(port) => at(port)?,
        None => at(PORT).or_else(|_| at(0))?,
    };
    listener.set_nonblocking(true)?;
    let address = Address { at: listener.local_addr()?, key: Key::random() };
    Ok(Bound { listener, address })
}

impl Bound {
    /// How it is reached.
    pub fn address(&self) -> &Address {
        &self.address
    }

    /// Answer until `until` comes; requests under way are finished.
    ///
    /// # Errors
    /// Where the system takes the port away.
    pub async fn serve(self, desk: Arc<Desk>, until: impl Future<Output = ()> + Send + 'static) -> io::Result<()> {
        let listener = TcpListener::from_std(self.listener)?;
        let guard = Guard::new(self.address.at.port(), self.address.key);
        let stopping = desk.clone();
        let until = async move {
            until.await;
            // Sockets of pages would be waited for without end.
            stopping.stop();
        };
        axum::serve(listener, app(desk, guard)).with_graceful_shutdown(until).await
    }

    /// Answer until the person stops the program, as ctrl-c does; phones too, where the field page is bound.
    ///
    /// # Errors
    /// Where it cannot begin, or the system takes the port away.
    pub fn run(self, desk: Arc<Desk>, field: Option<BoundField>) -> io::Result<()> {
        let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
        if let Some(field) = field {
            runtime.spawn(field.serve(desk.clone()));
        }
        let mut ending = desk.stopped();
        let left = desk.clone();
        let ended = runtime.block_on(async {
            tokio::select! {
                ended = self.serve(desk, stopped()) => ended,
                // An edit is done long before; what is still worked out is for nobody.
                () = async { let _ = ending.wait_for(|ending| *ending).await; tokio::time::sleep(PATIENCE).await } => Ok(()),
            }
        });
        runtime.shutdown_timeout(PATIENCE);
        // A request that nobody waited for holds the desk to the last: what was sent goes all the same.
        left.uploads.let_go();
        ended
    }
}

/// Everything the desk answers, behind its guard.
pub fn app(desk: Arc<Desk>, guard: Guard) -> Router {
    let (api, _) = routes::all(desk.clone());
    let asked = move |request: Request, next: Next| {
        desk.work.courses.give_way();
        next.run(request)
    };
    api.fallback(page)
        .layer(from_fn(asked))
        .layer(DefaultBodyLimit::max(BODY_MAX))
        .layer(from_fn_with_state(Arc::new(guard), watch))
        .layer(CompressionLayer::new())
}

async fn stopped() {
    let interrupted = async {
        // Where the signal cannot be had, the system's own way of ending a program remains.
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    #[cfg(unix)]
    let ended = async {
        match tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) {
            Ok(mut signal) => signal.recv().await.map_or((), |()| ()),
            Err(_) => std::future::pending().await,
        }
    };
    #[cfg(not(unix))]
    let ended = std::future::pending::<()>();
    tokio::select! { () = interrupted => {}, () = ended => {} }
}
