//! Fast packets: messages of up to 223 bytes in up to 32 frames, and single frames on the same way.
//!
//! The first frame holds sequence (3 bits) and frame number 0 (5 bits), the total length and 6 bytes; the others sequence
//! and frame number 1 to 31 and 7 bytes.
//!
//! What the [`Assembler`] does with damage:
//!
//! | damage | answer |
//! |---|---|
//! | messages of one sender interleave | one slot per source, destination, group and sequence |
//! | frames out of order | a bit per frame, any order; continuations may come up to 20 ms before their first frame |
//! | a frame is lost | the message is dropped 750 ms after its last frame, or when the sequence starts anew |
//! | first frame lost | held continuations are dropped after 20 ms, never glued to a later first frame |
//! | a frame comes twice | ignored; also after the message is complete |
//! | same frame number, other bytes | two messages are mixed up: all is dropped |
//! | sequence starts anew | the slot restarts; counted if the old message was incomplete |
//! | length above 223, or a frame number beyond the length | the frame is refused |
//! | fewer than 8 bytes in a frame | what is there is taken; the message is complete only if all its bytes came |
//! | more than 64 messages open | the one longest without a frame is given up |
//!
//! A wrong message is still possible when two messages with the same sequence both lose frames that complement each other
//! within 750 ms; a sender that counts its sequence needs eight messages in that time for it. A value is not wrong more
//! often than that, and a damaged message never delays the next one.

mod split;
mod store;

pub use split::{Frames, MAX_PAYLOAD, SplitError, split};

use crate::can_id::CanId;
use crate::framing::{Framing, framing};
use store::Store;

/// Longest time between two frames of a message. The longest recorded gap is 199 ms; no public figure exists.
pub const FRAME_TIMEOUT_MS: u64 = 750;

/// How long continuations wait for their first frame. Reordering by drivers happens within milliseconds; longer holding
/// could glue frames of a message whose first frame was lost to the next message of a sender with a constant sequence.
pub const EARLY_HOLD_MS: u64 = 20;

/// Messages that may be open or remembered at once. 64 is what general-purpose decoders use.
pub const SLOTS: usize = 64;

/// A complete message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Message<'a> {
    /// Parameter group number.
    pub pgn: u32,
    /// Priority [0-7].
    pub priority: u8,
    /// Address of the sender.
    pub source: u8,
    /// Address of the receiver, 255 for everybody.
    pub destination: u8,
    /// The payload.
    pub payload: &'a [u8],
}

/// What has been seen, and every kind of damage. Numbers only grow.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counters {
    /// Frames taken in.
    pub frames: u64,
    /// Messages given out.
    pub messages: u64,
    /// Messages dropped because a frame was missing for [`FRAME_TIMEOUT_MS`] (or the first one for [`EARLY_HOLD_MS`]).
    pub timed_out: u64,
    /// Messages dropped because their sequence started anew before they were complete.
    pub restarted: u64,
    /// Messages given up because more than [`SLOTS`] were open.
    pub evicted: u64,
    /// Messages dropped because one frame number came with different bytes.
    pub conflicting: u64,
    /// First frames with a length above 223.
    pub too_long: u64,
    /// Frames with a number beyond the length of their message.
    pub beyond_length: u64,
    /// Frames that came twice within a message.
    pub duplicates: u64,
    /// Frames that came again after their message was complete.
    pub stray: u64,
    /// Frames too short to belong to a fast packet.
    pub too_short: u64,
    /// Messages dropped because their sender left its address.
    pub forgotten: u64,
}

/// Puts messages together again.
#[derive(Debug)]
pub struct Assembler {
    store: Store,
    counters: Counters,
}

impl Default for Assembler {
    fn default() -> Self {
        Self::new()
    }
}

impl Assembler {
    /// An assembler without open messages.
    #[must_use]
    pub fn new() -> Self {
        Self { store: Store::new(), counters: Counters::default() }
    }

    /// What has been seen so far.
    #[must_use]
    pub const fn counters(&self) -> Counters {
        self.counters
    }

    /// Takes one frame; gives a message if it is complete now. `now_ms` is monotonic; a step back counts as no time.
    /// Bytes after the eighth are ignored.
    #[inline]
    pub fn push<'a>(&'a mut self, now_ms: u64, id: CanId, data: &'a [u8]) -> Option<Message<'a>> {
        self.counters.frames += 1;
        let payload = match framing(id.pgn) {
            Framing::Single => &data[..data.len().min(8)],
            Framing::Fast => {
                let slot = self.push_fast(now_ms, id, data)?;
                self.store.payload(slot)
            }
        };
        self.counters.messages += 1;
        Some(Message {
            pgn: id.pgn,
            priority: id.priority,
            source: id.source,
            destination: id.destination,
            payload,
        })
    }

    /// Slot of the message that is complete now.
    fn push_fast(&mut self, now_ms: u64, id: CanId, data: &[u8]) -> Option<usize> {
        let counters = &mut self.counters;
        let Some((&header, bytes)) = data.split_first().filter(|(_, bytes)| !bytes.is_empty()) else {
            counters.too_short += 1;
            return None;
        };
        let bytes = &bytes[..bytes.len().min(7)];
        let (sequence, number) = (header >> 5, header & 0x1F);
        let key = store::key(id, sequence);
        if number > 0 {
            return self.store.continuation(now_ms, key, number, bytes, counters);
        }
        let length = bytes[0];
        if usize::from(length) > MAX_PAYLOAD {
            counters.too_long += 1;
            return None;
        }
        self.store.first(now_ms, key, length, &bytes[1..], counters)
    }

    /// Drops what is open from one sender: for when it gives up its address.
    pub fn forget_source(&mut self, source: u8) {
        self.counters.forgotten += self.store.forget_source(source);
    }

    /// Drops what has waited too long. Not needed for correct messages; it keeps the counters up to date in silence.
    pub fn expire(&mut self, now_ms: u64) {
        self.counters.timed_out += self.store.expire(now_ms);
    }
}

#[cfg(test)]
mod tests;
