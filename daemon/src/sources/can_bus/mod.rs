//! The boat network through a Linux CAN interface (SocketCAN): one socket on a thread of its own, for reading and writing.
//!
//! [`link`] decides what the errors of the socket mean, [`outgoing`] what is written when; both are pure. [`port`] makes the system calls, [`thread`]
//! puts them together. The link never ends: an interface that is absent, down, removed or off the bus is a state, told to the engine once per change,
//! and the bus comes back without a restart.
//!
//! A socket does not read its own frames. It does read those of every other program on this computer.

mod bus_error;
mod frame_bytes;
pub mod link;
pub mod outgoing;
mod port;
mod thread;
mod words;

pub use port::Wire;

use crate::service::clock::Clock;
use crate::service::mailbox::Mailbox;
use barrico_n2k::Frame;
use std::thread::JoinHandle;
use tokio::sync::mpsc;

/// Frames of the engine that may wait for the thread: eight of the longest messages. The thread takes them within a millisecond.
const FRAMES_WAITING_MAX: usize = 256;

/// Where the engine's frames go.
#[derive(Clone, Debug)]
pub struct Outbox(mpsc::Sender<Frame>);

impl Outbox {
    /// Hands a frame over without waiting. False: there is no room, or the thread is gone; the frame is dropped.
    pub fn send(&self, frame: Frame) -> bool {
        self.0.try_send(frame).is_ok()
    }
}

/// A running bus.
#[derive(Debug)]
pub struct CanBus {
    /// The way to write; `None`: the bus is only listened to, and nothing in the program can write on it.
    pub outbox: Option<Outbox>,
    thread: JoinHandle<()>,
}

impl CanBus {
    /// Starts the thread.
    ///
    /// # Errors
    /// The system gives no thread or no event queue.
    pub fn start(wire: Wire, listen_only: bool, clock: Clock, mailbox: Mailbox) -> std::io::Result<Self> {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_io().enable_time().build()?;
        let (outbox, speaker) = if listen_only {
            (None, None)
        } else {
            let (sender, frames) = mpsc::channel(FRAMES_WAITING_MAX);
            let outgoing = outgoing::Outgoing::default();
            let speaker = thread::Speaker { frames, outgoing, mouth: None, epoch: 0, closing: false };
            (Some(Outbox(sender)), Some(speaker))
        };
        let link = link::Link::new(wire.name(), listen_only);
        let bus = thread::Bus { wire, link, clock, mailbox, lost_before: 0, speaker };
        let thread = std::thread::Builder::new()
            .name("bus".to_owned())
            .spawn(move || runtime.block_on(thread::work(bus)))?;
        Ok(Self { outbox, thread })
    }

    /// Waits until the last frames are out. Every clone of the outbox must be gone before; a bus that is only listened to has nothing to finish.
    pub fn finish(self) {
        if self.outbox.is_some() {
            drop(self.outbox);
            // A thread that panicked has ended the program already.
            let _ = self.thread.join();
        }
    }
}
