//! Live events: which parts of the page have changed, at most once a second, and a heartbeat so that silence means something.
//!
//! An event carries the version of every part; the script fetches what it has not got. A slow listener makes its own events rarer and
//! nobody else's.

use super::limits::{EVENT_GAP, EVENT_HEARTBEAT};
use super::render::versions;
use super::server::stopped;
use super::site::Site;
use crate::engine::view::View;
use crate::publish::page;
use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::http::StatusCode;
use axum::http::header::{CONTENT_TYPE, RETRY_AFTER};
use axum::response::{IntoResponse, Response};
use hyper::body::Frame;
use std::convert::Infallible;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use tokio::sync::{OwnedSemaphorePermit, mpsc};
use tokio::time::MissedTickBehavior;

pub(super) async fn events(State(site): State<Arc<Site>>) -> Response {
    let Ok(slot) = Arc::clone(&site.event_slots).try_acquire_owned() else {
        let text = "Enough people are watching live. The page still works by loading it again.";
        return (StatusCode::SERVICE_UNAVAILABLE, [(RETRY_AFTER, "60")], text).into_response();
    };
    let (sender, receiver) = mpsc::channel(1);
    tokio::spawn(feed(site, sender));
    let body = Body::new(EventBody { receiver, _slot: slot });
    ([(CONTENT_TYPE, "text/event-stream")], body).into_response()
}

/// Sends an event at once, then whenever the view changes or the heartbeat is due, until the listener goes or the program stops.
async fn feed(site: Arc<Site>, sender: mpsc::Sender<Bytes>) {
    let mut view = site.view.clone();
    let mut stopping = site.stopping.clone();
    let mut gap = tokio::time::interval(EVENT_GAP);
    gap.set_missed_tick_behavior(MissedTickBehavior::Delay);
    loop {
        gap.tick().await;
        let now = Arc::clone(&view.borrow_and_update());
        if sender.send(event(&site, &now)).await.is_err() {
            return;
        }
        tokio::select! {
            changed = tokio::time::timeout(EVENT_HEARTBEAT, view.changed()) => {
                if matches!(changed, Ok(Err(_))) {
                    return; // The engine has gone.
                }
            }
            () = sender.closed() => return,
            () = stopped(&mut stopping) => return,
        }
    }
}

fn event(site: &Site, view: &View) -> Bytes {
    let news = serde_json::json!({ "made": page::made(view), "parts": versions(site, view) });
    // JSON on one line: it cannot break the event's framing.
    Bytes::from(format!("data: {news}\n\n"))
}

/// The body of the answer. Holds its place among the listeners until it is dropped.
struct EventBody {
    receiver: mpsc::Receiver<Bytes>,
    _slot: OwnedSemaphorePermit,
}

impl hyper::body::Body for EventBody {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Infallible>>> {
        self.receiver.poll_recv(context).map(|bytes| bytes.map(|bytes| Ok(Frame::data(bytes))))
    }
}
