//! Listening for phones: HTTPS, and on the same port plain HTTP for the one thing that must come before it, the authority's certificate.

use super::answer::{plain, secure};
use super::authority::is_private;
use super::Field;
use crate::state::Desk;
use axum::Router;
use hyper_util::rt::{TokioExecutor, TokioIo, TokioTimer};
use hyper_util::server::conn::auto::Builder;
use hyper_util::service::TowerToHyperService;
use std::net::{IpAddr, Ipv4Addr};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;
use tokio::time::timeout;
use tokio_rustls::TlsAcceptor;

/// The port that is tried first.
const PORT: u16 = 7374;
/// Connections at once.
const CONNECTIONS_MAX: usize = 64;
/// How long a phone may take to say what it wants.
const GREETING: Duration = Duration::from_secs(15);
/// How long one connection may last.
const LIFE: Duration = Duration::from_secs(10 * 60);
/// The first byte of a TLS handshake (RFC 8446, section 5.1).
const HANDSHAKE: u8 = 0x16;

/// How the field page is to be served.
#[derive(Clone, Debug)]
pub struct FieldOptions {
    /// Where the authority and the devices are kept; shut to everybody else.
    pub folder: PathBuf,
    /// The address of this machine to listen at; none: all of them.
    pub at: Option<IpAddr>,
    /// Port; none: the usual one, or any where that is taken.
    pub port: Option<u16>,
    /// Whether phones get the exact places of leks, unless their pairing says otherwise.
    pub exact_leks: bool,
}

/// The field page, bound to its port and not yet answering.
pub struct BoundField {
    listener: std::net::TcpListener,
    field: Arc<Field>,
}

/// Bind the field page.
///
/// # Errors
/// Where the address is not of a private network, the port is taken, or the folder cannot be written.
pub fn bind(options: &FieldOptions) -> Result<BoundField, String> {
    let at = options.at.unwrap_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED));
    if !at.is_unspecified() && !is_private(at) {
        return Err(format!("the field page is for a network of your own; {at} is not an address of one. Hint: leave the address out"));
    }
    let open = |port| std::net::TcpListener::bind((at, port));
    let listener = match options.port {
        Some(port) => open(port),
        None => open(PORT).or_else(|_| open(0)),
    };
    let cannot = |error: std::io::Error| format!("the field page cannot listen at {at}: {error}");
    let listener = listener.map_err(cannot)?;
    listener.set_nonblocking(true).map_err(cannot)?;
    let field = Field::new(options, listener.local_addr().map_err(cannot)?)?;
    Ok(BoundField { listener, field: Arc::new(field) })
}

impl BoundField {
    /// The field page.
    pub fn field(&self) -> &Arc<Field> {
        &self.field
    }

    /// Answer phones until the desk ends.
    ///
    /// # Errors
    /// Where the port cannot be listened at.
    pub async fn serve(self, desk: Arc<Desk>) -> std::io::Result<()> {
        let listener = TcpListener::from_std(self.listener)?;
        let field = self.field;
        let _ = desk.field.set(field.clone());
        let mut stopped = desk.stopped();
        let (secure, plain) = (secure(desk, field.clone()), plain(field.clone()));
        let places = Arc::new(Semaphore::new(CONNECTIONS_MAX));
        loop {
            let (stream, from) = tokio::select! {
                _ = stopped.changed() => return Ok(()),
                came = listener.accept() => match came {
                    Ok(came) => came,
                    // Out of descriptors, or gone again: a moment later it may be well.
                    Err(_) => { tokio::time::sleep(Duration::from_millis(100)).await; continue }
                },
            };
            // A neighbour's phone, never the internet; and no more than can be served.
            let Some(place) = Some(places.clone()).filter(|_| is_private(from.ip())).and_then(|places| places.try_acquire_owned().ok()) else { continue };
            let (field, secure, plain) = (field.clone(), secure.clone(), plain.clone());
            tokio::spawn(async move {
                let _ = timeout(LIFE, talk(stream, &field, secure, plain)).await;
                drop(place);
            });
        }
    }
}

/// One connection. What goes wrong on it is the phone's to try again.
async fn talk(stream: TcpStream, field: &Field, secure: Router, plain: Router) -> Option<()> {
    let mut first = [0];
    timeout(GREETING, stream.peek(&mut first)).await.ok()?.ok()?;
    if first != [HANDSHAKE] {
        return answer(stream, plain).await;
    }
    let config = field.config(stream.local_addr().ok()?.ip()).ok()?;
    let stream = timeout(GREETING, TlsAcceptor::from(config).accept(stream)).await.ok()?.ok()?;
    answer(stream, secure).await
}

async fn answer(stream: impl AsyncRead + AsyncWrite + Unpin + Send + 'static, router: Router) -> Option<()> {
    let mut builder = Builder::new(TokioExecutor::new());
    builder.http1().timer(TokioTimer::new()).header_read_timeout(GREETING);
    builder.http2().timer(TokioTimer::new()).max_concurrent_streams(16);
    builder.serve_connection(TokioIo::new(stream), TowerToHyperService::new(router)).await.ok()
}
