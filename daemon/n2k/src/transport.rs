//! ISO transport protocol, listening only: messages of 9 to 1785 bytes in packets of 7.
//!
//! NMEA 2000 needs it for the commanded address (65240, 9 bytes). Announced by 60416 (to everybody: BAM; to one node:
//! RTS), carried by 60160, one session per sender and receiver. Layout and the 750 ms: ISO 11783-3 as quoted in the Linux
//! kernel's J1939 sources.
//!
//! Not here: answering an RTS (`node/receive.rs`). Whoever it is addressed to must do that; a session between two others
//! is read along.
//!
//! Failure: a packet out of order, a gap of more than 750 ms, an abort or a new announcement ends the session without a
//! message. When more than eight sessions are open the one longest without a packet is given up.

use crate::can_id::GLOBAL;
use crate::fast_packet::Message;

/// Group of the announcements.
pub const CONNECTION_PGN: u32 = 60_416;
/// Group of the packets.
pub const DATA_PGN: u32 = 60_160;
/// Longest time between two packets.
pub const PACKET_TIMEOUT_MS: u64 = 750;
/// Sessions that may be open at once; each holds up to 1785 bytes.
pub const SESSIONS: usize = 8;
/// Longest message: 255 packets of 7 bytes.
pub const MAX_BYTES: usize = 255 * PACKET_BYTES;

/// Data bytes of a packet.
const PACKET_BYTES: usize = 7;
/// Shortest message: what fits a frame does not come this way.
const MIN_BYTES: usize = 9;

const REQUEST_TO_SEND: u8 = 16;
const BROADCAST_ANNOUNCE: u8 = 32;
const ABORT: u8 = 255;

#[derive(Clone, Debug, Default)]
struct Session {
    source: u8,
    destination: u8,
    priority: u8,
    pgn: u32,
    length: usize,
    /// Packets so far; 0 and `open` false for a session that is over.
    packets: u8,
    open: bool,
    last_ms: u64,
    bytes: Vec<u8>,
}

/// Listens to transport sessions.
#[derive(Clone, Debug, Default)]
pub struct Transport {
    sessions: Vec<Session>,
    damaged: u64,
}

impl Transport {
    /// No session is open.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Sessions that ended without a message, aborts included.
    #[must_use]
    pub const fn damaged(&self) -> u64 {
        self.damaged
    }

    /// Takes a message of 60416 or 60160, others do nothing; gives a transported message if it is complete now.
    pub fn handle(&mut self, now_ms: u64, message: &Message<'_>) -> Option<Message<'_>> {
        match message.pgn {
            CONNECTION_PGN => {
                self.connection(now_ms, message);
                None
            }
            DATA_PGN => self.data(now_ms, message),
            _ => None,
        }
    }

    fn connection(&mut self, now_ms: u64, message: &Message<'_>) {
        let Ok(bytes) = <&[u8; 8]>::try_from(message.payload) else { return };
        match bytes[0] {
            BROADCAST_ANNOUNCE if message.destination == GLOBAL => self.open(now_ms, message, bytes),
            REQUEST_TO_SEND if message.destination != GLOBAL => self.open(now_ms, message, bytes),
            // Either side may abort.
            ABORT => {
                self.close(message.source, message.destination);
                self.close(message.destination, message.source);
            }
            _ => {}
        }
    }

    fn open(&mut self, now_ms: u64, message: &Message<'_>, bytes: &[u8; 8]) {
        self.close(message.source, message.destination);
        let length = usize::from(u16::from_le_bytes([bytes[1], bytes[2]]));
        if !(MIN_BYTES..=MAX_BYTES).contains(&length)
            || usize::from(bytes[3]) != length.div_ceil(PACKET_BYTES)
        {
            self.damaged += 1;
            return;
        }
        let index = self.slot();
        let session = &mut self.sessions[index];
        session.source = message.source;
        session.destination = message.destination;
        session.priority = message.priority;
        session.pgn = u32::from_le_bytes([bytes[5], bytes[6], bytes[7], 0]);
        session.length = length;
        session.packets = 0;
        session.open = true;
        session.last_ms = now_ms;
        session.bytes.clear();
    }

    /// A session that is over, a new one, or the one longest without a packet.
    fn slot(&mut self) -> usize {
        if let Some(index) = self.sessions.iter().position(|session| !session.open) {
            return index;
        }
        if self.sessions.len() < SESSIONS {
            self.sessions.push(Session::default());
            return self.sessions.len() - 1;
        }
        self.damaged += 1;
        (0..self.sessions.len()).min_by_key(|index| self.sessions[*index].last_ms).unwrap_or(0)
    }

    fn close(&mut self, source: u8, destination: u8) {
        if let Some(index) = self.find(source, destination) {
            self.sessions[index].open = false;
            self.damaged += 1;
        }
    }

    fn find(&self, source: u8, destination: u8) -> Option<usize> {
        let is_it = |session: &Session| {
            session.open && session.source == source && session.destination == destination
        };
        self.sessions.iter().position(is_it)
    }

    fn data(&mut self, now_ms: u64, message: &Message<'_>) -> Option<Message<'_>> {
        let (number, bytes) = message.payload.split_first()?;
        let index = self.find(message.source, message.destination)?;
        let session = &mut self.sessions[index];
        let late = now_ms.saturating_sub(session.last_ms) > PACKET_TIMEOUT_MS;
        if !late && 0 < *number && *number <= session.packets {
            // Sent again on request of the receiver.
            session.last_ms = now_ms;
            return None;
        }
        let wanted = (session.length - session.bytes.len()).min(PACKET_BYTES);
        if late || Some(*number) != session.packets.checked_add(1) || bytes.len() < wanted {
            session.open = false;
            self.damaged += 1;
            return None;
        }
        session.bytes.extend_from_slice(&bytes[..wanted]);
        session.packets = *number;
        session.last_ms = now_ms;
        if session.bytes.len() < session.length {
            return None;
        }
        session.open = false;
        Some(Message {
            pgn: session.pgn,
            priority: session.priority,
            source: session.source,
            destination: session.destination,
            payload: &session.bytes,
        })
    }
}

#[cfg(test)]
mod tests;
