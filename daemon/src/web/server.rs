//! Accepts connections and serves them, within limits, until told to stop.

use super::doors::{HostList, Peer};
use super::limits::{CONNECTIONS_MAX, DEAD_PEER_TIMEOUT, HEAD_BYTES_MAX, HEAD_TIMEOUT, SHUTDOWN_GRACE};
use super::routes::router;
use super::session::{PasswordError, Sessions};
use super::site::{App, Site};
use axum::{Extension, Router};
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::future::Future;
use std::pin::pin;
use std::sync::Arc;
use thiserror::Error;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore, watch};

/// Why there is no page.
#[derive(Debug, Error)]
pub enum ServeError {
    /// Open to the network without a password that can be used.
    #[error(transparent)]
    Password(#[from] PasswordError),
    /// The socket cannot be used.
    #[error("the page's socket cannot be used: {0}")]
    Socket(#[from] std::io::Error),
}

/// Serves the page on a listener until `shutdown` is done, then lets open connections finish for a moment. Runs inside a tokio
/// runtime with I/O and time enabled; a current-thread one is enough.
///
/// # Errors
/// [`ServeError`] before the first connection: a listener that others can reach without a usable password, or a socket that fails.
pub async fn serve(
    listener: std::net::TcpListener,
    app: App,
    shutdown: impl Future<Output = ()>,
) -> Result<(), ServeError> {
    let listen = listener.local_addr()?;
    let sessions = Sessions::for_page(&app.settings.page, listen.ip())?;
    listener.set_nonblocking(true)?;
    let listener = TcpListener::from_std(listener)?;
    let hosts = HostList::new(listen, &app.settings.page.hosts);
    let (stop, stopping) = watch::channel(false);
    let router = router(Arc::new(Site::new(app, hosts, sessions, stopping.clone())));
    let places = Arc::new(Semaphore::new(CONNECTIONS_MAX));
    let mut shutdown = pin!(shutdown);
    loop {
        tokio::select! {
            accepted = accept(&listener, &places) => match accepted {
                Ok((stream, peer, place)) => {
                    tokio::spawn(connection(stream, peer, place, router.clone(), stopping.clone()));
                }
                Err(why) => wait_after(&why).await,
            },
            () = &mut shutdown => break,
        }
    }
    drop(listener);
    // Nobody listens if no connection is open.
    let _ = stop.send(true);
    // All places free means that all connections are done.
    let all = u32::try_from(CONNECTIONS_MAX).unwrap_or(u32::MAX);
    let _ = tokio::time::timeout(SHUTDOWN_GRACE, places.acquire_many(all)).await;
    Ok(())
}

/// Waits for a place, then for a connection; while all places are taken, the others wait in the system's queue.
async fn accept(
    listener: &TcpListener,
    places: &Arc<Semaphore>,
) -> std::io::Result<(TcpStream, Peer, OwnedSemaphorePermit)> {
    let place = Arc::clone(places).acquire_owned().await.map_err(std::io::Error::other)?;
    let (stream, remote) = listener.accept().await?;
    let local = stream.local_addr()?;
    Ok((stream, Peer { remote, local }, place))
}

/// A connection that was gone before it was accepted is nothing; out of descriptors needs a moment.
async fn wait_after(why: &std::io::Error) {
    tracing::warn!(%why, "page: connection not accepted");
    let mut moment = tokio::time::interval(std::time::Duration::from_millis(200));
    moment.tick().await;
    moment.tick().await;
}

/// Returns when the program stops.
pub(super) async fn stopped(stopping: &mut watch::Receiver<bool>) {
    // The sender lives until all is over; its end means the same.
    let _ = stopping.wait_for(|stopping| *stopping).await;
}

async fn connection(
    stream: TcpStream,
    peer: Peer,
    place: OwnedSemaphorePermit,
    router: Router,
    mut stopping: watch::Receiver<bool>,
) {
    let _place = place;
    let dead_after = u32::try_from(DEAD_PEER_TIMEOUT.as_millis()).unwrap_or(u32::MAX);
    // Where the system does not know this option, a dead peer is noticed later.
    let _ = rustix::net::sockopt::set_tcp_user_timeout(&stream, dead_after);
    let service = TowerToHyperService::new(router.layer(Extension(peer)));
    let mut builder = http1::Builder::new();
    builder.timer(TokioTimer::new()).header_read_timeout(HEAD_TIMEOUT).max_buf_size(HEAD_BYTES_MAX);
    let mut connection = pin!(builder.serve_connection(TokioIo::new(stream), service));
    let ended = tokio::select! {
        ended = connection.as_mut() => Some(ended),
        () = stopped(&mut stopping) => None,
    };
    let ended = match ended {
        Some(ended) => ended,
        None => {
            connection.as_mut().graceful_shutdown();
            connection.await
        }
    };
    if let Err(why) = ended {
        tracing::debug!(%why, "page: connection ended");
    }
}
