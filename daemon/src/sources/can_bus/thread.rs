//! The thread of the bus: carries out what [`super::link`] and [`super::outgoing`] decide.

use super::frame_bytes::{self, Heard};
use super::link::{Action, Link, Seen};
use super::outgoing::Outgoing;
use super::port::{Mouth, Port, Wire};
use crate::engine::{BusCounts, Input};
use crate::service::clock::Clock;
use crate::service::mailbox::{Letter, Mailbox};
use barrico_n2k::Frame;
use std::time::Duration;
use tokio::sync::mpsc::Receiver;
use tokio::time::timeout;

/// Pause after each batch, ms. On a busy bus the next frames gather meanwhile, so that one waking of two threads serves several; a frame after a
/// longer silence is handed on at once. An alert may wait for so long: the budget is 5 ms.
const GATHER: Duration = Duration::from_millis(2);
/// Frames in one letter at most: what comes in an eighth of a second.
const BATCH_MAX: usize = 256;
/// At the end of the program what waits is written for so long, ms.
const FAREWELL_MS: u64 = 300;

/// Everything the thread has.
pub(super) struct Bus {
    pub wire: Wire,
    pub link: Link,
    pub clock: Clock,
    pub mailbox: Mailbox,
    /// Frames lost on sockets that are closed.
    pub lost_before: u64,
    /// Messages of the engine; none if the bus is only listened to, and then nothing can be written.
    pub speaker: Option<Speaker>,
}

/// The part that can write.
pub(super) struct Speaker {
    pub frames: Receiver<Frame>,
    pub outgoing: Outgoing,
    pub mouth: Option<Mouth>,
    pub epoch: u64,
    pub closing: bool,
}

/// The engine is gone.
struct Gone;

/// Works until the engine is gone.
pub(super) async fn work(mut bus: Bus) {
    let mut port: Option<Port> = None;
    let mut counts = BusCounts::default();
    let mut told = counts;
    let mut gathering = false;
    loop {
        let now = bus.clock.now();
        while let Some(action) = bus.link.due(now) {
            bus.act(action, &mut port, &mut counts);
            if action == Action::Look && counts != told {
                told = counts;
                if !bus.mailbox.send(Letter::Input(Input::BusCounts(counts))) {
                    return;
                }
            }
        }
        bus.speak(&mut counts);
        if let Some(state) = bus.link.tell(now)
            && !bus.mailbox.send(Letter::Input(Input::Source(state)))
        {
            return;
        }
        if bus.speaker.as_ref().is_some_and(|speaker| speaker.closing) {
            bus.farewell().await;
            return;
        }
        match bus.wait(port.as_ref(), gathering).await {
            Woken::Readable => {
                let Some(open) = &port else { continue };
                if bus.hear(open, &mut counts).is_err() {
                    return;
                }
                gathering = true;
            }
            Woken::Time => gathering = false,
            Woken::Frame => {}
        }
    }
}

enum Woken {
    Readable,
    /// Time passed; the pause for gathering is over in any case.
    Time,
    Frame,
}

impl Bus {
    fn act(&mut self, action: Action, port: &mut Option<Port>, counts: &mut BusCounts) {
        let now = self.clock.now();
        match action {
            Action::Close => *port = None,
            Action::Open => match self.wire.open() {
                Ok((open, index)) => {
                    if let Some(speaker) = &mut self.speaker {
                        speaker.mouth = Some(open.mouth());
                    }
                    *port = Some(open);
                    self.lost_before = counts.lost;
                    self.link.handle(now, Seen::Opened(index));
                }
                Err(error) => self.link.handle(now, Seen::OpenFailed(error)),
            },
            Action::Look => {
                if let Some(lost) = port.as_ref().and_then(Port::lost) {
                    // The kernel counts anew for every socket.
                    counts.lost = self.lost_before + lost;
                    self.link.handle(now, Seen::Lost(lost));
                }
                self.link.handle(now, Seen::Looked(self.wire.look()));
            }
        }
    }

    /// Waits for the socket, for frames of the engine, or for the next deadline.
    async fn wait(&mut self, port: Option<&Port>, gathering: bool) -> Woken {
        let now = self.clock.now();
        let mut until = self.link.next_deadline();
        if let Some(at) = self.speaker.as_ref().and_then(|speaker| speaker.outgoing.next_attempt()) {
            until = until.min(at);
        }
        let mut wait = Duration::from_millis(until.0.saturating_sub(now.0));
        if gathering {
            wait = wait.min(GATHER);
        }
        let readable = async {
            match port {
                // An error of the wait itself shows when the socket is read.
                Some(port) if !gathering => drop(port.ready().await),
                _ => std::future::pending().await,
            }
        };
        let frame = async {
            match &mut self.speaker {
                Some(speaker) => match speaker.frames.recv().await {
                    Some(frame) => speaker.outgoing.push(self.clock.now(), frame),
                    None => speaker.closing = true,
                },
                None => std::future::pending().await,
            }
        };
        let woken = async {
            tokio::select! {
                biased;
                () = frame => Woken::Frame,
                () = readable => Woken::Readable,
            }
        };
        timeout(wait, woken).await.unwrap_or(Woken::Time)
    }

    /// Reads what is there and hands it to the engine.
    fn hear(&mut self, port: &Port, counts: &mut BusCounts) -> Result<(), Gone> {
        let now = self.clock.now();
        let mut frames = Vec::new();
        let mut bytes = [0; frame_bytes::SIZE];
        while frames.len() < BATCH_MAX {
            match port.read(&mut bytes) {
                Ok(length) => match frame_bytes::read(&bytes[..length]) {
                    Some(Heard::Frame(frame)) => frames.push(frame),
                    Some(Heard::Error(error)) => {
                        counts.errors += 1;
                        self.link.handle(now, Seen::Error(error));
                    }
                    Some(Heard::Other) => counts.others += 1,
                    // The other end of a socket pair is closed.
                    None if length == 0 => return Err(Gone),
                    None => counts.others += 1,
                },
                Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
                Err(error) if error.kind() == std::io::ErrorKind::WouldBlock => break,
                Err(error) => {
                    self.link.handle(now, Seen::Failed(error.raw_os_error().unwrap_or_default()));
                    break;
                }
            }
        }
        if frames.is_empty() {
            return Ok(());
        }
        self.link.handle(now, Seen::Frames);
        if self.mailbox.send(Letter::Frames(frames)) { Ok(()) } else { Err(Gone) }
    }

    /// Takes what the engine has sent and writes what may go.
    fn speak(&mut self, counts: &mut BusCounts) {
        let Some(speaker) = &mut self.speaker else { return };
        let now = self.clock.now();
        while let Ok(frame) = speaker.frames.try_recv() {
            speaker.outgoing.push(now, frame);
        }
        if speaker.epoch != self.link.epoch() || !self.link.may_write() {
            speaker.epoch = self.link.epoch();
            speaker.outgoing.reset();
        }
        if let Some(mouth) = speaker.mouth.as_ref().filter(|_| self.link.may_write())
            && let Err(error) = mouth.speak(now, &mut speaker.outgoing)
        {
            self.link.handle(now, Seen::Failed(error));
        }
        let done = speaker.outgoing.counts;
        counts.sent = done.sent_frames;
        counts.given_up = done.given_up;
        counts.refused = done.refused;
        self.link.handle(now, Seen::GivenUp(done.given_up));
    }

    /// The program ends: displays must not wait for alerts that nobody will repeat.
    async fn farewell(&mut self) {
        let end = self.clock.now().plus_ms(FAREWELL_MS);
        let mut counts = BusCounts::default();
        while self.speaker.as_ref().is_some_and(|speaker| !speaker.outgoing.is_empty())
            && self.clock.now() < end
        {
            self.speak(&mut counts);
            // Nothing wakes this but time.
            let _ = timeout(GATHER, std::future::pending::<()>()).await;
        }
    }
}
