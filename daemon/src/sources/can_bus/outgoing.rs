//! What waits to be written: whole messages, the urgent ones first, each with a deadline. Pure: time is an argument.
//!
//! | what happens | what follows |
//! | --- | --- |
//! | frames come | they are put together to messages again; half a fast packet is never begun |
//! | several messages wait | address claims, then alerts, then the rest; in each class the oldest first; a message that is begun is finished first |
//! | the kernel has no room (ENOBUFS, EAGAIN) | the same frame again after [`RETRY_MS`] |
//! | a message is not out [`MESSAGE_MS`] after it came | all of it is given up, counted |
//! | [`MESSAGES_MAX`] messages of a class wait | the oldest of that class is given up, counted: a newer one says the same, better |
//! | a frame from an address that was not claimed here since the link came up | refused, counted |
//! | the link went down, or another one came | everything that waits is void, counted apart; all claims count as lost |

use barrico_model::Monotonic;
use barrico_n2k::{CanId, Frame, Framing, framing};
use std::collections::{BTreeMap, VecDeque};

/// From one attempt to the next while the kernel has no room, ms: a few frame times (an 8-byte frame takes 0.5 ms at 250 kbit/s).
pub const RETRY_MS: u64 = 2;
/// Age at which a message is given up, ms. Alerts are repeated every second, so an older one has been said again.
pub const MESSAGE_MS: u64 = 1_000;
/// Messages of one class that may wait: every alert of sixteen units, with its text, twice over.
pub const MESSAGES_MAX: usize = 64;

/// Groups that may be under way at a time: a node sends seven kinds of fast packets, and each unit has one.
const BUILDING_MAX: usize = 128;

const ADDRESS_CLAIM: u32 = 60_928;
const REQUEST: u32 = 59_904;
/// "I have no address."
const NULL_ADDRESS: u8 = 254;

/// Classes, the most urgent first.
const CLASSES: usize = 3;

fn class(pgn: u32) -> usize {
    match pgn {
        ADDRESS_CLAIM | REQUEST => 0,
        126_983..=126_985 => 1,
        _ => 2,
    }
}

/// What became of messages.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Frames that the kernel took.
    pub sent_frames: u64,
    /// Messages given up.
    pub given_up: u64,
    /// Messages refused, since their source address was not claimed.
    pub refused: u64,
    /// Messages that waited while the link went down, or came while it was.
    pub void: u64,
}

#[derive(Clone, Debug)]
struct Message {
    frames: Vec<Frame>,
    next: usize,
    since: Monotonic,
}

/// The queue.
#[derive(Clone, Debug, Default)]
pub struct Outgoing {
    waiting: [VecDeque<Message>; CLASSES],
    /// Messages whose last frame has not come yet, with the number of frames they will have. Those of different groups may come interleaved.
    building: Vec<(Message, usize)>,
    begun: Option<Message>,
    /// Which NAME claimed which address.
    claimed: BTreeMap<[u8; 8], u8>,
    retry_at: Option<Monotonic>,
    /// What became of messages so far.
    pub counts: Counts,
}

impl Outgoing {
    /// Takes a frame. Frames of one fast packet come in order.
    pub fn push(&mut self, now: Monotonic, frame: Frame) {
        if framing(frame.can_id().pgn) == Framing::Single {
            self.enqueue(Message { frames: vec![frame], next: 0, since: now });
            return;
        }
        let known = self.building.iter().position(|(message, _)| message.frames[0].id == frame.id);
        if frame.data[0] & 0x1F == 0 {
            if let Some(stale) = known {
                self.building.remove(stale);
                self.counts.given_up += 1;
            }
            if BUILDING_MAX <= self.building.len() {
                self.building.remove(0);
                self.counts.given_up += 1;
            }
            let message = Message { frames: vec![frame], next: 0, since: now };
            self.building.push((message, frames_needed(frame.data[1])));
        } else if let Some(index) = known {
            self.building[index].0.frames.push(frame);
        } else {
            // A tail without a head would be noise to everybody.
            self.counts.given_up += 1;
        }
        let whole = self.building.iter().position(|(message, needed)| *needed <= message.frames.len());
        if let Some(index) = whole {
            let (message, _) = self.building.remove(index);
            self.enqueue(message);
        }
    }

    fn enqueue(&mut self, message: Message) {
        let queue = &mut self.waiting[class(message.frames[0].can_id().pgn)];
        if MESSAGES_MAX <= queue.len() {
            queue.pop_front();
            self.counts.given_up += 1;
        }
        queue.push_back(message);
    }

    /// The frame to write now, if there is one and it is time. Say what came of it: [`Outgoing::wrote`], [`Outgoing::full`].
    pub fn next(&mut self, now: Monotonic) -> Option<Frame> {
        let is_old = |message: &Message| message.since.plus_ms(MESSAGE_MS) <= now;
        loop {
            if self.begun.take_if(|message| is_old(message)).is_some() {
                self.counts.given_up += 1;
                self.retry_at = None;
                continue;
            }
            if self.retry_at.is_some_and(|at| now < at) {
                return None;
            }
            if let Some(message) = &self.begun {
                return Some(message.frames[message.next]);
            }
            let message = self.waiting.iter_mut().find_map(VecDeque::pop_front)?;
            if self.may_go(message.frames[0].can_id()) {
                self.begun = Some(message);
            } else {
                self.counts.refused += 1;
            }
        }
    }

    /// Is this frame from an address that was claimed, or part of claiming one?
    fn may_go(&self, id: CanId) -> bool {
        match id.pgn {
            ADDRESS_CLAIM => true,
            REQUEST if id.source == NULL_ADDRESS => true,
            _ => self.claimed.values().any(|address| *address == id.source),
        }
    }

    /// The kernel took the frame.
    pub fn wrote(&mut self) {
        self.counts.sent_frames += 1;
        self.retry_at = None;
        let Some(message) = &mut self.begun else { return };
        let frame = message.frames[message.next];
        message.next += 1;
        if message.next == message.frames.len() {
            self.begun = None;
        }
        let id = frame.can_id();
        if id.pgn == ADDRESS_CLAIM {
            if id.source < NULL_ADDRESS {
                self.claimed.insert(frame.data, id.source);
            } else {
                self.claimed.remove(&frame.data);
            }
        }
    }

    /// The kernel has no room.
    pub fn full(&mut self, now: Monotonic) {
        self.retry_at = Some(now.plus_ms(RETRY_MS));
    }

    /// The frame cannot be written at all: its message is given up.
    pub fn failed(&mut self) {
        self.counts.given_up += u64::from(self.begun.take().is_some());
        self.retry_at = None;
    }

    /// The link went down or is another one: what waits is too old when it is up again, and every address must be claimed anew.
    pub fn reset(&mut self) {
        let waiting: usize = self.waiting.iter().map(VecDeque::len).sum();
        self.counts.void += waiting as u64 + u64::from(self.begun.is_some());
        self.waiting.iter_mut().for_each(VecDeque::clear);
        self.begun = None;
        self.building.clear();
        self.claimed.clear();
        self.retry_at = None;
    }

    /// When to try again; `None`: nothing waits.
    pub fn next_attempt(&self) -> Option<Monotonic> {
        self.retry_at.filter(|_| !self.is_empty())
    }

    /// Does nothing wait?
    pub fn is_empty(&self) -> bool {
        self.begun.is_none() && self.waiting.iter().all(VecDeque::is_empty)
    }
}

/// Frames of a fast packet: six bytes in the first, seven in each of the others.
fn frames_needed(length: u8) -> usize {
    1 + usize::from(length).saturating_sub(6).div_ceil(7)
}

#[cfg(test)]
mod tests;
