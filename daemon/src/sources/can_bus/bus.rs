//! The bus as the engine's thread has it: carries out what [`super::link`] and [`super::outgoing`] decide. Nothing here waits.

use super::frame_bytes::{self, Heard};
use super::link::{Action, Link, Seen};
use super::outgoing::Outgoing;
use super::port::{FRAMES_PER_CALL, Mouth, Port, Room, Wire};
use crate::engine::{BusCounts, Input};
use crate::service::clock::Clock;
use barrico_model::Monotonic;
use barrico_n2k::Frame;
use std::os::fd::BorrowedFd;
use std::time::Duration;

/// Pause after each batch, ms. On a busy bus the next frames gather meanwhile, so that one waking serves several; a frame after a longer silence is
/// handed on at once. An alert may wait for so long: the budget is 5 ms.
const GATHER_MS: u64 = 2;
/// Frames in one batch at most: what comes in an eighth of a second.
const BATCH_MAX: usize = 256;
/// At the end of the program what waits is written for so long, ms.
const FAREWELL_MS: u64 = 300;

/// A bus, on one interface.
pub struct CanBus {
    wire: Wire,
    link: Link,
    port: Option<Port>,
    counts: BusCounts,
    told: BusCounts,
    /// Frames lost on sockets that are closed.
    lost_before: u64,
    gather_until: Option<Monotonic>,
    /// None if the bus is only listened to: then nothing in the program can write on it.
    speaker: Option<Speaker>,
}

/// The part that can write.
#[derive(Default)]
struct Speaker {
    outgoing: Outgoing,
    mouth: Option<Mouth>,
    epoch: u64,
}

/// What a turn brought, with the room that reading needs. It stays on its thread.
#[derive(Default)]
pub struct Brought {
    /// Frames, in order.
    pub frames: Vec<Frame>,
    /// States of the link and counts, after the frames.
    pub news: Vec<Input>,
    room: Room,
}

impl CanBus {
    /// A bus that opens its interface at the first turn, and again whenever it must.
    pub fn new(wire: Wire, listen_only: bool) -> Self {
        let link = Link::new(wire.name(), listen_only);
        Self {
            wire,
            link,
            port: None,
            counts: BusCounts::default(),
            told: BusCounts::default(),
            lost_before: 0,
            gather_until: None,
            speaker: (!listen_only).then(Speaker::default),
        }
    }

    /// Reads what is there, looks after the interface, writes what may go. `readable`: there is something on [`CanBus::waits_for`].
    pub fn turn(&mut self, now: Monotonic, readable: bool, brought: &mut Brought) {
        // At the end of a gathering some frames are there most of the time, so the kernel is not asked before they are read.
        let gathered = self.gather_until.is_some_and(|at| at <= now);
        if readable || gathered {
            let heard = self.hear(now, brought);
            self.gather_until = heard.then(|| now.plus_ms(GATHER_MS));
        }
        while let Some(action) = self.link.due(now) {
            self.act(now, action);
            if action == Action::Look && self.counts != self.told {
                self.told = self.counts;
                brought.news.push(Input::BusCounts(self.counts));
            }
        }
        self.speak(now);
        brought.news.extend(self.link.tell(now).map(Input::Source));
    }

    /// Takes a frame of the engine. It is written at the next [`CanBus::speak`]; on a bus that is only listened to it is dropped.
    pub fn push(&mut self, now: Monotonic, frame: Frame) {
        if let Some(speaker) = &mut self.speaker {
            speaker.outgoing.push(now, frame);
        }
    }

    /// Writes what may go now.
    pub fn speak(&mut self, now: Monotonic) {
        let Some(speaker) = &mut self.speaker else { return };
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
        self.counts.sent = done.sent_frames;
        self.counts.given_up = done.given_up;
        self.counts.refused = done.refused;
        self.link.handle(now, Seen::GivenUp(done.given_up));
    }

    /// What to wait for. Nothing while frames gather: each of them would wake the thread.
    pub fn waits_for(&self) -> Option<BorrowedFd<'_>> {
        self.port.as_ref().filter(|_| self.gather_until.is_none()).map(Port::as_fd)
    }

    /// When the next turn is due at the latest.
    pub fn next_deadline(&self) -> Monotonic {
        let attempt = self.speaker.as_ref().and_then(|speaker| speaker.outgoing.next_attempt());
        [attempt, self.gather_until].into_iter().flatten().fold(self.link.next_deadline(), Monotonic::min)
    }

    /// The program ends: displays must not wait for alerts that nobody will repeat.
    pub fn finish(mut self, clock: Clock) {
        let end = clock.now().plus_ms(FAREWELL_MS);
        loop {
            self.speak(clock.now());
            let waits = self.speaker.as_ref().is_some_and(|speaker| !speaker.outgoing.is_empty());
            if !waits || end <= clock.now() {
                return;
            }
            std::thread::sleep(Duration::from_millis(GATHER_MS));
        }
    }

    fn act(&mut self, now: Monotonic, action: Action) {
        match action {
            Action::Close => {
                self.port = None;
                if let Some(speaker) = &mut self.speaker {
                    speaker.mouth = None;
                }
            }
            Action::Open => match self.wire.open() {
                Ok((open, index)) => {
                    if let Some(speaker) = &mut self.speaker {
                        speaker.mouth = Some(open.mouth());
                    }
                    self.port = Some(open);
                    self.lost_before = self.counts.lost;
                    self.link.handle(now, Seen::Opened(index));
                }
                Err(error) => self.link.handle(now, Seen::OpenFailed(error)),
            },
            Action::Look => {
                if let Some(lost) = self.port.as_ref().and_then(Port::lost) {
                    // The kernel counts anew for every socket.
                    self.counts.lost = self.lost_before + lost;
                    self.link.handle(now, Seen::Lost(lost));
                }
                self.link.handle(now, Seen::Looked(self.wire.look()));
            }
        }
    }

    /// Reads what is there. False: there was nothing, or an error.
    fn hear(&mut self, now: Monotonic, brought: &mut Brought) -> bool {
        let Brought { frames, room, .. } = brought;
        let Some(port) = &self.port else { return false };
        let mut any = false;
        while frames.len() < BATCH_MAX {
            let read = room.read(port, |bytes| match frame_bytes::read(bytes) {
                Some(Heard::Frame(frame)) => frames.push(frame),
                Some(Heard::Error(error)) => {
                    self.counts.errors += 1;
                    self.link.handle(now, Seen::Error(error));
                }
                Some(Heard::Other) | None => self.counts.others += 1,
            });
            match read {
                Ok(read) => {
                    any = true;
                    if read < FRAMES_PER_CALL {
                        break;
                    }
                }
                Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
                Err(error) if error.kind() == std::io::ErrorKind::WouldBlock => break,
                Err(error) => {
                    self.link.handle(now, Seen::Failed(error.raw_os_error().unwrap_or_default()));
                    break;
                }
            }
        }
        if !frames.is_empty() {
            self.link.handle(now, Seen::Frames);
        }
        any
    }
}
