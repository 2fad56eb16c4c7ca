//! The server on a real socket: live events, limits, end.

use super::{app, page_settings};
use crate::engine::Reply;
use crate::publish::tests::views;
use crate::web::limits::{CONNECTIONS_MAX, EVENT_LISTENERS_MAX};
use crate::web::{ServeError, serve};
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio::sync::{oneshot, watch};
use tokio::task::JoinHandle;

struct Running {
    address: SocketAddr,
    view: watch::Sender<Arc<crate::engine::view::View>>,
    stop: Option<oneshot::Sender<()>>,
    ended: JoinHandle<Result<(), ServeError>>,
}

fn start() -> Running {
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap();
    let (view, views_receiver) = watch::channel(Arc::new(views::healthy()));
    let (stop, stopped) = oneshot::channel::<()>();
    let app = app(views_receiver, page_settings("127.0.0.1:0", None), &Arc::default(), Reply::Done);
    let ended = tokio::spawn(serve(listener, app, async move {
        let _ = stopped.await;
    }));
    Running { address, view, stop: Some(stop), ended }
}

impl Running {
    async fn ask(&self, path: &str) -> TcpStream {
        let mut stream = TcpStream::connect(self.address).await.unwrap();
        let request = format!("GET {path} HTTP/1.1\r\nHost: {}\r\n\r\n", self.address);
        stream.write_all(request.as_bytes()).await.unwrap();
        stream
    }
}

/// Reads until the text is there; fails after a while, so that a fault does not hang.
async fn read_until(stream: &mut TcpStream, text: &str) -> String {
    let mut all = String::new();
    let mut buffer = [0; 4096];
    let read = async {
        while !all.contains(text) {
            let n = stream.read(&mut buffer).await.unwrap();
            assert!(0 < n, "closed before {text:?}: {all}");
            all.push_str(&String::from_utf8_lossy(&buffer[..n]));
        }
    };
    tokio::time::timeout(Duration::from_secs(5), read).await.expect("in time");
    all
}

async fn is_closed(stream: &mut TcpStream) -> bool {
    let mut rest = Vec::new();
    tokio::time::timeout(Duration::from_secs(4), stream.read_to_end(&mut rest)).await.is_ok()
}

#[tokio::test]
async fn a_change_of_the_view_reaches_a_listener() {
    let running = start();
    let mut stream = running.ask("/api/events").await;
    let first = read_until(&mut stream, "main/now").await;
    assert!(first.contains("content-type: text/event-stream"), "{first}");
    let mut view = views::healthy();
    view.wall_ms = view.wall_ms.map(|now| now + 5000);
    view.units[0].readings[3].value = Some(66.0);
    running.view.send(Arc::new(view)).unwrap();
    let second = read_until(&mut stream, "14:05:17").await;
    let version = |text: &str| text.split("main/now\":\"").nth(1).unwrap()[..10].to_string();
    assert_ne!(version(&first), version(&second));
}

#[tokio::test]
async fn one_listener_too_many_is_turned_away_and_a_place_comes_free() {
    let running = start();
    let mut listeners = Vec::new();
    for _ in 0..EVENT_LISTENERS_MAX {
        let mut stream = running.ask("/api/events").await;
        read_until(&mut stream, "data:").await;
        listeners.push(stream);
    }
    let mut extra = running.ask("/api/events").await;
    assert!(read_until(&mut extra, "\r\n").await.starts_with("HTTP/1.1 503"));
    let mut page = running.ask("/").await;
    assert!(read_until(&mut page, "\r\n").await.starts_with("HTTP/1.1 200"), "pages still come");
    listeners.pop();
    let retried = async {
        loop {
            let mut stream = running.ask("/api/events").await;
            if read_until(&mut stream, "\r\n").await.starts_with("HTTP/1.1 200") {
                return;
            }
        }
    };
    tokio::time::timeout(Duration::from_secs(5), retried).await.expect("a free place");
}

#[tokio::test]
async fn one_connection_too_many_waits_for_a_place() {
    let running = start();
    let mut idle = Vec::new();
    for _ in 0..CONNECTIONS_MAX {
        let mut stream = running.ask("/favicon.ico").await;
        read_until(&mut stream, "204").await;
        idle.push(stream);
    }
    let mut waiting = running.ask("/favicon.ico").await;
    let mut byte = [0; 1];
    let early = tokio::time::timeout(Duration::from_millis(300), waiting.read(&mut byte)).await;
    assert!(early.is_err(), "answered beyond the limit");
    idle.pop();
    assert!(read_until(&mut waiting, "204").await.starts_with("HTTP/1.1"));
}

#[tokio::test]
async fn a_head_that_never_ends_and_a_head_too_large_are_closed() {
    let running = start();
    let mut large = TcpStream::connect(running.address).await.unwrap();
    let request =
        format!("GET / HTTP/1.1\r\nHost: {}\r\nX-Long: {}\r\n\r\n", running.address, "a".repeat(20_000));
    large.write_all(request.as_bytes()).await.unwrap();
    assert!(read_until(&mut large, "\r\n").await.starts_with("HTTP/1.1 431"));

    let mut slow = TcpStream::connect(running.address).await.unwrap();
    slow.write_all(b"GET / HTTP/1.1\r\nHost: ").await.unwrap();
    let mut idle = running.ask("/favicon.ico").await;
    read_until(&mut idle, "204").await;
    // Time jumps once everybody waits; without the limits these two would stay open for good.
    tokio::time::pause();
    tokio::time::advance(crate::web::limits::HEAD_TIMEOUT + Duration::from_millis(100)).await;
    tokio::time::resume();
    assert!(is_closed(&mut slow).await, "half a head");
    assert!(is_closed(&mut idle).await, "no further request");
}

#[tokio::test]
async fn the_end_comes_soon_although_somebody_listens() {
    let mut running = start();
    let mut stream = running.ask("/api/events").await;
    read_until(&mut stream, "data:").await;
    running.stop.take().unwrap().send(()).unwrap();
    let ended = tokio::time::timeout(Duration::from_secs(4), running.ended).await.expect("in time");
    assert!(ended.unwrap().is_ok());
    assert!(is_closed(&mut stream).await);
    assert!(TcpStream::connect(running.address).await.is_err(), "nobody accepts any more");
}

#[tokio::test]
async fn a_listener_for_the_network_without_a_password_is_refused() {
    let listener = std::net::TcpListener::bind("0.0.0.0:0").unwrap();
    let (_view, views_receiver) = watch::channel(Arc::new(views::healthy()));
    // The settings claim loopback; what counts is where the socket listens.
    let app = app(views_receiver, page_settings("127.0.0.1:0", None), &Arc::default(), Reply::Done);
    let ended = serve(listener, app, std::future::pending()).await;
    assert!(matches!(ended, Err(ServeError::Password(_))));
}
