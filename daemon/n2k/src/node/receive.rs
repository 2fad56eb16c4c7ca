//! Messages in packets that are sent to us (ISO transport protocol): clear to send, end of message, abort.
//!
//! Needed for the commanded address (65240), which installers' tools send this way; 126208 is taken too. Layout and timeouts: ISO
//! 11783-3 as quoted in the Linux kernel's J1939 sources; 1250 ms after a clear-to-send and the abort reasons from memory.
//!
//! | what comes | answer |
//! | --- | --- |
//! | request to send | clear to send for at most 16 packets; the older session of the same sender ends |
//! | request for another group, or a length that cannot be | abort, reason 2 |
//! | request while four others are open | abort, reason 1 |
//! | a packet out of order | clear to send from the missing one, twice a session; then abort, reason 3 |
//! | 750 ms between packets, or 1250 ms after a clear to send, without one | abort, reason 3 |
//! | all packets | end of message |
//!
//! Sending in packets is not here: nothing we send has more than 223 bytes.

use super::output::Output;
use super::{COMMANDED_ADDRESS_PGN, Node};
use crate::can_id::{CanId, NULL_ADDRESS};
use crate::fast_packet::Message;
use crate::pgn::GroupFunction;
use crate::transport::{CONNECTION_PGN, MAX_BYTES, PACKET_TIMEOUT_MS};

/// Sessions that may be open at once, each with at most 1785 bytes; one tool is the rule.
const SESSIONS: usize = 4;
/// Longest wait for the first packet after a clear-to-send, ms (ISO 11783-3, from memory).
const CLEARED_TIMEOUT_MS: u64 = 1_250;
/// Packets asked for at once (no source).
const WINDOW: u8 = 16;
/// Packets out of order that are asked for again in a session (no source).
const RETRIES: u8 = 2;
const PACKET_BYTES: usize = 7;
/// Shortest message in packets; what fits a frame does not come this way.
const MIN_BYTES: usize = 9;

const REQUEST_TO_SEND: u8 = 16;
const CLEAR_TO_SEND: u8 = 17;
const END_OF_MESSAGE: u8 = 19;
const ABORT: u8 = 255;

const BUSY: u8 = 1;
const NO_RESOURCES: u8 = 2;
const TIMED_OUT: u8 = 3;

#[derive(Clone, Debug)]
struct Session {
    source: u8,
    pgn: u32,
    length: usize,
    packets: u8,
    /// Packets that the sender wants to send at once.
    window: u8,
    /// Last packet that is cleared.
    cleared: u8,
    received: u8,
    retries: u8,
    late_ms: u64,
    bytes: Vec<u8>,
}

/// Open sessions.
#[derive(Clone, Debug, Default)]
pub(super) struct Receiver {
    sessions: Vec<Session>,
}

/// What to tell the sender.
enum Reply {
    Nothing,
    Clear { packets: u8, next: u8 },
    Abort(u8),
    End { length: usize, packets: u8, bytes: Vec<u8> },
}

impl Receiver {
    pub(super) fn clear(&mut self) {
        self.sessions.clear();
    }

    pub(super) fn forget_source(&mut self, source: u8) {
        self.sessions.retain(|session| session.source != source);
    }

    pub(super) fn next_deadline(&self) -> Option<u64> {
        self.sessions.iter().map(|session| session.late_ms).min()
    }

    fn open(&mut self, now_ms: u64, source: u8, head: &[u8; 8]) -> Reply {
        self.forget_source(source);
        let pgn = group(head);
        let length = usize::from(u16::from_le_bytes([head[1], head[2]]));
        let fits = (MIN_BYTES..=MAX_BYTES).contains(&length)
            && usize::from(head[3]) == length.div_ceil(PACKET_BYTES);
        if !fits || ![COMMANDED_ADDRESS_PGN, GroupFunction::PGN].contains(&pgn) {
            return Reply::Abort(NO_RESOURCES);
        }
        if self.sessions.len() >= SESSIONS {
            return Reply::Abort(BUSY);
        }
        let mut session = Session {
            source,
            pgn,
            length,
            packets: head[3],
            window: head[4].clamp(1, WINDOW),
            cleared: 0,
            received: 0,
            retries: 0,
            late_ms: 0,
            bytes: Vec::new(),
        };
        let reply = session.clear_more(now_ms);
        self.sessions.push(session);
        reply
    }

    fn data(&mut self, now_ms: u64, source: u8, payload: &[u8]) -> Option<(u32, Reply)> {
        let (number, bytes) = payload.split_first()?;
        let index = self.sessions.iter().position(|session| session.source == source)?;
        let session = &mut self.sessions[index];
        let pgn = session.pgn;
        let reply = session.packet(now_ms, *number, bytes);
        if matches!(reply, Reply::Abort(_) | Reply::End { .. }) {
            self.sessions.remove(index);
        }
        Some((pgn, reply))
    }
}

impl Session {
    /// Clears the next packets.
    fn clear_more(&mut self, now_ms: u64) -> Reply {
        let packets = (self.packets - self.received).min(self.window);
        self.cleared = self.received + packets;
        self.late_ms = now_ms + CLEARED_TIMEOUT_MS;
        Reply::Clear { packets, next: self.received + 1 }
    }

    fn packet(&mut self, now_ms: u64, number: u8, bytes: &[u8]) -> Reply {
        if self.late_ms < now_ms {
            return Reply::Abort(TIMED_OUT);
        }
        if 0 < number && number <= self.received {
            return Reply::Nothing;
        }
        let wanted = (self.length - self.bytes.len()).min(PACKET_BYTES);
        if number != self.received + 1 || self.cleared < number || bytes.len() < wanted {
            self.retries += 1;
            return if self.retries > RETRIES { Reply::Abort(TIMED_OUT) } else { self.clear_more(now_ms) };
        }
        self.bytes.extend_from_slice(&bytes[..wanted]);
        self.received = number;
        self.late_ms = now_ms + PACKET_TIMEOUT_MS;
        if self.received == self.packets {
            let bytes = std::mem::take(&mut self.bytes);
            Reply::End { length: self.length, packets: self.packets, bytes }
        } else if self.received == self.cleared {
            self.clear_more(now_ms)
        } else {
            Reply::Nothing
        }
    }
}

fn group(head: &[u8; 8]) -> u32 {
    u32::from_le_bytes([head[5], head[6], head[7], 0])
}

impl Node {
    pub(super) fn handle_packet(&mut self, now_ms: u64, message: &Message<'_>, out: &mut Vec<Output>) {
        if self.address().is_none() || message.source == NULL_ADDRESS {
            return;
        }
        let source = message.source;
        if message.pgn != CONNECTION_PGN {
            if let Some((pgn, reply)) = self.receiver.data(now_ms, source, message.payload) {
                self.reply(now_ms, source, pgn, reply, out);
            }
            return;
        }
        let Ok(head) = <&[u8; 8]>::try_from(message.payload) else { return };
        match head[0] {
            REQUEST_TO_SEND => {
                let reply = self.receiver.open(now_ms, source, head);
                self.reply(now_ms, source, group(head), reply, out);
            }
            ABORT => self.receiver.forget_source(source),
            _ => {}
        }
    }

    pub(super) fn packets_late(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        while let Some(index) = self.receiver.sessions.iter().position(|session| session.late_ms <= now_ms) {
            let session = self.receiver.sessions.remove(index);
            self.reply(now_ms, session.source, session.pgn, Reply::Abort(TIMED_OUT), out);
        }
    }

    fn reply(&mut self, now_ms: u64, to: u8, pgn: u32, reply: Reply, out: &mut Vec<Output>) {
        let [low, middle, high, _] = pgn.to_le_bytes();
        let head = match &reply {
            Reply::Nothing => return,
            Reply::Clear { packets, next } => [CLEAR_TO_SEND, *packets, *next, 0xFF, 0xFF],
            Reply::Abort(reason) => [ABORT, *reason, 0xFF, 0xFF, 0xFF],
            Reply::End { length, packets, .. } => {
                let [low, high] = (*length as u16).to_le_bytes();
                [END_OF_MESSAGE, low, high, *packets, 0xFF]
            }
        };
        if self.replies.take(now_ms) {
            let id = CanId { priority: 7, pgn: CONNECTION_PGN, source: 0, destination: to };
            let payload = [&head[..], &[low, middle, high]].concat();
            self.send_network(now_ms, id, payload, out);
        } else {
            // The sender runs into its own timeout.
            self.counters.unanswered += 1;
            self.receiver.forget_source(to);
        }
        if let Reply::End { bytes, .. } = reply {
            self.deliver(now_ms, to, pgn, &bytes, out);
        }
    }

    fn deliver(&mut self, now_ms: u64, source: u8, pgn: u32, payload: &[u8], out: &mut Vec<Output>) {
        if pgn == COMMANDED_ADDRESS_PGN {
            self.handle_commanded_address(now_ms, source, payload, out);
        } else if let Some(address) = self.address() {
            let whole = Message { pgn, priority: 7, source, destination: address, payload };
            self.handle_group_function(now_ms, &whole, out);
        }
    }
}
